//! The ladder of an urgent job that nobody has.
//!
//! Belongs here: when one is wanted, starting and stopping it, what each step says to whom, and
//! saying no to it. Does not belong here: which steps there are ([`crate::ladder::setting`]) and
//! whom one reaches (the roster's).

use chrono::{DateTime, TimeDelta, Utc};
use roster::ladder::{Kind, Variant};
use roster::queue::Urgency as Class;
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Job, job_find};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::ladder::people::Staff;
use crate::ladder::setting::Setting;
use crate::ladder::{self, Climb, Due, Fired, Step, Subject, climb_from};
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::request::After;
use crate::text::Faults;
use crate::{holdover, live_feed, outbox};

/// Fewest characters of a reason to say no; a shorter one is refused.
const REASON_CHARS_MIN: usize = 5;

/// Longest such reason.
const REASON_CHARS_MAX: usize = 500;

/// A job as its ladder sees it.
#[derive(Debug, FromQueryResult)]
struct Row {
    id: Uuid,
    number: i32,
    urgency: String,
    state: String,
    /// What whoever goes must be qualified for.
    required: Vec<String>,
    unit_label: String,
    deferred: bool,
    /// Nobody need go before.
    not_before: Option<DateTime<Utc>>,
    /// From when the ladder that stands counts its delays.
    ladder_from: Option<DateTime<Utc>>,
    ladder_id: Option<Uuid>,
    /// How urgent it was when the ladder that stands was started.
    ladder_urgency: Option<String>,
}

impl Row {
    async fn find<C: ConnectionTrait>(
        conn: &C,
        shop_id: Uuid,
        job_id: Uuid,
    ) -> Result<Self, StoreError> {
        let found = Row::list(conn, shop_id, vec![job_id]).await?;
        found.into_iter().next().ok_or(StoreError::NotFound { what: "job" })
    }

    async fn list<C: ConnectionTrait>(
        conn: &C,
        shop_id: Uuid,
        job_ids: Vec<Uuid>,
    ) -> Result<Vec<Self>, StoreError> {
        Ok(Row::find_by_statement(sql(
            "SELECT job.id, job.number, job.urgency, job.state, job.required, \
                 unit.label AS unit_label, \
                 EXISTS (SELECT FROM holdover WHERE holdover.job_id = job.id \
                     AND holdover.ended_at IS NULL) AS deferred, \
                 job.not_before, (SELECT planned_at - make_interval( \
                         mins => coalesce((spec ->> 'after_min')::int, 0)) FROM ladder_step \
                     WHERE ladder_id = ladder.id ORDER BY rung LIMIT 1) AS ladder_from, \
                 ladder.id AS ladder_id, ladder.urgency AS ladder_urgency \
             FROM job JOIN unit ON unit.id = job.unit_id \
             LEFT JOIN ladder ON ladder.kind = 'urgent_job' AND ladder.subject_id = job.id \
                 AND ladder.stopped_at IS NULL \
             WHERE job.shop_id = $1 AND job.id = ANY($2)",
            [shop_id.into(), job_ids.into()],
        ))
        .all(conn)
        .await?)
    }

    /// From when its ladder counts: now, or so long before anybody need go that its last step falls
    /// due then. Asking for somebody earlier asks people who know nothing yet of that day.
    fn from(&self, setting: &Setting, now: DateTime<Utc>) -> DateTime<Utc> {
        let Some(not_before) = self.not_before else { return now };
        let steps = setting.ladders.of(Kind::UrgentJob).on(setting.variant_at(not_before));
        let lead_min = steps.iter().map(|step| step.after_min).max().unwrap_or(0);
        now.max(not_before - TimeDelta::minutes(i64::from(lead_min)))
    }

    /// Whether a ladder that should count from `from` counts from another time, one of them ahead.
    fn moved(&self, from: DateTime<Utc>, now: DateTime<Utc>) -> bool {
        self.ladder_from.is_some_and(|counts| {
            (counts > now || from > now) && (counts - from).abs() >= TimeDelta::minutes(1)
        })
    }

    fn class(&self) -> Class {
        Class::from_id(&self.urgency).unwrap_or(Class::Comfort)
    }
}

/// Starts, restarts or stops the ladder of a job as its row now asks for, in the transaction of
/// the change; the job must be locked. A job that somebody has, that waits for a working day or
/// that can wait has none; one that nobody need go to yet has one that begins later. Gives what
/// belongs on the record.
pub(crate) async fn settle<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Vec<Entry>, StoreError> {
    let (now, kind) = (store.now(), Kind::UrgentJob);
    let job = Row::find(txn, shop_id, job_id).await?;
    let why = if job.state != "open" {
        Some(if job.state == "cancelled" { "the job is not needed" } else { "somebody has it" })
    } else if job.deferred {
        Some("it waits for a working day")
    } else {
        None
    };
    let closed = matches!(job.state.as_str(), "done" | "cancelled");
    if closed && holdover::close(txn, now, job_id).await? {
        stands_anew(txn, now, shop_id, job_id).await?;
    }
    if let Some(why) = why {
        if job.ladder_id.is_some() {
            ladder::stop(txn, now, kind, job_id, why).await?;
            stands_anew(txn, now, shop_id, job_id).await?;
        }
        return Ok(Vec::new());
    }
    let setting = ladder::setting::of_shop(txn, shop_id).await?;
    if !setting.ladders.urgent.contains(&job.class()) {
        if job.ladder_id.is_some() {
            ladder::stop(txn, now, kind, job_id, "it can wait now").await?;
            stands_anew(txn, now, shop_id, job_id).await?;
        }
        return Ok(Vec::new());
    }
    if job.ladder_id.is_some() {
        let before = job.ladder_urgency.as_deref().and_then(Class::from_id);
        let as_urgent = before.is_some_and(|before| before <= job.class());
        let moved = job.moved(job.from(&setting, now), now);
        if as_urgent && !moved {
            return Ok(Vec::new());
        }
        let why = if as_urgent { "its time was moved" } else { "it became more urgent" };
        ladder::stop(txn, now, kind, job_id, why).await?;
    }
    begin(store, txn, shop_id, job_id, &job).await
}

/// Tells open boards that something else stands on a job.
async fn stands_anew<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<(), StoreError> {
    live_feed::announce(txn, now, shop_id, "standing", job_id, json!({})).await
}

async fn begin<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    job_id: Uuid,
    job: &Row,
) -> Result<Vec<Entry>, StoreError> {
    let now = store.now();
    let staff = Staff::of(txn, now, shop_id).await?;
    let from = job.from(&staff.setting, now);
    let variant = staff.setting.variant_at(from);
    let subject = Subject { shop_id, kind: Kind::UrgentJob, subject_id: job_id };
    let Some(lowest) = ladder::start(store, txn, subject, &staff.setting, variant, from).await?
    else {
        return Ok(Vec::new());
    };
    txn.execute_raw(sql(
        "UPDATE ladder SET urgency = $2 WHERE id = $1",
        [lowest.ladder_id.into(), job.urgency.clone().into()],
    ))
    .await?;
    stands_anew(txn, now, shop_id, job_id).await?;
    let mut entries = vec![entry(
        shop_id,
        job_id,
        "job_ladder_started",
        json!({
            "ladder": lowest.ladder_id,
            "urgency": job.urgency,
            "from": from,
            "weekend": variant == Variant::Weekend,
            "version": staff.setting.version,
        }),
    )];
    // The time went on while it was started.
    if lowest.due_at <= store.now() {
        entries.extend(fire(store, txn, shop_id, job, lowest, &staff).await?.1);
    }
    Ok(entries)
}

/// What a job's ladder climbs with.
fn climb_of(job: &Row, staff: &Staff, asked: &[AskedRow], ladder_id: Uuid) -> Climb {
    let before = asked.iter().filter(|one| one.ladder_id == ladder_id);
    let declined: Vec<Uuid> =
        before.clone().filter(|one| one.declined).map(|one| one.person_id).collect();
    Climb {
        kind: Kind::UrgentJob,
        subject_id: job.id,
        people: staff.takers(&job.required, &declined),
        asked: before.map(|one| one.person_id).collect(),
        never_quiet: staff.never_quiet(job.class()),
        first: None,
    }
}

/// Fires a step, and tells whom it reached.
async fn fire<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    job: &Row,
    step: Step,
    staff: &Staff,
) -> Result<(Vec<Fired>, Vec<Entry>), StoreError> {
    let kind = Kind::UrgentJob;
    let before = asked_on(txn, vec![step.ladder_id]).await?;
    let mut climb = climb_of(job, staff, &before, step.ladder_id);
    let all = climb_from(store, txn, step, &mut climb).await?;
    outbox::put_many(txn, store, shop_id, "mail", &mails(job, &all), store.now()).await?;
    ladder::announce_asked(store, txn, shop_id, job.id, kind, &all).await?;
    let entries = entries_of(shop_id, job.id, &all);
    Ok((all, entries))
}

fn entries_of(shop_id: Uuid, job_id: Uuid, all: &[Fired]) -> Vec<Entry> {
    all.iter()
        .map(|fired| {
            let kind = match fired.record_kind() {
                "ladder_held" => "job_ladder_held",
                _ => "job_ladder_fired",
            };
            entry(shop_id, job_id, kind, fired.body(Kind::UrgentJob))
        })
        .collect()
}

fn mails(job: &Row, all: &[Fired]) -> Vec<Value> {
    all.iter()
        .filter(|fired| fired.by_mail())
        .flat_map(|fired| {
            let asked = fired.fire.asked.iter().map(|person| (person, "job_wanted"));
            asked.chain(fired.fire.told.iter().map(|person| (person, "job_unassigned")))
        })
        .map(|(person, template)| mail(job, *person, template))
        .collect()
}

fn entry(shop_id: Uuid, job_id: Uuid, kind: &'static str, body: Value) -> Entry {
    Entry { shop_id, actor: None, kind, subject_kind: "job", subject_id: job_id, body }
}

fn mail(job: &Row, to_person: Uuid, template: &str) -> Value {
    json!({
        "to_person": to_person,
        "template": template,
        "data": {
            "job_id": job.id,
            "job_number": job.number,
            "unit_label": job.unit_label,
            "urgency": job.class().words(),
        },
    })
}

/// Somebody who was asked on a ladder.
#[derive(FromQueryResult)]
struct AskedRow {
    ladder_id: Uuid,
    person_id: Uuid,
    declined: bool,
}

async fn asked_on<C: ConnectionTrait>(
    conn: &C,
    ladder_ids: Vec<Uuid>,
) -> Result<Vec<AskedRow>, StoreError> {
    Ok(AskedRow::find_by_statement(sql(
        "SELECT ladder_id, person_id, bool_or(declined_at IS NOT NULL) AS declined \
         FROM ladder_told WHERE ladder_id = ANY($1) AND asked GROUP BY ladder_id, person_id",
        [ladder_ids.into()],
    ))
    .all(conn)
    .await?)
}

/// Fires what has fallen due on jobs of one shop, one step of each, with few queries however many
/// there are; says how many.
///
/// # Errors
/// When the database fails.
pub(crate) async fn climb(
    store: &Store,
    txn: &DatabaseTransaction,
    due: &[&Due],
    staff: &mut Staff,
    after: &mut After,
) -> Result<usize, StoreError> {
    #[derive(FromQueryResult)]
    struct Locked {
        id: Uuid,
    }
    let Some(shop_id) = due.first().map(|due| due.shop_id) else { return Ok(0) };
    let wanted: Vec<Uuid> = due.iter().map(|due| due.subject_id).collect();
    // Who is at work on one keeps it; the next look finds it settled, or still due.
    let locked = Locked::find_by_statement(sql(
        "SELECT id FROM job WHERE id = ANY($1) ORDER BY id FOR NO KEY UPDATE SKIP LOCKED",
        [wanted.into()],
    ))
    .all(txn)
    .await?;
    let now = store.now();
    let jobs = Row::list(txn, shop_id, locked.into_iter().map(|row| row.id).collect()).await?;
    let ladder_ids: Vec<Uuid> = jobs.iter().filter_map(|job| job.ladder_id).collect();
    let steps = Step::find_by_statement(sql(
        "SELECT * FROM ladder_step WHERE ladder_id = ANY($1) AND fired_at IS NULL \
         AND skipped_at IS NULL ORDER BY ladder_id, rung FOR UPDATE SKIP LOCKED",
        [ladder_ids.clone().into()],
    ))
    .all(txn)
    .await?;
    let asked = asked_on(txn, ladder_ids).await?;
    let (mut decided, mut letters, mut fired) = (Vec::new(), Vec::new(), 0);
    for job in jobs {
        let Some(ladder_id) = job.ladder_id else { continue };
        let open: Vec<Step> =
            steps.iter().filter(|step| step.ladder_id == ladder_id).cloned().collect();
        let next = open.iter().filter(|step| step.due_at <= now);
        let Some(step) = next.min_by_key(|step| (step.due_at, step.rung)).cloned() else {
            continue;
        };
        fired += 1;
        if job.state != "open" || job.deferred {
            // Every change that ends the want stops the ladder with it.
            ladder::stop(txn, now, Kind::UrgentJob, job.id, "nobody is wanted").await?;
            after.job(shop_id, job.id, Vec::new());
            continue;
        }
        let mut climb = climb_of(&job, staff, &asked, ladder_id);
        let one = ladder::decide(step, &open, &mut climb, now);
        // The asking goes round within one transaction too.
        staff.count_asked(&one.fired);
        letters.extend(mails(&job, &one.fired));
        after.job(shop_id, job.id, entries_of(shop_id, job.id, &one.fired));
        after.tell(shop_id, ladder::news_of_asked(job.id, Kind::UrgentJob, &one.fired));
        decided.push(one);
    }
    ladder::keep(txn, now, &decided).await?;
    outbox::put_many(txn, store, shop_id, "mail", &letters, now).await?;
    Ok(fired)
}

async fn keep<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    job_id: Uuid,
    entries: Vec<Entry>,
) -> Result<(), StoreError> {
    if !entries.is_empty() {
        record::append_many(txn, now, shop_id, entries).await?;
    }
    live_feed::announce_all(
        txn,
        now,
        shop_id,
        vec![("job", job_id, json!({})), ("standing", job_id, json!({}))],
    )
    .await
}

/// Asks the next now, whatever the delays, starting a ladder where none stands: for a shop's
/// rule that calls somebody out. Says how many were reached; none where the job is had, closed
/// or deferred. The caller's transaction goes on.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn call_out<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<usize, StoreError> {
    crate::request::lock_job(txn, shop_id, job_id).await?;
    let (now, kind) = (store.now(), Kind::UrgentJob);
    let job = Row::find(txn, shop_id, job_id).await?;
    if job.state != "open" || job.deferred {
        return Ok(0);
    }
    let mut entries = Vec::new();
    if job.ladder_id.is_none() {
        entries.extend(begin(store, txn, shop_id, job_id, &job).await?);
    }
    let mut reached = 0;
    if let Some(step) = ladder::bring_forward(txn, now, kind, job_id).await? {
        let staff = Staff::of(txn, now, shop_id).await?;
        let (all, more) = fire(store, txn, shop_id, &job, step, &staff).await?;
        reached = ladder::reached(&all).len();
        entries.extend(more);
    }
    keep(txn, now, shop_id, job_id, entries).await?;
    Ok(reached)
}

/// Says no to an urgent job. When nobody who was asked is left to answer, the next are asked at
/// once.
///
/// # Errors
/// `NotFound`, `Conflict` for whoever is not asked or has answered, `InvalidMany`.
pub async fn job_decline(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    reason: &str,
) -> Result<Job, StoreError> {
    let mut faults = Faults::default();
    let reason = faults.text_or_empty("/reason", reason, REASON_CHARS_MAX);
    if reason.chars().count() < REASON_CHARS_MIN {
        let says = format!("Say why, in {REASON_CHARS_MIN} characters or more: \"ill today\".");
        faults.add("/reason", says);
    }
    faults.done()?;
    let txn = store.begin().await?;
    crate::request::lock_job(&txn, caller.shop_id, job_id).await?;
    let (now, kind, shop_id) = (store.now(), Kind::UrgentJob, caller.shop_id);
    let job = Row::find(&txn, shop_id, job_id).await?;
    let declined = txn
        .execute_raw(sql(
            "UPDATE ladder_told SET declined_at = $3, reason = $4 \
             WHERE ladder_id = $1 AND person_id = $2 AND asked AND declined_at IS NULL",
            [job.ladder_id.into(), caller.person_id.into(), now.into(), reason.clone().into()],
        ))
        .await?;
    if job.ladder_id.is_none() || declined.rows_affected() == 0 {
        return Err(StoreError::conflict(
            "not-asked",
            "You are not asked to take this job, or have answered already.",
        ));
    }
    let mut said = entry(shop_id, job_id, "job_declined", json!({ "reason": reason }));
    said.actor = Some(caller.person_id);
    let mut entries = vec![said];
    let waiting = match job.ladder_id {
        Some(id) => asked_on(&txn, vec![id]).await?.iter().any(|one| !one.declined),
        None => false,
    };
    if !waiting && let Some(step) = ladder::bring_forward(&txn, now, kind, job_id).await? {
        let staff = Staff::of(&txn, now, shop_id).await?;
        entries.extend(fire(store, &txn, shop_id, &job, step, &staff).await?.1);
    }
    keep(&txn, now, shop_id, job_id, entries).await?;
    txn.commit().await?;
    job_find(store.conn(), shop_id, job_id).await
}
