//! Proposals for random shops keep every promise; a plan that breaks one is refused.
//!
//! Belongs here: properties of proposals and of the checker. Does not belong here: exact plans,
//! which vary from run to run, and times.

use std::collections::BTreeSet;
use std::sync::atomic::Ordering;

use planner::{Limits, propose};
use proptest::prelude::*;
use roster::plan::check::{Fault, faults};
use roster::plan::{
    Held, Job, Pause, PauseTaken, Person, Plan, Problem, RestRule, Roads, Span, Travel, Unsound,
    Visit,
};

/// Rounds of search per case: enough to fill a day, few enough for many cases.
const ROUNDS: usize = 30;

const REST: RestRule = RestRule { rest_min: 600, duty_max_min: 840 };

fn skills(words: &[&str]) -> BTreeSet<String> {
    words.iter().map(ToString::to_string).collect()
}

fn person(index: usize, skilled: bool) -> Person {
    Person {
        id: format!("p{index}"),
        name: format!("Person {index}"),
        skills: if skilled { skills(&["gas"]) } else { skills(&[]) },
        duty: vec![Span::new(0, 480), Span::new(1440, 1920)],
        pauses: vec![Pause { within: Span::new(180, 330), length_min: 30 }],
        place: index,
        home: index,
        rest_until_min: 0,
        burden_h: index as f64,
    }
}

fn job(index: usize, place: usize) -> Job {
    Job {
        id: format!("j{index}"),
        title: format!("Job {index}"),
        place,
        windows: vec![],
        expected_min: 60,
        skills: skills(&[]),
        class: 1,
        ready_min: 0,
        held: None,
        with: None,
    }
}

/// Two people, places on a line ten minutes apart, four jobs.
fn small() -> Problem {
    let minutes: Vec<i64> = (0..36_i64).map(|cell| 10 * (cell / 6 - cell % 6).abs()).collect();
    Problem {
        people: vec![person(0, true), person(1, false)],
        jobs: (0..4).map(|index| job(index, index + 2)).collect(),
        travel: Travel::given(6, minutes).expect("a square matrix"),
        rest: REST,
    }
}

fn planned(problem: &Problem) -> Plan {
    propose(problem, &Limits::rounds(ROUNDS)).expect("a plan")
}

fn shop() -> impl Strategy<Value = Problem> {
    let people = prop::collection::vec(
        (any::<bool>(), 0..200_i64, 200..900_i64, any::<bool>(), -60..200_i64, 0..40_u8),
        1..5,
    );
    let jobs = prop::collection::vec(
        (0..12_usize, 10..180_i64, any::<bool>(), 0..4_u8, -300..600_i64, 0..5_u8, 0..900_i64),
        0..16,
    );
    let points = prop::collection::vec((44.0..44.4_f64, -93.4..-93.0_f64), 12);
    (people, jobs, points).prop_map(|(people, jobs, points)| {
        let crowd = people.len();
        let people = people.into_iter().enumerate();
        let people = people.map(|(index, (skilled, start, length, pause, rest, burden))| Person {
            duty: vec![
                Span::new(start, start + length),
                Span::new(start + 1440, start + length + 1440),
            ],
            pauses: if pause { person(index, true).pauses } else { vec![] },
            place: index % 12,
            home: (index + 5) % 12,
            rest_until_min: rest,
            burden_h: f64::from(burden),
            ..person(index, skilled)
        });
        let jobs = jobs.into_iter().enumerate();
        let jobs = jobs.map(|(index, (place, expected_min, skilled, class, ready, how, at))| Job {
            expected_min,
            skills: if skilled { skills(&["gas"]) } else { skills(&[]) },
            class,
            ready_min: ready,
            windows: if how == 1 { vec![Span::new(at, at + 120)] } else { vec![] },
            held: (how == 0).then_some(Held { person: index % crowd, start_min: at }),
            ..job(index, place)
        });
        let points: Vec<[f64; 2]> = points.into_iter().map(|(lat, lon)| [lat, lon]).collect();
        Problem {
            people: people.collect(),
            jobs: jobs.collect(),
            travel: Travel::estimated(&points, Roads::default()),
            rest: REST,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn a_proposal_keeps_every_promise(problem in shop()) {
        let plan = propose(&problem, &Limits::rounds(ROUNDS));
        prop_assert!(plan.is_ok(), "{:?}", plan);
        let plan = plan.unwrap();
        prop_assert_eq!(faults(&problem, &plan), vec![]);
        for left in &plan.left_out {
            prop_assert!(!left.reason.is_empty());
        }
        for (index, job) in problem.jobs.iter().enumerate() {
            if let Some(held) = job.held {
                let visit = plan.visits.iter().find(|visit| visit.job == index).unwrap();
                prop_assert_eq!((visit.person, visit.span.start_min), (held.person, held.start_min));
            }
        }
    }

    #[test]
    fn a_visit_moved_onto_another_or_out_of_duty_is_refused(by in -1000..1000_i64, which in 0..4_usize) {
        let problem = small();
        let mut plan = planned(&problem);
        let moved = plan.visits[which].span;
        plan.visits[which].span = Span::new(moved.start_min + by, moved.end_min + by);
        let span = plan.visits[which].span;
        let person = plan.visits[which].person;
        let over = plan.visits.iter().enumerate().any(|(index, other)| {
            index != which && other.person == person && other.span.meets(span)
        });
        let on_duty = problem.people[person].duty.iter().any(|duty| duty.holds(span));
        if over || !on_duty {
            prop_assert!(!faults(&problem, &plan).is_empty());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn a_repeatable_search_gives_the_same_sound_plan_each_time(problem in shop(), seed in any::<u64>()) {
        let limits = Limits::repeatable(3, seed);
        let plan = propose(&problem, &limits).unwrap();
        prop_assert_eq!(faults(&problem, &plan), vec![]);
        prop_assert_eq!(propose(&problem, &limits).unwrap(), plan);
    }
}

#[test]
fn a_small_day_is_planned_whole_with_a_pause_for_whoever_works() {
    let problem = small();
    let plan = planned(&problem);
    assert_eq!(plan.left_out, []);
    assert_eq!(plan.visits.len(), 4);
    for visit in &plan.visits {
        assert!(plan.pauses.iter().any(|pause| pause.person == visit.person));
    }
}

#[test]
fn whoever_lacks_a_skill_is_not_sent_and_it_is_said_when_nobody_has_it() {
    let mut problem = small();
    problem.jobs[0].skills = skills(&["gas"]);
    problem.jobs[1].skills = skills(&["crane"]);
    let plan = planned(&problem);
    let gas = plan.visits.iter().find(|visit| visit.job == 0).unwrap();
    assert_eq!(gas.person, 0);
    let left: Vec<_> = plan.left_out.iter().map(|left| (left.job, left.reason.as_str())).collect();
    assert_eq!(left, [(1, "nobody in this plan holds all of: crane")]);
}

#[test]
fn whoever_had_less_of_the_weekends_is_preferred_when_the_way_is_alike() {
    let mut problem = small();
    problem.jobs.truncate(1);
    problem.travel = Travel::given(6, vec![5; 36]).unwrap();
    for (had, sent) in [([0.0, 9.0], 0), ([9.0, 0.0], 1)] {
        for (person, hours) in problem.people.iter_mut().zip(had) {
            person.burden_h = hours;
        }
        assert_eq!(planned(&problem).visits[0].person, sent);
    }
}

#[test]
fn the_urgent_job_goes_first_when_there_is_time_for_one() {
    let mut problem = small();
    problem.people.truncate(1);
    problem.people[0].pauses.clear();
    problem.people[0].duty = vec![Span::new(0, 120)];
    problem.jobs.truncate(2);
    problem.jobs[0].class = 3;
    problem.jobs[1].class = 0;
    let plan = planned(&problem);
    assert_eq!(plan.visits.iter().map(|visit| visit.job).collect::<Vec<_>>(), [1]);
    assert!(plan.left_out[0].reason.starts_with("Person 0 could do it, but is on"));
}

#[test]
fn nobody_works_in_their_rest() {
    let mut problem = small();
    for person in &mut problem.people {
        person.rest_until_min = 300;
    }
    let plan = planned(&problem);
    assert!(plan.visits.iter().all(|visit| visit.span.start_min >= 300));
}

#[test]
fn a_search_that_nobody_waits_for_stops_with_what_it_has() {
    let limits = Limits::seconds(60);
    limits.stop.store(true, Ordering::Relaxed);
    let problem = small();
    let plan = propose(&problem, &limits).unwrap();
    assert_eq!(faults(&problem, &plan), []);
}

#[test]
fn too_many_people_or_a_place_that_is_not_there_are_named() {
    let mut problem = small();
    problem.jobs[2].place = 17;
    let error = propose(&problem, &Limits::rounds(1)).unwrap_err();
    assert_eq!(error.to_string(), "Job 2 is at a place that the travel matrix does not have");
    problem.people = vec![person(0, true); 61];
    assert_eq!(problem.sound(), Err(Unsound::TooMany { what: "people", count: 61, limit: 60 }));
}

/// Each way of breaking a plan, and what the checker calls it.
#[test]
fn each_broken_promise_is_found() {
    type Break = fn(&mut Problem, &mut Plan);
    type Expected = fn(&Fault) -> bool;
    let breaks: [(Break, Expected); 10] = [
        (|_, plan| plan.visits[0].job = 99, |f| matches!(f, Fault::Unknown)),
        (
            |_, plan| {
                plan.visits.remove(0);
            },
            |f| matches!(f, Fault::NotOnce { .. }),
        ),
        (|_, plan| plan.visits.push(plan.visits[0]), |f| matches!(f, Fault::NotOnce { .. })),
        (|_, plan| plan.visits[0].span.end_min -= 1, |f| matches!(f, Fault::Length { .. })),
        (|_, plan| plan.visits[0].drive_min += 1, |f| matches!(f, Fault::Drive { .. })),
        (|_, plan| plan.pauses.clear(), |f| matches!(f, Fault::Pause { .. })),
        (
            |problem, plan| problem.jobs[plan.visits[0].job].skills = skills(&["crane"]),
            |f| matches!(f, Fault::Skill { .. }),
        ),
        (
            |problem, plan| {
                problem.jobs[plan.visits[0].job].windows = vec![Span::new(5000, 5060)];
            },
            |f| matches!(f, Fault::Window { .. }),
        ),
        (|problem, _| problem.rest.duty_max_min = 30, |f| matches!(f, Fault::Rest { .. })),
        (
            |problem, plan| {
                let visit = plan.visits[0];
                let held = Held { person: visit.person, start_min: visit.span.start_min + 1 };
                problem.jobs[visit.job].held = Some(held);
            },
            |f| matches!(f, Fault::HeldMoved { .. }),
        ),
    ];
    for (index, (broken, expected)) in breaks.into_iter().enumerate() {
        let mut problem = small();
        let mut plan = planned(&problem);
        broken(&mut problem, &mut plan);
        let found = faults(&problem, &plan);
        assert!(found.iter().any(expected), "break {index}: {found:?}");
    }
}

#[test]
fn a_pause_may_be_taken_on_the_way_but_not_in_place_of_it() {
    let mut problem = small();
    problem.people.truncate(1);
    problem.jobs.truncate(2);
    // Person 0 lives at 0; the jobs are 20 and 30 minutes away, 10 from each other.
    let plan = |pause: Span, second_min: i64| Plan {
        visits: vec![
            Visit { person: 0, job: 0, span: Span::new(120, 180), drive_min: 20 },
            Visit {
                person: 0,
                job: 1,
                span: Span::new(second_min, second_min + 60),
                drive_min: 10,
            },
        ],
        pauses: vec![PauseTaken { person: 0, span: pause }],
        left_out: vec![],
    };
    // Six minutes of the way, the pause, the other four.
    assert_eq!(faults(&problem, &plan(Span::new(186, 216), 220)), []);
    let soon = faults(&problem, &plan(Span::new(186, 216), 219));
    assert_eq!(soon, [Fault::TooSoon { visit: 1 }]);
}
