//! Rules: when this holds, then do that.
//!
//! Belongs here: what a rule may speak of ([`schema`], [`values`]), whether its condition is
//! right ([`check`]), what it may do ([`action`]), when it fires ([`edge`]), the rules that ship
//! ([`starting`]), and what a rule would have done ([`rehearse`]). Does not belong here: clocks,
//! rows, and carrying an action out (the store's).
//!
//! Conditions are in the Common Expression Language. A rule can change who is asked and how, and
//! never what the condemn gate asks for: there is no action that could.

pub mod action;
pub mod check;
pub mod edge;
pub mod rehearse;
pub mod schema;
pub mod starting;
mod syntax;
mod types;
pub mod values;

pub use action::Action;
pub use check::{Condition, Fault};
pub use edge::Edge;
pub use values::Values;
