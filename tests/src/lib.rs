//! What the black-box tests share.
//!
//! Belongs here: helpers that more than one test program uses and that know the product only
//! from outside. Does not belong here: a test, or a reimplementation of what is tested.

pub mod client;
#[path = "../referees/condemn_trial/mod.rs"]
pub mod condemn_trial;
pub mod gate_model;
pub mod joined;
pub mod proxy;
pub mod seed;
pub mod seeded;
pub mod service;
pub mod socket;
pub mod storm;
pub mod tree;
