//! What a verdict says where nothing is to be isolated: nothing is wrong, it passes, conductors
//! touch, or what is left to read could settle nothing.
//!
//! Belongs here: the headline and the next tests of such cases. Does not belong here: which test
//! comes first where one is worth it ([`super::plans`]).

use engine::case::{Case, Reading};
use engine::verdict::{Outcome, Verdict};
use serde_json::json;

use crate::support::{Seen, judged, reading};

const NOTHING_SETTLES: &str = "Nothing left to read could isolate a component";

/// A case with each sign named answered no.
fn case(circuit: &str, readings: Vec<Reading>, absent: &[&str]) -> Case {
    let observations: Vec<_> = absent
        .iter()
        .enumerate()
        .map(|(place, sign)| json!({"id": format!("o{place}"), "sign": sign, "present": false}))
        .collect();
    serde_json::from_value(json!({
        "format": 1, "circuit": circuit, "readings": readings, "observations": observations,
    }))
    .expect("the shape of a case")
}

fn with_power(id: &str, state: &str, ends: [&str; 2], volt: f64) -> Reading {
    Reading { state: Some(state.to_owned()), ..reading(id, "voltage", ends, &[], Seen::Volt(volt)) }
}

fn ohms(id: &str, ends: [&str; 2], lifted: &[&str], shown: Seen) -> Reading {
    let taken = reading(id, "resistance", ends, lifted, shown);
    Reading { part_temp_c: Some(13.0), stopped_min: Some(296.0), ..taken }
}

fn says_so(verdict: &Verdict) -> bool {
    verdict.because.iter().any(|line| line.starts_with(NOTHING_SETTLES))
}

/// A blower of which everything in reach was read: volts on the called speed, every winding, the
/// capacitor.
fn blower_read_through() -> Vec<Reading> {
    vec![
        with_power("r1", "cooling_running", ["H", "N"], 117.7),
        with_power("r2", "cooling_running", ["COOL", "N"], 118.4),
        ohms("r3", ["COOL", "HEAT"], &[], Seen::Ohm(3.6)),
        ohms("r4", ["N", "COOL"], &[], Seen::Ohm(4.3)),
        ohms("r5", ["N", "HEAT"], &[], Seen::Ohm(7.8)),
        reading("r6", "insulation", ["N", "FRAME"], &[], Seen::Megohm(187.4)),
        ohms("r7", ["COOL", "CB"], &[], Seen::Ohm(12.8)),
        ohms("r8", ["N", "CA"], &[], Seen::Ohm(0.1)),
        ohms("r9", ["H", "CB"], &[], Seen::OverLimit),
        reading("r10", "capacitance", ["CA", "CB"], &["cap_wires"], Seen::Microfarad(9.0)),
    ]
}

/// Eight faults hold a few of 100 each, and no reading left could bring one of them home.
#[test]
fn a_walk_that_could_settle_nothing_is_not_proposed() {
    let signs = ["hums_no_start", "stiff_by_hand", "one_speed_only"];
    let of = |readings| {
        let mut case = case("blower-multi-speed", readings, &signs);
        let plate = json!({"capacitor": {"value": 8.8, "unit": "microfarad"}});
        case.specs = serde_json::from_value(plate).expect("what the plate says");
        judged(&case)
    };
    let verdict = of(blower_read_through());
    assert_eq!(verdict.outcome, Outcome::NotIsolated);
    assert!(verdict.next_tests.is_empty(), "{:?}", verdict.next_tests);
    assert!(verdict.nothing_left && says_so(&verdict), "{:?}", verdict.because);

    // Before the windings were read there is much to settle.
    let verdict = of(blower_read_through().into_iter().take(2).collect());
    assert!(!verdict.next_tests.is_empty() && !verdict.nothing_left && !says_so(&verdict));
}

/// Next to nothing between the called tap and its common, and volts that sag when called.
#[test]
fn conductors_that_touch_are_named_before_any_part() {
    let verdict = judged(&case(
        "blower-ecm",
        vec![
            with_power("r1", "calling", ["H", "N"], 114.6),
            with_power("r2", "calling", ["R", "C"], 13.8),
            with_power("r3", "calling", ["G", "C"], 12.9),
            ohms("r4", ["G", "C"], &[], Seen::Ohm(0.7)),
        ],
        &["stiff_module_off", "jerks_no_turn", "dead_with_power_and_call"],
    ));
    assert_eq!(verdict.outcome, Outcome::NotIsolated);
    let named = "Not isolated: conductors that touch explain the readings best";
    assert!(verdict.sentence.starts_with(named), "{}", verdict.sentence);
    assert!(verdict.sentence.contains("control plug, called tap"), "{}", verdict.sentence);
    assert!(!says_so(&verdict), "{:?}", verdict.because);
}

/// Open through the overload while hot, closed after three hours.
#[test]
fn an_overload_that_closes_leaves_nothing_to_replace() {
    let hot = |id, ends| Reading {
        part_temp_c: Some(83.0),
        stopped_min: Some(35.0),
        ..reading(id, "resistance", ends, &["plug"], Seen::OverLimit)
    };
    let cooled = Reading {
        part_temp_c: Some(32.0),
        stopped_min: Some(215.0),
        ..reading("r3", "resistance", ["C", "R"], &["plug"], Seen::Ohm(0.8))
    };
    let readings = vec![hot("r1", ["C", "S"]), hot("r2", ["C", "R"]), cooled];
    let verdict = judged(&case("compressor-1ph-plug", readings, &["trips_breaker"]));
    let says = "Not isolated: nothing to replace, for internal overload open because it is hot";
    assert!(verdict.sentence.starts_with(says), "{}", verdict.sentence);
}
