//! Swaps over arbitrary rotas: what passes the two checks that a swap must pass breaks no rest and
//! leaves nobody's time on call empty, by counting hours.
//!
//! Belongs here: both checks together, as the store puts them (`store::rota::swap::exchange`), held
//! against a count that knows nothing of either. Does not belong here: each check by itself.

use std::sync::atomic::{AtomicUsize, Ordering};

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use roster::calendar::{Calendar, Settings, Span};
use roster::cover::{self, Qualified};
use roster::duty::{Entry, Kind};
use roster::rest;

/// How far an arbitrary rota reaches, hours.
const HOURS: i64 = 14 * 24;

#[derive(Clone, Debug)]
struct Member {
    entries: Vec<Entry>,
    holds: Vec<String>,
}

fn at(hour: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::hours(hour)
}

fn calendar() -> Calendar {
    Calendar::new("UTC", Settings::default()).expect("a zone and the settings that ship")
}

fn members() -> impl Strategy<Value = Vec<Member>> {
    let kind = prop_oneof![
        3 => Just(Kind::Shift),
        4 => Just(Kind::OnCall),
        1 => Just(Kind::Second),
        1 => Just(Kind::Leave),
    ];
    let entry = (0..HOURS, 4..13_i64, kind);
    let holds =
        prop::collection::vec(prop_oneof![Just("gas".to_owned()), Just("ice".into())], 0..3);
    let member = (prop::collection::vec(entry, 1..9), holds).prop_map(|(entries, holds)| {
        let mut kept: Vec<Entry> = Vec::new();
        for (start, length, kind) in entries {
            let span = Span::new(at(start), at(start + length));
            // The database keeps one person's entries apart.
            if kept.iter().all(|one| one.span.cut(span).is_none()) {
                kept.push(Entry::new(kind, span));
            }
        }
        kept.sort_by_key(|entry| entry.span);
        Member { entries: kept, holds }
    });
    prop::collection::vec(member, 2..5)
}

/// The rota after the first person's entry went to the second, against one of theirs or none;
/// nothing where they would overlap.
fn exchanged(before: &[Member], offered: usize, wanted: Option<usize>) -> Option<Vec<Member>> {
    let mut after = before.to_vec();
    let given = after[0].entries.remove(offered);
    let back = wanted.map(|index| after[1].entries.remove(index));
    for (to, entry) in [(1, Some(given)), (0, back)] {
        let Some(entry) = entry else { continue };
        if after[to].entries.iter().any(|one| one.span.cut(entry.span).is_some()) {
            return None;
        }
        after[to].entries.push(entry);
        after[to].entries.sort_by_key(|entry| entry.span);
    }
    Some(after)
}

fn qualified(members: &[Member]) -> Vec<Qualified<'_>> {
    let of = |member: &'_ Member| member.entries.clone();
    members
        .iter()
        .flat_map(|member| of(member).into_iter().map(|entry| (entry, member.holds.as_slice())))
        .map(|(entry, holds)| Qualified { entry, holds })
        .collect()
}

/// As a swap is tried when it is accepted.
fn accepted(before: &[Member], after: &[Member], allowed_min: i64) -> bool {
    let calendar = calendar();
    let found = |member: &Member| rest::findings(&calendar, &member.entries, &[]);
    let rested =
        (0..2).all(|index| rest::added(&found(&before[index]), &found(&after[index])).is_empty());
    rested && cover::lost(&qualified(before), &qualified(after), allowed_min).is_none()
}

/// Whether somebody is on any of `kinds` in that hour.
fn on(entries: &[Entry], kinds: &[Kind], hour: i64) -> bool {
    let span = Span::new(at(hour), at(hour + 1));
    entries.iter().any(|one| kinds.contains(&one.kind) && one.span.cut(span).is_some())
}

/// Whether a run of work, told by hours, is longer than the shipped rule lets it be.
fn overworked(entries: &[Entry]) -> bool {
    let rule = calendar().rest();
    let (rest_h, run_h) = (rule.rest_min / 60, rule.duty_max_min / 60);
    let (mut first, mut last) = (None, i64::MIN);
    for hour in (0..HOURS + 24).filter(|hour| on(entries, &[Kind::Shift], *hour)) {
        if first.is_none() || hour - last > rest_h {
            first = Some(hour);
        }
        last = hour;
        if first.is_some_and(|first| hour + 1 - first > run_h) {
            return true;
        }
    }
    false
}

/// Whether more nights on call follow each other than the shipped rule allows; a night is 22 to 6,
/// and counts from three hours of it on.
fn too_many_nights(entries: &[Entry]) -> bool {
    let most = calendar().rest().nights_on_call_max;
    let mut row = 0;
    for day in -1..=HOURS / 24 + 1 {
        let night = day * 24 + 22..day * 24 + 30;
        let hours = night.filter(|hour| on(entries, &[Kind::OnCall], *hour)).count();
        row = if hours >= 3 { row + 1 } else { 0 };
        if row > most {
            return true;
        }
    }
    false
}

static ACCEPTED: AtomicUsize = AtomicUsize::new(0);
static REFUSED: AtomicUsize = AtomicUsize::new(0);

/// One arbitrary swap.
fn swap() -> impl Strategy<Value = (Vec<Member>, usize, Option<usize>)> {
    (members(), any::<prop::sample::Index>(), prop::option::of(any::<prop::sample::Index>()))
        .prop_map(|(members, offered, wanted)| {
            let offered = offered.index(members[0].entries.len());
            let wanted = wanted.map(|wanted| wanted.index(members[1].entries.len()));
            (members, offered, wanted)
        })
}

fn held((before, offered, wanted): (Vec<Member>, usize, Option<usize>)) {
    let Some(after) = exchanged(&before, offered, wanted) else { return };
    let given = before[0].entries[offered].span.minutes();
    let allowed_min =
        wanted.map_or(0, |index| (given - before[1].entries[index].span.minutes()).abs());
    if !accepted(&before, &after, allowed_min) {
        REFUSED.fetch_add(1, Ordering::Relaxed);
        return;
    }
    ACCEPTED.fetch_add(1, Ordering::Relaxed);
    for (was, is) in before.iter().zip(&after) {
        assert!(overworked(&was.entries) || !overworked(&is.entries), "{is:?}");
        assert!(too_many_nights(&was.entries) || !too_many_nights(&is.entries), "{is:?}");
    }
    let all = |members: &[Member]| -> Vec<Entry> {
        members.iter().flat_map(|member| member.entries.clone()).collect()
    };
    let (before_all, after_all) = (all(&before), all(&after));
    for hour in 0..HOURS + 24 {
        let covered = |entries: &[Entry]| on(entries, &[Kind::OnCall], hour);
        assert!(!covered(&before_all) || covered(&after_all), "nobody on call in hour {hour}");
    }
    for holds in ["gas", "ice"] {
        let hours = |members: &[Member]| {
            let able: Vec<Entry> = members
                .iter()
                .filter(|member| member.holds.iter().any(|held| held == holds))
                .flat_map(|member| member.entries.clone())
                .collect();
            let kinds = [Kind::Shift, Kind::OnCall];
            let covered = (0..HOURS + 24).filter(|hour| on(&able, &kinds, *hour)).count();
            i64::try_from(covered).expect("a few hundred hours")
        };
        assert!(hours(&after) * 60 + allowed_min >= hours(&before) * 60, "less {holds}");
    }
}

#[test]
fn an_accepted_swap_breaks_no_rest_and_leaves_nobodys_time_on_call_empty() {
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig::with_cases(600));
    runner
        .run(&swap(), |swap| {
            held(swap);
            Ok(())
        })
        .expect("no counterexample");

    // Neither answer was the only one, or nothing was tried.
    let counts = [&ACCEPTED, &REFUSED].map(|count| count.load(Ordering::Relaxed));
    assert!(counts.iter().all(|count| *count >= 40), "{counts:?}");
}
