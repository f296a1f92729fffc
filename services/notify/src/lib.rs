//! Mail: from an outbox row to a sent message.
//!
//! Belongs here: templates, sending, the worker that empties the outbox. Does not belong here:
//! who is told what and when; that is decided in the transaction that put the row.

pub mod error;
pub mod sender;
pub mod template;
pub mod worker;

pub use error::NotifyError;
pub use sender::Sender;
pub use worker::{Settings, run};
