//! Circuits: those that ship and the shop's own.
//!
//! Belongs here: the routes of this noun. Does not belong here: its shapes ([`shapes`]) and its
//! rules.

mod shapes;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use engine::circuit::Circuit;
use engine::circuit_file::FILE_BYTES_MAX;
use engine::survey;
use serde::Deserialize;
use store::circuit::{self, own};
use store::{Caller, Store, unit};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::idempotency::{Body, LargeWrite};
use crate::openapi::CircuitShape;
use crate::problem::{Problem, ProblemBody};

pub use shapes::{
    CircuitAdd, CircuitCondition, CircuitDraft, CircuitFile, CircuitListed, CircuitLooked,
    CircuitUnit, CircuitVersion, CircuitWithdraw,
};

/// Largest body of a circuit to add: a file's bytes, and what JSON's escapes add to them. A
/// larger one is refused unread.
pub const CIRCUIT_BODY_BYTES_MAX: usize = 2 * FILE_BYTES_MAX;

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(circuit_list)
        .service(circuit_look)
        .service(circuit_show)
        .service(circuit_file)
        .service(circuit_versions)
        .service(circuit_units)
        .service(circuit_add)
        .service(circuit_withdraw);
}

/// Which version.
#[derive(Deserialize)]
struct Which {
    version: Option<i32>,
}

/// The circuits that a unit can be given, and those of the shop's own that are withdrawn.
#[utoipa::path(
    tag = "circuit",
    responses((status = 200, description = "The shop's own first, by name",
        body = Vec<CircuitListed>))
)]
#[get("/api/circuits")]
async fn circuit_list(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let own = own::list(state.store.conn(), caller.shop_id).await?;
    let shipped = circuit::shipped()?.iter().map(CircuitListed::from);
    let listed: Vec<_> = own.into_iter().map(CircuitListed::from).chain(shipped).collect();
    Ok(HttpResponse::Ok().json(listed))
}

/// One circuit: points, parts, connectors and how it is drawn.
#[utoipa::path(
    tag = "circuit",
    params(("name" = String, Path),
        ("version" = Option<i32>, Query, description = "Of the shop's own; the latest where absent")),
    responses(
        (status = 200, description = "The circuit", body = CircuitShape),
        (status = 404, description = "No circuit of that name", body = ProblemBody),
    )
)]
#[get("/api/circuits/{name}")]
async fn circuit_show(
    caller: SignedIn,
    name: web::Path<String>,
    which: web::Query<Which>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let known = one(&state.store, &caller, &name, which.version).await?;
    Ok(HttpResponse::Ok().json(CircuitShape(Circuit::clone(&known.circuit))))
}

/// A circuit's file, to read or to start one's own from.
#[utoipa::path(
    tag = "circuit",
    params(("name" = String, Path),
        ("version" = Option<i32>, Query, description = "Of the shop's own; the latest where absent")),
    responses(
        (status = 200, description = "The file", body = CircuitFile),
        (status = 404, description = "No circuit of that name", body = ProblemBody),
    )
)]
#[get("/api/circuits/{name}/file")]
async fn circuit_file(
    caller: SignedIn,
    name: web::Path<String>,
    which: web::Query<Which>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let known = one(&state.store, &caller, &name, which.version).await?;
    Ok(HttpResponse::Ok().json(CircuitFile {
        name: known.circuit.name.clone(),
        version: known.version,
        text: known.text.to_string(),
    }))
}

/// Every version of one of the shop's own circuits, newest first; none for one that ships.
#[utoipa::path(
    tag = "circuit",
    params(("name" = String, Path)),
    responses((status = 200, description = "Newest first", body = Vec<CircuitVersion>))
)]
#[get("/api/circuits/{name}/versions")]
async fn circuit_versions(
    caller: SignedIn,
    name: web::Path<String>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let versions = own::versions(state.store.conn(), caller.shop_id, &name).await?;
    let versions: Vec<_> = versions.into_iter().map(CircuitVersion::from).collect();
    Ok(HttpResponse::Ok().json(versions))
}

/// The shop's units that have a circuit.
#[utoipa::path(
    tag = "circuit",
    params(("name" = String, Path)),
    responses((status = 200, description = "By customer and label; at most 1,000",
        body = Vec<CircuitUnit>))
)]
#[get("/api/circuits/{name}/units")]
async fn circuit_units(
    caller: SignedIn,
    name: web::Path<String>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let units = unit::list_of_circuit(state.store.conn(), caller.shop_id, &name).await?;
    let units: Vec<_> = units
        .into_iter()
        .map(|unit| CircuitUnit {
            id: unit.id,
            label: unit.label,
            customer_id: unit.customer_id,
            customer_name: unit.customer_name,
            circuit_version: unit.circuit_version,
            version: unit.version,
        })
        .collect();
    Ok(HttpResponse::Ok().json(units))
}

/// Looks a circuit file over, keeping nothing: what `countersign circuit check` does.
#[utoipa::path(
    tag = "circuit",
    request_body = CircuitDraft,
    responses(
        (status = 200, description = "The circuit, ready to draw", body = CircuitLooked),
        (status = 422, description = "What is wrong, each with its line", body = ProblemBody),
    )
)]
#[post("/api/circuits/look")]
async fn circuit_look(_: SignedIn, draft: Body<CircuitDraft>) -> Result<HttpResponse, Problem> {
    let CircuitDraft { text, survey } = draft.0;
    let look = move || {
        let circuit = own::read(&text)?;
        let conditions = if survey { survey::conditions(&circuit) } else { Vec::new() };
        Ok::<_, store::StoreError>((circuit, conditions))
    };
    let (circuit, conditions) = web::block(look).await.map_err(Problem::internal)??;
    let conditions = conditions.into_iter().map(CircuitCondition::from).collect();
    Ok(HttpResponse::Ok().json(CircuitLooked { circuit: CircuitShape(circuit), conditions }))
}

/// Adds a version of one of the shop's own circuits; the first makes it. Units stay on theirs.
#[utoipa::path(
    tag = "circuit",
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = CircuitAdd,
    responses(
        (status = 201, description = "Added", body = CircuitListed),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 409, description = "There is a newer version by now", body = ProblemBody),
        (status = 422, description = "What is wrong, each with its line", body = ProblemBody),
    )
)]
#[post("/api/circuits")]
async fn circuit_add(
    write: LargeWrite<CircuitAdd, CIRCUIT_BODY_BYTES_MAX>,
) -> Result<HttpResponse, Problem> {
    let add = async move |store: &Store, caller: &Caller, new: CircuitAdd| {
        Ok(CircuitListed::from(own::add(store, caller, new.into()).await?))
    };
    write.0.once(StatusCode::CREATED, add).await
}

/// Takes one of the shop's own circuits out of the list; a new version brings it back.
#[utoipa::path(
    tag = "circuit",
    params(("name" = String, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = CircuitWithdraw,
    responses(
        (status = 200, description = "Withdrawn", body = CircuitListed),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 404, description = "None of the shop's own", body = ProblemBody),
        (status = 422, description = "No reason given", body = ProblemBody),
    )
)]
#[post("/api/circuits/{name}/withdraw")]
async fn circuit_withdraw(
    name: web::Path<String>,
    write: Write<CircuitWithdraw>,
) -> Result<HttpResponse, Problem> {
    let name = name.into_inner();
    let withdraw = async move |store: &Store, caller: &Caller, body: CircuitWithdraw| {
        Ok(CircuitListed::from(own::withdraw(store, caller, &name, &body.reason).await?))
    };
    write.once(StatusCode::OK, withdraw).await
}

/// The version asked for; where none is, the one that ships or the shop's latest.
async fn one(
    store: &Store,
    caller: &Caller,
    name: &str,
    version: Option<i32>,
) -> Result<circuit::Known, Problem> {
    let conn = store.conn();
    let version = match version {
        None if circuit::shipped_named(name)?.is_none() => {
            own::latest(conn, caller.shop_id, name).await?.map(|own| own.version)
        }
        given => given,
    };
    Ok(circuit::find(conn, caller.shop_id, name, version).await?)
}
