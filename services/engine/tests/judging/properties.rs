//! What holds for every case: names do not matter, nor order, nor the unit shown; the same
//! input gives the same bytes; one absurd reading condemns nothing.

use engine::case::{Case, Reading, Shown};
use engine::units::Unit;
use engine::verdict::{Outcome, Verdict};
use proptest::prelude::*;

use crate::support::{Seen, claim, compressor, example, judged, reading};

/// Examples on all three ways of measuring, with signs and specs among them.
const EXAMPLES: [&str; 7] = [
    "a-open-through-the-harness",
    "b-good-at-the-pins",
    "c-open-run-winding-at-the-pins",
    "d-overload-open-hot",
    "e3-ground-in-the-harness",
    "g-weak-capacitor",
    "i-supply-unbalance",
];

fn same_shares(one: &Verdict, other: &Verdict, what: &str) {
    assert_eq!(one.outcome, other.outcome, "{what}");
    for share in &one.components {
        let there = other.components.iter().find(|known| known.component == share.component);
        let there = there.expect("the same components").share;
        assert!(
            (share.share - there).abs() <= 1.5e-6,
            "{what}: {} {} against {there}",
            share.component,
            share.share
        );
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for name in EXAMPLES {
        let case = example(name);
        let bytes = || serde_json::to_vec(&judged(&case)).expect("a verdict is JSON");
        assert_eq!(bytes(), bytes(), "{name}");
    }
}

#[test]
fn the_order_of_occasions_does_not_move_the_shares_nor_time_turned_back() {
    // Where an overload may close while readings are taken, what was read before and what after
    // is evidence.
    let may_close = |name: &str| {
        let circuit = engine::judge::circuit_of(&example(name)).expect("an example's circuit").0;
        circuit.parts.iter().flat_map(|part| &part.modes).any(|mode| mode.passing)
    };
    let free: Vec<&str> = EXAMPLES.into_iter().filter(|name| !may_close(name)).collect();
    assert!(!free.is_empty(), "no example's readings may be turned around");
    for name in free {
        let case = example(name);
        let forward = judged(&case);
        let mut turned = case.clone();
        turned.readings.reverse();
        same_shares(&forward, &judged(&turned), name);
        // Occasions may be told one after the other, each in its own order: only within one may a
        // joint have come or gone between two readings.
        let mut sorted = case;
        sorted.readings.sort_by(|a, b| b.lifted.cmp(&a.lifted));
        same_shares(&forward, &judged(&sorted), name);
    }
}

#[test]
fn ohms_said_in_kilohm_or_megohm_are_the_same_reading() {
    for name in EXAMPLES {
        let case = example(name);
        let verdict = judged(&case);
        for (to, factor) in [(Unit::Kilohm, 1e3), (Unit::Megohm, 1e6)] {
            let mut other = case.clone();
            for reading in &mut other.readings {
                if let Shown::Value { value, unit } = &mut reading.shown
                    && matches!(unit, Unit::Ohm | Unit::Kilohm | Unit::Megohm)
                {
                    *value *= unit.to_base() / factor;
                    *unit = to;
                }
            }
            same_shares(&verdict, &judged(&other), name);
        }
    }
}

#[test]
fn probes_the_other_way_round_are_the_same_reading() {
    for name in EXAMPLES {
        let case = example(name);
        let mut swapped = case.clone();
        for reading in &mut swapped.readings {
            std::mem::swap(&mut reading.from, &mut reading.to);
        }
        same_shares(&judged(&case), &judged(&swapped), name);
    }
}

/// The case with its circuit written out and every point called something else, and the way
/// back for a text.
fn renamed(case: &Case) -> (Case, impl Fn(&str) -> String + use<>) {
    let (mut circuit, _) = engine::judge::circuit_of(case).expect("a shipped circuit");
    let names: Vec<String> = circuit.points.iter().map(|point| point.id.clone()).collect();
    // Backwards, so that a sort by name would come out otherwise.
    let new = move |names: &[String], old: &str| -> String {
        let place = names.iter().position(|name| name == old).expect("a point");
        format!("Zq{}q", 500 - place)
    };
    let rename = |id: &mut String| *id = new(&names, id);
    circuit.points.iter_mut().for_each(|point| rename(&mut point.id));
    circuit.shell.iter_mut().for_each(rename);
    circuit.parts.iter_mut().flat_map(|part| &mut part.between).flatten().for_each(rename);
    for check in &mut circuit.checks {
        use engine::circuit::CheckSpec;
        match check {
            CheckSpec::WindingSum { common, start, run, .. }
            | CheckSpec::OverloadCooling { common, start, run, .. } => {
                [common, start, run].into_iter().for_each(rename);
            }
            CheckSpec::Ground { pins, shell, .. } => {
                pins.iter_mut().chain([shell]).for_each(rename);
            }
            CheckSpec::WindingBalance { pins, .. } => pins.iter_mut().for_each(rename),
            CheckSpec::SupplyFirst { pairs, .. } => pairs.iter_mut().flatten().for_each(rename),
            CheckSpec::WiresAsDrawn { .. } => {}
            CheckSpec::VoltageUnbalance { points, .. } => points.iter_mut().for_each(rename),
            CheckSpec::CapacitorLabel { points, .. }
            | CheckSpec::ContactDrop { points, .. }
            | CheckSpec::StoredCharge { points, .. } => {
                points.iter_mut().for_each(rename);
            }
            CheckSpec::CapacitorUnderLoad { points, amps_through, .. } => {
                points.iter_mut().chain(amps_through).for_each(rename);
            }
        }
    }
    let mut case = case.clone();
    for reading in &mut case.readings {
        rename(&mut reading.from);
        rename(&mut reading.to);
    }
    case.circuit_text = Some(toml::to_string(&circuit).expect("a circuit is TOML"));
    let back = move |text: &str| {
        names.iter().fold(text.to_owned(), |text, name| text.replace(&new(&names, name), name))
    };
    (case, back)
}

#[test]
fn renaming_the_points_changes_nothing_but_names() {
    for name in EXAMPLES {
        let case = example(name);
        let (other, back) = renamed(&case);
        let without_digests = |case: &Case| {
            let mut verdict = judged(case);
            verdict.evidence_digest.clear();
            verdict.circuit.digest.clear();
            serde_json::to_string_pretty(&verdict).expect("a verdict is JSON")
        };
        assert_eq!(without_digests(&case), back(&without_digests(&other)), "{name}");
    }
}

#[test]
fn the_digest_changes_with_whatever_was_judged_and_with_nothing_else() {
    let case = example("g-weak-capacitor");
    let digest = |case: &Case| judged(case).evidence_digest;
    let first = digest(&case);
    assert_eq!(first.len(), 64);

    let titled = Case { title: Some("another line for people".into()), ..case.clone() };
    assert_eq!(digest(&titled), first, "a title is no evidence");

    let mut value = case.clone();
    value.readings[3].shown = Shown::Value { value: 18.7, unit: Unit::Microfarad };
    let mut sign = case.clone();
    sign.observations[0].present = false;
    let mut claimed = case.clone();
    claimed.claim = Some(claim("compressor", "run_winding", "open"));
    let mut spec = case.clone();
    spec.specs.clear();
    let mut warm = case.clone();
    warm.readings[0].part_temp_c = Some(31.0);
    let loosened = engine::policy::Policy { isolated_min: 0.9, ..Default::default() };
    let policy = Case { policy: Some(loosened), ..case.clone() };
    let fewer = Case { readings: case.readings[..3].to_vec(), ..case.clone() };
    let changed = [value, sign, claimed, spec, warm, policy, fewer];
    let mut digests: Vec<String> = changed.iter().map(digest).collect();
    digests.push(first);
    digests.sort();
    digests.dedup();
    assert_eq!(digests.len(), changed.len() + 1, "each change has a digest of its own");
}

/// Every example of the folder, by name.
fn every_example() -> Vec<(String, Case)> {
    std::fs::read_dir(crate::support::cases_folder())
        .expect("the folder of examples")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "json"))
        .map(|path| path.file_stem().expect("a name").to_string_lossy().into_owned())
        .map(|name| (name.clone(), example(&name)))
        .collect()
}

#[test]
fn hands_go_nowhere_new_before_it_is_dead() {
    // A place is first worked at, by a probe or at a connector, only after "prove dead".
    for (name, case) in every_example() {
        let (circuit, _) = engine::judge::circuit_of(&case).expect("a shipped circuit");
        let place_of_point =
            |id: &String| circuit.points.iter().find(|point| point.id == *id)?.place.clone();
        let place_of_connector = |id: &String| {
            circuit.connectors.iter().find(|known| known.id == *id).map(|known| known.place.clone())
        };
        let shell = |id: &&String| circuit.shell.as_ref() != Some(*id);
        let mut open: Vec<String> = Vec::new();
        for reading in &case.readings {
            open.extend(
                [&reading.from, &reading.to].into_iter().filter(shell).filter_map(place_of_point),
            );
            open.extend(reading.lifted.iter().filter_map(place_of_connector));
        }
        let lifted = case.readings.last().map(|reading| reading.lifted.clone()).unwrap_or_default();
        for test in judged(&case).next_tests {
            let mut worked_at: Vec<String> = Vec::new();
            for take in &test.takes {
                worked_at.extend(
                    [&take.from, &take.to].into_iter().filter(shell).filter_map(place_of_point),
                );
                let moved = take.lifted.iter().filter(|id| !lifted.contains(id));
                worked_at.extend(moved.filter_map(place_of_connector));
            }
            let told = test.steps.iter().any(|step| step.contains("prove dead"));
            let new = worked_at.iter().any(|place| !open.contains(place));
            assert!(told || !new, "{name}: {} {:?}", test.title, test.steps);
        }
    }
}

#[test]
fn after_a_live_reading_the_next_dead_one_begins_with_making_dead() {
    let volts = reading("r1", "voltage", ["L1", "L2"], &[], Seen::Volt(240.0));
    let verdict =
        judged(&compressor(Some(claim("compressor", "run_winding", "open")), vec![volts]));
    let mut dead = 0;
    for test in &verdict.next_tests {
        if test.takes.iter().any(|take| !take.quantity.needs_power()) {
            assert!(test.steps[0].contains("prove dead"), "{} {:?}", test.title, test.steps);
            dead += 1;
        }
    }
    assert!(dead > 0, "{:?}", verdict.next_tests);
}

/// Readings that a sound compressor gives, through the harness and at the pins.
fn sound() -> Vec<Reading> {
    let warm = |reading: Reading| Reading { part_temp_c: Some(25.0), ..reading };
    [
        ("through_cr", "resistance", ["T1", "T2"], Seen::Ohm(0.53)),
        ("through_cs", "resistance", ["T1", "WIRE_S"], Seen::Ohm(1.34)),
        ("through_sr", "resistance", ["WIRE_S", "T2"], Seen::Ohm(1.82)),
        ("cr", "resistance", ["C", "R"], Seen::Ohm(0.48)),
        ("cs", "resistance", ["C", "S"], Seen::Ohm(1.30)),
        ("sr", "resistance", ["S", "R"], Seen::Ohm(1.78)),
        ("c_shell", "insulation", ["C", "SHELL"], Seen::OverLimit),
        ("r_shell", "insulation", ["R", "SHELL"], Seen::Megohm(900.0)),
        ("s_shell", "insulation", ["S", "SHELL"], Seen::Megohm(850.0)),
        ("capacitor", "capacitance", ["CAP_C", "CAP_H"], Seen::Microfarad(39.4)),
    ]
    .into_iter()
    .map(|(id, quantity, points, seen)| {
        let lifted: &[&str] = match (quantity, points[0]) {
            ("capacitance", _) => &["start_wire"],
            (_, "T1" | "WIRE_S") => &[],
            _ => &["plug"],
        };
        warm(reading(id, quantity, points, lifted, seen))
    })
    .collect()
}

/// Anything a meter could show for this quantity, OL and 0 included.
fn absurd(reading: &Reading, decades: f64, over_limit: bool) -> Shown {
    let unit = reading.quantity.units()[0];
    match decades {
        _ if over_limit => Shown::OverLimit,
        _ if decades < -3.0 => Shown::Value { value: 0.0, unit },
        _ => Shown::Value { value: 10f64.powf(decades), unit },
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn one_absurd_reading_among_six_good_ones_isolates_nothing(
        chosen in prop::sample::subsequence((0..10).collect::<Vec<usize>>(), 7),
        wrong in 0usize..7,
        decades in -3.5f64..5.9,
        over_limit in prop::bool::weighted(0.3),
        claimed in 0usize..6,
    ) {
        let all = sound();
        let mut readings: Vec<Reading> = chosen.iter().map(|&place| all[place].clone()).collect();
        readings[wrong].shown = absurd(&readings[wrong], decades, over_limit);
        let claim = match claimed {
            0 => None,
            1 => Some(claim("compressor", "run_winding", "open")),
            2 => Some(claim("compressor", "start_winding", "shorted")),
            3 => Some(claim("compressor", "run_winding", "grounded")),
            4 => Some(claim("capacitor", "capacitor", "weak")),
            _ => Some(claim("harness", "lead_c", "open")),
        };
        let case = compressor(claim, readings);
        let verdict = judged(&case);
        prop_assert_ne!(
            verdict.outcome,
            Outcome::Isolated,
            "{}\n{}",
            verdict.sentence,
            serde_json::to_string(&case).expect("a case is JSON")
        );
    }

    #[test]
    fn any_readings_give_a_verdict_whose_shares_add_up(
        chosen in prop::sample::subsequence((0..10).collect::<Vec<usize>>(), 0..10),
        decades in prop::collection::vec((-3.5f64..5.9, prop::bool::weighted(0.2)), 10),
    ) {
        let all = sound();
        let readings: Vec<Reading> = chosen
            .iter()
            .map(|&place| {
                let (decades, over_limit) = decades[place];
                let shown = absurd(&all[place], decades, over_limit);
                Reading { shown, ..all[place].clone() }
            })
            .collect();
        let verdict = judged(&compressor(Some(claim("compressor", "run_winding", "open")), readings));
        let sum: f64 = verdict.components.iter().map(|share| share.share).sum();
        prop_assert!((sum - 1.0).abs() < 1e-5, "{sum}");
        prop_assert!(verdict.components.iter().all(|share| (0.0..=1.0).contains(&share.share)));
        prop_assert!(!verdict.sentence.is_empty());
    }
}
