//! Whether a plan keeps every promise. Whoever made it, it is not shown before it passed here.
//!
//! Belongs here: windows, skills, duty, rest, ways, pauses, held jobs, each job once. Does not
//! belong here: whether a plan is good. It shares nothing with the search but the types.

use super::{Held, Job, PauseTaken, Person, Plan, Problem, Span, Visit};

/// A promise that a plan breaks. `visit` and `job` are indices into the plan and the problem.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// An index that the problem does not have.
    #[error("the plan names a person or job that does not exist")]
    Unknown,
    /// A job twice, or both placed and left out, or neither.
    #[error("job {job} is not in the plan exactly once")]
    NotOnce {
        /// The job.
        job: usize,
    },
    /// A job that cannot move was moved.
    #[error("job {job} is held and was moved")]
    HeldMoved {
        /// The job.
        job: usize,
    },
    /// Not as long as expected.
    #[error("visit {visit} is not as long as its job is expected to take")]
    Length {
        /// The visit.
        visit: usize,
    },
    /// Begun outside every window.
    #[error("visit {visit} begins outside its job's windows")]
    Window {
        /// The visit.
        visit: usize,
    },
    /// Somebody who may not do it.
    #[error("visit {visit}: {skill} is missing")]
    Skill {
        /// The visit.
        visit: usize,
        /// What they lack.
        skill: String,
    },
    /// Off duty, or the way home ends after it.
    #[error("visit {visit} is not within one span of duty, way home included")]
    Duty {
        /// The visit.
        visit: usize,
    },
    /// Earlier than the way there allows, or over another visit or pause.
    #[error("visit {visit} begins before they can be there")]
    TooSoon {
        /// The visit.
        visit: usize,
    },
    /// The driving stated is not the way's.
    #[error("visit {visit} states another way than there is")]
    Drive {
        /// The visit.
        visit: usize,
    },
    /// Within a rest, or a run of work too long.
    #[error("visit {visit} breaks the rest rule")]
    Rest {
        /// The visit.
        visit: usize,
    },
    /// A pause that is owed on a day with proposed work is not taken.
    #[error("visit {visit}: that duty has no pause")]
    Pause {
        /// A visit of that duty.
        visit: usize,
    },
}

impl Fault {
    /// The visit to take out, where taking one out may mend it.
    #[must_use]
    pub fn visit(&self) -> Option<usize> {
        match self {
            Self::Length { visit }
            | Self::Window { visit }
            | Self::Skill { visit, .. }
            | Self::Duty { visit }
            | Self::TooSoon { visit }
            | Self::Drive { visit }
            | Self::Rest { visit }
            | Self::Pause { visit } => Some(*visit),
            Self::Unknown | Self::NotOnce { .. } | Self::HeldMoved { .. } => None,
        }
    }
}

/// What a person does, in order.
#[derive(Clone, Copy)]
struct Step {
    span: Span,
    /// `None` for a pause: it is taken wherever they are, also on the way.
    place: Option<usize>,
    /// The visit, unless it is a pause.
    visit: Option<usize>,
    held: bool,
}

/// Every promise that the plan breaks; empty for a plan that may be shown. What held jobs break
/// among themselves was there before and is no fault of the plan.
#[must_use]
pub fn faults(problem: &Problem, plan: &Plan) -> Vec<Fault> {
    let known =
        plan.visits.iter().all(|v| v.person < problem.people.len() && v.job < problem.jobs.len())
            && plan.pauses.iter().all(|pause| pause.person < problem.people.len())
            && plan.left_out.iter().all(|left| left.job < problem.jobs.len());
    if !known {
        return vec![Fault::Unknown];
    }
    let mut faults = jobs_once(problem, plan);
    for (index, visit) in plan.visits.iter().enumerate() {
        let job = &problem.jobs[visit.job];
        match job.held {
            Some(held) => {
                if !as_held(visit, held, job) {
                    faults.push(Fault::HeldMoved { job: visit.job });
                }
            }
            None => visit_faults(&problem.people[visit.person], job, visit, index, &mut faults),
        }
    }
    for (index, person) in problem.people.iter().enumerate() {
        person_faults(problem, plan, (index, person), &mut faults);
    }
    faults
}

fn as_held(visit: &Visit, held: Held, job: &Job) -> bool {
    visit.person == held.person
        && visit.span == Span::new(held.start_min, held.start_min + job.expected_min)
}

fn jobs_once(problem: &Problem, plan: &Plan) -> Vec<Fault> {
    let mut times = vec![0_usize; problem.jobs.len()];
    for job in plan.visits.iter().map(|v| v.job).chain(plan.left_out.iter().map(|left| left.job)) {
        times[job] += 1;
    }
    let wrong = times.iter().enumerate().filter(|(_, times)| **times != 1);
    let lost = plan.left_out.iter().filter(|left| problem.jobs[left.job].held.is_some());
    wrong
        .map(|(job, _)| Fault::NotOnce { job })
        .chain(lost.map(|left| Fault::HeldMoved { job: left.job }))
        .collect()
}

fn visit_faults(person: &Person, job: &Job, visit: &Visit, index: usize, faults: &mut Vec<Fault>) {
    if visit.span.end_min - visit.span.start_min != job.expected_min {
        faults.push(Fault::Length { visit: index });
    }
    let in_window = job
        .starts()
        .iter()
        .any(|w| w.start_min <= visit.span.start_min && visit.span.start_min <= w.end_min);
    if !in_window {
        faults.push(Fault::Window { visit: index });
    }
    if let Some(skill) = job.skills.difference(&person.skills).next() {
        faults.push(Fault::Skill { visit: index, skill: skill.clone() });
    }
    if visit.span.start_min < person.rest_until_min {
        faults.push(Fault::Rest { visit: index });
    }
    if !person.duty_joined().iter().any(|duty| duty.holds(visit.span)) {
        faults.push(Fault::Duty { visit: index });
    }
}

fn person_faults(
    problem: &Problem,
    plan: &Plan,
    (index, person): (usize, &Person),
    faults: &mut Vec<Fault>,
) {
    let mut steps: Vec<Step> = plan
        .visits
        .iter()
        .enumerate()
        .filter(|(_, visit)| visit.person == index)
        .map(|(at, visit)| {
            let job = &problem.jobs[visit.job];
            let held = job.held.is_some();
            Step { span: visit.span, place: Some(job.place), visit: Some(at), held }
        })
        .collect();
    let pauses: Vec<PauseTaken> =
        plan.pauses.iter().copied().filter(|pause| pause.person == index).collect();
    steps.extend(pauses.iter().map(|p| Step {
        span: p.span,
        place: None,
        visit: None,
        held: false,
    }));
    steps.sort_by_key(|step| (step.span, step.visit));
    ways(problem, plan, person, &steps, faults);
    rests(problem, &steps, faults);
    for pause in &person.pauses {
        let duty = person.duty_joined().into_iter().find(|duty| duty.meets(pause.within));
        let worked = steps.iter().find(|step| {
            !step.held && step.visit.is_some() && duty.is_some_and(|duty| duty.holds(step.span))
        });
        let taken = pauses.iter().any(|taken| {
            pause.within.holds(taken.span) && taken.span.length_min() >= pause.length_min
        });
        if let Some(visit) = worked.and_then(|step| step.visit)
            && !taken
        {
            faults.push(Fault::Pause { visit });
        }
    }
}

/// Each step reachable from the one before, and the way home within duty.
fn ways(problem: &Problem, plan: &Plan, person: &Person, steps: &[Step], faults: &mut Vec<Fault>) {
    let duty = person.duty_joined();
    let travel = &problem.travel;
    // What cannot move may begin before a duty or outlast it.
    let of = |step: &Step| {
        duty.iter().position(|d| if step.held { d.meets(step.span) } else { d.holds(step.span) })
    };
    let parted = |a: &Step, b: &Step| {
        of(a) != of(b) || b.span.start_min - a.span.end_min >= problem.rest.rest_min
    };
    let mut place = person.home;
    let mut free_min = i64::MIN;
    // Driven before a pause on the way, and so not to be driven after it.
    let mut driven_min = 0;
    for (position, step) in steps.iter().enumerate() {
        let before = position.checked_sub(1).map(|before| &steps[before]);
        let Some(here) = of(step) else {
            free_min = free_min.max(step.span.end_min);
            continue;
        };
        let mut out_min = free_min;
        if before.is_none_or(|before| parted(before, step)) {
            let begins_min = duty[here].start_min.max(person.rest_until_min);
            let first = before.is_none_or(|before| of(before) != Some(here));
            let at_start = first
                && begins_min <= 0
                && step.span.start_min < begins_min + problem.rest.duty_max_min;
            // Nobody sets out before their duty begins, nor from home before they got there.
            let back_min =
                if before.is_some() { travel.between_min(place, person.home) } else { 0 };
            out_min = begins_min.max(0).max(free_min.saturating_add(back_min));
            place = if at_start { person.place } else { person.home };
            driven_min = 0;
        }
        let way_min = step.place.map_or(0, |to| travel.between_min(place, to));
        let given = step.held && before.is_none_or(|before| before.held);
        if !given && step.span.start_min + driven_min < out_min.saturating_add(way_min) {
            let earlier = before.filter(|before| !before.held).and_then(|before| before.visit);
            let later = step.visit.filter(|_| !step.held);
            if let Some(visit) = later.or(earlier).or(step.visit) {
                faults.push(Fault::TooSoon { visit });
            }
        }
        if let Some(visit) = step.visit.filter(|_| !step.held)
            && plan.visits[visit].drive_min != way_min
        {
            faults.push(Fault::Drive { visit });
        }
        driven_min = match step.place {
            Some(_) => 0,
            None => driven_min + (step.span.start_min.saturating_sub(out_min)).max(0),
        };
        place = step.place.unwrap_or(place);
        free_min = free_min.max(step.span.end_min);
        let home_min = free_min + travel.between_min(place, person.home) - driven_min;
        let ours = if step.visit.is_some() { Some(step) } else { before };
        if steps.get(position + 1).is_none_or(|next| parted(step, next))
            && let Some(visit) = ours.filter(|step| !step.held).and_then(|step| step.visit)
            && home_min > duty[here].end_min
        {
            faults.push(Fault::Duty { visit });
        }
    }
}

/// No run of work, without a rest in it, longer than the rule's longest duty.
fn rests(problem: &Problem, steps: &[Step], faults: &mut Vec<Fault>) {
    let work: Vec<&Step> = steps.iter().filter(|step| step.visit.is_some()).collect();
    let mut first = 0;
    for last in 0..work.len() {
        let gap = last > 0
            && work[last].span.start_min - work[last - 1].span.end_min >= problem.rest.rest_min;
        if gap {
            first = last;
        }
        let run = &work[first..=last];
        let long = work[last].span.end_min - work[first].span.start_min > problem.rest.duty_max_min;
        let ours = run.iter().rev().find(|step| !step.held).and_then(|step| step.visit);
        if let (true, Some(visit)) = (long, ours) {
            faults.push(Fault::Rest { visit });
        }
    }
}
