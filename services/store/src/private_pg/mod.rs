//! A PostgreSQL of the service's own, from the machine's binaries.
//!
//! Belongs here: finding the binaries, a data folder that an unprivileged user can reach,
//! starting, stopping, finding the data again. Does not belong here: what is in the databases.
//!
//! PostgreSQL refuses to run as root, and root is the normal case in a container, so the
//! server runs as `postgres` or `nobody` then. It listens on a free loopback port with a random
//! password, and stops by itself when this process dies, however that happens.

mod binaries;
mod folder;
mod process;

use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};

use sqlx::{AssertSqlSafe, ConnectOptions as _, Connection as _, PgConnection};

use crate::ambient::Generator;
use crate::error::StoreError;
use binaries::Binaries;
use folder::Folder;
use process::Running;

/// The superuser of the private server; it has no other use for one.
const USER: &str = "countersign";

/// Tries with another port when somebody took the free one first; after that, the log says why.
const PORT_TRIES: u32 = 5;

/// Connections that the server accepts; the service's pool must stay under it.
pub const CONNECTIONS_MAX: u32 = 80;

/// How to run it.
#[derive(Clone, Debug)]
pub struct Options {
    /// Where its files live. Kept between starts.
    pub folder: PathBuf,
    /// Whether a commit waits for the disk. Off only for tests, which can lose everything.
    pub durable: bool,
}

/// A running private server; dropping it stops it.
#[derive(Debug)]
pub struct PrivatePg {
    running: Running,
    folder: Folder,
    password: String,
    port: u16,
}

impl PrivatePg {
    /// Starts the server, making its data first where there is none. Blocks for about a
    /// second the first time; call it off the async threads.
    ///
    /// # Errors
    /// `Unavailable`, naming the package to install, the other process that uses the folder,
    /// or the log that says why it did not start.
    pub fn start(options: &Options, generator: &Generator) -> Result<Self, StoreError> {
        let account = folder::account()?;
        let folder = Folder::prepare(&options.folder, account)?;
        folder.wait_for_former_server()?;
        let binaries = Binaries::find(folder.version_major())?;
        if folder.version_major().is_none() {
            folder.write_password(&generator.token())?;
            process::initialise(&binaries, &folder, USER, options.durable)?;
        }
        let password = folder.read_password()?;

        let mut last = None;
        for _ in 0..PORT_TRIES {
            let port = free_port()?;
            match Running::spawn(&binaries, &folder, port, options.durable) {
                Ok(running) => return Ok(PrivatePg { running, folder, password, port }),
                Err(error) => last = Some(error),
            }
        }
        Err(last.unwrap_or_else(|| unavailable("PostgreSQL did not start".to_owned())))
    }

    /// The address of one of its databases, with the password.
    pub fn url(&self, database: &str) -> String {
        format!("postgres://{USER}:{}@127.0.0.1:{}/{database}", self.password, self.port)
    }

    /// Where its files are; not the folder asked for where that could not be reached.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Why its files are elsewhere than asked, if they are.
    pub fn moved_because(&self) -> Option<&str> {
        self.folder.moved_because()
    }

    /// The loopback port.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// The process, for tests that kill it.
    pub fn pid(&self) -> u32 {
        self.running.pid()
    }

    /// Makes a database unless there is one of that name, empty or as a copy of `template`.
    ///
    /// # Errors
    /// When the server does not answer or refuses.
    pub async fn database_ensure(
        &self,
        name: &str,
        template: Option<&str>,
    ) -> Result<(), StoreError> {
        let mut conn = self.connect("postgres").await?;
        let there: bool =
            sqlx::query_scalar("SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)")
                .bind(name)
                .fetch_one(&mut conn)
                .await
                .map_err(sqlx_error)?;
        if !there {
            let template = template.unwrap_or("template1");
            let statement =
                format!("CREATE DATABASE {} TEMPLATE {}", quoted(name), quoted(template));
            sqlx::raw_sql(AssertSqlSafe(statement)).execute(&mut conn).await.map_err(sqlx_error)?;
        }
        conn.close().await.map_err(sqlx_error)
    }

    /// Removes a database and everything in it, if it is there.
    ///
    /// # Errors
    /// When the server does not answer or refuses.
    pub async fn database_drop(&self, name: &str) -> Result<(), StoreError> {
        let mut conn = self.connect("postgres").await?;
        let statement = format!("DROP DATABASE IF EXISTS {} WITH (FORCE)", quoted(name));
        sqlx::raw_sql(AssertSqlSafe(statement)).execute(&mut conn).await.map_err(sqlx_error)?;
        conn.close().await.map_err(sqlx_error)
    }

    async fn connect(&self, database: &str) -> Result<PgConnection, StoreError> {
        let options: sqlx::postgres::PgConnectOptions =
            self.url(database).parse().map_err(sqlx_error)?;
        options.disable_statement_logging().connect().await.map_err(sqlx_error)
    }

    /// Stops the server and waits for it. Blocks; call it off the async threads.
    pub fn stop(self) {
        drop(self);
    }
}

/// An identifier that PostgreSQL takes as it stands.
fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

fn free_port() -> Result<u16, StoreError> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, 0))
        .and_then(|listener| listener.local_addr())
        .map(|address| address.port())
        .map_err(|error| unavailable(format!("no loopback port can be had: {error}")))
}

fn unavailable(says: String) -> StoreError {
    StoreError::Unavailable { what: "the private PostgreSQL", source: Some(says.into()) }
}

fn sqlx_error(error: sqlx::Error) -> StoreError {
    StoreError::Unavailable { what: "the private PostgreSQL", source: Some(Box::new(error)) }
}
