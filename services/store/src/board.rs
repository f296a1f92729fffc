//! The board: every job that is not over, or only just, for everyone in the shop.
//!
//! Belongs here: the one query behind the board. Does not belong here: the order for answering
//! the telephone (the roster's), and anything of a request beyond where it stands.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::{JobState, Urgency, Window, Work, qualifications_from, window_from, work_from};
use crate::live_feed;
use crate::person::{Caller, Qualification};

/// How long a finished job stays on the board.
const CLOSED_HOURS: i64 = 36;

/// Most jobs on the board; the least urgent beyond it are left off. A shop with more needs
/// more than a board.
const JOBS_MAX: i64 = 1_000;

/// The board at one moment.
#[derive(Clone, Debug)]
pub struct Board {
    /// Open jobs first, by urgency and promised time.
    pub jobs: Vec<BoardJob>,
    /// Every change up to this number of the live feed is in it.
    pub as_of_live: i64,
}

/// One job on the board.
#[derive(Clone, Debug)]
pub struct BoardJob {
    /// Id.
    pub id: Uuid,
    /// Counted per shop.
    pub number: i32,
    /// How long it can wait.
    pub urgency: Urgency,
    /// Where it stands.
    pub state: JobState,
    /// What the customer says is wrong.
    pub complaint: String,
    /// The customer.
    pub customer_name: String,
    /// The site's town.
    pub town: String,
    /// The site's address.
    pub address: String,
    /// The site's zone.
    pub zone: String,
    /// The unit.
    pub unit_label: String,
    /// Its circuit.
    pub circuit: String,
    /// Who has it: id and name.
    pub assigned_to: Option<(Uuid, String)>,
    /// When they are promised.
    pub window: Option<Window>,
    /// When whoever has it is, or was last, planned to be there.
    pub planned: Option<Window>,
    /// What whoever goes must be qualified for.
    pub required: Vec<Qualification>,
    /// Whether somebody there cannot be without heat or cooling.
    pub vulnerable: bool,
    /// What kind of work it is.
    pub work: Work,
    /// Minutes it is expected to take on site.
    pub expected_min: i32,
    /// Nobody need go before this.
    pub not_before: Option<DateTime<Utc>>,
    /// Its condemn request, the open one or else the latest: id and state.
    pub request: Option<(Uuid, String)>,
    /// Readings that are not struck.
    pub readings_count: i64,
    /// When anything about it last changed.
    pub last_change_at: DateTime<Utc>,
    /// Counts changes of the job itself.
    pub version: i32,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    number: i32,
    urgency: String,
    state: String,
    complaint: String,
    customer_name: String,
    town: String,
    address: String,
    zone: String,
    unit_label: String,
    circuit: String,
    assigned_to: Option<Uuid>,
    assigned_name: Option<String>,
    window_start: Option<DateTime<Utc>>,
    window_end: Option<DateTime<Utc>>,
    planned_start: Option<DateTime<Utc>>,
    planned_end: Option<DateTime<Utc>>,
    required: Vec<String>,
    vulnerable: bool,
    work: String,
    expected_min: i32,
    not_before: Option<DateTime<Utc>>,
    request_id: Option<Uuid>,
    request_state: Option<String>,
    readings_count: i64,
    last_change_at: DateTime<Utc>,
    version: i32,
}

/// The caller's board.
///
/// # Errors
/// When the database fails.
pub async fn board(store: &Store, caller: &Caller) -> Result<Board, StoreError> {
    // The number first: what changes between the two queries is then told again, not lost.
    let as_of_live = live_feed::last_seq(store.conn(), caller.shop_id).await?;
    let rows = Row::find_by_statement(sql(
        "SELECT job.id, job.number, job.urgency, job.state, job.complaint, \
           customer.name AS customer_name, site.town, site.address, site.zone, \
           unit.label AS unit_label, unit.circuit, job.assigned_to, \
           person.name AS assigned_name, job.window_start, job.window_end, \
           lower(plan.planned) AS planned_start, upper(plan.planned) AS planned_end, \
           job.required, job.vulnerable, job.work, job.expected_min, job.not_before, \
           request.id AS request_id, request.state AS request_state, \
           (SELECT count(*) FROM reading WHERE reading.job_id = job.id AND NOT EXISTS \
             (SELECT FROM reading_strike WHERE reading_id = reading.id)) AS readings_count, \
           greatest(job.changed_at, request.changed_at) AS last_change_at, job.version \
         FROM job \
         JOIN unit ON unit.id = job.unit_id \
         JOIN site ON site.id = unit.site_id \
         JOIN customer ON customer.id = site.customer_id \
         LEFT JOIN person ON person.id = job.assigned_to \
         LEFT JOIN LATERAL ( \
           SELECT planned FROM assignment \
           WHERE job_id = job.id AND person_id = job.assigned_to \
           ORDER BY ended_at DESC NULLS FIRST LIMIT 1 \
         ) AS plan ON true \
         LEFT JOIN LATERAL ( \
           SELECT id, state, changed_at FROM condemn_request WHERE job_id = job.id \
             AND (state <> 'draft' OR requester = $4) \
           ORDER BY state IN ('approved', 'declined', 'withdrawn', 'overturned'), \
             created_at DESC LIMIT 1 \
         ) AS request ON true \
         WHERE job.shop_id = $1 \
           AND (job.state NOT IN ('done', 'cancelled') OR job.changed_at > $2) \
         ORDER BY job.state IN ('done', 'cancelled'), \
           array_position(ARRAY['no_heat_vulnerable', 'water', 'food_storage', 'no_heat_cool', \
             'comfort'], job.urgency), \
           job.window_start NULLS LAST, job.number \
         LIMIT $3",
        [
            caller.shop_id.into(),
            (store.now() - TimeDelta::hours(CLOSED_HOURS)).into(),
            JOBS_MAX.into(),
            caller.person_id.into(),
        ],
    ))
    .all(store.conn())
    .await?;
    let jobs = rows.into_iter().map(from_row).collect::<Result<_, _>>()?;
    Ok(Board { jobs, as_of_live })
}

fn from_row(row: Row) -> Result<BoardJob, StoreError> {
    Ok(BoardJob {
        id: row.id,
        number: row.number,
        urgency: Urgency::from_stored(&row.urgency)?,
        state: JobState::from_stored(&row.state)?,
        complaint: row.complaint,
        customer_name: row.customer_name,
        town: row.town,
        address: row.address,
        zone: row.zone,
        unit_label: row.unit_label,
        circuit: row.circuit,
        assigned_to: row.assigned_to.zip(row.assigned_name),
        window: window_from(row.window_start, row.window_end),
        planned: window_from(row.planned_start, row.planned_end),
        required: qualifications_from(&row.required)?,
        vulnerable: row.vulnerable,
        work: work_from(&row.work)?,
        expected_min: row.expected_min,
        not_before: row.not_before,
        request: row.request_id.zip(row.request_state),
        readings_count: row.readings_count,
        last_change_at: row.last_change_at,
        version: row.version,
    })
}

/// A job's condemn request, the open one or else the latest: id and state. A draft is seen
/// by its requester only.
///
/// # Errors
/// When the database fails.
pub async fn request_of_job<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    job_id: Uuid,
) -> Result<Option<(Uuid, String)>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        state: String,
    }
    let row = Row::find_by_statement(sql(
        "SELECT id, state FROM condemn_request WHERE shop_id = $1 AND job_id = $2 \
           AND (state <> 'draft' OR requester = $3) \
         ORDER BY state IN ('approved', 'declined', 'withdrawn', 'overturned'), \
           created_at DESC LIMIT 1",
        [caller.shop_id.into(), job_id.into(), caller.person_id.into()],
    ))
    .one(conn)
    .await?;
    Ok(row.map(|row| (row.id, row.state)))
}
