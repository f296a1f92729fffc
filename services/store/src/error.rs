//! The store's one error type, and how the database's refusals become it.
//!
//! Belongs here: the kinds of failure and the translation of constraints by name. Does not
//! belong here: status codes, which are HTTP's.

use std::error::Error;

use chrono::{DateTime, Utc};
use sea_orm::{DbErr, RuntimeErr};
use uuid::Uuid;

/// What can come back instead of an answer. `says` is for the person who asked: what is
/// wrong, and what would be right. Sources are for the log only.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no such thing, or it belongs to another shop: the asker cannot tell which.
    #[error("there is no such {what}")]
    NotFound {
        /// The noun that was looked for.
        what: &'static str,
    },
    /// The caller may not do this.
    #[error("{says}")]
    Forbidden {
        /// A short name that a client can switch on, e.g. "not-yours".
        code: &'static str,
        /// Who may, and why the caller may not.
        says: String,
    },
    /// It cannot be done in the present state.
    #[error("{says}")]
    Conflict {
        /// A short name that a client can switch on, e.g. "digest-changed".
        code: &'static str,
        /// What stands in the way.
        says: String,
    },
    /// Somebody is planned for another job in that time.
    #[error("{says}")]
    Overlap {
        /// Which job is in the way, and when there is room.
        says: String,
        /// The same for a program.
        overlap: Box<Overlap>,
    },
    /// One value of the input cannot be accepted.
    #[error("{says}")]
    Invalid {
        /// JSON pointer into the input.
        pointer: String,
        /// What is wrong with it, and what would be right.
        says: String,
    },
    /// Several values of the input cannot be accepted.
    #[error("{} values cannot be accepted", .0.len())]
    InvalidMany(Vec<Fault>),
    /// Sign-in or refresh failed, or the session is over.
    #[error("{says}")]
    NotSignedIn {
        /// What to do about it.
        says: String,
    },
    /// Too many tries.
    #[error("{says}")]
    TooMany {
        /// When to try again.
        says: String,
        /// Seconds until then.
        retry_after_s: u64,
    },
    /// The database, or another thing the store needs, is not there now.
    #[error("{what} is not available")]
    Unavailable {
        /// What is missing.
        what: &'static str,
        /// Why, for the log.
        #[source]
        source: Option<Box<dyn Error + Send + Sync>>,
    },
    /// The database refused something that the store did not foresee.
    #[error("the database refused")]
    Database(#[source] DbErr),
    /// What is stored cannot be read as what it should be.
    #[error("stored {what} cannot be read")]
    Corrupt {
        /// The noun.
        what: &'static str,
        /// Why, for the log.
        #[source]
        source: Box<dyn Error + Send + Sync>,
    },
}

/// What is in the way of a planned slot, and the next one that is free.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overlap {
    /// The job that is in the way.
    pub job_id: Uuid,
    /// Its number.
    pub number: i32,
    /// Planned from.
    pub planned_start: DateTime<Utc>,
    /// Planned to.
    pub planned_end: DateTime<Utc>,
    /// The next start with room for what was asked.
    pub free_start: DateTime<Utc>,
    /// That start and the length that was asked.
    pub free_end: DateTime<Utc>,
}

/// One value that cannot be accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// JSON pointer into the input.
    pub pointer: String,
    /// What is wrong with it, and what would be right.
    pub says: String,
    /// Where in a file that the value is, for a file.
    pub in_file: Option<InFile>,
}

/// A place in a file that was sent as one value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InFile {
    /// The line, from 1, where it is known.
    pub line: Option<u32>,
    /// A JSON pointer into what the file says ("/parts/12/between"), where it says anything.
    pub path: Option<String>,
}

impl Fault {
    /// A value that cannot be accepted, by its pointer.
    pub fn new(pointer: impl Into<String>, says: impl Into<String>) -> Self {
        Fault { pointer: pointer.into(), says: says.into(), in_file: None }
    }
}

impl StoreError {
    /// A conflict in the present state.
    pub fn conflict(code: &'static str, says: impl Into<String>) -> Self {
        StoreError::Conflict { code, says: says.into() }
    }

    /// The caller may not.
    pub fn forbidden(says: impl Into<String>) -> Self {
        StoreError::Forbidden { code: "not-allowed", says: says.into() }
    }

    /// One value of the input cannot be accepted.
    pub fn invalid(pointer: impl Into<String>, says: impl Into<String>) -> Self {
        StoreError::Invalid { pointer: pointer.into(), says: says.into() }
    }

    /// Someone else changed it since the caller read it.
    pub fn changed_meanwhile(what: &str, version_now: i32) -> Self {
        StoreError::conflict(
            "changed-meanwhile",
            format!(
                "Someone changed this {what} since you opened it; it is at version {version_now} \
                 now. Look at it again, then repeat your change."
            ),
        )
    }

    /// What is stored cannot be read.
    pub fn corrupt(what: &'static str, source: impl Error + Send + Sync + 'static) -> Self {
        StoreError::Corrupt { what, source: Box::new(source) }
    }
}

/// Lost connections and an exhausted pool are told apart from refusals, since trying again
/// helps with the first two only.
impl From<DbErr> for StoreError {
    fn from(error: DbErr) -> Self {
        let lost = match &error {
            DbErr::Conn(_) | DbErr::ConnectionAcquire(_) => true,
            DbErr::Exec(RuntimeErr::SqlxError(cause))
            | DbErr::Query(RuntimeErr::SqlxError(cause)) => {
                matches!(
                    **cause,
                    sqlx::Error::Io(_)
                        | sqlx::Error::PoolTimedOut
                        | sqlx::Error::PoolClosed
                        | sqlx::Error::WorkerCrashed
                ) || gave_way(&error)
            }
            _ => false,
        };
        if lost {
            StoreError::Unavailable { what: "the database", source: Some(Box::new(error)) }
        } else {
            StoreError::Database(error)
        }
    }
}

/// Whether PostgreSQL undid a transaction only because of others at the same moment, so that the
/// same asked again may well succeed: a deadlock, or a server that is being stopped.
fn gave_way(error: &DbErr) -> bool {
    let (DbErr::Exec(RuntimeErr::SqlxError(cause)) | DbErr::Query(RuntimeErr::SqlxError(cause))) =
        error
    else {
        return false;
    };
    let code = cause.as_database_error().and_then(|refusal| refusal.code());
    // deadlock_detected, serialization_failure, admin_shutdown: PostgreSQL's appendix of codes.
    code.is_some_and(|code| ["40P01", "40001", "57P01"].contains(&code.as_ref()))
}

/// The name of the constraint that the database says was broken.
pub fn constraint_of(error: &DbErr) -> Option<&str> {
    match error {
        DbErr::Exec(RuntimeErr::SqlxError(cause)) | DbErr::Query(RuntimeErr::SqlxError(cause)) => {
            cause.as_database_error()?.constraint()
        }
        _ => None,
    }
}

/// Translates a refusal by the name of the constraint; anything else stays what it is.
///
/// ```ignore
/// insert.map_err(|error| by_constraint(error, &[("person_email_key", &|| taken())]))
/// ```
pub fn by_constraint(error: DbErr, known: &[(&str, &dyn Fn() -> StoreError)]) -> StoreError {
    let translated = constraint_of(&error)
        .and_then(|name| known.iter().find(|(known_name, _)| *known_name == name));
    match translated {
        Some((_, translate)) => translate(),
        None => error.into(),
    }
}
