//! `countersign verify-record`: whether the record is as it was written.
//!
//! Belongs here: walking every shop's chain and saying what was found. Does not belong here:
//! how a chain is checked (the store's).

use std::process::ExitCode;

use store::record;

use crate::error::AppError;
use crate::serve::DATABASE;
use crate::{database, tell};

/// Exit code when an entry was tampered with; other failures give 1.
const EXIT_TAMPERED: u8 = 2;

/// What it is told.
#[derive(clap::Args)]
#[group(skip)]
pub(crate) struct Arguments {
    #[command(flatten)]
    database: database::Arguments,
    /// The demo's database on the private server, instead of the shop's.
    #[arg(long)]
    demo: bool,
}

/// One line per shop; the exit code says whether all hold.
pub(crate) async fn run(arguments: Arguments) -> Result<ExitCode, AppError> {
    let name = if arguments.demo { crate::demo_run::DATABASE } else { DATABASE };
    let opened = arguments.database.open(name).await?;
    let mut code = ExitCode::SUCCESS;
    for (shop_id, shop_name) in record::list_shops(&opened.store).await? {
        match record::verify(&opened.store, shop_id).await? {
            Ok(entries) => tell::line(&format!("{shop_name}: {entries} entries, all as written.")),
            Err(broken) => {
                tell::line(&format!("{shop_name}: entry {}: {}.", broken.seq, broken.says));
                code = ExitCode::from(EXIT_TAMPERED);
            }
        }
    }
    opened.close().await;
    Ok(code)
}
