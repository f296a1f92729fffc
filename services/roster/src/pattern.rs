//! Weekly patterns: a quarter's duties from a week's.
//!
//! Belongs here: what a pattern says and the entries it makes, each at the wall's times, so that a
//! night on which the clocks are changed is an hour shorter or longer. Does not belong here:
//! whether those entries fit what stands (the store's) and the rest rule ([`crate::rest`]).

use chrono::{Datelike as _, Days, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::calendar::{Calendar, DAY_MIN, Span, Unsound};
use crate::duty::{Entry, Kind};

#[cfg(test)]
mod tests;

/// Most weeks that a pattern fills in one go: half a year. More is refused.
pub const WEEKS_MAX: u32 = 26;

/// Most people in one pattern. More is refused.
pub const PEOPLE_MAX: usize = 40;

/// Most slots in a week. More is refused.
pub const SLOTS_MAX: usize = 28;

/// A stretch of the week, by the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slot {
    /// The day it begins on: 0 is Monday, 6 Sunday.
    pub weekday: u8,
    /// Minutes after midnight, 0 to 1439.
    pub from_min: u16,
    /// Minutes after midnight, 0 to 1440; not after `from_min` means on the next day.
    pub to_min: u16,
}

/// Which hours of the week a pattern covers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hours {
    /// These.
    Slots(Vec<Slot>),
    /// Whenever the shop is closed, for a week from this time of it on.
    WhileClosed {
        /// The day on which one week passes to the next: 0 is Monday.
        weekday: u8,
        /// The minute after midnight at which it does, 0 to 1439.
        minute: u16,
    },
}

/// How the people of a pattern share it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Turn {
    /// Everybody every week.
    Together,
    /// One a week, in the order given, from the first again after the last.
    Weekly,
}

/// A week's duties, repeated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern<Id> {
    /// What they are.
    pub kind: Kind,
    /// A day of the first week.
    pub first_week: NaiveDate,
    /// How many weeks, 1 to [`WEEKS_MAX`].
    pub weeks: u32,
    /// Who.
    pub people: Vec<Id>,
    /// How they share it.
    pub turn: Turn,
    /// When.
    pub hours: Hours,
    /// Whether slots that begin on a holiday are left out.
    pub not_on_holidays: bool,
}

impl<Id: Clone + PartialEq> Pattern<Id> {
    /// What is wrong with it.
    #[must_use]
    pub fn check(&self) -> Vec<Unsound> {
        let mut wrong = Vec::new();
        let mut note = |pointer: &str, says: String| {
            wrong.push(Unsound { pointer: pointer.to_owned(), says });
        };
        if self.kind == Kind::Leave {
            note("/kind", "Leave is no pattern; put it in or ask for it by its days.".into());
        }
        if !(1..=WEEKS_MAX).contains(&self.weeks) {
            note("/weeks", format!("A pattern fills 1 to {WEEKS_MAX} weeks in one go."));
        }
        if self.people.is_empty() || self.people.len() > PEOPLE_MAX {
            note("/people", format!("A pattern is for 1 to {PEOPLE_MAX} people."));
        }
        let twice = self.people.iter().enumerate().any(|(at, id)| self.people[..at].contains(id));
        if twice && self.turn == Turn::Together {
            note("/people", "Somebody is named twice; once is enough.".into());
        }
        match &self.hours {
            Hours::Slots(slots) if slots.is_empty() || slots.len() > SLOTS_MAX => {
                note("/slots", format!("A week has 1 to {SLOTS_MAX} slots."));
            }
            Hours::Slots(slots) => {
                let sound = |slot: &Slot| {
                    slot.weekday < 7 && slot.from_min < DAY_MIN && slot.to_min <= DAY_MIN
                };
                if !slots.iter().all(sound) {
                    let says = "A slot has a day from 0 (Monday) to 6 and minutes of its day.";
                    note("/slots", says.into());
                }
            }
            Hours::WhileClosed { weekday, minute } => {
                if *weekday > 6 || *minute >= DAY_MIN {
                    let says = "The week passes on a day from 0 (Monday) to 6, at a minute of it.";
                    note("/handover", says.into());
                }
            }
        }
        wrong
    }

    /// The entries it makes, by person and time within each week. A slot that the wall skips
    /// whole, on a night on which the clocks are changed, makes none.
    #[must_use]
    pub fn entries(&self, calendar: &Calendar) -> Vec<(Id, Entry)> {
        let back = u64::from(self.first_week.weekday().num_days_from_monday());
        let monday = self.first_week.checked_sub_days(Days::new(back)).unwrap_or(self.first_week);
        let mut out = Vec::new();
        for week in 0..self.weeks.min(WEEKS_MAX) {
            let days = Days::new(7 * u64::from(week));
            let Some(monday) = monday.checked_add_days(days) else { break };
            let spans = self.spans(calendar, monday);
            let people: Vec<&Id> = match self.turn {
                Turn::Together => self.people.iter().collect(),
                Turn::Weekly => {
                    let at = week as usize % self.people.len().max(1);
                    self.people.get(at).into_iter().collect()
                }
            };
            for id in people {
                let entries = spans.iter().map(|span| (id.clone(), Entry::new(self.kind, *span)));
                out.extend(entries);
            }
        }
        out
    }

    fn spans(&self, calendar: &Calendar, monday: NaiveDate) -> Vec<Span> {
        let day =
            |weekday: u8| monday.checked_add_days(Days::new(u64::from(weekday))).unwrap_or(monday);
        match &self.hours {
            Hours::Slots(slots) => slots
                .iter()
                .map(|slot| (day(slot.weekday), slot))
                .filter(|(date, _)| !(self.not_on_holidays && calendar.holiday(*date).is_some()))
                .map(|(date, slot)| {
                    let over_midnight = slot.to_min <= slot.from_min;
                    let to_min = slot.to_min + if over_midnight { DAY_MIN } else { 0 };
                    let start = calendar.moment(date, slot.from_min);
                    Span::new(start, calendar.moment(date, to_min))
                })
                .filter(|span| span.start < span.end)
                .collect(),
            Hours::WhileClosed { weekday, minute } => {
                let from = day(*weekday);
                let to = from.checked_add_days(Days::new(7)).unwrap_or(from);
                let whole = Span::new(calendar.moment(from, *minute), calendar.moment(to, *minute));
                calendar.closed_spans(whole)
            }
        }
    }
}
