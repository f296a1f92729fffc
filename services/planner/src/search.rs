//! The search: the routing library first, then our improvement of its answer.
//!
//! Belongs here: how long it may run, what stops it, on how many cores, and which part of the
//! time each of the two gets. Does not belong here: what a problem means.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use vrp_core::rosomaxa::prelude::Quota;
use vrp_core::rosomaxa::utils::Timer;

use crate::improve::{cost, improve};
use crate::model::{Model, Tours};
use crate::{Error, library};

/// Longest search that may be asked for, seconds. A longer wish is cut to it.
pub const SECONDS_MAX: u32 = 120;

/// Most rounds of a search; at the end of them the best answer so far is given.
pub const ROUNDS_MAX: usize = 1_000_000;

/// Most cores a search uses; a wish for more is cut to it.
pub const CORES_MAX: usize = 16;

/// Which part of the time the routing library has; the rest goes to the improvement, which
/// comes nearer to the best known answer of the public instance than the library by itself.
const LIBRARY_PART: f64 = 0.2;

/// Rounds of improvement for each round of the library.
const IMPROVE_PER_ROUND: u64 = 100;

/// The clock is looked at every so many rounds of improvement.
const LOOK_EVERY: u64 = 32;

/// How long to look for a better answer. The first of these to be reached ends the search with
/// the best answer so far.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Seconds by the wall; at most [`SECONDS_MAX`].
    pub seconds: u32,
    /// Rounds; at most [`ROUNDS_MAX`].
    pub rounds: usize,
    /// Cores to use, 1 to [`CORES_MAX`].
    pub cores: usize,
    /// Where the improvement's randomness begins.
    pub seed: u64,
    /// Without the routing library, whose answers vary from run to run.
    pub repeatable: bool,
    /// Set by whoever asked when they no longer want the answer.
    pub stop: Arc<AtomicBool>,
}

impl Limits {
    /// So many seconds and nothing else, on one core.
    #[must_use]
    pub fn seconds(seconds: u32) -> Self {
        Self {
            seconds,
            rounds: ROUNDS_MAX,
            cores: 1,
            seed: 1,
            repeatable: false,
            stop: Arc::new(AtomicBool::new(false)),
        }
    }

    /// So many rounds: a small search for tests.
    #[must_use]
    pub fn rounds(rounds: usize) -> Self {
        Self { rounds: rounds.min(ROUNDS_MAX), ..Self::seconds(SECONDS_MAX) }
    }

    /// So many rounds, and the same answer for the same seed every time: for simulations. The
    /// clock still ends it after [`SECONDS_MAX`].
    #[must_use]
    pub fn repeatable(rounds: usize, seed: u64) -> Self {
        Self { seed, repeatable: true, ..Self::rounds(rounds) }
    }
}

/// Ends the search when the time is up or nobody wants the answer any more.
struct Stop {
    timer: Timer,
    seconds: f64,
    flag: Arc<AtomicBool>,
}

impl Quota for Stop {
    fn is_reached(&self) -> bool {
        self.flag.load(Ordering::Relaxed) || self.timer.elapsed_secs_as_float() >= self.seconds
    }
}

/// The best answer found within the limits.
///
/// # Errors
/// [`Error::Library`] when the library refuses the problem.
pub fn solve(model: &Model, limits: &Limits) -> Result<Tours, Error> {
    let timer = Timer::start();
    let seconds = f64::from(limits.seconds.min(SECONDS_MAX));
    let rounds = limits.rounds.min(ROUNDS_MAX);
    let cores = limits.cores.clamp(1, CORES_MAX);
    let first = if limits.repeatable {
        vec![Vec::new(); model.tours.len()]
    } else {
        let stop = Stop {
            timer: timer.clone(),
            seconds: seconds * LIBRARY_PART,
            flag: limits.stop.clone(),
        };
        library::search(model, Arc::new(stop), (limits.seconds.min(SECONDS_MAX), rounds, cores))?
    };
    let began = timer.elapsed_secs_as_float();
    let rounds = (rounds as u64).saturating_mul(IMPROVE_PER_ROUND);
    let progress = |round: u64| {
        let of_rounds = round as f64 / rounds as f64;
        if !round.is_multiple_of(LOOK_EVERY) {
            return (of_rounds < 1.0).then_some(of_rounds);
        }
        let spent = timer.elapsed_secs_as_float() - began;
        let of_time = if seconds > began { spent / (seconds - began) } else { 1.0 };
        let stopped = limits.stop.load(Ordering::Relaxed);
        let part = of_rounds.max(of_time);
        (part < 1.0 && !stopped).then_some(part)
    };
    let found: Vec<Tours> = std::thread::scope(|scope| {
        let searches: Vec<_> = (0..cores as u64)
            .map(|core| {
                let (first, progress) = (&first, &progress);
                scope.spawn(move || improve(model, first, limits.seed.wrapping_add(core), progress))
            })
            .collect();
        searches.into_iter().filter_map(|search| search.join().ok()).collect()
    });
    let better = found.into_iter().chain([first]).map(|tours| (cost(model, &tours), tours));
    let best = better.min_by(|(one, _), (other, _)| one.total_cmp(other));
    Ok(best.map(|(_, tours)| tours).unwrap_or_default())
}
