//! Ladders: what happens when nobody answers, and when.
//!
//! Belongs here: steps with due times that fire once, starting, stopping, bringing forward.
//! Does not belong here: what a step does; the noun that a ladder is for knows that (a second
//! read's is in [`crate::request`]).
//!
//! Whoever starts, stops, moves or fires a ladder holds the lock of its subject first, as
//! every write on that subject does; so a step cannot fire while somebody accepts. Firing also
//! takes the step itself with `SKIP LOCKED`, and the database refuses a second firing.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;

/// Steps looked at in one go; more are found at the next look.
pub const DUE_MAX: i64 = 100;

/// A step that has fallen due.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Due {
    /// The ladder.
    pub ladder_id: Uuid,
    /// Which step, from 0.
    pub rung: i16,
    /// Whose.
    pub shop_id: Uuid,
    /// What kind of ladder.
    pub kind: String,
    /// What it climbs for.
    pub subject_id: Uuid,
}

/// A step as kept.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Step {
    /// The ladder.
    pub ladder_id: Uuid,
    /// Which step, from 0.
    pub rung: i16,
    /// What it does, in the noun's own names.
    pub action: String,
    /// When.
    pub due_at: DateTime<Utc>,
    /// When it did.
    pub fired_at: Option<DateTime<Utc>>,
    /// When it was skipped, since the ladder had stopped.
    pub skipped_at: Option<DateTime<Utc>>,
}

/// A ladder as kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ladder {
    /// Its id.
    pub id: Uuid,
    /// When it started.
    pub started_at: DateTime<Utc>,
    /// When it was stopped.
    pub stopped_at: Option<DateTime<Utc>>,
    /// Why.
    pub stopped_why: Option<String>,
    /// Its steps, lowest first.
    pub steps: Vec<Step>,
}

/// What a ladder is for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Subject<'a> {
    pub(crate) shop_id: Uuid,
    pub(crate) kind: &'a str,
    pub(crate) subject_kind: &'a str,
    pub(crate) subject_id: Uuid,
}

/// Starts a ladder, unless one stands for the subject already.
pub(crate) async fn start<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    subject: Subject<'_>,
    steps: &[(&str, DateTime<Utc>)],
) -> Result<Option<Uuid>, StoreError> {
    let (id, now) = (store.new_id(), store.now());
    let started = txn
        .execute_raw(sql(
            "INSERT INTO ladder (id, shop_id, kind, subject_kind, subject_id, started_at) \
             VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT DO NOTHING",
            [
                id.into(),
                subject.shop_id.into(),
                subject.kind.into(),
                subject.subject_kind.into(),
                subject.subject_id.into(),
                now.into(),
            ],
        ))
        .await?;
    if started.rows_affected() == 0 {
        return Ok(None);
    }
    for (rung, (action, due_at)) in (0i16..).zip(steps) {
        txn.execute_raw(sql(
            "INSERT INTO ladder_step (ladder_id, rung, action, due_at) VALUES ($1, $2, $3, $4)",
            [id.into(), rung.into(), (*action).into(), (*due_at).into()],
        ))
        .await?;
    }
    Ok(Some(id))
}

/// Stops the ladder that stands for a subject, if one does; what has not fired is skipped.
pub(crate) async fn stop<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    kind: &str,
    subject_id: Uuid,
    why: &str,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE ladder_step SET skipped_at = $1 FROM ladder \
         WHERE ladder.id = ladder_step.ladder_id AND ladder.kind = $2 AND ladder.subject_id = $3 \
             AND ladder.stopped_at IS NULL AND fired_at IS NULL AND skipped_at IS NULL",
        [now.into(), kind.into(), subject_id.into()],
    ))
    .await?;
    txn.execute_raw(sql(
        "UPDATE ladder SET stopped_at = $1, stopped_why = $4 \
         WHERE kind = $2 AND subject_id = $3 AND stopped_at IS NULL",
        [now.into(), kind.into(), subject_id.into(), why.into()],
    ))
    .await?;
    Ok(())
}

/// Brings the steps that have not fired forward, so that the next one is due now; the gaps
/// between them stay. Returns that one.
pub(crate) async fn bring_forward<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    kind: &str,
    subject_id: Uuid,
) -> Result<Option<Step>, StoreError> {
    let open = Step::find_by_statement(sql(
        "SELECT ladder_step.* FROM ladder_step JOIN ladder ON ladder.id = ladder_step.ladder_id \
         WHERE ladder.kind = $1 AND ladder.subject_id = $2 AND ladder.stopped_at IS NULL \
             AND fired_at IS NULL AND skipped_at IS NULL ORDER BY rung",
        [kind.into(), subject_id.into()],
    ))
    .all(txn)
    .await?;
    let Some(next) = open.into_iter().next() else { return Ok(None) };
    if next.due_at > now {
        txn.execute_raw(sql(
            "UPDATE ladder_step SET due_at = due_at - ($3::timestamptz - $2::timestamptz) \
             WHERE ladder_id = $1 AND fired_at IS NULL AND skipped_at IS NULL",
            [next.ladder_id.into(), now.into(), next.due_at.into()],
        ))
        .await?;
    }
    Ok(Some(Step { due_at: next.due_at.min(now), ..next }))
}

/// What has fallen due, longest due first.
///
/// # Errors
/// When the database fails.
pub async fn due(store: &Store) -> Result<Vec<Due>, StoreError> {
    Ok(Due::find_by_statement(sql(
        "SELECT ladder_id, rung, shop_id, kind, subject_id FROM ladder_step \
         JOIN ladder ON ladder.id = ladder_step.ladder_id \
         WHERE fired_at IS NULL AND skipped_at IS NULL AND due_at <= $1 \
         ORDER BY due_at, ladder_id, rung LIMIT $2",
        [store.now().into(), DUE_MAX.into()],
    ))
    .all(store.conn())
    .await?)
}

/// Takes a step that is still due, locked until the transaction ends; none when somebody else
/// has it or it is settled.
pub(crate) async fn take<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    due: &Due,
) -> Result<Option<Step>, StoreError> {
    Ok(Step::find_by_statement(sql(
        "SELECT * FROM ladder_step WHERE ladder_id = $1 AND rung = $2 AND fired_at IS NULL \
         AND skipped_at IS NULL AND due_at <= $3 FOR UPDATE SKIP LOCKED",
        [due.ladder_id.into(), due.rung.into(), now.into()],
    ))
    .one(txn)
    .await?)
}

/// Notes that a step has fired.
pub(crate) async fn fired<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    ladder_id: Uuid,
    rung: i16,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE ladder_step SET fired_at = $3 WHERE ladder_id = $1 AND rung = $2",
        [ladder_id.into(), rung.into(), now.into()],
    ))
    .await?;
    Ok(())
}

/// The latest ladder of each of these subjects.
pub(crate) async fn latest_of<C: ConnectionTrait>(
    conn: &C,
    kind: &str,
    subject_ids: &[Uuid],
) -> Result<BTreeMap<Uuid, Ladder>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        subject_id: Uuid,
        started_at: DateTime<Utc>,
        stopped_at: Option<DateTime<Utc>>,
        stopped_why: Option<String>,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT DISTINCT ON (subject_id) id, subject_id, started_at, stopped_at, stopped_why \
         FROM ladder WHERE kind = $1 AND subject_id = ANY($2) \
         ORDER BY subject_id, started_at DESC, id DESC",
        [kind.into(), subject_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    let ids: Vec<Uuid> = rows.iter().map(|row| row.id).collect();
    let steps = Step::find_by_statement(sql(
        "SELECT * FROM ladder_step WHERE ladder_id = ANY($1) ORDER BY ladder_id, rung",
        [ids.into()],
    ))
    .all(conn)
    .await?;
    let mut ladders = BTreeMap::new();
    for row in rows {
        let steps = steps.iter().filter(|step| step.ladder_id == row.id).cloned().collect();
        let ladder = Ladder {
            id: row.id,
            started_at: row.started_at,
            stopped_at: row.stopped_at,
            stopped_why: row.stopped_why,
            steps,
        };
        ladders.insert(row.subject_id, ladder);
    }
    Ok(ladders)
}
