//! The database's shape, as a list of steps.
//!
//! Belongs here: one module per step, oldest first, each running its two SQL files in
//! `migrations/sql`. Does not belong here: data (the demo's is the binary's) and queries (the
//! store's). How to change a live schema is in `migrations/README.md`.

pub use sea_orm_migration::prelude::*;

mod m20261125_000001_foundation;
mod m20261125_000002_evidence;
mod m20261125_000003_thread;
mod m20261125_000004_talk;
mod m20261125_000005_readers;
mod m20261126_000006_intake;
mod m20261126_000007_rota;
mod m20261126_000008_rules;
mod m20261126_000009_ladders;
mod m20261126_000010_circuits;
mod m20261126_000011_plan;
mod m20261126_000012_delegate;
mod m20261126_000013_rota_feed;
mod m20261126_000014_job_words;
mod m20261126_000015_found;

/// Every step, in the order in which it is applied.
pub struct Migrator;

#[async_trait::async_trait]
impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(m20261125_000001_foundation::Migration),
            Box::new(m20261125_000002_evidence::Migration),
            Box::new(m20261125_000003_thread::Migration),
            Box::new(m20261125_000004_talk::Migration),
            Box::new(m20261125_000005_readers::Migration),
            Box::new(m20261126_000006_intake::Migration),
            Box::new(m20261126_000007_rota::Migration),
            Box::new(m20261126_000008_rules::Migration),
            Box::new(m20261126_000009_ladders::Migration),
            Box::new(m20261126_000010_circuits::Migration),
            Box::new(m20261126_000011_plan::Migration),
            Box::new(m20261126_000012_delegate::Migration),
            Box::new(m20261126_000013_rota_feed::Migration),
            Box::new(m20261126_000014_job_words::Migration),
            Box::new(m20261126_000015_found::Migration),
        ]
    }
}
