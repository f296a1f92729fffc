//! A job's thread.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: numbers,
//! repeats and what is withheld (the store's), and the live stream, which shows the same
//! messages as they come.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::thread::{self, Member, Message, MessageBody, MessageKind, Page, Saying};
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

pub mod ask;
pub mod search;

pub use ask::AskShape;

/// Messages in one answer unless fewer are asked for; asking for more gets this many.
const MESSAGES_PER_ANSWER_MAX: i64 = 200;

/// A job's thread, from a number on.
#[derive(Debug, Serialize, ToSchema)]
pub struct ThreadShape {
    /// The thread; null before its first message.
    pub thread_id: Option<Uuid>,
    /// The job.
    pub job_id: Uuid,
    /// The last message number there is; 0 for none.
    pub last_seq: i64,
    /// Messages in the order of their numbers.
    pub messages: Vec<MessageShape>,
    /// Who wrote here or was shown it.
    pub members: Vec<MemberShape>,
}

/// A message.
#[derive(Debug, Serialize, ToSchema)]
pub struct MessageShape {
    /// The thread it is in.
    pub thread_id: Uuid,
    /// The job that the thread is about.
    pub job_id: Uuid,
    /// Its number in the thread, from 1 without gaps.
    pub seq: i64,
    /// Its own id.
    pub id: Uuid,
    /// Who wrote it; null for the service.
    pub author: Option<PersonRef>,
    /// What kind of message.
    pub kind: MessageKindShape,
    /// What it says.
    pub body: MessageBodyShape,
    /// The key its writer's client made; null for the service.
    pub key: Option<Uuid>,
    /// When it was stored.
    pub at: DateTime<Utc>,
}

/// What kind of message.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MessageKindShape {
    /// Written by a person.
    Text,
    /// A reading quoted.
    ReadingCard,
    /// Said by the service; a client cannot say one.
    Event,
    /// A photo that was sent to the job's photos before.
    Photo,
    /// A reading asked for.
    Ask,
}

/// What a message says; which fields are there depends on its kind.
#[derive(Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MessageBodyShape {
    /// The words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The quoted reading's label on its job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_label: Option<String>,
    /// The quoted reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_id: Option<Uuid>,
    /// What happened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub event: Option<String>,
    /// The photo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo_id: Option<Uuid>,
    /// Its pixels across. The service knows: a client's is not looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_px: Option<i32>,
    /// Its pixels down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_px: Option<i32>,
    /// The reading asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ask: Option<AskShape>,
    /// The message whose ask an event answers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ask_id: Option<Uuid>,
    /// People named in it; those who are not looking get a mail.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mentions: Vec<Uuid>,
}

/// Somebody who wrote in the thread or was shown it.
#[derive(Debug, Serialize, ToSchema)]
pub struct MemberShape {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// The last message number they have read.
    pub seen_seq: i64,
}

/// Which part of a thread.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Span {
    /// The last message number already held; 0 or nothing for none.
    #[serde(default)]
    pub after: i64,
    /// How many messages at most.
    pub limit: Option<i64>,
}

/// A message to be stored.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewMessage {
    /// Made by the client; a repeat of it is the same message, here and on the live stream.
    pub key: Uuid,
    /// Text or a reading card.
    pub kind: MessageKindShape,
    /// What it says.
    pub body: MessageBodyShape,
}

/// How far the caller has read.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewMark {
    /// The last message number read.
    pub seen_seq: i64,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(thread_show).service(thread_say).service(thread_mark);
    ask::routes(cfg);
    search::routes(cfg);
}

/// A job's thread.
#[utoipa::path(
    tag = "thread",
    params(("job_id" = Uuid, Path), Span),
    responses(
        (status = 200, description = "The messages after the number", body = ThreadShape),
        (status = 403, description = "The caller owes a blind read on the job", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[get("/api/jobs/{job_id}/thread")]
async fn thread_show(
    caller: SignedIn,
    job_id: web::Path<Uuid>,
    span: web::Query<Span>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let shape = shown(&state.store, &caller, job_id.into_inner(), &span).await?;
    Ok(HttpResponse::Ok().json(shape))
}

/// A part of a thread as the caller may see it.
///
/// # Errors
/// "blind-first" while they owe a blind read, "not-found".
pub(crate) async fn shown(
    store: &store::Store,
    caller: &store::Caller,
    job_id: Uuid,
    span: &Span,
) -> Result<ThreadShape, Problem> {
    let limit = span.limit.unwrap_or(MESSAGES_PER_ANSWER_MAX).clamp(0, MESSAGES_PER_ANSWER_MAX);
    let page = thread::messages_after(store, caller, job_id, span.after, limit).await?;
    let Page::Messages { thread_id, last_seq, messages } = page else {
        return Err(thread::blind_first().into());
    };
    let members = thread::members(store, caller, job_id).await?;
    Ok(ThreadShape {
        thread_id,
        job_id,
        last_seq,
        messages: messages.into_iter().map(MessageShape::from).collect(),
        members: members.into_iter().map(MemberShape::from).collect(),
    })
}

/// Says something in a job's thread.
#[utoipa::path(
    tag = "thread",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewMessage,
    responses(
        (status = 201, description = "Stored", body = MessageShape),
        (status = 403, description = "The caller owes a blind read on the job", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "The key stored another message", body = ProblemBody),
        (status = 422, description = "It says nothing, too much, or quotes no reading of the job", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/thread")]
async fn thread_say(
    job_id: web::Path<Uuid>,
    write: Write<NewMessage>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let say = async move |store: &store::Store, caller: &store::Caller, new: NewMessage| {
        let saying = Saying { client_key: new.key, kind: new.kind.into(), body: new.body.into() };
        Ok(MessageShape::from(thread::say(store, caller, job_id, saying).await?))
    };
    write.once(StatusCode::CREATED, say).await
}

/// Keeps how far the caller has read.
#[utoipa::path(
    tag = "thread",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewMark,
    responses(
        (status = 204, description = "Kept"),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/thread/mark")]
async fn thread_mark(
    job_id: web::Path<Uuid>,
    write: Write<NewMark>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let mark = async move |store: &store::Store, caller: &store::Caller, new: NewMark| {
        Ok(thread::mark(store, caller, job_id, new.seen_seq).await?)
    };
    write.once(StatusCode::NO_CONTENT, mark).await
}

impl From<Message> for MessageShape {
    fn from(message: Message) -> Self {
        MessageShape {
            thread_id: message.thread_id,
            job_id: message.job_id,
            seq: message.seq,
            id: message.id,
            author: message.author.map(|author| PersonRef { id: author.id, name: author.name }),
            kind: match message.kind {
                MessageKind::Text => MessageKindShape::Text,
                MessageKind::ReadingCard => MessageKindShape::ReadingCard,
                MessageKind::Event => MessageKindShape::Event,
                MessageKind::Photo => MessageKindShape::Photo,
                MessageKind::Ask => MessageKindShape::Ask,
            },
            body: MessageBodyShape {
                text: message.body.text,
                reading_label: message.body.reading_label,
                reading_id: message.body.reading_id,
                event: message.body.event,
                photo_id: message.body.photo_id,
                width_px: message.body.width_px,
                height_px: message.body.height_px,
                ask: message.body.ask.map(AskShape::from),
                ask_id: message.body.ask_id,
                mentions: message.body.mentions,
            },
            key: message.client_key,
            at: message.at,
        }
    }
}

impl From<MessageKindShape> for MessageKind {
    fn from(kind: MessageKindShape) -> Self {
        match kind {
            MessageKindShape::Text => MessageKind::Text,
            MessageKindShape::ReadingCard => MessageKind::ReadingCard,
            MessageKindShape::Event => MessageKind::Event,
            MessageKindShape::Photo => MessageKind::Photo,
            MessageKindShape::Ask => MessageKind::Ask,
        }
    }
}

impl From<MessageBodyShape> for MessageBody {
    fn from(body: MessageBodyShape) -> Self {
        MessageBody {
            text: body.text,
            reading_label: body.reading_label,
            reading_id: body.reading_id,
            event: body.event,
            photo_id: body.photo_id,
            // The store's own to tell.
            width_px: None,
            height_px: None,
            ask: body.ask.map(Into::into),
            ask_id: body.ask_id,
            mentions: body.mentions,
        }
    }
}

impl From<Member> for MemberShape {
    fn from(member: Member) -> Self {
        MemberShape { id: member.id, name: member.name, seen_seq: member.seen_seq }
    }
}
