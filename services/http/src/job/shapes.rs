//! Wire shapes of jobs.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use chrono::{DateTime, Utc};
use engine::gate::{self, State};
use serde::{Deserialize, Serialize};
use store::StoreError;
use store::job::told::Told;
use store::job::{Answers, Assign, Job, JobChange, JobNew, JobState, Urgency, Work};
use store::person::Qualification;
use utoipa::ToSchema;
use uuid::Uuid;

use super::window_of;
use crate::customer::CustomerShape;
use crate::intake::{AnswersShape, IntakeShape};
use crate::person::QualificationShape;
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

/// What kind of work a job is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Work)]
pub enum WorkShape {
    /// Finding out what is wrong.
    #[default]
    Diagnosis,
    /// A repair that is already known.
    Repair,
    /// Service by the calendar.
    Maintenance,
    /// Putting a unit in.
    Installation,
    /// Coming back with a part, or to look again.
    ReturnVisit,
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
    /// Planned from: when whoever has it is meant to be there.
    planned_start: Option<DateTime<Utc>>,
    /// Planned to.
    planned_end: Option<DateTime<Utc>>,
    /// What whoever goes must be qualified for.
    required: Vec<QualificationShape>,
    /// Whether somebody there cannot be without heat or cooling.
    vulnerable: bool,
    /// Outdoor temperature when the call came, degrees Fahrenheit.
    outdoor_f: Option<i32>,
    /// What kind of work it is.
    work: WorkShape,
    /// Minutes it is expected to take on site.
    expected_min: i32,
    /// Nobody need go before this.
    not_before: Option<DateTime<Utc>>,
    /// What was answered to the plain questions, where they were asked.
    intake: Option<IntakeShape>,
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
    /// "job_taken", "job_changed", "job_assigned", or what another noun did to the job.
    kind: String,
    /// What happened, a sentence each, with names and the shop's own clock.
    says: Vec<String>,
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
    /// How long it can wait; where absent, as the answers say.
    #[serde(default)]
    urgency: Option<UrgencyShape>,
    /// What was answered to the plain questions.
    #[serde(default)]
    answers: Option<AnswersShape>,
    /// Why it has another class than the answers make; needed only then.
    #[serde(default)]
    urgency_because: Option<String>,
    /// Promised from; needs an end.
    #[serde(default)]
    window_start: Option<DateTime<Utc>>,
    /// Promised to.
    #[serde(default)]
    window_end: Option<DateTime<Utc>>,
    /// Who is to go.
    #[serde(default)]
    assigned_to: Option<Uuid>,
    /// Planned from, for whoever is to go; the promised window where both ends are absent.
    #[serde(default)]
    planned_start: Option<DateTime<Utc>>,
    /// Planned to.
    #[serde(default)]
    planned_end: Option<DateTime<Utc>>,
    /// What whoever goes must be qualified for.
    #[serde(default)]
    required: Vec<QualificationShape>,
    /// Whether somebody there cannot be without heat or cooling; true where the answers say so.
    #[serde(default)]
    vulnerable: bool,
    /// Outdoor temperature, degrees Fahrenheit, −80 to 140.
    #[serde(default)]
    outdoor_f: Option<i32>,
    /// What kind of work it is.
    #[serde(default)]
    work: WorkShape,
    /// Minutes on site, 5 to 2880; what that kind of work usually takes where absent.
    #[serde(default)]
    expected_min: Option<i32>,
    /// Nobody need go before this.
    #[serde(default)]
    not_before: Option<DateTime<Utc>>,
    /// Why it is given to somebody against whom something speaks; needed only then.
    #[serde(default)]
    because: Option<String>,
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
    /// What is answered to the plain questions now; their class holds unless `urgency` is given.
    #[serde(default)]
    answers: Option<AnswersShape>,
    /// Why it has another class than the answers make; needed only then.
    #[serde(default)]
    urgency_because: Option<String>,
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
    /// What whoever goes must be qualified for; the whole list.
    #[serde(default)]
    required: Option<Vec<QualificationShape>>,
    /// Whether somebody there cannot be without heat or cooling.
    #[serde(default)]
    vulnerable: Option<bool>,
    /// Outdoor temperature, degrees Fahrenheit, −80 to 140.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<i32>)]
    outdoor_f: Option<Option<i32>>,
    /// What kind of work it is.
    #[serde(default)]
    work: Option<WorkShape>,
    /// Minutes on site, 5 to 2880.
    #[serde(default)]
    expected_min: Option<i32>,
    /// Nobody need go before this.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<DateTime<Utc>>)]
    not_before: Option<Option<DateTime<Utc>>>,
}

/// Giving a job to somebody, or taking it back.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AssignmentPut {
    /// Who is to go; null takes it back.
    person_id: Option<Uuid>,
    /// What the customer is promised, from; the promise stays where both ends are absent.
    #[serde(default)]
    window_start: Option<DateTime<Utc>>,
    /// Promised to.
    #[serde(default)]
    window_end: Option<DateTime<Utc>>,
    /// Planned from; the promised window where both ends are absent.
    #[serde(default)]
    planned_start: Option<DateTime<Utc>>,
    /// Planned to.
    #[serde(default)]
    planned_end: Option<DateTime<Utc>>,
    /// Why it is right though something speaks against it; needed only then.
    #[serde(default)]
    because: Option<String>,
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

impl From<Told> for JobEvent {
    fn from(told: Told) -> Self {
        JobEvent {
            at: told.entry.at,
            actor: told.actor.map(|(id, name)| PersonRef { id, name }),
            kind: told.entry.kind,
            says: told.says,
            body: told.entry.body,
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
            planned_start: job.planned.map(|slot| slot.start),
            planned_end: job.planned.map(|slot| slot.end),
            required: job.required.into_iter().map(QualificationShape::from).collect(),
            vulnerable: job.vulnerable,
            outdoor_f: job.outdoor_f,
            work: job.work.into(),
            expected_min: job.expected_min,
            not_before: job.not_before,
            intake: job.intake.map(IntakeShape::from),
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
            urgency: new.urgency.map(Urgency::from),
            answers: new.answers.map(Answers::from),
            urgency_because: new.urgency_because,
            window: window_of("window", new.window_start, new.window_end)?,
            assigned_to: new.assigned_to,
            planned: window_of("planned", new.planned_start, new.planned_end)?,
            required: new.required.into_iter().map(Qualification::from).collect(),
            vulnerable: new.vulnerable,
            outdoor_f: new.outdoor_f,
            work: new.work.into(),
            expected_min: new.expected_min,
            not_before: new.not_before,
            because: new.because,
        })
    }
}

impl TryFrom<JobPatch> for JobChange {
    type Error = StoreError;

    fn try_from(patch: JobPatch) -> Result<Self, StoreError> {
        let window = match (patch.window_start, patch.window_end) {
            (None, None) => None,
            (start, end) => Some(window_of("window", start.flatten(), end.flatten())?),
        };
        Ok(JobChange {
            version: patch.version,
            state: patch.state.map(JobState::from),
            urgency: patch.urgency.map(Urgency::from),
            answers: patch.answers.map(Answers::from),
            urgency_because: patch.urgency_because,
            complaint: patch.complaint,
            window,
            required: patch
                .required
                .map(|required| required.into_iter().map(Qualification::from).collect()),
            vulnerable: patch.vulnerable,
            outdoor_f: patch.outdoor_f,
            work: patch.work.map(Work::from),
            expected_min: patch.expected_min,
            not_before: patch.not_before,
        })
    }
}

impl TryFrom<AssignmentPut> for Assign {
    type Error = StoreError;

    fn try_from(put: AssignmentPut) -> Result<Self, StoreError> {
        Ok(Assign {
            version: put.version,
            person_id: put.person_id,
            window: window_of("window", put.window_start, put.window_end)?,
            planned: window_of("planned", put.planned_start, put.planned_end)?,
            because: put.because,
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

impl From<Work> for WorkShape {
    fn from(work: Work) -> Self {
        match work {
            Work::Diagnosis => WorkShape::Diagnosis,
            Work::Repair => WorkShape::Repair,
            Work::Maintenance => WorkShape::Maintenance,
            Work::Installation => WorkShape::Installation,
            Work::ReturnVisit => WorkShape::ReturnVisit,
        }
    }
}

impl From<WorkShape> for Work {
    fn from(work: WorkShape) -> Self {
        match work {
            WorkShape::Diagnosis => Work::Diagnosis,
            WorkShape::Repair => Work::Repair,
            WorkShape::Maintenance => Work::Maintenance,
            WorkShape::Installation => Work::Installation,
            WorkShape::ReturnVisit => Work::ReturnVisit,
        }
    }
}
