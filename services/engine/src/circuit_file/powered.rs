//! What a circuit file says about the circuit under power, validated.
//!
//! Belongs here: states, driven switches, fed sources, impedances, diodes. Does not belong
//! here: solving any of it ([`crate::powered`]).

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;

use super::{Found, listed};
use crate::circuit::{Circuit, Effect, Impedance, Part, PartKind};

/// Most states a circuit may have; each is solved for every hypothesis that is read in it.
pub const STATES_MAX: usize = 12;
/// Ohms that an impedance may have, in phase or in quadrature.
const IMPEDANCE_OHM_MAX: f64 = 1e7;

pub(super) fn validate(circuit: &Circuit, found: &mut Found<'_>) {
    if let Some(hertz) = circuit.hertz
        && ![50.0, 60.0].contains(&hertz)
    {
        found.of_key("hertz", format!("hertz = {hertz} must be 50 or 60"));
    }
    states(circuit, found);
    source_loops(circuit, found);
    for (index, part) in circuit.parts.iter().enumerate() {
        switch(circuit, index, part, found);
        source(circuit, index, part, found);
        impedances(index, part, found);
        if part.kind == PartKind::Diode && !part.drop_volt.is_some_and(|v| (0.1..=3.0).contains(&v))
        {
            found.push(
                "parts",
                index,
                Some("drop_volt"),
                format!("part {}: a diode needs drop_volt, 0.1 to 3", part.id),
            );
        }
    }
}

fn states(circuit: &Circuit, found: &mut Found<'_>) {
    if circuit.states.len() > STATES_MAX {
        found.of_key(
            "states",
            format!(
                "{} states are more than the {STATES_MAX} that a circuit may have",
                circuit.states.len()
            ),
        );
    }
    let mut seen = BTreeSet::new();
    for (index, state) in circuit.states.iter().enumerate() {
        if state.id.is_empty() || state.id.len() > 40 || !seen.insert(&state.id) {
            found.push(
                "states",
                index,
                Some("id"),
                format!(
                    "the id \"{}\" must have 1 to 40 characters and be used for one state only",
                    state.id
                ),
            );
        }
        if !(0.0..=240.0).contains(&state.minutes) {
            found.push(
                "states",
                index,
                Some("minutes"),
                format!("state {}: minutes = {} must be 0 to 240", state.id, state.minutes),
            );
        }
        type Suits = fn(&Part) -> bool;
        let lists: [(&str, &[String], &str, Suits); 4] = [
            ("energised", &state.energised, "source", |part| part.kind == PartKind::Source),
            ("closed", &state.closed, "switch", |part| part.kind == PartKind::Switch),
            ("opened", &state.opened, "switch", |part| part.kind == PartKind::Switch),
            ("turning", &state.turning, "part with a turning impedance", |part| {
                part.turning.is_some()
            }),
        ];
        for (key, ids, what, suits) in lists {
            for id in ids {
                if !circuit.parts.iter().any(|part| part.id == *id && suits(part)) {
                    let known = listed(
                        circuit
                            .parts
                            .iter()
                            .filter(|part| suits(part))
                            .map(|part| part.id.as_str()),
                    );
                    found.push(
                        "states",
                        index,
                        Some(key),
                        format!("state {}: \"{id}\" is no {what}; there are {known}", state.id),
                    );
                }
            }
        }
    }
}

fn switch(circuit: &Circuit, index: usize, part: &Part, found: &mut Found<'_>) {
    let id = &part.id;
    let mut push = |key, says| found.push("parts", index, Some(key), says);
    let is_switch = part.kind == PartKind::Switch;
    if !is_switch && part.normally.is_some() {
        push("normally", format!("part {id}: only a switch rests open or closed"));
    }
    if !is_switch && part.modes.iter().any(|mode| mode.effect == Effect::StuckClosed) {
        push("modes", format!("part {id}: only a switch can be stuck closed"));
    }
    match (&part.driven_by, part.pull_in_volt) {
        (None, None) => {}
        (Some(driver), Some(volt)) => {
            if !is_switch {
                push("driven_by", format!("part {id}: only a switch is worked by another part"));
            }
            if !circuit.parts.iter().any(|known| known.id == *driver && known.between.is_some()) {
                push(
                    "driven_by",
                    format!("part {id}: there is no part \"{driver}\" with two ends to work it"),
                );
            }
            if !(0.1..=1e3).contains(&volt) {
                push(
                    "pull_in_volt",
                    format!("part {id}: pull_in_volt = {volt} is outside 0.1 to 1000"),
                );
            }
        }
        _ => push("driven_by", format!("part {id}: driven_by and pull_in_volt go together")),
    }
}

fn source(circuit: &Circuit, index: usize, part: &Part, found: &mut Found<'_>) {
    let id = &part.id;
    let mut push = |key, says| found.push("parts", index, Some(key), says);
    if part.kind != PartKind::Source
        && (part.fed_by.is_some() || part.source_ohm.is_some() || part.phase_deg.is_some())
    {
        push("kind", format!("part {id}: fed_by, source_ohm and phase_deg are a source's"));
    }
    match (&part.fed_by, part.at_volt) {
        (None, None) => {}
        (Some(feeder), Some(volt)) => {
            if !circuit.parts.iter().any(|known| known.id == *feeder && known.between.is_some()) {
                push(
                    "fed_by",
                    format!("part {id}: there is no part \"{feeder}\" with two ends to feed it"),
                );
            }
            if !(0.1..=1e3).contains(&volt) {
                push("at_volt", format!("part {id}: at_volt = {volt} is outside 0.1 to 1000"));
            }
        }
        _ => push("fed_by", format!("part {id}: fed_by and at_volt go together")),
    }
    if let Some(ohm) = part.source_ohm
        && !(1e-4..=1e3).contains(&ohm)
    {
        push("source_ohm", format!("part {id}: source_ohm = {ohm} is outside 0.0001 to 1000"));
    }
    if let Some(degrees) = part.phase_deg
        && !(-360.0..=360.0).contains(&degrees)
    {
        push("phase_deg", format!("part {id}: phase_deg = {degrees} is outside −360 to 360"));
    }
}

/// Sources that close a loop must add up to nothing around it (three phases 120° apart do);
/// otherwise they would drive each other, and a sound supply would read as a dead one.
fn source_loops(circuit: &Circuit, found: &mut Found<'_>) {
    /// What the sum around a loop may miss, as a share of the source that closes it.
    const OFF: f64 = 0.05;
    // Each point's phasor against the first point of those that sources join it to.
    let mut known: BTreeMap<&str, (usize, Complex64)> = BTreeMap::new();
    let mut islands = 0;
    for (index, part) in circuit.parts.iter().enumerate() {
        let (PartKind::Source, Some([a, b]), None) = (part.kind, &part.between, &part.fed_by)
        else {
            continue;
        };
        let phase = part.phase_deg.unwrap_or(0.0).to_radians();
        let volt = Complex64::from_polar(part.volt.unwrap_or(0.0), phase);
        match (known.get(a.as_str()).copied(), known.get(b.as_str()).copied()) {
            (Some((one, at_a)), Some((other, at_b))) if one == other => {
                if (at_a - at_b - volt).norm() > OFF * volt.norm() {
                    found.push(
                        "parts",
                        index,
                        None,
                        format!(
                            "part {}: this source closes a loop of sources whose volts do not add up to nothing; give each its phase_deg (three phases: 0, -120, 120)",
                            part.id
                        ),
                    );
                }
            }
            (Some((one, at_a)), Some((other, at_b))) => {
                let shift = at_a - volt - at_b;
                for (island, at) in known.values_mut().filter(|(island, _)| *island == other) {
                    (*island, *at) = (one, *at + shift);
                }
            }
            (Some((one, at_a)), None) => {
                known.insert(b, (one, at_a - volt));
            }
            (None, Some((one, at_b))) => {
                known.insert(a, (one, at_b + volt));
            }
            (None, None) => {
                known.insert(a, (islands, volt));
                known.insert(b, (islands, Complex64::ZERO));
                islands += 1;
            }
        }
    }
}

fn impedances(index: usize, part: &Part, found: &mut Found<'_>) {
    for (key, impedance) in [("still", part.still), ("turning", part.turning)] {
        let Some(Impedance { ohm, reactance_ohm }) = impedance else {
            continue;
        };
        if matches!(part.kind, PartKind::Source | PartKind::Capacitor | PartKind::Mechanism) {
            found.push(
                "parts",
                index,
                Some(key),
                format!("part {}: a {:?} has no impedance of its own here", part.id, part.kind),
            );
        }
        if !(ohm > 0.0 && ohm <= IMPEDANCE_OHM_MAX && reactance_ohm.abs() <= IMPEDANCE_OHM_MAX) {
            found.push(
                "parts",
                index,
                Some(key),
                format!(
                    "part {}: {key} needs ohm above 0, both at most {IMPEDANCE_OHM_MAX}",
                    part.id
                ),
            );
        }
    }
}
