//! One weekend played: calls come, people are sent, reads are asked for, somebody looks.
//!
//! Belongs here: the simulated clock, where everybody is, what happens in which order. Does not
//! belong here: who should go (the planner's), who is asked (the roster's), what is drawn
//! ([`crate::world`]).

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

use chrono::{DateTime, TimeDelta, Timelike as _, Utc};
use roster::calendar::Span as Clock;
use roster::capacity::{Skills, class_index};
use roster::ladder::climb::{Colleague, fire};
use roster::ladder::{Kind, Ladders, Step, Variant};
use roster::plan::RestRule;
use roster::queue::Urgency;
use roster::reader::Duty;

use crate::Way;
use crate::approvals::{Approval, By, Delegate};
use crate::late::Late;
use crate::reads::{Habit, LEAVES_AFTER_MIN, Moment, Read};
use crate::watch::{self, Rule};
use crate::world::{Call, Coming, For, World, chance};

mod act;
mod approve;
mod read;
mod send;

/// How often somebody looks at the whole, minutes.
const LOOK_EVERY_MIN: i64 = 15;
/// Whoever has had nothing to do for so long has gone home, minutes.
const HOME_AFTER_MIN: i64 = 30;
/// Which part of the work is done when a second read is asked for.
const READ_AT: f64 = 0.6;
/// Somebody off duty who comes to help stays for so long, minutes.
const HELPS_FOR_MIN: i64 = 360;
/// How often a neighbouring crew comes when asked, how many calls it takes, and how soon it is
/// there, minutes.
const NEIGHBOUR: (f64, usize, i64) = (0.5, 2, 45);
/// Comfort calls are begun between these hours of the day.
pub(crate) const COMFORT_HOURS: (u16, u16) = (7, 21);

/// What became of a call.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// How pressing.
    pub class: usize,
    /// When it came, minutes of the weekend.
    pub at_min: i64,
    /// When work began; none where it was put off, or was left for the next open day.
    pub begun_min: Option<i64>,
    /// Put off, with the customer's knowledge.
    pub put_off: bool,
    /// It was put off and got worse; this is the call that came of it.
    pub worse: bool,
    /// A neighbouring crew went.
    pub neighbour: bool,
}

/// What became of an approval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Approved {
    /// How long it waited and who answered; none where nobody did on the weekend.
    pub answered: Option<(i64, By)>,
    /// The answer came while whoever asked was still there.
    pub in_visit: bool,
}

/// What a weekend was for somebody.
#[derive(Clone, Debug, Default)]
pub struct Load {
    /// Driving and work, minutes.
    pub busy_min: i64,
    /// Times called from home, off shift.
    pub call_outs: u32,
    /// Of those, between 22 and 6.
    pub at_night: u32,
}

/// A rule that fired.
#[derive(Clone, Debug)]
pub struct Firing {
    /// Which of the rules that ship.
    pub rule: usize,
    /// When, minutes of the weekend.
    pub at_min: i64,
}

/// What became of a weekend.
#[derive(Clone, Debug, Default)]
pub struct Played {
    /// Its calls, in order; those that got worse at the end.
    pub calls: Vec<Outcome>,
    /// By person.
    pub loads: Vec<Load>,
    /// Minutes in which each second read was answered; none where nobody did in time.
    pub reads: Vec<(i64, Option<i64>)>,
    /// Approvals, in the order in which they were asked for.
    pub approvals: Vec<Approved>,
    /// Rules that fired.
    pub firings: Vec<Firing>,
    /// Times the planner was asked.
    pub plans: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    Comes(usize),
    Worse(usize),
    Finishes(usize),
    Arrives(usize),
    AsksRead(usize),
    ReadStep(usize, usize),
    ReadSettles(usize),
    JobStep(usize, usize),
    Joins(usize),
    Home(usize),
    Look,
    Again,
    ApprovalStep(usize, usize),
}

/// Where somebody is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum At {
    /// Free, at a place since a minute.
    Free { since_min: i64 },
    /// On the way to a call, there at a minute.
    Way { call: usize, arrives_min: i64 },
    /// At a call since a minute.
    Site { call: usize, since_min: i64 },
}

/// Somebody on this weekend.
#[derive(Clone, Debug)]
struct Worker {
    place: [f64; 2],
    at: At,
    at_home: bool,
    /// May be sent from, until.
    sent: Option<(i64, i64)>,
    /// Their present run of work, first and last minute.
    run: Option<(i64, i64)>,
    coming: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    ToCome,
    Waits,
    Given,
    Begun,
    Over,
}

/// The shop over a year, working one way.
pub struct Shop<'a> {
    world: &'a World,
    way: Way,
    rules: Vec<Rule>,
    ladders: Ladders<usize>,
    habits: Vec<Habit>,
    burdens_h: Vec<f64>,
}

impl<'a> Shop<'a> {
    /// At the year's beginning.
    #[must_use]
    pub fn new(world: &'a World, way: Way) -> Self {
        Shop {
            world,
            way,
            rules: if way == Way::Rules { watch::rules() } else { Vec::new() },
            ladders: Ladders::shipped(),
            habits: vec![Habit::default(); world.people.len()],
            burdens_h: vec![0.0; world.people.len()],
        }
    }

    /// Plays the next weekend.
    pub fn play(&mut self, index: usize) -> Played {
        let world = self.world;
        let coming = &world.weekends[index];
        let played = Run::new(self, index, coming).played();
        for (burden_h, load) in self.burdens_h.iter_mut().zip(&played.loads) {
            // The quarter forgets slowly here; what matters is who had more of late.
            *burden_h = *burden_h * 0.93 + load.busy_min as f64 / 60.0;
        }
        played
    }
}

struct Run<'s, 'a> {
    shop: &'s mut Shop<'a>,
    index: u64,
    coming: &'a Coming,
    rest: RestRule,
    now_min: i64,
    events: BinaryHeap<Reverse<(i64, Event)>>,
    calls: Vec<Call>,
    stages: Vec<Stage>,
    outcomes: Vec<Outcome>,
    workers: Vec<Worker>,
    reads: Vec<Read>,
    approvals: Vec<Approval>,
    delegate: Option<Delegate>,
    late: Late,
    /// By call: its read.
    read_of: Vec<Option<usize>>,
    asked_to_come: Vec<BTreeSet<usize>>,
    second_open: bool,
    told: bool,
    played: Played,
}

impl<'s, 'a> Run<'s, 'a> {
    fn new(shop: &'s mut Shop<'a>, index: usize, coming: &'a Coming) -> Self {
        let world = shop.world;
        let mut workers: Vec<Worker> = world
            .people
            .iter()
            .map(|member| Worker {
                place: member.home,
                at: At::Free { since_min: -HOME_AFTER_MIN },
                at_home: true,
                sent: None,
                run: None,
                coming: false,
            })
            .collect();
        if let Some((person, from, until)) = coming.duties.shift {
            workers[person].sent = Some((from, until));
        }
        if let Some(first) = coming.duties.on_call.first() {
            workers[*first].sent = Some((0, coming.minutes));
        }
        let calls = coming.calls.clone();
        let mut events = BinaryHeap::new();
        for (call, of) in calls.iter().enumerate() {
            events.push(Reverse((of.at_min, Event::Comes(call))));
        }
        for look in 0..=coming.minutes / LOOK_EVERY_MIN {
            events.push(Reverse((look * LOOK_EVERY_MIN, Event::Look)));
        }
        let count = calls.len();
        Run {
            rest: world.calendar.rest().into(),
            index: index as u64,
            coming,
            now_min: 0,
            events,
            stages: vec![Stage::ToCome; count],
            outcomes: calls
                .iter()
                .map(|call| Outcome {
                    class: class_index(call.class),
                    at_min: call.at_min,
                    ..Outcome::default()
                })
                .collect(),
            calls,
            reads: Vec::new(),
            approvals: Vec::new(),
            delegate: None,
            late: Late::default(),
            read_of: vec![None; count],
            asked_to_come: vec![BTreeSet::new(); count],
            second_open: false,
            told: false,
            played: Played { loads: vec![Load::default(); workers.len()], ..Played::default() },
            workers,
            shop,
        }
    }

    fn played(mut self) -> Played {
        while let Some(Reverse((at_min, event))) = self.events.pop() {
            if at_min > self.coming.minutes {
                break;
            }
            self.now_min = at_min;
            self.happens(event);
            // Whoever is free is sent once all that happens in this minute has happened.
            let more = self.events.peek().is_some_and(|Reverse((next, _))| *next == at_min);
            if self.told && !more {
                self.told = false;
                self.send();
            }
        }
        let asked = self.reads.iter().map(|read| {
            let answered =
                read.answer.filter(|(at_min, _)| at_min - read.asked_at_min <= LEAVES_AFTER_MIN);
            (read.asked_at_min, answered.map(|(at_min, _)| at_min - read.asked_at_min))
        });
        self.played.reads = asked.collect();
        let end_min = self.coming.minutes;
        let approved = self.approvals.iter().map(|approval| {
            let answered = approval.answer.filter(|(at_min, _)| *at_min <= end_min);
            Approved {
                answered: answered.map(|(at_min, by)| (at_min - approval.asked_at_min, by)),
                in_visit: answered.is_some_and(|(at_min, _)| at_min <= approval.leaves_min),
            }
        });
        self.played.approvals = approved.collect();
        self.played.calls = self.outcomes;
        self.played
    }

    fn at(&self) -> DateTime<Utc> {
        self.coming.span.start + TimeDelta::minutes(self.now_min)
    }

    fn moment(&self) -> Moment {
        let local = self.at().with_timezone(&self.shop.world.calendar.zone());
        Moment { weekend: self.index, now_min: self.now_min, at: self.at(), hour: local.hour() }
    }

    fn after(&mut self, minutes: i64, event: Event) {
        self.events.push(Reverse((self.now_min + minutes.max(0), event)));
    }

    fn happens(&mut self, event: Event) {
        match event {
            Event::Comes(call) => self.comes(call),
            Event::Worse(call) => self.worse(call),
            Event::Arrives(person) => self.arrives(person),
            Event::Finishes(person) => self.finishes(person),
            Event::AsksRead(call) => self.asks_read(call),
            Event::ReadStep(read, step) => self.read_step(read, step),
            Event::ReadSettles(read) => self.read_settles(read),
            Event::JobStep(call, step) => self.job_step(call, step),
            Event::Joins(person) => self.joins(person),
            Event::Home(person) => self.home(person),
            Event::Look => self.look(),
            Event::Again => self.told = true,
            Event::ApprovalStep(approval, step) => self.approval_step(approval, step),
        }
    }

    fn comes(&mut self, call: usize) {
        self.stages[call] = Stage::Waits;
        self.told = true;
        let urgent = self.shop.ladders.urgent.contains(&self.calls[call].class);
        if urgent && self.shop.way != Way::Telephone {
            for (step, at) in self.steps(Kind::UrgentJob).iter().map(|s| s.after_min).enumerate() {
                self.after(i64::from(at), Event::JobStep(call, step));
            }
        }
    }

    fn steps(&self, kind: Kind) -> Vec<Step<usize>> {
        self.shop.ladders.of(kind).on(Variant::Weekend).to_vec()
    }

    /// What was put off got worse: the customer says so by the link, and a call comes of it.
    fn worse(&mut self, call: usize) {
        let again = Call {
            at_min: self.now_min,
            class: Urgency::NoHeatCool,
            worse_after_min: None,
            ..self.calls[call].clone()
        };
        self.outcomes.push(Outcome {
            class: class_index(again.class),
            at_min: self.now_min,
            worse: true,
            ..Outcome::default()
        });
        self.calls.push(again);
        self.stages.push(Stage::ToCome);
        self.read_of.push(None);
        self.asked_to_come.push(BTreeSet::new());
        self.comes(self.calls.len() - 1);
    }

    fn arrives(&mut self, person: usize) {
        let At::Way { call, .. } = self.workers[person].at else { return };
        self.stages[call] = Stage::Begun;
        self.outcomes[call].begun_min = Some(self.now_min);
        self.workers[person].at = At::Site { call, since_min: self.now_min };
        self.workers[person].place = self.calls[call].place;
        let takes_min = self.calls[call].takes_min;
        if self.calls[call].read {
            let until = (takes_min as f64 * READ_AT) as i64;
            self.after(until, Event::AsksRead(call));
        } else {
            self.after(takes_min, Event::Finishes(person));
        }
    }

    fn finishes(&mut self, person: usize) {
        let At::Site { call, .. } = self.workers[person].at else { return };
        self.stages[call] = Stage::Over;
        let now_min = self.now_min;
        let worker = &mut self.workers[person];
        worker.at = At::Free { since_min: now_min };
        if let Some(run) = &mut worker.run {
            self.played.loads[person].busy_min += now_min - run.1;
            run.1 = now_min;
        }
        self.after(HOME_AFTER_MIN, Event::Home(person));
        self.told = true;
    }

    fn home(&mut self, person: usize) {
        let worker = &mut self.workers[person];
        let At::Free { since_min } = worker.at else { return };
        if self.now_min - since_min >= HOME_AFTER_MIN {
            worker.at_home = true;
            worker.place = self.shop.world.people[person].home;
        }
    }

    /// Whether somebody may be sent now.
    fn sent(&self, person: usize) -> bool {
        self.workers[person]
            .sent
            .is_some_and(|(from, until)| from <= self.now_min && self.now_min < until)
    }

    /// A step of the ladder of an urgent call that nobody has.
    fn job_step(&mut self, call: usize, step: usize) {
        if self.stages[call] != Stage::Waits {
            return;
        }
        let steps = self.steps(Kind::UrgentJob);
        let is = self.is();
        let needs = self.calls[call].needs;
        let mut able: Vec<usize> = (0..is.len())
            .filter(|person| {
                self.can_join(*person) && self.shop.world.people[*person].skills.hold(needs)
            })
            .collect();
        able.sort_by_key(|person| (!is[*person].on_call, !is[*person].second, *person));
        let people: Vec<Colleague<usize>> = (0..is.len())
            .map(|person| Colleague {
                id: person,
                place: able.iter().position(|one| *one == person),
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
        let asked = std::mem::take(&mut self.asked_to_come[call]);
        let fired = fire(Kind::UrgentJob, &steps[step], &people, &asked, self.at(), false);
        self.asked_to_come[call] = asked;
        for person in fired.asked {
            self.asked_to_come[call].insert(person);
            self.call_out(person, call as u64);
        }
    }

    /// Whether somebody could come who has not yet.
    fn can_join(&self, person: usize) -> bool {
        let duties = &self.coming.duties;
        let worker = &self.workers[person];
        !self.sent(person)
            && !worker.coming
            && !duties.sick.contains(&person)
            && worker.sent.is_none_or(|(from, _)| from <= self.now_min)
    }

    /// Asks somebody at home to come; they may, after a while.
    fn call_out(&mut self, person: usize, about: u64) {
        if !self.can_join(person) {
            return;
        }
        let duties = &self.coming.duties;
        let (comes, mean_min) = if duties.on_call.contains(&person) {
            (0.95, 4.0)
        } else if duties.second.contains(&person) {
            (0.7, 8.0)
        } else {
            (0.2, 10.0)
        };
        let which = [self.index, about, person as u64];
        let mut chance = chance(self.shop.world.seed, For::Ladder, which);
        if chance.even() < comes {
            self.workers[person].coming = true;
            let delay = chance.exponential(mean_min).ceil() as i64;
            self.after(delay, Event::Joins(person));
        }
    }

    fn joins(&mut self, person: usize) {
        let duties = &self.coming.duties;
        let rota = duties.on_call.contains(&person) || duties.second.contains(&person);
        let until = if rota {
            self.coming.minutes
        } else {
            (self.now_min + HELPS_FOR_MIN).min(self.coming.minutes)
        };
        self.workers[person].coming = false;
        self.workers[person].sent = Some((self.now_min, until));
        self.told = true;
    }

    fn skills(&self, person: usize) -> Skills {
        self.shop.world.people[person].skills
    }

    fn span(&self, from_min: i64, to_min: i64) -> Clock {
        let start = self.coming.span.start;
        Clock::new(start + TimeDelta::minutes(from_min), start + TimeDelta::minutes(to_min))
    }
}
