//! From readings to shares: every hypothesis weighed, then told by fault and by component.
//!
//! Belongs here: the hypothesis set, Bayes' rule over it, who a double fault is put down to,
//! leaving readings out. Does not belong here: thresholds ([`crate::judge`]) and words.

use crate::case::{Observation, Reading};
use crate::circuit::Sign;
use crate::likelihood::{Judged, Mistakes, Prepared, broad, is_loose, presence};
use crate::model::{Fault, Model};
use crate::predict::Setup;

/// Double faults less likely than this beforehand are cut off (and counted).
const DOUBLE_PRIOR_MIN: f64 = 1e-6;
/// Where alike parts share an unknown scale every hypothesis costs [`SCALES`] times as much;
/// there the cut is higher.
const DOUBLE_PRIOR_MIN_SCALED: f64 = 4e-5;
/// Most hypotheses weighed; the least likely double faults beyond it are cut off.
pub(crate) const HYPOTHESES_MAX: usize = 6000;
/// Points of the grid over an unknown common scale.
const SCALES: usize = 9;
/// The grid's width in standard deviations to either side.
const SCALE_REACH: f64 = 2.0;
/// A single fault explains as well as a double when it keeps this much of its likelihood.
const ALONE_SUFFICES: f64 = 0.3;

/// What is supposed to be true.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Sound,
    Single(usize),
    Double(usize, usize),
    Unknown,
}

/// A hypothesis and its prior probability.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hypothesis {
    pub(crate) kind: Kind,
    pub(crate) prior: f64,
}

/// The hypothesis set with what was cut off.
#[derive(Clone, Debug)]
pub(crate) struct Hypotheses {
    pub(crate) all: Vec<Hypothesis>,
    pub(crate) cut_off: f64,
}

impl Hypotheses {
    /// Nothing wrong, every single fault, double faults of different parts, and the unknown
    /// fault at `unknown_rate`. Parts fail independently; modes of one part exclude each
    /// other.
    pub(crate) fn new(model: &Model<'_>, unknown_rate: f64) -> Self {
        let part_prior: Vec<f64> = (0..model.parts.len())
            .map(|part| {
                model.faults.iter().filter(|fault| fault.part == part).map(|f| f.prior).sum()
            })
            .collect();
        let sound: f64 = part_prior.iter().map(|prior| 1.0 - prior).product();
        let odds: Vec<f64> =
            model.faults.iter().map(|fault| fault.prior / (1.0 - part_prior[fault.part])).collect();
        let known = 1.0 - unknown_rate;
        // Where the circuit says how often nothing is wrong with it on such a call, the
        // faults share the rest in the proportions of their own odds.
        let (sound_prior, known) = match model.circuit.nothing_wrong {
            Some(share) => (known * share, known * (1.0 - share) / (1.0 - sound)),
            None => (known * sound, known),
        };
        let mut all = vec![
            Hypothesis { kind: Kind::Sound, prior: sound_prior },
            Hypothesis { kind: Kind::Unknown, prior: unknown_rate },
        ];
        all.extend((0..model.faults.len()).map(|fault| Hypothesis {
            kind: Kind::Single(fault),
            prior: known * sound * odds[fault],
        }));
        let least =
            if model.scale_spread.is_some() { DOUBLE_PRIOR_MIN_SCALED } else { DOUBLE_PRIOR_MIN };
        let mut doubles = Vec::new();
        for first in 0..model.faults.len() {
            for second in first + 1..model.faults.len() {
                if model.faults[first].part == model.faults[second].part {
                    continue;
                }
                let prior = known * sound * odds[first] * odds[second];
                if prior >= least {
                    doubles.push(Hypothesis { kind: Kind::Double(first, second), prior });
                }
            }
        }
        let room = HYPOTHESES_MAX.saturating_sub(all.len());
        if doubles.len() > room {
            doubles.sort_by(|a, b| b.prior.total_cmp(&a.prior));
            doubles.truncate(room);
        }
        all.extend(doubles);
        let cut_off = (1.0 - all.iter().map(|hypothesis| hypothesis.prior).sum::<f64>()).max(0.0);
        Hypotheses { all, cut_off }
    }
}

/// Likelihood cells of one reading under one hypothesis at one scale.
#[derive(Clone, Copy, Debug)]
struct Cell {
    /// Taken as said; overload closed (or no hot overload supposed).
    closed: Judged,
    /// Taken as said; hot overload open.
    open: Judged,
    /// Connector not really lifted; overload closed.
    unlifted: f64,
}

/// Readings that share what was lifted and how warm it was: a connector not lifted, or an
/// overload still open, concerns all of them together.
struct Occasion {
    readings: Vec<usize>,
    lifted: bool,
    /// Chance that a tripped overload is still open.
    open_chance: f64,
}

/// Every hypothesis weighed against all of the evidence.
pub(crate) struct Weighed<'m, 'c> {
    pub(crate) model: &'m Model<'c>,
    pub(crate) hypotheses: Hypotheses,
    pub(crate) prepared: Vec<Prepared>,
    /// cells[hypothesis][scale][reading]
    cells: Vec<Vec<Vec<Cell>>>,
    /// Likelihood of the signs, by hypothesis.
    signs: Vec<f64>,
    /// Likelihood of each sign, by observation and hypothesis.
    pub(crate) sign_cells: Vec<Vec<f64>>,
    scale_weights: Vec<f64>,
    occasions: Vec<Occasion>,
    mistakes: Mistakes,
    /// Posterior, in the order of the hypotheses; adds up to 1.
    pub(crate) posterior: Vec<f64>,
    /// Log likelihood of all of the evidence, in the order of the hypotheses.
    pub(crate) log_likelihood: Vec<f64>,
}

impl<'m, 'c> Weighed<'m, 'c> {
    /// Weighs the evidence. Readings and observations were validated.
    pub(crate) fn new(
        model: &'m Model<'c>,
        readings: &[Reading],
        observations: &[Observation],
        mistakes: Mistakes,
        unknown_rate: f64,
    ) -> Self {
        let hypotheses = Hypotheses::new(model, unknown_rate);
        let prepared: Vec<Prepared> =
            readings.iter().map(|reading| Prepared::of_reading(model, reading)).collect();
        let unlifted: Vec<Option<Prepared>> =
            prepared.iter().map(|prepared| prepared.unlifted(model)).collect();
        let occasions = occasions(model, &prepared);
        let (scales, scale_weights) = scale_grid(model);
        let sign_cells: Vec<Vec<f64>> = observations
            .iter()
            .map(|observation| {
                hypotheses
                    .all
                    .iter()
                    .map(|hypothesis| sign_likelihood(model, observation, hypothesis.kind))
                    .collect()
            })
            .collect();
        let signs = (0..hypotheses.all.len())
            .map(|index| sign_cells.iter().map(|column| column[index]).product())
            .collect();
        let cells = hypotheses
            .all
            .iter()
            .map(|hypothesis| {
                scales
                    .iter()
                    .map(|&scale| {
                        readings
                            .iter()
                            .enumerate()
                            .map(|(index, reading)| {
                                cell(
                                    model,
                                    hypothesis.kind,
                                    &prepared[index],
                                    unlifted[index].as_ref(),
                                    reading,
                                    scale,
                                    &mistakes,
                                )
                            })
                            .collect()
                    })
                    .collect()
            })
            .collect();
        let mut weighed = Weighed {
            model,
            hypotheses,
            prepared,
            cells,
            signs,
            sign_cells,
            scale_weights,
            occasions,
            mistakes,
            posterior: Vec::new(),
            log_likelihood: Vec::new(),
        };
        weighed.log_likelihood = weighed.log_likelihoods(None);
        weighed.posterior = weighed.posterior_from(&weighed.log_likelihood);
        weighed
    }

    /// Calls `look` with the evidence less one piece weighed anew, and puts it back. Pieces
    /// are the readings, then the observations.
    pub(crate) fn without<T>(&mut self, piece: usize, look: impl FnOnce(&Self) -> T) -> T {
        let log_likelihood = self.log_likelihoods(Some(piece));
        let posterior = self.posterior_from(&log_likelihood);
        let whole = (
            std::mem::replace(&mut self.log_likelihood, log_likelihood),
            std::mem::replace(&mut self.posterior, posterior),
        );
        let seen = look(self);
        (self.log_likelihood, self.posterior) = whole;
        seen
    }

    fn log_likelihoods(&self, without: Option<usize>) -> Vec<f64> {
        let sign_left_out = without.and_then(|piece| piece.checked_sub(self.prepared.len()));
        (0..self.hypotheses.all.len())
            .map(|hypothesis| {
                let signs = match sign_left_out {
                    None => self.signs[hypothesis],
                    Some(left_out) => self
                        .sign_cells
                        .iter()
                        .enumerate()
                        .filter(|(sign, _)| *sign != left_out)
                        .map(|(_, column)| column[hypothesis])
                        .product(),
                };
                let by_scale: f64 = self
                    .scale_weights
                    .iter()
                    .enumerate()
                    .map(|(scale, weight)| {
                        weight * self.readings_likelihood(hypothesis, scale, without)
                    })
                    .sum();
                (by_scale * signs).max(f64::MIN_POSITIVE).ln()
            })
            .collect()
    }

    fn readings_likelihood(&self, hypothesis: usize, scale: usize, without: Option<usize>) -> f64 {
        let cells = &self.cells[hypothesis][scale];
        let hot = self.supposes_hot_overload(hypothesis);
        self.occasions
            .iter()
            .map(|occasion| {
                let product = |value: &dyn Fn(&Cell) -> f64| -> f64 {
                    occasion
                        .readings
                        .iter()
                        .filter(|&&reading| Some(reading) != without)
                        .map(|&reading| value(&cells[reading]))
                        .product()
                };
                let closed = product(&|cell| cell.closed.total());
                let as_said = if hot {
                    occasion.open_chance * product(&|cell| cell.open.total())
                        + (1.0 - occasion.open_chance) * closed
                } else {
                    closed
                };
                if occasion.lifted && self.mistakes.not_lifted > 0.0 {
                    (1.0 - self.mistakes.not_lifted) * as_said
                        + self.mistakes.not_lifted * product(&|cell| cell.unlifted)
                } else {
                    as_said
                }
            })
            .product()
    }

    fn supposes_hot_overload(&self, hypothesis: usize) -> bool {
        faults_of(self.model, self.hypotheses.all[hypothesis].kind)
            .iter()
            .any(|fault| fault.passing)
    }

    /// Chance that the overload is open now under a hypothesis that supposes it, where
    /// readings were taken in the same state of heat and rest as `setup`: it does not change
    /// from one reading to the next. `None` where there were none.
    pub(crate) fn open_chance_now(&self, hypothesis: usize, setup: &Setup) -> Option<f64> {
        let mut open = 1.0;
        let mut closed = 1.0;
        let mut chance = None;
        for occasion in &self.occasions {
            let known = &self.prepared[*occasion.readings.first()?].setup;
            if known.part_temp_c != setup.part_temp_c || known.stopped_min != setup.stopped_min {
                continue;
            }
            chance = Some(occasion.open_chance);
            for &reading in &occasion.readings {
                open *= self.cells[hypothesis][0][reading].open.total();
                closed *= self.cells[hypothesis][0][reading].closed.total();
            }
        }
        let chance = chance?;
        let sum = chance * open + (1.0 - chance) * closed;
        (sum > 0.0).then(|| chance * open / sum)
    }

    fn posterior_from(&self, log_likelihood: &[f64]) -> Vec<f64> {
        bayes(
            &self.hypotheses.all.iter().map(|hypothesis| hypothesis.prior).collect::<Vec<_>>(),
            log_likelihood,
        )
    }

    /// Probability that a reading was taken wrongly.
    pub(crate) fn mistaken_share(&self, reading: usize) -> f64 {
        let mut share = 0.0;
        for (hypothesis, posterior) in self.posterior.iter().enumerate() {
            if *posterior < 1e-9 {
                continue;
            }
            if self.hypotheses.all[hypothesis].kind == Kind::Unknown {
                continue;
            }
            // The likeliest scale speaks for the hypothesis.
            let scale = (0..self.scale_weights.len())
                .max_by(|&a, &b| {
                    let weigh = |scale: usize| {
                        self.scale_weights[scale]
                            * self.readings_likelihood(hypothesis, scale, None)
                    };
                    weigh(a).total_cmp(&weigh(b))
                })
                .unwrap_or(0);
            let cell = &self.cells[hypothesis][scale][reading];
            let judged = if self.supposes_hot_overload(hypothesis)
                && cell.open.total() > cell.closed.total()
            {
                cell.open
            } else {
                cell.closed
            };
            if judged.total() > 0.0 {
                share += posterior * judged.mistaken / judged.total();
            }
        }
        share
    }

    /// The likeliest common scale of the alike parts; 1 where there is none.
    pub(crate) fn likeliest_scale(&self) -> f64 {
        let (scales, _) = scale_grid(self.model);
        let weigh = |scale: usize| -> f64 {
            self.hypotheses
                .all
                .iter()
                .enumerate()
                .filter(|(_, hypothesis)| !matches!(hypothesis.kind, Kind::Double(..)))
                .map(|(index, hypothesis)| {
                    hypothesis.prior
                        * self.scale_weights[scale]
                        * self.readings_likelihood(index, scale, None)
                })
                .sum()
        };
        let best = (0..scales.len())
            .map(|scale| (weigh(scale), scale))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        best.map_or(1.0, |(_, scale)| scales[scale])
    }

    /// Likelihood of one reading under a single fault (or sound), best over scales.
    pub(crate) fn reading_likelihood(&self, hypothesis: usize, reading: usize) -> f64 {
        let hot = self.supposes_hot_overload(hypothesis);
        self.cells[hypothesis]
            .iter()
            .map(|by_reading| {
                let cell = &by_reading[reading];
                if hot { cell.open.total().max(cell.closed.total()) } else { cell.closed.total() }
            })
            .fold(0.0, f64::max)
    }

    /// How each hypothesis is put down to its faults: pairs of fault and weight that add up
    /// to 1. Where one fault of a double explains as well alone, the other is idle.
    /// `claimed` tells which component is condemned: a double that needs it is put to it.
    pub(crate) fn attribution(
        &self,
        hypothesis: usize,
        claimed: Option<usize>,
    ) -> Vec<(usize, f64)> {
        match self.hypotheses.all[hypothesis].kind {
            Kind::Sound | Kind::Unknown => Vec::new(),
            Kind::Single(fault) => vec![(fault, 1.0)],
            Kind::Double(first, second) => {
                // Singles follow sound and unknown in the order of the faults.
                let alone = |fault: usize| {
                    (self.log_likelihood[2 + fault] - self.log_likelihood[hypothesis]).exp()
                };
                let (a, b) = (alone(first) >= ALONE_SUFFICES, alone(second) >= ALONE_SUFFICES);
                let faults = &self.model.faults;
                match (a, b) {
                    (true, false) => vec![(first, 1.0)],
                    (false, true) => vec![(second, 1.0)],
                    (true, true) => {
                        let sum = faults[first].prior + faults[second].prior;
                        vec![
                            (first, faults[first].prior / sum),
                            (second, faults[second].prior / sum),
                        ]
                    }
                    (false, false) => {
                        let is_claimed = |fault: usize| Some(faults[fault].component) == claimed;
                        match (is_claimed(first), is_claimed(second)) {
                            (true, false) => vec![(first, 1.0)],
                            (false, true) => vec![(second, 1.0)],
                            _ => vec![(first, 0.5), (second, 0.5)],
                        }
                    }
                }
            }
        }
    }
}

/// Bayes' rule: priors and log likelihoods to a posterior that adds up to 1.
///
/// ```
/// // Open lead 0.05, open winding 0.03, each reading wrong with 0.02; the reading is open.
/// let priors = [0.95 * 0.97, 0.05 * 0.97, 0.03 * 0.95, 0.05 * 0.03];
/// let open = [0.02f64.ln(), 0.98f64.ln(), 0.98f64.ln(), 0.98f64.ln()];
/// let posterior = engine::posterior::bayes(&priors, &open);
/// assert!((posterior[2] + posterior[3] - 735.0 / 2384.0).abs() < 1e-12);
/// ```
pub fn bayes(priors: &[f64], log_likelihoods: &[f64]) -> Vec<f64> {
    let most = priors
        .iter()
        .zip(log_likelihoods)
        .filter(|(prior, _)| **prior > 0.0)
        .map(|(_, log)| *log)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut posterior: Vec<f64> =
        priors.iter().zip(log_likelihoods).map(|(prior, log)| prior * (log - most).exp()).collect();
    let sum: f64 = posterior.iter().sum();
    posterior.iter_mut().for_each(|share| *share /= sum);
    posterior
}

/// The faults that a hypothesis supposes.
pub(crate) fn faults_of<'m>(model: &'m Model<'_>, kind: Kind) -> Vec<&'m Fault> {
    match kind {
        Kind::Sound | Kind::Unknown => Vec::new(),
        Kind::Single(fault) => vec![&model.faults[fault]],
        Kind::Double(first, second) => vec![&model.faults[first], &model.faults[second]],
    }
}

fn occasions(model: &Model<'_>, prepared: &[Prepared]) -> Vec<Occasion> {
    let mut keys: Vec<(&[usize], Option<u64>, Option<u64>)> = Vec::new();
    let mut occasions: Vec<Occasion> = Vec::new();
    for (index, reading) in prepared.iter().enumerate() {
        let setup = &reading.setup;
        let key = (
            setup.lifted.as_slice(),
            setup.part_temp_c.map(f64::to_bits),
            setup.stopped_min.map(f64::to_bits),
        );
        match keys.iter().position(|known| *known == key) {
            Some(place) => occasions[place].readings.push(index),
            None => {
                keys.push(key);
                let open_chance = model
                    .faults
                    .iter()
                    .find(|fault| fault.passing)
                    .map_or(0.0, |fault| presence(model, fault, setup));
                occasions.push(Occasion {
                    readings: vec![index],
                    lifted: !setup.lifted.is_empty(),
                    open_chance,
                });
            }
        }
    }
    occasions
}

/// Scales of the alike parts and their weights: log-normal over ±[`SCALE_REACH`].
pub(crate) fn scale_grid(model: &Model<'_>) -> (Vec<f64>, Vec<f64>) {
    let Some(spread) = model.scale_spread else { return (vec![1.0], vec![1.0]) };
    let sigma = spread / 2.0;
    let steps: Vec<f64> = (0..SCALES)
        .map(|step| (step as f64 / (SCALES - 1) as f64 * 2.0 - 1.0) * SCALE_REACH)
        .collect();
    let raw: Vec<f64> = steps.iter().map(|step| (-step * step / 2.0).exp()).collect();
    let sum: f64 = raw.iter().sum();
    (
        steps.iter().map(|step| (step * sigma).exp()).collect(),
        raw.iter().map(|weight| weight / sum).collect(),
    )
}

fn cell(
    model: &Model<'_>,
    kind: Kind,
    prepared: &Prepared,
    unlifted: Option<&Prepared>,
    reading: &Reading,
    scale: f64,
    mistakes: &Mistakes,
) -> Cell {
    let shown = &reading.shown;
    if !prepared.is_used() {
        let nothing = Judged { sound: 1.0, mistaken: 0.0 };
        return Cell { closed: nothing, open: nothing, unlifted: 1.0 };
    }
    if kind == Kind::Unknown {
        let anything = Judged { sound: broad(shown), mistaken: 0.0 };
        return Cell { closed: anything, open: anything, unlifted: broad(shown) };
    }
    let faults = faults_of(model, kind);
    let careful = !matches!(kind, Kind::Double(..));
    // Faults that are at work only some of the time split the likelihood. That a contact comes
    // and goes is asked of single faults only: with a second fault it is rarer than the cut.
    let sometimes = |faults: &[&Fault]| -> Judged {
        let unsure: Vec<(usize, f64)> = faults
            .iter()
            .enumerate()
            .filter(|(_, fault)| !fault.passing)
            .map(|(index, fault)| {
                let at_work = presence(model, fault, &prepared.setup);
                let loose = careful && is_loose(model, fault);
                (index, if loose { at_work * (1.0 - mistakes.comes_and_goes) } else { at_work })
            })
            .filter(|(_, chance)| *chance < 1.0)
            .collect();
        let with = prepared.likelihood(model, shown, faults, scale, mistakes, careful);
        let Some(&(index, chance)) = unsure.first() else { return with };
        let mut fewer = faults.to_vec();
        fewer.remove(index);
        let without = prepared.likelihood(model, shown, &fewer, scale, mistakes, careful);
        Judged {
            sound: chance * with.sound + (1.0 - chance) * without.sound,
            mistaken: chance * with.mistaken + (1.0 - chance) * without.mistaken,
        }
    };
    let at_rest: Vec<&Fault> = faults.iter().copied().filter(|fault| !fault.passing).collect();
    let closed = sometimes(&at_rest);
    let open = if at_rest.len() == faults.len() { closed } else { sometimes(&faults) };
    let unlifted = unlifted.map_or(closed.total(), |unlifted| {
        unlifted.likelihood(model, shown, &at_rest, scale, mistakes, false).total()
    });
    Cell { closed, open, unlifted }
}

/// Probability of what was seen, given the faults: each that explains it may cause it, and
/// so may something else.
fn sign_likelihood(model: &Model<'_>, observation: &Observation, kind: Kind) -> f64 {
    let Some(sign) = model.circuit.signs.iter().find(|sign| sign.id == observation.sign) else {
        return 1.0;
    };
    let chance = sign_chance(model, sign, kind);
    if observation.present { chance } else { 1.0 - chance }
}

/// Probability that a sign is present, given the faults.
pub(crate) fn sign_chance(model: &Model<'_>, sign: &Sign, kind: Kind) -> f64 {
    if kind == Kind::Unknown {
        return 0.5;
    }
    let mut absent = 1.0 - sign.otherwise;
    for fault in faults_of(model, kind) {
        let part = &model.circuit.parts[fault.part];
        for explains in &sign.explained_by {
            let same_mode =
                explains.mode.as_ref().is_none_or(|mode| part.modes[fault.mode].id == *mode);
            if explains.part == part.id && same_mode {
                absent *= 1.0 - explains.chance;
            }
        }
    }
    1.0 - absent
}

#[cfg(test)]
mod tests;
