//! Who is asking: access tokens in, a caller out.
//!
//! Belongs here: signing and reading access tokens, the extractor that every signed-in route
//! takes. Does not belong here: passwords and refresh tokens, which are the store's sessions.
//!
//! A token is short-lived and still never believed alone: the session it names is looked up on
//! every request, so that a revoked one is refused at once, and roles are those of now.

use std::future::Future;
use std::ops::Deref;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, web};
use chrono::{DateTime, TimeDelta, Utc};
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation, decode, encode};
use serde::{Deserialize, Serialize};
use store::Caller;
use uuid::Uuid;

use crate::app::AppState;
use crate::problem::Problem;

/// How long an access token lives; after that the page refreshes it without asking anybody.
pub const ACCESS_TOKEN_MIN: i64 = 10;

/// What a token says.
#[derive(Debug, Serialize, Deserialize)]
struct Claims {
    /// The person.
    sub: Uuid,
    /// The session.
    sid: Uuid,
    /// Issued at, seconds since 1970.
    iat: i64,
    /// Expires at, seconds since 1970.
    exp: i64,
}

/// Signs and reads access tokens.
pub struct TokenKeys {
    encoding: EncodingKey,
    decoding: DecodingKey,
}

impl TokenKeys {
    /// Keys from the configured secret.
    pub fn new(secret: &[u8]) -> Self {
        TokenKeys {
            encoding: EncodingKey::from_secret(secret),
            decoding: DecodingKey::from_secret(secret),
        }
    }

    /// A token for a session.
    ///
    /// # Errors
    /// When signing fails, which is ours to mend.
    pub fn sign(
        &self,
        person_id: Uuid,
        session_id: Uuid,
        now: DateTime<Utc>,
    ) -> Result<String, Problem> {
        let claims = Claims {
            sub: person_id,
            sid: session_id,
            iat: now.timestamp(),
            exp: (now + TimeDelta::minutes(ACCESS_TOKEN_MIN)).timestamp(),
        };
        encode(&Header::new(Algorithm::HS256), &claims, &self.encoding).map_err(Problem::internal)
    }

    /// The session that a token names, if the token is ours and still good.
    ///
    /// # Errors
    /// "not-signed-in", saying what to do.
    pub fn session_of(&self, token: &str, now: DateTime<Utc>) -> Result<Uuid, Problem> {
        let mut validation = Validation::new(Algorithm::HS256);
        // The library would ask the machine's clock; the time is compared below with ours.
        validation.validate_exp = false;
        validation.required_spec_claims.clear();
        let claims = decode::<Claims>(token, &self.decoding, &validation)
            .map_err(|_| {
                Problem::not_signed_in("This access token is not one of ours. Refresh, or sign in.")
            })?
            .claims;
        if claims.exp <= now.timestamp() {
            return Err(Problem::not_signed_in("This access token has expired. Refresh it."));
        }
        Ok(claims.sid)
    }
}

/// The caller of a signed-in route.
#[derive(Clone, Debug)]
pub struct SignedIn(pub Caller);

impl Deref for SignedIn {
    type Target = Caller;

    fn deref(&self) -> &Caller {
        &self.0
    }
}

impl FromRequest for SignedIn {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move { signed_in(&req).await })
    }
}

/// The caller of a guest's route.
#[derive(Clone, Debug)]
pub struct GuestIn(pub Caller);

impl Deref for GuestIn {
    type Target = Caller;

    fn deref(&self) -> &Caller {
        &self.0
    }
}

impl FromRequest for GuestIn {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        let req = req.clone();
        Box::pin(async move { guest_in(&req).await })
    }
}

/// The cookie with a guest's session. The page's scripts cannot read it, and it is sent to the
/// guest's own routes only.
pub const GUEST_COOKIE: &str = "cs_guest";

/// Reads the guest from a request. A guest has no access token, and nothing that is let in by
/// one lets a guest in.
///
/// # Errors
/// "not-signed-in", saying what to do.
pub async fn guest_in(req: &HttpRequest) -> Result<GuestIn, Problem> {
    let state = state_of(req)?;
    let cookie = req.cookie(GUEST_COOKIE).ok_or_else(|| {
        Problem::not_signed_in("Open the link that you were sent; this page is for its guest.")
    })?;
    Ok(GuestIn(store::guest::caller_by_token(&state.store, cookie.value()).await?))
}

/// Reads the caller from a request.
///
/// # Errors
/// "not-signed-in", saying what to do.
pub async fn signed_in(req: &HttpRequest) -> Result<SignedIn, Problem> {
    let state = state_of(req)?;
    let token = req
        .headers()
        .get(header::AUTHORIZATION)
        .and_then(|value| value.to_str().ok())
        .and_then(|value| value.strip_prefix("Bearer "))
        .ok_or_else(|| {
            Problem::not_signed_in(
                "Sign in first, and send the access token as `Authorization: Bearer …`.",
            )
        })?;
    let session_id = state.keys.session_of(token.trim(), state.store.now())?;
    let caller = store::session::caller_find(&state.store, session_id).await?;
    Ok(SignedIn(caller))
}

/// The application's state, in an extractor.
///
/// # Errors
/// When the application was put together without it.
pub fn state_of(req: &HttpRequest) -> Result<web::Data<AppState>, Problem> {
    req.app_data::<web::Data<AppState>>()
        .cloned()
        .ok_or_else(|| Problem::internal("the application has no state"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_700_000_000 + second, 0).unwrap()
    }

    #[test]
    fn a_token_is_good_for_ten_minutes() {
        let keys = TokenKeys::new(b"secret");
        let session_id = Uuid::from_u128(9);
        let token = keys.sign(Uuid::from_u128(1), session_id, at(0)).unwrap();

        assert_eq!(keys.session_of(&token, at(599)).unwrap(), session_id);
        assert_eq!(keys.session_of(&token, at(600)).unwrap_err().code(), "not-signed-in");
    }

    #[test]
    fn a_token_of_another_service_is_refused() {
        let token =
            TokenKeys::new(b"theirs").sign(Uuid::from_u128(1), Uuid::from_u128(2), at(0)).unwrap();

        let problem = TokenKeys::new(b"ours").session_of(&token, at(1)).unwrap_err();

        assert_eq!(problem.status().as_u16(), 401);
    }
}
