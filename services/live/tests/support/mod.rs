//! Tables in memory and a client over an in-memory stream.
//!
//! Belongs here: what the tests of a connection share. Does not belong here: any promise.
#![allow(dead_code, unreachable_pub, reason = "each test file uses its part")]

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

use chrono::DateTime;
use futures_util::{SinkExt, StreamExt};
use live::feed::{Event, Feed, FeedError, Held, Page, Posted};
use live::protocol::{
    Author, ClientFrame, Message, MessageBody, MessageKind, Problem, Resume, ServerFrame, VERSION,
};
use live::{End, Hub, serve_connection};
use serde_json::{Value, json};
use store::ambient::ManualClock;
use store::person::{Caller, Role};
use tokio::io::DuplexStream;
use tokio::task::JoinHandle;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::protocol::Role as Side;
use tokio_tungstenite::tungstenite::{Error as WsError, Message as Raw};
use uuid::Uuid;

pub const SHOP: Uuid = Uuid::from_u128(1);
pub const JOB: Uuid = Uuid::from_u128(2);

/// What would be in the database.
#[derive(Clone, Default)]
pub struct Tables(Arc<Mutex<Inner>>);

#[derive(Default)]
struct Inner {
    events: Vec<Event>,
    messages: BTreeMap<Uuid, Vec<Message>>,
    blind: BTreeSet<Uuid>,
    ended: BTreeSet<Uuid>,
    marks: BTreeMap<(Uuid, Uuid), u64>,
    first_held: u64,
    away: bool,
    sockets: u128,
    looking: BTreeMap<(Uuid, Uuid), Uuid>,
    typed: Vec<Uuid>,
}

impl Tables {
    fn lock(&self) -> std::sync::MutexGuard<'_, Inner> {
        self.0.lock().unwrap()
    }

    pub fn announce(&self, topic: &str, ref_id: Uuid, body: Value) -> u64 {
        let mut inner = self.lock();
        let seq = inner.events.len() as u64 + 1;
        inner.events.push(Event { seq, topic: topic.to_owned(), ref_id, body, row: None });
        seq
    }

    pub fn end_session(&self, session_id: Uuid) {
        self.lock().ended.insert(session_id);
    }

    pub fn revoke(&self, session_id: Uuid) {
        self.end_session(session_id);
        self.announce("session_revoked", session_id, json!({}));
    }

    pub fn begin_blind_read(&self, person_id: Uuid) {
        self.lock().blind.insert(person_id);
        self.announce("request", Uuid::from_u128(99), json!({ "job_id": JOB, "state": "reading" }));
    }

    pub fn commit_blind_read(&self, person_id: Uuid) {
        self.lock().blind.remove(&person_id);
        let body = json!({ "job_id": JOB, "state": "revealed" });
        self.announce("request", Uuid::from_u128(99), body);
    }

    pub fn away(&self, away: bool) {
        self.lock().away = away;
    }

    pub fn prune_before(&self, first: u64) {
        self.lock().first_held = first;
    }

    pub fn mark_of(&self, person_id: Uuid) -> Option<u64> {
        self.lock().marks.get(&(JOB, person_id)).copied()
    }

    pub fn lookers_now(&self) -> Vec<Uuid> {
        self.lock().looking.values().copied().collect()
    }

    pub fn typed(&self) -> Vec<Uuid> {
        self.lock().typed.clone()
    }

    pub fn stored(&self) -> usize {
        self.lock().messages.get(&JOB).map_or(0, Vec::len)
    }

    /// As if another process had stored it.
    pub fn store_text(&self, author: Uuid, text: &str) -> u64 {
        let body = MessageBody { text: Some(text.to_owned()), ..MessageBody::default() };
        let key = Uuid::from_u128(1_000_000 + self.stored() as u128);
        self.store(author, key, MessageKind::Text, body)
    }

    fn store(&self, author: Uuid, key: Uuid, kind: MessageKind, body: MessageBody) -> u64 {
        let mut inner = self.lock();
        let messages = inner.messages.entry(JOB).or_default();
        let same = |message: &&Message| message.key == Some(key);
        if let Some(said) = messages.iter().find(same) {
            return said.seq;
        }
        let seq = messages.len() as u64 + 1;
        messages.push(Message {
            thread_id: Uuid::from_u128(3),
            job_id: JOB,
            seq,
            id: Uuid::from_u128(10_000 + u128::from(seq)),
            author: Some(Author { id: author, name: "Somebody".to_owned() }),
            kind,
            body,
            key: Some(key),
            at: DateTime::UNIX_EPOCH,
        });
        drop(inner);
        self.announce("message", JOB, json!({ "job_id": JOB, "seq": seq }));
        seq
    }

    fn here(&self) -> Result<std::sync::MutexGuard<'_, Inner>, FeedError> {
        let inner = self.lock();
        if inner.away {
            return Err(FeedError::Unavailable("away".into()));
        }
        Ok(inner)
    }
}

fn no_such_job(job_id: Uuid) -> Result<(), FeedError> {
    if job_id == JOB {
        return Ok(());
    }
    Err(FeedError::Refused(Problem::new("not-found", "Not found", "there is no such job")))
}

impl Feed for Tables {
    async fn held(&self, _: Uuid) -> Result<Held, FeedError> {
        let inner = self.here()?;
        Ok(Held { last: inner.events.len() as u64, first: inner.first_held.max(1) })
    }

    async fn events_after(&self, _: Uuid, after: u64, limit: u64) -> Result<Vec<Event>, FeedError> {
        let inner = self.here()?;
        let events = inner.events.iter().filter(|event| event.seq > after);
        Ok(events.take(limit as usize).cloned().collect())
    }

    async fn posted_after(
        &self,
        _: Uuid,
        wanted: &[(Uuid, u64)],
        limit: u64,
    ) -> Result<Vec<Posted>, FeedError> {
        let inner = self.here()?;
        let posted = wanted.iter().map(|(job_id, after)| {
            let said = inner.messages.get(job_id).cloned().unwrap_or_default();
            let last_seq = said.len() as u64;
            let later = said.into_iter().filter(|message| message.seq > *after);
            let later = later.take(limit as usize).collect();
            Posted::new(*job_id, last_seq, inner.blind.iter().copied().collect(), later)
        });
        Ok(posted.collect())
    }

    async fn board_rows(&self, _: Uuid, job_ids: &[Uuid]) -> Result<Vec<(Uuid, Value)>, FeedError> {
        drop(self.here()?);
        let row = |id: &Uuid| (*id, json!({ "id": id, "customer_name": "Orsolya Quill" }));
        Ok(job_ids.iter().map(row).collect())
    }

    async fn sessions_ended(&self, session_ids: &[Uuid]) -> Result<Vec<Uuid>, FeedError> {
        let inner = self.here()?;
        Ok(session_ids.iter().filter(|id| inner.ended.contains(id)).copied().collect())
    }

    async fn session_stands(&self, caller: &Caller) -> Result<bool, FeedError> {
        Ok(!self.here()?.ended.contains(&caller.session_id))
    }

    async fn messages_after(
        &self,
        caller: &Caller,
        job_id: Uuid,
        after: u64,
        limit: u64,
    ) -> Result<Page, FeedError> {
        let inner = self.here()?;
        no_such_job(job_id)?;
        if inner.blind.contains(&caller.person_id) {
            return Ok(Page::Withheld);
        }
        let said = inner.messages.get(&job_id).cloned().unwrap_or_default();
        let last_seq = said.len() as u64;
        let later = said.into_iter().filter(|message| message.seq > after);
        Ok(Page::Messages { last_seq, messages: later.take(limit as usize).collect() })
    }

    async fn say(
        &self,
        caller: &Caller,
        job_id: Uuid,
        key: Uuid,
        kind: MessageKind,
        body: MessageBody,
    ) -> Result<u64, FeedError> {
        no_such_job(job_id)?;
        if self.here()?.blind.contains(&caller.person_id) {
            let problem = Problem::new("blind-first", "Not allowed", "read first");
            return Err(FeedError::Refused(problem));
        }
        Ok(self.store(caller.person_id, key, kind, body))
    }

    async fn mark(&self, caller: &Caller, job_id: Uuid, seen_seq: u64) -> Result<(), FeedError> {
        no_such_job(job_id)?;
        self.here()?.marks.insert((job_id, caller.person_id), seen_seq);
        Ok(())
    }

    fn socket_id(&self) -> Uuid {
        let mut inner = self.lock();
        inner.sockets += 1;
        Uuid::from_u128(9_000_000 + inner.sockets)
    }

    async fn look(&self, caller: &Caller, job_id: Uuid, socket: Uuid) -> Result<(), FeedError> {
        self.here()?.looking.insert((job_id, socket), caller.person_id);
        Ok(())
    }

    async fn look_away(&self, job_id: Option<Uuid>, socket: Uuid) -> Result<(), FeedError> {
        let of_socket =
            |job: Uuid, other: Uuid| other == socket && job_id.is_none_or(|id| id == job);
        self.here()?.looking.retain(|(job, other), _| !of_socket(*job, *other));
        Ok(())
    }

    async fn lookers(&self, _: Uuid, job_id: Uuid) -> Result<Vec<Author>, FeedError> {
        let inner = self.here()?;
        let of_job = inner.looking.iter().filter(|((job, _), _)| *job == job_id);
        Ok(of_job.map(|(_, id)| Author { id: *id, name: "Somebody".to_owned() }).collect())
    }

    async fn typing(&self, caller: &Caller, _: Uuid) -> Result<(), FeedError> {
        self.here()?.typed.push(caller.person_id);
        Ok(())
    }
}

/// A hub that runs.
pub fn hub(tables: &Tables) -> Hub<Tables> {
    let clock = Arc::new(ManualClock::new(DateTime::UNIX_EPOCH));
    let hub = Hub::new(tables.clone(), clock);
    let running = hub.clone();
    tokio::spawn(async move { running.run().await });
    hub
}

pub fn technician(number: u128) -> Caller {
    caller(number, Role::Technician)
}

pub fn caller(number: u128, role: Role) -> Caller {
    Caller {
        person_id: Uuid::from_u128(100 + number),
        shop_id: SHOP,
        roles: vec![role],
        qualifications: Vec::new(),
        session_id: Uuid::from_u128(200 + number),
        guest: None,
    }
}

/// The far end of a connection.
pub struct Client {
    pub socket: WebSocketStream<DuplexStream>,
    pub served: JoinHandle<End>,
}

impl Client {
    /// Connected, nothing said.
    pub async fn silent<F: Feed>(hub: &Hub<F>, caller: &Caller) -> Self {
        // Small, so that a client that does not read is noticed.
        let (near, far) = tokio::io::duplex(4096);
        let served = tokio::spawn(serve_connection(near, hub.clone(), caller.clone()));
        let socket = WebSocketStream::from_raw_socket(far, Side::Client, None).await;
        Client { socket, served }
    }

    /// Connected and welcomed, without a past.
    pub async fn new<F: Feed>(hub: &Hub<F>, caller: &Caller) -> Self {
        let (client, _) = Client::resumed(hub, caller, Resume::default()).await;
        client
    }

    /// Connected and welcomed, with a past.
    pub async fn resumed<F: Feed>(
        hub: &Hub<F>,
        caller: &Caller,
        resume: Resume,
    ) -> (Self, ServerFrame) {
        let mut client = Client::silent(hub, caller).await;
        client.send(ClientFrame::Hello { version: VERSION, resume }).await;
        let welcome = client.next().await;
        assert!(matches!(welcome, ServerFrame::Welcome { .. }), "{welcome:?}");
        (client, welcome)
    }

    pub async fn send(&mut self, frame: ClientFrame) {
        self.send_text(&serde_json::to_string(&frame).unwrap()).await;
    }

    pub async fn send_text(&mut self, text: &str) {
        self.socket.send(Raw::text(text)).await.unwrap();
    }

    pub async fn socket_send_pong(&mut self) -> Result<(), WsError> {
        self.socket.send(Raw::text(r#"{"type":"pong"}"#)).await
    }

    pub async fn follow(&mut self, after: u64) -> ServerFrame {
        self.follow_job(JOB, after).await
    }

    pub async fn follow_job(&mut self, job_id: Uuid, after: u64) -> ServerFrame {
        self.send(ClientFrame::Follow { job_id, after }).await;
        self.next().await
    }

    pub async fn say(&mut self, key: u128, text: &str) {
        self.say_on(JOB, key, text).await;
    }

    pub async fn say_on(&mut self, job_id: Uuid, key: u128, text: &str) {
        let body = MessageBody { text: Some(text.to_owned()), ..MessageBody::default() };
        let key = Uuid::from_u128(key);
        self.send(ClientFrame::Say { job_id, key, kind: MessageKind::Text, body }).await;
    }

    /// The next frame that is no ping; pings are answered.
    pub async fn next(&mut self) -> ServerFrame {
        loop {
            let raw = self.socket.next().await.expect("the socket was closed").unwrap();
            let text = raw.into_text().unwrap();
            match serde_json::from_str(&text).unwrap() {
                ServerFrame::Ping {} => self.send(ClientFrame::Pong {}).await,
                frame => return frame,
            }
        }
    }

    /// The next message's number and text.
    pub async fn message(&mut self) -> (u64, String) {
        loop {
            if let ServerFrame::Message { message } = self.next().await {
                return (message.seq, message.body.text.unwrap_or_default());
            }
        }
    }

    /// Reads until the socket closes: the code, and whether the goodbye carried the same one.
    pub async fn closed(mut self) -> u16 {
        let mut goodbye = None;
        while let Some(raw) = self.socket.next().await {
            match raw {
                Ok(Raw::Text(text)) => {
                    if let ServerFrame::Goodbye { code, .. } = serde_json::from_str(&text).unwrap()
                    {
                        goodbye = Some(code);
                    }
                }
                Ok(Raw::Close(Some(frame))) => {
                    assert_eq!(goodbye, Some(u16::from(frame.code)));
                }
                _ => {}
            }
        }
        goodbye.expect("closed without a goodbye")
    }
}
