//! Somebody's own quiet hours.
//!
//! Belongs here: reading and changing them. Does not belong here: what they do to a step (the
//! roster's [`roster::ladder::climb`]).

use roster::ladder::Hours;
use roster::ladder::check::check_hours;
use sea_orm::{ConnectionTrait as _, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::setting::of_shop;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::zone;

/// Whose quiet hours hold for somebody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuietOf {
    /// Whether they are their own; the shop's otherwise.
    pub own: bool,
    /// From and to; none at all where absent.
    pub hours: Option<Hours>,
    /// Where their clock hangs.
    pub zone: String,
}

/// What to set.
#[derive(Clone, Debug)]
pub enum QuietPut {
    /// The shop's hold again.
    AsTheShop,
    /// These, or none at all, by this zone's clock.
    Own {
        /// From and to.
        hours: Option<Hours>,
        /// An IANA zone.
        zone: String,
    },
}

/// Somebody's quiet hours.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn quiet_of(
    store: &Store,
    caller: &Caller,
    person_id: Uuid,
) -> Result<QuietOf, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        from_min: Option<i16>,
        to_min: Option<i16>,
        zone: String,
    }
    person_find(store.conn(), caller.shop_id, person_id).await?;
    let row = Row::find_by_statement(sql(
        "SELECT from_min, to_min, zone FROM person_quiet WHERE shop_id = $1 AND person_id = $2",
        [caller.shop_id.into(), person_id.into()],
    ))
    .one(store.conn())
    .await?;
    let minute = |stored: Option<i16>| stored.and_then(|minute| u16::try_from(minute).ok());
    if let Some(row) = row {
        let hours = minute(row.from_min)
            .zip(minute(row.to_min))
            .map(|(from_min, to_min)| Hours { from_min, to_min });
        return Ok(QuietOf { own: true, hours, zone: row.zone });
    }
    let setting = of_shop(store.conn(), caller.shop_id).await?;
    Ok(QuietOf { own: false, hours: setting.ladders.quiet, zone: setting.zone.name().to_owned() })
}

/// Changes somebody's quiet hours: one's own, or anybody's for those who manage.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, or the database fails.
pub async fn quiet_put(
    store: &Store,
    caller: &Caller,
    person_id: Uuid,
    put: QuietPut,
) -> Result<QuietOf, StoreError> {
    if person_id != caller.person_id {
        caller.must_manage("change somebody else's quiet hours")?;
    }
    let txn = store.begin().await?;
    person_find(&txn, caller.shop_id, person_id).await?;
    let now = store.now();
    match &put {
        QuietPut::AsTheShop => {
            txn.execute_raw(sql(
                "DELETE FROM person_quiet WHERE person_id = $1",
                [person_id.into()],
            ))
            .await?;
        }
        QuietPut::Own { hours, zone } => {
            let mut faults = Faults::default();
            zone::check(&txn, &mut faults, "/zone", zone).await?;
            if let Some(wrong) = hours.and_then(|hours| check_hours("/hours", hours)) {
                faults.add(&wrong.pointer, wrong.says);
            }
            faults.done()?;
            let minute = |minute: u16| i16::try_from(minute).unwrap_or(0);
            txn.execute_raw(sql(
                "INSERT INTO person_quiet (person_id, shop_id, from_min, to_min, zone, \
                     changed_at) VALUES ($1, $2, $3, $4, $5, $6) \
                 ON CONFLICT (person_id) DO UPDATE SET from_min = $3, to_min = $4, zone = $5, \
                     changed_at = $6",
                [
                    person_id.into(),
                    caller.shop_id.into(),
                    hours.map(|hours| minute(hours.from_min)).into(),
                    hours.map(|hours| minute(hours.to_min)).into(),
                    zone.clone().into(),
                    now.into(),
                ],
            ))
            .await?;
        }
    }
    let body = match &put {
        QuietPut::AsTheShop => json!({ "own": false }),
        QuietPut::Own { hours, zone } => json!({ "own": true, "hours": hours, "zone": zone }),
    };
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "quiet_hours_changed",
        subject_kind: "person",
        subject_id: person_id,
        body,
    };
    record::append(&txn, now, entry).await?;
    txn.commit().await?;
    quiet_of(store, caller, person_id).await
}
