//! What a sound meter would show on a circuit with given faults.
//!
//! Belongs here: setting up the network for one way of measuring and solving it. Does not
//! belong here: meter error, tolerance and mistakes ([`crate::likelihood`]).

use crate::circuit::{Effect, PartKind, Rest};
use crate::diode;
use crate::direct;
use crate::model::{Fault, Model, PartValues, REFERENCE_C};
use crate::network::Network;
use crate::powered;
use crate::units::Quantity;

pub(crate) mod many;
pub(crate) mod spread;

/// Copper's resistance is proportional to (234.5 + °C) (IEC 60034-1, IEEE 112 practice;
/// wording from memory).
const COPPER_C: f64 = 234.5;
/// A direct path under this spoils a capacitance reading, ohm (common practice, no source).
pub(crate) const CAPACITANCE_PATH_OHM: f64 = 1e5;

/// A path that empties a capacitor slower than this leaves its reading alone, seconds (common
/// practice, no source).
const BLEEDS_SECONDS: f64 = 0.5;
/// What an insulation tester sees between points that nothing joins, ohm: damp and dust leak
/// everywhere, so that a value there is unusual and not impossible (common practice, no source).
const AIR_OHM: f64 = 1e10;

/// More than this between probe and tab and a capacitance meter's current no longer gets
/// through in time, ohm (common practice, no source).
const REACHES_OHM: f64 = 100.0;

/// One way of measuring: where, what is lifted, how warm.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Setup {
    pub(crate) quantity: Quantity,
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Connector indices, sorted.
    pub(crate) lifted: Vec<usize>,
    /// Under power: the index of the circuit's state.
    pub(crate) state: Option<usize>,
    /// The voltmeter is one of low impedance.
    pub(crate) low_impedance: bool,
    pub(crate) part_temp_c: Option<f64>,
    pub(crate) stopped_min: Option<f64>,
}

impl Setup {
    /// Between two points with nothing lifted, power off, warmth and rest unknown.
    #[cfg(test)]
    pub(crate) fn between(quantity: Quantity, from: usize, to: usize) -> Self {
        Setup {
            quantity,
            from,
            to,
            lifted: Vec::new(),
            state: None,
            low_impedance: false,
            part_temp_c: None,
            stopped_min: None,
        }
    }

    /// The points that a meter of low impedance joins by being there.
    pub(crate) fn meter(&self) -> Option<(usize, usize)> {
        (self.low_impedance && self.quantity == Quantity::Voltage).then_some((self.from, self.to))
    }
}

/// What would be shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Predicted {
    /// This value in the quantity's base unit.
    Value(f64),
    /// Anything up to this many volts: under power between points that nothing joins, or what
    /// may be left on a link once the supply is off.
    Ghost { up_to: f64 },
    /// No direct path; `charging` when a capacitor takes the meter's current at first.
    NoPath { charging: bool },
    /// The model says nothing about this way of measuring.
    Nothing,
}

/// Copper's factor from [`REFERENCE_C`] to `celsius`.
///
/// ```
/// // Published factor from 25 °C: 75 °C → 1.193 (a motor reference's table).
/// assert!((engine::predict::copper_factor(75.0) - 1.193).abs() < 0.001);
/// ```
pub fn copper_factor(celsius: f64) -> f64 {
    (COPPER_C + celsius) / (COPPER_C + REFERENCE_C)
}

/// What the network is asked for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Paths {
    /// Every direct path, insulation included.
    Direct,
    /// Parts and capacitors without insulation: where a meter's current can go at first.
    Charging,
}

/// Resistance of a part with power off under its faults; `None` where it conducts nothing.
/// Copper is `warm` times its nominal, alike parts `scale` times.
fn branch_ohm<'f>(
    part: &PartValues,
    faults: impl Iterator<Item = &'f Fault>,
    scale: f64,
    warm: f64,
    paths: Paths,
) -> Option<f64> {
    let mut ohm = match part.kind {
        PartKind::Capacitor if paths == Paths::Charging => Some(1e3),
        PartKind::Capacitor | PartKind::Source | PartKind::Mechanism | PartKind::Diode => None,
        PartKind::Switch if part.rest == Rest::Open => None,
        _ => {
            let scaled = if part.scaled { part.ohm * scale } else { part.ohm };
            Some(if part.copper { scaled * warm } else { scaled })
        }
    };
    for fault in faults {
        ohm = match (fault.effect, part.kind) {
            (Effect::Open | Effect::OpenHot, _) => None,
            // What is shorted conducts what its fault says.
            (Effect::Series, PartKind::Capacitor | PartKind::Diode) => Some(fault.size),
            (Effect::StuckClosed, PartKind::Switch) => Some(part.ohm),
            (Effect::Series, _) => ohm.map(|ohm| ohm + fault.size),
            (Effect::Fraction, PartKind::Capacitor) if fault.size == 0.0 => None,
            (Effect::Fraction, PartKind::Capacitor) => ohm,
            (Effect::Fraction, _) => ohm.map(|ohm| (ohm * fault.size).max(1e-4)),
            _ => ohm,
        };
    }
    ohm
}

/// What a fault does to the conductance between joints with power off. Resistances between any two
/// joints then rise, or fall, all of them or none (Rayleigh's monotonicity law).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Conducts {
    Less,
    More,
    /// The part conducts less, and joints are joined.
    Either,
    Same,
}

/// What a fault does so, wherever its part is not lifted out; there it does nothing or the same.
pub(crate) fn conducts(model: &Model<'_>, fault: &Fault) -> Conducts {
    let part = &model.parts[fault.part];
    let siemens = |fault: Option<&Fault>| {
        branch_ohm(part, fault.into_iter(), 1.0, 1.0, Paths::Direct).map_or(0.0, |ohm| 1.0 / ohm)
    };
    let (sound, faulty) = (siemens(None), siemens(Some(fault)));
    match (faulty < sound, faulty > sound || fault.joins.is_some()) {
        (true, true) => Conducts::Either,
        (true, false) => Conducts::Less,
        (false, true) => Conducts::More,
        (false, false) => Conducts::Same,
    }
}

/// The network with power off: `lifted` taken out, `faults` put in, alike parts at `scale`
/// times their nominal.
fn network(
    model: &Model<'_>,
    parts: &[PartValues],
    lifted: &[usize],
    faults: &[&Fault],
    scale: f64,
    part_temp_c: Option<f64>,
    paths: Paths,
) -> Network {
    let mut network = Network::new(model.circuit.points.len());
    let warm = part_temp_c.map_or(1.0, copper_factor);
    for (index, part) in parts.iter().enumerate() {
        let Some([a, b]) = part.ends else { continue };
        let of_part = faults.iter().filter(|fault| fault.part == index);
        if let (Some(shell), Some(insulation_ohm), Paths::Direct) =
            (model.shell, part.insulation_ohm, paths)
        {
            // Half of the leakage at either end, so that an open part still leaks.
            network.join(a, shell, 2.0 * insulation_ohm);
            network.join(b, shell, 2.0 * insulation_ohm);
        }
        if paths == Paths::Direct {
            for fault in of_part.clone() {
                if let Some([from, to]) = fault.joins {
                    network.join(from, to, fault.size);
                }
            }
        }
        if lifted.iter().any(|&connector| model.opens[connector].contains(&index)) {
            continue;
        }
        let ohm = branch_ohm(part, of_part.copied(), scale, warm, paths);
        if let Some(ohm) = ohm {
            network.join(a, b, ohm);
        }
    }
    network
}

/// What a sound meter would show.
pub(crate) fn predict(
    model: &Model<'_>,
    setup: &Setup,
    faults: &[&Fault],
    scale: f64,
) -> Predicted {
    match setup.quantity {
        Quantity::Resistance if diode::may_conduct(model, setup) => Predicted::Nothing,
        Quantity::Resistance | Quantity::Insulation => {
            let direct = network(
                model,
                &model.parts,
                &setup.lifted,
                faults,
                scale,
                setup.part_temp_c,
                Paths::Direct,
            );
            match direct.resistance_ohm(setup.from, setup.to) {
                Some(ohm) if ohm < CAPACITANCE_PATH_OHM => Predicted::Value(ohm),
                leak => {
                    let charging = model.parts.iter().any(|part| part.kind == PartKind::Capacitor)
                        && network(
                            model,
                            &model.parts,
                            &setup.lifted,
                            faults,
                            scale,
                            None,
                            Paths::Charging,
                        )
                        .reached_from(setup.from)[setup.to];
                    match leak {
                        _ if setup.quantity == Quantity::Insulation => insulation(leak),
                        Some(ohm) if !charging => Predicted::Value(ohm),
                        _ => Predicted::NoPath { charging },
                    }
                }
            }
        }
        Quantity::Capacitance => capacitance(model, setup, faults, scale),
        Quantity::Voltage | Quantity::Current => {
            powered::predict(model, &model.parts, setup, faults, scale)
        }
        Quantity::DirectVoltage => direct::predict(model, &model.parts, setup, faults),
        Quantity::Diode => diode::predict(model, setup, faults),
    }
}

/// What an insulation tester settles at: its volts charge a capacitor and show the leak.
fn insulation(leak_ohm: Option<f64>) -> Predicted {
    Predicted::Value(leak_ohm.map_or(AIR_OHM, |ohm| ohm.min(AIR_OHM)))
}

/// Microfarads between two points: the sum of every capacitor that the probes reach through
/// good conductors.
fn capacitance(model: &Model<'_>, setup: &Setup, faults: &[&Fault], scale: f64) -> Predicted {
    let Some(sound) = capacitors_reached(model, setup, scale) else {
        return Predicted::Nothing;
    };
    let faulty = network(model, &model.parts, &setup.lifted, faults, scale, None, Paths::Direct);
    let shorted = |part: usize| {
        faults.iter().any(|fault| fault.part == part && fault.effect == Effect::Series)
    };
    let mut microfarad = 0.0;
    for (index, part) in model.parts.iter().enumerate() {
        if shorted(index) && sound.contains(&index) {
            return Predicted::Value(0.0);
        }
        if probes_reach(&faulty, setup, part) {
            microfarad += faults
                .iter()
                .filter(|fault| fault.part == index && fault.effect == Effect::Fraction)
                .fold(part.microfarad, |microfarad, fault| microfarad * fault.size);
        }
    }
    Predicted::Value(microfarad)
}

/// Whether both probes reach a capacitor through good conductors.
fn probes_reach(network: &Network, setup: &Setup, part: &PartValues) -> bool {
    let Some([a, b]) = part.ends else {
        return false;
    };
    let near = |x, y| network.resistance_ohm(x, y).is_some_and(|ohm| ohm < REACHES_OHM);
    part.kind == PartKind::Capacitor
        && ((near(setup.from, a) && near(setup.to, b))
            || (near(setup.from, b) && near(setup.to, a)))
}

/// The capacitors that the probes reach on the sound circuit; `None` where there is none or
/// the rest of the circuit bridges them. That is a matter of what was lifted, not of the fault.
fn capacitors_reached(model: &Model<'_>, setup: &Setup, scale: f64) -> Option<Vec<usize>> {
    let sound = network(model, &model.parts, &setup.lifted, &[], scale, None, Paths::Direct);
    let reached: Vec<usize> = model
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| probes_reach(&sound, setup, part))
        .map(|(index, _)| index)
        .collect();
    // What empties it slowly, a bleed resistor across its tabs, leaves the meter time enough.
    let farad: f64 = reached.iter().map(|&index| 1e-6 * model.parts[index].microfarad).sum();
    let bridged = sound
        .resistance_ohm(setup.from, setup.to)
        .is_some_and(|ohm| ohm < CAPACITANCE_PATH_OHM && ohm * farad < BLEEDS_SECONDS);
    (!bridged && !reached.is_empty()).then_some(reached)
}
