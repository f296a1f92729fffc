//! The condemn gate as a model to be explored: every order in which what people send can
//! arrive.
//!
//! Belongs here: who acts, what is under way, what may never be seen. Does not belong here:
//! the rules; each step asks the engine's own machine, handed in so that a broken one can be
//! tried as well.
//!
//! Two readers, two managers (one of them also a qualified technician) and the requester. A
//! move arrives at once, or is under way while others arrive and then comes late, perhaps
//! twice. Evidence changes in between. What is judged is a history that the model keeps itself,
//! not what the machine says of itself.

use std::collections::BTreeSet;

use engine::gate::{
    Actor, ApprovalRules, Move, MoveKind, Person, PersonId, Refusal, Request, State,
    claim_visible_to,
};
use stateright::{Model, Property};

/// A machine to explore: the engine's, or one with a rule taken out.
pub type Machine = fn(&Request, &Actor, &Move) -> Result<Request, Refusal>;

const REQUESTER: PersonId = PersonId(1);
/// From here on a manager must answer, and be independent.
const LIMIT_CENTS: i64 = 50_000;
const CHEAP_CENTS: i64 = 20_000;
const COSTLY_CENTS: i64 = 90_000;
/// Messages under way at once.
const UNDER_WAY_MAX: usize = 2;
/// Messages that arrive twice, and changes of the evidence, in one history.
const REPEATS_MAX: u8 = 1;
const CHANGES_MAX: u8 = 2;
/// Kinds of evidence; those with an odd number isolate what is claimed.
const EVIDENCE: u8 = 4;

/// The gate with its people.
pub struct Gate {
    /// Whose rules.
    pub machine: Machine,
    /// Whether to begin with a request that waits for approval, which is many steps in.
    pub late: bool,
    /// The moves that are made; fewer reach deeper.
    pub moves: &'static [MoveKind],
}

/// The way to an approval and nothing else.
pub const FORWARD: [MoveKind; 4] =
    [MoveKind::Take, MoveKind::CommitRead, MoveKind::Countersign, MoveKind::Approve];

/// Where everything stands.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct World {
    /// As the machine left it.
    pub request: Request,
    under_way: BTreeSet<(PersonId, Step)>,
    repeats: u8,
    changes: u8,
    history: History,
}

/// What happened, told without the machine's own bookkeeping.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
struct History {
    evidence: u8,
    takers: BTreeSet<PersonId>,
    reads: BTreeSet<(PersonId, u8)>,
    /// Who signed, on what they were shown, while the evidence was what.
    signed: BTreeSet<(PersonId, u8, u8)>,
    overridden: BTreeSet<(PersonId, u8)>,
    aside: BTreeSet<PersonId>,
    /// Who approved (none for policy), what they were shown, while the evidence was what.
    approved: Option<(Option<PersonId>, u8, u8, i64)>,
}

/// A move as it was sent: with the evidence that its sender was shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Step {
    kind: MoveKind,
    shown: u8,
    agrees: bool,
}

/// One thing that happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Happens {
    /// Sent and arrived before anything else.
    AtOnce(PersonId, Step),
    /// Sent, and under way.
    Sent(PersonId, Step),
    /// Arrived; `again` when it will arrive once more.
    Arrived(PersonId, Step, bool),
    /// A reading by that person makes the evidence this.
    Measured(PersonId, u8),
}

/// The requester, two readers, a manager, a manager who is a qualified technician too.
pub fn cast() -> [Person; 5] {
    let person = |id, technician, manager| Person {
        id: PersonId(id),
        technician,
        manager,
        qualified: technician,
    };
    [
        person(1, true, false),
        person(2, true, false),
        person(3, true, false),
        person(4, false, true),
        person(5, true, true),
    ]
}

fn person(id: PersonId) -> Person {
    cast().into_iter().find(|person| person.id == id).unwrap_or(cast()[0])
}

fn digest(evidence: u8) -> String {
    format!("d{evidence}")
}

fn isolates(evidence: u8) -> bool {
    evidence % 2 == 1
}

fn sentence() -> String {
    "The terminal cover is under the slab.".to_owned()
}

fn made(step: &Step, cost_cents: i64) -> Move {
    let digest = digest(step.shown);
    match step.kind {
        MoveKind::Submit => Move::Submit,
        MoveKind::Take => Move::Take,
        MoveKind::CommitRead => Move::CommitRead { agrees: step.agrees },
        MoveKind::Countersign => Move::Countersign { digest },
        MoveKind::SendBack => Move::SendBack { note: sentence() },
        MoveKind::HandOn => Move::HandOn,
        MoveKind::Approve => Move::Approve { digest, amount_cents: cost_cents },
        MoveKind::Decline => Move::Decline { digest, reason: sentence() },
        MoveKind::Override => Move::OverrideIsolation { reason: sentence() },
        MoveKind::Withdraw => Move::Withdraw,
        MoveKind::Overturn => Move::Overturn { found: sentence() },
        MoveKind::StandAside => Move::StandAside,
    }
}

impl Gate {
    fn begin(cost_cents: i64, evidence: u8) -> World {
        let request = Request {
            state: State::Draft,
            requester: REQUESTER,
            reading_takers: BTreeSet::from([REQUESTER]),
            digest: Some(digest(evidence)),
            isolated: isolates(evidence),
            overridden: None,
            reader: None,
            reads: Vec::new(),
            signatures: Vec::new(),
            stood_aside: BTreeSet::new(),
            approval: None,
            cost_cents,
            rules: ApprovalRules {
                limit_cents: LIMIT_CENTS,
                warranty: false,
                age_years: None,
                disagreement: true,
                overridden: true,
            },
            under_warranty: false,
            age_years: None,
        };
        let takers = BTreeSet::from([REQUESTER]);
        let history = History { evidence, takers, ..History::default() };
        World { request, under_way: BTreeSet::new(), repeats: 0, changes: 0, history }
    }

    /// A move arrives: the row is locked, the rules are asked, and what was countersigned is
    /// settled in the same transaction.
    fn arrive(&self, world: &mut World, who: PersonId, step: &Step) {
        let before = world.request.clone();
        let next = made(step, before.cost_cents);
        let Ok(after) = (self.machine)(&before, &Actor::Person(person(who)), &next) else {
            return;
        };
        world.request = after;
        let now = world.history.evidence;
        let history = &mut world.history;
        match step.kind {
            MoveKind::CommitRead => drop(history.reads.insert((who, now))),
            MoveKind::Countersign => drop(history.signed.insert((who, step.shown, now))),
            MoveKind::Override => drop(history.overridden.insert((who, now))),
            MoveKind::StandAside => drop(history.aside.insert(who)),
            MoveKind::Approve => {
                history.approved = Some((Some(who), step.shown, now, before.cost_cents));
            }
            _ => {}
        }
        if world.request.state == State::Countersigned
            && let Ok(after) = (self.machine)(&world.request, &Actor::Shop, &Move::Settle)
        {
            if after.state == State::Approved {
                world.history.approved = Some((None, now, now, before.cost_cents));
            }
            world.request = after;
        }
    }

    fn measure(&self, world: &mut World, who: PersonId, evidence: u8) {
        if world.request.state.ended() {
            return;
        }
        world.changes += 1;
        world.request.reading_takers.insert(who);
        world.history.takers.insert(who);
        world.history.evidence = evidence;
        let judged = Move::Judge { digest: digest(evidence), isolated: isolates(evidence) };
        if let Ok(after) = (self.machine)(&world.request, &Actor::Shop, &judged) {
            world.request = after;
        }
    }
}

impl Model for Gate {
    type State = World;
    type Action = Happens;

    fn init_states(&self) -> Vec<World> {
        if !self.late {
            return [CHEAP_CENTS, COSTLY_CENTS]
                .into_iter()
                .flat_map(|cost| [0, 1].map(|evidence| Gate::begin(cost, evidence)))
                .collect();
        }
        let mut world = Gate::begin(COSTLY_CENTS, 1);
        for (who, kind) in [
            (1, MoveKind::Submit),
            (2, MoveKind::Take),
            (2, MoveKind::CommitRead),
            (2, MoveKind::Countersign),
        ] {
            self.arrive(&mut world, PersonId(who), &Step { kind, shown: 1, agrees: true });
        }
        vec![world]
    }

    fn actions(&self, world: &World, actions: &mut Vec<Happens>) {
        if world.request.state.ended() {
            return;
        }
        let shown = world.history.evidence;
        for who in cast() {
            for &kind in self.moves {
                let agrees =
                    if kind == MoveKind::CommitRead { vec![true, false] } else { vec![true] };
                for agrees in agrees {
                    let step = Step { kind, shown, agrees };
                    let next = made(&step, world.request.cost_cents);
                    // What is refused at once changes nothing.
                    if (self.machine)(&world.request, &Actor::Person(who), &next).is_ok() {
                        actions.push(Happens::AtOnce(who.id, step));
                        // A page offers only what is allowed, so only that is ever under way.
                        if world.under_way.len() < UNDER_WAY_MAX {
                            actions.push(Happens::Sent(who.id, step));
                        }
                    }
                }
            }
        }
        for (who, step) in &world.under_way {
            actions.push(Happens::Arrived(*who, *step, false));
            if world.repeats < REPEATS_MAX {
                actions.push(Happens::Arrived(*who, *step, true));
            }
        }
        if world.changes < CHANGES_MAX {
            for who in [1, 2, 5] {
                for evidence in (0..EVIDENCE).filter(|evidence| *evidence != shown) {
                    actions.push(Happens::Measured(PersonId(who), evidence));
                }
            }
        }
    }

    fn next_state(&self, world: &World, happens: Happens) -> Option<World> {
        let mut world = world.clone();
        match happens {
            Happens::AtOnce(who, step) => self.arrive(&mut world, who, &step),
            Happens::Sent(who, step) => drop(world.under_way.insert((who, step))),
            Happens::Arrived(who, step, again) => {
                if again {
                    world.repeats += 1;
                } else {
                    world.under_way.remove(&(who, step));
                }
                self.arrive(&mut world, who, &step);
            }
            Happens::Measured(who, evidence) => self.measure(&mut world, who, evidence),
        }
        Some(world)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![
            Property::always(ISOLATED, |_, world: &World| isolated_or_overridden(world)),
            Property::always(INDEPENDENT, |_, world: &World| independent(world)),
            Property::always(SAME_DIGEST, |_, world: &World| same_digest(world)),
            Property::always(BLIND, |_, world: &World| blind(world)),
            Property::sometimes("a manager approves", |_, world: &World| {
                world.history.approved.is_some_and(|(by, ..)| by.is_some())
            }),
            Property::sometimes("policy approves", |_, world: &World| {
                world.history.approved.is_some_and(|(by, ..)| by.is_none())
            }),
            Property::sometimes("what was overridden is approved", |_, world: &World| {
                world.request.state == State::Approved && !isolates(world.history.evidence)
            }),
            Property::sometimes(
                "a signature becomes void and another takes its place",
                |_, world: &World| {
                    world.request.state == State::Approved
                        && world.history.signed.iter().any(|(.., at)| *at != world.history.evidence)
                },
            ),
        ]
    }
}

/// Invariant 1.
pub const ISOLATED: &str = "approved only isolated or overridden, on what is approved";
/// Invariant 2.
pub const INDEPENDENT: &str = "the second reader and the approver are independent";
/// Invariant 3.
pub const SAME_DIGEST: &str = "countersignature, approval and evidence are one digest";
/// Invariant 4.
pub const BLIND: &str = "nobody who could read blind sees the claim";

fn isolated_or_overridden(world: &World) -> bool {
    let History { evidence, overridden, .. } = &world.history;
    world.request.state != State::Approved
        || isolates(*evidence)
        || overridden.iter().any(|(by, on)| on == evidence && person(*by).manager)
}

fn independent(world: &World) -> bool {
    let history = &world.history;
    let Some((by, _, _, amount_cents)) = history.approved else { return true };
    let signed = history.signed.iter().any(|(signer, shown, _)| {
        *shown == history.evidence
            && *signer != REQUESTER
            && !history.takers.contains(signer)
            && history.reads.contains(&(*signer, history.evidence))
    });
    let answered = by.is_none_or(|by| {
        let involved = by == REQUESTER
            || history.takers.contains(&by)
            || history.reads.iter().any(|(reader, _)| *reader == by)
            || history.signed.iter().any(|(signer, ..)| *signer == by);
        person(by).manager && !(amount_cents >= LIMIT_CENTS && involved)
    });
    signed && answered && (by.is_some() || amount_cents < LIMIT_CENTS)
}

fn same_digest(world: &World) -> bool {
    let history = &world.history;
    // Nobody ever signs what is not what they were shown.
    let signed = history.signed.iter().all(|(_, shown, at)| shown == at);
    let Some((_, shown, at, _)) = history.approved else { return signed };
    signed
        && shown == at
        && at == history.evidence
        && history.signed.iter().any(|(_, shown, _)| *shown == history.evidence)
}

fn blind(world: &World) -> bool {
    let history = &world.history;
    if world.request.state.ended() {
        return true;
    }
    cast().iter().all(|who| {
        let could_read = who.technician && who.id != REQUESTER && !history.aside.contains(&who.id);
        let has_read = history.reads.iter().any(|(reader, _)| *reader == who.id);
        !could_read || has_read || !claim_visible_to(&world.request, who)
    })
}
