//! What a search sees: tours with an end and a beginning, stops with windows, ways between places.
//!
//! Belongs here: the one form that the routing library and the improvement after it share, and a
//! roster's problem put into it: each free stretch of a person's duty is a tour, each job that
//! may move and each pause a stop. Does not belong here: searching. What is held is no stop: it
//! cuts the stretches, and so cannot be moved.

use roster::plan::duty::stretches;
use roster::plan::{CLASS_LAST, Job, Problem, Span};

/// What leaving a job of each class out counts; one of a class outweighs several of the next.
const LEFT_OUT: [f64; CLASS_LAST as usize + 1] = [1000.0, 100.0, 10.0, 1.0];
/// What leaving a pause out counts: more than any job, for without it that duty has none.
const PAUSE_LEFT_OUT: f64 = 10_000.0;
/// How many minutes of driving a minute of waiting is worth, by class.
const WAIT: [f64; CLASS_LAST as usize + 1] = [1.0, 0.4, 0.15, 0.05];
/// How many minutes of driving a minute of work is worth when given to who has had the most
/// this quarter rather than to who has had the least.
const UNEVEN: f64 = 0.5;

/// How many minutes of driving it must be worth to take a job from whoever has it.
const MOVED: f64 = 12.0;

/// What a stop is in the roster's problem.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// A job, by index.
    Job(usize),
    /// A pause of a person, by index.
    Pause(usize),
}

/// One stretch of one person's time: out from a place, back to another.
#[derive(Clone, Debug)]
pub struct Tour {
    /// Index of the person.
    pub person: usize,
    /// When.
    pub span: Span,
    /// The place it begins at.
    pub from: usize,
    /// The place it must end at.
    pub to: usize,
    /// How much load all its stops may have together.
    pub capacity: i64,
    /// What a unit of a stop's time costs here, over driving.
    pub uneven: f64,
}

/// Something to be done once, by one tour.
#[derive(Clone, Debug)]
pub struct Stop {
    /// What it is.
    pub of: Of,
    /// Where; `None` for what is done wherever one is.
    pub place: Option<usize>,
    /// When it may begin, in order; ends included.
    pub windows: Vec<Span>,
    /// How long it takes.
    pub length: i64,
    /// Its part of a tour's capacity.
    pub load: i64,
    /// By tour: whether it may be done there.
    pub may: Vec<bool>,
    /// What leaving it out counts; compared before all else.
    pub left_out: f64,
    /// What each unit of time from `ready` to its beginning costs, over driving.
    pub wait: f64,
    /// When waiting begins to count.
    pub ready: i64,
    /// The person who has it now; another one costs more.
    pub with: Option<usize>,
}

/// A routing problem in whole units of time; a roster's are minutes.
#[derive(Clone, Debug)]
pub struct Model {
    /// The tours.
    pub tours: Vec<Tour>,
    /// The stops.
    pub stops: Vec<Stop>,
    /// How many places there are.
    pub places: usize,
    /// Time from place to place, row by row.
    pub travel: Vec<i64>,
}

/// An answer: by tour, its stops in order. What is in none is left out.
pub type Tours = Vec<Vec<usize>>;

impl Stop {
    /// The first moment at or after `from` at which it may begin.
    #[must_use]
    pub fn begins(&self, from: i64) -> Option<i64> {
        let window = self.windows.iter().find(|window| from <= window.end_min)?;
        Some(from.max(window.start_min))
    }

    /// The last moment at or before `until` at which it may begin.
    #[must_use]
    pub fn begins_latest(&self, until: i64) -> Option<i64> {
        let window = self.windows.iter().rev().find(|window| window.start_min <= until)?;
        Some(until.min(window.end_min))
    }

    /// What it costs a tour that begins it at `begins`, driving left out.
    #[must_use]
    pub fn cost(&self, tour: &Tour, begins: i64) -> f64 {
        if !self.is_job() {
            return 0.0;
        }
        let moved = if self.with.is_some_and(|with| with != tour.person) { MOVED } else { 0.0 };
        self.wait * (begins - self.ready).max(0) as f64 + tour.uneven * self.length as f64 + moved
    }

    /// Whether it is a job, not a pause.
    #[must_use]
    pub fn is_job(&self) -> bool {
        matches!(self.of, Of::Job(_))
    }
}

impl Model {
    /// Time from one place to another.
    #[must_use]
    pub fn way(&self, from: usize, to: usize) -> i64 {
        self.travel[from * self.places + to]
    }

    /// A roster's problem.
    #[must_use]
    pub fn of(problem: &Problem) -> Self {
        let uneven = uneven(problem);
        let mut tours = Vec::new();
        for (index, person) in problem.people.iter().enumerate() {
            let held: Vec<&Job> = problem
                .jobs
                .iter()
                .filter(|job| job.held.is_some_and(|held| held.person == index))
                .collect();
            let free = stretches(person, &held, problem.rest);
            tours.extend(free.into_iter().map(|stretch| Tour {
                person: index,
                span: stretch.span,
                from: stretch.from,
                to: stretch.to,
                capacity: 0,
                uneven: UNEVEN * uneven[index],
            }));
        }
        let pauses = pauses(problem, &tours);
        let jobs = problem.jobs.iter().enumerate().filter_map(|(index, job)| {
            let windows = job.starts();
            if job.held.is_some() || windows.is_empty() {
                return None;
            }
            let class = usize::from(job.class.min(CLASS_LAST));
            let may = tours
                .iter()
                .map(|tour| job.skills.is_subset(&problem.people[tour.person].skills))
                .collect();
            Some(Stop {
                of: Of::Job(index),
                place: Some(job.place),
                windows,
                length: job.expected_min,
                load: 0,
                may,
                left_out: LEFT_OUT[class],
                wait: WAIT[class],
                ready: job.ready_min,
                with: job.with,
            })
        });
        let stops = pauses.into_iter().chain(jobs).collect();
        let travel = problem.travel.minutes.clone();
        Self { tours, stops, places: problem.travel.size, travel }
    }

    /// Whether there is a job to place and somebody to place it with.
    #[must_use]
    pub fn has_work(&self) -> bool {
        !self.tours.is_empty() && self.stops.iter().any(Stop::is_job)
    }
}

/// The pauses of whoever has a free stretch.
fn pauses(problem: &Problem, tours: &[Tour]) -> Vec<Stop> {
    let mut out = Vec::new();
    for (index, person) in problem.people.iter().enumerate() {
        let may: Vec<bool> = tours.iter().map(|tour| tour.person == index).collect();
        if !may.contains(&true) {
            continue;
        }
        for pause in &person.pauses {
            let latest = pause.within.end_min - pause.length_min;
            if latest >= pause.within.start_min {
                out.push(Stop {
                    of: Of::Pause(index),
                    place: None,
                    windows: vec![Span::new(pause.within.start_min, latest)],
                    length: pause.length_min,
                    load: 0,
                    may: may.clone(),
                    left_out: PAUSE_LEFT_OUT,
                    wait: 0.0,
                    ready: 0,
                    with: None,
                });
            }
        }
    }
    out
}

/// A difference below this weighs as the part of it that it is, hours: an hour's difference in
/// one quarter is chance and no ground to send somebody farther.
const UNEVEN_H: f64 = 8.0;

/// 0 for whoever is furthest below an even share, 1 for whoever is furthest above it.
fn uneven(problem: &Problem) -> Vec<f64> {
    let hours = || problem.people.iter().map(|person| person.burden_h);
    let least = hours().fold(f64::INFINITY, f64::min);
    let range = hours().fold(f64::NEG_INFINITY, f64::max) - least;
    hours().map(|had| (had - least) / range.max(UNEVEN_H)).collect()
}
