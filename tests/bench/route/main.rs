//! How near the routing library comes to the best known answer of a public instance:
//! `cargo bench -p countersign-planner`.
//!
//! Belongs here: reading RC208 (from Solomon's set, as the PyVRP repository carries it under the
//! MIT licence beside it), solving it within 60 s on two cores by the planner's own search,
//! checking the answer and saying the gap. Does not belong here: the search.
//! The number of seconds may be given (`-- 20`). After it some days of a shop are planned and timed.
#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "a measurement")]

mod instance;
mod shop;

use std::error::Error;
use std::process::ExitCode;
use std::time::Instant;

use planner::search::{Limits, solve};

/// The best known length, as published: distances cut to one decimal, distance only.
const BEST: f64 = 776.1;
/// How far above it the answer may be, in per cent.
const GAP_MAX: f64 = 3.0;
/// Seconds, unless given.
const SECONDS: u32 = 60;
/// Random days of a shop to plan after it.
const SHOP_DAYS: u64 = 3;

fn main() -> Result<ExitCode, Box<dyn Error>> {
    let seconds = std::env::args().find_map(|text| text.parse().ok()).unwrap_or(SECONDS);
    let instance = instance::Instance::read(include_str!("RC208.vrp"))?;
    let model = instance.model();
    let began = Instant::now();
    let limits = Limits { cores: 2, ..Limits::seconds(seconds) };
    let solution = solve(&model, &limits)?;
    // The model's stops leave the depot out.
    let routes: Vec<Vec<usize>> = solution
        .iter()
        .filter(|tour| !tour.is_empty())
        .map(|tour| tour.iter().map(|stop| stop + 1).collect())
        .collect();
    let length = instance.length_checked(&routes)?;
    let gap = 100.0 * (length / BEST - 1.0);
    println!(
        "RC208: {length:.1} with {} routes after {:.1} s on 2 cores; best known {BEST}; {gap:.2} % above",
        routes.len(),
        began.elapsed().as_secs_f64()
    );
    let mut in_time = true;
    for seed in 1..=SHOP_DAYS {
        in_time &= shop::measure(seed)?;
    }
    Ok(if gap <= GAP_MAX && in_time { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
