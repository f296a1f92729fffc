//! Time and randomness, as things that are handed over.
//!
//! Belongs here: the only calls of the machine's clock and of its generator. Does not belong
//! here: what a time or an id is used for.

#![allow(clippy::disallowed_methods)]

use std::fmt;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, SubsecRound as _, TimeDelta, Utc};
use rand::rngs::{StdRng, SysError, SysRng};
use rand::{Rng as _, SeedableRng as _};
use uuid::{Builder, Uuid};

/// Digits after the second that a time keeps; PostgreSQL has no more, and a time must read
/// the same before and after it was stored.
const SECOND_DIGITS: u16 = 6;

/// Random bytes in a token: enough that guessing one is hopeless.
const TOKEN_BYTES: usize = 32;

/// Tells the time.
pub trait Clock: Send + Sync {
    /// Now, to the microsecond.
    fn now(&self) -> DateTime<Utc>;
}

/// The machine's clock.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> DateTime<Utc> {
        Utc::now().trunc_subsecs(SECOND_DIGITS)
    }
}

/// The machine's clock, off by what a file says: for tests of a service whose clock jumps.
#[derive(Clone, Debug)]
pub struct OffsetClock(PathBuf);

impl OffsetClock {
    /// Off by the milliseconds in this file, which is read anew each time; right while it says
    /// no number.
    pub fn new(file: PathBuf) -> Self {
        OffsetClock(file)
    }
}

impl Clock for OffsetClock {
    fn now(&self) -> DateTime<Utc> {
        let text = std::fs::read_to_string(&self.0).unwrap_or_default();
        let offset_ms = text.trim().parse().unwrap_or(0);
        SystemClock.now() + TimeDelta::milliseconds(offset_ms)
    }
}

/// A clock that a test sets.
#[derive(Debug)]
pub struct ManualClock(Mutex<DateTime<Utc>>);

impl ManualClock {
    /// A clock that stands at `at`.
    pub fn new(at: DateTime<Utc>) -> Self {
        ManualClock(Mutex::new(at.trunc_subsecs(SECOND_DIGITS)))
    }

    /// Puts the clock to `at`.
    pub fn set(&self, at: DateTime<Utc>) {
        *lock(&self.0) = at.trunc_subsecs(SECOND_DIGITS);
    }

    /// Moves the clock on by `by`.
    pub fn advance(&self, by: TimeDelta) {
        *lock(&self.0) += by;
    }
}

impl Clock for ManualClock {
    fn now(&self) -> DateTime<Utc> {
        *lock(&self.0)
    }
}

/// Makes ids, tokens and salts.
pub struct Generator(Mutex<StdRng>);

impl Generator {
    /// Seeded by the operating system.
    ///
    /// # Errors
    /// When the operating system has no randomness to give.
    pub fn from_os() -> Result<Self, SysError> {
        Ok(Generator(Mutex::new(StdRng::try_from_rng(&mut SysRng)?)))
    }

    /// The same ids and tokens for the same seed: for tests and the demo only.
    pub fn seeded(seed: u64) -> Self {
        Generator(Mutex::new(StdRng::seed_from_u64(seed)))
    }

    /// An id that sorts by the time it was made (version 7).
    pub fn uuid(&self, at: DateTime<Utc>) -> Uuid {
        let mut random = [0; 10];
        self.fill(&mut random);
        let since_epoch_ms = u64::try_from(at.timestamp_millis()).unwrap_or(0);
        Builder::from_unix_timestamp_millis(since_epoch_ms, &random).into_uuid()
    }

    /// A secret that fits into a URL, a header and a cookie.
    pub fn token(&self) -> String {
        let mut random = [0; TOKEN_BYTES];
        self.fill(&mut random);
        URL_SAFE_NO_PAD.encode(random)
    }

    /// Fills `bytes` with random ones.
    pub fn fill(&self, bytes: &mut [u8]) {
        lock(&self.0).fill_bytes(bytes);
    }
}

impl fmt::Debug for Generator {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Generator(..)")
    }
}

/// The clock and the generator, as one thing to pass on.
#[derive(Clone)]
pub struct Ambient {
    /// Tells the time.
    pub clock: Arc<dyn Clock>,
    /// Makes ids and tokens.
    pub generator: Arc<Generator>,
}

impl Ambient {
    /// The machine's own.
    ///
    /// # Errors
    /// When the operating system has no randomness to give.
    pub fn from_os() -> Result<Self, SysError> {
        Ok(Ambient { clock: Arc::new(SystemClock), generator: Arc::new(Generator::from_os()?) })
    }

    /// Now, to the microsecond.
    pub fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    /// A new id.
    pub fn new_id(&self) -> Uuid {
        self.generator.uuid(self.clock.now())
    }
}

impl fmt::Debug for Ambient {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Ambient(..)")
    }
}

/// A panic while a number was drawn leaves nothing half-done, so its lock is still good.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_sort_by_time_and_repeat_with_the_seed() {
        let early = DateTime::from_timestamp(1_700_000_000, 0).unwrap();
        let late = early + TimeDelta::milliseconds(1);

        let ids = |generator: Generator| (generator.uuid(early), generator.uuid(late));

        let (first, second) = ids(Generator::seeded(7));
        assert!(first < second);
        assert_eq!(first.get_version_num(), 7);
        assert_eq!((first, second), ids(Generator::seeded(7)));
    }

    #[test]
    fn a_manual_clock_moves_only_when_told() {
        let start = DateTime::from_timestamp(1_700_000_000, 0).unwrap();
        let clock = ManualClock::new(start);

        clock.advance(TimeDelta::seconds(5));

        assert_eq!(clock.now(), start + TimeDelta::seconds(5));
    }
}
