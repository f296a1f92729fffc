//! Adding to a job's evidence.
//!
//! Belongs here: readings, strikes and observations, each judged before it is kept, numbered
//! under the job's lock, followed by every open request's new judgement in one transaction.
//! Does not belong here: what the engine makes of them.

use engine::case::Reading;
use sea_orm::DatabaseTransaction;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Evidence, KeptReading, Shown, judge, of_job, shown_to};
use crate::db::{Store, sql};
use crate::error::{Fault, StoreError, by_constraint};
use crate::meter::{self, Meter};
use crate::person::{Caller, Role};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::thread::ask::{self, Asked, Filled};
use crate::{live_feed, request, thread};
use sea_orm::{ConnectionTrait as _, FromQueryResult};

/// Most readings a job may have, struck ones included; a further one is refused. A job that
/// has this many is not short of readings.
pub const READINGS_MAX: usize = 200;

/// Most observations a job may have; a further one is refused.
pub const OBSERVATIONS_MAX: usize = 400;

/// Longest reason of a strike, characters; a longer one is refused.
const REASON_CHARS_MAX: usize = 500;

/// Fewest characters of the reason of a strike; the strike is read months later.
const REASON_CHARS_MIN: usize = 5;

/// Adds a reading. Its `id` is ignored: the next label is given under the job's lock. A reading
/// that the engine refuses is not kept.
///
/// # Errors
/// `InvalidMany` with pointers under "/reading", `Forbidden`, `Conflict`, `NotFound`.
pub async fn reading_add(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    reading: Reading,
) -> Result<Shown, StoreError> {
    reading_add_with(store, caller, job_id, reading, None).await
}

/// Adds a reading taken with one of the shop's meters, whose record then says what it can tell.
///
/// # Errors
/// As [`reading_add`].
pub async fn reading_add_with(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    reading: Reading,
    meter_id: Option<Uuid>,
) -> Result<Shown, StoreError> {
    add(store, caller, job_id, (reading, meter_id), None).await
}

/// Adds the reading that an ask of the job's thread asks for, as its card was filled in. It is
/// a reading like any other; the thread says that it answers, and how the gate stands.
///
/// # Errors
/// As [`reading_add`]; and `Conflict` when somebody else answered first, `Forbidden` while the
/// caller owes a blind read on the job.
pub async fn ask_answer(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    message_id: Uuid,
    filled: Filled,
) -> Result<Shown, StoreError> {
    thread::must_see(store.conn(), caller, job_id).await?;
    let asked = ask::find(store.conn(), caller, job_id, message_id).await?;
    let meter_id = filled.meter_id;
    add(store, caller, job_id, (asked.reading(filled), meter_id), Some(&asked)).await
}

async fn add(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    (mut reading, meter_id): (Reading, Option<Uuid>),
    asked: Option<&Asked>,
) -> Result<Shown, StoreError> {
    must_be_technician(caller, "take readings")?;
    let txn = store.begin().await?;
    let used = match meter_id {
        Some(id) => Some(meter_of(&txn, caller, id).await?),
        None => None,
    };
    if let Some(meter) = &used {
        let zeroed = reading.meter.as_ref().and_then(|meter| meter.zeroed);
        reading.meter = Some(meter.for_reading(reading.quantity, zeroed)?);
    }
    let evidence = lock_open_job(&txn, caller, job_id).await?;
    if evidence.readings.len() >= READINGS_MAX {
        return Err(StoreError::conflict(
            "too-many-readings",
            format!("This job has {READINGS_MAX} readings, which is as many as it can have."),
        ));
    }
    let label = format!("r{}", evidence.readings.len() + 1);
    let reading = Reading { id: label.clone(), ..reading };
    // Only whether it can be judged is asked here.
    let mut case = evidence.case(None);
    let place = format!("/readings/{}", case.readings.len());
    case.readings.push(reading.clone());
    judge::run_given(case).await.map_err(|error| pointing_at(error, &place, "/reading"))?;

    let id = store.new_id();
    let now = store.now();
    let body = body_of(&reading)?;
    txn.execute_raw(sql(
        "INSERT INTO reading (id, shop_id, job_id, label, body, taken_by, taken_at, meter_id, \
             meter_due_on) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        [
            id.into(),
            caller.shop_id.into(),
            job_id.into(),
            label.clone().into(),
            body.clone().into(),
            caller.person_id.into(),
            now.into(),
            meter_id.into(),
            used.and_then(|meter| meter.due_on).into(),
        ],
    ))
    .await?;
    let what = json!({
        "reading_id": id, "label": label, "reading": body, "meter_id": meter_id,
    });
    let answer = asked.map(|asked| Answer { asked, reading_id: id, reading: &reading });
    changed(store, txn, caller, job_id, ("reading_taken", what), answer).await?;
    shown_to(store, caller, job_id).await
}

async fn meter_of(
    txn: &DatabaseTransaction,
    caller: &Caller,
    id: Uuid,
) -> Result<Meter, StoreError> {
    meter::find(txn, caller.shop_id, id).await.map_err(|error| match error {
        StoreError::NotFound { .. } => {
            StoreError::invalid("/reading/meter_id", "The shop has no such meter.")
        }
        other => other,
    })
}

/// Strikes a reading: it stays on the record and counts no more.
///
/// # Errors
/// `Forbidden` unless the caller took it, has the job, or manages; `Conflict` when it is
/// struck already; `NotFound`.
pub async fn reading_strike(
    store: &Store,
    caller: &Caller,
    reading_id: Uuid,
    reason: &str,
) -> Result<Shown, StoreError> {
    let mut faults = Faults::default();
    let reason = faults.text("/reason", reason, REASON_CHARS_MAX);
    if (1..REASON_CHARS_MIN).contains(&reason.chars().count()) {
        faults.add("/reason", format!("Say why in at least {REASON_CHARS_MIN} characters."));
    }
    faults.done()?;
    let job_id = job_of_reading(store, caller, reading_id).await?;
    let txn = store.begin().await?;
    let evidence = lock_open_job(&txn, caller, job_id).await?;
    let reading = evidence
        .readings
        .iter()
        .find(|kept| kept.id == reading_id)
        .ok_or(StoreError::NotFound { what: "reading" })?;
    may_strike(caller, &evidence, reading)?;
    let now = store.now();
    txn.execute_raw(sql(
        "INSERT INTO reading_strike (reading_id, shop_id, job_id, by, at, reason) \
         VALUES ($1, $2, $3, $4, $5, $6)",
        [
            reading_id.into(),
            caller.shop_id.into(),
            job_id.into(),
            caller.person_id.into(),
            now.into(),
            reason.clone().into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("reading_strike_pkey", &already_struck)]))?;
    let what = json!({ "reading_id": reading_id, "label": reading.label, "reason": reason });
    changed(store, txn, caller, job_id, ("reading_struck", what), None).await?;
    shown_to(store, caller, job_id).await
}

/// Adds an observation; the latest word on a sign is the one that counts.
///
/// # Errors
/// `InvalidMany` when the circuit knows no such sign, `Forbidden`, `Conflict`, `NotFound`.
pub async fn observation_add(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    sign: &str,
    present: bool,
) -> Result<Shown, StoreError> {
    must_be_technician(caller, "note what was found")?;
    let txn = store.begin().await?;
    let evidence = lock_open_job(&txn, caller, job_id).await?;
    if evidence.observations.len() >= OBSERVATIONS_MAX {
        return Err(StoreError::conflict(
            "too-many-observations",
            format!("This job has {OBSERVATIONS_MAX} answers, which is as many as it can have."),
        ));
    }
    let signs = &evidence.known.circuit.signs;
    if !signs.iter().any(|known| known.id == sign) {
        let known: Vec<&str> = signs.iter().map(|sign| sign.id.as_str()).collect();
        return Err(StoreError::invalid(
            "/sign",
            format!("This circuit knows no such sign; it knows {}.", known.join(", ")),
        ));
    }
    let label = format!("o{}", evidence.observations.len() + 1);
    let now = store.now();
    txn.execute_raw(sql(
        "INSERT INTO observation (id, shop_id, job_id, label, sign, present, by, at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        [
            store.new_id().into(),
            caller.shop_id.into(),
            job_id.into(),
            label.clone().into(),
            sign.into(),
            present.into(),
            caller.person_id.into(),
            now.into(),
        ],
    ))
    .await?;
    let what = json!({ "label": label, "sign": sign, "present": present });
    changed(store, txn, caller, job_id, ("observation_made", what), None).await?;
    shown_to(store, caller, job_id).await
}

fn must_be_technician(caller: &Caller, what: &str) -> Result<(), StoreError> {
    if caller.is(Role::Technician) {
        return Ok(());
    }
    Err(StoreError::forbidden(format!("Only a technician may {what}.")))
}

/// Locks the job's row, which every change of its evidence and every signature waits for, and
/// reads the evidence under the lock.
async fn lock_open_job(
    txn: &DatabaseTransaction,
    caller: &Caller,
    job_id: Uuid,
) -> Result<Evidence, StoreError> {
    request::lock_job(txn, caller.shop_id, job_id).await?;
    let evidence = of_job(txn, caller.shop_id, job_id).await?;
    if matches!(evidence.job_state.as_str(), "done" | "cancelled") {
        return Err(StoreError::conflict(
            "job-closed",
            format!("This job is {}; open it again to add to it.", evidence.job_state),
        ));
    }
    Ok(evidence)
}

fn may_strike(
    caller: &Caller,
    evidence: &Evidence,
    reading: &KeptReading,
) -> Result<(), StoreError> {
    let has_job = evidence.assigned_to == Some(caller.person_id);
    if reading.taken_by.id != caller.person_id && !has_job && !caller.manages() {
        return Err(StoreError::forbidden(
            "Only who took a reading, who has the job, or a manager may strike it.",
        ));
    }
    if reading.struck.is_some() { Err(already_struck()) } else { Ok(()) }
}

fn already_struck() -> StoreError {
    StoreError::conflict("already-struck", "This reading is struck already.")
}

async fn job_of_reading(
    store: &Store,
    caller: &Caller,
    reading_id: Uuid,
) -> Result<Uuid, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        job_id: Uuid,
    }
    let row = Row::find_by_statement(sql(
        "SELECT job_id FROM reading WHERE shop_id = $1 AND id = $2",
        [caller.shop_id.into(), reading_id.into()],
    ))
    .one(store.conn())
    .await?
    .ok_or(StoreError::NotFound { what: "reading" })?;
    Ok(row.job_id)
}

/// A reading that answers an ask.
struct Answer<'a> {
    asked: &'a Asked,
    reading_id: Uuid,
    reading: &'a Reading,
}

/// What follows every change: the requests' new judgement, the record, the feed, the commit.
async fn changed(
    store: &Store,
    txn: DatabaseTransaction,
    caller: &Caller,
    job_id: Uuid,
    (kind, body): (&'static str, Value),
    answer: Option<Answer<'_>>,
) -> Result<(), StoreError> {
    let now = store.now();
    txn.execute_raw(sql(
        "UPDATE job SET changed_at = $2 WHERE id = $1",
        [job_id.into(), now.into()],
    ))
    .await?;
    let mut announcements = request::rejudge_job(store, &txn, caller.shop_id, job_id).await?;
    if let Some(Answer { asked, reading_id, reading }) = answer {
        ask::answered(store, &txn, caller, job_id, asked, reading_id, reading).await?;
    }
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "job",
        subject_id: job_id,
        body,
    };
    record::append(&txn, now, entry).await?;
    announcements.record(&txn, now).await?;
    let topics = [("evidence", job_id), ("job", job_id)];
    for (topic, ref_id) in topics {
        live_feed::announce(&txn, now, caller.shop_id, topic, ref_id, json!({})).await?;
    }
    announcements.announce(&txn, now).await?;
    txn.commit().await?;
    Ok(())
}

/// A reading as stored: without its id, which is the label's column.
fn body_of(reading: &Reading) -> Result<Value, StoreError> {
    let mut body =
        serde_json::to_value(reading).map_err(|source| StoreError::corrupt("reading", source))?;
    if let Value::Object(fields) = &mut body {
        fields.remove("id");
    }
    Ok(body)
}

/// Points the engine's problems at the place in the request's body.
fn pointing_at(error: StoreError, place: &str, pointer: &str) -> StoreError {
    match error {
        StoreError::InvalidMany(faults) => StoreError::InvalidMany(
            faults
                .into_iter()
                .map(|fault| match fault.pointer.strip_prefix(place) {
                    Some(rest) if rest.is_empty() || rest.starts_with('/') => {
                        Fault::new(format!("{pointer}{rest}"), fault.says)
                    }
                    _ => fault,
                })
                .collect(),
        ),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn problems_point_into_the_body_that_was_sent() {
        let fault = |pointer: &str| Fault::new(pointer, "");
        let error = StoreError::InvalidMany(vec![fault("/readings/1/from"), fault("/readings/12")]);

        let StoreError::InvalidMany(faults) = pointing_at(error, "/readings/1", "/reading") else {
            panic!("another error")
        };

        assert_eq!(faults, [fault("/reading/from"), fault("/readings/12")]);
    }
}
