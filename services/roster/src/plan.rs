//! A plan for a day or a weekend: what it is made from, and what it says.
//!
//! Belongs here: people, jobs, ways and rest as a planner needs them ([`Problem`]), the answer
//! ([`Plan`]), and travel estimated from coordinates. [`check`] refuses a plan that breaks
//! anything; [`duty`] turns shifts into spans that keep the rest rule; [`why`] says why a job
//! could not be placed. Does not belong here: the search itself (the planner's), clocks, rows.
//!
//! All times are whole minutes from the plan's own start; what was before it is negative.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

pub mod check;
pub mod compare;
pub mod duty;
pub mod why;

/// Most people in one plan; more is refused, with the number.
pub const PEOPLE_MAX: usize = 60;
/// Most jobs in one plan; more is refused, with the number.
pub const JOBS_MAX: usize = 400;
/// Most places (people's and jobs') in one plan; the travel matrix grows with its square.
pub const PLACES_MAX: usize = 600;
/// Most minutes from the plan's start that anything in it may lie: 14 days.
pub const HORIZON_MAX_MIN: i64 = 14 * 24 * 60;

/// How long a way is taken to be when nothing is known of one of its ends, minutes. Common
/// practice, no source.
pub const GUESSED_WAY_MIN: i64 = 25;

/// From one minute to another; the end is not within it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Span {
    /// First minute.
    pub start_min: i64,
    /// The minute after the last.
    pub end_min: i64,
}

impl Span {
    /// From `start_min` to `end_min`.
    #[must_use]
    pub fn new(start_min: i64, end_min: i64) -> Self {
        Self { start_min, end_min }
    }

    /// Whether `other` lies within, ends included.
    #[must_use]
    pub fn holds(self, other: Self) -> bool {
        self.start_min <= other.start_min && other.end_min <= self.end_min
    }

    /// Whether some minute is in both.
    #[must_use]
    pub fn meets(self, other: Self) -> bool {
        self.start_min < other.end_min && other.start_min < self.end_min
    }

    /// Minutes.
    #[must_use]
    pub fn length_min(self) -> i64 {
        (self.end_min - self.start_min).max(0)
    }
}

/// A pause that a person is owed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pause {
    /// When it must begin and end.
    pub within: Span,
    /// How long it is, minutes.
    pub length_min: i64,
}

/// Somebody who may be sent.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Person {
    /// The roster's id.
    pub id: String,
    /// What colleagues call them.
    pub name: String,
    /// What they may do.
    pub skills: BTreeSet<String>,
    /// When they may work, in order, without overlaps.
    pub duty: Vec<Span>,
    /// Pauses they are owed.
    pub pauses: Vec<Pause>,
    /// Where they are when the plan starts: an index into the travel matrix.
    pub place: usize,
    /// Where they begin every other duty, rest, and must be back at a duty's end.
    pub home: usize,
    /// They rest until then, whatever their duty says.
    pub rest_until_min: i64,
    /// How far above an even share of this quarter's weekends, nights, holidays and call-outs they
    /// are, in hours, negative below it: whoever is lower is preferred.
    pub burden_h: f64,
}

/// What cannot be moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Held {
    /// Index of the person.
    pub person: usize,
    /// When it begins, or began.
    pub start_min: i64,
}

impl Person {
    /// Duty with spans that touch made one.
    #[must_use]
    pub fn duty_joined(&self) -> Vec<Span> {
        joined(&self.duty)
    }
}

/// Spans in order, with those that touch made one.
fn joined(spans: &[Span]) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::new();
    for span in spans {
        match out.last_mut() {
            Some(last) if span.start_min <= last.end_min => {
                last.end_min = last.end_min.max(span.end_min);
            }
            _ => out.push(*span),
        }
    }
    out
}

/// A job to be done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Job {
    /// The board's id.
    pub id: String,
    /// What it is called on the board.
    pub title: String,
    /// Where: an index into the travel matrix.
    pub place: usize,
    /// When work may begin; empty: at any time.
    pub windows: Vec<Span>,
    /// How long it is expected to take.
    pub expected_min: i64,
    /// What whoever does it must be able to do, all of it.
    pub skills: BTreeSet<String>,
    /// Urgency: 0 is the most urgent; classes above [`CLASS_LAST`] count as it.
    pub class: u8,
    /// Not before; its waiting counts from here.
    pub ready_min: i64,
    /// Set when it is in progress, or put there by hand.
    pub held: Option<Held>,
    /// Index of whoever has it now: giving it to somebody else has to be worth it.
    pub with: Option<usize>,
}

/// The least urgent class.
pub const CLASS_LAST: u8 = 3;

impl Job {
    /// When work may begin, given the windows, [`Self::ready_min`] and the plan's start.
    #[must_use]
    pub fn starts(&self) -> Vec<Span> {
        let any = [Span::new(self.ready_min, HORIZON_MAX_MIN)];
        let windows = if self.windows.is_empty() { &any[..] } else { &self.windows };
        windows
            .iter()
            .map(|window| Span::new(window.start_min.max(self.ready_min).max(0), window.end_min))
            .filter(|window| window.start_min <= window.end_min)
            .collect()
    }
}

/// The shop's rest rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RestRule {
    /// Minutes without work that make a rest.
    pub rest_min: i64,
    /// Most minutes from the first work after a rest to the last before the next.
    pub duty_max_min: i64,
}

/// Minutes of driving between any two places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Travel {
    /// How many places.
    pub size: usize,
    /// Row by row.
    pub minutes: Vec<i64>,
    /// Estimated from coordinates, not given by someone who knows the roads.
    pub estimated: bool,
}

/// How crow's miles become minutes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Roads {
    /// Road length over great circle; 1.3 is common practice, no source.
    pub factor: f64,
    /// Average speed, km/h; 50 is common practice, no source.
    pub km_per_h: f64,
}

impl Default for Roads {
    fn default() -> Self {
        Self { factor: 1.3, km_per_h: 50.0 }
    }
}

impl Roads {
    /// Minutes between two points, rounded up.
    fn minutes(self, from: [f64; 2], to: [f64; 2]) -> i64 {
        let km = great_circle_km(from, to) * self.factor;
        (60.0 * km / self.km_per_h).ceil() as i64
    }
}

/// Mean radius of the earth, km (IUGG, from memory).
const EARTH_KM: f64 = 6371.0;

impl Travel {
    /// A matrix that is known. `None` unless it is square, of at most [`PLACES_MAX`] places, and
    /// nothing in it is negative or beyond the horizon.
    #[must_use]
    pub fn given(size: usize, minutes: Vec<i64>) -> Option<Self> {
        let sound = size <= PLACES_MAX
            && minutes.len() == size * size
            && minutes.iter().all(|minutes| (0..=HORIZON_MAX_MIN).contains(minutes));
        sound.then_some(Self { size, minutes, estimated: false })
    }

    /// Estimated from latitude and longitude in degrees, rounded up to whole minutes.
    #[must_use]
    pub fn estimated(points: &[[f64; 2]], roads: Roads) -> Self {
        let minutes = points
            .iter()
            .flat_map(|from| points.iter().map(move |to| (from, to)))
            .map(|(from, to)| roads.minutes(*from, *to))
            .collect();
        Self { size: points.len(), minutes, estimated: true }
    }

    /// What is known of the ways, and the rest estimated from coordinates; a way from or to a
    /// place without any is taken to be [`GUESSED_WAY_MIN`] minutes, staying at a place none.
    #[must_use]
    pub fn mixed(
        points: &[Option<[f64; 2]>],
        roads: Roads,
        known: &BTreeMap<(usize, usize), i64>,
    ) -> Self {
        let size = points.len();
        let mut estimated = false;
        let minutes = (0..size * size)
            .map(|cell| (cell / size, cell % size))
            .map(|(from, to)| match (known.get(&(from, to)), points[from], points[to]) {
                _ if from == to => 0,
                (Some(minutes), ..) => *minutes,
                (None, from, to) => {
                    estimated = true;
                    from.zip(to).map_or(GUESSED_WAY_MIN, |(from, to)| roads.minutes(from, to))
                }
            })
            .collect();
        Self { size, minutes, estimated }
    }

    /// Minutes from one place to another; nothing for a place that the matrix does not have.
    #[must_use]
    pub fn between_min(&self, from: usize, to: usize) -> i64 {
        self.minutes.get(from * self.size + to).copied().unwrap_or(0)
    }
}

/// Great circle by the haversine formula.
fn great_circle_km(from: [f64; 2], to: [f64; 2]) -> f64 {
    let [a, b] = [from.map(f64::to_radians), to.map(f64::to_radians)];
    let half = |x: f64| (x / 2.0).sin().powi(2);
    let h = half(b[0] - a[0]) + a[0].cos() * b[0].cos() * half(b[1] - a[1]);
    2.0 * EARTH_KM * h.clamp(0.0, 1.0).sqrt().asin()
}

/// Everything a plan is made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// Who may be sent.
    pub people: Vec<Person>,
    /// What is to be done.
    pub jobs: Vec<Job>,
    /// Ways.
    pub travel: Travel,
    /// Rest.
    pub rest: RestRule,
}

/// Why a problem cannot be planned at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unsound {
    /// Over a limit.
    #[error("{count} {what}; a plan takes at most {limit}: choose fewer")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many may be.
        limit: usize,
    },
    /// A place that the travel matrix does not have.
    #[error("{who} is at a place that the travel matrix does not have")]
    Place {
        /// Whose place.
        who: String,
    },
    /// A time beyond the horizon, or that ends before it begins.
    #[error("{who}: a time that ends before it begins, or is more than 14 days away")]
    Time {
        /// Whose time.
        who: String,
    },
    /// Held by a person who is not in the plan.
    #[error("{who} is held by somebody who is not in the plan")]
    Holder {
        /// The job.
        who: String,
    },
}

impl Problem {
    /// Whether it can be planned.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn sound(&self) -> Result<(), Unsound> {
        let few = |what, count, limit| {
            if count <= limit { Ok(()) } else { Err(Unsound::TooMany { what, count, limit }) }
        };
        few("people", self.people.len(), PEOPLE_MAX)?;
        few("jobs", self.jobs.len(), JOBS_MAX)?;
        few("places", self.travel.size, PLACES_MAX)?;
        let near = |minute: i64| minute.abs() <= HORIZON_MAX_MIN;
        let spans = |who: &str, spans: &[Span]| {
            let right = |s: Span| s.start_min <= s.end_min && near(s.start_min) && near(s.end_min);
            if spans.iter().copied().all(right) {
                Ok(())
            } else {
                Err(Unsound::Time { who: who.into() })
            }
        };
        let place = |who: &str, place: usize| {
            if place < self.travel.size { Ok(()) } else { Err(Unsound::Place { who: who.into() }) }
        };
        for person in &self.people {
            place(&person.name, person.place)?;
            place(&person.name, person.home)?;
            spans(&person.name, &person.duty)?;
            let pauses: Vec<Span> = person.pauses.iter().map(|pause| pause.within).collect();
            spans(&person.name, &pauses)?;
        }
        for job in &self.jobs {
            place(&job.title, job.place)?;
            spans(&job.title, &job.windows)?;
            let held_min = job.held.map_or(0, |held| held.start_min);
            let lasts = Span::new(0, job.expected_min);
            spans(&job.title, &[lasts, Span::new(job.ready_min, HORIZON_MAX_MIN)])?;
            if !near(held_min) {
                return Err(Unsound::Time { who: job.title.clone() });
            }
            if job.held.is_some_and(|held| held.person >= self.people.len()) {
                return Err(Unsound::Holder { who: job.title.clone() });
            }
        }
        Ok(())
    }
}

/// One job done by one person.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Visit {
    /// Index of the person.
    pub person: usize,
    /// Index of the job.
    pub job: usize,
    /// When work begins and ends.
    pub span: Span,
    /// Driving to it from wherever they are before.
    pub drive_min: i64,
}

/// A pause that is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PauseTaken {
    /// Index of the person.
    pub person: usize,
    /// When.
    pub span: Span,
}

/// A job that has no place in the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Index of the job.
    pub job: usize,
    /// Why, in a sentence.
    pub reason: String,
}

/// Who goes where, and when.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    /// By person, then by time; held jobs are among them.
    pub visits: Vec<Visit>,
    /// By person, then by time.
    pub pauses: Vec<PauseTaken>,
    /// What could not be placed.
    pub left_out: Vec<LeftOut>,
}

impl Plan {
    /// Minutes driven to jobs by all together.
    #[must_use]
    pub fn driven_min(&self) -> i64 {
        self.visits.iter().map(|visit| visit.drive_min).sum()
    }

    /// The longest and the mean wait from ready to begun by class, in minutes; `None` for a class
    /// of which nothing is placed.
    #[must_use]
    pub fn waits_min(&self, problem: &Problem) -> [Option<(i64, f64)>; CLASS_LAST as usize + 1] {
        std::array::from_fn(|class| {
            let waits: Vec<i64> = self
                .visits
                .iter()
                .map(|visit| (&problem.jobs[visit.job], visit.span.start_min))
                .filter(|(job, _)| usize::from(job.class.min(CLASS_LAST)) == class)
                .map(|(job, start_min)| (start_min - job.ready_min).max(0))
                .collect();
            let longest = *waits.iter().max()?;
            Some((longest, waits.iter().sum::<i64>() as f64 / waits.len() as f64))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_degree_of_latitude_is_111_km() {
        // 6371 km · π / 180 = 111.19 km; · 1.3 / 50 km/h = 173.5 min.
        let travel = Travel::estimated(&[[44.0, -93.0], [45.0, -93.0]], Roads::default());
        assert_eq!(travel.minutes, [0, 174, 174, 0]);
        assert!(travel.estimated);
    }

    #[test]
    fn known_ways_go_before_estimates_and_a_place_without_coordinates_is_guessed() {
        let points = [Some([44.0, -93.0]), Some([45.0, -93.0]), None];
        let known = BTreeMap::from([((0, 1), 90), ((2, 2), 7)]);
        let travel = Travel::mixed(&points, Roads::default(), &known);
        let guess = GUESSED_WAY_MIN;
        assert_eq!(travel.minutes, [0, 90, guess, 174, 0, guess, guess, guess, 0]);
        assert!(travel.estimated);
        let all = BTreeMap::from([((0, 1), 5), ((1, 0), 6)]);
        assert!(!Travel::mixed(&points[..2], Roads::default(), &all).estimated);
    }

    #[test]
    fn a_matrix_that_is_not_square_or_goes_back_in_time_is_refused() {
        assert!(Travel::given(2, vec![0, 1, 1]).is_none());
        assert!(Travel::given(2, vec![0, -1, 1, 0]).is_none());
        assert_eq!(Travel::given(2, vec![0, 3, 4, 0]).map(|t| t.between_min(1, 0)), Some(4));
    }
}
