//! The plan of tests, and what it took to judge.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use engine::case::Case;
use engine::circuit_file::{parse, shipped};
use engine::plan_of_tests;
use engine::verdict::Outcome;
use engine::verdict::plan::{PlanEnd, TestPlan};
use engine::work;
use serde_json::json;

use crate::support::{Seen, at_pins, compressor, example, judged, reading};

fn fresh(circuit: &str) -> Case {
    serde_json::from_value(json!({"format": 1, "circuit": circuit})).expect("the shape of a case")
}

/// Steps lead only to later steps or ends, each step is reached once, and answers are rarer than
/// certain only by what is left out.
#[track_caller]
fn sound(plan: &TestPlan) {
    let mut reached = vec![0; plan.steps.len() + 1];
    for (place, step) in plan.steps.iter().enumerate() {
        assert_eq!(step.number as usize, place + 1);
        assert!(!step.branches.is_empty(), "step {} asks nothing", step.number);
        let chance: f64 = step.branches.iter().map(|branch| branch.chance).sum();
        assert!(chance > 0.6 && chance < 1.0 + 1e-5, "step {}: {chance}", step.number);
        for branch in &step.branches {
            assert!(
                branch.then.is_some() != branch.ends.is_some(),
                "step {}, {}: goes on or ends",
                step.number,
                branch.shows
            );
            if let Some(then) = branch.then {
                assert!(then > step.number, "step {} leads back to {then}", step.number);
                reached[then as usize] += 1;
            }
        }
    }
    assert!(reached.iter().skip(2).all(|times| *times == 1), "{reached:?}");
    assert!(plan.longest_min >= plan.expected_min);
}

#[test]
fn every_shipped_circuit_has_a_plan_from_the_first_reading_on() {
    for known in shipped() {
        let plan = plan_of_tests(&fresh(known.name)).expect("a valid case");
        assert!(!plan.steps.is_empty(), "{}", known.name);
        sound(&plan);
    }
}

#[test]
fn what_is_settled_needs_no_plan_and_what_is_to_be_retaken_comes_first() {
    let settled = example("c-open-run-winding-at-the-pins");
    let plan = plan_of_tests(&settled).expect("a valid case");
    assert_eq!(plan.outcome, Outcome::Isolated);
    assert_eq!(plan.evidence_digest, judged(&settled).evidence_digest);
    assert!(plan.steps.is_empty());

    let absurd = example("j-one-absurd-reading");
    let retakes = judged(&absurd).retake;
    assert!(!retakes.is_empty(), "the example has a reading to take again");
    let plan = plan_of_tests(&absurd).expect("a valid case");
    assert_eq!(plan.steps.len(), 1);
    assert!(plan.steps[0].test.title.starts_with("Read again"), "{}", plan.steps[0].test.title);
    assert_eq!(plan.steps[0].branches[0].ends, Some(PlanEnd::PlanAgain));
}

/// The plan is read by people: its shape is kept as a page.
#[test]
fn the_plan_behind_an_open_loop_at_the_panel() {
    let open = reading("r1", "resistance", ["T1", "T2"], &[], Seen::OverLimit);
    let plan = plan_of_tests(&compressor(None, vec![open])).expect("a valid case");
    sound(&plan);
    let mut page = format!(
        "{:.0} min expected, {:.0} at most, {}\n",
        plan.expected_min,
        plan.longest_min,
        if plan.exact { "exact" } else { "greedy" }
    );
    for step in &plan.steps {
        writeln!(page, "{}. {} ({:.0} min)", step.number, step.test.title, step.test.minutes)
            .expect("a string takes text");
        for branch in &step.branches {
            let follows = branch.then.map_or_else(
                || format!("{:?}", branch.ends.expect("it ends")),
                |then| format!("step {then}"),
            );
            writeln!(
                page,
                "   {:3.0} % {}: {} {:.0} %, {follows}",
                100.0 * branch.chance,
                branch.shows,
                branch.leads_to,
                100.0 * branch.share
            )
            .expect("a string takes text");
        }
    }
    insta::with_settings!({prepend_module_to_snapshot => false}, {
        insta::assert_snapshot!("plan-of-an-open-loop", page);
    });
}

/// What a judgement takes, in networks and not in seconds: a change here is a change of speed.
#[test]
fn the_work_of_the_examples_is_known() {
    let mut page = String::new();
    for name in ["a-open-through-the-harness", "g-weak-capacitor", "i-supply-unbalance"] {
        let case = example(name);
        let known = shipped().iter().find(|known| known.name == case.circuit).expect("it ships");
        let circuit = parse(known.name, known.text).expect("it is valid");
        let (verdict, work) =
            work::judged(&circuit, known.text, &case, true).expect("a valid case");
        writeln!(
            page,
            "{name}: {} hypotheses, {} readings\n  {work:?}",
            verdict.considered.hypotheses,
            case.readings.len()
        )
        .expect("a string takes text");
        // One factorisation per hypothesis and reading would be far more.
        let each = u64::from(verdict.considered.hypotheses) * case.readings.len() as u64;
        assert!(work.schedules < each / 10, "{name}: {work:?}");
    }
    insta::with_settings!({prepend_module_to_snapshot => false}, {
        insta::assert_snapshot!("work", page);
    });
}

#[test]
fn together_and_one_by_one_predict_the_same() {
    let case = example("a-open-through-the-harness");
    let (circuit, _) = engine::judge::circuit_of(&case).expect("it ships");
    let (together, one_by_one) =
        (work::together(&circuit, &case), work::one_by_one(&circuit, &case));
    assert!(one_by_one > 0.0);
    assert!((together / one_by_one - 1.0).abs() < 1e-9, "{together} {one_by_one}");
}

// ---- what a verdict rests on

#[test]
fn the_waterfall_starts_from_the_priors_and_ends_at_the_verdict() {
    for name in ["a-open-through-the-harness", "d2-overload-open-cold", "g-weak-capacitor"] {
        let case = example(name);
        let verdict = judged(&case);
        let waterfall =
            verdict.explained.as_ref().expect("it is always explained").waterfall.clone();
        assert_eq!(waterfall.steps.len(), 1 + case.readings.len() + case.observations.len());
        assert_eq!(waterfall.steps[0].evidence, None);
        for step in &waterfall.steps {
            let sum: f64 = step.shares.iter().sum();
            assert_eq!(step.shares.len(), waterfall.suspects.len());
            assert!((sum - 1.0).abs() < 1e-4, "{name}, {}: {sum}", step.label);
        }
        let last: BTreeMap<&str, f64> = waterfall
            .suspects
            .iter()
            .map(|suspect| suspect.key.as_str())
            .zip(waterfall.steps.last().expect("it has steps").shares.iter().copied())
            .collect();
        for suspect in verdict.suspects.iter().take(3).filter(|suspect| suspect.share > 0.05) {
            let key = format!("{}.{}", suspect.part, suspect.mode);
            assert!((last[key.as_str()] - suspect.share).abs() < 1e-6, "{name}: {key}");
        }
        // Taken alone, the evidence so far is what a shorter case says.
        let shorter = Case { readings: case.readings[..1].to_vec(), observations: vec![], ..case };
        let shares = &waterfall.steps[1].shares;
        for suspect in judged(&shorter).suspects.iter().filter(|suspect| suspect.share > 0.05) {
            let key = format!("{}.{}", suspect.part, suspect.mode);
            if let Some(place) = waterfall.suspects.iter().position(|known| known.key == key) {
                assert!((shares[place] - suspect.share).abs() < 1e-6, "{name}: {key}");
            }
        }
    }
}

#[test]
fn the_reading_on_which_it_turns_is_named_with_what_would_lead_without_it() {
    // A loop open at the panel and good at the pins: without the second the motor would lead.
    let readings = vec![
        reading("r1", "resistance", ["T1", "T2"], &[], Seen::OverLimit),
        at_pins("r2", ["C", "R"], Seen::Ohm(0.6), 25.0),
    ];
    let verdict = judged(&compressor(None, readings.clone()));
    let explained = verdict.explained.expect("it is always explained");
    if let Some(turns) = &explained.turns_on {
        let without: Vec<_> =
            readings.iter().filter(|reading| reading.id != turns.evidence).cloned().collect();
        let less = judged(&compressor(None, without));
        assert_eq!(less.components[0].component, turns.leads_to);
        assert!((less.components[0].share - turns.share).abs() < 1e-6);
        assert!(turns.says.contains(&turns.evidence), "{}", turns.says);
    }
    assert!(explained.turns_on.is_some(), "two readings that pull two ways");
    let rival = explained.best_rival.expect("somebody is second");
    let second = verdict
        .components
        .iter()
        .filter(|share| share.replaceable && !share.claimed)
        .nth(1)
        .expect("there are components");
    assert_eq!((rival.component, rival.share), (second.component.clone(), second.share));
    let without = explained.without_occasion.expect("there were two occasions");
    assert_eq!(without.readings.len(), 1);
}
