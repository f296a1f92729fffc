//! The live feed and its tickets: numbers in the order of commits, pruning, one use.
#![allow(clippy::unwrap_used, reason = "a test may")]

use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;
use sea_orm::ConnectionTrait as _;
use serde_json::json;
use store::ambient::{Ambient, Generator, ManualClock, SystemClock};
use store::live_feed::{self, Held, Listener};
use store::person::Role;
use store::{Caller, Store, StoreError, live_ticket, testbed};
use uuid::Uuid;

const fn id(last: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + last)
}

const SHOP: Uuid = id(0x1);

async fn seeded(name: &str, ambient: Ambient) -> Store {
    let store = testbed::store(name, ambient).await.unwrap();
    store.conn().execute_unprepared(include_str!("seed.sql")).await.unwrap();
    store
}

async fn announce(store: &Store, shop_id: Uuid) {
    let txn = store.begin().await.unwrap();
    live_feed::announce(&txn, store.now(), shop_id, "job", id(0x41), json!({})).await.unwrap();
    txn.commit().await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_number_is_given_at_commit_and_an_undone_announcement_leaves_no_gap() {
    let store = seeded("feed_order", Ambient::from_os().unwrap()).await;

    // The first to announce is the last to commit; another is undone.
    let first = store.begin().await.unwrap();
    live_feed::announce(&first, store.now(), SHOP, "job", id(1), json!({})).await.unwrap();
    let undone = store.begin().await.unwrap();
    live_feed::announce(&undone, store.now(), SHOP, "job", id(2), json!({})).await.unwrap();
    let second = store.begin().await.unwrap();
    live_feed::announce(&second, store.now(), SHOP, "job", id(3), json!({})).await.unwrap();
    second.commit().await.unwrap();
    undone.rollback().await.unwrap();
    first.commit().await.unwrap();

    let events = live_feed::events_after(store.conn(), SHOP, 0, 10).await.unwrap();
    let order: Vec<_> = events.iter().map(|event| (event.seq, event.ref_id)).collect();
    assert_eq!(order, [(1, id(3)), (2, id(1))]);
    assert_eq!(live_feed::last_seq(store.conn(), id(0x2)).await.unwrap(), 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn two_that_take_other_locks_in_opposite_order_do_not_deadlock_on_the_feed() {
    let store = seeded("feed_locks", Ambient::from_os().unwrap()).await;
    let lock_job = "SELECT FROM job FOR UPDATE";

    // One announces and then wants the job; the other has the job and then announces.
    let early = store.begin().await.unwrap();
    live_feed::announce(&early, store.now(), SHOP, "job", id(1), json!({})).await.unwrap();
    let late = store.begin().await.unwrap();
    late.execute_unprepared(lock_job).await.unwrap();
    let waits = tokio::spawn(async move {
        early.execute_unprepared(lock_job).await.unwrap();
        early.commit().await.unwrap();
    });
    live_feed::announce(&late, store.now(), SHOP, "job", id(2), json!({})).await.unwrap();
    late.commit().await.unwrap();
    waits.await.unwrap();

    assert_eq!(live_feed::last_seq(store.conn(), SHOP).await.unwrap(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn whoever_gives_way_in_a_deadlock_is_told_to_try_again() {
    let store = seeded("feed_deadlock", Ambient::from_os().unwrap()).await;
    let lock = |key: u8| format!("SELECT pg_advisory_xact_lock({key})");
    let (one, other) = (store.begin().await.unwrap(), store.begin().await.unwrap());
    one.execute_unprepared(&lock(1)).await.unwrap();
    other.execute_unprepared(&lock(2)).await.unwrap();
    let waits = tokio::spawn(async move { one.execute_unprepared(&lock(2)).await.map(drop) });
    let waited = other.execute_unprepared(&lock(1)).await.map(drop);
    other.rollback().await.unwrap();

    let gave_way = [waited, waits.await.unwrap()].into_iter().find_map(Result::err);

    let told = StoreError::from(gave_way.expect("PostgreSQL undid one of the two"));
    assert!(matches!(told, StoreError::Unavailable { .. }), "{told:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn pruning_keeps_the_last_of_each_shop() {
    let store = seeded("feed_prune", Ambient::from_os().unwrap()).await;
    for _ in 0..7 {
        announce(&store, SHOP).await;
    }
    announce(&store, id(0x2)).await;
    let held = async |shop_id| live_feed::held(store.conn(), shop_id).await.unwrap();
    assert_eq!(held(SHOP).await, Held { last: 7, first: 1 });

    assert_eq!(live_feed::prune(store.conn(), 3).await.unwrap(), 4);
    assert_eq!(held(SHOP).await, Held { last: 7, first: 5 });
    assert_eq!(held(id(0x2)).await, Held { last: 1, first: 1 });

    assert_eq!(live_feed::prune(store.conn(), 0).await.unwrap(), 4);
    assert_eq!(held(SHOP).await, Held { last: 7, first: 8 });
    announce(&store, SHOP).await;
    assert_eq!(held(SHOP).await, Held { last: 8, first: 8 });
}

#[tokio::test(flavor = "multi_thread")]
async fn a_listener_hears_a_commit_and_connects_again_when_it_is_cut_off() {
    let store = seeded("feed_listen", Ambient::from_os().unwrap()).await;
    let mut listener = Listener::connect(&store).await.unwrap();
    let patience = Duration::from_secs(10);

    announce(&store, SHOP).await;
    tokio::time::timeout(patience, listener.heard()).await.unwrap().unwrap();

    let cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
               WHERE datname = current_database() AND query LIKE 'LISTEN%'";
    store.conn().execute_unprepared(cut).await.unwrap();
    // Being cut off counts as hearing something: what was missed is in the table.
    let heard = tokio::time::timeout(patience, listener.heard()).await.unwrap();
    if heard.is_err() {
        listener = Listener::connect(&store).await.unwrap();
    }
    announce(&store, SHOP).await;
    tokio::time::timeout(patience, listener.heard()).await.unwrap().unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_ticket_is_good_once_and_for_thirty_seconds() {
    let clock = Arc::new(ManualClock::new(store::ambient::Clock::now(&SystemClock)));
    let generator = Arc::new(Generator::seeded(5));
    let ambient = Ambient { clock: clock.clone(), generator };
    let store = seeded("feed_ticket", ambient).await;
    let ana = Caller {
        person_id: id(0x11),
        shop_id: SHOP,
        roles: vec![Role::Technician],
        qualifications: Vec::new(),
        session_id: id(0x21),
        guest: None,
    };
    let refused = async |ticket: &str| {
        let error = live_ticket::take(&store, ticket).await.unwrap_err();
        assert!(matches!(error, StoreError::NotSignedIn { .. }), "{error:?}");
    };

    let ticket = live_ticket::give(&store, &ana).await.unwrap();
    assert_eq!(live_ticket::take(&store, &ticket).await.unwrap().session_id, ana.session_id);
    refused(&ticket).await;
    refused("").await;

    let (in_time, late) = (
        live_ticket::give(&store, &ana).await.unwrap(),
        live_ticket::give(&store, &ana).await.unwrap(),
    );
    clock.advance(TimeDelta::seconds(live_ticket::TICKET_S));
    assert!(live_ticket::take(&store, &in_time).await.is_ok());
    clock.advance(TimeDelta::milliseconds(1));
    refused(&late).await;
}
