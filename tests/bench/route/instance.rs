//! A public routing instance: read, put to the library, and an answer to it checked.
//!
//! Belongs here: the file's sections and its rules. Does not belong here: searching.

use std::error::Error;

use planner::model::{Model, Of, Stop, Tour};
use roster::plan::Span;

/// The model counts in whole units; the instance's distances have one decimal.
const UNITS: f64 = 10.0;

/// Numbers as the file has them; the first stop is the depot.
pub(crate) struct Instance {
    points: Vec<[f64; 2]>,
    demands: Vec<i32>,
    windows: Vec<[f64; 2]>,
    vehicles: usize,
    capacity: i32,
    service: f64,
}

impl Instance {
    /// Reads the instance's text.
    ///
    /// # Errors
    /// When a number is none or a section is short.
    pub(crate) fn read(text: &str) -> Result<Self, Box<dyn Error>> {
        let header = |name: &str| {
            text.lines()
                .find_map(|line| line.strip_prefix(name)?.trim().strip_prefix(':'))
                .map(str::trim)
                .ok_or_else(|| format!("no {name}"))
        };
        let size: usize = header("DIMENSION")?.parse()?;
        let section = |name: &str| -> Result<Vec<Vec<f64>>, Box<dyn Error>> {
            let rows: Result<Vec<Vec<f64>>, _> = text
                .lines()
                .skip_while(|line| line.trim() != name)
                .skip(1)
                .take(size)
                .map(|line| line.split_whitespace().skip(1).map(str::parse).collect())
                .collect();
            let rows = rows?;
            if rows.len() == size { Ok(rows) } else { Err(format!("{name} is short").into()) }
        };
        let pair = |row: Vec<f64>| [row[0], row[1]];
        Ok(Self {
            points: section("NODE_COORD_SECTION")?.into_iter().map(pair).collect(),
            demands: section("DEMAND_SECTION")?.iter().map(|row| row[0] as i32).collect(),
            windows: section("TIME_WINDOW_SECTION")?.into_iter().map(pair).collect(),
            vehicles: header("VEHICLES")?.parse()?,
            capacity: header("CAPACITY")?.parse()?,
            service: header("SERVICE_TIME")?.parse()?,
        })
    }

    /// Distance, cut to one decimal as the published best is.
    fn apart(&self, from: usize, to: usize) -> f64 {
        let [a, b] = [self.points[from], self.points[to]];
        (10.0 * (a[0] - b[0]).hypot(a[1] - b[1])).floor() / 10.0
    }

    /// The instance as the planner's search sees it.
    pub(crate) fn model(&self) -> Model {
        let size = self.points.len();
        let units = |value: f64| (value * UNITS).round() as i64;
        let span = |[opens, closes]: [f64; 2]| Span::new(units(opens), units(closes));
        let tour = |person| Tour {
            person,
            span: span(self.windows[0]),
            from: 0,
            to: 0,
            capacity: i64::from(self.capacity),
            uneven: 0.0,
        };
        let stop = |stop: usize| Stop {
            of: Of::Job(stop),
            place: Some(stop),
            windows: vec![span(self.windows[stop])],
            length: units(self.service),
            load: i64::from(self.demands[stop]),
            may: vec![true; self.vehicles],
            left_out: 1.0,
            wait: 0.0,
            ready: 0,
            with: None,
        };
        Model {
            tours: (0..self.vehicles).map(tour).collect(),
            stops: (1..size).map(stop).collect(),
            places: size,
            travel: (0..size * size)
                .map(|cell| units(self.apart(cell / size, cell % size)))
                .collect(),
        }
    }

    /// The length of an answer that keeps every rule of the instance.
    ///
    /// # Errors
    /// Says the rule that is broken.
    pub(crate) fn length_checked(&self, routes: &[Vec<usize>]) -> Result<f64, Box<dyn Error>> {
        let mut seen = vec![false; self.points.len()];
        let mut length = 0.0;
        for route in routes {
            let load: i32 = route.iter().map(|stop| self.demands[*stop]).sum();
            if load > self.capacity {
                return Err("a route carries too much".into());
            }
            let (mut at, mut time) = (0, self.windows[0][0]);
            for &stop in route.iter().chain(&[0]) {
                length += self.apart(at, stop);
                time = (time + self.apart(at, stop)).max(self.windows[stop][0]);
                if time > self.windows[stop][1] + 1e-9 {
                    return Err(format!("too late at stop {stop}").into());
                }
                time += self.service;
                if stop != 0 && std::mem::replace(&mut seen[stop], true) {
                    return Err(format!("stop {stop} twice").into());
                }
                at = stop;
            }
        }
        if seen.iter().skip(1).all(|seen| *seen) {
            Ok(length)
        } else {
            Err("a stop is missing".into())
        }
    }
}
