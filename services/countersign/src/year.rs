//! `countersign year`: a simulated year of weekends, with rules off and on.
//!
//! Belongs here: the subcommand and its files. Does not belong here: the simulation, its words
//! and its picture (the year's own crate).

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use ::year::{WEEKENDS_MAX, picture, simulate, words};

use crate::error::AppError;
use crate::tell;

/// What it is told.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Where all draws begin; the same seed gives the same year.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How many weekends.
    #[arg(long, default_value_t = 52, value_parser = clap::value_parser!(u32).range(1..=i64::from(WEEKENDS_MAX)))]
    weekends: u32,
    /// Draws the year into this file.
    #[arg(long, value_name = "FILE.svg")]
    svg: Option<PathBuf>,
    /// Writes every number into this file.
    #[arg(long, value_name = "FILE.json")]
    json: Option<PathBuf>,
}

/// Plays it and says what came of it.
pub(crate) fn run(arguments: &Arguments) -> Result<ExitCode, AppError> {
    let report = simulate(arguments.seed, arguments.weekends);
    tell::line(words::says(&report).trim_end());
    if let Some(path) = &arguments.svg {
        write(path, &picture::svg(&report))?;
    }
    if let Some(path) = &arguments.json {
        let text = serde_json::to_string_pretty(&report)
            .map_err(|error| AppError::Says(format!("the numbers cannot be written: {error}")))?;
        write(path, &text)?;
    }
    Ok(ExitCode::SUCCESS)
}

fn write(path: &Path, text: &str) -> Result<(), AppError> {
    fs::write(path, text)
        .map_err(|source| AppError::Io { doing: format!("writing {}", path.display()), source })
}
