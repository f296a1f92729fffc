//! `countersign new-shop`: the first thing in earnest, a shop and whoever owns it.
//!
//! Belongs here: the subcommand. Does not belong here: what a shop begins with (the store's),
//! and its other people, whom the owner adds on the page.

use std::process::ExitCode;

use store::person::{PersonNew, Role, person_add_unasked};
use store::shop::{ShopNew, shop_add};

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
    /// What the shop is called.
    #[arg(long)]
    name: String,
    /// Its wall clock, e.g. America/Denver: a name from the IANA time zone database.
    #[arg(long)]
    zone: String,
    /// What it reckons in, by its ISO 4217 code, e.g. USD.
    #[arg(long)]
    currency: String,
    /// The owner's name.
    #[arg(long, value_name = "NAME")]
    owner: String,
    /// The owner's e-mail address, which they sign in with.
    #[arg(long, value_name = "ADDRESS")]
    email: String,
    #[command(flatten)]
    secret: Secret,
}

/// Adds both, or neither.
pub(crate) async fn run(arguments: Arguments) -> Result<ExitCode, AppError> {
    let password = arguments.secret.chosen()?;
    let opened = arguments.database.open(DATABASE).await?;
    let added = async {
        let (store, name) = (&opened.store, arguments.name.clone());
        let txn = store.begin().await?;
        let new = ShopNew { name, zone: arguments.zone, currency: arguments.currency };
        let shop_id = shop_add(&txn, store, new).await?;
        // Whoever starts a shop alone does all of it; roles are taken away on the page.
        let owner = PersonNew {
            email: arguments.email,
            name: arguments.owner,
            password,
            roles: vec![Role::Owner, Role::ServiceManager, Role::Scheduler],
            qualifications: Vec::new(),
            phone: None,
            licence: None,
        };
        let owner = person_add_unasked(&txn, store, shop_id, owner).await?;
        txn.commit().await?;
        Ok::<_, store::StoreError>(owner)
    }
    .await;
    opened.close().await;
    let owner = added.map_err(tell::refused)?;
    tell::line(&format!(
        "{} is there. {} signs in as {}, adds the others under People, and the first call under \
         New call.",
        arguments.name.trim(),
        owner.name,
        owner.email
    ));
    Ok(ExitCode::SUCCESS)
}
