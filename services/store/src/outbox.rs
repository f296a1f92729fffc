//! The outbox: what must leave the service because of a write, kept in the same transaction.
//!
//! Belongs here: putting, taking, settling. Does not belong here: how a mail is written or
//! sent; that is notify's.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde_json::Value;
use sqlx::postgres::PgListener;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;

/// The channel on which a put wakes the worker. The table is the truth; this only wakes.
pub const CHANNEL: &str = "outbox";

/// Tries before a row is given up; it stays in the table with its last error.
pub const ATTEMPTS_MAX: i32 = 8;

/// Wait after the first failed try; it doubles with each further one.
const BACKOFF_FIRST_S: i64 = 5;

/// Longest wait between two tries.
const BACKOFF_MAX_S: i64 = 3_600;

/// One thing to be sent.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Due {
    /// Its id.
    pub id: Uuid,
    /// Whose.
    pub shop_id: Uuid,
    /// "mail".
    pub kind: String,
    /// What, depending on the kind.
    pub payload: Value,
    /// Tries made before this one.
    pub attempts: i32,
}

/// Puts one thing in; it is sent once the transaction has committed and `due_at` has come.
///
/// For mail the payload is `{to_person | to_email, template, data}`.
///
/// # Errors
/// When the database fails.
pub async fn put<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    kind: &str,
    payload: &Value,
    due_at: DateTime<Utc>,
) -> Result<Uuid, StoreError> {
    let id = store.new_id();
    txn.execute_raw(sql(
        "INSERT INTO outbox (id, shop_id, kind, payload, due_at, created_at) \
         VALUES ($1, $2, $3, $4, $5, $6)",
        [
            id.into(),
            shop_id.into(),
            kind.into(),
            payload.clone().into(),
            due_at.into(),
            store.now().into(),
        ],
    ))
    .await?;
    txn.execute_raw(sql("SELECT pg_notify($1, '')", [CHANNEL.into()])).await?;
    Ok(id)
}

/// Puts many in, as [`put`] does with one.
///
/// # Errors
/// When the database fails.
pub async fn put_many<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    kind: &str,
    payloads: &[Value],
    due_at: DateTime<Utc>,
) -> Result<(), StoreError> {
    if payloads.is_empty() {
        return Ok(());
    }
    let rows: Vec<Value> = payloads
        .iter()
        .map(|payload| serde_json::json!({ "id": store.new_id(), "payload": payload }))
        .collect();
    txn.execute_raw(sql(
        "WITH put AS (INSERT INTO outbox (id, shop_id, kind, payload, due_at, created_at) \
             SELECT id, $1, $2, payload, $4, $5 \
             FROM jsonb_to_recordset($3) AS one (id uuid, payload jsonb) RETURNING 1) \
         SELECT pg_notify($6, '') FROM put LIMIT 1",
        [
            shop_id.into(),
            kind.into(),
            Value::Array(rows).into(),
            due_at.into(),
            store.now().into(),
            CHANNEL.into(),
        ],
    ))
    .await?;
    Ok(())
}

/// Takes the next thing that is due, locked until the transaction ends; others skip it.
///
/// # Errors
/// When the database fails.
pub async fn take_next(
    txn: &DatabaseTransaction,
    now: DateTime<Utc>,
) -> Result<Option<Due>, StoreError> {
    Ok(Due::find_by_statement(sql(
        "SELECT id, shop_id, kind, payload, attempts FROM outbox \
         WHERE done_at IS NULL AND given_up_at IS NULL AND due_at <= $1 \
         ORDER BY due_at, id LIMIT 1 FOR UPDATE SKIP LOCKED",
        [now.into()],
    ))
    .one(txn)
    .await?)
}

/// Notes that it was sent.
///
/// # Errors
/// When the database fails.
pub async fn settle_done(
    txn: &DatabaseTransaction,
    id: Uuid,
    now: DateTime<Utc>,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE outbox SET done_at = $2, attempts = attempts + 1, last_error = NULL WHERE id = $1",
        [id.into(), now.into()],
    ))
    .await?;
    Ok(())
}

/// Forgets what a sent row said, where that was a secret of its receiver's.
///
/// # Errors
/// When the database fails.
pub async fn forget_data(txn: &DatabaseTransaction, id: Uuid) -> Result<(), StoreError> {
    txn.execute_raw(sql("UPDATE outbox SET payload = payload - 'data' WHERE id = $1", [id.into()]))
        .await?;
    Ok(())
}

/// Notes that it failed, and when to try again, if ever. `error` must not name a person.
///
/// # Errors
/// When the database fails.
pub async fn settle_failed(
    txn: &DatabaseTransaction,
    due: &Due,
    now: DateTime<Utc>,
    error: &str,
) -> Result<(), StoreError> {
    let attempts = due.attempts + 1;
    let given_up_at = (attempts >= ATTEMPTS_MAX).then_some(now);
    txn.execute_raw(sql(
        "UPDATE outbox SET attempts = $2, due_at = $3, given_up_at = $4, last_error = $5 \
         WHERE id = $1",
        [
            due.id.into(),
            attempts.into(),
            (now + backoff(attempts)).into(),
            given_up_at.into(),
            error.into(),
        ],
    ))
    .await?;
    Ok(())
}

/// A connection of its own that hears when something was put in.
pub struct Listener(PgListener);

impl Listener {
    /// Connects and listens.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn connect(store: &Store) -> Result<Self, StoreError> {
        let mut listener = PgListener::connect(store.url()).await.map_err(unavailable)?;
        listener.listen(CHANNEL).await.map_err(unavailable)?;
        Ok(Listener(listener))
    }

    /// Waits until something was put in, or may have been while the connection was lost.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn heard(&mut self) -> Result<(), StoreError> {
        self.0.try_recv().await.map(drop).map_err(unavailable)
    }
}

fn unavailable(error: sqlx::Error) -> StoreError {
    StoreError::Unavailable { what: "the database", source: Some(Box::new(error)) }
}

/// How long to wait after `attempts` failed tries.
fn backoff(attempts: i32) -> TimeDelta {
    let doublings = u32::try_from(attempts - 1).unwrap_or(0).min(20);
    TimeDelta::seconds((BACKOFF_FIRST_S << doublings).min(BACKOFF_MAX_S))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_up_to_an_hour() {
        let waits_s: Vec<_> = [1, 2, 3, 8, 30].map(|n| backoff(n).num_seconds()).to_vec();
        assert_eq!(waits_s, [5, 10, 20, 640, 3_600]);
    }
}
