//! The engine's arithmetic laid open for those who measure it.
//!
//! Belongs here: judging a circuit that is already read, with counts of what it took; every
//! prediction of a case by the many and one by one. Does not belong here: a clock, which the
//! engine has none of.

pub use crate::predict::many::Work;

use crate::case::Case;
use crate::circuit::Circuit;
use crate::judge::{self, Ahead};
use crate::likelihood::Prepared;
use crate::model::Model;
use crate::policy::Policy;
use crate::posterior::{Hypotheses, faults_of};
use crate::predict::many::{Supposed, predict_many};
use crate::predict::{Predicted, Setup, predict};
use crate::problem::Problems;
use crate::validate;
use crate::verdict::Verdict;

/// Judges a case on a circuit that was read from `text` before, and says what it took.
/// Without `next_tests` none are looked for, and the verdict says that nothing is left.
///
/// # Errors
/// Everything that is wrong with the case.
pub fn judged(
    circuit: &Circuit,
    text: &str,
    case: &Case,
    next_tests: bool,
) -> Result<(Verdict, Work), Problems> {
    let problems = validate::problems(case, circuit);
    if !problems.is_empty() {
        return Err(Problems { problems });
    }
    let ahead = if next_tests { Ahead::NextTests } else { Ahead::Nothing };
    let judged = judge::judge(case, circuit, text, ahead);
    Ok((judged.verdict, judged.work))
}

/// The sum of all values that the hypotheses predict of a valid case's readings, solved
/// together.
pub fn together(circuit: &Circuit, case: &Case) -> f64 {
    let model = Model::new(circuit, &case.specs);
    let hypotheses = Hypotheses::new(&model, Policy::default().unknown_rate);
    let suppositions: Vec<Supposed<'_>> = hypotheses
        .all
        .iter()
        .map(|hypothesis| Supposed::of(&faults_of(&model, hypothesis.kind)))
        .collect();
    let setups: Vec<Setup> =
        case.readings.iter().map(|reading| Prepared::setup_of(&model, reading)).collect();
    let of: Vec<&Setup> = setups.iter().collect();
    let predictions = predict_many(&model, &of, &suppositions, 1.0, &mut Work::default());
    (0..of.len()).flat_map(|setup| predictions.of(setup)).map(|&predicted| valued(predicted)).sum()
}

/// The same by one factorisation for each hypothesis and reading: what the ratio of the
/// benchmark is to.
pub fn one_by_one(circuit: &Circuit, case: &Case) -> f64 {
    let model = Model::new(circuit, &case.specs);
    let hypotheses = Hypotheses::new(&model, Policy::default().unknown_rate);
    case.readings
        .iter()
        .map(|reading| {
            let setup = Prepared::setup_of(&model, reading);
            hypotheses
                .all
                .iter()
                .map(|hypothesis| {
                    valued(predict(&model, &setup, &faults_of(&model, hypothesis.kind), 1.0))
                })
                .sum::<f64>()
        })
        .sum()
}

fn valued(predicted: Predicted) -> f64 {
    match predicted {
        Predicted::Value(value) => value,
        Predicted::Ghost { .. } | Predicted::NoPath { .. } | Predicted::Nothing => 0.0,
    }
}
