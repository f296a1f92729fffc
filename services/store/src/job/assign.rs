//! Giving jobs out: to whom, planned for when, and what speaks against it.
//!
//! Belongs here: who may give out work, the planned slot that the database keeps free of
//! overlaps, and the refusal that names the other job. Does not belong here: what else changes
//! about a job ([`super::change`]), and whether somebody fits it ([`super::fit`]).

use chrono::{DateTime, TimeDelta, Utc};
use roster::slot::next_free;
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use uuid::Uuid;

use super::change::{Noted, check_window, finish, lock, span_json, window_json};
use super::{Job, JobState, Window, fit};
use crate::db::{Store, sql};
use crate::error::{Overlap, StoreError, constraint_of};
use crate::person::{Caller, Person, Role, person_find};
use crate::text::Faults;

/// Longest planned slot: what takes longer is planned as several.
pub const PLANNED_HOURS_MAX: i64 = 48;

/// Longest reason for giving a job to somebody who does not fit it.
pub(super) const REASON_CHARS_MAX: usize = 400;

/// Giving a job to somebody, or taking it back.
#[derive(Clone, Debug, Default)]
pub struct Assign {
    /// The version that was looked at.
    pub version: i32,
    /// Who is to go; nobody takes it back.
    pub person_id: Option<Uuid>,
    /// What the customer is promised, where that changes with it.
    pub window: Option<Window>,
    /// When they are planned to be there; the promised window where absent.
    pub planned: Option<Window>,
    /// Why it is right though something speaks against it; needed only then.
    pub because: Option<String>,
}

/// Gives a job to somebody, or takes it back.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, `Conflict` where somebody changed it meanwhile, it is
/// closed, or something speaks against it and no reason is given; `Overlap` where the person is
/// planned elsewhere then; or the database fails.
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
    check_planned(&mut faults, assign.planned);
    let because = faults.text_opt("/because", assign.because.as_deref(), REASON_CHARS_MAX);
    if assign.planned.is_some() && assign.person_id.is_none() {
        faults.add("/planned_start", "A time is planned for somebody; say who goes, too.");
    }
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
    let holder = before.assigned_to.as_ref().map(|(holder, _)| *holder);
    let same_person = assign.person_id.is_some() && holder == assign.person_id;
    let state = match assign.person_id {
        None => JobState::Open,
        // Whoever is on site stays there when only the time changes.
        Some(_) if same_person => before.state,
        Some(_) => JobState::Assigned,
    };
    let window = assign.window.or(before.window);
    let planned = assign.planned.or(window).filter(|_| assign.person_id.is_some());
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
    plans_hold(&txn, &[holder, assign.person_id]).await?;
    assignment_end(&txn, store, id).await?;
    let mut against = Vec::new();
    if let Some(person_id) = assign.person_id {
        let person = technician(&txn, caller.shop_id, person_id).await?;
        let as_planned = Job { window, ..before.clone() };
        against = fit::against(&txn, &as_planned, &person, planned).await?;
        // What cannot be is told before what only wants a reason.
        assignment_add(&txn, store, caller, id, &person, planned).await?;
        fit::must_have_reason(&against, because.as_deref())?;
    }
    let mut noted = Noted::default();
    noted.now("assigned_to", assign.person_id);
    noted.was("assigned_to", holder);
    noted.change("planned", before.planned.map(span_json), planned.map(span_json));
    noted.change("window", before.window.map(span_json), window.map(span_json));
    if !against.is_empty() {
        noted.now("despite", against.iter().map(|one| one.says.clone()).collect::<Vec<_>>());
        noted.now("because", because);
    }
    noted.now("window", window_json(window));
    finish(store, txn, caller, id, "job_assigned", noted.body()).await
}

/// Somebody who can be sent.
pub(super) async fn technician<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    person_id: Uuid,
) -> Result<Person, StoreError> {
    let person = person_find(conn, shop_id, person_id).await?;
    if person.active && person.roles.contains(&Role::Technician) {
        return Ok(person);
    }
    Err(StoreError::invalid(
        "/person_id",
        format!("{} is not a technician who is at work; choose one.", person.name),
    ))
}

/// Holds these people's plans until the transaction ends, so that whoever plans one of them next
/// waits. Taken once in a transaction, after its jobs and before any of their slots changes.
///
/// Without it two slots put in at the same moment would each wait on the other's entry in the
/// exclusion constraint's index, and PostgreSQL would break the tie by a deadlock that names
/// neither. An advisory lock rather than the person's row: nothing else ever waits on it.
pub(crate) async fn plans_hold(
    txn: &DatabaseTransaction,
    people: &[Option<Uuid>],
) -> Result<(), StoreError> {
    let people: Vec<Uuid> = people.iter().flatten().copied().collect();
    txn.execute_raw(sql(
        "SELECT pg_advisory_xact_lock(hashtextextended('plan of ' || id, 0)) \
         FROM (SELECT DISTINCT id FROM unnest($1::uuid[]) AS id ORDER BY id) AS in_order",
        [people.into()],
    ))
    .await?;
    Ok(())
}

/// Plans somebody for a job, in a slot that nothing else of theirs overlaps. Their plans are held
/// ([`plans_hold`]).
pub(super) async fn assignment_add(
    txn: &DatabaseTransaction,
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    person: &Person,
    planned: Option<Window>,
) -> Result<(), StoreError> {
    // After a refusal the transaction must still answer what is in the way.
    txn.execute_unprepared("SAVEPOINT planning").await?;
    let added = txn
        .execute_raw(sql(
            "INSERT INTO assignment (id, shop_id, job_id, person_id, planned, assigned_by, at) \
             VALUES ($1, $2, $3, $4, \
               CASE WHEN $5::timestamptz IS NULL THEN NULL ELSE tstzrange($5, $6) END, $7, $8)",
            [
                store.new_id().into(),
                caller.shop_id.into(),
                job_id.into(),
                person.id.into(),
                planned.map(|slot| slot.start).into(),
                planned.map(|slot| slot.end).into(),
                caller.person_id.into(),
                store.now().into(),
            ],
        ))
        .await;
    match (added, planned) {
        (Ok(_), _) => Ok(()),
        (Err(error), Some(slot)) if constraint_of(&error) == Some("assignment_no_overlap") => {
            txn.execute_unprepared("ROLLBACK TO SAVEPOINT planning").await?;
            Err(in_the_way(txn, caller.shop_id, person, slot).await?)
        }
        (Err(error), _) => Err(error.into()),
    }
}

/// Ends whatever plan stands for a job.
pub(crate) async fn assignment_end<C: ConnectionTrait>(
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

/// A slot that is given must be one.
pub(super) fn check_planned(faults: &mut Faults, planned: Option<Window>) {
    let Some(slot) = planned else { return };
    if slot.end <= slot.start {
        faults.add("/planned_end", "The planned time must end after it starts.");
    } else if slot.end - slot.start > TimeDelta::hours(PLANNED_HOURS_MAX) {
        faults.add(
            "/planned_end",
            format!("A planned time may be at most {PLANNED_HOURS_MAX} hours long."),
        );
    }
}

#[derive(FromQueryResult)]
struct Standing {
    job_id: Uuid,
    number: i32,
    customer_name: String,
    planned_start: DateTime<Utc>,
    planned_end: DateTime<Utc>,
}

/// The refusal of a slot that overlaps: which job is in the way, and when there is room.
async fn in_the_way<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    person: &Person,
    slot: Window,
) -> Result<StoreError, StoreError> {
    // Everything of theirs from then on: a person's plans reach some weeks, not years.
    let standing = Standing::find_by_statement(sql(
        "SELECT job.id AS job_id, job.number, customer.name AS customer_name, \
           lower(assignment.planned) AS planned_start, upper(assignment.planned) AS planned_end \
         FROM assignment JOIN job ON job.id = assignment.job_id \
         JOIN unit ON unit.id = job.unit_id JOIN site ON site.id = unit.site_id \
         JOIN customer ON customer.id = site.customer_id \
         WHERE assignment.person_id = $1 AND assignment.ended_at IS NULL \
           AND assignment.planned && tstzrange($2, NULL) \
         ORDER BY lower(assignment.planned)",
        [person.id.into(), slot.start.into()],
    ))
    .all(conn)
    .await?;
    let taken: Vec<_> = standing.iter().map(|one| (one.planned_start, one.planned_end)).collect();
    let length = slot.end - slot.start;
    let free = next_free(&taken, slot.start, length);
    let Some(first) = standing.iter().find(|one| one.planned_start < slot.end) else {
        // It was taken back between the refusal and this look.
        return Ok(StoreError::conflict(
            "assignment-overlap",
            format!(
                "{} was planned for another job in that time just now; try again.",
                person.name
            ),
        ));
    };
    let words = |at| local_words(conn, shop_id, at);
    let says = format!(
        "{} is planned for job {} ({}) from {} to {}. The next free time for this one is from {}.",
        person.name,
        first.number,
        first.customer_name,
        words(first.planned_start).await?,
        words(first.planned_end).await?,
        words(free).await?,
    );
    let overlap = Overlap {
        job_id: first.job_id,
        number: first.number,
        planned_start: first.planned_start,
        planned_end: first.planned_end,
        free_start: free,
        free_end: free + length,
    };
    Ok(StoreError::Overlap { says, overlap: Box::new(overlap) })
}

/// "Thu 26 Nov 14:30", on the shop's wall clock.
pub(crate) async fn local_words<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    at: DateTime<Utc>,
) -> Result<String, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        words: String,
    }
    let row = Row::find_by_statement(sql(
        "SELECT to_char($2::timestamptz AT TIME ZONE zone, 'Dy FMDD Mon HH24:MI') AS words \
         FROM shop WHERE id = $1",
        [shop_id.into(), at.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    Ok(row.words)
}
