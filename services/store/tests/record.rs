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

/// A text with one letter or digit replaced by another of its kind.
fn one_changed(text: &str, random: &mut impl FnMut(usize) -> usize) -> String {
    let places: Vec<usize> = text
        .char_indices()
        .filter(|(_, char)| char.is_ascii_alphanumeric())
        .map(|(place, _)| place)
        .collect();
    let place = places[random(places.len())];
    let other = match text.as_bytes()[place] {
        b'9' | b'f' | b'z' | b'Z' => text.as_bytes()[place] - 1,
        byte => byte + 1,
    };
    let mut bytes = text.as_bytes().to_vec();
    bytes[place] = other;
    String::from_utf8(bytes).unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn any_byte_changed_in_any_column_is_found_and_its_entry_named() {
    const ENTRIES: usize = 12;
    const ROUNDS: usize = 90;
    const COLUMNS: [&str; 9] =
        ["seq", "at", "actor", "kind", "subject_kind", "subject_id", "body", "prev_hash", "hash"];
    let store = store_with_entries("record_any_byte", ENTRIES as i64).await;
    let generator = store::ambient::Generator::seeded(20);
    let mut random = |below: usize| {
        let mut bytes = [0; 4];
        generator.fill(&mut bytes);
        u32::from_le_bytes(bytes) as usize % below
    };
    let quoted = |text: &str| text.replace('\'', "''");

    for round in 0..ROUNDS {
        let (column, seq) = (COLUMNS[round % COLUMNS.len()], 1 + random(ENTRIES));
        let was = store
            .conn()
            .query_one_raw(store::db::sql(
                &format!(
                    "SELECT coalesce({column}::text, '') AS was FROM record_entry WHERE seq = $1"
                ),
                [(seq as i64).into()],
            ))
            .await
            .unwrap()
            .unwrap();
        let was: String = was.try_get("", "was").unwrap();
        let changed = match column {
            // Nobody did it; now somebody did.
            "actor" => Uuid::from_u128(1 + random(1 << 20) as u128).to_string(),
            "seq" => (seq + ENTRIES + random(9)).to_string(),
            // The digits before the zone.
            "at" => {
                let (time, zone) = was.split_at(was.rfind('+').unwrap());
                let (before, last) = time.split_at(time.len() - 1);
                format!("{before}{}{zone}", one_changed(last, &mut random))
            }
            "body" => loop {
                let other = one_changed(&was, &mut random);
                let value = |text: &str| serde_json::from_str::<serde_json::Value>(text);
                // Some letters are part of the writing: 1e-9 has no other e.
                if value(&other).is_ok_and(|other| other != value(&was).unwrap()) {
                    break other;
                }
            },
            _ => one_changed(&was, &mut random),
        };
        let set = |to: &str| match to {
            "" => format!("{column} = NULL"),
            to => format!("{column} = '{}'", quoted(to)),
        };

        tamper(&store, &format!("UPDATE record_entry SET {} WHERE seq = {seq}", set(&changed)))
            .await;
        let found = record::verify(&store, SHOP).await.unwrap();

        let named = found.expect_err(&format!("{column} of entry {seq}: {was} to {changed}"));
        assert_eq!(named.seq, seq as i64, "{column}: {was} to {changed}: {}", named.says);
        let there = if column == "seq" { changed.clone() } else { seq.to_string() };
        tamper(&store, &format!("UPDATE record_entry SET {} WHERE seq = {there}", set(&was))).await;
        assert_eq!(record::verify(&store, SHOP).await.unwrap(), Ok(ENTRIES as i64));
    }
}
