//! The story of a condemn request through the store, on the engine's own verdicts.

use engine::case::{Claim, Power, Reading, Shown as MeterShown};
use engine::gate::{MoveKind, State};
use engine::units::{Quantity, Unit};
use engine::verdict::Outcome;
use sea_orm::ConnectionTrait as _;
use store::read::{Judgement, Sure};
use store::request::{NewRequest, Shown, Step, request_make, request_move};
use store::{Caller, Store, StoreError, evidence};
use uuid::Uuid;

use super::{JOB, ana, bo, cleo, dan, eva, fay, gus, seeded};

/// A reading between two pins, plug off, cold; `None` is over limit.
pub(super) fn at_pins(from: &str, to: &str, ohm: Option<f64>) -> Reading {
    Reading {
        id: String::new(),
        quantity: Quantity::Resistance,
        from: from.to_owned(),
        to: to.to_owned(),
        lifted: vec!["plug".to_owned()],
        power: Power::Off,
        state: None,
        shown: match ohm {
            Some(value) => MeterShown::Value { value, unit: Unit::Ohm },
            None => MeterShown::OverLimit,
        },
        part_temp_c: Some(25.0),
        stopped_min: Some(600.0),
        meter: None,
    }
}

/// Readings that leave only the run winding open.
pub(super) async fn isolating_readings(store: &Store) {
    for reading in [at_pins("C", "S", Some(1.30)), at_pins("C", "R", None), at_pins("S", "R", None)]
    {
        evidence::reading_add(store, &ana(), JOB, reading).await.unwrap();
    }
}

pub(super) async fn claim(store: &Store, cost_cents: i64) -> Shown {
    let new = NewRequest {
        claim: Claim {
            component: "compressor".to_owned(),
            part: Some("run_winding".to_owned()),
            mode: Some("open".to_owned()),
        },
        estimated_cost_cents: cost_cents,
        note: "No path to R at the pins".to_owned(),
        submit: true,
    };
    request_make(store, &ana(), JOB, new).await.unwrap()
}

pub(super) fn judgement(component: &str) -> Step {
    Step::CommitRead(Judgement {
        component: Some(component.to_owned()),
        part: None,
        mode: None,
        sure: Sure::Sure,
        note: "Open to R at the pins".to_owned(),
    })
}

pub(super) async fn make(store: &Store, who: &Caller, id: Uuid, step: Step) -> Shown {
    request_move(store, who, id, step).await.unwrap()
}

pub(super) async fn refused(store: &Store, who: &Caller, id: Uuid, step: Step) -> &'static str {
    match request_move(store, who, id, step).await {
        Ok(shown) => panic!("allowed, now {:?}", shown.state),
        Err(StoreError::Forbidden { code, .. } | StoreError::Conflict { code, .. }) => code,
        Err(StoreError::NotFound { .. }) => "not-found",
        Err(StoreError::Invalid { .. } | StoreError::InvalidMany(_)) => "invalid",
        Err(other) => panic!("{other:?}"),
    }
}

pub(super) async fn count(store: &Store, from: &str) -> u64 {
    let text = format!("SELECT 1 FROM {from}");
    store.conn().execute_unprepared(&text).await.unwrap().rows_affected()
}

#[tokio::test]
async fn from_held_to_approved() {
    let store = seeded("story_approved").await;
    let held = claim(&store, 90_000).await;
    assert_eq!(held.state, State::Held);
    let told = held.told.unwrap();
    assert_ne!(told.verdict.outcome, Outcome::Isolated);
    assert!(!told.verdict.next_tests.is_empty());

    isolating_readings(&store).await;
    let ready = store::request::shown_to(&store, &ana(), held.id).await.unwrap();
    assert_eq!(ready.state, State::Ready, "{}", ready.told.unwrap().verdict.sentence);
    // One is asked first: Bo, Cleo or Eva, who are alike; the rest is the ladder's.
    assert_eq!(count(&store, "outbox WHERE payload ->> 'template' = 'second_read_asked'").await, 1);
    assert_eq!(count(&store, "reader_ask WHERE answer IS NULL").await, 1);

    let id = held.id;
    assert_eq!(refused(&store, &ana(), id, Step::Take).await, "not-independent");
    assert_eq!(refused(&store, &fay(), id, Step::Take).await, "not-qualified");
    assert_eq!(refused(&store, &gus(), id, Step::Take).await, "not-found");
    make(&store, &bo(), id, Step::Take).await;
    let read = make(&store, &bo(), id, judgement("compressor")).await;
    assert_eq!(read.state, State::Revealed);
    let digest = read.told.unwrap().digest;
    let sign = |digest: &str| Step::Countersign { digest: digest.to_owned(), note: String::new() };
    assert_eq!(refused(&store, &bo(), id, sign(&"0".repeat(64))).await, "digest-changed");
    let signed = make(&store, &bo(), id, sign(&digest)).await;
    assert_eq!(signed.state, State::AwaitingApproval);
    assert!(count(&store, "outbox WHERE payload ->> 'template' = 'approval_asked'").await > 0);

    let approve =
        || Step::Approve { digest: digest.clone(), amount_cents: 90_000, reason: String::new() };
    assert_eq!(refused(&store, &bo(), id, approve()).await, "not-yours");
    assert_eq!(refused(&store, &eva(), id, approve()).await, "blind-first");
    let approved = make(&store, &dan(), id, approve()).await;
    assert_eq!(approved.state, State::Approved);
    assert!(approved.owed.iter().all(|owed| owed.done));
    assert_eq!(count(&store, "outbox WHERE payload ->> 'template' = 'request_decided'").await, 1);
    assert!(store::record::verify(&store, super::SHOP).await.unwrap().unwrap() > 6);
}

#[tokio::test]
async fn a_cheap_agreed_request_is_approved_by_policy() {
    let store = seeded("story_policy").await;
    isolating_readings(&store).await;
    let id = claim(&store, 10_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    let read = make(&store, &bo(), id, judgement("compressor")).await;
    let digest = read.told.unwrap().digest;
    let done = make(&store, &bo(), id, Step::Countersign { digest, note: String::new() }).await;
    assert_eq!(done.state, State::Approved);
    assert!(done.told.unwrap().approval.unwrap().approver.is_none());
}

#[tokio::test]
async fn disagreement_asks_a_manager_and_shows_both_judgements() {
    let store = seeded("story_disagreement").await;
    isolating_readings(&store).await;
    let id = claim(&store, 10_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    assert_eq!(refused(&store, &bo(), id, judgement("flux capacitor")).await, "invalid");
    let read = make(&store, &bo(), id, judgement("harness")).await;
    let told = read.told.unwrap();
    assert!(told.disagreement && !told.reads[0].agrees);
    make(&store, &bo(), id, Step::HandOn { note: String::new(), to: None }).await;
    make(&store, &cleo(), id, Step::Take).await;
    let read = make(&store, &cleo(), id, judgement("compressor")).await;
    let digest = read.told.unwrap().digest;
    let signed = make(&store, &cleo(), id, Step::Countersign { digest, note: String::new() }).await;
    assert_eq!(signed.state, State::AwaitingApproval);
    assert_eq!(signed.told.unwrap().reads.len(), 2);
}

#[tokio::test]
async fn a_countersignature_on_changed_evidence_is_void() {
    let store = seeded("story_void").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    let read = make(&store, &bo(), id, judgement("compressor")).await;
    let digest = read.told.unwrap().digest;
    let sign = Step::Countersign { digest: digest.clone(), note: String::new() };
    make(&store, &bo(), id, sign).await;
    let good = at_pins("C", "R", Some(0.48));
    evidence::reading_add(&store, &ana(), JOB, good).await.unwrap();

    let back = store::request::shown_to(&store, &dan(), id).await.unwrap();
    assert!(matches!(back.state, State::Held | State::Ready), "{:?}", back.state);
    let told = back.told.unwrap();
    assert_eq!(told.void_signatures, 1);
    assert!(told.signature.is_none());
    let approve = Step::Approve { digest, amount_cents: 90_000, reason: String::new() };
    assert_eq!(refused(&store, &dan(), id, approve).await, "digest-changed");
}

#[tokio::test]
async fn a_nameplate_value_that_changes_the_evidence_is_noticed_at_the_next_move() {
    let store = seeded("story_specs").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    let read = make(&store, &bo(), id, judgement("compressor")).await;
    let digest = read.told.unwrap().digest;
    let specs = r#"UPDATE unit SET specs = '{"run_winding": {"value": 0.5, "unit": "ohm"}}'"#;
    store.conn().execute_unprepared(specs).await.unwrap();
    let sign = Step::Countersign { digest, note: String::new() };
    assert_eq!(refused(&store, &bo(), id, sign).await, "digest-changed");
    let back = store::request::shown_to(&store, &ana(), id).await.unwrap();
    assert!(matches!(back.state, State::Held | State::Ready), "{:?}", back.state);
}

#[tokio::test]
async fn a_held_request_is_overridden_by_another_manager_and_still_countersigned() {
    let store = seeded("story_override").await;
    let id = claim(&store, 10_000).await.id;
    let over = |reason: &str| Step::Override { reason: reason.to_owned() };
    assert_eq!(refused(&store, &dan(), id, over("no way")).await, "invalid");
    let ready = make(&store, &dan(), id, over("The terminal cover is under the new slab")).await;
    assert_eq!(ready.state, State::Ready);
    make(&store, &bo(), id, Step::Take).await;
    let read = make(&store, &bo(), id, judgement("compressor")).await;
    let digest = read.told.unwrap().digest;
    let signed = make(&store, &bo(), id, Step::Countersign { digest, note: String::new() }).await;
    assert_eq!(signed.state, State::AwaitingApproval, "an override asks a manager");
}

#[tokio::test]
async fn a_reading_that_the_engine_refuses_is_not_kept() {
    let store = seeded("story_refused").await;
    let wrong = at_pins("C", "Q9", Some(1.0));
    let error = evidence::reading_add(&store, &ana(), JOB, wrong).await.unwrap_err();
    let StoreError::InvalidMany(faults) = error else { panic!("{error:?}") };
    assert_eq!(faults[0].pointer, "/reading/to");
    assert_eq!(count(&store, "reading").await, 0);
    assert_eq!(count(&store, "record_entry").await, 0);
}

#[tokio::test]
async fn a_struck_reading_counts_no_more_and_every_word_on_a_sign_goes_along_in_order() {
    let store = seeded("story_struck").await;
    isolating_readings(&store).await;
    let shown = evidence::shown_to(&store, &ana(), JOB).await.unwrap();
    let second = shown.evidence.readings[1].id;
    assert!(evidence::reading_strike(&store, &cleo(), second, "probe slipped").await.is_err());
    let shown = evidence::reading_strike(&store, &ana(), second, "probe slipped").await.unwrap();
    assert_eq!(shown.evidence.case(None).readings.len(), 2);
    let again = evidence::reading_strike(&store, &ana(), second, "probe slipped").await;
    assert!(matches!(again, Err(StoreError::Conflict { code: "already-struck", .. })));

    evidence::observation_add(&store, &ana(), JOB, "hums_no_start", true).await.unwrap();
    let shown =
        evidence::observation_add(&store, &ana(), JOB, "hums_no_start", false).await.unwrap();
    // Which of them counts is the engine's to say: a look at the wires needs both.
    let present: Vec<bool> =
        shown.evidence.case(None).observations.iter().map(|one| one.present).collect();
    assert_eq!(present, [true, false]);
    assert_eq!(shown.evidence.revision, 6);
}

#[tokio::test]
async fn overturned_withdrawn_and_sent_back() {
    let store = seeded("story_ends").await;
    isolating_readings(&store).await;
    let id = claim(&store, 10_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    let read = make(&store, &bo(), id, judgement("harness")).await;
    assert!(read.may.contains(&MoveKind::Overturn) && read.may.contains(&MoveKind::SendBack));
    let test = Step::SendBack { note: "Read again after cooling".to_owned(), test: None };
    assert_eq!(make(&store, &bo(), id, test).await.state, State::SentBack);
    let found = Step::Overturn { reason: String::new(), found: "The plug was burnt".to_owned() };
    let ended = make(&store, &ana(), id, found).await;
    assert_eq!(ended.state, State::Overturned);
    assert!(ended.events.iter().any(|event| event.words.contains("The plug was burnt")));
    let again = claim(&store, 10_000).await;
    let back = make(&store, &ana(), again.id, Step::Withdraw { reason: String::new() }).await;
    assert_eq!(back.state, State::Withdrawn);
}
