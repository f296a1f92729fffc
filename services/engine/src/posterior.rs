//! From readings to shares: every hypothesis weighed, then told by fault and by component.
//!
//! Belongs here: Bayes' rule over the hypotheses, who a double fault is put down to, leaving
//! readings out. Does not belong here: which hypotheses there are ([`hypotheses`]) and which of
//! them are hopeless ([`hopeless`]), each reading's likelihood under each ([`cells`]), thresholds ([`crate::judge`]) and words.

mod cells;
mod classes;
mod columns;
mod fill;
mod hopeless;
mod hypotheses;
mod loose;
mod scale;
mod signs;

use std::borrow::Cow;

use crate::case::{Observation, Reading};
use crate::likelihood::{MeterLimits, Mistakes, Prepared, presence};
use crate::model::Model;
use crate::predict::Setup;
use crate::predict::many::{Conditions, Supposed, Work};

pub(crate) use cells::UNKNOWN;
use cells::{Asked, Beside, Cells, Taken, asked_first, singles};
use columns::{AddProduct, SharesOf};
pub(crate) use columns::{for_each_at_least, largest};
use fill::Columns;
pub(crate) use hypotheses::{Hypotheses, Kind, faults_of, indices_of};
pub(crate) use loose::AWAY;
pub(crate) use signs::sign_chance;
use signs::{is_superseded, sign_likelihood};

/// A single fault explains as well as a double when it keeps this much of its likelihood.
const ALONE_SUFFICES: f64 = 0.3;
/// Chance that an overload found open closes while readings are taken of which nothing says that
/// they are warmer or longer after than the first (common practice, no source).
const CLOSES_MEANWHILE: f64 = 0.15;
/// A share below this is rounding wherever it is added up.
pub(crate) const SHARE_MIN: f64 = 1e-15;

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
    /// Of the readings, then of those where something was lifted, with nothing lifted.
    pub(crate) conditions: Conditions<'m, 'c>,
    pub(crate) prepared: Vec<Prepared>,
    cells: Cells,
    /// Likelihood of each reading looked at alone, under a single fault or none, best over scales.
    alone: Vec<Vec<f64>>,
    /// Likelihood of each sign, by observation and hypothesis.
    pub(crate) sign_cells: Vec<Vec<f64>>,
    scale_weights: Vec<f64>,
    occasions: Vec<Occasion>,
    /// Likelihood of each occasion's readings: [occasion][scale][hypothesis].
    by_occasion: Vec<Vec<Vec<f64>>>,
    /// The same if a fault comes and goes, of those that may: [occasion][scale][fault].
    loose_by_occasion: Vec<Vec<Vec<f64>>>,
    /// The hypotheses that suppose an overload open on heat.
    hot: Vec<usize>,
    mistakes: Mistakes,
    /// The likeliest common scale of the alike parts; 1 where there is none.
    pub(crate) scale: f64,
    priors: Vec<f64>,
    /// Posterior, in the order of the hypotheses; adds up to 1.
    pub(crate) posterior: Vec<f64>,
    /// Likelihood of all of the evidence, in the order of the hypotheses.
    likelihood: Vec<f64>,
    /// Its logarithm, of all but the double faults, which nobody asks for.
    pub(crate) log_likelihood: Vec<f64>,
    /// The arithmetic that this took.
    pub(crate) work: Work,
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
        Weighed::weigh(model, readings, observations, mistakes, unknown_rate, true)
    }

    /// The same with all hypotheses everywhere, hopeless or not: what the tests compare with.
    #[cfg(test)]
    pub(crate) fn in_full(
        model: &'m Model<'c>,
        readings: &[Reading],
        observations: &[Observation],
        mistakes: Mistakes,
        unknown_rate: f64,
    ) -> Self {
        Weighed::weigh(model, readings, observations, mistakes, unknown_rate, false)
    }

    fn weigh(
        model: &'m Model<'c>,
        readings: &[Reading],
        observations: &[Observation],
        mistakes: Mistakes,
        unknown_rate: f64,
        leaves_out: bool,
    ) -> Self {
        let mut work = Work::default();
        let hypotheses = Hypotheses::new(model, unknown_rate);
        let mut setups: Vec<Setup> =
            readings.iter().map(|reading| Prepared::setup_of(model, reading)).collect();
        // A connector not really lifted: the same setting with nothing lifted.
        let lifting: Vec<usize> =
            (0..readings.len()).filter(|&reading| !setups[reading].lifted.is_empty()).collect();
        let unlifted = |&reading: &usize| Setup { lifted: Vec::new(), ..setups[reading].clone() };
        setups.extend(lifting.iter().map(unlifted).collect::<Vec<_>>());
        let taken = readings.iter().chain(lifting.iter().map(|&reading| &readings[reading]));
        let meters = taken.map(MeterLimits::of_reading).collect();
        let beside = Beside::of(model, &setups[..readings.len()]);
        setups.extend(beside.setups.iter().cloned());
        let conditions = Conditions::new(model, setups, &mut work);
        let mut prepared = Prepared::many(&conditions, meters, &mut work);
        let unlifted = prepared.split_off(readings.len());
        let occasions = occasions(model, &prepared);
        let (scales, scale_weights) = scale::grid(&conditions, readings, &prepared, &mut work);
        let sign_cells: Vec<Vec<f64>> = observations
            .iter()
            .enumerate()
            .map(|(place, observation)| {
                let all = hypotheses.all.iter();
                if is_superseded(observations, place) {
                    return vec![1.0; all.len()];
                }
                all.map(|one| sign_likelihood(model, observation, one.kind)).collect()
            })
            .collect();
        let unlifted: Vec<(usize, Prepared)> = lifting.into_iter().zip(unlifted).collect();
        let taken = Taken { readings, prepared: &prepared, unlifted: &unlifted };
        let known = &hypotheses.all[..asked_first(model)];
        let mut cells = Cells::of_first(model, known, &taken, scales.len(), &mistakes);
        let mut columns = Columns::new(model, known, &mistakes);
        let asked = Asked { taken: &taken, conditions: &conditions, scales: &scales };
        let ones = cells.fill_first(&mut columns, &asked, &beside, &mut work);
        let priors = hypotheses.all.iter().map(|hypothesis| hypothesis.prior).collect();
        let mut weighed = Weighed {
            model,
            hypotheses,
            conditions,
            prepared,
            cells,
            alone: Vec::new(),
            sign_cells,
            scale_weights,
            occasions,
            by_occasion: Vec::new(),
            loose_by_occasion: Vec::new(),
            hot: Vec::new(),
            mistakes,
            scale: 1.0,
            priors,
            posterior: Vec::new(),
            likelihood: Vec::new(),
            log_likelihood: Vec::new(),
            work,
        };
        weighed.add_up_occasions();
        // Across an unknown scale nothing is told beforehand.
        if let ([ones], true) = (&ones[..], leaves_out) {
            weighed.leave_out_hopeless(readings, ones);
        }
        let taken = Taken { readings, prepared: &weighed.prepared, unlifted: &unlifted };
        let mut columns = Columns::new(model, &weighed.hypotheses.all, &weighed.mistakes);
        let conditions = &weighed.conditions;
        let asked = Asked { taken: &taken, conditions, scales: &scales };
        weighed.cells.fill_others(&mut columns, &asked, &ones, &mut work);
        weighed.work = work;
        weighed.add_up_occasions();
        weighed.alone = weighed.readings_alone();
        weighed.scale = weighed.likeliest_scale(&scales);
        if scales.len() > 1 {
            let sound =
                weighed.conditions.predict(&[Supposed::default()], weighed.scale, &mut work);
            for (index, prepared) in weighed.prepared.iter_mut().enumerate() {
                *prepared = prepared.moved_from(sound.of(index)[0]);
            }
            weighed.work = work;
        }
        weighed.likelihood = weighed.likelihoods(&|_| true);
        weighed.log_likelihood =
            weighed.likelihood[..singles(model)].iter().map(|value| value.ln()).collect();
        weighed.posterior = weighed.posterior_from(&weighed.likelihood);
        weighed
    }

    /// Works out each occasion's readings as far as the cells are filled in.
    fn add_up_occasions(&mut self) {
        let passes = |kind: Kind| indices_of(kind).any(|fault| self.model.faults[fault].passing);
        self.hot = (0..self.cells.hypotheses())
            .filter(|&index| passes(self.hypotheses.all[index].kind))
            .collect();
        let each = |of: &dyn Fn(usize, usize) -> Vec<f64>| -> Vec<Vec<Vec<f64>>> {
            let scales = 0..self.scale_weights.len();
            (0..self.occasions.len())
                .map(|occasion| scales.clone().map(|scale| of(occasion, scale)).collect())
                .collect()
        };
        let as_said = each(&|occasion, scale| self.of_occasion(occasion, scale, &|_| true));
        if self.comes_and_goes() {
            self.loose_by_occasion =
                each(&|occasion, scale| self.coming_and_going(occasion, scale, &|_| true));
        }
        self.by_occasion = as_said;
    }

    /// Calls `look` with the evidence less one piece weighed anew, and puts it back. Pieces
    /// are the readings, then the observations.
    pub(crate) fn without<T>(&mut self, piece: usize, look: impl FnOnce(&Self) -> T) -> T {
        self.with_only(&|known| known != piece, look)
    }

    /// The same with some pieces only.
    pub(crate) fn with_only<T>(
        &mut self,
        keeps: &dyn Fn(usize) -> bool,
        look: impl FnOnce(&Self) -> T,
    ) -> T {
        let likelihood = self.likelihoods(keeps);
        let posterior = self.posterior_from(&likelihood);
        let whole = (
            std::mem::replace(&mut self.likelihood, likelihood),
            std::mem::replace(&mut self.posterior, posterior),
        );
        let seen = look(self);
        (self.likelihood, self.posterior) = whole;
        seen
    }

    /// Calls `look` as if one hypothesis held this share, the others in their proportions.
    pub(crate) fn as_if<T>(
        &mut self,
        hypothesis: usize,
        share: f64,
        look: impl FnOnce(&Self) -> T,
    ) -> T {
        let rest = (1.0 - self.posterior[hypothesis]).max(SHARE_MIN);
        let mut supposed: Vec<f64> =
            self.posterior.iter().map(|known| known / rest * (1.0 - share)).collect();
        supposed[hypothesis] = share;
        let whole = std::mem::replace(&mut self.posterior, supposed);
        let seen = look(self);
        self.posterior = whole;
        seen
    }

    /// The readings of each occasion: what was lifted and how warm it was is the same.
    pub(crate) fn occasions(&self) -> Vec<Vec<usize>> {
        self.occasions.iter().map(|occasion| occasion.readings.clone()).collect()
    }

    /// Likelihood of the kept pieces of evidence under each hypothesis of which cells are filled
    /// in.
    fn likelihoods(&self, keeps: &dyn Fn(usize) -> bool) -> Vec<f64> {
        let mut sum = vec![0.0; self.cells.hypotheses()];
        for (scale, &weight) in self.scale_weights.iter().enumerate() {
            let of: Vec<Cow<'_, [f64]>> = (self.by_occasion.iter().enumerate())
                .filter_map(|(occasion, known)| {
                    let readings = &self.occasions[occasion].readings;
                    if readings.iter().all(|&reading| keeps(reading)) {
                        Some(Cow::Borrowed(&known[scale][..]))
                    } else if readings.iter().any(|&reading| keeps(reading)) {
                        Some(Cow::Owned(self.of_occasion(occasion, scale, keeps)))
                    } else {
                        None
                    }
                })
                .collect();
            let columns: Vec<&[f64]> = of.iter().map(|column| &column[..]).collect();
            AddProduct { weight, columns: &columns, sum: &mut sum }.run();
        }
        self.or_come_and_go(&mut sum, keeps);
        for (sign, column) in self.sign_cells.iter().enumerate() {
            if keeps(self.prepared.len() + sign) {
                sum.iter_mut().zip(column).for_each(|(sum, value)| *sum *= value);
            }
        }
        sum.iter_mut().for_each(|value| *value = value.max(f64::MIN_POSITIVE));
        sum
    }

    /// Likelihood of one occasion's kept readings under each hypothesis.
    fn of_occasion(
        &self,
        occasion: usize,
        scale: usize,
        keeps: &dyn Fn(usize) -> bool,
    ) -> Vec<f64> {
        let occasion = &self.occasions[occasion];
        let taken = || occasion.readings.iter().copied().filter(|&reading| keeps(reading));
        let product = |column: fn(&Cells, usize, usize) -> &[f64], hypotheses: usize| {
            let columns: Vec<&[f64]> =
                taken().map(|reading| column(&self.cells, reading, scale)).collect();
            let mut product = vec![0.0; hypotheses];
            AddProduct { weight: 1.0, columns: &columns, sum: &mut product }.run();
            product
        };
        let mut as_said = product(Cells::closed, self.cells.hypotheses());
        for &hypothesis in &self.hot {
            let (open, closed) =
                self.overload_now(taken(), scale, hypothesis, occasion.open_chance);
            as_said[hypothesis] = open + closed;
        }
        if occasion.lifted && self.mistakes.not_lifted > 0.0 {
            // The others, each as rare as this mistake, are taken as said.
            let unlifted = product(Cells::unlifted, asked_first(self.model));
            for (as_said, unlifted) in as_said.iter_mut().zip(unlifted) {
                *as_said = (1.0 - self.mistakes.not_lifted) * *as_said
                    + self.mistakes.not_lifted * unlifted;
            }
        }
        as_said
    }

    /// Likelihood of readings, in the order in which they were taken, under a hypothesis that
    /// supposes an overload open on heat: with the overload still open after them, and with it
    /// closed, before them or meanwhile.
    fn overload_now(
        &self,
        taken: impl Iterator<Item = usize>,
        scale: usize,
        hypothesis: usize,
        open_chance: f64,
    ) -> (f64, f64) {
        let (mut open, mut closed, mut meanwhile, mut changes) = (1.0, 1.0, 0.0, 0.0);
        for reading in taken {
            let of_closed = self.cells.closed(reading, scale)[hypothesis];
            // It may have closed just before this reading, or at an earlier one.
            meanwhile = (meanwhile + if changes > 0.0 { open } else { 0.0 }) * of_closed;
            changes += 1.0;
            open *= self.cells.open(reading, scale)[hypothesis];
            closed *= of_closed;
        }
        let closes = if changes > 1.0 { CLOSES_MEANWHILE } else { 0.0 };
        let meanwhile = if changes > 1.0 { meanwhile / (changes - 1.0) } else { 0.0 };
        (
            open_chance * (1.0 - closes) * open,
            open_chance * closes * meanwhile + (1.0 - open_chance) * closed,
        )
    }

    fn readings_likelihood(&self, hypothesis: usize, scale: usize) -> f64 {
        self.by_occasion.iter().map(|by_scale| by_scale[scale][hypothesis]).product()
    }

    fn supposes_hot_overload(&self, hypothesis: usize) -> bool {
        self.hot.binary_search(&hypothesis).is_ok()
    }

    /// Chance that the overload is open now under a hypothesis that supposes it, where
    /// readings were taken in the same state of heat and rest as `setup`: it does not change
    /// from one reading to the next. `None` where there were none.
    pub(crate) fn open_chance_now(&self, hypothesis: usize, setup: &Setup) -> Option<f64> {
        let (alike, others): (Vec<usize>, Vec<usize>) =
            (0..self.occasions.len()).partition(|&occasion| {
                self.occasions[occasion].readings.first().is_some_and(|&reading| {
                    let known = &self.prepared[reading].setup;
                    known.part_temp_c == setup.part_temp_c && known.stopped_min == setup.stopped_min
                })
            });
        let chance = self.occasions[*alike.last()?].open_chance;
        let (mut open, mut closed) = (0.0, 0.0);
        for (scale, weight) in self.scale_weights.iter().enumerate() {
            // How well this scale fits what was read in any other state.
            let fits: f64 = others
                .iter()
                .map(|&occasion| self.by_occasion[occasion][scale][hypothesis])
                .product();
            let mut taken: Vec<usize> = alike
                .iter()
                .flat_map(|&known| self.occasions[known].readings.iter().copied())
                .collect();
            taken.sort_unstable();
            let now = self.overload_now(taken.into_iter(), scale, hypothesis, chance);
            open += weight * fits * now.0;
            closed += weight * fits * now.1;
        }
        let sum = open + closed;
        (sum > 0.0).then(|| open / sum)
    }

    fn posterior_from(&self, likely: &[f64]) -> Vec<f64> {
        SharesOf { weights: &self.priors, likely }.run()
    }

    /// Probability that each reading was taken wrongly. What is the same of a hypothesis for all
    /// of them is looked up once.
    pub(crate) fn mistaken_shares(&self) -> Vec<f64> {
        let mut shares = vec![0.0; self.prepared.len()];
        for_each_at_least(&self.posterior, 1e-9, |hypothesis, posterior| {
            if hypothesis == UNKNOWN {
                return;
            }
            // The likeliest scale speaks for the hypothesis.
            let weigh = |scale: usize| {
                self.scale_weights[scale] * self.readings_likelihood(hypothesis, scale)
            };
            let scale = (0..self.scale_weights.len())
                .max_by(|&a, &b| weigh(a).total_cmp(&weigh(b)))
                .unwrap_or(0);
            let hot = self.supposes_hot_overload(hypothesis);
            let mistaken = self.cells.mistaken_ratios(scale, hypothesis, hot);
            for (share, mistaken) in shares.iter_mut().zip(mistaken) {
                *share += posterior * mistaken;
            }
        });
        shares
    }

    fn likeliest_scale(&self, scales: &[f64]) -> f64 {
        if scales.len() == 1 {
            return scales[0];
        }
        let weigh = |scale: usize| -> f64 {
            self.hypotheses
                .all
                .iter()
                .enumerate()
                .filter(|(_, hypothesis)| !matches!(hypothesis.kind, Kind::Double(..)))
                .map(|(index, hypothesis)| {
                    hypothesis.prior
                        * self.scale_weights[scale]
                        * self.readings_likelihood(index, scale)
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
        self.alone[reading][hypothesis]
    }

    /// The same of all single faults, and of nothing wrong.
    pub(crate) fn alone(&self, reading: usize) -> &[f64] {
        &self.alone[reading]
    }

    /// Each of them worked out.
    fn readings_alone(&self) -> Vec<Vec<f64>> {
        let singles = singles(self.model);
        let of_reading = |reading: usize| {
            let mut best = vec![0.0f64; singles];
            for scale in 0..self.scale_weights.len() {
                let mut alone = self.cells.closed(reading, scale)[..singles].to_vec();
                for &hypothesis in self.cells.loose() {
                    alone[hypothesis] = self.cells.alone(reading, scale, hypothesis);
                }
                for &hypothesis in self.hot.iter().take_while(|&&hot| hot < singles) {
                    let open = self.cells.open(reading, scale)[hypothesis];
                    alone[hypothesis] = alone[hypothesis].max(open);
                }
                best.iter_mut().zip(alone).for_each(|(best, alone)| *best = best.max(alone));
            }
            best
        };
        (0..self.prepared.len()).map(of_reading).collect()
    }

    /// How each hypothesis is put down to its faults: faults and weights that add up to
    /// 1, the second often of none. Where one fault of a double explains as well alone, the other is idle.
    /// `claimed` tells which component is condemned: a double that needs it is put to it.
    pub(crate) fn attribution(
        &self,
        hypothesis: usize,
        claimed: Option<usize>,
    ) -> [(usize, f64); 2] {
        /// With no weight.
        const NOBODY: (usize, f64) = (0, 0.0);
        match self.hypotheses.all[hypothesis].kind {
            Kind::Sound | Kind::Unknown => [NOBODY; 2],
            Kind::Single(fault) => [(fault, 1.0), NOBODY],
            Kind::Double(first, second) => {
                // Singles follow sound and unknown in the order of the faults.
                let suffices = |fault: usize| {
                    self.likelihood[2 + fault] >= ALONE_SUFFICES * self.likelihood[hypothesis]
                };
                let (a, b) = (suffices(first), suffices(second));
                let faults = &self.model.faults;
                let of = |fault: usize| faults[fault].prior * faults[fault].times;
                match (a, b) {
                    (true, false) => [(first, 1.0), NOBODY],
                    (false, true) => [(second, 1.0), NOBODY],
                    (true, true) => {
                        let sum = of(first) + of(second);
                        [(first, of(first) / sum), (second, of(second) / sum)]
                    }
                    (false, false) => {
                        let is_claimed = |fault: usize| Some(faults[fault].component) == claimed;
                        match (is_claimed(first), is_claimed(second)) {
                            (true, false) => [(first, 1.0), NOBODY],
                            (false, true) => [(second, 1.0), NOBODY],
                            _ => [(first, 0.5), (second, 0.5)],
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
    let weights = priors.iter().zip(log_likelihoods).map(|(prior, log)| prior * (log - most).exp());
    let mut shares: Vec<f64> = weights.collect();
    let sum: f64 = shares.iter().sum();
    shares.iter_mut().for_each(|share| *share /= sum);
    shares
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

#[cfg(test)]
mod tests;
