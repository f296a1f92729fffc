//! What one connection answers and pushes, and in which order.
//!
//! Belongs here: hello and resume, following, saying, marking, passing changes on, and what a
//! blind reader is not shown. Does not belong here: sockets (`connection`) and SQL.
//!
//! A connection keeps one number for the shop's feed and one per followed thread. It moves
//! them only when the frame is queued, and every look at a table starts from them; so a lost
//! wake-up, a lagging channel or a database that is away for a while delays a frame and loses
//! none.

use std::collections::BTreeMap;
use std::time::Duration;

use chrono::{DateTime, Utc};
use serde_json::Value;
use store::person::Caller;
use tokio::sync::mpsc;
use tokio::time::{MissedTickBehavior, interval, timeout};
use uuid::Uuid;

use crate::connection::{End, Outgoing, signed_out};
use crate::feed::{Event, Feed, FeedError, Page, Posted};
use crate::hub::Hub;
use crate::limits::{
    FOLLOWED_THREADS_MAX, HELLO_MS_MAX, PAGE_ROWS_MAX, PING_MS, RETRY_MS, TYPING_EVERY_MS,
};
use crate::protocol::{
    ChangedTopic, ClientFrame, CloseCode, MessageBody, MessageKind, Problem, Resume, ServerFrame,
    VERSION,
};
use crate::switchboard::{Heard, Line};

/// The fields of an event's body that leave the server. Whatever else a writer puts there, a
/// claim for instance, stays.
const BODY_FIELDS: [&str; 5] = ["job_id", "request_id", "state", "revision", "version"];

struct Conversation<'a, F: Feed> {
    hub: &'a Hub<F>,
    caller: &'a Caller,
    outgoing: Outgoing,
    line: Line<F>,
    /// What this socket is called where it is kept who looks.
    socket: Uuid,
    /// The last event of the shop that was passed on or passed over.
    cursor: u64,
    threads: BTreeMap<Uuid, Followed>,
    /// Some look at a table failed and is owed.
    behind: bool,
}

/// A thread that this socket follows.
#[derive(Clone, Copy, Debug)]
struct Followed {
    /// The last message number that was queued.
    cursor: u64,
    /// Whether messages are held back until a blind read is in; none before the client was
    /// told either.
    withheld: Option<bool>,
    /// Whether it is kept that the person was shown the thread, so that its messages may be
    /// passed on without another look at the tables.
    opened: bool,
    /// Whether it is on the screen.
    looking: bool,
    /// When typing was last passed on.
    typed_at: Option<DateTime<Utc>>,
}

impl Followed {
    fn after(cursor: u64) -> Self {
        Followed { cursor, withheld: None, opened: false, looking: false, typed_at: None }
    }

    /// Whether the client may see the thread, as last found.
    fn is_open(&self) -> bool {
        self.withheld == Some(false)
    }
}

/// Forgets what a socket looked at when it ends, however it ends.
struct Leaving<F: Feed> {
    hub: Hub<F>,
    socket: Uuid,
}

impl<F: Feed> Drop for Leaving<F> {
    fn drop(&mut self) {
        let (hub, socket) = (self.hub.clone(), self.socket);
        if let Ok(runtime) = tokio::runtime::Handle::try_current() {
            runtime.spawn(async move {
                // What cannot be forgotten now runs out by itself.
                let _ = hub.feed().look_away(None, socket).await;
            });
        }
    }
}

/// Speaks with one client until the connection has to end.
pub(crate) async fn converse<F: Feed>(
    hub: &Hub<F>,
    caller: &Caller,
    mut inbox: mpsc::Receiver<Box<ClientFrame>>,
    outgoing: Outgoing,
) -> End {
    let resume = match hello(&mut inbox).await {
        Ok(resume) => resume,
        Err(end) => return end,
    };
    // In this order: what happens after the line is open comes on it, what happened before it
    // is in the tables that are read next.
    let line = match Box::pin(hub.line(caller.shop_id)).await {
        Ok(line) => line,
        Err(error) => return not_now(error),
    };
    let (threads, socket) = (BTreeMap::new(), hub.feed().socket_id());
    let _leaving = Leaving { hub: hub.clone(), socket };
    let mut conversation =
        Conversation { hub, caller, outgoing, line, socket, cursor: 0, threads, behind: false };
    let ended = match Box::pin(conversation.start(resume)).await {
        Ok(()) => conversation.go_on(inbox).await,
        Err(end) => Err(end),
    };
    ended.err().unwrap_or(End::Left)
}

/// The first frame.
async fn hello(inbox: &mut mpsc::Receiver<Box<ClientFrame>>) -> Result<Resume, End> {
    let first = match timeout(Duration::from_millis(HELLO_MS_MAX), inbox.recv()).await {
        Ok(Some(frame)) => *frame,
        Ok(None) => return Err(End::Left),
        Err(_) => return Err(End::closed(CloseCode::BadFrame, "no hello came")),
    };
    match first {
        ClientFrame::Hello { version: VERSION, resume } => Ok(resume),
        ClientFrame::Hello { version, .. } => {
            let says = format!("version {version} is not spoken here; version {VERSION} is");
            Err(End::closed(CloseCode::BadFrame, says))
        }
        _ => Err(End::closed(CloseCode::BadFrame, "the first frame must be hello")),
    }
}

impl<F: Feed> Conversation<'_, F> {
    /// Finds where to go on from, welcomes, and takes up the threads of a resumed client.
    async fn start(&mut self, resume: Resume) -> Result<(), End> {
        let shop_id = self.caller.shop_id;
        let feed = self.hub.feed();
        if !feed.session_stands(self.caller).await.map_err(not_now)? {
            return Err(signed_out());
        }
        let held = feed.held(shop_id).await.map_err(not_now)?;
        let after = resume.live_after.filter(|after| (held.first - 1..=held.last).contains(after));
        self.cursor = after.unwrap_or(held.last);
        self.outgoing
            .push(ServerFrame::Welcome {
                version: VERSION,
                person_id: self.caller.person_id,
                live_seq: self.cursor,
                resumed: after.is_some(),
            })
            .await?;
        for (job_id, after) in resume.threads {
            self.follow(job_id, after).await?;
        }
        self.catch_up().await
    }

    async fn go_on(&mut self, mut inbox: mpsc::Receiver<Box<ClientFrame>>) -> Result<(), End> {
        let mut ping = interval(Duration::from_millis(PING_MS));
        let mut retry = interval(Duration::from_millis(RETRY_MS));
        ping.set_missed_tick_behavior(MissedTickBehavior::Delay);
        retry.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            tokio::select! {
                frame = inbox.recv() => match frame {
                    // Boxed, as is what follows: an idle socket should not hold room for a query.
                    Some(frame) => Box::pin(self.answer(*frame)).await?,
                    None => return Ok(()),
                },
                heard = self.line.heard() => match heard {
                    Some(heard) => Box::pin(self.take(heard)).await?,
                    None => return Ok(()),
                },
                _ = ping.tick() => self.beat().await?,
                _ = retry.tick(), if self.behind => Box::pin(self.retry()).await?,
            }
        }
    }

    /// Passes on what came on the line.
    async fn take(&mut self, heard: Heard) -> Result<(), End> {
        match heard {
            Heard::Posted(posted) => self.take_posted(&posted).await,
            Heard::Changed { event, .. } if event.seq <= self.cursor => Ok(()),
            Heard::Changed { after, event } if after <= self.cursor => self.pass_on(&event).await,
            // One is missing from the line: the tables have it.
            Heard::Changed { .. } => self.catch_up().await,
            Heard::Here { job_id, frame } => match self.threads.get(&job_id) {
                Some(followed) if followed.is_open() && self.caller.guest.is_none() => {
                    self.outgoing.push((*frame).clone()).await
                }
                _ => Ok(()),
            },
            Heard::Missed => self.retry().await,
        }
    }

    /// Passes on messages that were fetched for all followers of their thread, unless the
    /// tables have to be asked for this one.
    async fn take_posted(&mut self, posted: &Posted) -> Result<(), End> {
        let job_id = posted.job_id;
        let Some(followed) = self.threads.get_mut(&job_id) else { return Ok(()) };
        let fits = posted.frames.first().is_some_and(|(seq, _)| *seq <= followed.cursor + 1);
        let plain = followed.opened
            && followed.withheld == Some(false)
            && !posted.withheld_from.contains(&self.caller.person_id)
            // A guest's way in can end with the request that they were asked about.
            && self.caller.guest.is_none();
        if !fits || !plain {
            return self.refresh(job_id).await;
        }
        for (seq, text) in &posted.frames {
            if *seq > followed.cursor {
                self.outgoing.push_text(text.clone()).await?;
                followed.cursor = *seq;
            }
        }
        Ok(())
    }

    async fn answer(&mut self, frame: ClientFrame) -> Result<(), End> {
        match frame {
            ClientFrame::Hello { .. } => {
                Err(End::closed(CloseCode::BadFrame, "hello is said once, at the start"))
            }
            ClientFrame::Follow { job_id, after } => self.follow(job_id, after).await,
            ClientFrame::Unfollow { job_id } => {
                self.look_at(job_id, false).await;
                self.threads.remove(&job_id);
                self.line.unfollow(job_id);
                Ok(())
            }
            ClientFrame::Look { job_id, looking } => {
                self.look_at(job_id, looking).await;
                Ok(())
            }
            ClientFrame::Typing { job_id } => {
                self.type_in(job_id).await;
                Ok(())
            }
            ClientFrame::Say { job_id, key, kind, body } => self.say(job_id, key, kind, body).await,
            ClientFrame::Mark { job_id, seen_seq } => {
                match self.hub.feed().mark(self.caller, job_id, seen_seq).await {
                    Ok(()) => Ok(()),
                    Err(error) => self.refuse(None, Some(job_id), error).await,
                }
            }
            // Heard where it is read.
            ClientFrame::Pong {} => Ok(()),
        }
    }

    async fn follow(&mut self, job_id: Uuid, after: u64) -> Result<(), End> {
        if self.threads.len() >= FOLLOWED_THREADS_MAX && !self.threads.contains_key(&job_id) {
            let detail = format!(
                "this connection follows {FOLLOWED_THREADS_MAX} threads; unfollow one first"
            );
            let problem = Problem::new("too-many-threads", "Too many threads", detail);
            return self.refuse(None, Some(job_id), FeedError::Refused(problem)).await;
        }
        self.line.follow(job_id);
        self.threads.insert(job_id, Followed::after(after));
        self.refresh(job_id).await
    }

    /// Asks for a sign of life, and keeps up what is known of this socket.
    async fn beat(&mut self) -> Result<(), End> {
        for (job_id, _) in self.threads.iter().filter(|(_, one)| one.looking && one.is_open()) {
            // Who is here is worth no more than a try.
            let _ = self.hub.feed().look(self.caller, *job_id, self.socket).await;
        }
        self.outgoing.push(ServerFrame::Ping {}).await
    }

    /// The thread came on the screen, or went. Nobody is seen in a thread that is kept from
    /// them, nor is a guest, who knows the shop's people by what they write only.
    async fn look_at(&mut self, job_id: Uuid, looking: bool) {
        let Some(followed) = self.threads.get_mut(&job_id) else { return };
        let was = std::mem::replace(&mut followed.looking, looking);
        if looking && followed.is_open() && self.caller.guest.is_none() {
            let _ = self.hub.feed().look(self.caller, job_id, self.socket).await;
        } else if was && !looking {
            let _ = self.hub.feed().look_away(Some(job_id), self.socket).await;
        }
    }

    async fn type_in(&mut self, job_id: Uuid) {
        let now = self.hub.clock().now();
        let Some(followed) = self.threads.get_mut(&job_id) else { return };
        let soon = followed
            .typed_at
            .is_some_and(|at| (now - at).num_milliseconds().unsigned_abs() < TYPING_EVERY_MS);
        if soon || !followed.is_open() || self.caller.guest.is_some() {
            return;
        }
        followed.typed_at = Some(now);
        let _ = self.hub.feed().typing(self.caller, job_id).await;
    }

    async fn say(
        &mut self,
        job_id: Uuid,
        key: Uuid,
        kind: MessageKind,
        body: MessageBody,
    ) -> Result<(), End> {
        match self.hub.feed().say(self.caller, job_id, key, kind, body).await {
            Ok(seq) => {
                // Not only when told: the writer should not wait for a notification.
                self.hub.wake();
                self.outgoing.push(ServerFrame::Ack { key, job_id, seq }).await
            }
            Err(error) => self.refuse(Some(key), Some(job_id), error).await,
        }
    }

    async fn refuse(
        &mut self,
        key: Option<Uuid>,
        job_id: Option<Uuid>,
        error: FeedError,
    ) -> Result<(), End> {
        let problem = match error {
            FeedError::Refused(problem) => problem,
            FeedError::Unavailable(source) => {
                tracing::warn!(error = source.as_ref(), "live write");
                let detail = "it may or may not be stored; say it again with the same key";
                Problem::new("unavailable", "Not reachable just now", detail)
            }
        };
        self.outgoing.push(ServerFrame::Refused { key, job_id, problem }).await
    }

    async fn look(&self, job_id: Uuid, after: u64) -> Result<Page, FeedError> {
        self.hub.feed().messages_after(self.caller, job_id, after, PAGE_ROWS_MAX).await
    }

    /// Queues a page of a followed thread, and the pages after it.
    async fn deliver(&mut self, job_id: Uuid, mut page: Page) -> Result<(), End> {
        while let Some(followed) = self.threads.get_mut(&job_id) {
            let (last_seq, messages) = match page {
                Page::Withheld => (followed.cursor, None),
                Page::Messages { last_seq, messages } => (last_seq, Some(messages)),
            };
            let withheld = messages.is_none();
            if followed.withheld != Some(withheld) {
                followed.withheld = Some(withheld);
                let frame = ServerFrame::Following { job_id, last_seq, withheld };
                self.outgoing.push(frame).await?;
            }
            let messages = messages.unwrap_or_default();
            // The look that gives a person messages also keeps that they were shown them.
            followed.opened |= !messages.is_empty();
            let more = messages.len() as u64 >= PAGE_ROWS_MAX;
            for message in messages {
                let seq = message.seq;
                self.outgoing.push(ServerFrame::Message { message }).await?;
                followed.cursor = seq;
            }
            if !more {
                break;
            }
            let after = followed.cursor;
            page = match self.look(job_id, after).await {
                Ok(page) => page,
                Err(_) => {
                    self.behind = true;
                    break;
                }
            };
        }
        Ok(())
    }

    /// Looks whether a followed thread has more.
    async fn refresh(&mut self, job_id: Uuid) -> Result<(), End> {
        let Some(followed) = self.threads.get(&job_id).copied() else { return Ok(()) };
        match self.look(job_id, followed.cursor).await {
            Ok(page) => self.deliver(job_id, page).await,
            Err(FeedError::Unavailable(_)) => {
                self.behind = true;
                Ok(())
            }
            Err(error) => {
                self.threads.remove(&job_id);
                self.line.unfollow(job_id);
                self.refuse(None, Some(job_id), error).await
            }
        }
    }

    /// Reads the shop's events that the channel did not bring.
    async fn catch_up(&mut self) -> Result<(), End> {
        loop {
            let page =
                self.hub.feed().events_after(self.caller.shop_id, self.cursor, PAGE_ROWS_MAX).await;
            let Ok(page) = page else {
                self.behind = true;
                return Ok(());
            };
            for event in &page {
                if event.seq != self.cursor + 1 {
                    // Pruned under our feet. The client resumes, and is told to fetch again.
                    return Err(End::closed(CloseCode::TooSlow, "too far behind; resume"));
                }
                self.pass_on(event).await?;
            }
            if (page.len() as u64) < PAGE_ROWS_MAX {
                return Ok(());
            }
        }
    }

    async fn retry(&mut self) -> Result<(), End> {
        self.behind = false;
        self.catch_up().await?;
        self.refresh_all().await
    }

    async fn refresh_all(&mut self) -> Result<(), End> {
        let job_ids: Vec<Uuid> = self.threads.keys().copied().collect();
        for job_id in job_ids {
            self.refresh(job_id).await?;
        }
        Ok(())
    }

    /// Passes one event on in the form that this caller may see.
    async fn pass_on(&mut self, event: &Event) -> Result<(), End> {
        self.cursor = event.seq;
        match event.topic.as_str() {
            // `ref_id` is the job's.
            "message" => return self.refresh(event.ref_id).await,
            // A blind read may have begun or been committed.
            "request" => match job_of(event) {
                Some(job_id) => self.refresh(job_id).await?,
                None => self.refresh_all().await?,
            },
            _ => {}
        }
        match topic_for(self.caller, event) {
            Some(topic) => {
                let body = body_public(&event.body);
                let (live_seq, ref_id) = (event.seq, event.ref_id);
                // A row names the customer, whom a guest must not know.
                let row = event.row.as_deref().filter(|_| self.caller.guest.is_none()).cloned();
                self.outgoing
                    .push(ServerFrame::Changed { live_seq, topic, ref_id, body, row })
                    .await
            }
            None => Ok(()),
        }
    }
}

/// The job that an event about something else belongs to, where it says so.
fn job_of(event: &Event) -> Option<Uuid> {
    event.body.get("job_id")?.as_str()?.parse().ok()
}

/// What this caller is told a change is about; nothing when it is not for them.
fn topic_for(caller: &Caller, event: &Event) -> Option<ChangedTopic> {
    if let Some(guest) = caller.guest {
        // A guest hears of the one case they were invited to, and of nothing else in the shop.
        return match event.topic.as_str() {
            "evidence" if event.ref_id == guest.job_id => Some(ChangedTopic::Evidence),
            "request" if event.ref_id == guest.request_id => Some(ChangedTopic::Request),
            _ => None,
        };
    }
    match event.topic.as_str() {
        "job" => Some(ChangedTopic::Job),
        "evidence" => Some(ChangedTopic::Evidence),
        "request" => Some(ChangedTopic::Request),
        "mail" if caller.manages() => Some(ChangedTopic::Mail),
        "rule" => Some(ChangedTopic::Rule),
        "capacity" => Some(ChangedTopic::Capacity),
        "rota" => Some(ChangedTopic::Rota),
        "plan" if caller.schedules() => Some(ChangedTopic::Plan),
        _ => None,
    }
}

/// The fields that may leave, and of those only plain ones.
fn body_public(body: &Value) -> BTreeMap<String, Value> {
    let fields = BODY_FIELDS.iter().filter_map(|field| {
        let value = body.get(field)?;
        let plain = value.is_string() || value.is_number();
        plain.then(|| ((*field).to_owned(), value.clone()))
    });
    fields.collect()
}

fn not_now(error: FeedError) -> End {
    tracing::warn!(error = &error as &dyn std::error::Error, "live start");
    End::closed(CloseCode::Restarting, "the service cannot reach its tables; come back in a moment")
}
