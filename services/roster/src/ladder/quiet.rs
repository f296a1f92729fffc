//! Quiet hours, by the clock on somebody's wall.
//!
//! Belongs here: whether it is quiet at a moment, and until when, over the nights on which
//! clocks change. Does not belong here: whose quiet hours a step minds ([`super::climb`]).

use chrono::{DateTime, Days, LocalResult, NaiveDateTime, NaiveTime, TimeDelta};
use chrono::{TimeZone as _, Timelike as _, Utc};
use chrono_tz::Tz;

use super::Hours;

/// Minutes in a day.
pub const DAY_MIN: u16 = 24 * 60;

/// Longest gap in any zone's wall clock that is looked over: a whole day was left out when
/// islands changed sides of the date line.
const GAP_MIN_MAX: i64 = 25 * 60;

/// Somebody's quiet hours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quiet {
    /// From and to.
    pub hours: Hours,
    /// Where their clock hangs.
    pub zone: Tz,
}

impl Quiet {
    /// When the quiet that holds at `now` ends; nothing when it is not quiet. A wall-clock time
    /// that comes twice counts when it first comes; one that is left out, when the clock is past
    /// it.
    pub fn until(self, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let Hours { from_min, to_min } = self.hours;
        if from_min == to_min {
            return None;
        }
        let local = now.with_timezone(&self.zone).naive_local();
        let minute = minute_of(local);
        let over_midnight = from_min > to_min;
        let quiet = if over_midnight {
            minute >= from_min || minute < to_min
        } else {
            (from_min..to_min).contains(&minute)
        };
        if !quiet {
            return None;
        }
        let ends_tomorrow = over_midnight && minute >= from_min;
        let day = if ends_tomorrow { local.date() + Days::new(1) } else { local.date() };
        let end = NaiveDateTime::new(day, time_of(to_min));
        // The second time round a wall-clock hour may begin after its first end.
        first_after(self.zone, end, now).or(Some(now + TimeDelta::minutes(1)))
    }
}

/// The first moment after `now` at which the wall clock shows `wall`, or has passed it.
fn first_after(zone: Tz, wall: NaiveDateTime, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    for minutes in 0..=GAP_MIN_MAX {
        let at = match zone.from_local_datetime(&(wall + TimeDelta::minutes(minutes))) {
            LocalResult::Single(at) => [Some(at), None],
            LocalResult::Ambiguous(first, second) => [Some(first), Some(second)],
            LocalResult::None => continue,
        };
        let at = at.into_iter().flatten().map(|at| at.with_timezone(&Utc)).find(|at| *at > now);
        if at.is_some() {
            return at;
        }
    }
    None
}

/// A zone by its IANA name.
pub fn zone_of(name: &str) -> Option<Tz> {
    name.parse().ok()
}

fn minute_of(local: NaiveDateTime) -> u16 {
    u16::try_from(local.num_seconds_from_midnight() / 60).unwrap_or(0)
}

fn time_of(minute: u16) -> NaiveTime {
    NaiveTime::from_num_seconds_from_midnight_opt(u32::from(minute % DAY_MIN) * 60, 0)
        .unwrap_or(NaiveTime::MIN)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn quiet(from_min: u16, to_min: u16, zone: &str) -> Quiet {
        Quiet { hours: Hours { from_min, to_min }, zone: zone_of(zone).unwrap() }
    }

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    #[test]
    fn over_midnight_it_is_quiet_on_both_sides() {
        let quiet = quiet(22 * 60, 7 * 60, "America/Denver");
        // 22:40 on Saturday the 28th is 05:40 UTC on the 29th.
        assert_eq!(quiet.until(at("2026-11-29T05:40:00Z")), Some(at("2026-11-29T14:00:00Z")));
        assert_eq!(quiet.until(at("2026-11-29T13:59:59Z")), Some(at("2026-11-29T14:00:00Z")));
        assert_eq!(quiet.until(at("2026-11-29T14:00:00Z")), None);
        assert_eq!(quiet.until(at("2026-11-29T04:59:59Z")), None);
    }

    #[test]
    fn by_day_it_is_quiet_in_between() {
        let nap = quiet(13 * 60, 14 * 60, "UTC");
        assert_eq!(nap.until(at("2026-03-02T13:30:00Z")), Some(at("2026-03-02T14:00:00Z")));
        assert_eq!(nap.until(at("2026-03-02T12:59:00Z")), None);
        assert_eq!(quiet(60, 60, "UTC").until(at("2026-03-02T01:00:00Z")), None, "never");
    }

    #[test]
    fn the_short_night_ends_an_hour_sooner_and_the_long_one_an_hour_later() {
        let quiet = quiet(22 * 60, 7 * 60, "America/Denver");
        // 8 March 2026, clocks go from 02:00 to 03:00.
        let (from, to) = (at("2026-03-08T05:00:00Z"), at("2026-03-08T13:00:00Z"));
        assert_eq!(quiet.until(from), Some(to));
        assert_eq!((to - from).num_hours(), 8);
        // 1 November 2026, clocks go from 02:00 back to 01:00.
        let (from, to) = (at("2026-11-01T04:00:00Z"), at("2026-11-01T14:00:00Z"));
        assert_eq!(quiet.until(from), Some(to));
        assert_eq!((to - from).num_hours(), 10);
    }

    #[test]
    fn an_end_that_does_not_exist_is_when_the_clock_has_passed_it() {
        let quiet = quiet(22 * 60, 2 * 60 + 30, "America/Denver");
        // 02:30 is left out on 8 March 2026: after 01:59 comes 03:00, which is 09:00 UTC.
        assert_eq!(quiet.until(at("2026-03-08T06:00:00Z")), Some(at("2026-03-08T09:00:00Z")));
    }

    #[test]
    fn an_end_that_comes_twice_counts_when_it_first_comes() {
        let quiet = quiet(22 * 60, 60 + 30, "America/Denver");
        // 01:30 comes at 07:30 and at 08:30 UTC on 1 November 2026.
        assert_eq!(quiet.until(at("2026-11-01T06:00:00Z")), Some(at("2026-11-01T07:30:00Z")));
        // Between the clock's going back and the second 01:30 it is quiet once more.
        assert_eq!(quiet.until(at("2026-11-01T08:10:00Z")), Some(at("2026-11-01T08:30:00Z")));
    }

    proptest! {
        /// Over a year in zones with and without daylight saving, on either side of the equator:
        /// quiet ends later than now, within a day and the hour that clocks move, and each minute
        /// until then is quiet.
        #[test]
        fn quiet_lasts_until_it_ends(
            zone in prop::sample::select(vec![
                "America/Denver", "America/Phoenix", "Europe/Lisbon", "Australia/Lord_Howe",
                "Asia/Kathmandu", "America/St_Johns", "Pacific/Apia",
            ]),
            from_min in 0..DAY_MIN,
            to_min in 0..DAY_MIN,
            minute in 0i64..366 * 24 * 60,
        ) {
            let quiet = quiet(from_min, to_min, zone);
            let now = at("2026-01-01T00:00:00Z") + TimeDelta::minutes(minute);
            if let Some(end) = quiet.until(now) {
                prop_assert!(end > now);
                prop_assert!(end - now <= TimeDelta::hours(25));
                let half = now + (end - now) / 2;
                prop_assert!(quiet.until(half).is_some());
                let wall = minute_of(end.with_timezone(&quiet.zone).naive_local());
                let moved = i32::from(wall) - i32::from(to_min);
                prop_assert!((0..=60).contains(&moved), "ends at {wall}, not {to_min}");
            } else {
                let wall = minute_of(now.with_timezone(&quiet.zone).naive_local());
                let within = if from_min <= to_min { (from_min..to_min).contains(&wall) }
                    else { wall >= from_min || wall < to_min };
                prop_assert!(!within);
            }
        }
    }
}
