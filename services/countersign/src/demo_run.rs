//! `countersign demo`: the demo shop, served.
//!
//! Belongs here: when the demo is laid and wiped, and what is said about signing in. Does not
//! belong here: the demo's data ([`crate::demo`]).

use std::process::ExitCode;
use std::sync::Arc;

use http_api::demo::DemoSignIn;

use crate::error::AppError;
use crate::serve::Offered;
use crate::{demo, serve, tell};

/// The demo's database on the private server, beside the shop's.
pub(crate) const DATABASE: &str = "countersign_demo";

/// What it is told.
#[derive(clap::Args)]
#[group(skip)]
pub(crate) struct Arguments {
    #[command(flatten)]
    serve: serve::Arguments,
    /// Throws the demo's data away first and lays it anew.
    #[arg(long)]
    reset: bool,
    /// Ends once the data is laid, without serving.
    #[arg(long)]
    lay_only: bool,
}

/// Lays the demo where it is not there, and serves it.
pub(crate) async fn run(arguments: Arguments) -> Result<ExitCode, AppError> {
    let opened = arguments.serve.database.open(DATABASE).await?;
    if let Err(error) = lay(&opened.store, arguments.reset).await {
        opened.close().await;
        return Err(error);
    }
    if arguments.lay_only {
        opened.close().await;
        tell::line("The demo's data is laid.");
        return Ok(ExitCode::SUCCESS);
    }
    let offered = Offered { greeting: greeting(), sign_ins: sign_ins() };
    serve::serve(opened, &arguments.serve.service, offered).await?;
    Ok(ExitCode::SUCCESS)
}

async fn lay(store: &store::Store, reset: bool) -> Result<(), AppError> {
    if reset {
        demo::wipe(store).await?;
        store.migrate().await?;
    }
    if !demo::is_laid(store).await? {
        let generator = Arc::clone(&store.ambient().generator);
        demo::lay(store.url(), store.now(), generator).await?;
    }
    Ok(())
}

fn sign_ins() -> Vec<DemoSignIn> {
    demo::sign_ins()
        .into_iter()
        .map(|(email, name, says)| DemoSignIn {
            email: email.to_owned(),
            password: demo::PASSWORD.to_owned(),
            name: name.to_owned(),
            says: says.to_owned(),
        })
        .collect()
}

fn greeting() -> Vec<String> {
    let mut lines = vec![format!("Sign in with the password \"{}\" as:", demo::PASSWORD)];
    lines.extend(
        demo::sign_ins().iter().map(|(email, name, does)| format!("  {email:<28} {name}, {does}")),
    );
    lines
}
