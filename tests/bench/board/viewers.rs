//! Five hundred screens that show the board, and the time until each has the changed row.
//!
//! Belongs here: looking on, changing, taking the time. Does not belong here: what it should be.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use futures_util::SinkExt as _;
use futures_util::stream::{self, StreamExt as _};
use serde_json::{Value, json};
use tokio_tungstenite::tungstenite::Message;
use uuid::Uuid;

use super::crowd::{Ws, half_and_99, number_after, open, sign_in};
use super::place::{PEOPLE, Place};

/// Sockets of one session; the service lets in no more.
const PER_SESSION: usize = 8;
/// Sockets that are being opened at once.
const AT_ONCE: usize = 16;
/// How long the last rows are waited for.
const TRAILING: Duration = Duration::from_secs(10);
/// Jobs that are changed in turn.
const CHANGED: usize = 20;

/// When each row came: job and version to the times.
type Came = Arc<Mutex<HashMap<(Uuid, u64), Vec<Instant>>>>;

/// Everybody who looks on.
pub(crate) struct Viewers {
    http: reqwest::Client,
    came: Came,
    many: usize,
}

/// What came.
pub(crate) struct Seen {
    /// Changes made.
    pub(crate) changes: usize,
    /// Of the rows that every screen should have got.
    pub(crate) share: f64,
    /// Half and 99 in 100 of all rows came within this.
    pub(crate) ms: [f64; 2],
    /// The same for the last screen of each change.
    pub(crate) last_ms: [f64; 2],
}

impl Viewers {
    pub(crate) async fn open(place: &Place, many: usize) -> Self {
        let http = reqwest::Client::builder().no_proxy().build().unwrap();
        let sessions = many.div_ceil(PER_SESSION);
        let tokens: Vec<String> = stream::iter(0..sessions)
            .map(|session| sign_in(&http, &place.base, session % PEOPLE))
            .buffered(2)
            .collect()
            .await;
        let came = Came::default();
        let opening = stream::iter(0..many).map(|viewer| {
            let (http, token, came) = (&http, &tokens[viewer / PER_SESSION], Arc::clone(&came));
            async move {
                let ws = open(http, &place.base, token, &Default::default()).await;
                tokio::spawn(look_on(ws, came));
            }
        });
        opening.buffer_unordered(AT_ONCE).collect::<Vec<()>>().await;
        Viewers { http, came, many }
    }

    /// So many changes a second; each is a visit that begins or waits.
    pub(crate) async fn changes(
        &self,
        place: &Place,
        token: &str,
        per_s: f64,
        lasts: Duration,
    ) -> Seen {
        let me: Value = self.ask(reqwest::Method::GET, place, token, "/api/me", None).await;
        let jobs = &place.jobs[..CHANGED];
        for job in jobs {
            let put = json!({ "person_id": me["id"], "version": 1 });
            let path = format!("/api/jobs/{job}/assignment");
            self.ask(reqwest::Method::POST, place, token, &path, Some(put)).await;
        }
        let began = Instant::now();
        let mut tick = tokio::time::interval(Duration::from_secs_f64(1.0 / per_s));
        let mut asked = Vec::new();
        for number in 0.. {
            tick.tick().await;
            if began.elapsed() > lasts {
                break;
            }
            let (job, round) = (jobs[number % CHANGED], number / CHANGED);
            let state = if round.is_multiple_of(2) { "on_site" } else { "waiting" };
            let body = json!({ "version": round + 2, "state": state });
            asked.push(((job, round as u64 + 3), Instant::now()));
            self.ask(reqwest::Method::PATCH, place, token, &format!("/api/jobs/{job}"), Some(body))
                .await;
        }
        tokio::time::sleep(TRAILING.min(Duration::from_secs(3))).await;
        let came = self.came.lock().unwrap();
        let (mut all, mut last) = (Vec::new(), Vec::new());
        for (key, at) in &asked {
            let times = came.get(key).cloned().unwrap_or_default();
            let ms: Vec<f64> =
                times.iter().map(|time| (*time - *at).as_secs_f64() * 1000.0).collect();
            last.push(ms.iter().copied().fold(0.0, f64::max));
            all.extend(ms);
        }
        let share = all.len() as f64 / (asked.len() * self.many) as f64;
        Seen { changes: asked.len(), share, ms: half_and_99(all), last_ms: half_and_99(last) }
    }

    async fn ask(
        &self,
        method: reqwest::Method,
        place: &Place,
        token: &str,
        path: &str,
        body: Option<Value>,
    ) -> Value {
        let mut asked = self
            .http
            .request(method, format!("{}{path}", place.base))
            .bearer_auth(token)
            .header("idempotency-key", Uuid::from_u128(rand::random()).to_string());
        if let Some(body) = body {
            asked = asked.json(&body);
        }
        let answer = asked.send().await.unwrap();
        let status = answer.status();
        let text = answer.text().await.unwrap();
        assert!(status.is_success(), "{path}: {status} {text}");
        serde_json::from_str(&text).unwrap()
    }
}

/// Reads what comes, and notes when each row did.
async fn look_on(mut ws: Ws, came: Came) {
    while let Some(Ok(raw)) = ws.next().await {
        let Message::Text(text) = raw else { continue };
        let now = Instant::now();
        if text.starts_with(r#"{"type":"changed""#) {
            let Some((_, rest)) = text.split_once(r#""ref_id":""#) else { continue };
            let Some(Ok(job)) = rest.get(..36).map(str::parse::<Uuid>) else { continue };
            if rest.contains(r#""row":{"#) {
                let version = number_after(rest, "\"version\":");
                came.lock().unwrap().entry((job, version)).or_default().push(now);
            }
        } else if text.starts_with(r#"{"type":"ping""#)
            && ws.send(Message::text(r#"{"type":"pong"}"#)).await.is_err()
        {
            return;
        }
    }
}
