//! The evidence engine: from a circuit and the readings taken on it to a verdict and
//! the best next tests.
//!
//! Belongs here: units, circuits, readings, the solver, hypotheses, verdict, next test,
//! and the checks that stand beside the model.
//! Does not belong here: files, clocks, randomness, async, HTTP, databases. Everything an
//! answer depends on is in the arguments, so the same input gives the same bytes.
//!
//! The way in is [`check`]: a [`case::Case`] in, a [`verdict::Verdict`] or a
//! [`problem::Problems`] out. "These readings cannot settle it" is a verdict; an unknown
//! point name is a problem.

pub mod case;
pub mod checks;
pub mod circuit;
pub mod circuit_file;
mod diode;
mod direct;
pub mod gate;
pub mod judge;
mod likelihood;
pub mod meter;
mod model;
pub mod network;
mod next_test;
pub mod policy;
pub mod posterior;
mod powered;
pub mod predict;
pub mod problem;
pub mod rates;
mod sentences;
mod shares;
pub mod survey;
mod sweep;
pub mod units;
pub mod validate;
pub mod verdict;
pub mod work;

pub use judge::{check, plan_of_tests};
