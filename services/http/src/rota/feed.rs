//! Somebody's own duties as a calendar that their telephone reads.
//!
//! Belongs here: the routes of the link and of the file behind it. Does not belong here: the file's
//! format ([`super::ics`]).
//!
//! A calendar program can only be given an address, so the secret is part of it. What it leads to
//! is the person's own duties and no word of a customer; tries are limited per network address.

use actix_web::http::StatusCode;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use actix_web::{HttpRequest, HttpResponse, delete, get, post, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use store::rota::feed::{feed_end, feed_made, feed_make, feed_of};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::ics;
use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::session::not_too_many;

/// Whether the caller has a link.
#[derive(Serialize, ToSchema)]
#[schema(as = RotaFeed)]
pub struct FeedShape {
    /// When it was made; null where they have none.
    made_at: Option<DateTime<Utc>>,
    /// Where it leads, after the service's own address; only in the answer that made it.
    path: Option<String>,
}

impl FeedShape {
    fn kept(&self) -> serde_json::Result<String> {
        serde_json::to_string(&FeedShape { made_at: self.made_at, path: None })
    }
}

pub(super) fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(feed_show).service(feed_new).service(feed_drop).service(feed_read);
}

/// Whether the caller has a link to their duties as a calendar.
#[utoipa::path(tag = "rota", responses(
    (status = 200, description = "Whether there is one", body = FeedShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/rota/feed")]
async fn feed_show(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let made_at = feed_made(&state.store, &caller).await?;
    Ok(HttpResponse::Ok().json(FeedShape { made_at, path: None }))
}

/// Makes a link to the caller's own duties; the one before ends.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    responses(
        (status = 201, description = "The link, which is shown this once", body = FeedShape),
        (status = 401, description = "Not signed in", body = ProblemBody),
    ))]
#[post("/api/rota/feed")]
async fn feed_new(write: Write<()>) -> Result<HttpResponse, Problem> {
    let make = async |store: &Store, caller: &Caller, (): ()| {
        let token = feed_make(store, caller).await?;
        let made_at = feed_made(store, caller).await?;
        Ok(FeedShape { made_at, path: Some(format!("/api/feeds/{token}.ics")) })
    };
    // A repeat of the same write is told that there is a link, not which.
    write.once_kept_as(StatusCode::CREATED, make, FeedShape::kept).await
}

/// Ends the caller's link.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    responses(
        (status = 200, description = "There is none any more", body = FeedShape),
        (status = 401, description = "Not signed in", body = ProblemBody),
    ))]
#[delete("/api/rota/feed")]
async fn feed_drop(write: Write<()>) -> Result<HttpResponse, Problem> {
    let end = async |store: &Store, caller: &Caller, (): ()| {
        feed_end(store, caller).await?;
        Ok(FeedShape { made_at: None, path: None })
    };
    write.once(StatusCode::OK, end).await
}

/// The duties behind a link, as an RFC 5545 calendar: a month back and some half a year ahead.
#[utoipa::path(tag = "rota", security(()), params(("token" = String, Path)), responses(
    (status = 200, description = "The calendar", content_type = "text/calendar", body = String),
    (status = 401, description = "Not one of ours, or ended", body = ProblemBody),
    (status = 429, description = "Too many tries", body = ProblemBody),
))]
#[get("/api/feeds/{token}")]
async fn feed_read(
    req: HttpRequest,
    token: web::Path<String>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let feed = match feed_of(&state.store, token.trim_end_matches(".ics")).await {
        Ok(feed) => feed,
        // Only misses count: a family's telephones behind one address may read as they like.
        Err(error) => {
            not_too_many(&req, &state)?;
            return Err(error.into());
        }
    };
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "text/calendar; charset=utf-8"))
        .insert_header((CACHE_CONTROL, "private, no-store"))
        .body(ics::calendar(&feed)))
}
