//! The supply while a motor tries to start.
//!
//! Belongs here: what is not put down to a mechanism before the volts on which it tries are known.
//! Does not belong here: which fault explains the readings ([`crate::posterior`]), volts of one
//! phase against the others (the parent module).

use super::{Checked, value};
use crate::case::{Case, Power, Reading};
use crate::circuit::{CheckSpec, Circuit};
use crate::sentences;
use crate::units::Quantity;
use crate::verdict::{Check, CheckResult, Owed, figures};

/// The check's name.
pub(crate) const CHECK: &str = "supply_first";

/// What the circuit says of one such check.
struct Supply<'c> {
    pairs: &'c [[String; 2]],
    state: &'c str,
    nominal_volt: f64,
    min_pct: f64,
    max_pct: f64,
}

/// The pairs that were not read in the state, with the state; `None` where the circuit asks for
/// none before this component.
pub(crate) fn not_read<'c>(
    circuit: &'c Circuit,
    case: &Case,
    component: &str,
) -> Option<(Vec<&'c [String; 2]>, &'c str)> {
    let supply = of(circuit, case, component)?;
    let missing = supply.pairs.iter().filter(|pair| reading(case, &supply, pair).is_none());
    Some((missing.collect(), supply.state))
}

fn of<'c>(circuit: &'c Circuit, case: &Case, component: &str) -> Option<Supply<'c>> {
    circuit.checks.iter().find_map(|check| match check {
        CheckSpec::SupplyFirst { pairs, state, part, times, min_pct, max_pct, before }
            if before.iter().any(|known| known == component) =>
        {
            let own = case.specs.get(part).map(|spec| spec.value * spec.unit.to_base());
            let family = || circuit.parts.iter().find(|known| known.id == *part)?.volt;
            Some(Supply {
                pairs,
                state,
                nominal_volt: own.or_else(family)? * times.unwrap_or(1.0),
                min_pct: *min_pct,
                max_pct: *max_pct,
            })
        }
        _ => None,
    })
}

/// The latest reading of a pair in the state.
fn reading<'c>(case: &'c Case, supply: &Supply<'_>, pair: &[String; 2]) -> Option<&'c Reading> {
    case.readings.iter().rev().find(|reading| {
        let ends = [&reading.from, &reading.to];
        reading.quantity == Quantity::Voltage
            && reading.power == Power::Energised
            && reading.lifted.is_empty()
            && reading.state.as_deref() == Some(supply.state)
            && (ends == [&pair[0], &pair[1]] || ends == [&pair[1], &pair[0]])
    })
}

/// Before a mechanism is condemned, the volts on which it was tried: a motor that starves stands
/// still and hums like one that is stuck. `mechanical` says that the component is judged by a
/// mechanism of its own.
pub(crate) fn first(
    circuit: &Circuit,
    case: &Case,
    component: &str,
    mechanical: bool,
    checked: &mut Checked,
) {
    let Some(supply) = of(circuit, case, component) else { return };
    let label = circuit
        .components
        .iter()
        .find(|known| known.id == component)
        .map_or(component, |known| &known.label);
    let state = circuit
        .states
        .iter()
        .find(|known| known.id == supply.state)
        .map_or(supply.state, |known| &known.label);
    let taken: Vec<(&[String; 2], &Reading, f64)> = supply
        .pairs
        .iter()
        .filter_map(|pair| {
            let reading = reading(case, &supply, pair)?;
            Some((pair, reading, value(reading)?))
        })
        .collect();
    let missing: Vec<String> = supply
        .pairs
        .iter()
        .filter(|pair| !taken.iter().any(|(known, ..)| known == pair))
        .map(|[from, to]| format!("{from}–{to}"))
        .collect();
    let range = format!(
        "{} to {} V",
        figures(supply.nominal_volt * supply.min_pct / 100.0),
        figures(supply.nominal_volt * supply.max_pct / 100.0)
    );
    let off = taken.iter().find(|(.., volt)| {
        let pct = 100.0 * volt / supply.nominal_volt;
        pct < supply.min_pct || pct > supply.max_pct
    });
    let (result, says) = match off {
        Some(([from, to], _, volt)) => {
            let says = format!(
                "{from}–{to} stood at {} V in \"{state}\"; {range} is what it is rated for. It has not been tried on its own volts: settle the supply first.",
                figures(*volt)
            );
            if mechanical {
                checked.owed.push(Owed { check: CHECK.into(), says: says.clone(), sign: None });
            }
            (CheckResult::Fail, says)
        }
        None if missing.is_empty() => (
            CheckResult::Pass,
            format!(
                "The volts on which it was tried are within {range}: {}.",
                sentences::joined(
                    &taken
                        .iter()
                        .map(|([from, to], _, volt)| format!("{from}–{to} {} V", figures(*volt)))
                        .collect::<Vec<_>>(),
                    "and"
                )
            ),
        ),
        None if mechanical => {
            let says = format!(
                "Before the {label} is condemned for what is stuck in it, read {} in \"{state}\", while it tries: on volts that sag a good one stands still, too.",
                sentences::joined(&missing, "and")
            );
            checked.owed.push(Owed { check: CHECK.into(), says: says.clone(), sign: None });
            (CheckResult::Waiting, says)
        }
        None => return,
    };
    checked.checks.push(Check {
        id: CHECK.into(),
        title: "Volts while it tries to start".into(),
        result,
        says,
        source: "motors are rated for ±10 % of their plate's volts: NEMA MG 1 (from memory)".into(),
        readings: taken.iter().map(|(_, reading, _)| reading.id.clone()).collect(),
    });
}
