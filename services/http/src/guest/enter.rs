//! Coming in by a link.
//!
//! Belongs here: the routes from a token to a cookie, tries per network address. Does not
//! belong here: codes and their limits (the store's).
//!
//! The token travels in bodies, never in an address that a log would keep.

use actix_web::cookie::time::OffsetDateTime;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, post, web};
use store::guest::{self, CODE_MIN, CODE_TRIES_MAX};
use utoipa_actix_web::service_config::ServiceConfig;

use super::shapes::{GuestCode, GuestCodeSent, GuestDetails, GuestInvitation, GuestToken};
use crate::app::AppState;
use crate::auth::GUEST_COOKIE;
use crate::idempotency::Body;
use crate::problem::{Problem, ProblemBody};
use crate::session::not_too_many;

/// Where the cookie is sent to, and nowhere else.
pub(super) const COOKIE_PATH: &str = "/api/guest";

/// The routes that lead in.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(guest_invitation).service(guest_code_send).service(guest_session_open);
}

/// What a link is for, and whether it still stands.
#[utoipa::path(tag = "guest", security(()), request_body = GuestToken, responses(
    (status = 200, description = "It stands", body = GuestInvitation),
    (status = 401, description = "Unknown, ended, or too old", body = ProblemBody),
    (status = 429, description = "Too many tries", body = ProblemBody),
))]
#[post("/api/guest/invitation")]
async fn guest_invitation(
    req: HttpRequest,
    state: web::Data<AppState>,
    body: Body<GuestToken>,
) -> Result<HttpResponse, Problem> {
    not_too_many(&req, &state)?;
    let invitation = guest::invitation_of(&state.store, &body.0.token).await?;
    Ok(HttpResponse::Ok().json(GuestInvitation::from(invitation)))
}

/// Sends a code to the address that the guest names.
#[utoipa::path(tag = "guest", security(()), request_body = GuestDetails, responses(
    (status = 200, description = "It is on its way", body = GuestCodeSent),
    (status = 401, description = "The link is unknown, ended, or too old", body = ProblemBody),
    (status = 409, description = "The address is of the shop's own people, or the link is somebody else's", body = ProblemBody),
    (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    (status = 429, description = "Too many codes or tries", body = ProblemBody),
))]
#[post("/api/guest/code")]
async fn guest_code_send(
    req: HttpRequest,
    state: web::Data<AppState>,
    body: Body<GuestDetails>,
) -> Result<HttpResponse, Problem> {
    not_too_many(&req, &state)?;
    let Body(GuestDetails { token, name, licence, email }) = body;
    guest::code_send(&state.store, &token, &name, &licence, &email).await?;
    Ok(HttpResponse::Ok().json(GuestCodeSent { good_for_min: CODE_MIN, tries: CODE_TRIES_MAX }))
}

/// Takes the code and opens a session, whose token is in a cookie.
#[utoipa::path(tag = "guest", security(()), request_body = GuestCode, responses(
    (status = 204, description = "In"),
    (status = 401, description = "The link is unknown, ended, or too old", body = ProblemBody),
    (status = 409, description = "The link or the request has that guest already", body = ProblemBody),
    (status = 422, description = "Not the code, or it is over", body = ProblemBody),
    (status = 429, description = "Too many tries", body = ProblemBody),
))]
#[post("/api/guest/session")]
async fn guest_session_open(
    req: HttpRequest,
    state: web::Data<AppState>,
    body: Body<GuestCode>,
) -> Result<HttpResponse, Problem> {
    not_too_many(&req, &state)?;
    let agent = req.headers().get(header::USER_AGENT).and_then(|agent| agent.to_str().ok());
    let Body(GuestCode { token, code }) = body;
    let entered =
        guest::code_verify(&state.store, &token, &code, agent.unwrap_or_default()).await?;
    let ends = OffsetDateTime::from_unix_timestamp(entered.expires_at.timestamp())
        .map_err(Problem::internal)?;
    let cookie = Cookie::build(GUEST_COOKIE, entered.token)
        .path(COOKIE_PATH)
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(state.config.cookies_secure)
        .expires(ends)
        .finish();
    Ok(HttpResponse::NoContent().cookie(cookie).finish())
}
