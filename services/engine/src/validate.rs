//! Whether a case can be judged at all.
//!
//! Belongs here: every way a case can be malformed, with where and what would be right. Does
//! not belong here: whether its readings prove anything.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use crate::case::{CASE_FORMAT, Case, Meter, Power, Reading, Shown};
use crate::circuit::{Circuit, PartKind};
use crate::policy::Policy;
use crate::problem::{Problem, Problems};
use crate::rates;
use crate::units::{Quantity, Unit};

/// Most readings in a case; more are refused. Fifty is a long day on one unit.
pub const READINGS_MAX: usize = 64;
/// Most observations in a case.
pub const OBSERVATIONS_MAX: usize = 64;
/// Longest case document, bytes. A longer one is refused unread.
pub const CASE_BYTES_MAX: usize = 256 * 1024;
/// Part temperatures accepted, °C.
const TEMPERATURE_C: RangeInclusive<f64> = -60.0..=250.0;
/// Minutes since the motor last ran.
const STOPPED_MIN: RangeInclusive<f64> = 0.0..=100_000.0;

/// Parses a case document (JSON).
///
/// ```
/// let problems = engine::validate::case_from_json(r#"{"format":1,"circuit":"x","reading":[]}"#);
/// assert!(problems.unwrap_err().to_string().contains("reading"));
/// ```
///
/// # Errors
/// Where the JSON breaks off or does not have the case's shape.
pub fn case_from_json(text: &str) -> Result<Case, Problems> {
    if text.len() > CASE_BYTES_MAX {
        return Err(Problem::new(
            "",
            format!("the case has {} bytes; at most {CASE_BYTES_MAX} are read", text.len()),
        )
        .into());
    }
    // The version first: a case of another version may have another shape throughout.
    #[derive(serde::Deserialize)]
    struct Version {
        format: Option<serde_json::Value>,
    }
    if let Ok(Version { format }) = serde_json::from_str::<Version>(text) {
        let version = format.as_ref().and_then(serde_json::Value::as_u64);
        if version != Some(u64::from(CASE_FORMAT)) {
            let found = format.map_or("missing".to_owned(), |format| format.to_string());
            return Err(Problem::new(
                "/format",
                format!("the case's format is {found}; this engine reads format {CASE_FORMAT}"),
            )
            .into());
        }
    }
    serde_json::from_str(text)
        .map_err(|error| Problem::new("", format!("not a case: {error}")).into())
}

/// Everything that is wrong with a case on this circuit.
pub(crate) fn problems(case: &Case, circuit: &Circuit) -> Vec<Problem> {
    let mut problems = Vec::new();
    if case.format != CASE_FORMAT {
        problems.push(Problem::new(
            "/format",
            format!("the case's format is {}; this engine reads format {CASE_FORMAT}", case.format),
        ));
    }
    if case.readings.len() > READINGS_MAX {
        problems.push(Problem::new(
            "/readings",
            format!(
                "{} readings are more than the {READINGS_MAX} of one case; strike those that tell nothing more",
                case.readings.len()
            ),
        ));
    }
    if case.observations.len() > OBSERVATIONS_MAX {
        problems.push(Problem::new(
            "/observations",
            format!("{} observations are more than {OBSERVATIONS_MAX}", case.observations.len()),
        ));
    }
    specs(case, circuit, &mut problems);
    claim(case, circuit, &mut problems);
    let mut ids = BTreeSet::new();
    for (index, reading) in case.readings.iter().enumerate().take(READINGS_MAX) {
        let at = format!("/readings/{index}");
        if reading.id.is_empty() || reading.id.len() > 40 {
            problems.push(Problem::new(format!("{at}/id"), "an id has 1 to 40 characters"));
        }
        if !ids.insert(&reading.id) {
            problems.push(Problem::new(
                format!("{at}/id"),
                format!("the id \"{}\" is used twice; each must be its own", reading.id),
            ));
        }
        problems.extend(reading_problems(reading, circuit, &at));
    }
    for (index, observation) in case.observations.iter().enumerate().take(OBSERVATIONS_MAX) {
        let at = format!("/observations/{index}");
        if !ids.insert(&observation.id) || observation.id.is_empty() || observation.id.len() > 40 {
            problems.push(Problem::new(
                format!("{at}/id"),
                "an id has 1 to 40 characters and is used once",
            ));
        }
        problems.extend(sign_problem(&observation.sign, circuit, &at));
    }
    if let Some(policy) = &case.policy {
        policy_problems(policy, &mut problems);
    }
    if let Some(rates) = &case.rates {
        problems.extend(rates::problems(rates, "/rates"));
    }
    problems
}

/// What is wrong with the name of a sign, if anything.
pub fn sign_problem(sign: &str, circuit: &Circuit, at: &str) -> Option<Problem> {
    (!circuit.signs.iter().any(|known| known.id == sign)).then(|| {
        Problem::new(
            format!("{at}/sign"),
            format!(
                "there is no sign \"{sign}\" in this circuit; there are {}",
                listed(circuit.signs.iter().map(|sign| &sign.id))
            ),
        )
    })
}

/// Everything wrong with one reading on a circuit; `at` is the JSON pointer to it.
pub fn reading_problems(reading: &Reading, circuit: &Circuit, at: &str) -> Vec<Problem> {
    let mut problems = Vec::new();
    let known_lifted: Vec<&String> = reading
        .lifted
        .iter()
        .filter(|lifted| circuit.connectors.iter().any(|known| known.id == **lifted))
        .collect();
    for (index, lifted) in reading.lifted.iter().enumerate() {
        if !known_lifted.contains(&lifted) {
            problems.push(Problem::new(
                format!("{at}/lifted/{index}"),
                format!(
                    "there is no connector \"{lifted}\"; those that can be lifted are {}",
                    listed(circuit.connectors.iter().map(|connector| &connector.id))
                ),
            ));
        }
    }
    for (field, id) in [("from", &reading.from), ("to", &reading.to)] {
        let at = format!("{at}/{field}");
        let Some(point) = circuit.points.iter().find(|point| point.id == *id) else {
            problems.push(Problem::new(
                at,
                format!(
                    "there is no point \"{id}\"; a probe can touch {}",
                    listed(circuit.points.iter().filter(|p| p.place.is_some()).map(|p| &p.id))
                ),
            ));
            continue;
        };
        if point.place.is_none() {
            problems.push(Problem::new(
                at,
                format!("{} is inside and cannot be touched by a probe", point.label),
            ));
            continue;
        }
        // A clamp goes around the lead and touches nothing.
        let touched: &[String] =
            if reading.quantity == Quantity::Current { &[] } else { &point.needs_lifted };
        for needed in touched {
            if !reading.lifted.contains(needed) {
                let label = circuit
                    .connectors
                    .iter()
                    .find(|connector| connector.id == *needed)
                    .map_or(needed.as_str(), |connector| connector.label.as_str());
                problems.push(Problem::new(
                    at.clone(),
                    format!(
                        "{} can only be touched with the {label} off; add \"{needed}\" to lifted, or name the point that was really touched",
                        point.label
                    ),
                ));
            }
        }
    }
    if reading.from == reading.to {
        problems.push(Problem::new(
            format!("{at}/to"),
            "both probes are on the same point; a reading is between two",
        ));
    }
    let needs = if reading.quantity.needs_power() { Power::Energised } else { Power::Off };
    if reading.power != needs && !reading.quantity.either_way() {
        problems.push(Problem::new(
            format!("{at}/power"),
            format!(
                "{} is read with power {}; say so, or choose another quantity",
                reading.quantity.word(),
                if needs == Power::Off { "off and proved dead" } else { "on" }
            ),
        ));
    }
    link_problems(reading, circuit, at, &mut problems);
    state_problems(reading, circuit, at, &mut problems);
    shown_problems(reading, at, &mut problems);
    for (field, value, range, unit) in [
        ("part_temp_c", reading.part_temp_c, TEMPERATURE_C, "°C"),
        ("stopped_min", reading.stopped_min, STOPPED_MIN, "minutes"),
    ] {
        if let Some(value) = value
            && !range.contains(&value)
        {
            problems.push(Problem::new(
                format!("{at}/{field}"),
                format!("{value} is outside {} to {} {unit}", range.start(), range.end()),
            ));
        }
    }
    if let Some(meter) = &reading.meter {
        meter_problems(meter, at, &mut problems);
    }
    problems
}

/// Volts over a capacitor that diodes charge are direct ones, and nothing else is direct.
fn link_problems(reading: &Reading, circuit: &Circuit, at: &str, problems: &mut Vec<Problem>) {
    let ends = |part: &crate::circuit::Part, point: &String| {
        part.between.as_ref().is_some_and(|ends| ends.contains(point))
    };
    let by_diode = |point: &String| {
        circuit.parts.iter().any(|part| part.kind == PartKind::Diode && ends(part, point))
    };
    let is_link = |a: &String, b: &String| {
        by_diode(a)
            && by_diode(b)
            && circuit.parts.iter().any(|part| {
                part.kind == PartKind::Capacitor && a != b && ends(part, a) && ends(part, b)
            })
    };
    let says = match (reading.quantity, is_link(&reading.from, &reading.to)) {
        (Quantity::Voltage, true) => {
            "these two points carry direct current: set the meter to direct volts and say direct_voltage"
        }
        (Quantity::DirectVoltage, false) => {
            "direct volts are judged across a link only, a capacitor that diodes charge; this circuit has none between these two points"
        }
        _ => return,
    };
    problems.push(Problem::new(format!("{at}/quantity"), says));
}

fn state_problems(reading: &Reading, circuit: &Circuit, at: &str, problems: &mut Vec<Problem>) {
    if let Some(state) = &reading.state {
        let says = if !reading.quantity.needs_power() || reading.power == Power::Off {
            Some("a state is of a circuit under power; leave it out with power off".to_owned())
        } else if !circuit.states.iter().any(|known| known.id == *state) {
            Some(format!(
                "there is no state \"{state}\" in this circuit; there are {}",
                listed(circuit.states.iter().map(|known| &known.id))
            ))
        } else {
            None
        };
        problems.extend(says.map(|says| Problem::new(format!("{at}/state"), says)));
    }
    if reading.quantity == Quantity::Current {
        let carries = circuit.parts.iter().any(|part| {
            part.kind != PartKind::Source
                && part.between.as_ref().is_some_and(|[a, b]| {
                    (*a == reading.from && *b == reading.to)
                        || (*a == reading.to && *b == reading.from)
                })
        });
        if !carries {
            problems.push(Problem::new(
                format!("{at}/to"),
                "amps are read on one lead or part: name its two ends",
            ));
        }
    }
}

fn shown_problems(reading: &Reading, at: &str, problems: &mut Vec<Problem>) {
    match &reading.shown {
        Shown::Value { value, unit } => {
            if !reading.quantity.units().contains(unit) {
                problems.push(Problem::new(
                    format!("{at}/shown/unit"),
                    format!(
                        "a {} cannot be in {}; it is in {}",
                        reading.quantity.word(),
                        unit.sign(),
                        reading
                            .quantity
                            .units()
                            .iter()
                            .map(|unit| unit.sign())
                            .collect::<Vec<_>>()
                            .join(", ")
                    ),
                ));
            }
            let highest = match unit {
                Unit::Ohm => 1e12,
                Unit::Kilohm => 1e9,
                Unit::Megohm => 1e6,
                Unit::Microfarad => 1e6,
                Unit::Volt => 1e5,
                Unit::Ampere => 1e5,
            };
            if !value.is_finite() || !(0.0..=highest).contains(value) {
                problems.push(Problem::new(
                    format!("{at}/shown/value"),
                    format!(
                        "{value} {} is no reading; a value is 0 to {highest} (over limit has its own word, \"over_limit\")",
                        unit.sign()
                    ),
                ));
            }
        }
        Shown::OverLimit => {}
        Shown::Climbing => {
            if reading.quantity != Quantity::Resistance {
                problems.push(Problem::new(
                    format!("{at}/shown/is"),
                    "still climbing is seen on ohms across a capacitor only",
                ));
            }
        }
    }
}

fn meter_problems(meter: &Meter, at: &str, problems: &mut Vec<Problem>) {
    for (field, value, range) in [
        ("accuracy_pct", meter.accuracy_pct, 0.0..=20.0),
        ("resolution", meter.resolution, 1e-6..=1e7),
        ("highest", meter.highest, 1e-3..=1e13),
        ("lead_ohm", meter.lead_ohm, 0.0..=10.0),
    ] {
        if let Some(value) = value
            && !range.contains(&value)
        {
            problems.push(Problem::new(
                format!("{at}/meter/{field}"),
                format!("{value} is outside {} to {}", range.start(), range.end()),
            ));
        }
    }
    if meter.label.as_ref().is_some_and(|label| label.chars().count() > 80) {
        problems.push(Problem::new(format!("{at}/meter/label"), "at most 80 characters"));
    }
}

fn specs(case: &Case, circuit: &Circuit, problems: &mut Vec<Problem>) {
    for (id, spec) in &case.specs {
        let at = format!("/specs/{id}");
        let Some(part) = circuit.parts.iter().find(|part| part.id == *id) else {
            problems.push(Problem::new(
                at,
                format!(
                    "there is no part \"{id}\"; there are {}",
                    listed(circuit.parts.iter().map(|part| &part.id))
                ),
            ));
            continue;
        };
        let suits: &[Unit] = match part.kind {
            PartKind::Capacitor => &[Unit::Microfarad],
            PartKind::Source => &[Unit::Volt],
            PartKind::Mechanism | PartKind::Diode => &[],
            _ => &[Unit::Ohm, Unit::Kilohm],
        };
        if !suits.contains(&spec.unit) {
            problems.push(Problem::new(
                format!("{at}/unit"),
                format!(
                    "{} is given in {}, not in {}",
                    part.label,
                    suits.iter().map(|unit| unit.sign()).collect::<Vec<_>>().join(" or "),
                    spec.unit.sign()
                ),
            ));
        }
        if !(spec.value.is_finite() && spec.value > 0.0 && spec.value <= 1e7) {
            problems.push(Problem::new(
                format!("{at}/value"),
                format!("{} must be above 0 and at most 10,000,000", spec.value),
            ));
        }
        if let Some(pct) = spec.tolerance_pct
            && !(0.1..=50.0).contains(&pct)
        {
            problems.push(Problem::new(
                format!("{at}/tolerance_pct"),
                format!("{pct} is outside 0.1 to 50 percent"),
            ));
        }
    }
}

fn claim(case: &Case, circuit: &Circuit, problems: &mut Vec<Problem>) {
    let Some(claim) = &case.claim else { return };
    if !circuit.components.iter().any(|component| component.id == claim.component) {
        problems.push(Problem::new(
            "/claim/component",
            format!(
                "there is no component \"{}\"; there are {}",
                claim.component,
                listed(circuit.components.iter().map(|component| &component.id))
            ),
        ));
    }
    let Some(part_id) = &claim.part else {
        if claim.mode.is_some() {
            problems.push(Problem::new("/claim/mode", "a mode needs the part that it is of"));
        }
        return;
    };
    let of_component = || circuit.parts.iter().filter(|part| part.component == claim.component);
    let Some(part) = of_component().find(|part| part.id == *part_id) else {
        problems.push(Problem::new(
            "/claim/part",
            format!(
                "\"{part_id}\" is no part of {}; its parts are {}",
                claim.component,
                listed(of_component().map(|part| &part.id))
            ),
        ));
        return;
    };
    if let Some(mode) = &claim.mode {
        match part.modes.iter().find(|known| known.id == *mode) {
            None => problems.push(Problem::new(
                "/claim/mode",
                format!(
                    "{} cannot fail by \"{mode}\"; its modes are {}",
                    part.label,
                    listed(part.modes.iter().map(|mode| &mode.id))
                ),
            )),
            Some(known) if known.passing => problems.push(Problem::new(
                "/claim/mode",
                format!("{} {} passes by itself and condemns nothing", part.label, known.label),
            )),
            Some(_) => {}
        }
    }
}

fn policy_problems(policy: &Policy, problems: &mut Vec<Problem>) {
    for (field, value, range) in [
        ("isolated_min", policy.isolated_min, 0.5..=0.9999),
        ("rival_max", policy.rival_max, 0.0001..=0.5),
        ("leave_one_out_min", policy.leave_one_out_min, 0.0..=0.9999),
        ("contradicted_max", policy.contradicted_max, 0.0001..=0.5),
        ("mistake_rate", policy.mistake_rate, 0.0..=0.3),
        ("unknown_rate", policy.unknown_rate, 0.0..=0.3),
    ] {
        if !range.contains(&value) {
            problems.push(Problem::new(
                format!("/policy/{field}"),
                format!("{value} is outside {} to {}", range.start(), range.end()),
            ));
        }
    }
}

fn listed<'a>(ids: impl Iterator<Item = &'a String>) -> String {
    ids.map(String::as_str).collect::<Vec<_>>().join(", ")
}
