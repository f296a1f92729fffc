//! Sending people: the waiting calls put to the planner, and whoever it would send now goes.
//!
//! Belongs here: a moment of a weekend as the roster's problem, and its answer carried out. Does
//! not belong here: which plan is better.

use std::collections::BTreeSet;

use planner::{Limits, propose};
use roster::plan::{HORIZON_MAX_MIN, Held, Job, Person, Problem, Roads, Span, Travel};
use roster::queue::Urgency;

use super::{At, COMFORT_HOURS, Event, Run, Stage};

/// Rounds of search for one moment: a few calls and a few people.
const ROUNDS: usize = 1;
/// What is under way longer than expected is taken to need so many minutes more.
const STILL_MIN: i64 = 15;
/// Most waiting calls that are put to the planner at once, the most urgent first.
const PUT_MAX: usize = 40;

impl Run<'_, '_> {
    /// Sends whoever should go now.
    pub(super) fn send(&mut self) {
        let mut waiting: Vec<usize> =
            (0..self.calls.len()).filter(|call| self.stages[*call] == Stage::Waits).collect();
        let crew: Vec<usize> =
            (0..self.workers.len()).filter(|person| self.sent(*person)).collect();
        let free = |person: &&usize| matches!(self.workers[**person].at, At::Free { .. });
        if waiting.is_empty() || !crew.iter().any(|person| free(&person)) {
            return;
        }
        waiting.sort_by_key(|call| (self.calls[*call].class, self.calls[*call].at_min));
        waiting.truncate(PUT_MAX);
        let problem = self.problem(&waiting, &crew);
        self.played.plans += 1;
        let seed = self.shop.world.seed;
        let Ok(plan) = propose(&problem, &Limits::repeatable(ROUNDS, seed)) else { return };
        for (index, person) in crew.iter().enumerate() {
            let first = plan
                .visits
                .iter()
                .filter(|visit| visit.person == index && problem.jobs[visit.job].held.is_none())
                .min_by_key(|visit| visit.span);
            let (Some(visit), At::Free { .. }) = (first, self.workers[*person].at) else {
                continue;
            };
            let leaves_min = visit.span.start_min - visit.drive_min;
            if leaves_min > 0 {
                self.after(leaves_min, Event::Again);
                continue;
            }
            self.leaves(*person, waiting[visit.job], visit.drive_min);
        }
    }

    fn leaves(&mut self, person: usize, call: usize, drive_min: i64) {
        let now_min = self.now_min;
        self.stages[call] = Stage::Given;
        let hour = self.moment().hour;
        let on_shift = self.coming.duties.shift.is_some_and(|(one, ..)| one == person);
        let worker = &mut self.workers[person];
        if worker.at_home && !on_shift {
            let load = &mut self.played.loads[person];
            load.call_outs += 1;
            load.at_night += u32::from(!(6..22).contains(&hour));
        }
        worker.at_home = false;
        worker.at = At::Way { call, arrives_min: now_min + drive_min };
        // A new run of work begins after a rest; the time between two calls is no work.
        match &mut worker.run {
            Some((_, last)) if now_min - *last < self.rest.rest_min => *last = now_min,
            run => *run = Some((now_min, now_min)),
        }
        self.after(drive_min, Event::Arrives(person));
    }

    fn problem(&self, waiting: &[usize], crew: &[usize]) -> Problem {
        let world = self.shop.world;
        let mut points = Vec::new();
        let mut place = |at: [f64; 2]| {
            points.push(at);
            points.len() - 1
        };
        let mut jobs: Vec<Job> = waiting
            .iter()
            .map(|call| {
                let of = &self.calls[*call];
                Job {
                    id: call.to_string(),
                    title: String::new(),
                    place: place(of.place),
                    windows: if of.class == Urgency::Comfort { self.days() } else { Vec::new() },
                    expected_min: of.expected_min,
                    skills: of.needs.ids().into_iter().map(ToOwned::to_owned).collect(),
                    class: match of.class {
                        Urgency::NoHeatVulnerable => 0,
                        Urgency::Water | Urgency::FoodStorage => 1,
                        Urgency::NoHeatCool => 2,
                        Urgency::Comfort => 3,
                    },
                    ready_min: of.at_min - self.now_min,
                    held: None,
                    with: None,
                }
            })
            .collect();
        let mut people = Vec::new();
        for (index, person) in crew.iter().enumerate() {
            let worker = &self.workers[*person];
            let at = place(worker.place);
            let home = place(world.people[*person].home);
            let until_min = worker.sent.map_or(0, |(_, until)| until) - self.now_min;
            let rested = |run: &(i64, i64)| self.now_min - run.1 >= self.rest.rest_min;
            let run = worker.run.filter(|run| !rested(run));
            people.push(Person {
                id: person.to_string(),
                name: world.people[*person].name.to_owned(),
                skills: self.skills(*person).ids().into_iter().map(ToOwned::to_owned).collect(),
                // What they have worked since their last rest counts for the next.
                duty: vec![Span::new(run.map_or(0, |run| run.0 - self.now_min), until_min)],
                pauses: Vec::new(),
                place: at,
                home,
                rest_until_min: -HORIZON_MAX_MIN,
                burden_h: self.shop.burdens_h[*person],
            });
            let (call, since_min) = match worker.at {
                At::Free { .. } => continue,
                At::Way { call, arrives_min } => (call, arrives_min),
                At::Site { call, since_min } => (call, since_min),
            };
            let of = &self.calls[call];
            let done_min = since_min + of.expected_min - self.now_min;
            let start_min = (since_min - self.now_min).min(0);
            jobs.push(Job {
                id: call.to_string(),
                title: String::new(),
                place: place(of.place),
                windows: Vec::new(),
                expected_min: done_min.max(STILL_MIN) - start_min,
                skills: BTreeSet::new(),
                class: 0,
                ready_min: start_min,
                held: Some(Held { person: index, start_min }),
                with: None,
            });
        }
        let travel = Travel::estimated(&points, Roads::default());
        Problem { people, jobs, travel, rest: self.rest }
    }

    /// When a comfort call may be begun: by day.
    fn days(&self) -> Vec<Span> {
        let calendar = &self.shop.world.calendar;
        let whole = self.span(self.now_min, self.coming.minutes);
        let minute = |at: chrono::DateTime<chrono::Utc>| (at - self.at()).num_minutes();
        calendar
            .dates(whole)
            .into_iter()
            .map(|date| {
                let moment = |hour: u16| minute(calendar.moment(date, hour * 60));
                Span::new(moment(COMFORT_HOURS.0), moment(COMFORT_HOURS.1))
            })
            .filter(|span| span.end_min > 0)
            .collect()
    }
}
