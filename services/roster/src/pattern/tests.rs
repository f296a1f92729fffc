//! Promises of weekly patterns.
//!
//! Belongs here: tests of [`super`]. Does not belong here: clocks as such
//! ([`crate::calendar`]'s tests).

use proptest::prelude::*;

use super::*;
use crate::calendar::{Settings, joined};

fn calendar(zone: &str) -> Calendar {
    let settings = Settings { country: Some("Norway".into()), ..Settings::default() };
    Calendar::new(zone, settings).unwrap()
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn nights(first_week: &str, weeks: u32) -> Pattern<u8> {
    let slots = (0..7).map(|weekday| Slot { weekday, from_min: 22 * 60, to_min: 6 * 60 });
    Pattern {
        kind: Kind::Shift,
        first_week: day(first_week),
        weeks,
        people: vec![1],
        turn: Turn::Together,
        hours: Hours::Slots(slots.collect()),
        not_on_holidays: false,
    }
}

#[test]
fn every_night_has_the_wall_s_hours_also_when_the_clocks_are_changed() {
    let oslo = calendar("Europe/Oslo");
    let hours = |first_week: &str| -> Vec<i64> {
        let entries = nights(first_week, 1).entries(&oslo);
        entries.iter().map(|(_, entry)| entry.span.minutes() / 60).collect()
    };
    // The night from Saturday to Sunday, 28 March and 24 October 2026.
    assert_eq!(hours("2026-03-23"), [8, 8, 8, 8, 8, 7, 8]);
    assert_eq!(hours("2026-10-19"), [8, 8, 8, 8, 8, 9, 8]);
    assert_eq!(hours("2026-06-03"), [8; 7], "any day names its week");
    for (_, entry) in nights("2026-03-23", 1).entries(&oslo) {
        assert!(oslo.says(entry.span.start).ends_with("22:00"));
        assert!(oslo.says(entry.span.end).ends_with("06:00"));
    }
}

#[test]
fn a_slot_that_the_wall_skips_makes_no_entry_and_its_neighbours_touch() {
    let oslo = calendar("Europe/Oslo");
    let slot = |from_min, to_min| Slot { weekday: 6, from_min, to_min };
    let slots = vec![slot(60, 125), slot(125, 170), slot(170, 300)];
    let pattern = Pattern { hours: Hours::Slots(slots), ..nights("2026-03-29", 1) };
    let entries = pattern.entries(&oslo);
    assert_eq!(entries.len(), 2);
    assert_eq!(entries[0].1.span.end, entries[1].1.span.start);
    assert_eq!(entries[0].1.span.minutes() + entries[1].1.span.minutes(), 3 * 60);
}

#[test]
fn weeks_go_round_and_cover_exactly_what_is_closed() {
    let oslo = calendar("Europe/Oslo");
    let pattern = Pattern {
        kind: Kind::OnCall,
        people: vec![1, 2, 3],
        turn: Turn::Weekly,
        hours: Hours::WhileClosed { weekday: 4, minute: 17 * 60 },
        ..nights("2026-12-14", 4)
    };
    let entries = pattern.entries(&oslo);
    let spans = |id| -> Vec<Span> {
        let of = entries.iter().filter(|(whose, _)| *whose == id);
        of.map(|(_, entry)| entry.span).collect()
    };
    let start = oslo.moment(day("2026-12-18"), 17 * 60);
    let end = oslo.moment(day("2027-01-15"), 17 * 60);
    assert_eq!(
        joined([spans(1), spans(2), spans(3)].concat()),
        oslo.closed_spans(Span::new(start, end))
    );
    // Christmas falls to the second; the first has the fourth week again.
    let christmas = oslo.moment(day("2026-12-25"), 18 * 60);
    assert!(spans(2).iter().any(|span| span.holds(christmas)));
    assert!(spans(1).iter().any(|span| span.holds(oslo.moment(day("2027-01-09"), 720))));
}

#[test]
fn holidays_are_left_out_of_shifts_where_asked() {
    let oslo = calendar("Europe/Oslo");
    let slots = (0..5).map(|weekday| Slot { weekday, from_min: 480, to_min: 960 }).collect();
    let pattern =
        Pattern { hours: Hours::Slots(slots), not_on_holidays: true, ..nights("2026-12-21", 1) };
    // Friday 25 December.
    assert_eq!(pattern.entries(&oslo).len(), 4);
}

#[test]
fn what_is_wrong_is_named() {
    let wrong = Pattern {
        kind: Kind::Leave,
        weeks: 0,
        people: vec![1, 1],
        hours: Hours::Slots(vec![Slot { weekday: 7, from_min: 0, to_min: 1 }]),
        ..nights("2026-12-21", 1)
    };
    let pointers: Vec<String> = wrong.check().into_iter().map(|one| one.pointer).collect();
    assert_eq!(pointers, ["/kind", "/weeks", "/people", "/slots"]);
    assert_eq!(nights("2026-12-21", 1).check(), []);
}

proptest! {
    /// Days cut anywhere and joined again are the whole time, over any change of the clocks.
    #[test]
    fn slots_that_touch_on_the_wall_touch_in_truth(
        zone in 0usize..5, week in 0u64..110, cut in 1u16..1439,
    ) {
        let zone = ["Europe/Oslo", "America/Denver", "Australia/Lord_Howe", "Africa/Cairo", "America/Santiago"][zone];
        let calendar = calendar(zone);
        let slots = (0..7).flat_map(|weekday| [
            Slot { weekday, from_min: 0, to_min: cut },
            Slot { weekday, from_min: cut, to_min: 1440 },
        ]);
        let first = day("2025-12-29").checked_add_days(Days::new(7 * week)).unwrap();
        let pattern = Pattern { hours: Hours::Slots(slots.collect()), first_week: first, ..nights("2026-01-01", 2) };
        let spans: Vec<Span> = pattern.entries(&calendar).iter().map(|(_, entry)| entry.span).collect();
        let minutes: i64 = spans.iter().map(|span| span.minutes()).sum();
        let whole = Span::new(
            calendar.moment(first, 0),
            calendar.moment(first.checked_add_days(Days::new(14)).unwrap(), 0),
        );
        prop_assert_eq!(joined(spans), vec![whole]);
        prop_assert_eq!(minutes, whole.minutes());
    }
}
