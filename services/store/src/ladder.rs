//! Ladders: what happens when nobody answers, and when.
//!
//! Belongs here: steps with due times that fire once, starting, stopping, bringing forward, and
//! finding what is due. Does not belong here: which steps a shop has ([`setting`]), whom a step
//! reaches (the roster's), and what its noun does about it ([`crate::request`], [`crate::job`]).
//!
//! Whoever starts, stops, moves or fires a ladder holds the lock of its subject first, as
//! every write on that subject does; so a step cannot fire while somebody accepts. Firing also
//! takes the step itself with `SKIP LOCKED`, and the database refuses a second firing.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use roster::ladder::climb::{Open, hand_on};
use roster::ladder::{Kind, Variant};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;

mod due;
mod fire;
pub(crate) mod people;
pub mod preview;
pub mod quiet;
pub mod setting;
mod view;

pub use due::{DUE_MAX, climb_due};
pub(crate) use fire::{
    Climb, Fired, announce_asked, climb_from, decide, keep, news_of_asked, reached,
};
pub use setting::Setting;
pub use view::{Standing, StandingLadder, of_job, standing};

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
    /// A short name for clients: ask_best, ask_next or ask_everyone.
    pub action: String,
    /// When.
    pub due_at: DateTime<Utc>,
    /// When it did.
    pub fired_at: Option<DateTime<Utc>>,
    /// When it was skipped, since the ladder had stopped.
    pub skipped_at: Option<DateTime<Utc>>,
    /// The step as the shop has it; absent on what an older binary started.
    pub spec: Option<Value>,
    /// When it was to fire before anything moved it.
    pub planned_at: Option<DateTime<Utc>>,
    /// Until when it waits for quiet hours to end.
    pub held_until: Option<DateTime<Utc>>,
    /// What became of it, in words.
    pub note: String,
}

/// A step of a shop's ladders.
pub type Spec = roster::ladder::Step<Uuid>;

impl Step {
    /// The step as the shop has it, or as the older binary that started it meant it.
    pub fn spec(&self) -> Spec {
        use roster::ladder::{How, Who};
        if let Some(Ok(spec)) = self.spec.clone().map(serde_json::from_value) {
            return spec;
        }
        let who = match self.action.as_str() {
            "ask_best" => vec![Who::Best],
            "ask_next" => vec![Who::Next { count: 2 }],
            _ => vec![Who::Everyone, Who::Managers],
        };
        Spec { after_min: 0, who, how: How::Mail }
    }
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
    /// By which version of the shop's ladders it climbs; 0 for what ships.
    pub setting_version: i32,
    /// week or weekend.
    pub variant: String,
    /// Its steps, lowest first.
    pub steps: Vec<Step>,
    /// Whom each step reached.
    pub told: Vec<Told>,
}

/// Somebody whom a step reached.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Told {
    /// The ladder.
    pub ladder_id: Uuid,
    /// Which step, from 0.
    pub rung: i16,
    /// Who.
    pub person_id: Uuid,
    /// Their name.
    pub person_name: String,
    /// Asked to take it, or only told of it.
    pub asked: bool,
    /// Whether by mail too.
    pub mailed: bool,
    /// When.
    pub at: DateTime<Utc>,
    /// When they said no.
    pub declined_at: Option<DateTime<Utc>>,
    /// Why.
    pub reason: String,
}

/// What a ladder is for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Subject {
    pub(crate) shop_id: Uuid,
    pub(crate) kind: Kind,
    pub(crate) subject_id: Uuid,
}

fn subject_kind(kind: Kind) -> &'static str {
    match kind {
        Kind::SecondRead | Kind::Approval => "request",
        Kind::UrgentJob => "job",
    }
}

/// Starts a ladder by the shop's steps, unless one stands for the subject already. Its delays count
/// from `from`, which may be ahead. Gives its lowest step.
pub(crate) async fn start<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    subject: Subject,
    setting: &Setting,
    variant: Variant,
    from: DateTime<Utc>,
) -> Result<Option<Step>, StoreError> {
    let (id, now) = (store.new_id(), store.now());
    let started = txn
        .execute_raw(sql(
            "INSERT INTO ladder (id, shop_id, kind, subject_kind, subject_id, started_at, \
                 setting_version, variant) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT DO NOTHING",
            [
                id.into(),
                subject.shop_id.into(),
                subject.kind.id().into(),
                subject_kind(subject.kind).into(),
                subject.subject_id.into(),
                now.into(),
                setting.version.into(),
                variant.id().into(),
            ],
        ))
        .await?;
    if started.rows_affected() == 0 {
        return Ok(None);
    }
    let steps = setting.ladders.of(subject.kind).on(variant);
    let rows: Vec<Value> = steps
        .iter()
        .enumerate()
        .map(|(rung, step)| {
            let due_at = from + TimeDelta::minutes(i64::from(step.after_min));
            json!({ "rung": rung, "action": step.action(), "due_at": due_at, "spec": step })
        })
        .collect();
    let lowest = Step::find_by_statement(sql(
        "INSERT INTO ladder_step (ladder_id, rung, action, due_at, planned_at, spec) \
         SELECT $1, rung, action, due_at, due_at, spec FROM jsonb_to_recordset($2) \
             AS step (rung smallint, action text, due_at timestamptz, spec jsonb) \
         RETURNING *",
        [id.into(), Value::Array(rows).into()],
    ))
    .all(txn)
    .await?;
    Ok(lowest.into_iter().min_by_key(|step| step.rung))
}

/// Stops the ladder that stands for a subject, if one does; what has not fired is skipped. Says
/// whether one stood.
pub(crate) async fn stop<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    kind: Kind,
    subject_id: Uuid,
    why: &str,
) -> Result<bool, StoreError> {
    txn.execute_raw(sql(
        "UPDATE ladder_step SET skipped_at = $1 FROM ladder \
         WHERE ladder.id = ladder_step.ladder_id AND ladder.kind = $2 AND ladder.subject_id = $3 \
             AND ladder.stopped_at IS NULL AND fired_at IS NULL AND skipped_at IS NULL",
        [now.into(), kind.id().into(), subject_id.into()],
    ))
    .await?;
    let stopped = txn
        .execute_raw(sql(
            "UPDATE ladder SET stopped_at = $1, stopped_why = $4 \
             WHERE kind = $2 AND subject_id = $3 AND stopped_at IS NULL",
            [now.into(), kind.id().into(), subject_id.into(), why.into()],
        ))
        .await?;
    Ok(stopped.rows_affected() > 0)
}

/// The steps of a standing ladder that have neither fired nor been skipped.
async fn open_steps<C: ConnectionTrait>(
    txn: &C,
    kind: Kind,
    subject_id: Uuid,
) -> Result<Vec<Step>, StoreError> {
    Ok(Step::find_by_statement(sql(
        "SELECT ladder_step.* FROM ladder_step JOIN ladder ON ladder.id = ladder_step.ladder_id \
         WHERE ladder.kind = $1 AND ladder.subject_id = $2 AND ladder.stopped_at IS NULL \
             AND fired_at IS NULL AND skipped_at IS NULL ORDER BY rung",
        [kind.id().into(), subject_id.into()],
    ))
    .all(txn)
    .await?)
}

fn as_open(step: &Step) -> Open {
    Open {
        rung: step.rung,
        due_at: step.due_at,
        planned_at: step.planned_at.unwrap_or(step.due_at),
        held: step.held_until.is_some(),
    }
}

/// Keeps the due times of steps that were moved.
async fn keep_moved<C: ConnectionTrait>(
    txn: &C,
    steps: &[Step],
    open: &[Open],
) -> Result<(), StoreError> {
    for moved in open {
        let Some(step) = steps.iter().find(|step| step.rung == moved.rung) else { continue };
        let held_until = moved.held.then_some(moved.due_at);
        if (step.due_at, step.held_until.is_some()) == (moved.due_at, moved.held) {
            continue;
        }
        txn.execute_raw(sql(
            "UPDATE ladder_step SET due_at = $3, held_until = $4 \
             WHERE ladder_id = $1 AND rung = $2",
            [step.ladder_id.into(), step.rung.into(), moved.due_at.into(), held_until.into()],
        ))
        .await?;
    }
    Ok(())
}

/// Brings the steps that have not fired and do not wait forward, so that the next one is due
/// now; the gaps between them stay. Returns that one.
pub(crate) async fn bring_forward<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    kind: Kind,
    subject_id: Uuid,
) -> Result<Option<Step>, StoreError> {
    let steps = open_steps(txn, kind, subject_id).await?;
    let mut open: Vec<Open> = steps.iter().map(as_open).collect();
    let Some(rung) = hand_on(&mut open, now) else { return Ok(None) };
    keep_moved(txn, &steps, &open).await?;
    let due_at = open.iter().find(|step| step.rung == rung).map_or(now, |step| step.due_at);
    Ok(steps.into_iter().find(|step| step.rung == rung).map(|step| Step { due_at, ..step }))
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

/// The latest ladder of each of these subjects.
pub(crate) async fn latest_of<C: ConnectionTrait>(
    conn: &C,
    kind: Kind,
    subject_ids: &[Uuid],
) -> Result<BTreeMap<Uuid, Ladder>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        subject_id: Uuid,
        started_at: DateTime<Utc>,
        stopped_at: Option<DateTime<Utc>>,
        stopped_why: Option<String>,
        setting_version: i32,
        variant: String,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT DISTINCT ON (subject_id) id, subject_id, started_at, stopped_at, stopped_why, \
             setting_version, variant \
         FROM ladder WHERE kind = $1 AND subject_id = ANY($2) \
         ORDER BY subject_id, started_at DESC, id DESC",
        [kind.id().into(), subject_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    if rows.is_empty() {
        return Ok(BTreeMap::new());
    }
    let ids: Vec<Uuid> = rows.iter().map(|row| row.id).collect();
    let mut steps: BTreeMap<Uuid, Vec<Step>> = BTreeMap::new();
    for step in Step::find_by_statement(sql(
        "SELECT * FROM ladder_step WHERE ladder_id = ANY($1) ORDER BY ladder_id, rung",
        [ids.clone().into()],
    ))
    .all(conn)
    .await?
    {
        steps.entry(step.ladder_id).or_default().push(step);
    }
    let mut told: BTreeMap<Uuid, Vec<Told>> = BTreeMap::new();
    for one in Told::find_by_statement(sql(
        "SELECT ladder_told.*, person.name AS person_name FROM ladder_told \
         JOIN person ON person.id = ladder_told.person_id \
         WHERE ladder_id = ANY($1) ORDER BY ladder_id, rung, at, person.name",
        [ids.into()],
    ))
    .all(conn)
    .await?
    {
        told.entry(one.ladder_id).or_default().push(one);
    }
    Ok(rows
        .into_iter()
        .map(|row| {
            let ladder = Ladder {
                steps: steps.remove(&row.id).unwrap_or_default(),
                told: told.remove(&row.id).unwrap_or_default(),
                id: row.id,
                started_at: row.started_at,
                stopped_at: row.stopped_at,
                stopped_why: row.stopped_why,
                setting_version: row.setting_version,
                variant: row.variant,
            };
            (row.subject_id, ladder)
        })
        .collect())
}
