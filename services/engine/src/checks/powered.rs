//! Checks on readings taken under power.
//!
//! Belongs here: a capacitor under load, volts lost across a contact, what a link still holds
//! once the supply is off. Does not belong here:
//! predicting those readings ([`crate::powered`]).

use std::f64::consts::TAU;

use super::{Checked, label_of, latest, value};
use crate::case::{Case, Power, Reading};
use crate::circuit::Circuit;
use crate::units::Quantity;
use crate::verdict::{Check, CheckResult, figures};

/// Frequency where a circuit states none, hertz.
pub(crate) const HERTZ_DEFAULT: f64 = 60.0;

/// Microfarads of a capacitor from the amps through it and the volts across it:
/// C = I·10⁶ / (2π·f·V). `volt` and `hertz` above 0.
///
/// ```
/// // C = I·10⁶/(2πfV) as tabulated: 5.8 A at 384 V and 60 Hz is 40.07 µF.
/// assert!((engine::checks::microfarad_under_load(5.8, 384.0, 60.0) - 40.07).abs() < 0.01);
/// ```
pub fn microfarad_under_load(ampere: f64, volt: f64, hertz: f64) -> f64 {
    ampere * 1e6 / (TAU * hertz * volt)
}

/// Amps and volts taken in the same state.
fn same_state(a: &Reading, b: &Reading) -> bool {
    a.state == b.state
}

pub(super) fn capacitor_under_load(
    circuit: &Circuit,
    case: &Case,
    part: &str,
    points: &[String; 2],
    amps_through: &[String; 2],
    tolerance_pct: f64,
    checked: &mut Checked,
) {
    /// Below this the capacitor carries no load and the quotient says nothing, volt.
    const VOLT_MIN: f64 = 20.0;
    let volts = latest(case, Quantity::Voltage, &points[0], &points[1]);
    let amps = latest(case, Quantity::Current, &amps_through[0], &amps_through[1]);
    let (Some(volts), Some(amps)) = (volts, amps) else {
        return;
    };
    let (Some(volt), Some(ampere)) = (value(volts), value(amps)) else {
        return;
    };
    let Some((nominal, tolerance)) = label_of(circuit, case, part, tolerance_pct) else {
        return;
    };
    if !same_state(volts, amps) || volt < VOLT_MIN {
        return;
    }
    let microfarad = microfarad_under_load(ampere, volt, circuit.hertz.unwrap_or(HERTZ_DEFAULT));
    let pct = 100.0 * microfarad / nominal;
    let numbers = format!(
        "{} A at {} V is {} µF, {pct:.1} % of {} µF",
        figures(ampere),
        figures(volt),
        figures(microfarad),
        figures(nominal)
    );
    let (result, says) = if (pct - 100.0).abs() <= tolerance {
        (CheckResult::Pass, format!("Under load {numbers}: within ±{tolerance} %."))
    } else {
        (
            CheckResult::Fail,
            format!(
                "Under load {numbers}: outside ±{tolerance} %. Discharge it, prove it, and read it by meter before anything else is condemned."
            ),
        )
    };
    checked.checks.push(Check {
        id: "capacitor_under_load".into(),
        title: "Capacitor under load".into(),
        result,
        says,
        source: "C = I·10⁶/(2πfV); the capacitor's own label".into(),
        readings: vec![amps.id.clone(), volts.id.clone()],
    });
}

pub(super) fn contact_drop(
    circuit: &Circuit,
    case: &Case,
    points: &[String; 2],
    max_volt: f64,
    checked: &mut Checked,
) {
    /// From this share of a supply's volts on the contact is open, not worn.
    const OPEN_SHARE: f64 = 0.7;
    let Some(reading) = latest(case, Quantity::Voltage, &points[0], &points[1]) else {
        return;
    };
    let Some(volt) = value(reading) else { return };
    let numbers = format!("{} V from {} to {}", figures(volt), points[0], points[1]);
    let (result, says) = if volt <= max_volt {
        (
            CheckResult::Pass,
            format!("{numbers}: a closed contact in order, or one that carries nothing."),
        )
    } else if !circuit.parts.iter().filter_map(|part| part.volt).any(|supply| {
        // A supply far above what stands here is another circuit's.
        (OPEN_SHARE..=1.3).contains(&(volt / supply))
    }) {
        (
            CheckResult::Fail,
            format!(
                "{numbers}: over {max_volt} V is lost there. The contact is worn or burnt; the load behind it starves."
            ),
        )
    } else {
        (
            CheckResult::Fail,
            format!(
                "{numbers}: it stands open, and all of the supply is lost there. Settle what works it, or what holds it open, before it is replaced, and bypass no safety."
            ),
        )
    };
    checked.checks.push(Check {
        id: "contact_drop".into(),
        title: "Volts lost across a contact".into(),
        result,
        says,
        source: "common practice, no source".into(),
        readings: vec![reading.id.clone()],
    });
}

/// The words that go with every link: the meter decides, the maker's time and local practice
/// besides.
pub(crate) fn prove_discharged(points: [&str; 2], safe_volt: f64) -> String {
    format!(
        "Wait as the unit's label says, then measure direct volts from {} to {}: go on at {safe_volt} V or less. The meter decides, not the clock; the maker's own time and local practice come before this sheet.",
        points[0], points[1]
    )
}

pub(super) fn stored_charge(
    case: &Case,
    points: &[String; 2],
    safe_volt: f64,
    checked: &mut Checked,
) {
    let between = |reading: &&Reading| {
        (reading.from == points[0] && reading.to == points[1])
            || (reading.from == points[1] && reading.to == points[0])
    };
    let off = || case.readings.iter().rev().filter(|reading| reading.power == Power::Off);
    let proof = off().filter(between).find(|r| r.quantity == Quantity::DirectVoltage);
    let (result, says, readings) = match proof.and_then(|proof| Some((proof, value(proof)?))) {
        Some((proof, volt)) if volt <= safe_volt => (
            CheckResult::Pass,
            format!(
                "The link stood at {} V with the supply off: discharged when it was read. It can charge again from what is still plugged in; prove it anew after every pause.",
                figures(volt)
            ),
            vec![proof.id.clone()],
        ),
        Some((proof, volt)) => (
            CheckResult::Fail,
            format!(
                "The link still holds {} V with the supply off: touch nothing, and take no reading in ohms or on the diode test. {}",
                figures(volt),
                prove_discharged([&points[0], &points[1]], safe_volt)
            ),
            vec![proof.id.clone()],
        ),
        // Whoever read anything there with the power off proved it dead, and may say so.
        None if off().next().is_some() => (
            CheckResult::Waiting,
            format!(
                "No reading says what the link held before the others were taken. {}",
                prove_discharged([&points[0], &points[1]], safe_volt)
            ),
            Vec::new(),
        ),
        None => return,
    };
    checked.checks.push(Check {
        id: "stored_charge".into(),
        title: "What the link still holds".into(),
        result,
        says,
        source: "the volts: common practice, no source; the time to wait: the unit's own label"
            .into(),
        readings,
    });
}
