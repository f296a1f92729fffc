//! Finding a reader: the ranked list, asking one, declining.
//!
//! Belongs here: the routes and wire shapes of the search. Does not belong here: the order, the
//! rungs and their times; accepting, which is the move `take`.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::request::{self, Ask, CandidateShown, Candidates};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use super::shapes::{Reason, Request};
use crate::app::AppState;
use crate::auth::SignedIn;
use crate::evidence::shapes::person;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// Somebody asked to read.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ReaderAsk)]
pub struct AskShape {
    /// Who.
    pub person: PersonRef,
    /// By whom; null for the ladder.
    pub asked_by: Option<PersonRef>,
    /// When.
    pub asked_at: DateTime<Utc>,
    /// accepted, declined, or lapsed where it was no longer wanted; null while open.
    pub answer: Option<String>,
    /// When that was.
    pub answered_at: Option<DateTime<Utc>>,
    /// Why it was declined; empty where the caller may not see it.
    pub reason: String,
}

/// Who may read a request, and who may not.
#[derive(Debug, Serialize, ToSchema)]
pub struct CandidateList {
    /// Best placed first.
    pub ranked: Vec<CandidateShape>,
    /// Everyone else in the shop.
    pub excluded: Vec<ExcludedShape>,
}

/// Somebody who may read it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Candidate)]
pub struct CandidateShape {
    /// Who.
    pub person: PersonRef,
    /// How soon they will probably have answered, in minutes.
    pub answers_in_min: f64,
    /// Why they stand where they do, each a short clause.
    pub because: Vec<String>,
    /// Their last ask on this request; null when there was none.
    pub ask: Option<AskShape>,
}

/// Somebody who may not.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ExcludedCandidate)]
pub struct ExcludedShape {
    /// Who.
    pub person: PersonRef,
    /// Why, after their name.
    pub because: String,
}

/// The body that asks somebody.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AskOne {
    /// Who.
    pub person_id: Uuid,
}

/// The routes of the search.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(request_candidates).service(request_ask).service(request_decline_read);
}

/// Who may read a request, best placed first, with the reasons; for whoever sees the claim.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path)),
    responses(
        (status = 200, description = "Who may and who may not", body = CandidateList),
        (status = 403, description = "The claim is kept from the caller", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
    )
)]
#[get("/api/requests/{request_id}/candidates")]
async fn request_candidates(
    caller: SignedIn,
    request_id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let found = request::candidates(&state.store, &caller, request_id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(CandidateList::from(found)))
}

/// Asks one person now, whatever the ladder would do.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = AskOne,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not the requester, nor a manager who sees the claim", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Asked already, or no reader is looked for", body = ProblemBody),
        (status = 422, description = "That person cannot read it", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/ask")]
async fn request_ask(
    request_id: web::Path<Uuid>,
    write: Write<AskOne>,
) -> Result<HttpResponse, Problem> {
    let request_id = request_id.into_inner();
    let ask = async move |store: &Store, caller: &Caller, body: AskOne| {
        let shown = request::reader_ask(store, caller, request_id, body.person_id).await?;
        Ok(Request::from(shown))
    };
    write.once(StatusCode::OK, ask).await
}

/// Says no to an ask, with the reason; the next are asked at once when nobody is left.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Reason,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not asked, or no reader is looked for", body = ProblemBody),
        (status = 422, description = "No reason given", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/decline-read")]
async fn request_decline_read(
    request_id: web::Path<Uuid>,
    write: Write<Reason>,
) -> Result<HttpResponse, Problem> {
    let request_id = request_id.into_inner();
    let decline = async move |store: &Store, caller: &Caller, body: Reason| {
        let shown = request::read_decline(store, caller, request_id, &body.reason).await?;
        Ok(Request::from(shown))
    };
    write.once(StatusCode::OK, decline).await
}

impl From<Ask> for AskShape {
    fn from(ask: Ask) -> Self {
        AskShape {
            person: person(ask.person),
            asked_by: ask.asked_by.map(person),
            asked_at: ask.asked_at,
            answer: ask.answer,
            answered_at: ask.answered_at,
            reason: ask.reason,
        }
    }
}

impl From<Candidates> for CandidateList {
    fn from(found: Candidates) -> Self {
        let excluded = found.excluded.into_iter();
        CandidateList {
            ranked: found.ranked.into_iter().map(CandidateShape::from).collect(),
            excluded: excluded
                .map(|(named, why)| ExcludedShape {
                    person: person(named),
                    because: why.to_owned(),
                })
                .collect(),
        }
    }
}

impl From<CandidateShown> for CandidateShape {
    fn from(candidate: CandidateShown) -> Self {
        CandidateShape {
            person: person(candidate.person),
            answers_in_min: candidate.answers_in_min,
            because: candidate.because,
            ask: candidate.ask.map(AskShape::from),
        }
    }
}
