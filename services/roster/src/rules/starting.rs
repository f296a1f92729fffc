//! The rules that ship, each explained.
//!
//! Belongs here: the starting set. Does not belong here: whether a shop has them on; a new shop
//! gets them tried, not on. Their numbers are common practice, no source: each shop's own first
//! weekend says better.

use super::Action;

/// A rule that ships.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Starting {
    /// Its name.
    pub name: &'static str,
    /// Why one would want it.
    pub why: &'static str,
    /// When it fires.
    pub condition: &'static str,
    /// What it does.
    pub actions: Vec<Action>,
    /// Minutes before it may fire again.
    pub rearm_min: i64,
}

/// The starting set.
#[must_use]
pub fn starting() -> Vec<Starting> {
    vec![
        Starting {
            name: "An urgent call waits and somebody is at home",
            why: "Half an hour without anybody on the way is long enough to wake the next person \
                  on call; they would rather be woken than hear of it on Monday.",
            condition: "urgent_unassigned > 0 && longest_wait_min >= 30 && on_call_left > 0",
            actions: vec![Action::CallOutNext {}],
            rearm_min: 30,
        },
        Starting {
            name: "Everybody on call is out and it goes on",
            why: "When nobody is left at home and more is coming than those out can reach, the \
                  second rota is opened while it is still early enough to help.",
            condition: "on_call_left == 0 && !second_open && (urgent_unassigned >= 2 || \
                        chance_late.no_heat_cool > 0.25)",
            actions: vec![Action::OpenSecondRota {}],
            rearm_min: 240,
        },
        Starting {
            name: "Comfort waits for the next open day",
            why: "On a weekend that is short of hands, a noisy fan can wait for Monday if the \
                  customer knows it and knows how to say that it got worse; a house without heat \
                  cannot.",
            condition: "(weekend || holiday) && open_jobs.comfort > 0 && (late_now > 0 || \
                        chance_late.no_heat_cool > 0.1)",
            actions: vec![Action::DeferComfort {
                holdover: "Leave the unit off at its switch if it is noisy or wet, and keep the \
                           rooms you need warm with what you have. If heat or cooling fails \
                           altogether, or water shows, tell us at once."
                    .into(),
                at_most: 10,
            }],
            rearm_min: 120,
        },
        Starting {
            name: "Read it from where you are",
            why: "A second read takes five minutes on a telephone and an hour by truck. With few \
                  hours left, nobody should drive for one.",
            condition: "reads_waiting > 0 && !shop_open && hours_left < 12.0",
            actions: vec![Action::OfferRemoteRead {}],
            rearm_min: 60,
        },
        Starting {
            name: "A second read has waited",
            why: "Somebody stands on a roof until the second reader has looked. After a quarter of \
                  an hour out of hours, everybody who may read it is asked at once. What the gate \
                  asks for stays as it is.",
            condition: "read_waiting_min >= 15 && !shop_open",
            actions: vec![Action::WidenReaders {}],
            rearm_min: 30,
        },
        Starting {
            name: "An approval must not wait for Monday",
            why: "A countersigned request below an amount that the owner sets can be answered for \
                  by somebody the owner names, while the managers sleep.",
            condition: "!shop_open && approval_waiting_min >= 45 && approval_amount <= 2500.0",
            actions: vec![Action::DelegateApprovals {
                person_id: None,
                up_to_cents: 250_000,
                hours: 12,
            }],
            rearm_min: 240,
        },
        Starting {
            name: "Deep cold and too few hands",
            why: "In deep cold a house with an infant or an old person in it cannot wait. When the \
                  chance of being late for one is more than one in seven, a neighbouring crew is \
                  asked before it happens.",
            condition: "outdoor_f <= 10 && chance_late.no_heat_vulnerable > 0.15",
            actions: vec![Action::AskNeighbour {
                name: String::new(),
                email: String::new(),
                message: "We are short of hands in the cold tonight. Could one of your crew take \
                          no-heat calls with a vulnerable occupant in our town? Please answer by \
                          telephone."
                    .into(),
            }],
            rearm_min: 720,
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::action::faults;
    use crate::rules::check::Condition;

    #[test]
    fn every_rule_that_ships_can_be_saved() {
        for rule in starting() {
            let condition = Condition::parse(rule.condition);
            assert!(condition.is_ok(), "{}: {condition:?}", rule.name);
            assert_eq!(faults(&rule.actions, false), [], "{}", rule.name);
            assert!(rule.why.len() > 60, "{} is not explained", rule.name);
        }
        assert!((5..=7).contains(&starting().len()));
    }
}
