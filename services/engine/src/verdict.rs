//! The verdict: what the readings prove, in sentences and in numbers.
//!
//! Belongs here: the shapes that `countersign check` prints and the service sends. Does not
//! belong here: how they are worked out ([`crate::judge`]).

pub mod explained;
pub mod plan;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::circuit::Caution;
use crate::units::{Quantity, Unit};

/// The only version of the verdict format that this engine writes.
pub const VERDICT_FORMAT: u32 = 1;

/// What the readings prove about the claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Only the condemned component still explains the readings.
    Isolated,
    /// Others remain.
    NotIsolated,
    /// The readings say that the condemned part is good.
    Contradicted,
    /// Nothing explains the readings, or they cannot all be right; some must be retaken.
    Inconsistent,
    /// A required reading or answer is missing.
    Incomplete,
}

/// The answer to a case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Verdict {
    /// Version of this format; 1.
    pub format: u32,
    /// Version of the engine that judged.
    pub engine: String,
    /// The circuit judged by.
    pub circuit: CircuitUsed,
    /// SHA-256 (hex) over readings, observations, claim, specs, policy, circuit text and
    /// engine version in canonical JSON (RFC 8785). What a countersignature is pinned to.
    pub evidence_digest: String,
    /// What is proved.
    pub outcome: Outcome,
    /// The verdict in one sentence.
    pub sentence: String,
    /// Why, in further sentences, most important first.
    pub because: Vec<String>,
    /// The claim as judged; absent where none was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub claim: Option<ClaimJudged>,
    /// Share of each component, largest first, with what is none of them. They add up to 1.
    pub components: Vec<ComponentShare>,
    /// Faults that still explain the readings, largest share first.
    pub suspects: Vec<Suspect>,
    /// Faults that the readings exclude, and which readings did.
    pub excluded: Vec<Excluded>,
    /// What the verdict rests on, and how it came about; absent in verdicts kept from before
    /// there was such a thing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explained: Option<explained::Explained>,
    /// Checks beside the model, each with its source.
    pub checks: Vec<Check>,
    /// What must still be measured or answered before anything can be isolated.
    pub owed: Vec<Owed>,
    /// Readings to take again, with the reason.
    pub retake: Vec<Retake>,
    /// The best next tests, at most three, best first.
    pub next_tests: Vec<NextTest>,
    /// True when no test that the circuit allows can change the outcome.
    pub nothing_left: bool,
    /// Each reading beside what was expected of it.
    pub readings: Vec<ReadingJudged>,
    /// How much was considered and what was cut off.
    pub considered: Considered,
}

/// The circuit that a verdict was reached with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CircuitUsed {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// SHA-256 (hex) of its text.
    pub digest: String,
}

/// The claim, in words, and the share it holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ClaimJudged {
    /// Component identifier.
    pub component: String,
    /// Part identifier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Mode identifier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<String>,
    /// "run winding open".
    pub label: String,
    /// Share of exactly what is claimed, 0 to 1.
    pub share: f64,
    /// Share of the component claimed, 0 to 1.
    pub component_share: f64,
    /// The lowest share of the component with any one reading or observation left out; absent
    /// without any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leave_one_out_share: Option<f64>,
    /// The reading or observation whose absence gives that lowest share.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leans_on: Option<String>,
}

/// One component's share.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ComponentShare {
    /// Component identifier; "nothing_wrong", "unknown_fault" and "passing_state" stand for
    /// themselves.
    pub component: String,
    /// For people.
    pub label: String,
    /// 0 to 1. Conductors of this component that may touch others count here, half each where two
    /// components own them; the gate does not go by them.
    pub share: f64,
    /// Whether this one is claimed.
    pub claimed: bool,
    /// Whether it can be replaced (the three that stand for themselves cannot).
    pub replaceable: bool,
}

/// A fault that still explains the readings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Suspect {
    /// Part identifier.
    pub part: String,
    /// Mode identifier.
    pub mode: String,
    /// Component identifier.
    pub component: String,
    /// "lead C open".
    pub label: String,
    /// Probability that this fault is present, 0 to 1.
    pub share: f64,
    /// Other suspects that no reading taken so far tells apart from this one ("part.mode").
    pub not_told_apart_from: Vec<String>,
}

/// A fault that the readings exclude.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Excluded {
    /// Part identifier.
    pub part: String,
    /// Mode identifier.
    pub mode: String,
    /// Component identifier.
    pub component: String,
    /// "run winding open".
    pub label: String,
    /// What is left of it, 0 to 1.
    pub share: f64,
    /// The readings and observations that excluded it, strongest first.
    pub by: Vec<String>,
}

/// How a check came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CheckResult {
    /// Within limits.
    Pass,
    /// Outside limits.
    Fail,
    /// Raises a question that must be answered.
    Asks,
    /// Its readings are not there yet.
    Waiting,
}

/// One check beside the model.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Check {
    /// "winding_sum", "voltage_unbalance", …
    pub id: String,
    /// For people.
    pub title: String,
    /// How it came out.
    pub result: CheckResult,
    /// In a sentence, with the numbers.
    pub says: String,
    /// Where the rule comes from.
    pub source: String,
    /// The readings it used.
    pub readings: Vec<String>,
}

/// Something that must be known before a component can be isolated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Owed {
    /// The check that owes it.
    pub check: String,
    /// What to do.
    pub says: String,
    /// The sign to answer, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sign: Option<String>,
}

/// A reading to take again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Retake {
    /// The reading.
    pub reading: String,
    /// Why, and how.
    pub says: String,
}

/// A proposed test: one or more readings from one setting-up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NextTest {
    /// "At the compressor pins, plug off".
    pub title: String,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// Minutes, setting up included.
    pub minutes: f64,
    /// What can hurt.
    pub cautions: Vec<CautionShown>,
    /// The readings to take.
    pub takes: Vec<PlannedReading>,
    /// The sign to answer, where the test is a question and not a reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sign: Option<String>,
    /// The parts whose own value is to be looked up on the maker's sheet and given with the unit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sheet: Vec<String>,
    /// What each answer would mean, most likely first.
    pub answers: Vec<Answer>,
    /// Expected information about which component, in bits.
    pub information_bits: f64,
}

/// A caution and its words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CautionShown {
    /// Which.
    pub caution: Caution,
    /// The words.
    pub says: String,
}

/// A reading that a test asks for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PlannedReading {
    /// What to measure.
    pub quantity: Quantity,
    /// First point.
    pub from: String,
    /// Second point.
    pub to: String,
    /// What to lift first.
    pub lifted: Vec<String>,
    /// Under power: the state of the circuit to read it in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// With a meter of low impedance, or a known load across the points: a usual one may show a
    /// ghost there.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub low_impedance: bool,
    /// "compressor pin C to compressor pin R".
    pub label: String,
}

/// One answer to a test and what it would mean.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Answer {
    /// "C–R OL", "C–R about 0.5 Ω".
    pub shows: String,
    /// How likely this answer is, 0 to 1.
    pub chance: f64,
    /// In a sentence.
    pub means: String,
    /// The component that would then lead, and its share.
    pub leads_to: String,
    /// Its share then, 0 to 1.
    pub share: f64,
}

/// A reading beside what was expected.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReadingJudged {
    /// The reading.
    pub reading: String,
    /// In words: "T1 to T2, nothing lifted: OL".
    pub label: String,
    /// What a sound circuit would show.
    pub expected_sound: String,
    /// What the leading explanation would show.
    pub expected_leading: String,
    /// Probability that this reading was taken wrongly, 0 to 1.
    pub mistaken_share: f64,
    /// Whether the model used it; false where the circuit cannot predict this kind yet.
    pub used: bool,
    /// Set where the meter itself may be off by a fifth of the value or more: that share, 0 to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter_share: Option<f64>,
    /// And a sentence about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter_says: Option<String>,
}

/// How much was considered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Considered {
    /// Hypotheses judged, nothing wrong and unknown included.
    pub hypotheses: u32,
    /// Single faults among them.
    pub singles: u32,
    /// Double faults among them.
    pub doubles: u32,
    /// Prior probability of what was cut off (double faults below the limit, triples).
    pub cut_off: f64,
    /// Share of what no circuit lists, conductors that touch among it, 0 to 1.
    pub unknown_share: f64,
    /// The thresholds used.
    pub policy: crate::policy::Policy,
    /// Confirmed calls of the shop that moved the circuit file's own priors; absent where none
    /// did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub confirmed_calls: Option<f64>,
}

/// A value as shown to people, with its unit; `None` is over limit.
pub fn shown(value: Option<f64>, unit: Unit) -> String {
    match value {
        None => "OL".to_owned(),
        Some(value) => format!("{} {}", figures(value), unit.sign()),
    }
}

/// Three significant figures without an exponent or idle zeros.
///
/// ```
/// use engine::verdict::figures;
/// assert_eq!(figures(1.776), "1.78");
/// assert_eq!(figures(0.02), "0.02");
/// assert_eq!(figures(240.0), "240");
/// ```
pub fn figures(value: f64) -> String {
    if value.abs() < 1e-6 {
        return "0".to_owned();
    }
    let digits = (2 - value.abs().log10().floor() as i32).clamp(0, 6) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
