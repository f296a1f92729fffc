//! The service from outside: HTTP, the live stream and mail, on a real PostgreSQL.
//!
//! Belongs here: promises that somebody with a network connection can see kept. What is looked
//! up in the tables is only what no answer shows. Does not belong here: the engine's numbers.
//!
//! `cargo test -p countersign-tests --test http [MODULE]`
#![allow(clippy::unwrap_used, reason = "a test may")]

mod authorization;
mod authorization_table;
mod bad_input;
mod blindness;
mod board;
mod capacity;
mod circuits;
mod deployed;
mod feed;
mod found;
mod guest;
mod holdover;
mod intake;
mod ladders;
mod linear;
mod live;
mod mail;
mod meters;
mod plan;
mod planned;
mod races;
mod readers;
mod record;
mod rota;
mod rota_agree;
mod rules;
mod sign_in;
mod story;
mod talk;
mod thresholds;
mod variants;
mod world;
mod writes;
