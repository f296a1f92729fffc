//! What stands, for whoever looks.
//!
//! Belongs here: a job's ladder, and every ladder and deferral that stands in a shop. Does not
//! belong here: a request's ladders, which come with the request.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use roster::ladder::Kind;
use sea_orm::FromQueryResult;
use uuid::Uuid;

use super::{Ladder, Step, latest_of};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::job_find;
use crate::person::Caller;

/// Ladders and deferrals shown at most; a shop with more open at once has other worries, and
/// each job's page still shows its own.
const STANDING_MAX: i64 = 2_000;

/// What stands in a shop.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Ladders that climb.
    pub ladders: Vec<StandingLadder>,
    /// Jobs that wait for a working day, and until when.
    pub deferred: Vec<(Uuid, DateTime<Utc>)>,
}

/// A ladder that climbs.
#[derive(Clone, Debug)]
pub struct StandingLadder {
    /// The job it is on, or whose request it is on.
    pub job_id: Uuid,
    /// What kind.
    pub kind: String,
    /// The next step; absent after the last.
    pub next: Option<Step>,
    /// Whether the caller is asked and has not answered.
    pub asks_me: bool,
}

/// The latest ladder of a job that nobody had.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn of_job(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
) -> Result<Option<Ladder>, StoreError> {
    job_find(store.conn(), caller.shop_id, job_id).await?;
    let mut ladders = latest_of(store.conn(), Kind::UrgentJob, &[job_id]).await?;
    Ok(ladders.remove(&job_id))
}

/// Everything that stands in the caller's shop. Of an approval only that it climbs: whom it asks
/// would tell what it costs.
///
/// # Errors
/// When the database fails.
pub async fn standing(store: &Store, caller: &Caller) -> Result<Standing, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        kind: String,
        job_id: Uuid,
        asks_me: bool,
    }
    #[derive(FromQueryResult)]
    struct Deferred {
        job_id: Uuid,
        until: DateTime<Utc>,
    }
    let conn = store.conn();
    let rows = Row::find_by_statement(sql(
        "SELECT ladder.id, ladder.kind, coalesce(request.job_id, ladder.subject_id) AS job_id, \
             CASE WHEN request.id IS NULL THEN EXISTS (SELECT FROM ladder_told AS told \
                 WHERE told.ladder_id = ladder.id AND told.person_id = $2 AND told.asked \
                 AND told.declined_at IS NULL) \
             WHEN ladder.kind = 'second_read' THEN EXISTS (SELECT FROM reader_ask \
                 WHERE reader_ask.request_id = request.id AND reader_ask.person_id = $2 \
                 AND reader_ask.answer IS NULL) ELSE false END AS asks_me \
         FROM ladder LEFT JOIN condemn_request AS request \
             ON ladder.subject_kind = 'request' AND request.id = ladder.subject_id \
         WHERE ladder.shop_id = $1 AND ladder.stopped_at IS NULL \
         ORDER BY ladder.started_at DESC, ladder.id LIMIT $3",
        [caller.shop_id.into(), caller.person_id.into(), STANDING_MAX.into()],
    ))
    .all(conn)
    .await?;
    let ids: Vec<Uuid> = rows.iter().map(|row| row.id).collect();
    let next = Step::find_by_statement(sql(
        "SELECT DISTINCT ON (ladder_id) * FROM ladder_step WHERE ladder_id = ANY($1) \
         AND fired_at IS NULL AND skipped_at IS NULL ORDER BY ladder_id, due_at, rung",
        [ids.into()],
    ))
    .all(conn)
    .await?;
    let mut next: BTreeMap<Uuid, Step> =
        next.into_iter().map(|step| (step.ladder_id, step)).collect();
    let deferred = Deferred::find_by_statement(sql(
        "SELECT job_id, until FROM holdover WHERE shop_id = $1 AND ended_at IS NULL \
         ORDER BY until, job_id LIMIT $2",
        [caller.shop_id.into(), STANDING_MAX.into()],
    ))
    .all(conn)
    .await?;
    Ok(Standing {
        ladders: rows
            .into_iter()
            .map(|row| StandingLadder {
                next: next.remove(&row.id),
                job_id: row.job_id,
                kind: row.kind,
                asks_me: row.asks_me,
            })
            .collect(),
        deferred: deferred.into_iter().map(|row| (row.job_id, row.until)).collect(),
    })
}
