//! Checking a case with the engine alone.
//!
//! Belongs here: the route. Does not belong here: the engine, and a job's own evidence.

use actix_web::{HttpResponse, post, web};
use store::evidence;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Body;
use crate::openapi::{CaseShape, VerdictShape};
use crate::problem::{Problem, ProblemBody};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(check_run);
}

/// Judges a case, keeping nothing: the very same path as `countersign check`. Not for whoever
/// owes a blind read, nor on the circuit of a request that they could still read blind.
#[utoipa::path(
    tag = "check",
    request_body = CaseShape,
    responses(
        (status = 200, description = "The verdict", body = VerdictShape),
        (status = 400, description = "Not a case", body = ProblemBody),
        (status = 403, description = "It could lead the caller, who reads blind", body = ProblemBody),
        (status = 413, description = "The case is too large", body = ProblemBody),
        (status = 422, description = "What is wrong with the case, and where", body = ProblemBody),
    )
)]
#[post("/api/check")]
async fn check_run(
    caller: SignedIn,
    state: web::Data<AppState>,
    case: Body<CaseShape>,
) -> Result<HttpResponse, Problem> {
    let verdict = evidence::judge_given(&state.store, &caller, case.0.0).await?;
    Ok(HttpResponse::Ok().json(VerdictShape(verdict)))
}
