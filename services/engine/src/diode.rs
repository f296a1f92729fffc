//! The diode test: which way a meter's small current finds, and what it loses on it.
//!
//! Belongs here: the cheapest path from the red probe to the black one through diodes in
//! their forward direction and resistors. Does not belong here: the circuit under power
//! ([`crate::powered`]), where diodes are left out.
//!
//! A meter on diode test drives about a milliampere. Where several paths are open nearly all
//! of it takes the one with the lowest drop, so that path's drop is what is shown.

use crate::circuit::{Effect, PartKind, Rest};
use crate::model::{Fault, Model};
use crate::predict::{Predicted, Setup};

/// Test current of a usual meter, ampere (common practice, no source).
const TEST_AMPERE: f64 = 1e-3;
/// More than this a meter's diode test cannot drive, volt.
const DRIVES_VOLT: f64 = 2.8;

/// What a sound meter shows on diode test, red probe on `from`.
pub(crate) fn predict(model: &Model<'_>, setup: &Setup, faults: &[&Fault]) -> Predicted {
    match drop_volt(model, setup, faults) {
        Some(volt) => Predicted::Value(volt),
        None => Predicted::NoPath { charging: false },
    }
}

/// Whether an ordinary ohmmeter's current may find a way through a diode of the sound
/// circuit: then what it shows depends on the meter, and the model keeps silent. A way that
/// leads through no diode is none of this: windings read at their pins are plain ohms.
pub(crate) fn may_conduct(model: &Model<'_>, setup: &Setup) -> bool {
    model.parts.iter().enumerate().any(|(index, part)| {
        let (PartKind::Diode, Some([a, b])) = (part.kind, part.ends) else { return false };
        let backwards = Setup { from: setup.to, to: setup.from, ..setup.clone() };
        let out = setup.lifted.iter().any(|&known| model.opens[known].contains(&index));
        !out && [setup, &backwards].iter().any(|way| {
            let to_it = drop_volt(model, &Setup { to: a, ..(*way).clone() }, &[]);
            let from_it = drop_volt(model, &Setup { from: b, ..(*way).clone() }, &[]);
            to_it
                .zip(from_it)
                .is_some_and(|(to_it, from_it)| to_it + part.drop_volt + from_it <= DRIVES_VOLT)
        })
    })
}

/// Volts lost on the cheapest way from the red probe to the black one; `None` where there is
/// none that the meter can drive.
fn drop_volt(model: &Model<'_>, setup: &Setup, faults: &[&Fault]) -> Option<f64> {
    let joints = model.circuit.points.len();
    let mut edges: Vec<(usize, usize, f64)> = Vec::new();
    for (index, part) in model.parts.iter().enumerate() {
        let Some([a, b]) = part.ends else { continue };
        if setup.lifted.iter().any(|&connector| model.opens[connector].contains(&index)) {
            continue;
        }
        let mut of_part = faults.iter().filter(|fault| fault.part == index);
        let fault = of_part.next();
        match (fault.map(|fault| (fault.effect, fault.size)), part.kind) {
            (Some((Effect::Open | Effect::OpenHot, _)), _) => {}
            (Some((Effect::Series, ohm)), PartKind::Diode | PartKind::Capacitor) => {
                edges.extend([(a, b, ohm * TEST_AMPERE), (b, a, ohm * TEST_AMPERE)]);
            }
            (_, PartKind::Diode) => edges.push((a, b, part.drop_volt)),
            (_, PartKind::Capacitor | PartKind::Source | PartKind::Mechanism) => {}
            (Some((Effect::StuckClosed, _)), PartKind::Switch) => {
                edges.extend([(a, b, 0.0), (b, a, 0.0)]);
            }
            (_, PartKind::Switch) if part.rest == Rest::Open => {}
            (found, _) => {
                let ohm = match found {
                    Some((Effect::Series, ohm)) => part.ohm + ohm,
                    Some((Effect::Fraction, share)) => part.ohm * share,
                    _ => part.ohm,
                };
                edges.extend([(a, b, ohm * TEST_AMPERE), (b, a, ohm * TEST_AMPERE)]);
            }
        }
    }
    // Bellman and Ford's way: circuits are small, and no queue is needed.
    let mut lost = vec![f64::INFINITY; joints];
    lost[setup.from] = 0.0;
    for _ in 0..joints {
        let mut settled = true;
        for &(a, b, volt) in &edges {
            if lost[a] + volt < lost[b] - 1e-12 {
                lost[b] = lost[a] + volt;
                settled = false;
            }
        }
        if settled {
            break;
        }
    }
    (lost[setup.to] <= DRIVES_VOLT).then_some(lost[setup.to])
}
