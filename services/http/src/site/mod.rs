//! Sites.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: its rules.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, patch, post, web};
use serde::{Deserialize, Serialize};
use store::site::{Place, Site, SiteChange, SiteNew};
use store::{Caller, Store, StoreError};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::absent_or;

/// A site: where units stand.
#[derive(Serialize, ToSchema)]
#[schema(as = Site)]
pub struct SiteShape {
    /// Id.
    pub id: Uuid,
    /// Whose.
    pub customer_id: Uuid,
    /// Street and number.
    pub address: String,
    /// Town.
    pub town: String,
    /// Altitude, feet.
    pub altitude_ft: Option<i32>,
    /// IANA zone; times are shown local to it.
    pub zone: String,
    /// Degrees north, WGS 84.
    pub latitude: Option<f64>,
    /// Degrees east, WGS 84.
    pub longitude: Option<f64>,
    /// The way in, the dog, the key.
    pub notes: String,
    /// Counts changes.
    pub version: i32,
}

/// A new site.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteAdd {
    /// Street and number.
    address: String,
    /// Town.
    town: String,
    /// Altitude, feet, −1500 to 20000.
    #[serde(default)]
    altitude_ft: Option<i32>,
    /// IANA zone; the shop's where absent.
    #[serde(default)]
    zone: Option<String>,
    /// Degrees north, −90 to 90; needs a longitude.
    #[serde(default)]
    latitude: Option<f64>,
    /// Degrees east, −180 to 180.
    #[serde(default)]
    longitude: Option<f64>,
    /// The way in, the dog, the key.
    #[serde(default)]
    notes: String,
}

/// What to change of a site; what is absent stays, null clears.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SitePatch {
    /// The version that was looked at; where given, a newer one is not overwritten.
    #[serde(default)]
    version: Option<i32>,
    /// Street and number.
    #[serde(default)]
    address: Option<String>,
    /// Town.
    #[serde(default)]
    town: Option<String>,
    /// Altitude, feet, −1500 to 20000.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<i32>)]
    altitude_ft: Option<Option<i32>>,
    /// IANA zone.
    #[serde(default)]
    zone: Option<String>,
    /// Degrees north; change both together, null for both clears.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<f64>)]
    latitude: Option<Option<f64>>,
    /// Degrees east.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<f64>)]
    longitude: Option<Option<f64>>,
    /// The way in, the dog, the key.
    #[serde(default)]
    notes: Option<String>,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(site_add).service(site_change);
}

/// Adds a site to a customer.
#[utoipa::path(tag = "site",
    params(
        ("id" = Uuid, Path, description = "The customer"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = SiteAdd,
    responses(
        (status = 201, description = "Added", body = SiteShape),
        (status = 404, description = "No such customer", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/customers/{id}/sites")]
async fn site_add(id: web::Path<Uuid>, write: Write<SiteAdd>) -> Result<HttpResponse, Problem> {
    let customer_id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, new: SiteAdd| {
        let new = SiteNew {
            address: new.address,
            town: new.town,
            altitude_ft: new.altitude_ft,
            zone: new.zone,
            place: place_of(new.latitude, new.longitude)?,
            notes: new.notes,
        };
        let site = store::site::site_add(store, caller, customer_id, new).await?;
        Ok(SiteShape::from(site))
    };
    write.once(StatusCode::CREATED, work).await
}

/// Changes a site.
#[utoipa::path(tag = "site",
    params(
        ("id" = Uuid, Path, description = "The site"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = SitePatch,
    responses(
        (status = 200, description = "As it is now", body = SiteShape),
        (status = 404, description = "No such site", body = ProblemBody),
        (status = 409, description = "Someone changed it meanwhile", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[patch("/api/sites/{id}")]
async fn site_change(
    id: web::Path<Uuid>,
    write: Write<SitePatch>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, patch: SitePatch| {
        let place = match (patch.latitude, patch.longitude) {
            (None, None) => None,
            (latitude, longitude) => Some(place_of(latitude.flatten(), longitude.flatten())?),
        };
        let change = SiteChange {
            version: patch.version,
            address: patch.address,
            town: patch.town,
            altitude_ft: patch.altitude_ft,
            zone: patch.zone,
            place,
            notes: patch.notes,
        };
        let site = store::site::site_change(store, caller, id, change).await?;
        Ok(SiteShape::from(site))
    };
    write.once(StatusCode::OK, work).await
}

/// Both or neither.
fn place_of(latitude: Option<f64>, longitude: Option<f64>) -> Result<Option<Place>, StoreError> {
    match (latitude, longitude) {
        (Some(latitude), Some(longitude)) => Ok(Some(Place { latitude, longitude })),
        (None, None) => Ok(None),
        (Some(_), None) => {
            Err(StoreError::invalid("/longitude", "A latitude needs its longitude, too."))
        }
        (None, Some(_)) => {
            Err(StoreError::invalid("/latitude", "A longitude needs its latitude, too."))
        }
    }
}

impl From<Site> for SiteShape {
    fn from(site: Site) -> Self {
        SiteShape {
            id: site.id,
            customer_id: site.customer_id,
            address: site.address,
            town: site.town,
            altitude_ft: site.altitude_ft,
            zone: site.zone,
            latitude: site.place.map(|place| place.latitude),
            longitude: site.place.map(|place| place.longitude),
            notes: site.notes,
            version: site.version,
        }
    }
}
