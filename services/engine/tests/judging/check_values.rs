//! The check values that concern a unit's windings, insulation, capacitor, supply and copper,
//! each with its source beside it. "From memory" means that nobody has read the text.

use engine::case::{Case, Observation, Reading};
use engine::checks::{derating, insulation_at_40c, unbalance_pct};
use engine::predict::copper_factor;
use engine::verdict::{CheckResult, Outcome, Verdict};

use crate::support::{Seen, claim, compressor, judged, reading, share, three_pins};

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} ± {within}");
}

fn check<'v>(verdict: &'v Verdict, id: &str) -> &'v engine::verdict::Check {
    verdict.checks.iter().find(|check| check.id == id).expect("the check ran")
}

#[test]
fn copper_follows_temperature() {
    // R2 = R1·(234.5+t2)/(234.5+t1): IEC 60034-1, IEEE 112 practice; wording from memory.
    let between = |t1: f64, t2: f64| copper_factor(t2) / copper_factor(t1);
    near(1.000 * between(20.0, 60.0), 1.157, 5e-4);
    near(2.00 * between(25.0, 95.0), 2.540, 1e-3);
    // Published factors from 25 °C.
    for (celsius, factor) in
        [(40.0, 1.058), (75.0, 1.193), (100.0, 1.289), (125.0, 1.385), (200.0, 1.674)]
    {
        near(copper_factor(celsius), factor, 1e-3);
    }
    // Rise by resistance: 1.20 Ω at 25 °C, 1.50 Ω after the run, ambient 27 °C: 62.9 K.
    let hot = 1.50 / 1.20 * (234.5 + 25.0) - 234.5;
    near(copper_factor(hot), 1.25, 1e-12);
    near(hot - 27.0, 62.9, 0.05);
}

#[test]
fn single_phase_windings_add_up() {
    // R(S-R) = R(C-S) + R(C-R): unit makers' service manuals.
    let sum = |cr, cs, sr| judged(&compressor(None, three_pins([cr, cs, sr], 21.0)));

    let good = sum(0.477, 1.299, 1.776);
    assert_eq!(check(&good, "winding_sum").result, CheckResult::Pass);

    // 0.477 / 1.299 / 1.45: off by −0.326, reject.
    let wrong = sum(0.477, 1.299, 1.45);
    assert_eq!(wrong.outcome, Outcome::Inconsistent);
    assert!(check(&wrong, "winding_sum").says.contains("off by 0.326 Ω"));

    // 0.5 (C-S) / 1.2 (C-R) / 1.7: consistent, ask about the labels (published case).
    let labels = sum(1.2, 0.5, 1.7);
    assert_eq!(check(&labels, "winding_sum").result, CheckResult::Asks);
}

#[test]
fn the_question_about_the_labels_is_settled_by_an_answer() {
    // Some rotary designs have the higher run winding: an answer, not a fault.
    let case = compressor(
        Some(claim("compressor", "start_winding", "shorted")),
        three_pins([1.2, 0.5, 1.7], 21.0),
    );
    let answer = |present| Case {
        observations: vec![Observation {
            id: "o1".into(),
            sign: "labels_confirmed".into(),
            present,
        }],
        ..case.clone()
    };

    let confirmed = judged(&answer(true));
    assert_eq!(check(&confirmed, "winding_sum").result, CheckResult::Pass);
    assert_ne!(confirmed.outcome, Outcome::Isolated);

    let not_confirmed = judged(&answer(false));
    assert_eq!(check(&not_confirmed, "winding_sum").result, CheckResult::Asks);
    assert_eq!(not_confirmed.outcome, Outcome::Incomplete);
}

#[test]
fn a_permutation_of_the_pins_that_adds_up_is_a_question_too() {
    // The three values of a good winding read on pins named wrongly: only C is elsewhere.
    let verdict = judged(&compressor(None, three_pins([1.776, 1.299, 0.477], 21.0)));
    assert_eq!(check(&verdict, "winding_sum").result, CheckResult::Asks);
    assert_eq!(verdict.outcome, Outcome::Incomplete);
}

fn common_open(celsius: Option<f64>, stopped_min: Option<f64>) -> Verdict {
    let mut readings = three_pins([1.0, 1.0, 1.78], 0.0);
    for reading in &mut readings {
        reading.part_temp_c = celsius;
        reading.stopped_min = stopped_min;
        if reading.id != "r3" {
            reading.shown = engine::case::Shown::OverLimit;
        }
    }
    let claim = claim("compressor", "overload", "stuck_open");
    judged(&compressor(Some(claim), readings))
}

#[test]
fn an_open_common_on_a_hot_shell_is_the_overload() {
    // OL / OL / 1.78 on a hot shell: internal overload; makers ask for 3 to 4 hours before
    // the second reading.
    let hot = common_open(Some(95.0), Some(20.0));
    assert_eq!(check(&hot, "overload_cooling").result, CheckResult::Asks);
    assert_eq!(hot.outcome, Outcome::NotIsolated);

    let soon = common_open(Some(40.0), Some(120.0));
    assert_eq!(check(&soon, "overload_cooling").result, CheckResult::Asks);
    assert_ne!(soon.outcome, Outcome::Isolated, "2 hours are not 3");

    let rested = common_open(Some(30.0), Some(240.0));
    assert_eq!(check(&rested, "overload_cooling").result, CheckResult::Fail);
    assert_eq!(rested.outcome, Outcome::Isolated);

    // Temperature and time are required.
    for (celsius, stopped_min) in [(None, None), (Some(30.0), None), (None, Some(240.0))] {
        let unknown = common_open(celsius, stopped_min);
        assert_eq!(check(&unknown, "overload_cooling").result, CheckResult::Waiting);
        assert_ne!(unknown.outcome, Outcome::Isolated, "{celsius:?} {stopped_min:?}");
    }
}

fn to_shell(megohm: f64) -> Vec<Reading> {
    ["C", "R", "S"]
        .iter()
        .map(|pin| Reading {
            part_temp_c: Some(20.0),
            ..reading(pin, "insulation", [pin, "SHELL"], &["plug"], Seen::Megohm(megohm))
        })
        .collect()
}

#[test]
fn under_2_megohm_from_any_pin_is_a_ground_fault() {
    // A compressor maker's handbook.
    let ground = |megohm| judged(&compressor(None, to_shell(megohm)));
    assert_eq!(check(&ground(1.9), "ground").result, CheckResult::Fail);
    assert_eq!(check(&ground(2.1), "ground").result, CheckResult::Pass);
    assert_eq!(check(&ground(200.0), "ground").result, CheckResult::Pass);
}

#[test]
fn an_ordinary_ohmmeter_proves_no_ground_and_no_absence_of_one() {
    let by_ohmmeter: Vec<Reading> = ["C", "R", "S"]
        .iter()
        .map(|pin| reading(pin, "resistance", [pin, "SHELL"], &["plug"], Seen::OverLimit))
        .collect();
    let claimed = claim("compressor", "run_winding", "grounded");
    let verdict = judged(&compressor(Some(claimed), by_ohmmeter));
    assert_eq!(check(&verdict, "ground").result, CheckResult::Waiting);
    assert!(verdict.owed.iter().any(|owed| owed.check == "ground"));
    assert_ne!(verdict.outcome, Outcome::Isolated);
}

#[test]
fn a_pin_that_a_claimed_ground_still_owes_is_the_next_test() {
    let claimed = || Some(claim("compressor", "run_winding", "grounded"));
    // Isolated but for the pins: the harness is sound to the shell by itself.
    let grounded: Vec<Reading> = [
        ("r1", ["T1", "SHELL"], &[][..], 0.02),
        ("r2", ["T1", "SHELL"], &["plug"], 900.0),
        ("r3", ["T2", "SHELL"], &["plug"], 900.0),
        ("r4", ["CAP_H", "SHELL"], &["plug"], 900.0),
        ("r5", ["T1", "SHELL"], &["plug", "start_wire"], 900.0),
        ("r6", ["T2", "SHELL"], &[], 0.02),
    ]
    .into_iter()
    .map(|(id, ends, lifted, megohm)| reading(id, "insulation", ends, lifted, Seen::Megohm(megohm)))
    .collect();
    let owed = judged(&compressor(claimed(), grounded.clone()));
    assert_eq!(owed.outcome, Outcome::Incomplete, "{}", owed.sentence);
    let takes: Vec<&str> = owed.next_tests[0].takes.iter().map(|t| t.from.as_str()).collect();
    assert_eq!(takes, ["C", "S", "R"], "{:?}", owed.next_tests);
    assert!(!owed.nothing_left);

    // One pin under the limit proves it, and no other is owed.
    let mut proved = grounded;
    proved.push(reading("r7", "insulation", ["R", "SHELL"], &["plug"], Seen::Megohm(0.02)));
    let proved = judged(&compressor(claimed(), proved));
    assert_eq!(proved.outcome, Outcome::Isolated, "{}", proved.sentence);

    // A lead before the plug is told by readings of its own.
    let by_ohmmeter = vec![reading("r1", "insulation", ["T1", "SHELL"], &[], Seen::Megohm(0.02))];
    let lead = judged(&compressor(Some(claim("harness", "lead_c", "grounded")), by_ohmmeter));
    assert!(lead.owed.iter().all(|owed| owed.check != "ground"), "{:?}", lead.owed);
}

#[test]
fn insulation_halves_per_10_degrees() {
    // R40 = RT·0.5^((40−T)/10): IEEE 43 practice.
    for (megohm, celsius, at_40) in [(200.0, 20.0, 50.0), (20.0, 60.0, 80.0), (15.0, 10.0, 1.875)] {
        near(insulation_at_40c(megohm, celsius), at_40, 1e-9);
    }
}

#[test]
fn unbalance_is_worked_out_without_rounding_the_mean() {
    // 100·max|V−avg|/avg: NEMA MG 1.
    for (volts, pct) in [
        ([462.0, 463.0, 455.0], 1.087),
        ([203.0, 210.0, 212.0], 2.560),
        ([480.0, 476.0, 472.0], 0.840),
    ] {
        near(unbalance_pct(volts), pct, 5e-4);
    }
    // Printed wrongly in published pages: 2.3 and 1.8.
    near(unbalance_pct([208.0, 206.0, 199.0]), 2.61, 1e-2);
    near(unbalance_pct([220.0, 216.0, 213.0]), 1.70, 1e-2);
}

fn three_phase(
    quantity: &str,
    points: [[&str; 2]; 3],
    lifted: &[&str],
    seen: [Seen; 3],
) -> Verdict {
    let readings: Vec<Reading> = points
        .into_iter()
        .zip(seen)
        .enumerate()
        .map(|(index, (pair, seen))| reading(&format!("r{index}"), quantity, pair, lifted, seen))
        .collect();
    judged(&Case { circuit: "compressor-3ph".into(), ..compressor(None, readings) })
}

fn windings(values: [f64; 3]) -> Verdict {
    let pins = [["U", "V"], ["V", "W"], ["W", "U"]];
    three_phase("resistance", pins, &["block"], values.map(Seen::Ohm))
}

fn supply(values: [f64; 3]) -> Verdict {
    let lines = [["L1", "L2"], ["L2", "L3"], ["L3", "L1"]];
    three_phase("voltage", lines, &[], values.map(Seen::Volt))
}

#[test]
fn three_phase_windings_balance_within_2_percent() {
    // ANSI/EASA AR100 practice.
    let fails = windings([0.80, 0.80, 0.84]);
    assert_eq!(check(&fails, "winding_balance").result, CheckResult::Fail);
    assert!(check(&fails, "winding_balance").says.contains("3.28 %"));
    let passes = windings([1.00, 1.02, 0.99]);
    assert_eq!(check(&passes, "winding_balance").result, CheckResult::Pass);
    assert!(check(&passes, "winding_balance").says.contains("1.66 %"));
}

#[test]
fn the_supply_is_derated_over_1_percent_and_never_used_over_5() {
    // NEMA MG 1.
    let result = |volts| check(&supply(volts), "voltage_unbalance").result;
    assert_eq!(result([480.0, 476.0, 472.0]), CheckResult::Pass);
    assert_eq!(result([462.0, 463.0, 455.0]), CheckResult::Fail);
    let derated = supply([208.0, 206.0, 199.0]);
    assert!(check(&derated, "voltage_unbalance").says.contains("rated load"));
    let never = supply([240.0, 240.0, 216.0]);
    assert!(check(&never, "voltage_unbalance").says.contains("no motor may run"));
}

#[test]
fn the_derating_curve_is_the_published_one() {
    // NEMA MG 1 curve as tabulated by an engineering reference; a motor maker gives .90 at 3.
    for (pct, factor) in [
        (0.5, 1.0),
        (1.5, 0.97),
        (2.0, 0.95),
        (2.5, 0.93),
        (3.0, 0.89),
        (3.5, 0.85),
        (4.0, 0.82),
        (4.5, 0.78),
        (5.0, 0.76),
    ] {
        near(derating(pct).expect("within the curve"), factor, 1e-12);
    }
    near(derating(3.0).expect("within the curve"), 0.90, 0.01 + 1e-12);
    assert_eq!(derating(5.01), None);
}

fn capacitor(microfarad: f64) -> Verdict {
    let across = ["CAP_C", "CAP_H"];
    let seen = Seen::Microfarad(microfarad);
    let readings = vec![reading("r1", "capacitance", across, &["start_wire"], seen)];
    judged(&compressor(None, readings))
}

#[test]
fn a_capacitor_is_held_against_its_own_label() {
    // The label: 40 µF ± 6 %.
    for (microfarad, result) in [
        (37.7, CheckResult::Pass),
        (42.3, CheckResult::Pass),
        (37.5, CheckResult::Fail),
        (42.5, CheckResult::Fail),
        (18.6, CheckResult::Fail),
    ] {
        let verdict = capacitor(microfarad);
        assert_eq!(check(&verdict, "capacitor_label").result, result, "{microfarad}");
    }
    assert_eq!(capacitor(18.6).components[0].component, "capacitor");
}

#[test]
fn a_harness_of_good_length_is_not_a_fault() {
    // 6 ft one way of 14 AWG, there and back: 0.030 Ω (ASTM B258 geometry; NEC chapter 9
    // table 8): 0.477 Ω at the pins reads 0.507 through it.
    let through = Reading {
        part_temp_c: Some(21.0),
        ..reading("r4", "resistance", ["T1", "T2"], &[], Seen::Ohm(0.507))
    };
    let mut readings = three_pins([0.477, 1.299, 1.776], 21.0);
    readings.push(through);
    let verdict = judged(&compressor(None, readings));
    assert!(share(&verdict, "harness") < 0.2, "{}", share(&verdict, "harness"));
    assert_ne!(verdict.outcome, Outcome::Isolated);
}
