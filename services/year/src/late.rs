//! The chance of being late as a shop's rules see it: the outlook of the capacity, played from how
//! things stand now.
//!
//! Belongs here: a moment of a weekend as the capacity's setting, and the memory of what was
//! played. Does not belong here: the outlook itself ([`roster::capacity::outlook`]), and what a
//! rule makes of it ([`crate::watch`]).
//!
//! Moments that look alike to a quarter of an hour are one and are played once.

use std::collections::BTreeMap;

use roster::capacity::outlook::{Standing, outlook};
use roster::capacity::places::{Places, SHOP};
use roster::capacity::{CLASSES, Duty, DutyKind, Person, Setting, Skills, Work};
use roster::plan::RestRule;
use roster::queue::Urgency;

use crate::world::{Coming, World};

/// Runs of an outlook: a fifth of what the service plays, since a year has thousands.
pub const RUNS: u64 = 120;

/// How far an outlook looks ahead, hours; the chance is that of its first part.
pub const AHEAD_HOURS: usize = 8;

/// To how many minutes a moment is rounded.
const ALIKE_MIN: i64 = 15;

/// How somebody stands, minutes from now.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Hand {
    pub(crate) skills: u8,
    /// How they are on duty, from, to.
    pub(crate) duty: (DutyKind, i64, i64),
    /// Busy until then; 0 when free.
    pub(crate) busy_until: i64,
    /// Their run of work began so long ago, where they are in one.
    pub(crate) worked: Option<i64>,
}

/// A call that nobody has: class, what it asks for, how long it waits, minutes of work expected.
pub(crate) type Waiting = (usize, u8, i64, i64);

/// A moment.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct State {
    /// Hour of the weekend.
    pub(crate) hour: usize,
    /// Who there is, in the order in which they are called out.
    pub(crate) hands: Vec<Hand>,
    /// What waits.
    pub(crate) waiting: Vec<Waiting>,
}

impl State {
    fn rounded(mut self) -> Self {
        let round = |min: i64| (min + ALIKE_MIN / 2).div_euclid(ALIKE_MIN) * ALIKE_MIN;
        for hand in &mut self.hands {
            hand.busy_until = round(hand.busy_until);
            hand.worked = hand.worked.map(round);
            let (kind, from, to) = hand.duty;
            hand.duty = (kind, round(from), round(to));
        }
        for (_, _, waits, expected) in &mut self.waiting {
            (*waits, *expected) = (round(*waits), round(*expected));
        }
        self
    }
}

/// What was played of one weekend.
#[derive(Clone, Debug, Default)]
pub(crate) struct Late(BTreeMap<State, [f64; CLASSES]>);

impl Late {
    /// The chance by class that a call coming now waits longer than it may.
    pub(crate) fn chance(
        &mut self,
        world: &World,
        coming: &Coming,
        rest: RestRule,
        state: State,
    ) -> [f64; CLASSES] {
        let state = state.rounded();
        if let Some(known) = self.0.get(&state) {
            return *known;
        }
        let chances = played(world, coming, rest, &state);
        self.0.insert(state, chances);
        chances
    }
}

fn played(world: &World, coming: &Coming, rest: RestRule, state: &State) -> [f64; CLASSES] {
    let from = state.hour.min(coming.demand.rate_h.len());
    let to = (from + AHEAD_HOURS).min(coming.demand.rate_h.len());
    let mut demand = coming.demand.clone();
    demand.rate_h = demand.rate_h[from..to].to_vec();
    demand.usual_h = demand.usual_h[from..to].to_vec();
    let person = |hand: &Hand| {
        let (kind, start, end) = hand.duty;
        Person {
            skills: Skills(hand.skills),
            duties: vec![Duty { kind, start_min: start as f64, end_min: end as f64 }],
            busy_until_min: hand.busy_until as f64,
            run_start_min: hand.worked.map(|ago| -ago as f64),
            place: SHOP,
        }
    };
    let setting = Setting {
        hours: (to - from).max(1),
        people: state.hands.iter().map(person).collect(),
        tolerable: world.tolerable,
        rest,
        called_when_late: true,
        // Calls lie all around the shop: one town, with the usual way.
        places: Places::default(),
    };
    let standing: Vec<Standing> = state
        .waiting
        .iter()
        .map(|(class, needs, waits, expected)| Standing {
            ready_min: -(*waits as f64),
            class: Urgency::ALL[*class],
            work: Work::Diagnosis,
            needs: Skills(*needs),
            expected_min: Some(*expected as f64),
            held_by: None,
            place: None,
        })
        .collect();
    let seen = outlook(&setting, &demand, &standing, world.seed, RUNS);
    seen.by_part.first().map_or([0.0; CLASSES], |part| part.map(|odds| odds.chance))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hand(busy_until: i64) -> Hand {
        let duty = (DutyKind::Shift, 0, 3_000);
        Hand { skills: 0b1111, duty, busy_until, worked: None }
    }

    #[test]
    fn what_waits_and_who_is_busy_make_late_likelier_and_alike_is_played_once() {
        let world = World::new(1, 1);
        let coming = &world.weekends[0];
        let rest = RestRule { rest_min: 600, duty_max_min: 840 };
        let mut late = Late::default();
        let water = 1;
        let mut of = |hands: Vec<Hand>, waiting: Vec<Waiting>| {
            late.chance(&world, coming, rest, State { hour: 20, hands, waiting })[water]
        };
        let free = of(vec![hand(0), hand(0), hand(0)], vec![]);
        let busy = of(vec![hand(400), hand(400), hand(400)], vec![]);
        let queue = of(vec![hand(0)], vec![(water, 0, 100, 200); 4]);
        assert!(busy > free + 0.1, "{busy} after {free}");
        assert!(queue > free + 0.1, "{queue} after {free}");
        assert_eq!(of(vec![], vec![]), 1.0);
        let again = of(vec![hand(2), hand(-3), hand(0)], vec![]);
        assert_eq!(again, free);
        assert_eq!(late.0.len(), 4);
    }
}
