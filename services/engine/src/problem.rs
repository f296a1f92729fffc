//! What is wrong with an input, where, and what would be right.
//!
//! Belongs here: the engine's one error type. Does not belong here: verdicts; "cannot
//! settle it" is not an error.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One thing wrong with a case or a circuit file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Problem {
    /// Where: a JSON pointer into the case ("/readings/2/from"), or "name.toml:41" for a
    /// circuit file.
    pub at: String,
    /// What is wrong, and what would be right.
    pub says: String,
    /// In a circuit file: the line, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// In a circuit file: where in what it says, as a JSON pointer ("/parts/12/between").
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
}

/// Everything wrong with an input, so that it can be mended in one go.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema, thiserror::Error)]
#[error("{}", .problems.iter().map(|problem| format!("{}: {}", problem.at, problem.says)).collect::<Vec<_>>().join("\n"))]
pub struct Problems {
    /// At least one.
    pub problems: Vec<Problem>,
}

impl Problem {
    /// A problem at a place.
    pub fn new(at: impl Into<String>, says: impl Into<String>) -> Self {
        Problem { at: at.into(), says: says.into(), line: None, path: None }
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Problems { problems: vec![problem] }
    }
}
