//! Whether a condition is right: read, bounded, typed, with the place of what is wrong.
//!
//! Belongs here: from text to a condition that can be evaluated, or to faults with line, column
//! and a suggestion. [`super::syntax`] bounds and reads the text, [`super::types`] walks the
//! tree. Does not belong here: what the variables are ([`super::schema`]).

use std::collections::BTreeSet;
use std::fmt;

use cel::{Context, IdedExpr, Value};
use serde::Serialize;

use super::values::Values;
use super::{syntax, types};

/// Something wrong in a condition.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What is wrong, and what would be right.
    pub says: String,
    /// What to write there instead, where that can be guessed.
    pub suggestion: Option<String>,
}

impl fmt::Display for Fault {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "Line {}, column {}: {}", self.line, self.column, self.says)
    }
}

/// A condition that names only what there is, with types that fit, and says yes or no.
#[derive(Clone)]
pub struct Condition {
    text: String,
    tree: IdedExpr,
    uses: BTreeSet<String>,
}

impl Condition {
    /// Reads and checks a condition.
    ///
    /// # Errors
    /// Everything that is wrong with it, in the order of the text.
    ///
    /// ```
    /// use roster::rules::Condition;
    /// assert!(Condition::parse("weekend && on_call_left == 0").is_ok());
    /// let faults = Condition::parse("on_cal_left == 0").unwrap_err();
    /// assert_eq!(faults[0].suggestion.as_deref(), Some("on_call_left"));
    /// ```
    pub fn parse(text: &str) -> Result<Self, Vec<Fault>> {
        let (tree, source) = syntax::read(text)?;
        let uses = types::check(text, &tree, &source)?;
        Ok(Condition { text: text.to_owned(), tree, uses })
    }

    /// As written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The values that it looks at, as [`Values::named`] names them.
    #[must_use]
    pub fn uses(&self) -> &BTreeSet<String> {
        &self.uses
    }

    /// Whether it holds.
    ///
    /// # Errors
    /// In words, where it cannot be told: a division by zero, a number too large.
    pub fn holds(&self, values: &Values) -> Result<bool, String> {
        self.holds_in(&values.context())
    }

    /// The same on values that several conditions are asked about.
    pub(super) fn holds_in(&self, context: &Context<'_, '_>) -> Result<bool, String> {
        match context.resolve(&self.tree) {
            Ok(Value::Bool(holds)) => Ok(holds),
            Ok(other) => {
                Err(format!("It says {:?}, which is neither yes nor no.", other.type_of()))
            }
            Err(error) => Err(format!("It could not be told: {error}.")),
        }
    }
}

impl fmt::Debug for Condition {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_tuple("Condition").field(&self.text).finish()
    }
}

/// The name nearest to a wrong one, where one is near enough to be what was meant.
pub(super) fn nearest<'a>(
    wrong: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    const NEAR_ENOUGH: f64 = 0.8;
    known
        .into_iter()
        .map(|name| (strsim::jaro_winkler(wrong, name), name))
        .filter(|(near, _)| *near >= NEAR_ENOUGH)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests;
