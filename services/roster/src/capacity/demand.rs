//! The calls of one span, expected and drawn.
//!
//! Belongs here: rates for each hour of a span at its temperature, and a draw of them. Does not
//! belong here: how the rates were learnt ([`super::learn`]).

use super::learn::{Learnt, Lognormal, WEEK_HOURS, band};
use super::random::Chance;
use super::{CLASSES, Call, HOUR_MIN, QUALIFICATIONS, Skills, Work};
use crate::queue::Urgency;

/// One hour of a span.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hour {
    /// Hour of the week, local; below [`WEEK_HOURS`].
    pub week_hour: usize,
    /// Outdoors, °F.
    pub outdoor_f: i32,
    /// Outdoors in a usual year, °F.
    pub usual_f: i32,
}

/// What is expected of a span.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// Calls in each hour by class.
    pub rate_h: Vec<[f64; CLASSES]>,
    /// The same at the temperature of a usual year.
    pub usual_h: Vec<[f64; CLASSES]>,
    /// How sure the rate of a class is: the shape of its Gamma; infinite for certain.
    pub shape: [f64; CLASSES],
    /// Time of each kind of work.
    pub takes: [Lognormal; 5],
    /// What is done on a call, by class.
    pub work: [[f64; 5]; CLASSES],
    /// What it asks for, by class: nothing, then each qualification.
    pub needs: [[f64; 5]; CLASSES],
    /// Getting there; none when it takes no time.
    pub travel: Option<Lognormal>,
}

impl Demand {
    /// What was learnt, for these hours.
    #[must_use]
    pub fn of(learnt: &Learnt, hours: &[Hour]) -> Self {
        let rates = |hour: &Hour, outdoor_f: i32| {
            std::array::from_fn(|class| {
                learnt.rate_h[class][hour.week_hour.min(WEEK_HOURS - 1)]
                    * learnt.by_band[class][band(outdoor_f)]
            })
        };
        Demand {
            rate_h: hours.iter().map(|hour| rates(hour, hour.outdoor_f)).collect(),
            usual_h: hours.iter().map(|hour| rates(hour, hour.usual_f)).collect(),
            shape: learnt.shape,
            takes: learnt.takes,
            work: learnt.work,
            needs: learnt.needs,
            travel: Some(learnt.travel),
        }
    }

    /// Mean minutes that a call of a class keeps somebody busy, the way there included.
    #[must_use]
    pub fn busy_mean_min(&self, class: usize) -> f64 {
        let work: f64 = self.work[class]
            .iter()
            .zip(self.takes)
            .map(|(share, takes)| share * takes.mean_min())
            .sum();
        work + self.travel.map_or(0.0, Lognormal::mean_min)
    }

    /// One span's calls in the order in which they come in. Each class' rate is itself drawn,
    /// since it is not known for certain.
    pub fn draw(&self, chance: &mut Chance) -> Vec<Call> {
        let mut calls = Vec::new();
        for class in 0..CLASSES {
            let busy = if self.shape[class].is_finite() {
                chance.gamma_mean_one(self.shape[class].max(f64::MIN_POSITIVE))
            } else {
                1.0
            };
            for (hour, rates) in self.rate_h.iter().enumerate() {
                let rate_h = rates[class] * busy;
                if rate_h <= 0.0 {
                    continue;
                }
                let mut at_h = chance.exponential(1.0 / rate_h);
                while at_h < 1.0 {
                    let ready_min = (hour as f64 + at_h) * HOUR_MIN;
                    calls.push(self.call(class, ready_min, chance));
                    at_h += chance.exponential(1.0 / rate_h);
                }
            }
        }
        calls.sort_by(|one, other| one.ready_min.total_cmp(&other.ready_min));
        calls
    }

    /// A call of a class, with what it asks for and how long it takes drawn.
    pub fn call(&self, class: usize, ready_min: f64, chance: &mut Chance) -> Call {
        let kind = chance.pick(&self.work[class]);
        let needs = match chance.pick(&self.needs[class]) {
            0 => Skills::default(),
            bit => Skills::of(&QUALIFICATIONS[bit - 1..bit]),
        };
        Call {
            ready_min,
            class: Urgency::ALL[class],
            work: Work::ALL[kind],
            needs,
            travel_min: self.travel.map_or(0.0, |travel| draw(travel, chance)),
            takes_min: draw(self.takes[kind], chance),
            held_by: None,
        }
    }

    /// How long a known job of some kind takes, drawn.
    pub fn takes(&self, work: Work, chance: &mut Chance) -> f64 {
        draw(self.takes[Work::ALL.iter().position(|known| *known == work).unwrap_or(0)], chance)
    }

    /// Getting to a known job, drawn.
    pub fn travel(&self, chance: &mut Chance) -> f64 {
        self.travel.map_or(0.0, |travel| draw(travel, chance))
    }
}

fn draw(time: Lognormal, chance: &mut Chance) -> f64 {
    (time.mu + time.sigma * chance.normal()).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capacity::learn::{History, learn};

    fn saturday() -> Vec<Hour> {
        (120..144).map(|week_hour| Hour { week_hour, outdoor_f: 5, usual_f: 40 }).collect()
    }

    #[test]
    fn cold_brings_more_calls_than_usual() {
        let demand = Demand::of(&learn(&History::empty(6)), &saturday());
        let sum = |rates: &[[f64; CLASSES]]| rates.iter().flatten().sum::<f64>();
        assert!(sum(&demand.rate_h) > 1.3 * sum(&demand.usual_h));
    }

    #[test]
    fn as_many_calls_are_drawn_as_are_expected() {
        let demand = Demand::of(&learn(&History::empty(6)), &saturday());
        let expected: f64 = demand.rate_h.iter().flatten().sum();
        let runs = 4_000;
        let drawn: usize = (0..runs).map(|run| demand.draw(&mut Chance::of(3, run)).len()).sum();
        let mean = drawn as f64 / runs as f64;
        assert!((mean / expected - 1.0).abs() < 0.05, "{mean} for {expected}");
        let calls = demand.draw(&mut Chance::of(3, 0));
        assert!(calls.windows(2).all(|pair| pair[0].ready_min <= pair[1].ready_min));
        assert!(calls.iter().all(|call| call.takes_min > 0.0 && call.travel_min > 0.0));
    }
}
