//! Sites: where units stand, with their zone and altitude.
//!
//! Belongs here: the site's own row. Does not belong here: its customer and units.

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait as _, ColumnTrait as _, ConnectionTrait, EntityTrait as _, QueryFilter as _,
    QueryOrder as _,
};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::entity::site as row;
use crate::error::StoreError;
use crate::person::Caller;
use crate::text::Faults;
use crate::{customer, shop, zone};

/// Longest address or town.
const LINE_CHARS_MAX: usize = 200;

/// Longest note.
const NOTES_CHARS_MAX: usize = 4_000;

/// Lowest and highest altitude: the shore of the Dead Sea, and above the highest town.
const ALTITUDE_FT: std::ops::RangeInclusive<i32> = -1_500..=20_000;

/// A site.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Id.
    pub id: Uuid,
    /// Whose.
    pub customer_id: Uuid,
    /// Street and number.
    pub address: String,
    /// Town.
    pub town: String,
    /// Altitude, feet; it shifts pressures.
    pub altitude_ft: Option<i32>,
    /// IANA zone: times shown for the site are local to it.
    pub zone: String,
    /// Where it lies, for reckoning travel.
    pub place: Option<Place>,
    /// The way in, the dog, the key.
    pub notes: String,
    /// Counts changes.
    pub version: i32,
}

/// A point on the globe, WGS 84.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Degrees north, −90 to 90.
    pub latitude: f64,
    /// Degrees east, −180 to 180.
    pub longitude: f64,
}

/// A new site.
#[derive(Clone, Debug, Default)]
pub struct SiteNew {
    /// Street and number.
    pub address: String,
    /// Town.
    pub town: String,
    /// Altitude, feet.
    pub altitude_ft: Option<i32>,
    /// IANA zone; the shop's where absent.
    pub zone: Option<String>,
    /// Where it lies.
    pub place: Option<Place>,
    /// The way in, the dog, the key.
    pub notes: String,
}

/// What to change; the rest stays. An inner `None` clears the value.
#[derive(Clone, Debug, Default)]
pub struct SiteChange {
    /// The version that was looked at; where given, a newer one is not overwritten.
    pub version: Option<i32>,
    /// Street and number.
    pub address: Option<String>,
    /// Town.
    pub town: Option<String>,
    /// Altitude, feet.
    pub altitude_ft: Option<Option<i32>>,
    /// IANA zone.
    pub zone: Option<String>,
    /// Where it lies.
    pub place: Option<Option<Place>>,
    /// The way in, the dog, the key.
    pub notes: Option<String>,
}

/// A customer's sites, by town and address.
pub(crate) async fn list_of_customer<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    customer_id: Uuid,
) -> Result<Vec<Site>, StoreError> {
    let rows = row::Entity::find()
        .filter(row::Column::ShopId.eq(shop_id))
        .filter(row::Column::CustomerId.eq(customer_id))
        .order_by_asc(row::Column::Town)
        .order_by_asc(row::Column::Address)
        .order_by_asc(row::Column::Id)
        .all(conn)
        .await?;
    Ok(rows.into_iter().map(from_row).collect())
}

/// A site of a shop.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn site_find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Site, StoreError> {
    row::Entity::find_by_id(id)
        .filter(row::Column::ShopId.eq(shop_id))
        .one(conn)
        .await?
        .map(from_row)
        .ok_or(StoreError::NotFound { what: "site" })
}

/// Adds a site to a customer.
///
/// # Errors
/// `NotFound` for the customer, `InvalidMany`, or the database fails.
pub async fn site_add(
    store: &Store,
    caller: &Caller,
    customer_id: Uuid,
    new: SiteNew,
) -> Result<Site, StoreError> {
    let txn = store.begin().await?;
    customer::must_exist(&txn, caller.shop_id, customer_id).await?;
    let zone = match new.zone {
        Some(zone) => zone,
        None => shop::shop_find(&txn, caller.shop_id).await?.zone,
    };
    let mut faults = Faults::default();
    zone::check(&txn, &mut faults, "/zone", &zone).await?;
    check_altitude(&mut faults, new.altitude_ft);
    check_place(&mut faults, new.place);
    let model = row::ActiveModel {
        id: Set(store.new_id()),
        shop_id: Set(caller.shop_id),
        customer_id: Set(customer_id),
        address: Set(faults.text("/address", &new.address, LINE_CHARS_MAX)),
        town: Set(faults.text("/town", &new.town, LINE_CHARS_MAX)),
        altitude_ft: Set(new.altitude_ft),
        zone: Set(zone),
        latitude: Set(new.place.map(|place| place.latitude)),
        longitude: Set(new.place.map(|place| place.longitude)),
        notes: Set(faults.text_or_empty("/notes", &new.notes, NOTES_CHARS_MAX)),
        version: Set(1),
        created_at: Set(store.now()),
    };
    faults.done()?;
    let site = from_row(model.insert(&txn).await?);
    txn.commit().await?;
    Ok(site)
}

/// Changes a site.
///
/// # Errors
/// `NotFound`, `InvalidMany`, `Conflict` where somebody else changed it meanwhile, or the
/// database fails.
pub async fn site_change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    change: SiteChange,
) -> Result<Site, StoreError> {
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM site WHERE id = $1 FOR UPDATE", [id.into()])).await?;
    let before = site_find(&txn, caller.shop_id, id).await?;
    if change.version.is_some_and(|version| version != before.version) {
        return Err(StoreError::changed_meanwhile("site", before.version));
    }
    let mut faults = Faults::default();
    let mut model = row::ActiveModel { id: Set(id), ..Default::default() };
    if let Some(address) = &change.address {
        model.address = Set(faults.text("/address", address, LINE_CHARS_MAX));
    }
    if let Some(town) = &change.town {
        model.town = Set(faults.text("/town", town, LINE_CHARS_MAX));
    }
    if let Some(altitude_ft) = change.altitude_ft {
        check_altitude(&mut faults, altitude_ft);
        model.altitude_ft = Set(altitude_ft);
    }
    if let Some(place) = change.place {
        check_place(&mut faults, place);
        model.latitude = Set(place.map(|place| place.latitude));
        model.longitude = Set(place.map(|place| place.longitude));
    }
    if let Some(zone) = change.zone {
        zone::check(&txn, &mut faults, "/zone", &zone).await?;
        model.zone = Set(zone);
    }
    if let Some(notes) = &change.notes {
        model.notes = Set(faults.text_or_empty("/notes", notes, NOTES_CHARS_MAX));
    }
    faults.done()?;
    model.version = Set(before.version + 1);
    let site = from_row(model.update(&txn).await?);
    txn.commit().await?;
    Ok(site)
}

fn check_altitude(faults: &mut Faults, altitude_ft: Option<i32>) {
    if altitude_ft.is_some_and(|feet| !ALTITUDE_FT.contains(&feet)) {
        faults.add(
            "/altitude_ft",
            format!("An altitude in feet, from {} to {}.", ALTITUDE_FT.start(), ALTITUDE_FT.end()),
        );
    }
}

fn check_place(faults: &mut Faults, place: Option<Place>) {
    let Some(place) = place else { return };
    // Written so that what is no number is refused, too.
    if !(-90.0..=90.0).contains(&place.latitude) {
        faults.add("/latitude", "Degrees north, from -90 to 90; south of the equator is negative.");
    }
    if !(-180.0..=180.0).contains(&place.longitude) {
        faults.add("/longitude", "Degrees east, from -180 to 180; west of Greenwich is negative.");
    }
}

fn from_row(model: row::Model) -> Site {
    Site {
        id: model.id,
        customer_id: model.customer_id,
        address: model.address,
        town: model.town,
        altitude_ft: model.altitude_ft,
        zone: model.zone,
        place: model
            .latitude
            .zip(model.longitude)
            .map(|(latitude, longitude)| Place { latitude, longitude }),
        notes: model.notes,
        version: model.version,
    }
}
