//! What makes one plan better than another.
//!
//! Belongs here: the two things the search makes small, in this order: what is not placed, by
//! urgency; then minutes, of driving, of waiting by class, and of work given to who has had more
//! of it. Does not belong here: what a plan may not do at all (constraints).

use std::sync::Arc;

use roster::plan::CLASS_LAST;
use vrp_core::construction::heuristics::{InsertionContext, MoveContext, RouteContext};
use vrp_core::models::FeatureObjective;
use vrp_core::models::common::Cost;
use vrp_core::models::problem::{Job, Single};
use vrp_core::models::solution::Activity;

/// What leaving a job of each class out counts; one of a class outweighs several of the next.
const LEFT_OUT: [f64; CLASS_LAST as usize + 1] = [1000.0, 100.0, 10.0, 1.0];
/// What leaving a pause out counts: more than any job, for without it that duty has none.
const PAUSE_LEFT_OUT: f64 = 10_000.0;
/// How many minutes of driving a minute of waiting is worth, by class.
const WAIT: [f64; CLASS_LAST as usize + 1] = [1.0, 0.4, 0.15, 0.05];
/// How many minutes of driving a minute of work is worth when given to who has had the most
/// this quarter rather than to who has had the least.
const UNEVEN: f64 = 0.5;

/// What an activity of the library is to us.
#[derive(Clone, Copy)]
pub(crate) enum Meaning {
    /// A job, by index; how urgent; ready since.
    Job { index: usize, class: u8, ready_min: i64 },
    /// A pause.
    Pause,
}

/// The key under which a library's job carries its [`Meaning`].
struct MeaningKey;

pub(crate) fn meaning_set(single: &mut Single, meaning: Meaning) {
    single.dimens.set_value::<MeaningKey, Meaning>(meaning);
}

pub(crate) fn meaning(single: &Single) -> Option<Meaning> {
    single.dimens.get_value::<MeaningKey, Meaning>().copied()
}

fn of_class(weights: &[f64; CLASS_LAST as usize + 1], class: u8) -> f64 {
    weights[usize::from(class.min(CLASS_LAST))]
}

/// Jobs and pauses that are not placed.
pub(crate) struct LeftOut;

impl LeftOut {
    fn weight(job: &Job) -> Cost {
        match job.as_single().and_then(|single| meaning(single)) {
            Some(Meaning::Job { class, .. }) => of_class(&LEFT_OUT, class),
            Some(Meaning::Pause) => PAUSE_LEFT_OUT,
            None => 0.0,
        }
    }
}

impl FeatureObjective for LeftOut {
    fn fitness(&self, solution: &InsertionContext) -> Cost {
        let solution = &solution.solution;
        // A solution without routes would look complete if what it ignores did not count.
        let ignored = solution.routes.is_empty().then_some(&solution.ignored);
        ignored.into_iter().flatten().chain(solution.unassigned.keys()).map(Self::weight).sum()
    }

    fn estimate(&self, move_ctx: &MoveContext<'_>) -> Cost {
        match move_ctx {
            MoveContext::Route { job, .. } => -Self::weight(job),
            MoveContext::Activity { .. } => 0.0,
        }
    }
}

/// Minutes of driving, waiting, and uneven work.
pub(crate) struct Minutes {
    /// Row by row.
    pub(crate) travel: Arc<Vec<f64>>,
    /// Places.
    pub(crate) size: usize,
    /// By vehicle profile's person: 0 for who has had the least this quarter, 1 for the most.
    pub(crate) uneven: Vec<f64>,
}

/// The key under which a vehicle carries its person's index.
struct PersonKey;

pub(crate) fn person_set(dimens: &mut vrp_core::models::common::Dimensions, person: usize) {
    dimens.set_value::<PersonKey, usize>(person);
}

pub(crate) fn person(route: &vrp_core::models::solution::Route) -> Option<usize> {
    route.actor.vehicle.dimens.get_value::<PersonKey, usize>().copied()
}

impl Minutes {
    fn way(&self, from: &Activity, to: &Activity) -> f64 {
        let cell = from.place.location * self.size + to.place.location;
        self.travel.get(cell).copied().unwrap_or(0.0)
    }

    /// Waiting and uneven work of one activity that begins at `start_min`.
    fn of_activity(&self, activity: &Activity, start_min: f64, uneven: f64) -> f64 {
        match activity.job.as_ref().and_then(|single| meaning(single)) {
            Some(Meaning::Job { class, ready_min, .. }) => {
                of_class(&WAIT, class) * (start_min - ready_min as f64).max(0.0)
                    + UNEVEN * uneven * activity.place.duration
            }
            _ => 0.0,
        }
    }

    fn of_route(&self, route_ctx: &RouteContext) -> f64 {
        let route = route_ctx.route();
        let uneven = person(route).and_then(|p| self.uneven.get(p)).copied().unwrap_or(0.0);
        let real = |a: &Activity| {
            matches!(a.job.as_ref().and_then(|single| meaning(single)), Some(Meaning::Job { .. }))
        };
        if !route.tour.all_activities().any(real) {
            return 0.0;
        }
        let ways = route.tour.all_activities().zip(route.tour.all_activities().skip(1));
        let driven: f64 = ways.map(|(from, to)| self.way(from, to)).sum();
        let rest: f64 = route
            .tour
            .all_activities()
            .map(|a| self.of_activity(a, a.schedule.departure - a.place.duration, uneven))
            .sum();
        driven + rest
    }
}

impl FeatureObjective for Minutes {
    fn fitness(&self, solution: &InsertionContext) -> Cost {
        solution.solution.routes.iter().map(|route| self.of_route(route)).sum()
    }

    fn estimate(&self, move_ctx: &MoveContext<'_>) -> Cost {
        let MoveContext::Activity { route_ctx, activity_ctx } = move_ctx else { return 0.0 };
        let (before, target) = (activity_ctx.prev, activity_ctx.target);
        let to = self.way(before, target);
        let on =
            activity_ctx.next.map_or(0.0, |next| self.way(target, next) - self.way(before, next));
        let arrives = before.schedule.departure + to;
        let start_min = arrives.max(target.place.time.start);
        let uneven =
            person(route_ctx.route()).and_then(|p| self.uneven.get(p)).copied().unwrap_or(0.0);
        to + on + self.of_activity(target, start_min, uneven)
    }
}
