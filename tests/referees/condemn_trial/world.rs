//! What is true of a unit: its values, its fault, its wiring, its heat.
//!
//! Belongs here: the true rates, deliberately other than the engine's, and drawing a unit by
//! them. Does not belong here: how it is measured.

use std::collections::BTreeMap;

use engine::circuit::{Circuit, Effect, PartKind};

use super::random::{between, normal, number_of, seed_of, weighted};
use super::wiring::{TrueFault, Wiring};
use crate::seeded::Seeded;

/// Share of jobs with a hot motor and a good winding, where the circuit has an overload.
pub(super) const HOT: f64 = 0.15;
/// Share of jobs with nothing wrong.
pub(super) const SOUND: f64 = 0.13;
/// Share of jobs whose fault no circuit file knows: two points bridged.
pub(super) const BRIDGED: f64 = 0.03;
/// Share of faults in leads, plugs and terminals.
pub(super) const WIRING_FAULTS: f64 = 0.40;
/// Share of faults that come with a second one.
pub(super) const SECOND: f64 = 0.04;
/// Share of units wired unlike the drawing.
pub(super) const MISWIRED: f64 = 0.03;
/// Share of open or resistive leads, contacts and switches that come and go.
pub(super) const INTERMITTENT: f64 = 0.25;
/// Makes per topology, each with its own values.
pub(super) const MAKES: usize = 1;
/// Spread (natural log) by which true priors differ from the file's.
const PRIOR_SPREAD: f64 = 0.5;

/// True weights of a topology's faults, sizes aside: (part, mode, weight).
pub(super) fn weights(circuit: &Circuit) -> Vec<(usize, usize, f64)> {
    let mut random = Seeded::new(seed_of(&[number_of(&circuit.name), 7]));
    let mut found: Vec<(usize, usize, f64)> = Vec::new();
    for (part, spec) in circuit.parts.iter().enumerate() {
        for (mode, known) in spec.modes.iter().enumerate() {
            let factor = (PRIOR_SPREAD * normal(&mut random)).exp();
            if !known.passing {
                found.push((part, mode, known.prior * factor));
            }
        }
    }
    let is_wiring = |part: usize| is_wiring(circuit, part);
    for wiring in [true, false] {
        let sum: f64 =
            found.iter().filter(|(part, ..)| is_wiring(*part) == wiring).map(|(.., w)| w).sum();
        let share = if wiring { WIRING_FAULTS } else { 1.0 - WIRING_FAULTS };
        for (part, _, weight) in &mut found {
            if is_wiring(*part) == wiring {
                *weight *= share / sum;
            }
        }
    }
    found
}

/// Whether a part is a lead, a plug's contact or a terminal.
pub(super) fn is_wiring(circuit: &Circuit, part: usize) -> bool {
    matches!(circuit.parts[part].kind, PartKind::Lead | PartKind::Contact)
}

/// A make: the values its units are built to, by part.
#[derive(Clone, Debug)]
pub(super) struct Make {
    pub(super) ohm: Vec<f64>,
    pub(super) microfarad: Vec<f64>,
}

/// The makes of a topology.
pub(super) fn makes(circuit: &Circuit) -> Vec<Make> {
    (0..MAKES)
        .map(|make| {
            let mut random = Seeded::new(seed_of(&[number_of(&circuit.name), 11, make as u64]));
            let mut alike: BTreeMap<&str, f64> = BTreeMap::new();
            let mut values = Make { ohm: Vec::new(), microfarad: Vec::new() };
            for part in &circuit.parts {
                let family = part.tolerance_pct.unwrap_or(10.0) / 100.0;
                // Narrower than the file's and cut off: makers build what the file knows of.
                let drawn = (0.35 * family * normal(&mut random).clamp(-2.0, 2.0)).exp();
                let factor = match &part.alike {
                    Some(word) => *alike.entry(word.as_str()).or_insert(drawn),
                    None => drawn,
                };
                let harness = random.decades(0.4, 2.5);
                let factor = match part.kind {
                    PartKind::Lead | PartKind::Contact => harness,
                    _ => factor,
                };
                values.ohm.push(two_figures(part.ohm.unwrap_or(0.0) * factor));
                let size = random.one_of(&[0.875, 1.0, 1.0, 1.25]);
                values.microfarad.push(two_figures(part.microfarad.unwrap_or(0.0) * size));
            }
            values
        })
        .collect()
}

fn two_figures(value: f64) -> f64 {
    if value <= 0.0 {
        return value;
    }
    let step = 10f64.powf(value.log10().floor() - 1.0);
    (value / step).round() * step
}

/// A unit with what is true of it.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    pub(super) seed: u64,
    pub(super) make: usize,
    pub(super) wiring: Wiring,
    pub(super) faults: Vec<TrueFault>,
    /// Faults that come and go, with the chance of showing.
    pub(super) intermittent: Option<f64>,
    /// Faults to the shell that an ohmmeter's volt does not break down.
    pub(super) hidden_ground: bool,
    /// The overload and the minutes after stopping at which it closes.
    pub(super) hot: Option<(usize, f64)>,
    pub(super) miswired: bool,
    pub(super) bridged: bool,
    /// Components with a fault, by index.
    pub(super) faulty: Vec<usize>,
    /// By sign.
    pub(super) signs: Vec<bool>,
    pub(super) celsius: f64,
    pub(super) stopped_min: f64,
    /// Of the technician's voltmeter, ohm.
    pub(super) voltmeter_ohm: f64,
    /// Specs that the nameplate tells, by part.
    pub(super) plate: Vec<(usize, f64)>,
    /// In words, for looking at single jobs.
    pub(super) story: String,
}

/// Draws unit number `number` of a topology.
pub(super) fn unit(
    circuit: &Circuit,
    powered: bool,
    makes: &[Make],
    seed: u64,
    number: usize,
) -> Unit {
    let seed = seed_of(&[seed, number_of(&circuit.name), number as u64]);
    let mut random = Seeded::new(seed);
    let make = random.below(MAKES);
    let mut wiring = Wiring::nominal(circuit);
    let plate_readable = random.chance(0.6);
    let mut plate = Vec::new();
    for (part, spec) in circuit.parts.iter().enumerate() {
        let branch = &mut wiring.branches[part];
        let own = spec.spec_tolerance_pct.unwrap_or(10.0) / 100.0;
        let wide = if random.chance(0.04) { 2.0 } else { 1.0 };
        let deviation = 1.0 + wide * 0.6 * own * normal(&mut random).clamp(-2.5, 2.5);
        match spec.kind {
            PartKind::Lead | PartKind::Contact => {
                branch.ohm = makes[make].ohm[part] * random.decades(0.6, 2.0);
            }
            PartKind::Capacitor => {
                let label = makes[make].microfarad[part];
                // A good capacitor keeps its label's promise.
                branch.microfarad =
                    label * (1.0 + 0.4 * own * normal(&mut random)).clamp(0.945, 1.055);
                plate.push((part, label));
            }
            PartKind::Source => branch.volt *= between(&mut random, 0.95, 1.05),
            PartKind::Mechanism => {}
            PartKind::Winding | PartKind::Coil | PartKind::Heater => {
                let built = makes[make].ohm[part];
                branch.ohm = built * deviation;
                if plate_readable {
                    plate.push((part, built));
                }
            }
            _ => branch.ohm = makes[make].ohm[part].max(1e-3) * random.decades(0.7, 1.5),
        }
        branch.leak_ohm = branch.leak_ohm.map(|ohm| ohm * normal(&mut random).exp());
    }
    let mut unit = Unit {
        seed,
        make,
        wiring,
        faults: Vec::new(),
        intermittent: None,
        hidden_ground: random.chance(0.5),
        hot: None,
        miswired: false,
        bridged: false,
        faulty: Vec::new(),
        signs: Vec::new(),
        celsius: between(&mut random, 10.0, 35.0),
        stopped_min: random.decades(100.0, 900.0).round(),
        voltmeter_ohm: 1e7,
        plate,
        story: String::new(),
    };
    if random.chance(0.35) {
        unit.stopped_min = between(&mut random, 5.0, 60.0).round();
        unit.celsius += between(&mut random, 8.0, 28.0);
    }
    under_power(&mut unit, &mut Seeded::new(seed_of(&[seed, 17])));
    went_wrong(circuit, powered, &mut unit, &mut random);
    miswire(circuit, powered, &mut unit, &mut random);
    signs(circuit, &mut unit, &mut random);
    unit
}

/// What only shows under power: impedances by load and make, strays, what pulls in where.
fn under_power(unit: &mut Unit, random: &mut Seeded) {
    for branch in &mut unit.wiring.branches {
        branch.more = [random.decades(0.85, 1.2), random.decades(0.88, 1.15)];
        branch.source_ohm *= random.decades(0.5, 2.0);
        if let Some((_, pull_in_volt)) = &mut branch.driver {
            *pull_in_volt *= between(random, 0.8, 1.08);
        }
    }
    for (.., farad) in &mut unit.wiring.stray {
        *farad *= random.decades(0.2, 5.0);
    }
    unit.wiring.starts_at = between(random, 0.2, 0.5);
    if random.chance(0.15) {
        unit.voltmeter_ohm = random.decades(2.5e3, 6e3);
    }
}

fn went_wrong(circuit: &Circuit, powered: bool, unit: &mut Unit, random: &mut Seeded) {
    let overloads: Vec<usize> = (0..circuit.parts.len())
        .filter(|&part| circuit.parts[part].modes.iter().any(|m| m.effect == Effect::OpenHot))
        .collect();
    let overload = match overloads[..] {
        [] | [_] => overloads.first().copied(),
        _ => Some(random.one_of(&overloads)),
    };
    let draw = random.unit();
    let hot = if overload.is_some() { HOT } else { 0.0 };
    if draw < hot {
        let rest_min = rest_of(circuit);
        unit.celsius = between(random, 72.0, 115.0);
        unit.stopped_min = between(random, 3.0, 0.25 * rest_min).round();
        unit.hot = overload.map(|part| (part, rest_min * between(random, 0.35, 0.9)));
        unit.story.push_str("hot overload; ");
        return;
    }
    if draw < hot + SOUND {
        unit.story.push_str("nothing wrong; ");
        return;
    }
    if draw < hot + SOUND + BRIDGED && bridge(circuit, powered, unit, random) {
        return;
    }
    fault(circuit, powered, unit, random);
    if random.chance(SECOND) {
        fault(circuit, powered, unit, random);
    }
    let flighty = unit.faults.iter().any(|fault| {
        matches!(fault.effect, Effect::Open | Effect::Series)
            && matches!(
                circuit.parts[fault.part].kind,
                PartKind::Lead | PartKind::Contact | PartKind::Switch
            )
    });
    if flighty && random.chance(INTERMITTENT) {
        unit.intermittent = Some(between(random, 0.4, 0.85));
        unit.story.push_str("comes and goes; ");
    }
}

/// Minutes that the file asks for before an overload must have closed.
pub(super) fn rest_of(circuit: &Circuit) -> f64 {
    circuit
        .checks
        .iter()
        .find_map(|check| match check {
            engine::circuit::CheckSpec::OverloadCooling { rest_min, .. } => Some(*rest_min),
            _ => None,
        })
        .unwrap_or(180.0)
}

fn component_of(circuit: &Circuit, part: usize) -> usize {
    circuit
        .components
        .iter()
        .position(|component| component.id == circuit.parts[part].component)
        .unwrap_or(0)
}

fn fault(circuit: &Circuit, powered: bool, unit: &mut Unit, random: &mut Seeded) {
    let weights = weights(circuit);
    let drawn = weighted(random, &weights.iter().map(|(.., weight)| *weight).collect::<Vec<_>>());
    let (part, mode, _) = weights[drawn];
    if unit.faults.iter().any(|known| known.part == part) {
        return;
    }
    let spec = &circuit.parts[part];
    let effect = spec.modes[mode].effect;
    let written = &spec.modes[mode].sizes;
    let size = match (effect, spec.kind) {
        // Near what the file says and not at it: a worn contact is no broken wire.
        (Effect::Series | Effect::Fraction, kind)
            if powered && kind != PartKind::Capacitor && !written.is_empty() =>
        {
            random.one_of(written) * random.decades(0.6, 1.6)
        }
        (Effect::Series, PartKind::Capacitor) => random.decades(0.1, 3.0),
        (Effect::Series, _) => random.decades(0.7, 600.0),
        (Effect::ToShell, _) => random.decades(0.3, 1e6),
        (Effect::Fraction, PartKind::Capacitor) if spec.modes[mode].sizes == [0.0] => 0.0,
        (Effect::Fraction, PartKind::Capacitor) => between(random, 0.08, 0.91),
        (Effect::Fraction, _) => between(random, 0.08, 0.85),
        (Effect::SourceFraction, _) if spec.modes[mode].sizes == [0.0] => 0.0,
        (Effect::SourceFraction, _) => between(random, 0.55, 0.88),
        _ => 0.0,
    };
    unit.faults.push(TrueFault { part, effect, size });
    unit.faulty.push(component_of(circuit, part));
    unit.story.push_str(&format!("{}.{} {size:.3}; ", spec.id, spec.modes[mode].id));
}

/// Two neighbouring points of one place touch: no file lists it. It is put down to whoever
/// owns a lead there.
fn bridge(circuit: &Circuit, powered: bool, unit: &mut Unit, random: &mut Seeded) -> bool {
    let islands = unit.wiring.islands();
    let leads: Vec<usize> = (0..circuit.parts.len())
        .filter(|&part| circuit.parts[part].kind == PartKind::Lead)
        .collect();
    for _ in 0..40 {
        let (first, second) = (random.one_of(&leads), random.one_of(&leads));
        let ends = |part: usize| unit.wiring.branches[part].ends.unwrap_or([0, 0]);
        let (a, b) = (ends(first)[1], ends(second)[1]);
        let place = |point: usize| circuit.points[point].place.as_ref();
        let tells = !powered || islands.are(a, b);
        if a != b && place(a).is_some() && place(a) == place(b) && tells {
            unit.wiring.bridge = Some((a, b, random.decades(0.05, 50.0)));
            unit.bridged = true;
            unit.faulty = vec![component_of(circuit, first), component_of(circuit, second)];
            unit.story.push_str(&format!(
                "{} and {} touch; ",
                circuit.points[a].id, circuit.points[b].id
            ));
            return true;
        }
    }
    false
}

/// Two leads of one harness change places at their far ends.
fn miswire(circuit: &Circuit, powered: bool, unit: &mut Unit, random: &mut Seeded) {
    if !random.chance(MISWIRED) {
        return;
    }
    let islands = unit.wiring.islands();
    // Of one cable: both ends side by side, and no line voltage on a 24 V wire.
    let one_cable = |a: [usize; 2], b: [usize; 2]| {
        let place = |point: usize| circuit.points[point].place.as_ref();
        place(a[0]) == place(b[0]) && place(a[1]) == place(b[1]) && islands.are(a[0], b[0])
    };
    let leads: Vec<usize> = (0..circuit.parts.len())
        .filter(|&part| circuit.parts[part].kind == PartKind::Lead)
        .collect();
    for _ in 0..40 {
        let (first, second) = (random.one_of(&leads), random.one_of(&leads));
        let same_harness = circuit.parts[first].component == circuit.parts[second].component;
        let (Some(a), Some(mut b)) =
            (unit.wiring.branches[first].ends, unit.wiring.branches[second].ends)
        else {
            continue;
        };
        if powered && !one_cable(a, b) {
            // Drawn the other way round it may be the same cable yet.
            b.reverse();
            if !one_cable(a, b) {
                continue;
            }
        }
        if first == second || !same_harness || a[1] == b[1] || a[0] == b[1] || b[0] == a[1] {
            continue;
        }
        unit.wiring.branches[first].ends = Some([a[0], b[1]]);
        unit.wiring.branches[second].ends = Some([b[0], a[1]]);
        unit.miswired = true;
        unit.story.push_str(&format!(
            "{} and {} swapped; ",
            circuit.parts[first].id, circuit.parts[second].id
        ));
        return;
    }
}

fn signs(circuit: &Circuit, unit: &mut Unit, random: &mut Seeded) {
    for sign in &circuit.signs {
        // A look misses one swap in five.
        if sign.id == "wires_as_drawn" {
            unit.signs.push(!unit.miswired || random.chance(0.2));
            continue;
        }
        if sign.id.contains("label") {
            unit.signs.push(!unit.miswired || random.chance(0.5));
            continue;
        }
        let mut absent: f64 = if sign.explained_by.is_empty() {
            1.0 - sign.otherwise
        } else {
            1.0 - (2.0 * sign.otherwise).min(0.5)
        };
        let mut at_work: Vec<(usize, Effect)> =
            unit.faults.iter().map(|fault| (fault.part, fault.effect)).collect();
        at_work.extend(unit.hot.map(|(part, _)| (part, Effect::OpenHot)));
        for (part, effect) in at_work {
            let part = &circuit.parts[part];
            for explains in sign.explained_by.iter().filter(|known| known.part == part.id) {
                let fits = explains.mode.as_ref().is_none_or(|id| {
                    part.modes.iter().any(|mode| mode.id == *id && mode.effect == effect)
                });
                if fits {
                    absent *= 1.0 - 0.85 * explains.chance;
                }
            }
        }
        unit.signs.push(random.chance(1.0 - absent));
    }
}
