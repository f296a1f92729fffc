//! The demo: an invented shop on one weekend, told through the same doors as real work.
//!
//! Belongs here: when the demo is laid, wiped and offered for signing in. Does not belong
//! here: any rule; every row of it went through the store, the gate and the engine, at the
//! times that the story gives.

mod estate;
mod people;
mod readings;
mod story;

use std::sync::Arc;

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait as _, Statement};
use store::ambient::{Ambient, Generator, ManualClock};
use store::{Store, StoreError};

pub(crate) use people::{PASSWORD, sign_ins};

/// The demo shop's name; the demo is told by it.
pub(crate) const SHOP_NAME: &str = "Marrow Creek Climate Service";
/// Connections used while the story is told, one thing after the other.
const CONNECTIONS_MAX: u32 = 4;

/// Whether the demo is laid in this database.
///
/// # Errors
/// When the database fails.
pub(crate) async fn is_laid(store: &Store) -> Result<bool, StoreError> {
    let statement = Statement::from_sql_and_values(
        sea_orm::DbBackend::Postgres,
        "SELECT 1 FROM shop WHERE name = $1",
        [SHOP_NAME.into()],
    );
    Ok(store.conn().query_one_raw(statement).await?.is_some())
}

/// Wipes a database that holds the demo and nothing else.
///
/// # Errors
/// `Conflict` where another shop's data is in it; then nothing is wiped.
pub(crate) async fn wipe(store: &Store) -> Result<(), StoreError> {
    let others = Statement::from_sql_and_values(
        sea_orm::DbBackend::Postgres,
        "SELECT 1 FROM shop WHERE name <> $1",
        [SHOP_NAME.into()],
    );
    if store.conn().query_one_raw(others).await?.is_some() {
        return Err(StoreError::conflict(
            "not-the-demo",
            "This database holds another shop's data, so it is not wiped. Point DATABASE_URL at a database of the demo's own.",
        ));
    }
    store.conn().execute_unprepared("DROP SCHEMA public CASCADE; CREATE SCHEMA public;").await?;
    Ok(())
}

/// Lays the demo so that its weekend ends at `now`.
///
/// # Errors
/// When a step of the story is refused, which a test would have shown, or the database fails.
pub(crate) async fn lay(
    url: &str,
    now: DateTime<Utc>,
    generator: Arc<Generator>,
) -> Result<(), StoreError> {
    let clock = Arc::new(ManualClock::new(now));
    let ambient = Ambient { clock: clock.clone(), generator };
    let store = Store::connect(url, ambient, CONNECTIONS_MAX).await?;
    let result = story::tell(&store, &clock, now).await;
    store.close().await;
    result
}
