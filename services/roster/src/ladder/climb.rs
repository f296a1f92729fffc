//! Climbing: whom a step reaches now, what quiet hours do with it, which step comes next.
//!
//! Belongs here: the decision for one step ([`fire`]), the moving of due times ([`hand_on`],
//! [`hold`]), and a whole climb seen ahead ([`ahead`]). Does not belong here: carrying it out.
//!
//! A step leaves alone whoever has quiet hours. When that leaves nobody, it waits until the
//! first of them ends, and the next step that does not wait is tried at once: so a step goes to
//! whoever can be reached next, or waits until the morning. Whoever is on duty or at this moment
//! at a screen has no quiet hours.

use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};

use super::{Kind, Quiet, Step, Who};

/// Somebody of the shop, as a step finds them now.
#[derive(Clone, Debug, PartialEq)]
pub struct Colleague<Id> {
    /// Who.
    pub id: Id,
    /// Where they stand among those who can take it, from 0; absent where they cannot.
    pub place: Option<usize>,
    /// Whether they may be told of it at all: whoever waits for the answer need not be.
    pub told: bool,
    /// Gives out work.
    pub scheduler: bool,
    /// Service manager or owner.
    pub manages: bool,
    /// Owner.
    pub owner: bool,
    /// Answers for money in the managers' stead now.
    pub delegate: bool,
    /// On call now.
    pub on_call: bool,
    /// On the second rota now.
    pub second_rota: bool,
    /// On shift now, or at a screen.
    pub awake: bool,
    /// Their quiet hours.
    pub quiet: Option<Quiet>,
}

impl<Id> Colleague<Id> {
    /// Until when they are left alone; nothing when they can be reached.
    pub fn quiet_until(&self, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        if self.on_call || self.second_rota || self.awake {
            return None;
        }
        self.quiet?.until(now)
    }
}

/// What a step does at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Fire<Id> {
    /// Who is asked to take it, best placed first.
    pub asked: Vec<Id>,
    /// Who is told of it.
    pub told: Vec<Id>,
    /// Who is left alone, until when.
    pub quiet: Vec<(Id, DateTime<Utc>)>,
}

impl<Id> Fire<Id> {
    /// Until when the step waits, when quiet hours are all that keeps it from reaching somebody.
    pub fn held_until(&self) -> Option<DateTime<Utc>> {
        if self.reaches_nobody() { self.quiet.iter().map(|(_, until)| *until).min() } else { None }
    }

    /// Whether nobody is asked or told.
    pub fn reaches_nobody(&self) -> bool {
        self.asked.is_empty() && self.told.is_empty()
    }
}

/// Whom a step reaches now. `asked` holds who has been asked already on this ladder and is not
/// asked again as one of the able; those who answer for money are reminded. `never_quiet` is for
/// what is told at any hour.
pub fn fire<Id: Clone + Ord>(
    kind: Kind,
    step: &Step<Id>,
    people: &[Colleague<Id>],
    asked: &BTreeSet<Id>,
    now: DateTime<Utc>,
    never_quiet: bool,
) -> Fire<Id> {
    let mut fired = Fire { asked: Vec::new(), told: Vec::new(), quiet: Vec::new() };
    let mut able: Vec<&Colleague<Id>> =
        people.iter().filter(|one| one.place.is_some() && !asked.contains(&one.id)).collect();
    able.sort_by_key(|one| one.place);
    for who in &step.who {
        let most = match who {
            Who::Best => 1,
            Who::Next { count } => usize::from(*count),
            _ => usize::MAX,
        };
        let by_place = matches!(
            who,
            Who::Best | Who::Next { .. } | Who::Everyone | Who::OnCall | Who::SecondRota
        );
        if by_place && !(kind == Kind::Approval && *who == Who::Everyone) {
            let group = able.iter().copied().filter(|one| is_in(who, one));
            reach(group, most, now, never_quiet, &mut fired, true);
            continue;
        }
        // By name or by role: they are told, or asked where it is theirs to take.
        for one in people.iter().filter(|one| is_in(who, one)) {
            let asks = one.place.is_some()
                && (kind == Kind::Approval || matches!(who, Who::Person { .. }));
            if !asks && (kind == Kind::Approval || !one.told) {
                continue;
            }
            reach([one].into_iter(), 1, now, never_quiet, &mut fired, asks);
        }
    }
    let reached: BTreeSet<Id> = fired.asked.iter().chain(&fired.told).cloned().collect();
    fired.quiet.retain(|(id, _)| !reached.contains(id));
    fired
}

/// Reaches the first `most` of a group who can be, and notes who is left alone before them.
fn reach<'a, Id: Clone + Ord + 'a>(
    group: impl Iterator<Item = &'a Colleague<Id>>,
    most: usize,
    now: DateTime<Utc>,
    never_quiet: bool,
    fired: &mut Fire<Id>,
    asks: bool,
) {
    let mut reached = 0;
    for one in group {
        if reached == most {
            break;
        }
        if fired.asked.contains(&one.id) || fired.told.contains(&one.id) {
            continue;
        }
        match one.quiet_until(now).filter(|_| !never_quiet) {
            Some(until) => {
                if !fired.quiet.iter().any(|(id, _)| *id == one.id) {
                    fired.quiet.push((one.id.clone(), until));
                }
            }
            None => {
                reached += 1;
                let list = if asks { &mut fired.asked } else { &mut fired.told };
                list.push(one.id.clone());
            }
        }
    }
}

fn is_in<Id: PartialEq>(who: &Who<Id>, one: &Colleague<Id>) -> bool {
    match who {
        Who::Best | Who::Next { .. } | Who::Everyone => one.place.is_some(),
        Who::OnCall => one.on_call,
        Who::SecondRota => one.second_rota,
        Who::Schedulers => one.scheduler,
        Who::Managers => one.manages,
        Who::Owners => one.owner,
        Who::Delegate => one.delegate,
        Who::Person { person_id } => one.id == *person_id,
    }
}

/// A step that has neither fired nor been skipped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Open {
    /// Which, from 0.
    pub rung: i16,
    /// When it is due.
    pub due_at: DateTime<Utc>,
    /// When it was to be due before anything moved it.
    pub planned_at: DateTime<Utc>,
    /// Whether it waits for quiet hours to end.
    pub held: bool,
}

/// Brings the steps that do not wait forward, so that the next of them is due now; the gaps
/// between them stay. Says which that is.
pub fn hand_on(open: &mut [Open], now: DateTime<Utc>) -> Option<i16> {
    let next = open.iter().filter(|step| !step.held).min_by_key(|step| (step.due_at, step.rung))?;
    let (rung, by) = (next.rung, (next.due_at - now).max(TimeDelta::zero()));
    for step in open.iter_mut().filter(|step| !step.held) {
        step.due_at -= by;
    }
    Some(rung)
}

/// Lets a step wait until quiet hours have ended; what waits keeps its gaps, so that not
/// everything fires at seven.
pub fn hold(open: &mut [Open], rung: i16, until: DateTime<Utc>) {
    let waiting = |step: &&Open| step.held || step.rung == rung;
    let Some(first) = open.iter().filter(waiting).map(|step| step.planned_at).min() else {
        return;
    };
    if let Some(step) = open.iter_mut().find(|step| step.rung == rung) {
        step.held = true;
        step.due_at = until + (step.planned_at - first);
    }
}

/// One thing that would happen.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead<Id> {
    /// Which step, from 0.
    pub rung: usize,
    /// When.
    pub at: DateTime<Utc>,
    /// Whom it would reach, and whom it would leave alone.
    pub fire: Fire<Id>,
}

/// Most things that a climb seen ahead tells: each step once as it falls due, and again after
/// each wait. More would be nights without end.
const AHEAD_MAX: usize = 64;

/// What would happen if nobody ever answered. `people_at` says how people would be found at a
/// moment.
pub fn ahead<Id: Clone + Ord>(
    kind: Kind,
    steps: &[Step<Id>],
    start: DateTime<Utc>,
    never_quiet: bool,
    people_at: impl Fn(DateTime<Utc>) -> Vec<Colleague<Id>>,
) -> Vec<Ahead<Id>> {
    let mut open: Vec<Open> = (0i16..)
        .zip(steps)
        .map(|(rung, step)| {
            let at = start + TimeDelta::minutes(i64::from(step.after_min));
            Open { rung, due_at: at, planned_at: at, held: false }
        })
        .collect();
    let mut asked = BTreeSet::new();
    let mut story = Vec::new();
    while story.len() < AHEAD_MAX {
        let next = open.iter().min_by_key(|step| (step.due_at, step.rung)).copied();
        let Some(next) = next else { break };
        let rung = usize::try_from(next.rung).unwrap_or(0);
        let Some(step) = steps.get(rung) else { break };
        let fired = fire(kind, step, &people_at(next.due_at), &asked, next.due_at, never_quiet);
        asked.extend(fired.asked.iter().cloned());
        let reaches_nobody = fired.reaches_nobody();
        match fired.held_until() {
            Some(until) => hold(&mut open, next.rung, until),
            None => open.retain(|step| step.rung != next.rung),
        }
        story.push(Ahead { rung, at: next.due_at, fire: fired });
        if reaches_nobody {
            hand_on(&mut open, next.due_at);
        }
    }
    story
}

#[cfg(test)]
#[path = "climb_tests.rs"]
mod tests;
