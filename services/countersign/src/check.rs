//! `countersign check`: the engine alone, from a file or standard input, without a database.
//!
//! Belongs here: reading the case, the exit codes, which form the answer is printed in. Does
//! not belong here: judging (`engine::check`, the very function the service calls) and the
//! layout of the readable form ([`readable`]).

mod readable;

use std::fs::File;
use std::io::{Read as _, Write as _, stderr, stdin};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::ValueEnum;
use engine::problem::{Problem, Problems};
use engine::validate::{CASE_BYTES_MAX, case_from_json};
use engine::verdict::Outcome;
use schemars::{Schema, schema_for};

use crate::error::AppError;
use crate::tell;

/// The case cannot be judged as it stands.
const EXIT_BAD_INPUT: u8 = 2;

/// The part of the help that a script's author looks for.
const EXIT_CODES: &str = "\
Exit codes:
   0  isolated: only the condemned component still explains the readings
  10  not isolated: others remain
  11  contradicted: the readings say that what is condemned is good
  12  inconsistent: the readings cannot all be right, some are to be retaken
  13  incomplete: a required reading or answer is missing
   2  bad input; what is wrong is on standard error, with where and what would be right
   1  anything else, such as a file that cannot be read";

/// What it is told.
#[derive(clap::Args)]
#[command(after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    /// The case (JSON); "-" reads standard input.
    #[arg(value_name = "CASE.json", required_unless_present = "schema")]
    case: Option<PathBuf>,
    /// Prints for people, within 80 columns, and not JSON.
    #[arg(long)]
    readable: bool,
    /// Prints the whole plan of tests from where the case stands, and not the verdict.
    #[arg(long)]
    plan: bool,
    /// Prints a JSON Schema and judges nothing.
    #[arg(long, value_name = "WHAT", conflicts_with_all = ["case", "readable", "plan"])]
    schema: Option<Described>,
}

/// What there is a schema of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Described {
    /// What `check` reads.
    Case,
    /// What `check` prints.
    Verdict,
    /// What a circuit file holds, as JSON; the file itself is TOML.
    Circuit,
}

impl Described {
    /// All of them.
    pub(crate) const ALL: [Described; 3] =
        [Described::Case, Described::Verdict, Described::Circuit];

    /// The committed copy, by its path in the repository.
    pub(crate) fn path(self) -> &'static str {
        match self {
            Described::Case => "services/countersign/schemas/case.schema.json",
            Described::Verdict => "services/countersign/schemas/verdict.schema.json",
            Described::Circuit => "services/countersign/schemas/circuit.schema.json",
        }
    }

    /// The schema as text, with a newline at its end.
    pub(crate) fn text(self) -> Result<String, AppError> {
        let schema: Schema = match self {
            Described::Case => schema_for!(engine::case::Case),
            Described::Verdict => schema_for!(engine::verdict::Verdict),
            Described::Circuit => schema_for!(engine::circuit::Circuit),
        };
        as_json(&schema)
    }
}

/// Judges the case and prints the verdict.
///
/// # Errors
/// A file that cannot be read. A case that cannot be judged is no error here but exit code 2.
pub(crate) fn run(arguments: &Arguments) -> Result<ExitCode, AppError> {
    if let Some(described) = arguments.schema {
        tell::line(described.text()?.trim_end());
        return Ok(ExitCode::SUCCESS);
    }
    let path = arguments.case.as_deref().unwrap_or(Path::new("-"));
    let bytes = case_bytes(path)?;
    let judged = case_text(bytes).and_then(|text| case_from_json(&text)).and_then(|case| {
        let plan = arguments.plan.then(|| engine::plan_of_tests(&case)).transpose()?;
        engine::check(&case).map(|verdict| (case, verdict, plan))
    });
    match judged {
        Ok((case, verdict, plan)) => {
            if let Some(plan) = plan {
                let text = if arguments.readable { readable::plan(&plan) } else { as_json(&plan)? };
                tell::line(text.trim_end());
            } else if arguments.readable {
                tell::line(readable::verdict(&case, &verdict).trim_end());
            } else {
                tell::line(as_json(&verdict)?.trim_end());
            }
            Ok(ExitCode::from(exit_code(verdict.outcome)))
        }
        Err(problems) => {
            let text = if arguments.readable {
                readable::problems(&path.display().to_string(), &problems)
            } else {
                as_json(&problems)?
            };
            // Whoever closed standard error does not want to know.
            let _ = stderr().write_all(text.as_bytes());
            Ok(ExitCode::from(EXIT_BAD_INPUT))
        }
    }
}

/// The exit code of an outcome; also documented in [`EXIT_CODES`] and the examples' README.
fn exit_code(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Isolated => 0,
        Outcome::NotIsolated => 10,
        Outcome::Contradicted => 11,
        Outcome::Inconsistent => 12,
        Outcome::Incomplete => 13,
    }
}

/// Reads at most one byte more than a case may have: enough to know that it is too long.
fn case_bytes(path: &Path) -> Result<Vec<u8>, AppError> {
    let limit = CASE_BYTES_MAX as u64 + 1;
    let mut bytes = Vec::new();
    let read = if path == Path::new("-") {
        stdin().lock().take(limit).read_to_end(&mut bytes)
    } else {
        File::open(path).and_then(|file| file.take(limit).read_to_end(&mut bytes))
    };
    match read {
        Ok(_) => Ok(bytes),
        Err(source) => Err(AppError::Io { doing: format!("reading {}", path.display()), source }),
    }
}

fn case_text(bytes: Vec<u8>) -> Result<String, Problems> {
    if bytes.len() > CASE_BYTES_MAX {
        let says =
            format!("the case is longer than {CASE_BYTES_MAX} bytes, which is all that is read");
        return Err(Problem::new("", says).into());
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Problem::new("", format!("not a case: byte {at} is no UTF-8 text")).into()
    })
}

fn as_json(value: &impl serde::Serialize) -> Result<String, AppError> {
    serde_json::to_string_pretty(value)
        .map(|text| text + "\n")
        .map_err(|source| AppError::Io { doing: "writing JSON".to_owned(), source: source.into() })
}
