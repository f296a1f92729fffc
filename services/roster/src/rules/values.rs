//! What the variables are at one moment.
//!
//! Belongs here: the values, as a condition sees them and as the record keeps them. Does not
//! belong here: what they mean ([`super::schema`]).

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use cel::common::types::{CelBool, CelDouble, CelInt, CelString};
use cel::common::value::CowVal;
use cel::context::VariableResolver;
use cel::{Context, Env};
use serde::{Deserialize, Serialize};

use super::schema::{VARIABLES, fields};
use crate::capacity::CLASSES;
use crate::queue::Urgency;

/// The language's own functions. Making them anew took most of a look's time.
static LANGUAGE: LazyLock<Arc<Env>> = LazyLock::new(|| Arc::new(Env::stdlib()));

/// The variables of [`super::schema::VARIABLES`] at one moment.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Values {
    /// It is Saturday or Sunday.
    pub weekend: bool,
    /// It is a public holiday.
    pub holiday: bool,
    /// The shop has opening hours now.
    pub shop_open: bool,
    /// One of [`super::schema::DAYS`].
    pub day: String,
    /// 0 to 23.
    pub hour: i64,
    /// °F.
    pub outdoor_f: i64,
    /// Jobs that nobody has been given, by class.
    pub open_jobs: [i64; CLASSES],
    /// Urgent jobs that nobody has.
    pub urgent_unassigned: i64,
    /// How long the oldest of those has waited, minutes.
    pub longest_wait_min: i64,
    /// People who can be sent.
    pub on_duty: i64,
    /// People on call who were not called out.
    pub on_call_left: i64,
    /// The second rota is open.
    pub second_open: bool,
    /// Hours left on duty, together.
    pub hours_left: f64,
    /// Chance of being late by class, 0 to 1.
    pub chance_late: [f64; CLASSES],
    /// Second reads that nobody has taken.
    pub reads_waiting: i64,
    /// How long the oldest has waited, minutes.
    pub read_waiting_min: i64,
    /// Requests that wait for approval.
    pub approvals_waiting: i64,
    /// How long the oldest has waited, minutes.
    pub approval_waiting_min: i64,
    /// The highest amount among them.
    pub approval_amount: f64,
    /// Urgent jobs later than they may be.
    pub late_now: i64,
}

/// One value, as named.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Named {
    /// Yes or no.
    Bool(bool),
    /// Whole.
    Int(i64),
    /// With a fraction.
    Double(f64),
    /// Words.
    Text(String),
}

/// One value, not yet copied from where it stands.
enum Plain<'a> {
    Bool(bool),
    Int(i64),
    Double(f64),
    Text(&'a str),
}

impl From<Plain<'_>> for Named {
    fn from(plain: Plain<'_>) -> Self {
        match plain {
            Plain::Bool(value) => Named::Bool(value),
            Plain::Int(value) => Named::Int(value),
            Plain::Double(value) => Named::Double(value),
            Plain::Text(value) => Named::Text(value.to_owned()),
        }
    }
}

impl Values {
    /// Every value under the name a condition has for it: `open_jobs.water`.
    #[must_use]
    pub fn named(&self) -> BTreeMap<String, Named> {
        let names = VARIABLES.iter().flat_map(|variable| {
            let fields = fields(variable.kind);
            let whole = fields.is_empty().then(|| variable.name.to_owned());
            let parts = fields.into_iter().map(|field| format!("{}.{field}", variable.name));
            whole.into_iter().chain(parts)
        });
        names.filter_map(|name| self.plain(&name).map(|plain| (name, plain.into()))).collect()
    }

    /// The one value of this name.
    fn plain(&self, name: &str) -> Option<Plain<'_>> {
        use Plain::{Bool, Double, Int, Text};
        if let Some((variable, field)) = name.split_once('.') {
            let class = || Urgency::ALL.into_iter().position(|class| class.id() == field);
            return match variable {
                "open_jobs" if field == "all" => Some(Int(self.open_jobs.iter().sum())),
                "open_jobs" => class().map(|class| Int(self.open_jobs[class])),
                "chance_late" => class().map(|class| Double(self.chance_late[class])),
                _ => None,
            };
        }
        Some(match name {
            "weekend" => Bool(self.weekend),
            "holiday" => Bool(self.holiday),
            "shop_open" => Bool(self.shop_open),
            "day" => Text(&self.day),
            "hour" => Int(self.hour),
            "outdoor_f" => Int(self.outdoor_f),
            "urgent_unassigned" => Int(self.urgent_unassigned),
            "longest_wait_min" => Int(self.longest_wait_min),
            "on_duty" => Int(self.on_duty),
            "on_call_left" => Int(self.on_call_left),
            "second_open" => Bool(self.second_open),
            "hours_left" => Double(self.hours_left),
            "reads_waiting" => Int(self.reads_waiting),
            "read_waiting_min" => Int(self.read_waiting_min),
            "approvals_waiting" => Int(self.approvals_waiting),
            "approval_waiting_min" => Int(self.approval_waiting_min),
            "approval_amount" => Double(self.approval_amount),
            "late_now" => Int(self.late_now),
            _ => return None,
        })
    }

    /// As a condition is evaluated on them: nothing is made ready that it does not look at.
    pub(super) fn context(&self) -> Context<'_, '_> {
        let mut context = Context::with_env(Arc::clone(&LANGUAGE));
        context.set_variable_resolver(self);
        context
    }
}

/// Asked for `open_jobs.water` before `open_jobs`, so that no map is needed.
impl VariableResolver for Values {
    fn resolve<'b>(&'b self, name: &str) -> Option<CowVal<'b, 'b>> {
        Some(match self.plain(name)? {
            Plain::Bool(value) => CowVal::owned(CelBool::from(value)),
            Plain::Int(value) => CowVal::owned(CelInt::from(value)),
            Plain::Double(value) => CowVal::owned(CelDouble::from(value)),
            Plain::Text(value) => CowVal::owned(CelString::from(value)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_variable_has_a_value_and_every_value_a_variable() {
        let named = Values::default().named();
        let expected: usize =
            VARIABLES.iter().map(|variable| fields(variable.kind).len().max(1)).sum();
        assert_eq!(named.len(), expected);
        for variable in VARIABLES {
            let fields = fields(variable.kind);
            if fields.is_empty() {
                assert!(named.contains_key(variable.name), "{}", variable.name);
            }
            for field in fields {
                assert!(named.contains_key(&format!("{}.{field}", variable.name)), "{field}");
            }
        }
    }
}
