//! Pins: jobs that proposals leave where somebody put them.
//!
//! Belongs here: setting and taking out a pin. Does not belong here: what planning does with it.

use sea_orm::ConnectionTrait as _;
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::job_find;
use crate::live_feed;
use crate::person::Caller;
use crate::record::{self, Entry};

/// Pins a job where it is, or takes its pin out. Whether it was so already makes no difference.
///
/// # Errors
/// `Forbidden` unless they give out work, `NotFound`, `Conflict` for a job without a person and a
/// time, which nothing could hold, or the database fails.
pub async fn pin(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    pinned: bool,
) -> Result<bool, StoreError> {
    caller.must_schedule("pin a job")?;
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM job WHERE id = $1 FOR NO KEY UPDATE", [job_id.into()]))
        .await?;
    let job = job_find(&txn, caller.shop_id, job_id).await?;
    if pinned && (job.assigned_to.is_none() || job.planned.is_none()) {
        return Err(StoreError::conflict(
            "nothing-to-pin",
            "A pin keeps a job with its person and its time. Give this job both first, then pin it.",
        ));
    }
    let now = store.now();
    let done = if pinned {
        txn.execute_raw(sql(
            "INSERT INTO job_pin (job_id, shop_id, pinned_by, pinned_at) VALUES ($1, $2, $3, $4) \
             ON CONFLICT (job_id) DO NOTHING",
            [job_id.into(), caller.shop_id.into(), caller.person_id.into(), now.into()],
        ))
        .await?
    } else {
        txn.execute_raw(sql("DELETE FROM job_pin WHERE job_id = $1", [job_id.into()])).await?
    };
    if done.rows_affected() > 0 {
        let entry = Entry {
            shop_id: caller.shop_id,
            actor: Some(caller.person_id),
            kind: if pinned { "job_pinned" } else { "job_unpinned" },
            subject_kind: "job",
            subject_id: job_id,
            body: json!({}),
        };
        record::append(&txn, now, entry).await?;
        live_feed::announce(&txn, now, caller.shop_id, "job", job_id, json!({})).await?;
    }
    txn.commit().await?;
    Ok(pinned)
}
