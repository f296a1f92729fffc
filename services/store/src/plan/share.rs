//! What the quarter holds for each, as the board is and with the plan.
//!
//! Belongs here: counting the visits of either side that are call-outs, and keeping the two beside
//! each other. Does not belong here: how even shares are reckoned ([`roster::fairness`]), and what
//! the quarter holds already ([`crate::rota::burden`]).

use roster::fairness::{Burden, with_call_outs};
use roster::plan::{Plan, Span};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What the quarter holds for somebody, beside an even share.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Sides {
    /// With what the board has planned for them.
    pub before: Burden<Uuid>,
    /// With what the plan has for them instead.
    pub after: Burden<Uuid>,
}

/// What is needed to count either side. All times are the plan's minutes, all lists in the order of
/// its people.
pub(super) struct Quarter {
    /// What the quarter holds without anything that is still to come.
    pub(super) held: Vec<Burden<Uuid>>,
    /// When each is on call within the plan.
    pub(super) on_call: Vec<Vec<Span>>,
    /// The quarter.
    pub(super) span: Span,
    /// What began by then is counted already.
    pub(super) now_min: i64,
}

impl Quarter {
    /// For each, the board and the plan.
    pub(super) fn sides(&self, board: &Plan, plan: &Plan) -> Vec<Sides> {
        let with = |side: &Plan| with_call_outs(&self.held, &self.call_outs(side));
        let sides = with(board).into_iter().zip(with(plan));
        sides.map(|(before, after)| Sides { before, after }).collect()
    }

    fn call_outs(&self, side: &Plan) -> Vec<u32> {
        let mut counted = vec![0; self.on_call.len()];
        for visit in &side.visits {
            let to_come = visit.span.start_min > self.now_min;
            let within = (self.span.start_min..self.span.end_min).contains(&visit.span.start_min);
            if to_come && within && self.on_call[visit.person].iter().any(|on| on.meets(visit.span))
            {
                counted[visit.person] += 1;
            }
        }
        counted
    }
}
