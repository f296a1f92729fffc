//! The live feed: what changed, numbered per shop, for every open screen.
//!
//! Belongs here: announcing in the transaction of the change, reading on from a number,
//! listening, pruning. Does not belong here: sockets and who follows what; that is live's.

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use sqlx::postgres::PgListener;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::thread::here;

/// The channel on which an announcement wakes the hub. The table is the truth; this only wakes.
pub const CHANNEL: &str = "live";

/// Events kept per shop: some days of a busy one. A screen that was away for longer fetches
/// everything again.
pub const EVENTS_KEPT_MAX: i64 = 20_000;

/// Something that changed.
#[derive(Clone, Debug, PartialEq, FromQueryResult)]
pub struct LiveEvent {
    /// Counted per shop, from 1 without gaps, in the order of commits.
    pub seq: i64,
    /// `job`, `evidence`, `request`, `message`, `session_revoked`, `mail`, `rule`, `capacity`,
    /// `ladders`, `rota`, `plan`, `standing` (a ladder or a deferral of this job), or `asked`, whose
    /// reference is the person who is asked.
    pub topic: String,
    /// Which one. A message's is its job's, so that a follower knows where to look.
    pub ref_id: Uuid,
    /// Anything more.
    pub body: Value,
    /// When it was announced.
    pub at: DateTime<Utc>,
}

/// What a shop's feed holds now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Held {
    /// The last number given; 0 for none.
    pub last: i64,
    /// The first number still there; `last` + 1 when none is.
    pub first: i64,
}

/// Announces a change, in the transaction of that change. It gets its number when the
/// transaction commits, so this may stand anywhere in it.
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
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "INSERT INTO live_event (shop_id, topic, ref_id, body, at) VALUES ($1, $2, $3, $4, $5)",
        [shop_id.into(), topic.into(), ref_id.into(), body.into(), at.into()],
    ))
    .await?;
    Ok(())
}

/// Something to announce: topic, which one, anything more.
pub type News = (&'static str, Uuid, Value);

/// Announces many changes of one shop in their order, as [`announce`] does with one.
///
/// # Errors
/// When the database fails.
pub async fn announce_all<C: ConnectionTrait>(
    txn: &C,
    at: DateTime<Utc>,
    shop_id: Uuid,
    news: Vec<News>,
) -> Result<(), StoreError> {
    if news.is_empty() {
        return Ok(());
    }
    let rows: Vec<Value> = news
        .into_iter()
        .map(|(topic, ref_id, body)| {
            serde_json::json!({ "topic": topic, "ref_id": ref_id, "body": body })
        })
        .collect();
    txn.execute_raw(sql(
        "INSERT INTO live_event (shop_id, topic, ref_id, body, at) \
         SELECT $1, topic, ref_id, body, $3 FROM jsonb_to_recordset($2) \
             AS one (topic text, ref_id uuid, body jsonb)",
        [shop_id.into(), Value::Array(rows).into(), at.into()],
    ))
    .await?;
    Ok(())
}

/// What a shop's feed holds now.
///
/// # Errors
/// When the database fails.
pub async fn held<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Held, StoreError> {
    let held = Held::find_by_statement(sql(
        "SELECT last, coalesce((SELECT min(seq) FROM live_event WHERE shop_id = $1), last + 1) \
         AS first FROM live_head WHERE shop_id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?;
    Ok(held.unwrap_or(Held { last: 0, first: 1 }))
}

/// The number of the last announcement of a shop; 0 before the first.
///
/// # Errors
/// When the database fails.
pub async fn last_seq<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<i64, StoreError> {
    Ok(held(conn, shop_id).await?.last)
}

/// The events after a number, in order, at most `limit`.
///
/// # Errors
/// When the database fails.
pub async fn events_after<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    after: i64,
    limit: i64,
) -> Result<Vec<LiveEvent>, StoreError> {
    Ok(LiveEvent::find_by_statement(sql(
        "SELECT seq, topic, ref_id, body, at FROM live_event \
         WHERE shop_id = $1 AND seq > $2 ORDER BY seq LIMIT $3",
        [shop_id.into(), after.into(), limit.into()],
    ))
    .all(conn)
    .await?)
}

/// Removes all but the last `kept` events of every shop, [`EVENTS_KEPT_MAX`] in service. Says
/// how many.
///
/// # Errors
/// When the database fails.
pub async fn prune<C: ConnectionTrait>(conn: &C, kept: i64) -> Result<u64, StoreError> {
    let done = conn
        .execute_raw(sql(
            "DELETE FROM live_event USING live_head \
             WHERE live_head.shop_id = live_event.shop_id \
             AND live_event.seq <= live_head.last - $1",
            [kept.into()],
        ))
        .await?;
    Ok(done.rows_affected())
}

/// A connection of its own that hears announcements.
pub struct Listener(PgListener);

impl Listener {
    /// Connects and listens. It connects again by itself when the connection is lost.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn connect(store: &Store) -> Result<Self, StoreError> {
        let mut listener = PgListener::connect(store.url()).await.map_err(unavailable)?;
        listener.listen_all([CHANNEL, here::CHANNEL]).await.map_err(unavailable)?;
        Ok(Listener(listener))
    }

    /// Waits until something was announced, or may have been while the connection was lost.
    /// What was told of who is here comes along; it is in no table.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn heard_told(&mut self) -> Result<Option<here::Told>, StoreError> {
        let heard = self.0.try_recv().await.map_err(unavailable)?;
        let told = heard.filter(|notice| notice.channel() == here::CHANNEL);
        Ok(told.and_then(|notice| serde_json::from_str(notice.payload()).ok()))
    }

    /// As [`Listener::heard_told`], for whoever only wants to be woken.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn heard(&mut self) -> Result<(), StoreError> {
        self.heard_told().await.map(drop)
    }
}

fn unavailable(error: sqlx::Error) -> StoreError {
    StoreError::Unavailable { what: "the database", source: Some(Box::new(error)) }
}
