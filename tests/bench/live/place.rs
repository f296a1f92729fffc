//! A PostgreSQL that keeps what it is told, two hundred jobs in it, and the service.
//!
//! Belongs here: starting and asking them. Does not belong here: who connects.

use std::process::{Command as Blocking, Stdio};

use sea_orm::{ConnectionTrait as _, DbBackend, Statement};
use store::Store;
use store::ambient::{Ambient, Generator};
use store::person::{PersonNew, Role, person_add_unasked};
use store::private_pg::{Options, PrivatePg};
use store::shop::{ShopNew, shop_add};
use tokio::io::{AsyncBufReadExt as _, BufReader};
use tokio::process::{Child, Command};
use uuid::Uuid;

/// Threads, each on a job of its own.
pub(crate) const THREADS: usize = 200;
/// People of the shop, each in every thread.
pub(crate) const PEOPLE: usize = 10;
/// Everyone's password.
pub(crate) const PASSWORD: &str = "seven dry capacitors";
/// Connections of the service; pgbench gets as many.
const CONNECTIONS: &str = "20";

/// What is measured.
pub(crate) struct Place {
    /// Where the service is.
    pub(crate) base: String,
    /// The jobs.
    pub(crate) jobs: Vec<Uuid>,
    service: Child,
    /// The service's database.
    pub(crate) url: String,
    server: PrivatePg,
    _folder: tempfile::TempDir,
}

/// The address that one of the people signs in with.
pub(crate) fn email(person: usize) -> String {
    format!("p{person}@bench.example")
}

impl Place {
    pub(crate) async fn open() -> Self {
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
        must_be_durable(&store).await;
        let jobs = furnish(&store).await;
        store.close().await;
        let (service, base) = serve(&url).await;
        Place { base, jobs, service, url, server, _folder: folder }
    }

    /// Resident memory of the service.
    pub(crate) fn service_rss_kb(&self) -> f64 {
        let status =
            std::fs::read_to_string(format!("/proc/{}/status", self.service.id().unwrap()));
        let status = status.unwrap();
        let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    }

    /// Single-row inserts, each committed, per second.
    pub(crate) fn pgbench(&self, connections: u32) -> f64 {
        let folder = tempfile::tempdir().unwrap();
        let script = folder.path().join("insert.sql");
        std::fs::write(&script, "INSERT INTO bench_row (words) VALUES ('Hums and trips');")
            .unwrap();
        let output = Blocking::new("pgbench")
            .args(["-n", "-M", "prepared", "-T", "8", "-j", "2", "-c", &connections.to_string()])
            .arg("-f")
            .arg(&script)
            .arg(&self.url)
            .output()
            .expect("pgbench comes with PostgreSQL");
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let tps = said.lines().find_map(|line| line.strip_prefix("tps = ")).expect(&said);
        tps.split_whitespace().next().unwrap().parse().unwrap()
    }

    pub(crate) async fn close(mut self) {
        self.service.kill().await.unwrap();
        let server = self.server;
        tokio::task::spawn_blocking(move || server.stop()).await.unwrap();
    }
}

async fn must_be_durable(store: &Store) {
    for setting in ["fsync", "synchronous_commit", "full_page_writes"] {
        let asked = Statement::from_string(DbBackend::Postgres, format!("SHOW {setting}"));
        let row = store.conn().query_one_raw(asked).await.unwrap().unwrap();
        let value: String = row.try_get("", setting).unwrap();
        assert_eq!(value, "on", "{setting}");
        println!("{setting} is {value}");
    }
}

async fn furnish(store: &Store) -> Vec<Uuid> {
    let txn = store.begin().await.unwrap();
    let new = ShopNew { name: "Bench".into(), zone: "UTC".into(), currency: "EUR".into() };
    let shop = shop_add(&txn, store, new).await.unwrap();
    for person in 0..PEOPLE {
        let new = PersonNew {
            email: email(person),
            name: format!("Person {person}"),
            password: PASSWORD.to_owned(),
            roles: vec![Role::Technician],
            qualifications: Vec::new(),
            phone: None,
            licence: None,
        };
        person_add_unasked(&txn, store, shop, new).await.unwrap();
    }
    txn.commit().await.unwrap();
    let rows = format!(
        "CREATE TABLE bench_row (id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, words text); \
         INSERT INTO customer (id, shop_id, name, created_at) \
             VALUES (gen_random_uuid(), '{shop}', 'C', now()); \
         INSERT INTO site (id, shop_id, customer_id, address, town, zone, created_at) \
             SELECT gen_random_uuid(), '{shop}', id, '1 Street', 'Town', 'UTC', now() FROM customer; \
         INSERT INTO unit (id, shop_id, site_id, label, circuit, created_at) \
             SELECT gen_random_uuid(), '{shop}', id, 'Unit', 'compressor-1ph-plug', now() FROM site; \
         INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, created_by, \
                 created_at, changed_at) \
             SELECT gen_random_uuid(), '{shop}', number, unit.id, 'Warm', 'comfort', 'open', \
                 (SELECT id FROM person LIMIT 1), now(), now() \
             FROM unit, generate_series(1, {THREADS}) AS number;"
    );
    store.conn().execute_unprepared(&rows).await.unwrap();
    let all = Statement::from_string(DbBackend::Postgres, "SELECT id FROM job ORDER BY number");
    let jobs = store.conn().query_all_raw(all).await.unwrap();
    jobs.iter().map(|row| row.try_get("", "id").unwrap()).collect()
}

async fn serve(url: &str) -> (Child, String) {
    let built = Blocking::new(env!("CARGO"))
        .args(["build", "--release", "--quiet", "--bins"])
        .args(["--package", "countersign-tests", "--package", "countersign"])
        .current_dir(blackbox::tree::workspace())
        .status();
    assert!(built.unwrap().success(), "the service builds");
    let binary = std::env::current_exe().unwrap().with_file_name("countersign");
    let mut service = Command::new(binary)
        .args(["serve", "--listen", "127.0.0.1:0", "--connections", CONNECTIONS])
        .args(["--signin-per-min", "1000000"])
        .env("DATABASE_URL", url)
        .env("RUST_LOG", "error")
        .stdout(Stdio::piped())
        .kill_on_drop(true)
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(service.stdout.take().unwrap()).lines();
    let mut base = None;
    while let Some(line) = lines.next_line().await.unwrap() {
        if let Some(at) = line.strip_prefix("Countersign is at ") {
            base = Some(at.to_owned());
            break;
        }
    }
    tokio::spawn(async move { while let Ok(Some(_)) = lines.next_line().await {} });
    (service, base.expect("the service starts"))
}
