//! What arrives at the same time.

use std::time::Duration;

use sea_orm::{ConnectionTrait as _, TransactionTrait as _};
use store::Store;

use super::guards::{approve, awaiting, countersign, reading, revealed};
use super::{constraint, seeded};

/// How long a statement may take to reach the lock that it must wait for.
const BLOCKED_WITHIN: Duration = Duration::from_secs(10);

/// Returns once a statement on this database waits for a lock.
async fn somebody_waits(store: &Store) {
    let waits = "SELECT 1 FROM pg_stat_activity WHERE datname = current_database() \
                 AND wait_event_type = 'Lock'";
    let seen = async {
        while store.conn().execute_unprepared(waits).await.unwrap().rows_affected() == 0 {
            tokio::task::yield_now().await;
        }
    };
    tokio::time::timeout(BLOCKED_WITHIN, seen).await.expect("nothing waits for the lock");
}

/// Runs `first` in an open transaction, `second` beside it, and commits `first` once `second`
/// waits for it. Returns the rule that refused `second`, if one did.
async fn in_turn(store: &Store, first: &str, second: &str) -> Option<String> {
    let txn = store.conn().begin().await.unwrap();
    txn.execute_unprepared(first).await.unwrap();
    let beside = tokio::spawn({
        let (store, second) = (store.clone(), second.to_owned());
        async move { store.conn().execute_unprepared(&second).await }
    });
    somebody_waits(store).await;
    txn.commit().await.unwrap();
    beside.await.unwrap().err().map(|error| constraint(&error))
}

#[tokio::test]
async fn a_signature_waits_for_a_reading_under_way_and_is_then_stale() {
    let store = seeded("races_sign_stale").await;
    revealed(&store, 100).await;
    let refused = in_turn(&store, &reading(0x52, "r2", 0x11), &countersign(0x12, 1)).await;
    assert_eq!(refused.as_deref(), Some("countersignature_stale"));
}

#[tokio::test]
async fn an_approval_waits_for_a_reading_under_way_and_is_then_stale() {
    let store = seeded("races_approve_stale").await;
    awaiting(&store, 90_000).await;
    let refused =
        in_turn(&store, &reading(0x52, "r2", 0x11), &approve(Some(0x14), 1, 90_000)).await;
    assert_eq!(refused.as_deref(), Some("approval_stale"));
}

#[tokio::test]
async fn a_reading_waits_for_an_approval_under_way() {
    let store = seeded("races_reading_waits").await;
    awaiting(&store, 90_000).await;
    let refused =
        in_turn(&store, &approve(Some(0x14), 1, 90_000), &reading(0x52, "r2", 0x11)).await;
    assert_eq!(refused, None);
}

#[tokio::test]
async fn of_two_managers_at_once_one_decides() {
    let store = seeded("races_two_managers").await;
    awaiting(&store, 90_000).await;
    let refused =
        in_turn(&store, &approve(Some(0x14), 1, 90_000), &approve(Some(0x15), 1, 90_000)).await;
    assert_eq!(refused.as_deref(), Some("approval_once"));
}
