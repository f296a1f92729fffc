//! Units at the engine's edge: a value and its unit travel together until they become a
//! bare `f64` whose name carries the unit (`resistance_ohm`).
//!
//! Belongs here: the units a reading may be shown in and their conversion to the base unit
//! of their quantity. Does not belong here: what a reading means.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a reading measures.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Ohms with an ordinary meter, power off. Base unit: ohm.
    Resistance,
    /// Ohms with an insulation tester, power off. Base unit: ohm.
    Insulation,
    /// Microfarads with a meter, power off, discharged. Base unit: microfarad.
    Capacitance,
    /// Volts, energised. Base unit: volt.
    Voltage,
    /// Amps through the lead or part between the two points, energised. Base unit: ampere.
    Current,
    /// Volts of direct current across a link: energised, or with the supply off to prove it
    /// discharged. Base unit: volt.
    DirectVoltage,
    /// Forward drop on a meter's diode test, power off and discharged: first point on the
    /// red probe. Base unit: volt.
    Diode,
}

/// The unit that a meter showed.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Ω
    Ohm,
    /// kΩ
    Kilohm,
    /// MΩ
    Megohm,
    /// µF
    Microfarad,
    /// V
    Volt,
    /// A
    Ampere,
}

impl Unit {
    /// The factor to the base unit of the quantities this unit can express.
    pub fn to_base(self) -> f64 {
        match self {
            Unit::Ohm | Unit::Microfarad | Unit::Volt | Unit::Ampere => 1.0,
            Unit::Kilohm => 1e3,
            Unit::Megohm => 1e6,
        }
    }

    /// The sign as printed beside a value.
    pub fn sign(self) -> &'static str {
        match self {
            Unit::Ohm => "Ω",
            Unit::Kilohm => "kΩ",
            Unit::Megohm => "MΩ",
            Unit::Microfarad => "µF",
            Unit::Volt => "V",
            Unit::Ampere => "A",
        }
    }
}

impl Quantity {
    /// The units a reading of this quantity may be given in.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Quantity::Resistance | Quantity::Insulation => &[Unit::Ohm, Unit::Kilohm, Unit::Megohm],
            Quantity::Capacitance => &[Unit::Microfarad],
            Quantity::Voltage | Quantity::DirectVoltage | Quantity::Diode => &[Unit::Volt],
            Quantity::Current => &[Unit::Ampere],
        }
    }

    /// Whether the circuit is energised for it as a rule. Direct volts are read with the supply
    /// off as well, see [`Quantity::either_way`].
    pub fn needs_power(self) -> bool {
        matches!(self, Quantity::Voltage | Quantity::DirectVoltage | Quantity::Current)
    }

    /// Whether it is read with the supply on and off alike: a link keeps its charge.
    pub fn either_way(self) -> bool {
        self == Quantity::DirectVoltage
    }

    /// The word for it in a sentence.
    pub fn word(self) -> &'static str {
        match self {
            Quantity::Resistance => "resistance",
            Quantity::Insulation => "insulation resistance",
            Quantity::Capacitance => "capacitance",
            Quantity::Voltage => "voltage",
            Quantity::DirectVoltage => "direct voltage",
            Quantity::Current => "current",
            Quantity::Diode => "diode drop",
        }
    }
}
