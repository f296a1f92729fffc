//! The checks that a circuit file lists, validated.
//!
//! Belongs here: that what a check names exists. Does not belong here: running it
//! ([`crate::checks`]).

use super::Found;
use crate::circuit::{CheckSpec, Circuit, PartKind};

pub(super) fn validate(circuit: &Circuit, found: &mut Found<'_>) {
    for (index, check) in circuit.checks.iter().enumerate() {
        let points: Vec<&String> = match check {
            CheckSpec::WindingSum { common, start, run, .. }
            | CheckSpec::OverloadCooling { common, start, run, .. } => vec![common, start, run],
            CheckSpec::Ground { pins, shell, .. } => pins.iter().chain([shell]).collect(),
            CheckSpec::WindingBalance { pins, .. } => pins.iter().collect(),
            CheckSpec::VoltageUnbalance { points, .. } => points.iter().collect(),
            CheckSpec::CapacitorLabel { points, .. }
            | CheckSpec::ContactDrop { points, .. }
            | CheckSpec::StoredCharge { points, .. } => points.iter().collect(),
            CheckSpec::CapacitorUnderLoad { points, amps_through, .. } => {
                points.iter().chain(amps_through).collect()
            }
            CheckSpec::SupplyFirst { pairs, .. } => pairs.iter().flatten().collect(),
            CheckSpec::WiresAsDrawn { .. } => Vec::new(),
        };
        for point in points {
            if !circuit.points.iter().any(|known| known.id == *point) {
                found.push(
                    "checks",
                    index,
                    None,
                    format!("this check names the point \"{point}\", which does not exist"),
                );
            }
        }
        if let CheckSpec::Ground { before, .. }
        | CheckSpec::WiresAsDrawn { before, .. }
        | CheckSpec::SupplyFirst { before, .. } = check
        {
            for id in before {
                if !circuit.components.iter().any(|known| known.id == *id) {
                    let says =
                        format!("this check names the component \"{id}\", which does not exist");
                    found.push("checks", index, None, says);
                }
            }
        }
        let missing = match check {
            CheckSpec::WindingSum { labels_sign: sign, .. }
            | CheckSpec::WiresAsDrawn { sign, .. } => {
                (!circuit.signs.iter().any(|known| known.id == *sign))
                    .then(|| format!("the sign \"{sign}\""))
            }
            CheckSpec::Ground { lifted, .. } => {
                (!circuit.connectors.iter().any(|connector| connector.id == *lifted))
                    .then(|| format!("the connector \"{lifted}\""))
            }
            CheckSpec::SupplyFirst { state, .. }
                if !circuit.states.iter().any(|known| known.id == *state) =>
            {
                Some(format!("the state \"{state}\""))
            }
            CheckSpec::SupplyFirst { part, .. } => (!circuit
                .parts
                .iter()
                .any(|known| known.id == *part && known.kind == PartKind::Source))
            .then(|| format!("the source \"{part}\"")),
            CheckSpec::CapacitorLabel { part, .. } | CheckSpec::CapacitorUnderLoad { part, .. } => {
                (!circuit.parts.iter().any(|known| known.id == *part))
                    .then(|| format!("the part \"{part}\""))
            }
            _ => None,
        };
        if let Some(missing) = missing {
            found.push(
                "checks",
                index,
                None,
                format!("this check names {missing}, which does not exist"),
            );
        }
    }
}
