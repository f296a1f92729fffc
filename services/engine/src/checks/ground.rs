//! Insulation to the shell.
//!
//! Belongs here: whether a pin is grounded, and what is not condemned before that is known. Does
//! not belong here: what a ground means for a suspect ([`crate::likelihood`]).

use super::{Checked, insulation_at_40c, value};
use crate::case::{Case, Reading};
use crate::circuit::{Circuit, Effect, PartKind};
use crate::sentences;
use crate::units::Quantity;
use crate::verdict::{Check, CheckResult, Owed, figures};

/// The pins that an insulation tester has not read with a connector off.
pub(crate) fn not_read_to_shell<'p>(
    case: &Case,
    pins: &'p [String],
    shell: &str,
    lifted: &str,
) -> Vec<&'p str> {
    let taken = |pin: &str| {
        case.readings.iter().any(|reading| {
            let ends = (reading.from.as_str(), reading.to.as_str());
            reading.quantity == Quantity::Insulation
                && reading.lifted.iter().any(|known| known == lifted)
                && (ends == (pin, shell) || ends == (shell, pin))
        })
    };
    pins.iter().map(String::as_str).filter(|pin| !taken(pin)).collect()
}

/// What is condemned only once the pins were read to the shell.
pub(super) fn first(
    circuit: &Circuit,
    case: &Case,
    pins: &[String],
    shell: &str,
    lifted: &str,
    before: &[String],
    checked: &mut Checked,
) {
    let Some(component) = case.claim.as_ref().and_then(|claim| {
        circuit
            .components
            .iter()
            .find(|known| known.id == claim.component && before.contains(&known.id))
    }) else {
        return;
    };
    let missing = not_read_to_shell(case, pins, shell, lifted);
    if missing.is_empty() {
        return;
    }
    let connector = circuit.connectors.iter().find(|known| known.id == lifted);
    checked.owed.push(Owed {
        check: "ground".into(),
        says: format!(
            "Before the {} is condemned, read {} to {shell} by insulation tester with the {} off: a ground there would kill a new one at once.",
            component.label,
            sentences::joined(&missing, "and"),
            connector.map_or(lifted, |known| known.label.as_str())
        ),
        sign: None,
    });
}

pub(super) fn ground(
    circuit: &Circuit,
    case: &Case,
    pins: &[String],
    shell: &str,
    lifted: &str,
    fault_below_megohm: f64,
    checked: &mut Checked,
) {
    let label = circuit
        .connectors
        .iter()
        .find(|connector| connector.id == lifted)
        .map_or(lifted, |connector| connector.label.as_str());
    let taken: Vec<(&String, &Reading)> = pins
        .iter()
        .filter_map(|pin| {
            case.readings
                .iter()
                .rev()
                .find(|reading| {
                    reading.quantity == Quantity::Insulation
                        && reading.lifted.iter().any(|known| known == lifted)
                        && ((reading.from == *pin && reading.to == shell)
                            || (reading.to == *pin && reading.from == shell))
                })
                .map(|reading| (pin, reading))
        })
        .collect();
    let claims_ground = claims_ground(circuit, case, pins);
    let missing: Vec<&str> = pins
        .iter()
        .filter(|pin| !taken.iter().any(|(known, _)| known == pin))
        .map(String::as_str)
        .collect();
    if taken.is_empty() && !claims_ground {
        return;
    }
    let lowest = taken
        .iter()
        .filter_map(|(pin, reading)| Some((*pin, *reading, value(reading)? / 1e6)))
        .min_by(|a, b| a.2.total_cmp(&b.2));
    let (result, mut says) = match lowest {
        Some((pin, reading, megohm)) if megohm < fault_below_megohm => {
            let warm = reading.part_temp_c.map_or(String::new(), |celsius| {
                format!(" ({} MΩ brought to 40 °C)", figures(insulation_at_40c(megohm, celsius)))
            });
            (
                CheckResult::Fail,
                format!(
                    "{pin} to the shell reads {} MΩ{warm}, under {} MΩ, with the {label} off.",
                    figures(megohm),
                    figures(fault_below_megohm)
                ),
            )
        }
        Some((pin, _, megohm)) => (
            CheckResult::Pass,
            format!(
                "The lowest pin, {pin}, reads {} MΩ to the shell with the {label} off.",
                figures(megohm)
            ),
        ),
        None if taken.is_empty() => (
            CheckResult::Waiting,
            format!(
                "A ground is claimed, but no pin was read to the shell by insulation tester with the {label} off. An ordinary ohmmeter does not prove the absence of a ground."
            ),
        ),
        None => (
            CheckResult::Pass,
            format!(
                "Every pin read is above the tester's range to the shell with the {label} off."
            ),
        ),
    };
    if !missing.is_empty() {
        says.push_str(&format!(" Not read yet: {}.", missing.join(", ")));
        // One pin that fails has proved it; what the others read changes nothing.
        if claims_ground && result != CheckResult::Fail {
            checked.owed.push(Owed {
                check: "ground".into(),
                says: format!(
                    "Read {} to the shell by insulation tester with the {label} off, on clean metal; never on a compressor under vacuum.",
                    missing.join(", ")
                ),
                sign: None,
            });
        }
    }
    checked.checks.push(Check {
        id: "ground".into(),
        title: "Insulation to the shell".into(),
        result,
        says,
        source: "under 2 MΩ from any pin is a ground fault: a compressor maker's handbook; temperature by halving per 10 °C, IEEE 43 practice".into(),
        readings: taken.iter().map(|(_, reading)| reading.id.clone()).collect(),
    });
}

/// Whether a ground is claimed of what lies behind these pins; a grounded lead before the
/// connector is told by readings of its own.
fn claims_ground(circuit: &Circuit, case: &Case, pins: &[String]) -> bool {
    let Some(claim) = &case.claim else { return false };
    let behind = circuit.parts.iter().any(|part| {
        part.component == claim.component
            && part.kind == PartKind::Winding
            && part.between.iter().flatten().any(|point| pins.contains(point))
    });
    behind
        && circuit
            .parts
            .iter()
            .filter(|part| claim.part.as_ref() == Some(&part.id))
            .flat_map(|part| &part.modes)
            .any(|mode| claim.mode.as_ref() == Some(&mode.id) && mode.effect == Effect::ToShell)
}
