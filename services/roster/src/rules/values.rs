//! What the variables are at one moment.
//!
//! Belongs here: the values, as a condition sees them and as the record keeps them. Does not
//! belong here: what they mean ([`super::schema`]).

use std::collections::{BTreeMap, HashMap};

use cel::{Context, Value};
use serde::{Deserialize, Serialize};

use crate::capacity::CLASSES;
use crate::queue::Urgency;

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

impl Values {
    /// Every value under the name a condition has for it: `open_jobs.water`.
    #[must_use]
    pub fn named(&self) -> BTreeMap<String, Named> {
        use Named::{Bool, Double, Int, Text};
        let mut named: BTreeMap<String, Named> = [
            ("weekend", Bool(self.weekend)),
            ("holiday", Bool(self.holiday)),
            ("shop_open", Bool(self.shop_open)),
            ("day", Text(self.day.clone())),
            ("hour", Int(self.hour)),
            ("outdoor_f", Int(self.outdoor_f)),
            ("urgent_unassigned", Int(self.urgent_unassigned)),
            ("longest_wait_min", Int(self.longest_wait_min)),
            ("on_duty", Int(self.on_duty)),
            ("on_call_left", Int(self.on_call_left)),
            ("second_open", Bool(self.second_open)),
            ("hours_left", Double(self.hours_left)),
            ("reads_waiting", Int(self.reads_waiting)),
            ("read_waiting_min", Int(self.read_waiting_min)),
            ("approvals_waiting", Int(self.approvals_waiting)),
            ("approval_waiting_min", Int(self.approval_waiting_min)),
            ("approval_amount", Double(self.approval_amount)),
            ("late_now", Int(self.late_now)),
        ]
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect();
        for (class, urgency) in Urgency::ALL.into_iter().enumerate() {
            let id = urgency.id();
            named.insert(format!("open_jobs.{id}"), Int(self.open_jobs[class]));
            named.insert(format!("chance_late.{id}"), Double(self.chance_late[class]));
        }
        named.insert("open_jobs.all".to_owned(), Int(self.open_jobs.iter().sum()));
        named
    }

    /// As a condition is evaluated on them.
    pub(super) fn context(&self) -> Context<'static, 'static> {
        let mut context = Context::default();
        let mut by_class: BTreeMap<String, HashMap<String, Value>> = BTreeMap::new();
        for (name, value) in self.named() {
            let value = match value {
                Named::Bool(value) => Value::Bool(value),
                Named::Int(value) => Value::Int(value),
                Named::Double(value) => Value::Float(value),
                Named::Text(value) => Value::String(value.into()),
            };
            match name.split_once('.') {
                Some((name, field)) => {
                    by_class.entry(name.to_owned()).or_default().insert(field.to_owned(), value);
                }
                None => context.add_variable_from_value(name, value),
            }
        }
        for (name, fields) in by_class {
            context.add_variable_from_value(name, Value::Map(fields.into()));
        }
        context
    }
}

#[cfg(test)]
mod tests {
    use super::super::schema::{VARIABLES, fields};
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
