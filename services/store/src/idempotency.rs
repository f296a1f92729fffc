//! Repeated writes: the answer to a repeat is the first answer.
//!
//! Belongs here: claiming a key, noting in the write's own transaction that it was carried
//! out, keeping the answer. Does not belong here: headers and status codes.
//!
//! A claim is taken before the work, noted as carried out in the transaction of the work and
//! answered after it. So whatever is killed when, a write happens at most once, and a repeat
//! is told which of the three it met.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;

/// How long a claim without a result keeps repeats waiting; after that one of them takes it
/// over, since whoever held it was killed.
const CLAIM_LEASE_S: i64 = 60;

/// How long answers are kept; a repeat after that is a new write.
const KEPT_DAYS: i64 = 14;

/// The right to carry one write out.
#[derive(Clone, Debug)]
pub struct Claim {
    person_id: Uuid,
    key: Uuid,
    at: DateTime<Utc>,
}

/// What a key turned out to be.
#[derive(Debug)]
pub enum Claimed {
    /// A new write: carry it out.
    New(Claim),
    /// A repeat: this was the answer.
    Answered {
        /// The HTTP status.
        status: u16,
        /// The body.
        body: String,
    },
    /// The key was used with another request.
    OtherRequest,
    /// The first is still being worked on.
    StillWorking,
    /// The first was carried out and its answer lost.
    AnswerLost,
}

#[derive(FromQueryResult)]
struct Row {
    route: String,
    request_hash: String,
    at: DateTime<Utc>,
    carried_out: bool,
    status: Option<i16>,
    body: Option<String>,
}

/// Claims a key for a person's write.
///
/// # Errors
/// When the database fails.
pub async fn claim(
    store: &Store,
    person_id: Uuid,
    key: Uuid,
    route: &str,
    request_hash: &str,
) -> Result<Claimed, StoreError> {
    let now = store.now();
    let taken = store
        .conn()
        .execute_raw(sql(
            "INSERT INTO idempotency (person_id, key, route, request_hash, at) \
             VALUES ($1, $2, $3, $4, $5) \
             ON CONFLICT (person_id, key) DO UPDATE SET at = excluded.at \
             WHERE NOT idempotency.carried_out AND idempotency.status IS NULL \
               AND idempotency.route = excluded.route \
               AND idempotency.request_hash = excluded.request_hash \
               AND idempotency.at < $6",
            [
                person_id.into(),
                key.into(),
                route.into(),
                request_hash.into(),
                now.into(),
                (now - TimeDelta::seconds(CLAIM_LEASE_S)).into(),
            ],
        ))
        .await?;
    if taken.rows_affected() == 1 {
        return Ok(Claimed::New(Claim { person_id, key, at: now }));
    }

    let row = Row::find_by_statement(sql(
        "SELECT route, request_hash, at, carried_out, status, body FROM idempotency \
         WHERE person_id = $1 AND key = $2",
        [person_id.into(), key.into()],
    ))
    .one(store.conn())
    .await?;
    let Some(row) = row else {
        // Released between the two statements: the first failed, so a further try is right.
        return Ok(Claimed::StillWorking);
    };
    if row.route != route || row.request_hash != request_hash {
        return Ok(Claimed::OtherRequest);
    }
    Ok(match (row.status, row.body) {
        (Some(status), Some(body)) => {
            Claimed::Answered { status: u16::try_from(status).unwrap_or(500), body }
        }
        _ if row.carried_out && row.at < now - TimeDelta::seconds(CLAIM_LEASE_S) => {
            Claimed::AnswerLost
        }
        _ => Claimed::StillWorking,
    })
}

/// Notes in the write's own transaction that it was carried out.
///
/// # Errors
/// When another request took the claim over meanwhile, or the database fails.
pub(crate) async fn mark_carried_out<C: ConnectionTrait>(
    txn: &C,
    claim: &Claim,
) -> Result<(), StoreError> {
    let marked = txn
        .execute_raw(sql(
            "UPDATE idempotency SET carried_out = true \
             WHERE person_id = $1 AND key = $2 AND at = $3",
            [claim.person_id.into(), claim.key.into(), claim.at.into()],
        ))
        .await?;
    if marked.rows_affected() == 1 {
        Ok(())
    } else {
        Err(StoreError::conflict(
            "still-working",
            "A repeat of this request took it over. Ask again with the same key.",
        ))
    }
}

/// Keeps the answer for repeats.
///
/// # Errors
/// When the database fails.
pub async fn answer(
    store: &Store,
    claim: &Claim,
    status: u16,
    body: &str,
) -> Result<(), StoreError> {
    store
        .conn()
        .execute_raw(sql(
            "UPDATE idempotency SET status = $4, body = $5 \
             WHERE person_id = $1 AND key = $2 AND at = $3",
            [
                claim.person_id.into(),
                claim.key.into(),
                claim.at.into(),
                i16::try_from(status).unwrap_or(500).into(),
                body.into(),
            ],
        ))
        .await?;
    Ok(())
}

/// Gives a claim back, unless the write was carried out.
///
/// # Errors
/// When the database fails.
pub async fn release(store: &Store, claim: &Claim) -> Result<(), StoreError> {
    store
        .conn()
        .execute_raw(sql(
            "DELETE FROM idempotency \
             WHERE person_id = $1 AND key = $2 AND at = $3 AND NOT carried_out",
            [claim.person_id.into(), claim.key.into(), claim.at.into()],
        ))
        .await?;
    Ok(())
}

/// Forgets the answers that are old enough.
///
/// # Errors
/// When the database fails.
pub async fn forget_old(store: &Store) -> Result<u64, StoreError> {
    let before = store.now() - TimeDelta::days(KEPT_DAYS);
    let result = store
        .conn()
        .execute_raw(sql("DELETE FROM idempotency WHERE at < $1", [before.into()]))
        .await?;
    Ok(result.rows_affected())
}
