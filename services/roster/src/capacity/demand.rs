//! The calls of one span, expected and drawn.
//!
//! Belongs here: rates for each hour of a span at its temperature, and a draw of them. Does not
//! belong here: how the rates were learnt ([`super::learn`]).

use super::learn::{Learnt, Lognormal, WEEK_HOURS, band};
use super::places::{Places, SHOP, To, WAY_SPREAD};
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
    /// From which place a call comes: a share for each of the setting's places, that of elsewhere
    /// at [`SHOP`]; empty where no place is known.
    pub place_shares: Vec<f64>,
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
            place_shares: Vec::new(),
        }
    }

    /// Mean minutes of work on a call of a class.
    #[must_use]
    pub fn work_mean_min(&self, class: usize) -> f64 {
        let shares = self.work[class].iter().zip(self.takes);
        shares.map(|(share, takes)| share * takes.mean_min()).sum()
    }

    /// The mean way from the shop to a call, minutes.
    #[must_use]
    pub fn way_mean_min(&self, places: &Places) -> f64 {
        let usual = self.travel.map_or(0.0, Lognormal::mean_min);
        let strays = (WAY_SPREAD * WAY_SPREAD / 2.0).exp();
        let way = |place| match place {
            SHOP => usual,
            _ => places.between_min(SHOP, place).map_or(usual, |way| way * strays),
        };
        match self.place_shares.iter().sum::<f64>() {
            all if all > 0.0 => {
                let each = self.place_shares.iter().enumerate();
                each.map(|(place, share)| share / all * way(place)).sum()
            }
            _ => usual,
        }
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
            to: self.to(chance),
        }
    }

    fn to(&self, chance: &mut Chance) -> Option<To> {
        if self.place_shares.is_empty() {
            return None;
        }
        let place = chance.pick(&self.place_shares);
        let to = To { place, factor: self.way_factor(chance) };
        (place != SHOP).then_some(to)
    }

    /// What one drive makes of the usual way, drawn.
    pub fn way_factor(&self, chance: &mut Chance) -> f64 {
        (WAY_SPREAD * chance.normal()).exp()
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

    #[test]
    fn calls_come_from_the_places_in_their_shares() {
        let mut demand = Demand::of(&learn(&History::empty(6)), &saturday());
        demand.place_shares = vec![0.1, 0.6, 0.3];
        let all: Vec<_> = (0..2_000).flat_map(|run| demand.draw(&mut Chance::of(3, run))).collect();
        for (place, share) in [(None, 0.1), (Some(1), 0.6), (Some(2), 0.3)] {
            let from = all.iter().filter(|call| call.to.map(|to| to.place) == place).count();
            let got = from as f64 / all.len() as f64;
            assert!((got - share).abs() < 0.02, "{got} of {} from {place:?}", all.len());
        }

        let names = ["shop", "near", "far"].map(ToOwned::to_owned).to_vec();
        let ways = vec![0.0, 10.0, 60.0, 10.0, 8.0, 55.0, 60.0, 55.0, 8.0];
        let places = Places::of(names, ways).unwrap();
        let way =
            |call: &Call| call.to.map(|to| places.between_min(SHOP, to.place).unwrap() * to.factor);
        let mean = all.iter().map(|call| way(call).unwrap_or(call.travel_min)).sum::<f64>()
            / all.len() as f64;
        let expected = demand.way_mean_min(&places);
        assert!((mean / expected - 1.0).abs() < 0.03, "{mean} for {expected}");
    }
}
