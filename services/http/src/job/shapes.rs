//! Wire shapes of jobs.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use chrono::{DateTime, Utc};
use engine::gate::{self, State};
use serde::{Deserialize, Serialize};
use store::StoreError;
use store::job::{Assign, Job, JobChange, JobNew, JobState, Urgency};
use store::person::Person;
use store::record::Kept;
use utoipa::ToSchema;
use uuid::Uuid;

use super::window_of;
use crate::customer::CustomerShape;
use crate::shapes::{PersonRef, absent_or};
use crate::site::SiteShape;
use crate::unit::UnitShape;

/// How long a job can wait, most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Urgency)]
pub enum UrgencyShape {
    /// No heat, with somebody in the house who cannot bear it.
    NoHeatVulnerable,
    /// Water is leaking.
    Water,
    /// Stored food is at risk.
    FoodStorage,
    /// No heat or no cooling.
    NoHeatCool,
    /// Comfort.
    Comfort,
}

/// Where a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = JobState)]
pub enum JobStateShape {
    /// Taken, given to nobody.
    Open,
    /// Given to somebody.
    Assigned,
    /// They are there.
    OnSite,
    /// For a part, a read, an approval.
    Waiting,
    /// Finished.
    Done,
    /// Not needed any more.
    Cancelled,
}

/// Where a job's condemn request stands; nothing of what it claims.
#[derive(Serialize, ToSchema)]
pub struct RequestSummary {
    /// Id.
    id: Uuid,
    /// Its state.
    state: String,
    /// Its state in words.
    stage_words: &'static str,
}

/// A job.
#[derive(Serialize, ToSchema)]
#[schema(as = Job)]
pub struct JobShape {
    /// Id.
    id: Uuid,
    /// Counted per shop.
    number: i32,
    /// The unit.
    unit_id: Uuid,
    /// What the customer says is wrong.
    complaint: String,
    /// How long it can wait.
    urgency: UrgencyShape,
    /// Where it stands.
    state: JobStateShape,
    /// Who has it.
    assigned_to: Option<PersonRef>,
    /// Promised from.
    window_start: Option<DateTime<Utc>>,
    /// Promised to.
    window_end: Option<DateTime<Utc>>,
    /// Counts changes of evidence.
    evidence_revision: i64,
    /// When it was taken.
    created_at: DateTime<Utc>,
    /// When it last changed.
    changed_at: DateTime<Utc>,
    /// Counts changes of the job itself; send it with the next change.
    version: i32,
}

/// A job with all that bears on it.
#[derive(Serialize, ToSchema)]
#[schema(as = JobWhole)]
pub struct JobWholeShape {
    /// The job.
    #[serde(flatten)]
    pub(super) job: JobShape,
    /// The unit.
    pub(super) unit: UnitShape,
    /// Where it stands.
    pub(super) site: SiteShape,
    /// Whose it is.
    pub(super) customer: CustomerShape,
    /// Its condemn request, the open one or else the latest.
    pub(super) request: Option<RequestSummary>,
}

/// Something that happened to a job.
#[derive(Serialize, ToSchema)]
pub struct JobEvent {
    /// When.
    at: DateTime<Utc>,
    /// Who did it.
    actor: Option<PersonRef>,
    /// "job_taken", "job_changed" or "job_assigned".
    kind: String,
    /// What was known, as on the record.
    body: serde_json::Value,
}

/// A new job.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JobAdd {
    /// The unit.
    unit_id: Uuid,
    /// What the customer says is wrong.
    complaint: String,
    /// How long it can wait.
    urgency: UrgencyShape,
    /// Promised from; needs an end.
    #[serde(default)]
    window_start: Option<DateTime<Utc>>,
    /// Promised to.
    #[serde(default)]
    window_end: Option<DateTime<Utc>>,
    /// Who is to go.
    #[serde(default)]
    assigned_to: Option<Uuid>,
}

/// What to change of a job; what is absent stays.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JobPatch {
    /// The version that was looked at.
    version: i32,
    /// The next state.
    #[serde(default)]
    state: Option<JobStateShape>,
    /// How long it can wait.
    #[serde(default)]
    urgency: Option<UrgencyShape>,
    /// What the customer says is wrong.
    #[serde(default)]
    complaint: Option<String>,
    /// Promised from; change both ends together, null for both clears.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<DateTime<Utc>>)]
    window_start: Option<Option<DateTime<Utc>>>,
    /// Promised to.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<DateTime<Utc>>)]
    window_end: Option<Option<DateTime<Utc>>>,
}

/// Giving a job to somebody, or taking it back.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AssignmentPut {
    /// Who is to go; null takes it back.
    person_id: Option<Uuid>,
    /// From; the promised window stays where both ends are absent.
    #[serde(default)]
    window_start: Option<DateTime<Utc>>,
    /// To.
    #[serde(default)]
    window_end: Option<DateTime<Utc>>,
    /// The version that was looked at.
    version: i32,
}

impl RequestSummary {
    /// From an id and a stored state.
    pub fn new(id: Uuid, state: &str) -> Self {
        // The one list of these words is the gate's.
        let stage_words = State::from_id(state).map_or("", gate::stage_words);
        RequestSummary { id, state: state.to_owned(), stage_words }
    }
}

impl JobEvent {
    /// From an entry of the record and whoever did it.
    pub fn new(entry: &Kept, actor: Option<&Person>) -> Self {
        JobEvent {
            at: entry.at,
            actor: actor.map(|person| PersonRef { id: person.id, name: person.name.clone() }),
            kind: entry.kind.clone(),
            body: entry.body.clone(),
        }
    }
}

impl From<Job> for JobShape {
    fn from(job: Job) -> Self {
        JobShape {
            id: job.id,
            number: job.number,
            unit_id: job.unit_id,
            complaint: job.complaint,
            urgency: job.urgency.into(),
            state: job.state.into(),
            assigned_to: job.assigned_to.map(|(id, name)| PersonRef { id, name }),
            window_start: job.window.map(|window| window.start),
            window_end: job.window.map(|window| window.end),
            evidence_revision: job.evidence_revision,
            created_at: job.created_at,
            changed_at: job.changed_at,
            version: job.version,
        }
    }
}

impl TryFrom<JobAdd> for JobNew {
    type Error = StoreError;

    fn try_from(new: JobAdd) -> Result<Self, StoreError> {
        Ok(JobNew {
            unit_id: new.unit_id,
            complaint: new.complaint,
            urgency: new.urgency.into(),
            window: window_of(new.window_start, new.window_end)?,
            assigned_to: new.assigned_to,
        })
    }
}

impl TryFrom<JobPatch> for JobChange {
    type Error = StoreError;

    fn try_from(patch: JobPatch) -> Result<Self, StoreError> {
        let window = match (patch.window_start, patch.window_end) {
            (None, None) => None,
            (start, end) => Some(window_of(start.flatten(), end.flatten())?),
        };
        Ok(JobChange {
            version: patch.version,
            state: patch.state.map(JobState::from),
            urgency: patch.urgency.map(Urgency::from),
            complaint: patch.complaint,
            window,
        })
    }
}

impl TryFrom<AssignmentPut> for Assign {
    type Error = StoreError;

    fn try_from(put: AssignmentPut) -> Result<Self, StoreError> {
        Ok(Assign {
            version: put.version,
            person_id: put.person_id,
            window: window_of(put.window_start, put.window_end)?,
        })
    }
}

impl From<Urgency> for UrgencyShape {
    fn from(urgency: Urgency) -> Self {
        match urgency {
            Urgency::NoHeatVulnerable => UrgencyShape::NoHeatVulnerable,
            Urgency::Water => UrgencyShape::Water,
            Urgency::FoodStorage => UrgencyShape::FoodStorage,
            Urgency::NoHeatCool => UrgencyShape::NoHeatCool,
            Urgency::Comfort => UrgencyShape::Comfort,
        }
    }
}

impl From<UrgencyShape> for Urgency {
    fn from(urgency: UrgencyShape) -> Self {
        match urgency {
            UrgencyShape::NoHeatVulnerable => Urgency::NoHeatVulnerable,
            UrgencyShape::Water => Urgency::Water,
            UrgencyShape::FoodStorage => Urgency::FoodStorage,
            UrgencyShape::NoHeatCool => Urgency::NoHeatCool,
            UrgencyShape::Comfort => Urgency::Comfort,
        }
    }
}

impl From<JobState> for JobStateShape {
    fn from(state: JobState) -> Self {
        match state {
            JobState::Open => JobStateShape::Open,
            JobState::Assigned => JobStateShape::Assigned,
            JobState::OnSite => JobStateShape::OnSite,
            JobState::Waiting => JobStateShape::Waiting,
            JobState::Done => JobStateShape::Done,
            JobState::Cancelled => JobStateShape::Cancelled,
        }
    }
}

impl From<JobStateShape> for JobState {
    fn from(state: JobStateShape) -> Self {
        match state {
            JobStateShape::Open => JobState::Open,
            JobStateShape::Assigned => JobState::Assigned,
            JobStateShape::OnSite => JobState::OnSite,
            JobStateShape::Waiting => JobState::Waiting,
            JobStateShape::Done => JobState::Done,
            JobStateShape::Cancelled => JobState::Cancelled,
        }
    }
}
