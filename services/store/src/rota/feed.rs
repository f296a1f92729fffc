//! Somebody's own duties for a calendar on their telephone, by a secret link.
//!
//! Belongs here: making and ending the link, and what stands behind one. Does not belong here: the
//! file's format, which is the wire's.

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use sea_orm::{ConnectionTrait as _, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{RotaEntry, spans};
use crate::calendar;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::sha256_hex;

/// How far back a feed reaches, days.
pub const BACK_DAYS: i64 = 31;

/// How far ahead, days: half a year and some.
pub const AHEAD_DAYS: i64 = 200;

/// What a link leads to.
#[derive(Clone, Debug)]
pub struct Feed {
    /// The shop's name.
    pub shop_name: String,
    /// The shop's zone.
    pub zone: Tz,
    /// The moment it was read at.
    pub now: DateTime<Utc>,
    /// From when on and until when duties are in it.
    pub span: (DateTime<Utc>, DateTime<Utc>),
    /// The person's own duties, by time.
    pub entries: Vec<RotaEntry>,
}

/// When the caller's link was made; nothing where they have none.
///
/// # Errors
/// When the database fails.
pub async fn feed_made(
    store: &Store,
    caller: &Caller,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    let row = store
        .conn()
        .query_one_raw(sql(
            "SELECT made_at FROM rota_feed WHERE person_id = $1",
            [caller.person_id.into()],
        ))
        .await?;
    Ok(row.map(|row| row.try_get("", "made_at")).transpose()?)
}

/// Makes a link to the caller's own duties; the one before leads nowhere from then on. Gives the
/// secret, which nobody can read again.
///
/// # Errors
/// When the database fails.
pub async fn feed_make(store: &Store, caller: &Caller) -> Result<String, StoreError> {
    let (txn, now) = (store.begin().await?, store.now());
    let token = store.ambient().generator.token();
    txn.execute_raw(sql(
        "INSERT INTO rota_feed (person_id, shop_id, token_hash, made_at) VALUES ($1, $2, $3, $4) \
         ON CONFLICT (person_id) DO UPDATE SET token_hash = $3, made_at = $4",
        [caller.person_id.into(), caller.shop_id.into(), sha256_hex(&token).into(), now.into()],
    ))
    .await?;
    record::append(&txn, now, entry(caller, "rota_feed_made")).await?;
    txn.commit().await?;
    Ok(token)
}

/// Ends the caller's link; nothing happens where they have none.
///
/// # Errors
/// When the database fails.
pub async fn feed_end(store: &Store, caller: &Caller) -> Result<(), StoreError> {
    let (txn, now) = (store.begin().await?, store.now());
    let ended = txn
        .execute_raw(sql("DELETE FROM rota_feed WHERE person_id = $1", [caller.person_id.into()]))
        .await?;
    if ended.rows_affected() > 0 {
        record::append(&txn, now, entry(caller, "rota_feed_ended")).await?;
    }
    txn.commit().await?;
    Ok(())
}

fn entry(caller: &Caller, kind: &'static str) -> Entry {
    Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "person",
        subject_id: caller.person_id,
        body: json!({}),
    }
}

/// What a link leads to; nothing for a link that was ended, or whose person has left.
///
/// # Errors
/// `NotSignedIn` for a token that leads nowhere, or the database fails.
pub async fn feed_of(store: &Store, token: &str) -> Result<Feed, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        person_id: Uuid,
        shop_id: Uuid,
        shop_name: String,
    }
    let row = Row::find_by_statement(sql(
        "SELECT rota_feed.person_id, rota_feed.shop_id, shop.name AS shop_name FROM rota_feed \
         JOIN person ON person.id = rota_feed.person_id JOIN shop ON shop.id = rota_feed.shop_id \
         WHERE token_hash = $1 AND person.active",
        [sha256_hex(token).into()],
    ))
    .one(store.conn())
    .await?
    .ok_or_else(|| StoreError::NotSignedIn {
        says: "This link leads nowhere any more. Make a new one on the page of the rota."
            .to_owned(),
    })?;
    let now = store.now();
    let span = (now - TimeDelta::days(BACK_DAYS), now + TimeDelta::days(AHEAD_DAYS));
    let mut entries = spans(store.conn(), row.shop_id, span.0, span.1).await?;
    entries.retain(|entry| entry.person_id == row.person_id);
    Ok(Feed {
        shop_name: row.shop_name,
        zone: calendar::of_shop(store.conn(), row.shop_id).await?.zone(),
        now,
        span,
        entries,
    })
}
