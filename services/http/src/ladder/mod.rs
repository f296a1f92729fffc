//! Ladders: what happens when nobody answers.
//!
//! Belongs here: the routes of what stands and of saying no. Does not belong here: the shop's own
//! ladders ([`setting`]), delegates ([`delegate`]), shapes ([`shapes`]), and starting or stopping one, which no route does: what
//! happens to its subject does.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use roster::ladder::Kind;
use store::{Caller, Store};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub mod delegate;
pub mod setting;
pub mod shapes;

use shapes::{JobDecline, LadderShape, Standing, StandingDeferral, StandingLadder};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(standing_show).service(job_ladder_show).service(job_decline);
    setting::routes(cfg);
    delegate::routes(cfg);
}

/// What stands on the shop's open jobs: ladders with their next step, and deferrals.
#[utoipa::path(tag = "ladder", responses(
    (status = 200, description = "What stands", body = Standing),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/standing")]
async fn standing_show(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let standing = store::ladder::standing(&state.store, &caller).await?;
    let shape = Standing {
        ladders: standing
            .ladders
            .into_iter()
            .map(|one| {
                let words = one.next.as_ref().zip(Kind::from_id(&one.kind));
                StandingLadder {
                    job_id: one.job_id,
                    next_at: one.next.as_ref().map(|step| step.due_at),
                    next_words: words.map(|(step, kind)| step.spec().says(kind)),
                    held: one.next.as_ref().is_some_and(|step| step.held_until.is_some()),
                    asks_me: one.asks_me,
                    kind: one.kind,
                }
            })
            .collect(),
        deferred: standing
            .deferred
            .into_iter()
            .map(|(job_id, until)| StandingDeferral { job_id, until })
            .collect(),
    };
    Ok(HttpResponse::Ok().json(shape))
}

/// The latest ladder of a job that nobody had; null where there was none.
#[utoipa::path(
    tag = "ladder",
    params(("id" = Uuid, Path)),
    responses(
        (status = 200, description = "The ladder, with what each step did", body = Option<LadderShape>),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{id}/ladder")]
async fn job_ladder_show(
    caller: SignedIn,
    id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let ladder = store::ladder::of_job(&state.store, &caller, id.into_inner()).await?;
    let shape = ladder.map(|ladder| LadderShape::new(ladder, Kind::UrgentJob));
    Ok(HttpResponse::Ok().json(shape))
}

/// Says no to an urgent job that the caller is asked to take; the next are asked when nobody is
/// left to answer.
#[utoipa::path(
    tag = "ladder",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = JobDecline,
    responses(
        (status = 200, description = "The ladder as it is now", body = Option<LadderShape>),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "Not asked, or answered already", body = ProblemBody),
        (status = 422, description = "A reason that says too little", body = ProblemBody),
    )
)]
#[post("/api/jobs/{id}/decline")]
async fn job_decline(
    id: web::Path<Uuid>,
    write: Write<JobDecline>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let decline = async move |store: &Store, caller: &Caller, body: JobDecline| {
        store::job::job_decline(store, caller, id, &body.reason).await?;
        let ladder = store::ladder::of_job(store, caller, id).await?;
        Ok(ladder.map(|ladder| LadderShape::new(ladder, Kind::UrgentJob)))
    };
    write.once(StatusCode::OK, decline).await
}
