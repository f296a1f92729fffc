//! Promises of the calendar.
//!
//! Belongs here: tests of [`super`], of its zones and its holidays. Does not belong here: the
//! referee that compares holidays with another library's (`tests/referees`).

use proptest::prelude::*;

use super::*;

fn in_zone(zone: &str) -> Calendar {
    Calendar::new(zone, Settings::default()).unwrap()
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// A night by the wall, 22:00 to 6:00.
fn night(zone: &str, date: &str) -> Span {
    let calendar = in_zone(zone);
    Span::new(calendar.moment(day(date), 22 * 60), calendar.moment(day(date), 30 * 60))
}

#[test]
fn the_night_is_an_hour_shorter_in_spring_and_longer_in_autumn() {
    // Oslo: clocks forward on 29 March 2026, back on 25 October 2026.
    assert_eq!(night("Europe/Oslo", "2026-03-27").minutes(), 8 * 60);
    assert_eq!(night("Europe/Oslo", "2026-03-28").minutes(), 7 * 60);
    assert_eq!(night("Europe/Oslo", "2026-10-24").minutes(), 9 * 60);
    // Denver: forward on 8 March 2026, back on 1 November 2026.
    assert_eq!(night("America/Denver", "2026-03-07").minutes(), 7 * 60);
    assert_eq!(night("America/Denver", "2026-10-31").minutes(), 9 * 60);
    // By half an hour: Lord Howe Island, forward on 4 October 2026.
    assert_eq!(night("Australia/Lord_Howe", "2026-10-03").minutes(), 7 * 60 + 30);
    // No change at all.
    assert_eq!(night("America/Phoenix", "2026-03-07").minutes(), 8 * 60);
}

#[test]
fn a_time_that_does_not_exist_is_the_moment_of_the_change() {
    let oslo = in_zone("Europe/Oslo");
    let changed = utc("2026-03-29T01:00:00Z");
    for minute in [120, 135, 150, 179, 180] {
        assert_eq!(oslo.moment(day("2026-03-29"), minute), changed, "minute {minute}");
    }
    assert_eq!(oslo.moment(day("2026-03-29"), 181), changed + TimeDelta::minutes(1));
    // A day whose midnight is skipped begins at one: Cairo, 24 April 2026.
    let cairo = in_zone("Africa/Cairo");
    assert_eq!(cairo.moment(day("2026-04-24"), 0), cairo.moment(day("2026-04-24"), 60));
    assert_eq!(cairo.day(day("2026-04-24")).minutes(), 23 * 60);
    assert_eq!(cairo.date(cairo.moment(day("2026-04-24"), 0)), day("2026-04-24"));
}

#[test]
fn a_time_that_comes_twice_is_the_first() {
    let oslo = in_zone("Europe/Oslo");
    assert_eq!(oslo.moment(day("2026-10-25"), 150), utc("2026-10-25T00:30:00Z"));
    assert_eq!(oslo.moment(day("2026-10-25"), 180), utc("2026-10-25T02:00:00Z"));
    assert_eq!(oslo.day(day("2026-10-25")).minutes(), 25 * 60);
}

#[test]
fn the_same_moment_is_another_time_and_maybe_another_day_at_a_site_elsewhere() {
    let at = utc("2026-12-07T06:30:00Z");
    assert_eq!(in_zone("America/Denver").says(at), "Sun 6 Dec, 23:30");
    assert_eq!(in_zone("America/Chicago").says(at), "Mon 7 Dec, 00:30");
    assert_eq!(in_zone("Europe/Oslo").says(at), "Mon 7 Dec, 07:30");
}

#[test]
fn opening_weekends_and_the_next_opening() {
    let settings = Settings { country: Some("United States".into()), ..Settings::default() };
    let shop = Calendar::new("America/Denver", settings).unwrap();
    let friday = shop.moment(day("2026-11-20"), 16 * 60);
    assert!(shop.is_open(friday));
    assert_eq!(shop.next_open(friday), Some(friday));
    let evening = shop.moment(day("2026-11-20"), 17 * 60);
    assert!(!shop.is_open(evening), "the end is not within");
    assert_eq!(shop.next_open(evening), Some(shop.moment(day("2026-11-23"), 8 * 60)));

    // Thanksgiving, Thursday 26 November 2026, is closed; the Friday after is open.
    let eve = shop.moment(day("2026-11-25"), 20 * 60);
    assert_eq!(shop.holiday(day("2026-11-26")), Some("Thanksgiving Day"));
    assert_eq!(shop.next_open(eve), Some(shop.moment(day("2026-11-27"), 8 * 60)));
    let weekends = shop.weekend_spans(Span::new(eve, eve + TimeDelta::days(6)));
    assert_eq!(weekends.len(), 2);
    assert_eq!(weekends[0].holidays[0].1, "Thanksgiving Day");
    assert_eq!(weekends[0].span.minutes(), 39 * 60);
    assert!(!weekends[0].long && !weekends[1].long);
    assert_eq!(weekends[1].span.minutes(), 63 * 60);

    // Christmas on a Friday makes a long one.
    let before = shop.moment(day("2026-12-24"), 20 * 60);
    let christmas = &shop.weekend_spans(Span::new(before, before + TimeDelta::days(1)))[0];
    assert!(christmas.long);
    assert_eq!(christmas.span.minutes(), (7 + 72 + 8) * 60);
}

#[test]
fn a_shop_adds_days_of_its_own_and_strikes_out_others() {
    let own = |date: &str, open| OwnDay { date: day(date), name: "Bank of the river".into(), open };
    let settings = Settings {
        country: Some("United States".into()),
        own_days: vec![own("2026-11-26", true), own("2026-11-27", false)],
        ..Settings::default()
    };
    let shop = Calendar::new("America/Denver", settings).unwrap();
    assert_eq!(shop.holiday(day("2026-11-26")), None);
    assert_eq!(shop.holiday(day("2026-11-27")), Some("Bank of the river"));
    assert!(!shop.is_weekend(day("2026-11-26")) && shop.is_weekend(day("2026-11-27")));
}

#[test]
fn a_shop_that_never_opens_or_never_closes_still_has_saturday_and_sunday() {
    let always = std::array::from_fn(|_| vec![Hours { from_min: 0, to_min: DAY_MIN }]);
    for week in [std::array::from_fn(|_| vec![]), always] {
        let shop = Calendar::new("Europe/Oslo", Settings { week, ..Settings::default() }).unwrap();
        let at = utc("2026-12-09T12:00:00Z");
        let weekends = shop.weekend_spans(Span::new(at, at + TimeDelta::days(7)));
        let starts: Vec<_> = weekends.iter().map(|weekend| shop.says(weekend.span.start)).collect();
        assert_eq!(starts, ["Sat 12 Dec, 00:00"]);
        assert_eq!(weekends[0].span.minutes(), 48 * 60);
    }
}

#[test]
fn what_is_wrong_is_told_at_once_and_where() {
    let hours = |from_min, to_min| Hours { from_min, to_min };
    let mut settings = Settings { country: Some("Atlantis".into()), ..Settings::default() };
    settings.week[2] = vec![hours(600, 500)];
    settings.week[3] = vec![hours(480, 720), hours(700, 900)];
    settings.rest.rest_min = 30;
    let wrong = Calendar::new("Mars/Olympus", settings).unwrap_err();
    let pointers: Vec<_> = wrong.iter().map(|one| one.pointer.as_str()).collect();
    assert_eq!(pointers, ["/zone", "/week/2", "/week/3", "/rest", "/country"]);
}

#[test]
fn a_day_that_falls_on_a_weekend_is_kept_on_the_day_that_stands_for_it() {
    // 4 July 2026 is a Saturday.
    let days = holidays::of("United States").unwrap();
    assert_eq!(days.get(&day("2026-07-03")).map(String::as_str), Some("Independence Day"));
    assert!(holidays::countries().len() > 50);
    assert!(holidays::countries().iter().all(|country| holidays::of(country).is_ok()));
}

/// Zones with changes by an hour, by half an hour, at midnight, in the south, and none.
const ZONES: [&str; 6] = [
    "Europe/Oslo",
    "America/Denver",
    "Australia/Lord_Howe",
    "Africa/Cairo",
    "America/Santiago",
    "Asia/Kolkata",
];

proptest! {
    /// Later on the wall is never earlier in truth.
    #[test]
    fn walls_in_order_are_moments_in_order(
        zone in 0usize..6, day_no in 0i64..800, one in 0u16..2880, other in 0u16..2880,
    ) {
        let calendar = in_zone(ZONES[zone]);
        let date = day("2026-01-01") + TimeDelta::days(day_no);
        let (early, late) = (one.min(other), one.max(other));
        prop_assert!(calendar.moment(date, early) <= calendar.moment(date, late));
        // Minutes past midnight are the next day's own.
        let next = date.succ_opt().unwrap();
        prop_assert_eq!(calendar.moment(date, DAY_MIN), calendar.moment(next, 0));
    }

    /// Open and closed are each other's rest, whatever is between, and agree with the moment.
    #[test]
    fn open_and_closed_fill_a_span(zone in 0usize..6, hour in 0i64..15_000, hours in 1i64..600) {
        let settings = Settings { country: Some("United States".into()), ..Settings::default() };
        let calendar = Calendar::new(ZONES[zone], settings).unwrap();
        let start = utc("2026-01-01T00:00:00Z") + TimeDelta::hours(hour);
        let whole = Span::new(start, start + TimeDelta::hours(hours));
        let (open, closed) = (calendar.open_spans(whole), calendar.closed_spans(whole));
        let minutes: i64 = open.iter().chain(&closed).map(|span| span.minutes()).sum();
        prop_assert_eq!(minutes, whole.minutes());
        for span in open {
            prop_assert!(calendar.is_open(span.start));
            prop_assert_eq!(calendar.next_open(span.start), Some(span.start));
        }
        for span in closed {
            prop_assert!(!calendar.is_open(span.start));
            prop_assert!(calendar.next_open(span.start).unwrap() >= span.end.min(whole.end));
        }
    }
}
