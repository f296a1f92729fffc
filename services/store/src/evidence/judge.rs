//! Running the engine beside the service.
//!
//! Belongs here: leaving the async threads for it, and its problems as the store's. Does not
//! belong here: what is judged.

use engine::case::Case;
use engine::problem::Problems;
use engine::verdict::Verdict;
use engine::verdict::plan::TestPlan;

use crate::error::{Fault, InFile, StoreError};

/// Judges a case that came from outside: problems are the sender's.
///
/// # Errors
/// `InvalidMany` with everything that is wrong with the case.
pub async fn run_given(case: Case) -> Result<Verdict, StoreError> {
    off_thread(case, engine::check)
        .await?
        .map_err(|problems| StoreError::InvalidMany(faults(&problems)))
}

/// Judges a case made of what is stored.
///
/// # Errors
/// `Corrupt` when what is stored makes no case: it was judged before it was stored.
pub async fn run(case: Case) -> Result<Verdict, StoreError> {
    off_thread(case, engine::check).await?.map_err(|problems| StoreError::corrupt("case", problems))
}

/// The whole plan of tests of a case made of what is stored.
///
/// # Errors
/// `Corrupt` when what is stored makes no case: it was judged before it was stored.
pub async fn plan(case: Case) -> Result<TestPlan, StoreError> {
    off_thread(case, engine::plan_of_tests)
        .await?
        .map_err(|problems| StoreError::corrupt("case", problems))
}

/// The engine's problems, with their places.
pub fn faults(problems: &Problems) -> Vec<Fault> {
    problems
        .problems
        .iter()
        .map(|problem| match (&problem.line, &problem.path) {
            (None, None) => Fault::new(problem.at.clone(), problem.says.clone()),
            // In the circuit file that a case carries whole.
            _ => Fault {
                pointer: "/circuit_text".to_owned(),
                says: format!("{}: {}", problem.at, problem.says),
                in_file: Some(InFile { line: problem.line, path: problem.path.clone() }),
            },
        })
        .collect()
}

async fn off_thread<T: Send + 'static>(
    case: Case,
    of: fn(&Case) -> Result<T, Problems>,
) -> Result<Result<T, Problems>, StoreError> {
    let span = tracing::Span::current();
    tokio::task::spawn_blocking(move || span.in_scope(|| of(&case))).await.map_err(|source| {
        StoreError::Unavailable { what: "the engine", source: Some(Box::new(source)) }
    })
}
