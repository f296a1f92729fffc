//! Two servers on one PostgreSQL: what the tests in memory assume of the tables holds there.
#![allow(clippy::unwrap_used, reason = "a test may")]

mod support;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use live::protocol::{Resume, ServerFrame};
use live::{Hub, StoreFeed, listen};
use sea_orm::ConnectionTrait as _;
use store::ambient::Ambient;
use store::person::Role;
use store::{Caller, Store, session, testbed};
use support::Client;
use tokio::time::{Instant, timeout};
use uuid::Uuid;

const fn id(last: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + last)
}

const JOB: Uuid = id(0x41);

async fn seeded(name: &str) -> Store {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store.conn().execute_unprepared(include_str!("../../store/tests/seed.sql")).await.unwrap();
    store
}

/// A server of its own on the database.
fn hub(store: &Store) -> Hub<StoreFeed> {
    let hub = Hub::new(StoreFeed::new(store.clone()), Arc::clone(&store.ambient().clock));
    let (running, store) = (hub.clone(), store.clone());
    tokio::spawn(async move { tokio::join!(running.run(), listen(&running, &store)) });
    hub
}

fn technician(person: u128) -> Caller {
    Caller {
        person_id: id(0x10 + person),
        shop_id: id(0x1),
        roles: vec![Role::Technician],
        qualifications: Vec::new(),
        session_id: id(0x20 + person),
        guest: None,
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn two_servers_show_both_followers_the_same_messages_in_the_same_order() {
    const EACH: u128 = 25;
    let store = seeded("live_two_servers").await;
    let (one, two) = (hub(&store), hub(&store));
    let write = async |hub: &Hub<StoreFeed>, person: u128| {
        let mut client = Client::new(hub, &technician(person)).await;
        client.follow_job(JOB, 0).await;
        for number in 0..EACH {
            client.say_on(JOB, person * 1000 + number, &format!("{person}.{number}")).await;
        }
        let mut seen = Vec::new();
        while seen.len() < 2 * EACH as usize {
            seen.push(client.message().await);
        }
        seen
    };

    let patience = Duration::from_secs(60);
    let both = async { tokio::join!(write(&one, 1), write(&two, 2)) };
    let (ana, bo) = timeout(patience, both).await.unwrap();

    assert_eq!(ana, bo);
    let numbers: Vec<u64> = ana.iter().map(|(seq, _)| *seq).collect();
    assert_eq!(numbers, (1..=2 * EACH as u64).collect::<Vec<_>>());

    let resume = Resume { live_after: None, threads: BTreeMap::from([(JOB, 48)]) };
    let (mut back, _) = Client::resumed(&one, &technician(2), resume).await;
    assert_eq!(back.message().await, bo[48]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_session_revoked_at_one_server_loses_its_socket_at_the_other_within_a_second() {
    let store = seeded("live_revoked").await;
    let two = hub(&store);
    let ana = technician(1);
    let client = Client::new(&two, &ana).await;

    let revoked_at = Instant::now();
    session::revoke(&store, &ana, ana.session_id).await.unwrap();
    let code = client.closed().await;

    assert_eq!(code, 4401);
    assert!(revoked_at.elapsed() < Duration::from_secs(1), "{:?}", revoked_at.elapsed());
    let mut late = Client::silent(&two, &ana).await;
    late.send_text(r#"{"type":"hello","version":1}"#).await;
    assert_eq!(late.closed().await, 4401);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_store_refuses_is_told_as_a_problem() {
    let store = seeded("live_refused").await;
    let hub = hub(&store);
    let mut client = Client::new(&hub, &technician(1)).await;
    let mut code = async |job_id: Uuid, text: &str| {
        client.say_on(job_id, 1, text).await;
        match client.next().await {
            ServerFrame::Refused { problem, .. } => problem.kind,
            other => panic!("{other:?}"),
        }
    };

    assert_eq!(code(id(0x99), "hello").await, "/problems/not-found");
    assert_eq!(code(JOB, " ").await, "/problems/invalid");
}
