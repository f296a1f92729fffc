//! `countersign migrate`: brings the database's shape up to date.
//!
//! Belongs here: the subcommand. Does not belong here: the steps (`migrations`).

use std::process::ExitCode;

use crate::error::AppError;
use crate::serve::DATABASE;
use crate::{database, tell};

/// What it is told.
#[derive(clap::Args)]
#[group(skip)]
pub(crate) struct Arguments {
    #[command(flatten)]
    database: database::Arguments,
}

/// Opening the database migrates it; there is nothing more to do.
pub(crate) async fn run(arguments: Arguments) -> Result<ExitCode, AppError> {
    arguments.database.open(DATABASE).await?.close().await;
    tell::line("The database is up to date.");
    Ok(ExitCode::SUCCESS)
}
