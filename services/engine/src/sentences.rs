//! Sentences a technician would say.
//!
//! Belongs here: the words of a verdict and the rounding of shares in them. Does not belong
//! here: deciding anything.

use crate::case::{Reading, Shown};
use crate::circuit::Circuit;
use crate::predict::Predicted;
use crate::units::{Quantity, Unit};
use crate::verdict::{Check, CheckResult, Outcome, Suspect, shown};

/// A share as "96 of 100"; the ends are never rounded away.
pub(crate) fn of_100(share: f64) -> String {
    let hundred = 100.0 * share;
    if hundred > 99.0 && share < 1.0 {
        "more than 99 of 100".to_owned()
    } else if hundred < 1.0 {
        "fewer than 1 of 100".to_owned()
    } else {
        format!("{} of 100", hundred.round())
    }
}

/// A share as a bare count in a hundred: "96", "over 99", "under 1".
pub(crate) fn in_100(share: f64) -> String {
    of_100(share).replace(" of 100", "").replace("more than", "over").replace("fewer than", "under")
}

/// A base-unit value in the unit that reads best.
pub(crate) fn in_words(quantity: Quantity, value: f64) -> String {
    // Below a usual meter's last digit more figures would promise what nobody can read.
    let value = match quantity {
        Quantity::Resistance | Quantity::Voltage | Quantity::DirectVoltage | Quantity::Diode
            if value < 1.0 =>
        {
            (value * 100.0).round() / 100.0
        }
        _ => value,
    };
    match quantity {
        Quantity::Resistance | Quantity::Insulation if value >= 1e5 => {
            shown(Some(value / 1e6), Unit::Megohm)
        }
        Quantity::Resistance | Quantity::Insulation if value >= 1e3 => {
            shown(Some(value / 1e3), Unit::Kilohm)
        }
        Quantity::Resistance | Quantity::Insulation => shown(Some(value), Unit::Ohm),
        Quantity::Capacitance => shown(Some(value), Unit::Microfarad),
        Quantity::Voltage | Quantity::DirectVoltage | Quantity::Diode => {
            shown(Some(value), Unit::Volt)
        }
        Quantity::Current => shown(Some(value), Unit::Ampere),
    }
}

/// What a prediction looks like on this meter.
pub(crate) fn prediction(quantity: Quantity, predicted: Predicted, highest: f64) -> String {
    match predicted {
        Predicted::Value(value) if value > highest => "OL".to_owned(),
        Predicted::Value(value) => format!("about {}", in_words(quantity, value)),
        Predicted::Ghost { up_to } if quantity == Quantity::DirectVoltage => {
            format!("anything up to {}", in_words(quantity, up_to))
        }
        Predicted::Ghost { .. } => "nothing, or ghost voltage".to_owned(),
        Predicted::NoPath { charging: true } => "climbing, then OL".to_owned(),
        Predicted::NoPath { charging: false } => "OL".to_owned(),
        Predicted::Nothing => "not predicted".to_owned(),
    }
}

/// A reading as a line: "T1 to T2, nothing lifted: OL".
pub(crate) fn reading(circuit: &Circuit, reading: &Reading) -> String {
    let state = reading.state.as_ref().and_then(|id| circuit.states.iter().find(|s| s.id == *id));
    let lifted = if let Some(state) = state {
        state.label.clone()
    } else if reading.lifted.is_empty() {
        "nothing lifted".to_owned()
    } else {
        format!("{} off", connectors(circuit, &reading.lifted))
    };
    let value = match &reading.shown {
        Shown::Value { value, unit } => shown(Some(*value), *unit),
        Shown::OverLimit => "OL".to_owned(),
        Shown::Climbing => "still climbing".to_owned(),
    };
    format!("{} to {}, {lifted}: {value}", reading.from, reading.to)
}

/// Labels of connectors, joined.
pub(crate) fn connectors(circuit: &Circuit, ids: &[String]) -> String {
    let labels: Vec<&str> = ids
        .iter()
        .map(|id| {
            circuit
                .connectors
                .iter()
                .find(|connector| connector.id == *id)
                .map_or(id.as_str(), |connector| connector.label.as_str())
        })
        .collect();
    joined(&labels, "and")
}

/// "a, b and c".
pub(crate) fn joined<T: AsRef<str>>(words: &[T], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [start @ .., end] => {
            let start: Vec<&str> = start.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", start.join(", "), end.as_ref())
        }
    }
}

/// What the headline is made from.
pub(crate) struct Headline<'a> {
    pub(crate) outcome: Outcome,
    /// "run winding open", or the leading component where nothing is claimed.
    pub(crate) claim: &'a str,
    pub(crate) component: &'a str,
    pub(crate) component_share: f64,
    pub(crate) claimed: bool,
    pub(crate) suspects: &'a [Suspect],
    pub(crate) sound_share: f64,
    /// Share of states that pass, such as an overload open on heat.
    pub(crate) passing_share: f64,
    /// The conductors that likeliest touch, where that explains the readings best, and the share
    /// of all that may touch.
    pub(crate) touching: Option<(String, f64)>,
    /// The share that a verdict asks for.
    pub(crate) certain: f64,
    pub(crate) checks: &'a [Check],
    pub(crate) owed: Option<&'a str>,
    pub(crate) retake: Option<&'a str>,
}

/// The verdict in one sentence.
pub(crate) fn headline(it: &Headline<'_>) -> String {
    let failed = it
        .checks
        .iter()
        .find(|check| check.result == CheckResult::Fail)
        .map(|check| check.says.as_str());
    match it.outcome {
        Outcome::Isolated => format!(
            "Isolated: only the {} still explains the readings ({}).",
            it.component,
            of_100(it.component_share)
        ),
        Outcome::NotIsolated => not_isolated(it),
        Outcome::Contradicted => {
            let lead = near(it.suspects);
            let share: f64 = lead.iter().map(|suspect| suspect.share).sum();
            let names: Vec<&str> = lead.iter().map(|suspect| suspect.label.as_str()).collect();
            let points = if share >= 0.5 {
                format!("; they point to {}", joined(&names, "or"))
            } else {
                String::new()
            };
            let check = failed.map(|says| format!(". {}", says.trim_end_matches('.')));
            let instead = format!("{points}{}", check.unwrap_or_default());
            format!("Contradicted: the readings show that the claim \"{}\" does not hold{instead}.", it.claim)
        }
        Outcome::Inconsistent => match it.retake {
            Some(says) => format!("Inconsistent: these readings cannot all be right. {says}"),
            None => "Inconsistent: no fault that the circuit knows explains these readings. Check that the unit is wired as drawn, then read again.".to_owned(),
        },
        Outcome::Incomplete => {
            let first = it.owed.unwrap_or("Take a first reading.");
            if it.claimed {
                format!("Incomplete: \"{}\" cannot be judged yet. {first}", it.claim)
            } else {
                format!("Incomplete: nothing can be said yet. {first}")
            }
        }
    }
}

fn not_isolated(it: &Headline<'_>) -> String {
    if let Some((pair, share)) = &it.touching {
        return format!(
            "Not isolated: conductors that touch explain the readings best ({}), likeliest {pair}. Look for bared or pinched insulation where they run side by side, before any part is replaced.",
            of_100(*share)
        );
    }
    let sound = format!("{} for a sound circuit", of_100(it.sound_share));
    let is_clear = it.sound_share + it.passing_share >= it.certain;
    match it.suspects {
        [first, ..] if is_clear && it.passing_share > it.sound_share => format!(
            "Not isolated: nothing to replace, for {} explains the readings ({}).",
            first.label,
            of_100(it.passing_share)
        ),
        all if all.is_empty() || is_clear => {
            format!("Not isolated: these readings show nothing wrong ({sound}).")
        }
        [only] if only.share < it.sound_share => format!(
            "Not isolated: {} may still explain the readings, but they speak for nothing wrong ({sound}).",
            only.label
        ),
        [only] => format!(
            "Not isolated: {} explains the readings best, but not surely enough.",
            only.label
        ),
        all => {
            let count = all.len();
            let first: Vec<&str> = all.iter().take(3).map(|s| s.label.as_str()).collect();
            let more = if count > 3 { format!(" and {} more", count - 3) } else { String::new() };
            let list = if count > 3 { first.join(", ") } else { joined(&first, "and") };
            format!("Not isolated: {count} faults still explain these readings: {list}{more}.")
        }
    }
}

/// The leading suspect with those nearly as likely, at most four.
fn near(suspects: &[Suspect]) -> Vec<&Suspect> {
    let lead = suspects.first().map_or(0.0, |suspect| suspect.share);
    suspects.iter().filter(|suspect| suspect.share >= lead * 0.3).take(4).collect()
}

/// The first letter made a capital.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
