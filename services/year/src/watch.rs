//! Whoever looks at the whole every few minutes: the rules that ship, or somebody with a telephone.
//!
//! Belongs here: what a rule sees of a simulated weekend, and when it fires. Does not belong
//! here: the chance of being late ([`crate::late`]), and what a rule's actions do to the weekend
//! ([`crate::weekend`]).

use chrono::{DateTime, Datelike as _, TimeDelta, Utc};
use roster::capacity::CLASSES;
use roster::rules::schema::DAYS;
use roster::rules::starting::starting;
use roster::rules::{Action, Condition, Edge, Values};

use crate::world::{Coming, World};

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
    pub(crate) approvals: i64,
    pub(crate) approval_min: i64,
    pub(crate) approval_cents: i64,
}

/// The variables at a moment.
pub(crate) fn values(
    world: &World,
    coming: &Coming,
    queue: &Queue,
    chance_late: [f64; CLASSES],
    (now_min, now): (i64, DateTime<Utc>),
) -> Values {
    let local = now.with_timezone(&world.calendar.zone());
    let date = local.date_naive();
    let hour = usize::try_from(now_min / 60).unwrap_or(0).min(coming.outdoor_f.len() - 1);
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
        approvals_waiting: queue.approvals,
        approval_waiting_min: queue.approval_min,
        approval_amount: queue.approval_cents as f64 / 100.0,
    }
}
