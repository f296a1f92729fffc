//! Capacity: the outlook of a span, the shop's waits, the weather.
//!
//! Belongs here: the routes of this noun. Does not belong here: the reckoning, and the wire
//! shapes ([`shapes`]).

pub mod shapes;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, put, web};
use serde::Deserialize;
use store::capacity::{SpanName, forecast, setting};
use store::{Caller, Store};
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;

use self::shapes::{CapacitySettingPut, CapacitySettingShape, OutlookShape, SpanShape, WeatherPut};
use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

/// What an outlook is drawn with where nobody says otherwise.
const SEED: u64 = 1;

/// Which outlook.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct Asked {
    /// Which span; the weekend where absent.
    #[param(inline)]
    #[serde(default)]
    span: Option<SpanShape>,
    /// What is drawn with: the same seed gives the same answer.
    #[serde(default)]
    seed: Option<u32>,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(capacity_show)
        .service(capacity_setting_show)
        .service(capacity_setting_change)
        .service(weather_change);
}

/// The chance that a call waits longer than it may, the load and what is short, hour by hour.
#[utoipa::path(tag = "capacity", params(Asked), responses(
    (status = 200, description = "The outlook", body = OutlookShape),
    (status = 400, description = "No such span", body = ProblemBody),
    (status = 409, description = "There is no long weekend near", body = ProblemBody),
))]
#[get("/api/capacity")]
async fn capacity_show(
    caller: SignedIn,
    state: web::Data<AppState>,
    asked: web::Query<Asked>,
) -> Result<HttpResponse, Problem> {
    let span = SpanName::from(asked.span.unwrap_or(SpanShape::Weekend));
    let seed = asked.seed.map_or(SEED, u64::from);
    let forecast = forecast(&state.store, &state.capacity, caller.shop_id, span, seed).await?;
    Ok(HttpResponse::Ok().json(OutlookShape::from(&*forecast)))
}

/// How long each class may wait, and the usual way to a call.
#[utoipa::path(tag = "capacity", responses(
    (status = 200, description = "The settings", body = CapacitySettingShape),
))]
#[get("/api/capacity/settings")]
async fn capacity_setting_show(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let setting = setting::of_shop(state.store.conn(), caller.shop_id).await?;
    Ok(HttpResponse::Ok().json(CapacitySettingShape::from(&setting)))
}

/// Changes them, on the record.
#[utoipa::path(tag = "capacity",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = CapacitySettingPut,
    responses(
        (status = 200, description = "As they are now", body = CapacitySettingShape),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[put("/api/capacity/settings")]
async fn capacity_setting_change(
    write: Write<CapacitySettingPut>,
) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, body: CapacitySettingPut| {
        let setting = setting::change(store, caller, body.into()).await?;
        Ok(CapacitySettingShape::from(&setting))
    };
    write.once(StatusCode::OK, work).await
}

/// Enters the outdoor temperature of a day, or takes it back. No service outside is asked.
#[utoipa::path(tag = "capacity",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = WeatherPut,
    responses(
        (status = 200, description = "Entered", body = WeatherPut),
        (status = 403, description = "Only for those who schedule", body = ProblemBody),
        (status = 422, description = "Nobody would believe it", body = ProblemBody),
    ))]
#[put("/api/capacity/weather")]
async fn weather_change(write: Write<WeatherPut>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, body: WeatherPut| {
        setting::weather_set(store, caller, body.day, body.outdoor_f).await?;
        Ok(body)
    };
    write.once(StatusCode::OK, work).await
}
