//! `countersign schemas`: what others generate from, kept in the repository.
//!
//! Belongs here: writing the files and checking that they are fresh. Does not belong here:
//! what is in them; they come from the routes and from
//! the engine's types.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use http_api::openapi;

use crate::check::Described;
use crate::error::AppError;
use crate::tell;

/// What it is told.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    what: What,
    /// The repository; found above the current folder where not given.
    #[arg(long, value_name = "FOLDER")]
    root: Option<PathBuf>,
}

#[derive(clap::Args)]
#[group(required = true, multiple = false)]
struct What {
    /// Writes the files.
    #[arg(long)]
    write: bool,
    /// Fails, naming the files, where one is not what would be written.
    #[arg(long)]
    check: bool,
}

/// Every file, by its path in the repository.
fn files() -> Result<Vec<(&'static str, String)>, AppError> {
    let mut files = vec![("services/http/openapi.json", openapi::text(&openapi::document()))];
    for described in Described::ALL {
        files.push((described.path(), described.text()?));
    }
    Ok(files)
}

/// Writes or checks.
pub(crate) fn run(arguments: &Arguments) -> Result<ExitCode, AppError> {
    let root = match &arguments.root {
        Some(root) => root.clone(),
        None => root_above()?,
    };
    let mut stale = Vec::new();
    for (path, text) in files()? {
        let full = root.join(path);
        if fs::read_to_string(&full).ok().as_deref() == Some(&text) {
            continue;
        }
        if arguments.what.write {
            fs::write(&full, text)
                .map_err(|source| AppError::Io { doing: format!("writing {path}"), source })?;
            tell::line(&format!("Wrote {path}."));
        } else {
            stale.push(path);
        }
    }
    if stale.is_empty() {
        return Ok(ExitCode::SUCCESS);
    }
    Err(AppError::Says(format!(
        "stale: {}. Run `countersign schemas --write` and commit the result",
        stale.join(", ")
    )))
}

/// The repository that the current folder is in.
fn root_above() -> Result<PathBuf, AppError> {
    let here = std::env::current_dir().map_err(|source| AppError::Io {
        doing: "finding the current folder".to_owned(),
        source,
    })?;
    here.ancestors()
        .find(|folder| folder.join("services/http/Cargo.toml").is_file())
        .map(Path::to_owned)
        .ok_or_else(|| {
            AppError::Says(
                "this is not inside the repository; go there, or name it with --root".to_owned(),
            )
        })
}
