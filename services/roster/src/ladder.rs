//! Ladders: who is told what when nobody answers, as a shop has it.
//!
//! Belongs here: kinds, steps, whom a step reaches, what ships, what a shop may save
//! ([`check`]), quiet hours ([`quiet`]) and the climbing itself ([`climb`]). Does not belong
//! here: keeping and firing steps (the store's), the order of the people ([`crate::reader`],
//! [`taker`]).
//!
//! Persons are named by whatever the caller names them by, `Id`.

use serde::{Deserialize, Serialize};

use crate::queue::Urgency;

pub mod check;
pub mod climb;
pub mod quiet;
mod shipped;
pub mod taker;
mod words;

pub use quiet::Quiet;

/// Most steps of one ladder; a longer one is refused: nobody remembers nine.
pub const STEPS_MAX: usize = 8;

/// Latest step, minutes after the start: a week; a later one is refused as a slip of the keys.
pub const AFTER_MIN_MAX: u32 = 7 * 24 * 60;

/// Most groups that one step reaches; more are refused.
pub const WHO_MAX: usize = 6;

/// Most people that "the next" can be; for more there is "everyone".
pub const NEXT_MAX: u8 = 20;

/// What a ladder climbs for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A condemn request that wants a second reader.
    SecondRead,
    /// An urgent job that nobody has.
    UrgentJob,
    /// A countersigned request that waits for somebody to answer for the money.
    Approval,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 3] = [Kind::SecondRead, Kind::UrgentJob, Kind::Approval];

    /// As stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Kind::SecondRead => "second_read",
            Kind::UrgentJob => "urgent_job",
            Kind::Approval => "approval",
        }
    }

    /// The kind with that name.
    pub fn from_id(id: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.id() == id)
    }
}

/// Whom a step reaches.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "group", rename_all = "snake_case", deny_unknown_fields)]
pub enum Who<Id> {
    /// The best placed of those who can take it and were not asked yet.
    Best,
    /// So many of the next best placed.
    Next {
        /// How many, 1 to [`NEXT_MAX`].
        count: u8,
    },
    /// Everyone who can take it.
    Everyone,
    /// Whoever is on call now, as far as they can take it.
    OnCall,
    /// Whoever is on the second rota now, as far as they can take it.
    SecondRota,
    /// The schedulers.
    Schedulers,
    /// Service managers and owners.
    Managers,
    /// The owners.
    Owners,
    /// Whoever answers for money in the managers' stead now.
    Delegate,
    /// One person by name.
    Person {
        /// Who.
        person_id: Id,
    },
}

/// How people are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// On the pages they have open.
    Live,
    /// On those, and by mail.
    Mail,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step<Id> {
    /// Minutes after the ladder's start, 0 to [`AFTER_MIN_MAX`].
    pub after_min: u32,
    /// Whom it reaches.
    pub who: Vec<Who<Id>>,
    /// How.
    pub how: How,
}

/// The steps of one kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Steps<Id> {
    /// On working days, lowest step first.
    pub week: Vec<Step<Id>>,
    /// On days the shop is closed; the same as in the week where absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weekend: Option<Vec<Step<Id>>>,
}

impl<Id> Steps<Id> {
    /// The steps on such a day.
    pub fn on(&self, variant: Variant) -> &[Step<Id>] {
        match (variant, &self.weekend) {
            (Variant::Weekend, Some(weekend)) => weekend,
            _ => &self.week,
        }
    }
}

/// Which of the two sets of steps a ladder climbs by; settled when it starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Variant {
    /// A working day.
    Week,
    /// A day on which the shop is closed.
    Weekend,
}

impl Variant {
    /// As stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Variant::Week => "week",
            Variant::Weekend => "weekend",
        }
    }
}

/// The shop's quiet hours, by the clock on each person's wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// First quiet minute, after midnight.
    pub from_min: u16,
    /// First minute that is not quiet any more, after midnight.
    pub to_min: u16,
}

/// Everything that a shop says about its ladders.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ladders<Id> {
    /// For a second read.
    pub second_read: Steps<Id>,
    /// For an urgent job that nobody has.
    pub urgent_job: Steps<Id>,
    /// For an approval that waits.
    pub approval: Steps<Id>,
    /// Which jobs are urgent enough for a ladder when nobody has them.
    pub urgent: Vec<Urgency>,
    /// Quiet hours of whoever set none of their own; nobody's where absent.
    pub quiet: Option<Hours>,
    /// Jobs of these classes are told in quiet hours too.
    pub never_quiet: Vec<Urgency>,
}

impl<Id> Ladders<Id> {
    /// The steps for a kind.
    pub fn of(&self, kind: Kind) -> &Steps<Id> {
        match kind {
            Kind::SecondRead => &self.second_read,
            Kind::UrgentJob => &self.urgent_job,
            Kind::Approval => &self.approval,
        }
    }
}
