//! Arms that reckon on ngspice's own predictions: the oracle and the signature method.
//!
//! Belongs here: their likelihoods, their choice of tests, when they condemn. Does not belong
//! here: anything of the engine's.
//!
//! The oracle knows the true rates of faults, of mistakes and of what comes and goes, and the
//! make's values. Two faults at once, bridges and swapped leads it knows as one broad unknown
//! only, so it is a yardstick and not a bound.

use super::site::{MISTAKES, Shown, Site, Taken};
use super::table::{Hypothesis, Table};
use super::wiring::{Ask, What};
use super::world::{BRIDGED, HOT, INTERMITTENT, MISWIRED, SECOND, SOUND};
use super::{Ended, MINUTES_MAX};
use engine::circuit::{Effect, PartKind};

/// Which of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Knows {
    /// Everything that can be known of the rates.
    TrueRates,
    /// Parts without leads, plugs, heat or mistakes.
    PartsOnly,
}

/// Bins of an answer, natural log of the value.
const BINS: usize = 56;
const BIN_WIDTH: f64 = 0.5;
const LOWEST: f64 = -4.5;
/// Chance that a fault that comes and goes shows.
const SHOWS: f64 = 0.62;

struct Reckoning<'t> {
    table: &'t Table,
    knows: Knows,
    mistakes: f64,
    posterior: Vec<f64>,
    flighty: Vec<bool>,
    used: Vec<usize>,
    unknown: f64,
}

/// Works on until it condemns, clears or gives up.
///
/// # Errors
/// Where ngspice fails.
pub(super) fn work(
    site: &mut Site<'_>,
    table: &Table,
    knows: Knows,
    level: f64,
) -> Result<Ended, String> {
    let mut reckoning = Reckoning::new(site, table, knows, level);
    let (enough, rival) = if knows == Knows::TrueRates { (0.99, 0.01) } else { (0.95, 0.05) };
    let first: Vec<Taken> = site.readings.clone();
    first.iter().for_each(|taken| reckoning.weigh(taken));
    for (sign, present) in site.observed.clone() {
        reckoning.weigh_sign(site, sign, present);
    }
    let mut asked_signs: Vec<usize> = site.observed.iter().map(|(sign, _)| *sign).collect();
    let mut rested = first.iter().any(|taken| taken.rested);
    loop {
        let components = reckoning.components(site.topology.circuit.components.len());
        let lead = (0..components.len())
            .max_by(|&a, &b| components[a].total_cmp(&components[b]).then(b.cmp(&a)))
            .unwrap_or(0);
        let next = components
            .iter()
            .enumerate()
            .filter(|(c, _)| *c != lead)
            .map(|(_, s)| *s)
            .fold(0.0, f64::max);
        let stated = components[lead];
        let ended =
            |condemned, cleared| Ended { condemned, cleared, stated, lead: Some(lead), why: "" };
        if stated >= enough && next <= rival {
            return Ok(ended(Some(lead), false));
        }
        if reckoning.clear() >= enough {
            return Ok(ended(None, true));
        }
        if site.minutes > MINUTES_MAX {
            return Ok(ended(None, false));
        }
        let groups = site.topology.circuit.components.len();
        let mut best: (f64, Option<Next>) = (0.0, None);
        for setup in 0..table.setups.len() {
            if reckoning.used.contains(&setup) {
                continue;
            }
            let bits = reckoning.information(setup, groups, rested);
            let score = bits / site.cost(&table.setups[setup]);
            if bits > 0.01 && score > best.0 {
                best = (score, Some(Next::Reading(setup)));
            }
        }
        if knows == Knows::TrueRates {
            for sign in 0..site.topology.circuit.signs.len() {
                if asked_signs.contains(&sign) {
                    continue;
                }
                let bits = reckoning.sign_information(site, sign, groups);
                let score = bits / site.topology.circuit.signs[sign].minutes.max(0.5);
                if bits > 0.01 && score > best.0 {
                    best = (score, Some(Next::Sign(sign)));
                }
            }
        }
        match best.1 {
            Some(Next::Reading(setup)) => {
                reckoning.used.push(setup);
                let ask: Ask = table.setups[setup].clone();
                site.take(&ask)?;
                let taken = site.readings.last().cloned().ok_or("no reading was taken")?;
                reckoning.weigh(&taken);
            }
            Some(Next::Sign(sign)) => {
                asked_signs.push(sign);
                site.observe(sign, false)?;
                let (_, present) = *site.observed.last().ok_or("no sign was answered")?;
                reckoning.weigh_sign(site, sign, present);
            }
            None if !rested && reckoning.hot() > 0.1 => {
                site.rest();
                rested = true;
                reckoning.used.clear();
            }
            None => return Ok(ended(None, false)),
        }
    }
}

enum Next {
    Reading(usize),
    Sign(usize),
}

impl<'t> Reckoning<'t> {
    fn new(site: &Site<'_>, table: &'t Table, knows: Knows, level: f64) -> Self {
        let circuit = &site.topology.circuit;
        let true_rates = knows == Knows::TrueRates;
        let has_hot = table.hypotheses.iter().any(|hypothesis| hypothesis.hot);
        let hot_count = table.hypotheses.iter().filter(|hypothesis| hypothesis.hot).count();
        let hot = if true_rates && has_hot { HOT / hot_count as f64 } else { 0.0 };
        let sound = if true_rates { SOUND } else { 0.2 };
        let faults = 1.0 - hot * hot_count as f64 - sound - if true_rates { BRIDGED } else { 0.0 };
        let prior = |index: usize, hypothesis: &Hypothesis| match hypothesis {
            _ if index == 0 => sound,
            Hypothesis { hot: true, .. } => hot,
            Hypothesis { wiring: true, .. } if !true_rates => 0.0,
            hypothesis => faults * hypothesis.weight,
        };
        let flighty = table
            .hypotheses
            .iter()
            .map(|hypothesis| {
                hypothesis.fault.is_some_and(|fault| {
                    matches!(fault.effect, Effect::Open | Effect::Series)
                        && matches!(
                            circuit.parts[fault.part].kind,
                            PartKind::Lead | PartKind::Contact | PartKind::Switch
                        )
                })
            })
            .collect();
        Reckoning {
            table,
            knows,
            mistakes: if true_rates { MISTAKES * level } else { 0.0 },
            posterior: table
                .hypotheses
                .iter()
                .enumerate()
                .map(|(index, hypothesis)| prior(index, hypothesis))
                .collect(),
            flighty,
            used: Vec::new(),
            unknown: if true_rates { BRIDGED + MISWIRED + SECOND } else { 0.0 },
        }
    }

    fn total(&self) -> f64 {
        self.posterior.iter().sum::<f64>() + self.unknown
    }

    fn components(&self, count: usize) -> Vec<f64> {
        let mut shares = vec![0.0; count];
        for (hypothesis, share) in self.table.hypotheses.iter().zip(&self.posterior) {
            if let Some(component) = hypothesis.component {
                shares[component] += share / self.total();
            }
        }
        shares
    }

    fn hot(&self) -> f64 {
        let hot = self.table.hypotheses.iter().zip(&self.posterior);
        hot.filter(|(hypothesis, _)| hypothesis.hot).map(|(_, share)| share).sum::<f64>()
            / self.total()
    }

    fn clear(&self) -> f64 {
        self.posterior[0] / self.total() + self.hot()
    }

    fn weigh(&mut self, taken: &Taken) {
        let Some(setup) = self.table.setup(&taken.ask) else { return };
        let (celsius, known) = taken.noted.map_or((30.0, false), |(celsius, _)| (celsius, true));
        let before = self.total();
        for index in 0..self.posterior.len() {
            self.posterior[index] *= self.likelihood(index, setup, taken, celsius, known) / before;
        }
        self.unknown *= broad(taken.shown) / before;
    }

    fn likelihood(
        &self,
        index: usize,
        setup: usize,
        taken: &Taken,
        celsius: f64,
        known: bool,
    ) -> f64 {
        let table = self.table;
        let what = taken.ask.what;
        let of = |row: usize| {
            let seen = table.shows[row][setup];
            let sound = table.sound(setup);
            let value = seen.value.map(|value| {
                let near = sound.value.is_some_and(|sound| (value / sound).ln().abs() < 0.7);
                if near {
                    value * (1.0 + table.per_celsius[setup] * (celsius - 25.0))
                } else {
                    value
                }
            });
            let sized = table.hypotheses[row].fault.is_some_and(|fault| fault.size != 0.0)
                && value.zip(sound.value).is_none_or(|(a, b)| (a / b).ln().abs() > 0.03);
            if seen.ghost {
                return ghost(taken.shown);
            }
            shows(taken.shown, value, seen.charging, what, sized, known)
        };
        let mut sound_likelihood = of(index);
        let hypothesis = &table.hypotheses[index];
        if hypothesis.hot {
            let open = if taken.rested { 0.0 } else { 0.97 };
            sound_likelihood = open * sound_likelihood + (1.0 - open) * of(0);
        } else if self.knows == Knows::TrueRates {
            if self.flighty[index] {
                let absent = INTERMITTENT * (1.0 - SHOWS);
                sound_likelihood = (1.0 - absent) * sound_likelihood + absent * of(0);
            }
            let hidden = hypothesis
                .fault
                .is_some_and(|fault| fault.effect == Effect::ToShell && fault.size > 1e3)
                && what == What::Ohms;
            if hidden {
                sound_likelihood = 0.5 * sound_likelihood + 0.5 * of(0);
            }
        }
        let mistakes = self.mistakes.max(1e-9);
        (1.0 - mistakes) * sound_likelihood + mistakes * broad(taken.shown)
    }

    fn sign_chance(&self, site: &Site<'_>, index: usize, sign: usize) -> f64 {
        let circuit = &site.topology.circuit;
        let spec = &circuit.signs[sign];
        if spec.explained_by.is_empty() {
            return spec.otherwise;
        }
        let mut absent = 1.0 - (2.0 * spec.otherwise).min(0.5);
        if let Some(fault) = self.table.hypotheses[index].fault {
            let part = &circuit.parts[fault.part];
            for explains in spec.explained_by.iter().filter(|known| known.part == part.id) {
                let mode = &part.modes[self.table.hypotheses[index].mode];
                if explains.mode.as_ref().is_none_or(|id| mode.id == *id) {
                    absent *= 1.0 - 0.85 * explains.chance;
                }
            }
        }
        1.0 - absent
    }

    fn weigh_sign(&mut self, site: &Site<'_>, sign: usize, present: bool) {
        let before = self.total();
        for index in 0..self.posterior.len() {
            let chance = self.sign_chance(site, index, sign).clamp(0.02, 0.98);
            self.posterior[index] *= if present { chance } else { 1.0 - chance } / before;
        }
        self.unknown *= 0.5 / before;
    }

    fn information(&self, setup: usize, groups: usize, rested: bool) -> f64 {
        let mut kinds = vec![vec![0.0; groups + 1]; BINS + 1];
        let bin = |value: Option<f64>| match value {
            Some(value) if value < 4e7 => {
                ((((value + 0.1).ln() - LOWEST) / BIN_WIDTH) as usize).min(BINS - 1)
            }
            _ => BINS,
        };
        let total = self.total();
        for (index, share) in self.posterior.iter().enumerate() {
            let share = share / total;
            if share < 1e-5 {
                continue;
            }
            let hypothesis = &self.table.hypotheses[index];
            let row = if hypothesis.hot && rested { 0 } else { index };
            let group = hypothesis.component.map_or(groups, |component| component);
            let value = self.table.shows[row][setup].value;
            let absent = if self.flighty[index] { 0.1 } else { 0.0 };
            let sure = 1.0 - self.mistakes.max(0.005);
            kinds[bin(value)][group] += share * sure * (1.0 - absent);
            kinds[bin(self.table.sound(setup).value)][group] += share * sure * absent;
            kinds[BINS][group] += share * (1.0 - sure);
        }
        gain(&kinds, groups + 1)
    }

    fn sign_information(&self, site: &Site<'_>, sign: usize, groups: usize) -> f64 {
        let mut kinds = vec![vec![0.0; groups + 1]; 2];
        for (index, share) in self.posterior.iter().enumerate() {
            let share = share / self.total();
            let group = self.table.hypotheses[index].component.unwrap_or(groups);
            let chance = self.sign_chance(site, index, sign);
            kinds[0][group] += share * chance;
            kinds[1][group] += share * (1.0 - chance);
        }
        gain(&kinds, groups + 1)
    }
}

/// Expected loss of entropy over the groups, bits.
fn gain(kinds: &[Vec<f64>], groups: usize) -> f64 {
    let entropy = |shares: &[f64]| -> f64 {
        let sum: f64 = shares.iter().sum();
        let of = |share: &&f64| **share > 0.0;
        -shares.iter().filter(of).map(|share| share * (share / sum).log2()).sum::<f64>()
    };
    let before: Vec<f64> =
        (0..groups).map(|group| kinds.iter().map(|kind| kind[group]).sum()).collect();
    entropy(&before) - kinds.iter().map(|kind| entropy(kind)).sum::<f64>()
}

/// Density of volts between points that nothing joins: nothing, or some of the nearest live ones.
fn ghost(shown: Shown) -> f64 {
    let nothing = shows(shown, Some(0.0), false, What::Volts, false, true);
    0.5 * nothing + if matches!(shown, Shown::Value(_)) { 0.1 } else { 0.0 }
}

/// Density of what was shown where a perfect meter shows `value`.
fn shows(
    shown: Shown,
    value: Option<f64>,
    charging: bool,
    what: What,
    sized: bool,
    known: bool,
) -> f64 {
    let (floor, highest) = match what {
        What::Ohms => (0.12, 4e7),
        What::Megger => (2e4, 2e9),
        What::Microfarad => (0.15, 1e4),
        What::Volts => (1.0, 1e3),
        What::Amps => (0.15, 1e3),
    };
    let over = value.is_none_or(|value| value > highest);
    match shown {
        Shown::Climbing => {
            if charging {
                0.7
            } else {
                0.0
            }
        }
        Shown::OverLimit if charging => 0.3,
        Shown::OverLimit => {
            if over {
                1.0
            } else {
                1e-4
            }
        }
        Shown::Value(_) if over || charging => 0.0,
        Shown::Value(seen) => {
            let value = value.unwrap_or(0.0);
            let mut variance = 0.045f64.powi(2) + (0.5 * floor / (value + floor)).powi(2);
            if what == What::Amps {
                // Another motor of the same make, another load.
                variance += 0.1f64.powi(2);
            }
            if !known && what == What::Ohms {
                variance += 0.05f64.powi(2);
            }
            if value > 1e5 {
                variance += 1.0;
            }
            if sized {
                variance += match what {
                    What::Ohms | What::Megger if value > 5.0 => 0.5,
                    _ => 0.012,
                };
            }
            let t = ((seen + floor) / (value + floor)).ln() / variance.sqrt();
            (1.0 + t * t / 6.0).powf(-3.5) * 0.38 / variance.sqrt()
        }
    }
}

fn broad(shown: Shown) -> f64 {
    match shown {
        Shown::OverLimit => 0.35,
        Shown::Climbing => 0.05,
        Shown::Value(_) => 0.6 / 18.0,
    }
}
