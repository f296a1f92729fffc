//! A better answer than the one given: strings of neighbouring stops are taken out of the tours
//! and put back where they are cheapest, and a worse answer is kept for a while.
//!
//! Belongs here: slack induction by string removals (Christiaens and Vanden Berghe, Transportation
//! Science 54, 2020; its numbers from memory), for time windows, skills, waiting and pauses.
//! Does not belong here: the first answer (the routing library's, or none), and time.
//!
//! The same seed and number of rounds give the same answer.

use rand::rngs::Xoshiro256PlusPlus;
use rand::seq::SliceRandom as _;
use rand::{RngExt as _, SeedableRng as _};

use crate::model::{Model, Tours};

mod driven;
#[cfg(test)]
mod tests;

use driven::Driven;

/// How many stops are taken out per round on average; the authors' number.
const REMOVED: f64 = 10.0;
/// Longest string taken out of one tour; the authors' number.
const STRING_MAX: f64 = 10.0;
/// How often a string leaves some of its stops where they are; the authors' number.
const SPLIT: f64 = 0.5;
/// How often it leaves one more; the authors' number.
const SPLIT_MORE: f64 = 0.99;
/// How often a position is overlooked; the authors' number.
const BLINK: f64 = 0.01;
/// How much worse an answer may be at the start, in mean ways between two stops. Tuned on RC208.
const WARM: f64 = 4.0;
/// The same at the end. Tuned on RC208.
const COLD: f64 = 0.05;
/// What a unit of what is left out weighs against minutes: more than any sum of them.
const LEFT_OUT: f64 = 1e6;

/// How far a search has come, 0 to 1, asked every round with the round's number; `None` ends it.
pub(crate) type Progress<'a> = dyn Fn(u64) -> Option<f64> + Sync + 'a;

/// An answer while it is being changed.
#[derive(Clone)]
struct Answer {
    tours: Vec<Driven>,
    /// Which tour each stop is in.
    of: Vec<Option<usize>>,
    absent: Vec<usize>,
    left_out: f64,
}

impl Answer {
    fn cost(&self) -> f64 {
        self.tours.iter().map(|tour| tour.cost).sum::<f64>() + LEFT_OUT * self.left_out
    }

    /// The given tours; a tour that cannot be driven as given is emptied.
    fn new(model: &Model, given: &Tours) -> Self {
        let mut of = vec![None; model.stops.len()];
        let mut tours = Vec::new();
        for tour in 0..model.tours.len() {
            let stops: Vec<usize> = given.get(tour).cloned().unwrap_or_default();
            let driven = Driven::new(model, tour, stops).unwrap_or_else(|| {
                let mut empty = Driven::default();
                // A stretch too short to go its own way takes nothing; its cost is none.
                empty.again(model, tour);
                empty
            });
            for stop in &driven.stops {
                of[*stop] = Some(tour);
            }
            tours.push(driven);
        }
        let absent: Vec<usize> = (0..of.len()).filter(|stop| of[*stop].is_none()).collect();
        let left_out = absent.iter().map(|stop| model.stops[*stop].left_out).sum();
        Self { tours, of, absent, left_out }
    }
}

/// Improves on `given` until `progress` ends it.
pub(crate) fn improve(model: &Model, given: &Tours, seed: u64, progress: &Progress<'_>) -> Tours {
    let near = near(model);
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut now = Answer::new(model, given);
    let mut best = now.clone();
    let mut trial = now.clone();
    let mean_way = mean_way(model, &now);
    let mut touched = Vec::new();
    let mut round = 0;
    while let Some(part) = progress(round) {
        let warmth = mean_way * WARM * (COLD / WARM).powf(part);
        touched.clear();
        ruin(model, &near, &mut trial, &mut touched, &mut random);
        recreate(model, &mut trial, &mut touched, &mut random);
        let kept = trial.cost() < now.cost() - warmth * random.random::<f64>().max(1e-12).ln();
        if kept {
            take(&trial, &mut now, &touched);
            if now.cost() < best.cost() - 1e-9 {
                best.clone_from(&now);
            }
        } else {
            take(&now, &mut trial, &touched);
        }
        round += 1;
    }
    best.tours.into_iter().map(|tour| tour.stops).collect()
}

/// When each stop of an answer begins.
pub(crate) fn begins(model: &Model, tour: usize, stops: &[usize]) -> Option<Vec<i64>> {
    Driven::new(model, tour, stops.to_vec()).map(|driven| driven.begins)
}

/// What an answer costs; less is better. Tours that cannot be driven count as left out.
pub(crate) fn cost(model: &Model, tours: &Tours) -> f64 {
    Answer::new(model, tours).cost()
}

/// Copies what differs.
fn take(from: &Answer, to: &mut Answer, touched: &[usize]) {
    for &tour in touched {
        to.tours[tour].clone_from(&from.tours[tour]);
    }
    to.of.clone_from(&from.of);
    to.absent.clone_from(&from.absent);
    to.left_out = from.left_out;
}

/// By stop with a place: all of them, the nearest first, itself among them.
fn near(model: &Model) -> Vec<Vec<usize>> {
    let placed: Vec<(usize, usize)> = model
        .stops
        .iter()
        .enumerate()
        .filter_map(|(stop, of)| of.place.map(|place| (stop, place)))
        .collect();
    model
        .stops
        .iter()
        .enumerate()
        .map(|(index, of)| {
            let Some(at) = of.place else { return Vec::new() };
            let mut others = placed.clone();
            others.sort_by_key(|(stop, place)| (*stop != index, model.way(at, *place), *stop));
            others.into_iter().map(|(stop, _)| stop).collect()
        })
        .collect()
}

/// The mean way from stop to stop, the unit of how much worse an answer may be.
fn mean_way(model: &Model, answer: &Answer) -> f64 {
    let (mut sum, mut count) = (0, 0);
    for (tour, driven) in answer.tours.iter().enumerate() {
        let mut at = model.tours[tour].from;
        for place in driven.stops.iter().filter_map(|stop| model.stops[*stop].place) {
            sum += model.way(at, place);
            count += 1;
            at = place;
        }
    }
    if count > 0 { (sum as f64 / f64::from(count)).max(1.0) } else { 1.0 }
}

/// A whole number from 1 to `most`, which need not be whole: its part behind the point is chance.
fn upto(most: f64, random: &mut Xoshiro256PlusPlus) -> usize {
    (random.random::<f64>() * most + 1.0).floor().max(1.0) as usize
}

fn ruin(
    model: &Model,
    near: &[Vec<usize>],
    trial: &mut Answer,
    touched: &mut Vec<usize>,
    random: &mut Xoshiro256PlusPlus,
) {
    let used = trial.tours.iter().filter(|tour| !tour.stops.is_empty());
    let (tours, stops) = used.fold((0, 0), |(n, sum), tour| (n + 1, sum + tour.stops.len()));
    if tours == 0 || model.stops.is_empty() {
        return;
    }
    let longest = STRING_MAX.min(stops as f64 / f64::from(tours));
    let strings = upto(4.0 * REMOVED / (1.0 + longest) - 1.0, random);
    let seed = random.random_range(0..model.stops.len());
    for &stop in near[seed].iter().chain(near[seed].is_empty().then_some(&seed)) {
        if touched.len() >= strings {
            break;
        }
        let Some(tour) = trial.of[stop].filter(|tour| !touched.contains(tour)) else { continue };
        let size = trial.tours[tour].stops.len();
        let length = upto(longest.min(size as f64), random).min(size);
        cut(model, trial, (tour, stop, length), random);
        touched.push(tour);
    }
}

/// Takes a string of `length` stops with `stop` among them out of a tour.
fn cut(
    model: &Model,
    trial: &mut Answer,
    (tour, stop, length): (usize, usize, usize),
    random: &mut Xoshiro256PlusPlus,
) {
    let size = trial.tours[tour].stops.len();
    let at = trial.tours[tour].stops.iter().position(|other| *other == stop).unwrap_or(0);
    // Some stops in the middle of a longer string may stay.
    let mut stay = 0;
    if length > 1 && length < size && random.random_bool(SPLIT) {
        stay = 1;
        while length + stay < size && random.random_bool(1.0 - SPLIT_MORE) {
            stay += 1;
        }
    }
    let whole = length + stay;
    let first = random.random_range(at.saturating_sub(whole - 1)..=at.min(size - whole));
    let stays = first + random.random_range(0..=length);
    let mut position = 0;
    let Answer { tours, of, absent, left_out } = trial;
    tours[tour].stops.retain(|out| {
        let kept = !(first..first + whole).contains(&position)
            || (stays..stays + stay).contains(&position);
        position += 1;
        if !kept {
            absent.push(*out);
            of[*out] = None;
            *left_out += model.stops[*out].left_out;
        }
        kept
    });
    // Where a detour is quicker than the straight way, fewer stops may be too late; then all go.
    if !tours[tour].again(model, tour) {
        for out in std::mem::take(&mut tours[tour].stops) {
            absent.push(out);
            of[out] = None;
            *left_out += model.stops[out].left_out;
        }
        tours[tour].again(model, tour);
    }
}

/// Puts every absent stop where it is cheapest, in an order drawn anew each round.
fn recreate(
    model: &Model,
    trial: &mut Answer,
    touched: &mut Vec<usize>,
    random: &mut Xoshiro256PlusPlus,
) {
    let mut waiting = std::mem::take(&mut trial.absent);
    waiting.shuffle(random);
    let key = |stop: &usize, by: u32| {
        let stop = &model.stops[*stop];
        let (from, to) = (stop.windows.first(), stop.windows.last());
        match by {
            4..7 => -stop.load,
            7..9 => to.map_or(0, |to| to.end_min) - from.map_or(0, |from| from.start_min),
            9..11 => from.map_or(0, |from| from.start_min),
            11..13 => to.map_or(0, |to| to.end_min),
            13..15 => -stop.length,
            15..19 => -(stop.left_out as i64),
            // As shuffled.
            _ => 0,
        }
    };
    let by = random.random_range(0..19);
    waiting.sort_by_key(|stop| key(stop, by));
    for stop in waiting {
        let mut best = None;
        let mut under = f64::INFINITY;
        for (tour, driven) in trial.tours.iter().enumerate() {
            let found = driven.cheapest(model, tour, stop, under, || random.random_bool(BLINK));
            if let Some(found) = found {
                under = found.price;
                best = Some((tour, found.position));
            }
        }
        let Some((tour, position)) = best else {
            trial.absent.push(stop);
            continue;
        };
        let driven = &mut trial.tours[tour];
        driven.stops.insert(position, stop);
        if !touched.contains(&tour) {
            touched.push(tour);
        }
        if driven.again(model, tour) {
            trial.of[stop] = Some(tour);
            trial.left_out -= model.stops[stop].left_out;
        } else {
            driven.stops.remove(position);
            driven.again(model, tour);
            trial.absent.push(stop);
        }
    }
}
