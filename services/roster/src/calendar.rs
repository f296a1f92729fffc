//! The shop's calendar: its zone, its opening hours, its holidays, its weekends.
//!
//! Belongs here: what a shop says of its hours and days ([`Settings`]), and what follows at one
//! moment or over a span ([`Calendar`]). Wall-clock times become moments in [`zone`], public
//! holidays come from [`holidays`]. Does not belong here: who is on duty ([`crate::duty`]), the
//! present moment (a parameter), storage.
//!
//! Zones are reckoned with chrono-tz: its rules are compiled in, so that the answer never depends
//! on files of the machine, and its times are chrono's, which every neighbour uses.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, Datelike as _, Days, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use crate::rest::RestRule;

pub mod holidays;
#[cfg(test)]
mod tests;
pub mod zone;

/// Minutes of a wall-clock day.
pub const DAY_MIN: u16 = 24 * 60;

/// Most spans of opening in one day; a day with more is refused with a sentence.
pub const HOURS_PER_DAY_MAX: usize = 4;

/// Most days of its own that a shop may keep; more are refused.
pub const OWN_DAYS_MAX: usize = 200;

/// Longest name of a day of its own, in characters.
pub const DAY_NAME_CHARS_MAX: usize = 80;

/// How far ahead the next opening is looked for, in days; a shop closed for longer has none.
pub const NEXT_OPEN_DAYS_MAX: u64 = 400;

/// Longest span that is cut into openings in one go, in days: two years and some. What lies
/// beyond is left off.
pub const SPAN_DAYS_MAX: i64 = 800;

/// A closed stretch from this length on is a weekend, in hours: longer than any night, shorter
/// than one closed day with the nights around it.
pub const WEEKEND_HOURS_MIN: i64 = 30;

/// A weekend longer than this, in hours, is a long one: two closed days from one evening to the
/// third morning are 62 to 66 h.
pub const LONG_WEEKEND_HOURS: i64 = 72;

/// From one moment to another; the end is not within it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Span {
    /// First moment.
    pub start: DateTime<Utc>,
    /// The moment after the last.
    pub end: DateTime<Utc>,
}

impl Span {
    /// From `start` to `end`.
    #[must_use]
    pub fn new(start: DateTime<Utc>, end: DateTime<Utc>) -> Self {
        Self { start, end }
    }

    /// Whether the moment lies within.
    #[must_use]
    pub fn holds(self, at: DateTime<Utc>) -> bool {
        self.start <= at && at < self.end
    }

    /// What is in both; nothing where they do not meet.
    #[must_use]
    pub fn cut(self, other: Self) -> Option<Self> {
        let both = Self::new(self.start.max(other.start), self.end.min(other.end));
        (both.start < both.end).then_some(both)
    }

    /// How long, never negative.
    #[must_use]
    pub fn length(self) -> TimeDelta {
        (self.end - self.start).max(TimeDelta::zero())
    }

    /// Whole minutes, rounded down.
    #[must_use]
    pub fn minutes(self) -> i64 {
        self.length().num_minutes()
    }
}

/// Spans in order, with those that touch or overlap made one; empty ones are left out.
#[must_use]
pub fn joined(mut spans: Vec<Span>) -> Vec<Span> {
    spans.retain(|span| span.start < span.end);
    spans.sort_unstable();
    let mut out: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match out.last_mut() {
            Some(last) if span.start <= last.end => last.end = last.end.max(span.end),
            _ => out.push(span),
        }
    }
    out
}

/// What of `whole` is in none of `spans`, which are [`joined`].
#[must_use]
pub fn gaps(whole: Span, spans: &[Span]) -> Vec<Span> {
    let mut out = Vec::new();
    let mut from = whole.start;
    for span in spans {
        if span.start > from {
            out.extend(Span::new(from, span.start).cut(whole));
        }
        from = from.max(span.end);
    }
    out.extend(Span::new(from, whole.end).cut(whole));
    out
}

/// A stretch of opening in a day, by the clock on the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Minutes after midnight, 0 to 1439.
    pub from_min: u16,
    /// Minutes after midnight, above `from_min`, at most 1440.
    pub to_min: u16,
}

/// A day that the shop itself says something about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnDay {
    /// The day.
    pub date: NaiveDate,
    /// What it is called.
    pub name: String,
    /// Whether the shop is open on it as on any such weekday, public holiday or not; otherwise it
    /// is closed.
    pub open: bool,
}

/// What a shop says of its hours and days. A field that is absent is its default.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// Opening by weekday, Monday first, each in order and without overlaps.
    pub week: [Vec<Hours>; 7],
    /// Whose public holidays: a name that [`holidays::countries`] lists; none for no public
    /// holidays. What only a part of the country keeps is among the own days.
    pub country: Option<String>,
    /// Days of the shop's own: closed ones added, public holidays struck out.
    pub own_days: Vec<OwnDay>,
    /// The rest rule.
    pub rest: RestRule,
}

impl Default for Settings {
    /// Monday to Friday from 8 to 17 and no holidays.
    fn default() -> Self {
        let day = || vec![Hours { from_min: 8 * 60, to_min: 17 * 60 }];
        Settings {
            week: [day(), day(), day(), day(), day(), vec![], vec![]],
            country: None,
            own_days: Vec::new(),
            rest: RestRule::default(),
        }
    }
}

/// What is wrong with a calendar, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{pointer}: {says}")]
pub struct Unsound {
    /// JSON pointer into the settings.
    pub pointer: String,
    /// What is wrong there, and what would be right.
    pub says: String,
}

/// A closed stretch that holds at least one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weekend {
    /// From the last closing to the next opening.
    pub span: Span,
    /// The holidays in it, in order.
    pub holidays: Vec<(NaiveDate, String)>,
    /// Whether it is longer than two closed days: [`LONG_WEEKEND_HOURS`].
    pub long: bool,
}

/// A shop's calendar. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Calendar {
    zone: Tz,
    settings: Arc<Settings>,
    public: Arc<BTreeMap<NaiveDate, String>>,
    own: Arc<BTreeMap<NaiveDate, (String, bool)>>,
}

impl Calendar {
    /// From an IANA zone's name and what the shop says.
    ///
    /// # Errors
    /// Everything that is wrong with them, at once.
    pub fn new(zone: &str, settings: Settings) -> Result<Self, Vec<Unsound>> {
        let mut wrong = Vec::new();
        let known = zone::by_name(zone);
        if known.is_none() {
            wrong.push(unsound(
                "/zone",
                "This is no IANA time zone; one looks like America/Denver.",
            ));
        }
        check_week(&settings.week, &mut wrong);
        check_own_days(&settings.own_days, &mut wrong);
        wrong.extend(settings.rest.check().map(|says| unsound("/rest", says)));
        let public = match &settings.country {
            Some(country) => holidays::of(country),
            None => Ok(Arc::default()),
        };
        match (known, public) {
            (Some(zone), Ok(public)) if wrong.is_empty() => {
                let own = settings.own_days.iter();
                let own = own.map(|day| (day.date, (day.name.clone(), day.open))).collect();
                Ok(Calendar { zone, settings: Arc::new(settings), public, own: Arc::new(own) })
            }
            (_, public) => {
                wrong.extend(public.err());
                Err(wrong)
            }
        }
    }

    /// What the shop says.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Its zone.
    #[must_use]
    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// Its rest rule.
    #[must_use]
    pub fn rest(&self) -> RestRule {
        self.settings.rest
    }

    /// The day on the shop's wall at a moment.
    #[must_use]
    pub fn date(&self, at: DateTime<Utc>) -> NaiveDate {
        at.with_timezone(&self.zone).date_naive()
    }

    /// The moment at which the shop's wall says this; see [`zone::moment`].
    #[must_use]
    pub fn moment(&self, date: NaiveDate, minute: u16) -> DateTime<Utc> {
        zone::moment(self.zone, date, minute)
    }

    /// The whole of a day: 23, 24 or 25 hours.
    #[must_use]
    pub fn day(&self, date: NaiveDate) -> Span {
        Span::new(self.moment(date, 0), self.moment(date, DAY_MIN))
    }

    /// Why the shop keeps a day as a holiday, if it does: the holiday's name.
    #[must_use]
    pub fn holiday(&self, date: NaiveDate) -> Option<&str> {
        match self.own.get(&date) {
            Some((_, true)) => None,
            Some((name, false)) => Some(name),
            None => self.public.get(&date).map(String::as_str),
        }
    }

    /// Whether it is a Saturday, a Sunday or a holiday.
    #[must_use]
    pub fn is_weekend(&self, date: NaiveDate) -> bool {
        date.weekday().num_days_from_monday() >= 5 || self.holiday(date).is_some()
    }

    /// The opening hours of a day, as spans.
    #[must_use]
    pub fn open_on(&self, date: NaiveDate) -> Vec<Span> {
        if self.holiday(date).is_some() {
            return Vec::new();
        }
        let weekday = date.weekday().num_days_from_monday() as usize;
        let hours = self.settings.week[weekday].iter();
        let spans = hours.map(|hours| {
            Span::new(self.moment(date, hours.from_min), self.moment(date, hours.to_min))
        });
        joined(spans.collect())
    }

    /// Whether the shop is open.
    #[must_use]
    pub fn is_open(&self, at: DateTime<Utc>) -> bool {
        self.open_on(self.date(at)).iter().any(|span| span.holds(at))
    }

    /// When it is next open: at once where it is, none within [`NEXT_OPEN_DAYS_MAX`] days.
    #[must_use]
    pub fn next_open(&self, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let today = self.date(at);
        (0..=NEXT_OPEN_DAYS_MAX)
            .filter_map(|days| today.checked_add_days(Days::new(days)))
            .flat_map(|date| self.open_on(date))
            .find(|span| span.end > at)
            .map(|span| span.start.max(at))
    }

    /// When it is open within a span, at most [`SPAN_DAYS_MAX`] days of it.
    #[must_use]
    pub fn open_spans(&self, whole: Span) -> Vec<Span> {
        let spans = self.dates(whole).into_iter().flat_map(|date| self.open_on(date));
        joined(spans.filter_map(|span| span.cut(whole)).collect())
    }

    /// When it is closed within a span, at most [`SPAN_DAYS_MAX`] days of it.
    #[must_use]
    pub fn closed_spans(&self, whole: Span) -> Vec<Span> {
        let whole = Span::new(whole.start, whole.end.min(whole.start + span_max()));
        gaps(whole, &self.open_spans(whole))
    }

    /// The days that a span touches, at most [`SPAN_DAYS_MAX`].
    #[must_use]
    pub fn dates(&self, whole: Span) -> Vec<NaiveDate> {
        if whole.start >= whole.end {
            return Vec::new();
        }
        let end = whole.end.min(whole.start + span_max());
        let last = self.date(end - TimeDelta::nanoseconds(1));
        self.date(whole.start).iter_days().take_while(|date| *date <= last).collect()
    }

    /// The closed stretches of [`WEEKEND_HOURS_MIN`] hours and more that meet a span, each from
    /// closing to opening. A shop that never closes for so long has Saturday and Sunday, one that
    /// never opens, too.
    #[must_use]
    pub fn weekend_spans(&self, whole: Span) -> Vec<Weekend> {
        // A stretch that begins before or ends after is told whole: two weeks hold any that is
        // not a closed season.
        let around = TimeDelta::days(14);
        let wide = Span::new(whole.start - around, whole.end + around);
        let long_enough = TimeDelta::hours(WEEKEND_HOURS_MIN);
        let mut stretches: Vec<Span> = self
            .closed_spans(wide)
            .into_iter()
            .filter(|span| span.length() >= long_enough)
            .collect();
        let never_opens = stretches.first().is_some_and(|first| *first == wide);
        if stretches.is_empty() || never_opens {
            let saturdays = self.dates(wide).into_iter();
            stretches = saturdays
                .filter(|date| date.weekday().num_days_from_monday() == 5)
                .map(|date| Span::new(self.moment(date, 0), self.moment(date, 2 * DAY_MIN)))
                .collect();
        }
        stretches
            .into_iter()
            .filter(|span| span.cut(whole).is_some())
            .map(|span| {
                let holidays = self.dates(span).into_iter();
                let holidays =
                    holidays.filter_map(|date| Some((date, self.holiday(date)?.to_owned())));
                Weekend {
                    span,
                    holidays: holidays.collect(),
                    long: span.length() > TimeDelta::hours(LONG_WEEKEND_HOURS),
                }
            })
            .collect()
    }

    /// The calendar quarter that a moment lies in: its first day and its span.
    #[must_use]
    pub fn quarter(&self, at: DateTime<Utc>) -> (NaiveDate, Span) {
        let today = self.date(at);
        let month = today.month0() / 3 * 3 + 1;
        let first = NaiveDate::from_ymd_opt(today.year(), month, 1).unwrap_or(today);
        let next = first.checked_add_months(chrono::Months::new(3)).unwrap_or(first);
        (first, Span::new(self.moment(first, 0), self.moment(next, 0)))
    }

    /// A moment as the shop's wall says it: "Mon 7 Dec, 07:00".
    #[must_use]
    pub fn says(&self, at: DateTime<Utc>) -> String {
        zone::says(self.zone, at)
    }

    /// A span as the shop's wall says it: "Mon 7 Dec, 07:00 to 16:00".
    #[must_use]
    pub fn says_span(&self, span: Span) -> String {
        let end = span.end.with_timezone(&self.zone);
        let same_day = self.date(span.start) == end.date_naive();
        let end = if same_day { end.format("%H:%M").to_string() } else { self.says(span.end) };
        format!("{} to {end}", self.says(span.start))
    }
}

fn span_max() -> TimeDelta {
    TimeDelta::days(SPAN_DAYS_MAX)
}

fn unsound(pointer: &str, says: impl Into<String>) -> Unsound {
    Unsound { pointer: pointer.to_owned(), says: says.into() }
}

fn check_week(week: &[Vec<Hours>; 7], wrong: &mut Vec<Unsound>) {
    for (weekday, day) in week.iter().enumerate() {
        let at = format!("/week/{weekday}");
        if day.len() > HOURS_PER_DAY_MAX {
            let says = format!("A day has at most {HOURS_PER_DAY_MAX} spans of opening.");
            wrong.push(unsound(&at, says));
        }
        if day.iter().any(|hours| hours.from_min >= hours.to_min || hours.to_min > DAY_MIN) {
            let says = format!(
                "Opening ends after it begins, within the day: minutes from 0 to {DAY_MIN}."
            );
            wrong.push(unsound(&at, says));
        }
        if day.windows(2).any(|pair| pair[0].to_min > pair[1].from_min) {
            wrong.push(unsound(&at, "The spans of a day are in order and do not overlap."));
        }
    }
}

fn check_own_days(days: &[OwnDay], wrong: &mut Vec<Unsound>) {
    if days.len() > OWN_DAYS_MAX {
        let says = format!("A shop keeps at most {OWN_DAYS_MAX} days of its own; drop past ones.");
        wrong.push(unsound("/own_days", says));
    }
    let mut seen = BTreeMap::new();
    for (index, day) in days.iter().enumerate() {
        let chars = day.name.trim().chars().count();
        if chars == 0 || chars > DAY_NAME_CHARS_MAX {
            let says = format!("A day has a name of 1 to {DAY_NAME_CHARS_MAX} characters.");
            wrong.push(unsound(&format!("/own_days/{index}/name"), says));
        }
        if seen.insert(day.date, index).is_some() {
            let says = format!("{} is named twice; once is enough.", day.date);
            wrong.push(unsound(&format!("/own_days/{index}/date"), says));
        }
    }
}
