//! What has fallen due, and letting it fire.
//!
//! Belongs here: finding due steps and handing each to its noun. Does not belong here: the
//! clock that looks (notify's).

use roster::ladder::Kind;
use sea_orm::FromQueryResult as _;

use super::Due;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::{job, request};

/// Steps looked at in one go; more are found at the next, which follows at once.
pub const DUE_MAX: i64 = 100;

/// Fires every step that has fallen due; says how many. Two processes that look at once share
/// the work: each step fires in one of them.
///
/// # Errors
/// When the database fails.
pub async fn climb_due(store: &Store) -> Result<usize, StoreError> {
    let mut fired = 0;
    for due in due(store).await? {
        let done = match Kind::from_id(&due.kind) {
            Some(Kind::SecondRead | Kind::Approval) => request::climb(store, &due).await?,
            Some(Kind::UrgentJob) => job::climb(store, &due).await?,
            // Started by a newer binary, which fires it.
            None => false,
        };
        fired += usize::from(done);
    }
    Ok(fired)
}

/// What has fallen due, longest due first.
async fn due(store: &Store) -> Result<Vec<Due>, StoreError> {
    Ok(Due::find_by_statement(sql(
        "SELECT ladder_id, rung, shop_id, kind, subject_id FROM ladder_step \
         JOIN ladder ON ladder.id = ladder_step.ladder_id \
         WHERE fired_at IS NULL AND skipped_at IS NULL AND due_at <= $1 \
         ORDER BY due_at, ladder_id, rung LIMIT $2",
        [store.now().into(), DUE_MAX.into()],
    ))
    .all(store.conn())
    .await?)
}
