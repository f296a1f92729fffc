//! Kinds of answer to one reading.
//!
//! Belongs here: clustering what the hypotheses predict into answers that a meter tells
//! apart, and each answer's chance. Does not belong here: what an answer is worth.

use super::information::{Row, groups, information};
use super::{Candidate, Take, reading_min};
use crate::likelihood::{MeterLimits, Prepared, presence};
use crate::posterior::{Kind, Weighed, faults_of};
use crate::powered::Solved;
use crate::predict::{Predicted, Setup, predict};
use crate::sentences;

/// Kinds of answer kept apart per reading; the rest are merged with their neighbours.
const CLASSES_MAX: usize = 6;
/// Chance that an answer comes out wrongly.
const WRONG: f64 = 0.02;

/// What the circuit under power shows in one state, solved once for each row and used for
/// every reading of that state.
pub(super) struct UnderPower {
    /// With all of a row's faults, and with its passing ones left out.
    rows: Vec<(Solved, Option<Solved>)>,
}

impl UnderPower {
    pub(super) fn of(weighed: &Weighed<'_, '_>, rows: &[Row], state: usize, scale: f64) -> Self {
        let model = weighed.model;
        let solve = |faults: &[&crate::model::Fault]| {
            Solved::of(model, &model.parts, state, &[], faults, scale, None)
        };
        let rows = rows
            .iter()
            .map(|row| {
                let faults = faults_of(model, weighed.hypotheses.all[row.hypothesis].kind);
                let at_rest: Vec<_> = faults.iter().copied().filter(|f| !f.passing).collect();
                let cooled = (at_rest.len() < faults.len()).then(|| solve(&at_rest));
                (solve(&faults), cooled)
            })
            .collect();
        UnderPower { rows }
    }
}

pub(super) fn candidate(
    weighed: &Weighed<'_, '_>,
    rows: &[Row],
    setup: Setup,
    scale: f64,
    under_power: Option<&UnderPower>,
) -> Candidate {
    let model = weighed.model;
    let meter = MeterLimits::of(setup.quantity, None);
    let prepared = Prepared::new(model, setup.clone(), meter);
    // What each row expects, with the chance that an overload is open where it supposes one.
    let expected: Vec<Vec<(f64, Predicted, f64)>> = rows
        .iter()
        .enumerate()
        .map(|(place, row)| {
            let kind = weighed.hypotheses.all[row.hypothesis].kind;
            let faults = faults_of(model, kind);
            let see = |faults: &[&crate::model::Fault], cooled: bool| {
                let predicted = match under_power.map(|solved| &solved.rows[place]) {
                    Some((_, Some(solved))) if cooled => solved.shows(&model.parts, &setup),
                    Some((solved, _)) => solved.shows(&model.parts, &setup),
                    None => predict(model, &setup, faults, scale),
                };
                let spread = match predicted {
                    Predicted::Value(value) => prepared.centre_and_spread(value, faults).1,
                    _ => 0.0,
                };
                (predicted, spread)
            };
            match faults.iter().position(|fault| fault.passing) {
                Some(place) => {
                    let open = weighed
                        .open_chance_now(row.hypothesis, &setup)
                        .unwrap_or_else(|| presence(model, faults[place], &setup));
                    let mut at_rest = faults.clone();
                    at_rest.remove(place);
                    let (with, wide) = see(&faults, false);
                    let (without, narrow) = see(&at_rest, true);
                    vec![(open, with, wide), (1.0 - open, without, narrow)]
                }
                None => {
                    let (predicted, spread) = see(&faults, false);
                    vec![(1.0, predicted, spread)]
                }
            }
        })
        .collect();
    let classes = Classes::of(&expected, rows, &meter);
    let is_unknown = |row: &Row| weighed.hypotheses.all[row.hypothesis].kind == Kind::Unknown;
    let mut chance: Vec<Vec<f64>> =
        expected.iter().map(|expected| classes.chances(expected, &meter)).collect();
    // An unknown fault may show anything, so no answer speaks for or against it.
    let mut usual = vec![0.0; classes.count()];
    let known: f64 = rows.iter().filter(|row| !is_unknown(row)).map(|row| row.share).sum();
    for (row, chances) in rows.iter().zip(&chance).filter(|(row, _)| !is_unknown(row)) {
        for (kind, chance) in chances.iter().enumerate() {
            usual[kind] += row.share * chance / known;
        }
    }
    for (row, chances) in rows.iter().zip(&mut chance) {
        if is_unknown(row) {
            chances.clone_from(&usual);
        }
    }
    let bits = information(rows, groups(weighed), &chance);
    let shows = classes.words(&model.circuit.points, &setup);
    Candidate {
        minutes: reading_min(setup.quantity),
        take: Take::Reading(setup),
        shows,
        chance,
        bits,
    }
}

/// Kinds of answer: over limit, and clusters of values that a meter tells apart.
struct Classes {
    /// Upper bounds (log units) of the clusters but the last.
    bounds: Vec<f64>,
    /// A typical value per cluster, base unit.
    typical: Vec<f64>,
}

impl Classes {
    fn of(expected: &[Vec<(f64, Predicted, f64)>], rows: &[Row], meter: &MeterLimits) -> Self {
        /// Clusters further apart than this many standard deviations are told apart.
        const APART: f64 = 2.0;
        let mut values: Vec<(f64, f64, f64)> = Vec::new();
        for (row, expected) in rows.iter().zip(expected) {
            for &(chance, predicted, spread) in expected {
                if let Predicted::Value(value) = predicted
                    && value <= meter.highest
                {
                    values.push(((value + meter.floor()).ln(), spread, row.share * chance));
                }
            }
        }
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut clusters: Vec<Vec<(f64, f64, f64)>> = Vec::new();
        for value in values {
            match clusters.last_mut() {
                Some(cluster) => {
                    let near = cluster.last().copied().unwrap_or(value);
                    // The surer of the two decides: a fault's wide size must not swallow the
                    // narrow sound value beside it.
                    if value.0 - near.0 > APART * near.1.min(value.1).max(0.02) {
                        clusters.push(vec![value]);
                    } else {
                        cluster.push(value);
                    }
                }
                None => clusters.push(vec![value]),
            }
        }
        let weight = |cluster: &[(f64, f64, f64)]| cluster.iter().map(|value| value.2).sum::<f64>();
        while clusters.len() > CLASSES_MAX {
            let least = (0..clusters.len())
                .min_by(|&a, &b| weight(&clusters[a]).total_cmp(&weight(&clusters[b])))
                .unwrap_or(0);
            let lost = clusters.remove(least);
            let into = least.saturating_sub(1);
            clusters[into].extend(lost);
            clusters[into].sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        let bounds = clusters
            .windows(2)
            .map(|pair| {
                let end = pair[0].last().map_or(0.0, |value| value.0);
                let start = pair[1].first().map_or(0.0, |value| value.0);
                (end + start) / 2.0
            })
            .collect();
        let typical = clusters
            .iter()
            .map(|cluster| {
                let heaviest =
                    cluster.iter().max_by(|a, b| a.2.total_cmp(&b.2)).map_or(0.0, |value| value.0);
                (heaviest.exp() - meter.floor()).max(0.0)
            })
            .collect();
        Classes { bounds, typical }
    }

    fn count(&self) -> usize {
        self.typical.len() + 1
    }

    fn chances(&self, expected: &[(f64, Predicted, f64)], meter: &MeterLimits) -> Vec<f64> {
        let count = self.count();
        let mut chances = vec![WRONG / count as f64; count];
        for &(chance, predicted, spread) in expected {
            let sure = (1.0 - WRONG) * chance;
            match predicted {
                Predicted::Value(value) => {
                    let centre = (value + meter.floor()).ln();
                    let above = |bound: f64| {
                        crate::likelihood::tail_above((bound - centre) / spread.max(0.02))
                    };
                    let over = above((meter.highest + meter.floor()).ln());
                    chances[count - 1] += sure * over;
                    let mut left = 1.0 - over;
                    for (kind, &bound) in self.bounds.iter().enumerate() {
                        let beyond = above(bound).min(left);
                        chances[kind] += sure * (left - beyond);
                        left = beyond;
                    }
                    if count >= 2 {
                        chances[count - 2] += sure * left;
                    } else {
                        chances[0] += sure * left;
                    }
                }
                Predicted::NoPath { .. } => chances[count - 1] += sure,
                Predicted::Ghost { up_to } => {
                    // Half nothing, half anywhere up to there: spread over the kinds it covers.
                    let reach = |log: f64| ((log.exp() - meter.floor()) / up_to).clamp(0.0, 1.0);
                    let uppers = self.bounds.iter().map(|&bound| reach(bound)).chain([1.0]);
                    let mut below = 0.0;
                    for (chance, upper) in chances.iter_mut().take(count - 1).zip(uppers) {
                        *chance += sure * 0.5 * (upper - below);
                        below = upper;
                    }
                    let nothing = if count >= 2 { 0 } else { count - 1 };
                    chances[nothing] += sure * 0.5;
                }
                Predicted::Nothing => {
                    chances.iter_mut().for_each(|kind| *kind += sure / count as f64);
                }
            }
        }
        chances
    }

    fn words(&self, points: &[crate::circuit::Point], setup: &Setup) -> Vec<String> {
        let pair = format!("{}–{}", points[setup.from].id, points[setup.to].id);
        self.typical
            .iter()
            .map(|&value| format!("{pair} about {}", sentences::in_words(setup.quantity, value)))
            .chain([format!("{pair} OL")])
            .collect()
    }
}
