//! One tour as it is driven, and what putting one more stop into it would cost.
//!
//! Belongs here: times, places and cost along a tour, and the price of an insertion at each
//! position. Does not belong here: which stops to take out or put in ([`super`]).

use crate::model::Model;

/// A tour's stops, and when each of them begins.
#[derive(Clone, Debug, Default)]
pub(crate) struct Driven {
    /// Indices of the stops, in order.
    pub(crate) stops: Vec<usize>,
    /// When each begins.
    pub(crate) begins: Vec<i64>,
    /// When each is done.
    leaves: Vec<i64>,
    /// Where one is after each.
    places: Vec<usize>,
    /// The latest that each may begin for the rest of the tour to be in time.
    latest: Vec<i64>,
    /// Cost from the tour's start up to each, the way to it included.
    so_far: Vec<f64>,
    /// Load of all of them.
    load: i64,
    /// Driving over the straight way, waiting, uneven work.
    pub(crate) cost: f64,
    /// Whether every stop has a place of its own, so that ways depend on neighbours only.
    placed: bool,
    /// Whether a later beginning of a stop costs anything.
    waits: bool,
}

/// Where a stop goes into a tour, and by how much that raises the cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Insertion {
    pub(crate) position: usize,
    pub(crate) price: f64,
}

/// Cost of one stop that begins at `begins` in a tour.
fn own(model: &Model, tour: usize, stop: usize, begins: i64) -> f64 {
    model.stops[stop].cost(&model.tours[tour], begins)
}

impl Driven {
    /// Drives `stops` in their order; `None` when that cannot be done in time, by load, or by who
    /// may do what.
    pub(crate) fn new(model: &Model, tour: usize, stops: Vec<usize>) -> Option<Self> {
        let mut driven = Self { stops, ..Self::default() };
        driven.again(model, tour).then_some(driven)
    }

    /// Drives the stops anew after they were changed; whether it can be done.
    pub(crate) fn again(&mut self, model: &Model, tour: usize) -> bool {
        let of = &model.tours[tour];
        self.begins.clear();
        self.leaves.clear();
        self.places.clear();
        self.so_far.clear();
        (self.load, self.placed, self.waits) = (0, true, false);
        let (mut time, mut at, mut cost) = (of.span.start_min, of.from, 0.0);
        for &index in &self.stops {
            let stop = &model.stops[index];
            if !stop.may[tour] {
                return false;
            }
            let place = stop.place.unwrap_or(at);
            let way = model.way(at, place);
            let Some(begins) = stop.begins(time + way) else { return false };
            cost += way as f64 + own(model, tour, index, begins);
            (time, at) = (begins + stop.length, place);
            self.begins.push(begins);
            self.leaves.push(time);
            self.places.push(place);
            self.so_far.push(cost);
            self.load += stop.load;
            self.placed &= stop.place.is_some();
            self.waits |= stop.wait > 0.0;
        }
        let way = model.way(at, of.to);
        self.cost = cost + way as f64 - model.way(of.from, of.to) as f64;
        if time + way > of.span.end_min || self.load > of.capacity {
            return false;
        }
        let (mut until, mut next) = (of.span.end_min, of.to);
        self.latest.clear();
        self.latest.resize(self.stops.len(), 0);
        for (position, &index) in self.stops.iter().enumerate().rev() {
            let stop = &model.stops[index];
            let place = self.places[position];
            let Some(latest) = stop.begins_latest(until - model.way(place, next) - stop.length)
            else {
                return false;
            };
            self.latest[position] = latest;
            (until, next) = (latest, place);
        }
        true
    }

    /// The cheapest place for `stop` that is cheaper than `under`. `blink` says of a position
    /// whether to overlook it.
    pub(crate) fn cheapest(
        &self,
        model: &Model,
        tour: usize,
        stop: usize,
        under: f64,
        mut blink: impl FnMut() -> bool,
    ) -> Option<Insertion> {
        let of = &model.stops[stop];
        if !of.may[tour] || self.load + of.load > model.tours[tour].capacity {
            return None;
        }
        let mut best = None;
        let mut under = under;
        for position in 0..=self.stops.len() {
            let (time, at) = self.before(model, tour, position);
            // Later positions only come later.
            let last = of.windows.last().map_or(i64::MIN, |window| window.end_min);
            if time > last {
                break;
            }
            if blink() {
                continue;
            }
            let price = match of.place {
                Some(place) if self.placed => {
                    self.price(model, (tour, stop, place), (position, time, at), under)
                }
                _ => self.price_whole(model, (tour, stop), (position, time, at)),
            };
            if let Some(price) = price.filter(|price| *price < under) {
                under = price;
                best = Some(Insertion { position, price });
            }
        }
        best
    }

    /// When and where one is free before a position.
    fn before(&self, model: &Model, tour: usize, position: usize) -> (i64, usize) {
        match position.checked_sub(1) {
            Some(last) => (self.leaves[last], self.places[last]),
            None => (model.tours[tour].span.start_min, model.tours[tour].from),
        }
    }

    /// The price of one insertion where ways depend on neighbours only.
    fn price(
        &self,
        model: &Model,
        (tour, stop, place): (usize, usize, usize),
        (position, time, at): (usize, i64, usize),
        under: f64,
    ) -> Option<f64> {
        let of = &model.stops[stop];
        let (next, latest) = match self.places.get(position) {
            Some(next) => (*next, self.latest[position]),
            None => (model.tours[tour].to, model.tours[tour].span.end_min),
        };
        let ways = model.way(at, place) + model.way(place, next) - model.way(at, next);
        if ways as f64 >= under {
            return None;
        }
        let begins = of.begins(time + model.way(at, place))?;
        let mut time = begins + of.length;
        if time + model.way(place, next) > latest {
            return None;
        }
        let mut price = ways as f64 + own(model, tour, stop, begins);
        if self.waits {
            let mut at = place;
            for later in position..self.stops.len() {
                let behind = &model.stops[self.stops[later]];
                let begins = behind.begins(time + model.way(at, self.places[later]))?;
                if begins == self.begins[later] || price >= under {
                    break;
                }
                price += own(model, tour, self.stops[later], begins)
                    - own(model, tour, self.stops[later], self.begins[later]);
                (time, at) = (begins + behind.length, self.places[later]);
            }
        }
        Some(price)
    }

    /// The price of one insertion, by driving all that comes after it.
    fn price_whole(
        &self,
        model: &Model,
        (tour, stop): (usize, usize),
        (position, time, at): (usize, i64, usize),
    ) -> Option<f64> {
        let of = &model.tours[tour];
        let (mut time, mut at) = (time, at);
        let mut cost = position.checked_sub(1).map_or(0.0, |last| self.so_far[last]);
        for &index in [stop].iter().chain(&self.stops[position..]) {
            let next = &model.stops[index];
            let place = next.place.unwrap_or(at);
            let way = model.way(at, place);
            let begins = next.begins(time + way)?;
            cost += way as f64 + own(model, tour, index, begins);
            (time, at) = (begins + next.length, place);
        }
        let way = model.way(at, of.to);
        if time + way > of.span.end_min {
            return None;
        }
        Some(cost + way as f64 - model.way(of.from, of.to) as f64 - self.cost)
    }
}
