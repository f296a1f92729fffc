//! Units.
//!
//! Belongs here: the routes of this noun. Does not belong here: its shapes ([`shapes`]) and
//! its rules.

mod shapes;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, patch, post, web};
use store::{Caller, Store};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub use shapes::{UnitAdd, UnitPatch, UnitShape};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(unit_add).service(unit_show).service(unit_change);
}

/// Adds a unit to a site.
#[utoipa::path(tag = "unit",
    params(
        ("id" = Uuid, Path, description = "The site"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = UnitAdd,
    responses(
        (status = 201, description = "Added", body = UnitShape),
        (status = 404, description = "No such site", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/sites/{id}/units")]
async fn unit_add(id: web::Path<Uuid>, write: Write<UnitAdd>) -> Result<HttpResponse, Problem> {
    let site_id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, new: UnitAdd| {
        let unit = store::unit::unit_add(store, caller, site_id, new.into()).await?;
        Ok(UnitShape::from(unit))
    };
    write.once(StatusCode::CREATED, work).await
}

/// A unit.
#[utoipa::path(tag = "unit",
    params(("id" = Uuid, Path, description = "The unit")),
    responses(
        (status = 200, description = "The unit", body = UnitShape),
        (status = 404, description = "No such unit", body = ProblemBody),
    ))]
#[get("/api/units/{id}")]
async fn unit_show(
    id: web::Path<Uuid>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let unit = store::unit::unit_find(state.store.conn(), caller.shop_id, *id).await?;
    Ok(HttpResponse::Ok().json(UnitShape::from(unit)))
}

/// Changes a unit. New values make open requests on it be judged again.
#[utoipa::path(tag = "unit",
    params(
        ("id" = Uuid, Path, description = "The unit"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = UnitPatch,
    responses(
        (status = 200, description = "As it is now", body = UnitShape),
        (status = 404, description = "No such unit", body = ProblemBody),
        (status = 409, description = "Someone changed it meanwhile, or its circuit is in use",
            body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[patch("/api/units/{id}")]
async fn unit_change(
    id: web::Path<Uuid>,
    write: Write<UnitPatch>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, patch: UnitPatch| {
        let unit = store::unit::unit_change(store, caller, id, patch.into()).await?;
        Ok(UnitShape::from(unit))
    };
    write.once(StatusCode::OK, work).await
}
