//! Searching what was said on every job.
//!
//! Belongs here: the route and wire shapes of hits. Does not belong here: what is found.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::thread::search::{self, Hit};
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::problem::{Problem, ProblemBody};

/// What to search for.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct Sought {
    /// Words; "quoted words" follow each other, -word must not be there.
    #[serde(default)]
    pub q: String,
}

/// A message that was found.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FoundMessage {
    /// The job it was said on.
    pub job_id: Uuid,
    /// That job's number.
    pub job_number: i32,
    /// What was wrong there.
    pub complaint: String,
    /// The unit.
    pub unit_label: String,
    /// The message's number in its thread.
    pub seq: i64,
    /// Who wrote it; null for the service.
    pub author: Option<String>,
    /// When.
    pub at: DateTime<Utc>,
    /// The words around what was found, in pieces.
    pub snippet: Vec<SnippetPiece>,
}

/// A piece of a snippet.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SnippetPiece {
    /// The words.
    pub text: String,
    /// Whether they are what was searched for.
    pub hit: bool,
}

/// The routes of this noun.
pub(crate) fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(thread_search);
}

/// Searches the shop's threads, best first. Threads that the caller may not see now are left
/// out.
#[utoipa::path(
    tag = "thread",
    params(Sought),
    responses(
        (status = 200, description = "The messages found", body = Vec<FoundMessage>),
        (status = 422, description = "Too much to search for", body = ProblemBody),
    )
)]
#[get("/api/threads/search")]
async fn thread_search(
    caller: SignedIn,
    sought: web::Query<Sought>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let hits = search::search(&state.store, &caller, &sought.q).await?;
    let shapes: Vec<_> = hits.into_iter().map(FoundMessage::from).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

impl From<Hit> for FoundMessage {
    fn from(hit: Hit) -> Self {
        FoundMessage {
            job_id: hit.job_id,
            job_number: hit.job_number,
            complaint: hit.complaint,
            unit_label: hit.unit_label,
            seq: hit.seq,
            author: hit.author,
            at: hit.at,
            snippet: hit
                .snippet
                .into_iter()
                .map(|(text, hit)| SnippetPiece { text, hit })
                .collect(),
        }
    }
}
