//! One span played through: calls come in, whoever may goes, the rest wait.
//!
//! Belongs here: the queue, the people, their rest, the causes of lateness, and what may be done
//! about it while it goes on ([`Watch`]). Does not belong here: drawing calls
//! ([`super::demand`]) and adding many runs up ([`super::outlook`]).
//!
//! The queue is served by class, then by age; nobody is called away from a call that they have
//! begun. Among those who may go, the one with the fewest other qualifications goes, then whoever
//! is nearest, then whoever has been free longest. They drive from where they are, or from the shop
//! once they have been free for a while ([`BACK_AFTER_MIN`]).

use std::collections::VecDeque;

use super::places::{BACK_AFTER_MIN, SHOP};
use super::{CLASSES, Call, DutyKind, HOUR_MIN, QUALIFICATIONS, Setting, class_index};
use crate::queue::Urgency;

/// How often somebody looks at the whole: who is called out, what a rule does. Minutes.
pub const LOOK_EVERY_MIN: f64 = 15.0;

/// How long a run goes on after the span, so that its last calls can be seen to be late. Minutes.
pub const TAIL_MIN: f64 = 360.0;

/// Work that must still fit before somebody's rest is due when they are sent, minutes. Common
/// practice, no source.
pub const LAST_WORK_MIN: f64 = 60.0;

/// Why a call was late.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Everybody who might have gone was busy or resting, or nobody was on duty.
    Hours,
    /// Somebody was free, but not with this qualification: its place in [`QUALIFICATIONS`].
    Qualification(usize),
    /// Somebody went when one who starts at the call's place would have been in time, and the way
    /// was too long; the place where it is known.
    Place(Option<usize>),
}

/// What became of a call.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Outcome {
    /// When work began; none when it had not before the run was over.
    pub begun_min: Option<f64>,
    /// Put off to another day, with the customer's knowledge.
    pub deferred: bool,
    /// Why it was late; none for what was in time, put off, or not yet late at the end.
    pub late: Option<Cause>,
}

/// What somebody who looks can see.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// When, minutes.
    pub at_min: f64,
    /// Calls that wait for somebody, by class.
    pub waiting: [u32; CLASSES],
    /// How long the longest of them has waited, by class, minutes.
    pub longest_min: [f64; CLASSES],
    /// Those of them that have waited longer than they may, by class.
    pub late: [u32; CLASSES],
    /// People who can be sent now or after what they are at.
    pub on_duty: u32,
    /// People on call who have not been called out.
    pub on_call_left: u32,
    /// Whether the second rota is open.
    pub second_open: bool,
    /// Hours that those on duty have left, together.
    pub hours_left: f64,
}

impl Seen {
    /// Waiting calls of every class but comfort.
    #[must_use]
    pub fn urgent_waiting(&self) -> u32 {
        self.waiting[..CLASSES - 1].iter().sum()
    }
}

/// What can be done about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lever {
    /// The next on call comes.
    CallOutNext,
    /// Those on the second rota come.
    OpenSecond,
    /// Comfort calls that wait are put off, the oldest first.
    DeferComfort {
        /// Until then, minutes.
        until_min: f64,
        /// At most so many.
        at_most: u32,
    },
}

/// Somebody who looks every [`LOOK_EVERY_MIN`].
pub trait Watch {
    /// What to do about what is seen.
    fn look(&mut self, seen: &Seen) -> Vec<Lever>;
}

/// Nobody.
#[derive(Clone, Copy, Debug)]
pub struct Nobody;

impl Watch for Nobody {
    fn look(&mut self, _: &Seen) -> Vec<Lever> {
        Vec::new()
    }
}

/// Plays a span. `calls` are in the order of [`Call::ready_min`]; the outcomes are in theirs.
pub fn play(setting: &Setting, calls: &[Call], watch: &mut dyn Watch) -> Vec<Outcome> {
    Run::new(setting, calls).played(watch)
}

struct Worker {
    /// Where they were last.
    place: usize,
    free_at: f64,
    free_since: f64,
    run_start: Option<f64>,
    called_until: f64,
}

struct Run<'a> {
    setting: &'a Setting,
    calls: &'a [Call],
    outcomes: Vec<Outcome>,
    waiting: [VecDeque<usize>; CLASSES],
    /// Calls that their holder alone serves, by person.
    held: Vec<VecDeque<usize>>,
    put_off: Vec<(f64, usize)>,
    workers: Vec<Worker>,
    second_open: bool,
}

impl<'a> Run<'a> {
    fn new(setting: &'a Setting, calls: &'a [Call]) -> Self {
        let workers = setting.people.iter().map(|person| Worker {
            place: person.place,
            free_at: person.busy_until_min,
            free_since: person.busy_until_min.min(0.0),
            run_start: person.run_start_min,
            called_until: f64::NEG_INFINITY,
        });
        Run {
            setting,
            calls,
            outcomes: vec![Outcome::default(); calls.len()],
            waiting: Default::default(),
            held: vec![VecDeque::new(); setting.people.len()],
            put_off: Vec::new(),
            workers: workers.collect(),
            second_open: false,
        }
    }

    fn played(mut self, watch: &mut dyn Watch) -> Vec<Outcome> {
        let end = self.setting.end_min() + TAIL_MIN;
        let mut starts: Vec<f64> = self
            .setting
            .people
            .iter()
            .flat_map(|person| person.duties.iter().map(|duty| duty.start_min))
            .filter(|start| *start > 0.0)
            .collect();
        starts.sort_by(|one, other| other.total_cmp(one));
        let (mut next_call, mut next_look, mut now) = (0, 0.0, 0.0);
        while now <= end {
            while let Some(call) = self.calls.get(next_call).filter(|call| call.ready_min <= now) {
                match call.held_by.and_then(|person| self.held.get_mut(person)) {
                    Some(queue) => queue.push_back(next_call),
                    None => self.waiting[class_index(call.class)].push_back(next_call),
                }
                next_call += 1;
            }
            self.bring_back(now);
            while starts.last().is_some_and(|start| *start <= now) {
                starts.pop();
            }
            self.send(now);
            if now >= next_look {
                self.look(now, watch);
                next_look += LOOK_EVERY_MIN;
                self.send(now);
            }
            let freed = self.workers.iter().map(|worker| worker.free_at).filter(|at| *at > now);
            now = freed
                .chain(self.calls.get(next_call).map(|call| call.ready_min))
                .chain(starts.last().copied())
                .fold(next_look, f64::min);
        }
        self.outcomes
    }

    /// What was put off until now waits again.
    fn bring_back(&mut self, now: f64) {
        for at in (0..self.put_off.len()).rev() {
            if self.put_off[at].0 <= now {
                let (_, call) = self.put_off.swap_remove(at);
                self.waiting[class_index(self.calls[call].class)].push_back(call);
            }
        }
    }

    /// How a person is on duty now, and until when; none while they are not.
    fn duty(&self, person: usize, now: f64) -> Option<(DutyKind, f64)> {
        self.setting.people[person]
            .duties
            .iter()
            .find(|duty| duty.start_min <= now && now < duty.end_min)
            .map(|duty| (duty.kind, duty.end_min))
    }

    /// The person on call who comes without anybody deciding it.
    fn first_on_call(&self, now: f64) -> Option<usize> {
        let on_call =
            |person: &usize| matches!(self.duty(*person, now), Some((DutyKind::OnCall, _)));
        (0..self.workers.len()).find(on_call)
    }

    /// Whether a person can be sent, busy or not, and until when they could work.
    fn reachable(&self, person: usize, now: f64, first: Option<usize>) -> Option<f64> {
        let (kind, until) = self.duty(person, now)?;
        let comes = match kind {
            DutyKind::Shift => true,
            DutyKind::OnCall => first == Some(person) || now < self.workers[person].called_until,
            DutyKind::Second => self.second_open,
        };
        comes.then_some(until)
    }

    /// When a person's run of work must end for their rest; none while they are rested.
    fn rest_due(&self, person: usize, now: f64) -> Option<f64> {
        let worker = &self.workers[person];
        let rested = now - worker.free_at >= self.setting.rest.rest_min as f64;
        let start = worker.run_start.filter(|_| !rested)?;
        Some(start + self.setting.rest.duty_max_min as f64)
    }

    /// How long a person would drive to a call now, minutes.
    fn way_min(&self, person: usize, call: usize, now: f64) -> f64 {
        let worker = &self.workers[person];
        let back = now - worker.free_at >= BACK_AFTER_MIN;
        self.setting.way_min(if back { SHOP } else { worker.place }, &self.calls[call])
    }

    /// Sends whoever may go, the most pressing call first.
    fn send(&mut self, now: f64) {
        if self.held.iter().all(VecDeque::is_empty) && self.waiting.iter().all(VecDeque::is_empty) {
            return;
        }
        let first = self.first_on_call(now);
        let mut free: Vec<usize> = (0..self.workers.len())
            .filter(|person| self.workers[*person].free_at <= now)
            .filter(|person| self.reachable(*person, now, first).is_some())
            .filter(|person| {
                self.rest_due(*person, now).is_none_or(|due| now + LAST_WORK_MIN <= due)
            })
            .collect();
        for at in (0..free.len()).rev() {
            if let Some(call) = self.held[free[at]].pop_front() {
                let person = free.swap_remove(at);
                self.begin(now, call, person, false);
            }
        }
        free.sort_unstable();
        for class in 0..CLASSES {
            let mut at = 0;
            while at < self.waiting[class].len() && !free.is_empty() {
                let call = self.waiting[class][at];
                let needs = self.calls[call].needs;
                let people = &self.setting.people;
                let best = (0..free.len())
                    .filter(|at| people[free[*at]].skills.hold(needs))
                    .min_by(|one, other| {
                        let key = |at: usize| people[free[at]].skills.0.count_ones();
                        let way = |at: usize| self.way_min(free[at], call, now);
                        let since = |at: usize| self.workers[free[at]].free_since;
                        key(*one)
                            .cmp(&key(*other))
                            .then_with(|| way(*one).total_cmp(&way(*other)))
                            .then_with(|| since(*one).total_cmp(&since(*other)))
                    });
                let Some(best) = best else {
                    at += 1;
                    continue;
                };
                let person = free.remove(best);
                self.waiting[class].remove(at);
                self.begin(now, call, person, !free.is_empty());
            }
        }
    }

    fn begin(&mut self, now: f64, call: usize, person: usize, others_free: bool) {
        let it = self.calls[call];
        let tolerable = self.setting.tolerable.0[class_index(it.class)];
        let begun = now + self.way_min(person, call, now);
        let place = self.setting.place_of(&it);
        let near_min = place.map_or(0.0, |place| self.setting.way_min(place, &it));
        let outcome = &mut self.outcomes[call];
        outcome.begun_min = Some(begun);
        let late = begun - it.ready_min > tolerable && !outcome.deferred;
        if late && outcome.late.is_none() {
            outcome.late = Some(if now + near_min - it.ready_min <= tolerable {
                Cause::Place(place)
            } else if others_free && it.needs.0 != 0 {
                Cause::Qualification(it.needs.0.trailing_zeros() as usize)
            } else {
                Cause::Hours
            });
        }
        let rest = self.rest_due(person, now);
        let worker = &mut self.workers[person];
        if rest.is_none() {
            worker.run_start = Some(now);
        }
        worker.free_at = begun + it.takes_min;
        worker.free_since = worker.free_at;
        worker.place = place.unwrap_or(SHOP);
    }

    /// Notes what has become late, calls out by hand, and lets whoever watches act.
    fn look(&mut self, now: f64, watch: &mut dyn Watch) {
        let first = self.first_on_call(now);
        let urgent_late = self.note_late(now, first);
        if urgent_late && self.setting.called_when_late {
            self.call_out(now, first);
        }
        let seen = self.seen(now, first);
        for lever in watch.look(&seen) {
            match lever {
                Lever::CallOutNext => self.call_out(now, self.first_on_call(now)),
                Lever::OpenSecond => self.second_open = true,
                Lever::DeferComfort { until_min, at_most } => {
                    let comfort = &mut self.waiting[class_index(Urgency::Comfort)];
                    let count = comfort.len().min(at_most as usize);
                    for call in comfort.drain(..count) {
                        self.outcomes[call].deferred = true;
                        self.outcomes[call].late = None;
                        self.put_off.push((until_min, call));
                    }
                }
            }
        }
    }

    /// Notes the cause for what has just become late. Says whether something urgent is late.
    fn note_late(&mut self, now: f64, first: Option<usize>) -> bool {
        let mut urgent = false;
        for class in 0..CLASSES {
            for at in 0..self.waiting[class].len() {
                let call = self.waiting[class][at];
                let it = &self.calls[call];
                if now - it.ready_min <= self.setting.tolerable.0[class] {
                    break;
                }
                urgent |= it.class != Urgency::Comfort;
                if self.outcomes[call].late.is_none() && !self.outcomes[call].deferred {
                    let idle = |person: &usize| {
                        self.workers[*person].free_at <= now
                            && self.reachable(*person, now, first).is_some()
                            && self.rest_due(*person, now).is_none_or(|due| now < due)
                    };
                    let lacks = (0..self.workers.len())
                        .filter(idle)
                        .map(|person| it.needs.0 & !self.setting.people[person].skills.0)
                        .find(|lacks| *lacks != 0);
                    self.outcomes[call].late = Some(match lacks {
                        Some(lacks) => Cause::Qualification(lacks.trailing_zeros() as usize),
                        None => Cause::Hours,
                    });
                }
            }
        }
        urgent
    }

    fn call_out(&mut self, now: f64, first: Option<usize>) {
        let next = (0..self.workers.len()).find_map(|person| match self.duty(person, now) {
            Some((DutyKind::OnCall, until)) => {
                let left = first != Some(person) && now >= self.workers[person].called_until;
                left.then_some((person, until))
            }
            _ => None,
        });
        if let Some((person, until)) = next {
            self.workers[person].called_until = until;
        }
    }

    fn seen(&self, now: f64, first: Option<usize>) -> Seen {
        let mut seen = Seen {
            at_min: now,
            waiting: std::array::from_fn(|class| self.waiting[class].len() as u32),
            longest_min: [0.0; CLASSES],
            late: [0; CLASSES],
            on_duty: 0,
            on_call_left: 0,
            second_open: self.second_open,
            hours_left: 0.0,
        };
        for (class, queue) in self.waiting.iter().enumerate() {
            let oldest = queue.iter().map(|call| now - self.calls[*call].ready_min);
            let tolerable = self.setting.tolerable.0[class];
            seen.late[class] = oldest.clone().filter(|waited| *waited > tolerable).count() as u32;
            seen.longest_min[class] = oldest.fold(0.0, f64::max);
        }
        for person in 0..self.workers.len() {
            if let Some(until) = self.reachable(person, now, first) {
                let until = self.rest_due(person, now).map_or(until, |due| due.min(until));
                seen.on_duty += 1;
                seen.hours_left += (until - now).max(0.0) / HOUR_MIN;
            } else if matches!(self.duty(person, now), Some((DutyKind::OnCall, _))) {
                seen.on_call_left += 1;
            }
        }
        seen
    }
}

/// The qualification of a cause, in words.
#[must_use]
pub fn qualification_words(place: usize) -> String {
    QUALIFICATIONS.get(place).map_or_else(String::new, |id| id.replace('_', " "))
}

#[cfg(test)]
mod tests;
