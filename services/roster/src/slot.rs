//! Slots of one person's day: the next stretch that is free.
//!
//! Belongs here: finding room between what is planned. Does not belong here: whether they are on
//! duty then, and keeping plans apart, which the database does.

use chrono::{DateTime, TimeDelta, Utc};

/// The first start at or after `from` at which `length` fits between what is taken.
///
/// `taken` are half-open stretches `[start, end)` in any order; they may touch or overlap. A
/// stretch that ends when another starts leaves no room, and none is needed: a slot may begin at
/// the very moment at which another ends. A `length` of nothing or less counts as one minute.
pub fn next_free(
    taken: &[(DateTime<Utc>, DateTime<Utc>)],
    from: DateTime<Utc>,
    length: TimeDelta,
) -> DateTime<Utc> {
    let length = length.max(TimeDelta::minutes(1));
    let mut taken: Vec<_> = taken.iter().copied().filter(|(start, end)| start < end).collect();
    taken.sort_unstable();
    let mut at = from;
    for (start, end) in taken {
        if end <= at {
            continue;
        }
        if start >= at + length {
            break;
        }
        at = end;
    }
    at
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn at(minute: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_795_000_000 + minute * 60, 0).unwrap()
    }

    fn free(taken: &[(i64, i64)], from: i64, length: i64) -> DateTime<Utc> {
        let taken: Vec<_> = taken.iter().map(|(start, end)| (at(*start), at(*end))).collect();
        next_free(&taken, at(from), TimeDelta::minutes(length))
    }

    #[test]
    fn a_gap_that_is_long_enough_is_taken_and_a_shorter_one_is_not() {
        let day = [(0, 60), (90, 150), (240, 300)];
        assert_eq!(free(&day, 0, 30), at(60));
        assert_eq!(free(&day, 0, 31), at(150));
        assert_eq!(free(&day, 0, 91), at(300));
        assert_eq!(free(&day, 160, 60), at(160));
        assert_eq!(free(&[], 5, 60), at(5));
    }

    proptest! {
        #[test]
        fn what_is_found_touches_nothing_and_nothing_earlier_would_do(
            taken in prop::collection::vec((0i64..300, 1i64..60), 0..12),
            from in 0i64..300,
            length in 1i64..90,
        ) {
            let taken: Vec<_> = taken.into_iter().map(|(start, long)| (start, start + long)).collect();
            let clear = |start: i64| taken.iter().all(|(a, b)| start + length <= *a || *b <= start);
            let found = (free(&taken, from, length) - at(0)).num_minutes();
            prop_assert!(found >= from && clear(found));
            prop_assert!((from..found).all(|earlier| !clear(earlier)));
        }
    }
}
