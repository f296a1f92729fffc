//! What the live stream asks of the tables.
//!
//! Belongs here: one trait and the plain values it speaks in, so that the hub and a connection
//! can be tried without a database. Does not belong here: SQL (the store's) and wire frames.

use std::future::Future;
use std::sync::Arc;

use serde_json::Value;
use store::person::Caller;
use tokio_tungstenite::tungstenite::Utf8Bytes;
use uuid::Uuid;

use crate::protocol::{Author, Message, MessageBody, MessageKind, Problem, ServerFrame};

/// Something that changed in a shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Counted per shop, from 1 without gaps.
    pub seq: u64,
    /// What kind of thing; see `store::live_feed`.
    pub topic: String,
    /// Which one.
    pub ref_id: Uuid,
    /// Anything more. The connection lets only named fields out.
    pub body: Value,
    /// The row of its job on the board, where it was fetched for all who look. Never for a guest.
    pub row: Option<Arc<Value>>,
}

impl Event {
    /// The job whose row on the board this may have changed.
    pub fn board_job(&self) -> Option<Uuid> {
        match self.topic.as_str() {
            "job" | "evidence" => Some(self.ref_id),
            "request" => self.body.get("job_id")?.as_str()?.parse().ok(),
            _ => None,
        }
    }
}

/// What the shop's feed holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// The last number given; 0 for none.
    pub last: u64,
    /// The first number still there; `last` + 1 when none is.
    pub first: u64,
}

/// A look at a thread.
#[derive(Clone, Debug, PartialEq)]
pub enum Page {
    /// The caller owes a blind read on the job and may not see its talk.
    Withheld,
    /// Messages in order, at most as many as asked for.
    Messages {
        /// The last number there is.
        last_seq: u64,
        /// Those after the number asked about.
        messages: Vec<Message>,
    },
}

/// A thread's new messages as they go to everyone who follows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Posted {
    /// The job that the thread is about.
    pub job_id: Uuid,
    /// The last number there is.
    pub last_seq: u64,
    /// Who owes a blind read on the job and may not see them, found in the same look.
    pub withheld_from: Vec<Uuid>,
    /// Number and frame, in order and without gaps. A frame is put into words once.
    pub frames: Vec<(u64, Utf8Bytes)>,
}

impl Posted {
    /// Puts the messages of one job into words.
    pub fn new(
        job_id: Uuid,
        last_seq: u64,
        withheld_from: Vec<Uuid>,
        messages: Vec<Message>,
    ) -> Self {
        let frames = messages.into_iter().filter_map(|message| {
            let seq = message.seq;
            ServerFrame::Message { message }.text().ok().map(|text| (seq, text))
        });
        Posted { job_id, last_seq, withheld_from, frames: frames.collect() }
    }
}

/// Why the tables did not give or take something.
#[derive(Debug, thiserror::Error)]
pub enum FeedError {
    /// The caller asked for something wrong; they are told this.
    #[error("{}", .0.detail)]
    Refused(Problem),
    /// Not the caller's fault: worth another try.
    #[error("the tables cannot be reached")]
    Unavailable(#[source] Box<dyn std::error::Error + Send + Sync>),
}

/// The tables, as far as the live stream needs them.
pub trait Feed: Send + Sync + 'static {
    /// What the shop's feed holds.
    fn held(&self, shop_id: Uuid) -> impl Future<Output = Result<Held, FeedError>> + Send;

    /// The shop's events after a number, in order, at most `limit`.
    fn events_after(
        &self,
        shop_id: Uuid,
        after: u64,
        limit: u64,
    ) -> impl Future<Output = Result<Vec<Event>, FeedError>> + Send;

    /// The messages of several threads of a shop, each after a number, for whoever follows
    /// them and is not named in [`Posted::withheld_from`]. At most `limit` of each.
    fn posted_after(
        &self,
        shop_id: Uuid,
        wanted: &[(Uuid, u64)],
        limit: u64,
    ) -> impl Future<Output = Result<Vec<Posted>, FeedError>> + Send;

    /// The rows of some jobs on the board, as everybody in the shop may see them.
    fn board_rows(
        &self,
        shop_id: Uuid,
        job_ids: &[Uuid],
    ) -> impl Future<Output = Result<Vec<(Uuid, Value)>, FeedError>> + Send;

    /// Which of these sessions do not stand any more.
    fn sessions_ended(
        &self,
        session_ids: &[Uuid],
    ) -> impl Future<Output = Result<Vec<Uuid>, FeedError>> + Send;

    /// Whether the caller's session still stands.
    fn session_stands(
        &self,
        caller: &Caller,
    ) -> impl Future<Output = Result<bool, FeedError>> + Send;

    /// The job's messages after a number. Whether they are withheld is decided in the same
    /// look, so that none slips out after a blind read began.
    fn messages_after(
        &self,
        caller: &Caller,
        job_id: Uuid,
        after: u64,
        limit: u64,
    ) -> impl Future<Output = Result<Page, FeedError>> + Send;

    /// Stores a message, or finds that it is stored, and says which number it has.
    fn say(
        &self,
        caller: &Caller,
        job_id: Uuid,
        key: Uuid,
        kind: MessageKind,
        body: MessageBody,
    ) -> impl Future<Output = Result<u64, FeedError>> + Send;

    /// Keeps how far the caller has read.
    fn mark(
        &self,
        caller: &Caller,
        job_id: Uuid,
        seen_seq: u64,
    ) -> impl Future<Output = Result<(), FeedError>> + Send;

    /// A name for one socket, unlike that of any other in any process.
    fn socket_id(&self) -> Uuid;

    /// Keeps for a while that the caller looks at a thread.
    fn look(
        &self,
        caller: &Caller,
        job_id: Uuid,
        socket: Uuid,
    ) -> impl Future<Output = Result<(), FeedError>> + Send;

    /// Forgets what a socket looked at: one thread, or all.
    fn look_away(
        &self,
        job_id: Option<Uuid>,
        socket: Uuid,
    ) -> impl Future<Output = Result<(), FeedError>> + Send;

    /// Who looks at a thread now.
    fn lookers(
        &self,
        shop_id: Uuid,
        job_id: Uuid,
    ) -> impl Future<Output = Result<Vec<Author>, FeedError>> + Send;

    /// Tells every process that the caller types.
    fn typing(
        &self,
        caller: &Caller,
        job_id: Uuid,
    ) -> impl Future<Output = Result<(), FeedError>> + Send;
}
