//! Guest readers: links for the shop, and the guest's own few routes.
//!
//! Belongs here: making, listing and ending links. Does not belong here: coming in by one
//! ([`enter`]), what a guest does ([`read`]), wire shapes ([`shapes`]).
//!
//! A guest's routes are all below `/api/guest/`, take [`crate::auth::GuestIn`] and nothing
//! else, and no other route lets a guest in.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, delete, get, post, web};
use store::{Caller, Store, guest};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub mod enter;
pub mod read;
pub mod shapes;

use shapes::{GuestLink, GuestLinkMade, NewGuestLink};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(link_make).service(link_list).service(link_revoke);
    enter::routes(cfg);
    read::routes(cfg);
}

/// Makes a link for a guest reader of one request. Its token is shown in this answer and never
/// again.
#[utoipa::path(
    tag = "guest",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewGuestLink,
    responses(
        (status = 201, description = "The link; a repeat of the key gets it without its token", body = GuestLinkMade),
        (status = 403, description = "Neither technician nor manager", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "A draft, ended, or links enough", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/guest-links")]
async fn link_make(
    request_id: web::Path<Uuid>,
    write: Write<NewGuestLink>,
) -> Result<HttpResponse, Problem> {
    let request_id = request_id.into_inner();
    let make = async move |store: &Store, caller: &Caller, new: NewGuestLink| {
        let (link, token) = guest::link_make(store, caller, request_id, new.into()).await?;
        Ok(GuestLinkMade::new(link, token, store.now()))
    };
    write.once_kept_as(StatusCode::CREATED, make, GuestLinkMade::kept).await
}

/// The links of a request, newest first, with who came by them.
#[utoipa::path(
    tag = "guest",
    params(("request_id" = Uuid, Path)),
    responses(
        (status = 200, description = "The links", body = Vec<GuestLink>),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
    )
)]
#[get("/api/requests/{request_id}/guest-links")]
async fn link_list(
    caller: SignedIn,
    request_id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let links = guest::link_list(&state.store, &caller, request_id.into_inner()).await?;
    let now = state.store.now();
    let shapes: Vec<_> = links.into_iter().map(|link| GuestLink::new(link, now)).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

/// Ends a link, the guest's session and their open sockets.
#[utoipa::path(
    tag = "guest",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    responses(
        (status = 200, description = "Ended", body = GuestLink),
        (status = 403, description = "Neither its maker, nor the requester, nor a manager", body = ProblemBody),
        (status = 404, description = "No such link in the shop", body = ProblemBody),
    )
)]
#[delete("/api/guest-links/{id}")]
async fn link_revoke(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let revoke = async move |store: &Store, caller: &Caller, (): ()| {
        let link = guest::link_revoke(store, caller, id).await?;
        Ok(GuestLink::new(link, store.now()))
    };
    write.once(StatusCode::OK, revoke).await
}
