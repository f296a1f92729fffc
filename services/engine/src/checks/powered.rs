//! Checks on readings taken under power.
//!
//! Belongs here: a capacitor under load, volts lost across a contact. Does not belong here:
//! predicting those readings ([`crate::powered`]).

use std::f64::consts::TAU;

use super::{Checked, label_of, latest, value};
use crate::case::{Case, Reading};
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
    case: &Case,
    points: &[String; 2],
    max_volt: f64,
    checked: &mut Checked,
) {
    /// From here the contact is open or the circuit is off, not a worn contact, volt.
    const OPEN_VOLT: f64 = 50.0;
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
    } else if volt < OPEN_VOLT {
        (
            CheckResult::Fail,
            format!(
                "{numbers}: over {max_volt} V is lost there. The contact is worn or burnt; the load behind it starves."
            ),
        )
    } else {
        (CheckResult::Fail, format!("{numbers}: open where it should be closed."))
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
