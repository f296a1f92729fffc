//! The live feed: what changed, numbered per shop, for every open screen.
//!
//! Belongs here: announcing in the transaction of the change, and reading on from a number.
//! Does not belong here: sockets and who follows what; that is live's.

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use uuid::Uuid;

use crate::db::sql;
use crate::error::StoreError;

/// The channel on which an announcement wakes the hub. The table is the truth; this only wakes.
pub const CHANNEL: &str = "live";

/// Announces a change, in the transaction of that change. The number is taken under the lock
/// of the shop's feed, which is held until the transaction ends, so do it last.
///
/// # Errors
/// When the database fails.
pub async fn announce<C: ConnectionTrait>(
    txn: &C,
    at: DateTime<Utc>,
    shop_id: Uuid,
    topic: &str,
    ref_id: Uuid,
    body: Value,
) -> Result<i64, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        last: i64,
    }
    let row = Row::find_by_statement(sql(
        "INSERT INTO live_head (shop_id, last) VALUES ($1, 1) \
         ON CONFLICT (shop_id) DO UPDATE SET last = live_head.last + 1 RETURNING last",
        [shop_id.into()],
    ))
    .one(txn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    txn.execute_raw(sql(
        "INSERT INTO live_event (shop_id, seq, topic, ref_id, body, at) \
         VALUES ($1, $2, $3, $4, $5, $6)",
        [shop_id.into(), row.last.into(), topic.into(), ref_id.into(), body.into(), at.into()],
    ))
    .await?;
    txn.execute_raw(sql("SELECT pg_notify($1, $2)", [CHANNEL.into(), shop_id.to_string().into()]))
        .await?;
    Ok(row.last)
}

/// The number of the last announcement of a shop; 0 before the first.
///
/// # Errors
/// When the database fails.
pub async fn last_seq<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<i64, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        last: i64,
    }
    let row = Row::find_by_statement(sql(
        "SELECT last FROM live_head WHERE shop_id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?;
    Ok(row.map_or(0, |row| row.last))
}
