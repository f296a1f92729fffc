//! The connection pool and transactions.
//!
//! Belongs here: connecting, migrating, beginning a transaction. Does not belong here: any
//! noun's query.

use std::fmt;
use std::time::Duration;

use chrono::{DateTime, Utc};
use migrations::{Migrator, MigratorTrait as _};
use sea_orm::{
    ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DatabaseTransaction, DbBackend,
    Statement, TransactionTrait as _, Value,
};
use uuid::Uuid;

use crate::ambient::Ambient;
use crate::error::StoreError;
use crate::idempotency::{self, Claim};

/// How long a query waits for a free connection; after that the caller gets "not available"
/// rather than a page that never loads.
const ACQUIRE_TIMEOUT: Duration = Duration::from_secs(8);

/// How long one statement may run; after that PostgreSQL cancels it.
const STATEMENT_TIMEOUT_MS: u32 = 15_000;

/// The advisory lock that is held while migrating, so that two that start at once take turns.
const MIGRATION_LOCK: i64 = 0x0C05_1616;

/// The way to everything that is kept. Cheap to clone.
#[derive(Clone)]
pub struct Store {
    conn: DatabaseConnection,
    ambient: Ambient,
    url: String,
    claim: Option<Claim>,
}

impl Store {
    /// Connects to the database at `url` with at most `connections_max` connections.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn connect(
        url: &str,
        ambient: Ambient,
        connections_max: u32,
    ) -> Result<Self, StoreError> {
        let mut options = ConnectOptions::new(url);
        options
            .max_connections(connections_max)
            .acquire_timeout(ACQUIRE_TIMEOUT)
            .connect_timeout(ACQUIRE_TIMEOUT)
            .sqlx_logging(false)
            .map_sqlx_postgres_opts(|options| {
                options
                    .application_name("countersign")
                    .options([("statement_timeout", STATEMENT_TIMEOUT_MS.to_string())])
                    // To compile a page's query took as long again as to run it.
                    .options([("jit", "off")])
            });
        let conn = Database::connect(options).await?;
        Ok(Store { conn, ambient, url: url.to_owned(), claim: None })
    }

    /// Applies the migrations that are missing.
    ///
    /// # Errors
    /// When a step fails; that step has then not been applied at all.
    pub async fn migrate(&self) -> Result<(), StoreError> {
        // The lock is held by a transaction of its own, which does nothing else.
        let lock = self.conn.begin().await?;
        lock.execute_raw(sql("SELECT pg_advisory_xact_lock($1)", [MIGRATION_LOCK.into()])).await?;
        Migrator::up(&self.conn, None).await?;
        lock.commit().await?;
        Ok(())
    }

    /// The pool, for queries outside a transaction.
    pub fn conn(&self) -> &DatabaseConnection {
        &self.conn
    }

    /// Begins a transaction; dropping it without `commit` undoes it.
    ///
    /// In a store that carries a claim ([`Store::claimed`]) the transaction also notes that
    /// the repeatable write was carried out, so that both become true together.
    ///
    /// # Errors
    /// When the database does not answer, or another request took the claim over.
    pub async fn begin(&self) -> Result<DatabaseTransaction, StoreError> {
        let txn = self.conn.begin().await?;
        if let Some(claim) = &self.claim {
            idempotency::mark_carried_out(&txn, claim).await?;
        }
        Ok(txn)
    }

    /// The same store, whose transactions belong to one claimed write.
    #[must_use]
    pub fn claimed(&self, claim: Claim) -> Self {
        Store { claim: Some(claim), ..self.clone() }
    }

    /// Now.
    pub fn now(&self) -> DateTime<Utc> {
        self.ambient.now()
    }

    /// A new id.
    pub fn new_id(&self) -> Uuid {
        self.ambient.new_id()
    }

    /// The clock and the generator.
    pub fn ambient(&self) -> &Ambient {
        &self.ambient
    }

    /// Where the database is, with its password: for opening a listener, not for logs.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// When it does not.
    pub async fn ping(&self) -> Result<(), StoreError> {
        self.conn.execute_unprepared("SELECT 1").await?;
        Ok(())
    }

    /// Closes the pool once what is running has ended.
    pub async fn close(self) {
        if let Err(error) = self.conn.close().await {
            tracing::warn!(%error, "the database connections did not close cleanly");
        }
    }
}

impl fmt::Debug for Store {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Store(..)")
    }
}

/// A statement with its values, where PostgreSQL's own words say it best.
pub fn sql<const N: usize>(text: &str, values: [Value; N]) -> Statement {
    Statement::from_sql_and_values(DbBackend::Postgres, text, values)
}
