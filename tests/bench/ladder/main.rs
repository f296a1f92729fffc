//! A thousand ladders due in the same second, fired by two processes:
//! `cargo run --release -p countersign-tests --bin ladder-bench`.
//!
//! Belongs here: how late the last step fires, that each fires once, and what they did. Does not
//! belong here: a test; five seconds are promised and printed, nothing here passes or fails.
//!
//! Everything shares the machine: both processes, their PostgreSQL (with fsync) and this program,
//! which only looks. Half of the ladders are of one shop, the rest of ten others.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement"
)]

use std::time::{Duration, Instant};

use blackbox::service::{Server, Settings};
use sea_orm::{ConnectionTrait as _, DbBackend, Statement};
use store::Store;
use store::ambient::{Ambient, Generator};
use store::person::{PersonNew, Role, person_add_unasked};
use store::private_pg::{Options, PrivatePg};
use store::shop::{ShopNew, shop_add};
use uuid::Uuid;

/// Ladders that fall due together.
const LADDERS: usize = 1_000;
/// Of them, those of the one large shop.
const OF_ONE_SHOP: usize = 500;
/// Small shops that share the rest.
const SHOPS: usize = 10;
/// People of each shop: technicians, a scheduler, a manager.
const TECHNICIANS: usize = 8;
/// How far ahead they fall due: both processes must be up and have looked by then.
const AHEAD_S: i64 = 5;
/// How long is waited for the last.
const PATIENCE: Duration = Duration::from_secs(120);
/// Between two looks of this program.
const LOOK: Duration = Duration::from_millis(20);

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(measure());
}

async fn measure() {
    let folder = tempfile::tempdir().unwrap();
    let options = Options { folder: folder.path().join("pg"), durable: true };
    let server = tokio::task::spawn_blocking(move || {
        PrivatePg::start(&options, &Generator::from_os().unwrap())
    });
    let server = server.await.unwrap().unwrap();
    server.database_ensure("bench", None).await.unwrap();
    let url = server.url("bench");
    let store = Store::connect(&url, Ambient::from_os().unwrap(), 4).await.unwrap();
    store.migrate().await.unwrap();

    let large = furnish(&store, OF_ONE_SHOP).await;
    let mut shops = vec![large];
    for _ in 0..SHOPS {
        shops.push(furnish(&store, (LADDERS - OF_ONE_SHOP) / SHOPS).await);
    }
    let one = Server::start(&url, &Settings::default()).await;
    let other = Server::start(&url, &Settings::default()).await;
    for shop in &shops {
        execute(&store, &start_ladders(*shop)).await;
    }
    let due =
        number(&store, "SELECT extract(epoch FROM min(due_at))::float8 AS n FROM ladder_step")
            .await;
    let until_due = due - number(&store, "SELECT extract(epoch FROM now())::float8 AS n").await;
    println!("{LADDERS} ladders fall due together in {until_due:.1} s, over two processes");

    let began = Instant::now();
    let open = "SELECT count(*)::float8 AS n FROM ladder_step WHERE fired_at IS NULL";
    let mut first_seen = None;
    let last_seen = loop {
        let left = number(&store, open).await;
        let late = began.elapsed().as_secs_f64() - until_due;
        if left < LADDERS as f64 && first_seen.is_none() {
            first_seen = Some(late);
        }
        if left == 0.0 {
            break late;
        }
        assert!(began.elapsed() < PATIENCE, "{left} steps have not fired");
        tokio::time::sleep(LOOK).await;
    };
    println!(
        "first seen committed                {:>8.2} s after it was due",
        first_seen.unwrap_or(last_seen)
    );
    println!(
        "last seen committed                 {last_seen:>8.2} s after it was due (promised: 5)"
    );
    println!(
        "ladders fired a second              {:>8.0}",
        LADDERS as f64 / (last_seen - first_seen.unwrap_or(0.0)).max(0.1)
    );
    let fired = number(
        &store,
        "SELECT count(*)::float8 AS n FROM record_entry WHERE kind = 'job_ladder_fired'",
    )
    .await;
    println!("firings on the record               {fired:>8.0} (ladders: {LADDERS})");
    let told = number(&store, "SELECT count(*)::float8 AS n FROM ladder_told").await;
    let mails = number(&store, "SELECT count(*)::float8 AS n FROM outbox").await;
    println!("people reached, mails put           {told:>8.0} {mails:.0}");
    let twice = "SELECT count(*)::float8 AS n FROM (SELECT subject_id FROM record_entry \
         WHERE kind = 'job_ladder_fired' GROUP BY 1 HAVING count(*) > 1) AS twice";
    println!("fired more than once                {:>8.0}", number(&store, twice).await);
    for shop in shops {
        store::record::verify(&store, shop).await.unwrap().expect("the record holds");
    }
    println!("every shop's record holds");
    drop((one, other));
    store.close().await;
    tokio::task::spawn_blocking(move || server.stop()).await.unwrap();
}

/// A shop with people and that many urgent jobs which nobody has.
async fn furnish(store: &Store, jobs: usize) -> Uuid {
    let txn = store.begin().await.unwrap();
    let new = ShopNew { name: "Bench".into(), zone: "UTC".into(), currency: "EUR".into() };
    let shop = shop_add(&txn, store, new).await.unwrap();
    let mut maker = Uuid::nil();
    for person in 0..TECHNICIANS + 2 {
        let role = match person {
            0 => Role::Scheduler,
            1 => Role::ServiceManager,
            _ => Role::Technician,
        };
        let new = PersonNew {
            email: format!("p{person}@{shop}.example"),
            name: format!("Person {person}"),
            password: "seven dry capacitors".to_owned(),
            roles: vec![role],
            qualifications: Vec::new(),
            phone: None,
            licence: None,
        };
        maker = person_add_unasked(&txn, store, shop, new).await.unwrap().id;
    }
    txn.commit().await.unwrap();
    execute(
        store,
        &format!(
            "WITH buyer AS (INSERT INTO customer (id, shop_id, name, created_at) \
                 VALUES (gen_random_uuid(), '{shop}', 'C', now()) RETURNING id), \
             place AS (INSERT INTO site (id, shop_id, customer_id, address, town, zone, created_at) \
                 SELECT gen_random_uuid(), '{shop}', id, '1 Street', 'Town', 'UTC', now() \
                 FROM buyer RETURNING id), \
             thing AS (INSERT INTO unit (id, shop_id, site_id, label, circuit, created_at) \
                 SELECT gen_random_uuid(), '{shop}', id, 'Cooler', 'compressor-1ph-plug', now() \
                 FROM place RETURNING id) \
             INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, created_by, \
                 created_at, changed_at) \
             SELECT gen_random_uuid(), '{shop}', n, thing.id, 'Warm', 'food_storage', 'open', \
                 '{maker}', now(), now() FROM thing, generate_series(1, {jobs}) AS n"
        ),
    )
    .await;
    shop
}

/// A ladder of one step for each job of a shop, all due at one moment.
fn start_ladders(shop: Uuid) -> String {
    let spec =
        r#"{"after_min": 0, "who": [{"group": "schedulers"}, {"group": "best"}], "how": "mail"}"#;
    format!(
        "WITH started AS (INSERT INTO ladder (id, shop_id, kind, subject_kind, subject_id, \
             started_at, urgency) SELECT gen_random_uuid(), shop_id, 'urgent_job', 'job', id, \
             now(), urgency FROM job WHERE shop_id = '{shop}' RETURNING id) \
         INSERT INTO ladder_step (ladder_id, rung, action, due_at, planned_at, spec) \
         SELECT id, 0, 'ask_everyone', at, at, '{spec}'::jsonb FROM started, \
             (SELECT date_trunc('second', now()) + interval '{AHEAD_S} seconds' AS at) AS moment"
    )
}

async fn execute(store: &Store, sql: &str) {
    store.conn().execute_unprepared(sql).await.expect(sql);
}

async fn number(store: &Store, sql: &str) -> f64 {
    let asked = Statement::from_string(DbBackend::Postgres, sql.to_owned());
    store.conn().query_one_raw(asked).await.unwrap().unwrap().try_get("", "n").unwrap()
}
