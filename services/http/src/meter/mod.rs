//! The shop's meters.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: its rules.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, put, web};
use chrono::{DateTime, NaiveDate, Utc};
use engine::units::Quantity;
use serde::{Deserialize, Serialize};
use store::meter::{Meter, MeterSaid, Range};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::evidence::shapes::{person, quantity};
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// What a meter can tell of one quantity.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeterRange {
    /// Of what.
    #[schema(schema_with = quantity)]
    pub quantity: Quantity,
    /// Percent of reading, 0 to 20.
    pub accuracy_pct: f64,
    /// The smallest step shown, base unit of the quantity: Ω, µF, V, A.
    pub resolution: f64,
    /// The highest value before "OL", base unit.
    pub highest: f64,
}

/// A meter as people say it is.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeterPut {
    /// What people call it; no two in use have the same.
    pub label: String,
    /// Maker.
    #[serde(default)]
    pub maker: String,
    /// Model.
    #[serde(default)]
    pub model: String,
    /// Serial number.
    #[serde(default)]
    pub serial: String,
    /// Whose van it is in.
    #[serde(default)]
    pub keeper: Option<Uuid>,
    /// What it can tell, each quantity once.
    pub ranges: Vec<MeterRange>,
    /// Resistance of its leads touched together, Ω, 0 to 10.
    #[serde(default)]
    pub lead_ohm: Option<f64>,
    /// Whether it measures volts at low impedance.
    #[serde(default)]
    pub low_impedance: Option<bool>,
    /// When it was last calibrated.
    #[serde(default)]
    pub calibrated_on: Option<NaiveDate>,
    /// For how many months that counts, 1 to 120.
    #[serde(default)]
    pub calibration_months: Option<u32>,
}

/// A change: everything is said anew.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeterChange {
    /// The version that was looked at.
    pub version: i32,
    /// The meter as it is.
    pub meter: MeterPut,
    /// Whether it is not used any more.
    #[serde(default)]
    pub retired: bool,
}

/// A meter.
#[derive(Debug, Serialize, ToSchema)]
pub struct MeterHeld {
    /// Id.
    pub id: Uuid,
    /// What people call it.
    pub label: String,
    /// Maker.
    pub maker: String,
    /// Model.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// Whose van it is in.
    pub keeper: Option<PersonRef>,
    /// What it can tell.
    pub ranges: Vec<MeterRange>,
    /// Resistance of its leads, Ω.
    pub lead_ohm: Option<f64>,
    /// Whether it measures volts at low impedance.
    pub low_impedance: Option<bool>,
    /// When it was last calibrated.
    pub calibrated_on: Option<NaiveDate>,
    /// For how many months that counts.
    pub calibration_months: Option<u32>,
    /// The day on which its calibration ends.
    pub due_on: Option<NaiveDate>,
    /// Since when it is not used any more.
    pub retired_at: Option<DateTime<Utc>>,
    /// Counts changes; send it with the next one.
    pub version: i32,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(meter_list).service(meter_add).service(meter_change);
}

/// The shop's meters.
#[utoipa::path(tag = "meter", responses(
    (status = 200, description = "Those in use first, by label", body = Vec<MeterHeld>),
))]
#[get("/api/meters")]
async fn meter_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let meters = store::meter::list(state.store.conn(), caller.shop_id).await?;
    let meters: Vec<_> = meters.into_iter().map(MeterHeld::from).collect();
    Ok(HttpResponse::Ok().json(meters))
}

/// Adds a meter.
#[utoipa::path(tag = "meter",
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = MeterPut,
    responses(
        (status = 201, description = "Added", body = MeterHeld),
        (status = 403, description = "Not in the caller's van", body = ProblemBody),
        (status = 409, description = "Another has its label", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/meters")]
async fn meter_add(write: Write<MeterPut>) -> Result<HttpResponse, Problem> {
    let add = async move |store: &Store, caller: &Caller, new: MeterPut| {
        Ok(MeterHeld::from(store::meter::add(store, caller, new.into()).await?))
    };
    write.once(StatusCode::CREATED, add).await
}

/// Says everything about a meter anew, or retires it. Readings taken with it stay as they were.
#[utoipa::path(tag = "meter",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = MeterChange,
    responses(
        (status = 200, description = "As it is now", body = MeterHeld),
        (status = 403, description = "Not in the caller's van", body = ProblemBody),
        (status = 404, description = "No such meter", body = ProblemBody),
        (status = 409, description = "Changed meanwhile, or another has its label",
            body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[put("/api/meters/{id}")]
async fn meter_change(
    id: web::Path<Uuid>,
    write: Write<MeterChange>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let change = async move |store: &Store, caller: &Caller, body: MeterChange| {
        let MeterChange { version, meter, retired } = body;
        let meter = store::meter::change(store, caller, id, version, meter.into(), retired).await?;
        Ok(MeterHeld::from(meter))
    };
    write.once(StatusCode::OK, change).await
}

impl From<MeterPut> for MeterSaid {
    fn from(put: MeterPut) -> Self {
        let range = |range: MeterRange| Range {
            quantity: range.quantity,
            accuracy_pct: range.accuracy_pct,
            resolution: range.resolution,
            highest: range.highest,
        };
        MeterSaid {
            label: put.label,
            maker: put.maker,
            model: put.model,
            serial: put.serial,
            keeper: put.keeper,
            ranges: put.ranges.into_iter().map(range).collect(),
            lead_ohm: put.lead_ohm,
            low_impedance: put.low_impedance,
            calibrated_on: put.calibrated_on,
            calibration_months: put.calibration_months,
        }
    }
}

impl From<Meter> for MeterHeld {
    fn from(meter: Meter) -> Self {
        let said = meter.said;
        let range = |range: Range| MeterRange {
            quantity: range.quantity,
            accuracy_pct: range.accuracy_pct,
            resolution: range.resolution,
            highest: range.highest,
        };
        MeterHeld {
            id: meter.id,
            label: said.label,
            maker: said.maker,
            model: said.model,
            serial: said.serial,
            keeper: meter.keeper.map(person),
            ranges: said.ranges.into_iter().map(range).collect(),
            lead_ohm: said.lead_ohm,
            low_impedance: said.low_impedance,
            calibrated_on: said.calibrated_on,
            calibration_months: said.calibration_months,
            due_on: meter.due_on,
            retired_at: meter.retired_at,
            version: meter.version,
        }
    }
}
