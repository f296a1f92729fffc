//! The second rota: opened when the first is not enough.
//!
//! Belongs here: opening it for a while, closing it, whether it is open. Does not belong here: who
//! is on it (the rota says), and why a rule opens it.

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::Span;
use roster::duty::Kind;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::spans;
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::record::{self, Entry};
use crate::{calendar, live_feed, outbox};

/// Longest time for which the second rota is opened at once, in days.
pub const OPEN_DAYS_MAX: i64 = 14;

/// Longest reason, in characters.
const WHY_CHARS_MAX: usize = 400;

#[derive(FromQueryResult)]
struct Until {
    until: DateTime<Utc>,
}

/// Until when the second rota is open at a moment; nothing while it is closed.
///
/// # Errors
/// When the database fails.
pub async fn open_until<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    at: DateTime<Utc>,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    let row = Until::find_by_statement(sql(
        "SELECT upper(during) AS until FROM second_opening \
         WHERE shop_id = $1 AND closed_at IS NULL AND during @> $2::timestamptz",
        [shop_id.into(), at.into()],
    ))
    .one(conn)
    .await?;
    Ok(row.map(|row| row.until))
}

/// Opens the second rota for a span, tells whoever is on it by mail, and writes it on the record.
/// `opened_by` is nobody where a rule does. Returns who was told; opening what is open already is
/// refused.
///
/// # Errors
/// `Invalid` for a span that is none or too long, `Conflict` where it is open then, or the
/// database fails.
pub async fn open<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    span: Span,
    why: &str,
    opened_by: Option<Uuid>,
) -> Result<Vec<Uuid>, StoreError> {
    let why: String = why.trim().chars().take(WHY_CHARS_MAX).collect();
    if why.is_empty() {
        return Err(StoreError::invalid("/why", "Say why in a few words; they are told it."));
    }
    if span.start >= span.end || span.length() > TimeDelta::days(OPEN_DAYS_MAX) {
        return Err(StoreError::invalid(
            "/until",
            format!("The second rota is opened from now on, for at most {OPEN_DAYS_MAX} days."),
        ));
    }
    let (id, now) = (store.new_id(), store.now());
    let open =
        || StoreError::conflict("second-open", "The second rota is open in that time already.");
    txn.execute_raw(sql(
        "INSERT INTO second_opening (id, shop_id, during, why, opened_by, opened_at) \
         VALUES ($1, $2, tstzrange($3, $4), $5, $6, $7)",
        [
            id.into(),
            shop_id.into(),
            span.start.into(),
            span.end.into(),
            why.clone().into(),
            opened_by.into(),
            now.into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("second_opening_no_overlap", &open)]))?;
    let calendar = calendar::of_shop(txn, shop_id).await?;
    let mut told = Vec::new();
    for entry in spans(txn, shop_id, span.start, span.end).await? {
        if entry.kind != Kind::Second || told.contains(&entry.person_id) {
            continue;
        }
        told.push(entry.person_id);
        let payload = json!({
            "to_person": entry.person_id,
            "template": "second_rota_open",
            "data": {
                "page": "/rota",
                "why": why,
                "duty_from": calendar.says(span.start.max(entry.span.start)),
                "duty_until": calendar.says(span.end.min(entry.span.end)),
            },
        });
        outbox::put(txn, store, shop_id, "mail", &payload, now).await?;
    }
    let entry = Entry {
        shop_id,
        actor: opened_by,
        kind: "second_rota_opened",
        subject_kind: "second_opening",
        subject_id: id,
        body: json!({ "from": span.start, "until": span.end, "why": why, "told": told }),
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, shop_id, "rota", id, json!({})).await?;
    Ok(told)
}

/// Closes the second rota, where it is open now; says whether it was.
///
/// # Errors
/// When the database fails.
pub async fn close<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    closed_by: Uuid,
) -> Result<bool, StoreError> {
    let now = store.now();
    let row = txn
        .query_one_raw(sql(
            "UPDATE second_opening SET closed_at = $2, closed_by = $3 \
             WHERE shop_id = $1 AND closed_at IS NULL AND during @> $2::timestamptz RETURNING id",
            [shop_id.into(), now.into(), closed_by.into()],
        ))
        .await?;
    let Some(row) = row else { return Ok(false) };
    let id: Uuid = row.try_get("", "id")?;
    let entry = Entry {
        shop_id,
        actor: Some(closed_by),
        kind: "second_rota_closed",
        subject_kind: "second_opening",
        subject_id: id,
        body: json!({}),
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, shop_id, "rota", id, json!({})).await?;
    Ok(true)
}
