//! Swaps and leave: what people agree on.
//!
//! Belongs here: the routes and wire shapes of both. Does not belong here: their rules.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use roster::calendar::Span;
use serde::{Deserialize, Serialize};
use store::person::Person;
use store::rota::leave::{self, Answer, LeaveAsk};
use store::rota::swap::{self, State, Swap, SwapNew};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use super::shapes::{EntryShape, named};
use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// What somebody offers.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = SwapAdd)]
pub struct SwapAdd {
    /// One of the caller's duties.
    entry_id: Uuid,
    /// To whom; null to whoever takes it.
    #[serde(default)]
    to: Option<Uuid>,
    /// One of theirs in return; null to give it away.
    #[serde(default)]
    wanted_id: Option<Uuid>,
    /// A word about it.
    #[serde(default)]
    note: String,
}

/// Where an offer stands.
#[derive(Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = SwapState)]
pub enum SwapStateShape {
    /// Waits for an answer.
    Open,
    /// The rota has been changed.
    Accepted,
    /// The other does not want it.
    Declined,
    /// Whoever offered does not want it any more.
    Withdrawn,
    /// Nobody answered in time.
    Expired,
    /// The rota was changed otherwise.
    Overtaken,
}

/// What the caller may do with an offer.
#[derive(Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = SwapMove)]
pub enum SwapMove {
    /// Take it.
    Accept,
    /// Say no.
    Decline,
    /// Take it back.
    Withdraw,
}

/// An offer.
#[derive(Serialize, ToSchema)]
#[schema(as = Swap)]
pub struct SwapShape {
    /// Id.
    id: Uuid,
    /// Whose duty is offered, and which.
    offered: EntryShape,
    /// To whom; null to whoever takes it.
    offered_to: Option<PersonRef>,
    /// What they want in return; null to give it away.
    wanted: Option<EntryShape>,
    /// A word about it.
    note: String,
    /// When it was made.
    made_at: DateTime<Utc>,
    /// Until when it is open.
    expires_at: DateTime<Utc>,
    /// Where it stands.
    state: SwapStateShape,
    /// Why it was settled so; often empty.
    settled_why: String,
    /// What the caller may do with it.
    may: Vec<SwapMove>,
}

impl SwapShape {
    fn new(swap: Swap, caller: &Caller, people: &[Person]) -> Self {
        let open = swap.state == State::Open;
        let mut may = Vec::new();
        if open && swap.offered_by == caller.person_id {
            may.push(SwapMove::Withdraw);
        } else if open && swap.offered_to == Some(caller.person_id) {
            may.extend([SwapMove::Accept, SwapMove::Decline]);
        } else if open && swap.offered_to.is_none() && caller.is(store::person::Role::Technician) {
            may.push(SwapMove::Accept);
        }
        SwapShape {
            id: swap.id,
            offered: EntryShape::new(swap.offered, people),
            offered_to: swap.offered_to.map(|id| named(id, people)),
            wanted: swap.wanted.map(|entry| EntryShape::new(entry, people)),
            note: swap.note,
            made_at: swap.made_at,
            expires_at: swap.expires_at,
            state: match swap.state {
                State::Open => SwapStateShape::Open,
                State::Accepted => SwapStateShape::Accepted,
                State::Declined => SwapStateShape::Declined,
                State::Withdrawn => SwapStateShape::Withdrawn,
                State::Expired => SwapStateShape::Expired,
                State::Overtaken => SwapStateShape::Overtaken,
            },
            settled_why: swap.settled_why,
            may,
        }
    }
}

/// Why, in a few words.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RotaWhy)]
pub struct Why {
    /// In a few words; may be empty, except where leave is refused.
    #[serde(default)]
    why: String,
}

/// Leave that is asked for.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = LeaveAdd)]
pub struct LeaveAdd {
    /// From when.
    start: DateTime<Utc>,
    /// Until when.
    end: DateTime<Utc>,
    /// Why; may be empty.
    #[serde(default)]
    reason: String,
}

/// What was answered.
#[derive(Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = LeaveAnswer)]
pub enum LeaveAnswerShape {
    /// It is on the rota.
    Granted,
    /// It is not.
    Refused,
    /// Whoever asked does not want it any more.
    Withdrawn,
}

/// Leave that somebody asked for.
#[derive(Serialize, ToSchema)]
#[schema(as = Leave)]
pub struct LeaveShape {
    /// Id.
    id: Uuid,
    /// Who.
    person: PersonRef,
    /// From when.
    start: DateTime<Utc>,
    /// Until when.
    end: DateTime<Utc>,
    /// Why; often empty.
    reason: String,
    /// When they asked.
    asked_at: DateTime<Utc>,
    /// What was answered; null while it waits.
    answer: Option<LeaveAnswerShape>,
    /// In a few words.
    answer_words: String,
    /// Duties of theirs in that time, which granting takes out.
    meets: Vec<EntryShape>,
}

impl LeaveShape {
    fn new(ask: LeaveAsk, people: &[Person]) -> Self {
        LeaveShape {
            id: ask.id,
            person: named(ask.person_id, people),
            start: ask.span.start,
            end: ask.span.end,
            reason: ask.reason,
            asked_at: ask.asked_at,
            answer: ask.answer.map(|answer| match answer {
                Answer::Granted => LeaveAnswerShape::Granted,
                Answer::Refused => LeaveAnswerShape::Refused,
                Answer::Withdrawn => LeaveAnswerShape::Withdrawn,
            }),
            answer_words: ask.answer_words,
            meets: ask.meets.into_iter().map(|entry| EntryShape::new(entry, people)).collect(),
        }
    }
}

/// The routes of both.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(swap_list)
        .service(swap_offer)
        .service(swap_accept)
        .service(swap_decline)
        .service(swap_withdraw)
        .service(leave_list)
        .service(leave_ask)
        .service(leave_grant)
        .service(leave_refuse)
        .service(leave_withdraw);
}

async fn people_of(store: &Store, caller: &Caller) -> Result<Vec<Person>, Problem> {
    Ok(store::person::person_list(store.conn(), caller.shop_id).await?)
}

/// The shop's offers to swap: open ones first, then those of the last 30 days.
#[utoipa::path(tag = "rota", responses(
    (status = 200, description = "The offers", body = Vec<SwapShape>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/rota/swaps")]
async fn swap_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let swaps = swap::swap_list(&state.store, &caller).await?;
    let people = people_of(&state.store, &caller).await?;
    let shapes: Vec<_> =
        swaps.into_iter().map(|swap| SwapShape::new(swap, &caller, &people)).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

/// Offers one of the caller's duties, for one of a colleague's or for nothing.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = SwapAdd,
    responses(
        (status = 201, description = "Offered", body = SwapShape),
        (status = 403, description = "Not the caller's duty", body = ProblemBody),
        (status = 404, description = "No such duty or person", body = ProblemBody),
        (status = 409, description = "It has begun, is offered, or would break rest or cover",
            body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/rota/swaps")]
async fn swap_offer(write: Write<SwapAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, add: SwapAdd| {
        let new = SwapNew {
            entry_id: add.entry_id,
            to: add.to,
            wanted_id: add.wanted_id,
            note: add.note,
        };
        let swap = swap::swap_offer(store, caller, new).await?;
        Ok(SwapShape::new(swap, caller, &people_of(store, caller).await?))
    };
    write.once(StatusCode::CREATED, work).await
}

/// Accepts an offer: the duties change hands at once.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The offer"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    responses(
        (status = 200, description = "Accepted", body = SwapShape),
        (status = 403, description = "For somebody else to accept", body = ProblemBody),
        (status = 404, description = "No such offer", body = ProblemBody),
        (status = 409, description = "Settled, too late, or it would break rest or cover",
            body = ProblemBody),
    ))]
#[post("/api/rota/swaps/{id}/accept")]
async fn swap_accept(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, (): ()| {
        let swap = swap::swap_accept(store, caller, id).await?;
        Ok(SwapShape::new(swap, caller, &people_of(store, caller).await?))
    };
    write.once(StatusCode::OK, work).await
}

/// Declines an offer that was made to the caller.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The offer"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = Option<Why>,
    responses(
        (status = 200, description = "Declined", body = SwapShape),
        (status = 403, description = "Not made to the caller", body = ProblemBody),
        (status = 404, description = "No such offer", body = ProblemBody),
        (status = 409, description = "Settled, or too late", body = ProblemBody),
    ))]
#[post("/api/rota/swaps/{id}/decline")]
async fn swap_decline(
    id: web::Path<Uuid>,
    write: Write<Option<Why>>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, body: Option<Why>| {
        let why = body.map(|body| body.why).unwrap_or_default();
        let swap = swap::swap_decline(store, caller, id, &why).await?;
        Ok(SwapShape::new(swap, caller, &people_of(store, caller).await?))
    };
    write.once(StatusCode::OK, work).await
}

/// Withdraws an offer of the caller's.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The offer"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    responses(
        (status = 200, description = "Withdrawn", body = SwapShape),
        (status = 403, description = "Not the caller's", body = ProblemBody),
        (status = 404, description = "No such offer", body = ProblemBody),
        (status = 409, description = "Settled, or too late", body = ProblemBody),
    ))]
#[post("/api/rota/swaps/{id}/withdraw")]
async fn swap_withdraw(id: web::Path<Uuid>, write: Write<()>) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, (): ()| {
        let swap = swap::swap_withdraw(store, caller, id).await?;
        Ok(SwapShape::new(swap, caller, &people_of(store, caller).await?))
    };
    write.once(StatusCode::OK, work).await
}

/// Leave asked for and answered lately: the caller's own, and everybody's for those who give out
/// work.
#[utoipa::path(tag = "rota", responses(
    (status = 200, description = "Open asks first", body = Vec<LeaveShape>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/rota/leave")]
async fn leave_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let asks = leave::leave_list(&state.store, &caller).await?;
    let people = people_of(&state.store, &caller).await?;
    let shapes: Vec<_> = asks.into_iter().map(|ask| LeaveShape::new(ask, &people)).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

/// Asks for leave.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = LeaveAdd,
    responses(
        (status = 201, description = "Asked for", body = LeaveShape),
        (status = 409, description = "Asked for or had already", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/rota/leave")]
async fn leave_ask(write: Write<LeaveAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, add: LeaveAdd| {
        let span = Span::new(add.start, add.end);
        let ask = leave::leave_ask(store, caller, span, &add.reason).await?;
        Ok(LeaveShape::new(ask, &people_of(store, caller).await?))
    };
    write.once(StatusCode::CREATED, work).await
}

async fn answered(
    id: Uuid,
    write: Write<Option<Why>>,
    answer: Answer,
) -> Result<HttpResponse, Problem> {
    let work = async move |store: &Store, caller: &Caller, body: Option<Why>| {
        let words = body.map(|body| body.why).unwrap_or_default();
        let ask = leave::leave_answer(store, caller, id, answer, &words).await?;
        Ok(LeaveShape::new(ask, &people_of(store, caller).await?))
    };
    write.once(StatusCode::OK, work).await
}

/// Grants leave; duties in its time are taken out, or cut where they reach beyond.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The ask"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = Option<Why>,
    responses(
        (status = 200, description = "Granted", body = LeaveShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such ask", body = ProblemBody),
        (status = 409, description = "Answered already", body = ProblemBody),
    ))]
#[post("/api/rota/leave/{id}/grant")]
async fn leave_grant(
    id: web::Path<Uuid>,
    write: Write<Option<Why>>,
) -> Result<HttpResponse, Problem> {
    answered(id.into_inner(), write, Answer::Granted).await
}

/// Refuses leave, with a reason.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The ask"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = Option<Why>,
    responses(
        (status = 200, description = "Refused", body = LeaveShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such ask", body = ProblemBody),
        (status = 409, description = "Answered already", body = ProblemBody),
        (status = 422, description = "A reason is needed", body = ProblemBody),
    ))]
#[post("/api/rota/leave/{id}/refuse")]
async fn leave_refuse(
    id: web::Path<Uuid>,
    write: Write<Option<Why>>,
) -> Result<HttpResponse, Problem> {
    answered(id.into_inner(), write, Answer::Refused).await
}

/// Withdraws leave that the caller asked for and nobody has answered.
#[utoipa::path(tag = "rota",
    params(
        ("id" = Uuid, Path, description = "The ask"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = Option<Why>,
    responses(
        (status = 200, description = "Withdrawn", body = LeaveShape),
        (status = 403, description = "Not the caller's", body = ProblemBody),
        (status = 404, description = "No such ask", body = ProblemBody),
        (status = 409, description = "Answered already", body = ProblemBody),
    ))]
#[post("/api/rota/leave/{id}/withdraw")]
async fn leave_withdraw(
    id: web::Path<Uuid>,
    write: Write<Option<Why>>,
) -> Result<HttpResponse, Problem> {
    answered(id.into_inner(), write, Answer::Withdrawn).await
}
