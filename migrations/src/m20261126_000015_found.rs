//! What calls turned out to be, and the odds that a request keeps from them.
//!
//! Belongs here: running the two SQL files of the same name. Does not belong here: anything
//! that PostgreSQL can say for itself.

use sea_orm_migration::prelude::*;

/// The step.
#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let sql = include_str!("../sql/m20261126_000015_found.up.sql");
        manager.get_connection().execute_unprepared(sql).await.map(drop)
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let sql = include_str!("../sql/m20261126_000015_found.down.sql");
        manager.get_connection().execute_unprepared(sql).await.map(drop)
    }
}
