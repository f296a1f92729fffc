//! What a guest may do: read, sign, and talk in the one thread.
//!
//! Belongs here: the guest's routes. Does not belong here: any rule; the same store methods
//! serve the shop's own readers.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use store::request::{self, Step};
use store::thread::{self, Saying};
use store::{Caller, Store, guest, live_ticket};
use utoipa_actix_web::service_config::ServiceConfig;

use super::shapes::GuestCaseShape;
use crate::app::AppState;
use crate::auth::GuestIn;
use crate::idempotency::GuestWrite;
use crate::live::TicketShape;
use crate::problem::{Problem, ProblemBody};
use crate::request::shapes::{NewCountersignature, NewRead, Nothing, Reason, SendBack};
use crate::thread::{MessageShape, NewMark, NewMessage, Span, ThreadShape};

/// The routes of a guest who is in.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(guest_case)
        .service(guest_take)
        .service(guest_decline)
        .service(guest_read_commit)
        .service(guest_countersign)
        .service(guest_send_back)
        .service(guest_thread)
        .service(guest_say)
        .service(guest_mark)
        .service(guest_ticket);
}

/// The case: circuit, readings, and the request, blind until it is read.
#[utoipa::path(tag = "guest", security(()), responses(
    (status = 200, description = "As the guest may see it", body = GuestCaseShape),
    (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
))]
#[get("/api/guest/case")]
async fn guest_case(caller: GuestIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    Ok(HttpResponse::Ok().json(shown(&state.store, &caller).await?))
}

/// Takes the request for a blind read.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = Option<Nothing>,
    responses(
        (status = 200, description = "The case as it is now", body = GuestCaseShape),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
    )
)]
#[post("/api/guest/take")]
async fn guest_take(write: GuestWrite<Option<Nothing>>) -> Result<HttpResponse, Problem> {
    moved(write, |_| Step::Take).await
}

/// Says no. The link ends with it.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = Reason,
    responses(
        (status = 204, description = "Said; the link has ended"),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
        (status = 422, description = "No reason given", body = ProblemBody),
    )
)]
#[post("/api/guest/decline")]
async fn guest_decline(write: GuestWrite<Reason>) -> Result<HttpResponse, Problem> {
    let decline = async move |store: &Store, caller: &Caller, body: Reason| {
        Ok(guest::decline(store, caller, &body.reason).await?)
    };
    write.0.once(StatusCode::NO_CONTENT, decline).await
}

/// Commits the blind read; the claim is shown from then on.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = NewRead,
    responses(
        (status = 200, description = "The case as it is now", body = GuestCaseShape),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
        (status = 403, description = "Not this guest's to read", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/guest/blind-read")]
async fn guest_read_commit(write: GuestWrite<NewRead>) -> Result<HttpResponse, Problem> {
    moved(write, |read: NewRead| Step::CommitRead(read.into())).await
}

/// Countersigns on the evidence that the guest saw, with what they stated of themselves.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = NewCountersignature,
    responses(
        (status = 200, description = "The case as it is now", body = GuestCaseShape),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
        (status = 403, description = "Not this guest's to sign", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
    )
)]
#[post("/api/guest/countersign")]
async fn guest_countersign(
    write: GuestWrite<NewCountersignature>,
) -> Result<HttpResponse, Problem> {
    let sign =
        |body: NewCountersignature| Step::Countersign { digest: body.digest, note: body.note };
    moved(write, sign).await
}

/// Sends the request back with what to measure.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = SendBack,
    responses(
        (status = 200, description = "The case as it is now", body = GuestCaseShape),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
        (status = 403, description = "Not this guest's to send back", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/guest/send-back")]
async fn guest_send_back(write: GuestWrite<SendBack>) -> Result<HttpResponse, Problem> {
    moved(write, |body: SendBack| Step::SendBack { note: body.note, test: body.test }).await
}

/// The one thread, once the guest's read is in.
#[utoipa::path(tag = "guest", security(()), params(Span), responses(
    (status = 200, description = "The messages after the number", body = ThreadShape),
    (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
    (status = 403, description = "The blind read comes first", body = ProblemBody),
))]
#[get("/api/guest/thread")]
async fn guest_thread(
    caller: GuestIn,
    span: web::Query<Span>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_of(&caller)?;
    let shape = crate::thread::shown(&state.store, &caller, job_id, &span).await?;
    Ok(HttpResponse::Ok().json(shape))
}

/// Says something in the one thread.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = NewMessage,
    responses(
        (status = 201, description = "Stored", body = MessageShape),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
        (status = 403, description = "The blind read comes first", body = ProblemBody),
        (status = 422, description = "It says nothing, or too much", body = ProblemBody),
    )
)]
#[post("/api/guest/thread")]
async fn guest_say(write: GuestWrite<NewMessage>) -> Result<HttpResponse, Problem> {
    let job_id = job_of(&write.0.caller)?;
    let say = async move |store: &Store, caller: &Caller, new: NewMessage| {
        let saying = Saying { client_key: new.key, kind: new.kind.into(), body: new.body.into() };
        Ok(MessageShape::from(thread::say(store, caller, job_id, saying).await?))
    };
    write.0.once(StatusCode::CREATED, say).await
}

/// Keeps how far the guest has read the thread.
#[utoipa::path(
    tag = "guest",
    security(()),
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = NewMark,
    responses(
        (status = 204, description = "Kept"),
        (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
    )
)]
#[post("/api/guest/thread/mark")]
async fn guest_mark(write: GuestWrite<NewMark>) -> Result<HttpResponse, Problem> {
    let job_id = job_of(&write.0.caller)?;
    let mark = async move |store: &Store, caller: &Caller, new: NewMark| {
        Ok(thread::mark(store, caller, job_id, new.seen_seq).await?)
    };
    write.0.once(StatusCode::NO_CONTENT, mark).await
}

/// A ticket that opens one websocket at `/live`, for the guest's thread and request only.
#[utoipa::path(tag = "guest", security(()), responses(
    (status = 200, description = "The ticket", body = TicketShape),
    (status = 401, description = "No guest, or the link has ended", body = ProblemBody),
))]
#[post("/api/guest/live-ticket")]
async fn guest_ticket(
    caller: GuestIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let ticket = live_ticket::give(&state.store, &caller).await?;
    let shape = TicketShape { ticket, expires_in_s: live_ticket::TICKET_S };
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(shape))
}

async fn moved<T>(
    write: GuestWrite<T>,
    step: impl FnOnce(T) -> Step + 'static,
) -> Result<HttpResponse, Problem>
where
    T: serde::de::DeserializeOwned + 'static,
{
    let make = async move |store: &Store, caller: &Caller, body: T| {
        let scope = caller.guest.ok_or_else(no_guest)?;
        request::request_move(store, caller, scope.request_id, step(body)).await?;
        shown(store, caller).await
    };
    write.0.once(StatusCode::OK, make).await
}

async fn shown(store: &Store, caller: &Caller) -> Result<GuestCaseShape, Problem> {
    let mut shape = GuestCaseShape::from(guest::case_of(store, caller).await?);
    let open = ["take", "commit_read", "countersign", "send_back"];
    shape.request.may.retain(|kind| open.contains(&kind.as_str()));
    Ok(shape)
}

fn job_of(caller: &Caller) -> Result<uuid::Uuid, Problem> {
    Ok(caller.guest.ok_or_else(no_guest)?.job_id)
}

/// What [`GuestIn`] has refused before it comes to this.
fn no_guest() -> Problem {
    Problem::not_signed_in("Open the link that you were sent; this page is for its guest.")
}
