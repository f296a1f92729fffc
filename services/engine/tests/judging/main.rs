//! The engine from outside: a case in, a verdict or problems out.
//!
//! Belongs here: what a user of [`engine::check`] is promised, one module per family of
//! promises. Does not belong here: the engine's own modules, which have tests of their own.
//!
//! One program for all families: they share the cost of linking.

mod as_built;
mod bad_circuits;
mod bad_input;
mod cases;
mod check_values;
mod good_windings;
mod hardening;
mod newer_cases;
mod plans;
mod properties;
mod rates;
mod settling;
mod shared;
mod support;
mod surveys;
