//! A proposal: searched, read back, checked, and what is left out explained.
//!
//! Belongs here: the one function that the rest of the house calls. Does not belong here: how
//! the library is asked.

use roster::plan::check::{Fault, faults};
use roster::plan::compare::drives;
use roster::plan::{LeftOut, PauseTaken, Plan, Problem, Span, Visit, why};

use crate::Error;
use crate::improve::begins;
use crate::model::{Model, Of, Tours};
use crate::search::{Limits, solve};

/// Who goes where and when. Every plan that is returned has passed `roster::plan::check`; where
/// what was found breaks a promise, jobs are taken out again until it does not. What is held
/// stays; each job left out says why.
///
/// Heavy: run it off the threads that serve.
///
/// # Errors
/// [`Error::Unsound`] for a problem over a limit or with impossible times or places,
/// [`Error::Library`] when the library refuses it, [`Error::Faulty`] when nothing mends the plan.
pub fn propose(problem: &Problem, limits: &Limits) -> Result<Plan, Error> {
    problem.sound()?;
    let mut plan = Plan::default();
    let model = Model::of(problem);
    if model.has_work() {
        read(&model, &solve(&model, limits)?, &mut plan);
    }
    for (index, job) in problem.jobs.iter().enumerate() {
        if let Some(held) = job.held {
            let span = Span::new(held.start_min, held.start_min + job.expected_min);
            plan.visits.push(Visit { person: held.person, job: index, span, drive_min: 0 });
        }
    }
    mend(problem, &mut plan)?;
    let mut placed = vec![false; problem.jobs.len()];
    for visit in &plan.visits {
        placed[visit.job] = true;
    }
    plan.left_out = problem
        .jobs
        .iter()
        .enumerate()
        .filter(|(index, _)| !placed[*index])
        .map(|(index, job)| LeftOut { job: index, reason: why::reason(problem, &plan, job) })
        .collect();
    match faults(problem, &plan).into_iter().next() {
        None => Ok(plan),
        Some(fault) => Err(Error::Faulty(fault)),
    }
}

/// What the search found, in the roster's words.
fn read(model: &Model, tours: &Tours, plan: &mut Plan) {
    for (tour, stops) in tours.iter().enumerate() {
        let person = model.tours[tour].person;
        // Every tour that the search gives can be driven.
        let begins = begins(model, tour, stops).unwrap_or_default();
        for (stop, start_min) in stops.iter().zip(begins) {
            let stop = &model.stops[*stop];
            let span = Span::new(start_min, start_min + stop.length);
            match stop.of {
                Of::Job(job) => plan.visits.push(Visit { person, job, span, drive_min: 0 }),
                Of::Pause(_) => plan.pauses.push(PauseTaken { person, span }),
            }
        }
    }
}

/// Takes visits out, one for each fault found, until none is left or nothing can be taken out.
fn mend(problem: &Problem, plan: &mut Plan) -> Result<(), Error> {
    // Each round takes one visit out, so there are at most as many rounds as visits.
    for _ in 0..=plan.visits.len() {
        plan.visits.sort_by_key(|visit| (visit.person, visit.span, visit.job));
        plan.pauses.sort_by_key(|pause| (pause.person, pause.span));
        drives(problem, &mut plan.visits);
        let mut whole = plan.clone();
        let placed: Vec<usize> = plan.visits.iter().map(|visit| visit.job).collect();
        whole.left_out = (0..problem.jobs.len())
            .filter(|job| !placed.contains(job))
            .map(|job| LeftOut { job, reason: String::new() })
            .collect();
        let Some(fault) = faults(problem, &whole).into_iter().next() else { break };
        let movable = |visit: &usize| problem.jobs[plan.visits[*visit].job].held.is_none();
        match fault.visit().filter(movable) {
            Some(visit) => {
                plan.visits.remove(visit);
            }
            // A pause over what is held: it was no use to anyone.
            None if matches!(fault, Fault::TooSoon { .. }) && !plan.pauses.is_empty() => {
                plan.pauses.clear();
            }
            None => return Err(Error::Faulty(fault)),
        }
    }
    Ok(())
}
