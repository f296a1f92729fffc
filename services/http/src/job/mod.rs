//! Jobs and their assignment.
//!
//! Belongs here: the routes of this noun. Does not belong here: its shapes ([`shapes`]) and
//! its rules.

mod shapes;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, patch, post, web};
use chrono::{DateTime, Utc};
use store::job::Window;
use store::{Caller, Store, StoreError};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub use shapes::{
    AssignmentPut, JobAdd, JobEvent, JobPatch, JobShape, JobStateShape, JobWholeShape,
    RequestSummary, UrgencyShape, WorkShape,
};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(job_add)
        .service(job_show)
        .service(job_change)
        .service(job_assign)
        .service(job_history);
}

/// Takes a job: a technician for themselves, a scheduler or manager for anybody.
#[utoipa::path(tag = "job",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = JobAdd,
    responses(
        (status = 201, description = "Taken", body = JobShape),
        (status = 403, description = "Not for others", body = ProblemBody),
        (status = 404, description = "No such unit or person", body = ProblemBody),
        (status = 409, description = "The person is planned elsewhere then", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/jobs")]
async fn job_add(write: Write<JobAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, new: JobAdd| {
        let job = store::job::job_add(store, caller, new.try_into()?).await?;
        Ok(JobShape::from(job))
    };
    write.once(StatusCode::CREATED, work).await
}

/// A job with its unit, site, customer and where its condemn request stands.
#[utoipa::path(tag = "job",
    params(("id" = Uuid, Path, description = "The job")),
    responses(
        (status = 200, description = "The job", body = JobWholeShape),
        (status = 404, description = "No such job", body = ProblemBody),
    ))]
#[get("/api/jobs/{id}")]
async fn job_show(
    id: web::Path<Uuid>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let whole = whole_of(&state.store, &caller, *id).await?;
    Ok(HttpResponse::Ok().json(whole))
}

async fn whole_of(store: &Store, caller: &Caller, id: Uuid) -> Result<JobWholeShape, Problem> {
    let conn = store.conn();
    let job = store::job::job_find(conn, caller.shop_id, id).await?;
    let unit = store::unit::unit_find(conn, caller.shop_id, job.unit_id).await?;
    let site = store::site::site_find(conn, caller.shop_id, job.site_id).await?;
    let customer = store::customer::customer_find(store, caller, job.customer_id).await?;
    let request = store::board::request_of_job(conn, caller, id).await?;
    Ok(JobWholeShape {
        job: job.into(),
        unit: unit.into(),
        site: site.into(),
        customer: customer.customer.into(),
        request: request.map(|(id, state)| RequestSummary::new(id, &state)),
    })
}

/// Changes a job: a scheduler or manager anything, a technician the state of their own.
#[utoipa::path(tag = "job",
    params(
        ("id" = Uuid, Path, description = "The job"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = JobPatch,
    responses(
        (status = 200, description = "As it is now", body = JobShape),
        (status = 403, description = "Not theirs to change", body = ProblemBody),
        (status = 404, description = "No such job", body = ProblemBody),
        (status = 409, description = "Someone changed it meanwhile, or not from this state",
            body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[patch("/api/jobs/{id}")]
async fn job_change(id: web::Path<Uuid>, write: Write<JobPatch>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, patch: JobPatch| {
        let job = store::job::job_change(store, caller, id, patch.try_into()?).await?;
        Ok(JobShape::from(job))
    };
    write.once(StatusCode::OK, work).await
}

/// Gives a job to somebody, or takes it back.
#[utoipa::path(tag = "job",
    params(
        ("id" = Uuid, Path, description = "The job"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = AssignmentPut,
    responses(
        (status = 200, description = "As it is now", body = JobShape),
        (status = 403, description = "Not theirs to give out", body = ProblemBody),
        (status = 404, description = "No such job or person", body = ProblemBody),
        (status = 409, description = "The person is planned elsewhere then, or someone changed it",
            body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/jobs/{id}/assignment")]
async fn job_assign(
    id: web::Path<Uuid>,
    write: Write<AssignmentPut>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, put: AssignmentPut| {
        let job = store::job::job_assign(store, caller, id, put.try_into()?).await?;
        Ok(JobShape::from(job))
    };
    write.once(StatusCode::OK, work).await
}

/// What happened to the job itself, oldest first.
#[utoipa::path(tag = "job",
    params(("id" = Uuid, Path, description = "The job")),
    responses(
        (status = 200, description = "Its history", body = Vec<JobEvent>),
        (status = 404, description = "No such job", body = ProblemBody),
    ))]
#[get("/api/jobs/{id}/history")]
async fn job_history(
    id: web::Path<Uuid>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let told = store::job::told::job_told(&state.store, &caller, *id).await?;
    let events: Vec<_> = told.into_iter().map(JobEvent::from).collect();
    Ok(HttpResponse::Ok().json(events))
}

/// Both or neither end of a stretch of time; `name` is the field's without "_start".
fn window_of(
    name: &str,
    start: Option<DateTime<Utc>>,
    end: Option<DateTime<Utc>>,
) -> Result<Option<Window>, StoreError> {
    match (start, end) {
        (Some(start), Some(end)) => Ok(Some(Window { start, end })),
        (None, None) => Ok(None),
        (Some(_), None) => Err(StoreError::invalid(
            format!("/{name}_end"),
            "A window that starts needs an end, too.",
        )),
        (None, Some(_)) => Err(StoreError::invalid(
            format!("/{name}_start"),
            "A window that ends needs a start, too.",
        )),
    }
}
