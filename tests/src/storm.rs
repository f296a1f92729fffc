//! A storm of messages while everything is killed: two services on one PostgreSQL, lines that
//! are cut, a clock that jumps.
//!
//! Belongs here: the talkers, what is done to them, what must hold afterwards. Does not belong
//! here: how large it is, which a test and a command say for themselves.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use sea_orm::{ConnectionTrait as _, DbBackend, Statement};
use serde_json::json;
use store::Store;
use store::ambient::{Ambient, Generator};
use store::private_pg::{Options, PrivatePg};
use uuid::Uuid;

mod talker;

use crate::proxy::Proxy;
use crate::seed;
use crate::service::{self, Server, Settings};
use talker::{Talk, Talker};

/// Threads that everybody talks in.
const THREADS: usize = 3;
/// Milliseconds that the clock jumps back, and later forth again.
const JUMP_MS: i64 = -3_600_000;
/// How long a storm may take at all; it decides nothing.
const STORM_PATIENCE: Duration = Duration::from_secs(600);
const DATABASE: &str = "storm";

/// What a storm came to.
#[derive(Debug)]
pub struct Outcome {
    /// Messages acknowledged.
    pub acknowledged: usize,
    /// Lines that were lost and opened again, over all talkers.
    pub came_back: usize,
}

/// Runs one.
///
/// # Panics
/// When a message was lost, doubled or out of order, or the record does not hold.
pub async fn storm(messages: usize, talkers: usize) -> Outcome {
    let folder = tempfile::tempdir().expect("a folder");
    let mut database = Some(start_database(folder.path()).await);
    let direct = |server: &Option<PrivatePg>| {
        let server = server.as_ref().expect("it runs");
        (server.url(DATABASE), format!("127.0.0.1:{}", server.port()))
    };
    let (url, address) = direct(&database);
    let jobs = furnish(&url).await;
    let behind = Proxy::start(&address).await;
    let url = url.replace(&address, &behind.address);

    let clock = folder.path().join("clock");
    let settings = Settings {
        token_secret: Some("a secret that both services share".to_owned()),
        ..Settings::default()
    };
    let jumping = Settings { clock_file: Some(clock.clone()), ..settings.clone() };
    let mut one = Server::start(&url, &settings).await;
    let two = Server::start(&url, &jumping).await;
    let fronts = [Proxy::start(one.host()).await, Proxy::start(two.host()).await];

    let acked = Arc::new(AtomicUsize::new(0));
    let bases: Vec<String> =
        fronts.iter().map(|front| format!("http://{}", front.address)).collect();
    let each = messages / talkers;
    let talking: Vec<_> = (0..talkers)
        .map(|number| {
            let talk = Talk {
                number,
                bases: bases.clone(),
                jobs: jobs.clone(),
                says: each,
                hears: each * talkers,
                acked: Arc::clone(&acked),
            };
            tokio::spawn(Talker::new(talk).run())
        })
        .collect();

    let reached = async |percent: usize| {
        while acked.load(Ordering::Relaxed) * 100 < each * talkers * percent {
            assert!(talking.iter().all(|talking| !talking.is_finished()), "a talker failed");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    };
    let harm = async {
        reached(10).await;
        fronts[0].cut();
        reached(25).await;
        one.signal("KILL").await;
        one = Server::start(&url, &settings).await;
        fronts[0].moved(one.host());
        reached(40).await;
        std::fs::write(&clock, JUMP_MS.to_string()).expect("the clock jumps");
        reached(55).await;
        kill(database.as_ref().expect("it runs").pid());
        let killed = database.take();
        tokio::task::spawn_blocking(move || drop(killed)).await.expect("it is over");
        database = Some(start_database(folder.path()).await);
        behind.moved(&direct(&database).1);
        reached(75).await;
        std::fs::write(&clock, "0").expect("the clock jumps back");
        fronts.iter().for_each(Proxy::cut);
    };
    tokio::time::timeout(STORM_PATIENCE, harm).await.expect("the storm goes on");
    let mut ended = Vec::new();
    for talking in talking {
        let talker = tokio::time::timeout(STORM_PATIENCE, talking).await;
        ended.push(talker.expect("everything is heard").expect("a talker is sound"));
    }

    let (direct_url, _) = direct(&database);
    must_hold(&direct_url, &jobs, &ended, each * talkers).await;
    let verified = service::run_on(&direct_url, &["verify-record"]).await;
    let says = String::from_utf8_lossy(&verified.stdout).into_owned();
    assert!(verified.status.success(), "{says}");
    let outcome = Outcome {
        acknowledged: ended.iter().map(|talker| talker.acked.len()).sum(),
        came_back: ended.iter().map(|talker| talker.came_back).sum(),
    };
    drop((one, two));
    tokio::task::spawn_blocking(move || drop(database)).await.expect("it stops");
    outcome
}

async fn start_database(folder: &Path) -> PrivatePg {
    let options = Options { folder: folder.join("pg"), durable: true };
    let start = move || {
        PrivatePg::start(&options, &Generator::from_os().expect("the system has randomness"))
    };
    let started = tokio::task::spawn_blocking(start).await.expect("no panic");
    started.expect("PostgreSQL starts, after a kill as well")
}

/// Without a chance to write anything down.
fn kill(pid: u32) {
    let killed = std::process::Command::new("kill").args(["-KILL", &pid.to_string()]).status();
    assert!(killed.expect("kill runs").success());
}

/// The seeded shops, and jobs to talk about.
async fn furnish(url: &str) -> Vec<Uuid> {
    let ambient = Ambient::from_os().expect("the system has randomness");
    // The server has only just started.
    let (server, name) = url.rsplit_once('/').expect("an address");
    let admin = Store::connect(&format!("{server}/postgres"), ambient.clone(), 1).await;
    let admin = admin.expect("it answers");
    let make = format!("CREATE DATABASE {name}");
    admin.conn().execute_unprepared(&make).await.expect("a database");
    admin.close().await;
    let store = Store::connect(url, ambient, 2).await.expect("it answers");
    store.migrate().await.expect("it is migrated");
    seed::shops(&store).await.expect("it is seeded");
    let shop = format!("(SELECT id FROM shop WHERE name = '{}')", seed::SHOP);
    let rows = format!(
        "INSERT INTO customer (id, shop_id, name, created_at) \
             VALUES (gen_random_uuid(), {shop}, 'C', now()); \
         INSERT INTO site (id, shop_id, customer_id, address, town, zone, created_at) \
             SELECT gen_random_uuid(), shop_id, id, '1 Street', 'Town', 'UTC', now() FROM customer; \
         INSERT INTO unit (id, shop_id, site_id, label, circuit, created_at) \
             SELECT gen_random_uuid(), shop_id, id, 'Unit', 'compressor-1ph-plug', now() FROM site; \
         INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, created_by, \
                 created_at, changed_at) \
             SELECT gen_random_uuid(), unit.shop_id, number, unit.id, 'Warm', 'comfort', 'open', \
                 (SELECT id FROM person WHERE shop_id = unit.shop_id LIMIT 1), now(), now() \
             FROM unit, generate_series(1, {THREADS}) AS number;"
    );
    store.conn().execute_unprepared(&rows).await.expect("there are jobs");
    let all = Statement::from_string(DbBackend::Postgres, "SELECT id FROM job ORDER BY number");
    let jobs = store.conn().query_all_raw(all).await.expect("the jobs");
    let jobs = jobs.iter().map(|row| row.try_get("", "id").expect("an id")).collect();
    store.close().await;
    jobs
}

/// Every message is there once, numbered without gaps, acknowledged under its number, and was
/// heard by everybody in that order.
async fn must_hold(url: &str, jobs: &[Uuid], talkers: &[Talker], messages: usize) {
    let ambient = Ambient::from_os().expect("the system has randomness");
    let store = Store::connect(url, ambient, 1).await.expect("it answers");
    let mut stored = 0;
    for job in jobs {
        let said = Statement::from_string(
            DbBackend::Postgres,
            format!(
                "SELECT message.seq, message.client_key FROM message \
                 JOIN thread ON thread.id = message.thread_id \
                 WHERE thread.job_id = '{job}' ORDER BY message.seq"
            ),
        );
        let rows = store.conn().query_all_raw(said).await.expect("the messages");
        let rows: Vec<(u64, Uuid)> = rows
            .iter()
            .map(|row| {
                let seq: i64 = row.try_get("", "seq").expect("a number");
                (seq as u64, row.try_get("", "client_key").expect("a key"))
            })
            .collect();
        let numbers: Vec<u64> = rows.iter().map(|(seq, _)| *seq).collect();
        assert_eq!(numbers, (1..=rows.len() as u64).collect::<Vec<_>>(), "without gaps");
        stored += rows.len();
        for talker in talkers {
            assert!(talker.heard[job] == rows, "talker {} heard it otherwise", talker.talk.number);
        }
        let by_key: std::collections::HashMap<Uuid, u64> =
            rows.iter().map(|(seq, key)| (*key, *seq)).collect();
        assert_eq!(by_key.len(), rows.len(), "each once");
        let acked = talkers.iter().flat_map(|talker| &talker.acked);
        for (key, (at, seq)) in acked.filter(|(_, (at, _))| at == job) {
            assert_eq!(by_key.get(key), Some(seq), "{key} was acknowledged in {at}");
        }
    }
    assert_eq!(stored, messages, "{}", json!({ "stored": stored, "said": messages }));
    store.close().await;
}
