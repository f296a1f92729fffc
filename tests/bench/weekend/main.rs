//! How many weekends a minute the simulation plays on one core:
//! `cargo bench -p countersign-roster`.
//!
//! Belongs here: a shop of eight on a cold weekend, played with and without rules watching, and
//! the rate. Does not belong here: the simulation.
#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "a measurement")]

use std::process::ExitCode;
use std::time::Instant;

use roster::capacity::demand::{Demand, Hour};
use roster::capacity::learn::{History, learn};
use roster::capacity::outlook::{calls, outlook};
use roster::capacity::places::Places;
use roster::capacity::random::Chance;
use roster::capacity::{Duty, DutyKind, Person, QUALIFICATIONS, Setting, Skills, Tolerable};
use roster::plan::RestRule;
use roster::rules::Condition;
use roster::rules::rehearse::{Backdrop, Tried, will_fire};
use roster::rules::starting::starting;

/// Friday 17:00 to Monday 8:00.
const HOURS: usize = 63;
/// Weekends a minute that are aimed at.
const AIM: f64 = 10_000.0;
/// Weekends played for the measurement.
const WEEKENDS: u64 = 20_000;
/// Weekends played with the rules watching.
const WATCHED: u64 = 2_000;

fn setting() -> Setting {
    let person = |at: usize| Person {
        skills: Skills::of(&QUALIFICATIONS[..1 + at % QUALIFICATIONS.len()]),
        duties: vec![Duty {
            kind: match at {
                0..2 => DutyKind::Shift,
                2..5 => DutyKind::OnCall,
                _ => DutyKind::Second,
            },
            start_min: 0.0,
            end_min: 1e6,
        }],
        busy_until_min: 0.0,
        run_start_min: None,
        place: 0,
    };
    Setting {
        hours: HOURS,
        people: (0..8).map(person).collect(),
        tolerable: Tolerable::default(),
        rest: RestRule { rest_min: 600, duty_max_min: 840 },
        called_when_late: true,
        places: Places::default(),
    }
}

fn main() -> ExitCode {
    let setting = setting();
    let hours: Vec<Hour> = (0..HOURS)
        .map(|hour| Hour { week_hour: (113 + hour) % 168, outdoor_f: 8, usual_f: 30 })
        .collect();
    let demand = Demand::of(&learn(&History::empty(8)), &hours);

    let began = Instant::now();
    let seen = outlook(&setting, &demand, &[], 1, WEEKENDS);
    let rate = WEEKENDS as f64 / began.elapsed().as_secs_f64() * 60.0;
    let calls_each: f64 = seen.by_class.iter().map(|odds| odds.calls).sum();
    println!("{rate:.0} weekends a minute on one core, {calls_each:.1} calls each; aim {AIM:.0}");

    let rules = starting();
    let parsed: Vec<Condition> =
        rules.iter().filter_map(|rule| Condition::parse(rule.condition).ok()).collect();
    let tried: Vec<Tried<'_>> = rules
        .iter()
        .zip(&parsed)
        .map(|(rule, condition)| Tried {
            condition,
            actions: &rule.actions,
            rearm_min: rule.rearm_min,
        })
        .collect();
    let backdrop = Backdrop {
        start: chrono::DateTime::UNIX_EPOCH,
        hours: vec![roster::rules::Values { weekend: true, ..Default::default() }],
        next_open_min: vec![HOURS as f64 * 60.0],
    };
    let began = Instant::now();
    let draws = (0..WATCHED).map(|run| calls(&demand, &[], &mut Chance::of(1, run)));
    let fires = will_fire(&setting, draws, &tried, &backdrop);
    let watched = WATCHED as f64 / began.elapsed().as_secs_f64() * 60.0;
    println!(
        "{watched:.0} a minute with {} rules watching, of which {} fire",
        tried.len(),
        fires.len()
    );
    if rate >= AIM { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
