//! Messages that wait at the same time are stored together.
//!
//! Belongs here: gathering what the sockets of this process say. Does not belong here: storing
//! (`store::thread::many`).
//!
//! While one lot is being committed the next gathers, so that nobody waits on purpose: a lone
//! message goes at once, and under load a lot grows until the disk keeps up.

use std::sync::Arc;

use store::thread::many::{Said, say_many};
use store::{Store, StoreError};
use tokio::sync::{Mutex, OnceCell, mpsc, oneshot};

use crate::limits::{SAY_LOT_MAX, SAY_LOTS_AT_ONCE};

type Answer = oneshot::Sender<Result<i64, StoreError>>;

/// Where a message is left to be stored.
pub(crate) struct Sayers {
    store: Store,
    queue: OnceCell<mpsc::Sender<(Said, Answer)>>,
}

impl Sayers {
    /// Nothing runs before the first message.
    pub(crate) fn new(store: Store) -> Self {
        Sayers { store, queue: OnceCell::new() }
    }

    /// Stores a message with whatever else waits; its number once that is committed.
    pub(crate) async fn say(&self, said: Said) -> Result<i64, StoreError> {
        let queue = self.queue.get_or_init(async || start(&self.store)).await;
        let (answer, answered) = oneshot::channel();
        let gone = |_| StoreError::Unavailable { what: "the writer of messages", source: None };
        queue.send((said, answer)).await.map_err(|_| gone(()))?;
        answered.await.map_err(|_| gone(()))?
    }
}

/// Tasks of their own, so that a socket that closes in the middle takes nobody's message along.
/// They end when the queue's last sender is gone.
fn start(store: &Store) -> mpsc::Sender<(Said, Answer)> {
    let (queue, waiting) = mpsc::channel(SAY_LOT_MAX);
    let waiting = Arc::new(Mutex::new(waiting));
    for _ in 0..SAY_LOTS_AT_ONCE {
        let (store, waiting) = (store.clone(), Arc::clone(&waiting));
        tokio::spawn(async move {
            loop {
                let mut lot = Vec::new();
                if waiting.lock().await.recv_many(&mut lot, SAY_LOT_MAX).await == 0 {
                    return;
                }
                let (all, answers): (Vec<Said>, Vec<Answer>) = lot.into_iter().unzip();
                let told = say_many(&store, &all).await;
                for (answer, told) in answers.into_iter().zip(told) {
                    // A socket that closed meanwhile says it again when it is back.
                    let _ = answer.send(told);
                }
            }
        });
    }
    queue
}
