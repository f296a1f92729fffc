//! The board: every job that is not over, or only just, a page at a time.
//!
//! Belongs here: one row of it, the pages in the order of the telephone, the days of the plan,
//! and how many there are. Does not belong here: finding a customer, and anything of a request
//! beyond where it stands.
//!
//! A row is the same for everyone but in one thing: a draft request shows to its requester only.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use engine::gate::{self, State};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::Serialize;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::{JobState, Urgency, Work, qualifications_from, work_from};
use crate::live_feed;
use crate::person::{Caller, Qualification};

/// How long a finished job stays on the board.
const CLOSED_HOURS: i64 = 36;

/// Rows of one page at most. More are on the next pages; nothing is left off.
pub const PAGE_ROWS_MAX: i64 = 1_000;

/// Rows of one page where nobody says how many.
pub const PAGE_ROWS: i64 = 100;

/// Rows that can be asked for by id at once.
pub const IDS_MAX: usize = 200;

/// Characters of a complaint that a row shows; the rest is on the job's own page.
const COMPLAINT_SHOWN_CHARS: i32 = 160;

/// Longest text that is looked for.
const SOUGHT_CHARS_MAX: usize = 80;

/// Shortest piece of a word that the index of words finds, in characters.
const INDEXED_CHARS_MIN: usize = 3;

/// Longest window that anybody is promised, in days; how far back a day looks for one.
const WINDOW_DAYS_MAX: i32 = 14;

/// Which part of the board is asked for.
#[derive(Clone, Debug, Default)]
pub struct Sought {
    /// Only what is planned or promised on this day of the shop; ended ones, too.
    pub day: Option<NaiveDate>,
    /// Only of somebody.
    pub whose: Option<Whose>,
    /// Only these classes; all where empty.
    pub urgency: Vec<Urgency>,
    /// Only where every word of this is found: number, complaint, customer, address.
    pub text: Option<String>,
    /// Go on after this place.
    pub after: Option<Place>,
    /// Rows at most; [`PAGE_ROWS`] where absent, 0 for the counts alone.
    pub limit: Option<i64>,
}

/// Whose jobs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// Given to nobody.
    Nobody,
    /// The caller's, and those with a request that waits for a reader.
    Mine,
    /// Somebody's.
    Person(Uuid),
}

/// A place in the board's order, told to the client as a text that it hands back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    ended: bool,
    rank: i32,
    start: Option<DateTime<Utc>>,
    number: i32,
}

impl Place {
    /// As handed out.
    pub fn text(self) -> String {
        let start =
            self.start.map_or_else(|| "-".to_owned(), |at| at.timestamp_micros().to_string());
        format!("{}.{}.{start}.{}", u8::from(self.ended), self.rank, self.number)
    }

    /// From what was handed out; none where it is not one.
    pub fn from_text(text: &str) -> Option<Self> {
        let mut parts = text.split('.');
        let ended = match parts.next()? {
            "0" => false,
            "1" => true,
            _ => return None,
        };
        let rank = parts.next()?.parse().ok()?;
        let start = match parts.next()? {
            "-" => None,
            micros => Some(DateTime::from_timestamp_micros(micros.parse().ok()?)?),
        };
        let number = parts.next()?.parse().ok()?;
        parts.next().is_none().then_some(Place { ended, rank, start, number })
    }
}

/// A page of the board at one moment.
#[derive(Clone, Debug)]
pub struct Board {
    /// Open jobs first, by urgency and promised time.
    pub jobs: Vec<BoardJob>,
    /// Where the next page begins; none on the last.
    pub next: Option<Place>,
    /// How many match what was asked, on all pages; told with the first one only.
    pub matching: Option<i64>,
    /// Of the whole board, whatever was asked.
    pub counts: Counts,
    /// Every change up to this number of the live feed is in it.
    pub as_of_live: i64,
}

/// How many open jobs there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Counts {
    /// All that are not over.
    pub open: i64,
    /// Given to nobody.
    pub not_given: i64,
    /// Nobody is there yet and the promised time is over.
    pub late: i64,
    /// No heat, with somebody who cannot bear it.
    pub no_heat_vulnerable: i64,
    /// Water.
    pub water: i64,
    /// Stored food.
    pub food_storage: i64,
    /// No heat or no cooling.
    pub no_heat_cool: i64,
    /// Comfort.
    pub comfort: i64,
}

/// One job on the board: what a row or a bar draws, and no more.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardJob {
    /// Id.
    pub id: Uuid,
    /// Counted per shop.
    pub number: i32,
    /// How long it can wait.
    pub urgency: Urgency,
    /// Where it stands.
    pub state: JobState,
    /// What the customer says is wrong; the beginning of it where it is long.
    pub complaint: String,
    /// The customer.
    pub customer_name: String,
    /// The site's town.
    pub town: String,
    /// The site's zone.
    pub zone: String,
    /// The unit.
    pub unit_label: String,
    /// Who has it.
    pub assigned_to: Option<Holder>,
    /// Promised from.
    pub window_start: Option<DateTime<Utc>>,
    /// Promised to.
    pub window_end: Option<DateTime<Utc>>,
    /// Planned from: when whoever has it is, or was last, meant to be there.
    pub planned_start: Option<DateTime<Utc>>,
    /// Planned to.
    pub planned_end: Option<DateTime<Utc>>,
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
    /// Its condemn request, the open one or else the latest.
    pub request: Option<RequestMark>,
    /// Readings that are not struck.
    pub readings_count: i64,
    /// When anything about it last changed.
    pub last_change_at: DateTime<Utc>,
    /// Counts changes of the job itself.
    pub version: i32,
}

/// Who has a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Holder {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
}

/// Where a job's condemn request stands; nothing of what it claims.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RequestMark {
    /// Id.
    pub id: Uuid,
    /// Its state.
    pub state: String,
    /// Its state in words.
    pub stage_words: &'static str,
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
    zone: String,
    unit_label: String,
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
    ended: bool,
    rank: i32,
    matching: Option<i64>,
}

/// What a row is made of, for the jobs of `picked (id, ended, rank, matching)`; `$2` sees their own
/// drafts.
const ROWS: &str = "SELECT job.id, job.number, job.urgency, job.state, \
       left(job.complaint, $3) AS complaint, customer.name AS customer_name, site.town, \
       site.zone, unit.label AS unit_label, job.assigned_to, person.name AS assigned_name, \
       job.window_start, job.window_end, \
       lower(plan.planned) AS planned_start, upper(plan.planned) AS planned_end, \
       job.required, job.vulnerable, job.work, job.expected_min, job.not_before, \
       request.id AS request_id, request.state AS request_state, \
       (SELECT count(*) FROM reading WHERE reading.job_id = job.id AND NOT EXISTS \
         (SELECT FROM reading_strike WHERE reading_id = reading.id)) AS readings_count, \
       greatest(job.changed_at, request.changed_at) AS last_change_at, job.version, \
       picked.ended, picked.rank, picked.matching \
     FROM picked \
     JOIN job ON job.id = picked.id \
     JOIN unit ON unit.id = job.unit_id \
     JOIN site ON site.id = unit.site_id \
     JOIN customer ON customer.id = site.customer_id \
     LEFT JOIN person ON person.id = job.assigned_to \
     LEFT JOIN LATERAL ( \
       SELECT planned FROM assignment WHERE job_id = job.id AND person_id = job.assigned_to \
       ORDER BY ended_at DESC NULLS FIRST LIMIT 1 \
     ) AS plan ON true \
     LEFT JOIN LATERAL ( \
       SELECT id, state, changed_at FROM condemn_request WHERE job_id = job.id \
         AND (state <> 'draft' OR requester = $2) \
       ORDER BY state IN ('approved', 'declined', 'withdrawn', 'overturned'), \
         created_at DESC LIMIT 1 \
     ) AS request ON true \
     WHERE job.shop_id = $1 \
     ORDER BY picked.ended, picked.rank, job.window_start NULLS LAST, job.number";

/// What orders the jobs.
const KEYS: &str = "job.id, job.state IN ('done', 'cancelled') AS ended, \
     array_position(ARRAY['no_heat_vulnerable', 'water', 'food_storage', 'no_heat_cool', \
       'comfort'], job.urgency) AS rank, \
     coalesce(job.window_start, 'infinity') AS start, job.number";

/// The jobs that match, whatever the page: parameters $4 to $11. Each question has a statement of
/// its own, so that it is planned for what it asks and not for all that could be asked.
fn matching(by_day: bool, pieces: &[String]) -> String {
    // A statement must use every value that it is given.
    let when = if by_day {
        "$5::timestamptz IS NOT NULL AND job.id IN (SELECT id FROM on_day)"
    } else {
        "(job.state NOT IN ('done', 'cancelled') OR job.changed_at > $5)"
    };
    let words = match pieces {
        [] => "cardinality($10::text[]) = 0",
        // The index looks for the longest alone, the others are looked for in what it finds; it
        // would read itself from end to end for less than three letters.
        [longest, ..] if longest.chars().count() >= INDEXED_CHARS_MIN + "%%".len() => {
            "job.id IN (SELECT job_id FROM job_words \
               WHERE words LIKE ($10::text[])[1] AND words LIKE ALL ($10))"
        }
        _ => "job.id IN (SELECT job_id FROM job_words WHERE words LIKE ALL ($10::text[]))",
    };
    format!(
        "FROM job WHERE job.shop_id = $1 AND {when} \
           AND ($6::uuid IS NULL OR job.assigned_to = $6 OR ($7 AND EXISTS (SELECT \
             FROM condemn_request WHERE job_id = job.id AND state = 'ready'))) \
           AND (NOT $8 OR job.assigned_to IS NULL AND job.state NOT IN ('done', 'cancelled')) \
           AND (cardinality($9::text[]) = 0 OR job.urgency = ANY ($9)) AND {words}"
    )
}

/// What is planned or promised on a day of the shop.
const ON_DAY: &str = "day AS MATERIALIZED ( \
       SELECT $4::date::timestamp AT TIME ZONE zone AS begins, \
         ($4::date + 1)::timestamp AT TIME ZONE zone AS ends \
       FROM shop WHERE id = $1 AND $4::date IS NOT NULL \
     ), on_day AS MATERIALIZED ( \
       SELECT job_id AS id FROM assignment, day \
       WHERE shop_id = $1 AND planned && tstzrange(begins, ends) \
       UNION SELECT id FROM job, day WHERE shop_id = $1 AND window_start < ends \
         AND window_end > begins AND window_start > begins - make_interval(days => $11) \
     )";

/// A page of the caller's board.
///
/// # Errors
/// `InvalidMany` for a text that is too long, or the database fails.
pub async fn board(store: &Store, caller: &Caller, sought: &Sought) -> Result<Board, StoreError> {
    let conn = store.conn();
    // The number first: what changes between the queries is then told again, not lost.
    let as_of_live = live_feed::last_seq(conn, caller.shop_id).await?;
    let pieces = pieces_of(sought.text.as_deref())?;
    let counts = counts(store, caller).await?;
    let limit = sought.limit.unwrap_or(PAGE_ROWS).clamp(0, PAGE_ROWS_MAX);
    if limit == 0 {
        return Ok(Board { jobs: Vec::new(), next: None, matching: None, counts, as_of_live });
    }
    let whose = match sought.whose {
        Some(Whose::Mine) => Some(caller.person_id),
        Some(Whose::Person(id)) => Some(id),
        Some(Whose::Nobody) | None => None,
    };
    let urgency: Vec<String> = sought.urgency.iter().map(|one| one.name().to_owned()).collect();
    let place = sought.after;
    let mut rows = Row::find_by_statement(sql(
        &format!(
            "WITH {ON_DAY}, matched AS MATERIALIZED (SELECT {KEYS} {}), picked AS MATERIALIZED ( \
               SELECT id, ended, rank, \
                 CASE WHEN NOT $12 THEN (SELECT count(*) FROM matched) END AS matching \
               FROM matched \
               WHERE NOT $12 OR (ended, rank, start, number) \
                 > ($13, $14, coalesce($15::timestamptz, 'infinity'), $16) \
               ORDER BY ended, rank, start, number LIMIT $17 \
             ) {ROWS}",
            matching(sought.day.is_some(), &pieces),
        ),
        [
            caller.shop_id.into(),
            caller.person_id.into(),
            COMPLAINT_SHOWN_CHARS.into(),
            sought.day.into(),
            (store.now() - TimeDelta::hours(CLOSED_HOURS)).into(),
            whose.into(),
            (sought.whose == Some(Whose::Mine)).into(),
            (sought.whose == Some(Whose::Nobody)).into(),
            urgency.into(),
            pieces.into(),
            WINDOW_DAYS_MAX.into(),
            place.is_some().into(),
            place.is_some_and(|place| place.ended).into(),
            place.map_or(0, |place| place.rank).into(),
            place.and_then(|place| place.start).into(),
            place.map_or(0, |place| place.number).into(),
            // One more than asked for tells whether there is a next page.
            (limit + 1).into(),
        ],
    ))
    .all(conn)
    .await?;
    let matching = match place {
        Some(_) => None,
        None => Some(rows.first().and_then(|row| row.matching).unwrap_or(0)),
    };
    let full = rows.len() as i64 > limit;
    if full {
        rows.pop();
    }
    let next = rows.last().filter(|_| full).map(|row| Place {
        ended: row.ended,
        rank: row.rank,
        start: row.window_start,
        number: row.number,
    });
    let jobs = rows.into_iter().map(from_row).collect::<Result<_, _>>()?;
    Ok(Board { jobs, next, matching, counts, as_of_live })
}

/// The rows of these jobs, in the board's order; what is not the shop's is left out. `viewer`
/// sees their own drafts, nobody sees anybody's.
///
/// # Errors
/// When the database fails.
pub async fn rows_of<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    viewer: Option<Uuid>,
    ids: &[Uuid],
) -> Result<Vec<BoardJob>, StoreError> {
    let rows = Row::find_by_statement(sql(
        &format!(
            "WITH picked AS MATERIALIZED ( \
               SELECT id, ended, rank, NULL::bigint AS matching FROM (SELECT {KEYS} FROM job \
                 WHERE job.shop_id = $1 AND job.id = ANY ($4)) AS keyed \
             ) {ROWS}"
        ),
        [
            shop_id.into(),
            viewer.unwrap_or_else(Uuid::nil).into(),
            COMPLAINT_SHOWN_CHARS.into(),
            ids.to_vec().into(),
        ],
    ))
    .all(conn)
    .await?;
    rows.into_iter().map(from_row).collect()
}

async fn counts(store: &Store, caller: &Caller) -> Result<Counts, StoreError> {
    let counts = Counts::find_by_statement(sql(
        "SELECT count(*) AS open, count(*) FILTER (WHERE assigned_to IS NULL) AS not_given, \
           count(*) FILTER (WHERE window_end < $2 AND state IN ('open', 'assigned')) AS late, \
           count(*) FILTER (WHERE urgency = 'no_heat_vulnerable') AS no_heat_vulnerable, \
           count(*) FILTER (WHERE urgency = 'water') AS water, \
           count(*) FILTER (WHERE urgency = 'food_storage') AS food_storage, \
           count(*) FILTER (WHERE urgency = 'no_heat_cool') AS no_heat_cool, \
           count(*) FILTER (WHERE urgency = 'comfort') AS comfort \
         FROM job WHERE shop_id = $1 AND state NOT IN ('done', 'cancelled')",
        [caller.shop_id.into(), store.now().into()],
    ))
    .one(store.conn())
    .await?;
    counts.ok_or(StoreError::NotFound { what: "shop" })
}

/// Each word as a pattern that finds it anywhere, the longest first.
fn pieces_of(text: Option<&str>) -> Result<Vec<String>, StoreError> {
    let text = text.unwrap_or_default().trim();
    if text.chars().count() > SOUGHT_CHARS_MAX {
        return Err(StoreError::invalid(
            "/q",
            format!("Look for at most {SOUGHT_CHARS_MAX} characters; a piece of the name will do."),
        ));
    }
    let mut pieces: Vec<String> = text.split_whitespace().map(crate::text::like).collect();
    pieces.sort_by_key(|piece| std::cmp::Reverse(piece.chars().count()));
    Ok(pieces)
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
        zone: row.zone,
        unit_label: row.unit_label,
        assigned_to: row.assigned_to.zip(row.assigned_name).map(|(id, name)| Holder { id, name }),
        window_start: row.window_start,
        window_end: row.window_end,
        planned_start: row.planned_start,
        planned_end: row.planned_end,
        required: qualifications_from(&row.required)?,
        vulnerable: row.vulnerable,
        work: work_from(&row.work)?,
        expected_min: row.expected_min,
        not_before: row.not_before,
        request: row.request_id.zip(row.request_state).map(|(id, state)| RequestMark {
            // The one list of these words is the gate's.
            stage_words: State::from_id(&state).map_or("", gate::stage_words),
            id,
            state,
        }),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_read_back_and_nothing_else_is_one() {
        let at = DateTime::from_timestamp_micros(1_795_000_000_123_456);
        for start in [None, at] {
            let place = Place { ended: true, rank: 3, start, number: 17 };
            assert_eq!(Place::from_text(&place.text()), Some(place));
        }
        for wrong in ["", "0", "2.1.-.1", "0.1.-", "0.x.-.1", "0.1.soon.1", "0.1.-.1.1"] {
            assert_eq!(Place::from_text(wrong), None, "{wrong}");
        }
    }
}
