//! The ladder for a second read: who is asked when nobody has answered.
//!
//! Belongs here: the rungs, their delays, whom each asks. Does not belong here: keeping and
//! firing them (the store's), the order of the people ([`crate::reader`]).

/// How long the best one has before the next are asked. Common practice, no source: a read
/// takes about five minutes, and somebody who will answer picks the phone up within that.
pub const WIDEN_AFTER_MIN: i64 = 5;

/// How long until everyone qualified is asked and the managers are told. Common practice, no
/// source: longer than this and a technician leaves the roof.
pub const EVERYONE_AFTER_MIN: i64 = 15;

/// How many are asked at the second rung.
pub const WIDEN_BY: usize = 2;

/// One rung.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rung {
    /// The best one is asked.
    Best,
    /// The next [`WIDEN_BY`] are asked too.
    NextTwo,
    /// Everyone who may read it is asked, and the managers are told.
    Everyone,
}

impl Rung {
    /// From the lowest.
    pub const ALL: [Rung; 3] = [Rung::Best, Rung::NextTwo, Rung::Everyone];

    /// As stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            Rung::Best => "ask_best",
            Rung::NextTwo => "ask_next",
            Rung::Everyone => "ask_everyone",
        }
    }

    /// The rung with that identifier.
    pub fn from_id(id: &str) -> Option<Rung> {
        Rung::ALL.into_iter().find(|rung| rung.id() == id)
    }

    /// Minutes from the ladder's start.
    pub fn after_min(self) -> i64 {
        match self {
            Rung::Best => 0,
            Rung::NextTwo => WIDEN_AFTER_MIN,
            Rung::Everyone => EVERYONE_AFTER_MIN,
        }
    }

    /// In words.
    pub fn says(self) -> &'static str {
        match self {
            Rung::Best => "the best placed reader is asked",
            Rung::NextTwo => "the next two are asked as well",
            Rung::Everyone => "everyone qualified is asked and the managers are told",
        }
    }

    /// How many of those not asked yet it asks.
    pub fn asks(self) -> usize {
        match self {
            Rung::Best => 1,
            Rung::NextTwo => WIDEN_BY,
            Rung::Everyone => usize::MAX,
        }
    }

    /// Whether the managers are told.
    pub fn tells_managers(self) -> bool {
        self == Rung::Everyone
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_rung_is_later_and_wider_than_the_one_below() {
        for pair in Rung::ALL.windows(2) {
            assert!(pair[0].after_min() < pair[1].after_min());
            assert!(pair[0].asks() < pair[1].asks());
        }
        assert!(Rung::ALL.iter().all(|rung| Rung::from_id(rung.id()) == Some(*rung)));
        assert!(Rung::Everyone.tells_managers() && !Rung::NextTwo.tells_managers());
    }
}
