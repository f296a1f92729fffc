//! What a rule may do, as data.
//!
//! Belongs here: the actions, their fields' bounds, and each in words. Does not belong here:
//! carrying them out (the store's). None of them touches what the condemn gate asks for.

use serde::{Deserialize, Serialize};

/// Most actions of one rule.
pub const ACTIONS_MAX: usize = 6;

/// Most calls that one firing puts off.
pub const DEFER_MAX: u32 = 40;

/// Longest time that a delegate stands for one firing, hours.
pub const DELEGATE_HOURS_MAX: i64 = 72;

/// Highest amount that a delegate can be given, cents.
pub const DELEGATE_CENTS_MAX: i64 = 10_000_000;

/// Longest text of an action.
pub const TEXT_CHARS_MAX: usize = 500;

/// Longest address.
pub const EMAIL_CHARS_MAX: usize = 254;

/// Something that a rule does when it fires.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum Action {
    /// The next person on call who has not been called out is called out.
    CallOutNext {},
    /// The second rota is opened until the end of its duties, and those on it are told.
    OpenSecondRota {},
    /// Comfort calls that nobody has are put off to the next open day, with a holdover, and the
    /// customers are told.
    DeferComfort {
        /// What makes do until then, told to the customer.
        holdover: String,
        /// Most calls that one firing puts off, 1 to [`DEFER_MAX`].
        at_most: u32,
    },
    /// Whoever asked for a second read, and whoever may give it, is told that it can be read
    /// from where they are, without a second truck.
    OfferRemoteRead {},
    /// Everybody who may read is asked now, whatever rung the ladder is on.
    WidenReaders {},
    /// Somebody may approve up to an amount for some hours.
    DelegateApprovals {
        /// Who; must be named before the rule can be on.
        person_id: Option<String>,
        /// Below this amount, cents.
        up_to_cents: i64,
        /// For how long, 1 to [`DELEGATE_HOURS_MAX`] hours.
        hours: i64,
    },
    /// A neighbouring crew is asked by mail.
    AskNeighbour {
        /// Whom; must be named before the rule can be on.
        name: String,
        /// Where they read their mail; must be named before the rule can be on.
        email: String,
        /// What is asked of them.
        message: String,
    },
}

/// One field of an action that cannot be accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ActionFault {
    /// Which action, from 0.
    pub action: usize,
    /// Which field of it; empty for the action itself.
    pub field: &'static str,
    /// What is wrong, and what would be right.
    pub says: String,
}

impl Action {
    /// As stored and sent.
    #[must_use]
    pub fn id(&self) -> &'static str {
        match self {
            Action::CallOutNext {} => "call_out_next",
            Action::OpenSecondRota {} => "open_second_rota",
            Action::DeferComfort { .. } => "defer_comfort",
            Action::OfferRemoteRead {} => "offer_remote_read",
            Action::WidenReaders {} => "widen_readers",
            Action::DelegateApprovals { .. } => "delegate_approvals",
            Action::AskNeighbour { .. } => "ask_neighbour",
        }
    }

    /// In words, after "then".
    #[must_use]
    pub fn says(&self) -> String {
        match self {
            Action::CallOutNext {} => "call out the next person on call".to_owned(),
            Action::OpenSecondRota {} => "open the second rota and tell those on it".to_owned(),
            Action::DeferComfort { at_most, .. } => format!(
                "put off at most {at_most} comfort calls to the next open day, with a holdover, \
                 and tell the customers"
            ),
            Action::OfferRemoteRead {} => {
                "offer a second read from where the reader is, instead of a truck".to_owned()
            }
            Action::WidenReaders {} => "ask everybody who may read it, now".to_owned(),
            Action::DelegateApprovals { person_id, up_to_cents, hours } => format!(
                "let {} approve below {} for {hours} h",
                if person_id.is_some() {
                    "the named delegate"
                } else {
                    "somebody still to be named"
                },
                money(*up_to_cents)
            ),
            Action::AskNeighbour { name, .. } => format!(
                "ask {} for help by mail",
                if name.trim().is_empty() { "a neighbouring crew still to be named" } else { name }
            ),
        }
    }

    fn faults(&self, live: bool, add: &mut impl FnMut(&'static str, String)) {
        match self {
            Action::CallOutNext {}
            | Action::OpenSecondRota {}
            | Action::OfferRemoteRead {}
            | Action::WidenReaders {} => {}
            Action::DeferComfort { holdover, at_most } => {
                text(holdover, "holdover", "what makes do until the next open day", add);
                if !(1..=DEFER_MAX).contains(at_most) {
                    add(
                        "at_most",
                        format!("{at_most} is not a number of calls from 1 to {DEFER_MAX}."),
                    );
                }
            }
            Action::DelegateApprovals { person_id, up_to_cents, hours } => {
                if live && person_id.is_none() {
                    add("person_id", "Name who may approve before this rule goes on.".to_owned());
                }
                if !(1..=DELEGATE_CENTS_MAX).contains(up_to_cents) {
                    add(
                        "up_to_cents",
                        format!("The amount is in cents, from 1 to {DELEGATE_CENTS_MAX}."),
                    );
                }
                if !(1..=DELEGATE_HOURS_MAX).contains(hours) {
                    add(
                        "hours",
                        format!("{hours} is not a number of hours from 1 to {DELEGATE_HOURS_MAX}."),
                    );
                }
            }
            Action::AskNeighbour { name, email, message } => {
                if live || !name.trim().is_empty() {
                    text(name, "name", "the neighbouring crew's name", add);
                }
                let email = email.trim();
                let like_one = email.len() <= EMAIL_CHARS_MAX
                    && email.split_once('@').is_some_and(|(at, domain)| {
                        !at.is_empty()
                            && domain.contains('.')
                            && !email.contains(char::is_whitespace)
                            && !domain.starts_with('.')
                            && !domain.ends_with('.')
                    });
                if (live || !email.is_empty()) && !like_one {
                    add(
                        "email",
                        "An e-mail address is needed here, like crew@north.example.".to_owned(),
                    );
                }
                text(message, "message", "what is asked of them", add);
            }
        }
    }
}

fn text(given: &str, field: &'static str, what: &str, add: &mut impl FnMut(&'static str, String)) {
    let length = given.trim().chars().count();
    if length == 0 {
        add(field, format!("Say {what}; it cannot be empty."));
    } else if length > TEXT_CHARS_MAX {
        add(field, format!("This has {length} characters; at most {TEXT_CHARS_MAX} are kept."));
    }
}

/// "1,500.00", without the currency.
#[must_use]
pub fn money(cents: i64) -> String {
    let whole = (cents / 100).to_string();
    let mut grouped = String::new();
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    format!("{grouped}.{:02}", cents % 100)
}

/// What is wrong with a rule's actions; `live` when the rule is to be on.
#[must_use]
pub fn faults(actions: &[Action], live: bool) -> Vec<ActionFault> {
    let mut faults = Vec::new();
    if actions.is_empty() {
        let says = "A rule does something: choose at least one action.".to_owned();
        faults.push(ActionFault { action: 0, field: "", says });
    }
    if actions.len() > ACTIONS_MAX {
        let says =
            format!("A rule has at most {ACTIONS_MAX} actions; these are {}.", actions.len());
        faults.push(ActionFault { action: ACTIONS_MAX, field: "", says });
    }
    for (at, action) in actions.iter().enumerate() {
        if actions[..at].iter().any(|before| before.id() == action.id()) {
            let says = format!("This rule does \"{}\" already; once is enough.", action.id());
            faults.push(ActionFault { action: at, field: "", says });
        }
        action
            .faults(live, &mut |field, says| faults.push(ActionFault { action: at, field, says }));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_still_to_be_named_is_asked_for_only_when_the_rule_goes_on() {
        let actions = [
            Action::DelegateApprovals { person_id: None, up_to_cents: 150_000, hours: 12 },
            Action::AskNeighbour {
                name: String::new(),
                email: String::new(),
                message: "Can you take two calls?".into(),
            },
        ];
        assert_eq!(faults(&actions, false), []);
        let fields: Vec<_> = faults(&actions, true).iter().map(|fault| fault.field).collect();
        assert_eq!(fields, ["person_id", "name", "email"]);
    }

    #[test]
    fn fields_out_of_bounds_are_named() {
        let actions = [
            Action::DeferComfort { holdover: "  ".into(), at_most: 0 },
            Action::DelegateApprovals { person_id: None, up_to_cents: 0, hours: 100 },
            Action::AskNeighbour {
                name: "N".into(),
                email: "north.example".into(),
                message: "x".repeat(501),
            },
            Action::DeferComfort { holdover: "Space heater".into(), at_most: 3 },
        ];
        let fields: Vec<_> =
            faults(&actions, false).into_iter().map(|fault| (fault.action, fault.field)).collect();
        assert_eq!(
            fields,
            [
                (0, "holdover"),
                (0, "at_most"),
                (1, "up_to_cents"),
                (1, "hours"),
                (2, "email"),
                (2, "message"),
                (3, "")
            ]
        );
        assert_eq!(faults(&[], false).len(), 1);
    }

    #[test]
    fn money_is_grouped() {
        assert_eq!(
            [5, 99_900, 150_000, 123_456_789].map(money),
            ["0.05", "999.00", "1,500.00", "1,234,567.89"]
        );
    }
}
