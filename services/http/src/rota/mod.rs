//! The rota: who is on duty when.
//!
//! Belongs here: the routes of this noun. Swaps and leave are in [`agree`], whole weeks and the
//! quarter in [`weeks`]. Does not belong here: its shapes ([`shapes`]) and its rules.

pub mod agree;
pub mod feed;
mod ics;
pub mod shapes;
pub mod weeks;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, delete, get, post, web};
use chrono::TimeDelta;
use store::{Caller, Store};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub use weeks::LoadShape;

pub use shapes::{DutyNowShape, EntryAdd, EntryDoneShape, EntryRemove, RotaQuery, RotaShape};

/// Days shown where no end is asked for: five weeks.
const DAYS_SHOWN: i64 = 35;

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(rota_show).service(duty_show).service(entry_add).service(entry_remove);
    agree::routes(cfg);
    weeks::routes(cfg);
    feed::routes(cfg);
}

/// The rota from one moment to another, at most 400 days; five weeks from now where not asked.
#[utoipa::path(tag = "rota", params(RotaQuery), responses(
    (status = 200, description = "The entries that stand, by time", body = RotaShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/rota")]
async fn rota_show(
    caller: SignedIn,
    query: web::Query<RotaQuery>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let (store, shop_id) = (&state.store, caller.shop_id);
    let calendar = store::calendar::of_shop(store.conn(), shop_id).await?;
    let from = query.from.unwrap_or_else(|| calendar.day(calendar.date(store.now())).start);
    let to = query.to.unwrap_or(from + TimeDelta::days(DAYS_SHOWN));
    let entries = store::rota::spans(store.conn(), shop_id, from, to).await?;
    let people = store::person::person_list(store.conn(), shop_id).await?;
    Ok(HttpResponse::Ok().json(RotaShape::new(&calendar, from, to, entries, &people)))
}

/// Who is on duty now, each with since when and until when without a break.
#[utoipa::path(tag = "rota", responses(
    (status = 200, description = "Everybody with an entry that covers now", body = DutyNowShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/rota/duty")]
async fn duty_show(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let (store, shop_id) = (&state.store, caller.shop_id);
    let duty = store::rota::duty_at(store.conn(), shop_id, store.now()).await?;
    let people = store::person::person_list(store.conn(), shop_id).await?;
    Ok(HttpResponse::Ok().json(DutyNowShape::new(duty, &people)))
}

/// Puts one entry in.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = EntryAdd,
    responses(
        (status = 201, description = "Put in, with what it breaks", body = EntryDoneShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such person", body = ProblemBody),
        (status = 409, description = "They have another entry then, or it breaks their rest",
            body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/rota/entries")]
async fn entry_add(write: Write<EntryAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, new: EntryAdd| {
        let done = store::rota::change::entry_add(store, caller, new.into()).await?;
        let people = store::person::person_list(store.conn(), caller.shop_id).await?;
        Ok(EntryDoneShape::new(done, &people))
    };
    write.once(StatusCode::CREATED, work).await
}

/// Takes one entry out. A body is only needed to say why.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The entry"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = Option<EntryRemove>,
    responses(
        (status = 204, description = "Taken out"),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such entry stands", body = ProblemBody),
    ))]
#[delete("/api/rota/entries/{id}")]
async fn entry_remove(
    id: web::Path<Uuid>,
    write: Write<Option<EntryRemove>>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, body: Option<EntryRemove>| {
        let why = body.map(|body| body.why).unwrap_or_default();
        store::rota::change::entry_remove(store, caller, id, &why).await?;
        Ok(())
    };
    write.once(StatusCode::NO_CONTENT, work).await
}
