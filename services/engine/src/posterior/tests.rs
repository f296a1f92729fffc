//! The whole chain against answers worked out by hand and by brute force: circuit file,
//! hypotheses, solver, likelihood with nothing but flips, posterior.

use std::collections::BTreeMap;

use super::*;
use crate::circuit::Circuit;
use crate::circuit_file;

/// Only flips between open and a value, each reading wrong with 0.02.
const FLIPS: Mistakes = Mistakes {
    poor_contact: 0.0,
    leads: 0.0,
    wrong_unit: 0.0,
    neighbour: 0.0,
    slip: 0.0,
    not_lifted: 0.0,
    comes_and_goes: 0.0,
    flip: Some(0.02),
};

/// A lead (0.05 open) and a winding (0.03 open) with a plug between that cannot fail.
const LEAD_AND_WINDING: &str = r#"
format = 1
name = "lead-and-winding"
title = "A lead and a winding"
about = "The circuit of the fractions on the design's evidence page."

[[places]]
id = "board"
label = "board"
minutes = 2

[[points]]
id = "B1"
label = "board 1"
place = "board"
at = [0, 0]

[[points]]
id = "H"
label = "plug, harness side"
place = "board"
at = [1, 0]

[[points]]
id = "M"
label = "motor pin"
place = "board"
at = [2, 0]

[[points]]
id = "B2"
label = "board 2"
place = "board"
at = [3, 0]

[[components]]
id = "harness"
label = "harness"

[[components]]
id = "motor"
label = "motor"

[[parts]]
id = "lead"
label = "lead"
component = "harness"
kind = "lead"
between = ["B1", "H"]
ohm = 0.02
tolerance_pct = 10
modes = [{ id = "open", label = "open", effect = "open", prior = 0.05 }]

[[parts]]
id = "contact"
label = "plug contact"
component = "harness"
kind = "contact"
between = ["H", "M"]
ohm = 0.005

[[parts]]
id = "winding"
label = "winding"
component = "motor"
kind = "winding"
between = ["M", "B2"]
ohm = 2.5
modes = [{ id = "open", label = "open", effect = "open", prior = 0.03 }]

[[connectors]]
id = "plug"
label = "plug"
place = "board"
minutes = 1
opens = ["contact"]
"#;

fn reading(from: &str, to: &str, lifted: &[&str], shown: &str) -> Reading {
    let shown = match shown {
        "OL" => serde_json::json!({"is": "over_limit"}),
        ohm => serde_json::json!({
            "is": "value", "unit": "ohm", "value": ohm.parse::<f64>().expect("a number"),
        }),
    };
    let reading = serde_json::json!({
        "id": "r", "quantity": "resistance", "from": from, "to": to, "lifted": lifted,
        "power": "off", "shown": shown, "part_temp_c": 25,
    });
    serde_json::from_value(reading).expect("a reading")
}

fn circuit(text: &str) -> Circuit {
    circuit_file::parse("test.toml", text).expect("the circuit of this test is valid")
}

/// Share of the motor, double faults in full.
fn winding_share(readings: &[Reading]) -> f64 {
    let circuit = circuit(LEAD_AND_WINDING);
    let model = Model::new(&circuit, &BTreeMap::new());
    let weighed = Weighed::new(&model, readings, &[], FLIPS, 0.0);
    weighed
        .posterior
        .iter()
        .zip(&weighed.hypotheses.all)
        .filter(|(_, hypothesis)| {
            faults_of(&model, hypothesis.kind)
                .iter()
                .any(|fault| model.circuit.parts[fault.part].id == "winding")
        })
        .map(|(share, _)| share)
        .sum()
}

// The fractions are those of the design's evidence page: open lead .05, open winding .03, each
// reading wrong with .02.

#[test]
fn open_at_the_board_leaves_the_winding_735_of_2384() {
    let share = winding_share(&[reading("B1", "B2", &[], "OL")]);
    assert!((share - 735.0 / 2384.0).abs() < 1e-9, "{share}");
}

#[test]
fn open_at_the_motor_too_makes_it_36015_of_37664() {
    let readings = [reading("B1", "B2", &[], "OL"), reading("M", "B2", &["plug"], "OL")];
    let share = winding_share(&readings);
    assert!((share - 36_015.0 / 37_664.0).abs() < 1e-9, "{share}");
}

#[test]
fn a_normal_value_at_the_motor_leaves_15_of_1664() {
    let readings = [reading("B1", "B2", &[], "OL"), reading("M", "B2", &["plug"], "2.5")];
    let share = winding_share(&readings);
    assert!((share - 15.0 / 1664.0).abs() < 1e-9, "{share}");
}

/// Six parts, five of them with an open mode: two branches in parallel behind a lead.
///
/// A --lead-- B --coil_1-- C --coil_2-- D ; B --heater-- D ; D --fuse-- E ; C --jumper-- E
const FORKED: [(&str, &str, &str, &str, f64); 6] = [
    ("lead", "lead", "A", "B", 0.05),
    ("coil_1", "coil", "B", "C", 0.03),
    ("coil_2", "coil", "C", "D", 0.02),
    ("heater", "heater", "B", "D", 0.04),
    ("fuse", "fuse", "D", "E", 0.08),
    ("jumper", "lead", "C", "E", 0.01),
];

fn forked() -> String {
    let mut text = String::from(
        "format = 1\nname = \"forked\"\ntitle = \"Forked\"\nabout = \"Two ways round.\"\n\
         [[places]]\nid = \"panel\"\nlabel = \"panel\"\nminutes = 1\n",
    );
    for point in ["A", "B", "C", "D", "E"] {
        text += &format!(
            "[[points]]\nid = \"{point}\"\nlabel = \"{point}\"\nplace = \"panel\"\nat = [0, 0]\n"
        );
    }
    for (id, kind, a, b, prior) in FORKED {
        text += &format!(
            "[[components]]\nid = \"{id}\"\nlabel = \"{id}\"\n\
             [[parts]]\nid = \"{id}\"\nlabel = \"{id}\"\ncomponent = \"{id}\"\nkind = \"{kind}\"\n\
             between = [\"{a}\", \"{b}\"]\nohm = 10\ntolerance_pct = 10\n\
             modes = [{{ id = \"open\", label = \"open\", effect = \"open\", prior = {prior} }}]\n"
        );
    }
    text + "[[connectors]]\nid = \"fuse_out\"\nlabel = \"fuse out\"\nplace = \"panel\"\nminutes = 1\n\
            opens = [\"fuse\"]\n"
}

/// Whether current finds a way, by trying every step from where it is: nothing of the
/// engine's.
fn conducts(open: &[usize], lifted: bool, from: &str, to: &str) -> bool {
    let mut reached = vec![from];
    while let Some(next) = FORKED.iter().enumerate().find_map(|(index, &(id, _, a, b, _))| {
        let out = open.contains(&index) || (lifted && id == "fuse");
        match (reached.contains(&a), reached.contains(&b)) {
            (true, false) if !out => Some(b),
            (false, true) if !out => Some(a),
            _ => None,
        }
    }) {
        reached.push(next);
    }
    reached.contains(&to)
}

/// Every subset of at most two open parts with its posterior. Only open and not open count:
/// the readings below are all OL, so that values play no part.
fn brute_force(readings: &[(&str, &str, bool)]) -> Vec<(Vec<usize>, f64)> {
    let mut subsets: Vec<Vec<usize>> = vec![Vec::new()];
    for first in 0..FORKED.len() {
        subsets.push(vec![first]);
        subsets.extend((first + 1..FORKED.len()).map(|second| vec![first, second]));
    }
    let weigh = |open: &Vec<usize>| -> f64 {
        let prior: f64 = FORKED
            .iter()
            .enumerate()
            .map(|(index, part)| if open.contains(&index) { part.4 } else { 1.0 - part.4 })
            .product();
        readings.iter().fold(prior, |weight, &(from, to, lifted)| {
            weight * if conducts(open, lifted, from, to) { 0.02 } else { 0.98 }
        })
    };
    let all: f64 = subsets.iter().map(weigh).sum();
    subsets.into_iter().map(|open| (open.clone(), weigh(&open) / all)).collect()
}

#[test]
fn the_posterior_is_that_of_brute_force_over_all_singles_and_doubles() {
    let circuit = circuit(&forked());
    let model = Model::new(&circuit, &BTreeMap::new());
    let pairs = [("A", "E"), ("A", "D"), ("B", "E"), ("C", "D"), ("D", "E"), ("B", "C")];
    let mut compared = 0;
    // Every set of one to three of these readings, all OL, the last with the fuse out.
    for set in 1u32..1 << pairs.len() {
        if set.count_ones() > 3 {
            continue;
        }
        let chosen: Vec<(&str, &str, bool)> = pairs
            .iter()
            .enumerate()
            .filter(|(index, _)| set >> index & 1 == 1)
            .map(|(index, &(from, to))| (from, to, index % 3 == 2))
            .collect();
        let readings: Vec<Reading> = chosen
            .iter()
            .map(|&(from, to, out)| reading(from, to, if out { &["fuse_out"] } else { &[] }, "OL"))
            .collect();

        let weighed = Weighed::new(&model, &readings, &[], FLIPS, 0.0);

        for (open, expected) in brute_force(&chosen) {
            let mut ids: Vec<&str> = open.iter().map(|&index| FORKED[index].0).collect();
            ids.sort_unstable();
            let found = weighed.hypotheses.all.iter().position(|hypothesis| {
                let mut faults: Vec<&str> = faults_of(&model, hypothesis.kind)
                    .iter()
                    .map(|fault| model.circuit.parts[fault.part].id.as_str())
                    .collect();
                faults.sort_unstable();
                hypothesis.kind != Kind::Unknown && faults == ids
            });
            let share = weighed.posterior[found.expect("every single and double is considered")];
            // The heavy tail leaves 1e-9 that a value of 10 Ω shows OL: brute force has none.
            assert!((share - expected).abs() < 1e-8, "{chosen:?}, {ids:?}: {share} {expected}");
            compared += 1;
        }
    }
    assert!(compared > 800, "{compared}");
}

#[test]
fn what_is_cut_off_is_the_prior_of_triples_and_more() {
    let circuit = circuit(&forked());
    let model = Model::new(&circuit, &BTreeMap::new());
    let kept: f64 = (0u32..1 << FORKED.len())
        .filter(|open| open.count_ones() <= 2)
        .map(|open| -> f64 {
            FORKED
                .iter()
                .enumerate()
                .map(|(index, part)| if open >> index & 1 == 1 { part.4 } else { 1.0 - part.4 })
                .product()
        })
        .sum();
    let hypotheses = Hypotheses::new(&model, 0.0);
    assert!((hypotheses.cut_off - (1.0 - kept)).abs() < 1e-12, "{}", hypotheses.cut_off);
}

fn value(from: &str, to: &str, ohm: f64) -> Reading {
    reading(from, to, &[], &ohm.to_string())
}

#[test]
fn neighbouring_leads_that_touch_are_told_of_whose_they_are_and_condemn_nothing() {
    let circuit = circuit(&forked());
    let model = Model::new(&circuit, &BTreeMap::new());
    // Every way from A to E is of 20 Ω and more.
    let readings = [value("A", "E", 0.5), value("A", "E", 0.5)];

    let weighed = Weighed::new(&model, &readings, &[], Mistakes::usual(0.02), 0.01);
    let shares = crate::shares::Shares::of(&weighed, &weighed.posterior, None);

    assert!(shares.touching > 0.5 && shares.unknown >= shares.touching, "{shares:?}");
    assert!(shares.components.iter().all(|share| *share < 0.1), "{shares:?}");
    // A is an end of the lead and E one of the jumper, which are the only leads.
    let [lead, .., jumper] = shares.touching_of[..] else { panic!("six components") };
    assert!(lead > 0.25 && jumper > 0.25, "{shares:?}");
    assert!((lead + jumper - shares.touching).abs() < 1e-12, "{shares:?}");
}

#[test]
fn a_lead_that_is_longer_than_usual_is_no_corroded_one_however_often_it_is_read() {
    let text = LEAD_AND_WINDING.replace("ohm = 0.02\ntolerance_pct = 10", "ohm = 0.1").replace(
        "prior = 0.05 }",
        "prior = 0.05 }, { id = \"bad\", label = \"bad\", effect = \"series\", prior = 0.05, sizes = [1] }",
    );
    let circuit = circuit(&text);
    let model = Model::new(&circuit, &BTreeMap::new());
    let readings: Vec<Reading> = (0..6).map(|_| value("B1", "H", 0.36)).collect();

    let weighed = Weighed::new(&model, &readings, &[], Mistakes::usual(0.02), 0.01);
    let shares = crate::shares::Shares::of(&weighed, &weighed.posterior, None);

    assert!(shares.sound > 0.9, "{shares:?}");
}

#[test]
fn leads_that_were_not_zeroed_add_to_what_is_shown() {
    let circuit = circuit(LEAD_AND_WINDING);
    let model = Model::new(&circuit, &BTreeMap::new());
    let likelihood = |zeroed: bool, ohm: f64| {
        let mut reading = value("B1", "H", ohm);
        reading.meter = serde_json::from_value(serde_json::json!({"zeroed": zeroed})).ok();
        Weighed::new(&model, &[reading], &[], Mistakes::usual(0.02), 0.01).likelihood[0]
    };

    assert!(likelihood(false, 0.32) > 2.0 * likelihood(false, 0.02), "not zeroed");
    assert!(likelihood(true, 0.02) > 2.0 * likelihood(true, 0.32), "zeroed");
}

#[test]
fn whether_an_overload_is_open_is_asked_at_every_scale_of_alike_parts() {
    // The winding's own value is unknown within a factor of four; the reading is near the upper
    // end. At the lowest scale it fits neither, and an open overload no worse; at the one that
    // fits, the value says that the overload is closed.
    let text = LEAD_AND_WINDING
        .replace("kind = \"lead\"", "kind = \"overload\"")
        .replace(
            "effect = \"open\", prior = 0.05",
            "effect = \"open_hot\", passing = true, prior = 0.05",
        )
        .replace(
            "ohm = 2.5",
            "ohm = 2.5\nalike = \"windings\"\ntolerance_pct = 150\nspec_tolerance_pct = 4",
        );
    let circuit = circuit(&text);
    let model = Model::new(&circuit, &BTreeMap::new());
    let readings = [reading("B1", "B2", &[], "10")];
    let weighed = Weighed::new(&model, &readings, &[], Mistakes::usual(0.02), 0.01);
    let hot = model.faults.iter().position(|fault| fault.passing).expect("the overload");
    let setup = Prepared::setup_of(&model, &readings[0]);
    let open = weighed.open_chance_now(2 + hot, &setup).expect("it was read in this state");
    assert!(weighed.scale_weights.len() > 1, "the windings are alike");
    let at_lowest =
        [Cells::open, Cells::closed].map(|column| column(&weighed.cells, 0, 0)[2 + hot]);
    assert!(at_lowest[0] > at_lowest[1], "there it speaks for open: {at_lowest:?}");
    assert!(open < 0.25 * weighed.occasions[0].open_chance, "{open}");
    let other = Setup { stopped_min: Some(1.0), ..setup };
    assert_eq!(weighed.open_chance_now(2 + hot, &other), None);
}
