//! The live stream over the store.
//!
//! Belongs here: the store's shapes turned into the wire's, its errors into problems, and the
//! listener that wakes the hub. Does not belong here: SQL.

use std::time::Duration;

use serde_json::Value;
use store::guest;
use store::live_feed::{self, EVENTS_KEPT_MAX, Listener};
use store::session;
use store::thread::many::Said;
use store::thread::{self, Saying, here};
use store::{Caller, Store, StoreError};
use uuid::Uuid;

use crate::feed::{Event, Feed, FeedError, Held, Page, Posted};
use crate::hub::Hub;
use crate::limits::{LISTEN_AGAIN_MS, PRUNE_EVERY_MS};
use crate::protocol::{Ask, Author, Message, MessageBody, MessageKind, Problem};
use crate::sayers::Sayers;

/// The tables, over a store.
pub struct StoreFeed {
    store: Store,
    sayers: Sayers,
}

impl StoreFeed {
    /// Over this store.
    pub fn new(store: Store) -> Self {
        StoreFeed { sayers: Sayers::new(store.clone()), store }
    }
}

impl Feed for StoreFeed {
    async fn held(&self, shop_id: Uuid) -> Result<Held, FeedError> {
        let held = live_feed::held(self.store.conn(), shop_id).await.map_err(refusal)?;
        Ok(Held { last: wire_seq(held.last), first: wire_seq(held.first) })
    }

    async fn events_after(
        &self,
        shop_id: Uuid,
        after: u64,
        limit: u64,
    ) -> Result<Vec<Event>, FeedError> {
        let (after, limit) = (row_seq(after), row_seq(limit));
        let events = live_feed::events_after(self.store.conn(), shop_id, after, limit)
            .await
            .map_err(refusal)?;
        let events = events.into_iter().map(|event| Event {
            seq: wire_seq(event.seq),
            topic: event.topic,
            ref_id: event.ref_id,
            body: event.body,
            row: None,
        });
        Ok(events.collect())
    }

    async fn posted_after(
        &self,
        shop_id: Uuid,
        wanted: &[(Uuid, u64)],
        limit: u64,
    ) -> Result<Vec<Posted>, FeedError> {
        let wanted: Vec<(Uuid, i64)> =
            wanted.iter().map(|(job_id, after)| (*job_id, row_seq(*after))).collect();
        let posted = thread::posted_after(self.store.conn(), shop_id, &wanted, row_seq(limit))
            .await
            .map_err(refusal)?;
        let posted = posted.into_iter().map(|posted| {
            let messages = posted.messages.into_iter().map(wire_message).collect();
            Posted::new(posted.job_id, wire_seq(posted.last_seq), posted.withheld_from, messages)
        });
        Ok(posted.collect())
    }

    async fn board_rows(
        &self,
        shop_id: Uuid,
        job_ids: &[Uuid],
    ) -> Result<Vec<(Uuid, Value)>, FeedError> {
        let rows = store::board::rows_of(self.store.conn(), shop_id, None, job_ids)
            .await
            .map_err(refusal)?;
        let rows =
            rows.into_iter().filter_map(|row| Some((row.id, serde_json::to_value(row).ok()?)));
        Ok(rows.collect())
    }

    async fn sessions_ended(&self, session_ids: &[Uuid]) -> Result<Vec<Uuid>, FeedError> {
        session::ended_of(&self.store, session_ids).await.map_err(refusal)
    }

    async fn session_stands(&self, caller: &Caller) -> Result<bool, FeedError> {
        match guest::anyone_by_session(&self.store, caller.session_id).await {
            Ok(_) => Ok(true),
            Err(StoreError::NotSignedIn { .. }) => Ok(false),
            Err(error) => Err(refusal(error)),
        }
    }

    async fn messages_after(
        &self,
        caller: &Caller,
        job_id: Uuid,
        after: u64,
        limit: u64,
    ) -> Result<Page, FeedError> {
        let (after, limit) = (row_seq(after), row_seq(limit));
        let page = thread::messages_after(&self.store, caller, job_id, after, limit)
            .await
            .map_err(refusal)?;
        Ok(match page {
            thread::Page::Withheld => Page::Withheld,
            thread::Page::Messages { last_seq, messages, .. } => Page::Messages {
                last_seq: wire_seq(last_seq),
                messages: messages.into_iter().map(wire_message).collect(),
            },
        })
    }

    async fn say(
        &self,
        caller: &Caller,
        job_id: Uuid,
        key: Uuid,
        kind: MessageKind,
        body: MessageBody,
    ) -> Result<u64, FeedError> {
        let saying = Saying { client_key: key, kind: row_kind(kind), body: row_body(body) };
        let said = Said { caller: caller.clone(), job_id, saying };
        Ok(wire_seq(self.sayers.say(said).await.map_err(refusal)?))
    }

    async fn mark(&self, caller: &Caller, job_id: Uuid, seen_seq: u64) -> Result<(), FeedError> {
        thread::mark(&self.store, caller, job_id, row_seq(seen_seq)).await.map_err(refusal)
    }

    fn socket_id(&self) -> Uuid {
        self.store.new_id()
    }

    async fn look(&self, caller: &Caller, job_id: Uuid, socket: Uuid) -> Result<(), FeedError> {
        here::look(&self.store, caller, job_id, socket).await.map_err(refusal)
    }

    async fn look_away(&self, job_id: Option<Uuid>, socket: Uuid) -> Result<(), FeedError> {
        here::look_away(&self.store, job_id, socket).await.map_err(refusal)
    }

    async fn lookers(&self, shop_id: Uuid, job_id: Uuid) -> Result<Vec<Author>, FeedError> {
        let lookers = here::lookers(&self.store, shop_id, job_id).await.map_err(refusal)?;
        Ok(lookers.into_iter().map(|one| Author { id: one.id, name: one.name }).collect())
    }

    async fn typing(&self, caller: &Caller, job_id: Uuid) -> Result<(), FeedError> {
        let (shop_id, person_id) = (caller.shop_id, caller.person_id);
        let told = here::Told::Typing { job_id, shop_id, person_id };
        here::tell(&self.store, &told).await.map_err(refusal)
    }
}

/// Wakes the hub at every announcement, until the hub is closed. While the database is away
/// the hub's own slow poll goes on, and this tries again every [`LISTEN_AGAIN_MS`].
pub async fn listen<F: Feed>(hub: &Hub<F>, store: &Store) {
    let listening = async {
        loop {
            if let Err(error) = wake_at_announcements(hub, store).await {
                tracing::warn!(error = &error as &dyn std::error::Error, "live listener");
            }
            tokio::time::sleep(Duration::from_millis(LISTEN_AGAIN_MS)).await;
        }
    };
    let pruning = async {
        loop {
            if let Err(error) = live_feed::prune(store.conn(), EVENTS_KEPT_MAX).await {
                tracing::warn!(error = &error as &dyn std::error::Error, "pruning the live feed");
            }
            tokio::time::sleep(Duration::from_millis(PRUNE_EVERY_MS)).await;
        }
    };
    tokio::select! {
        () = hub.closing().cancelled() => {}
        () = listening => {}
        () = pruning => {}
    }
}

async fn wake_at_announcements<F: Feed>(hub: &Hub<F>, store: &Store) -> Result<(), StoreError> {
    let mut listener = Listener::connect(store).await?;
    loop {
        // Before the first wait too: something may have been announced while nobody listened.
        hub.wake();
        if let Some(told) = listener.heard_told().await? {
            hub.tell(told).await;
        }
    }
}

fn refusal(error: StoreError) -> FeedError {
    let problem = match error {
        StoreError::NotFound { what } => {
            Problem::new("not-found", "Not found", format!("there is no such {what}"))
        }
        StoreError::Forbidden { code, says } => Problem::new(code, "Not allowed", says),
        StoreError::Conflict { code, says } => Problem::new(code, "Not now", says),
        StoreError::Overlap { says, .. } => Problem::new("assignment-overlap", "Not now", says),
        StoreError::Invalid { pointer, says } => {
            Problem::new("invalid", "Not as it should be", format!("{pointer}: {says}"))
        }
        StoreError::InvalidMany(faults) => {
            let faults = faults.iter().map(|fault| format!("{}: {}", fault.pointer, fault.says));
            let detail = faults.collect::<Vec<_>>().join("\n");
            Problem::new("invalid", "Not as it should be", detail)
        }
        StoreError::NotSignedIn { says } => Problem::new("not-signed-in", "Not signed in", says),
        StoreError::TooMany { says, .. } => Problem::new("too-many", "Too many tries", says),
        error @ (StoreError::Unavailable { .. }
        | StoreError::Database(_)
        | StoreError::Corrupt { .. }) => return FeedError::Unavailable(Box::new(error)),
    };
    FeedError::Refused(problem)
}

fn wire_message(message: thread::Message) -> Message {
    Message {
        thread_id: message.thread_id,
        job_id: message.job_id,
        seq: wire_seq(message.seq),
        id: message.id,
        author: message.author.map(|author| Author { id: author.id, name: author.name }),
        kind: match message.kind {
            thread::MessageKind::Text => MessageKind::Text,
            thread::MessageKind::ReadingCard => MessageKind::ReadingCard,
            thread::MessageKind::Event => MessageKind::Event,
            thread::MessageKind::Photo => MessageKind::Photo,
            thread::MessageKind::Ask => MessageKind::Ask,
        },
        body: MessageBody {
            text: message.body.text,
            reading_label: message.body.reading_label,
            reading_id: message.body.reading_id,
            event: message.body.event,
            photo_id: message.body.photo_id,
            width_px: message.body.width_px,
            height_px: message.body.height_px,
            ask: message.body.ask.map(wire_ask).map(Box::new),
            ask_id: message.body.ask_id,
            mentions: message.body.mentions,
        },
        key: message.client_key,
        at: message.at,
    }
}

fn row_kind(kind: MessageKind) -> thread::MessageKind {
    match kind {
        MessageKind::Text => thread::MessageKind::Text,
        MessageKind::ReadingCard => thread::MessageKind::ReadingCard,
        MessageKind::Event => thread::MessageKind::Event,
        MessageKind::Photo => thread::MessageKind::Photo,
        MessageKind::Ask => thread::MessageKind::Ask,
    }
}

fn row_body(body: MessageBody) -> thread::MessageBody {
    thread::MessageBody {
        text: body.text,
        reading_label: body.reading_label,
        reading_id: body.reading_id,
        event: body.event,
        photo_id: body.photo_id,
        // The store's own to tell.
        width_px: None,
        height_px: None,
        ask: body.ask.map(|ask| row_ask(*ask)),
        ask_id: body.ask_id,
        mentions: body.mentions,
    }
}

fn wire_ask(ask: thread::ask::Ask) -> Ask {
    let thread::ask::Ask { quantity, from, to, lifted, power, state, why } = ask;
    Ask { quantity, from, to, lifted, power, state, why }
}

fn row_ask(ask: Ask) -> thread::ask::Ask {
    let Ask { quantity, from, to, lifted, power, state, why } = ask;
    thread::ask::Ask { quantity, from, to, lifted, power, state, why }
}

/// The tables count in signed numbers and never below zero.
fn wire_seq(seq: i64) -> u64 {
    u64::try_from(seq).unwrap_or(0)
}

/// A number beyond what the tables can count to is after everything.
fn row_seq(seq: u64) -> i64 {
    i64::try_from(seq).unwrap_or(i64::MAX)
}
