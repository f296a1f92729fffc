//! Tests that are not chosen by what they tell: a link to be discharged before anything else, pins
//! that a check owes.
//!
//! Belongs here: when each is due, and its words. Does not belong here: questions and readings
//! taken again ([`super::words`]), and tests valued by information ([`super::order`]).

use super::site::{place_of, setting_up};
use super::{Known, TAKES_MAX, reading_min};
use crate::checks::{not_read_to_shell, prove_discharged, supply};
use crate::circuit::{Caution, CheckSpec, Circuit};
use crate::sentences;
use crate::units::Quantity;
use crate::verdict::{CautionShown, CheckResult, NextTest, Outcome, PlannedReading};

/// Minutes that a unit's label asks to wait, where it is not known (common practice, no source).
const DISCHARGE_MIN: f64 = 10.0;

/// A link that still holds its charge comes before everything: nothing near it is safe or worth
/// reading.
pub(super) fn discharge(known: &Known<'_, '_, '_>) -> Option<NextTest> {
    let circuit = known.weighed.model.circuit;
    known
        .checks
        .iter()
        .find(|check| check.id == "stored_charge" && check.result == CheckResult::Fail)?;
    let (points, safe_volt) = circuit.checks.iter().find_map(|check| match check {
        CheckSpec::StoredCharge { points, safe_volt } => Some((points, *safe_volt)),
        _ => None,
    })?;
    let steps = vec![
        "Leave the supply disconnected and locked out. Touch nothing inside.".to_owned(),
        prove_discharged([label(circuit, &points[0]), label(circuit, &points[1])], safe_volt),
        "Where it does not fall, the bleeder may be open: discharge it as the maker says, through a resistor made for it, never by a short.".to_owned(),
    ];
    let take = planned(circuit, Quantity::DirectVoltage, [&points[0], &points[1]], &[]);
    Some(NextTest {
        title: format!(
            "Before anything else, supply off: {}–{} down to {safe_volt} V",
            points[0], points[1]
        ),
        steps,
        minutes: DISCHARGE_MIN,
        cautions: shown(&[Caution::LiveVoltage, Caution::StoredCharge]),
        takes: vec![take],
        sign: None,
        sheet: Vec::new(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

/// The pins that must be read to the shell before the claim may be condemned, once everything
/// else speaks for it.
pub(super) fn owed_pins(known: &Known<'_, '_, '_>) -> Option<NextTest> {
    let owed = known.owed.iter().find(|owed| owed.check == "ground")?;
    if known.outcome != Outcome::Incomplete {
        return None;
    }
    let model = known.weighed.model;
    let circuit = model.circuit;
    let (missing, shell, lifted) = circuit.checks.iter().find_map(|check| match check {
        CheckSpec::Ground { pins, shell, lifted, .. } => {
            let missing = not_read_to_shell(known.case, pins, shell, lifted);
            (!missing.is_empty()).then_some((missing, shell, lifted))
        }
        _ => None,
    })?;
    let lifted = std::slice::from_ref(lifted);
    let takes: Vec<PlannedReading> = missing
        .iter()
        .take(TAKES_MAX)
        .map(|pin| planned(circuit, Quantity::Insulation, [pin, shell], lifted))
        .collect();
    let at_work = super::AtWork::of(known.weighed, known.case);
    let connectors = model.lifted(lifted);
    let places: Vec<usize> =
        missing.iter().filter_map(|pin| place_of(model, model.point(pin))).take(1).collect();
    let (setup_min, _, cautions) = setting_up(model, &at_work, &connectors, &places);
    let mut steps = vec![format!(
        "Disconnect, lock out, prove dead. Take off: {}.",
        sentences::connectors(circuit, lifted)
    )];
    steps.extend(
        takes.iter().map(|take| format!("Measure insulation resistance from {}.", take.label)),
    );
    steps.push(owed.says.clone());
    let minutes = setup_min + reading_min(Quantity::Insulation) * takes.len() as f64;
    let pairs: Vec<String> =
        takes.iter().map(|take| format!("{}–{}", take.from, take.to)).collect();
    Some(NextTest {
        title: format!(
            "Before it is condemned, {} off: {}",
            sentences::connectors(circuit, lifted),
            pairs.join(", ")
        ),
        steps,
        minutes: (minutes * 10.0).round() / 10.0,
        cautions: shown(&cautions),
        takes,
        sign: None,
        sheet: Vec::new(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

/// The volts on which a mechanism was tried, once everything else speaks for it.
pub(super) fn owed_volts(known: &Known<'_, '_, '_>) -> Option<NextTest> {
    let owed = known.owed.iter().find(|owed| owed.check == supply::CHECK)?;
    if known.outcome != Outcome::Incomplete || known.case.readings.is_empty() {
        return None;
    }
    let model = known.weighed.model;
    let circuit = model.circuit;
    let judged = known.claimed.or_else(|| known.shares.leading())?;
    let (missing, state) = supply::not_read(circuit, known.case, &circuit.components[judged].id)?;
    let of_state = circuit.states.iter().find(|known| known.id == state)?;
    let takes: Vec<PlannedReading> = missing
        .iter()
        .take(TAKES_MAX)
        .map(|[from, to]| PlannedReading {
            state: Some(state.to_owned()),
            ..planned(circuit, Quantity::Voltage, [from, to], &[])
        })
        .collect();
    takes.first()?;
    let at_work = super::AtWork::of(known.weighed, known.case);
    let mut places: Vec<usize> = missing
        .iter()
        .flat_map(|pair| pair.iter())
        .filter_map(|point| place_of(model, model.point(point)))
        .collect();
    places.sort_unstable();
    places.dedup();
    let (setup_min, _, cautions) = setting_up(model, &at_work, &[], &places);
    let mut steps = vec![
        "Disconnect, lock out, prove dead; put everything back on.".to_owned(),
        format!(
            "Energise for the reading only, by someone licensed to work live. Bring about: {}.",
            of_state.label
        ),
    ];
    steps.extend(takes.iter().map(|take| format!("Measure voltage from {}.", take.label)));
    steps.push(owed.says.clone());
    let minutes =
        setup_min + of_state.minutes + reading_min(Quantity::Voltage) * takes.len() as f64;
    let pairs: Vec<String> =
        takes.iter().map(|take| format!("{}–{}", take.from, take.to)).collect();
    Some(NextTest {
        title: format!("Before it is condemned, {}: {}", of_state.label, pairs.join(", ")),
        steps,
        minutes: (minutes * 10.0).round() / 10.0,
        cautions: shown(&cautions),
        takes,
        sign: None,
        sheet: Vec::new(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

fn label<'c>(circuit: &'c Circuit, point: &'c str) -> &'c str {
    circuit.points.iter().find(|known| known.id == point).map_or(point, |known| &known.label)
}

fn planned(
    circuit: &Circuit,
    quantity: Quantity,
    [from, to]: [&str; 2],
    lifted: &[String],
) -> PlannedReading {
    PlannedReading {
        quantity,
        from: from.to_owned(),
        to: to.to_owned(),
        lifted: lifted.to_vec(),
        state: None,
        low_impedance: false,
        label: format!("{} to {}", label(circuit, from), label(circuit, to)),
    }
}

fn shown(cautions: &[Caution]) -> Vec<CautionShown> {
    cautions
        .iter()
        .map(|&caution| CautionShown { caution, says: caution.says().to_owned() })
        .collect()
}
