//! Capacity: will everybody who calls be served in time?
//!
//! Belongs here: what a span of time is made of for this question (people, calls, classes with
//! their longest wait). [`erlang`] has the formula, [`demand`] learns what is to be expected
//! from a shop's own history, [`places`] has the ways, [`simulate`] plays one span through,
//! [`outlook`] plays it many times and says what is short. Does not belong here: clocks, rows, and
//! who goes where (a plan's, [`crate::plan`]).
//!
//! Times are minutes from the span's start; what was before it is negative. The same seed gives
//! the same answer, to the last digit, on the same machine.

use serde::{Deserialize, Serialize};

use places::{Places, To};

use crate::plan::RestRule;
use crate::queue::Urgency;

pub mod demand;
pub mod erlang;
pub mod learn;
pub mod outlook;
pub mod places;
pub mod random;
pub mod simulate;

/// Classes of urgency.
pub const CLASSES: usize = Urgency::ALL.len();

/// Minutes in an hour.
pub const HOUR_MIN: f64 = 60.0;

/// Longest span that is looked at, hours: a long weekend with the days beside it. A longer one
/// is refused.
pub const SPAN_HOURS_MAX: usize = 120;

/// What is done on a call.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Work {
    /// Finding out what is wrong.
    Diagnosis,
    /// Repairing what is known.
    Repair,
    /// Maintenance.
    Maintenance,
    /// Installing.
    Installation,
    /// Coming back to something.
    ReturnVisit,
}

impl Work {
    /// Every kind.
    pub const ALL: [Work; 5] =
        [Work::Diagnosis, Work::Repair, Work::Maintenance, Work::Installation, Work::ReturnVisit];

    /// As stored and sent.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Work::Diagnosis => "diagnosis",
            Work::Repair => "repair",
            Work::Maintenance => "maintenance",
            Work::Installation => "installation",
            Work::ReturnVisit => "return_visit",
        }
    }

    /// The kind with that identifier.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Work> {
        Work::ALL.into_iter().find(|work| work.id() == id)
    }
}

/// What a call may ask of whoever goes, in the order of [`Skills`]' bits.
pub const QUALIFICATIONS: [&str; 4] = ["sealed_system", "three_phase", "combustion", "electrical"];

/// A set of qualifications.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Skills(pub u8);

impl Skills {
    /// From identifiers; what is not among [`QUALIFICATIONS`] is left out.
    #[must_use]
    pub fn of<S: AsRef<str>>(ids: &[S]) -> Self {
        let bit = |id: &S| QUALIFICATIONS.iter().position(|known| *known == id.as_ref());
        Skills(ids.iter().filter_map(bit).fold(0, |set, bit| set | 1 << bit))
    }

    /// Whether everything in `needed` is here.
    #[must_use]
    pub fn hold(self, needed: Skills) -> bool {
        self.0 & needed.0 == needed.0
    }

    /// The identifiers.
    #[must_use]
    pub fn ids(self) -> Vec<&'static str> {
        (0..).zip(QUALIFICATIONS).filter(|(bit, _)| self.0 >> bit & 1 == 1).map(|q| q.1).collect()
    }
}

/// How somebody is on duty.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DutyKind {
    /// At work.
    Shift,
    /// At home with the telephone: the first of them comes when called, the next only when
    /// somebody decides to call them out.
    OnCall,
    /// On the second rota, which is opened when the first is not enough.
    Second,
}

/// A span of somebody's duty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Duty {
    /// How.
    pub kind: DutyKind,
    /// From, minutes.
    pub start_min: f64,
    /// To, minutes.
    pub end_min: f64,
}

/// Somebody who may be sent.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Person {
    /// What they may do.
    pub skills: Skills,
    /// When they are on duty, in order.
    pub duties: Vec<Duty>,
    /// Busy with what they have until then; at most 0 when free at the start.
    pub busy_until_min: f64,
    /// When their present run of work began, where they are in one: rest counts from it.
    pub run_start_min: Option<f64>,
    /// Where they are at the start, or will be when free: a place of [`Setting::places`].
    pub place: usize,
}

/// A call.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Call {
    /// When it can be begun, and its waiting counts from: when it came in, or the promised
    /// window's start. Negative when it waits already.
    pub ready_min: f64,
    /// How pressing.
    pub class: Urgency,
    /// What is done.
    pub work: Work,
    /// What whoever goes must be able to do.
    pub needs: Skills,
    /// Getting there where its place is not known, minutes.
    pub travel_min: f64,
    /// Work, minutes.
    pub takes_min: f64,
    /// Index of the person who has it already; nobody else takes it.
    pub held_by: Option<usize>,
    /// Where it is; none where that is not known.
    pub to: Option<To>,
}

/// How long each class may wait, from the call to the beginning of work, minutes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tolerable(pub [f64; CLASSES]);

impl Default for Tolerable {
    /// Common practice, no source: a shop sets its own.
    fn default() -> Self {
        Tolerable([90.0, 120.0, 180.0, 240.0, 2_880.0])
    }
}

/// What does not change while a span is played.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Whole hours; at most [`SPAN_HOURS_MAX`].
    pub hours: usize,
    /// Who there is.
    pub people: Vec<Person>,
    /// How long each class may wait.
    pub tolerable: Tolerable,
    /// The shop's rest rule.
    pub rest: RestRule,
    /// Without anybody deciding so earlier, the next on call is called out once an urgent call
    /// has waited longer than it may; off for the bare queue of the formula.
    pub called_when_late: bool,
    /// Where calls come from, and the ways between.
    pub places: Places,
}

impl Setting {
    /// The span's end, minutes.
    #[must_use]
    pub fn end_min(&self) -> f64 {
        self.hours as f64 * HOUR_MIN
    }

    /// The place of a call, where it is one of [`Setting::places`].
    #[must_use]
    pub fn place_of(&self, call: &Call) -> Option<usize> {
        call.to.map(|to| to.place).filter(|place| *place < self.places.count())
    }

    /// From a place to a call, minutes.
    #[must_use]
    pub fn way_min(&self, from: usize, call: &Call) -> f64 {
        let known =
            call.to.and_then(|to| Some(self.places.between_min(from, to.place)? * to.factor));
        known.unwrap_or(call.travel_min)
    }
}

/// Where a class stands in [`Urgency::ALL`].
#[must_use]
pub fn class_index(class: Urgency) -> usize {
    Urgency::ALL.iter().position(|known| *known == class).unwrap_or(CLASSES - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_of_qualifications_holds_its_own_and_not_others() {
        let both = Skills::of(&["three_phase", "combustion", "juggling"]);
        assert_eq!(both.ids(), ["three_phase", "combustion"]);
        assert!(both.hold(Skills::of(&["combustion"])) && both.hold(Skills::default()));
        assert!(!both.hold(Skills::of(&["combustion", "electrical"])));
    }

    #[test]
    fn every_kind_of_work_is_found_by_its_identifier() {
        for work in Work::ALL {
            assert_eq!(Work::from_id(work.id()), Some(work));
        }
    }
}
