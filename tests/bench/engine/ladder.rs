//! Ladder-like circuits of any size, as circuit files, with readings on them.
//!
//! Belongs here: making the text and the readings. Does not belong here: measuring.

use std::error::Error;
use std::fmt::Write as _;

use engine::case::{CASE_FORMAT, Case, Power, Reading};
use engine::circuit::Circuit;
use engine::survey;
use engine::units::Quantity;
use engine::verdict::PlannedReading;

/// Connectors that can be lifted: with nothing lifted this makes five conditions.
const CONNECTORS: usize = 4;
/// Readings taken in each condition.
const READINGS: usize = 4;

/// A circuit read from its text, and twenty readings on it in five conditions.
pub(crate) struct Ladder {
    pub(crate) text: String,
    pub(crate) circuit: Circuit,
    pub(crate) case: Case,
}

/// A small seeded sequence (the multiplier and increment of Knuth's MMIX generator).
struct Seeded(u64);

impl Seeded {
    fn below(&mut self, end: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % end
    }
}

impl Ladder {
    /// `points` points, the shell among them: leads and windings in turn along a spine, a rung
    /// for every third, four plugs in the spine.
    pub(crate) fn new(points: usize, seed: u64) -> Result<Self, Box<dyn Error>> {
        let mut seeded = Seeded(seed);
        let text = text(points, &mut seeded)?;
        let circuit = engine::circuit_file::parse("ladder.toml", &text)?;
        let case = case(&circuit, &text, &mut seeded);
        Ok(Ladder { text, circuit, case })
    }
}

fn text(points: usize, seeded: &mut Seeded) -> Result<String, std::fmt::Error> {
    let mut text = String::from(
        "format = 1\nname = \"ladder\"\ntitle = \"Ladder\"\nabout = \"For measuring.\"\nshell = \"p0\"\n\
         [[places]]\nid = \"panel\"\nlabel = \"panel\"\nminutes = 1\n\
         [[places]]\nid = \"motor\"\nlabel = \"motor\"\nminutes = 6\n",
    );
    for point in 0..points {
        let place = if point * 2 < points { "panel" } else { "motor" };
        writeln!(
            text,
            "[[points]]\nid = \"p{point}\"\nlabel = \"point {point}\"\nplace = \"{place}\"\nat = [{point}, 0]"
        )?;
    }
    let mut parts: Vec<(usize, usize, bool)> =
        (2..points).map(|to| (to - 1, to, to % 3 == 0)).collect();
    parts.extend((1..points / 3).map(|_| {
        let from = 1 + seeded.below(points - 4);
        (from, from + 2 + seeded.below(2), true)
    }));
    for (index, &(from, to, winding)) in parts.iter().enumerate() {
        let (kind, ohm) =
            if winding { ("winding", 0.4 + 0.1 * seeded.below(90) as f64) } else { ("lead", 0.02) };
        // Pairs of likely modes pass the cut of the hypothesis set, pairs of rare ones do not.
        let series = if index % 2 == 0 { 0.0009 } else { 0.0002 };
        let more = if winding { "insulation_megohm = 600\ncopper = true\n" } else { "" };
        let ground = if winding {
            ", { id = \"ground\", label = \"grounded\", effect = \"to_shell\", prior = 0.0002, sizes = [2e3] }"
        } else {
            ""
        };
        writeln!(
            text,
            "[[components]]\nid = \"c{index}\"\nlabel = \"component {index}\"\n\
             [[parts]]\nid = \"q{index}\"\nlabel = \"part {index}\"\ncomponent = \"c{index}\"\n\
             kind = \"{kind}\"\nbetween = [\"p{from}\", \"p{to}\"]\nohm = {ohm:.2}\n{more}\
             modes = [{{ id = \"open\", label = \"open\", effect = \"open\", prior = 0.004 }}, \
             {{ id = \"high\", label = \"high\", effect = \"series\", prior = {series}, sizes = [3, 30] }}{ground}]"
        )?;
    }
    for connector in 0..CONNECTORS {
        let part = (points - 2) * (connector + 1) / (CONNECTORS + 1);
        writeln!(
            text,
            "[[connectors]]\nid = \"plug{connector}\"\nlabel = \"plug {connector}\"\nplace = \"panel\"\n\
             minutes = 1\nopens = [\"q{part}\"]"
        )?;
    }
    Ok(text)
}

/// Readings as a sound meter takes them while one part is open.
fn case(circuit: &Circuit, text: &str, seeded: &mut Seeded) -> Case {
    let faults = survey::faults(circuit);
    let fault = &faults[seeded.below(faults.len())];
    let mut readings = Vec::new();
    let points = circuit.points.len();
    for condition in 0..=CONNECTORS {
        let lifted: Vec<String> =
            (condition > 0).then(|| format!("plug{}", condition - 1)).into_iter().collect();
        while readings.len() < READINGS * (condition + 1) {
            let (from, to) = (1 + seeded.below(points - 1), 1 + seeded.below(points - 1));
            if from == to {
                continue;
            }
            let planned = PlannedReading {
                quantity: Quantity::Resistance,
                from: format!("p{from}"),
                to: format!("p{to}"),
                lifted: lifted.clone(),
                state: None,
                low_impedance: false,
                label: String::new(),
            };
            let Some(shown) = survey::shown(circuit, Some(fault), &planned) else { continue };
            readings.push(Reading {
                id: format!("r{}", readings.len() + 1),
                quantity: planned.quantity,
                from: planned.from,
                to: planned.to,
                lifted: planned.lifted,
                power: Power::Off,
                state: None,
                shown,
                part_temp_c: Some(25.0),
                stopped_min: Some(300.0),
                meter: None,
            });
        }
    }
    Case {
        format: CASE_FORMAT,
        title: None,
        circuit: circuit.name.clone(),
        circuit_text: Some(text.to_owned()),
        specs: std::collections::BTreeMap::new(),
        claim: None,
        readings,
        observations: Vec::new(),
        policy: None,
        rates: None,
    }
}
