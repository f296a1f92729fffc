//! What happens by itself: mail from an outbox row to a sent message, and ladders that climb.
//!
//! Belongs here: templates, sending, the worker that empties the outbox, the clocks that look
//! for ladder steps that have fallen due and for rules that have come to hold. Does not belong
//! here: who is told what and when; that is decided in the transaction that put the row, and what
//! a step or a rule does by its noun.

pub mod error;
pub mod ladder;
pub mod rule;
pub mod sender;
pub mod template;
pub mod worker;

pub use error::NotifyError;
pub use sender::Sender;
pub use worker::{Settings, run};
