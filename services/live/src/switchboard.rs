//! Who of a shop hears what: a line per socket, and who follows which thread.
//!
//! Belongs here: handing events and messages to lines, and noting when a line was too full.
//! Does not belong here: reading tables (`hub`) and what a socket makes of what it hears
//! (`conversation`).
//!
//! A message goes to the lines that follow its thread and to no other; everything else goes to
//! every line of the shop. A line that is full is told so and reads the tables instead, so that
//! nothing here ever waits for a slow socket.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::mpsc;
use uuid::Uuid;

use crate::feed::{Event, Feed, Posted};
use crate::hub::Hub;
use crate::limits::EVENTS_IN_MEMORY_MAX;
use crate::protocol::ServerFrame;

/// The topic of a message; its `ref_id` is the job's.
const MESSAGE: &str = "message";

/// What comes on a line.
#[derive(Clone, Debug)]
pub(crate) enum Heard {
    /// Something changed.
    Changed {
        /// The number of the event given to every line before this one. Whoever has not seen
        /// that has missed something.
        after: u64,
        /// What.
        event: Arc<Event>,
    },
    /// Messages of a thread that this line follows.
    Posted(Arc<Posted>),
    /// Who is here, for a thread that this line follows. Not in any table.
    Here {
        /// The job.
        job_id: Uuid,
        /// The frame.
        frame: Arc<ServerFrame>,
    },
    /// The line was full for a while: the tables have what was missed.
    Missed,
}

/// The sockets of one shop in this process.
pub(crate) struct Shop {
    /// The last event looked at.
    cursor: u64,
    /// The last event given to every line.
    given: u64,
    next_number: u64,
    lines: HashMap<u64, Outlet>,
    followers: HashMap<Uuid, HashSet<u64>>,
}

struct Outlet {
    queue: mpsc::Sender<Heard>,
    missed: Arc<AtomicBool>,
}

/// The near end of a line.
pub(crate) struct Incoming {
    queue: mpsc::Receiver<Heard>,
    missed: Arc<AtomicBool>,
}

/// A socket's line; given up when dropped.
pub(crate) struct Line<F: Feed> {
    hub: Hub<F>,
    shop_id: Uuid,
    number: u64,
    incoming: Incoming,
}

impl Shop {
    /// Nobody connected, and everything up to this number passed over.
    pub(crate) fn new(cursor: u64) -> Self {
        let (lines, followers) = (HashMap::new(), HashMap::new());
        Shop { cursor, given: cursor, next_number: 0, lines, followers }
    }

    pub(crate) fn cursor(&self) -> u64 {
        self.cursor
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// One more line.
    pub(crate) fn plug_in(&mut self) -> (u64, Incoming) {
        let (queue, incoming) = mpsc::channel(EVENTS_IN_MEMORY_MAX);
        let missed = Arc::new(AtomicBool::new(false));
        self.next_number += 1;
        let outlet = Outlet { queue, missed: Arc::clone(&missed) };
        self.lines.insert(self.next_number, outlet);
        (self.next_number, Incoming { queue: incoming, missed })
    }

    fn unplug(&mut self, number: u64) {
        self.lines.remove(&number);
        self.followers.retain(|_, numbers| {
            numbers.remove(&number);
            !numbers.is_empty()
        });
    }

    fn follow(&mut self, number: u64, job_id: Uuid) {
        self.followers.entry(job_id).or_default().insert(number);
    }

    fn unfollow(&mut self, number: u64, job_id: Uuid) {
        if let Some(numbers) = self.followers.get_mut(&job_id) {
            numbers.remove(&number);
            if numbers.is_empty() {
                self.followers.remove(&job_id);
            }
        }
    }

    /// The followed threads that these events are about, each with the number before its
    /// first new message.
    pub(crate) fn wanted(&self, events: &[Event]) -> Vec<(Uuid, u64)> {
        let mut wanted: BTreeMap<Uuid, u64> = BTreeMap::new();
        for event in events.iter().filter(|event| event.topic == MESSAGE) {
            if self.followers.contains_key(&event.ref_id) {
                let seq = event.body.get("seq").and_then(serde_json::Value::as_u64).unwrap_or(1);
                let before = wanted.entry(event.ref_id).or_insert(u64::MAX);
                *before = (*before).min(seq.saturating_sub(1));
            }
        }
        wanted.into_iter().collect()
    }

    /// Whether anybody here follows a thread.
    pub(crate) fn is_followed(&self, job_id: Uuid) -> bool {
        self.followers.contains_key(&job_id)
    }

    /// Gives a frame about who is here to those who follow the thread. A full line goes
    /// without: it is worth nothing later.
    pub(crate) fn tell(&self, job_id: Uuid, frame: ServerFrame) {
        let frame = Arc::new(frame);
        for number in self.followers.get(&job_id).into_iter().flatten() {
            if let Some(outlet) = self.lines.get(number) {
                let _ = outlet.queue.try_send(Heard::Here { job_id, frame: Arc::clone(&frame) });
            }
        }
    }

    /// Gives each line what concerns it.
    pub(crate) fn hand_out(&mut self, events: Vec<Event>, posted: Vec<Posted>) {
        for posted in posted {
            let posted = Arc::new(posted);
            for number in self.followers.get(&posted.job_id).into_iter().flatten() {
                if let Some(outlet) = self.lines.get(number) {
                    outlet.put(Heard::Posted(Arc::clone(&posted)));
                }
            }
        }
        for event in events {
            self.cursor = event.seq;
            if event.topic == MESSAGE {
                continue;
            }
            let after = std::mem::replace(&mut self.given, event.seq);
            let event = Arc::new(event);
            for outlet in self.lines.values() {
                outlet.put(Heard::Changed { after, event: Arc::clone(&event) });
            }
        }
    }
}

impl Outlet {
    fn put(&self, heard: Heard) {
        // A line that is gone is unplugged by its owner.
        if let Err(mpsc::error::TrySendError::Full(_)) = self.queue.try_send(heard) {
            self.missed.store(true, Ordering::Release);
        }
    }
}

impl<F: Feed> Line<F> {
    pub(crate) fn new(hub: Hub<F>, shop_id: Uuid, number: u64, incoming: Incoming) -> Self {
        Line { hub, shop_id, number, incoming }
    }

    /// The next thing that comes; none once the shop is gone. Safe to give up and ask again.
    pub(crate) async fn heard(&mut self) -> Option<Heard> {
        // A full line has something in it, so this is reached without anything more coming.
        if self.incoming.missed.swap(false, Ordering::AcqRel) {
            return Some(Heard::Missed);
        }
        self.incoming.queue.recv().await
    }

    /// From here on this thread's messages come too. Read the table after this.
    pub(crate) fn follow(&self, job_id: Uuid) {
        self.hub.with_shop(self.shop_id, |shop| shop.follow(self.number, job_id));
    }

    /// No more of them.
    pub(crate) fn unfollow(&self, job_id: Uuid) {
        self.hub.with_shop(self.shop_id, |shop| shop.unfollow(self.number, job_id));
    }
}

impl<F: Feed> Drop for Line<F> {
    fn drop(&mut self) {
        self.hub.with_shop(self.shop_id, |shop| shop.unplug(self.number));
    }
}
