//! Sign-in, refresh, sessions.
//!
//! Belongs here: the refresh cookie, tries per network address, the routes. Does not belong
//! here: passwords, tokens' reuse, lock-out of an address of mail (the store's).

use std::net::{IpAddr, Ipv4Addr};

use actix_web::cookie::time::Duration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::StatusCode;
use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, delete, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::session::{Listed, Opened, SESSION_DAYS};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::{ACCESS_TOKEN_MIN, SignedIn};
use crate::idempotency::{Body, Write};
use crate::person::{MeShape, me_of};
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// The cookie with the refresh token. The page's scripts cannot read it.
pub const REFRESH_COOKIE: &str = "cs_refresh";

/// Where the cookie is sent to, and nowhere else.
const COOKIE_PATH: &str = "/api/session";

/// Addresses remembered before those that have been quiet are forgotten.
const ADDRESSES_KEPT: usize = 10_000;

/// Who wants in.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignIn {
    /// E-mail address.
    email: String,
    /// Password.
    password: String,
}

/// A session that has begun or goes on. The refresh token is in a cookie.
#[derive(Serialize, ToSchema)]
pub struct SessionOpened {
    /// Goes into `Authorization: Bearer …`.
    access_token: String,
    /// Seconds until it expires.
    expires_in_s: i64,
    /// Who signed in.
    person: MeShape,
}

/// A session.
#[derive(Serialize, ToSchema)]
#[schema(as = Session)]
pub struct SessionShape {
    /// Id.
    id: Uuid,
    /// Whose.
    person: PersonRef,
    /// When it began.
    created_at: DateTime<Utc>,
    /// When it was last refreshed.
    seen_at: DateTime<Utc>,
    /// When it ends unless refreshed.
    expires_at: DateTime<Utc>,
    /// What the browser says it is.
    agent: String,
    /// Whether it is the one asking.
    current: bool,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(session_open)
        .service(session_refresh)
        .service(session_end)
        .service(session_list)
        .service(session_revoke);
}

/// Signs in.
#[utoipa::path(tag = "session", security(()), request_body = SignIn, responses(
    (status = 200, description = "Signed in", body = SessionOpened),
    (status = 401, description = "Wrong address or password", body = ProblemBody),
    (status = 429, description = "Too many tries, or the address is locked", body = ProblemBody),
))]
#[post("/api/session")]
async fn session_open(
    req: HttpRequest,
    state: web::Data<AppState>,
    body: Body<SignIn>,
) -> Result<HttpResponse, Problem> {
    let address = not_too_many(&req, &state)?;
    let agent = req.headers().get(header::USER_AGENT).and_then(|agent| agent.to_str().ok());
    let opened = store::session::sign_in(
        &state.store,
        &body.0.email,
        &body.0.password,
        agent.unwrap_or_default(),
        &address.to_string(),
    )
    .await?;
    respond(&state, opened).await
}

/// Trades the refresh cookie for the next one and a new access token.
#[utoipa::path(tag = "session", security(()), responses(
    (status = 200, description = "Refreshed", body = SessionOpened),
    (status = 401, description = "The session is over", body = ProblemBody),
))]
#[post("/api/session/refresh")]
async fn session_refresh(
    req: HttpRequest,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let cookie = req
        .cookie(REFRESH_COOKIE)
        .ok_or_else(|| Problem::not_signed_in("There is no session to refresh. Sign in."))?;
    let opened = store::session::refresh(&state.store, cookie.value()).await?;
    respond(&state, opened).await
}

/// Signs out: ends the session of the refresh cookie, and its open sockets.
#[utoipa::path(tag = "session", security(()), responses(
    (status = 204, description = "Signed out, also when nobody was signed in"),
))]
#[post("/api/session/end")]
async fn session_end(
    req: HttpRequest,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    if let Some(cookie) = req.cookie(REFRESH_COOKIE) {
        store::session::end(&state.store, cookie.value()).await?;
    }
    let mut gone = refresh_cookie(&state, String::new());
    gone.make_removal();
    Ok(HttpResponse::NoContent().cookie(gone).finish())
}

/// The sessions that stand: the caller's own, or everybody's for those who manage.
#[utoipa::path(tag = "session", responses(
    (status = 200, description = "The sessions", body = Vec<SessionShape>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/sessions")]
async fn session_list(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let sessions = store::session::list(&state.store, &caller).await?;
    let current = caller.session_id;
    let shapes: Vec<_> =
        sessions.into_iter().map(|listed| SessionShape::new(listed, current)).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

/// Ends a session, and its open sockets.
#[utoipa::path(tag = "session",
    params(
        ("id" = Uuid, Path, description = "The session"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    responses(
        (status = 204, description = "Ended"),
        (status = 404, description = "No such session of yours", body = ProblemBody),
    ))]
#[delete("/api/sessions/{id}")]
async fn session_revoke(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, (): ()| {
        Ok(store::session::revoke(store, caller, id).await?)
    };
    write.once(StatusCode::NO_CONTENT, work).await
}

async fn respond(state: &AppState, opened: Opened) -> Result<HttpResponse, Problem> {
    let person = &opened.person;
    let access_token = state.keys.sign(person.id, opened.session_id, state.store.now())?;
    let me = me_of(&state.store, person.shop_id, person.id).await?;
    let mut response = HttpResponse::Ok();
    if let Some(token) = opened.refresh_token {
        response.cookie(refresh_cookie(state, token));
    }
    Ok(response.insert_header((header::CACHE_CONTROL, "no-store")).json(SessionOpened {
        access_token,
        expires_in_s: ACCESS_TOKEN_MIN * 60,
        person: me,
    }))
}

fn refresh_cookie(state: &AppState, value: String) -> Cookie<'static> {
    Cookie::build(REFRESH_COOKIE, value)
        .path(COOKIE_PATH)
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(state.config.cookies_secure)
        .max_age(Duration::days(SESSION_DAYS))
        .finish()
}

/// Counts a try to come in from the caller's network address, and gives that.
///
/// # Errors
/// "too-many" when there were.
pub(crate) fn not_too_many(req: &HttpRequest, state: &AppState) -> Result<IpAddr, Problem> {
    let address = address_of(req, state);
    let limiter = &state.signin_limiter;
    if limiter.len() > ADDRESSES_KEPT {
        limiter.retain_recent();
    }
    if limiter.check_key(&address).is_err() {
        return Err(Problem::too_many(
            "There were too many sign-ins from your network address. Try again in a minute.",
            60,
        ));
    }
    Ok(address)
}

/// The caller's network address. Behind a proxy it is the last one that the proxy added:
/// anything before it was written by the caller.
fn address_of(req: &HttpRequest, state: &AppState) -> IpAddr {
    let peer = req.peer_addr().map(|address| address.ip());
    let forwarded = || {
        let header = req.headers().get_all("X-Forwarded-For").last()?;
        header.to_str().ok()?.rsplit(',').next()?.trim().parse().ok()
    };
    let told = if state.config.behind_proxy { forwarded() } else { None };
    told.or(peer).unwrap_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED))
}

impl SessionShape {
    fn new(listed: Listed, current: Uuid) -> Self {
        SessionShape {
            current: listed.id == current,
            id: listed.id,
            person: PersonRef { id: listed.person_id, name: listed.person_name },
            created_at: listed.created_at,
            seen_at: listed.seen_at,
            expires_at: listed.expires_at,
            agent: listed.agent,
        }
    }
}
