//! Duty: what kinds there are, who is on at a moment, and what a night is.
//!
//! Belongs here: kinds of entries and their words, stretches of one kind, nights. Does not belong
//! here: rest ([`crate::rest`]), evenness ([`crate::fairness`]), and rows.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

use crate::calendar::{Calendar, DAY_MIN, Span, joined};

/// A night begins at 22:00 by the shop's wall. Common practice, no source.
pub const NIGHT_FROM_MIN: u16 = 22 * 60;

/// A night ends at 6:00 of the next day. Common practice, no source.
pub const NIGHT_TO_MIN: u16 = DAY_MIN + 6 * 60;

/// A night counts from so many minutes of duty within it on. Common practice, no source.
pub const NIGHT_COUNTED_MIN: i64 = 180;

/// What an entry of the rota is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// At work.
    Shift,
    /// At home, and goes out when called.
    OnCall,
    /// On the second rota: as on call once it is opened, off duty until then.
    Second,
    /// Away.
    Leave,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 4] = [Kind::Shift, Kind::OnCall, Kind::Second, Kind::Leave];

    /// As stored and sent.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Kind::Shift => "shift",
            Kind::OnCall => "on_call",
            Kind::Second => "second",
            Kind::Leave => "leave",
        }
    }

    /// From its name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Kind::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// In a sentence about somebody: "is on call".
    #[must_use]
    pub fn says(self) -> &'static str {
        match self {
            Kind::Shift => "on shift",
            Kind::OnCall => "on call",
            Kind::Second => "on the second rota",
            Kind::Leave => "on leave",
        }
    }
}

/// One entry of somebody's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Entry {
    /// When.
    pub span: Span,
    /// What.
    pub kind: Kind,
}

impl Entry {
    /// Of a kind, over a span.
    #[must_use]
    pub fn new(kind: Kind, span: Span) -> Self {
        Self { span, kind }
    }
}

/// The spans of some kinds among somebody's entries, in order, those that touch made one.
#[must_use]
pub fn spans_of(entries: &[Entry], kinds: &[Kind]) -> Vec<Span> {
    let of_kind = entries.iter().filter(|entry| kinds.contains(&entry.kind));
    joined(of_kind.map(|entry| entry.span).collect())
}

/// What somebody is at a moment, and since and until when without a break; entries of one kind
/// that touch are one stretch. Nothing where no entry of theirs covers the moment.
#[must_use]
pub fn at(entries: &[Entry], at: DateTime<Utc>) -> Option<Entry> {
    let now = entries.iter().find(|entry| entry.span.holds(at))?;
    let stretch = spans_of(entries, &[now.kind]).into_iter().find(|span| span.holds(at))?;
    Some(Entry::new(now.kind, stretch))
}

/// The night that begins on the evening of a day.
#[must_use]
pub fn night(calendar: &Calendar, date: NaiveDate) -> Span {
    Span::new(calendar.moment(date, NIGHT_FROM_MIN), calendar.moment(date, NIGHT_TO_MIN))
}

/// The nights, each by the day of its evening, that hold at least [`NIGHT_COUNTED_MIN`] minutes of
/// these spans, which are [`joined`]; in order.
#[must_use]
pub fn nights(calendar: &Calendar, spans: &[Span]) -> Vec<NaiveDate> {
    let mut nights: Vec<NaiveDate> = spans
        .iter()
        .flat_map(|span| {
            // A morning belongs to the night of the evening before.
            let earlier = calendar.date(span.start).pred_opt();
            earlier.into_iter().chain(calendar.dates(*span))
        })
        .collect();
    nights.sort_unstable();
    nights.dedup();
    nights.retain(|date| {
        let night = night(calendar, *date);
        let within = spans.iter().filter_map(|span| span.cut(night));
        within.map(Span::minutes).sum::<i64>() >= NIGHT_COUNTED_MIN
    });
    nights
}
