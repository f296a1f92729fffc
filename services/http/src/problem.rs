//! Problem details (RFC 9457): every refusal, in one shape, from one file.
//!
//! Belongs here: status codes, the translation of the store's errors, what the log gets. Does
//! not belong here: the sentences, which come from whoever refuses.

use std::borrow::Cow;
use std::error::Error;
use std::fmt;

use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderValue};
use actix_web::{HttpResponse, ResponseError};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::StoreError;
use store::error::Overlap;
use utoipa::ToSchema;
use uuid::Uuid;

/// When to try again once the database is away; a private one is back within seconds.
const RETRY_AFTER_S: u64 = 2;

/// Media type of a problem.
pub const MEDIA_TYPE: &str = "application/problem+json";

/// Every code that is told with its own page, with the title and what to do about it.
/// Codes that the store makes up on top share the title of their status.
pub const KNOWN: &[(&str, u16, &str, &str)] = &[
    (
        "bad-json",
        400,
        "The body is not the JSON that is expected here",
        "See `errors` for the place in the body and what belongs there. The shapes are in /api/openapi.json.",
    ),
    (
        "bad-parameter",
        400,
        "A part of the address is not what is expected here",
        "Ids are UUIDs; the parameters of each address are in /api/openapi.json.",
    ),
    (
        "bad-key",
        400,
        "The Idempotency-Key header is missing or not a UUID",
        "Send a fresh UUID with each new write, and the same one again when you repeat that write.",
    ),
    (
        "not-signed-in",
        401,
        "You are not signed in, or not any more",
        "Sign in, or refresh the session, and send the access token as `Authorization: Bearer …`.",
    ),
    ("not-allowed", 403, "You may not do this", "`detail` says who may."),
    (
        "blind-first",
        403,
        "Your own read comes first",
        "Commit your blind read; then the claim and the talk about it are shown.",
    ),
    (
        "not-found",
        404,
        "There is no such thing here",
        "It may have been removed, or belong to another shop.",
    ),
    (
        "method",
        405,
        "This address does not answer that method",
        "The `Allow` header lists the methods it does answer.",
    ),
    (
        "conflict",
        409,
        "This cannot be done in the present state",
        "`detail` says what stands in the way.",
    ),
    (
        "changed-meanwhile",
        409,
        "Someone changed it meanwhile",
        "Load it again and repeat your change on what is there now.",
    ),
    (
        "digest-changed",
        409,
        "The evidence changed meanwhile",
        "What you looked at is not what would be signed now. Look at the evidence again.",
    ),
    (
        "still-working",
        409,
        "The first request with this key is still being worked on",
        "Ask again with the same key in a second.",
    ),
    (
        "answer-lost",
        409,
        "This was carried out, and its answer lost",
        "The service was stopped between doing it and telling you. Load the page again to see the result; do not send it again.",
    ),
    ("too-large", 413, "The body is too large", "`detail` says how large it may be."),
    (
        "not-json",
        415,
        "The body is not said to be JSON",
        "Send it as JSON, with the header `Content-Type: application/json`.",
    ),
    (
        "invalid",
        422,
        "Some values cannot be accepted",
        "See `errors`: each says where, what is wrong and what would be right.",
    ),
    (
        "key-reused",
        422,
        "This Idempotency-Key was used for another request",
        "A key belongs to one write. Send a fresh UUID with a new one.",
    ),
    ("too-many", 429, "Too many tries", "Wait for as long as the `Retry-After` header says."),
    (
        "internal",
        500,
        "Something went wrong on our side",
        "It was logged. Trying again may help; if it does not, tell whoever runs this service the time.",
    ),
    (
        "unavailable",
        503,
        "The service cannot answer just now",
        "Try again in a few seconds; nothing was changed.",
    ),
];

/// One refusal. Behind a pointer, since every handler returns room for one.
#[derive(Debug)]
pub struct Problem(Box<Inner>);

#[derive(Debug)]
struct Inner {
    code: Cow<'static, str>,
    status: StatusCode,
    detail: String,
    errors: Vec<ErrorAt>,
    retry_after_s: Option<u64>,
    allow: Option<String>,
    overlap: Option<OverlapShape>,
    cause: Option<Box<dyn Error>>,
}

/// One value that cannot be accepted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ErrorAt {
    /// JSON pointer into the body ("/readings/2/from").
    pub pointer: String,
    /// What is wrong there, and what would be right.
    pub says: String,
    /// Where the value is a file: the line of it, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// Where the value is a file: a JSON pointer into what it says ("/parts/12/between").
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
}

impl ErrorAt {
    /// A value that cannot be accepted, by its pointer.
    pub fn new(pointer: impl Into<String>, says: impl Into<String>) -> Self {
        ErrorAt { pointer: pointer.into(), says: says.into(), line: None, path: None }
    }
}

impl From<store::error::Fault> for ErrorAt {
    fn from(fault: store::error::Fault) -> Self {
        let (line, path) = fault.in_file.map_or((None, None), |place| (place.line, place.path));
        ErrorAt { line, path, ..ErrorAt::new(fault.pointer, fault.says) }
    }
}

/// A refusal as it is sent (RFC 9457).
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[schema(as = Problem)]
pub struct ProblemBody {
    /// "/problems/<code>": also the address of a page about it.
    pub r#type: String,
    /// A line that is the same for every problem of this type.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What is wrong this time, and what would be right.
    pub detail: String,
    /// Each value that cannot be accepted; absent where it is not about values.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<ErrorAt>,
    /// What is in the way of a planned time; only where two would overlap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overlap: Option<OverlapShape>,
}

/// What is in the way of a planned time, and the next one that is free.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = Overlap)]
pub struct OverlapShape {
    /// The job that is in the way.
    pub job_id: Uuid,
    /// Its number.
    pub number: i32,
    /// Planned from.
    pub planned_start: DateTime<Utc>,
    /// Planned to.
    pub planned_end: DateTime<Utc>,
    /// The next start with room for what was asked.
    pub free_start: DateTime<Utc>,
    /// That start and the length that was asked.
    pub free_end: DateTime<Utc>,
}

impl From<Overlap> for OverlapShape {
    fn from(overlap: Overlap) -> Self {
        OverlapShape {
            job_id: overlap.job_id,
            number: overlap.number,
            planned_start: overlap.planned_start,
            planned_end: overlap.planned_end,
            free_start: overlap.free_start,
            free_end: overlap.free_end,
        }
    }
}

impl Problem {
    /// A problem by its code; an unlisted code takes the given status.
    fn new(code: impl Into<Cow<'static, str>>, status: StatusCode, detail: String) -> Self {
        Problem(Box::new(Inner {
            code: code.into(),
            status,
            detail,
            errors: Vec::new(),
            retry_after_s: None,
            allow: None,
            overlap: None,
            cause: None,
        }))
    }

    fn with(mut self, set: impl FnOnce(&mut Inner)) -> Self {
        set(&mut self.0);
        self
    }

    /// The body is not the JSON that is expected.
    pub fn bad_json(detail: impl Into<String>, errors: Vec<ErrorAt>) -> Self {
        Self::new("bad-json", StatusCode::BAD_REQUEST, detail.into())
            .with(|inner| inner.errors = errors)
    }

    /// A path or query parameter is not what is expected.
    pub fn bad_parameter(detail: impl Into<String>) -> Self {
        Self::new("bad-parameter", StatusCode::BAD_REQUEST, detail.into())
    }

    /// The key of a repeatable write is missing or no UUID.
    pub fn bad_key(detail: impl Into<String>) -> Self {
        Self::new("bad-key", StatusCode::BAD_REQUEST, detail.into())
    }

    /// The key of a repeatable write belongs to another one.
    pub fn key_reused() -> Self {
        Self::new(
            "key-reused",
            StatusCode::UNPROCESSABLE_ENTITY,
            "This key was used for a different request. Send a fresh UUID.".to_owned(),
        )
    }

    /// Nobody, or nobody any more, is signed in.
    pub fn not_signed_in(detail: impl Into<String>) -> Self {
        Self::new("not-signed-in", StatusCode::UNAUTHORIZED, detail.into())
    }

    /// The caller may not.
    pub fn forbidden(code: &'static str, detail: impl Into<String>) -> Self {
        Self::new(code, StatusCode::FORBIDDEN, detail.into())
    }

    /// There is no such thing.
    pub fn not_found(detail: impl Into<String>) -> Self {
        Self::new("not-found", StatusCode::NOT_FOUND, detail.into())
    }

    /// The address exists, the method does not.
    pub fn method(allow: String) -> Self {
        let detail = format!("This address answers {allow}.");
        Self::new("method", StatusCode::METHOD_NOT_ALLOWED, detail)
            .with(|inner| inner.allow = Some(allow))
    }

    /// It cannot be done in the present state.
    pub fn conflict(code: &'static str, detail: impl Into<String>) -> Self {
        Self::new(code, StatusCode::CONFLICT, detail.into())
    }

    /// The body is larger than `bytes_max`.
    pub fn too_large(bytes_max: usize) -> Self {
        let kib = bytes_max / 1024;
        Self::new(
            "too-large",
            StatusCode::PAYLOAD_TOO_LARGE,
            format!("A body may have at most {kib} KiB ({bytes_max} bytes) here."),
        )
    }

    /// The body comes as something else than JSON.
    pub fn not_json() -> Self {
        Self::new(
            "not-json",
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "A body is JSON here; send it with `Content-Type: application/json`.".to_owned(),
        )
    }

    /// Some values cannot be accepted.
    pub fn invalid(errors: Vec<ErrorAt>) -> Self {
        let detail = match errors.as_slice() {
            [only] if only.pointer.is_empty() => only.says.clone(),
            [only] => format!("{}: {}", only.pointer, only.says),
            many => format!("{} values cannot be accepted.", many.len()),
        };
        Self::new("invalid", StatusCode::UNPROCESSABLE_ENTITY, detail)
            .with(|inner| inner.errors = errors)
    }

    /// Too many tries.
    pub fn too_many(detail: impl Into<String>, retry_after_s: u64) -> Self {
        Self::new("too-many", StatusCode::TOO_MANY_REQUESTS, detail.into())
            .with(|inner| inner.retry_after_s = Some(retry_after_s))
    }

    /// Our own failure; `cause` goes to the log, not to the caller.
    pub fn internal(cause: impl Into<Box<dyn Error>>) -> Self {
        let detail = "Something went wrong on our side. It was logged; nothing was half-done.";
        Self::new("internal", StatusCode::INTERNAL_SERVER_ERROR, detail.to_owned())
            .with(|inner| inner.cause = Some(cause.into()))
    }

    /// The short name a client can switch on.
    pub fn code(&self) -> &str {
        &self.0.code
    }

    /// The HTTP status.
    pub fn status(&self) -> StatusCode {
        self.0.status
    }

    /// As it is sent.
    pub fn body(&self) -> ProblemBody {
        ProblemBody {
            r#type: format!("/problems/{}", self.0.code),
            title: title_of(&self.0.code, self.0.status).to_owned(),
            status: self.0.status.as_u16(),
            detail: self.0.detail.clone(),
            errors: self.0.errors.clone(),
            overlap: self.0.overlap.clone(),
        }
    }
}

/// The title of a code; where the code is not listed, that of its status.
fn title_of(code: &str, status: StatusCode) -> &'static str {
    let by_code = KNOWN.iter().find(|(known, ..)| *known == code);
    let by_status = || KNOWN.iter().rev().find(|(_, known, ..)| *known == status.as_u16());
    match by_code {
        Some((_, _, title, _)) => title,
        None if status == StatusCode::CONFLICT => "This cannot be done in the present state",
        None if status == StatusCode::FORBIDDEN => "You may not do this",
        None => by_status().map_or("It was refused", |(_, _, title, _)| title),
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::NotFound { what } => {
                Problem::not_found(format!("There is no such {what} in your shop."))
            }
            StoreError::Forbidden { code, says } => Problem::forbidden(code, says),
            StoreError::Conflict { code, says } => Problem::conflict(code, says),
            StoreError::Overlap { says, overlap } => Problem::conflict("assignment-overlap", says)
                .with(|inner| inner.overlap = Some((*overlap).into())),
            StoreError::Invalid { pointer, says } => {
                Problem::invalid(vec![ErrorAt::new(pointer, says)])
            }
            StoreError::InvalidMany(faults) => {
                Problem::invalid(faults.into_iter().map(ErrorAt::from).collect())
            }
            StoreError::NotSignedIn { says } => Problem::not_signed_in(says),
            StoreError::TooMany { says, retry_after_s } => Problem::too_many(says, retry_after_s),
            error @ StoreError::Unavailable { .. } => {
                let detail =
                    "The database does not answer just now. Nothing was changed; try again.";
                Problem::new("unavailable", StatusCode::SERVICE_UNAVAILABLE, detail.to_owned())
                    .with(|inner| {
                        inner.retry_after_s = Some(RETRY_AFTER_S);
                        inner.cause = Some(error.into());
                    })
            }
            error @ (StoreError::Database(_) | StoreError::Corrupt { .. }) => {
                Problem::internal(error)
            }
        }
    }
}

/// The engine's problems with a case: each becomes one of `errors`.
impl From<engine::problem::Problems> for Problem {
    fn from(problems: engine::problem::Problems) -> Self {
        let faults = store::evidence::judge::faults(&problems);
        Problem::invalid(faults.into_iter().map(ErrorAt::from).collect())
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{} ({})", self.0.code, self.0.status.as_u16())
    }
}

impl Error for Problem {}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        self.0.status
    }

    fn error_response(&self) -> HttpResponse {
        // The one place where a failure of ours is logged, with its whole chain.
        if let Some(cause) = &self.0.cause {
            let mut chain = cause.to_string();
            let mut source = cause.source();
            while let Some(deeper) = source {
                chain.push_str(": ");
                chain.push_str(&deeper.to_string());
                source = deeper.source();
            }
            tracing::error!(code = %self.0.code, cause = %chain, "a request failed");
        }
        let mut response = HttpResponse::build(self.0.status);
        response.content_type(MEDIA_TYPE);
        response.insert_header((header::CACHE_CONTROL, "no-store"));
        if let Some(retry_after_s) = self.0.retry_after_s {
            response.insert_header((header::RETRY_AFTER, retry_after_s.to_string()));
        }
        if let Some(allow) =
            self.0.allow.as_deref().and_then(|allow| HeaderValue::from_str(allow).ok())
        {
            response.insert_header((header::ALLOW, allow));
        }
        if self.0.status == StatusCode::UNAUTHORIZED {
            response.insert_header((header::WWW_AUTHENTICATE, "Bearer"));
        }
        response.body(serde_json::to_string(&self.body()).unwrap_or_default())
    }
}
