//! Circuits.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: its rules.

use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::auth::SignedIn;
use crate::openapi::CircuitShape;
use crate::problem::{Problem, ProblemBody};

/// A circuit that a unit can be given.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitListed {
    /// Its identifier.
    pub name: String,
    /// A line for people.
    pub title: String,
    /// What to know before using it.
    pub about: String,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(circuit_list).service(circuit_show);
}

/// The circuits that a unit can be given.
#[utoipa::path(
    tag = "circuit",
    responses((status = 200, description = "By name", body = Vec<CircuitListed>))
)]
#[get("/api/circuits")]
async fn circuit_list(_: SignedIn) -> Result<HttpResponse, Problem> {
    let listed: Vec<CircuitListed> = store::circuit::list()?
        .iter()
        .map(|known| CircuitListed {
            name: known.circuit.name.clone(),
            title: known.circuit.title.clone(),
            about: known.circuit.about.clone(),
        })
        .collect();
    Ok(HttpResponse::Ok().json(listed))
}

/// One circuit: points, parts, connectors and how it is drawn.
#[utoipa::path(
    tag = "circuit",
    params(("name" = String, Path)),
    responses(
        (status = 200, description = "The circuit", body = CircuitShape),
        (status = 404, description = "No circuit of that name", body = ProblemBody),
    )
)]
#[get("/api/circuits/{name}")]
async fn circuit_show(_: SignedIn, name: web::Path<String>) -> Result<HttpResponse, Problem> {
    let known = store::circuit::find(&name)?;
    Ok(HttpResponse::Ok().json(CircuitShape(known.circuit.clone())))
}
