//! What a shop's confirmed calls make of the odds.
//!
//! Belongs here: counting calls, and what a count does to the shares. Does not belong here: which
//! calls are confirmed.

use engine::case::Case;
use engine::circuit::{Circuit, Effect, PartKind};
use engine::judge::circuit_of;
use engine::rates::{Events, Expected, FaultEvents, Found, Rates, Tally};
use engine::verdict::Verdict;
use serde_json::{Value, json};

use crate::support::{example, judged};

fn bare(circuit: &str) -> Case {
    serde_json::from_value(json!({"format": 1, "circuit": circuit})).expect("the shape of a case")
}

fn with(case: &Case, rates: Rates) -> Verdict {
    judged(&Case { rates: Some(rates), ..case.clone() })
}

fn share(verdict: &Verdict, of: &str) -> f64 {
    verdict.components.iter().find(|known| known.component == of).map_or(0.0, |known| known.share)
}

fn circuit(name: &str) -> Circuit {
    circuit_of(&bare(name)).expect("a shipped circuit").0
}

/// What the file alone expects of so many calls.
fn expected(name: &str, calls: usize) -> Rates {
    let mut tally = Tally::default();
    for _ in 0..calls {
        tally.add(&circuit(name), &Found::NothingWrong, 1.0).expect("nothing wrong may always be");
    }
    tally.rates()
}

#[test]
fn a_call_is_expected_once_whatever_it_turned_out_to_be() {
    let circuit = circuit("compressor-1ph-plug");
    let mut tally = Tally::default();
    let winding = Found::Fault { part: "run_winding".into(), mode: "open".into() };
    tally.add(&circuit, &winding, 1.0).expect("the circuit lists it");
    tally.add(&circuit, &winding, 0.25).expect("the circuit lists it");
    let rates = tally.rates();

    let sum: f64 = rates.faults.iter().map(|known| known.expected).sum();
    let all = sum + rates.nothing_wrong.expected + rates.passing.expected;
    assert!((all - 1.25).abs() < 1e-12, "{all} expected of 1.25 calls");
    assert_eq!(rates.calls, 1.25);
    let open =
        rates.faults.iter().find(|k| (k.kind, k.effect) == (PartKind::Winding, Effect::Open));
    assert_eq!(open.map(|known| known.found), Some(1.25));
    assert!(rates.passing.expected > 0.0, "an overload may always be open on heat");
}

#[test]
fn many_calls_that_turned_out_alike_count_as_one_by_one() {
    let circuit = circuit("compressor-1ph-plug");
    let winding = Found::Fault { part: "run_winding".into(), mode: "open".into() };
    let (mut singly, mut together) = (Tally::default(), Tally::default());
    for _ in 0..12 {
        singly.add(&circuit, &winding, 0.25).expect("the circuit lists it");
    }
    let expected = Expected::of(&circuit);
    together.add_many(&expected, &winding, 0.25, 12).expect("the circuit lists it");

    let (singly, together) = (singly.rates(), together.rates());
    assert_eq!(together.calls, 3.0);
    assert_eq!(singly.faults.len(), together.faults.len());
    for (one, many) in singly.faults.iter().zip(&together.faults) {
        assert_eq!((one.kind, one.effect, one.found), (many.kind, many.effect, many.found));
        assert!((one.expected - many.expected).abs() < 1e-12, "{one:?} {many:?}");
    }
}

#[test]
fn the_factor_that_is_told_is_the_one_that_moves_the_prior() {
    let rates = Rates {
        calls: 20.0,
        nothing_wrong: Events { found: 16.0, expected: 4.0 },
        passing: Events { found: 0.0, expected: 1_000.0 },
        faults: vec![FaultEvents {
            kind: PartKind::Heater,
            effect: Effect::Open,
            found: 16.0,
            expected: 4.0,
        }],
    };
    assert_eq!(rates.times_nothing_wrong(), 2.0, "(8 + 16) / (8 + 4)");
    assert_eq!(rates.times_passing(), 0.2, "no further than a fifth");
    // The kind's 2, and of the 8 that it then expects 16 were found: 24 / 16.
    assert_eq!(rates.times_fault(PartKind::Heater, Effect::Open), 3.0);
    assert_eq!(rates.times_fault(PartKind::Fuse, Effect::Open), 1.0);
}

#[test]
fn what_a_circuit_does_not_list_is_refused_and_not_counted() {
    let circuit = circuit("compressor-1ph-plug");
    let mut tally = Tally::default();
    let of = |part: &str, mode: &str| Found::Fault { part: part.into(), mode: mode.into() };
    for (found, weight, says) in [
        (of("flux", "open"), 1.0, "no part \"flux\""),
        (of("run_winding", "loose"), 1.0, "no fault mode \"loose\""),
        (Found::NothingWrong, 1.5, "outside 0 to 1"),
        (Found::NothingWrong, f64::NAN, "outside 0 to 1"),
    ] {
        let problem = tally.add(&circuit, &found, weight).expect_err("refused");
        assert!(problem.says.contains(says), "{}", problem.says);
    }
    assert_eq!(tally.rates(), Rates::default());
}

#[test]
fn calls_that_come_out_as_the_file_expects_move_nothing() {
    for name in ["a-open-through-the-harness", "g-weak-capacitor"] {
        let case = example(name);
        let mut rates = expected(&case.circuit, 50);
        let level = |events: &mut Events| events.found = events.expected;
        level(&mut rates.nothing_wrong);
        level(&mut rates.passing);
        rates.faults.iter_mut().for_each(|known| known.found = known.expected);
        let (alone, counted) = (judged(&case), with(&case, rates));
        for known in &alone.components {
            let there = share(&counted, &known.component);
            assert!((known.share - there).abs() < 1e-6, "{name}: {} {there}", known.component);
        }
        assert_eq!(counted.considered.confirmed_calls, Some(50.0));
        assert_eq!(alone.considered.confirmed_calls, None);
    }
}

#[test]
fn nothing_wrong_found_more_often_is_as_much_likelier_as_gamma_and_poisson_say() {
    let case = bare("electric-heat-sequencers");
    // (8 + 16) / (8 + 4): twice as likely against everything else that the file lists.
    let rates = Rates {
        calls: 20.0,
        nothing_wrong: Events { found: 16.0, expected: 4.0 },
        ..Rates::default()
    };
    let (alone, counted) = (judged(&case), with(&case, rates));
    let odds = |verdict: &Verdict| {
        let sound = share(verdict, "nothing_wrong");
        sound / (1.0 - verdict.considered.unknown_share - sound)
    };
    let (before, after) = (odds(&alone), odds(&counted));
    assert!((after / before - 2.0).abs() < 1e-3, "odds of {before} became {after}");
    let unknown = counted.considered.unknown_share;
    assert!((unknown - alone.considered.unknown_share).abs() < 1e-3, "the unknown fault stays");
}

#[test]
fn an_effect_follows_its_kind_of_part_and_no_prior_moves_beyond_five_times() {
    let case = bare("electric-heat-sequencers");
    let open = |found, expected| {
        let kind = PartKind::Heater;
        let open = FaultEvents { kind, effect: Effect::Open, found, expected };
        Rates { calls: 1.0, faults: vec![open], ..Rates::default() }
    };
    // All heaters: (8 + 24) / (8 + 8) = 2, which holds for an effect that nobody counted.
    assert_eq!(open(24.0, 8.0).times_fault(PartKind::Heater, Effect::ToShell), 2.0);
    assert_eq!(open(2400.0, 8.0).times_fault(PartKind::Heater, Effect::Open), 5.0);
    assert_eq!(open(0.0, 2400.0).times_fault(PartKind::Heater, Effect::Open), 0.2);

    let circuit = circuit("electric-heat-sequencers");
    let heaters = |verdict: &Verdict| -> f64 {
        let is_heater = |component: &str| {
            circuit.parts.iter().any(|p| p.component == component && p.kind == PartKind::Heater)
        };
        let of_heaters = verdict.components.iter().filter(|known| is_heater(&known.component));
        of_heaters.map(|known| known.share).sum()
    };
    let alone = heaters(&judged(&case));
    let [never, more, most] = [open(0.0, 2400.0), open(24.0, 8.0), open(2400.0, 8.0)]
        .map(|rates| heaters(&with(&case, rates)));
    assert!(never < alone && alone < more && more < most, "{never} {alone} {more} {most}");
}

#[test]
fn counts_that_no_tally_can_have_are_refused_with_their_place() {
    let refused = |change: &dyn Fn(&mut Value)| {
        let mut rates =
            serde_json::to_value(expected("electric-heat-sequencers", 3)).expect("JSON");
        change(&mut rates);
        let rates = serde_json::from_value(rates).expect("the shape stays");
        let case = Case { rates: Some(rates), ..bare("electric-heat-sequencers") };
        let problems = engine::check(&case).expect_err("refused").problems;
        problems.iter().map(|problem| problem.at.clone()).collect::<Vec<_>>()
    };
    assert_eq!(refused(&|rates| rates["calls"] = json!(-1)), ["/rates/calls"]);
    assert_eq!(
        refused(&|rates| rates["nothing_wrong"]["found"] = json!(1e9)),
        ["/rates/nothing_wrong/found"]
    );
    let twice = |rates: &mut Value| {
        let first = rates["faults"][0].clone();
        rates["faults"][1] = first;
    };
    assert_eq!(refused(&twice), ["/rates/faults/1"]);
    let many = |rates: &mut Value| {
        let first = rates["faults"][0].clone();
        rates["faults"] = json!(vec![first; 200]);
    };
    assert_eq!(refused(&many), ["/rates/faults"]);
}

#[test]
fn the_digest_tells_a_case_with_counts_from_one_without() {
    let case = example("g-weak-capacitor");
    let digest = |rates: Option<Rates>| judged(&Case { rates, ..case.clone() }).evidence_digest;
    let (none, three, four) = (
        digest(None),
        digest(Some(expected(&case.circuit, 3))),
        digest(Some(expected(&case.circuit, 4))),
    );
    assert!(none != three && three != four && none != four);
}
