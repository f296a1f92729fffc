//! What the connections of one process share: one look at each shop's feed for all of them,
//! how many sockets a session has, and the two ways to end them.
//!
//! Belongs here: who is connected, waking them, ending them. Does not belong here: what a
//! connection sends (`conversation`). Several processes on one database each have a hub; they
//! meet only in the tables.

use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use serde_json::Value;
use store::ambient::Clock;
use store::person::Caller;
use store::thread::here::Told;
use tokio::sync::Notify;
use tokio::time::MissedTickBehavior;
use tokio_util::sync::CancellationToken;
use uuid::Uuid;

use crate::feed::{Event, Feed, FeedError};
use crate::limits::{PAGE_ROWS_MAX, PING_MS, POLL_MS, SOCKETS_PER_SESSION_MAX};
use crate::protocol::ServerFrame;
use crate::switchboard::{Line, Shop};

/// The topic that ends a session's sockets. `ref_id` is the session's.
const SESSION_REVOKED: &str = "session_revoked";

/// One per process. Cheap to clone.
pub struct Hub<F: Feed> {
    shared: Arc<Shared<F>>,
}

struct Shared<F> {
    feed: F,
    clock: Arc<dyn Clock>,
    shops: Mutex<HashMap<Uuid, Shop>>,
    sessions: Mutex<HashMap<Uuid, Session>>,
    wake: Notify,
    closing: CancellationToken,
}

struct Session {
    sockets: usize,
    revoked: CancellationToken,
}

/// A connection's place in the hub; given up when dropped.
pub(crate) struct Seat<F: Feed> {
    hub: Hub<F>,
    session_id: Uuid,
    /// Cancelled when the session is revoked.
    pub(crate) revoked: CancellationToken,
}

impl<F: Feed> Clone for Hub<F> {
    fn clone(&self) -> Self {
        Hub { shared: Arc::clone(&self.shared) }
    }
}

impl<F: Feed> Hub<F> {
    /// A hub over these tables. Nothing moves until [`Hub::run`] does.
    pub fn new(feed: F, clock: Arc<dyn Clock>) -> Self {
        Hub {
            shared: Arc::new(Shared {
                feed,
                clock,
                shops: Mutex::default(),
                sessions: Mutex::default(),
                wake: Notify::new(),
                closing: CancellationToken::new(),
            }),
        }
    }

    /// Says that some table may have changed. Never waits; forgotten wakes are made up for by
    /// the slow poll.
    pub fn wake(&self) {
        self.shared.wake.notify_one();
    }

    /// Ends every connection with "restarting", and [`Hub::run`].
    pub fn close(&self) {
        self.shared.closing.cancel();
    }

    /// Cancelled by [`Hub::close`].
    pub fn closing(&self) -> &CancellationToken {
        &self.shared.closing
    }

    /// Looks at the feed of each connected shop whenever woken, and every [`POLL_MS`] in any
    /// case, until closed. Asks every [`PING_MS`] whether the sessions still stand.
    pub async fn run(&self) {
        tokio::join!(self.look_on(), self.ask_on());
    }

    /// A session may have run out, or its person been let go, without anything being
    /// announced. All are asked about at once: a question per socket would be most of what an
    /// idle service asks of the database.
    async fn ask_on(&self) {
        let mut ask = tokio::time::interval(Duration::from_millis(PING_MS));
        ask.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            tokio::select! {
                () = self.shared.closing.cancelled() => return,
                _ = ask.tick() => {}
            }
            let session_ids: Vec<Uuid> = self.sessions().keys().copied().collect();
            if session_ids.is_empty() {
                continue;
            }
            // An outage of the database is no reason to send everybody away.
            let Ok(ended) = self.shared.feed.sessions_ended(&session_ids).await else { continue };
            for session_id in ended {
                self.end_session(session_id);
            }
        }
    }

    fn end_session(&self, session_id: Uuid) {
        if let Some(session) = self.sessions().get(&session_id) {
            session.revoked.cancel();
        }
    }

    async fn look_on(&self) {
        let mut poll = tokio::time::interval(Duration::from_millis(POLL_MS));
        poll.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let mut reachable = true;
        loop {
            tokio::select! {
                () = self.shared.closing.cancelled() => return,
                () = self.shared.wake.notified() => {}
                _ = poll.tick() => {}
            }
            match self.look().await {
                Ok(()) => reachable = true,
                // Once, not at every poll of an outage.
                Err(error) if reachable => {
                    reachable = false;
                    tracing::warn!(error = &error as &dyn std::error::Error, "live feed");
                }
                Err(_) => {}
            }
        }
    }

    /// One look at every connected shop.
    async fn look(&self) -> Result<(), FeedError> {
        let cursors: Vec<(Uuid, u64)> = {
            let mut shops = self.shops();
            shops.retain(|_, shop| !shop.is_empty());
            shops.iter().map(|(id, shop)| (*id, shop.cursor())).collect()
        };
        for (shop_id, mut cursor) in cursors {
            loop {
                let events = self.shared.feed.events_after(shop_id, cursor, PAGE_ROWS_MAX).await?;
                let Some(last) = events.last() else { break };
                cursor = last.seq;
                let more = events.len() as u64 >= PAGE_ROWS_MAX;
                self.pass_on(shop_id, events).await?;
                if !more {
                    break;
                }
            }
        }
        Ok(())
    }

    /// Hands a page of events to whom they concern. A message is fetched once for all who
    /// follow its thread, and only where somebody does.
    async fn pass_on(&self, shop_id: Uuid, mut events: Vec<Event>) -> Result<(), FeedError> {
        for event in events.iter().filter(|event| event.topic == SESSION_REVOKED) {
            self.end_session(event.ref_id);
        }
        let wanted = match self.shops().get(&shop_id) {
            Some(shop) => shop.wanted(&events),
            None => return Ok(()),
        };
        let posted = if wanted.is_empty() {
            Vec::new()
        } else {
            self.shared.feed.posted_after(shop_id, &wanted, PAGE_ROWS_MAX).await?
        };
        self.add_rows(shop_id, &mut events).await?;
        // Only now: what could not be fetched is looked at again from the same place.
        if let Some(shop) = self.shops().get_mut(&shop_id) {
            shop.hand_out(events, posted);
        }
        Ok(())
    }

    /// Fetches each changed job's row once for every screen that shows the board: five hundred
    /// of them asking for it would be five hundred queries for one change.
    async fn add_rows(&self, shop_id: Uuid, events: &mut [Event]) -> Result<(), FeedError> {
        let jobs: BTreeSet<Uuid> = events.iter().filter_map(Event::board_job).collect();
        if jobs.is_empty() {
            return Ok(());
        }
        let jobs: Vec<Uuid> = jobs.into_iter().collect();
        let rows = self.shared.feed.board_rows(shop_id, &jobs).await?;
        let rows: HashMap<Uuid, Arc<Value>> =
            rows.into_iter().map(|(id, row)| (id, Arc::new(row))).collect();
        for event in events {
            event.row = event.board_job().and_then(|id| rows.get(&id).cloned());
        }
        Ok(())
    }

    /// Takes a place for one more socket of the caller's session; none when it has
    /// [`SOCKETS_PER_SESSION_MAX`].
    pub(crate) fn seat(&self, caller: &Caller) -> Option<Seat<F>> {
        let mut sessions = self.sessions();
        let session = sessions
            .entry(caller.session_id)
            .or_insert_with(|| Session { sockets: 0, revoked: CancellationToken::new() });
        if session.sockets >= SOCKETS_PER_SESSION_MAX {
            return None;
        }
        session.sockets += 1;
        let revoked = session.revoked.clone();
        drop(sessions);
        Some(Seat { hub: self.clone(), session_id: caller.session_id, revoked })
    }

    /// A line on which the shop's events come from here on. Read the table after this, not
    /// before: then an event is in the one or the other.
    pub(crate) async fn line(&self, shop_id: Uuid) -> Result<Line<F>, FeedError> {
        let known = self.shops().get(&shop_id).map(Shop::cursor);
        let cursor = match known {
            Some(cursor) => cursor,
            None => self.shared.feed.held(shop_id).await?.last,
        };
        let (number, incoming) = {
            let mut shops = self.shops();
            shops.entry(shop_id).or_insert_with(|| Shop::new(cursor)).plug_in()
        };
        Ok(Line::new(self.clone(), shop_id, number, incoming))
    }

    /// Hands on what some process told of who is here, to those who follow that thread.
    pub async fn tell(&self, told: Told) {
        let (shop_id, job_id, frame) = match told {
            Told::Looking { job_id, shop_id } => {
                if !self.with_shop(shop_id, |shop| shop.is_followed(job_id)).unwrap_or(false) {
                    return;
                }
                // The next beat tells it again.
                let Ok(looking) = self.shared.feed.lookers(shop_id, job_id).await else { return };
                (shop_id, job_id, ServerFrame::Presence { job_id, looking })
            }
            Told::Typing { job_id, shop_id, person_id } => {
                (shop_id, job_id, ServerFrame::Typing { job_id, person_id })
            }
            Told::Marked { job_id, shop_id, person_id, seen_seq } => {
                let seen_seq = u64::try_from(seen_seq).unwrap_or(0);
                (shop_id, job_id, ServerFrame::Marked { job_id, person_id, seen_seq })
            }
        };
        self.with_shop(shop_id, |shop| shop.tell(job_id, frame));
    }

    /// Does something with a connected shop; nothing when nobody is connected any more.
    pub(crate) fn with_shop<R>(
        &self,
        shop_id: Uuid,
        act: impl FnOnce(&mut Shop) -> R,
    ) -> Option<R> {
        self.shops().get_mut(&shop_id).map(act)
    }

    /// The tables.
    pub(crate) fn feed(&self) -> &F {
        &self.shared.feed
    }

    /// The clock.
    pub(crate) fn clock(&self) -> &dyn Clock {
        self.shared.clock.as_ref()
    }

    /// How many sockets are open in this process.
    pub fn sockets(&self) -> usize {
        self.sessions().values().map(|session| session.sockets).sum()
    }

    // Neither lock is held across an await, and nothing under one can leave a half-made value:
    // a panic elsewhere is no reason to stop serving.
    fn shops(&self) -> MutexGuard<'_, HashMap<Uuid, Shop>> {
        self.shared.shops.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn sessions(&self) -> MutexGuard<'_, HashMap<Uuid, Session>> {
        self.shared.sessions.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<F: Feed> Drop for Seat<F> {
    fn drop(&mut self) {
        let mut sessions = self.hub.sessions();
        if let Some(session) = sessions.get_mut(&self.session_id) {
            session.sockets -= 1;
            if session.sockets == 0 {
                sessions.remove(&self.session_id);
            }
        }
    }
}
