//! The routing library: our model in its words, its search, its answer in ours.
//!
//! Belongs here: each tour as a vehicle, each stop as a job, and the library's settings. Does not
//! belong here: costs ([`crate::cost`]), and what is done after it ([`crate::improve`]).

use std::collections::BTreeMap;
use std::sync::Arc;

use vrp_core::construction::features::{
    CapacityFeatureBuilder, JobSkills, JobSkillsDimension, TransportFeatureBuilder,
    VehicleSkillsDimension, create_skills_feature,
};
use vrp_core::models::common::{Demand, SingleDimLoad, TimeWindow};
use vrp_core::models::problem::{
    Job, JobPlaceBuilder, SimpleTransportCost, SingleBuilder, TransportCost, Vehicle,
    VehicleBuilder, VehicleDetailBuilder,
};
use vrp_core::models::{GoalBuilder, GoalContextBuilder, Problem, ProblemBuilder, ViolationCode};
use vrp_core::prelude::{
    DefaultRandom, Environment, FeatureBuilder, GenericResult, Solver, VrpConfigBuilder,
};
use vrp_core::rosomaxa::prelude::{Quota, TelemetryMode};
use vrp_core::rosomaxa::utils::Parallelism;
use vrp_core::solver::get_static_heuristic;

use crate::Error;
use crate::cost::{LeftOut, Minutes, stop, stop_set, tour, tour_set};
use crate::model::{Model, Stop, Tours};

/// The best answer that the library finds before the quota is reached.
///
/// # Errors
/// [`Error::Library`] when it refuses the problem.
pub(crate) fn search(
    model: &Model,
    quota: Arc<dyn Quota>,
    (seconds, rounds, cores): (u32, usize, usize),
) -> Result<Tours, Error> {
    let problem = translate(model).map_err(Error::library)?;
    let environment = Arc::new(Environment::new(
        Arc::new(DefaultRandom::default()),
        Some(quota),
        Parallelism::new_with_cpus(cores),
        Arc::new(|_| {}),
        false,
    ));
    // Of the library's two ways of choosing its moves the simple one was nearer to the best known
    // answer of the public instance in the same seconds.
    let heuristic = get_static_heuristic(problem.clone(), environment.clone());
    let config = VrpConfigBuilder::new(problem.clone())
        .set_environment(environment)
        .set_heuristic(Box::new(heuristic))
        .set_telemetry_mode(TelemetryMode::None)
        .prebuild()
        .and_then(|builder| {
            builder.with_max_time(Some(seconds as usize)).with_max_generations(Some(rounds)).build()
        })
        .map_err(Error::library)?;
    let solution = Solver::new(problem, config).solve().map_err(Error::library)?;
    let mut tours = vec![Vec::new(); model.tours.len()];
    for route in &solution.routes {
        let Some(tour) = tour(route) else { continue };
        let stops = route.tour.all_activities();
        tours[tour] =
            stops.filter_map(|a| a.job.as_ref().and_then(|single| stop(single))).collect();
    }
    Ok(tours)
}

fn translate(model: &Model) -> GenericResult<Arc<Problem>> {
    let model = Arc::new(model.clone());
    // Stops that the same tours may do ask for the same skill of the library's.
    let mut kinds: BTreeMap<&[bool], String> = BTreeMap::new();
    for stop in model.stops.iter().filter(|stop| stop.may.contains(&false)) {
        let next = format!("kind {}", kinds.len());
        kinds.entry(&stop.may).or_insert(next);
    }
    let jobs: Result<Vec<Job>, _> = model
        .stops
        .iter()
        .enumerate()
        .map(|(index, stop)| job(index, stop, kinds.get(stop.may.as_slice())))
        .collect();
    let vehicles: Result<Vec<Vehicle>, _> = (0..model.tours.len())
        .map(|index| {
            let may = kinds.iter().filter(|(may, _)| may[index]).map(|(_, skill)| skill.clone());
            vehicle(&model, index, may.collect())
        })
        .collect();
    let travel: Vec<f64> = model.travel.iter().map(|time| *time as f64).collect();
    let transport: Arc<dyn TransportCost> =
        Arc::new(SimpleTransportCost::new(travel.clone(), travel)?);
    let left_out = Arc::new(LeftOut(model.clone()));
    let feature = FeatureBuilder::default().with_name("left out");
    let mut features = vec![
        feature.with_objective(LeftOut(model.clone())).build()?,
        TransportFeatureBuilder::new("ways")
            .set_transport_cost(transport.clone())
            .build_minimize_distance()?,
        create_skills_feature("skills", ViolationCode(1))?,
    ];
    if model.stops.iter().any(|stop| stop.load > 0) {
        features.push(CapacityFeatureBuilder::<SingleDimLoad>::new("capacity").build()?);
    }
    let goal = GoalContextBuilder::with_features(&features)?
        .set_main_goal(
            GoalBuilder::default()
                .add_single(left_out)
                .add_single(Arc::new(Minutes(model)))
                .build()?,
        )
        .build()?;
    let built = ProblemBuilder::default()
        .add_jobs(jobs?.into_iter())
        .add_vehicles(vehicles?.into_iter())
        .with_goal(goal)
        .with_transport_cost(transport)
        .with_logger(Arc::new(|_| {}))
        .build()?;
    Ok(Arc::new(built))
}

/// A number as the library's loads have it; a load beyond it is cut.
fn load(units: i64) -> i32 {
    i32::try_from(units).unwrap_or(i32::MAX)
}

fn job(index: usize, stop: &Stop, skill: Option<&String>) -> GenericResult<Job> {
    let times = stop
        .windows
        .iter()
        .map(|window| TimeWindow::new(window.start_min as f64, window.end_min as f64))
        .collect();
    let place = JobPlaceBuilder::default()
        .location(stop.place)
        .duration(stop.length as f64)
        .times(times)
        .build()?;
    let mut builder = SingleBuilder::default().add_place(place).dimension(|dimens| {
        if let Some(skill) = skill {
            dimens.set_job_skills(JobSkills::new(Some(vec![skill.clone()]), None, None));
        }
    });
    if stop.load > 0 {
        builder = builder.demand(Demand::delivery(load(stop.load)));
    }
    let mut single = builder.build()?;
    stop_set(&mut single, index);
    Ok(Job::Single(Arc::new(single)))
}

fn vehicle(model: &Model, index: usize, may: Vec<String>) -> GenericResult<Vehicle> {
    let tour = &model.tours[index];
    let detail = VehicleDetailBuilder::default()
        .set_start_location(tour.from)
        .set_start_time(tour.span.start_min as f64)
        .set_end_location(tour.to)
        .set_end_time(tour.span.end_min as f64)
        .build()?;
    let mut builder = VehicleBuilder::default()
        .id(&format!("{} from {}", tour.person, tour.span.start_min))
        .add_detail(detail)
        .dimension(|dimens| {
            dimens.set_vehicle_skills(may.into_iter().collect());
            tour_set(dimens, index);
        });
    if tour.capacity > 0 {
        builder = builder.capacity(SingleDimLoad::new(load(tour.capacity)));
    }
    builder.build()
}
