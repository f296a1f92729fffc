//! Writes: their body, their key, and the promise that a repeat gets the first answer.
//!
//! Belongs here: the extractor [`Write`] that every route that changes something takes, and
//! [`Body`] for the few that need no key. Does not belong here: what is written.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::web::{Bytes, BytesMut, Data};
use actix_web::{FromRequest, HttpMessage as _, HttpRequest, HttpResponse, rt};
use futures_util::StreamExt as _;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest as _, Sha256};
use store::idempotency::{Claim, Claimed};
use store::text::hex;
use store::{Caller, Store};
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::{guest_in, signed_in, state_of};
use crate::problem::{ErrorAt, Problem};

/// Largest body accepted, in bytes; a larger one gets 413 without being read to its end.
pub const BODY_BYTES_MAX: usize = 256 * 1024;

/// The header with the key.
pub const KEY_HEADER: &str = "Idempotency-Key";

/// A JSON body without a key: sign-in, and checks that change nothing.
pub struct Body<T>(pub T);

impl<T: DeserializeOwned + 'static> FromRequest for Body<T> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let req = req.clone();
        let payload = payload.take();
        Box::pin(async move { Ok(Body(parse(&read(&req, payload, BODY_BYTES_MAX).await?)?)) })
    }
}

/// A write by someone who is signed in, with its key and body. Routes without a body take
/// `Write<()>`.
pub struct Write<T> {
    /// Who asks.
    pub caller: Caller,
    /// The body.
    pub body: T,
    state: Data<AppState>,
    key: Uuid,
    route: String,
    request_hash: String,
}

impl<T: DeserializeOwned + 'static> FromRequest for Write<T> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let req = req.clone();
        let payload = payload.take();
        Box::pin(async move {
            // Who asks comes first: nobody's large body is read.
            let caller = signed_in(&req).await?.0;
            Write::read(caller, &req, payload, BODY_BYTES_MAX).await
        })
    }
}

/// A write by a guest reader.
pub struct GuestWrite<T>(pub Write<T>);

impl<T: DeserializeOwned + 'static> FromRequest for GuestWrite<T> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let req = req.clone();
        let payload = payload.take();
        Box::pin(async move {
            let caller = guest_in(&req).await?.0;
            Ok(GuestWrite(Write::read(caller, &req, payload, BODY_BYTES_MAX).await?))
        })
    }
}

/// A write whose body may be larger than the usual: a photo.
pub struct LargeWrite<T, const BYTES_MAX: usize>(pub Write<T>);

impl<T: DeserializeOwned + 'static, const BYTES_MAX: usize> FromRequest
    for LargeWrite<T, BYTES_MAX>
{
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let req = req.clone();
        let payload = payload.take();
        Box::pin(async move {
            let caller = signed_in(&req).await?.0;
            Ok(LargeWrite(Write::read(caller, &req, payload, BYTES_MAX).await?))
        })
    }
}

impl<T: DeserializeOwned> Write<T> {
    async fn read(
        caller: Caller,
        req: &HttpRequest,
        payload: Payload,
        bytes_max: usize,
    ) -> Result<Self, Problem> {
        let key = key_of(req)?;
        let bytes = read(req, payload, bytes_max).await?;
        Ok(Write {
            caller,
            body: parse(&bytes)?,
            state: state_of(req)?,
            key,
            route: format!("{} {}", req.method(), req.path()),
            request_hash: hex(&Sha256::digest(&bytes)),
        })
    }
}

impl<T: 'static> Write<T> {
    /// Carries the write out once and answers with what `work` returns; a repeat of the key
    /// gets the first answer. The store given to `work` notes in its transactions that the
    /// write was carried out. The work goes on even when the caller has gone.
    ///
    /// # Errors
    /// What `work` refuses with, or what is wrong with the key.
    pub async fn once<F, R>(self, status: StatusCode, work: F) -> Result<HttpResponse, Problem>
    where
        F: AsyncFnOnce(&Store, &Caller, T) -> Result<R, Problem> + 'static,
        R: Serialize + 'static,
    {
        self.once_kept_as(status, work, |answer| serde_json::to_string(answer)).await
    }

    /// As [`Write::once`], for an answer that carries a secret: `kept` says what is stored and
    /// what a repeat gets, which is the answer without it.
    ///
    /// # Errors
    /// What `work` refuses with, or what is wrong with the key.
    pub async fn once_kept_as<F, R>(
        self,
        status: StatusCode,
        work: F,
        kept: fn(&R) -> serde_json::Result<String>,
    ) -> Result<HttpResponse, Problem>
    where
        F: AsyncFnOnce(&Store, &Caller, T) -> Result<R, Problem> + 'static,
        R: Serialize + 'static,
    {
        let store = &self.state.store;
        let claimed = store::idempotency::claim(
            store,
            self.caller.person_id,
            self.key,
            &self.route,
            &self.request_hash,
        )
        .await?;
        match claimed {
            Claimed::New(claim) => {
                let store = store.clone();
                let done = rt::spawn(async move {
                    carry_out(store, claim, (self.caller, self.body), status, work, kept).await
                });
                done.await.map_err(Problem::internal)?
            }
            Claimed::Answered { status, body } => Ok(replay(status, body)),
            Claimed::OtherRequest => Err(Problem::key_reused()),
            Claimed::StillWorking => Err(Problem::conflict(
                "still-working",
                "The first request with this key is still being worked on. Ask again in a second.",
            )),
            Claimed::AnswerLost => Err(Problem::conflict(
                "answer-lost",
                "This was carried out, and its answer lost. Load the page again to see the result.",
            )),
        }
    }
}

async fn carry_out<T, F, R>(
    store: Store,
    claim: Claim,
    (caller, body): (Caller, T),
    status: StatusCode,
    work: F,
    kept: fn(&R) -> serde_json::Result<String>,
) -> Result<HttpResponse, Problem>
where
    F: AsyncFnOnce(&Store, &Caller, T) -> Result<R, Problem>,
    R: Serialize,
{
    let outcome = work(&store.claimed(claim.clone()), &caller, body).await;
    match outcome {
        Ok(answer) => {
            let body = serde_json::to_string(&answer).map_err(Problem::internal)?;
            let stored = kept(&answer).map_err(Problem::internal)?;
            store::idempotency::answer(&store, &claim, status.as_u16(), &stored).await?;
            Ok(replay(status.as_u16(), body))
        }
        Err(problem) if is_final(problem.status()) => {
            let body = serde_json::to_string(&problem.body()).map_err(Problem::internal)?;
            store::idempotency::answer(&store, &claim, problem.status().as_u16(), &body).await?;
            Err(problem)
        }
        Err(problem) => {
            store::idempotency::release(&store, &claim).await?;
            Err(problem)
        }
    }
}

/// Whether a refusal is the answer to this write for good. Where it is about the moment, a
/// repeat may fare better.
fn is_final(status: StatusCode) -> bool {
    status.is_client_error()
        && status != StatusCode::UNAUTHORIZED
        && status != StatusCode::TOO_MANY_REQUESTS
}

fn replay(status: u16, body: String) -> HttpResponse {
    let status = StatusCode::from_u16(status).unwrap_or(StatusCode::OK);
    if status == StatusCode::NO_CONTENT {
        return HttpResponse::NoContent().finish();
    }
    let media_type =
        if status.is_success() { "application/json" } else { crate::problem::MEDIA_TYPE };
    HttpResponse::build(status).content_type(media_type).body(body)
}

fn key_of(req: &HttpRequest) -> Result<Uuid, Problem> {
    let key = req.headers().get(KEY_HEADER).ok_or_else(|| {
        Problem::bad_key(format!(
            "Send a fresh UUID in the header {KEY_HEADER}, and the same one when you repeat this."
        ))
    })?;
    key.to_str().ok().and_then(|key| Uuid::parse_str(key.trim()).ok()).ok_or_else(|| {
        Problem::bad_key(format!(
            "{KEY_HEADER} must be a UUID, e.g. 0192e4a0-7c1b-7d52-9f0e-3a54c1f0a1b2."
        ))
    })
}

async fn read(req: &HttpRequest, mut payload: Payload, bytes_max: usize) -> Result<Bytes, Problem> {
    let mut bytes = BytesMut::new();
    while let Some(chunk) = payload.next().await {
        let chunk = chunk.map_err(|error| {
            Problem::bad_json(format!("The body could not be read to its end: {error}."), vec![])
        })?;
        if bytes.len() + chunk.len() > bytes_max {
            return Err(Problem::too_large(bytes_max));
        }
        bytes.extend_from_slice(&chunk);
    }
    // A page of another site can send a form, and text, without being asked; JSON it cannot.
    if !bytes.is_empty() && !req.content_type().eq_ignore_ascii_case("application/json") {
        return Err(Problem::not_json());
    }
    Ok(bytes.freeze())
}

fn parse<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Problem> {
    // A route without a body takes `()`, which is JSON's null; an empty object says as little.
    let bytes = if bytes.is_empty() { b"null" } else { bytes };
    if bytes == b"{}"
        && let Ok(nothing) = serde_json::from_str("null")
    {
        return Ok(nothing);
    }
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let pointer = pointer_of(error.path());
        let says = if bytes == b"null" {
            "The body is empty; a JSON object is expected.".to_owned()
        } else {
            sentence(&error.into_inner().to_string())
        };
        let detail = if pointer.is_empty() { says.clone() } else { format!("{pointer}: {says}") };
        Problem::bad_json(detail, vec![ErrorAt::new(pointer, says)])
    })?;
    reader.end().map_err(|error| {
        let says = sentence(&error.to_string());
        Problem::bad_json(says.clone(), vec![ErrorAt::new("", says)])
    })?;
    Ok(value)
}

fn pointer_of(path: &serde_path_to_error::Path) -> String {
    use serde_path_to_error::Segment;
    path.iter()
        .map(|segment| match segment {
            Segment::Seq { index } => format!("/{index}"),
            Segment::Map { key } => format!("/{}", key.replace('~', "~0").replace('/', "~1")),
            Segment::Enum { .. } | Segment::Unknown => String::new(),
        })
        .collect()
}

/// serde's message as a sentence.
fn sentence(message: &str) -> String {
    let mut chars = message.chars();
    match chars.next() {
        Some(first) => format!("{}{}.", first.to_uppercase(), chars.as_str()),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize, Debug)]
    struct Deep {
        #[allow(dead_code)]
        readings: Vec<Inner>,
    }

    #[derive(serde::Deserialize, Debug)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        #[allow(dead_code)]
        from: String,
    }

    #[test]
    fn a_wrong_value_is_named_by_its_place() {
        let problem = parse::<Deep>(br#"{"readings": [{"from": "C"}, {"from": 7}]}"#).unwrap_err();

        let body = problem.body();

        assert_eq!(body.status, 400);
        assert_eq!(body.errors[0].pointer, "/readings/1/from");
        assert!(body.errors[0].says.contains("expected a string"), "{}", body.errors[0].says);
    }

    #[test]
    fn an_empty_body_is_said_to_be_empty() {
        let problem = parse::<Deep>(b"").unwrap_err();
        assert!(problem.body().detail.contains("empty"));
    }

    #[test]
    fn rubbish_after_the_body_is_refused() {
        assert!(parse::<Vec<u8>>(b"[1] [2]").is_err());
        assert!(parse::<()>(b"").is_ok());
        assert!(parse::<()>(b"{}").is_ok());
        assert!(parse::<Deep>(b"{}").is_err());
    }
}
