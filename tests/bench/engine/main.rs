//! How long the engine takes from readings to a verdict, and for the next tests:
//! `cargo bench -p countersign-engine`; with `-- write=FOLDER` the table and the picture are
//! written there.
//!
//! Belongs here: timing whole judgements on circuits of 10 to 60 points, 20 readings in five
//! conditions each, beside one factorisation for each hypothesis and reading in the same run;
//! the example cases as they ship. Does not belong here: the engine's work.
#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "a measurement")]

mod ladder;
mod picture;

use std::error::Error;
use std::fmt::Write as _;
use std::hint::black_box;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use engine::work;
use ladder::Ladder;

/// Sizes measured, points.
const SIZES: [usize; 6] = [10, 20, 30, 40, 50, 60];
/// Circuits of each size.
const CIRCUITS: u64 = 3;
/// At least this long is measured, and at least three times.
const MEASURED: Duration = Duration::from_millis(400);

/// One size's figures, of the circuit with the most candidate tests: where a reading is
/// to be taken again there are none, and so nothing to measure.
pub(crate) struct Row {
    pub(crate) points: usize,
    pub(crate) hypotheses: u32,
    pub(crate) candidates: u64,
    /// Milliseconds from readings to a verdict without next tests.
    pub(crate) verdict_ms: f64,
    /// Milliseconds more for the next tests.
    pub(crate) tests_ms: f64,
    /// Milliseconds for the predictions alone, together and one factorisation each.
    pub(crate) together_ms: f64,
    pub(crate) one_by_one_ms: f64,
}

/// The least time that something takes: what else the machine does only ever adds.
fn least_ms(mut run: impl FnMut()) -> f64 {
    let began = Instant::now();
    let mut least = f64::INFINITY;
    let mut times = 0;
    while times < 3 || began.elapsed() < MEASURED {
        let start = Instant::now();
        run();
        least = least.min(start.elapsed().as_secs_f64() * 1e3);
        times += 1;
    }
    least
}

fn measured(points: usize) -> Result<Row, Box<dyn Error>> {
    let mut rows = Vec::new();
    for seed in 0..CIRCUITS {
        let ladder = Ladder::new(points, 1 + seed)?;
        let judged =
            |next_tests| work::judged(&ladder.circuit, &ladder.text, &ladder.case, next_tests);
        let (verdict, counted) = judged(true)?;
        let verdict_ms = least_ms(|| {
            black_box(judged(false)).ok();
        });
        let with_tests_ms = least_ms(|| {
            black_box(judged(true)).ok();
        });
        rows.push(Row {
            points,
            hypotheses: verdict.considered.hypotheses,
            candidates: counted.candidates,
            verdict_ms,
            tests_ms: with_tests_ms - verdict_ms,
            together_ms: least_ms(|| {
                black_box(work::together(&ladder.circuit, &ladder.case));
            }),
            one_by_one_ms: least_ms(|| {
                black_box(work::one_by_one(&ladder.circuit, &ladder.case));
            }),
        });
    }
    rows.into_iter().max_by_key(|row| row.candidates).ok_or("no circuit was measured".into())
}

fn main() -> Result<(), Box<dyn Error>> {
    // Cargo runs it in the crate's folder; who asks thinks of the repository's.
    let top = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let folder =
        std::env::args().find_map(|text| text.strip_prefix("write=").map(|at| top.join(at)));
    let mut table = String::from(
        "20 readings in 5 conditions, one core; of three circuits the one with the most candidate tests, the least of many runs.\n\n\
         | points | hypotheses | verdict, ms | candidate tests | their value, ms | predictions, ms | one factorisation each, ms | ratio |\n\
         |---:|---:|---:|---:|---:|---:|---:|---:|\n",
    );
    let mut rows = Vec::new();
    for points in SIZES {
        let row = measured(points)?;
        writeln!(
            table,
            "| {} | {} | {:.2} | {} | {:.1} | {:.2} | {:.1} | {:.0} |",
            row.points,
            row.hypotheses,
            row.verdict_ms,
            row.candidates,
            row.tests_ms,
            row.together_ms,
            row.one_by_one_ms,
            row.one_by_one_ms / row.together_ms
        )?;
        rows.push(row);
    }
    println!("{table}");
    if let Some(folder) = folder {
        std::fs::write(folder.join("growth.md"), &table)?;
        std::fs::write(folder.join("growth.svg"), picture::drawn(&rows))?;
    }
    Ok(())
}
