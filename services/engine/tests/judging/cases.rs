//! The cases that must come out right, each a file beside the binary and a page to read.

use engine::case::Case;
use engine::units::Quantity;
use engine::verdict::{CheckResult, Outcome, Verdict};

use crate::support::{cases_folder, example, judged, page, share};

/// Judges an example, holds its page against the golden copy, and gives back both.
pub(crate) fn example_judged(name: &str) -> (Case, Verdict) {
    let case = example(name);
    let verdict = judged(&case);
    insta::with_settings!({prepend_module_to_snapshot => false}, {
        insta::assert_snapshot!(name, page(&verdict));
    });
    let sum: f64 = verdict.components.iter().map(|share| share.share).sum();
    assert!((sum - 1.0).abs() < 1e-5, "shares add up to {sum}");
    (case, verdict)
}

fn check_result(verdict: &Verdict, id: &str) -> Option<CheckResult> {
    verdict.checks.iter().find(|check| check.id == id).map(|check| check.result)
}

#[test]
fn a_an_open_read_through_the_harness_is_not_isolated() {
    let (_, verdict) = example_judged("a-open-through-the-harness");

    assert_eq!(verdict.outcome, Outcome::NotIsolated);
    for suspect in ["lead_c", "lead_r", "plug_c", "plug_r", "overload", "run_winding"] {
        assert!(verdict.suspects.iter().any(|known| known.part == suspect), "{suspect}");
    }
    let first = &verdict.next_tests[0];
    let pins = ["C", "S", "R"];
    assert!(!first.takes.is_empty());
    for take in &first.takes {
        assert_eq!(take.quantity, Quantity::Resistance);
        assert_eq!(take.lifted, ["plug"]);
        assert!(pins.contains(&take.from.as_str()) && pins.contains(&take.to.as_str()));
    }
    assert!(!first.cautions.is_empty(), "opening a terminal box has its dangers");
}

#[test]
fn b_good_windings_at_the_pins_contradict_the_claim_and_name_the_open_lead() {
    for name in ["b-good-at-the-pins", "b2-good-at-the-pins-lead-named"] {
        let (_, verdict) = example_judged(name);

        assert_eq!(verdict.outcome, Outcome::Contradicted, "{name}");
        assert!(verdict.sentence.contains("lead"), "{}", verdict.sentence);
        assert!(verdict.sentence.contains("open"), "{}", verdict.sentence);
        assert!(share(&verdict, "compressor") < 0.02, "{name}");
        assert_eq!(verdict.components[0].component, "harness", "{name}");
    }
}

#[test]
fn c_an_open_run_winding_at_the_pins_is_isolated() {
    let (_, verdict) = example_judged("c-open-run-winding-at-the-pins");

    assert_eq!(verdict.outcome, Outcome::Isolated);
    assert_eq!(verdict.suspects[0].part, "run_winding");
    assert!(share(&verdict, "compressor") >= 0.95);
    let claim = verdict.claim.expect("a claim was made");
    assert!(claim.leave_one_out_share.expect("readings were taken") >= 0.80);
}

#[test]
fn d_an_open_overload_on_a_hot_shell_waits_for_cooling() {
    let (_, verdict) = example_judged("d-overload-open-hot");

    assert_eq!(verdict.outcome, Outcome::NotIsolated);
    assert_eq!(check_result(&verdict, "overload_cooling"), Some(CheckResult::Asks));
    assert_eq!(verdict.components[0].component, "passing_state");
    let first = &verdict.next_tests[0];
    let words = format!("{} {}", first.title, first.steps.join(" ")).to_lowercase();
    assert!(words.contains("cool"), "read again after cooling: {words}");
}

#[test]
fn d2_the_same_when_cold_and_rested_condemns_the_compressor() {
    let (_, verdict) = example_judged("d2-overload-open-cold");

    assert_eq!(verdict.outcome, Outcome::Isolated);
    assert_eq!(verdict.suspects[0].part, "overload");
    assert_eq!(verdict.suspects[0].component, "compressor");
}

#[test]
fn e_a_ground_read_with_the_harness_on_is_not_isolated() {
    let (_, verdict) = example_judged("e-ground-with-harness-on");

    assert_eq!(verdict.outcome, Outcome::NotIsolated);
    assert!(share(&verdict, "harness") > 0.02);
    // What the check owes is what the first test takes: every pin, plug off.
    let first = &verdict.next_tests[0];
    let mut pins: Vec<&str> = first.takes.iter().map(|take| take.from.as_str()).collect();
    pins.sort_unstable();
    assert_eq!(pins, ["C", "R", "S"]);
    assert!(first.takes.iter().all(|take| take.lifted == ["plug"] && take.to == "SHELL"));
}

#[test]
fn e2_the_same_with_the_harness_off_is_isolated() {
    let (_, verdict) = example_judged("e2-ground-with-harness-off");

    assert_eq!(verdict.outcome, Outcome::Isolated);
    assert_eq!(check_result(&verdict, "ground"), Some(CheckResult::Fail));
}

#[test]
fn e3_good_insulation_with_the_harness_off_puts_it_on_the_harness() {
    let (_, verdict) = example_judged("e3-ground-in-the-harness");

    assert_eq!(verdict.outcome, Outcome::Contradicted);
    assert_eq!(verdict.components[0].component, "harness");
    assert!(verdict.sentence.contains("lead"), "{}", verdict.sentence);
}

#[test]
fn f_windings_that_do_not_add_up_are_inconsistent_and_one_is_to_be_retaken() {
    let (case, verdict) = example_judged("f-windings-do-not-add-up");

    assert_eq!(verdict.outcome, Outcome::Inconsistent);
    let first = &verdict.retake[0].reading;
    let reading = case.readings.iter().find(|reading| reading.id == *first).expect("a reading");
    assert_eq!((reading.from.as_str(), reading.to.as_str()), ("S", "R"));
    assert!(verdict.sentence.contains("Retake S–R"), "{}", verdict.sentence);
}

#[test]
fn f2_a_higher_run_winding_asks_about_the_labels_and_condemns_nothing() {
    let (_, verdict) = example_judged("f2-labels-in-question");

    assert_eq!(verdict.outcome, Outcome::Incomplete);
    assert_eq!(check_result(&verdict, "winding_sum"), Some(CheckResult::Asks));
    assert!(verdict.owed.iter().any(|owed| owed.sign.as_deref() == Some("labels_confirmed")));
    assert_eq!(verdict.next_tests[0].sign.as_deref(), Some("labels_confirmed"));
}

#[test]
fn g_a_weak_capacitor_explains_a_motor_that_hums_before_the_motor_does() {
    let (_, verdict) = example_judged("g-weak-capacitor");

    assert_ne!(verdict.outcome, Outcome::Isolated, "the compressor is claimed");
    assert_eq!(verdict.outcome, Outcome::Contradicted);
    assert_eq!(verdict.components[0].component, "capacitor");
    assert_eq!(check_result(&verdict, "capacitor_label"), Some(CheckResult::Fail));
    assert!(verdict.sentence.contains("capacitor"), "{}", verdict.sentence);
}

#[test]
fn i_an_unbalanced_supply_is_named_and_balanced_windings_contradict() {
    let (_, verdict) = example_judged("i-supply-unbalance");

    assert_eq!(verdict.outcome, Outcome::Contradicted);
    assert!(verdict.sentence.contains("2.61 %"), "{}", verdict.sentence);
    assert_eq!(check_result(&verdict, "voltage_unbalance"), Some(CheckResult::Fail));
    assert_eq!(check_result(&verdict, "winding_balance"), Some(CheckResult::Pass));
}

#[test]
fn j_one_absurd_reading_among_six_good_ones_isolates_nothing() {
    let (_, verdict) = example_judged("j-one-absurd-reading");

    assert_ne!(verdict.outcome, Outcome::Isolated);
    assert!(!verdict.retake.is_empty(), "the absurd one is to be retaken");
    assert!(verdict.readings.iter().any(|reading| reading.mistaken_share > 0.5));
}

#[test]
fn every_example_is_judged_without_a_claim_too() {
    // What a blind reader's page is judged with: the claim must not be needed, nor leak.
    let mut count = 0;
    for entry in std::fs::read_dir(cases_folder()).expect("the folder of examples") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|ending| ending != "json") {
            continue;
        }
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let case = Case { claim: None, ..example(&name) };
        let verdict = judged(&case);
        assert!(verdict.claim.is_none(), "{name}");
        assert!(verdict.components.iter().all(|share| !share.claimed), "{name}");
        count += 1;
    }
    assert!(count >= 14, "{count} examples");
}
