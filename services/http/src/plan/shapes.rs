//! Wire shapes of plans, pins and ways.
//!
//! Belongs here: how they are sent, with times instead of a plan's minutes. Does not belong here:
//! their rules.

use chrono::{DateTime, Utc};
use roster::plan::compare::{Kind, Totals};
use roster::plan::{Plan, Roads};
use serde::{Deserialize, Serialize};
use store::job::Window;
use store::plan::take::Taking;
use store::plan::ways::{WAYS_MAX, Ways, WaysChange};
use store::plan::{Ask, Body, Placed, PlanState, Proposal, ProposalRow};
use store::{Caller, StoreError};
use utoipa::ToSchema;
use uuid::Uuid;

use super::quarter::PlanQuarterShape;
use crate::job::UrgencyShape;

/// The planner's classes, most urgent first.
const CLASSES: [&str; 4] =
    ["no heat, someone vulnerable", "water or food", "no heat or cooling", "comfort"];

/// Asking for a plan.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanAsk {
    /// From then on; what is past of it is left out.
    from: DateTime<Utc>,
    /// Until then, at most 96 hours later.
    until: DateTime<Utc>,
    /// Seconds to search for, 1 to 30; 4 where absent.
    #[serde(default)]
    seconds: Option<u32>,
}

impl From<PlanAsk> for Ask {
    fn from(ask: PlanAsk) -> Self {
        Ask { from: ask.from, until: ask.until, seconds: ask.seconds }
    }
}

/// Taking a plan over.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanTake {
    /// Only these jobs; all that are left where absent.
    #[serde(default)]
    pub(super) jobs: Option<Vec<Uuid>>,
    /// When the one named job begins instead, where its own slot is no longer free.
    #[serde(default)]
    pub(super) start: Option<DateTime<Utc>>,
}

/// Whether proposals leave a job where it is.
#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PinPut {
    /// Whether they do.
    pub(super) pinned: bool,
}

/// Where a plan stands.
#[derive(Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = PlanState)]
pub(crate) enum PlanStateShape {
    /// May be taken.
    Open,
    /// All of it was.
    Taken,
    /// Let go.
    Dropped,
}

/// What a plan does with a job.
#[derive(Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = PlanKind)]
pub(crate) enum PlanKindShape {
    /// It is under way, or pinned.
    Held,
    /// It is best where it is.
    Stays,
    /// It gets a person and a time.
    Placed,
    /// It goes to somebody else or to another time.
    Moved,
    /// There is no place for it.
    LeftOut,
}

/// A person and a time.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanPlace)]
pub(crate) struct PlanPlaceShape {
    /// Who.
    person_id: Uuid,
    /// From.
    start: DateTime<Utc>,
    /// To.
    end: DateTime<Utc>,
    /// Driving to it, minutes.
    drive_min: i64,
}

/// A span.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanSpan)]
pub(crate) struct PlanSpanShape {
    /// From.
    start: DateTime<Utc>,
    /// To.
    end: DateTime<Utc>,
}

/// Somebody in a plan.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanPerson)]
pub(crate) struct PlanPersonShape {
    /// Id.
    id: Uuid,
    /// Name.
    name: String,
    /// When they work.
    duty: Vec<PlanSpanShape>,
    /// Pauses that they take.
    pauses: Vec<PlanSpanShape>,
    /// What the quarter holds for them; null in plans made before it was kept.
    quarter: Option<PlanQuarterShape>,
    /// Minutes driven to jobs as the board is, and in the plan.
    driven_min: [i64; 2],
    /// Minutes of work as the board is, and in the plan.
    work_min: [i64; 2],
}

/// A job in a plan.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanJob)]
pub(crate) struct PlanJobShape {
    /// Id.
    id: Uuid,
    /// Counted per shop.
    number: i32,
    /// The customer.
    customer_name: String,
    /// The site's town.
    town: String,
    /// How long it can wait.
    urgency: UrgencyShape,
    /// Whether it is pinned.
    pinned: bool,
    /// What happens to it.
    kind: PlanKindShape,
    /// Why, in a sentence.
    why: String,
    /// Where the board has it.
    before: Option<PlanPlaceShape>,
    /// Where the plan puts it.
    after: Option<PlanPlaceShape>,
    /// Whether taking the plan over does anything to it.
    changes: bool,
    /// Whether it was taken over.
    taken: bool,
    /// Whether somebody changed it since.
    changed_since: bool,
}

/// How long a class waits.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanWait)]
pub(crate) struct PlanWaitShape {
    /// Which jobs.
    class: &'static str,
    /// The longest as the board is, minutes; null where none has a time.
    longest_before_min: Option<i64>,
    /// The longest in the plan.
    longest_after_min: Option<i64>,
    /// The mean as the board is.
    mean_before_min: Option<f64>,
    /// The mean in the plan.
    mean_after_min: Option<f64>,
}

/// What one side costs.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanTotals)]
pub(crate) struct PlanTotalsShape {
    /// Minutes driven to jobs by all together.
    driven_min: i64,
    /// Jobs with a person and a time.
    placed: usize,
    /// Jobs without.
    without: usize,
    /// Jobs that break a promise: outside their window, by somebody who may not, not to be
    /// reached in time, or in somebody's rest.
    broken: usize,
}

/// Something that was taken over at once.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanTaking)]
pub(crate) struct PlanTakingShape {
    /// Id.
    id: Uuid,
    /// Who took it.
    taken_by_name: String,
    /// When.
    taken_at: DateTime<Utc>,
    /// The jobs.
    jobs: Vec<Uuid>,
    /// When it was given back.
    undone_at: Option<DateTime<Utc>>,
}

/// A proposal.
#[derive(Serialize, ToSchema)]
#[schema(as = Plan)]
pub struct PlanShape {
    /// Id.
    id: Uuid,
    /// Who asked.
    asked_by_name: String,
    /// Whether that is the caller.
    mine: bool,
    /// When.
    asked_at: DateTime<Utc>,
    /// From.
    from: DateTime<Utc>,
    /// Until.
    until: DateTime<Utc>,
    /// Where it stands.
    state: PlanStateShape,
    /// Who is in it.
    people: Vec<PlanPersonShape>,
    /// What is in it.
    jobs: Vec<PlanJobShape>,
    /// The board as it was.
    before: PlanTotalsShape,
    /// The plan.
    after: PlanTotalsShape,
    /// Waits by class, most urgent first; classes without jobs are left out.
    waits: Vec<PlanWaitShape>,
    /// What was guessed or left aside, in sentences.
    notes: Vec<String>,
    /// What was taken of it, oldest first.
    takings: Vec<PlanTakingShape>,
}

/// A proposal in a list.
#[derive(Serialize, ToSchema)]
#[schema(as = PlanRow)]
pub struct PlanRowShape {
    /// Id.
    id: Uuid,
    /// Who asked.
    asked_by_name: String,
    /// When.
    asked_at: DateTime<Utc>,
    /// From.
    from: DateTime<Utc>,
    /// Until.
    until: DateTime<Utc>,
    /// Where it stands: "open", "taken" or "dropped".
    state: String,
    /// How many jobs it changes.
    changes: i64,
}

/// How ways are reckoned.
#[derive(Serialize, ToSchema)]
#[schema(as = Ways)]
pub struct WaysShape {
    /// Road length over great circle; 1.3 unless changed, common practice, no source.
    factor: f64,
    /// Average speed, km/h; 50 unless changed, common practice, no source.
    km_per_h: f64,
    /// Where the shop is, degrees.
    latitude: Option<f64>,
    /// Where the shop is, degrees.
    longitude: Option<f64>,
    /// How many ways are known.
    known: i64,
    /// Most ways that can be known.
    known_max: usize,
    /// Of the sites of open jobs, how many have no coordinates.
    sites_without: i64,
}

/// What to change of how ways are reckoned; what is absent stays.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaysPatch {
    /// 1 to 3.
    #[serde(default)]
    factor: Option<f64>,
    /// 5 to 130.
    #[serde(default)]
    km_per_h: Option<f64>,
    /// Degrees; goes with `longitude`.
    #[serde(default)]
    latitude: Option<f64>,
    /// Degrees; goes with `latitude`.
    #[serde(default)]
    longitude: Option<f64>,
    /// The whole table of known ways: lines of `from,to,minutes`, each place the id of a site or
    /// "shop". An empty text takes the table out.
    #[serde(default)]
    known_csv: Option<String>,
}

impl From<Window> for PlanSpanShape {
    fn from(window: Window) -> Self {
        PlanSpanShape { start: window.start, end: window.end }
    }
}

impl From<Placed> for PlanPlaceShape {
    fn from(placed: Placed) -> Self {
        PlanPlaceShape {
            person_id: placed.person_id,
            start: placed.slot.start,
            end: placed.slot.end,
            drive_min: placed.drive_min,
        }
    }
}

impl From<&Totals> for PlanTotalsShape {
    fn from(totals: &Totals) -> Self {
        PlanTotalsShape {
            driven_min: totals.driven_min,
            placed: totals.placed,
            without: totals.without,
            broken: totals.broken,
        }
    }
}

impl From<Kind> for PlanKindShape {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Held => PlanKindShape::Held,
            Kind::Stays => PlanKindShape::Stays,
            Kind::Placed => PlanKindShape::Placed,
            Kind::Moved => PlanKindShape::Moved,
            Kind::LeftOut => PlanKindShape::LeftOut,
        }
    }
}

impl From<&Taking> for PlanTakingShape {
    fn from(taking: &Taking) -> Self {
        PlanTakingShape {
            id: taking.id,
            taken_by_name: taking.taken_by.1.clone(),
            taken_at: taking.taken_at,
            jobs: taking.moves.iter().map(|one| one.job_id).collect(),
            undone_at: taking.undone.map(|(_, at)| at),
        }
    }
}

impl PlanShape {
    pub(super) fn new(proposal: &Proposal, caller: &Caller) -> Self {
        let body = &proposal.body;
        PlanShape {
            id: proposal.id,
            asked_by_name: proposal.asked_by.1.clone(),
            mine: proposal.asked_by.0 == caller.person_id,
            asked_at: proposal.asked_at,
            from: proposal.span.start,
            until: proposal.span.end,
            state: match proposal.state {
                PlanState::Open => PlanStateShape::Open,
                PlanState::Taken => PlanStateShape::Taken,
                PlanState::Dropped => PlanStateShape::Dropped,
            },
            people: (0..body.people.len()).map(|index| person(body, index)).collect(),
            jobs: jobs(proposal),
            before: (&body.comparison.before).into(),
            after: (&body.comparison.after).into(),
            waits: waits(body),
            notes: body.notes.clone(),
            takings: proposal.takings.iter().map(Into::into).collect(),
        }
    }
}

fn person(body: &Body, index: usize) -> PlanPersonShape {
    let person = &body.problem.people[index];
    let both = |of: fn(&roster::plan::Visit) -> i64| {
        [&body.comparison.board, &body.plan]
            .map(|plan| plan.visits.iter().filter(|visit| visit.person == index).map(of).sum())
    };
    let pauses = body.plan.pauses.iter().filter(|pause| pause.person == index);
    PlanPersonShape {
        id: body.people[index].id,
        name: body.people[index].name.clone(),
        duty: person.duty_joined().into_iter().map(|span| body.window(span).into()).collect(),
        pauses: pauses.map(|pause| body.window(pause.span).into()).collect(),
        quarter: body.people[index].quarter.as_ref().map(Into::into),
        driven_min: both(|visit| visit.drive_min),
        work_min: both(|visit| visit.span.length_min()),
    }
}

fn jobs(proposal: &Proposal) -> Vec<PlanJobShape> {
    let body = &proposal.body;
    let taken = proposal.taken();
    let place = |plan: &Plan, job: usize| body.placed(plan, job).map(Into::into);
    let facts = body.jobs.iter().zip(&body.comparison.changes).enumerate();
    facts
        .map(|(index, (job, change))| PlanJobShape {
            id: job.id,
            number: job.number,
            customer_name: job.customer_name.clone(),
            town: job.town.clone(),
            urgency: job.urgency.into(),
            pinned: job.pinned,
            kind: change.kind.into(),
            why: change.why.clone(),
            before: place(&body.comparison.board, index),
            after: place(&body.plan, index),
            changes: body.changes(index),
            taken: taken.contains(&job.id),
            changed_since: proposal.changed.contains(&job.id),
        })
        .collect()
}

fn waits(body: &Body) -> Vec<PlanWaitShape> {
    let sides = body.comparison.before.waits.iter().zip(&body.comparison.after.waits);
    CLASSES
        .into_iter()
        .zip(sides)
        .filter(|(_, (before, after))| before.is_some() || after.is_some())
        .map(|(class, (before, after))| PlanWaitShape {
            class,
            longest_before_min: before.map(|wait| wait.longest_min),
            longest_after_min: after.map(|wait| wait.longest_min),
            mean_before_min: before.map(|wait| wait.mean_min),
            mean_after_min: after.map(|wait| wait.mean_min),
        })
        .collect()
}

impl From<ProposalRow> for PlanRowShape {
    fn from(row: ProposalRow) -> Self {
        PlanRowShape {
            id: row.id,
            asked_by_name: row.asked_by_name,
            asked_at: row.asked_at,
            from: row.from_at,
            until: row.until_at,
            state: row.state,
            changes: row.changes,
        }
    }
}

impl From<Ways> for WaysShape {
    fn from(ways: Ways) -> Self {
        let Roads { factor, km_per_h } = ways.roads;
        WaysShape {
            factor,
            km_per_h,
            latitude: ways.shop.map(|at| at[0]),
            longitude: ways.shop.map(|at| at[1]),
            known: ways.known,
            known_max: WAYS_MAX,
            sites_without: ways.sites_without,
        }
    }
}

impl TryFrom<WaysPatch> for WaysChange {
    type Error = StoreError;

    fn try_from(patch: WaysPatch) -> Result<Self, StoreError> {
        let shop = match (patch.latitude, patch.longitude) {
            (Some(latitude), Some(longitude)) => Some([latitude, longitude]),
            (None, None) => None,
            (Some(_), None) => {
                return Err(StoreError::invalid(
                    "/longitude",
                    "A latitude needs a longitude, too.",
                ));
            }
            (None, Some(_)) => {
                return Err(StoreError::invalid("/latitude", "A longitude needs a latitude, too."));
            }
        };
        Ok(WaysChange {
            factor: patch.factor,
            km_per_h: patch.km_per_h,
            shop,
            known_csv: patch.known_csv,
        })
    }
}
