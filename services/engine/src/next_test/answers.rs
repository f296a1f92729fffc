//! Kinds of answer to one reading.
//!
//! Belongs here: clustering what the hypotheses predict into answers that a meter tells
//! apart, and each answer's chance. Does not belong here: what an answer is worth.

use super::information::{Chances, Row, Rows, information};
use super::{Candidate, Take, reading_min};
use crate::likelihood::{MeterLimits, Prepared, presence, size_spread};
use crate::model::Model;
use crate::posterior::{Kind, Weighed, faults_of};
use crate::predict::many::{Conditions, Supposed, Work};
use crate::predict::{Predicted, Setup};
use crate::sentences;

/// Kinds of answer kept apart per reading; the rest are merged with their neighbours.
const CLASSES_MAX: usize = 6;
/// Chance that an answer comes out wrongly.
const WRONG: f64 = 0.02;

/// What each row supposes, once for every reading: with all of its faults, and with those left
/// out that may not be at work: an overload open on heat, a joint that comes and goes.
pub(super) struct Suppositions<'m> {
    all: Vec<Supposed<'m>>,
    /// By row: the places in `all`.
    of_row: Vec<(usize, Option<usize>)>,
}

impl<'m> Suppositions<'m> {
    pub(super) fn of(weighed: &Weighed<'m, '_>, rows: &Rows) -> Self {
        let mut all = Vec::new();
        let of_row = rows
            .all
            .iter()
            .map(|row| {
                let faults = faults_of(weighed.model, weighed.hypotheses.all[row.hypothesis].kind);
                let comes_and_goes = weighed.is_loose(row.hypothesis);
                let at_rest: Vec<_> =
                    faults.iter().copied().filter(|f| !f.passing && !comes_and_goes).collect();
                all.push(Supposed::of(&faults));
                let with = all.len() - 1;
                let cooled = (at_rest.len() < faults.len()).then(|| {
                    all.push(Supposed::of(&at_rest));
                    all.len() - 1
                });
                (with, cooled)
            })
            .collect();
        Suppositions { all, of_row }
    }

    /// Whether any row has it that a reading's two points are joined by nothing.
    pub(super) fn may_be_ghosts(
        &self,
        model: &Model<'_>,
        setups: &[&Setup],
        scale: f64,
        work: &mut Work,
    ) -> Vec<bool> {
        if setups.is_empty() {
            return Vec::new();
        }
        let of: Vec<Setup> = setups.iter().map(|setup| (*setup).clone()).collect();
        let predictions = Conditions::new(model, of, work).predict(&self.all, scale, work);
        (0..setups.len())
            .map(|setup| {
                let of = predictions.of(setup);
                of.iter().any(|predicted| matches!(predicted, Predicted::Ghost { .. }))
            })
            .collect()
    }
}

/// The readings of one condition as candidates.
pub(super) fn candidates<'m>(
    weighed: &Weighed<'m, '_>,
    rows: &Rows,
    suppositions: &Suppositions<'m>,
    setups: Vec<Setup>,
    scale: f64,
    work: &mut Work,
) -> Vec<Candidate> {
    let model = weighed.model;
    let meters = setups.iter().map(|setup| MeterLimits::of(setup.quantity, None)).collect();
    let conditions = Conditions::new(model, setups, work);
    let prepared = Prepared::many(&conditions, meters, work);
    work.candidates += prepared.len() as u64;
    let predictions = conditions.predict(&suppositions.all, scale, work);
    let size_spread: Vec<f64> = suppositions
        .all
        .iter()
        .map(|supposed| supposed.faults().map(size_spread).fold(0.0, f64::max))
        .collect();
    prepared
        .iter()
        .enumerate()
        .map(|(index, prepared)| {
            let see = |place: usize| {
                let predicted = predictions.of(index)[place];
                let spread = match predicted {
                    Predicted::Value(value) => {
                        prepared.centre_and_spread(value, size_spread[place]).1
                    }
                    _ => 0.0,
                };
                (predicted, spread)
            };
            // What each row expects, with the chance that an overload is open, or a bad joint
            // parted, where it supposes one.
            let expected: Vec<Expected> = rows
                .all
                .iter()
                .zip(&suppositions.of_row)
                .map(|(row, &(with, cooled))| {
                    let (predicted, spread) = see(with);
                    let Some(cooled) = cooled else {
                        return Expected { first: (1.0, predicted, spread), second: None };
                    };
                    let setup = &prepared.setup;
                    let passing = suppositions.all[with].faults().find(|fault| fault.passing);
                    let at_work = match passing {
                        Some(fault) => weighed
                            .open_chance_now(row.hypothesis, setup)
                            .unwrap_or_else(|| presence(model, fault, setup)),
                        None => weighed.loose_shows(row.hypothesis, setup).unwrap_or(1.0),
                    };
                    let (at_rest, narrow) = see(cooled);
                    Expected {
                        first: (at_work, predicted, spread),
                        second: Some((1.0 - at_work, at_rest, narrow)),
                    }
                })
                .collect();
            candidate(weighed, rows, prepared, &expected)
        })
        .collect()
}

/// What a row expects: chance, prediction and spread, of one case or two.
struct Expected {
    first: (f64, Predicted, f64),
    second: Option<(f64, Predicted, f64)>,
}

impl Expected {
    fn cases(&self) -> impl Iterator<Item = (f64, Predicted, f64)> {
        std::iter::once(self.first).chain(self.second)
    }
}

fn candidate(
    weighed: &Weighed<'_, '_>,
    rows: &Rows,
    prepared: &Prepared,
    expected: &[Expected],
) -> Candidate {
    let meter = &prepared.meter;
    let setup = prepared.setup.clone();
    let classes = Classes::of(expected, rows, meter);
    let kinds = classes.count();
    let is_unknown = |row: &Row| weighed.hypotheses.all[row.hypothesis].kind == Kind::Unknown;
    let mut chance = Chances { kinds, all: Vec::with_capacity(kinds * rows.all.len()) };
    for expected in expected {
        classes.chances(expected, meter, &mut chance.all);
    }
    // An unknown fault may show anything, so no answer speaks for or against it.
    let mut usual = vec![0.0; kinds];
    let known: f64 = rows.all.iter().filter(|row| !is_unknown(row)).map(|row| row.share).sum();
    for (row, chances) in rows.all.iter().zip(chance.of_rows()).filter(|(row, _)| !is_unknown(row))
    {
        for (usual, chance) in usual.iter_mut().zip(chances) {
            *usual += row.share * chance / known;
        }
    }
    for (row, chances) in rows.all.iter().zip(chance.all.chunks_exact_mut(kinds)) {
        if is_unknown(row) {
            chances.copy_from_slice(&usual);
        }
    }
    let bits = information(rows, &chance);
    let shows = classes.words(&weighed.model.circuit.points, &setup);
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
    fn of(expected: &[Expected], rows: &Rows, meter: &MeterLimits) -> Self {
        /// Clusters further apart than this many standard deviations are told apart.
        const APART: f64 = 2.0;
        let mut values: Vec<(f64, f64, f64)> = Vec::new();
        for (row, expected) in rows.all.iter().zip(expected) {
            for (chance, predicted, spread) in expected.cases() {
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

    /// Appends the chance of each kind.
    fn chances(&self, expected: &Expected, meter: &MeterLimits, into: &mut Vec<f64>) {
        let count = self.count();
        let start = into.len();
        into.resize(start + count, WRONG / count as f64);
        let chances = &mut into[start..];
        for (chance, predicted, spread) in expected.cases() {
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
