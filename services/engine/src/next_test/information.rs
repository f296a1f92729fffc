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
#[derive(Clone)]
pub(super) struct Row {
    pub(super) hypothesis: usize,
    pub(super) share: f64,
    /// Places in [`Rows::groups`] and weights that add up to 1.
    pub(super) parts: Vec<(usize, f64)>,
}

/// The rows, and what they are to be told apart into.
#[derive(Clone)]
pub(super) struct Rows {
    pub(super) all: Vec<Row>,
    /// The groups that occur, ascending; [`NONE`] is always the first.
    pub(super) groups: Vec<usize>,
}

/// What a test is to tell apart.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Telling {
    Components,
    Parts,
}

/// The group of "none of them": nothing wrong, a passing state, an unknown fault.
pub(super) const NONE: usize = 0;

/// The chance of each kind of answer under each row.
#[derive(Clone, Debug)]
pub(super) struct Chances {
    pub(super) kinds: usize,
    /// Row-major.
    pub(super) all: Vec<f64>,
}

impl Chances {
    /// One kind of answer, certain: what is known before any test.
    pub(super) fn nothing(rows: &Rows) -> Self {
        Chances { kinds: 1, all: vec![1.0; rows.all.len()] }
    }

    pub(super) fn of_rows(&self) -> std::slice::ChunksExact<'_, f64> {
        self.all.chunks_exact(self.kinds)
    }

    /// The joint answers with another test, independent given the hypothesis.
    pub(super) fn jointly(&self, other: &Chances) -> Chances {
        let kinds = self.kinds * other.kinds;
        let mut all = Vec::with_capacity(kinds * self.all.len() / self.kinds);
        for (a, b) in self.of_rows().zip(other.of_rows()) {
            for x in a {
                all.extend(b.iter().map(|y| x * y));
            }
        }
        Chances { kinds, all }
    }
}

pub(super) fn rows(weighed: &Weighed<'_, '_>, claimed: Option<usize>, telling: Telling) -> Rows {
    let mut order: Vec<usize> = (0..weighed.posterior.len()).collect();
    order.sort_by(|&a, &b| weighed.posterior[b].total_cmp(&weighed.posterior[a]).then(a.cmp(&b)));
    let mut all = Vec::new();
    let mut held = 0.0;
    for hypothesis in order {
        let share = weighed.posterior[hypothesis];
        if all.len() >= ROWS_MAX || held >= ROWS_SHARE || share <= 0.0 {
            break;
        }
        held += share;
        let parts = match weighed.hypotheses.all[hypothesis].kind {
            Kind::Sound | Kind::Unknown => vec![(NONE, 1.0)],
            _ => weighed
                .attribution(hypothesis, claimed)
                .into_iter()
                .filter(|(_, weight)| *weight > 0.0)
                .map(|(fault, weight)| {
                    let fault = &weighed.model.faults[fault];
                    let group = match (fault.condemns, telling) {
                        (None, _) => NONE,
                        (Some(component), Telling::Components) => 1 + component,
                        (Some(_), Telling::Parts) => {
                            1 + weighed.model.circuit.components.len() + fault.part
                        }
                    };
                    (group, weight)
                })
                .collect(),
        };
        all.push(Row { hypothesis, share, parts });
    }
    let mut groups: Vec<usize> = all
        .iter()
        .flat_map(|row| row.parts.iter().map(|(group, _)| *group))
        .chain([NONE])
        .collect();
    groups.sort_unstable();
    groups.dedup();
    for row in &mut all {
        row.share /= held;
        for (group, _) in &mut row.parts {
            *group = groups.partition_point(|known| known < group);
        }
    }
    Rows { all, groups }
}

/// Σ −x·log₂ x.
fn spread(shares: &[f64]) -> f64 {
    shares.iter().filter(|share| **share > 0.0).map(|share| -share * share.log2()).sum()
}

/// The shares of the groups for each kind of answer, one kind after the other.
pub(super) fn after(rows: &Rows, chances: &Chances) -> Vec<f64> {
    let groups = rows.groups.len();
    let mut after = vec![0.0; groups * chances.kinds];
    for (row, chances) in rows.all.iter().zip(chances.of_rows()) {
        for &(group, weight) in &row.parts {
            let share = row.share * weight;
            for (kind, chance) in chances.iter().enumerate() {
                after[kind * groups + group] += share * chance;
            }
        }
    }
    after
}

/// Expected information, in bits, of answers with these chances.
pub(super) fn information(rows: &Rows, chances: &Chances) -> f64 {
    let groups = rows.groups.len();
    let after = after(rows, chances);
    let mut before = vec![0.0; groups];
    // What is left to know afterwards: of each kind of answer its chance times its entropy.
    let mut left = 0.0;
    for shares in after.chunks_exact(groups) {
        let sum: f64 = shares.iter().sum();
        if sum > 0.0 {
            left += spread(shares) + sum * sum.log2();
        }
        before.iter_mut().zip(shares).for_each(|(before, share)| *before += share);
    }
    let sum: f64 = before.iter().sum();
    (spread(&before) + sum * sum.log2() - left).max(0.0)
}
