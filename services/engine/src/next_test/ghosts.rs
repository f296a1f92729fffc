//! Volts in between: neither nothing nor a supply's.
//!
//! Belongs here: which of the readings taken may be a ghost, and the test that tells. Does not
//! belong here: readings valued by information ([`super::bundles`]).

use super::Known;
use super::site::{AtWork, place_of, setting_up};
use super::words::WITH_LOW_IMPEDANCE;
use crate::case::{Reading, Shown};
use crate::circuit::PartKind;
use crate::predict::Predicted;
use crate::units::Quantity;
use crate::verdict::{CautionShown, NextTest, PlannedReading};

/// In between is this much of the supply next above what was shown (common practice, no source).
const BETWEEN: std::ops::Range<f64> = 0.05..0.7;
/// What a sound circuit shows there is no ghost: within this share of it.
const AS_SOUND: f64 = 0.2;
/// Minutes to set the meter to low impedance and read once more (common practice, no source).
const AGAIN_MIN: f64 = 2.0;

/// The same two points read again with a load, where a usual meter showed volts that no sound
/// circuit shows there: through a corroded joint they are volts, on an open wire a ghost.
pub(super) fn loaded(known: &Known<'_, '_, '_>) -> Option<NextTest> {
    let (model, case) = (known.weighed.model, known.case);
    let circuit = model.circuit;
    let reading = case
        .readings
        .iter()
        .enumerate()
        .rev()
        .find(|(index, reading)| is_doubtful(known, *index, reading))
        .map(|(_, reading)| reading)?;
    let point = |id: &str| model.point(id);
    let label = |id: &str| circuit.points[point(id)].label.as_str();
    let at_work = AtWork::of(known.weighed, case);
    let mut places: Vec<usize> = [&reading.from, &reading.to]
        .into_iter()
        .filter_map(|id| place_of(model, point(id)))
        .collect();
    places.sort_unstable();
    places.dedup();
    let (setup_min, _, cautions) =
        setting_up(model, &at_work, &model.lifted(&reading.lifted), &places);
    let pair = format!("{} to {}", label(&reading.from), label(&reading.to));
    Some(NextTest {
        title: format!("{}–{} once more, at low impedance", reading.from, reading.to),
        steps: vec![
            "Energise for the reading only, by someone licensed to work live.".to_owned(),
            format!("Measure voltage from {pair}{WITH_LOW_IMPEDANCE}."),
        ],
        minutes: ((setup_min + AGAIN_MIN) * 10.0).round() / 10.0,
        cautions: cautions
            .iter()
            .map(|&caution| CautionShown { caution, says: caution.says().to_owned() })
            .collect(),
        takes: vec![PlannedReading {
            quantity: Quantity::Voltage,
            from: reading.from.clone(),
            to: reading.to.clone(),
            lifted: reading.lifted.clone(),
            state: reading.state.clone(),
            low_impedance: true,
            label: pair,
        }],
        sign: None,
        sheet: Vec::new(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

fn is_low(reading: &Reading) -> bool {
    reading.meter.as_ref().and_then(|meter| meter.low_impedance) == Some(true)
}

/// Whether a reading is of volts in between, by a usual meter, and was not read again with a load.
fn is_doubtful(known: &Known<'_, '_, '_>, index: usize, reading: &Reading) -> bool {
    let Shown::Value { value, unit } = reading.shown else { return false };
    if reading.quantity != Quantity::Voltage || is_low(reading) {
        return false;
    }
    let volt = value * unit.to_base();
    if let Predicted::Value(sound) = known.weighed.prepared[index].sound
        && (volt - sound).abs() <= AS_SOUND * sound
    {
        return false;
    }
    // Across a contact or a wire it is what that loses.
    let ends = [known.weighed.prepared[index].setup.from, known.weighed.prepared[index].setup.to];
    let across = known.weighed.model.parts.iter().any(|part| {
        matches!(part.kind, PartKind::Switch | PartKind::Contact | PartKind::Lead | PartKind::Fuse)
            && part.ends.is_some_and(|[a, b]| ends == [a, b] || ends == [b, a])
    });
    if across {
        return false;
    }
    let same = |other: &Reading| {
        let ends = (&other.from, &other.to);
        is_low(other)
            && other.state == reading.state
            && (ends == (&reading.from, &reading.to) || ends == (&reading.to, &reading.from))
    };
    let supply = known
        .weighed
        .model
        .parts
        .iter()
        .filter(|part| part.kind == PartKind::Source && part.volt >= volt)
        .map(|part| part.volt)
        .fold(f64::INFINITY, f64::min);
    BETWEEN.contains(&(volt / supply)) && !known.case.readings.iter().any(same)
}
