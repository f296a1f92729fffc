//! Promises of the rest rule.
//!
//! Belongs here: tests of [`super`]. Does not belong here: what a shop does about a finding.

use chrono::{DateTime, Utc};
use proptest::prelude::*;

use super::*;
use crate::calendar::Settings;

fn calendar() -> Calendar {
    Calendar::new("Europe/Oslo", Settings::default()).unwrap()
}

/// Hours from the midnight that begins Monday 7 December 2026 in Oslo.
fn at(hours: f64) -> DateTime<Utc> {
    let midnight = DateTime::parse_from_rfc3339("2026-12-06T23:00:00Z").unwrap().to_utc();
    midnight + TimeDelta::minutes((hours * 60.0) as i64)
}

fn shift(from: f64, to: f64) -> Entry {
    Entry::new(Kind::Shift, Span::new(at(from), at(to)))
}

fn on_call(from: f64, to: f64) -> Entry {
    Entry::new(Kind::OnCall, Span::new(at(from), at(to)))
}

#[test]
fn ordinary_days_with_nights_on_call_between_them_break_nothing() {
    let entries = [shift(8.0, 17.0), on_call(17.0, 32.0), shift(32.0, 41.0)];
    assert_eq!(findings(&calendar(), &entries, &[]), []);
}

#[test]
fn a_call_at_night_shortens_the_rest_and_the_words_say_what_would_be_right() {
    let entries = [shift(8.0, 17.0), on_call(17.0, 32.0), shift(32.0, 41.0)];
    let called_out = [Span::new(at(23.0), at(24.0))];

    let found = findings(&calendar(), &entries, &called_out);

    assert_eq!(found.len(), 1);
    assert_eq!(found[0].broken, Broken::Rest);
    assert_eq!(
        found[0].says,
        "has only 8 h of rest, Tue 8 Dec, 00:00 to 08:00; the shop's rule is 11 h"
    );
    assert_eq!(found[0].right, "The next duty could begin Tue 8 Dec, 11:00.");
}

#[test]
fn a_split_shift_within_the_longest_run_is_no_breach_and_a_minute_more_is() {
    let split = [shift(8.0, 12.0), shift(17.0, 21.0)];
    assert_eq!(findings(&calendar(), &split, &[]), []);
    let longer = [
        shift(8.0, 12.0),
        Entry::new(Kind::Shift, Span::new(at(17.0), at(21.0) + TimeDelta::minutes(1))),
    ];
    assert_eq!(findings(&calendar(), &longer, &[])[0].broken, Broken::Rest);
    let whole = [shift(8.0, 16.0), shift(16.0, 21.5)];
    let found = findings(&calendar(), &whole, &[]);
    assert_eq!(found[0].broken, Broken::LongDuty);
    assert_eq!(found[0].right, "The duty could end Mon 7 Dec, 21:00.");
}

#[test]
fn seven_nights_on_call_are_allowed_and_the_eighth_is_named() {
    let week: Vec<Entry> = (0..7)
        .map(|day| on_call(f64::from(day) * 24.0 + 17.0, f64::from(day) * 24.0 + 32.0))
        .collect();
    assert_eq!(findings(&calendar(), &week, &[]), []);
    let eight = [on_call(17.0, 7.0 * 24.0 + 32.0)];
    let found = findings(&calendar(), &eight, &[]);
    assert_eq!(found[0].broken, Broken::Nights);
    assert_eq!(found[0].right, "Somebody else could take the night of Mon 14 Dec.");
}

#[test]
fn what_was_broken_before_blocks_no_other_change_but_making_it_worse_is_new() {
    let calendar = calendar();
    let before = findings(&calendar, &[shift(0.0, 14.0)], &[]);
    let beside = findings(&calendar, &[shift(0.0, 14.0), shift(48.0, 56.0)], &[]);
    assert_eq!(added(&before, &beside), []);
    let worse = findings(&calendar, &[shift(0.0, 15.0)], &[]);
    assert_eq!(added(&before, &worse).len(), 1);
}

#[test]
fn the_margin_is_where_it_is_tightest() {
    let entries = [shift(8.0, 17.0), shift(28.5, 37.0)];
    let margin = margin(&calendar(), &entries, &[], Span::new(at(0.0), at(168.0))).unwrap();
    assert_eq!(margin.left_min, 30);
    assert_eq!(margin.says, "11 h 30 min of rest, Mon 7 Dec, 17:00 to Tue 8 Dec, 04:30");
}

fn spans() -> impl Strategy<Value = Vec<(i64, i64)>> {
    prop::collection::vec((0i64..300, 1i64..20), 0..14)
}

proptest! {
    /// Found exactly where, minute by minute, somebody has gone on without a rest for too long.
    #[test]
    fn findings_agree_with_counting_minutes(spans in spans()) {
        let calendar = calendar();
        let rule = calendar.rest();
        let entries: Vec<Entry> = spans
            .iter()
            .map(|(from, length)| shift(*from as f64, (from + length) as f64))
            .collect();
        let works = |hour: i64| spans.iter().any(|(from, length)| (*from..from + length).contains(&hour));
        let (mut began, mut idle, mut broken) = (None, 0, false);
        for hour in 0..340 {
            if works(hour) {
                let began = *began.get_or_insert(hour);
                idle = 0;
                broken |= (hour + 1 - began) * 60 > rule.duty_max_min;
            } else {
                idle += 1;
                if idle * 60 >= rule.rest_min {
                    began = None;
                }
            }
        }
        prop_assert_eq!(!findings(&calendar, &entries, &[]).is_empty(), broken);
    }

    /// Somebody whose margin is not negative has no run that is too long, and the reverse.
    #[test]
    fn the_margin_is_negative_exactly_where_something_is_found(spans in spans()) {
        let calendar = calendar();
        let entries: Vec<Entry> = spans
            .iter()
            .map(|(from, length)| shift(*from as f64, (from + length) as f64))
            .collect();
        let whole = Span::new(at(-24.0), at(400.0));
        let left = margin(&calendar, &entries, &[], whole).map_or(0, |margin| margin.left_min);
        prop_assert_eq!(left < 0, !findings(&calendar, &entries, &[]).is_empty());
    }
}
