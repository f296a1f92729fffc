//! What the gate promises, by example and by random walks.

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use super::walks::{LIMIT_CENTS, Machine, REQUESTER, cast, draft, steps, walk};
use super::*;

const SENTENCE: &str = "the terminal cover is under the slab";

fn person(id: u128) -> Person {
    cast().into_iter().find(|person| person.id == PersonId(id)).unwrap()
}

fn moved(request: &Request, id: u128, next: Move) -> Request {
    apply(request, &Actor::Person(person(id)), &next).unwrap()
}

fn refused(request: &Request, id: u128, next: Move) -> RefusalCode {
    apply(request, &Actor::Person(person(id)), &next).unwrap_err().code
}

fn judged(request: &Request, digest: &str, isolated: bool) -> Request {
    apply(request, &Actor::Shop, &Move::Judge { digest: digest.to_owned(), isolated }).unwrap()
}

fn ready(cost_cents: i64) -> Request {
    moved(&judged(&draft(cost_cents), "d1", true), 1, Move::Submit)
}

fn countersigned(cost_cents: i64, agrees: bool) -> Request {
    let taken = moved(&ready(cost_cents), 2, Move::Take);
    let read = moved(&taken, 2, Move::CommitRead { agrees });
    moved(&read, 2, Move::Countersign { digest: "d1".to_owned() })
}

fn settled(request: &Request) -> Request {
    apply(request, &Actor::Shop, &Move::Settle).unwrap()
}

#[test]
fn a_requester_asks_for_a_third_reader_only_once_the_second_disagrees() {
    // Without the manager's right to hand anything on, which the cast's requester has.
    let requester = Actor::Person(Person { manager: false, ..person(1) });
    let hand_on = |request: &Request| apply(request, &requester, &Move::HandOn);
    let taken = moved(&ready(100), 2, Move::Take);
    let agreed = moved(&taken, 2, Move::CommitRead { agrees: true });
    let differs = moved(&taken, 2, Move::CommitRead { agrees: false });

    assert_eq!(hand_on(&taken).unwrap_err().code, RefusalCode::NotYours);
    assert_eq!(hand_on(&agreed).unwrap_err().code, RefusalCode::NotYours);
    let third = hand_on(&differs).unwrap();
    assert_eq!((third.state, third.reader), (State::Ready, None));
    assert!(third.disagreement(), "the second judgement stays");
}

#[test]
fn submitting_what_is_not_isolated_is_held_and_isolating_it_makes_it_ready() {
    let held = moved(&draft(100), 1, Move::Submit);
    assert_eq!(held.state, State::Held);
    assert_eq!(judged(&held, "d1", true).state, State::Ready);
}

#[test]
fn a_cheap_agreed_request_is_approved_by_policy() {
    let approved = settled(&countersigned(100, true));
    assert_eq!(approved.state, State::Approved);
    assert_eq!(approved.approval.unwrap().approver, None);
}

#[test]
fn cost_warranty_age_disagreement_and_override_each_ask_a_manager() {
    let asks = |change: fn(&mut Request), cost_cents, agrees| {
        let mut request = countersigned(cost_cents, agrees);
        change(&mut request);
        (request.asks(), settled(&request).state)
    };
    let waits = |ask| (vec![ask], State::AwaitingApproval);
    assert_eq!(asks(|_| (), LIMIT_CENTS, true), waits(Ask::Cost));
    assert_eq!(asks(|request| request.under_warranty = true, 100, true), waits(Ask::Warranty));
    assert_eq!(asks(|request| request.age_years = Some(15), 100, true), waits(Ask::Age));
    assert_eq!(asks(|_| (), 100, false), waits(Ask::Disagreement));
    let overridden = |request: &mut Request| {
        request.isolated = false;
        request.overridden = Some(Override { by: PersonId(5), digest: "d1".to_owned() });
    };
    assert_eq!(asks(overridden, 100, true), waits(Ask::Override));
}

#[test]
fn a_countersignature_on_changed_evidence_is_void_and_shown() {
    let waiting = settled(&countersigned(LIMIT_CENTS, true));
    let back = judged(&waiting, "d2", false);
    assert_eq!(back.state, State::Held);
    assert_eq!((back.signature(), back.void_signatures()), (None, 1));
    let approve = Move::Approve { digest: "d1".to_owned(), amount_cents: LIMIT_CENTS };
    assert_eq!(refused(&back, 5, approve), RefusalCode::DigestChanged);
}

#[test]
fn a_blind_reader_is_not_told_whether_a_digest_is_right() {
    let ready = ready(100);
    let reading = moved(&ready, 2, Move::Take);
    for request in [ready, reading] {
        for digest in ["d1", "d2"] {
            let countersign = Move::Countersign { digest: digest.to_owned() };
            assert_eq!(refused(&request, 2, countersign), RefusalCode::BlindFirst);
        }
    }
}

#[test]
fn evidence_judged_again_without_a_change_moves_nothing() {
    let waiting = settled(&countersigned(LIMIT_CENTS, true));
    assert_eq!(judged(&waiting, "d1", true), waiting);
}

#[test]
fn the_requester_and_reading_takers_cannot_read() {
    let mut request = ready(100);
    assert_eq!(refused(&request, 1, Move::Take), RefusalCode::NotIndependent);
    request.reading_takers.insert(PersonId(2));
    assert_eq!(refused(&request, 2, Move::Take), RefusalCode::NotIndependent);
    assert_eq!(refused(&request, 4, Move::Take), RefusalCode::NotQualified);
    assert_eq!(refused(&request, 5, Move::Take), RefusalCode::NotQualified);
}

#[test]
fn whoever_stands_aside_sees_the_claim_and_can_no_longer_read() {
    let request = ready(100);
    assert!(!claim_visible_to(&request, &person(2)));
    let aside = moved(&request, 2, Move::StandAside);
    assert!(claim_visible_to(&aside, &person(2)));
    assert_eq!(refused(&aside, 2, Move::Take), RefusalCode::StoodAside);
}

#[test]
fn a_reader_sees_the_claim_only_after_the_blind_read() {
    let taken = moved(&ready(100), 2, Move::Take);
    assert!(!claim_visible_to(&taken, &person(2)));
    let read = moved(&taken, 2, Move::CommitRead { agrees: true });
    assert!(claim_visible_to(&read, &person(2)));
    assert!(!claim_visible_to(&read, &person(3)), "nor does the next reader");
    assert!(claim_visible_to(&read, &person(5)), "a manager who is no technician does");
    assert!(!claim_visible_to(&read, &person(6)), "one who is a technician does not");
}

#[test]
fn a_draft_is_its_requesters_alone_and_an_ended_request_is_everybodys() {
    let request = draft(100);
    assert!(cast().iter().all(|each| claim_visible_to(&request, each) == (each.id == REQUESTER)));
    let ended = moved(&ready(100), 1, Move::Withdraw);
    assert!(cast().iter().all(|each| claim_visible_to(&ended, each)));
}

#[test]
fn above_the_limit_the_approver_is_neither_requester_nor_reader() {
    let waiting = settled(&countersigned(LIMIT_CENTS, true));
    let approve = || Move::Approve { digest: "d1".to_owned(), amount_cents: LIMIT_CENTS };
    assert_eq!(refused(&waiting, 1, approve()), RefusalCode::NotIndependent);
    assert_eq!(refused(&waiting, 2, approve()), RefusalCode::NotYours);
    assert_eq!(refused(&waiting, 6, approve()), RefusalCode::BlindFirst);
    assert_eq!(moved(&waiting, 5, approve()).state, State::Approved);
    let aside = moved(&waiting, 6, Move::StandAside);
    assert_eq!(moved(&aside, 6, approve()).state, State::Approved);
}

#[test]
fn an_override_needs_another_manager_and_a_reason_and_still_a_countersignature() {
    let held = moved(&draft(100), 1, Move::Submit);
    let because = |reason: &str| Move::OverrideIsolation { reason: reason.to_owned() };
    assert_eq!(refused(&held, 2, because(SENTENCE)), RefusalCode::NotYours);
    assert_eq!(refused(&held, 1, because(SENTENCE)), RefusalCode::NotIndependent);
    assert_eq!(refused(&held, 5, because("cannot reach it")), RefusalCode::TooShort);
    let overridden = moved(&held, 5, because(SENTENCE));
    assert_eq!(overridden.state, State::Ready);
    assert!(!owed(&overridden, true)[1].done);
    assert_eq!(judged(&overridden, "d2", false).state, State::Held, "void on other evidence");
}

#[test]
fn disagreement_goes_to_a_third_reader_or_to_the_manager() {
    let read = moved(&moved(&ready(100), 2, Move::Take), 2, Move::CommitRead { agrees: false });
    let handed = moved(&read, 2, Move::HandOn);
    assert_eq!(handed.state, State::Ready);
    let third = moved(&moved(&handed, 3, Move::Take), 3, Move::CommitRead { agrees: true });
    let signed = moved(&third, 3, Move::Countersign { digest: "d1".to_owned() });
    assert_eq!(settled(&signed).state, State::AwaitingApproval);
}

#[test]
fn sent_back_waits_for_evidence_and_returns_to_the_gate_with_it() {
    let read = moved(&moved(&ready(100), 2, Move::Take), 2, Move::CommitRead { agrees: true });
    let back = moved(&read, 2, Move::SendBack { note: SENTENCE.to_owned() });
    assert_eq!(back.state, State::SentBack);
    assert_eq!(refused(&back, 3, Move::Take), RefusalCode::WrongState);
    assert_eq!(judged(&back, "d3", true).state, State::Ready);
    assert_eq!(moved(&back, 5, Move::HandOn).state, State::Ready, "or a manager moves it on");
}

#[test]
fn refusals_and_owed_words_never_name_the_claim_and_hide_the_override() {
    let held = moved(&draft(LIMIT_CENTS), 1, Move::Submit);
    let overridden = moved(&held, 5, Move::OverrideIsolation { reason: SENTENCE.to_owned() });
    let words: String = owed(&overridden, false).into_iter().map(|owed| owed.words).collect();
    assert!(!words.contains("overr") && !words.contains("cost"), "{words}");
    let shown: String = owed(&overridden, true).into_iter().map(|owed| owed.words).collect();
    assert!(shown.contains("overrode") && shown.contains("cost"), "{shown}");
}

#[test]
fn what_may_be_done_is_what_is_offered() {
    let request = ready(100);
    assert_eq!(may(&request, &person(1)), [MoveKind::Withdraw, MoveKind::Overturn]);
    assert_eq!(may(&request, &person(2)), [MoveKind::Take, MoveKind::StandAside]);
    assert_eq!(may(&request, &person(5)), [MoveKind::Overturn]);
    let ended = moved(&request, 1, Move::Withdraw);
    assert!(cast().iter().all(|each| may(&ended, each).is_empty()));
}

#[test]
fn every_state_is_found_by_its_identifier() {
    for state in State::ALL {
        assert_eq!(State::from_id(state.id()), Some(state));
    }
    assert_eq!(State::from_id("condemned"), None);
}

fn walks_hold(machine: Machine, cases: u32) -> (Result<(), String>, usize) {
    let mut runner = TestRunner::new_with_rng(
        Config { cases, failure_persistence: None, max_shrink_iters: 0, ..Config::default() },
        proptest::test_runner::TestRng::deterministic_rng(
            proptest::test_runner::RngAlgorithm::ChaCha,
        ),
    );
    let approved = std::cell::Cell::new(0);
    let held = runner.run(&(0..2 * LIMIT_CENTS, steps()), |(cost_cents, seeds)| {
        let end = walk(machine, cost_cents, &seeds).map_err(TestCaseError::fail)?;
        if end.state == State::Approved {
            approved.set(approved.get() + 1);
        }
        Ok(())
    });
    (held.map_err(|error| error.to_string()), approved.get())
}

#[test]
fn no_walk_reaches_approved_around_the_rules() {
    let cases = 4_000;
    let (held, approved) = walks_hold(apply, cases);
    assert_eq!(held, Ok(()));
    assert!(approved > cases as usize / 50, "only {approved} of {cases} walks were approved");
}

/// The machine, blind to who took the readings.
fn forgets_reading_takers(
    request: &Request,
    actor: &Actor,
    next: &Move,
) -> Result<Request, Refusal> {
    let mut without = request.clone();
    without.reading_takers.clear();
    let mut after = apply(&without, actor, next)?;
    after.reading_takers = request.reading_takers.clone();
    Ok(after)
}

/// The machine, keeping signatures alive over changed evidence.
fn keeps_signatures(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
    let mut after = apply(request, actor, next)?;
    if let Move::Judge { digest, .. } = next {
        after.state = request.state;
        after.reader = request.reader;
        for signature in &mut after.signatures {
            signature.digest = digest.clone();
        }
    }
    Ok(after)
}

/// The machine, taking any override for one on the present evidence.
fn keeps_overrides(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
    let mut with = request.clone();
    let present = match next {
        Move::Judge { digest, .. } => Some(digest),
        _ => request.digest.as_ref(),
    };
    if let (Some(given), Some(digest)) = (&mut with.overridden, present) {
        given.digest = digest.clone();
    }
    apply(&with, actor, next)
}

/// The machine, without the limit.
fn approves_for_anyone(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
    let mut with = request.clone();
    if matches!(next, Move::Approve { .. }) {
        with.rules.limit_cents = i64::MAX;
    }
    let mut after = apply(&with, actor, next)?;
    after.rules = request.rules.clone();
    Ok(after)
}

#[test]
fn the_walks_find_a_machine_that_lacks_a_rule() {
    let broken: [(&str, Machine); 4] = [
        ("reading takers may sign", forgets_reading_takers),
        ("signatures outlive the evidence", keeps_signatures),
        ("overrides outlive the evidence", keeps_overrides),
        ("anyone approves above the limit", approves_for_anyone),
    ];
    for (name, machine) in broken {
        assert!(walks_hold(machine, 8_000).0.is_err(), "the walks do not notice: {name}");
    }
}
