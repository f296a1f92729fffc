//! A shop's own ladders: every version of them, and which is in force.
//!
//! Belongs here: reading, saving and listing versions, and which of the two variants holds at a
//! moment. Does not belong here: what may be saved (the roster's [`roster::ladder::check`]).

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use roster::calendar::Calendar;
use roster::ladder::check::{Member, check};
use roster::ladder::quiet::zone_of;
use roster::ladder::{Ladders, Variant};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::evidence::Named;
use crate::person::{Caller, Role, person_list};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{calendar, live_feed};

/// Longest reason for a change, characters.
const WHY_CHARS_MAX: usize = 500;

/// Versions listed at most, newest first.
const LISTED_MAX: i64 = 50;

/// A version of a shop's ladders.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Which; 0 for what ships.
    pub version: i32,
    /// The ladders.
    pub ladders: Ladders<Uuid>,
    /// The shop's zone.
    pub zone: Tz,
    /// When the shop is open.
    pub calendar: Calendar,
}

/// A version as listed.
#[derive(Clone, Debug)]
pub struct Version {
    /// Which.
    pub version: i32,
    /// Who made it.
    pub made_by: Named,
    /// Why.
    pub why: String,
    /// When.
    pub at: DateTime<Utc>,
}

impl Setting {
    /// Which steps a ladder climbs by that starts now.
    pub fn variant_at(&self, now: DateTime<Utc>) -> Variant {
        let closed = self.calendar.open_on(self.calendar.date(now)).is_empty();
        if closed { Variant::Weekend } else { Variant::Week }
    }
}

/// The ladders in force.
///
/// # Errors
/// `NotFound` for an unknown shop, or the database fails.
pub async fn of_shop<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Setting, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        zone: String,
        version: Option<i32>,
        body: Option<Value>,
    }
    let row = Row::find_by_statement(sql(
        "SELECT shop.zone, version, body FROM shop LEFT JOIN LATERAL ( \
             SELECT version, body FROM ladder_setting WHERE shop_id = shop.id \
             ORDER BY version DESC LIMIT 1) AS latest ON true \
         WHERE shop.id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    let ladders = match row.body {
        Some(body) => serde_json::from_value(body)
            .map_err(|source| StoreError::corrupt("shop's ladders", source))?,
        None => Ladders::shipped(),
    };
    Ok(Setting {
        version: row.version.unwrap_or(0),
        ladders,
        // A zone that PostgreSQL knows and chrono-tz does not is a legacy name.
        zone: zone_of(&row.zone).unwrap_or(Tz::UTC),
        calendar: calendar::of_shop(conn, shop_id).await?,
    })
}

/// Saves ladders as the next version, for those who manage. What climbs already goes on by the
/// version it started with.
///
/// # Errors
/// `Forbidden`, `InvalidMany` with pointers below `/ladders`, `Conflict` where somebody saved
/// another version meanwhile, or the database fails.
pub async fn save(
    store: &Store,
    caller: &Caller,
    version: i32,
    ladders: Ladders<Uuid>,
    why: &str,
) -> Result<Setting, StoreError> {
    caller.must_manage("change the shop's ladders")?;
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM shop WHERE id = $1 FOR UPDATE", [caller.shop_id.into()]))
        .await?;
    let before = of_shop(&txn, caller.shop_id).await?;
    if before.version != version {
        return Err(StoreError::changed_meanwhile("shop's ladders", before.version));
    }
    let mut faults = Faults::default();
    let why = faults.text_or_empty("/why", why, WHY_CHARS_MAX);
    check_for(&txn, caller.shop_id, &ladders, &mut faults).await?;
    faults.done()?;
    let (next, now) = (before.version + 1, store.now());
    let body = serde_json::to_value(&ladders)
        .map_err(|source| StoreError::corrupt("shop's ladders", source))?;
    txn.execute_raw(sql(
        "INSERT INTO ladder_setting (shop_id, version, body, made_by, why, at) \
         VALUES ($1, $2, $3, $4, $5, $6)",
        [
            caller.shop_id.into(),
            next.into(),
            body.clone().into(),
            caller.person_id.into(),
            why.clone().into(),
            now.into(),
        ],
    ))
    .await
    .map_err(|error| {
        let meanwhile = || StoreError::changed_meanwhile("shop's ladders", next);
        by_constraint(error, &[("ladder_setting_key", &meanwhile)])
    })?;
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "ladders_changed",
        subject_kind: "shop",
        subject_id: caller.shop_id,
        body: json!({ "version": next, "before": before.ladders, "after": body, "why": why }),
    };
    record::append(&txn, now, entry).await?;
    live_feed::announce(&txn, now, caller.shop_id, "ladders", caller.shop_id, json!({})).await?;
    txn.commit().await?;
    Ok(Setting { version: next, ladders, ..before })
}

/// Notes what is wrong with ladders for a shop's people, below `/ladders`.
pub(crate) async fn check_for<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    ladders: &Ladders<Uuid>,
    faults: &mut Faults,
) -> Result<(), StoreError> {
    let members: Vec<Member<Uuid>> = person_list(conn, shop_id)
        .await?
        .into_iter()
        .filter(|person| person.active)
        .map(|person| {
            let is = |role: Role| person.roles.contains(&role);
            Member {
                id: person.id,
                technician: is(Role::Technician),
                scheduler: is(Role::Scheduler),
                manages: is(Role::ServiceManager) || is(Role::Owner),
                owner: is(Role::Owner),
            }
        })
        .collect();
    for wrong in check(ladders, &members) {
        faults.add(&format!("/ladders{}", wrong.pointer), wrong.says);
    }
    Ok(())
}

/// The versions that a shop made, newest first.
///
/// # Errors
/// When the database fails.
pub async fn versions(store: &Store, caller: &Caller) -> Result<Vec<Version>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        version: i32,
        made_by: Uuid,
        made_by_name: String,
        why: String,
        at: DateTime<Utc>,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT version, made_by, person.name AS made_by_name, why, at FROM ladder_setting \
         JOIN person ON person.id = made_by \
         WHERE ladder_setting.shop_id = $1 ORDER BY version DESC LIMIT $2",
        [caller.shop_id.into(), LISTED_MAX.into()],
    ))
    .all(store.conn())
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Version {
            version: row.version,
            made_by: Named { id: row.made_by, name: row.made_by_name },
            why: row.why,
            at: row.at,
        })
        .collect())
}
