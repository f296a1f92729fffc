//! Why a job has no place in a plan, in a sentence.
//!
//! Belongs here: looking at the people one by one. Does not belong here: the search.

use std::collections::BTreeSet;

use super::duty::duty_beside;
use super::{Job, Person, Plan, Problem, Span};

/// Most names in a sentence; the rest are counted.
const NAMES_MAX: usize = 3;

/// Why `job` could not be placed beside the visits of `plan`.
#[must_use]
pub fn reason(problem: &Problem, plan: &Plan, job: &Job) -> String {
    let starts = job.starts();
    if starts.is_empty() {
        return "its windows are over before it may begin".into();
    }
    if problem.people.is_empty() {
        return "nobody is in this plan".into();
    }
    let able: Vec<(usize, &Person)> = problem
        .people
        .iter()
        .enumerate()
        .filter(|(_, person)| job.skills.is_subset(&person.skills))
        .collect();
    if able.is_empty() {
        return format!("nobody in this plan holds all of: {}", list(&job.skills));
    }
    let on_duty: Vec<(usize, &Person)> = able
        .iter()
        .copied()
        .filter(|(_, person)| {
            duty_of(problem, person).iter().any(|duty| {
                starts.iter().any(|w| w.start_min < duty.end_min && duty.start_min <= w.end_min)
            })
        })
        .collect();
    if on_duty.is_empty() {
        return format!(
            "{} may do it, but nobody of them is on duty and rested in its window",
            names(&able)
        );
    }
    let fits = |person: &Person| {
        duty_of(problem, person).iter().any(|duty| {
            let begins = if duty.start_min <= 0 { person.place } else { person.home };
            let way_min = problem.travel.between_min(begins, job.place);
            let back_min = problem.travel.between_min(job.place, person.home);
            starts.iter().any(|window| {
                let start_min = window.start_min.max(duty.start_min + way_min);
                start_min <= window.end_min
                    && start_min + job.expected_min + back_min <= duty.end_min
            })
        })
    };
    let free: Vec<(usize, &Person)> =
        on_duty.iter().copied().filter(|(_, person)| fits(person)).collect();
    if free.is_empty() {
        return format!(
            "{} min of work and the way there and back do not fit into what is left of the duty of {}",
            job.expected_min,
            names(&on_duty)
        );
    }
    let busy: i64 = plan
        .visits
        .iter()
        .filter(|visit| free.iter().any(|(index, _)| *index == visit.person))
        .map(|visit| visit.span.length_min() + visit.drive_min)
        .sum();
    format!(
        "{} could do it, but {} on more urgent or nearer work ({} of it)",
        names(&free),
        if free.len() == 1 { "is" } else { "are" },
        length_words(busy)
    )
}

/// When somebody may work and is rested, beside what they hold.
fn duty_of(problem: &Problem, person: &Person) -> Vec<Span> {
    let index = problem.people.iter().position(|one| one.id == person.id);
    let holds = |job: &&Job| job.held.is_some_and(|held| Some(held.person) == index);
    let held: Vec<&Job> = problem.jobs.iter().filter(holds).collect();
    duty_beside(person, &held, problem.rest)
}

/// "1 h 05 min", "40 min".
pub(crate) fn length_words(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes:02} min"),
    }
}

fn list(words: &BTreeSet<String>) -> String {
    words.iter().cloned().collect::<Vec<_>>().join(", ")
}

fn names(people: &[(usize, &Person)]) -> String {
    let shown: Vec<&str> = people.iter().take(NAMES_MAX).map(|(_, p)| p.name.as_str()).collect();
    match people.len().checked_sub(NAMES_MAX) {
        Some(more) if more > 0 => format!("{} and {more} more", shown.join(", ")),
        _ => match shown.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => shown.join(""),
        },
    }
}
