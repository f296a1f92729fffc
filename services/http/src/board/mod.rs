//! The board: every job, for everyone who may see it.
//!
//! Belongs here: the route and wire shapes of the board. Does not belong here: its query.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::job::{JobStateShape, RequestSummary, UrgencyShape, WorkShape};
use crate::person::QualificationShape;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// The board at one moment.
#[derive(Serialize, ToSchema)]
#[schema(as = Board)]
pub struct BoardShape {
    /// Open jobs first, by urgency and promised time; then those that ended lately.
    jobs: Vec<BoardJobShape>,
    /// Every change up to this number of the live stream is in it.
    as_of_live: i64,
}

/// One job on the board.
#[derive(Serialize, ToSchema)]
#[schema(as = BoardJob)]
pub struct BoardJobShape {
    /// Id.
    id: Uuid,
    /// Counted per shop.
    number: i32,
    /// How long it can wait.
    urgency: UrgencyShape,
    /// Where it stands.
    state: JobStateShape,
    /// What the customer says is wrong.
    complaint: String,
    /// The customer.
    customer_name: String,
    /// The site's town.
    town: String,
    /// The site's address.
    address: String,
    /// The site's zone; its times are shown local to it.
    zone: String,
    /// The unit.
    unit_label: String,
    /// Its circuit.
    circuit: String,
    /// Who has it.
    assigned_to: Option<PersonRef>,
    /// Promised from.
    window_start: Option<DateTime<Utc>>,
    /// Promised to.
    window_end: Option<DateTime<Utc>>,
    /// Planned from: when whoever has it is, or was last, meant to be there.
    planned_start: Option<DateTime<Utc>>,
    /// Planned to.
    planned_end: Option<DateTime<Utc>>,
    /// What whoever goes must be qualified for.
    required: Vec<QualificationShape>,
    /// Whether somebody there cannot be without heat or cooling.
    vulnerable: bool,
    /// What kind of work it is.
    work: WorkShape,
    /// Minutes it is expected to take on site.
    expected_min: i32,
    /// Nobody need go before this.
    not_before: Option<DateTime<Utc>>,
    /// Its condemn request, the open one or else the latest.
    request: Option<RequestSummary>,
    /// Readings that are not struck.
    readings_count: i64,
    /// When anything about it last changed.
    last_change_at: DateTime<Utc>,
    /// Counts changes of the job itself.
    version: i32,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(board_show);
}

/// The board.
#[utoipa::path(tag = "board", responses(
    (status = 200, description = "The board", body = BoardShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/board")]
async fn board_show(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let board = store::board::board(&state.store, &caller).await?;
    Ok(HttpResponse::Ok().json(BoardShape {
        jobs: board.jobs.into_iter().map(BoardJobShape::from).collect(),
        as_of_live: board.as_of_live,
    }))
}

impl From<store::board::BoardJob> for BoardJobShape {
    fn from(job: store::board::BoardJob) -> Self {
        BoardJobShape {
            id: job.id,
            number: job.number,
            urgency: job.urgency.into(),
            state: job.state.into(),
            complaint: job.complaint,
            customer_name: job.customer_name,
            town: job.town,
            address: job.address,
            zone: job.zone,
            unit_label: job.unit_label,
            circuit: job.circuit,
            assigned_to: job.assigned_to.map(|(id, name)| PersonRef { id, name }),
            window_start: job.window.map(|window| window.start),
            window_end: job.window.map(|window| window.end),
            planned_start: job.planned.map(|slot| slot.start),
            planned_end: job.planned.map(|slot| slot.end),
            required: job.required.into_iter().map(QualificationShape::from).collect(),
            vulnerable: job.vulnerable,
            work: job.work.into(),
            expected_min: job.expected_min,
            not_before: job.not_before,
            request: job.request.map(|(id, state)| RequestSummary::new(id, &state)),
            readings_count: job.readings_count,
            last_change_at: job.last_change_at,
            version: job.version,
        }
    }
}
