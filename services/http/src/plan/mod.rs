//! Proposals for a day or a weekend, pins, and how ways are reckoned.
//!
//! Belongs here: the routes of this noun. Does not belong here: its shapes ([`shapes`]), its
//! rules, and the search.

mod quarter;
mod shapes;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, patch, post, web};
use store::{Caller, Store};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub use shapes::{PinPut, PlanAsk, PlanRowShape, PlanShape, PlanTake, WaysPatch, WaysShape};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(plan_ask)
        .service(plan_list)
        .service(plan_show)
        .service(plan_take)
        .service(plan_drop)
        .service(plan_undo)
        .service(job_pin)
        .service(ways_show)
        .service(ways_change)
        .service(ways_table);
}

/// Tells the search to stop when the asker has gone.
struct Gone(Arc<AtomicBool>);

impl Drop for Gone {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Asks for a proposal; it takes some seconds, and is not kept where nobody waits for it.
#[utoipa::path(tag = "plan",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = PlanAsk,
    responses(
        (status = 201, description = "Proposed; nothing is changed yet", body = PlanShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 409, description = "Too much for one plan", body = ProblemBody),
        (status = 422, description = "A span that cannot be planned", body = ProblemBody),
        (status = 503, description = "The search failed", body = ProblemBody),
    ))]
#[post("/api/plans")]
async fn plan_ask(write: Write<PlanAsk>) -> Result<HttpResponse, Problem> {
    let stop = Arc::new(AtomicBool::new(false));
    // The write goes on when the asker has gone, this does not: dropped, it stops the search.
    let gone = Gone(stop.clone());
    let work = async move |store: &Store, caller: &Caller, ask: PlanAsk| {
        let proposal = store::plan::propose(store, caller, ask.into(), stop.clone()).await?;
        Ok(PlanShape::new(&proposal, caller))
    };
    let answer = write.once(StatusCode::CREATED, work).await;
    drop(gone);
    answer
}

/// The latest proposals, newest first.
#[utoipa::path(tag = "plan", responses(
    (status = 200, description = "Proposals", body = Vec<PlanRowShape>),
    (status = 403, description = "Only for those who give out work", body = ProblemBody),
))]
#[get("/api/plans")]
async fn plan_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let rows = store::plan::list(&state.store, &caller).await?;
    let rows: Vec<PlanRowShape> = rows.into_iter().map(Into::into).collect();
    Ok(HttpResponse::Ok().json(rows))
}

/// A proposal beside the board as it was, what was taken of it, and what has changed since.
#[utoipa::path(tag = "plan",
    params(("id" = Uuid, Path, description = "The plan")),
    responses(
        (status = 200, description = "The plan", body = PlanShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such plan", body = ProblemBody),
    ))]
#[get("/api/plans/{id}")]
async fn plan_show(
    id: web::Path<Uuid>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let proposal = store::plan::show(&state.store, &caller, *id).await?;
    Ok(HttpResponse::Ok().json(PlanShape::new(&proposal, &caller)))
}

/// Takes the plan over, whole or for some jobs; all of them or none.
#[utoipa::path(tag = "plan",
    params(
        ("id" = Uuid, Path, description = "The plan"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = PlanTake,
    responses(
        (status = 200, description = "Taken", body = PlanShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such plan", body = ProblemBody),
        (status = 409, description = "The board has changed meanwhile, or a slot has passed",
            body = ProblemBody),
        (status = 422, description = "A job that the plan does not change", body = ProblemBody),
    ))]
#[post("/api/plans/{id}/take")]
async fn plan_take(id: web::Path<Uuid>, write: Write<PlanTake>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, take: PlanTake| {
        let proposal = store::plan::take::take(store, caller, id, take.jobs, take.start).await?;
        Ok(PlanShape::new(&proposal, caller))
    };
    write.once(StatusCode::OK, work).await
}

/// Lets the plan go; what was taken of it stays.
#[utoipa::path(tag = "plan",
    params(
        ("id" = Uuid, Path, description = "The plan"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    responses(
        (status = 200, description = "Let go", body = PlanShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such plan", body = ProblemBody),
        (status = 409, description = "It is settled already", body = ProblemBody),
    ))]
#[post("/api/plans/{id}/drop")]
async fn plan_drop(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, (): ()| {
        let proposal = store::plan::drop_it(store, caller, id).await?;
        Ok(PlanShape::new(&proposal, caller))
    };
    write.once(StatusCode::OK, work).await
}

/// Gives the last taking back, while nothing of it has begun.
#[utoipa::path(tag = "plan",
    params(
        ("id" = Uuid, Path, description = "The plan"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    responses(
        (status = 200, description = "As it was before", body = PlanShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such plan", body = ProblemBody),
        (status = 409, description = "Something of it has begun or was changed",
            body = ProblemBody),
    ))]
#[post("/api/plans/{id}/undo")]
async fn plan_undo(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, (): ()| {
        let proposal = store::plan::take::undo(store, caller, id).await?;
        Ok(PlanShape::new(&proposal, caller))
    };
    write.once(StatusCode::OK, work).await
}

/// Pins a job: proposals leave it with its person and its time.
#[utoipa::path(tag = "plan",
    params(
        ("id" = Uuid, Path, description = "The job"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = PinPut,
    responses(
        (status = 200, description = "As asked", body = PinPut),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such job", body = ProblemBody),
        (status = 409, description = "It has no person or no time", body = ProblemBody),
    ))]
#[post("/api/jobs/{id}/pin")]
async fn job_pin(id: web::Path<Uuid>, write: Write<PinPut>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, put: PinPut| {
        let pinned = store::plan::pin::pin(store, caller, id, put.pinned).await?;
        Ok(PinPut { pinned })
    };
    write.once(StatusCode::OK, work).await
}

/// How ways between the shop's places are reckoned.
#[utoipa::path(tag = "plan", responses(
    (status = 200, description = "Roads", body = WaysShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/ways")]
async fn ways_show(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let ways = store::plan::ways::ways(state.store.conn(), caller.shop_id).await?;
    Ok(HttpResponse::Ok().json(WaysShape::from(ways)))
}

/// Changes how ways are reckoned, or puts a whole table of known ways in.
#[utoipa::path(tag = "plan",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = WaysPatch,
    responses(
        (status = 200, description = "As it is now", body = WaysShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 422, description = "Some values or lines cannot be accepted",
            body = ProblemBody),
    ))]
#[patch("/api/ways")]
async fn ways_change(write: Write<WaysPatch>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, patch: WaysPatch| {
        let ways = store::plan::ways::ways_change(store, caller, patch.try_into()?).await?;
        Ok(WaysShape::from(ways))
    };
    write.once(StatusCode::OK, work).await
}

/// A table of ways to fill in, as CSV: every two places of open jobs, with the minutes as
/// reckoned now.
#[utoipa::path(tag = "plan", responses(
    (status = 200, description = "from,to,minutes", body = String, content_type = "text/csv"),
    (status = 403, description = "Only for those who give out work", body = ProblemBody),
    (status = 409, description = "Too many places for one table", body = ProblemBody),
))]
#[get("/api/ways/table")]
async fn ways_table(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let text = store::plan::ways::table_to_fill(&state.store, &caller).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header(("Content-Disposition", "attachment; filename=\"ways.csv\""))
        .body(text))
}
