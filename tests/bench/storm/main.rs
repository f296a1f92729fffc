//! The full storm: `cargo run --release -p countersign-tests --bin kill-storm`.
//!
//! Belongs here: its size, and saying what it came to. Does not belong here: the storm.
#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "a measurement")]

use std::time::Instant;

const MESSAGES: usize = 10_000;
const TALKERS: usize = 100;

#[tokio::main]
async fn main() {
    let began = Instant::now();
    let outcome = blackbox::storm::storm(MESSAGES, TALKERS).await;
    println!("{outcome:?} in {:.1} s: nothing lost, nothing twice", began.elapsed().as_secs_f64());
}
