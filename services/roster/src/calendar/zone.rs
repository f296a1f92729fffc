//! Wall-clock times as moments, over nights on which clocks are changed.
//!
//! Belongs here: which moment a wall means where it says a time twice or not at all, and a moment
//! in words. Does not belong here: opening hours and duties, which are spans of such times.

use chrono::{DateTime, Days, LocalResult, NaiveDate, NaiveTime, TimeZone as _, Utc};
use chrono_tz::{GapInfo, Tz};

use super::DAY_MIN;

/// A zone by its IANA name; none where there is no such zone.
#[must_use]
pub fn by_name(name: &str) -> Option<Tz> {
    name.parse().ok()
}

/// The moment at which a wall in `zone` says `minute` minutes after the midnight of `date`;
/// minutes of 1440 and more are on the days after.
///
/// A time that comes twice means the first; one that is skipped means the moment at which the
/// clocks are changed. So times in order are moments in order, and of two spans of which one ends
/// where the other begins neither loses nor doubles an hour.
#[must_use]
pub fn moment(zone: Tz, date: NaiveDate, minute: u16) -> DateTime<Utc> {
    let days = Days::new(u64::from(minute / DAY_MIN));
    let minute = minute % DAY_MIN;
    let date = date.checked_add_days(days).unwrap_or(NaiveDate::MAX);
    let time = NaiveTime::from_hms_opt(u32::from(minute / 60), u32::from(minute % 60), 0);
    let local = date.and_time(time.unwrap_or_default());
    match zone.from_local_datetime(&local) {
        LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => at.to_utc(),
        LocalResult::None => GapInfo::new(&local, &zone)
            .and_then(|gap| gap.end)
            .map_or_else(|| local.and_utc(), |at| at.to_utc()),
    }
}

/// A moment as a wall in `zone` says it: "Mon 7 Dec, 07:00".
#[must_use]
pub fn says(zone: Tz, at: DateTime<Utc>) -> String {
    at.with_timezone(&zone).format("%a %-d %b, %H:%M").to_string()
}
