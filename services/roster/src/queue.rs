//! The board's queue: urgency first, then the promised window, then age.
//!
//! Belongs here: urgency classes, the order, the reason for a place in it. Does not belong
//! here: who goes there (travel and skill come with planning).

use std::cmp::Ordering;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

/// How pressing a job is, most pressing first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
    /// No heat, with an infant, an ill or an old person in the house.
    NoHeatVulnerable,
    /// Water is leaking.
    Water,
    /// Stored food is at risk.
    FoodStorage,
    /// No heating or no cooling.
    NoHeatCool,
    /// A matter of comfort.
    Comfort,
}

impl Urgency {
    /// Every class, most pressing first.
    pub const ALL: [Urgency; 5] = [
        Urgency::NoHeatVulnerable,
        Urgency::Water,
        Urgency::FoodStorage,
        Urgency::NoHeatCool,
        Urgency::Comfort,
    ];

    /// The identifier, as stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Urgency::NoHeatVulnerable => "no_heat_vulnerable",
            Urgency::Water => "water",
            Urgency::FoodStorage => "food_storage",
            Urgency::NoHeatCool => "no_heat_cool",
            Urgency::Comfort => "comfort",
        }
    }

    /// The class with that identifier.
    pub fn from_id(id: &str) -> Option<Urgency> {
        Urgency::ALL.into_iter().find(|urgency| urgency.id() == id)
    }

    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Urgency::NoHeatVulnerable => "no heat with a vulnerable occupant",
            Urgency::Water => "water leaking",
            Urgency::FoodStorage => "food storage at risk",
            Urgency::NoHeatCool => "no heating or cooling",
            Urgency::Comfort => "comfort",
        }
    }
}

/// A job, as far as its place in the queue goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waiting<Id> {
    /// Which job.
    pub id: Id,
    /// How pressing.
    pub urgency: Urgency,
    /// When the promised window ends, where one is promised.
    pub promised_until: Option<DateTime<Utc>>,
    /// When the call came in.
    pub opened_at: DateTime<Utc>,
}

/// A job in its place, with the reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed<Id> {
    /// Which job.
    pub id: Id,
    /// "Water leaking; promised in 40 min; open for 2 h 5 min".
    pub because: String,
}

/// The jobs in the order in which they are to be served. Ties keep the order given.
pub fn in_order<Id>(mut jobs: Vec<Waiting<Id>>, now: DateTime<Utc>) -> Vec<Placed<Id>> {
    jobs.sort_by(before);
    jobs.into_iter().map(|job| Placed { because: because(&job, now), id: job.id }).collect()
}

/// Which of two jobs is served first.
pub fn before<Id>(one: &Waiting<Id>, other: &Waiting<Id>) -> Ordering {
    let promised = |job: &Waiting<Id>| job.promised_until.unwrap_or(DateTime::<Utc>::MAX_UTC);
    one.urgency
        .cmp(&other.urgency)
        .then_with(|| promised(one).cmp(&promised(other)))
        .then_with(|| one.opened_at.cmp(&other.opened_at))
}

fn because<Id>(job: &Waiting<Id>, now: DateTime<Utc>) -> String {
    let promised = match job.promised_until.map(|until| until - now) {
        None => "no window promised".to_owned(),
        Some(left) if left < TimeDelta::zero() => {
            format!("promised window passed {} ago", span(-left))
        }
        Some(left) => format!("promised within {}", span(left)),
    };
    let urgency = job.urgency.words();
    let (first, rest) = urgency.split_at(1);
    let open = span((now - job.opened_at).max(TimeDelta::zero()));
    format!("{}{rest}; {promised}; open for {open}", first.to_uppercase())
}

/// "40 min", "2 h 5 min", "3 d 4 h".
fn span(length: TimeDelta) -> String {
    let minutes = length.num_minutes();
    let (days, hours, minutes) = (minutes / 1_440, minutes / 60 % 24, minutes % 60);
    match (days, hours) {
        (0, 0) => format!("{minutes} min"),
        (0, _) => format!("{hours} h {minutes} min"),
        _ => format!("{days} d {hours} h"),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn at(minute: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_795_000_000 + minute * 60, 0).unwrap()
    }

    fn waiting(id: u32, urgency: Urgency, until: Option<i64>, opened: i64) -> Waiting<u32> {
        Waiting { id, urgency, promised_until: until.map(at), opened_at: at(opened) }
    }

    fn order(jobs: Vec<Waiting<u32>>) -> Vec<u32> {
        in_order(jobs, at(0)).into_iter().map(|placed| placed.id).collect()
    }

    #[test]
    fn urgency_goes_before_window_and_window_before_age() {
        let jobs = vec![
            waiting(1, Urgency::Comfort, Some(10), -900),
            waiting(2, Urgency::NoHeatCool, None, -800),
            waiting(3, Urgency::NoHeatCool, Some(60), -5),
            waiting(4, Urgency::NoHeatVulnerable, None, -1),
            waiting(5, Urgency::NoHeatCool, None, -801),
        ];
        assert_eq!(order(jobs), [4, 3, 5, 2, 1]);
    }

    #[test]
    fn a_place_in_the_queue_says_why() {
        let late = in_order(vec![waiting(1, Urgency::Water, Some(-35), -125)], at(0));
        assert_eq!(
            late[0].because,
            "Water leaking; promised window passed 35 min ago; open for 2 h 5 min"
        );
        let open = in_order(vec![waiting(1, Urgency::Comfort, None, -2_000)], at(0));
        assert_eq!(open[0].because, "Comfort; no window promised; open for 1 d 9 h");
    }

    #[test]
    fn every_class_is_found_by_its_identifier() {
        for urgency in Urgency::ALL {
            assert_eq!(Urgency::from_id(urgency.id()), Some(urgency));
        }
    }

    fn jobs() -> impl Strategy<Value = Vec<Waiting<u32>>> {
        let job = (0..5usize, prop::option::of(-500..500i64), -500..0i64);
        prop::collection::vec(job, 0..20).prop_map(|jobs| {
            (0u32..)
                .zip(jobs)
                .map(|(id, (class, until, opened))| waiting(id, Urgency::ALL[class], until, opened))
                .collect()
        })
    }

    proptest! {
        #[test]
        fn the_queue_keeps_every_job_and_its_order_does_not_depend_on_the_order_given(
            jobs in jobs()
        ) {
            let key = |id: u32| {
                let job = &jobs[id as usize];
                (job.urgency, job.promised_until, job.opened_at)
            };
            let mut backwards = jobs.clone();
            backwards.reverse();
            let there: Vec<_> = order(jobs.clone()).into_iter().map(key).collect();
            let back: Vec<_> = order(backwards).into_iter().map(key).collect();
            prop_assert_eq!(there.len(), jobs.len());
            prop_assert_eq!(&there, &back);
            for pair in there.windows(2) {
                prop_assert!(pair[0].0 <= pair[1].0, "a less pressing job went first");
            }
        }
    }
}
