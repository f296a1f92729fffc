//! Two thousand sockets: ten people in each of two hundred threads.
//!
//! Belongs here: connecting, saying, and taking the time of what comes. Does not belong here:
//! what the times should be.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use futures_util::stream::{self, StreamExt as _};
use futures_util::{SinkExt as _, stream::SplitSink};
use serde_json::{Value, json};
use tokio::net::TcpStream;
use tokio::sync::{Notify, mpsc};
use tokio::task::JoinHandle;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};
use uuid::Uuid;

use super::place::{PASSWORD, PEOPLE, Place, THREADS, email};

/// Sockets in all.
pub(crate) const SOCKETS: usize = THREADS * PEOPLE;
/// Sockets of one session; the service lets in no more.
const PER_SESSION: usize = 8;
/// Sockets that are being opened at once the first time.
const AT_ONCE: usize = 32;
/// How long the last deliveries are waited for.
const TRAILING: Duration = Duration::from_secs(20);

/// A socket's near end.
pub(crate) type Ws = WebSocketStream<MaybeTlsStream<TcpStream>>;

/// Everybody.
pub(crate) struct Crowd {
    http: reqwest::Client,
    tokens: Vec<String>,
    jobs: Vec<Uuid>,
    seats: Vec<Seat>,
    times: Arc<Times>,
}

struct Seat {
    say: mpsc::UnboundedSender<String>,
    reader: JoinHandle<()>,
    writer: JoinHandle<()>,
    /// The last message number seen.
    seen: Arc<AtomicU64>,
    acked: Arc<Notify>,
}

/// When each message was said, acknowledged and delivered.
#[derive(Default)]
struct Times(Mutex<Vec<Told>>);

#[derive(Clone, Copy)]
struct Told {
    said: Instant,
    acked: Option<Instant>,
    delivered: usize,
    last: Option<Instant>,
}

/// What a load came to.
pub(crate) struct Load {
    /// Acknowledged per second.
    pub(crate) per_s: f64,
    /// Half and 99 in 100 were acknowledged within this.
    pub(crate) ack_ms: [f64; 2],
    /// Half and 99 in 100 were at their last reader within this.
    pub(crate) last_ms: [f64; 2],
}

impl Crowd {
    /// Signs everybody in.
    pub(crate) async fn sign_in(place: &Place) -> Self {
        let http = reqwest::Client::builder().no_proxy().build().unwrap();
        let sessions = SOCKETS / PER_SESSION;
        // Socket by thread, then person: a session is one person's.
        let tokens: Vec<String> = stream::iter(0..sessions)
            .map(|session| sign_in(&http, &place.base, session % PEOPLE))
            .buffered(2)
            .collect()
            .await;
        Crowd { http, tokens, jobs: place.jobs.clone(), seats: Vec::new(), times: Arc::default() }
    }

    /// Opens every socket.
    pub(crate) async fn connect(&mut self, place: &Place) {
        self.seats = self.open_all(place, AT_ONCE, |_| 0).await;
    }

    async fn open_all(
        &self,
        place: &Place,
        at_once: usize,
        after: impl Fn(usize) -> u64,
    ) -> Vec<Seat> {
        let opening = stream::iter(0..SOCKETS).map(|socket| {
            let (person, thread) = (socket % PEOPLE, socket / PEOPLE);
            let token = &self.tokens[person + PEOPLE * (thread / PER_SESSION)];
            let threads = match after(socket) {
                0 => BTreeMap::new(),
                seen => BTreeMap::from([(self.jobs[thread], seen)]),
            };
            let seen = after(socket);
            async move {
                let ws = open(&self.http, &place.base, token, &threads).await;
                seat(ws, seen, Arc::clone(&self.times))
            }
        });
        opening.buffered(at_once).collect().await
    }

    /// Everybody follows their thread.
    pub(crate) async fn follow(&self) {
        for (socket, seat) in self.seats.iter().enumerate() {
            let job = self.jobs[socket / PEOPLE];
            seat.send(json!({ "type": "follow", "job_id": job, "after": 0 }).to_string());
        }
        tokio::time::sleep(Duration::from_secs(2)).await;
    }

    /// One writer per thread, each saying the next thing once the last is acknowledged.
    pub(crate) async fn closed(&self, lasts: Duration) -> Load {
        let from = self.times.len();
        let (began, until) = (Instant::now(), Instant::now() + lasts);
        let writers = (0..THREADS).map(|thread| async move {
            let seat = &self.seats[thread * PEOPLE + thread % PEOPLE];
            while Instant::now() < until {
                let acked = seat.acked.notified();
                self.say(thread, thread % PEOPLE);
                acked.await;
            }
        });
        futures_util::future::join_all(writers).await;
        self.load(from, began.elapsed()).await
    }

    /// So many messages a second, whatever comes back.
    pub(crate) async fn offered(&self, per_s: f64, lasts: Duration) -> Load {
        let from = self.times.len();
        let began = Instant::now();
        let mut tick = tokio::time::interval(Duration::from_secs_f64(1.0 / per_s));
        let mut number = 0;
        while began.elapsed() < lasts {
            tick.tick().await;
            self.say(number % THREADS, number / THREADS % PEOPLE);
            number += 1;
        }
        self.load(from, began.elapsed()).await
    }

    fn say(&self, thread: usize, person: usize) {
        let number = self.times.said();
        let seat = &self.seats[thread * PEOPLE + person];
        // The key carries the number, so that an acknowledgement finds its message.
        let key = Uuid::from_u128(0x7000_8000_0000_0000_0000 + number as u128);
        seat.send(format!(
            r#"{{"type":"say","job_id":"{}","key":"{key}","kind":"text","body":{{"text":"The fan is free and the shaft turns."}}}}"#,
            self.jobs[thread]
        ));
    }

    async fn load(&self, from: usize, took: Duration) -> Load {
        let waits = Instant::now();
        while waits.elapsed() < TRAILING && !self.times.all_delivered(from) {
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        let told = self.times.0.lock().unwrap()[from..].to_vec();
        let since = |told: &Told, at: Option<Instant>| {
            at.map_or(f64::INFINITY, |at| (at - told.said).as_secs_f64() * 1000.0)
        };
        let acks = told.iter().map(|told| since(told, told.acked)).collect::<Vec<_>>();
        let lasts =
            told.iter().map(|told| since(told, told.last.filter(|_| told.delivered == PEOPLE)));
        let per_s = acks.iter().filter(|ms| ms.is_finite()).count() as f64 / took.as_secs_f64();
        Load { per_s, ack_ms: half_and_99(acks), last_ms: half_and_99(lasts.collect()) }
    }

    /// Drops every line at once, without a word.
    pub(crate) fn cut(&self) {
        for seat in &self.seats {
            seat.reader.abort();
            seat.writer.abort();
        }
    }

    /// Everybody comes back in the same instant, and goes on from what they saw last.
    pub(crate) async fn resume(&mut self, place: &Place) {
        let seen: Vec<u64> =
            self.seats.iter().map(|seat| seat.seen.load(Ordering::Relaxed)).collect();
        self.seats = self.open_all(place, SOCKETS, |socket| seen[socket]).await;
    }
}

impl Seat {
    fn send(&self, text: String) {
        // A socket that ended shows in what is never delivered.
        let _ = self.say.send(text);
    }
}

impl Times {
    fn len(&self) -> usize {
        self.0.lock().unwrap().len()
    }

    fn said(&self) -> usize {
        let mut told = self.0.lock().unwrap();
        told.push(Told { said: Instant::now(), acked: None, delivered: 0, last: None });
        told.len() - 1
    }

    fn all_delivered(&self, from: usize) -> bool {
        let told = self.0.lock().unwrap();
        told[from..].iter().all(|told| told.delivered == PEOPLE && told.acked.is_some())
    }

    fn note(&self, number: usize, note: impl FnOnce(&mut Told)) {
        if let Some(told) = self.0.lock().unwrap().get_mut(number) {
            note(told);
        }
    }
}

pub(crate) fn half_and_99(mut ms: Vec<f64>) -> [f64; 2] {
    ms.sort_by(f64::total_cmp);
    let at = |share: f64| ms[((ms.len() as f64 * share) as usize).min(ms.len() - 1)];
    [at(0.5), at(0.99)]
}

/// Signs one of the people in; the answer is their access token.
pub(crate) async fn sign_in(http: &reqwest::Client, base: &str, person: usize) -> String {
    let body = json!({ "email": email(person), "password": PASSWORD });
    let answer = http.post(format!("{base}/api/session")).json(&body).send().await.unwrap();
    let opened: Value = answer.json().await.unwrap();
    opened["access_token"].as_str().expect("signed in").to_owned()
}

/// Opens a socket that is welcomed, following these threads.
pub(crate) async fn open(
    http: &reqwest::Client,
    base: &str,
    token: &str,
    threads: &BTreeMap<Uuid, u64>,
) -> Ws {
    let hello = json!({ "type": "hello", "version": 1, "resume": { "threads": threads } });
    loop {
        let asked = http.post(format!("{base}/api/live/ticket")).bearer_auth(token).send().await;
        let ticket: Option<Value> = match asked {
            Ok(answer) => answer.json().await.ok(),
            Err(_) => None,
        };
        let ticket = ticket.and_then(|given| given["ticket"].as_str().map(str::to_owned));
        if let Some(ticket) = ticket
            && let Ok((mut ws, _)) =
                connect_async(format!("{}/live?ticket={ticket}", base.replacen("http", "ws", 1)))
                    .await
            && ws.send(Message::text(hello.to_string())).await.is_ok()
            && let Some(Ok(Message::Text(first))) = ws.next().await
            && first.contains("\"welcome\"")
        {
            return ws;
        }
        // A session's old sockets may not be gone yet; a client waits a little, not in step.
        tokio::time::sleep(Duration::from_millis(100 + rand::random_range(0..200))).await;
    }
}

fn seat(ws: Ws, seen: u64, times: Arc<Times>) -> Seat {
    let (sink, mut source) = ws.split();
    let (say, said) = mpsc::unbounded_channel();
    let (seen, acked) = (Arc::new(AtomicU64::new(seen)), Arc::new(Notify::new()));
    let writer = tokio::spawn(write(sink, said));
    let reader = tokio::spawn({
        let (say, seen, acked) = (say.clone(), Arc::clone(&seen), Arc::clone(&acked));
        async move {
            while let Some(Ok(raw)) = source.next().await {
                let Message::Text(text) = raw else { continue };
                let now = Instant::now();
                if text.starts_with(r#"{"type":"message""#) {
                    seen.store(number_after(&text, "\"seq\":"), Ordering::Relaxed);
                    times.note(key(&text), |told| {
                        told.delivered += 1;
                        told.last = Some(now);
                    });
                } else if text.starts_with(r#"{"type":"ack""#) {
                    times.note(key(&text), |told| told.acked = Some(now));
                    acked.notify_waiters();
                } else if text.starts_with(r#"{"type":"ping""#) {
                    let _ = say.send(r#"{"type":"pong"}"#.to_owned());
                }
            }
        }
    });
    Seat { say, reader, writer, seen, acked }
}

async fn write(mut sink: SplitSink<Ws, Message>, mut said: mpsc::UnboundedReceiver<String>) {
    while let Some(text) = said.recv().await {
        if sink.send(Message::text(text)).await.is_err() {
            return;
        }
    }
}

/// Parsing every frame whole would measure this program.
pub(crate) fn number_after(text: &str, name: &str) -> u64 {
    let Some((_, rest)) = text.split_once(name) else { return 0 };
    let digits: &str = &rest[..rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len())];
    digits.parse().unwrap_or(0)
}

fn key(text: &str) -> usize {
    let Some((_, rest)) = text.split_once("\"key\":\"") else { return usize::MAX };
    match rest.get(..36).and_then(|key| key.parse::<Uuid>().ok()) {
        Some(key) => (key.as_u128() & 0xffff_ffff_ffff) as usize,
        None => usize::MAX,
    }
}
