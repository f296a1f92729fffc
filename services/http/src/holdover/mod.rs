//! Holdovers: jobs that wait for a working day, and customers who say that it got worse.
//!
//! Belongs here: the routes of this noun. Does not belong here: shapes ([`shapes`]) and rules.
//!
//! A customer's two routes need no sign-in; their token travels in bodies, never in an address
//! that a log would keep, and tries are limited per network address.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, delete, get, post, web};
use roster::holdover::Measure;
use store::holdover::{self, HoldoverNew, worse};
use store::{Caller, Store, StoreError};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::{Body, Write};
use crate::problem::{Problem, ProblemBody};
use crate::session::not_too_many;

pub mod shapes;

use shapes::{
    DeferredShape, HoldoverAdd, HoldoverAsks, HoldoverShape, MeasureShape, WorseAnswer, WorseLink,
    WorseToken,
};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(holdover_asks)
        .service(holdover_show)
        .service(holdover_add)
        .service(holdover_end)
        .service(worse_look)
        .service(worse_answer);
}

/// What is asked before a job is deferred.
#[utoipa::path(
    tag = "holdover",
    params(("id" = Uuid, Path)),
    responses(
        (status = 200, description = "Measures and questions", body = HoldoverAsks),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{id}/holdover/asks")]
async fn holdover_asks(
    caller: SignedIn,
    id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let asks = holdover::asks(&state.store, &caller, id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(HoldoverAsks {
        measures: Measure::ALL.into_iter().map(MeasureShape::new).collect(),
        checks: asks.checks.into_iter().map(From::from).collect(),
        needs_manager: asks.needs_manager,
        next_open: asks.next_open,
        customer_has_mail: asks.customer_has_mail,
    }))
}

/// A job's latest holdover, standing or ended; null where there was none.
#[utoipa::path(
    tag = "holdover",
    params(("id" = Uuid, Path)),
    responses(
        (status = 200, description = "The holdover", body = Option<HoldoverShape>),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{id}/holdover")]
async fn holdover_show(
    caller: SignedIn,
    id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let conn = state.store.conn();
    store::job::job_find(conn, caller.shop_id, *id).await?;
    let found = holdover::of_job(conn, caller.shop_id, *id).await?;
    Ok(HttpResponse::Ok().json(found.map(HoldoverShape::from)))
}

/// Defers a job until a working day, with what makes the site safe until then. The customer is
/// told by mail, with a link to say that it got worse.
#[utoipa::path(
    tag = "holdover",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = HoldoverAdd,
    responses(
        (status = 201, description = "Deferred", body = DeferredShape),
        (status = 403, description = "Not the caller's job, or it takes a manager", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "Closed, or changed meanwhile", body = ProblemBody),
        (status = 422, description = "Questions not answered, or values that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/jobs/{id}/holdover")]
async fn holdover_add(
    id: web::Path<Uuid>,
    write: Write<HoldoverAdd>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let add = async move |store: &Store, caller: &Caller, body: HoldoverAdd| {
        let new = HoldoverNew {
            measures: measures_of(&body.measures)?,
            checked: body.checked,
            note: body.note,
        };
        let deferred =
            holdover::job_defer(store, caller, id, body.version, body.until, new, body.reason)
                .await?;
        Ok(DeferredShape::from(deferred))
    };
    write.once(StatusCode::CREATED, add).await
}

fn measures_of(ids: &[String]) -> Result<Vec<Measure>, StoreError> {
    ids.iter()
        .enumerate()
        .map(|(index, id)| {
            Measure::from_id(id).ok_or_else(|| {
                let known: Vec<&str> = Measure::ALL.into_iter().map(Measure::id).collect();
                let says = format!("There is no such measure; these are: {}.", known.join(", "));
                StoreError::invalid(format!("/measures/{index}"), says)
            })
        })
        .collect()
}

/// Takes a deferral back: the job is on the board again at once.
#[utoipa::path(
    tag = "holdover",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    responses(
        (status = 200, description = "The holdover as it ended", body = Option<HoldoverShape>),
        (status = 403, description = "Not the caller's job", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "Not deferred", body = ProblemBody),
    )
)]
#[delete("/api/jobs/{id}/holdover")]
async fn holdover_end(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let end = async move |store: &Store, caller: &Caller, (): ()| {
        holdover::take_back(store, caller, id).await?;
        let found = holdover::of_job(store.conn(), caller.shop_id, id).await?;
        Ok(found.map(HoldoverShape::from))
    };
    write.once(StatusCode::OK, end).await
}

/// What a customer's link is about.
#[utoipa::path(tag = "holdover", security(()), request_body = WorseToken, responses(
    (status = 200, description = "What it is about", body = WorseLink),
    (status = 401, description = "Not one of ours", body = ProblemBody),
    (status = 429, description = "Too many tries", body = ProblemBody),
))]
#[post("/api/worse/look")]
async fn worse_look(
    req: HttpRequest,
    state: web::Data<AppState>,
    body: Body<WorseToken>,
) -> Result<HttpResponse, Problem> {
    not_too_many(&req, &state)?;
    let link = worse::look(&state.store, &body.0.token).await?;
    Ok(HttpResponse::Ok().json(WorseLink::from(link)))
}

/// Takes a customer's answer; a repeat changes nothing.
#[utoipa::path(tag = "holdover", security(()), request_body = WorseAnswer, responses(
    (status = 200, description = "The shop knows", body = WorseLink),
    (status = 401, description = "Not one of ours", body = ProblemBody),
    (status = 409, description = "The job is back on the shop's list already", body = ProblemBody),
    (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    (status = 429, description = "Too many tries", body = ProblemBody),
))]
#[post("/api/worse")]
async fn worse_answer(
    req: HttpRequest,
    state: web::Data<AppState>,
    body: Body<WorseAnswer>,
) -> Result<HttpResponse, Problem> {
    not_too_many(&req, &state)?;
    let answer = body.0;
    let link = worse::answer(&state.store, &answer.token, answer.answers(), &answer.says).await?;
    Ok(HttpResponse::Ok().json(WorseLink::from(link)))
}
