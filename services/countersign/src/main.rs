//! The one binary: `serve`, `demo`, `migrate`, `check`, `circuit`, `verify-record`, `schemas` and their like.
//!
//! Belongs here: the list of subcommands, the log, and how a failure is told. Does not belong
//! here: what a subcommand does; each has a file of its own.

mod check;
mod circuit;
mod database;
mod demo;
mod demo_run;
mod error;
mod live_mount;
mod migrate;
mod new_password;
mod new_shop;
mod schemas;
mod secret;
mod serve;
mod talk;
mod tell;
mod verify_record;
mod year;

use std::io::{IsTerminal as _, stderr};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use tracing_subscriber::EnvFilter;

use crate::error::AppError;

/// Exit code when a command could not do its work.
const EXIT_FAILED: u8 = 1;

/// What the log shows unless `RUST_LOG` says otherwise. The pool warns of connections that are
/// returned while the private server stops, which is how every stop ends.
const LOG_DEFAULT: &str = "info,sqlx=warn,sqlx_core::pool::connection=error,actix_server=warn,\
     sea_orm_migration=warn";

/// The condemn gate: evidence, second read, approval.
#[derive(Parser)]
#[command(name = "countersign", version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Judges one case with the engine alone; no database.
    Check(check::Arguments),
    /// Looks over a circuit file: what is wrong with it, what it can tell apart.
    Circuit(circuit::Arguments),
    /// Serves the web client, the API and the live stream on one port.
    Serve(serve::Arguments),
    /// Serves the demo shop, laying its data first where it is not there.
    Demo(demo_run::Arguments),
    /// Follows a job's thread in the terminal and says there what is typed.
    Talk(talk::Arguments),
    /// Brings the database's shape up to date, and ends.
    Migrate(migrate::Arguments),
    /// Adds a shop and its owner: the first thing in earnest.
    NewShop(new_shop::Arguments),
    /// Gives somebody a new password: for an owner who forgot theirs.
    NewPassword(new_password::Arguments),
    /// Plays a simulated year of weekends with rules off and on, and says what they are worth.
    Year(year::Arguments),
    /// Walks every shop's record and names the first entry that was tampered with.
    VerifyRecord(verify_record::Arguments),
    /// Writes the API's description into the repository, or checks that it is fresh.
    Schemas(schemas::Arguments),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(LOG_DEFAULT));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(stderr().is_terminal())
        .with_writer(stderr)
        .init();
    match run(arguments.command) {
        Ok(code) => code,
        Err(error) => {
            tell::failure(&error);
            ExitCode::from(EXIT_FAILED)
        }
    }
}

fn run(command: Command) -> Result<ExitCode, AppError> {
    match command {
        Command::Check(arguments) => check::run(&arguments),
        Command::Circuit(arguments) => circuit::run(&arguments),
        Command::Serve(arguments) => on_runtime(serve::run(arguments)),
        Command::Demo(arguments) => on_runtime(demo_run::run(arguments)),
        Command::Talk(arguments) => on_runtime(talk::run(arguments)),
        Command::Migrate(arguments) => on_runtime(migrate::run(arguments)),
        Command::NewShop(arguments) => on_runtime(new_shop::run(arguments)),
        Command::NewPassword(arguments) => on_runtime(new_password::run(arguments)),
        Command::Year(arguments) => year::run(&arguments),
        Command::VerifyRecord(arguments) => on_runtime(verify_record::run(arguments)),
        Command::Schemas(arguments) => schemas::run(&arguments),
    }
}

fn on_runtime(
    work: impl Future<Output = Result<ExitCode, AppError>>,
) -> Result<ExitCode, AppError> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|source| AppError::Io { doing: "starting the runtime".to_owned(), source })?
        .block_on(work)
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_arguments_of_every_subcommand_fit_together() {
        Arguments::command().debug_assert();
    }
}
