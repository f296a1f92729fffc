//! What makes one plan better than another, for the routing library.
//!
//! Belongs here: the two things the search makes small, in this order: what is not placed, by
//! urgency; then minutes, of driving, of waiting by class, and of work given to who has had more
//! of it. Does not belong here: what a plan may not do at all (constraints), and the weights
//! themselves ([`crate::model`]).

use std::sync::Arc;

use vrp_core::construction::heuristics::{InsertionContext, MoveContext, RouteContext};
use vrp_core::models::FeatureObjective;
use vrp_core::models::common::{Cost, Dimensions};
use vrp_core::models::problem::{Job, Single};
use vrp_core::models::solution::{Activity, Route};

use crate::model::Model;

/// The key under which a library's job carries its stop's index.
struct StopKey;

pub(crate) fn stop_set(single: &mut Single, stop: usize) {
    single.dimens.set_value::<StopKey, usize>(stop);
}

pub(crate) fn stop(single: &Single) -> Option<usize> {
    single.dimens.get_value::<StopKey, usize>().copied()
}

/// The key under which a vehicle carries its tour's index.
struct TourKey;

pub(crate) fn tour_set(dimens: &mut Dimensions, tour: usize) {
    dimens.set_value::<TourKey, usize>(tour);
}

pub(crate) fn tour(route: &Route) -> Option<usize> {
    route.actor.vehicle.dimens.get_value::<TourKey, usize>().copied()
}

/// Jobs and pauses that are not placed.
pub(crate) struct LeftOut(pub(crate) Arc<Model>);

impl LeftOut {
    fn weight(&self, job: &Job) -> Cost {
        let stop = job.as_single().and_then(|single| stop(single));
        stop.map_or(0.0, |stop| self.0.stops[stop].left_out)
    }
}

impl FeatureObjective for LeftOut {
    fn fitness(&self, solution: &InsertionContext) -> Cost {
        let solution = &solution.solution;
        // A solution without routes would look complete if what it ignores did not count.
        let ignored = solution.routes.is_empty().then_some(&solution.ignored);
        let left = ignored.into_iter().flatten().chain(solution.unassigned.keys());
        left.map(|job| self.weight(job)).sum()
    }

    fn estimate(&self, move_ctx: &MoveContext<'_>) -> Cost {
        match move_ctx {
            MoveContext::Route { job, .. } => -self.weight(job),
            MoveContext::Activity { .. } => 0.0,
        }
    }
}

/// Minutes of driving, waiting, and uneven work.
pub(crate) struct Minutes(pub(crate) Arc<Model>);

impl Minutes {
    fn way(&self, from: &Activity, to: &Activity) -> f64 {
        self.0.way(from.place.location, to.place.location) as f64
    }

    /// What one activity that begins at `start` costs, driving left out.
    fn of_activity(&self, route: &Route, activity: &Activity, start: f64) -> f64 {
        let stop = activity.job.as_ref().and_then(|single| stop(single));
        stop.zip(tour(route)).map_or(0.0, |(stop, tour)| {
            self.0.stops[stop].cost(&self.0.tours[tour], start.round() as i64)
        })
    }

    fn of_route(&self, route_ctx: &RouteContext) -> f64 {
        let route = route_ctx.route();
        let ways = route.tour.all_activities().zip(route.tour.all_activities().skip(1));
        let driven: f64 = ways.map(|(from, to)| self.way(from, to)).sum();
        // Whoever has nothing to do on a stretch goes its way too.
        let straight = match (route.tour.start(), route.tour.end()) {
            (Some(start), Some(end)) => self.way(start, end),
            _ => 0.0,
        };
        let rest: f64 = route
            .tour
            .all_activities()
            .map(|a| self.of_activity(route, a, a.schedule.departure - a.place.duration))
            .sum();
        driven - straight + rest
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
        let start = arrives.max(target.place.time.start);
        to + on + self.of_activity(route_ctx.route(), target, start)
    }
}
