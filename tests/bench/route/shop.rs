//! A shop's day: eight technicians, sixty jobs.
//!
//! Belongs here: making the day from a seed, and planning it within its five seconds. Does not
//! belong here: the search.

use std::collections::BTreeSet;
use std::error::Error;
use std::time::Instant;

use planner::{Limits, propose};
use rand::{RngExt as _, SeedableRng as _, rngs::StdRng};
use roster::plan::check::faults;
use roster::plan::{Held, Job, Pause, Person, Problem, RestRule, Roads, Span, Travel};

const TECHNICIANS: usize = 8;
const JOBS: usize = 60;
/// The day must be planned within this, seconds; the search is given one less.
const SECONDS: u32 = 5;

/// Plans the day and prints how it went; whether it was in time.
///
/// # Errors
/// When there is no plan.
pub(crate) fn measure(seed: u64) -> Result<bool, Box<dyn Error>> {
    let problem = day(seed);
    let began = Instant::now();
    let plan = propose(&problem, &Limits { cores: 2, ..Limits::seconds(SECONDS - 1) })?;
    let seconds = began.elapsed().as_secs_f64();
    println!(
        "day {seed}: {TECHNICIANS} technicians, {JOBS} jobs: {} placed, {} left out, {} min driven, {} faults, {seconds:.2} s",
        plan.visits.len(),
        plan.left_out.len(),
        plan.driven_min(),
        faults(&problem, &plan).len()
    );
    Ok(seconds <= f64::from(SECONDS))
}

fn day(seed: u64) -> Problem {
    let mut random = StdRng::seed_from_u64(seed);
    let points: Vec<[f64; 2]> = (0..TECHNICIANS + JOBS)
        .map(|_| [random.random_range(44.0..44.3), random.random_range(-93.3..-93.0)])
        .collect();
    let skills = |all: &[(&str, bool)]| -> BTreeSet<String> {
        all.iter().filter(|(_, has)| *has).map(|(skill, _)| (*skill).to_owned()).collect()
    };
    let people = (0..TECHNICIANS).map(|index| Person {
        id: format!("t{index}"),
        name: format!("Technician {index}"),
        skills: skills(&[("gas", index % 2 == 0), ("cold", index % 3 == 0)]),
        duty: vec![Span::new(0, 600)],
        pauses: vec![Pause { within: Span::new(210, 360), length_min: 30 }],
        place: index,
        home: index,
        rest_until_min: 0,
        burden_h: index as f64,
    });
    let people: Vec<Person> = people.collect();
    let jobs = (0..JOBS).map(|index| Job {
        id: format!("j{index}"),
        title: format!("Job {index}"),
        place: TECHNICIANS + index,
        windows: if index % 3 == 0 {
            let opens = random.random_range(0..400);
            vec![Span::new(opens, opens + 120)]
        } else {
            vec![]
        },
        expected_min: random.random_range(20..80),
        skills: skills(&[("gas", index % 5 == 0), ("cold", index % 7 == 0)]),
        class: random.random_range(0..4),
        ready_min: 0,
        held: (index < 2).then_some(Held { person: index, start_min: 0 }),
        with: None,
    });
    let jobs: Vec<Job> = jobs.collect();
    Problem {
        people,
        jobs,
        travel: Travel::estimated(&points, Roads::default()),
        rest: RestRule { rest_min: 600, duty_max_min: 840 },
    }
}
