//! What calls turned out to be.
//!
//! Belongs here: the routes of this noun. Does not belong here: its rules, and its wire shapes
//! ([`shapes`]).

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use store::{Caller, Store, found};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub mod shapes;

use shapes::{JobFound, SayFound, ShopFound};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(job_found_show).service(job_found_say).service(shop_found_show);
}

/// What people said that a job turned out to be; the first counts.
#[utoipa::path(
    tag = "found",
    params(("job_id" = Uuid, Path)),
    responses(
        (status = 200, description = "Newest first", body = JobFound),
        (status = 403, description = "The caller could still read the evidence blind", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{job_id}/found")]
async fn job_found_show(
    caller: SignedIn,
    job_id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let words = found::list(&state.store, &caller, job_id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(JobFound::from(words)))
}

/// Says what a job turned out to be. A later word supersedes an earlier one; both stay. Requests
/// that are open elsewhere keep the odds that they were made with.
#[utoipa::path(
    tag = "found",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = SayFound,
    responses(
        (status = 201, description = "Kept; everything said on the job", body = JobFound),
        (status = 403, description = "Neither a technician nor somebody who manages", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "A condemn request on the job is open, or it was called off", body = ProblemBody),
        (status = 422, description = "What the circuit lists instead", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/found")]
async fn job_found_say(
    job_id: web::Path<Uuid>,
    write: Write<SayFound>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let say = async move |store: &Store, caller: &Caller, body: SayFound| {
        let words = found::add(store, caller, job_id, body.read()?).await?;
        Ok(JobFound::from(words))
    };
    write.once(StatusCode::CREATED, say).await
}

/// What the shop's calls turned out to be, beside what the circuit files expected of them.
#[utoipa::path(tag = "found", responses(
    (status = 200, description = "Counts and factors", body = ShopFound),
))]
#[get("/api/found")]
async fn shop_found_show(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let summary = found::summary(&state.store, &caller).await?;
    Ok(HttpResponse::Ok().json(ShopFound::from(summary)))
}
