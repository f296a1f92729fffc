//! Likelihoods of many predictions of one reading, side by side.
//!
//! Belongs here: the same as one by one ([`super::Prepared::likelihood`]) for ohms, the costly
//! part in lanes. Does not belong here: what the terms mean ([`super`]).

use pulp::{Arch, Simd, WithSimd};

use super::{
    INSULATION_OHM, INSULATION_SPREAD, Judged, LEADS_OHM, Mistakes, Prepared, Seen, broad,
};
use crate::case::Shown;
use crate::predict::Predicted;
use crate::sweep::{LANES, Lane};
use crate::units::Quantity;

/// A size's spread counts in full this far from the sound value, natural log.
pub(super) const MOVED_LOG: f64 = 0.2;

impl Prepared {
    /// [`Prepared::likelihood`] of each prediction with its spread of size. What is just as
    /// `unmoved`, which is the sound circuit's, no size has moved, whatever its spread: so it is
    /// with most faults, and worked out once.
    pub(crate) fn likelihoods(
        &self,
        seen: Seen<'_>,
        unmoved: Predicted,
        predictions: impl Iterator<Item = (Predicted, f64)>,
        mistakes: &Mistakes,
        into: &mut Vec<Judged>,
    ) {
        into.clear();
        into.reserve(predictions.size_hint().0);
        let in_lanes = self.in_lanes(seen, mistakes);
        let as_sound = self.likelihood(seen, unmoved, 0.0, mistakes);
        let curve = self.curve(seen);
        let poor_contact = if *seen.shown == Shown::OverLimit { 1.0 } else { 0.0 };
        let always = mistakes.slip * broad(seen.shown) + mistakes.poor_contact * poor_contact;
        let mut waiting = Waiting::none();
        let work_out = |waiting: &mut Waiting, into: &mut Vec<Judged>| {
            let ways = Ways { curve: &curve, mistakes, always, waiting: &*waiting };
            let [sound, mistaken] = Arch::new().dispatch(ways);
            for (lane, member) in waiting.let_go().enumerate() {
                into[member] = Judged { sound: sound[lane], mistaken: mistaken[lane] };
            }
        };
        // Where there is no path there is none for many in a row.
        let mut last = (Predicted::Nothing, Judged { sound: 1.0, mistaken: 0.0 });
        for (member, (predicted, spread)) in predictions.enumerate() {
            into.push(match predicted {
                _ if predicted == unmoved => as_sound,
                Predicted::Value(value) if in_lanes => {
                    waiting.add(member, value, spread);
                    Judged { sound: 0.0, mistaken: 0.0 }
                }
                Predicted::Value(_) => self.likelihood(seen, predicted, spread, mistakes),
                _ => {
                    if predicted != last.0 {
                        last = (predicted, self.likelihood(seen, predicted, spread, mistakes));
                    }
                    last.1
                }
            });
            if waiting.count == LANES {
                work_out(&mut waiting, into);
            }
        }
        if waiting.count > 0 {
            work_out(&mut waiting, into);
        }
    }

    /// [`Prepared::beside`] of each prediction with its spread of size.
    pub(crate) fn all_beside(
        &self,
        seen: Seen<'_>,
        predictions: impl Iterator<Item = (Predicted, f64)>,
        into: &mut Vec<f64>,
    ) {
        let in_lanes = *seen.shown != Shown::Climbing;
        into.clear();
        into.reserve(predictions.size_hint().0);
        let curve = self.curve(seen);
        let mut waiting = Waiting::none();
        let work_out = |waiting: &mut Waiting, into: &mut Vec<f64>| {
            let likely = Arch::new().dispatch(One { curve: &curve, waiting: &*waiting });
            for (member, likely) in waiting.let_go().zip(likely) {
                into[member] = likely;
            }
        };
        for (member, (there, spread)) in predictions.enumerate() {
            into.push(match there {
                Predicted::Value(value) if in_lanes => {
                    waiting.add(member, value, spread);
                    0.0
                }
                _ => self.beside(seen, there, spread),
            });
            if waiting.count == LANES {
                work_out(&mut waiting, into);
            }
        }
        if waiting.count > 0 {
            work_out(&mut waiting, into);
        }
    }

    /// Whether the likelihoods of what was seen are worked out in lanes: looking for predictions
    /// that are the same would cost more than it saves.
    pub(crate) fn in_lanes(&self, seen: Seen<'_>, mistakes: &Mistakes) -> bool {
        self.setup.quantity == Quantity::Resistance
            && mistakes.flip.is_none()
            && *seen.shown != Shown::Climbing
    }

    fn curve(&self, seen: Seen<'_>) -> Curve {
        let is_ohms = matches!(self.setup.quantity, Quantity::Resistance | Quantity::Insulation);
        Curve {
            adds: self.meter.adds_ohm,
            floor: self.meter.floor(),
            accuracy: self.meter.accuracy,
            of_parts: self.spread,
            of_insulation: if is_ohms { INSULATION_SPREAD * INSULATION_SPREAD } else { 0.0 },
            sound_log: self.sound_log,
            seen_log: seen.log,
            over_limit: *seen.shown == Shown::OverLimit,
        }
    }
}

/// Values that wait until there are enough to be worked out side by side.
struct Waiting {
    count: usize,
    /// The place of each among the predictions.
    members: [usize; LANES],
    values: Lane,
    /// Spreads of size.
    spreads: Lane,
}

impl Waiting {
    fn none() -> Self {
        Waiting { count: 0, members: [0; LANES], values: [1.0; LANES], spreads: [0.0; LANES] }
    }

    /// One more; there is room for [`LANES`].
    fn add(&mut self, member: usize, value: f64, spread: f64) {
        let lane = self.count;
        (self.members[lane], self.values[lane], self.spreads[lane]) = (member, value, spread);
        self.count += 1;
    }

    /// The places of all, which then wait no more.
    fn let_go(&mut self) -> impl Iterator<Item = usize> {
        self.members.into_iter().take(std::mem::take(&mut self.count))
    }
}

/// What the likelihood of one reading is worked out of, whatever is predicted.
struct Curve {
    adds: f64,
    floor: f64,
    accuracy: f64,
    of_parts: f64,
    of_insulation: f64,
    sound_log: Option<f64>,
    seen_log: f64,
    /// Over limit was shown: the tail above counts, else the density.
    over_limit: bool,
}

impl Curve {
    #[inline(always)]
    fn likely(&self, values: &Lane, spreads: &Lane) -> Lane {
        let mut likely = [0.0; LANES];
        let mut with_floor = [0.0; LANES];
        for lane in 0..LANES {
            with_floor[lane] = values[lane] + self.adds + self.floor;
        }
        let centre = ln(&with_floor);
        let mut moved = [1.0; LANES];
        if let Some(sound) = self.sound_log {
            for lane in 0..LANES {
                let off = (centre[lane] - sound).abs() * (1.0 / MOVED_LOG);
                moved[lane] = if off < 1.0 { off } else { 1.0 };
            }
        }
        for lane in 0..LANES {
            let (value, wide) = (values[lane] + self.adds, with_floor[lane]);
            let of_parts = self.of_parts * value;
            let of_meter = self.accuracy * value / 2.0 + self.floor / 2.0;
            let of_size = spreads[lane] * moved[lane];
            let of_insulation = if value > INSULATION_OHM { self.of_insulation } else { 0.0 };
            // Variance and distance, both times the square of `wide`.
            let square = wide * wide;
            let variance = of_parts * of_parts
                + of_meter * of_meter
                + (of_insulation + of_size * of_size) * square;
            let off = (self.seen_log - centre[lane]) * wide;
            let sum = 4.0 * variance + off * off;
            // Student with 4 degrees of freedom, as in `tail_density` and `tail_above`, with one
            // root and one division.
            likely[lane] = if self.over_limit {
                let u = off / sum.sqrt();
                let tail = 0.5 - 0.75 * (u - u * u * u / 3.0);
                if tail > 0.0 { tail } else { 0.0 }
            } else {
                12.0 * variance * variance * wide / (sum * sum * sum.sqrt())
            };
        }
        likely
    }
}

/// As it was read, with leads not zeroed, a thousand times too much and too little: the factor on
/// the value, and the ohms more.
pub(super) const WAYS: [(f64, f64); 4] = [(1.0, 0.0), (1.0, LEADS_OHM), (1e3, 0.0), (1e-3, 0.0)];

/// Likelihoods of values read in each of [`WAYS`]: without a mistake, and with one.
struct Ways<'a> {
    curve: &'a Curve,
    mistakes: &'a Mistakes,
    /// Of a mistake that shows the same whatever is predicted.
    always: f64,
    waiting: &'a Waiting,
}

impl WithSimd for Ways<'_> {
    type Output = [Lane; 2];

    // Only what is inlined here is compiled for the wider processor.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> [Lane; 2] {
        let Ways { curve, mistakes, always, waiting } = self;
        let mut likely = [[0.0; LANES]; 4];
        // A loop and no closure: that would not be compiled for the wider processor.
        for way in 0..4 {
            let (times, more) = WAYS[way];
            let mut moved = [0.0; LANES];
            for (moved, value) in moved.iter_mut().zip(&waiting.values) {
                *moved = value * times + more;
            }
            likely[way] = curve.likely(&moved, &waiting.spreads);
        }
        let [mut sound, leads, thousandfold, thousandth] = likely;
        let careful = 1.0 - mistakes.per_reading();
        let mut mistaken = [0.0; LANES];
        for lane in 0..LANES {
            sound[lane] *= careful;
            mistaken[lane] = always
                + mistakes.leads * leads[lane]
                + mistakes.wrong_unit / 2.0 * thousandfold[lane]
                + mistakes.wrong_unit / 2.0 * thousandth[lane];
        }
        [sound, mistaken]
    }
}

/// As it was read.
struct One<'a> {
    curve: &'a Curve,
    waiting: &'a Waiting,
}

impl WithSimd for One<'_> {
    type Output = Lane;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Lane {
        self.curve.likely(&self.waiting.values, &self.waiting.spreads)
    }
}

/// Natural logarithms of positive normal numbers, to the last bit or so: sums and products alone,
/// the same on every processor. The series is the usual one in (m − 1)/(m + 1), with the minimax
/// coefficients of the freely distributable C library (from memory).
#[inline(always)]
fn ln(of: &Lane) -> Lane {
    const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    const FRACTION: u64 = 0x000f_ffff_ffff_ffff;
    /// 2⁵², whose last bits are an integer.
    const INTEGER: u64 = 0x4330_0000_0000_0000;
    const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    const SERIES: [f64; 7] = [
        6.666_666_666_666_735e-1,
        3.999_999_999_940_942e-1,
        2.857_142_874_366_239e-1,
        2.222_219_843_214_978_4e-1,
        1.818_357_216_161_805e-1,
        1.531_383_769_920_937_3e-1,
        1.479_819_860_511_658_6e-1,
    ];
    let mut ln = [0.0; LANES];
    for lane in 0..LANES {
        // m·2ᵏ with m from √½ to √2.
        let bits = of[lane].to_bits().wrapping_add(ONE - ROOT_HALF);
        let k = f64::from_bits(INTEGER | bits >> 52) - (4_503_599_627_370_496.0 + 1023.0);
        let f = f64::from_bits((bits & FRACTION) + ROOT_HALF) - 1.0;
        let s = f / (2.0 + f);
        let z = s * s;
        let mut r = 0.0;
        for coefficient in SERIES.iter().rev() {
            r = z * (coefficient + r);
        }
        let half = 0.5 * f * f;
        ln[lane] = k * LN_2_HIGH - ((half - (s * (half + r) + k * LN_2_LOW)) - f);
    }
    ln
}

#[cfg(test)]
mod tests;
