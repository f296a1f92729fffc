//! `countersign new-password`: for an owner who has forgotten theirs. Everybody else's is changed
//! on the page by those who manage.
//!
//! Belongs here: the subcommand. Does not belong here: what the change brings with it (the store's).

use std::process::ExitCode;

use store::person::person_new_password_unasked;

use crate::error::AppError;
use crate::secret::Secret;
use crate::serve::DATABASE;
use crate::{database, tell};

/// What it is told.
#[derive(clap::Args)]
#[group(skip)]
pub(crate) struct Arguments {
    #[command(flatten)]
    database: database::Arguments,
    /// Whose: the e-mail address they sign in with.
    #[arg(long, value_name = "ADDRESS")]
    email: String,
    #[command(flatten)]
    secret: Secret,
}

/// Changes it and ends every session of theirs.
pub(crate) async fn run(arguments: Arguments) -> Result<ExitCode, AppError> {
    let password = arguments.secret.chosen()?;
    let opened = arguments.database.open(DATABASE).await?;
    let changed = person_new_password_unasked(&opened.store, &arguments.email, &password).await;
    opened.close().await;
    let person = changed.map_err(tell::refused)?;
    tell::line(&format!(
        "{} has a new password; wherever they were signed in, they are not any more. It is on the \
         record.",
        person.name
    ));
    Ok(ExitCode::SUCCESS)
}
