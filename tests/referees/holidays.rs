//! Public holidays as the shop's calendar has them, against another library's lists.
//!
//! Belongs here: the comparison, country by country over twelve years. Does not belong here: days
//! that only a part of a country keeps, which no calendar here has by itself.
//!
//! The other library is Python's `holidays`; it is put under `target/` the first time, which needs
//! the network. Canada and Ireland are left out: the library used here says of itself that it keeps
//! the federal days for the one, and moves Saint Stephen's Day otherwise for the other.

use std::collections::BTreeSet;
use std::process::Command;

use blackbox::tree::workspace;
use chrono::{Datelike as _, NaiveDate, Weekday};
use roster::calendar::holidays;

const FIRST: i32 = 2024;
const LAST: i32 = 2035;

/// Our name of a country, and the referee's code; of the United Kingdom England.
const COUNTRIES: [(&str, &str); 19] = [
    ("Australia", "AU"),
    ("Austria", "AT"),
    ("Belgium", "BE"),
    ("Czechia", "CZ"),
    ("Denmark", "DK"),
    ("Finland", "FI"),
    ("France", "FR"),
    ("Germany", "DE"),
    ("Italy", "IT"),
    ("Netherlands", "NL"),
    ("New Zealand", "NZ"),
    ("Norway", "NO"),
    ("Poland", "PL"),
    ("Portugal", "PT"),
    ("Spain", "ES"),
    ("Sweden", "SE"),
    ("Switzerland", "CH"),
    ("United Kingdom", "GB-ENG"),
    ("United States", "US"),
];

fn said_by(command: &mut Command) -> String {
    let done = command.output().expect("the command runs");
    let errors = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{command:?}: {errors}");
    String::from_utf8(done.stdout).expect("text")
}

#[test]
fn every_public_holiday_on_a_working_day_is_the_referee_s_too() {
    let folder = workspace().join("tests/referees/holidays");
    let prepare = workspace().join("tests/http/smtp/prepare");
    let python = said_by(Command::new(prepare).arg(&folder));
    let named = COUNTRIES.map(|(name, code)| format!("{name}={code}"));
    let listed = said_by(
        Command::new(python.trim())
            .arg(folder.join("list.py"))
            .args([FIRST.to_string(), LAST.to_string()])
            .args(named),
    );

    let mut wrong = Vec::new();
    for (name, _) in COUNTRIES {
        let theirs: BTreeSet<NaiveDate> = listed
            .lines()
            .filter_map(|line| line.strip_prefix(name)?.strip_prefix('\t'))
            .map(|date| date.parse().expect("a date"))
            .collect();
        assert!(theirs.len() > 30, "{name}: the referee lists only {}", theirs.len());
        let ours: BTreeSet<NaiveDate> = holidays::of(name)
            .expect("a known country")
            .keys()
            .copied()
            .filter(|day| (FIRST..=LAST).contains(&day.year()))
            .filter(|day| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun))
            .collect();
        wrong.extend(ours.symmetric_difference(&theirs).map(|day| format!("{name}: {day}")));
    }

    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
