//! The clock of the ladders.
//!
//! Belongs here: looking for steps and deferrals that have fallen due, until told to stop. Does not belong
//! here: what a step does (its noun's), and whose turn it is when two processes look at once
//! (the store's).
//!
//! The time is the store's, so that a test can move it; only the pause between two looks is
//! the machine's. The first look comes at once: what fell due while nothing ran is done at
//! start-up.

use std::time::Duration;

use store::{Store, StoreError};
use tokio_util::sync::CancellationToken;

/// Between two looks. A step fires at most this much late, and the time of the look itself,
/// while the service runs; five seconds are promised.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Fires what has fallen due, and brings back the jobs whose morning has come.
async fn look(store: &Store) -> Result<(), StoreError> {
    store::ladder::climb_due(store).await?;
    store::holdover::return_due(store).await?;
    Ok(())
}

/// Fires what falls due until told to stop; what is being done then is finished first.
pub async fn run(store: Store, stop: CancellationToken) {
    let mut reachable = true;
    while !stop.is_cancelled() {
        match look(&store).await {
            Ok(()) => reachable = true,
            // Once, not at every look of an outage.
            Err(error) if reachable => {
                reachable = false;
                tracing::warn!(error = &error as &dyn std::error::Error, "the ladders");
            }
            Err(_) => {}
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK_EVERY) => {}
            () = stop.cancelled() => {}
        }
    }
}
