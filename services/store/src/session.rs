//! Placeholder: session.

use uuid::Uuid;

use crate::db::Store;
use crate::error::StoreError;
use crate::person::Caller;

/// The caller of a session that still stands.
pub async fn caller_find(_store: &Store, _session_id: Uuid) -> Result<Caller, StoreError> {
    Err(StoreError::NotSignedIn { says: String::new() })
}
