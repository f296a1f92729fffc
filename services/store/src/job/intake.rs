//! What was asked when a call was taken, and the class that it made.
//!
//! Belongs here: the class of a job from the plain answers, overruled only with a reason, and how
//! that is kept. Does not belong here: the questions and the class itself, which are the roster's.

use roster::intake::{Answers, Question, class_of};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::Urgency;
use crate::error::StoreError;
use crate::text::Faults;

/// Longest reason for another class than the answers make.
const REASON_CHARS_MAX: usize = 400;

/// The plain questions as answered, and what came of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Intake {
    /// What was answered.
    pub answers: Answers,
    /// The class that the answers make.
    pub class: Urgency,
    /// Why, in a sentence.
    pub because: String,
    /// Why the job has another class than that; absent while it has that one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overruled: Option<String>,
}

impl Intake {
    /// From the job's column, where `{}` is that nothing was asked.
    pub(crate) fn from_stored(value: Value) -> Result<Option<Self>, StoreError> {
        if value.as_object().is_none_or(serde_json::Map::is_empty) {
            return Ok(None);
        }
        serde_json::from_value(value)
            .map(Some)
            .map_err(|source| StoreError::corrupt("answers of a call", source))
    }

    /// For the job's column.
    pub(crate) fn to_stored(this: Option<&Self>) -> Value {
        this.and_then(|intake| serde_json::to_value(intake).ok())
            .unwrap_or_else(|| Value::Object(serde_json::Map::new()))
    }

    /// Whether the answers say that somebody there cannot be without heat or cooling.
    pub(crate) fn says_vulnerable(&self) -> bool {
        self.answers.counts(Question::Vulnerable)
    }
}

/// The class of a job and what is kept of how it came about.
///
/// With answers, their class holds unless another is given with a reason. Without any, a class
/// must be given.
pub(crate) fn class_given(
    faults: &mut Faults,
    answers: Option<Answers>,
    urgency: Option<Urgency>,
    reason: Option<&str>,
) -> (Urgency, Option<Intake>) {
    let reason = faults.text_opt("/urgency_because", reason, REASON_CHARS_MAX);
    let Some(answers) = answers.filter(|answers| !answers.is_empty()) else {
        if urgency.is_none() {
            faults.add(
                "/urgency",
                "How long can it wait? Answer the plain questions, or choose a class.",
            );
        }
        return (urgency.unwrap_or(Urgency::Comfort), None);
    };
    let classed = class_of(&answers);
    let class = Urgency::from_roster(classed.urgency);
    let urgency = urgency.unwrap_or(class);
    if urgency != class && reason.is_none() {
        faults.add(
            "/urgency_because",
            format!(
                "The answers make this \"{}\"; say in a few words why it is \"{}\" nevertheless.",
                words(class),
                words(urgency)
            ),
        );
    }
    let overruled = reason.filter(|_| urgency != class);
    (urgency, Some(Intake { answers, class, because: classed.because, overruled }))
}

/// A class for people.
pub(crate) fn words(urgency: Urgency) -> &'static str {
    roster::queue::Urgency::from_id(urgency.name()).map_or("", roster::queue::Urgency::words)
}
