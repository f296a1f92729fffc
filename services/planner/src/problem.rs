//! A roster's problem in the routing library's words.
//!
//! Belongs here: each free stretch of a person's duty as a vehicle, each job that may move as a
//! job, each pause as a job without a place. Does not belong here: costs, and reading the answer.
//! What is held is no job of the library: it cuts the stretches, and so cannot be moved.

use std::sync::Arc;

use roster::plan::duty::{Stretch, stretches};
use roster::plan::{Job, Person, Problem};
use vrp_core::construction::features::{
    JobSkills, JobSkillsDimension, TransportFeatureBuilder, VehicleSkillsDimension,
    create_skills_feature,
};
use vrp_core::models::common::TimeWindow;
use vrp_core::models::problem::{
    Job as VrpJob, JobPlaceBuilder, SimpleTransportCost, SingleBuilder, TransportCost, Vehicle,
    VehicleBuilder, VehicleDetailBuilder,
};
use vrp_core::models::{GoalBuilder, GoalContextBuilder, ProblemBuilder, ViolationCode};
use vrp_core::prelude::{FeatureBuilder, GenericResult};

use crate::cost::{LeftOut, Meaning, Minutes, meaning_set, person_set};

/// The library's problem, or `None` when there is nothing to place or nobody to place it with.
pub(crate) fn translate(
    problem: &Problem,
) -> GenericResult<Option<Arc<vrp_core::models::Problem>>> {
    let mut vehicles = Vec::new();
    let mut jobs = Vec::new();
    for (index, person) in problem.people.iter().enumerate() {
        let held: Vec<&Job> = problem
            .jobs
            .iter()
            .filter(|job| job.held.is_some_and(|held| held.person == index))
            .collect();
        let free = stretches(person, &held, problem.rest);
        for stretch in &free {
            vehicles.push(vehicle(index, person, stretch)?);
        }
        if !free.is_empty() {
            for pause in &person.pauses {
                let latest = pause.within.end_min - pause.length_min;
                if latest >= pause.within.start_min {
                    let times = vec![window(pause.within.start_min, latest)];
                    let only = vec![only_by(index)];
                    jobs.push(job(None, times, pause.length_min, only, Meaning::Pause)?);
                }
            }
        }
    }
    let mut movable = 0;
    for (index, job_of_ours) in problem.jobs.iter().enumerate() {
        let times: Vec<TimeWindow> =
            job_of_ours.starts().iter().map(|w| window(w.start_min, w.end_min)).collect();
        if job_of_ours.held.is_some() || times.is_empty() {
            continue;
        }
        let skills = job_of_ours.skills.iter().map(|skill| format!("may {skill}")).collect();
        let meaning =
            Meaning::Job { index, class: job_of_ours.class, ready_min: job_of_ours.ready_min };
        let minutes = job_of_ours.expected_min;
        jobs.push(job(Some(job_of_ours.place), times, minutes, skills, meaning)?);
        movable += 1;
    }
    if vehicles.is_empty() || movable == 0 {
        return Ok(None);
    }
    let travel: Vec<f64> = problem.travel.minutes.iter().map(|minutes| *minutes as f64).collect();
    let transport: Arc<dyn TransportCost> =
        Arc::new(SimpleTransportCost::new(travel.clone(), travel.clone())?);
    let minutes =
        Minutes { travel: Arc::new(travel), size: problem.travel.size, uneven: uneven(problem) };
    let features = [
        FeatureBuilder::default().with_name("left out").with_objective(LeftOut).build()?,
        TransportFeatureBuilder::new("ways")
            .set_transport_cost(transport.clone())
            .build_minimize_distance()?,
        create_skills_feature("skills", ViolationCode(1))?,
    ];
    let goal = GoalContextBuilder::with_features(&features)?
        .set_main_goal(
            GoalBuilder::default()
                .add_single(Arc::new(LeftOut))
                .add_single(Arc::new(minutes))
                .build()?,
        )
        .build()?;
    let built = ProblemBuilder::default()
        .add_jobs(jobs.into_iter())
        .add_vehicles(vehicles.into_iter())
        .with_goal(goal)
        .with_transport_cost(transport)
        .with_logger(Arc::new(|_| {}))
        .build()?;
    Ok(Some(Arc::new(built)))
}

/// 0 for whoever has had the least weekend work and call-outs, 1 for whoever has had the most.
fn uneven(problem: &Problem) -> Vec<f64> {
    let hours = || problem.people.iter().map(|person| person.burden_h);
    let least = hours().fold(f64::INFINITY, f64::min);
    let range = hours().fold(f64::NEG_INFINITY, f64::max) - least;
    hours().map(|had| if range > 0.0 { (had - least) / range } else { 0.0 }).collect()
}

fn window(start_min: i64, end_min: i64) -> TimeWindow {
    TimeWindow::new(start_min as f64, end_min as f64)
}

/// A skill that one person alone has, for what nobody else can do for them.
fn only_by(person: usize) -> String {
    format!("is person {person}")
}

fn job(
    place: Option<usize>,
    times: Vec<TimeWindow>,
    minutes: i64,
    skills: Vec<String>,
    meaning: Meaning,
) -> GenericResult<VrpJob> {
    let place =
        JobPlaceBuilder::default().location(place).duration(minutes as f64).times(times).build()?;
    let mut single = SingleBuilder::default()
        .add_place(place)
        .dimension(|dimens| {
            if !skills.is_empty() {
                dimens.set_job_skills(JobSkills::new(Some(skills), None, None));
            }
        })
        .build()?;
    meaning_set(&mut single, meaning);
    Ok(VrpJob::Single(Arc::new(single)))
}

fn vehicle(index: usize, person: &Person, stretch: &Stretch) -> GenericResult<Vehicle> {
    let detail = VehicleDetailBuilder::default()
        .set_start_location(stretch.from)
        .set_start_time(stretch.span.start_min as f64)
        .set_end_location(stretch.to)
        .set_end_time(stretch.span.end_min as f64)
        .build()?;
    VehicleBuilder::default()
        .id(&format!("{index} from {}", stretch.span.start_min))
        .add_detail(detail)
        .dimension(|dimens| {
            let may = person.skills.iter().map(|skill| format!("may {skill}"));
            dimens.set_vehicle_skills(may.chain([only_by(index)]).collect());
            person_set(dimens, index);
        })
        .build()
}
