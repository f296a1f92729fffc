//! Coming back: on the morning a deferral ends, or when somebody takes it back.
//!
//! Belongs here: what ends a deferral from the shop's side. Does not belong here: the customer's
//! link ([`super::worse`]), the clock that looks (notify's).

use sea_orm::{ConnectionTrait as _, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{announce, append, end};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::{self, Job};
use crate::person::Caller;
use crate::{record, request};

/// Deferrals looked at in one go; more are found at the next look.
const DUE_MAX: i64 = 100;

/// Brings back every job whose morning has come; says how many. Two processes that look at once
/// share the work.
///
/// # Errors
/// When the database fails.
pub async fn return_due(store: &Store) -> Result<usize, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        shop_id: Uuid,
        job_id: Uuid,
    }
    let due = Row::find_by_statement(sql(
        "SELECT id, shop_id, job_id FROM holdover WHERE ended_at IS NULL AND until <= $1 \
         ORDER BY until, id LIMIT $2",
        [store.now().into(), DUE_MAX.into()],
    ))
    .all(store.conn())
    .await?;
    let mut back = 0;
    for row in due {
        let txn = store.begin().await?;
        let locked = txn
            .query_one_raw(sql(
                "SELECT 1 FROM job WHERE id = $1 FOR NO KEY UPDATE SKIP LOCKED",
                [row.job_id.into()],
            ))
            .await?;
        // Somebody is at work on it; the next look finds it ended, or still due.
        if locked.is_none() || !is_due(&txn, store, row.id).await? {
            continue;
        }
        let now = store.now();
        end(&txn, now, row.job_id, "returned").await?;
        let ladder = job::settle(store, &txn, row.shop_id, row.job_id).await?;
        let body = json!({ "holdover": row.id });
        append(&txn, now, row.shop_id, row.job_id, None, "job_returned", body).await?;
        for entry in ladder {
            record::append(&txn, now, entry).await?;
        }
        announce(&txn, now, row.shop_id, row.job_id).await?;
        txn.commit().await?;
        back += 1;
    }
    Ok(back)
}

async fn is_due(
    txn: &sea_orm::DatabaseTransaction,
    store: &Store,
    id: Uuid,
) -> Result<bool, StoreError> {
    let due = txn
        .query_one_raw(sql(
            "SELECT 1 FROM holdover WHERE id = $1 AND ended_at IS NULL AND until <= $2",
            [id.into(), store.now().into()],
        ))
        .await?;
    Ok(due.is_some())
}

/// Takes a deferral back: the job is on the board again at once.
///
/// # Errors
/// `NotFound`, `Forbidden` for whoever neither gives out work nor has the job, `Conflict` where
/// it is not deferred.
pub async fn take_back(store: &Store, caller: &Caller, job_id: Uuid) -> Result<Job, StoreError> {
    let txn = store.begin().await?;
    request::lock_job(&txn, caller.shop_id, job_id).await?;
    let before = job::job_find(&txn, caller.shop_id, job_id).await?;
    let own = before.assigned_to.as_ref().is_some_and(|(id, _)| *id == caller.person_id);
    if !own {
        caller.must_schedule("take back a deferral that is not of their own job")?;
    }
    let now = store.now();
    if !end(&txn, now, job_id, "taken_back").await? {
        return Err(StoreError::conflict(
            "not-deferred",
            "This job is not deferred now; there is nothing to take back.",
        ));
    }
    txn.execute_raw(sql(
        "UPDATE job SET not_before = NULL, version = version + 1, changed_at = $2 WHERE id = $1",
        [job_id.into(), now.into()],
    ))
    .await?;
    let ladder = job::settle(store, &txn, caller.shop_id, job_id).await?;
    let who = Some(caller.person_id);
    append(&txn, now, caller.shop_id, job_id, who, "job_deferral_ended", json!({})).await?;
    for entry in ladder {
        record::append(&txn, now, entry).await?;
    }
    announce(&txn, now, caller.shop_id, job_id).await?;
    let job = job::job_find(&txn, caller.shop_id, job_id).await?;
    txn.commit().await?;
    Ok(job)
}
