//! Approvals: who is asked for one when, and when one of them answers.
//!
//! Belongs here: the ladder of one approval climbed with the roster's own steps, and the tempers
//! of those who answer for money. Does not belong here: what the gate asks for, and the visit
//! that the approval came too late for or not.
//!
//! How likely and how quickly somebody answers is common practice, no source.

use std::collections::BTreeSet;

use roster::ladder::climb::{Colleague, fire};
use roster::ladder::{Kind, Step};

use crate::reads::Moment;
use crate::world::{For, World, chance};

/// Without a ladder the next one is telephoned after so long, and at most so often. Minutes.
const NEXT_CALL_MIN: i64 = 30;
const CALLS_MAX: i64 = 6;

/// Whoever sleeps finds their mail at this hour of the day.
const MORNING: u32 = 7;
/// And goes to bed at this one.
const NIGHT: u32 = 22;

/// How somebody came to answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum By {
    /// A service manager.
    Manager,
    /// The owner.
    Owner,
    /// Somebody whom a rule named in their stead.
    Delegate,
}

/// Somebody who stands in for the managers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Delegate {
    pub(crate) person: usize,
    pub(crate) up_to_cents: i64,
    pub(crate) until_min: i64,
}

/// An approval that is asked for.
#[derive(Clone, Debug)]
pub(crate) struct Approval {
    /// Who asked for the part, and who read the evidence: neither may answer.
    pub(crate) parties: [usize; 2],
    pub(crate) amount_cents: i64,
    pub(crate) asked_at_min: i64,
    /// When whoever asked is done with the rest of the visit.
    pub(crate) leaves_min: i64,
    /// When the first answer comes, as things stand, and whose it is.
    pub(crate) answer: Option<(i64, By)>,
    asked: BTreeSet<usize>,
    times: u64,
}

impl Approval {
    pub(crate) fn new(
        parties: [usize; 2],
        amount_cents: i64,
        asked_at_min: i64,
        leaves_min: i64,
    ) -> Self {
        let (answer, asked) = (None, BTreeSet::new());
        Approval { parties, amount_cents, asked_at_min, leaves_min, answer, asked, times: 0 }
    }

    /// Waits for an answer.
    pub(crate) fn waits(&self, now_min: i64) -> bool {
        self.answer.is_none_or(|(at_min, _)| at_min > now_min)
    }

    /// Whether a delegate may answer it.
    pub(crate) fn open_to(&self, delegate: &Delegate, now_min: i64) -> bool {
        delegate.until_min > now_min
            && self.amount_cents < delegate.up_to_cents
            && !self.parties.contains(&delegate.person)
    }
}

/// When the steps of its ladder come, minutes after it is asked for.
pub(crate) fn steps_min(steps: Option<&[Step<usize>]>) -> Vec<i64> {
    match steps {
        Some(steps) => steps.iter().map(|step| i64::from(step.after_min)).collect(),
        None => (0..CALLS_MAX).map(|call| call * NEXT_CALL_MIN).collect(),
    }
}

/// One step: asks whom it says. Managers and owner are numbered after the technicians.
pub(crate) fn climb(
    world: &World,
    approval: &mut Approval,
    step: &Step<usize>,
    delegate: Option<Delegate>,
    (index, moment): (u64, Moment),
) {
    let delegate = delegate.filter(|one| approval.open_to(one, moment.now_min));
    let crew = world.people.len();
    let people: Vec<Colleague<usize>> = (0..crew + world.managers.len())
        .map(|id| {
            let manager = id.checked_sub(crew).map(|at| &world.managers[at]);
            let stands_in = delegate.is_some_and(|one| one.person == id);
            Colleague {
                id,
                place: (manager.is_some() || stands_in).then_some(id),
                told: false,
                scheduler: false,
                manages: manager.is_some(),
                owner: manager.is_some_and(|one| one.owner),
                delegate: stands_in,
                on_call: false,
                second_rota: false,
                awake: false,
                quiet: None,
            }
        })
        .collect();
    let fired = fire(Kind::Approval, step, &people, &approval.asked, moment.at, false);
    for id in fired.asked {
        approval.asked.insert(id);
        mail(world, approval, id, (index, moment));
    }
}

/// A rule names a delegate: they are told of what waits.
pub(crate) fn tell_delegate(
    world: &World,
    approval: &mut Approval,
    delegate: &Delegate,
    (index, moment): (u64, Moment),
) {
    if approval.open_to(delegate, moment.now_min) && approval.asked.insert(delegate.person) {
        mail(world, approval, delegate.person, (index, moment));
    }
}

/// Without a ladder: the manager and the owner in turn, by telephone.
pub(crate) fn telephone(
    world: &World,
    approval: &mut Approval,
    call: usize,
    (index, moment): (u64, Moment),
) {
    let at = call % world.managers.len();
    let (answers, mean_min) = if asleep(moment.hour) { (0.25, 4.0) } else { (0.60, 3.0) };
    let (would, delay_min) = draw(world, approval, at, answers, mean_min, (index, moment));
    if would {
        let by = if world.managers[at].owner { By::Owner } else { By::Manager };
        note(approval, moment.now_min + delay_min, by);
    }
}

/// Mail: who sleeps finds it in the morning.
fn mail(world: &World, approval: &mut Approval, id: usize, (index, moment): (u64, Moment)) {
    let manager = id.checked_sub(world.people.len()).map(|at| &world.managers[at]);
    let (by, answers, mean_min) = match manager {
        Some(one) if one.owner => (By::Owner, 0.6, one.answers_min),
        Some(one) => (By::Manager, 0.6, one.answers_min),
        // It is theirs alone for these hours, and they know it.
        None => (By::Delegate, 0.9, world.people[id].answers_min),
    };
    // A delegate was told that they would be woken; half of them are.
    let wakes = by == By::Delegate
        && chance(world.seed, For::Approvals, [moment.weekend, index, u64::MAX]).even() < 0.5;
    let from_min = if asleep(moment.hour) && !wakes {
        moment.now_min + i64::from((MORNING + 24 - moment.hour) % 24) * 60
    } else {
        moment.now_min
    };
    let (would, delay_min) = draw(world, approval, id, answers, mean_min, (index, moment));
    if would {
        note(approval, from_min + delay_min, by);
    }
}

fn draw(
    world: &World,
    approval: &mut Approval,
    id: usize,
    answers: f64,
    mean_min: f64,
    (index, moment): (u64, Moment),
) -> (bool, i64) {
    approval.times += 1;
    let which = [moment.weekend, index, id as u64 * 64 + approval.times];
    let mut chance = chance(world.seed, For::Approvals, which);
    (chance.even() < answers, chance.exponential(mean_min).ceil() as i64)
}

fn note(approval: &mut Approval, at_min: i64, by: By) {
    if approval.answer.is_none_or(|(best_min, _)| at_min < best_min) {
        approval.answer = Some((at_min, by));
    }
}

fn asleep(hour: u32) -> bool {
    !(MORNING..NIGHT).contains(&hour)
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, TimeDelta};
    use roster::ladder::{Ladders, Variant};

    use super::*;

    fn moment(now_min: i64, hour: u32) -> Moment {
        Moment { weekend: 0, now_min, at: DateTime::UNIX_EPOCH + TimeDelta::minutes(now_min), hour }
    }

    fn waiting(amount_cents: i64) -> Approval {
        Approval::new([0, 1], amount_cents, 0, 30)
    }

    #[test]
    fn the_managers_are_asked_first_and_a_delegate_only_of_what_is_theirs() {
        let world = World::new(1, 1);
        let crew = world.people.len();
        let ladders: Ladders<usize> = Ladders::shipped();
        let steps = ladders.of(Kind::Approval).on(Variant::Weekend);
        let climbed = |delegate: Option<Delegate>, amount_cents: i64| {
            let mut approval = waiting(amount_cents);
            climb(&world, &mut approval, &steps[0], delegate, (0, moment(0, 12)));
            let first = approval.asked.clone();
            climb(&world, &mut approval, &steps[1], delegate, (0, moment(60, 13)));
            (first, approval.asked)
        };
        let managers: BTreeSet<usize> = (crew..crew + world.managers.len()).collect();
        assert_eq!(climbed(None, 90_000), (managers.clone(), managers.clone()));

        let delegate = |person| Delegate { person, up_to_cents: 100_000, until_min: 600 };
        let with: BTreeSet<usize> = managers.iter().copied().chain([5]).collect();
        assert_eq!(climbed(Some(delegate(5)), 90_000), (managers.clone(), with));
        // Not above the amount, not whoever asked for the part or read its evidence, not later.
        assert_eq!(climbed(Some(delegate(5)), 110_000).1, managers);
        assert_eq!(climbed(Some(delegate(1)), 90_000).1, managers);
        let gone = Delegate { until_min: 40, ..delegate(5) };
        assert_eq!(climbed(Some(gone), 90_000).1, managers);
    }

    #[test]
    fn mail_at_night_is_answered_in_the_morning() {
        let world = World::new(1, 1);
        let ladders: Ladders<usize> = Ladders::shipped();
        let steps = ladders.of(Kind::Approval).on(Variant::Weekend);
        let mut answered = 0;
        for index in 0..50 {
            let mut approval = waiting(90_000);
            climb(&world, &mut approval, &steps[0], None, (index, moment(100, 2)));
            if let Some((at_min, by)) = approval.answer {
                answered += 1;
                assert!(at_min > 100 + 5 * 60, "at {at_min}");
                assert_ne!(by, By::Delegate);
            }
        }
        assert!((30..50).contains(&answered), "{answered} of 50 answered");
    }
}
