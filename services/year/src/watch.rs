//! Whoever looks at the whole every few minutes: the rules that ship, or somebody with a telephone.
//!
//! Belongs here: what a rule sees of a simulated weekend, and when it fires. Does not belong
//! here: what its actions do to the weekend ([`crate::weekend`]).

use chrono::{DateTime, Datelike as _, TimeDelta, Utc};
use roster::capacity::erlang::chance_of_waiting_longer;
use roster::capacity::places::Places;
use roster::capacity::{CLASSES, HOUR_MIN};
use roster::rules::schema::DAYS;
use roster::rules::starting::starting;
use roster::rules::{Action, Condition, Edge, Values};

use crate::world::{Coming, World};

/// The forecast behind the chance of being late looks so many hours ahead.
const AHEAD_HOURS: usize = 3;

/// A rule and what it remembers.
pub(crate) struct Rule {
    condition: Condition,
    pub(crate) actions: Vec<Action>,
    rearm: TimeDelta,
    edge: Edge,
}

/// The rules that ship, all on. Whom they leave to be named is named.
pub(crate) fn rules() -> Vec<Rule> {
    starting()
        .into_iter()
        .filter_map(|one| {
            // Every rule that ships can be saved; the roster's tests hold them to it.
            let condition = Condition::parse(one.condition).ok()?;
            let rearm = TimeDelta::minutes(one.rearm_min);
            let edge = Edge::default();
            Some(Rule { condition, actions: one.actions, rearm, edge })
        })
        .collect()
}

impl Rule {
    pub(crate) fn fires(&mut self, values: &Values, now: DateTime<Utc>) -> bool {
        let holds = self.condition.holds(values).unwrap_or(false);
        self.edge.look(now, holds, self.rearm)
    }
}

/// What a weekend's queue says.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Queue {
    pub(crate) waiting: [i64; CLASSES],
    pub(crate) longest_urgent_min: i64,
    pub(crate) late: i64,
    pub(crate) on_duty: i64,
    pub(crate) on_call_left: i64,
    pub(crate) second_open: bool,
    pub(crate) hours_left: f64,
    pub(crate) reads: i64,
    pub(crate) read_min: i64,
}

/// The variables at a moment. The chance of being late is reckoned by Erlang C over the next
/// hours and what waits already, where the service simulates: the same question, asked quickly.
pub(crate) fn values(
    world: &World,
    coming: &Coming,
    queue: &Queue,
    (now_min, now): (i64, DateTime<Utc>),
) -> Values {
    let local = now.with_timezone(&world.calendar.zone());
    let date = local.date_naive();
    let hour = usize::try_from(now_min / 60).unwrap_or(0).min(coming.outdoor_f.len() - 1);
    let ahead = hour..(hour + AHEAD_HOURS).min(coming.demand.rate_h.len());
    let hours = ahead.len().max(1) as f64;
    let mut calls_h = [0.0; CLASSES];
    for rates in &coming.demand.rate_h[ahead] {
        for (sum, rate) in calls_h.iter_mut().zip(rates) {
            *sum += rate / hours;
        }
    }
    let all: Vec<f64> =
        (0..CLASSES).map(|class| calls_h[class] + queue.waiting[class] as f64 / hours).collect();
    let rate_h: f64 = all.iter().sum();
    let way_min = coming.demand.way_mean_min(&Places::default());
    let busy_min: f64 = (0..CLASSES)
        .map(|class| all[class] * (coming.demand.work_mean_min(class) + way_min))
        .sum::<f64>()
        / rate_h.max(f64::MIN_POSITIVE);
    let load = rate_h * busy_min / HOUR_MIN;
    let servers = u32::try_from(queue.on_duty).unwrap_or(0);
    let chance_late = std::array::from_fn(|class| {
        if servers == 0 || load >= f64::from(servers) {
            return 1.0;
        }
        let target = world.tolerable.0[class];
        chance_of_waiting_longer(load, servers, busy_min.max(1.0), target)
    });
    let day = local.weekday().num_days_from_monday() as usize;
    Values {
        weekend: day >= 5,
        holiday: world.calendar.holiday(date).is_some(),
        shop_open: world.calendar.is_open(now),
        day: DAYS[day].to_owned(),
        hour: i64::from(chrono::Timelike::hour(&local)),
        outdoor_f: i64::from(coming.outdoor_f[hour]),
        open_jobs: queue.waiting,
        urgent_unassigned: queue.waiting[..CLASSES - 1].iter().sum(),
        longest_wait_min: queue.longest_urgent_min,
        on_duty: queue.on_duty,
        on_call_left: queue.on_call_left,
        second_open: queue.second_open,
        hours_left: queue.hours_left,
        chance_late,
        reads_waiting: queue.reads,
        read_waiting_min: queue.read_min,
        late_now: queue.late,
        // Approvals are not simulated.
        ..Values::default()
    }
}
