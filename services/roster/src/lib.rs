//! Who is next, and who may be asked: the shop's people and its queue, without a database.
//!
//! Belongs here: the order of the board's queue ([`queue`]), who may be asked for a second
//! read ([`reader`]) and who when nobody answers ([`ladder`]), what makes a site safe until a
//! working day ([`holdover`]), what a plan is and whether it may
//! be shown ([`plan`]), how pressing a call is by its answers ([`intake`]), where
//! somebody's day has room ([`slot`]), the shop's days ([`calendar`]), duty ([`duty`]),
//! whole weeks of it ([`pattern`]), rest ([`rest`]), cover ([`cover`]), evenness ([`fairness`]),
//! capacity and rules. Does not belong here: clocks (times are arguments), storage,
//! HTTP, and the rules of the condemn gate itself, which are the engine's.

pub mod calendar;
pub mod capacity;
pub mod cover;
pub mod duty;
pub mod fairness;
pub mod holdover;
pub mod intake;
pub mod ladder;
pub mod pattern;
pub mod plan;
pub mod queue;
pub mod reader;
pub mod rest;
pub mod rules;
pub mod slot;
