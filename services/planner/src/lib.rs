//! The proposal for a day or a weekend: who goes where, and when.
//!
//! Belongs here: putting a roster's jobs, people and windows to the routing library, and its
//! answer back into ours. Does not belong here: rest rules and fairness (the roster's), rows
//! and requests.
//!
//! The library's answers vary from run to run even when seeded, and a search can be wrong, so
//! nothing is shown that `roster::plan::check` has not passed.

mod cost;
mod improve;
mod library;
pub mod model;
mod proposal;
pub mod search;

pub use proposal::propose;
pub use search::Limits;

/// What can go wrong.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The problem cannot be planned.
    #[error(transparent)]
    Unsound(#[from] roster::plan::Unsound),
    /// The routing library refused the problem.
    #[error("the routing library: {0}")]
    Library(String),
    /// What the library found breaks a promise that leaving jobs out does not mend.
    #[error("no plan keeps every promise: {0}")]
    Faulty(roster::plan::check::Fault),
}

impl Error {
    fn library(error: vrp_core::prelude::GenericError) -> Self {
        Self::Library(error.to_string())
    }
}
