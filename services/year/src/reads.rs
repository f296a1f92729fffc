//! Second reads: who is asked when, and when one of them answers.
//!
//! Belongs here: the ladder of one read climbed with the roster's own order of readers, and the
//! tempers of those asked. Does not belong here: what the gate asks for, and the job's work.
//!
//! How likely and how quickly somebody answers is common practice, no source.

use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};
use roster::capacity::Skills;
use roster::ladder::climb::{Colleague, fire};
use roster::ladder::{Kind, Step};
use roster::reader::{Candidate, Duty, readers};

use crate::world::{For, World, chance};

/// Whoever stands on the roof leaves when nobody has answered for so long, minutes.
pub(crate) const LEAVES_AFTER_MIN: i64 = 60;

/// Without a ladder the next one is telephoned after so long, minutes.
const NEXT_CALL_MIN: i64 = 10;

/// What somebody is when they are asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Is {
    /// On duty, or not.
    pub(crate) duty: Duty,
    /// On a job.
    pub(crate) on_a_job: bool,
    /// Away sick.
    pub(crate) sick: bool,
    /// On call and at home.
    pub(crate) on_call: bool,
    /// On the second rota.
    pub(crate) second: bool,
}

/// What is known of how somebody answers, over the year.
#[derive(Clone, Debug, Default)]
pub(crate) struct Habit {
    answers: u32,
    waited_min: f64,
    asked: Vec<DateTime<Utc>>,
}

/// A read that is asked for.
#[derive(Clone, Debug)]
pub(crate) struct Read {
    pub(crate) requester: usize,
    pub(crate) needs: Skills,
    pub(crate) asked_at_min: i64,
    /// When the first answer comes, as things stand, and whose it is.
    pub(crate) answer: Option<(i64, usize)>,
    pub(crate) over: bool,
    asked: BTreeSet<usize>,
    /// It was said that it can be read from where they are.
    remote: bool,
}

impl Read {
    pub(crate) fn new(requester: usize, needs: Skills, asked_at_min: i64) -> Self {
        Read {
            requester,
            needs,
            asked_at_min,
            answer: None,
            over: false,
            asked: BTreeSet::new(),
            remote: false,
        }
    }

    /// Waits for an answer.
    pub(crate) fn waits(&self, now_min: i64) -> bool {
        !self.over && self.answer.is_none_or(|(at_min, _)| at_min > now_min)
    }
}

/// A moment of a weekend, for whoever draws from it.
#[derive(Clone, Copy)]
pub(crate) struct Moment {
    pub(crate) weekend: u64,
    pub(crate) now_min: i64,
    pub(crate) at: DateTime<Utc>,
    /// Local hour.
    pub(crate) hour: u32,
}

/// When the steps of a read's ladder come, minutes after it is asked for.
pub(crate) fn steps_min(steps: Option<&[Step<usize>]>) -> Vec<i64> {
    match steps {
        Some(steps) => steps.iter().map(|step| i64::from(step.after_min)).collect(),
        None => (0..LEAVES_AFTER_MIN / NEXT_CALL_MIN).map(|call| call * NEXT_CALL_MIN).collect(),
    }
}

/// Whoever may read it, best placed first.
fn ranked(
    world: &World,
    read: &Read,
    is: &[Is],
    habits: &[Habit],
    now: DateTime<Utc>,
) -> Vec<usize> {
    let week = now - TimeDelta::days(7);
    let candidates = (0..world.people.len()).map(|person| {
        let habit = &habits[person];
        Candidate {
            id: person,
            active: true,
            technician: true,
            qualifications: world.people[person]
                .skills
                .ids()
                .into_iter()
                .map(ToOwned::to_owned)
                .collect(),
            requester: person == read.requester,
            took_reading: person == read.requester,
            stood_aside: false,
            has_read: false,
            declined: false,
            duty: Some(is[person].duty),
            duty_until: None,
            on_leave: is[person].sick,
            on_a_job: is[person].on_a_job,
            open_reads: 0,
            answers: habit.answers,
            waited_min: habit.waited_min,
            asked_7d: u32::try_from(habit.asked.iter().filter(|at| **at > week).count())
                .unwrap_or(u32::MAX),
            last_asked_at: habit.asked.last().copied(),
            read_for_requester: 0,
            reads_of_requester: 0,
        }
    });
    let qualification = read.needs.ids().first().copied();
    let asked = readers(candidates.collect(), qualification);
    asked.ranked.into_iter().map(|one| one.id).collect()
}

/// One step: asks whom it says, or the next one where there is no ladder.
pub(crate) fn climb(
    world: &World,
    read: &mut Read,
    step: Option<&Step<usize>>,
    is: &[Is],
    habits: &mut [Habit],
    (index, moment): (u64, Moment),
) {
    let order = ranked(world, read, is, habits, moment.at);
    let asks: Vec<usize> = match step {
        None => order.iter().copied().find(|one| !read.asked.contains(one)).into_iter().collect(),
        Some(step) => {
            let people: Vec<Colleague<usize>> = (0..is.len())
                .map(|person| Colleague {
                    id: person,
                    place: order.iter().position(|one| *one == person),
                    told: false,
                    scheduler: false,
                    manages: false,
                    owner: false,
                    delegate: false,
                    on_call: is[person].on_call,
                    second_rota: is[person].second,
                    awake: is[person].duty == Duty::OnShift,
                    quiet: None,
                })
                .collect();
            fire(Kind::SecondRead, step, &people, &read.asked, moment.at, false).asked
        }
    };
    for person in asks {
        ask(world, read, person, is[person], habits, (index, moment));
    }
}

/// A rule asks everybody who may read it.
pub(crate) fn widen(
    world: &World,
    read: &mut Read,
    is: &[Is],
    habits: &mut [Habit],
    (index, moment): (u64, Moment),
) {
    for person in ranked(world, read, is, habits, moment.at) {
        ask(world, read, person, is[person], habits, (index, moment));
    }
}

/// A rule says that it can be read from where they are: those at home who were asked look again.
pub(crate) fn offer_remote(
    world: &World,
    read: &mut Read,
    is: &[Is],
    habits: &mut [Habit],
    (index, moment): (u64, Moment),
) {
    read.remote = true;
    let home: Vec<usize> =
        read.asked.iter().copied().filter(|person| is[*person].duty == Duty::Off).collect();
    for person in home {
        read.asked.remove(&person);
        ask(world, read, person, is[person], habits, (index, moment));
    }
}

fn ask(
    world: &World,
    read: &mut Read,
    person: usize,
    is: Is,
    habits: &mut [Habit],
    (index, moment): (u64, Moment),
) {
    if !read.asked.insert(person) {
        return;
    }
    let night = !(7..22).contains(&moment.hour);
    let (answers, slower) = match (is.duty, is.on_a_job, night) {
        (Duty::OnShift | Duty::OnCall, true, _) => (0.80, 2.0),
        (Duty::OnShift, false, _) => (0.95, 1.0),
        (Duty::OnCall, false, false) => (0.92, 1.2),
        (Duty::OnCall, false, true) => (0.85, 2.0),
        (Duty::Off, _, false) => (if read.remote { 0.80 } else { 0.55 }, 3.0),
        (Duty::Off, _, true) => (if read.remote { 0.30 } else { 0.15 }, 5.0),
    };
    let mut chance = chance(world.seed, For::Reads, [moment.weekend, index, person as u64]);
    let would = chance.even() < answers;
    let delay = chance.exponential(world.people[person].answers_min * slower);
    let habit = &mut habits[person];
    habit.asked.push(moment.at);
    habit.waited_min += if would { delay } else { LEAVES_AFTER_MIN as f64 };
    habit.answers += u32::from(would);
    if would {
        let at_min = moment.now_min + delay.ceil() as i64;
        if read.answer.is_none_or(|(best_min, _)| at_min < best_min) {
            read.answer = Some((at_min, person));
        }
    }
}
