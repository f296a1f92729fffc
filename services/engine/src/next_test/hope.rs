//! Whether the tests left can settle anything.
//!
//! Belongs here: what the evidence could come to if every test left were taken. Does not belong
//! here: what one test tells ([`super::information`]), and which comes first ([`super::order`]).
//!
//! While it is open whether anything is wrong at all, a test that tells a little of many faults is
//! not worth the walk where no test left could bring any of them home. So each suspicion is
//! supposed to be true, and everything left to be read as it would have it: a verdict is in reach
//! where that would isolate a component, show that something is surely wrong, or show that nothing
//! is (conductors that touch among it: no component is condemned for them). Where what is in reach holds less than a verdict leaves to doubt in any case, nothing that
//! is left can settle it.

use super::information::{NONE, Row, Rows};
use super::order::enough;
use super::{Candidate, Take};
use crate::policy::Policy;

/// From this share of "none of them" on it is open whether anything is wrong at all; below it
/// whatever tells what is wrong is worth it (common practice, no source).
const OPEN_FROM: f64 = 0.2;
/// What nothing can settle may still be worth a question: a test must tell so much for each of its
/// minutes then, bits (common practice, no source).
const LOST_BITS_PER_MIN: f64 = 0.05;
/// So often each reading is supposed to be taken: once, and once more to bear it out (common
/// practice, no source).
const TIMES: f64 = 2.0;

/// Whether the tests left can settle anything.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Hope {
    /// They can, or something is wrong in any case.
    Some,
    /// All of them together cannot.
    Lost,
}

impl Hope {
    /// What a test must tell for each of its minutes, bits.
    pub(super) fn bits_per_min(self) -> f64 {
        match self {
            Hope::Some => 0.0,
            Hope::Lost => LOST_BITS_PER_MIN,
        }
    }
}

/// Whether all that the candidates could show together would settle anything.
pub(super) fn hope<'t>(
    rows: &Rows,
    candidates: impl Iterator<Item = &'t Candidate>,
    policy: &Policy,
) -> Hope {
    let doubt = 1.0 - policy.isolated_min;
    let none: f64 = rows.all.iter().map(|row| row.share * weight_of(row, NONE)).sum();
    if none < OPEN_FROM {
        return Hope::Some;
    }
    let tests = Tests::of(candidates);
    // Rows come by share, so that the first few decide.
    let mut in_reach = 0.0;
    let mut ahead: f64 = rows.all.iter().map(|row| row.share).sum();
    for (index, row) in rows.all.iter().enumerate() {
        if in_reach >= doubt || in_reach + ahead < doubt {
            break;
        }
        ahead -= row.share;
        let group = group_of(row);
        if group == NONE && none >= policy.isolated_min {
            continue;
        }
        let groups = tests.all_taken(rows, index);
        let sum: f64 = groups.iter().sum();
        let settled = if group == NONE {
            groups[NONE] >= policy.isolated_min * sum
        } else {
            groups[NONE] <= doubt * sum || leads(&groups, group) && enough(&groups, true, policy)
        };
        if settled {
            in_reach += row.share;
        }
    }
    if in_reach < doubt { Hope::Lost } else { Hope::Some }
}

/// The readings and questions left, each once, as the expected log chance of what one row shows
/// under another.
struct Tests<'t>(Vec<(&'t Candidate, Vec<f64>)>);

impl<'t> Tests<'t> {
    fn of(candidates: impl Iterator<Item = &'t Candidate>) -> Self {
        let mut all: Vec<(&Candidate, Vec<f64>)> = Vec::new();
        for candidate in candidates {
            if !all.iter().any(|(known, _)| same(&known.take, &candidate.take)) {
                let logs = candidate.chance.all.iter().map(|chance| chance.ln()).collect();
                all.push((candidate, logs));
            }
        }
        Tests(all)
    }

    /// The weight of each group once everything left came out as one row has it.
    fn all_taken(&self, rows: &Rows, supposed: usize) -> Vec<f64> {
        let mut apart = vec![0.0; rows.all.len()];
        for (candidate, logs) in &self.0 {
            let kinds = candidate.chance.kinds;
            let shown = &candidate.chance.all[supposed * kinds..][..kinds];
            let expected = |row: usize| -> f64 {
                let logs = &logs[row * kinds..][..kinds];
                shown.iter().zip(logs).filter(|(p, _)| **p > 0.0).map(|(p, log)| p * log).sum()
            };
            let own = expected(supposed);
            for (row, apart) in apart.iter_mut().enumerate() {
                *apart += TIMES * (own - expected(row));
            }
        }
        let mut groups = vec![0.0; rows.groups.len()];
        for (row, apart) in rows.all.iter().zip(apart) {
            for &(group, weight) in &row.parts {
                groups[group] += row.share * weight * (-apart).exp();
            }
        }
        groups
    }
}

/// The group that a row speaks for most.
fn group_of(row: &Row) -> usize {
    let most = row.parts.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
    most.map_or(NONE, |&(group, _)| group)
}

fn weight_of(row: &Row, wanted: usize) -> f64 {
    row.parts.iter().filter(|(group, _)| *group == wanted).map(|(_, weight)| weight).sum()
}

fn leads(groups: &[f64], group: usize) -> bool {
    groups.iter().all(|weight| *weight <= groups[group])
}

fn same(one: &Take, two: &Take) -> bool {
    match (one, two) {
        (Take::Reading(one), Take::Reading(two)) => one == two,
        (Take::Sign(one), Take::Sign(two)) => one == two,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next_test::information::Chances;

    /// Rows of the shares given, each speaking for one group: 0 is none of them.
    fn rows(of: &[(f64, usize)]) -> Rows {
        let all = of
            .iter()
            .enumerate()
            .map(|(hypothesis, &(share, group))| Row {
                hypothesis,
                share,
                parts: vec![(group, 1.0)],
            })
            .collect();
        Rows { all, groups: (0..=of.iter().map(|(_, group)| *group).max().unwrap_or(0)).collect() }
    }

    /// A question with two answers: by row, the chance of the first.
    fn question(sign: usize, first: &[f64]) -> Candidate {
        let all = first.iter().flat_map(|&chance| [chance, 1.0 - chance]).collect();
        Candidate {
            take: Take::Sign(sign),
            minutes: 1.0,
            shows: Vec::new(),
            chance: Chances { kinds: 2, all },
            bits: 0.0,
        }
    }

    fn of(rows: &Rows, tests: &[Candidate]) -> bool {
        hope(rows, tests.iter(), &Policy::default()) == Hope::Some
    }

    #[test]
    fn a_sharp_test_is_hope_and_a_blunt_one_is_none() {
        let open = rows(&[(0.6, 0), (0.4, 1)]);
        assert!(of(&open, &[question(0, &[0.02, 0.98])]));
        assert!(!of(&open, &[question(0, &[0.45, 0.55])]));
        assert!(!of(&open, &[]));
    }

    #[test]
    fn many_blunt_tests_are_hope_together_but_one_asked_twice_is_one() {
        let open = rows(&[(0.6, 0), (0.4, 1)]);
        let blunt = |sign| question(sign, &[0.3, 0.7]);
        assert!(of(&open, &(0..6).map(blunt).collect::<Vec<_>>()));
        assert!(!of(&open, &(0..6).map(|_| blunt(0)).collect::<Vec<_>>()));
    }

    #[test]
    fn that_something_is_wrong_is_worth_knowing_though_not_what() {
        let alike = rows(&[(0.4, 0), (0.3, 1), (0.3, 2)]);
        assert!(of(&alike, &[question(0, &[0.02, 0.98, 0.98])]));
    }

    #[test]
    fn what_cannot_be_told_from_a_rival_is_no_hope_where_nothing_else_is() {
        // Nothing is wrong in 96 of 100; no test could make more of the rest than a verdict leaves
        // to doubt.
        let clear = rows(&[(0.96, 0), (0.02, 1), (0.02, 2)]);
        assert!(!of(&clear, &[question(0, &[0.02, 0.98, 0.98])]));
    }

    #[test]
    fn where_something_is_wrong_for_certain_every_test_is_worth_it() {
        let wrong = rows(&[(0.1, 0), (0.45, 1), (0.45, 2)]);
        assert!(of(&wrong, &[]));
    }
}
