//! The binary's one error type.
//!
//! Belongs here: what can keep a subcommand from doing its work. Does not belong here: how it
//! is told ([`crate::tell`]).

use std::io;

use notify::NotifyError;
use store::StoreError;

/// Why a subcommand could not do its work.
#[derive(Debug, thiserror::Error)]
pub(crate) enum AppError {
    /// A file, a port or a process.
    #[error("{doing} failed")]
    Io {
        /// What was being done.
        doing: String,
        /// Why it failed.
        #[source]
        source: io::Error,
    },
    /// The database or the private PostgreSQL.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The mail settings.
    #[error(transparent)]
    Notify(#[from] NotifyError),
    /// What was asked cannot be done; the text says what would be right.
    #[error("{0}")]
    Says(String),
}
