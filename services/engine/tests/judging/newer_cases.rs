//! The cases of the circuits that came after the first three: for each a costly part that is
//! really bad, the same first look explained otherwise, and a sound part saved.
//!
//! Belongs here: what each case must come out as, its page held as a golden copy. Does not belong
//! here: the cases of the first three circuits ([`crate::cases`]).

use engine::case::{Meter, Shown};
use engine::units::{Quantity, Unit};
use engine::verdict::{CheckResult, Outcome, Verdict};

use crate::cases::example_judged;
use crate::support::{example, judged};

fn must(name: &str, outcome: Outcome) -> Verdict {
    let (_, verdict) = example_judged(name);
    assert_eq!(verdict.outcome, outcome, "{name}: {}", verdict.sentence);
    verdict
}

fn leads(verdict: &Verdict, component: &str) {
    assert_eq!(verdict.components[0].component, component, "{}", verdict.sentence);
}

fn check(verdict: &Verdict, id: &str) -> Option<CheckResult> {
    verdict.checks.iter().find(|check| check.id == id).map(|check| check.result)
}

/// What a next test asks for, as "quantity from–to".
fn asked(verdict: &Verdict) -> Vec<String> {
    let first = verdict.next_tests.first().expect("a next test");
    first
        .takes
        .iter()
        .map(|take| format!("{} {}–{}", take.quantity.word(), take.from, take.to))
        .collect()
}

/// What is stuck is proved by trying it on good volts, and not before.
#[test]
fn the_compressor_that_is_stuck() {
    let proven = must("k-seized-compressor-proven", Outcome::Isolated);
    assert_eq!(check(&proven, "supply_first"), Some(CheckResult::Pass));
    assert_eq!(proven.suspects[0].part, "pump");
    // A good one stands still on these volts, too.
    let starved = must("k2-seized-claimed-on-low-volts", Outcome::NotIsolated);
    assert_eq!(check(&starved, "supply_first"), Some(CheckResult::Fail));
    leads(&starved, "supply");
    let unread = must("k3-seized-claimed-volts-not-read", Outcome::Incomplete);
    assert_eq!(check(&unread, "supply_first"), Some(CheckResult::Waiting));
    assert_eq!(asked(&unread), ["voltage T1–T2"]);
    assert_eq!(unread.next_tests[0].takes[0].state.as_deref(), Some("calling_still"));
}

/// Turns that are shorted are told from another make by the unit's own value, warmth counted.
#[test]
fn the_compressor_with_shorted_turns() {
    let proven = must("l-shorted-turns-against-the-sheet", Outcome::Isolated);
    assert_eq!(proven.suspects[0].mode, "shorted");
    let unknown = must("l2-shorted-turns-without-the-sheet", Outcome::NotIsolated);
    assert_eq!(unknown.next_tests[0].sheet, ["run_winding"]);
}

#[test]
fn the_electronic_blower() {
    must("ecm-a-module-input-open", Outcome::Isolated);
    leads(&must("ecm-b-call-lost-on-the-tap-wire", Outcome::Contradicted), "wiring");
    // Nine volts on a usual meter may be a ghost: ohms tell, with the power off; with it on, the
    // same two points at low impedance, which are asked for no more once they were read.
    let ghost = must("ecm-c-sound-module-with-ghost-call", Outcome::NotIsolated);
    leads(&ghost, "wiring");
    assert_eq!(asked(&ghost), ["resistance KT–KC"]);
    let loaded = |verdict: &Verdict| {
        let takes = verdict.next_tests.iter().flat_map(|test| &test.takes);
        takes.filter(|take| take.low_impedance).map(|take| take.label.clone()).collect::<Vec<_>>()
    };
    assert_eq!(loaded(&ghost), ["control plug, called tap to control plug, common"]);
    let mut again = example("ecm-c-sound-module-with-ghost-call");
    let mut nothing = again.readings[1].clone();
    nothing.id = "r3".into();
    nothing.meter = Some(Meter { low_impedance: Some(true), ..Meter::default() });
    nothing.shown = Shown::Value { value: 0.0, unit: Unit::Volt };
    again.readings.push(nothing);
    assert!(loaded(&judged(&again)).is_empty());
}

#[test]
fn the_multi_speed_blower() {
    must("blower-a-start-winding-open", Outcome::Isolated);
    // A protector that may only be hot is waited for, not condemned and not read by megohms.
    let hot = must("blower-b-open-through-hot-protector", Outcome::NotIsolated);
    assert!(hot.next_tests[0].title.starts_with("After cooling"), "{}", hot.next_tests[0].title);
    leads(&must("blower-c-weak-capacitor-condemns-no-motor", Outcome::Contradicted), "capacitor");
    leads(&must("blower-d-drop-over-the-relay", Outcome::Contradicted), "board");
}

#[test]
fn the_compressor_with_a_start_relay() {
    must("start-a-start-winding-open-at-pins", Outcome::Isolated);
    leads(&must("start-b-relay-contact-open", Outcome::Contradicted), "start_kit");
    // 5.8 A at 384 V is 40 µF (C = I·10⁶/(2πfV)), the label's own.
    let (_, good) = example_judged("start-c-capacitor-by-amps-and-volts");
    let check = good.checks.iter().find(|check| check.id == "capacitor_under_load").unwrap();
    assert_eq!(check.result, CheckResult::Pass, "{}", check.says);
    assert_ne!(good.outcome, Outcome::Isolated);
    let hot = must("start-d-overload-hot", Outcome::NotIsolated);
    assert!(hot.next_tests[0].title.starts_with("After cooling"), "{}", hot.next_tests[0].title);
    // Volts and no current: the overload and the leads come before a winding.
    let silent = must("start-e-volts-and-no-current", Outcome::Contradicted);
    assert!(silent.suspects.iter().any(|known| known.part == "lead_c"));
}

#[test]
fn the_inverter() {
    must("inverter-a-output-transistor-shorted", Outcome::Isolated);
    leads(&must("inverter-b-link-dead-fuse-blown", Outcome::Contradicted), "input");
    let charged = must("inverter-c-link-charged-inverter-claimed", Outcome::NotIsolated);
    // An insulation tester on a connected bridge would kill it.
    for test in &charged.next_tests {
        assert!(
            test.takes.iter().all(|take| take.quantity != Quantity::Insulation),
            "{}",
            test.title
        );
    }
    assert!(charged.next_tests[0].steps[0].contains("at 10 V or less"), "proved discharged first");
    let held = must("inverter-d-link-still-holds-its-charge", Outcome::Contradicted);
    assert_eq!(asked(&held), ["direct voltage P–N"], "nothing before it is discharged");
    assert_eq!(held.next_tests.len(), 1);
    leads(
        &must("inverter-e-grounded-compressor-behind-a-dead-bridge", Outcome::Contradicted),
        "compressor",
    );
    // A board is not condemned before what would kill the next one is read.
    let early = must("inverter-f-bridge-read-through-the-leads", Outcome::Incomplete);
    assert_eq!(asked(&early).len(), 3);
    assert!(asked(&early).iter().all(|one| one.starts_with("insulation")), "{:?}", asked(&early));
}

#[test]
fn the_24_volt_control() {
    let board = must("control-a-board-trace-open", Outcome::NotIsolated);
    leads(&board, "board");
    assert_eq!(asked(&board), ["resistance Y–YO"], "the one it leans on once more");
    leads(&must("control-b-fuse-blown-board-claimed", Outcome::Contradicted), "fuse");
    let safety = must("control-c-low-pressure-switch-open", Outcome::Contradicted);
    leads(&safety, "low_pressure");
    assert!(safety.sentence.contains("bypass no safety"), "{}", safety.sentence);
    let ghost = must("control-d-ghost-on-the-open-wire", Outcome::Contradicted);
    assert!(ghost.suspects.iter().all(|known| known.component != "contactor"));
}

#[test]
fn the_electric_heat() {
    must("heat-a-element-open", Outcome::Isolated);
    leads(&must("heat-b-limit-open-bank-claimed", Outcome::Contradicted), "passing_state");
    leads(&must("heat-c-warmer-open", Outcome::Contradicted), "sequencer_2");
    leads(&must("heat-d-drop-over-a-pitted-contact", Outcome::Contradicted), "sequencer_1");
}

#[test]
fn the_gas_heat() {
    let inducer = must("gas-a-inducer-winding-open", Outcome::NotIsolated);
    leads(&inducer, "inducer");
    assert_eq!(asked(&inducer), ["resistance PI–PM"], "the winding once more, plug on");
    leads(&must("gas-b-igniter-open-board-claimed", Outcome::Contradicted), "igniter");
    leads(&must("gas-c-pressure-switch-open-for-want-of-draft", Outcome::Contradicted), "draft");
    must("gas-d-valve-coil-good-no-volts", Outcome::Contradicted);
    must("gas-e-inducer-seized-proven", Outcome::Isolated);
}

#[test]
fn the_heat_pump() {
    // Lines that keep their temperatures are not yet a stuck slide.
    let slide = must("pump-a-slide-stuck", Outcome::NotIsolated);
    leads(&slide, "reversing_valve");
    let proven = must("pump-e-slide-stuck-proven", Outcome::Isolated);
    assert_eq!(check(&proven, "supply_first"), Some(CheckResult::Pass));
    let dead = must("pump-f-slide-claimed-with-a-dead-coil", Outcome::Contradicted);
    leads(&dead, "solenoid");
    leads(&must("pump-b-coil-open-valve-claimed", Outcome::Contradicted), "solenoid");
    must("pump-c-board-trace-open", Outcome::Isolated);
    leads(&must("pump-d-defrost-relay-good-sensor-open", Outcome::Contradicted), "sensor");
}
