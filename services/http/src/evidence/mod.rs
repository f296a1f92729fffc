//! A job's evidence: readings, strikes, observations, the verdict.
//!
//! Belongs here: the routes of this noun. Does not belong here: its rules, and its wire shapes
//! ([`shapes`]).

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use store::{Caller, Store, evidence};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub mod shapes;

use crate::openapi::TestPlanShape;
use shapes::{AddObservation, AddReading, Evidence, StrikeReading};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(evidence_show)
        .service(test_plan_show)
        .service(reading_add)
        .service(reading_strike)
        .service(observation_add);
}

/// A job's evidence and, where the caller may see it, what it proves.
#[utoipa::path(
    tag = "evidence",
    params(("job_id" = Uuid, Path)),
    responses(
        (status = 200, description = "The evidence", body = Evidence),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{job_id}/evidence")]
async fn evidence_show(
    caller: SignedIn,
    job_id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let shown = evidence::shown_to(&state.store, &caller, job_id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(Evidence::from(shown)))
}

/// What to measure after which answer, from where the job's evidence stands: one sheet for the
/// truck.
#[utoipa::path(
    tag = "evidence",
    params(("job_id" = Uuid, Path)),
    responses(
        (status = 200, description = "The plan", body = TestPlanShape),
        (status = 403, description = "The caller could still read the evidence blind", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{job_id}/test-plan")]
async fn test_plan_show(
    caller: SignedIn,
    job_id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let plan = evidence::test_plan(&state.store, &caller, job_id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(TestPlanShape(plan)))
}

/// Keeps a reading, once the engine has found nothing wrong with it.
#[utoipa::path(
    tag = "evidence",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = AddReading,
    responses(
        (status = 201, description = "Kept; the evidence as it is now", body = Evidence),
        (status = 403, description = "Not a technician", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "The job is closed", body = ProblemBody),
        (status = 422, description = "What is wrong with the reading, and where", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/readings")]
async fn reading_add(
    job_id: web::Path<Uuid>,
    write: Write<AddReading>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let add = async move |store: &Store, caller: &Caller, new: AddReading| {
        let meter_id = new.reading.meter_id;
        let reading = new.reading.into();
        let shown = evidence::reading_add_with(store, caller, job_id, reading, meter_id).await?;
        Ok(Evidence::from(shown))
    };
    write.once(StatusCode::CREATED, add).await
}

/// Strikes a reading that is no longer believed: it stays on the record and counts no more.
#[utoipa::path(
    tag = "evidence",
    params(("reading_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = StrikeReading,
    responses(
        (status = 200, description = "Struck; the evidence as it is now", body = Evidence),
        (status = 403, description = "Not the caller's to strike", body = ProblemBody),
        (status = 404, description = "No such reading in the shop", body = ProblemBody),
        (status = 409, description = "Struck already, or the job is closed", body = ProblemBody),
        (status = 422, description = "No reason given", body = ProblemBody),
    )
)]
#[post("/api/readings/{reading_id}/strike")]
async fn reading_strike(
    reading_id: web::Path<Uuid>,
    write: Write<StrikeReading>,
) -> Result<HttpResponse, Problem> {
    let reading_id = reading_id.into_inner();
    let strike = async move |store: &Store, caller: &Caller, body: StrikeReading| {
        let shown = evidence::reading_strike(store, caller, reading_id, &body.reason).await?;
        Ok(Evidence::from(shown))
    };
    write.once(StatusCode::OK, strike).await
}

/// Keeps an answer to one of the circuit's questions; the latest on a sign counts.
#[utoipa::path(
    tag = "evidence",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = AddObservation,
    responses(
        (status = 201, description = "Kept; the evidence as it is now", body = Evidence),
        (status = 403, description = "Not a technician", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "The job is closed", body = ProblemBody),
        (status = 422, description = "The circuit knows no such sign", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/observations")]
async fn observation_add(
    job_id: web::Path<Uuid>,
    write: Write<AddObservation>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let add = async move |store: &Store, caller: &Caller, new: AddObservation| {
        let shown =
            evidence::observation_add(store, caller, job_id, &new.sign, new.present).await?;
        Ok(Evidence::from(shown))
    };
    write.once(StatusCode::CREATED, add).await
}
