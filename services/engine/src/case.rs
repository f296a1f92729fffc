//! The case: everything one judgement is made from, as one document.
//!
//! Belongs here: the shapes of `countersign check CASE.json`, which are also the shapes the
//! service stores and sends. Does not belong here: what is done with them.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::policy::Policy;
use crate::rates::Rates;
use crate::units::{Quantity, Unit};

/// The only version of the case format that this engine reads.
pub const CASE_FORMAT: u32 = 1;

/// One case: a circuit, what is known of the unit, the readings, what was seen, the claim.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Version of this format; 1.
    pub format: u32,
    /// A line for people, shown with the verdict.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// The name of a shipped circuit, or of the one given in `circuit_text`.
    pub circuit: String,
    /// A whole circuit file (TOML), where the circuit is not a shipped one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuit_text: Option<String>,
    /// Nameplate and service-sheet values, by part.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub specs: BTreeMap<String, Spec>,
    /// What is claimed to have failed. Without it the verdict says what the readings isolate
    /// by themselves; this is what a blind reader's page is judged with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub claim: Option<Claim>,
    /// The readings, in the order in which they were taken.
    #[serde(default)]
    pub readings: Vec<Reading>,
    /// What was seen, heard, smelt or established, in the order answered; of several answers to one
    /// sign the latest counts.
    #[serde(default)]
    pub observations: Vec<Observation>,
    /// Shop thresholds; the defaults where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub policy: Option<Policy>,
    /// What the shop's confirmed calls say of how often what is the fault; the circuit file's own
    /// priors alone where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rates: Option<Rates>,
}

/// A value from the nameplate or the maker's sheet that replaces the circuit's family value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spec {
    /// The value in the unit below.
    pub value: f64,
    /// Unit of `value`; it must suit the part.
    pub unit: Unit,
    /// Tolerance in percent of the value, 0.1 to 50. The part's own where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance_pct: Option<f64>,
    /// Where it was read ("unit nameplate", "service sheet 4").
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// The claim that one component has failed; part and mode say how, when known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Claim {
    /// The component to be replaced, as named in the circuit.
    pub component: String,
    /// The part of it that is said to have failed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The fault mode of that part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<String>,
}

/// One measured value and the path it was taken through.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Unique in the case, e.g. "r3"; sentences refer to it.
    pub id: String,
    /// What was measured.
    pub quantity: Quantity,
    /// The point the first probe touched.
    pub from: String,
    /// The point the second probe touched.
    pub to: String,
    /// The connectors that were lifted (unplugged, taken off) at the time.
    #[serde(default)]
    pub lifted: Vec<String>,
    /// Off and proved dead, or energised.
    pub power: Power,
    /// Under power: which of the circuit's states it was in; its first where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// What the meter showed.
    pub shown: Shown,
    /// Temperature of the part (for a compressor: its shell), °C, −60 to 250.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_temp_c: Option<f64>,
    /// Minutes since the motor last ran, 0 to 100,000.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stopped_min: Option<f64>,
    /// The meter; a usual one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter: Option<Meter>,
}

/// Whether the circuit was energised.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Power {
    /// Disconnected, locked out, capacitors discharged, proved dead.
    Off,
    /// Live.
    Energised,
}

/// What the meter showed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "is", rename_all = "snake_case", deny_unknown_fields)]
pub enum Shown {
    /// A number.
    Value {
        /// The number as shown; never negative.
        value: f64,
        /// The unit as shown.
        unit: Unit,
    },
    /// "OL": above the meter's range. A reading, not a missing value.
    OverLimit,
    /// Still climbing after ten seconds: a capacitor is charging.
    Climbing,
}

/// The meter and how it was set up.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    /// What the technician calls it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Percent of reading, 0 to 20.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accuracy_pct: Option<f64>,
    /// The smallest step shown, in the reading's base unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<f64>,
    /// The highest value before "OL", in the reading's base unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest: Option<f64>,
    /// Resistance of the test leads, ohm, 0 to 10.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead_ohm: Option<f64>,
    /// Whether the leads' resistance was taken off before reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zeroed: Option<bool>,
    /// A voltmeter of low impedance, which a lead that hangs open cannot feed. A usual one
    /// shows ghost voltage there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low_impedance: Option<bool>,
}

/// A yes or no about a sign that the circuit file lists.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// Unique in the case, e.g. "o1".
    pub id: String,
    /// The sign, as named in the circuit.
    pub sign: String,
    /// Whether it was found.
    pub present: bool,
}
