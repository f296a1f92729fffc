//! Expected information of a test.
//!
//! Belongs here: hypotheses as rows, what is told apart, entropy and its expected loss. Does
//! not belong here: which tests there are, and their cost.

use crate::posterior::{Kind, Weighed};

/// Hypotheses a test is valued over: those that hold nearly all of the posterior.
const ROWS_MAX: usize = 120;
/// Posterior that the rows must hold together before the list is cut.
const ROWS_SHARE: f64 = 0.9995;

/// A hypothesis as a test sees it: its share, and how that share is spread over what is told
/// apart (components, then none of them).
pub(super) struct Row {
    pub(super) hypothesis: usize,
    pub(super) share: f64,
    pub(super) parts: Vec<(usize, f64)>,
}

/// What a test is to tell apart.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Telling {
    Components,
    Parts,
}

/// The group of "none of them": nothing wrong, a passing state, an unknown fault.
pub(super) const NONE: usize = 0;

pub(super) fn rows(
    weighed: &Weighed<'_, '_>,
    claimed: Option<usize>,
    telling: Telling,
) -> Vec<Row> {
    let mut order: Vec<usize> = (0..weighed.posterior.len()).collect();
    order.sort_by(|&a, &b| weighed.posterior[b].total_cmp(&weighed.posterior[a]).then(a.cmp(&b)));
    let mut rows = Vec::new();
    let mut held = 0.0;
    for hypothesis in order {
        let share = weighed.posterior[hypothesis];
        if rows.len() >= ROWS_MAX || held >= ROWS_SHARE || share <= 0.0 {
            break;
        }
        held += share;
        let parts = match weighed.hypotheses.all[hypothesis].kind {
            Kind::Sound | Kind::Unknown => vec![(NONE, 1.0)],
            _ => weighed
                .attribution(hypothesis, claimed)
                .into_iter()
                .map(|(fault, weight)| {
                    let fault = &weighed.model.faults[fault];
                    let group = match telling {
                        _ if fault.passing => NONE,
                        Telling::Components => 1 + fault.component,
                        Telling::Parts => 1 + weighed.model.circuit.components.len() + fault.part,
                    };
                    (group, weight)
                })
                .collect(),
        };
        rows.push(Row { hypothesis, share, parts });
    }
    for row in &mut rows {
        row.share /= held;
    }
    rows
}

pub(super) fn groups(weighed: &Weighed<'_, '_>) -> usize {
    1 + weighed.model.circuit.components.len() + weighed.model.parts.len()
}

pub(super) fn entropy(shares: &[f64]) -> f64 {
    let sum: f64 = shares.iter().sum();
    shares
        .iter()
        .filter(|share| **share > 0.0)
        .map(|share| {
            let p = share / sum;
            -p * p.log2()
        })
        .sum()
}

/// Expected information, in bits, of answers with `chance[row][kind]`.
pub(super) fn information(rows: &[Row], groups: usize, chance: &[Vec<f64>]) -> f64 {
    let kinds = chance.first().map_or(0, Vec::len);
    let mut before = vec![0.0; groups];
    let mut after = vec![vec![0.0; groups]; kinds];
    for (row, chances) in rows.iter().zip(chance) {
        for &(group, weight) in &row.parts {
            before[group] += row.share * weight;
            for (kind, chance) in chances.iter().enumerate() {
                after[kind][group] += row.share * weight * chance;
            }
        }
    }
    let expected: f64 = after
        .iter()
        .map(|shares| {
            let sum: f64 = shares.iter().sum();
            if sum > 0.0 { sum * entropy(shares) } else { 0.0 }
        })
        .sum();
    (entropy(&before) - expected).max(0.0)
}

/// The joint answers of two tests, independent given the hypothesis.
pub(super) fn jointly(first: &[Vec<f64>], second: &[Vec<f64>]) -> Vec<Vec<f64>> {
    first
        .iter()
        .zip(second)
        .map(|(a, b)| a.iter().flat_map(|x| b.iter().map(move |y| x * y)).collect())
        .collect()
}
