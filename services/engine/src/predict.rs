//! What a sound meter would show on a circuit with given faults.
//!
//! Belongs here: setting up the network for one way of measuring and solving it. Does not
//! belong here: meter error, tolerance and mistakes ([`crate::likelihood`]).

use crate::circuit::{Effect, PartKind};
use crate::model::{Fault, Model, PartValues, REFERENCE_C};
use crate::network::Network;
use crate::units::Quantity;

/// Copper's resistance is proportional to (234.5 + °C) (IEC 60034-1, IEEE 112 practice;
/// wording from memory).
const COPPER_C: f64 = 234.5;
/// A direct path under this spoils a capacitance reading, ohm (common practice, no source).
const CAPACITANCE_PATH_OHM: f64 = 1e5;

/// One way of measuring: where, what is lifted, how warm.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Setup {
    pub(crate) quantity: Quantity,
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Connector indices, sorted.
    pub(crate) lifted: Vec<usize>,
    pub(crate) part_temp_c: Option<f64>,
    pub(crate) stopped_min: Option<f64>,
}

/// What would be shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Predicted {
    /// This value in the quantity's base unit.
    Value(f64),
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
        if let (Some(shell), Paths::Direct) = (model.shell, paths) {
            for fault in of_part.clone().filter(|fault| fault.effect == Effect::ToShell) {
                network.join(b, shell, fault.size);
            }
        }
        if lifted.iter().any(|&connector| model.opens[connector].contains(&index)) {
            continue;
        }
        let mut ohm = match part.kind {
            PartKind::Capacitor if paths == Paths::Charging => Some(1e3),
            PartKind::Capacitor | PartKind::Source | PartKind::Mechanism => None,
            _ => {
                let scaled = if part.scaled { part.ohm * scale } else { part.ohm };
                Some(if part.copper { scaled * warm } else { scaled })
            }
        };
        for fault in of_part {
            ohm = match (fault.effect, part.kind) {
                (Effect::Open | Effect::OpenHot, _) => None,
                // A shorted capacitor conducts what its fault says.
                (Effect::Series, PartKind::Capacitor) => Some(fault.size),
                (Effect::Series, _) => ohm.map(|ohm| ohm + fault.size),
                (Effect::Fraction, PartKind::Capacitor) => {
                    if fault.size == 0.0 {
                        None
                    } else {
                        ohm
                    }
                }
                (Effect::Fraction, _) => ohm.map(|ohm| (ohm * fault.size).max(1e-4)),
                _ => ohm,
            };
        }
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
                        Some(ohm) if !charging => Predicted::Value(ohm),
                        _ => Predicted::NoPath { charging },
                    }
                }
            }
        }
        Quantity::Capacitance => {
            let found = model.parts.iter().enumerate().find(|(_, part)| {
                part.kind == PartKind::Capacitor && same_ends(part.ends, setup.from, setup.to)
            });
            let Some((index, part)) = found else { return Predicted::Nothing };
            // Whether the rest of the circuit bridges it is a matter of what was lifted, not
            // of the fault: judge it on the sound circuit.
            let bridged =
                network(model, &model.parts, &setup.lifted, &[], scale, None, Paths::Direct)
                    .resistance_ohm(setup.from, setup.to)
                    .is_some_and(|ohm| ohm < CAPACITANCE_PATH_OHM);
            if bridged {
                return Predicted::Nothing;
            }
            let mut microfarad = part.microfarad;
            for fault in faults.iter().filter(|fault| fault.part == index) {
                microfarad *= match fault.effect {
                    Effect::Fraction => fault.size,
                    _ => 0.0,
                };
            }
            Predicted::Value(microfarad)
        }
        Quantity::Voltage => {
            let found = model.parts.iter().enumerate().find(|(_, part)| {
                part.kind == PartKind::Source && same_ends(part.ends, setup.from, setup.to)
            });
            let Some((index, part)) = found else { return Predicted::Nothing };
            let fraction: f64 = faults
                .iter()
                .filter(|fault| fault.part == index && fault.effect == Effect::SourceFraction)
                .map(|fault| fault.size)
                .product();
            Predicted::Value(part.volt * fraction)
        }
        Quantity::Current => Predicted::Nothing,
    }
}

fn same_ends(ends: Option<[usize; 2]>, from: usize, to: usize) -> bool {
    ends == Some([from, to]) || ends == Some([to, from])
}

/// Relative spread of the sound reading from the spread of the good parts, by moving each
/// part by its own tolerance in turn and adding up in quadrature.
pub(crate) fn sound_spread(model: &Model<'_>, setup: &Setup, scale: f64) -> f64 {
    match setup.quantity {
        Quantity::Resistance | Quantity::Insulation => {
            let Predicted::Value(nominal) = predict(model, setup, &[], scale) else { return 0.0 };
            if nominal >= CAPACITANCE_PATH_OHM {
                return 0.0;
            }
            let mut parts = model.parts.clone();
            let mut variance = 0.0;
            for index in 0..parts.len() {
                let PartValues { ohm, tolerance, ends, .. } = parts[index];
                if ohm == 0.0 || ends.is_none() {
                    continue;
                }
                parts[index].ohm = ohm * (1.0 + tolerance);
                let moved = network(
                    model,
                    &parts,
                    &setup.lifted,
                    &[],
                    scale,
                    setup.part_temp_c,
                    Paths::Direct,
                );
                if let Some(value) = moved.resistance_ohm(setup.from, setup.to) {
                    variance += ((value - nominal) / nominal).powi(2);
                }
                parts[index].ohm = ohm;
            }
            variance.sqrt()
        }
        Quantity::Capacitance | Quantity::Voltage => model
            .parts
            .iter()
            .filter(|part| {
                let kind = if setup.quantity == Quantity::Voltage {
                    PartKind::Source
                } else {
                    PartKind::Capacitor
                };
                part.kind == kind && same_ends(part.ends, setup.from, setup.to)
            })
            .map(|part| part.tolerance)
            .fold(0.0, f64::max),
        Quantity::Current => 0.0,
    }
}
