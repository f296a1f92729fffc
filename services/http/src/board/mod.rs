//! The board: every job, for everyone who may see it, a page at a time.
//!
//! Belongs here: the routes and wire shapes of the board. Does not belong here: its queries.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use store::board::{Counts, IDS_MAX, PAGE_ROWS_MAX, Place, Sought, Whose};
use store::job::Urgency;
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::job::{JobStateShape, RequestSummary, UrgencyShape, WorkShape};
use crate::person::QualificationShape;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// Which part of the board is asked for.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct BoardAsk {
    /// Only what is planned or promised on this day of the shop ("2026-11-28"), ended ones too.
    #[serde(default)]
    day: Option<NaiveDate>,
    /// Only somebody's: an id, "me" (and what waits for a reader) or "nobody".
    #[serde(default)]
    person: Option<String>,
    /// Only these classes, with commas between them.
    #[serde(default)]
    urgency: Option<String>,
    /// Only where every word of this is found: number, complaint, customer, address, unit.
    #[serde(default)]
    q: Option<String>,
    /// The `next` of the page before.
    #[serde(default)]
    after: Option<String>,
    /// Rows at most: 1 to 1000, 100 where absent; 0 for the counts alone.
    #[serde(default)]
    limit: Option<i64>,
}

/// Rows that are asked for by id.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct BoardIds {
    /// Ids with commas between them, at most 200; no row where there is none.
    #[serde(default)]
    ids: String,
}

/// A page of the board at one moment.
#[derive(Serialize, ToSchema)]
#[schema(as = Board)]
pub struct BoardShape {
    /// Open jobs first, by urgency and promised time; then those that ended lately.
    jobs: Vec<BoardJobShape>,
    /// Hand this back as `after` for the next page; null on the last.
    next: Option<String>,
    /// How many match what was asked, on all pages; null on all pages but the first.
    matching: Option<i64>,
    /// How many open jobs there are, whatever was asked.
    counts: CountsShape,
    /// Every change up to this number of the live stream is in it.
    as_of_live: i64,
}

/// How many open jobs there are.
#[derive(Serialize, ToSchema)]
#[schema(as = BoardCounts)]
pub struct CountsShape {
    /// All that are not over.
    open: i64,
    /// Given to nobody.
    not_given: i64,
    /// Nobody is there yet and the promised time is over.
    late: i64,
    /// No heat, with somebody who cannot bear it.
    no_heat_vulnerable: i64,
    /// Water.
    water: i64,
    /// Stored food.
    food_storage: i64,
    /// No heat or no cooling.
    no_heat_cool: i64,
    /// Comfort.
    comfort: i64,
}

/// One job on the board: what a row or a bar draws. The live stream sends the same as `row`.
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
    /// What the customer says is wrong; the beginning of it where it is long.
    complaint: String,
    /// The customer.
    customer_name: String,
    /// The site's town.
    town: String,
    /// The site's zone; its times are shown local to it.
    zone: String,
    /// The unit.
    unit_label: String,
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
    cfg.service(board_show).service(board_rows);
}

/// A page of the board.
#[utoipa::path(tag = "board",
    params(BoardAsk),
    responses(
        (status = 200, description = "The page", body = BoardShape),
        (status = 400, description = "Not a day, person, class or place", body = ProblemBody),
        (status = 401, description = "Not signed in", body = ProblemBody),
        (status = 422, description = "Too long a text to look for", body = ProblemBody),
    ))]
#[get("/api/board")]
async fn board_show(
    ask: web::Query<BoardAsk>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let sought = ask.into_inner().try_into()?;
    let board = store::board::board(&state.store, &caller, &sought).await?;
    Ok(HttpResponse::Ok().json(BoardShape {
        jobs: board.jobs.into_iter().map(BoardJobShape::from).collect(),
        next: board.next.map(Place::text),
        matching: board.matching,
        counts: board.counts.into(),
        as_of_live: board.as_of_live,
    }))
}

/// The rows of some jobs, as they are now; what is not the shop's is left out.
#[utoipa::path(tag = "board",
    params(BoardIds),
    responses(
        (status = 200, description = "The rows", body = Vec<BoardJobShape>),
        (status = 400, description = "Not ids, or too many", body = ProblemBody),
        (status = 401, description = "Not signed in", body = ProblemBody),
    ))]
#[get("/api/board/jobs")]
async fn board_rows(
    ask: web::Query<BoardIds>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let ids = ask.ids.split(',').map(str::trim).filter(|id| !id.is_empty());
    let ids = ids.map(str::parse).collect::<Result<Vec<Uuid>, _>>();
    let ids = ids.map_err(|_| Problem::bad_parameter("Ids are UUIDs with commas between them."))?;
    if ids.len() > IDS_MAX {
        return Err(Problem::bad_parameter(format!(
            "Ask for at most {IDS_MAX} rows at once; these are {}.",
            ids.len()
        )));
    }
    let viewer = Some(caller.person_id);
    let rows = store::board::rows_of(state.store.conn(), caller.shop_id, viewer, &ids).await?;
    let rows: Vec<_> = rows.into_iter().map(BoardJobShape::from).collect();
    Ok(HttpResponse::Ok().json(rows))
}

impl TryFrom<BoardAsk> for Sought {
    type Error = Problem;

    fn try_from(ask: BoardAsk) -> Result<Self, Problem> {
        let whose = match ask.person.as_deref() {
            None => None,
            Some("me") => Some(Whose::Mine),
            Some("nobody") => Some(Whose::Nobody),
            Some(id) => Some(Whose::Person(id.parse().map_err(|_| {
                Problem::bad_parameter("`person` is an id, \"me\" or \"nobody\".")
            })?)),
        };
        let class = |name: &str| {
            Urgency::ALL.into_iter().find(|urgency| urgency.name() == name).ok_or_else(|| {
                let all: Vec<_> = Urgency::ALL.into_iter().map(Urgency::name).collect();
                Problem::bad_parameter(format!(
                    "`urgency` is one or more of {}, with commas between them.",
                    all.join(", ")
                ))
            })
        };
        let urgency = ask.urgency.as_deref().filter(|text| !text.is_empty());
        let urgency = urgency
            .into_iter()
            .flat_map(|text| text.split(','))
            .map(class)
            .collect::<Result<_, _>>()?;
        let after = match ask.after {
            None => None,
            Some(text) => Some(Place::from_text(&text).ok_or_else(|| {
                Problem::bad_parameter("`after` is the `next` of the page before, unchanged.")
            })?),
        };
        if ask.limit.is_some_and(|limit| !(0..=PAGE_ROWS_MAX).contains(&limit)) {
            return Err(Problem::bad_parameter(format!("`limit` is 0 to {PAGE_ROWS_MAX}.")));
        }
        Ok(Sought { day: ask.day, whose, urgency, text: ask.q, after, limit: ask.limit })
    }
}

impl From<Counts> for CountsShape {
    fn from(counts: Counts) -> Self {
        CountsShape {
            open: counts.open,
            not_given: counts.not_given,
            late: counts.late,
            no_heat_vulnerable: counts.no_heat_vulnerable,
            water: counts.water,
            food_storage: counts.food_storage,
            no_heat_cool: counts.no_heat_cool,
            comfort: counts.comfort,
        }
    }
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
            zone: job.zone,
            unit_label: job.unit_label,
            assigned_to: job.assigned_to.map(|one| PersonRef { id: one.id, name: one.name }),
            window_start: job.window_start,
            window_end: job.window_end,
            planned_start: job.planned_start,
            planned_end: job.planned_end,
            required: job.required.into_iter().map(QualificationShape::from).collect(),
            vulnerable: job.vulnerable,
            work: job.work.into(),
            expected_min: job.expected_min,
            not_before: job.not_before,
            request: job.request.map(|one| RequestSummary::new(one.id, &one.state)),
            readings_count: job.readings_count,
            last_change_at: job.last_change_at,
            version: job.version,
        }
    }
}
