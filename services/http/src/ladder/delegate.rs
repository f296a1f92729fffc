//! Who may approve for a while, though they do not manage.
//!
//! Belongs here: the routes and wire shapes. Does not belong here: the approval itself (the
//! request's), and delegates that a rule names.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, delete, get, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::delegate::{DelegatePut, Delegation, delegate_end, delegate_put, delegations};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// Somebody who may approve for a while.
#[derive(Serialize, ToSchema)]
#[schema(as = Delegate)]
pub struct DelegateShape {
    /// Who.
    person: PersonRef,
    /// Below this amount, cents.
    up_to_cents: i64,
    /// From when.
    from: DateTime<Utc>,
    /// Until when.
    until: DateTime<Utc>,
    /// Who named them; null where a rule did.
    named_by: Option<PersonRef>,
    /// Why, in their words.
    why: String,
}

/// Naming somebody.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DelegateName {
    /// Below this amount, cents, from 1 to 10,000,000.
    up_to_cents: i64,
    /// Until then, at most 28 days ahead.
    until: DateTime<Utc>,
    /// Why; goes on the record. At most 400 characters.
    #[serde(default)]
    why: String,
}

impl From<Delegation> for DelegateShape {
    fn from(one: Delegation) -> Self {
        let named_by = one.named_by.zip(one.named_by_name);
        DelegateShape {
            person: PersonRef { id: one.person_id, name: one.person_name },
            up_to_cents: one.up_to_cents,
            from: one.at,
            until: one.until,
            named_by: named_by.map(|(id, name)| PersonRef { id, name }),
            why: one.why,
        }
    }
}

pub(super) fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(delegates_show).service(delegate_name).service(delegate_drop);
}

async fn standing(store: &Store, caller: &Caller) -> Result<Vec<DelegateShape>, Problem> {
    Ok(delegations(store, caller).await?.into_iter().map(Into::into).collect())
}

/// Who may approve now, though they do not manage.
#[utoipa::path(tag = "ladder", responses(
    (status = 200, description = "The soonest to end first", body = Vec<DelegateShape>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/delegates")]
async fn delegates_show(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    Ok(HttpResponse::Ok().json(standing(&state.store, &caller).await?))
}

/// Names somebody who may approve below an amount for a while, in place of what was delegated to
/// them before. The ladder for approvals reaches them from then on.
#[utoipa::path(tag = "ladder",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = DelegateName,
    responses(
        (status = 200, description = "Who may approve now", body = Vec<DelegateShape>),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 404, description = "No such person in the shop", body = ProblemBody),
        (status = 409, description = "They manage themselves, or are not at work",
            body = ProblemBody),
        (status = 422, description = "Not an amount, or too long", body = ProblemBody),
    ))]
#[put("/api/people/{id}/delegation")]
async fn delegate_name(
    id: web::Path<Uuid>,
    write: Write<DelegateName>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let name = async move |store: &Store, caller: &Caller, body: DelegateName| {
        let DelegateName { up_to_cents, until, why } = body;
        delegate_put(store, caller, id, DelegatePut { up_to_cents, until, why }).await?;
        standing(store, caller).await
    };
    write.once(StatusCode::OK, name).await
}

/// Ends whatever is delegated to somebody.
#[utoipa::path(tag = "ladder",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    responses(
        (status = 200, description = "Who may approve now", body = Vec<DelegateShape>),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 404, description = "No such person in the shop", body = ProblemBody),
    ))]
#[delete("/api/people/{id}/delegation")]
async fn delegate_drop(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let end = async move |store: &Store, caller: &Caller, (): ()| {
        delegate_end(store, caller, id).await?;
        standing(store, caller).await
    };
    write.once(StatusCode::OK, end).await
}
