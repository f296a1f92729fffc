//! Databases for tests: one private server per test process, one database per test.
//!
//! Belongs here: the shared server and copies of a migrated template. Does not belong here:
//! what a test puts into them.

use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::OnceCell;

use crate::ambient::{Ambient, Generator};
use crate::db::Store;
use crate::error::StoreError;
use crate::private_pg::{Options, PrivatePg};

/// Connections of one test's pool; more tests than fit at once wait for each other.
const CONNECTIONS_PER_TEST: u32 = 4;

/// The database that every test's is copied from.
const TEMPLATE: &str = "countersign_template";

/// Folders of test servers start with this, followed by the process's number.
const FOLDER_PREFIX: &str = "countersign-test-";

static SERVER: OnceCell<Arc<PrivatePg>> = OnceCell::const_new();

/// The server of this test process, started at first use. It stops when the process ends.
///
/// # Errors
/// When PostgreSQL cannot be started; the cause says what to install.
pub async fn server() -> Result<Arc<PrivatePg>, StoreError> {
    SERVER.get_or_try_init(start).await.cloned()
}

/// The address of a fresh, migrated database of this name.
///
/// # Errors
/// When the server refuses.
pub async fn database(name: &str) -> Result<String, StoreError> {
    let server = server().await?;
    server.database_ensure(name, Some(TEMPLATE)).await?;
    Ok(server.url(name))
}

/// A store on a fresh, migrated database of this name.
///
/// # Errors
/// When the server refuses.
pub async fn store(name: &str, ambient: Ambient) -> Result<Store, StoreError> {
    Store::connect(&database(name).await?, ambient, CONNECTIONS_PER_TEST).await
}

async fn start() -> Result<Arc<PrivatePg>, StoreError> {
    let started = tokio::task::spawn_blocking(|| {
        remove_left_over();
        let generator = Generator::from_os().map_err(|source| StoreError::Unavailable {
            what: "the system's randomness",
            source: Some(Box::new(source)),
        })?;
        let options = Options { folder: folder_of(std::process::id()), durable: false };
        PrivatePg::start(&options, &generator)
    });
    let server = started.await.map_err(|source| StoreError::Unavailable {
        what: "the private PostgreSQL",
        source: Some(Box::new(source)),
    })??;

    server.database_ensure(TEMPLATE, None).await?;
    let ambient = Ambient::from_os().map_err(|source| StoreError::Unavailable {
        what: "the system's randomness",
        source: Some(Box::new(source)),
    })?;
    let store = Store::connect(&server.url(TEMPLATE), ambient, CONNECTIONS_PER_TEST).await?;
    store.migrate().await?;
    // A template can be copied only while nobody is connected to it.
    store.close().await;
    Ok(Arc::new(server))
}

fn folder_of(pid: u32) -> PathBuf {
    std::env::temp_dir().join(format!("{FOLDER_PREFIX}{pid}"))
}

/// Removes the folders of test processes that are over: a process that ends cannot remove the
/// folder of a server that ends after it.
fn remove_left_over() {
    let entries = fs::read_dir(std::env::temp_dir()).into_iter().flatten().flatten();
    for entry in entries {
        let name = entry.file_name();
        let pid = name
            .to_str()
            .and_then(|name| name.strip_prefix(FOLDER_PREFIX))
            .and_then(|pid| pid.parse::<u32>().ok());
        if pid.is_some_and(|pid| !PathBuf::from(format!("/proc/{pid}")).exists()) {
            // Another test process may be removing the same one.
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}
