//! The plan of tests: what to do after which answer, as one sheet.
//!
//! Belongs here: the shapes of a plan. Does not belong here: how it is worked out.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{NextTest, Outcome};

/// The only version of the plan's format that this engine writes.
pub const PLAN_FORMAT: u32 = 1;

/// Test after test, from where the evidence stands until enough is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TestPlan {
    /// Version of this format; 1.
    pub format: u32,
    /// The circuit's title.
    pub circuit: String,
    /// SHA-256 (hex) of the evidence that it starts from, as in the verdict.
    pub evidence_digest: String,
    /// What is proved so far.
    pub outcome: Outcome,
    /// The verdict so far, in one sentence.
    pub sentence: String,
    /// Expected minutes of the tests ahead; where the plan ends early, of those it names.
    pub expected_min: f64,
    /// Minutes of the longest way through it.
    pub longest_min: f64,
    /// Whether every order in it is the cheapest there is, not only a good one.
    pub exact: bool,
    /// The steps, numbered from 1; the first is done first, and each leads only to later ones.
    pub steps: Vec<PlanStep>,
}

/// One test and what follows each answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PlanStep {
    /// Its number.
    pub number: u32,
    /// The test; its `answers` are the branches below.
    pub test: NextTest,
    /// What follows, likeliest answer first. Answers rarer than 2 of 100 are left out.
    pub branches: Vec<PlanBranch>,
}

/// What follows an answer: a further step, or an end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PlanBranch {
    /// "C–R OL".
    pub shows: String,
    /// How likely this answer is once the step is reached, 0 to 1.
    pub chance: f64,
    /// What would then lead.
    pub leads_to: String,
    /// Its share then, 0 to 1.
    pub share: f64,
    /// The step to go on with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub then: Option<u32>,
    /// How it ends here, where it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ends: Option<PlanEnd>,
}

/// How a way through the plan ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PlanEnd {
    /// One component holds enough; no other holds too much.
    Settled,
    /// None of the components: nothing wrong, or a passing state.
    NothingToReplace,
    /// No test that the circuit allows would tell more.
    NothingLeft,
    /// What comes after is planned anew, with the readings taken by then.
    PlanAgain,
}
