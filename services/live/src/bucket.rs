//! How often one client may speak.
//!
//! Belongs here: the token bucket. Does not belong here: what happens when it is empty.

use chrono::{DateTime, Utc};

use crate::limits::{FRAMES_BURST_MAX, FRAMES_PER_S_MAX};

/// Holds up to [`FRAMES_BURST_MAX`] frames and regains [`FRAMES_PER_S_MAX`] a second.
pub(crate) struct Bucket {
    /// In thousandths of a frame, so that milliseconds refill it without rounding.
    left_milli: i64,
    at: DateTime<Utc>,
}

const FULL_MILLI: i64 = FRAMES_BURST_MAX as i64 * 1000;

impl Bucket {
    /// A full bucket.
    pub(crate) fn new(now: DateTime<Utc>) -> Self {
        Bucket { left_milli: FULL_MILLI, at: now }
    }

    /// Takes one frame out; false when there is none. A clock that goes back refills nothing.
    pub(crate) fn take(&mut self, now: DateTime<Utc>) -> bool {
        let elapsed_ms = (now - self.at).num_milliseconds().max(0);
        self.at = now;
        let regained = elapsed_ms.saturating_mul(i64::from(FRAMES_PER_S_MAX));
        self.left_milli = self.left_milli.saturating_add(regained).min(FULL_MILLI);
        let takes = self.left_milli >= 1000;
        if takes {
            self.left_milli -= 1000;
        }
        takes
    }
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;

    use super::*;

    #[test]
    fn a_burst_is_let_through_then_the_rate_holds() {
        let start = DateTime::UNIX_EPOCH;
        let mut bucket = Bucket::new(start);

        let burst = (0..FRAMES_BURST_MAX).filter(|_| bucket.take(start)).count();
        assert_eq!(burst, FRAMES_BURST_MAX as usize);
        assert!(!bucket.take(start));

        let later = start + TimeDelta::seconds(1);
        let regained = (0..FRAMES_BURST_MAX).filter(|_| bucket.take(later)).count();
        assert_eq!(regained, FRAMES_PER_S_MAX as usize);
    }

    #[test]
    fn a_clock_that_goes_back_gives_nothing() {
        let start = DateTime::UNIX_EPOCH + TimeDelta::days(1);
        let mut bucket = Bucket::new(start);
        while bucket.take(start) {}

        assert!(!bucket.take(start - TimeDelta::hours(1)));
    }
}
