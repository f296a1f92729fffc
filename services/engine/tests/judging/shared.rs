//! What the readings of one case share: the make of alike windings, a joint that comes and goes,
//! one reading that two others outvote, a part that is off its plate.
//!
//! Belongs here: cases in which readings taken for independent condemned a good part. Does not
//! belong here: what the drawing does not show ([`super::as_built`]).

use std::collections::BTreeMap;

use engine::case::{Case, Reading};
use engine::units::Unit;
use engine::verdict::Verdict;
use serde_json::json;

use crate::support::{Seen, compressor, judged, reading};

fn case(circuit: &str, readings: Vec<Reading>) -> Case {
    serde_json::from_value(json!({"format": 1, "circuit": circuit, "readings": readings}))
        .expect("the shape of a case")
}

fn share(verdict: &Verdict, component: &str) -> f64 {
    let found = verdict.components.iter().find(|known| known.component == component);
    found.map_or(0.0, |known| known.share)
}

fn ohms(id: &str, ends: [&str; 2], lifted: &[&str], ohm: f64) -> Reading {
    let taken = reading(id, "resistance", ends, lifted, Seen::Ohm(ohm));
    Reading { part_temp_c: Some(25.0), stopped_min: Some(600.0), ..taken }
}

/// Whatever the make, three windings that read the same have no shorted turns.
#[test]
fn balanced_windings_of_any_make_condemn_no_motor() {
    for step in 0..12 {
        let ohm = 1.6 * 1.13f64.powi(step);
        let verdict = judged(&case(
            "blower-ecm",
            vec![
                ohms("r1", ["U", "V"], &["module"], ohm),
                ohms("r2", ["U", "W"], &["module"], ohm),
                ohms("r3", ["V", "W"], &["module"], 0.994 * ohm),
                ohms("r4", ["V", "U"], &["module"], ohm),
                ohms("r5", ["W", "U"], &["module"], ohm),
                ohms("r6", ["W", "V"], &["module"], 0.994 * ohm),
            ],
        ));
        let motor = share(&verdict, "motor");
        assert!(motor < 0.35, "{ohm:.2} ohm: {motor}");
        let shorted = verdict.suspects.iter().filter(|known| known.mode == "shorted");
        let shorted: f64 = shorted.map(|known| known.share).sum();
        assert!(shorted < 0.05, "{ohm:.2} ohm: {shorted}");
    }
}

/// One that reads a fifth less than the other two has.
#[test]
fn an_unbalanced_winding_of_any_make_is_suspected() {
    for ohm in [1.6, 3.3, 4.9] {
        let verdict = judged(&case(
            "blower-ecm",
            vec![
                ohms("r1", ["U", "V"], &["module"], 0.8 * ohm),
                ohms("r2", ["U", "W"], &["module"], 0.8 * ohm),
                ohms("r3", ["V", "W"], &["module"], ohm),
            ],
        ));
        assert_eq!(verdict.suspects[0].part, "winding_u", "{ohm}: {:?}", verdict.suspects[0]);
    }
}

#[test]
fn two_readings_that_agree_outvote_the_odd_one_and_all_three_stand() {
    let pins = |id: &str, seen| {
        let taken = reading(id, "resistance", ["C", "R"], &["plug"], seen);
        Reading { part_temp_c: Some(25.0), stopped_min: Some(600.0), ..taken }
    };
    let mut readings = vec![
        ohms("r1", ["C", "S"], &["plug"], 1.46),
        ohms("r2", ["S", "R"], &["plug"], 2.06),
        pins("r3", Seen::OverLimit),
        ohms("r4", ["S", "C"], &["plug"], 1.46),
        ohms("r5", ["R", "S"], &["plug"], 2.06),
    ];
    let asks = |readings: &[Reading]| {
        let verdict = judged(&compressor(None, readings.to_vec()));
        verdict.retake.iter().any(|retake| retake.reading == "r3")
    };
    assert!(asks(&readings), "one odd reading is to be taken again");
    readings.push(pins("r6", Seen::Ohm(0.6)));
    assert!(asks(&readings), "one against one settles nothing");
    readings.push(pins("r7", Seen::Ohm(0.6)));
    assert!(!asks(&readings), "two against one do");
}

/// A joint that was good on several occasions is cleared by them more than by as many readings of
/// one, and by neither for good.
#[test]
fn occasions_clear_a_loose_joint_more_than_readings_do() {
    let open = reading("r1", "resistance", ["T1", "T2"], &[], Seen::OverLimit);
    let lead = |id: &str, lifted: &[&str]| {
        let taken = reading(id, "resistance", ["T1", "HC"], lifted, Seen::Ohm(0.02));
        Reading { part_temp_c: None, stopped_min: None, ..taken }
    };
    let of = |more: Vec<Reading>| {
        let mut readings = vec![open.clone()];
        readings.extend(more);
        let verdict = judged(&compressor(None, readings));
        share(&verdict, "harness")
    };
    let once = of(vec![lead("r2", &["plug"]), lead("r3", &["plug"])]);
    let twice = of(vec![lead("r2", &["plug"]), lead("r3", &["plug", "start_wire"])]);
    assert!(twice < once, "{twice} {once}");
    assert!(twice > 0.1 * once, "{twice} {once}");
}

/// A coil a quarter above its plate is odd in every reading through it, and no wire's fault.
#[test]
fn a_part_off_its_plate_condemns_no_wire() {
    let specs = json!({"coil": {"value": 12.0, "unit": "ohm"}});
    let mut odd = case(
        "control-24v",
        vec![
            ohms("r1", ["A1", "A2"], &[], 14.9),
            ohms("r2", ["A1", "C"], &[], 14.95),
            ohms("r3", ["OY", "C"], &[], 15.0),
            ohms("r4", ["OY", "A2"], &[], 14.95),
            ohms("r5", ["C", "OY"], &[], 15.0),
        ],
    );
    odd.specs = serde_json::from_value::<BTreeMap<_, _>>(specs).expect("the shape of specs");
    assert!(odd.specs.values().all(|spec| spec.unit == Unit::Ohm));
    let verdict = judged(&odd);
    let wiring = share(&verdict, "field_wiring");
    assert!(wiring < 0.5, "{wiring}: {:?}", verdict.components);
}
