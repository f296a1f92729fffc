//! What a condition may speak of: names, types, units, and what each means.
//!
//! Belongs here: the list, once, for the checker, the help beside the field and the values.
//! Does not belong here: how a value is come by.

use serde::Serialize;

use crate::queue::Urgency;

/// The days, as `day` says them.
pub const DAYS: [&str; 7] =
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// What a variable holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Yes or no.
    Bool,
    /// A whole number.
    Int,
    /// A number with a fraction.
    Double,
    /// One of [`DAYS`].
    Day,
    /// A whole number for each class: `open_jobs.water`.
    IntByClass,
    /// A number with a fraction for each class.
    DoubleByClass,
}

/// One variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Variable {
    /// Its name in a condition.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Its unit, where it has one.
    pub unit: &'static str,
    /// What it says.
    pub says: &'static str,
}

const fn variable(
    name: &'static str,
    kind: Kind,
    unit: &'static str,
    says: &'static str,
) -> Variable {
    Variable { name, kind, unit, says }
}

/// Every variable, in the order in which they are explained.
pub const VARIABLES: [Variable; 20] = [
    variable("weekend", Kind::Bool, "", "It is Saturday or Sunday in the shop's zone."),
    variable("holiday", Kind::Bool, "", "It is a public holiday where the shop is."),
    variable("shop_open", Kind::Bool, "", "The shop has opening hours now."),
    variable("day", Kind::Day, "", "The day: \"monday\" to \"sunday\"."),
    variable("hour", Kind::Int, "h", "The hour in the shop's zone, 0 to 23."),
    variable(
        "outdoor_f",
        Kind::Int,
        "°F",
        "Outdoors today, as the scheduler entered it, or what is usual.",
    ),
    variable(
        "open_jobs",
        Kind::IntByClass,
        "jobs",
        "Jobs that nobody has been given, by class; open_jobs.all for all. What is put off is left out.",
    ),
    variable(
        "urgent_unassigned",
        Kind::Int,
        "jobs",
        "Jobs of every class but comfort that nobody has been given.",
    ),
    variable("longest_wait_min", Kind::Int, "min", "How long the oldest of those has waited."),
    variable(
        "on_duty",
        Kind::Int,
        "people",
        "People who can be sent: on shift, first on call, or called out.",
    ),
    variable("on_call_left", Kind::Int, "people", "People on call who have not been called out."),
    variable("second_open", Kind::Bool, "", "The second rota is open."),
    variable(
        "hours_left",
        Kind::Double,
        "h",
        "Hours that those on duty have left before their duty ends or their rest is due, together.",
    ),
    variable(
        "chance_late",
        Kind::DoubleByClass,
        "0 to 1",
        "The chance that a call of that class, coming in the next four hours, waits longer than it may.",
    ),
    variable("reads_waiting", Kind::Int, "requests", "Second reads that nobody has taken."),
    variable("read_waiting_min", Kind::Int, "min", "How long the oldest of those has waited."),
    variable(
        "approvals_waiting",
        Kind::Int,
        "requests",
        "Countersigned requests that wait for somebody to approve them.",
    ),
    variable("approval_waiting_min", Kind::Int, "min", "How long the oldest of those has waited."),
    variable(
        "approval_amount",
        Kind::Double,
        "money",
        "The highest amount among those, in the shop's currency.",
    ),
    variable(
        "late_now",
        Kind::Int,
        "jobs",
        "Jobs that have waited longer than their class may, comfort left out.",
    ),
];

/// The variable with that name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Variable> {
    VARIABLES.iter().find(|variable| variable.name == name)
}

/// What may stand after the dot of a variable by class.
pub fn fields(kind: Kind) -> Vec<&'static str> {
    let classes = Urgency::ALL.map(Urgency::id);
    match kind {
        Kind::IntByClass => classes.into_iter().chain(["all"]).collect(),
        Kind::DoubleByClass => classes.to_vec(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_given_once_and_explained() {
        for (at, variable) in VARIABLES.iter().enumerate() {
            assert!(VARIABLES[..at].iter().all(|other| other.name != variable.name));
            assert!(variable.says.ends_with('.'), "{}", variable.name);
            assert_eq!(find(variable.name), Some(variable));
        }
    }
}
