//! Shop policy: the thresholds of a verdict and the rates of mistakes.
//!
//! Belongs here: every number a shop may change, with its default. Does not belong here:
//! who may change it, which is the service's business.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Thresholds and rates. All are probabilities between 0 and 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Policy {
    /// The condemned component must hold at least this share.
    pub isolated_min: f64,
    /// No other component may hold more than this.
    pub rival_max: f64,
    /// The condemned component must still hold this with any one reading left out.
    pub leave_one_out_min: f64,
    /// The claimed fault is contradicted when its share falls to this or below.
    pub contradicted_max: f64,
    /// Chance that a reading was taken wrongly in one way or another.
    pub mistake_rate: f64,
    /// Chance that the fault is none of those the circuit lists.
    pub unknown_rate: f64,
}

impl Default for Policy {
    fn default() -> Self {
        Policy {
            isolated_min: 0.95,
            rival_max: 0.02,
            leave_one_out_min: 0.80,
            contradicted_max: 0.02,
            mistake_rate: 0.02,
            unknown_rate: 0.01,
        }
    }
}
