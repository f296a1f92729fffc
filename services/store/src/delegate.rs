//! Who may approve for a while, though they do not manage: named by a rule or by whoever manages.
//!
//! Belongs here: the delegations that stand, naming somebody by hand and ending it. Does not belong
//! here: what the gate asks of an approver, a delegate is asked the same; and when one is asked,
//! which the ladder for approvals says.

use chrono::{DateTime, TimeDelta, Utc};
use roster::rules::action::{DELEGATE_CENTS_MAX, money};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, Role, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{live_feed, outbox};

/// Longest that a delegation by hand may last, days: a holiday of three weeks and some.
pub const DAYS_MAX: i64 = 28;

/// Longest reason, characters; the database refuses more.
pub const WHY_CHARS_MAX: usize = 400;

/// Most delegations that a list shows.
const LISTED_MAX: i64 = 100;

/// A delegation that stands.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Delegation {
    /// Who may approve.
    pub person_id: Uuid,
    /// Their name.
    pub person_name: String,
    /// Below this amount, cents.
    pub up_to_cents: i64,
    /// From when.
    pub at: DateTime<Utc>,
    /// Until when.
    pub until: DateTime<Utc>,
    /// Who named them; nobody where a rule did.
    pub named_by: Option<Uuid>,
    /// Their name.
    pub named_by_name: Option<String>,
    /// Why, in their words; empty where a rule did.
    pub why: String,
}

/// Naming somebody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DelegatePut {
    /// Below this amount, cents: 1 to [`DELEGATE_CENTS_MAX`].
    pub up_to_cents: i64,
    /// Until then, at most [`DAYS_MAX`] days ahead.
    pub until: DateTime<Utc>,
    /// Why, at most [`WHY_CHARS_MAX`] characters.
    pub why: String,
}

/// The shop's delegations that stand, the soonest to end first.
///
/// # Errors
/// When the database fails.
pub async fn delegations(store: &Store, caller: &Caller) -> Result<Vec<Delegation>, StoreError> {
    Ok(Delegation::find_by_statement(sql(
        "SELECT delegate.person_id, person.name AS person_name, delegate.up_to_cents, \
             delegate.at, delegate.until, named.named_by, namer.name AS named_by_name, \
             coalesce(named.why, '') AS why \
         FROM approval_delegate_standing AS delegate \
         JOIN person ON person.id = delegate.person_id \
         LEFT JOIN approval_delegate_named AS named ON named.delegate_id = delegate.id \
         LEFT JOIN person AS namer ON namer.id = named.named_by \
         WHERE delegate.shop_id = $1 AND delegate.at <= $2 AND delegate.until > $2 \
         ORDER BY delegate.until, delegate.id LIMIT $3",
        [caller.shop_id.into(), store.now().into(), LISTED_MAX.into()],
    ))
    .all(store.conn())
    .await?)
}

/// Names somebody who may approve below an amount for a while, in place of whatever was delegated
/// to them before; they are told by mail. The gate asks of them what it asks of every approver.
///
/// # Errors
/// `Forbidden` unless the caller manages, `NotFound`, `InvalidMany`, `Conflict` for somebody who
/// manages themselves or is no longer at work, or the database fails.
pub async fn delegate_put(
    store: &Store,
    caller: &Caller,
    person_id: Uuid,
    put: DelegatePut,
) -> Result<(), StoreError> {
    caller.must_manage("name a delegate")?;
    let (txn, now) = (store.begin().await?, store.now());
    let person = person_find(&txn, caller.shop_id, person_id).await?;
    let mut faults = Faults::default();
    if !(1..=DELEGATE_CENTS_MAX).contains(&put.up_to_cents) {
        let says = format!("Give an amount from {} to {}.", money(1), money(DELEGATE_CENTS_MAX));
        faults.add("/up_to_cents", says);
    }
    if put.until <= now || put.until > now + TimeDelta::days(DAYS_MAX) {
        faults.add("/until", format!("A delegation ends within {DAYS_MAX} days from now."));
    }
    let why = put.why.trim();
    if why.chars().count() > WHY_CHARS_MAX {
        faults.add("/why", format!("At most {WHY_CHARS_MAX} characters."));
    }
    faults.done()?;
    if !person.active {
        return Err(StoreError::conflict(
            "person-inactive",
            format!("{} is no longer at work; name somebody who is.", person.name),
        ));
    }
    if person.roles.iter().any(|role| matches!(role, Role::ServiceManager | Role::Owner)) {
        return Err(StoreError::conflict(
            "manages-already",
            format!("{} may approve any amount already, as service manager or owner.", person.name),
        ));
    }
    end(&txn, caller, person_id, now).await?;
    let id = store.new_id();
    txn.execute_raw(sql(
        "WITH delegate AS (INSERT INTO approval_delegate \
             (id, shop_id, person_id, up_to_cents, at, until) VALUES ($1, $2, $3, $4, $5, $6)) \
         INSERT INTO approval_delegate_named (delegate_id, shop_id, named_by, why) \
         VALUES ($1, $2, $7, $8)",
        [
            id.into(),
            caller.shop_id.into(),
            person_id.into(),
            put.up_to_cents.into(),
            now.into(),
            put.until.into(),
            caller.person_id.into(),
            why.into(),
        ],
    ))
    .await?;
    let amount = money(put.up_to_cents);
    let minutes = (put.until - now).num_minutes();
    let payload = json!({ "to_person": person_id, "template": "approval_delegated", "data": {
        "amount": amount, "hours": minutes.div_euclid(60).max(1),
        "waiting": waiting(&txn, caller.shop_id).await? } });
    outbox::put(&txn, store, caller.shop_id, "mail", &payload, now).await?;
    let body = json!({ "up_to_cents": put.up_to_cents, "until": put.until, "why": why });
    note(&txn, caller, person_id, now, "delegate_named", body).await?;
    txn.commit().await?;
    Ok(())
}

/// Ends whatever is delegated to somebody; nothing happens where nothing is.
///
/// # Errors
/// `Forbidden` unless the caller manages, `NotFound`, or the database fails.
pub async fn delegate_end(
    store: &Store,
    caller: &Caller,
    person_id: Uuid,
) -> Result<(), StoreError> {
    caller.must_manage("end a delegation")?;
    let (txn, now) = (store.begin().await?, store.now());
    person_find(&txn, caller.shop_id, person_id).await?;
    if end(&txn, caller, person_id, now).await? > 0 {
        note(&txn, caller, person_id, now, "delegate_ended", json!({})).await?;
    }
    txn.commit().await?;
    Ok(())
}

async fn end<C: ConnectionTrait>(
    txn: &C,
    caller: &Caller,
    person_id: Uuid,
    now: DateTime<Utc>,
) -> Result<u64, StoreError> {
    let ended = txn
        .execute_raw(sql(
            "INSERT INTO approval_delegate_end (delegate_id, shop_id, ended_by, ended_at) \
             SELECT id, shop_id, $3, $4 FROM approval_delegate_standing \
             WHERE shop_id = $1 AND person_id = $2 AND until > $4 ON CONFLICT DO NOTHING",
            [caller.shop_id.into(), person_id.into(), caller.person_id.into(), now.into()],
        ))
        .await?;
    Ok(ended.rows_affected())
}

async fn note<C: ConnectionTrait>(
    txn: &C,
    caller: &Caller,
    person_id: Uuid,
    now: DateTime<Utc>,
    kind: &'static str,
    body: serde_json::Value,
) -> Result<(), StoreError> {
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "person",
        subject_id: person_id,
        body,
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, caller.shop_id, "ladders", caller.shop_id, json!({})).await
}

async fn waiting<C: ConnectionTrait>(txn: &C, shop_id: Uuid) -> Result<i64, StoreError> {
    let row = txn
        .query_one_raw(sql(
            "SELECT count(*) AS waiting FROM condemn_request \
             WHERE shop_id = $1 AND state = 'awaiting_approval'",
            [shop_id.into()],
        ))
        .await?;
    Ok(row.map(|row| row.try_get("", "waiting")).transpose()?.unwrap_or(0))
}

/// Whether somebody may approve that amount now, by a delegation.
pub(crate) async fn may_approve<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    person_id: Uuid,
    amount_cents: i64,
) -> Result<bool, StoreError> {
    let found = conn
        .query_one_raw(sql(
            "SELECT 1 FROM approval_delegate_standing WHERE person_id = $1 AND at <= $2 AND until > $2 \
                 AND up_to_cents > $3 LIMIT 1",
            [person_id.into(), now.into(), amount_cents.into()],
        ))
        .await?;
    Ok(found.is_some())
}
