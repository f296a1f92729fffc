//! The routing library's search: how long it may run, what stops it, on how many cores.
//!
//! Belongs here: the settings every use of the library shares. Does not belong here: what a
//! problem means.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use vrp_core::models::{Problem, Solution};
use vrp_core::prelude::{DefaultRandom, Environment, Solver, VrpConfigBuilder};
use vrp_core::rosomaxa::prelude::{Quota, TelemetryMode};
use vrp_core::rosomaxa::utils::{Parallelism, TimeQuota};
use vrp_core::solver::get_static_heuristic;

use crate::Error;

/// Longest search that may be asked for, seconds. A longer wish is cut to it.
pub const SECONDS_MAX: u32 = 120;

/// Most rounds of a search; at the end of them the best answer so far is given.
pub const ROUNDS_MAX: usize = 1_000_000;

/// How long to look for a better answer. The first of these to be reached ends the search with
/// the best answer so far.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Seconds by the wall; at most [`SECONDS_MAX`].
    pub seconds: u32,
    /// Rounds; at most [`ROUNDS_MAX`].
    pub rounds: usize,
    /// Cores to use, one or more.
    pub cores: usize,
    /// Set by whoever asked when they no longer want the answer.
    pub stop: Arc<AtomicBool>,
}

impl Limits {
    /// So many seconds and nothing else, on one core.
    #[must_use]
    pub fn seconds(seconds: u32) -> Self {
        Self { seconds, rounds: ROUNDS_MAX, cores: 1, stop: Arc::new(AtomicBool::new(false)) }
    }

    /// So many rounds: a small search for simulations and tests.
    #[must_use]
    pub fn rounds(rounds: usize) -> Self {
        Self { rounds: rounds.min(ROUNDS_MAX), ..Self::seconds(SECONDS_MAX) }
    }
}

/// Ends the search when the time is up or nobody wants the answer any more.
struct Stop {
    time: TimeQuota,
    flag: Arc<AtomicBool>,
}

impl Quota for Stop {
    fn is_reached(&self) -> bool {
        self.flag.load(Ordering::Relaxed) || self.time.is_reached()
    }
}

/// The best answer found within the limits.
///
/// # Errors
/// [`Error::Library`] when the library refuses the problem.
pub fn solve(problem: Arc<Problem>, limits: &Limits) -> Result<Solution, Error> {
    let seconds = limits.seconds.min(SECONDS_MAX);
    let stop = Stop { time: TimeQuota::new(f64::from(seconds)), flag: limits.stop.clone() };
    let environment = Arc::new(Environment::new(
        Arc::new(DefaultRandom::default()),
        Some(Arc::new(stop)),
        Parallelism::new_with_cpus(limits.cores.max(1)),
        Arc::new(|_| {}),
        false,
    ));
    // Of the library's two ways of choosing its moves the simple one was nearer to the best known
    // answer of the public instance in the same seconds.
    let heuristic = get_static_heuristic(problem.clone(), environment.clone());
    let config = VrpConfigBuilder::new(problem.clone())
        .set_environment(environment)
        .set_heuristic(Box::new(heuristic))
        .set_telemetry_mode(TelemetryMode::None)
        .prebuild()
        .and_then(|builder| {
            builder
                .with_max_time(Some(seconds as usize))
                .with_max_generations(Some(limits.rounds.min(ROUNDS_MAX)))
                .build()
        })
        .map_err(Error::library)?;
    Solver::new(problem, config).solve().map_err(Error::library)
}
