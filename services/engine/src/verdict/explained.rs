//! What a verdict rests on, and how it came about.
//!
//! Belongs here: the shapes of the explanation. Does not belong here: how it is worked out.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The explanation of a verdict.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Explained {
    /// The strongest other component; absent where none holds anything.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub best_rival: Option<Rival>,
    /// The piece of evidence without which another component would lead; absent where none
    /// does that by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turns_on: Option<TurnsOn>,
    /// The occasion (readings with the same things lifted and the same warmth) whose absence
    /// lowers the judged component's share most; absent where there is only one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub without_occasion: Option<WithoutOccasion>,
    /// How each piece of evidence moved each suspect.
    pub waterfall: Waterfall,
}

/// The strongest other component.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Rival {
    /// Component identifier.
    pub component: String,
    /// For people.
    pub label: String,
    /// Its share, 0 to 1.
    pub share: f64,
    /// The piece of evidence that speaks most against it; absent where none does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<String>,
    /// In a sentence.
    pub says: String,
}

/// A piece of evidence on which it all turns.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TurnsOn {
    /// The reading or observation.
    pub evidence: String,
    /// What would lead without it: a component, or one of those that stand for themselves.
    pub leads_to: String,
    /// Its share then, 0 to 1.
    pub share: f64,
    /// In a sentence.
    pub says: String,
}

/// What is left of the judged component without one occasion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WithoutOccasion {
    /// The readings of that occasion.
    pub readings: Vec<String>,
    /// The component's share without them, 0 to 1.
    pub share: f64,
    /// In a sentence.
    pub says: String,
}

/// Shares of the suspects before anything was read and after each piece of evidence, in the
/// order in which they were taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Waterfall {
    /// The suspects shown, strongest at the end first; the last stands for everything else.
    pub suspects: Vec<WaterfallSuspect>,
    /// The first is before any evidence.
    pub steps: Vec<WaterfallStep>,
}

/// A suspect of the waterfall.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WaterfallSuspect {
    /// "part.mode", or "nothing_wrong", "unknown_fault", "everything_else".
    pub key: String,
    /// Its part, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// For people.
    pub label: String,
}

/// The shares after a piece of evidence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WaterfallStep {
    /// The reading or observation; absent before any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
    /// "r2: T1 to T2, nothing lifted: OL".
    pub label: String,
    /// Share of each suspect, in their order; they add up to 1.
    pub shares: Vec<f64>,
    /// What moved most, in a sentence.
    pub says: String,
}
