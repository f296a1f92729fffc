//! The service as it is started for real: the built binary on a database of the test's own.
//!
//! Belongs here: building the binary once, a seeded template database, starting, signalling,
//! looking into the tables. Does not belong here: what is asked of it over the network.

use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};
use std::time::Duration;

use sea_orm::{ConnectionTrait as _, DbBackend, Statement};
use serde_json::Value;
use store::ambient::Ambient;
use store::{Store, testbed};
use tokio::io::{AsyncBufReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::process::{ChildStdin, Command};
use tokio::sync::OnceCell;

use crate::seed;

/// How long anything may take before a test gives it up. It decides nothing: a machine that
/// is slow is waited for.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// Between two looks at something that is waited for.
const LOOK_AGAIN: Duration = Duration::from_millis(20);

/// The database with the shops and people that every test's database is copied from.
const TEMPLATE: &str = "blackbox_template";

/// Connections of one test's own look into the tables.
const CONNECTIONS_OF_TEST: u32 = 2;

/// Starts the service given after it, passes on the signals named on its own input, and kills
/// the service when that input ends: with the test, however that ends.
const KEEPER: &str = r#""$0" "$@" </dev/null & exec >&-
while read -r signal; do kill -"$signal" "$!"; done
kill -KILL "$!""#;

/// What differs from one test's service to another's.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The mail server; mail is only kept where there is none.
    pub smtp_url: Option<String>,
    /// Sign-in tries per minute and address; tests that are not about that sign in a lot.
    pub signin_per_min: u32,
    /// Whether it believes to be behind a reverse proxy.
    pub behind_proxy: bool,
    /// What signs access tokens, where two services share it.
    pub token_secret: Option<String>,
    /// A file with the milliseconds that its clock is off by.
    pub clock_file: Option<PathBuf>,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            smtp_url: None,
            signin_per_min: 10_000,
            behind_proxy: false,
            token_secret: None,
            clock_file: None,
        }
    }
}

/// A running service without a database of its own; dropping it kills it.
pub struct Server {
    /// Where it is: `http://127.0.0.1:…`.
    pub base: String,
    keeper: ChildStdin,
}

impl Server {
    /// Starts one on the database at this address.
    ///
    /// # Panics
    /// When it does not start.
    pub async fn start(database_url: &str, settings: &Settings) -> Self {
        let (base, keeper) = spawn(database_url, settings).await;
        Server { base, keeper }
    }

    /// Sends it a signal ("KILL").
    ///
    /// # Panics
    /// When its keeper is gone.
    pub async fn signal(&mut self, name: &str) {
        let line = format!("{name}\n");
        self.keeper.write_all(line.as_bytes()).await.expect("the keeper listens");
        self.keeper.flush().await.expect("the keeper listens");
    }

    /// Host and port.
    pub fn host(&self) -> &str {
        self.base.trim_start_matches("http://")
    }
}

/// Runs one of the scripts in `deploy` on the database at this address, with the built binary.
///
/// # Panics
/// When it cannot be run.
pub async fn script_on(database_url: &str, name: &str, arguments: &[&str]) -> Output {
    command(&crate::tree::workspace().join("deploy").join(name))
        .args(arguments)
        .env("DATABASE_URL", database_url)
        .env("COUNTERSIGN_BINARY", binary().await)
        .output()
        .await
        .expect("the script runs")
}

/// Runs a subcommand of the binary on the database at this address.
///
/// # Panics
/// When it cannot be run.
pub async fn run_on(database_url: &str, arguments: &[&str]) -> Output {
    command(Path::new(binary().await))
        .args(arguments)
        .env("DATABASE_URL", database_url)
        .output()
        .await
        .expect("the binary runs")
}

/// A running service; dropping it kills it.
pub struct Service {
    /// Where it is: `http://127.0.0.1:…`.
    pub base: String,
    keeper: ChildStdin,
    database_url: String,
    settings: Settings,
    store: Store,
}

impl Service {
    /// Starts one on a database of this name, in which the seeded shops are.
    ///
    /// # Panics
    /// When it does not start.
    pub async fn start(name: &str, settings: Settings) -> Self {
        let database_url = database(name).await;
        let ambient = Ambient::from_os().expect("the system has randomness");
        let store = Store::connect(&database_url, ambient, CONNECTIONS_OF_TEST)
            .await
            .expect("the test's database answers");
        let (base, keeper) = spawn(&database_url, &settings).await;
        Service { base, keeper, database_url, settings, store }
    }

    /// Kills it without warning and starts it again on the same database.
    ///
    /// # Panics
    /// When it does not start again.
    pub async fn kill_and_start(&mut self) {
        self.signal("KILL").await;
        let (base, keeper) = spawn(&self.database_url, &self.settings).await;
        (self.base, self.keeper) = (base, keeper);
    }

    /// Sends it a signal ("TERM").
    ///
    /// # Panics
    /// When its keeper is gone.
    pub async fn signal(&mut self, name: &str) {
        let line = format!("{name}\n");
        self.keeper.write_all(line.as_bytes()).await.expect("the keeper listens");
        self.keeper.flush().await.expect("the keeper listens");
    }

    /// Host and port.
    pub fn host(&self) -> &str {
        self.base.trim_start_matches("http://")
    }

    /// Where its database is, for another service on the same.
    pub fn database_url(&self) -> &str {
        &self.database_url
    }

    /// Runs another subcommand of the binary on the same database.
    ///
    /// # Panics
    /// When it cannot be run.
    pub async fn run(&self, arguments: &[&str]) -> Output {
        run_on(&self.database_url, arguments).await
    }

    /// Runs SQL that gives no rows, as the superuser.
    ///
    /// # Panics
    /// When the database refuses.
    pub async fn execute(&self, sql: &str) {
        self.store.conn().execute_unprepared(sql).await.expect(sql);
    }

    /// What the database says to SQL that it refuses.
    ///
    /// # Panics
    /// When it does not refuse.
    pub async fn refusal(&self, sql: &str) -> String {
        self.store.conn().execute_unprepared(sql).await.expect_err(sql).to_string()
    }

    /// The rows of a query, each as JSON.
    ///
    /// # Panics
    /// When the database refuses.
    pub async fn rows(&self, sql: &str) -> Vec<Value> {
        let sql = format!("SELECT to_jsonb(found) AS row FROM ({sql}) AS found");
        let rows = self
            .store
            .conn()
            .query_all_raw(Statement::from_string(DbBackend::Postgres, sql.clone()))
            .await
            .expect(&sql);
        rows.iter().map(|row| row.try_get::<Value>("", "row").expect("a row")).collect()
    }

    /// How many rows a table has, or a query's `FROM` onwards finds.
    ///
    /// # Panics
    /// When the database refuses.
    pub async fn count(&self, from: &str) -> i64 {
        let rows = self.rows(&format!("SELECT count(*) AS count FROM {from}")).await;
        rows[0]["count"].as_i64().expect("a count")
    }

    /// Waits until a query finds at least that many rows, and gives them.
    ///
    /// # Panics
    /// When it does not come to that.
    pub async fn rows_once(&self, sql: &str, at_least: usize) -> Vec<Value> {
        let looking = async {
            loop {
                let rows = self.rows(sql).await;
                if rows.len() >= at_least {
                    return rows;
                }
                tokio::time::sleep(LOOK_AGAIN).await;
            }
        };
        tokio::time::timeout(PATIENCE, looking)
            .await
            .unwrap_or_else(|_| panic!("there never were {at_least} rows of {sql}"))
    }
}

/// Built once per test program, so that what is tested is what is in the tree.
async fn binary() -> &'static str {
    static BINARY: OnceCell<Option<String>> = OnceCell::const_new();
    // A build that failed is not tried again for each test.
    BINARY.get_or_init(build).await.as_deref().expect("the service builds")
}

async fn build() -> Option<String> {
    let mut cargo = Command::new(env!("CARGO"));
    // What cargo told this test about its own package is no business of the other build, in
    // which it would make build scripts run anew each time.
    for (name, _) in std::env::vars_os() {
        let name = name.to_string_lossy();
        if ["CARGO_PKG_", "CARGO_MANIFEST_"].iter().any(|start| name.starts_with(start)) {
            cargo.env_remove(&*name);
        }
    }
    let output = cargo
        .args(["build", "--quiet", "--workspace", "--bin", "countersign"])
        .arg("--message-format=json-render-diagnostics")
        .current_dir(crate::tree::workspace())
        .stderr(Stdio::inherit())
        .output()
        .await
        .expect("cargo runs");
    if !output.status.success() {
        return None;
    }
    cargo_metadata::Message::parse_stream(output.stdout.as_slice())
        .filter_map(Result::ok)
        .find_map(|message| match message {
            cargo_metadata::Message::CompilerArtifact(artifact) => artifact.executable,
            _ => None,
        })
        .map(PathBuf::from)
        .and_then(|path| path.to_str().map(str::to_owned))
}

/// A copy of the seeded template.
async fn database(name: &str) -> String {
    static SEEDED: OnceCell<()> = OnceCell::const_new();
    let server = testbed::server().await.expect("a private PostgreSQL");
    SEEDED
        .get_or_init(async || {
            let ambient = Ambient::from_os().expect("the system has randomness");
            let store = testbed::store(TEMPLATE, ambient).await.expect("a template");
            seed::shops(&store).await.expect("the template is seeded");
            // A template can be copied only while nobody is connected to it.
            store.close().await;
        })
        .await;
    server.database_ensure(name, Some(TEMPLATE)).await.expect("a database for the test");
    server.url(name)
}

fn command(program: &Path) -> Command {
    let mut command = Command::new(program);
    // Whoever runs the tests may have a service of their own configured.
    for (name, _) in std::env::vars_os() {
        if name.to_string_lossy().starts_with("COUNTERSIGN_") {
            command.env_remove(name);
        }
    }
    // Failures of the service's own are worth seeing, refusals are not.
    command.env("RUST_LOG", "error");
    command
}

async fn spawn(database_url: &str, settings: &Settings) -> (String, ChildStdin) {
    let binary = binary().await;
    let mut command = command(Path::new("sh"));
    command
        .args(["-c", KEEPER, binary, "serve", "--listen", "127.0.0.1:0", "--connections", "8"])
        .args(["--signin-per-min", &settings.signin_per_min.to_string()])
        .env("DATABASE_URL", database_url)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped());
    if let Some(url) = &settings.smtp_url {
        command.args(["--smtp-url", url]);
    }
    if let Some(secret) = &settings.token_secret {
        command.env("COUNTERSIGN_TOKEN_SECRET", secret);
    }
    if let Some(file) = &settings.clock_file {
        command.arg("--clock-offset-file").arg(file);
    }
    if settings.behind_proxy {
        command.arg("--behind-proxy");
    }
    let mut child = command.spawn().expect("a shell");
    let keeper = child.stdin.take().expect("its input");
    let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
    let starting = async {
        while let Some(line) = lines.next_line().await.expect("its output") {
            if let Some(base) = line.strip_prefix("Countersign is at ") {
                return base.to_owned();
            }
        }
        panic!("the service ended before it said where it is");
    };
    let base = tokio::time::timeout(PATIENCE, starting).await.expect("the service starts");
    // Nobody reads on: what it says later must not fill the pipe.
    tokio::spawn(async move { while let Ok(Some(_)) = lines.next_line().await {} });
    (base, keeper)
}

/// The terminal client, running.
pub struct Talking {
    child: tokio::process::Child,
    typed: ChildStdin,
    lines: tokio::io::Lines<BufReader<tokio::process::ChildStdout>>,
}

impl Service {
    /// Starts the terminal client for one of the seeded people.
    ///
    /// # Panics
    /// When it cannot be run.
    pub async fn talk(&self, name: &str, job_id: uuid::Uuid) -> Talking {
        self.talk_at(&self.base, name, job_id).await
    }

    /// The same, through something that stands before the service.
    ///
    /// # Panics
    /// When it cannot be run.
    pub async fn talk_at(&self, base: &str, name: &str, job_id: uuid::Uuid) -> Talking {
        let mut child = command(Path::new(binary().await))
            .args(["talk", "--at", base, "--email", &seed::email_of(name), &job_id.to_string()])
            .env("COUNTERSIGN_PASSWORD", seed::PASSWORD)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .kill_on_drop(true)
            .spawn()
            .expect("the binary runs");
        let typed = child.stdin.take().expect("its input");
        let lines = BufReader::new(child.stdout.take().expect("its output")).lines();
        Talking { child, typed, lines }
    }
}

impl Talking {
    /// Types a line.
    ///
    /// # Panics
    /// When it does not listen any more.
    pub async fn type_line(&mut self, text: &str) {
        self.typed.write_all(format!("{text}\n").as_bytes()).await.expect("it listens");
        self.typed.flush().await.expect("it listens");
    }

    /// The next line it shows.
    ///
    /// # Panics
    /// When none comes.
    pub async fn line(&mut self) -> String {
        let line = tokio::time::timeout(PATIENCE, self.lines.next_line()).await;
        line.expect("a line comes").expect("its output").expect("it goes on")
    }

    /// Presses Ctrl-C and waits for the end.
    ///
    /// # Panics
    /// When it does not end.
    pub async fn interrupted(mut self) -> std::process::ExitStatus {
        let pid = self.child.id().expect("it runs").to_string();
        let told = std::process::Command::new("kill").args(["-INT", &pid]).status();
        assert!(told.expect("kill runs").success());
        let ended = tokio::time::timeout(PATIENCE, self.child.wait()).await;
        ended.expect("it ends").expect("it was waited for")
    }
}
