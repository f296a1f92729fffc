//! A person's duties as an RFC 5545 calendar.
//!
//! Belongs here: the file, its times on the shop's wall and the zone that explains them. Does not
//! belong here: whose duties they are.

use chrono::{DateTime, NaiveDateTime, Offset as _, TimeDelta, TimeZone as _, Utc};
use chrono_tz::Tz;
use icalendar::{Calendar, Component as _, Event, Property};
use roster::duty::Kind;
use store::rota::RotaEntry;
use store::rota::feed::Feed;

/// How far apart the zone is looked at for a change of its clocks, hours; each is then found to the
/// minute. No zone has changed its clocks twice within so short a time.
const LOOK_HOURS: i64 = 24;

/// How often a calendar program may ask again. Common practice, no source.
const AGAIN: TimeDelta = TimeDelta::hours(1);

pub(super) fn calendar(feed: &Feed) -> String {
    let mut calendar = Calendar::new();
    calendar.append_property(Property::new("PRODID", "-//Countersign//Rota//EN"));
    calendar.name(&format!("Duties, {}", feed.shop_name));
    calendar.ttl(&AGAIN);
    calendar.timezone(feed.zone.name());
    for entry in &feed.entries {
        calendar.push(event(feed, entry));
    }
    // The library writes no zones; one goes before the first event, or at the end.
    let text = calendar.to_string();
    let at = text.find("BEGIN:VEVENT").or_else(|| text.find("END:VCALENDAR"));
    let (head, rest) = text.split_at(at.unwrap_or(text.len()));
    format!("{head}{}{rest}", zone(feed))
}

fn event(feed: &Feed, entry: &RotaEntry) -> Event {
    let word = match entry.kind {
        Kind::Shift => "Shift",
        Kind::OnCall => "On call",
        Kind::Second => "Second rota",
        Kind::Leave => "Leave",
    };
    let mut event = Event::new();
    event.uid(&format!("{}@countersign", entry.id));
    event.timestamp(feed.now);
    event.summary(&format!("{word}, {}", feed.shop_name));
    if !entry.note.is_empty() {
        event.description(&entry.note);
    }
    // Somebody on call or on the second rota may do something else meanwhile.
    let busy = matches!(entry.kind, Kind::Shift);
    event.add_property("TRANSP", if busy { "OPAQUE" } else { "TRANSPARENT" });
    event.append_property(time("DTSTART", feed.zone, entry.span.start));
    event.append_property(time("DTEND", feed.zone, entry.span.end));
    event
}

/// A moment on the shop's wall. In the hour that comes twice the wall names its first coming, so the
/// second is said in UTC, which any program can read.
fn time(key: &str, zone: Tz, at: DateTime<Utc>) -> Property {
    let wall = at.with_timezone(&zone).naive_local();
    let first = zone.from_local_datetime(&wall).earliest().map(|found| found.to_utc());
    if first == Some(at) {
        Property::new(key, basic(wall)).add_parameter("TZID", zone.name()).done()
    } else {
        Property::new(key, format!("{}Z", basic(at.naive_utc())))
    }
}

fn basic(wall: NaiveDateTime) -> String {
    wall.format("%Y%m%dT%H%M%S").to_string()
}

/// Every change of the clocks over the feed's time, each by itself: no rule is guessed at.
fn zone(feed: &Feed) -> String {
    let mut lines = vec!["BEGIN:VTIMEZONE".to_owned(), format!("TZID:{}", feed.zone.name())];
    let offset = |at: DateTime<Utc>| {
        feed.zone.offset_from_utc_datetime(&at.naive_utc()).fix().local_minus_utc()
    };
    // What holds at the beginning, as if it had begun a while before the first duty.
    let (from, until) = (feed.span.0 - TimeDelta::days(62), feed.span.1 + TimeDelta::days(62));
    let least = (0..=12).map(|month| offset(from + TimeDelta::days(30 * month))).min();
    let mut changes = vec![(from, offset(from))];
    let mut at = from;
    while at < until {
        let next = at + TimeDelta::hours(LOOK_HOURS);
        if offset(next) != offset(at) {
            let (mut low, mut high) = (0, LOOK_HOURS * 60);
            while high - low > 1 {
                let middle = low.midpoint(high);
                let same = offset(at + TimeDelta::minutes(middle)) == offset(at);
                if same { low = middle } else { high = middle }
            }
            let change = at + TimeDelta::minutes(high);
            // Changes fall on whole minutes of UTC, whatever second the feed was read at.
            let seconds = change.timestamp().rem_euclid(60);
            changes.push((change - TimeDelta::seconds(seconds), offset(next)));
        }
        at = next;
    }
    let mut before = offset(from);
    for (at, after) in changes {
        let kind = if Some(after) == least { "STANDARD" } else { "DAYLIGHT" };
        // By the wall as it was before the change, as the format has it.
        let wall = (at + TimeDelta::seconds(i64::from(before))).naive_utc();
        lines.extend([
            format!("BEGIN:{kind}"),
            format!("DTSTART:{}", basic(wall)),
            format!("TZOFFSETFROM:{}", offset_words(before)),
            format!("TZOFFSETTO:{}", offset_words(after)),
            format!("END:{kind}"),
        ]);
        before = after;
    }
    lines.push("END:VTIMEZONE".to_owned());
    lines.into_iter().map(|line| line + "\r\n").collect()
}

/// Seconds east of UTC as the format has it: "-0700".
fn offset_words(seconds: i32) -> String {
    let sign = if seconds < 0 { '-' } else { '+' };
    let minutes = seconds.abs() / 60;
    format!("{sign}{:02}{:02}", minutes / 60, minutes % 60)
}

#[cfg(test)]
mod tests {
    use roster::calendar::Span;
    use uuid::Uuid;

    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn feed(entries: &[(&str, &str)]) -> Feed {
        let entry = |(start, end): &(&str, &str)| RotaEntry {
            id: Uuid::from_u128(7),
            person_id: Uuid::from_u128(8),
            kind: Kind::OnCall,
            span: Span::new(at(start), at(end)),
            note: "Keys, van 2; call first".into(),
        };
        let now = at("2026-10-20T10:00:30Z");
        Feed {
            shop_name: "Kiln Row Cooling".into(),
            zone: chrono_tz::America::Denver,
            now,
            span: (now - TimeDelta::days(31), now + TimeDelta::days(200)),
            entries: entries.iter().map(entry).collect(),
        }
    }

    #[test]
    fn a_night_on_which_clocks_go_back_has_its_hour_more() {
        // 31 October 2026, 22:00 to 6:00 in Denver: nine hours, since clocks go back at 2:00.
        let text = calendar(&feed(&[("2026-11-01T04:00:00Z", "2026-11-01T13:00:00Z")]));
        let lines: Vec<&str> = text.split("\r\n").collect();

        for line in [
            "DTSTART;TZID=America/Denver:20261031T220000",
            "DTEND;TZID=America/Denver:20261101T060000",
            "SUMMARY:On call\\, Kiln Row Cooling",
            "DESCRIPTION:Keys\\, van 2\\; call first",
            "UID:00000000-0000-0000-0000-000000000007@countersign",
        ] {
            assert!(lines.contains(&line), "{line}: {text}");
        }
        // The change itself: by the wall before it, from six hours behind to seven.
        let change = ["DTSTART:20261101T020000", "TZOFFSETFROM:-0600", "TZOFFSETTO:-0700"];
        assert!(lines.windows(3).any(|three| three == change), "{text}");
        let forward = ["DTSTART:20270314T020000", "TZOFFSETFROM:-0700", "TZOFFSETTO:-0600"];
        assert!(lines.windows(3).any(|three| three == forward), "{text}");
        assert_eq!(lines.iter().filter(|line| **line == "BEGIN:DAYLIGHT").count(), 2, "{text}");
        assert!(lines.iter().all(|line| line.len() <= 75), "folded");
    }

    #[test]
    fn the_second_coming_of_an_hour_is_said_in_utc() {
        // 1:30 for the second time.
        let text = calendar(&feed(&[("2026-11-01T08:30:00Z", "2026-11-01T13:00:00Z")]));

        assert!(text.contains("DTSTART:20261101T083000Z\r\n"), "{text}");
        let first = calendar(&feed(&[("2026-11-01T07:30:00Z", "2026-11-01T13:00:00Z")]));
        assert!(first.contains("DTSTART;TZID=America/Denver:20261101T013000\r\n"), "{first}");
    }
}
