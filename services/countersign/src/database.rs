//! Which database: the one that `DATABASE_URL` names, or a private PostgreSQL.
//!
//! Belongs here: opening and closing it. Does not belong here: what is done with it.

use std::path::PathBuf;
use std::sync::Arc;

use store::Store;
use store::ambient::{Ambient, Generator, OffsetClock};
use store::private_pg::{CONNECTIONS_MAX, Options, PrivatePg};

use crate::error::AppError;
use crate::tell;

/// Connections left for listeners and for whoever looks in with psql.
const CONNECTIONS_SPARE: u32 = 20;

/// Where the database is.
#[derive(Clone, Debug, clap::Args)]
#[group(skip)]
pub(crate) struct Arguments {
    /// A PostgreSQL database to use instead of a private server.
    #[arg(long, env = "DATABASE_URL", hide_env_values = true)]
    database_url: Option<String>,
    /// Where a private PostgreSQL keeps its files.
    #[arg(long, env = "COUNTERSIGN_DATA", default_value = ".data/postgres", value_name = "FOLDER")]
    data: PathBuf,
    /// Most database connections at once.
    #[arg(long, env = "COUNTERSIGN_CONNECTIONS", default_value_t = 20, value_name = "N",
        value_parser = clap::value_parser!(u32).range(2..=i64::from(CONNECTIONS_MAX - CONNECTIONS_SPARE)))]
    connections: u32,
    /// For tests of a clock that jumps: a file with the milliseconds that ours is off by.
    #[arg(long, hide = true, value_name = "FILE")]
    clock_offset_file: Option<PathBuf>,
}

/// An open database, migrated.
pub(crate) struct Opened {
    /// The store on it.
    pub(crate) store: Store,
    /// The private server, where there is one.
    private: Option<PrivatePg>,
}

impl Arguments {
    /// Opens the database, starting a private server with a database of this name where no
    /// address was given, and brings its shape up to date.
    pub(crate) async fn open(&self, name: &str) -> Result<Opened, AppError> {
        let mut ambient = Ambient::from_os().map_err(|error| {
            AppError::Says(format!("the system gives no random numbers: {error}"))
        })?;
        if let Some(file) = &self.clock_offset_file {
            ambient.clock = Arc::new(OffsetClock::new(file.clone()));
        }
        let (url, private) = match &self.database_url {
            Some(url) => (url.clone(), None),
            None => {
                let server = self.start_private(Arc::clone(&ambient.generator)).await?;
                server.database_ensure(name, None).await?;
                (server.url(name), Some(server))
            }
        };
        let store = Store::connect(&url, ambient, self.connections).await?;
        store.migrate().await?;
        Ok(Opened { store, private })
    }

    async fn start_private(&self, generator: Arc<Generator>) -> Result<PrivatePg, AppError> {
        let options = Options { folder: self.data.clone(), durable: true };
        let started = tokio::task::spawn_blocking(move || PrivatePg::start(&options, &generator));
        let server = started.await.map_err(|error| AppError::Says(error.to_string()))??;
        if let Some(because) = server.moved_because() {
            tell::line(&format!("The data is kept in {}: {because}.", server.folder().display()));
        }
        Ok(server)
    }
}

impl Opened {
    /// Closes the connections, then stops the private server.
    pub(crate) async fn close(self) {
        self.store.close().await;
        if let Some(server) = self.private {
            // Waiting for a process blocks; a panic in there was reported where it was.
            let _ = tokio::task::spawn_blocking(move || server.stop()).await;
        }
    }
}
