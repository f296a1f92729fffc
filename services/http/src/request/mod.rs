//! Condemn requests and the moves on them.
//!
//! Belongs here: the routes of this noun. Does not belong here: its rules, and its wire shapes
//! ([`shapes`]).

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use engine::gate::State;
use serde::Deserialize;
use store::request::{self, Filter, Step};
use store::{Caller, Store};
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub mod moves;
pub mod pairs;
pub mod readers;
pub mod shapes;

use shapes::{NewRequest, Request};

/// Which requests to list.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Wanted {
    /// States, separated by commas; every state when absent.
    pub state: Option<String>,
    /// Only those that the caller made or reads.
    #[serde(default)]
    pub mine: bool,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(request_make).service(request_list).service(request_show);
    moves::routes(cfg);
    readers::routes(cfg);
    pairs::routes(cfg);
}

/// Makes a condemn request on a job: the claim that one component has failed.
#[utoipa::path(
    tag = "request",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewRequest,
    responses(
        (status = 201, description = "Made, and judged", body = Request),
        (status = 403, description = "Not a technician, or an open request on the job must be read blind first", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "There is an open one for that component", body = ProblemBody),
        (status = 422, description = "What is wrong with the claim, and where", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/requests")]
async fn request_make(
    job_id: web::Path<Uuid>,
    write: Write<NewRequest>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let make = async move |store: &Store, caller: &Caller, new: NewRequest| {
        let new = request::NewRequest {
            claim: new.claim.0,
            estimated_cost_cents: new.estimated_cost_cents,
            note: new.note,
            submit: new.submit,
        };
        Ok(Request::from(request::request_make(store, caller, job_id, new).await?))
    };
    write.once(StatusCode::CREATED, make).await
}

/// The shop's condemn requests, latest change first.
#[utoipa::path(
    tag = "request",
    params(Wanted),
    responses(
        (status = 200, description = "As the caller may see them", body = Vec<Request>),
        (status = 400, description = "No such state", body = ProblemBody),
    )
)]
#[get("/api/requests")]
async fn request_list(
    caller: SignedIn,
    wanted: web::Query<Wanted>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let states = states_of(wanted.state.as_deref().unwrap_or_default())?;
    let filter = Filter::InStates(states);
    let shown = request::list_shown(&state.store, &caller, filter, wanted.mine).await?;
    let listed: Vec<Request> = shown.into_iter().map(Request::from).collect();
    Ok(HttpResponse::Ok().json(listed))
}

/// A condemn request.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path)),
    responses(
        (status = 200, description = "As the caller may see it", body = Request),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
    )
)]
#[get("/api/requests/{request_id}")]
async fn request_show(
    caller: SignedIn,
    request_id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let shown = request::shown_to(&state.store, &caller, request_id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(Request::from(shown)))
}

fn states_of(list: &str) -> Result<Vec<State>, Problem> {
    list.split(',')
        .map(str::trim)
        .filter(|id| !id.is_empty())
        .map(|id| {
            State::from_id(id).ok_or_else(|| {
                let known: Vec<&str> = State::ALL.into_iter().map(State::id).collect();
                Problem::bad_parameter(format!(
                    "There is no state \"{id}\"; there are {}.",
                    known.join(", ")
                ))
            })
        })
        .collect()
}

/// Makes a move and answers with the request as it is then.
async fn moved<T>(
    request_id: web::Path<Uuid>,
    write: Write<T>,
    step: impl FnOnce(T) -> Step + 'static,
) -> Result<HttpResponse, Problem>
where
    T: serde::de::DeserializeOwned + 'static,
{
    let request_id = request_id.into_inner();
    let make = async move |store: &Store, caller: &Caller, body: T| {
        let shown = request::request_move(store, caller, request_id, step(body)).await?;
        Ok(Request::from(shown))
    };
    write.once(StatusCode::OK, make).await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_are_read_from_a_list_and_an_unknown_one_is_named() {
        assert_eq!(states_of("ready, held").unwrap(), [State::Ready, State::Held]);
        assert!(states_of("").unwrap().is_empty());
        let problem = states_of("ready,condemned").unwrap_err();
        assert!(problem.body().detail.contains("condemned"));
    }
}
