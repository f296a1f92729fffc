//! When a rule fires: as its condition becomes true, not while it is.
//!
//! Belongs here: the memory of one rule between two looks. Does not belong here: the condition.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

/// Shortest time between two firings of one rule, minutes.
pub const REARM_MIN: i64 = 5;

/// Longest, minutes: a week.
pub const REARM_MAX_MIN: i64 = 7 * 24 * 60;

/// What is remembered of a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Edge {
    /// The condition has been false since it last fired.
    pub armed: bool,
    /// When it last fired.
    pub fired_at: Option<DateTime<Utc>>,
}

impl Default for Edge {
    fn default() -> Self {
        Edge { armed: true, fired_at: None }
    }
}

impl Edge {
    /// Looks once; says whether the rule fires. One that becomes true again too soon after it
    /// fired does so when `rearm` has passed, if it still holds.
    pub fn look(&mut self, now: DateTime<Utc>, holds: bool, rearm: TimeDelta) -> bool {
        if !holds {
            self.armed = true;
            return false;
        }
        let rested = self.fired_at.is_none_or(|fired_at| now - fired_at >= rearm);
        if !(self.armed && rested) {
            return false;
        }
        *self = Edge { armed: false, fired_at: Some(now) };
        true
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn fires(looks: &[(i64, bool)], rearm_min: i64) -> Vec<i64> {
        let start = DateTime::from_timestamp(1_795_000_000, 0).unwrap();
        let mut edge = Edge::default();
        looks
            .iter()
            .filter(|(at, holds)| {
                edge.look(start + TimeDelta::minutes(*at), *holds, TimeDelta::minutes(rearm_min))
            })
            .map(|(at, _)| *at)
            .collect()
    }

    #[test]
    fn it_fires_as_the_condition_becomes_true_and_not_while_it_is() {
        assert_eq!(fires(&[(0, false), (1, true), (2, true), (90, true)], 30), [1]);
    }

    #[test]
    fn it_fires_again_after_it_was_false_and_the_time_has_passed() {
        assert_eq!(fires(&[(0, true), (1, false), (40, true)], 30), [0, 40]);
        // True again too soon: once the time has passed, since it still holds.
        assert_eq!(fires(&[(0, true), (1, false), (2, true), (29, true), (30, true)], 30), [0, 30]);
        assert_eq!(fires(&[(0, true), (1, false), (2, true), (29, false), (30, false)], 30), [0]);
    }

    proptest! {
        #[test]
        fn two_firings_are_never_closer_than_the_time_between_them(
            looks in prop::collection::vec(any::<bool>(), 0..200), rearm_min in 5..60i64
        ) {
            let looks: Vec<(i64, bool)> = (0..).zip(looks).collect();
            let fired = fires(&looks, rearm_min);
            prop_assert!(fired.windows(2).all(|pair| pair[1] - pair[0] >= rearm_min));
            // Between two of them the condition was false at least once.
            for pair in fired.windows(2) {
                prop_assert!(looks.iter().any(|(at, holds)| pair[0] < *at && *at < pair[1] && !holds));
            }
        }
    }
}
