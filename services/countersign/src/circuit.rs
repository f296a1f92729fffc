//! `countersign circuit check`: a circuit file looked over before anyone relies on it.
//!
//! Belongs here: reading the file, the exit codes, the report's layout. Does not belong here:
//! what is valid (`engine::circuit_file`), what is told apart and how a fault is found
//! (`engine::survey`), the picture ([`drawing`]).

mod drawing;

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{Read as _, Write as _, stderr};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Subcommand;
use engine::circuit::Circuit;
use engine::circuit_file::{self, FILE_BYTES_MAX};
use engine::problem::Problems;
use engine::survey::{self, Sheet};
use engine::verdict::Outcome;

use crate::error::AppError;
use crate::tell;

/// The circuit file cannot be used as it stands.
const EXIT_BAD_INPUT: u8 = 2;
/// Members of an ambiguity group that are named; the rest is counted.
const MEMBERS_SHOWN: usize = 6;

/// The part of the help that a script's author looks for.
const EXIT_CODES: &str = "\
Exit codes:
   0  the circuit is valid
   2  it is not; what is wrong is on standard error, with file and line
   1  anything else, such as a file that cannot be read";

/// What it is told.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Validates a circuit file, says what no reading tells apart, and how each fault is found.
    Check(CheckArguments),
}

/// What `circuit check` is told.
#[derive(clap::Args)]
#[command(after_help = EXIT_CODES)]
struct CheckArguments {
    /// The circuit file (TOML), or the name of a shipped circuit.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Draws it into this file.
    #[arg(long, value_name = "FILE.svg")]
    svg: Option<PathBuf>,
    /// Leaves out the test plans, which take longest.
    #[arg(long)]
    no_plans: bool,
}

/// Looks a circuit over and prints the report.
///
/// # Errors
/// A file that cannot be read or written. A circuit that is not valid is exit code 2.
pub(crate) fn run(arguments: &Arguments) -> Result<ExitCode, AppError> {
    let Command::Check(arguments) = &arguments.command;
    let (name, text) = circuit_text(&arguments.file)?;
    let circuit = match circuit_file::parse(&name, &text) {
        Ok(circuit) => circuit,
        Err(problems) => {
            // Whoever closed standard error does not want to know.
            let _ = stderr().write_all(told(&problems).as_bytes());
            return Ok(ExitCode::from(EXIT_BAD_INPUT));
        }
    };
    if let Some(path) = &arguments.svg {
        fs::write(path, drawing::svg(&circuit)).map_err(|source| AppError::Io {
            doing: format!("writing {}", path.display()),
            source,
        })?;
    }
    tell::line(summary(&circuit).trim_end());
    tell::line(&ambiguity(&circuit));
    if !arguments.no_plans {
        tell::line("How each single fault is found:");
        for fault in survey::faults(&circuit) {
            let found =
                |sheet| survey::plan(&circuit, &text, &fault, survey::PLAN_TESTS_MAX, sheet);
            match found(Sheet::Missing) {
                Ok(plan) if plan.outcome == Outcome::Isolated => {
                    tell::line(plan_text(&fault.label, &plan).trim_end());
                }
                // Where the family's values are too wide, the unit's own may tell.
                Ok(plan) => match found(Sheet::AtHand) {
                    Ok(own) if own.outcome == Outcome::Isolated => {
                        let label = format!("{}, with the maker's own values", fault.label);
                        tell::line(plan_text(&label, &own).trim_end());
                    }
                    _ => tell::line(plan_text(&fault.label, &plan).trim_end()),
                },
                Err(problems) => tell::line(&format!("  {}: {}", fault.label, told(&problems))),
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// A file's text, or that of a shipped circuit where no such file is there.
fn circuit_text(path: &Path) -> Result<(String, String), AppError> {
    let name = path.display().to_string();
    if let Some(shipped) = circuit_file::shipped().iter().find(|shipped| shipped.name == name) {
        return Ok((format!("{name}.toml"), shipped.text.to_owned()));
    }
    // One byte more than a circuit file may have is enough to know that it is too long.
    let limit = FILE_BYTES_MAX as u64 + 1;
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(limit).read_to_end(&mut bytes))
        .map_err(|source| AppError::Io { doing: format!("reading {name}"), source })?;
    // What is no UTF-8 is told as such by the parser, at the line where it stands.
    Ok((name, String::from_utf8_lossy(&bytes).into_owned()))
}

fn told(problems: &Problems) -> String {
    problems.problems.iter().fold(String::new(), |mut text, problem| {
        let _ = writeln!(text, "{}: {}", problem.at, problem.says);
        text
    })
}

fn summary(circuit: &Circuit) -> String {
    let faults = survey::faults(circuit).len();
    let majors: Vec<&str> = circuit
        .components
        .iter()
        .filter(|component| component.major)
        .map(|component| component.label.as_str())
        .collect();
    format!(
        "{}: {}\n{} points, {} parts, {faults} single faults, {} connectors, {} states; needs a condemn request: {}\n",
        circuit.name,
        circuit.title,
        circuit.points.len(),
        circuit.parts.len(),
        circuit.connectors.len(),
        circuit.states.len(),
        if majors.is_empty() { "nothing".to_owned() } else { majors.join(", ") }
    )
}

fn ambiguity(circuit: &Circuit) -> String {
    let mut text = "What no reading tells apart:\n".to_owned();
    for condition in survey::conditions(circuit) {
        let _ = writeln!(text, "  {}", condition.label);
        for group in &condition.groups {
            let named = group.iter().take(MEMBERS_SHOWN).cloned().collect::<Vec<_>>().join("; ");
            let rest = group.len().saturating_sub(MEMBERS_SHOWN);
            let more = if rest > 0 { format!("; and {rest} more") } else { String::new() };
            let _ = writeln!(text, "    {}: {named}{more}", group.len());
        }
    }
    text
}

fn plan_text(label: &str, plan: &survey::Plan) -> String {
    let end = match plan.outcome {
        Outcome::Isolated => format!("isolated: {}", plan.leading),
        _ => format!("not isolated; {} holds {:.0} of 100", plan.leading, 100.0 * plan.share),
    };
    let mut text =
        format!("  {label}: {} tests, {:.0} min, {end}\n", plan.steps.len(), plan.minutes);
    for (index, step) in plan.steps.iter().enumerate() {
        let _ = writeln!(text, "    {}. {step}", index + 1);
    }
    for why in &plan.why {
        let _ = writeln!(text, "    why: {why}");
    }
    text
}
