//! The whole model of the gate: `cargo run --release -p countersign-tests --bin gate-model`.
//!
//! Belongs here: how far to look, and saying how far it came. Does not belong here: the model.
//! The number of states to reach may be given; without one, five million.
#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "a measurement")]

use std::process::ExitCode;
use std::time::Instant;

use blackbox::gate_model::{BLIND, Gate, INDEPENDENT, ISOLATED, SAME_DIGEST};
use engine::gate::MoveKind;
use stateright::{Checker as _, Model as _};

const STATES: usize = 5_000_000;

fn main() -> ExitCode {
    let states = std::env::args().nth(1).and_then(|text| text.parse().ok()).unwrap_or(STATES);
    let began = Instant::now();
    let checker = Gate { machine: engine::gate::apply, late: false, moves: &MoveKind::ALL }
        .checker()
        .threads(2)
        .target_state_count(states)
        .spawn_bfs()
        .join();
    println!(
        "{} states, {} of them different, {} steps deep, {:.1} s",
        checker.state_count(),
        checker.unique_state_count(),
        checker.max_depth(),
        began.elapsed().as_secs_f64()
    );
    let discoveries = checker.discoveries();
    let mut broken = false;
    for always in [ISOLATED, INDEPENDENT, SAME_DIGEST, BLIND] {
        match discoveries.get(always) {
            None => println!("holds: {always}"),
            Some(path) => {
                broken = true;
                println!("BROKEN: {always}\n{path}");
            }
        }
    }
    for (name, _) in discoveries.iter().filter(|(name, _)| !name.contains("digest")) {
        println!("reached: {name}");
    }
    if broken { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}
