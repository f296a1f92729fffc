//! What a rule would have done: a span played with it and without it.
//!
//! Belongs here: a rule as somebody who watches a simulated span, and the answer in words. Does
//! not belong here: where the span is from, last weekend or a draw (the store's).
//!
//! Of the actions, those that bring people and put calls off are played on the calls, wider asking
//! and a delegate on the second reads and approvals that waited ([`papers`]). What an offer of a
//! remote read or a neighbour's help would have changed is in nothing that a shop keeps; for them the
//! answer is only when the rule would have fired. For each action the answer says which it was.

use chrono::{DateTime, TimeDelta, Utc};
use serde::Serialize;

use self::papers::Papers;
use super::action::Action;
use super::{Condition, Edge, Values};
use crate::capacity::simulate::{Lever, Nobody, Outcome, Seen, Watch, play};
use crate::capacity::{CLASSES, Call, HOUR_MIN, Setting, class_index};
use crate::queue::Urgency;

pub mod papers;
mod said;

pub use said::{Played, span};

/// A rule to try.
#[derive(Clone, Copy, Debug)]
pub struct Tried<'a> {
    /// When it fires.
    pub condition: &'a Condition,
    /// What it does.
    pub actions: &'a [Action],
    /// Minutes before it may fire again.
    pub rearm_min: i64,
}

/// What is not the queue's: the calendar, the weather, what waits elsewhere, by the hour.
#[derive(Clone, Debug, PartialEq)]
pub struct Backdrop {
    /// When the span begins.
    pub start: DateTime<Utc>,
    /// One for each hour; the last stands for what follows. What the queue says is overwritten.
    pub hours: Vec<Values>,
    /// The start of the next open day as seen from each hour, minutes from the start.
    pub next_open_min: Vec<f64>,
}

/// One firing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fired {
    /// When.
    pub at: DateTime<Utc>,
    /// What the condition looked at, as it was then.
    pub values: Values,
    /// Comfort calls put off by it.
    pub put_off: u32,
}

/// What became of the span.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Course {
    /// Calls of the span.
    pub calls: u32,
    /// Urgent calls that waited longer than they may.
    pub late: u32,
    /// The longest wait of an urgent call, minutes; one that nobody began counts to the end.
    pub longest_urgent_min: f64,
    /// Calls put off.
    pub put_off: u32,
    /// Second reads that waited.
    pub reads: u32,
    /// The longest wait of one, minutes.
    pub longest_read_min: f64,
    /// Approvals that waited.
    pub approvals: u32,
    /// The longest wait of one, minutes.
    pub longest_approval_min: f64,
}

/// What a rule would have done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// Each time it would have fired.
    pub fired: Vec<Fired>,
    /// Without it.
    pub without: Course,
    /// With it.
    pub with: Course,
    /// Looks at which the condition could not be told, and why the first time.
    pub untold: Option<String>,
    /// In words.
    pub says: String,
    /// Each action: played, or only counted, and why.
    pub actions: Vec<Played>,
}

/// Plays the same calls without the rule and with it; `papers` are those of the span, none where
/// it is one of which none are known.
#[must_use]
pub fn rehearse(
    setting: &Setting,
    calls: &[Call],
    tried: Tried<'_>,
    backdrop: &Backdrop,
    papers: Option<&Papers>,
) -> Answer {
    let none = Papers::default();
    let known = papers.unwrap_or(&none);
    let waited = papers::Course::new(known).waited(setting.end_min());
    let before = play(setting, calls, &mut Nobody);
    let mut rule = Rehearsed {
        tried,
        backdrop,
        setting,
        edge: Edge::default(),
        fired: Vec::new(),
        untold: None,
        papers: papers::Course::new(known),
    };
    let after = play(setting, calls, &mut rule);
    let without = course(setting, calls, &before, waited);
    let with = course(setting, calls, &after, rule.papers.waited(setting.end_min()));
    let says = said::answer(rule.fired.len(), without, with);
    let actions = tried.actions.iter().map(|action| said::played(action, papers)).collect();
    Answer { fired: rule.fired, without, with, untold: rule.untold, says, actions }
}

/// How a rule that is on is expected to fire in a coming span.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WillFire {
    /// Which of the rules asked about.
    pub rule: usize,
    /// Share of the runs in which it fires at all.
    pub share: f64,
    /// Middle of the runs' first firings, minutes from the span's start.
    pub first_min: f64,
}

/// All rules together in one run.
struct Together<'a> {
    rules: &'a [Tried<'a>],
    backdrop: &'a Backdrop,
    end_min: f64,
    edges: Vec<Edge>,
    first: Vec<Option<f64>>,
}

impl Watch for Together<'_> {
    fn look(&mut self, seen: &Seen) -> Vec<Lever> {
        let Some((values, until_min)) = self.backdrop.at(seen, self.end_min) else {
            return Vec::new();
        };
        let context = values.context();
        let now = self.backdrop.moment(seen.at_min);
        let mut all = Vec::new();
        for (at, rule) in self.rules.iter().enumerate() {
            let holds = rule.condition.holds_in(&context).unwrap_or(false);
            if self.edges[at].look(now, holds, TimeDelta::minutes(rule.rearm_min)) {
                self.first[at].get_or_insert(seen.at_min);
                all.extend(levers(rule.actions, until_min));
            }
        }
        all
    }
}

/// Plays the rules together over many draws of a span; says how each fires, those that never do
/// left out.
#[must_use]
pub fn will_fire<'a>(
    setting: &Setting,
    draws: impl Iterator<Item = Vec<Call>>,
    rules: &'a [Tried<'a>],
    backdrop: &'a Backdrop,
) -> Vec<WillFire> {
    let mut firsts: Vec<Vec<f64>> = vec![Vec::new(); rules.len()];
    let mut runs = 0_u32;
    for calls in draws {
        let mut together = Together {
            rules,
            backdrop,
            end_min: setting.end_min(),
            edges: vec![Edge::default(); rules.len()],
            first: vec![None; rules.len()],
        };
        play(setting, &calls, &mut together);
        runs += 1;
        for (all, first) in firsts.iter_mut().zip(together.first) {
            all.extend(first);
        }
    }
    firsts
        .into_iter()
        .enumerate()
        .filter(|(_, firsts)| !firsts.is_empty())
        .map(|(rule, mut firsts)| {
            firsts.sort_by(f64::total_cmp);
            let share = firsts.len() as f64 / f64::from(runs.max(1));
            WillFire { rule, share, first_min: firsts[firsts.len() / 2] }
        })
        .collect()
}

impl Backdrop {
    /// The values at a look, and when the next open day is; none after the span.
    fn at(&self, seen: &Seen, end_min: f64) -> Option<(Values, f64)> {
        if seen.at_min >= end_min {
            return None;
        }
        let hour = (seen.at_min / HOUR_MIN) as usize;
        let base = self.hours.get(hour).or(self.hours.last())?;
        let until = self.next_open_min.get(hour).or(self.next_open_min.last());
        Some((with_queue(base, seen), until.copied().unwrap_or(f64::INFINITY)))
    }

    fn moment(&self, at_min: f64) -> DateTime<Utc> {
        self.start + TimeDelta::seconds((at_min * 60.0) as i64)
    }
}

/// What of a rule's actions can be played.
fn levers(actions: &[Action], until_min: f64) -> Vec<Lever> {
    actions
        .iter()
        .filter_map(|action| match action {
            Action::CallOutNext {} => Some(Lever::CallOutNext),
            Action::OpenSecondRota {} => Some(Lever::OpenSecond),
            Action::DeferComfort { at_most, .. } => {
                Some(Lever::DeferComfort { until_min, at_most: *at_most })
            }
            Action::OfferRemoteRead {}
            | Action::WidenReaders {}
            | Action::DelegateApprovals { .. }
            | Action::AskNeighbour { .. } => None,
        })
        .collect()
}

struct Rehearsed<'a> {
    tried: Tried<'a>,
    backdrop: &'a Backdrop,
    setting: &'a Setting,
    edge: Edge,
    fired: Vec<Fired>,
    untold: Option<String>,
    papers: papers::Course<'a>,
}

impl Watch for Rehearsed<'_> {
    fn look(&mut self, seen: &Seen) -> Vec<Lever> {
        let Some((mut values, until_min)) = self.backdrop.at(seen, self.setting.end_min()) else {
            return Vec::new();
        };
        self.papers.show(&mut values, seen.at_min);
        let holds = self.tried.condition.holds(&values).unwrap_or_else(|error| {
            self.untold.get_or_insert(error);
            false
        });
        let now = self.backdrop.moment(seen.at_min);
        if !self.edge.look(now, holds, TimeDelta::minutes(self.tried.rearm_min)) {
            return Vec::new();
        }
        for action in self.tried.actions {
            self.papers.act(action, seen.at_min);
        }
        let levers = levers(self.tried.actions, until_min);
        let put_off = levers.iter().map(|lever| match lever {
            Lever::DeferComfort { at_most, .. } => seen.waiting[CLASSES - 1].min(*at_most),
            Lever::CallOutNext | Lever::OpenSecond => 0,
        });
        self.fired.push(Fired { at: now, values, put_off: put_off.sum() });
        levers
    }
}

/// The values of an hour with what the queue says now.
fn with_queue(base: &Values, seen: &Seen) -> Values {
    let urgent = |of: &dyn Fn(usize) -> f64| (0..CLASSES - 1).map(of).fold(0.0, f64::max);
    Values {
        open_jobs: seen.waiting.map(i64::from),
        urgent_unassigned: i64::from(seen.urgent_waiting()),
        longest_wait_min: urgent(&|class| seen.longest_min[class]) as i64,
        on_duty: i64::from(seen.on_duty),
        on_call_left: i64::from(seen.on_call_left),
        second_open: seen.second_open,
        hours_left: seen.hours_left,
        late_now: seen.late[..CLASSES - 1].iter().copied().map(i64::from).sum(),
        ..base.clone()
    }
}

fn course(
    setting: &Setting,
    calls: &[Call],
    outcomes: &[Outcome],
    waited: papers::Waits,
) -> Course {
    let end = setting.end_min();
    let mut course = Course {
        reads: waited.reads,
        longest_read_min: waited.longest_read_min,
        approvals: waited.approvals,
        longest_approval_min: waited.longest_approval_min,
        ..Course::default()
    };
    for (call, outcome) in calls.iter().zip(outcomes).filter(|(call, _)| call.ready_min < end) {
        let class = class_index(call.class);
        course.calls += 1;
        course.put_off += u32::from(outcome.deferred);
        if call.class != Urgency::Comfort {
            let waited = outcome.begun_min.unwrap_or(end) - call.ready_min;
            course.longest_urgent_min = course.longest_urgent_min.max(waited);
            course.late += u32::from(waited > setting.tolerable.0[class]);
        }
    }
    course
}

#[cfg(test)]
mod tests;
