//! What the families share: the example cases, short ways to write a reading, a rendering that
//! can be read.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use engine::case::{Case, Claim, Reading};
use engine::verdict::{Outcome, Verdict};
use serde_json::{Value, json};

/// The cases that ship beside the binary.
pub(crate) fn cases_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../countersign/cases")
}

/// The example case of that name, without its ending.
pub(crate) fn example(name: &str) -> Case {
    let path = cases_folder().join(format!("{name}.json"));
    let text = std::fs::read_to_string(&path).expect("the example case exists");
    engine::validate::case_from_json(&text).expect("the example case has the right shape")
}

/// Judges a case that is well formed.
pub(crate) fn judged(case: &Case) -> Verdict {
    engine::check(case).unwrap_or_else(|problems| panic!("a well-formed case: {problems}"))
}

/// A case on the single-phase compressor with its plug.
pub(crate) fn compressor(claim: Option<Claim>, readings: Vec<Reading>) -> Case {
    let case = json!({"format": 1, "circuit": "compressor-1ph-plug", "readings": readings});
    Case { claim, ..serde_json::from_value(case).expect("the shape of a case") }
}

pub(crate) fn claim(component: &str, part: &str, mode: &str) -> Claim {
    Claim { component: component.into(), part: Some(part.into()), mode: Some(mode.into()) }
}

/// What a meter showed: a value in ohm, or OL.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Seen {
    Ohm(f64),
    Megohm(f64),
    Microfarad(f64),
    Volt(f64),
    OverLimit,
}

impl Seen {
    fn as_json(self) -> Value {
        let value = |value: f64, unit: &str| json!({"is": "value", "value": value, "unit": unit});
        match self {
            Seen::Ohm(ohm) => value(ohm, "ohm"),
            Seen::Megohm(megohm) => value(megohm, "megohm"),
            Seen::Microfarad(microfarad) => value(microfarad, "microfarad"),
            Seen::Volt(volt) => value(volt, "volt"),
            Seen::OverLimit => json!({"is": "over_limit"}),
        }
    }
}

/// A reading; the quantity is named because OL has no unit.
pub(crate) fn reading(
    id: &str,
    quantity: &str,
    [from, to]: [&str; 2],
    lifted: &[&str],
    seen: Seen,
) -> Reading {
    let power = if quantity == "voltage" { "energised" } else { "off" };
    let reading = json!({
        "id": id, "quantity": quantity, "from": from, "to": to, "lifted": lifted,
        "power": power, "shown": seen.as_json(),
    });
    serde_json::from_value(reading).expect("the shape of a reading")
}

/// A resistance at the compressor's pins, plug off.
pub(crate) fn at_pins(id: &str, pins: [&str; 2], seen: Seen, celsius: f64) -> Reading {
    Reading { part_temp_c: Some(celsius), ..reading(id, "resistance", pins, &["plug"], seen) }
}

/// C–R, C–S, S–R at the pins.
pub(crate) fn three_pins([cr, cs, sr]: [f64; 3], celsius: f64) -> Vec<Reading> {
    vec![
        at_pins("r1", ["C", "R"], Seen::Ohm(cr), celsius),
        at_pins("r2", ["C", "S"], Seen::Ohm(cs), celsius),
        at_pins("r3", ["S", "R"], Seen::Ohm(sr), celsius),
    ]
}

/// Share of a component, or of "nothing_wrong", "unknown_fault", "passing_state".
pub(crate) fn share(verdict: &Verdict, component: &str) -> f64 {
    let found = verdict.components.iter().find(|share| share.component == component);
    found.expect("every component has a share").share
}

fn outcome_word(outcome: Outcome) -> String {
    let word = serde_json::to_value(outcome).expect("an outcome is a word");
    word.as_str().unwrap_or_default().to_owned()
}

/// A verdict as a page of text: what a reviewer reads in a snapshot. Shares to one percent,
/// so that a change of the last digit is not a change of the page.
pub(crate) fn page(verdict: &Verdict) -> String {
    let mut page = String::new();
    let mut line = |text: String| writeln!(page, "{text}").expect("a string takes text");
    line(format!("{}\n{}", outcome_word(verdict.outcome), verdict.sentence));
    verdict.because.iter().for_each(|because| line(format!("  - {because}")));
    line("components".into());
    for share in verdict.components.iter().filter(|share| share.share >= 0.005) {
        let mark = if share.claimed { " (claimed)" } else { "" };
        line(format!("  {:3.0} % {}{mark}", 100.0 * share.share, share.label));
    }
    line("suspects".into());
    for suspect in &verdict.suspects {
        line(format!("  {:3.0} % {}", 100.0 * suspect.share, suspect.label));
    }
    for check in &verdict.checks {
        line(format!("check {} {:?}: {}", check.id, check.result, check.says));
    }
    verdict.owed.iter().for_each(|owed| line(format!("owed: {}", owed.says)));
    verdict.retake.iter().for_each(|retake| line(format!("retake: {}", retake.says)));
    for test in &verdict.next_tests {
        line(format!("next test: {} ({:.0} min)", test.title, test.minutes));
        test.steps.iter().for_each(|step| line(format!("  {step}")));
        for answer in &test.answers {
            line(format!("  {:3.0} % {}: {}", 100.0 * answer.chance, answer.shows, answer.means));
        }
    }
    if verdict.nothing_left {
        line("nothing left to test".into());
    }
    page
}
