//! Jobs: one call at one site for one unit.
//!
//! Belongs here: what a job is and how it is read. Does not belong here: changing one
//! ([`change`]), giving it out ([`assign`]), its evidence and its requests.

pub mod assign;
pub mod change;
mod climb;
pub mod fit;
pub mod intake;
mod put;
pub mod told;

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, Qualification};
use crate::record::{self, Kept};

pub use assign::{Assign, job_assign};
pub(crate) use assign::{assignment_end, plans_hold};
pub use change::{JobChange, JobNew, job_add, job_change};
pub use climb::{call_out, job_decline};
pub(crate) use climb::{climb, settle};
pub use intake::Intake;
pub(crate) use put::put;
pub use roster::intake::{Answer, Answers, Work};

/// How long a job can wait, most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
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

impl Urgency {
    /// Every class, most urgent first.
    pub const ALL: [Urgency; 5] = [
        Urgency::NoHeatVulnerable,
        Urgency::Water,
        Urgency::FoodStorage,
        Urgency::NoHeatCool,
        Urgency::Comfort,
    ];

    /// The same class, as the roster knows it.
    pub fn from_roster(urgency: roster::queue::Urgency) -> Self {
        match urgency {
            roster::queue::Urgency::NoHeatVulnerable => Urgency::NoHeatVulnerable,
            roster::queue::Urgency::Water => Urgency::Water,
            roster::queue::Urgency::FoodStorage => Urgency::FoodStorage,
            roster::queue::Urgency::NoHeatCool => Urgency::NoHeatCool,
            roster::queue::Urgency::Comfort => Urgency::Comfort,
        }
    }

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            Urgency::NoHeatVulnerable => "no_heat_vulnerable",
            Urgency::Water => "water",
            Urgency::FoodStorage => "food_storage",
            Urgency::NoHeatCool => "no_heat_cool",
            Urgency::Comfort => "comfort",
        }
    }

    pub(crate) fn from_stored(name: &str) -> Result<Self, StoreError> {
        Urgency::ALL
            .into_iter()
            .find(|urgency| urgency.name() == name)
            .ok_or_else(|| StoreError::corrupt("urgency", std::io::Error::other(name.to_owned())))
    }
}

/// Where a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JobState {
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

impl JobState {
    /// Every state.
    pub const ALL: [JobState; 6] = [
        JobState::Open,
        JobState::Assigned,
        JobState::OnSite,
        JobState::Waiting,
        JobState::Done,
        JobState::Cancelled,
    ];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            JobState::Open => "open",
            JobState::Assigned => "assigned",
            JobState::OnSite => "on_site",
            JobState::Waiting => "waiting",
            JobState::Done => "done",
            JobState::Cancelled => "cancelled",
        }
    }

    /// Whether nothing more is to be done.
    pub fn is_closed(self) -> bool {
        matches!(self, JobState::Done | JobState::Cancelled)
    }

    /// Whether one may follow the other by a change of state alone. Becoming assigned, and open
    /// again, is the assignment's.
    pub fn may_become(self, next: JobState) -> bool {
        use JobState::{Assigned, Cancelled, Done, OnSite, Open, Waiting};
        match self {
            Open => matches!(next, Cancelled),
            Assigned => matches!(next, OnSite | Waiting | Done | Cancelled),
            OnSite => matches!(next, Waiting | Done | Cancelled),
            Waiting => matches!(next, OnSite | Done | Cancelled),
            Done => matches!(next, OnSite | Waiting),
            Cancelled => matches!(next, Open),
        }
    }

    pub(crate) fn from_stored(name: &str) -> Result<Self, StoreError> {
        JobState::ALL
            .into_iter()
            .find(|state| state.name() == name)
            .ok_or_else(|| StoreError::corrupt("job state", std::io::Error::other(name.to_owned())))
    }
}

/// A span of time that was promised or planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// From.
    pub start: DateTime<Utc>,
    /// To, not included.
    pub end: DateTime<Utc>,
}

/// A job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// Id.
    pub id: Uuid,
    /// Counted per shop.
    pub number: i32,
    /// The unit.
    pub unit_id: Uuid,
    /// The site the unit stands at.
    pub site_id: Uuid,
    /// Whose site.
    pub customer_id: Uuid,
    /// What the customer says is wrong.
    pub complaint: String,
    /// How long it can wait.
    pub urgency: Urgency,
    /// Where it stands.
    pub state: JobState,
    /// Who has it: id and name.
    pub assigned_to: Option<(Uuid, String)>,
    /// When they are promised.
    pub window: Option<Window>,
    /// When whoever has it is planned to be there; where nothing else was said, the promised
    /// window.
    pub planned: Option<Window>,
    /// What whoever goes must be qualified for.
    pub required: Vec<Qualification>,
    /// Whether somebody in the house cannot be without heat or cooling.
    pub vulnerable: bool,
    /// Outdoor temperature when the call came, degrees Fahrenheit.
    pub outdoor_f: Option<i32>,
    /// What kind of work it is.
    pub work: Work,
    /// Minutes it is expected to take on site.
    pub expected_min: i32,
    /// Nobody need go before this.
    pub not_before: Option<DateTime<Utc>>,
    /// What was answered to the plain questions, where they were asked.
    pub intake: Option<Intake>,
    /// Counts changes of evidence.
    pub evidence_revision: i64,
    /// When it was taken.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub changed_at: DateTime<Utc>,
    /// Counts changes of the job itself.
    pub version: i32,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    number: i32,
    unit_id: Uuid,
    site_id: Uuid,
    customer_id: Uuid,
    complaint: String,
    urgency: String,
    state: String,
    assigned_to: Option<Uuid>,
    assigned_name: Option<String>,
    window_start: Option<DateTime<Utc>>,
    window_end: Option<DateTime<Utc>>,
    planned_start: Option<DateTime<Utc>>,
    planned_end: Option<DateTime<Utc>>,
    required: Vec<String>,
    vulnerable: bool,
    outdoor_f: Option<i32>,
    work: String,
    expected_min: i32,
    not_before: Option<DateTime<Utc>>,
    intake: serde_json::Value,
    evidence_revision: i64,
    created_at: DateTime<Utc>,
    changed_at: DateTime<Utc>,
    version: i32,
}

/// A job of a shop.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn job_find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Job, StoreError> {
    let row = Row::find_by_statement(sql(
        "SELECT job.id, job.number, job.unit_id, unit.site_id, site.customer_id, job.complaint, \
         job.urgency, job.state, job.assigned_to, person.name AS assigned_name, \
         job.window_start, job.window_end, lower(assignment.planned) AS planned_start, \
         upper(assignment.planned) AS planned_end, job.required, job.vulnerable, \
         job.outdoor_f, job.work, job.expected_min, job.not_before, job.intake, \
         job.evidence_revision, job.created_at, job.changed_at, job.version \
         FROM job JOIN unit ON unit.id = job.unit_id JOIN site ON site.id = unit.site_id \
         LEFT JOIN person ON person.id = job.assigned_to \
         LEFT JOIN assignment ON assignment.job_id = job.id AND assignment.ended_at IS NULL \
         WHERE job.shop_id = $1 AND job.id = $2",
        [shop_id.into(), id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "job" })?;
    from_row(row)
}

/// What happened to a job itself, oldest first, from the record.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn job_history(
    store: &Store,
    caller: &Caller,
    id: Uuid,
) -> Result<Vec<Kept>, StoreError> {
    job_find(store.conn(), caller.shop_id, id).await?;
    let entries = record::list_of_subject(store.conn(), caller.shop_id, "job", id).await?;
    // What is known of requests comes through the request, which knows who may see what.
    Ok(entries.into_iter().filter(|entry| entry.kind.starts_with("job_")).collect())
}

fn from_row(row: Row) -> Result<Job, StoreError> {
    Ok(Job {
        id: row.id,
        number: row.number,
        unit_id: row.unit_id,
        site_id: row.site_id,
        customer_id: row.customer_id,
        complaint: row.complaint,
        urgency: Urgency::from_stored(&row.urgency)?,
        state: JobState::from_stored(&row.state)?,
        assigned_to: row.assigned_to.zip(row.assigned_name),
        window: window_from(row.window_start, row.window_end),
        planned: window_from(row.planned_start, row.planned_end),
        required: qualifications_from(&row.required)?,
        vulnerable: row.vulnerable,
        outdoor_f: row.outdoor_f,
        work: work_from(&row.work)?,
        expected_min: row.expected_min,
        not_before: row.not_before,
        intake: Intake::from_stored(row.intake)?,
        evidence_revision: row.evidence_revision,
        created_at: row.created_at,
        changed_at: row.changed_at,
        version: row.version,
    })
}

pub(crate) fn window_from(
    start: Option<DateTime<Utc>>,
    end: Option<DateTime<Utc>>,
) -> Option<Window> {
    Some(Window { start: start?, end: end? })
}

pub(crate) fn qualifications_from(names: &[String]) -> Result<Vec<Qualification>, StoreError> {
    let one = |name: &String| {
        Qualification::from_name(name).ok_or_else(|| {
            StoreError::corrupt("qualification", std::io::Error::other(name.to_owned()))
        })
    };
    names.iter().map(one).collect()
}

pub(crate) fn work_from(id: &str) -> Result<Work, StoreError> {
    Work::from_id(id)
        .ok_or_else(|| StoreError::corrupt("kind of work", std::io::Error::other(id.to_owned())))
}
