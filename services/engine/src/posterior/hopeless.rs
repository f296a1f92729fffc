//! Double faults that are hopeless before anything is worked out of them.
//!
//! Belongs here: how likely the readings are at most under a double fault, told from its single
//! faults alone; leaving out those that can play no part. Does not belong here: the bounds of one
//! reading ([`crate::likelihood::OfSpread`]) and filling in the others ([`super::cells`]).
//!
//! A fault that only takes conductance away raises every resistance, one that only adds lowers
//! every one (Rayleigh). So under two that raise, a resistance is no lower than under either
//! alone, and what was seen is no likelier than the most from there up; under one of each it lies
//! between. A verdict asks for shares with all pieces of evidence, with all but one and with all but
//! an occasion's. Where the most that a double can have of the sum that the single faults have is
//! less than [`HOPELESS`] in each of these, it is left out. How the shares moved on the way is told
//! of what is not hopeless in the end, and so is what a next test would show.

use pulp::{Arch, Simd, WithSimd};

use super::cells::{Ones, SOUND, singles};
use super::{Kind, Weighed, indices_of};
use crate::case::Reading;
use crate::circuit::Effect;
use crate::likelihood::{OfSpread, presence, size_spread};
use crate::predict::{Conducts, conducts};
use crate::sweep::{LANES, Lane};

/// A double fault that holds less than this of the whole is left out, whichever piece or occasion
/// is missing: thousands of them move no fifth decimal, and by far most are far below.
const HOPELESS: f64 = 1e-9;

impl Weighed<'_, '_> {
    /// Leaves out the double faults that are hopeless.
    pub(super) fn leave_out_hopeless(&mut self, readings: &[Reading], ones: &Ones) {
        let singles = singles(self.model);
        let has_hope = have_hope(self, readings, ones);
        self.hypotheses.hopeless = has_hope.iter().filter(|has_hope| !**has_hope).count();
        keep(&mut self.hypotheses.all, singles, &has_hope);
        keep(&mut self.priors, singles, &has_hope);
        for column in &mut self.sign_cells {
            keep(column, singles, &has_hope);
        }
    }
}

/// Keeps those of single faults, and of the double ones those that have hope.
fn keep<T>(of: &mut Vec<T>, singles: usize, has_hope: &[bool]) {
    let mut known = std::iter::repeat_n(true, singles).chain(has_hope.iter().copied());
    of.retain(|_| known.next().unwrap_or(true));
}

/// For each double fault, in order, whether it has any.
fn have_hope(weighed: &Weighed<'_, '_>, readings: &[Reading], ones: &Ones) -> Vec<bool> {
    let asked = Asked::of(weighed);
    let bounds = Bounds::of(weighed, readings, ones);
    let mut room = Room::of(&asked);
    let doubles: Vec<usize> = (singles(weighed.model)..weighed.hypotheses.all.len()).collect();
    let mut all = Vec::with_capacity(doubles.len());
    for some in doubles.chunks(LANES) {
        for (lane, &double) in some.iter().enumerate() {
            room.priors[lane] = weighed.priors[double];
            for (signs, column) in room.signs.iter_mut().zip(&weighed.sign_cells) {
                signs[lane] = column[double];
            }
            bounds.fill(weighed.hypotheses.all[double].kind, lane, &mut room.most);
        }
        Arch::new().dispatch(Follow { asked: &asked, room: &mut room });
        all.extend(room.matters[..some.len()].iter().map(|&matters| matters > 0.0));
    }
    all
}

/// The most that each reading can be likely, by what is known of a prediction.
struct Bounds {
    faults: Faults,
    readings: usize,
    /// By spread, what is known ([`OR_MORE`] and so on), fault and reading; last, where nothing is.
    most: Vec<f64>,
    /// Readings in which some faults are there only some of the time.
    unsure: Vec<Unsure>,
}

/// A reading in which some faults are there only some of the time.
struct Unsure {
    reading: usize,
    /// By fault: whether it is.
    faults: Vec<bool>,
    /// The most with nothing wrong.
    sound: f64,
}

/// The faults that come in twos.
struct Faults {
    /// By fault: its place among them.
    place: Vec<usize>,
    /// By place: the fault, what it does, and by how much its part is in series with more ohms, as
    /// a place among the sizes.
    all: Vec<usize>,
    conducts: Vec<Conducts>,
    in_series: Vec<Option<usize>>,
    /// Ohms that some of them put in series.
    sizes: Vec<f64>,
    /// Spreads of a size, and by place that of each.
    spreads: Vec<f64>,
    spread_of: Vec<usize>,
}

impl Faults {
    /// Of what is known of one spread.
    fn rows(&self) -> usize {
        UP_TO + self.sizes.len()
    }

    /// The place among the bounds.
    fn at(&self, spread: usize, row: usize, fault: usize) -> usize {
        (spread * self.rows() + row) * self.all.len() + fault
    }

    fn of(weighed: &Weighed<'_, '_>) -> Self {
        let model = weighed.model;
        let mut comes = vec![false; model.faults.len()];
        for double in &weighed.hypotheses.all[singles(model)..] {
            indices_of(double.kind).for_each(|fault| comes[fault] = true);
        }
        let all: Vec<usize> = (0..comes.len()).filter(|&fault| comes[fault]).collect();
        let mut place = vec![0; comes.len()];
        all.iter().enumerate().for_each(|(at, &fault)| place[fault] = at);
        let conducts: Vec<Conducts> =
            all.iter().map(|&fault| conducts(model, &model.faults[fault])).collect();
        let mut sizes: Vec<f64> = Vec::new();
        let in_series = all.iter().zip(&conducts).map(|(&fault, &conducts)| {
            let fault = &model.faults[fault];
            (fault.effect == Effect::Series && conducts == Conducts::Less).then(|| {
                sizes.iter().position(|known| *known == fault.size).unwrap_or_else(|| {
                    sizes.push(fault.size);
                    sizes.len() - 1
                })
            })
        });
        let in_series = in_series.collect();
        let mut spreads: Vec<f64> = vec![0.0];
        let spread_of = all.iter().map(|&fault| {
            let spread = size_spread(&model.faults[fault]);
            spreads.iter().position(|known| *known == spread).unwrap_or_else(|| {
                spreads.push(spread);
                spreads.len() - 1
            })
        });
        let spread_of = spread_of.collect();
        Faults { place, all, conducts, in_series, sizes, spreads, spread_of }
    }
}

/// What is known beside a fault's own prediction: it is that or more, or less, or just that; or
/// up to the ohms of each size more.
const OR_MORE: usize = 0;
const OR_LESS: usize = 1;
const JUST: usize = 2;
const UP_TO: usize = 3;

impl Bounds {
    fn of(weighed: &Weighed<'_, '_>, readings: &[Reading], ones: &Ones) -> Self {
        let model = weighed.model;
        let faults = Faults::of(weighed);
        let (all, count) = (&faults.all, readings.len());
        let known = faults.spreads.len() * faults.rows() * all.len();
        let mut most = vec![1.0; (known + 1) * count];
        let mut unsure = Vec::new();
        for reading in 0..count {
            if !weighed.prepared[reading].is_used() {
                continue;
            }
            let prepared = ones.prepared(reading);
            let seen = prepared.seen(&readings[reading].shown);
            let bounds = prepared.most(seen, &weighed.mistakes, &faults.spreads);
            let predicted = ones.predicted(reading);
            let mut set = |place: usize, bound: f64| most[place * count + reading] = bound;
            for (place, &fault) in all.iter().enumerate() {
                let this = bounds.stands(predicted[2 + fault], 0.0);
                for (spread, bounds) in bounds.by_spread().iter().enumerate() {
                    set(faults.at(spread, OR_MORE, place), bounds.or_more(this));
                    set(faults.at(spread, OR_LESS, place), bounds.or_less(this));
                    set(faults.at(spread, JUST, place), bounds.just(this));
                }
                for (row, &size) in faults.sizes.iter().enumerate() {
                    let up_to = bounds.stands(predicted[2 + fault], size);
                    for (spread, bounds) in bounds.by_spread().iter().enumerate() {
                        set(faults.at(spread, UP_TO + row, place), bounds.or_less(up_to));
                    }
                }
            }
            let largest = |of: &dyn Fn(&OfSpread) -> f64| {
                bounds.by_spread().iter().map(of).fold(0.0, f64::max)
            };
            set(known, largest(&OfSpread::anything));
            let at_times = |&fault: &usize| {
                let fault = &model.faults[fault];
                fault.passing || presence(model, fault, &prepared.setup) < 1.0
            };
            let away: Vec<bool> = all.iter().map(at_times).collect();
            if away.contains(&true) {
                let nothing_wrong = bounds.stands(predicted[SOUND], 0.0);
                let sound = largest(&|bounds| bounds.just(nothing_wrong));
                unsure.push(Unsure { reading, faults: away, sound });
            }
        }
        Bounds { faults, readings: count, most, unsure }
    }

    /// What is known, by reading.
    fn row(&self, known: usize) -> &[f64] {
        &self.most[known * self.readings..][..self.readings]
    }

    /// Fills in what each reading can be at most under a double fault.
    fn fill(&self, double: Kind, lane: usize, into: &mut [Lane]) {
        let mut faults = indices_of(double);
        let (Some(one), Some(two)) = (faults.next(), faults.next()) else { return };
        let [one, two] = [one, two].map(|fault| self.faults.place[fault]);
        let [a, b, c, d] = self.known(one, two).map(|known| self.row(known));
        // One instruction where `f64::min` takes several to let no NaN pass: one that does is not
        // negligible.
        let least = |one: f64, two: f64| if one < two { one } else { two };
        for ((((into, &a), &b), &c), &d) in into.iter_mut().zip(a).zip(b).zip(c).zip(d) {
            into[lane] = least(least(a, b), least(c, d));
        }
        // A fault that is away leaves the other one, or nothing wrong.
        for Unsure { reading, faults, sound } in &self.unsure {
            let most = &mut into[*reading][lane];
            let just = |fault: usize| {
                self.row(self.faults.at(self.faults.spread_of[fault], JUST, fault))[*reading]
            };
            for (away, other) in [(faults[one], two), (faults[two], one)] {
                *most = if away { most.max(just(other)) } else { *most };
            }
            if faults[one] && faults[two] {
                *most = most.max(*sound);
            }
        }
    }

    /// The places among the bounds of what is known of two faults together.
    fn known(&self, one: usize, two: usize) -> [usize; 4] {
        use Conducts::{Either, Less, More, Same};
        let Faults { conducts, in_series, spreads, spread_of, .. } = &self.faults;
        let of_one = spreads[spread_of[one]] > spreads[spread_of[two]];
        let spread = spread_of[if of_one { one } else { two }];
        let at = |row: usize, fault: usize| self.faults.at(spread, row, fault);
        let anything = spreads.len() * self.faults.rows() * self.faults.all.len();
        let [a, b] = match (conducts[one], conducts[two]) {
            (Less, Less) => [at(OR_MORE, one), at(OR_MORE, two)],
            (More, More) => [at(OR_LESS, one), at(OR_LESS, two)],
            (Less, More) => [at(OR_LESS, one), at(OR_MORE, two)],
            (More, Less) => [at(OR_MORE, one), at(OR_LESS, two)],
            (Either, _) | (_, Either) => return [anything; 4],
            (Same, _) => [at(JUST, two), anything],
            (_, Same) => [at(JUST, one), anything],
        };
        // Ohms in series never add more than themselves: no part passes more than the whole
        // current.
        let series = |size: usize, fault: usize| {
            in_series[size].map_or(anything, |size| at(UP_TO + size, fault))
        };
        [a, b, series(one, two), series(two, one)]
    }
}

/// What some double faults' evidence can be at most, side by side.
struct Room {
    priors: Lane,
    /// By sign: its likelihood.
    signs: Vec<Lane>,
    /// By reading.
    most: Vec<Lane>,
    /// By occasion: all of its readings.
    together: Vec<Lane>,
    /// By reading: those before it on its occasion.
    before: Vec<Lane>,
    /// 1 for each that is not hopeless.
    matters: Lane,
}

impl Room {
    fn of(asked: &Asked) -> Self {
        Room {
            priors: [0.0; LANES],
            signs: vec![[1.0; LANES]; asked.without.len() - asked.occasion_of.len()],
            most: vec![[1.0; LANES]; asked.occasion_of.len()],
            together: vec![[1.0; LANES]; asked.without_occasion.len()],
            before: vec![[1.0; LANES]; asked.occasion_of.len()],
            matters: [0.0; LANES],
        }
    }
}

/// The sums of evidence that are asked for: what is negligible in each.
struct Asked {
    /// With all pieces.
    all: f64,
    /// Without each piece.
    without: Vec<f64>,
    without_occasion: Vec<f64>,
    /// By reading.
    occasion_of: Vec<usize>,
}

impl Asked {
    fn of(weighed: &Weighed<'_, '_>) -> Self {
        let readings = weighed.prepared.len();
        let pieces = readings + weighed.sign_cells.len();
        let sum = |keeps: &dyn Fn(usize) -> bool| -> f64 {
            let likely = weighed.likelihoods(keeps);
            likely.iter().zip(&weighed.priors).map(|(one, prior)| one * prior).sum()
        };
        let mut occasion_of = vec![0; readings];
        for (place, occasion) in weighed.occasions.iter().enumerate() {
            occasion.readings.iter().for_each(|&reading| occasion_of[reading] = place);
        }
        let without = (0..pieces).map(|piece| HOPELESS * sum(&|known| known != piece));
        let without_occasion = (weighed.occasions.iter())
            .map(|occasion| HOPELESS * sum(&|piece| !occasion.readings.contains(&piece)));
        Asked {
            all: HOPELESS * sum(&|_| true),
            without: without.collect(),
            without_occasion: without_occasion.collect(),
            occasion_of,
        }
    }
}

/// Goes through all sums that are asked for, [`LANES`] double faults side by side.
struct Follow<'a> {
    asked: &'a Asked,
    room: &'a mut Room,
}

impl WithSimd for Follow<'_> {
    type Output = ();

    // Only what is inlined here is compiled for the wider processor.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Follow { asked, room } = self;
        let readings = asked.occasion_of.len();
        let occasions = room.together.len();
        room.together.fill([1.0; LANES]);
        room.matters = [0.0; LANES];
        let times = |one: &Lane, two: &Lane| {
            let mut product = [0.0; LANES];
            for lane in 0..LANES {
                product[lane] = one[lane] * two[lane];
            }
            product
        };
        // What is not a number is not negligible.
        let mut matters = |most: &Lane, least: f64| {
            for (matters, most) in room.matters.iter_mut().zip(most) {
                *matters = if *most < least { *matters } else { 1.0 };
            }
        };
        for reading in 0..readings {
            let together = &mut room.together[asked.occasion_of[reading]];
            room.before[reading] = *together;
            *together = times(together, &room.most[reading]);
        }
        let mut of_readings = room.priors;
        for together in &room.together {
            of_readings = times(&of_readings, together);
        }
        let mut of_signs = room.priors;
        for (sign, own) in room.signs.iter().enumerate() {
            let others = room.signs.iter().enumerate().filter(|(other, _)| *other != sign);
            let less = others.fold(of_readings, |less, (_, other)| times(&less, other));
            matters(&less, asked.without[readings + sign]);
            of_signs = times(&of_signs, own);
        }
        let all = room.together.iter().fold(of_signs, |all, known| times(&all, known));
        matters(&all, asked.all);
        // Without each occasion, and without each of its readings; those after it come first.
        for occasion in 0..occasions {
            let others = room.together.iter().enumerate().filter(|(other, _)| *other != occasion);
            let others = others.fold(of_signs, |product, (_, known)| times(&product, known));
            if occasions > 1 {
                matters(&others, asked.without_occasion[occasion]);
            }
            let mut after = others;
            for reading in (0..readings).rev().filter(|&one| asked.occasion_of[one] == occasion) {
                matters(&times(&after, &room.before[reading]), asked.without[reading]);
                after = times(&after, &room.most[reading]);
            }
        }
    }
}

#[cfg(test)]
mod tests;
