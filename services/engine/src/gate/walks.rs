//! Random walks through the gate, and a judge of them that knows nothing of the rules' code.
//!
//! Belongs here: the walkers, the history they leave, what may never be found in it. Does not
//! belong here: the tests themselves.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::*;

pub(super) const REQUESTER: PersonId = PersonId(1);
pub(super) const LIMIT_CENTS: i64 = 50_000;

/// The cast: requester, three readers (one unqualified), two managers of whom one is also a
/// technician and qualified, and an owner who is the requester's rival for approving.
pub(super) fn cast() -> Vec<Person> {
    let person = |id, technician, manager, qualified| Person {
        id: PersonId(id),
        technician,
        manager,
        qualified,
    };
    vec![
        person(1, true, true, true),
        person(2, true, false, true),
        person(3, true, false, true),
        person(4, true, false, false),
        person(5, false, true, false),
        person(6, true, true, true),
    ]
}

pub(super) fn draft(cost_cents: i64) -> Request {
    Request {
        state: State::Draft,
        requester: REQUESTER,
        reading_takers: BTreeSet::from([REQUESTER]),
        digest: Some("d0".to_owned()),
        isolated: false,
        overridden: None,
        reader: None,
        reads: Vec::new(),
        signatures: Vec::new(),
        stood_aside: BTreeSet::new(),
        approval: None,
        cost_cents,
        rules: ApprovalRules {
            limit_cents: LIMIT_CENTS,
            warranty: true,
            age_years: Some(15),
            disagreement: true,
            overridden: true,
        },
        under_warranty: false,
        age_years: Some(8),
    }
}

/// One step of a walk: numbers that are turned into a move when its turn comes.
#[derive(Clone, Debug)]
pub(super) struct StepSeed {
    actor: usize,
    kind: usize,
    digest: usize,
    guided: bool,
    evidence: bool,
    yes: bool,
    over_limit: bool,
}

pub(super) fn steps() -> impl Strategy<Value = Vec<StepSeed>> {
    let step = (0..6usize, 0..64usize, 0..4usize, 0..100u8, 0..4u8, any::<bool>()).prop_map(
        |(actor, kind, digest, lot, yes, over_limit)| StepSeed {
            actor,
            kind,
            digest,
            guided: lot < 95,
            evidence: lot % 12 == 0,
            yes: yes > 0,
            over_limit,
        },
    );
    prop::collection::vec(step, 1..80)
}

/// What happened, told without the machine's own bookkeeping.
#[derive(Debug, Default)]
pub(super) struct History {
    digest_now: String,
    takers: BTreeSet<PersonId>,
    reads: Vec<(PersonId, String)>,
    signatures: Vec<(PersonId, String, bool)>,
    overrides: Vec<(PersonId, String)>,
    policy_approved: bool,
    manager_approved: Option<(PersonId, String, i64)>,
}

/// Which evidence isolates, as the walk's world has it.
pub(super) fn isolates(digest: &str) -> bool {
    matches!(digest, "d1" | "d3")
}

/// A machine to walk: the real one, or one with a rule taken out.
pub(super) type Machine = fn(&Request, &Actor, &Move) -> Result<Request, Refusal>;

/// Walks; returns the end, or what was broken on the way.
pub(super) fn walk(
    machine: Machine,
    cost_cents: i64,
    seeds: &[StepSeed],
) -> Result<Request, String> {
    let cast = cast();
    let mut request = draft(cost_cents);
    let mut history = History {
        digest_now: "d0".to_owned(),
        takers: BTreeSet::from([REQUESTER]),
        ..History::default()
    };
    for seed in seeds {
        let person = cast[seed.actor];
        let kind = if seed.evidence {
            let taker = seed.yes.then_some(person.id);
            new_evidence(machine, &mut request, &mut history, taker, seed.digest);
            continue;
        } else {
            chosen(machine, &request, &person, seed)
        };
        let next = made(kind, seed, &history.digest_now, cost_cents);
        if let Ok(after) = machine(&request, &Actor::Person(person), &next) {
            record(&mut history, &person, &next);
            request = after;
        }
        if request.state == State::Countersigned
            && let Ok(after) = machine(&request, &Actor::Shop, &Move::Settle)
        {
            history.policy_approved = after.state == State::Approved;
            request = after;
        }
        see(&request, &history, &cast)?;
        if request.state.ended() {
            break;
        }
    }
    Ok(request)
}

/// Mostly a move that the machine allows and that leads on; sometimes any at all.
fn chosen(machine: Machine, request: &Request, person: &Person, seed: &StepSeed) -> MoveKind {
    let digest_now = request.digest.clone().unwrap_or_default();
    let leads_on = |kind: &MoveKind| {
        let next = made(*kind, seed, &digest_now, request.cost_cents);
        !matches!(
            kind,
            MoveKind::Withdraw | MoveKind::Overturn | MoveKind::Decline | MoveKind::StandAside
        ) && machine(request, &Actor::Person(*person), &next).is_ok()
    };
    let allowed: Vec<MoveKind> = MoveKind::ALL.into_iter().filter(leads_on).collect();
    if seed.guided && !allowed.is_empty() {
        allowed[seed.kind % allowed.len()]
    } else if seed.guided {
        MoveKind::Submit
    } else {
        MoveKind::ALL[seed.kind % MoveKind::ALL.len()]
    }
}

fn new_evidence(
    machine: Machine,
    request: &mut Request,
    history: &mut History,
    taker: Option<PersonId>,
    digest: usize,
) {
    if request.state.ended() {
        return;
    }
    let digest = format!("d{digest}");
    if digest == history.digest_now {
        // A reading always changes the evidence.
        return;
    }
    if let Some(taker) = taker {
        request.reading_takers.insert(taker);
        history.takers.insert(taker);
    }
    let isolated = isolates(&digest);
    let next = Move::Judge { digest: digest.clone(), isolated };
    if let Ok(after) = machine(request, &Actor::Shop, &next) {
        *request = after;
        history.digest_now = digest;
    }
}

fn made(kind: MoveKind, seed: &StepSeed, digest_now: &str, cost_cents: i64) -> Move {
    let digest = if seed.guided { digest_now.to_owned() } else { format!("d{}", seed.digest) };
    let sentence = "the terminal cover is under the slab".to_owned();
    match kind {
        MoveKind::Submit => Move::Submit,
        MoveKind::Take => Move::Take,
        MoveKind::CommitRead => Move::CommitRead { agrees: seed.yes },
        MoveKind::Countersign => Move::Countersign { digest },
        MoveKind::SendBack => Move::SendBack { note: sentence },
        MoveKind::HandOn => Move::HandOn,
        MoveKind::Approve => {
            let amount_cents = if seed.over_limit { cost_cents.max(LIMIT_CENTS) } else { 100 };
            Move::Approve { digest, amount_cents }
        }
        MoveKind::Decline => Move::Decline { digest, reason: sentence },
        MoveKind::Override => Move::OverrideIsolation { reason: sentence },
        MoveKind::Withdraw => Move::Withdraw,
        MoveKind::Overturn => Move::Overturn { found: sentence },
        MoveKind::StandAside => Move::StandAside,
    }
}

fn record(history: &mut History, person: &Person, next: &Move) {
    let now = history.digest_now.clone();
    match next {
        Move::CommitRead { .. } => history.reads.push((person.id, now)),
        Move::Countersign { digest } => {
            let read_first = history.reads.contains(&(person.id, digest.clone()));
            history.signatures.push((person.id, digest.clone(), read_first));
        }
        Move::OverrideIsolation { .. } => history.overrides.push((person.id, now)),
        Move::Approve { digest, amount_cents } => {
            history.manager_approved = Some((person.id, digest.clone(), *amount_cents));
        }
        _ => {}
    }
}

/// What may never be seen, whatever was done.
fn see(request: &Request, history: &History, cast: &[Person]) -> Result<(), String> {
    let by_id: BTreeMap<PersonId, &Person> =
        cast.iter().map(|person| (person.id, person)).collect();
    if let (State::Reading, Some(reader)) = (request.state, request.reader)
        && !history.reads.iter().any(|(read_by, _)| *read_by == reader)
        && claim_visible_to(request, by_id[&reader])
    {
        return Err(format!("{reader:?} sees the claim before a blind read"));
    }
    if request.state != State::Approved {
        return Ok(());
    }
    let now = &history.digest_now;
    let overridden = history.overrides.iter().any(|(by, on)| on == now && by_id[by].manager);
    if !isolates(now) && !overridden {
        return Err(format!("approved on {now}, neither isolated nor overridden"));
    }
    let signed = history.signatures.iter().any(|(signer, on, read_first)| {
        on == now
            && *read_first
            && *signer != request.requester
            && !history.takers.contains(signer)
            && by_id[signer].technician
            && by_id[signer].qualified
    });
    if !signed {
        return Err(format!("approved on {now} without an independent countersignature on it"));
    }
    match &history.manager_approved {
        None if history.policy_approved && request.cost_cents < LIMIT_CENTS => Ok(()),
        None => Err("approved by nobody who may".to_owned()),
        Some((_, on, _)) if on != now => Err(format!("approved on {on}, but it is {now}")),
        Some((by, _, amount_cents)) => {
            let involved = *by == request.requester
                || history.takers.contains(by)
                || history.reads.iter().any(|(reader, _)| reader == by)
                || history.signatures.iter().any(|(signer, ..)| signer == by);
            if !by_id[by].manager {
                Err(format!("{by:?} approved and is no manager"))
            } else if *amount_cents >= LIMIT_CENTS && involved {
                Err(format!("{by:?} approved above the limit and is involved"))
            } else {
                Ok(())
            }
        }
    }
}
