//! The most that a reading can be likely, where all that is known of its prediction is a range.
//!
//! Belongs here: upper bounds of [`super::Prepared::likelihood`] over ranges of ohms. Does not
//! belong here: which range a hypothesis keeps a prediction in ([`crate::posterior`]).
//!
//! Ohms are cut into pieces, finely around what was seen. Over a piece the distance from what was
//! seen and the variance stay within bounds that its two ends give; a density, or a tail, is never
//! more than at the least distance with the variance of those bounds that suits it best.

use super::side_by_side::{MOVED_LOG, WAYS};
use super::{
    INSULATION_OHM, INSULATION_SPREAD, Mistakes, Prepared, Seen, broad, tail_above, tail_density,
};
use crate::case::Shown;
use crate::predict::{CAPACITANCE_PATH_OHM, Predicted};
use crate::units::Quantity;

/// Where pieces end, natural log above and below what was seen.
const ENDS: [f64; 8] = [0.02, 0.07, 0.18, 0.4, 1.0, 2.2, 5.0, 12.0];
/// A prediction may be off by this much from rounding, relative, wherever it is compared.
const ROUNDING: f64 = 1e-7;

/// Upper bounds of one reading's likelihood, mistakes included and with anything at all shown at
/// a neighbouring pin; for some spreads of a fault's size.
pub(crate) struct Most {
    /// Ohms at which one piece ends and the next begins; none where nothing is known of ranges.
    ends: Vec<f64>,
    by_spread: Vec<OfSpread>,
}

/// The bounds for one spread.
pub(crate) struct OfSpread {
    /// By piece: the most in it and all above, below. Last, the most over all predictions.
    above: Vec<f64>,
    below: Vec<f64>,
}

/// Where a prediction stands among the pieces: what is that or more, that or less.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stands {
    more: usize,
    less: usize,
}

impl OfSpread {
    /// Where the prediction is this or more.
    pub(crate) fn or_more(&self, this: Stands) -> f64 {
        self.above[this.more]
    }

    /// Where the prediction is this or less.
    pub(crate) fn or_less(&self, this: Stands) -> f64 {
        self.below[this.less]
    }

    /// Where the prediction is just this.
    pub(crate) fn just(&self, this: Stands) -> f64 {
        self.or_more(this).min(self.or_less(this))
    }

    /// Where nothing is known of the prediction.
    pub(crate) fn anything(&self) -> f64 {
        self.above[0]
    }
}

impl Most {
    pub(crate) fn by_spread(&self) -> &[OfSpread] {
        &self.by_spread
    }

    /// Where a prediction with some ohms more stands.
    pub(crate) fn stands(&self, predicted: Predicted, more: f64) -> Stands {
        let nowhere = self.ends.len() + 1;
        let ends = |ohm: f64| self.ends.partition_point(|&end| end <= ohm);
        if self.ends.is_empty() {
            return Stands { more: nowhere, less: nowhere };
        }
        match predicted {
            Predicted::Value(ohm) => Stands {
                more: ends((ohm + more) * (1.0 - ROUNDING)),
                less: ends((ohm + more) * (1.0 + ROUNDING)),
            },
            Predicted::NoPath { charging: false } => {
                Stands { more: self.ends.len(), less: nowhere }
            }
            // Past the direct path a capacitor hides the resistance.
            Predicted::NoPath { charging: true } => {
                Stands { more: ends(CAPACITANCE_PATH_OHM), less: nowhere }
            }
            Predicted::Ghost { .. } | Predicted::Nothing => Stands { more: nowhere, less: nowhere },
        }
    }
}

/// Where one piece ends and the next begins, if the probes were used in one of the ways to.
#[derive(Clone, Copy)]
struct End {
    /// Of the value with the meter's floor.
    log: f64,
    /// Squares of what the good parts and the meter spread it, natural log.
    of_parts: f64,
    of_meter: f64,
    of_insulation: f64,
}

impl Prepared {
    /// The bounds for what was seen, for each of these spreads of a fault's size.
    pub(crate) fn most(&self, seen: Seen<'_>, mistakes: &Mistakes, spreads: &[f64]) -> Most {
        let by_ohms = matches!(self.setup.quantity, Quantity::Resistance | Quantity::Insulation);
        if !by_ohms || mistakes.flip.is_some() {
            let anything = vec![self.highest() * (1.0 + mistakes.per_reading()); 2];
            let one = |_: &f64| OfSpread { above: anything.clone(), below: anything.clone() };
            return Most { ends: Vec::new(), by_spread: spreads.iter().map(one).collect() };
        }
        let middle = seen.base + self.meter.floor();
        let at = |times: f64| middle * times - self.meter.floor() - self.meter.adds_ohm;
        let apart = ENDS.map(f64::exp);
        let mut ends: Vec<f64> = (apart.iter().flat_map(|&times| [at(times), at(1.0 / times)]))
            .filter(|&ohm| ohm > 0.0)
            .collect();
        ends.push(CAPACITANCE_PATH_OHM * (1.0 - ROUNDING));
        ends.sort_by(f64::total_cmp);
        let ways = match self.setup.quantity {
            Quantity::Resistance => &WAYS[..],
            _ => &WAYS[..1],
        };
        let of_ways: Vec<Vec<End>> = (ways.iter())
            .map(|&(times, more)| {
                let inner = ends.iter().copied();
                let all = std::iter::once(0.0).chain(inner).chain([f64::INFINITY]);
                all.map(|ohm| self.end(ohm * times + more)).collect()
            })
            .collect();
        let past = ends.partition_point(|&end| end < CAPACITANCE_PATH_OHM * (1.0 - 2.0 * ROUNDING));
        let in_way = |way: usize, piece: usize, spreads: [f64; 2]| {
            self.sound_most([of_ways[way][piece], of_ways[way][piece + 1]], seen, spreads)
        };
        // Used otherwise the probes are seldom, and one bound does for all spreads. What no size has
        // moved is told without its spread, however used.
        let largest = spreads.iter().copied().fold(0.0, f64::max);
        let otherwise: Vec<[f64; WAYS.len()]> = (0..=ends.len())
            .map(|piece| {
                std::array::from_fn(|way| {
                    let is_other = (1..ways.len()).contains(&way);
                    if is_other { in_way(way, piece, [0.0, largest]) } else { 0.0 }
                })
            })
            .collect();
        let by_spread = spreads.iter().map(|&spread| {
            let mut above: Vec<f64> = (0..=ends.len())
                .map(|piece| {
                    let sound = |way: usize| match way {
                        0 => in_way(0, piece, [spread; 2]),
                        _ => otherwise[piece][way],
                    };
                    self.most_in(seen, mistakes, piece >= past, sound)
                })
                .collect();
            let mut below = above.clone();
            for place in (1..above.len()).rev() {
                above[place - 1] = above[place - 1].max(above[place]);
            }
            for place in 1..below.len() {
                below[place] = below[place].max(below[place - 1]);
            }
            let anything = above[0];
            above.push(anything);
            below.push(anything);
            OfSpread { above, below }
        });
        let by_spread = by_spread.collect();
        Most { ends, by_spread }
    }

    /// The most that any likelihood of a sound reading can be; never under 1.
    fn highest(&self) -> f64 {
        // The meter's own error alone, where it is least.
        let least = self.meter.accuracy.min(1.0) / 2.0;
        (0.375 / least).max(1.0)
    }

    fn end(&self, ohm: f64) -> End {
        let value = ohm + self.meter.adds_ohm;
        let with_floor = value + self.meter.floor();
        let floor = self.meter.floor() / with_floor;
        let accuracy = self.meter.accuracy;
        let of_parts = self.spread * (1.0 - floor);
        let of_meter = (accuracy + (1.0 - accuracy) * floor) / 2.0;
        let insulates = value > INSULATION_OHM;
        End {
            log: with_floor.ln(),
            of_parts: of_parts * of_parts,
            of_meter: of_meter * of_meter,
            of_insulation: if insulates { INSULATION_SPREAD * INSULATION_SPREAD } else { 0.0 },
        }
    }

    /// The most in a piece, `past` the direct path or not; `sound` is the most without mistakes if
    /// the probes were used in each way.
    fn most_in(
        &self,
        seen: Seen<'_>,
        mistakes: &Mistakes,
        past: bool,
        sound: impl Fn(usize) -> f64,
    ) -> f64 {
        let anything = broad(seen.shown);
        let poor_contact =
            if *seen.shown == Shown::OverLimit { mistakes.poor_contact } else { 0.0 };
        let always = (mistakes.slip + mistakes.neighbour) * anything + poor_contact;
        let careful = 1.0 - mistakes.per_reading();
        let other_ways = (mistakes.leads + mistakes.wrong_unit) * anything;
        if self.setup.quantity == Quantity::Insulation {
            return always + other_ways + careful * sound(0);
        }
        let of_value = careful * sound(0)
            + mistakes.leads * sound(1)
            + mistakes.wrong_unit / 2.0 * (sound(2) + sound(3));
        // No direct path, or a capacitor past it: shown as such, or by mistake.
        let no_path = match seen.shown {
            _ if !past => 0.0,
            Shown::Value { .. } => other_ways,
            Shown::OverLimit | Shown::Climbing => careful + other_ways,
        };
        always + of_value.max(no_path)
    }

    /// The most that what was seen can be likely without mistakes over a piece: each part of the
    /// variance rises or falls all the way, with a spread of size between two.
    fn sound_most(&self, [from, to]: [End; 2], seen: Seen<'_>, size_spreads: [f64; 2]) -> f64 {
        // How far a fault's size has moved it, of where its spread counts in full.
        let moved = |off: f64| (off / MOVED_LOG).min(1.0);
        let [least, most] = size_spreads;
        let [size_least, size_most] = match self.sound_log {
            None => size_spreads,
            Some(sound) => [
                least * moved((from.log - sound).max(sound - to.log).max(0.0)),
                most * moved((to.log - sound).max(sound - from.log)),
            ],
        };
        let least = from.of_parts
            + from.of_meter.min(to.of_meter)
            + from.of_insulation
            + size_least * size_least;
        let most =
            to.of_parts + from.of_meter.max(to.of_meter) + to.of_insulation + size_most * size_most;
        match seen.shown {
            Shown::Climbing => 0.0,
            Shown::OverLimit => {
                let off = seen.log - to.log;
                if off > 0.0 { tail_above(off / most.sqrt()) } else { 1.0 }
            }
            Shown::Value { .. } => {
                let off = (from.log - seen.log).max(seen.log - to.log).max(0.0);
                let variance = (off * off).max(least).min(most).max(f64::MIN_POSITIVE);
                tail_density(off * off / variance, variance)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::Shown;
    use crate::likelihood::MeterLimits;
    use crate::predict::Setup;
    use crate::units::Unit;

    #[test]
    fn no_likelihood_is_above_its_bound() {
        const RATE: f64 = 0.02;
        let mistakes = Mistakes::usual(RATE);
        let ohms: Vec<f64> = (-40..130).map(|step| 10f64.powf(f64::from(step) * 0.1)).collect();
        let mut looked_at = 0;
        for quantity in [Quantity::Resistance, Quantity::Insulation] {
            let meter = MeterLimits::of(quantity, None);
            for sound in [0.05, 3.0, 4.7e3, 3e8] {
                let prepared = Prepared {
                    setup: Setup::between(quantity, 0, 1),
                    sound: Predicted::Value(sound),
                    spread: 0.04,
                    sound_log: Some((sound + meter.adds_ohm + meter.floor()).ln()),
                    meter,
                };
                let values = [0.0, 0.02, 3.1, 33.0, 5e3, 2e8]
                    .map(|value| Shown::Value { value, unit: Unit::Ohm });
                for shown in values.into_iter().chain([Shown::OverLimit, Shown::Climbing]) {
                    let seen = prepared.seen(&shown);
                    let spreads = [0.0, 0.2, 1.2];
                    let most = prepared.most(seen, &mistakes, &spreads);
                    let likely = |predicted, spread| {
                        prepared.likelihood(seen, predicted, spread, &mistakes).total()
                            + mistakes.neighbour * broad(&shown)
                    };
                    for (place, &at) in ohms.iter().enumerate() {
                        let known = Predicted::Value(at);
                        for (spread, of_spread) in spreads.into_iter().zip(most.by_spread()) {
                            let known = most.stands(known, 0.0);
                            let above = ohms[place..].iter().map(|&ohm| Predicted::Value(ohm));
                            let no_path =
                                [false, true].map(|charging| Predicted::NoPath { charging });
                            let no_path =
                                no_path.into_iter().filter(|_| quantity == Quantity::Resistance);
                            for predicted in above.chain(no_path) {
                                assert!(likely(predicted, spread) <= of_spread.or_more(known));
                                assert!(likely(predicted, spread) <= of_spread.anything());
                                looked_at += 1;
                            }
                            for &ohm in &ohms[..=place] {
                                let predicted = Predicted::Value(ohm);
                                assert!(likely(predicted, spread) <= of_spread.or_less(known));
                            }
                        }
                    }
                    // And it says something: far off, next to nothing.
                    let is_three = matches!(shown, Shown::Value { value, .. } if value == 3.1);
                    if is_three && quantity == Quantity::Resistance {
                        let at = |ohm| most.stands(Predicted::Value(ohm), 0.0);
                        let of_open = &most.by_spread()[0];
                        assert!(of_open.or_more(at(3e8)) < 1e-3);
                        assert!(of_open.just(at(3.1)) > 1.0);
                    }
                }
            }
        }
        assert!(looked_at > 1000);
    }
}
