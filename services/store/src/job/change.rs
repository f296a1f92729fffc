//! Taking, changing and giving out jobs.
//!
//! Belongs here: who may, in which state, and the planned time that the database keeps free of
//! overlaps. Does not belong here: reading jobs ([`super`]) and the board.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Job, JobState, Urgency, Window, job_find};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::{Caller, Role, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{live_feed, unit};

/// Longest complaint.
const COMPLAINT_CHARS_MAX: usize = 2_000;

/// Longest window; a longer one is no promise.
const WINDOW_HOURS_MAX: i64 = 24 * 14;

/// A new job.
#[derive(Clone, Debug)]
pub struct JobNew {
    /// The unit.
    pub unit_id: Uuid,
    /// What the customer says is wrong.
    pub complaint: String,
    /// How long it can wait.
    pub urgency: Urgency,
    /// When somebody is promised.
    pub window: Option<Window>,
    /// Who is to go.
    pub assigned_to: Option<Uuid>,
}

/// What to change; the rest stays. An inner `None` clears the value.
#[derive(Clone, Debug)]
pub struct JobChange {
    /// The version that was looked at.
    pub version: i32,
    /// The next state.
    pub state: Option<JobState>,
    /// How long it can wait.
    pub urgency: Option<Urgency>,
    /// What the customer says is wrong.
    pub complaint: Option<String>,
    /// When somebody is promised.
    pub window: Option<Option<Window>>,
}

/// Giving a job to somebody, or taking it back.
#[derive(Clone, Debug)]
pub struct Assign {
    /// The version that was looked at.
    pub version: i32,
    /// Who is to go; nobody takes it back.
    pub person_id: Option<Uuid>,
    /// When.
    pub window: Option<Window>,
}

/// Takes a job, and gives it to somebody at once where asked.
///
/// # Errors
/// `Forbidden` for technicians who do not take it for themselves, `NotFound`, `InvalidMany`,
/// `Conflict` where the person is planned elsewhere then, or the database fails.
pub async fn job_add(store: &Store, caller: &Caller, new: JobNew) -> Result<Job, StoreError> {
    let for_self = caller.is(Role::Technician) && new.assigned_to == Some(caller.person_id);
    if !for_self && !caller.schedules() {
        return Err(StoreError::forbidden(
            "A technician takes a job for themselves; a scheduler, a service manager or the owner \
             takes one for others.",
        ));
    }
    let mut faults = Faults::default();
    let complaint = faults.text("/complaint", &new.complaint, COMPLAINT_CHARS_MAX);
    check_window(&mut faults, new.window);
    faults.done()?;

    let now = store.now();
    let id = store.new_id();
    let txn = store.begin().await?;
    unit::unit_find(&txn, caller.shop_id, new.unit_id).await?;
    let number = next_number(&txn, caller.shop_id).await?;
    let state = if new.assigned_to.is_some() { JobState::Assigned } else { JobState::Open };
    txn.execute_raw(sql(
        "INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, assigned_to, \
         window_start, window_end, created_by, created_at, changed_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $12)",
        [
            id.into(),
            caller.shop_id.into(),
            number.into(),
            new.unit_id.into(),
            complaint.into(),
            new.urgency.name().into(),
            state.name().into(),
            new.assigned_to.into(),
            new.window.map(|window| window.start).into(),
            new.window.map(|window| window.end).into(),
            caller.person_id.into(),
            now.into(),
        ],
    ))
    .await?;
    if let Some(person_id) = new.assigned_to {
        assignment_add(&txn, store, caller, id, person_id, new.window).await?;
    }
    let body = json!({
        "number": number,
        "unit": new.unit_id,
        "urgency": new.urgency,
        "assigned_to": new.assigned_to,
        "window": window_json(new.window),
    });
    finish(store, txn, caller, id, "job_taken", body).await
}

/// Changes a job: those who give out work anything, a technician the state of their own.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, `Conflict` where somebody changed it meanwhile, one
/// state cannot follow the other, or the person is planned elsewhere then; or the database
/// fails.
pub async fn job_change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    change: JobChange,
) -> Result<Job, StoreError> {
    let mut faults = Faults::default();
    let complaint = change
        .complaint
        .as_deref()
        .map(|complaint| faults.text("/complaint", complaint, COMPLAINT_CHARS_MAX));
    check_window(&mut faults, change.window.flatten());
    faults.done()?;

    let txn = store.begin().await?;
    let before = lock(&txn, caller.shop_id, id, change.version).await?;
    let more_than_state =
        change.urgency.is_some() || complaint.is_some() || change.window.is_some();
    may_change(caller, &before, change.state, more_than_state)?;
    let state = change.state.unwrap_or(before.state);
    if state != before.state && !before.state.may_become(state) {
        return Err(cannot_become(before.state, state));
    }
    // Opened again after it was cancelled, it is nobody's.
    let keeps_person = state != JobState::Open;
    let assigned_to = before.assigned_to.as_ref().map(|(id, _)| *id).filter(|_| keeps_person);
    let window = change.window.unwrap_or(before.window);
    let urgency = change.urgency.unwrap_or(before.urgency);

    txn.execute_raw(sql(
        "UPDATE job SET state = $2, urgency = $3, complaint = coalesce($4, complaint), \
         window_start = $5, window_end = $6, assigned_to = $7, version = version + 1, \
         changed_at = $8 WHERE id = $1",
        [
            id.into(),
            state.name().into(),
            urgency.name().into(),
            complaint.clone().into(),
            window.map(|window| window.start).into(),
            window.map(|window| window.end).into(),
            assigned_to.into(),
            store.now().into(),
        ],
    ))
    .await?;
    let reopened = before.state.is_closed() && !state.is_closed();
    if state.is_closed() {
        assignment_end(&txn, store, id).await?;
    } else if let Some(person_id) = assigned_to
        && (reopened || window != before.window)
    {
        assignment_end(&txn, store, id).await?;
        // Coming back to a job that was done is not planned for the time it was first done in.
        let planned = if reopened && change.window.is_none() { None } else { window };
        assignment_add(&txn, store, caller, id, person_id, planned).await?;
    }
    let body = json!({
        "state": change.state,
        "urgency": change.urgency,
        "complaint_changed": complaint.is_some(),
        "window": change.window.map(window_json),
    });
    finish(store, txn, caller, id, "job_changed", body).await
}

/// Gives a job to somebody, or takes it back.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, `Conflict` where somebody changed it meanwhile, it is
/// closed, or the person is planned elsewhere then; or the database fails.
pub async fn job_assign(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    assign: Assign,
) -> Result<Job, StoreError> {
    let for_self = caller.is(Role::Technician) && assign.person_id == Some(caller.person_id);
    if !for_self {
        caller.must_schedule("give out jobs")?;
    }
    let mut faults = Faults::default();
    check_window(&mut faults, assign.window);
    faults.done()?;

    let txn = store.begin().await?;
    let before = lock(&txn, caller.shop_id, id, assign.version).await?;
    let held_by_other =
        before.assigned_to.as_ref().is_some_and(|(holder, _)| *holder != caller.person_id);
    if for_self && held_by_other {
        caller.must_schedule("take a job from somebody else")?;
    }
    if before.state.is_closed() {
        return Err(StoreError::conflict(
            "job-closed",
            format!("This job is {}; open it again before giving it out.", before.state.name()),
        ));
    }
    let same_person = assign.person_id.is_some()
        && before.assigned_to.as_ref().map(|(holder, _)| *holder) == assign.person_id;
    let state = match assign.person_id {
        None => JobState::Open,
        // Whoever is on site stays there when only the time changes.
        Some(_) if same_person => before.state,
        Some(_) => JobState::Assigned,
    };
    let window = assign.window.or(before.window);
    txn.execute_raw(sql(
        "UPDATE job SET state = $2, assigned_to = $3, window_start = $4, window_end = $5, \
         version = version + 1, changed_at = $6 WHERE id = $1",
        [
            id.into(),
            state.name().into(),
            assign.person_id.into(),
            window.map(|window| window.start).into(),
            window.map(|window| window.end).into(),
            store.now().into(),
        ],
    ))
    .await?;
    assignment_end(&txn, store, id).await?;
    if let Some(person_id) = assign.person_id {
        assignment_add(&txn, store, caller, id, person_id, window).await?;
    }
    let body = json!({ "assigned_to": assign.person_id, "window": window_json(window) });
    finish(store, txn, caller, id, "job_assigned", body).await
}

/// Locks the job's row, and goes on only where nobody changed it meanwhile.
async fn lock(
    txn: &DatabaseTransaction,
    shop_id: Uuid,
    id: Uuid,
    version: i32,
) -> Result<Job, StoreError> {
    txn.execute_raw(sql("SELECT 1 FROM job WHERE id = $1 FOR NO KEY UPDATE", [id.into()])).await?;
    let job = job_find(txn, shop_id, id).await?;
    if job.version == version {
        Ok(job)
    } else {
        Err(StoreError::changed_meanwhile("job", job.version))
    }
}

fn may_change(
    caller: &Caller,
    job: &Job,
    state: Option<JobState>,
    more_than_state: bool,
) -> Result<(), StoreError> {
    if caller.schedules() {
        return Ok(());
    }
    let own = job.assigned_to.as_ref().is_some_and(|(id, _)| *id == caller.person_id);
    if !own {
        return Err(StoreError::forbidden(
            "This job is not yours. Whoever has it may change its state; a scheduler may change \
             anything about it.",
        ));
    }
    if more_than_state || state == Some(JobState::Cancelled) {
        return Err(StoreError::forbidden(
            "You may change your job's state to on site, waiting or done; ask a scheduler for the \
             rest.",
        ));
    }
    Ok(())
}

fn cannot_become(before: JobState, after: JobState) -> StoreError {
    let possible: Vec<_> = JobState::ALL
        .into_iter()
        .filter(|state| before.may_become(*state))
        .map(JobState::name)
        .collect();
    let assigning = if matches!(after, JobState::Assigned | JobState::Open) {
        " Give it to somebody, or take it back, to change between open and assigned."
    } else {
        ""
    };
    StoreError::conflict(
        "job-state",
        format!(
            "A job that is {} cannot become {}; it can become {}.{assigning}",
            before.name(),
            after.name(),
            possible.join(", ")
        ),
    )
}

async fn next_number<C: ConnectionTrait>(txn: &C, shop_id: Uuid) -> Result<i32, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        last: i32,
    }
    let row = Row::find_by_statement(sql(
        "UPDATE job_head SET last = last + 1 WHERE shop_id = $1 RETURNING last",
        [shop_id.into()],
    ))
    .one(txn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    Ok(row.last)
}

async fn assignment_add<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    person_id: Uuid,
    window: Option<Window>,
) -> Result<(), StoreError> {
    let person = person_find(txn, caller.shop_id, person_id).await?;
    if !person.active || !person.roles.contains(&Role::Technician) {
        return Err(StoreError::invalid(
            "/person_id",
            format!("{} is not a technician who is at work; choose one.", person.name),
        ));
    }
    let taken = || {
        StoreError::conflict(
            "assignment-overlap",
            format!(
                "{} is planned for another job in that time; choose another time or another \
                 person.",
                person.name
            ),
        )
    };
    txn.execute_raw(sql(
        "INSERT INTO assignment (id, shop_id, job_id, person_id, planned, assigned_by, at) \
         VALUES ($1, $2, $3, $4, \
           CASE WHEN $5::timestamptz IS NULL THEN NULL ELSE tstzrange($5, $6) END, $7, $8)",
        [
            store.new_id().into(),
            caller.shop_id.into(),
            job_id.into(),
            person_id.into(),
            window.map(|window| window.start).into(),
            window.map(|window| window.end).into(),
            caller.person_id.into(),
            store.now().into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("assignment_no_overlap", &taken)]))?;
    Ok(())
}

async fn assignment_end<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    job_id: Uuid,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE assignment SET ended_at = $2 WHERE job_id = $1 AND ended_at IS NULL",
        [job_id.into(), store.now().into()],
    ))
    .await?;
    Ok(())
}

/// The record, the feed, the commit, and the job as it is then.
async fn finish(
    store: &Store,
    txn: DatabaseTransaction,
    caller: &Caller,
    id: Uuid,
    kind: &'static str,
    body: Value,
) -> Result<Job, StoreError> {
    let now = store.now();
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "job",
        subject_id: id,
        body,
    };
    record::append(&txn, now, entry).await?;
    live_feed::announce(&txn, now, caller.shop_id, "job", id, json!({})).await?;
    let job = job_find(&txn, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(job)
}

fn check_window(faults: &mut Faults, window: Option<Window>) {
    let Some(window) = window else { return };
    if window.end <= window.start {
        faults.add("/window_end", "The window must end after it starts.");
    } else if window.end - window.start > TimeDelta::hours(WINDOW_HOURS_MAX) {
        faults
            .add("/window_end", format!("A window may be at most {WINDOW_HOURS_MAX} hours long."));
    }
}

fn window_json(window: Option<Window>) -> Value {
    let at = |time: DateTime<Utc>| time.to_rfc3339();
    window.map_or(Value::Null, |window| json!([at(window.start), at(window.end)]))
}
