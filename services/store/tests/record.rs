//! The record: appending under contention, and finding every kind of tampering.

// Helpers of tests may give up as tests do.
#![allow(clippy::unwrap_used)]

use sea_orm::ConnectionTrait as _;
use serde_json::json;
use store::ambient::Ambient;
use store::record::{self, Entry};
use store::{Store, testbed};
use uuid::Uuid;

const SHOP: Uuid = Uuid::from_u128(0x5409);

async fn store_with_entries(name: &str, entries: i64) -> Store {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store
        .conn()
        .execute_unprepared(&format!(
            "INSERT INTO shop (id, name, zone, currency, created_at) \
             VALUES ('{SHOP}', 'Shop', 'UTC', 'USD', now()); \
             INSERT INTO record_head (shop_id) VALUES ('{SHOP}')"
        ))
        .await
        .unwrap();
    for number in 0..entries {
        append(&store, number).await;
    }
    store
}

async fn append(store: &Store, number: i64) -> i64 {
    let txn = store.begin().await.unwrap();
    let entry = Entry {
        shop_id: SHOP,
        actor: None,
        kind: "tried",
        subject_kind: "job",
        subject_id: Uuid::from_u128(1),
        body: json!({ "number": number, "half": 0.5, "words": "Ω “quoted”", "tiny": 1e-9 }),
    };
    let appended = record::append(&txn, store.now(), entry).await.unwrap();
    txn.commit().await.unwrap();
    appended.seq
}

/// Does what only somebody with the database's own password can do.
async fn tamper(store: &Store, sql: &str) {
    let script = format!(
        "ALTER TABLE record_entry DISABLE TRIGGER record_entry_append_only; {sql}; \
         ALTER TABLE record_entry ENABLE TRIGGER record_entry_append_only"
    );
    store.conn().execute_unprepared(&script).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn entries_appended_at_once_make_one_chain() {
    let store = store_with_entries("record_at_once", 0).await;

    let appends: Vec<_> = (0..12)
        .map(|number| {
            let store = store.clone();
            tokio::spawn(async move { append(&store, number).await })
        })
        .collect();
    let mut numbers = Vec::new();
    for append in appends {
        numbers.push(append.await.unwrap());
    }

    numbers.sort_unstable();
    assert_eq!(numbers, (1..=12).collect::<Vec<_>>());
    assert_eq!(record::verify(&store, SHOP).await.unwrap(), Ok(12));
}

#[tokio::test(flavor = "multi_thread")]
async fn every_kind_of_tampering_is_found_at_its_place() {
    let cases = [
        ("changed", "UPDATE record_entry SET body = body || '{\"number\": 99}' WHERE seq = 3", 3),
        ("removed", "DELETE FROM record_entry WHERE seq = 2", 2),
        ("cut_off", "DELETE FROM record_entry WHERE seq = 5", 5),
        ("back_dated", "UPDATE record_entry SET at = at - interval '1 day' WHERE seq = 4", 4),
        ("blamed", "UPDATE record_entry SET actor = shop_id WHERE seq = 1", 1),
        ("head_moved", "UPDATE record_head SET hash = repeat('f', 64)", 5),
    ];
    for (name, sql, seq) in cases {
        let store = store_with_entries(&format!("record_{name}"), 5).await;

        tamper(&store, sql).await;

        let broken = record::verify(&store, SHOP).await.unwrap().unwrap_err();
        assert_eq!(broken.seq, seq, "{name}: {}", broken.says);
        store.close().await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_database_refuses_to_change_the_record() {
    let store = store_with_entries("record_refused", 1).await;

    for sql in [
        "UPDATE record_entry SET kind = 'other'",
        "DELETE FROM record_entry",
        "TRUNCATE record_entry",
    ] {
        let refused = store.conn().execute_unprepared(sql).await.unwrap_err();
        assert_eq!(store::error::constraint_of(&refused), Some("record_entry_append_only"));
    }
}
