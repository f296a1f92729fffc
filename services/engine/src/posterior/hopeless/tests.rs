//! What is left out moves nothing: shares with the hopeless left out against shares in full, on
//! ladders drawn at random and on the circuits that ship, with every piece and occasion missing.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::super::Weighed;
use super::*;
use crate::case::{Observation, Reading};
use crate::circuit::Circuit;
use crate::circuit_file;
use crate::likelihood::{Mistakes, reachable};
use crate::model::Model;
use crate::survey;
use crate::units::Quantity;
use crate::verdict::PlannedReading;

const RATE: f64 = 0.02;
const UNKNOWN: f64 = 0.01;
/// Readings of one job, and jobs on each circuit.
const READINGS: usize = 16;
const JOBS: u64 = 3;
/// All shares together move by less than the sixth decimal, which is the last that is told.
const MOVED_MAX: f64 = 2e-7;

/// A small seeded sequence (the multiplier and increment of Knuth's MMIX generator).
struct Seeded(u64);

impl Seeded {
    fn below(&mut self, end: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % end
    }
}

/// Leads and windings in turn along a spine, rungs drawn at random, two plugs; some windings may
/// be grounded, shorted turn to turn or open on heat.
fn ladder(points: usize, seeded: &mut Seeded) -> Circuit {
    let mut text = String::from(
        "format = 1\nname = \"ladder\"\ntitle = \"Ladder\"\nabout = \"For a test.\"\nshell = \"p0\"\n\
         [[places]]\nid = \"panel\"\nlabel = \"panel\"\nminutes = 1\n",
    );
    for point in 0..points {
        writeln!(
            text,
            "[[points]]\nid = \"p{point}\"\nlabel = \"point {point}\"\nplace = \"panel\"\nat = [{point}, 0]"
        )
        .unwrap();
    }
    let mut parts: Vec<(usize, usize, bool)> =
        (2..points).map(|to| (to - 1, to, to % 3 == 0)).collect();
    parts.extend((0..points / 3).map(|_| {
        let from = 1 + seeded.below(points - 3);
        (from, from + 2, seeded.below(2) == 0)
    }));
    for (index, &(from, to, winding)) in parts.iter().enumerate() {
        let (kind, ohm, more, mode) = if winding {
            (
                "winding",
                0.4 + 0.1 * seeded.below(90) as f64,
                "insulation_megohm = 600\ncopper = true\n",
                match seeded.below(3) {
                    0 => "effect = \"to_shell\", prior = 0.004, sizes = [2e3, 2e5]",
                    1 => "effect = \"fraction\", prior = 0.004, sizes = [0.6, 0.9]",
                    _ => "effect = \"series\", prior = 0.004, sizes = [30]",
                },
            )
        } else {
            ("lead", 0.02, "", "effect = \"series\", prior = 0.003, sizes = [3, 30]")
        };
        writeln!(
            text,
            "[[components]]\nid = \"c{index}\"\nlabel = \"component {index}\"\n\
             [[parts]]\nid = \"q{index}\"\nlabel = \"part {index}\"\ncomponent = \"c{index}\"\n\
             kind = \"{kind}\"\nbetween = [\"p{from}\", \"p{to}\"]\nohm = {ohm:.2}\n{more}\
             modes = [{{ id = \"open\", label = \"open\", effect = \"open\", prior = 0.01 }}, \
             {{ id = \"other\", label = \"otherwise\", {mode} }}]"
        )
        .unwrap();
    }
    for connector in 0..2 {
        let part = (points - 2) * (connector + 1) / 3;
        writeln!(
            text,
            "[[connectors]]\nid = \"plug{connector}\"\nlabel = \"plug {connector}\"\nplace = \"panel\"\n\
             minutes = 1\nopens = [\"q{part}\"]"
        )
        .unwrap();
    }
    circuit_file::parse("ladder.toml", &text).expect("the circuit of this test is valid")
}

/// Readings while one fault or another is there, in occasions that take turns, and a sign.
fn job(
    circuit: &Circuit,
    model: &Model<'_>,
    seeded: &mut Seeded,
) -> (Vec<Reading>, Vec<Observation>) {
    let faults = survey::faults(circuit);
    let fault = &faults[seeded.below(faults.len())];
    let mut readings: Vec<Reading> = Vec::new();
    for _ in 0..40 * READINGS {
        if readings.len() == READINGS {
            break;
        }
        let lifted: Vec<String> = match seeded.below(1 + circuit.connectors.len()) {
            0 => Vec::new(),
            one => vec![circuit.connectors[one - 1].id.clone()],
        };
        let out = model.lifted(&lifted);
        let reached: Vec<usize> =
            (0..circuit.points.len()).filter(|&point| reachable(model, point, &out)).collect();
        if reached.len() < 2 {
            continue;
        }
        let [from, to] = [0, 1].map(|_| reached[seeded.below(reached.len())]);
        let quantity = match seeded.below(6) {
            0 => Quantity::Insulation,
            1 => Quantity::Capacitance,
            _ => Quantity::Resistance,
        };
        let planned = PlannedReading {
            quantity,
            from: circuit.points[from].id.clone(),
            to: circuit.points[to].id.clone(),
            lifted,
            state: None,
            low_impedance: false,
            label: String::new(),
        };
        // Now and then what another fault would have shown.
        let seen = if seeded.below(8) == 0 { &faults[seeded.below(faults.len())] } else { fault };
        if from != to
            && let Some(shown) = survey::shown(circuit, Some(seen), &planned)
        {
            let reading = serde_json::json!({
                "id": format!("r{}", readings.len()), "quantity": planned.quantity,
                "from": planned.from, "to": planned.to, "lifted": planned.lifted,
                "power": "off", "shown": shown,
                "part_temp_c": if seeded.below(2) == 0 { Some(25.0) } else { None },
            });
            readings.push(serde_json::from_value(reading).expect("a reading"));
        }
    }
    let signs = circuit.signs.iter().take(2).map(|sign| Observation {
        id: sign.id.clone(),
        sign: sign.id.clone(),
        present: seeded.below(2) == 0,
    });
    let signs = signs.collect();
    (readings, signs)
}

/// The posterior in the order of the hypotheses in full.
fn in_order(weighed: &Weighed<'_, '_>, order: &[Kind]) -> Vec<f64> {
    let place = |kind: Kind| match kind {
        Kind::Sound => (0, 0),
        Kind::Unknown => (1, 0),
        Kind::Single(one) => (2 + one, 0),
        Kind::Double(one, two) => (2 + one, 1 + two),
    };
    let known: BTreeMap<(usize, usize), f64> = (weighed.hypotheses.all.iter())
        .zip(&weighed.posterior)
        .map(|(hypothesis, share)| (place(hypothesis.kind), *share))
        .collect();
    order.iter().map(|&kind| known.get(&place(kind)).copied().unwrap_or(0.0)).collect()
}

/// How many double faults are left out.
fn compare(circuit: &Circuit, seeded: &mut Seeded) -> usize {
    let model = Model::new(circuit, &BTreeMap::new());
    let (readings, signs) = job(circuit, &model, seeded);
    let usual = || Mistakes::usual(RATE);
    let mut full = Weighed::in_full(&model, &readings, &signs, usual(), UNKNOWN);
    let mut less = Weighed::new(&model, &readings, &signs, usual(), UNKNOWN);
    let order: Vec<Kind> = full.hypotheses.all.iter().map(|hypothesis| hypothesis.kind).collect();
    let pieces = readings.len() + signs.len();
    let mut kept = vec![vec![true; pieces]];
    kept.extend((0..pieces).map(|piece| (0..pieces).map(|known| known != piece).collect()));
    let occasions = full.occasions();
    if occasions.len() > 1 {
        let without = |occasion: &Vec<usize>| {
            (0..pieces).map(|known| !occasion.contains(&known)).collect::<Vec<bool>>()
        };
        kept.extend(occasions.iter().map(without));
    }
    for kept in kept {
        let keeps = |piece: usize| kept[piece];
        let full = full.with_only(&keeps, |full| in_order(full, &order));
        let less = less.with_only(&keeps, |less| in_order(less, &order));
        let off: f64 = full.iter().zip(&less).map(|(one, two)| (one - two).abs()).sum();
        assert!(off < MOVED_MAX, "{}: {off:e} with {kept:?} of {readings:#?}", circuit.name);
    }
    less.hypotheses.hopeless
}

#[test]
fn what_is_left_out_of_ladders_moves_no_share() {
    let mut left_out = 0;
    for seed in 0..12 {
        let mut seeded = Seeded(seed);
        let circuit = ladder(10 + seeded.below(8), &mut seeded);
        left_out += compare(&circuit, &mut seeded);
    }
    assert!(left_out > 500, "only {left_out} were left out");
}

#[test]
fn what_is_left_out_of_circuits_that_ship_moves_no_share() {
    let mut left_out = 0;
    for shipped in circuit_file::shipped() {
        let circuit = circuit_file::parse(shipped.name, shipped.text).expect("it ships");
        for job in 0..JOBS {
            left_out += compare(&circuit, &mut Seeded(job));
        }
    }
    assert!(left_out > 200, "only {left_out} were left out");
}
