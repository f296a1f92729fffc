//! The shop's calendar as kept: opening hours, whose holidays, own days, the rest rule.
//!
//! Belongs here: reading it for whoever reckons with days, and changing it. Does not belong here:
//! what follows from it ([`roster::calendar`]).

use roster::calendar::{Calendar, Settings, Unsound};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::{Fault, StoreError};
use crate::live_feed;
use crate::person::Caller;
use crate::record::{self, Entry};

#[derive(FromQueryResult)]
struct Row {
    zone: String,
    calendar: Value,
}

/// A shop's calendar. One that was never said is Monday to Friday, 8 to 17, without holidays.
///
/// # Errors
/// `NotFound`, `Corrupt` where what is kept is no calendar, or the database fails.
pub async fn of_shop<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Calendar, StoreError> {
    let row = Row::find_by_statement(sql(
        "SELECT zone, calendar FROM shop WHERE id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    let settings: Settings = serde_json::from_value(row.calendar)
        .map_err(|source| StoreError::corrupt("calendar", source))?;
    Calendar::new(&row.zone, settings).map_err(|wrong| match wrong.into_iter().next() {
        Some(first) => StoreError::corrupt("calendar", first),
        None => StoreError::NotFound { what: "calendar" },
    })
}

/// Changes the caller's shop's calendar, on the record.
///
/// # Errors
/// `Forbidden` unless they manage, `InvalidMany` with what is wrong and where, or the database
/// fails.
pub async fn calendar_change(
    store: &Store,
    caller: &Caller,
    settings: Settings,
) -> Result<Calendar, StoreError> {
    caller.must_manage("change the shop's hours, holidays and rest rule")?;
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM shop WHERE id = $1 FOR UPDATE", [caller.shop_id.into()]))
        .await?;
    let before = of_shop(&txn, caller.shop_id).await?;
    let after = Calendar::new(before.zone().name(), settings).map_err(faults)?;
    if after.settings() != before.settings() {
        let now = store.now();
        txn.execute_raw(sql(
            "UPDATE shop SET calendar = $2 WHERE id = $1",
            [caller.shop_id.into(), json!(after.settings()).into()],
        ))
        .await?;
        let entry = Entry {
            shop_id: caller.shop_id,
            actor: Some(caller.person_id),
            kind: "calendar_changed",
            subject_kind: "shop",
            subject_id: caller.shop_id,
            body: json!({ "before": before.settings(), "after": after.settings() }),
        };
        record::append(&txn, now, entry).await?;
        live_feed::announce(&txn, now, caller.shop_id, "rota", caller.shop_id, json!({})).await?;
    }
    txn.commit().await?;
    Ok(after)
}

fn faults(wrong: Vec<Unsound>) -> StoreError {
    let faults = wrong.into_iter();
    StoreError::InvalidMany(faults.map(|one| Fault::new(one.pointer, one.says)).collect())
}
