//! Checks that stand beside the model: rules that makers and standards publish, each with
//! its source.
//!
//! Belongs here: one function per kind of check, its numbers and its sentence. Does not
//! belong here: what a failed check does to the verdict ([`crate::judge`]).

mod ground;
mod powered;
pub(crate) mod supply;
mod wiring;

use crate::case::{Case, Reading, Shown};
use crate::circuit::{CheckSpec, Circuit, PartKind};
use crate::likelihood::MeterLimits;
use crate::sentences;
use crate::units::Quantity;
use crate::verdict::{Check, CheckResult, Owed, Retake, figures};

pub(crate) use ground::not_read_to_shell;
pub use powered::microfarad_under_load;
pub(crate) use powered::{HERTZ_DEFAULT, prove_discharged};

/// What the checks found, for the verdict.
#[derive(Default)]
pub(crate) struct Checked {
    pub(crate) checks: Vec<Check>,
    /// What must be measured or answered before anything can be isolated.
    pub(crate) owed: Vec<Owed>,
    /// Readings that cannot all be right.
    pub(crate) retake: Vec<Retake>,
    /// The windings at the pins contradict each other.
    pub(crate) inconsistent: bool,
}

/// Runs every check that the circuit lists.
pub(crate) fn run(circuit: &Circuit, case: &Case) -> Checked {
    let mut checked = Checked::default();
    for check in &circuit.checks {
        match check {
            CheckSpec::WindingSum { common, start, run, labels_sign } => {
                winding_sum(case, [common, start, run], labels_sign, &mut checked);
            }
            CheckSpec::OverloadCooling { common, start, run, cool_c, rest_min } => {
                overload_cooling(
                    circuit,
                    case,
                    [common, start, run],
                    *cool_c,
                    *rest_min,
                    &mut checked,
                );
            }
            CheckSpec::Ground { pins, shell, lifted, fault_below_megohm, before } => {
                ground::first(circuit, case, pins, shell, lifted, before, &mut checked);
                ground::ground(
                    circuit,
                    case,
                    pins,
                    shell,
                    lifted,
                    *fault_below_megohm,
                    &mut checked,
                );
            }
            CheckSpec::WindingBalance { pins, max_pct } => {
                winding_balance(case, pins, *max_pct, &mut checked);
            }
            CheckSpec::VoltageUnbalance { points, derate_pct, never_pct } => {
                voltage_unbalance(case, points, *derate_pct, *never_pct, &mut checked);
            }
            CheckSpec::CapacitorLabel { part, points, tolerance_pct } => {
                capacitor_label(circuit, case, part, points, *tolerance_pct, &mut checked);
            }
            CheckSpec::CapacitorUnderLoad { part, points, amps_through, tolerance_pct } => {
                powered::capacitor_under_load(
                    circuit,
                    case,
                    part,
                    points,
                    amps_through,
                    *tolerance_pct,
                    &mut checked,
                );
            }
            CheckSpec::ContactDrop { points, max_volt } => {
                powered::contact_drop(circuit, case, points, *max_volt, &mut checked);
            }
            CheckSpec::WiresAsDrawn { before, sign } => {
                wiring::as_drawn(circuit, case, before, sign, &mut checked);
            }
            // Needs to know which fault leads: the judge asks for it ([`supply::first`]).
            CheckSpec::SupplyFirst { .. } => {}
            CheckSpec::StoredCharge { points, safe_volt } => {
                powered::stored_charge(case, points, *safe_volt, &mut checked);
            }
        }
    }
    checked
}

/// The latest reading of a quantity between two points, either way round.
fn latest<'c>(case: &'c Case, quantity: Quantity, a: &str, b: &str) -> Option<&'c Reading> {
    case.readings.iter().rev().find(|reading| {
        reading.quantity == quantity
            && ((reading.from == a && reading.to == b) || (reading.from == b && reading.to == a))
    })
}

fn value(reading: &Reading) -> Option<f64> {
    match reading.shown {
        Shown::Value { value, unit } => Some(value * unit.to_base()),
        _ => None,
    }
}

/// Whether a + b = c within what the meters allow.
fn adds_up(a: (&Reading, f64), b: (&Reading, f64), c: (&Reading, f64)) -> (f64, f64) {
    /// Readings minutes apart on a warm motor differ by this much of the sum.
    const DRIFT: f64 = 0.01;
    let error = |(reading, value): (&Reading, f64)| {
        let meter = MeterLimits::of(reading.quantity, reading.meter.as_ref());
        meter.one_sigma(value)
    };
    let sigma =
        (error(a).powi(2) + error(b).powi(2) + error(c).powi(2) + (DRIFT * c.1).powi(2)).sqrt();
    (c.1 - a.1 - b.1, 3.0 * sigma)
}

fn winding_sum(case: &Case, pins: [&str; 3], labels_sign: &str, checked: &mut Checked) {
    let [common, start, run] = pins;
    let pair = |a, b| {
        let reading = latest(case, Quantity::Resistance, a, b)?;
        Some((reading, value(reading)?))
    };
    let (Some(cs), Some(cr), Some(sr)) = (pair(common, start), pair(common, run), pair(start, run))
    else {
        return;
    };
    let confirmed = case
        .observations
        .iter()
        .rev()
        .find(|observation| observation.sign == labels_sign)
        .is_some_and(|observation| observation.present);
    let (off, allowed) = adds_up(cs, cr, sr);
    let fits = off.abs() <= allowed;
    let ids = vec![cs.0.id.clone(), cr.0.id.clone(), sr.0.id.clone()];
    let numbers = format!(
        "{start}–{run} {} Ω against {common}–{start} {} Ω plus {common}–{run} {} Ω = {} Ω",
        figures(sr.1),
        figures(cs.1),
        figures(cr.1),
        figures(cs.1 + cr.1)
    );
    let other = [(cr, sr, cs, run), (cs, sr, cr, start)].into_iter().find_map(|(a, b, c, name)| {
        let (off, allowed) = adds_up(a, b, c);
        (off.abs() <= allowed).then_some(name)
    });
    let (result, says) = match (fits, confirmed) {
        (true, _) if cr.1 <= cs.1 => {
            (CheckResult::Pass, format!("The windings add up: {numbers}."))
        }
        (true, true) => (
            CheckResult::Pass,
            format!(
                "The windings add up: {numbers}. The run winding is the higher one, and the labels are confirmed."
            ),
        ),
        (true, false) => (
            CheckResult::Asks,
            format!(
                "The windings add up, but {common}–{run} reads higher than {common}–{start}. Are {start} and {run} labelled as on the unit's own diagram?"
            ),
        ),
        (false, false) if other.is_some() => (
            CheckResult::Asks,
            format!(
                "These three add up only if pin {} is the common one: {numbers}. Check the labels against the unit's own diagram.",
                other.unwrap_or_default()
            ),
        ),
        (false, _) => (
            CheckResult::Fail,
            format!(
                "The windings do not add up: {numbers}, off by {} Ω where {} Ω is allowed.",
                figures(off.abs()),
                figures(allowed)
            ),
        ),
    };
    match result {
        CheckResult::Asks => checked.owed.push(Owed {
            check: "winding_sum".into(),
            says: format!(
                "Confirm which pins are {common}, {start} and {run} from the unit's own diagram, then answer the question about the labels."
            ),
            sign: Some(labels_sign.to_owned()),
        }),
        CheckResult::Fail => {
            checked.inconsistent = true;
            checked.retake.push(Retake {
                reading: sr.0.id.clone(),
                says: format!(
                    "Retake {start}–{run}: the other two say it should be {} Ω. Zero the leads and press the probes onto bright metal.",
                    figures(cs.1 + cr.1)
                ),
            });
            for (reading, from, to) in [(cr.0, common, run), (cs.0, common, start)] {
                checked.retake.push(Retake {
                    reading: reading.id.clone(),
                    says: format!("Then retake {from}–{to} with the same leads."),
                });
            }
        }
        _ => {}
    }
    checked.checks.push(Check {
        id: "winding_sum".into(),
        title: "Windings add up".into(),
        result,
        says,
        source: "R(S–R) = R(C–S) + R(C–R): unit makers' service manuals; the allowance is meter error at three standard deviations (common practice, no source)".into(),
        readings: ids,
    });
}

fn overload_cooling(
    circuit: &Circuit,
    case: &Case,
    pins: [&str; 3],
    cool_c: f64,
    rest_min: f64,
    checked: &mut Checked,
) {
    let [common, start, run] = pins;
    let open =
        |a, b| latest(case, Quantity::Resistance, a, b).filter(|r| r.shown == Shown::OverLimit);
    let (Some(cs), Some(cr)) = (open(common, start), open(common, run)) else {
        return;
    };
    let Some(sr) = latest(case, Quantity::Resistance, start, run) else {
        return;
    };
    if value(sr).is_none() {
        return;
    }
    let known = |get: fn(&Reading) -> Option<f64>| get(cr).or_else(|| get(cs));
    let temp = known(|reading| reading.part_temp_c);
    let rest = known(|reading| reading.stopped_min);
    let label = circuit
        .parts
        .iter()
        .find(|part| {
            part.kind == PartKind::Overload
                && part.between.as_ref().is_some_and(|ends| ends.iter().any(|end| end == common))
        })
        .map_or("internal overload", |part| part.label.as_str());
    let pattern = format!(
        "{common}–{start} and {common}–{run} are open while {start}–{run} is good: the {label} is open"
    );
    let (result, says) = match (temp, rest) {
        (Some(temp), Some(rest)) if temp <= cool_c && rest >= rest_min => (
            CheckResult::Fail,
            format!(
                "{pattern}, at {temp:.0} °C and {} min after it stopped. It should have reset.",
                rest.round()
            ),
        ),
        (Some(temp), Some(rest)) => (
            CheckResult::Asks,
            format!(
                "{pattern}, at {temp:.0} °C and {} min after it stopped. It may only be hot: read again below {cool_c:.0} °C and after {rest_min:.0} min.",
                rest.round()
            ),
        ),
        (temp, rest) => {
            let mut missing = Vec::new();
            if temp.is_none() {
                missing.push("the shell temperature");
            }
            if rest.is_none() {
                missing.push("the minutes since it last ran");
            }
            // A shell known to be hot already says that it must cool first: nothing is owed.
            if temp.is_none_or(|temp| temp <= cool_c) {
                checked.owed.push(Owed {
                    check: "overload_cooling".into(),
                    says: format!("Retake {common}–{run} with {} noted.", missing.join(" and ")),
                    sign: None,
                });
            }
            (
                CheckResult::Waiting,
                format!(
                    "{pattern}. It opens when hot, so {} must be known.",
                    missing.join(" and ")
                ),
            )
        }
    };
    checked.checks.push(Check {
        id: "overload_cooling".into(),
        title: sentences::capital(label),
        result,
        says,
        source: "makers ask for 3 to 4 hours of cooling and a second reading (fan motors 45 minutes); the temperature is common practice, no source".into(),
        readings: vec![cs.id.clone(), cr.id.clone(), sr.id.clone()],
    });
}

/// Insulation at 40 °C from a reading at another temperature: halving per 10 °C
/// (IEEE 43 practice).
///
/// ```
/// // 200 MΩ at 20 °C → 50 MΩ (IEEE 43 practice).
/// assert!((engine::checks::insulation_at_40c(200.0, 20.0) - 50.0).abs() < 1e-9);
/// ```
pub fn insulation_at_40c(value: f64, celsius: f64) -> f64 {
    value * 0.5f64.powf((40.0 - celsius) / 10.0)
}

/// Unbalance of three values in percent: 100·max|v − mean|/mean, mean not rounded.
///
/// ```
/// // NEMA MG 1 definition; 208/206/199 V is 2.61 % (a published page prints 2.3: wrong).
/// assert!((engine::checks::unbalance_pct([208.0, 206.0, 199.0]) - 2.610).abs() < 1e-3);
/// assert!((engine::checks::unbalance_pct([462.0, 463.0, 455.0]) - 1.087).abs() < 1e-3);
/// ```
pub fn unbalance_pct(values: [f64; 3]) -> f64 {
    let mean = values.iter().sum::<f64>() / 3.0;
    100.0 * values.iter().map(|value| (value - mean).abs()).fold(0.0, f64::max) / mean
}

fn three<'c>(
    case: &'c Case,
    quantity: Quantity,
    points: &[String; 3],
) -> Option<([f64; 3], Vec<String>, [&'c Reading; 3])> {
    let [a, b, c] = points;
    let first = latest(case, quantity, a, b)?;
    let second = latest(case, quantity, b, c)?;
    let third = latest(case, quantity, c, a)?;
    let values = [value(first)?, value(second)?, value(third)?];
    let ids = vec![first.id.clone(), second.id.clone(), third.id.clone()];
    (values.iter().sum::<f64>() > 0.0).then_some((values, ids, [first, second, third]))
}

fn winding_balance(case: &Case, pins: &[String; 3], max_pct: f64, checked: &mut Checked) {
    let Some((values, readings, _)) = three(case, Quantity::Resistance, pins) else {
        return;
    };
    let pct = unbalance_pct(values);
    let numbers = values.map(figures).join(" / ");
    let (result, says) = if pct <= max_pct {
        (
            CheckResult::Pass,
            format!("The windings balance: {numbers} Ω, {pct:.2} % (at most {max_pct} %)."),
        )
    } else {
        (
            CheckResult::Fail,
            format!(
                "The windings do not balance: {numbers} Ω, {pct:.2} % where {max_pct} % is allowed."
            ),
        )
    };
    checked.checks.push(Check {
        id: "winding_balance".into(),
        title: "Winding balance".into(),
        result,
        says,
        source: "2 %: ANSI/EASA AR100 practice".into(),
        readings,
    });
}

/// NEMA MG 1 derating curve as tabulated by an engineering reference: unbalance in percent
/// and the factor (a motor maker gives 0.90 at 3 %).
const DERATING: [(f64, f64); 10] = [
    (0.0, 1.0),
    (0.5, 1.0),
    (1.5, 0.97),
    (2.0, 0.95),
    (2.5, 0.93),
    (3.0, 0.89),
    (3.5, 0.85),
    (4.0, 0.82),
    (4.5, 0.78),
    (5.0, 0.76),
];

/// The share of its rated load that a motor may carry at this voltage unbalance, 0 to 5 %;
/// `None` above.
///
/// ```
/// assert_eq!(engine::checks::derating(2.5), Some(0.93));
/// assert_eq!(engine::checks::derating(5.1), None);
/// ```
pub fn derating(unbalance_pct: f64) -> Option<f64> {
    DERATING.windows(2).find_map(|pair| {
        let [(low, high_factor), (high, low_factor)] = [pair[0], pair[1]];
        (low..=high).contains(&unbalance_pct).then(|| {
            high_factor + (low_factor - high_factor) * (unbalance_pct - low) / (high - low)
        })
    })
}

fn voltage_unbalance(
    case: &Case,
    points: &[String; 3],
    derate_pct: f64,
    never_pct: f64,
    checked: &mut Checked,
) {
    let Some((values, readings, _)) = three(case, Quantity::Voltage, points) else {
        return;
    };
    let pct = unbalance_pct(values);
    let numbers = values.map(|volt| format!("{volt:.0}")).join(" / ");
    let (result, says) = if pct <= derate_pct {
        (
            CheckResult::Pass,
            format!("Supply {numbers} V: unbalance {pct:.2} %, within {derate_pct} %."),
        )
    } else if pct <= never_pct {
        let factor = derating(pct).map_or(String::new(), |factor| {
            format!(", which leaves the motor about {factor:.2} of its rated load")
        });
        (
            CheckResult::Fail,
            format!(
                "Supply {numbers} V: unbalance {pct:.2} %, over {derate_pct} %{factor}. Settle the supply first: it overheats a good motor."
            ),
        )
    } else {
        (
            CheckResult::Fail,
            format!(
                "Supply {numbers} V: unbalance {pct:.2} %, over {never_pct} %: no motor may run on it."
            ),
        )
    };
    checked.checks.push(Check {
        id: "voltage_unbalance".into(),
        title: "Supply unbalance".into(),
        result,
        says,
        source: "NEMA MG 1: not over 1 % without derating, never over 5 %".into(),
        readings,
    });
}

/// A capacitor's microfarads and tolerance in percent, of the unit's own where it is given.
fn label_of(circuit: &Circuit, case: &Case, part: &str, tolerance_pct: f64) -> Option<(f64, f64)> {
    let spec = case.specs.get(part);
    let nominal = spec.map(|spec| spec.value).or_else(|| {
        circuit.parts.iter().find(|known| known.id == part).and_then(|known| known.microfarad)
    })?;
    Some((nominal, spec.and_then(|spec| spec.tolerance_pct).unwrap_or(tolerance_pct)))
}

fn capacitor_label(
    circuit: &Circuit,
    case: &Case,
    part: &str,
    points: &[String; 2],
    tolerance_pct: f64,
    checked: &mut Checked,
) {
    let Some(reading) = latest(case, Quantity::Capacitance, &points[0], &points[1]) else {
        return;
    };
    let Some(measured) = value(reading) else {
        return;
    };
    let Some((nominal, tolerance)) = label_of(circuit, case, part, tolerance_pct) else {
        return;
    };
    let pct = 100.0 * measured / nominal;
    let numbers = format!("{} µF, {pct:.1} % of {} µF", figures(measured), figures(nominal));
    let (result, says) = if (pct - 100.0).abs() <= tolerance {
        (CheckResult::Pass, format!("The section reads {numbers}: within ±{tolerance} %."))
    } else {
        (
            CheckResult::Fail,
            format!(
                "The section reads {numbers}: outside ±{tolerance} %. A weak capacitor explains a motor that will not start before the motor does."
            ),
        )
    };
    checked.checks.push(Check {
        id: "capacitor_label".into(),
        title: "Capacitor against its label".into(),
        result,
        says,
        source: "the capacitor's own label (5, 6 or 10 %)".into(),
        readings: vec![reading.id.clone()],
    });
}
