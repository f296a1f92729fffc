//! The clock of the rules.
//!
//! Belongs here: looking whose rules are due for a look, until told to stop. Does not belong
//! here: what a rule looks at and does, and whose turn it is when two processes look at once
//! (the store's).
//!
//! The time is the store's, so that a test can move it; only the pause between two looks is the
//! machine's.

use std::time::Duration;

use store::Store;
use store::capacity::Cache;
use store::rule::{Seen, look_due};
use tokio_util::sync::CancellationToken;

/// Between two looks at whose turn it is: cheap, and soon enough after a change.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Fires the rules that come to hold until told to stop; what is being done then is finished
/// first.
pub async fn run(store: Store, stop: CancellationToken) {
    let (cache, mut seen) = (Cache::default(), Seen::default());
    let mut reachable = true;
    while !stop.is_cancelled() {
        match look_due(&store, &cache, &mut seen).await {
            Ok(_) => reachable = true,
            // Once, not at every look of an outage.
            Err(error) if reachable => {
                reachable = false;
                tracing::warn!(error = &error as &dyn std::error::Error, "the rules");
            }
            Err(_) => {}
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK_EVERY) => {}
            () = stop.cancelled() => {}
        }
    }
}
