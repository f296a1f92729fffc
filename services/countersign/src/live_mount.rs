//! The live stream on the service's one port.
//!
//! Belongs here: starting the hub and its listener, handing upgraded connections over, ending
//! them. Does not belong here: the protocol (live's) and the opening handshake (http's).

use std::sync::Arc;
use std::time::Duration;

use futures_util::FutureExt as _;
use http_api::live::LiveMount;
use live::{End, Hub, StoreFeed};
use store::Store;
use tokio::task::JoinHandle;
use tokio_util::task::TaskTracker;

/// How long open connections may take to say goodbye when the service stops. After that they
/// are dropped.
const FAREWELL_MS_MAX: u64 = 2_000;

/// The running live stream.
pub(crate) struct Live {
    hub: Hub<StoreFeed>,
    connections: TaskTracker,
    background: JoinHandle<()>,
}

/// Starts the hub over the store's tables.
pub(crate) fn live_start(store: &Store) -> Live {
    let hub = Hub::new(StoreFeed::new(store.clone()), Arc::clone(&store.ambient().clock));
    let (running, store) = (hub.clone(), store.clone());
    let background = tokio::spawn(async move {
        tokio::join!(running.run(), live::listen(&running, &store));
    });
    Live { hub, connections: TaskTracker::new(), background }
}

impl Live {
    /// What the HTTP side hands upgraded connections to.
    pub(crate) fn mount(&self) -> LiveMount {
        let (hub, connections) = (self.hub.clone(), self.connections.clone());
        Arc::new(move |caller, stream| {
            let serving = live::serve_connection(stream, hub.clone(), caller);
            let logged = serving.map(|end| match end {
                End::Left => tracing::debug!("a live connection was left"),
                End::Closed(code, _) => tracing::debug!(?code, "a live connection was closed"),
            });
            Box::pin(connections.track_future(logged))
        })
    }

    /// Says goodbye on every connection and stops. Call it before the HTTP server stops: its
    /// workers carry the goodbyes.
    pub(crate) async fn stop(self) {
        self.hub.close();
        self.connections.close();
        let farewell = Duration::from_millis(FAREWELL_MS_MAX);
        if tokio::time::timeout(farewell, self.connections.wait()).await.is_err() {
            tracing::warn!(open = self.hub.sockets(), "live connections did not close in time");
        }
        // It ends by itself once the hub is closed; a panic in it was reported where it was.
        let _ = self.background.await;
    }
}
