//! The hours of a span, on the shop's own clock.
//!
//! Belongs here: when tonight, Saturday, Sunday, the weekend and a long weekend are, and what
//! each hour is: its day, whether the shop is open, when the next open day begins. Does not
//! belong here: the shop's calendar itself ([`roster::calendar`]).

use chrono::{DateTime, Datelike as _, Days, NaiveDate, TimeDelta, Timelike as _, Utc, Weekday};
use roster::calendar::{Calendar, Span, Weekend};

use crate::error::StoreError;

/// When a night ends; local hour.
const NIGHT_TO_HOUR: u32 = 8;

/// When a weekend begins and ends in a shop that never closes; local hours.
const WEEKEND_HOURS: (u32, u32) = (17, 8);

/// How far weekends are looked for around now, days.
const LOOK_DAYS: i64 = 60;

/// A span by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum SpanName {
    /// From now to the next morning.
    Tonight,
    /// The next Saturday, or what is left of this one.
    Saturday,
    /// The next Sunday, or what is left of this one.
    Sunday,
    /// From the last closing before a weekend to the next opening, or what is left of it.
    Weekend,
    /// A weekend with the holidays beside it.
    LongWeekend,
    /// The weekend before: for trying a rule on what was.
    LastWeekend,
}

impl SpanName {
    /// As sent.
    pub fn name(self) -> &'static str {
        match self {
            SpanName::Tonight => "tonight",
            SpanName::Saturday => "saturday",
            SpanName::Sunday => "sunday",
            SpanName::Weekend => "weekend",
            SpanName::LongWeekend => "long_weekend",
            SpanName::LastWeekend => "last_weekend",
        }
    }
}

/// A span in time, whole hours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct When {
    /// From.
    pub start: DateTime<Utc>,
    /// Hours.
    pub hours: usize,
}

impl When {
    /// To.
    pub fn end(self) -> DateTime<Utc> {
        self.start + TimeDelta::hours(i64::try_from(self.hours).unwrap_or(0))
    }
}

/// One hour on the shop's clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HourOf {
    /// When it begins.
    pub at: DateTime<Utc>,
    /// The day.
    pub date: NaiveDate,
    /// 0 to 23.
    pub hour: u32,
    /// The holiday, where it is one.
    pub holiday: Option<String>,
    /// The shop has opening hours then.
    pub open: bool,
    /// When the next open day begins, as seen from then.
    pub next_open: Option<DateTime<Utc>>,
}

impl HourOf {
    /// Hour of the week, Monday from midnight.
    pub fn week_hour(&self) -> usize {
        (self.date.weekday().num_days_from_monday() * 24 + self.hour) as usize
    }

    /// Saturday or Sunday.
    pub fn weekend(&self) -> bool {
        matches!(self.date.weekday(), Weekday::Sat | Weekday::Sun)
    }
}

/// The full hour that a moment lies in.
pub fn hour_start(at: DateTime<Utc>) -> DateTime<Utc> {
    let into = at.timestamp().rem_euclid(3_600);
    DateTime::from_timestamp(at.timestamp() - into, 0).unwrap_or(at)
}

/// When a span is, seen from now. One that has begun is what is left of it, from this hour on.
///
/// # Errors
/// `Conflict` where no long weekend is near.
pub fn when(calendar: &Calendar, now: DateTime<Utc>, span: SpanName) -> Result<When, StoreError> {
    let this_hour = hour_start(now);
    let today = calendar.date(now);
    let to = |days: u64| today.checked_add_days(Days::new(days)).unwrap_or(today);
    let hour = |date: NaiveDate, hour: u32| calendar.moment(date, (hour * 60) as u16);
    let whole = match span {
        SpanName::Tonight => {
            let night = now.with_timezone(&calendar.zone()).hour() < NIGHT_TO_HOUR;
            Span::new(this_hour, hour(if night { today } else { to(1) }, NIGHT_TO_HOUR))
        }
        SpanName::Saturday | SpanName::Sunday => {
            let wanted = if span == SpanName::Saturday { 5 } else { 6 };
            let ahead = (wanted + 7 - today.weekday().num_days_from_monday()) % 7;
            calendar.day(to(u64::from(ahead)))
        }
        SpanName::Weekend => weekends(calendar, now, 0, LOOK_DAYS)
            .into_iter()
            .map(|weekend| weekend.span)
            .find(|span| span.end > now && on_weekend(calendar, *span))
            .unwrap_or_else(|| plain_weekend(calendar, today)),
        SpanName::LastWeekend => weekends(calendar, now, -LOOK_DAYS, 0)
            .into_iter()
            .map(|weekend| weekend.span)
            .rfind(|span| span.end <= now && on_weekend(calendar, *span))
            .unwrap_or_else(|| {
                let before = today.checked_sub_days(Days::new(7)).unwrap_or(today);
                plain_weekend(calendar, before)
            }),
        SpanName::LongWeekend => {
            weekends(calendar, now, 0, LOOK_DAYS)
                .into_iter()
                .find(|weekend| weekend.long && weekend.span.end > now)
                .ok_or_else(no_long_weekend)?
                .span
        }
    };
    let start =
        if span == SpanName::LastWeekend { whole.start } else { whole.start.max(this_hour) };
    let hours = usize::try_from((whole.end - start).num_hours()).unwrap_or(0);
    Ok(When { start: hour_start(start), hours: hours.clamp(1, roster::capacity::SPAN_HOURS_MAX) })
}

fn weekends(calendar: &Calendar, now: DateTime<Utc>, from: i64, to: i64) -> Vec<Weekend> {
    // Some days more, so that one that lies across the edge is seen whole.
    let days = |days: i64| now + TimeDelta::days(days);
    calendar.weekend_spans(Span::new(days(from - 8), days(to + 8)))
}

/// Whether it has a Saturday or Sunday: a shop is closed on a holiday in mid-week too.
fn on_weekend(calendar: &Calendar, span: Span) -> bool {
    let last = Span::new(span.start, span.end - TimeDelta::seconds(1));
    calendar.dates(last).iter().any(|date| matches!(date.weekday(), Weekday::Sat | Weekday::Sun))
}

/// The weekend of a shop that never closes for one.
fn plain_weekend(calendar: &Calendar, today: NaiveDate) -> Span {
    let weekday = u64::from(today.weekday().num_days_from_monday());
    let friday = if weekday > 4 {
        today.checked_sub_days(Days::new(weekday - 4))
    } else {
        today.checked_add_days(Days::new(4 - weekday))
    };
    let friday = friday.unwrap_or(today);
    let monday = friday.checked_add_days(Days::new(3)).unwrap_or(friday);
    let at = |date, hour: u32| calendar.moment(date, (hour * 60) as u16);
    Span::new(at(friday, WEEKEND_HOURS.0), at(monday, WEEKEND_HOURS.1))
}

fn no_long_weekend() -> StoreError {
    StoreError::conflict(
        "no-long-weekend",
        format!(
            "No weekend of the next {LOOK_DAYS} days has a holiday beside it. Holidays come from \
             the shop's calendar; look there if one is missing."
        ),
    )
}

/// The hours from a moment on.
pub fn hours(calendar: &Calendar, from: DateTime<Utc>, count: usize) -> Vec<HourOf> {
    (0..count)
        .map(|hour| {
            let at = from + TimeDelta::hours(hour as i64);
            let date = calendar.date(at);
            let open = calendar.is_open(at);
            // From an open day on, the next is another day.
            let seen_from = if open { calendar.day(date).end } else { at };
            HourOf {
                at,
                date,
                hour: at.with_timezone(&calendar.zone()).hour(),
                holiday: calendar.holiday(date).map(str::to_owned),
                open,
                next_open: calendar.next_open(seen_from),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use roster::calendar::Settings;

    use super::*;

    /// Monday to Friday from 8 to 17 in Oslo, which is an hour ahead in winter.
    fn calendar(country: Option<&str>) -> Calendar {
        let settings = Settings { country: country.map(str::to_owned), ..Settings::default() };
        Calendar::new("Europe/Oslo", settings).unwrap()
    }

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn span(now: &str, span: SpanName) -> (String, usize) {
        let when = when(&calendar(None), at(now), span).unwrap();
        (when.start.format("%a %H:%M").to_string(), when.hours)
    }

    #[test]
    fn spans_are_whole_before_they_begin_and_what_is_left_of_them_after() {
        // Thursday noon; times below are in UTC.
        let thursday = "2026-11-26T11:20:00Z";
        assert_eq!(span(thursday, SpanName::Tonight), ("Thu 11:00".into(), 20));
        assert_eq!(span(thursday, SpanName::Saturday), ("Fri 23:00".into(), 24));
        assert_eq!(span(thursday, SpanName::Sunday), ("Sat 23:00".into(), 24));
        assert_eq!(span(thursday, SpanName::Weekend), ("Fri 16:00".into(), 63));
        assert_eq!(span(thursday, SpanName::LastWeekend), ("Fri 16:00".into(), 63));
        let saturday = "2026-11-28T20:40:00Z";
        assert_eq!(span(saturday, SpanName::Saturday), ("Sat 20:00".into(), 3));
        assert_eq!(span(saturday, SpanName::Weekend), ("Sat 20:00".into(), 35));
        // Before the morning it is still the night, and the weekend lasts until the opening.
        assert_eq!(span("2026-11-30T03:00:00Z", SpanName::Weekend), ("Mon 03:00".into(), 4));
        assert_eq!(span("2026-11-30T03:00:00Z", SpanName::Tonight), ("Mon 03:00".into(), 4));
    }

    #[test]
    fn a_holiday_in_mid_week_is_no_weekend() {
        let settings =
            Settings { country: Some("United States".to_owned()), ..Settings::default() };
        let denver = Calendar::new("America/Denver", settings).unwrap();
        // The fourth Thursday of November is a holiday; Friday is a working day again.
        let on_it = at("2026-11-26T16:00:00Z");
        assert_eq!(denver.holiday(denver.date(on_it)), Some("Thanksgiving Day"));
        let coming = when(&denver, on_it, SpanName::Weekend).unwrap();
        assert_eq!(coming.start, at("2026-11-28T00:00:00Z"));
        let after = when(&denver, at("2026-11-27T16:00:00Z"), SpanName::LastWeekend).unwrap();
        assert_eq!(after.end(), at("2026-11-23T15:00:00Z"));
    }

    #[test]
    fn a_day_on_which_the_clock_jumps_has_the_hours_that_it_has() {
        // The clock goes back on 25 October 2026.
        assert_eq!(span("2026-10-20T10:00:00Z", SpanName::Sunday), ("Sat 22:00".into(), 25));
    }

    #[test]
    fn hours_know_their_day_and_when_the_next_open_day_begins() {
        let hours = hours(&calendar(None), at("2026-11-27T15:00:00Z"), 3);
        let said: Vec<(u32, bool)> = hours.iter().map(|hour| (hour.hour, hour.open)).collect();
        assert_eq!(said, [(16, true), (17, false), (18, false)]);
        let monday = at("2026-11-30T07:00:00Z");
        assert!(hours.iter().all(|hour| hour.next_open == Some(monday)), "{hours:?}");
        assert_eq!(hours[0].week_hour(), 4 * 24 + 16);
    }

    #[test]
    fn without_holidays_no_weekend_is_long() {
        let none = when(&calendar(None), at("2026-11-26T11:20:00Z"), SpanName::LongWeekend);
        assert!(matches!(none, Err(StoreError::Conflict { code: "no-long-weekend", .. })));
    }
}
