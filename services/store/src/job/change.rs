//! Taking and changing jobs.
//!
//! Belongs here: who may, in which state, and what goes on the record of it. Does not belong
//! here: reading jobs ([`super`]), giving them out ([`super::assign`]), and the board.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde::Serialize;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{Answers, Intake, Job, JobState, Urgency, Window, Work, assign, fit, intake, job_find};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, Qualification, Role};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{live_feed, unit};

/// Longest complaint.
const COMPLAINT_CHARS_MAX: usize = 2_000;

/// Longest window; a longer one is no promise.
const WINDOW_HOURS_MAX: i64 = 24 * 14;

/// Least and most minutes that a job is expected to take; more is planned as several visits.
const EXPECTED_MIN: std::ops::RangeInclusive<i32> = 5..=2_880;

/// Coldest and hottest outdoor temperature, degrees Fahrenheit: beyond what is lived in.
const OUTDOOR_F: std::ops::RangeInclusive<i32> = -80..=140;

/// A new job.
#[derive(Clone, Debug, Default)]
pub struct JobNew {
    /// The unit.
    pub unit_id: Uuid,
    /// What the customer says is wrong.
    pub complaint: String,
    /// How long it can wait; where absent, as the answers say.
    pub urgency: Option<Urgency>,
    /// What was answered to the plain questions.
    pub answers: Option<Answers>,
    /// Why it has another class than the answers make.
    pub urgency_because: Option<String>,
    /// When somebody is promised.
    pub window: Option<Window>,
    /// Who is to go.
    pub assigned_to: Option<Uuid>,
    /// When they are planned to be there; the promised window where absent.
    pub planned: Option<Window>,
    /// What whoever goes must be qualified for.
    pub required: Vec<Qualification>,
    /// Whether somebody there cannot be without heat or cooling; true where the answers say so.
    pub vulnerable: bool,
    /// Outdoor temperature, degrees Fahrenheit, −80 to 140.
    pub outdoor_f: Option<i32>,
    /// What kind of work it is.
    pub work: Work,
    /// Minutes on site, 5 to 2880; what that kind of work usually takes where absent.
    pub expected_min: Option<i32>,
    /// Nobody need go before this.
    pub not_before: Option<DateTime<Utc>>,
    /// Why it is given to somebody who does not fit it.
    pub because: Option<String>,
}

/// What to change; the rest stays. An inner `None` clears the value.
#[derive(Clone, Debug, Default)]
pub struct JobChange {
    /// The version that was looked at.
    pub version: i32,
    /// The next state.
    pub state: Option<JobState>,
    /// How long it can wait.
    pub urgency: Option<Urgency>,
    /// What was answered to the plain questions this time; their class holds unless `urgency`
    /// says otherwise.
    pub answers: Option<Answers>,
    /// Why it has another class than the answers make.
    pub urgency_because: Option<String>,
    /// What the customer says is wrong.
    pub complaint: Option<String>,
    /// When somebody is promised.
    pub window: Option<Option<Window>>,
    /// What whoever goes must be qualified for.
    pub required: Option<Vec<Qualification>>,
    /// Whether somebody there cannot be without heat or cooling.
    pub vulnerable: Option<bool>,
    /// Outdoor temperature, degrees Fahrenheit.
    pub outdoor_f: Option<Option<i32>>,
    /// What kind of work it is.
    pub work: Option<Work>,
    /// Minutes on site.
    pub expected_min: Option<i32>,
    /// Nobody need go before this.
    pub not_before: Option<Option<DateTime<Utc>>>,
}

impl JobChange {
    /// Whether anything but the state is to change.
    fn more_than_state(&self) -> bool {
        self.urgency.is_some()
            || self.answers.is_some()
            || self.complaint.is_some()
            || self.window.is_some()
            || self.required.is_some()
            || self.vulnerable.is_some()
            || self.outdoor_f.is_some()
            || self.work.is_some()
            || self.expected_min.is_some()
            || self.not_before.is_some()
    }
}

/// Takes a job, and gives it to somebody at once where asked.
///
/// # Errors
/// `Forbidden` for technicians who do not take it for themselves, `NotFound`, `InvalidMany`,
/// `Conflict` where something speaks against the person and no reason is given, `Overlap` where
/// they are planned elsewhere then, or the database fails.
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
    let reason = new.urgency_because.as_deref();
    let (urgency, intake) = intake::class_given(&mut faults, new.answers, new.urgency, reason);
    check_window(&mut faults, new.window);
    assign::check_planned(&mut faults, new.planned);
    check_ranges(&mut faults, new.expected_min, new.outdoor_f);
    let because = faults.text_opt("/because", new.because.as_deref(), assign::REASON_CHARS_MAX);
    if new.planned.is_some() && new.assigned_to.is_none() {
        faults.add("/planned_start", "A time is planned for somebody; say who goes, too.");
    }
    faults.done()?;

    let now = store.now();
    let id = store.new_id();
    let required = without_repeats(&new.required);
    let vulnerable = new.vulnerable || intake.as_ref().is_some_and(Intake::says_vulnerable);
    let expected_min = new.expected_min.unwrap_or_else(|| new.work.expected_min());
    let txn = store.begin().await?;
    unit::unit_find(&txn, caller.shop_id, new.unit_id).await?;
    let number = next_number(&txn, caller.shop_id).await?;
    let state = if new.assigned_to.is_some() { JobState::Assigned } else { JobState::Open };
    txn.execute_raw(sql(
        "INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, assigned_to, \
         window_start, window_end, required, vulnerable, outdoor_f, work, expected_min, \
         not_before, intake, created_by, created_at, changed_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, \
         $18, $19, $19)",
        [
            id.into(),
            caller.shop_id.into(),
            number.into(),
            new.unit_id.into(),
            complaint.into(),
            urgency.name().into(),
            state.name().into(),
            new.assigned_to.into(),
            new.window.map(|window| window.start).into(),
            new.window.map(|window| window.end).into(),
            names(&required).into(),
            vulnerable.into(),
            new.outdoor_f.into(),
            new.work.id().into(),
            expected_min.into(),
            new.not_before.into(),
            Intake::to_stored(intake.as_ref()).into(),
            caller.person_id.into(),
            now.into(),
        ],
    ))
    .await?;
    let mut noted = Noted::default();
    if let Some(person_id) = new.assigned_to {
        let person = assign::technician(&txn, caller.shop_id, person_id).await?;
        let planned = new.planned.or(new.window);
        let job = job_find(&txn, caller.shop_id, id).await?;
        let against = fit::against(&txn, &job, &person, planned).await?;
        assign::plans_hold(&txn, &[Some(person_id)]).await?;
        // What cannot be is told before what only wants a reason.
        assign::assignment_add(&txn, store, caller, id, &person, planned).await?;
        fit::must_have_reason(&against, because.as_deref())?;
        noted.now("planned", planned.map(span_json));
        if !against.is_empty() {
            noted.now("despite", against.iter().map(|one| one.says.clone()).collect::<Vec<_>>());
            noted.now("because", because);
        }
    }
    noted.now("number", number);
    noted.now("unit", new.unit_id);
    noted.now("urgency", urgency);
    noted.now("assigned_to", new.assigned_to);
    noted.now("window", window_json(new.window));
    noted.now("work", new.work.id());
    noted.now("expected_min", expected_min);
    noted.now("required", names(&required));
    noted.now("vulnerable", vulnerable);
    noted.now("outdoor_f", new.outdoor_f);
    noted.now("not_before", new.not_before);
    if let Some(intake) = &intake {
        noted.now("intake", Intake::to_stored(Some(intake)));
    }
    finish(store, txn, caller, id, "job_taken", noted.body()).await
}

/// Changes a job: those who give out work anything, a technician the state of their own.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, `Conflict` where somebody changed it meanwhile or one
/// state cannot follow the other, `Overlap` where the person is planned elsewhere then; or the
/// database fails.
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
    check_ranges(&mut faults, change.expected_min, change.outdoor_f.flatten());

    let txn = store.begin().await?;
    let before = lock(&txn, caller.shop_id, id, change.version).await?;
    may_change(caller, &before, change.state, change.more_than_state())?;
    let (urgency, intake) = reclassed(&mut faults, &before, &change);
    faults.done()?;
    let state = change.state.unwrap_or(before.state);
    if state != before.state && !before.state.may_become(state) {
        return Err(cannot_become(before.state, state));
    }
    // Opened again after it was cancelled, it is nobody's.
    let keeps_person = state != JobState::Open;
    let assigned_to = before.assigned_to.as_ref().map(|(id, _)| *id).filter(|_| keeps_person);
    let window = change.window.unwrap_or(before.window);
    let required =
        change.required.as_deref().map_or_else(|| before.required.clone(), without_repeats);
    let vulnerable = change.vulnerable.unwrap_or_else(|| {
        let told = intake.as_ref().filter(|_| change.answers.is_some());
        before.vulnerable || told.is_some_and(Intake::says_vulnerable)
    });
    let outdoor_f = change.outdoor_f.unwrap_or(before.outdoor_f);
    let work = change.work.unwrap_or(before.work);
    // What was only the old kind's usual time becomes the new kind's.
    let usual = before.expected_min == before.work.expected_min();
    let expected_min = change.expected_min.unwrap_or(if usual {
        work.expected_min()
    } else {
        before.expected_min
    });
    let not_before = change.not_before.unwrap_or(before.not_before);

    txn.execute_raw(sql(
        "UPDATE job SET state = $2, urgency = $3, complaint = coalesce($4, complaint), \
         window_start = $5, window_end = $6, assigned_to = $7, required = $8, vulnerable = $9, \
         outdoor_f = $10, work = $11, expected_min = $12, not_before = $13, intake = $14, \
         version = version + 1, changed_at = $15 WHERE id = $1",
        [
            id.into(),
            state.name().into(),
            urgency.name().into(),
            complaint.clone().into(),
            window.map(|window| window.start).into(),
            window.map(|window| window.end).into(),
            assigned_to.into(),
            names(&required).into(),
            vulnerable.into(),
            outdoor_f.into(),
            work.id().into(),
            expected_min.into(),
            not_before.into(),
            Intake::to_stored(intake.as_ref()).into(),
            store.now().into(),
        ],
    ))
    .await?;
    let reopened = before.state.is_closed() && !state.is_closed();
    // A slot of its own stays when the promise moves; one that was only the promise goes along.
    let follows = window != before.window && before.planned == before.window;
    let mut planned = before.planned;
    if state.is_closed() {
        assign::assignment_end(&txn, store, id).await?;
    } else if let Some(person_id) = assigned_to
        && (reopened || follows)
    {
        assign::plans_hold(&txn, &[Some(person_id)]).await?;
        assign::assignment_end(&txn, store, id).await?;
        // Coming back to a job that was done is not planned for the time it was first done in.
        planned = if reopened && change.window.is_none() { None } else { window };
        let person = assign::technician(&txn, caller.shop_id, person_id).await?;
        assign::assignment_add(&txn, store, caller, id, &person, planned).await?;
    }

    let mut noted = Noted::default();
    noted.change("state", before.state, state);
    noted.change("urgency", before.urgency, urgency);
    noted.change("window", before.window.map(span_json), window.map(span_json));
    noted.change("planned", before.planned.map(span_json), planned.map(span_json));
    noted.change("required", names(&before.required), names(&required));
    noted.change("vulnerable", before.vulnerable, vulnerable);
    noted.change("outdoor_f", before.outdoor_f, outdoor_f);
    noted.change("work", before.work.id(), work.id());
    noted.change("expected_min", before.expected_min, expected_min);
    noted.change("not_before", before.not_before, not_before);
    if intake != before.intake {
        noted.now("intake", Intake::to_stored(intake.as_ref()));
    }
    if urgency != before.urgency && change.urgency_because.is_some() {
        noted.now("urgency_because", change.urgency_because);
    }
    if complaint.is_some_and(|complaint| complaint != before.complaint) {
        // The words themselves are the customer's and do not go where nothing can be taken out.
        noted.now("complaint_changed", true);
    }
    finish(store, txn, caller, id, "job_changed", noted.body()).await
}

/// The class after a change, and what is kept of the answers: new answers make it anew, another
/// class over standing answers wants a reason.
fn reclassed(faults: &mut Faults, before: &Job, change: &JobChange) -> (Urgency, Option<Intake>) {
    let told = change.answers.filter(|answers| !answers.is_empty());
    if told.is_none() && change.urgency.is_none() {
        return (before.urgency, before.intake.clone());
    }
    let answers = told.or(before.intake.as_ref().map(|intake| intake.answers));
    intake::class_given(faults, answers, change.urgency, change.urgency_because.as_deref())
}

/// Locks the job's row, and goes on only where nobody changed it meanwhile.
pub(super) async fn lock(
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

/// The record, the feed, the commit, and the job as it is then.
pub(super) async fn finish(
    store: &Store,
    txn: DatabaseTransaction,
    caller: &Caller,
    id: Uuid,
    kind: &'static str,
    body: Value,
) -> Result<Job, StoreError> {
    let now = store.now();
    let ladder = super::settle(store, &txn, caller.shop_id, id).await?;
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "job",
        subject_id: id,
        body,
    };
    record::append(&txn, now, entry).await?;
    for entry in ladder {
        record::append(&txn, now, entry).await?;
    }
    live_feed::announce(&txn, now, caller.shop_id, "job", id, json!({})).await?;
    let job = job_find(&txn, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(job)
}

pub(super) fn check_window(faults: &mut Faults, window: Option<Window>) {
    let Some(window) = window else { return };
    if window.end <= window.start {
        faults.add("/window_end", "The window must end after it starts.");
    } else if window.end - window.start > TimeDelta::hours(WINDOW_HOURS_MAX) {
        faults
            .add("/window_end", format!("A window may be at most {WINDOW_HOURS_MAX} hours long."));
    }
}

fn check_ranges(faults: &mut Faults, expected_min: Option<i32>, outdoor_f: Option<i32>) {
    if expected_min.is_some_and(|minutes| !EXPECTED_MIN.contains(&minutes)) {
        faults.add(
            "/expected_min",
            format!(
                "Minutes on site, from {} to {}; plan what takes longer as several visits.",
                EXPECTED_MIN.start(),
                EXPECTED_MIN.end()
            ),
        );
    }
    if outdoor_f.is_some_and(|degrees| !OUTDOOR_F.contains(&degrees)) {
        faults.add(
            "/outdoor_f",
            format!("Degrees Fahrenheit, from {} to {}.", OUTDOOR_F.start(), OUTDOOR_F.end()),
        );
    }
}

/// Each once, in the order of the list of them all.
fn without_repeats(given: &[Qualification]) -> Vec<Qualification> {
    Qualification::ALL.into_iter().filter(|one| given.contains(one)).collect()
}

fn names(qualifications: &[Qualification]) -> Vec<String> {
    qualifications.iter().map(|one| one.name().to_owned()).collect()
}

/// What goes on the record of a change: values as they are now, and under "was" as they were.
#[derive(Default)]
pub(super) struct Noted {
    now: Map<String, Value>,
    was: Map<String, Value>,
}

impl Noted {
    /// Notes a value.
    pub(super) fn now(&mut self, name: &str, value: impl Serialize) {
        self.now.insert(name.to_owned(), json!(value));
    }

    /// Notes what it was before.
    pub(super) fn was(&mut self, name: &str, value: impl Serialize) {
        self.was.insert(name.to_owned(), json!(value));
    }

    /// Notes both where they differ, nothing otherwise.
    pub(super) fn change<T: Serialize + PartialEq>(&mut self, name: &str, before: T, after: T) {
        if before != after {
            self.was(name, before);
            self.now(name, after);
        }
    }

    /// As it goes on the record.
    pub(super) fn body(mut self) -> Value {
        if !self.was.is_empty() {
            self.now.insert("was".to_owned(), Value::Object(self.was));
        }
        Value::Object(self.now)
    }
}

/// Start and end.
pub(super) fn span_json(window: Window) -> Value {
    let at = |time: DateTime<Utc>| time.to_rfc3339();
    json!([at(window.start), at(window.end)])
}

pub(super) fn window_json(window: Option<Window>) -> Value {
    window.map_or(Value::Null, span_json)
}
