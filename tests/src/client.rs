//! Somebody who asks the service over HTTP.
//!
//! Belongs here: sending, what was answered, and a copy of every byte received. Does not
//! belong here: what should be answered; only what must hold for every answer is looked at.

use std::sync::Mutex;

use reqwest::header::{CONTENT_TYPE, HeaderMap};
use reqwest::{Method, RequestBuilder};
use serde_json::{Value, json};
use store::ambient::Generator;
use uuid::Uuid;

use crate::seed::{PASSWORD, email_of};
use crate::service::{PATIENCE, Service};

/// A fresh UUID.
///
/// # Panics
/// When the system has no randomness.
pub fn fresh() -> Uuid {
    Generator::from_os().expect("the system has randomness").uuid(chrono::DateTime::UNIX_EPOCH)
}

/// A client, signed in or not.
pub struct Client {
    /// Where the service is.
    pub base: String,
    /// The access token.
    pub token: Option<String>,
    /// The refresh cookie's value, as last set.
    pub cookie: Option<String>,
    /// A guest's cookie, where they are one.
    pub guest: Option<String>,
    /// The person; nil while nobody is signed in.
    pub id: Uuid,
    http: reqwest::Client,
    heard: Mutex<Vec<(String, String)>>,
}

/// What was answered.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Method and path asked.
    pub asked: String,
    /// The status.
    pub status: u16,
    /// The headers.
    pub headers: HeaderMap,
    /// The body.
    pub text: String,
}

impl Client {
    /// Somebody who is not signed in.
    ///
    /// # Panics
    /// When no client can be made.
    pub fn anonymous(service: &Service) -> Self {
        let http = reqwest::Client::builder()
            .timeout(PATIENCE)
            // Sooner than the service lets an idle connection go: a request would meet its end.
            .pool_idle_timeout(std::time::Duration::from_secs(2))
            // A test looks at each answer itself.
            .redirect(reqwest::redirect::Policy::none())
            .no_proxy()
            .build()
            .expect("a client");
        Client {
            base: service.base.clone(),
            token: None,
            cookie: None,
            guest: None,
            id: Uuid::nil(),
            http,
            heard: Mutex::default(),
        }
    }

    /// One of the seeded people, signed in.
    ///
    /// # Panics
    /// When they cannot sign in.
    pub async fn signed_in(service: &Service, name: &str) -> Self {
        let mut client = Client::anonymous(service);
        let body = json!({ "email": email_of(name), "password": PASSWORD });
        let opened = client.sign_in(&body).await.done();
        client.id = id_in(&opened["person"]);
        client
    }

    /// Tries to sign in, and keeps the token and the cookie where that works.
    pub async fn sign_in(&mut self, body: &Value) -> Answer {
        let answer = self.send(self.request(Method::POST, "/api/session").json(body)).await;
        self.keep(&answer);
        answer
    }

    /// Refreshes with a cookie.
    pub async fn refresh_with(&self, cookie: &str) -> Answer {
        let request = self.request(Method::POST, "/api/session/refresh");
        self.send(request.header("Cookie", format!("cs_refresh={cookie}"))).await
    }

    /// Keeps what an answer to a sign-in or refresh carries.
    pub fn keep(&mut self, answer: &Answer) {
        if answer.status == 200 {
            self.token = answer.json()["access_token"].as_str().map(str::to_owned);
            self.cookie = answer.cookie().map(|(value, _)| value).or(self.cookie.take());
        }
    }

    /// A request with the token but without a key.
    pub fn request(&self, method: Method, path: &str) -> RequestBuilder {
        let request = self.http.request(method, format!("{}{path}", self.base));
        let request = match &self.guest {
            Some(cookie) => request.header("Cookie", format!("cs_guest={cookie}")),
            None => request,
        };
        match &self.token {
            Some(token) => request.bearer_auth(token),
            None => request,
        }
    }

    /// Asks for something.
    pub async fn get(&self, path: &str) -> Answer {
        self.send(self.request(Method::GET, path)).await
    }

    /// Writes, with a fresh key.
    pub async fn post(&self, path: &str, body: &Value) -> Answer {
        self.write(Method::POST, path, fresh(), body).await
    }

    /// Puts a body in the place of what is there, under a key of its own.
    pub async fn put(&self, path: &str, body: &Value) -> Answer {
        self.write(Method::PUT, path, fresh(), body).await
    }

    /// Changes, with a fresh key.
    pub async fn patch(&self, path: &str, body: &Value) -> Answer {
        self.write(Method::PATCH, path, fresh(), body).await
    }

    /// Writes with a given key.
    pub async fn write(&self, method: Method, path: &str, key: Uuid, body: &Value) -> Answer {
        let request = self.request(method, path).header("Idempotency-Key", key.to_string());
        self.send(if body.is_null() { request } else { request.json(body) }).await
    }

    /// Writes this very text as JSON, with a fresh key.
    pub async fn post_text(&self, path: &str, text: impl Into<String>) -> Answer {
        let request =
            self.request(Method::POST, path).header("Idempotency-Key", fresh().to_string());
        self.send(request.header(CONTENT_TYPE, "application/json").body(text.into())).await
    }

    /// Sends any request and keeps what was received.
    ///
    /// # Panics
    /// When there is no answer, or the service itself failed.
    pub async fn send(&self, request: RequestBuilder) -> Answer {
        let request = request.build().expect("a request");
        let asked = format!("{} {}", request.method(), request.url().path());
        let response = self
            .http
            .execute(request)
            .await
            .unwrap_or_else(|error| panic!("{asked}: no answer: {error:?}"));
        let (status, headers) = (response.status().as_u16(), response.headers().clone());
        let text = response.text().await.unwrap_or_else(|error| panic!("{asked}: {error:?}"));
        let answer = Answer { asked, status, headers, text };
        let whole = format!("{:?}\n{}", answer.headers, answer.text);
        self.heard.lock().expect("not poisoned").push((answer.asked.clone(), whole));
        answer.must_be_sound();
        answer
    }

    /// Everything received so far: what was asked, headers and body.
    ///
    /// # Panics
    /// When a test failed meanwhile.
    pub fn heard(&self) -> Vec<(String, String)> {
        self.heard.lock().expect("not poisoned").clone()
    }
}

impl Answer {
    /// What holds for every answer: the service has not failed, and a refusal is a problem.
    #[track_caller]
    fn must_be_sound(&self) {
        assert!(self.status < 500, "{}: {} {}", self.asked, self.status, self.text);
        if self.status < 400 {
            return;
        }
        let media_type = self.headers.get(CONTENT_TYPE).and_then(|value| value.to_str().ok());
        assert_eq!(media_type, Some("application/problem+json"), "{}: {}", self.asked, self.text);
        let problem = self.json();
        let kind = problem["type"].as_str().unwrap_or_default();
        assert!(kind.starts_with("/problems/"), "{}: {problem}", self.asked);
        assert_eq!(problem["status"], self.status, "{}: {problem}", self.asked);
        for field in ["title", "detail"] {
            let said = problem[field].as_str().unwrap_or_default();
            assert!(said.chars().count() >= 5, "{}: no {field} in {problem}", self.asked);
        }
    }

    /// The body.
    ///
    /// # Panics
    /// When it is no JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text)
            .unwrap_or_else(|error| panic!("{}: {error}: {:?}", self.asked, self.text))
    }

    /// The body of what was done; null for an empty one.
    ///
    /// # Panics
    /// When it was refused.
    #[track_caller]
    pub fn done(&self) -> Value {
        assert!((200..300).contains(&self.status), "{}: {} {}", self.asked, self.status, self.text);
        if self.text.is_empty() { Value::Null } else { self.json() }
    }

    /// The problem of what was refused.
    ///
    /// # Panics
    /// When it was not, or for another reason.
    #[track_caller]
    pub fn refused(&self, status: u16, code: &str) -> Value {
        assert_eq!(
            (self.status, self.code().as_str()),
            (status, code),
            "{}: {}",
            self.asked,
            self.text
        );
        self.json()
    }

    /// The code of a problem; empty for none.
    pub fn code(&self) -> String {
        let problem: Value = serde_json::from_str(&self.text).unwrap_or_default();
        let kind = problem["type"].as_str().unwrap_or_default();
        kind.trim_start_matches("/problems/").to_owned()
    }

    /// The refresh cookie's value and its whole line, if one was set.
    pub fn cookie(&self) -> Option<(String, String)> {
        self.cookie_named("cs_refresh")
    }

    /// A cookie's value and its whole line, if it was set.
    pub fn cookie_named(&self, name: &str) -> Option<(String, String)> {
        let line = self.headers.get("set-cookie")?.to_str().ok()?;
        let value = line.strip_prefix(name)?.strip_prefix('=')?.split(';').next()?;
        Some((value.to_owned(), line.to_owned()))
    }
}

/// The id of a thing.
///
/// # Panics
/// When it has none.
#[track_caller]
pub fn id_in(thing: &Value) -> Uuid {
    let id = thing["id"].as_str().unwrap_or_else(|| panic!("no id in {thing}"));
    id.parse().unwrap_or_else(|error| panic!("{id}: {error}"))
}
