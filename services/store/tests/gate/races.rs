//! What arrives at the same time.

use std::time::Duration;

use sea_orm::{ConnectionTrait as _, TransactionTrait as _};
use store::request::{Step, request_move, shown_to};
use store::thread::{self, MessageBody, MessageKind, Saying};
use store::{Caller, Store, StoreError, evidence};
use uuid::Uuid;

use super::guards::{approve, awaiting, countersign, reading, revealed};
use super::story::{at_pins, claim, count, isolating_readings, judgement};
use super::{JOB, ana, bo, cleo, constraint, dan, eva, seeded};

/// How long a statement may take to reach the lock that it must wait for.
const BLOCKED_WITHIN: Duration = Duration::from_secs(10);

/// How many act at once in a crowd.
const AT_ONCE: usize = 4;

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

/// One thing that somebody does while all the others do theirs.
async fn act(store: Store, request_id: Uuid, n: usize) -> Result<(), StoreError> {
    let move_as = async |who: Caller, step: Step| {
        request_move(&store, &who, request_id, step).await.map(drop)
    };
    let digest = match shown_to(&store, &dan(), request_id).await?.told {
        Some(told) => told.digest,
        None => String::new(),
    };
    let reader = if n.is_multiple_of(2) { bo() } else { cleo() };
    match n % 7 {
        0 => evidence::reading_add(&store, &ana(), JOB, at_pins("C", "R", None)).await.map(drop),
        1 | 2 => move_as(reader, Step::Take).await,
        3 => move_as(reader, judgement("compressor")).await,
        4 => move_as(reader, Step::Countersign { digest, note: String::new() }).await,
        5 => {
            let reason = String::new();
            move_as(dan(), Step::Approve { digest, amount_cents: 90_000, reason }).await
        }
        _ => {
            let body = MessageBody { text: Some("On the roof".to_owned()), ..Default::default() };
            let saying = Saying { client_key: store.new_id(), kind: MessageKind::Text, body };
            thread::say(&store, &eva(), JOB, saying).await.map(drop)
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_crowd_acting_at_once_neither_locks_up_nor_gets_around_the_rules() {
    let store = seeded("races_crowd").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    let mut done = 0;
    // As many at once as a test's pool has connections: more would only queue for those.
    for first in (0..49).step_by(AT_ONCE) {
        let crowd: Vec<_> =
            (first..first + AT_ONCE).map(|n| tokio::spawn(act(store.clone(), id, n))).collect();
        for one in crowd {
            match one.await.unwrap() {
                Ok(()) => done += 1,
                Err(StoreError::Conflict { .. } | StoreError::Forbidden { .. }) => {}
                Err(other) => panic!("{other:?}"),
            }
        }
    }
    assert!(done > 14, "{done}");
    assert_eq!(count(&store, "reading").await, 11, "eight more, each with a label of its own");
    let stale = "countersignature JOIN condemn_request AS request ON request.id = request_id \
                 WHERE request.state IN ('awaiting_approval', 'approved') AND NOT EXISTS \
                 (SELECT FROM countersignature AS good WHERE good.request_id = request.id \
                 AND good.digest = request.digest)";
    assert_eq!(count(&store, stale).await, 0);
    assert!(store::record::verify(&store, super::SHOP).await.unwrap().is_ok());
}
