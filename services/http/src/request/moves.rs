//! The moves on a condemn request, one address each.
//!
//! Belongs here: what each move's body carries. Does not belong here: whether a move is
//! allowed.

use actix_web::{HttpResponse, post, web};
use store::request::Step;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use super::moved;
use super::shapes::{
    Approve, Decline, HandOn, NewCountersignature, NewRead, Nothing, Overturn, Reason, Request,
    SendBack,
};
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

/// The routes of the moves.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(request_submit)
        .service(request_take)
        .service(request_read_commit)
        .service(request_countersign)
        .service(request_send_back)
        .service(request_hand_on)
        .service(request_override_isolation)
        .service(request_approve)
        .service(request_decline)
        .service(request_withdraw)
        .service(request_overturn)
        .service(request_stand_aside);
}

/// Submits a draft: it is held, or ready for a second read.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Option<Nothing>,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/submit")]
async fn request_submit(
    request_id: web::Path<Uuid>,
    write: Write<Option<Nothing>>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |_| Step::Submit).await
}

/// Takes a request for a second read; the job's thread is closed to the reader until the
/// blind read is in.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Option<Nothing>,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/take")]
async fn request_take(
    request_id: web::Path<Uuid>,
    write: Write<Option<Nothing>>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |_| Step::Take).await
}

/// Commits a blind read; the claim is shown from then on.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewRead,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/blind-read")]
async fn request_read_commit(
    request_id: web::Path<Uuid>,
    write: Write<NewRead>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |read| Step::CommitRead(read.into())).await
}

/// Countersigns a request on the evidence that the signer saw.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewCountersignature,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/countersign")]
async fn request_countersign(
    request_id: web::Path<Uuid>,
    write: Write<NewCountersignature>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::Countersign { digest: body.digest, note: body.note })
        .await
}

/// Sends a request back with what to measure.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = SendBack,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/send-back")]
async fn request_send_back(
    request_id: web::Path<Uuid>,
    write: Write<SendBack>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::SendBack { note: body.note, test: body.test }).await
}

/// Hands a request on to another reader.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = HandOn,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "That person cannot read it", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/hand-on")]
async fn request_hand_on(
    request_id: web::Path<Uuid>,
    write: Write<HandOn>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::HandOn { note: body.note, to: body.to }).await
}

/// Lets a held request through to its second read although it is not isolated.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Reason,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/override")]
async fn request_override_isolation(
    request_id: web::Path<Uuid>,
    write: Write<Reason>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::Override { reason: body.reason }).await
}

/// Answers for the money.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Approve,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/approve")]
async fn request_approve(
    request_id: web::Path<Uuid>,
    write: Write<Approve>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::Approve {
        digest: body.digest,
        amount_cents: body.amount_cents,
        reason: body.reason,
    })
    .await
}

/// Declines a request.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Decline,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/decline")]
async fn request_decline(
    request_id: web::Path<Uuid>,
    write: Write<Decline>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::Decline { digest: body.digest, reason: body.reason })
        .await
}

/// Takes a request back.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Reason,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/withdraw")]
async fn request_withdraw(
    request_id: web::Path<Uuid>,
    write: Write<Reason>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::Withdraw { reason: body.reason }).await
}

/// Ends a request because evidence changed the mind.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Overturn,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
        (status = 422, description = "A value that cannot be accepted", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/overturn")]
async fn request_overturn(
    request_id: web::Path<Uuid>,
    write: Write<Overturn>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |body| Step::Overturn { reason: body.reason, found: body.found }).await
}

/// Shows the claim to someone who will then not read it.
#[utoipa::path(
    tag = "request",
    params(("request_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = Option<Nothing>,
    responses(
        (status = 200, description = "The request as it is now", body = Request),
        (status = 403, description = "Not this caller's move", body = ProblemBody),
        (status = 404, description = "No such request in the shop", body = ProblemBody),
        (status = 409, description = "Not in this state, or the evidence changed", body = ProblemBody),
    )
)]
#[post("/api/requests/{request_id}/stand-aside")]
async fn request_stand_aside(
    request_id: web::Path<Uuid>,
    write: Write<Option<Nothing>>,
) -> Result<HttpResponse, Problem> {
    moved(request_id, write, |_| Step::StandAside).await
}
