//! How far good parts spread a reading.
//!
//! Belongs here: moving each part by its own tolerance in turn and adding up in quadrature.
//! Does not belong here: the meter's own error ([`crate::likelihood`]).

use super::many::{Conditions, Supposed, Work};
use super::{CAPACITANCE_PATH_OHM, Predicted, Setup};
use crate::circuit::PartKind;
use crate::model::{Model, PartValues};
use crate::units::Quantity;

/// Spread of a diode's drop with its kind, its warmth and the meter's test current, as a
/// fraction, two standard deviations (common practice, no source).
const DIODE_SPREAD: f64 = 0.35;
/// A motor's current differs by this much with its load (common practice, no source).
const LOAD_SPREAD: f64 = 0.3;
/// Less than this is rounding, volt or ampere.
const NOTHING: f64 = 1e-6;

/// What a sound circuit shows on each of the first so many setups with its parts at nominal, and the
/// relative spread of that from the spread of its parts, two standard deviations.
pub(crate) fn sound(
    conditions: &Conditions<'_, '_>,
    upto: usize,
    work: &mut Work,
) -> Vec<(Predicted, f64)> {
    let (model, setups) = (conditions.model(), conditions.setups());
    let mut sound = vec![(Predicted::Nothing, 0.0); upto];
    let mut look = |index: usize, all: &[Predicted]| {
        sound[index] = (all[0], spread(model, &setups[index], all));
    };
    conditions.each_off(upto, &off_nominal(model), 1.0, work, &mut look);
    conditions.each_live(upto, &off_nominal_live(model), 1.0, work, &mut look);
    sound
}

/// Nothing moved, then each part by its tolerance.
fn off_nominal<'m>(model: &'m Model<'_>) -> Vec<Supposed<'m>> {
    let moved = model
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| part.ohm != 0.0 && part.ends.is_some())
        .map(|(index, part)| Supposed::off(index, 1.0 + part.tolerance));
    std::iter::once(Supposed::default()).chain(moved).collect()
}

/// The same under power, where a motor's load moves too.
fn off_nominal_live<'m>(model: &'m Model<'_>) -> Vec<Supposed<'m>> {
    let may_move = |part: &PartValues| part.ends.is_some() && part.kind != PartKind::Diode;
    let moved =
        model.parts.iter().enumerate().filter(|(_, part)| may_move(part)).map(|(index, part)| {
            let turns = part.turning.is_some();
            let by = if turns { part.tolerance.max(LOAD_SPREAD) } else { part.tolerance };
            Supposed::off(index, 1.0 + by)
        });
    std::iter::once(Supposed::default()).chain(moved).collect()
}

fn spread(model: &Model<'_>, setup: &Setup, all: &[Predicted]) -> f64 {
    match setup.quantity {
        Quantity::Resistance | Quantity::Insulation => match all[0] {
            Predicted::Value(nominal) if nominal < CAPACITANCE_PATH_OHM => around(nominal, all),
            _ => 0.0,
        },
        Quantity::Voltage | Quantity::DirectVoltage | Quantity::Current => match all[0] {
            Predicted::Value(nominal) if nominal >= NOTHING => around(nominal, all),
            _ => 0.0,
        },
        Quantity::Capacitance => {
            let capacitors = || model.parts.iter().filter(|part| part.kind == PartKind::Capacitor);
            let own = capacitors().find(|part| {
                part.ends == Some([setup.from, setup.to])
                    || part.ends == Some([setup.to, setup.from])
            });
            let widest = || capacitors().map(|part| part.tolerance).fold(0.0, f64::max);
            own.map_or_else(widest, |part| part.tolerance)
        }
        Quantity::Diode => DIODE_SPREAD,
    }
}

/// Relative deviations from nominal, added up in quadrature.
fn around(nominal: f64, all: &[Predicted]) -> f64 {
    let variance: f64 = all[1..]
        .iter()
        .map(|moved| match moved {
            Predicted::Value(value) => ((value - nominal) / nominal).powi(2),
            _ => 0.0,
        })
        .sum();
    variance.sqrt()
}
