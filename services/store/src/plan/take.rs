//! Taking a proposal over, whole or in parts, and giving it back.
//!
//! Belongs here: that it happens in one transaction, only where the board is still as the plan saw
//! it. Does not belong here: what giving out one job does ([`crate::job`]).

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use roster::plan::compare::Kind;
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Body, PlanState, Proposal, find, locked, noted, open_locked, settle};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::{Job, JobState, Window, assignment_end, job_find, plans_hold, put};
use crate::person::Caller;

/// A slot that was to begin longer ago than this is not taken any more, minutes.
const LATE_MIN: i64 = 10;

/// Numbers of jobs that a refusal names; the rest are counted.
const NAMED_MAX: usize = 6;

/// One job as it was and as it became.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Move {
    /// The job.
    pub job_id: Uuid,
    /// Its version after it was taken over.
    pub version: i32,
    /// Who had it.
    pub person_before: Option<Uuid>,
    /// When they were planned there.
    pub slot_before: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// When whoever has it now is planned there.
    pub slot_after: Option<(DateTime<Utc>, DateTime<Utc>)>,
}

/// Something of a proposal that was taken at once.
#[derive(Clone, Debug)]
pub struct Taking {
    /// Id.
    pub id: Uuid,
    /// Who took it: id and name.
    pub taken_by: (Uuid, String),
    /// When.
    pub taken_at: DateTime<Utc>,
    /// The jobs.
    pub moves: Vec<Move>,
    /// When it was given back, and by whom.
    pub undone: Option<(Uuid, DateTime<Utc>)>,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    taken_by: Uuid,
    taken_by_name: String,
    taken_at: DateTime<Utc>,
    moves: Value,
    undone_by: Option<Uuid>,
    undone_at: Option<DateTime<Utc>>,
}

/// What was taken of a proposal, oldest first.
pub(super) async fn of_proposal<C: ConnectionTrait>(
    conn: &C,
    id: Uuid,
) -> Result<Vec<Taking>, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT plan_taking.id, taken_by, person.name AS taken_by_name, taken_at, moves, \
           undone_by, undone_at \
         FROM plan_taking JOIN person ON person.id = taken_by \
         WHERE proposal_id = $1 ORDER BY taken_at, plan_taking.id",
        [id.into()],
    ))
    .all(conn)
    .await?;
    rows.into_iter()
        .map(|row| {
            let moves = serde_json::from_value(row.moves)
                .map_err(|error| StoreError::corrupt("taken plan", error))?;
            Ok(Taking {
                id: row.id,
                taken_by: (row.taken_by, row.taken_by_name),
                taken_at: row.taken_at,
                moves,
                undone: row.undone_by.zip(row.undone_at),
            })
        })
        .collect()
}

/// The version that each job has where nobody but the plan has changed it.
pub(super) fn versions(body: &Body, takings: &[Taking]) -> BTreeMap<Uuid, i32> {
    let mut versions: BTreeMap<Uuid, i32> =
        body.jobs.iter().map(|job| (job.id, job.version)).collect();
    for taking in takings {
        for one in &taking.moves {
            // Giving it back counts the job's version once more.
            let given_back = i32::from(taking.undone.is_some());
            versions.insert(one.job_id, one.version + given_back);
        }
    }
    versions
}

/// Takes the named jobs' changes over, or all that are left; all of them or none. One named job may
/// `start` at another time than the plan's, where its slot is no longer free.
///
/// # Errors
/// `Forbidden` unless they give out work, `NotFound`, `Invalid` for a job that the plan does not
/// change or a start that goes with no one job, `Conflict` where the board has changed meanwhile or
/// a slot has passed, `Overlap` where somebody is planned for something the plan did not know, or
/// the database fails.
pub async fn take(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    only: Option<Vec<Uuid>>,
    start: Option<DateTime<Utc>>,
) -> Result<Proposal, StoreError> {
    caller.must_schedule("take a plan over")?;
    let txn = store.begin().await?;
    let proposal = open_locked(&txn, caller.shop_id, id).await?;
    let body = &proposal.body;
    let left = left(&proposal);
    let wanted = match &only {
        None => left.clone(),
        Some(only) => chosen(body, &left, only)?,
    };
    if wanted.is_empty() {
        return Err(StoreError::conflict(
            "nothing-to-take",
            "Nothing of this plan is left to be taken: the board is as it says.",
        ));
    }
    let slots = slots(body, &wanted, start)?;
    let jobs = lock_all(&txn, caller.shop_id, body, &wanted).await?;
    let expected = versions(body, &proposal.takings);
    let changed: Vec<&Job> =
        jobs.iter().filter(|job| expected.get(&job.id) != Some(&job.version)).collect();
    if !changed.is_empty() {
        return Err(StoreError::conflict(
            "board-changed",
            format!(
                "{} changed since this plan was made. Ask for a new plan, or take the others one \
                 by one.",
                named(&changed.iter().map(|job| job.number).collect::<Vec<_>>())
            ),
        ));
    }
    let late = store.now() - TimeDelta::minutes(LATE_MIN);
    let passed: Vec<i32> = wanted
        .iter()
        .zip(&slots)
        .filter(|(_, slot)| slot.is_some_and(|(_, slot)| slot.start < late))
        .map(|(job, _)| body.jobs[*job].number)
        .collect();
    if !passed.is_empty() {
        return Err(StoreError::conflict(
            "plan-late",
            format!("{} was to begin earlier than now. Ask for a new plan.", named(&passed)),
        ));
    }
    let mut people: Vec<_> = slots.iter().map(|slot| slot.map(|(person, _)| person)).collect();
    people.extend(jobs.iter().map(|job| job.assigned_to.as_ref().map(|(holder, _)| *holder)));
    plans_hold(&txn, &people).await?;
    for job in &jobs {
        assignment_end(&txn, store, job.id).await?;
    }
    let mut moves = Vec::new();
    for (slot, job) in slots.into_iter().zip(&jobs) {
        let had = job.assigned_to.as_ref().map(|(holder, _)| *holder);
        // What has no place keeps its person, without a time.
        let person = slot.map_or(had, |(person, _)| Some(person));
        let slot = slot.map(|(_, slot)| slot);
        put(&txn, store, caller, job, (person, slot), id).await?;
        moves.push(Move {
            job_id: job.id,
            version: job.version + 1,
            person_before: had,
            slot_before: job.planned.map(pair),
            slot_after: slot.map(pair),
        });
    }
    let kept = serde_json::to_value(&moves).map_err(|error| StoreError::corrupt("plan", error))?;
    txn.execute_raw(sql(
        "INSERT INTO plan_taking (id, shop_id, proposal_id, taken_by, taken_at, moves) \
         VALUES ($1, $2, $3, $4, $5, $6)",
        [
            store.new_id().into(),
            caller.shop_id.into(),
            id.into(),
            caller.person_id.into(),
            store.now().into(),
            kept.into(),
        ],
    ))
    .await?;
    if wanted.len() == left.len() {
        settle(&txn, store, caller, id, PlanState::Taken).await?;
    }
    let ids: Vec<Uuid> = moves.iter().map(|one| one.job_id).collect();
    let facts = json!({ "jobs": ids, "left": left.len() - wanted.len() });
    noted(&txn, store, caller, "plan_taken", id, facts).await?;
    let proposal = find(&txn, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(proposal)
}

/// Gives the last taking back: every job of it goes back to whom and when it was.
///
/// # Errors
/// `Forbidden` unless they give out work, `NotFound`, `Conflict` where nothing is to be given back
/// or something of it has begun or was changed, `Overlap` where an old slot is no longer free, or
/// the database fails.
pub async fn undo(store: &Store, caller: &Caller, id: Uuid) -> Result<Proposal, StoreError> {
    caller.must_schedule("give a plan back")?;
    let txn = store.begin().await?;
    locked(&txn, id).await?;
    let proposal = find(&txn, caller.shop_id, id).await?;
    let Some(taking) = proposal.takings.iter().rev().find(|taking| taking.undone.is_none()) else {
        return Err(StoreError::conflict(
            "nothing-to-undo",
            "Nothing of this plan is taken, so there is nothing to give back.",
        ));
    };
    let body = &proposal.body;
    let of_job = |id: Uuid| body.jobs.iter().position(|job| job.id == id);
    let wanted: Vec<usize> = taking.moves.iter().filter_map(|one| of_job(one.job_id)).collect();
    let jobs = lock_all(&txn, caller.shop_id, body, &wanted).await?;
    let now = store.now();
    let begun: Vec<i32> = jobs
        .iter()
        .zip(&taking.moves)
        .filter(|(job, one)| {
            let started = one.slot_after.is_some_and(|(start, _)| start <= now);
            let waits = matches!(job.state, JobState::Open | JobState::Assigned);
            started || !waits || job.version != one.version
        })
        .map(|(job, _)| job.number)
        .collect();
    if !begun.is_empty() {
        return Err(StoreError::conflict(
            "plan-begun",
            format!(
                "{} has begun or was changed since the plan was taken; change the rest by hand.",
                named(&begun)
            ),
        ));
    }
    let mut people: Vec<_> = taking.moves.iter().map(|one| one.person_before).collect();
    people.extend(jobs.iter().map(|job| job.assigned_to.as_ref().map(|(holder, _)| *holder)));
    plans_hold(&txn, &people).await?;
    for job in &jobs {
        assignment_end(&txn, store, job.id).await?;
    }
    for (job, one) in jobs.iter().zip(&taking.moves) {
        let slot = one.slot_before.map(|(start, end)| Window { start, end });
        put(&txn, store, caller, job, (one.person_before, slot), id).await?;
    }
    txn.execute_raw(sql(
        "UPDATE plan_taking SET undone_by = $2, undone_at = $3 WHERE id = $1",
        [taking.id.into(), caller.person_id.into(), now.into()],
    ))
    .await?;
    if proposal.state == PlanState::Taken {
        settle(&txn, store, caller, id, PlanState::Open).await?;
    }
    let ids: Vec<Uuid> = taking.moves.iter().map(|one| one.job_id).collect();
    noted(&txn, store, caller, "plan_undone", id, json!({ "jobs": ids })).await?;
    let proposal = find(&txn, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(proposal)
}

/// Indices of the jobs that are changed and were not taken yet.
fn left(proposal: &Proposal) -> Vec<usize> {
    let taken = proposal.taken();
    let body = &proposal.body;
    let changed = |job: &usize| body.changes(*job) && !taken.contains(&body.jobs[*job].id);
    (0..body.jobs.len()).filter(changed).collect()
}

fn chosen(body: &Body, left: &[usize], only: &[Uuid]) -> Result<Vec<usize>, StoreError> {
    let mut wanted = Vec::new();
    for (position, id) in only.iter().enumerate() {
        let pointer = format!("/jobs/{position}");
        let Some(index) = body.jobs.iter().position(|job| job.id == *id) else {
            return Err(StoreError::invalid(pointer, "This job is not in the plan."));
        };
        if !left.contains(&index) {
            let kind = body.comparison.changes[index].kind;
            let why = match kind {
                Kind::Held | Kind::Stays => "The plan leaves it where it is.",
                _ => "It was taken already, or has no time to take from it.",
            };
            return Err(StoreError::invalid(pointer, why));
        }
        if !wanted.contains(&index) {
            wanted.push(index);
        }
    }
    Ok(wanted)
}

/// Whom and when each job goes to: as the plan has it, or the one from `start` on.
fn slots(
    body: &Body,
    wanted: &[usize],
    start: Option<DateTime<Utc>>,
) -> Result<Vec<Option<(Uuid, Window)>>, StoreError> {
    let planned: Vec<_> = wanted.iter().map(|job| body.slot(*job)).collect();
    match (start, planned.as_slice()) {
        (None, _) => Ok(planned),
        (Some(start), [Some((person, slot))]) => {
            let end = start + (slot.end - slot.start);
            Ok(vec![Some((*person, Window { start, end }))])
        }
        (Some(_), _) => Err(StoreError::invalid(
            "/start",
            "Another start goes with one job that the plan gives a time; name that job alone.",
        )),
    }
}

/// The jobs as they are now, their rows locked in one order, whoever takes what.
async fn lock_all(
    txn: &DatabaseTransaction,
    shop_id: Uuid,
    body: &Body,
    wanted: &[usize],
) -> Result<Vec<Job>, StoreError> {
    let ids: Vec<Uuid> = wanted.iter().map(|job| body.jobs[*job].id).collect();
    txn.execute_raw(sql(
        "SELECT 1 FROM job WHERE id = ANY($1) ORDER BY id FOR NO KEY UPDATE",
        [ids.clone().into()],
    ))
    .await?;
    let mut jobs = Vec::new();
    for id in ids {
        jobs.push(job_find(txn, shop_id, id).await?);
    }
    Ok(jobs)
}

fn pair(slot: Window) -> (DateTime<Utc>, DateTime<Utc>) {
    (slot.start, slot.end)
}

/// "Job 12", "Jobs 12, 14 and 3 more".
fn named(numbers: &[i32]) -> String {
    let shown: Vec<String> = numbers.iter().take(NAMED_MAX).map(ToString::to_string).collect();
    let more = match numbers.len().saturating_sub(NAMED_MAX) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let noun = if numbers.len() == 1 { "Job" } else { "Jobs" };
    format!("{noun} {}{more}", shown.join(", "))
}
