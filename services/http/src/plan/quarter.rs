//! Wire shape of what a quarter holds for somebody in a plan.
//!
//! Belongs here: the two sides and their words. Does not belong here: how they are reckoned.

use roster::fairness::Burden;
use serde::Serialize;
use store::plan::share::Sides;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::rota::LoadShape;

/// What the quarter holds for somebody, beside an even share by the days they are there.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanQuarter)]
pub(crate) struct PlanQuarterShape {
    /// As the board is.
    before: PlanQuarterSideShape,
    /// With the plan.
    after: PlanQuarterSideShape,
}

/// One side of it.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanQuarterSide)]
pub(crate) struct PlanQuarterSideShape {
    /// What they have.
    has: LoadShape,
    /// What they would have if all was shared by days available.
    share: LoadShape,
    /// What they have as one number, hours: weekends, holidays, and 2 h for each night and call-out.
    has_h: f64,
    /// The even share as one number, hours.
    share_h: f64,
    /// In words, "26 h of 20 h, 6 h above an even share".
    says: String,
}

impl From<&Sides> for PlanQuarterShape {
    fn from(sides: &Sides) -> Self {
        PlanQuarterShape { before: (&sides.before).into(), after: (&sides.after).into() }
    }
}

impl From<&Burden<Uuid>> for PlanQuarterSideShape {
    fn from(burden: &Burden<Uuid>) -> Self {
        PlanQuarterSideShape {
            has: burden.has.into(),
            share: burden.share.into(),
            has_h: burden.has.burden_h(),
            share_h: burden.share.burden_h(),
            says: burden.words(),
        }
    }
}
