//! Holdovers: a job that waits for a working day, since its site was made safe.
//!
//! Belongs here: deferring, taking back, finding, and coming back on the morning. Does not
//! belong here: what must be true before (the roster's [`roster::holdover`]), and the customer's
//! link ([`worse`]).

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use roster::holdover::{Check, Measure, checks, needs_manager};
use roster::ladder::quiet::zone_of;
use roster::queue::Urgency;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::{Faults, sha256_hex};
use crate::{job, live_feed, outbox, request};

mod back;
mod open_day;
mod words;
pub mod worse;

pub use back::{return_due, take_back};

/// Longest note or reason, characters.
const NOTE_CHARS_MAX: usize = 1_000;

/// Shortest reason of a manager, characters.
const REASON_CHARS_MIN: usize = 5;

/// Furthest that a job can be deferred, days; what can wait longer is planned instead.
pub const DAYS_MAX: i64 = 21;

/// What was done to make the site safe.
#[derive(Clone, Debug, Default)]
pub struct HoldoverNew {
    /// Measures.
    pub measures: Vec<Measure>,
    /// Which questions were answered with yes.
    pub checked: Vec<String>,
    /// Anything more, told to the customer.
    pub note: String,
}

/// Why a job is deferred, and by whom.
#[derive(Clone, Debug)]
pub enum Why {
    /// A shop's rule fired; in its words.
    Rule(String),
    /// Somebody decided it.
    Person {
        /// Who.
        id: Uuid,
        /// Whether they manage, which the two most urgent classes ask for.
        manages: bool,
        /// Their reason.
        reason: String,
    },
}

/// How the customer learns of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TellBy {
    /// A mail is on its way.
    Mail,
    /// There is no address; somebody reads it out on the telephone.
    Telephone,
}

impl TellBy {
    /// As stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            TellBy::Mail => "mail",
            TellBy::Telephone => "telephone",
        }
    }
}

/// A job that was just deferred.
#[derive(Clone, Debug)]
pub struct Deferred {
    /// The holdover.
    pub id: Uuid,
    /// Until when.
    pub until: DateTime<Utc>,
    /// How the customer is told.
    pub told: TellBy,
    /// What to read out to a customer who has no mail.
    pub read_out: String,
}

/// A holdover as kept.
#[derive(Clone, Debug)]
pub struct Holdover {
    /// Its id.
    pub id: Uuid,
    /// Measures.
    pub measures: Vec<Measure>,
    /// Anything more.
    pub note: String,
    /// Until when.
    pub until: DateTime<Utc>,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// By whom; a rule where absent.
    pub made_by: Option<Named>,
    /// Why.
    pub why: String,
    /// mail or telephone.
    pub told: String,
    /// When it ended.
    pub ended_at: Option<DateTime<Utc>>,
    /// returned, worse, taken_back, closed or deferred_again.
    pub ended_why: Option<String>,
    /// What to read out on the telephone.
    pub read_out: String,
}

/// A job as deferring it sees it.
#[derive(Debug, FromQueryResult)]
struct JobRow {
    number: i32,
    urgency: String,
    state: String,
    unit_label: String,
    zone: String,
    email: Option<String>,
    shop_phone: Option<String>,
    shop_name: String,
}

impl JobRow {
    async fn find<C: ConnectionTrait>(
        conn: &C,
        shop_id: Uuid,
        job_id: Uuid,
    ) -> Result<Self, StoreError> {
        JobRow::find_by_statement(sql(
            "SELECT job.number, job.urgency, job.state, unit.label AS unit_label, site.zone, \
                 nullif(customer.email, '') AS email, shop.phone AS shop_phone, \
                 shop.name AS shop_name \
             FROM job JOIN unit ON unit.id = job.unit_id JOIN site ON site.id = unit.site_id \
             JOIN customer ON customer.id = site.customer_id JOIN shop ON shop.id = job.shop_id \
             WHERE job.shop_id = $1 AND job.id = $2",
            [shop_id.into(), job_id.into()],
        ))
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "job" })
    }

    fn class(&self) -> Urgency {
        Urgency::from_id(&self.urgency).unwrap_or(Urgency::Comfort)
    }

    fn zone(&self) -> Tz {
        zone_of(&self.zone).unwrap_or(Tz::UTC)
    }
}

/// Defers a job until a working day: the next on which the shop is open where `until` is absent.
/// The customer is told in the same transaction, the job's ladder stops, and a time that was
/// promised or planned before then is taken back.
///
/// # Errors
/// `NotFound`; `Conflict` for a closed job; `Forbidden` for the two most urgent classes without
/// a manager; `InvalidMany` for questions that are not answered, no measure, a time that is
/// past or too far; or the database fails.
pub async fn defer<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    job_id: Uuid,
    until: Option<DateTime<Utc>>,
    holdover: HoldoverNew,
    why: Why,
) -> Result<Deferred, StoreError> {
    request::lock_job(txn, shop_id, job_id).await?;
    let job = JobRow::find(txn, shop_id, job_id).await?;
    if matches!(job.state.as_str(), "done" | "cancelled") {
        return Err(StoreError::conflict(
            "job-closed",
            format!("This job is {}; there is nothing left to defer.", job.state),
        ));
    }
    let now = store.now();
    let until = match until {
        Some(until) => until,
        None => open_day::next(txn, shop_id, now).await?,
    };
    let (note, why_words, made_by) = sound(&job, now, until, &holdover, &why)?;
    let (id, token) = (store.new_id(), store.ambient().generator.token());
    let told = if job.email.is_some() { TellBy::Mail } else { TellBy::Telephone };
    end(txn, now, job_id, "deferred_again").await?;
    let measures: Vec<String> =
        holdover.measures.iter().map(|measure| measure.id().to_owned()).collect();
    txn.execute_raw(sql(
        "INSERT INTO holdover (id, shop_id, job_id, measures, checked, note, until, made_at, \
             made_by, why, urgency, told, token_hash, link_until) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $7)",
        [
            id.into(),
            shop_id.into(),
            job_id.into(),
            measures.clone().into(),
            holdover.checked.clone().into(),
            note.clone().into(),
            until.into(),
            now.into(),
            made_by.into(),
            why_words.clone().into(),
            job.urgency.clone().into(),
            told.id().into(),
            sha256_hex(&token).into(),
        ],
    ))
    .await?;
    take_times_back(txn, now, job_id, until).await?;
    let words = words::Words {
        shop_name: &job.shop_name,
        shop_phone: job.shop_phone.as_deref(),
        number: job.number,
        unit_label: &job.unit_label,
        until: words::at(until, job.zone()),
        measures: &holdover.measures,
        note: &note,
    };
    if let Some(to_email) = &job.email {
        let payload = json!({
            "to_email": to_email,
            "template": "holdover_told",
            "data": words.data(&token),
        });
        outbox::put(txn, store, shop_id, "mail", &payload, now).await?;
    }
    let read_out = words.read_out();
    let ladder = job::settle(store, txn, shop_id, job_id).await?;
    // The note is told to the customer and may speak of them; the record cannot forget.
    let body = json!({
        "holdover": id,
        "until": until,
        "measures": measures,
        "checked": holdover.checked,
        "why": why_words,
        "by_rule": made_by.is_none(),
        "told": told.id(),
    });
    append(txn, now, shop_id, job_id, made_by, "job_deferred", body).await?;
    for entry in ladder {
        record::append(txn, now, entry).await?;
    }
    announce(txn, now, shop_id, job_id).await?;
    Ok(Deferred { id, until, told, read_out })
}

/// Defers a job for a caller: whoever gives out work, or the technician who has it.
///
/// # Errors
/// As [`defer`]; `Forbidden` for others; `Conflict` where the job changed meanwhile.
pub async fn job_defer(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    version: i32,
    until: Option<DateTime<Utc>>,
    holdover: HoldoverNew,
    reason: String,
) -> Result<Deferred, StoreError> {
    let txn = store.begin().await?;
    request::lock_job(&txn, caller.shop_id, job_id).await?;
    let before = job::job_find(&txn, caller.shop_id, job_id).await?;
    let own = before.assigned_to.as_ref().is_some_and(|(id, _)| *id == caller.person_id);
    if !own {
        caller.must_schedule("defer a job that is not their own")?;
    }
    if before.version != version {
        return Err(StoreError::changed_meanwhile("job", before.version));
    }
    let why = Why::Person { id: caller.person_id, manages: caller.manages(), reason };
    let deferred = defer(&txn, store, caller.shop_id, job_id, until, holdover, why).await?;
    txn.commit().await?;
    Ok(deferred)
}

/// What must hold before a job is deferred. Gives the note, the reason, and who it is by.
fn sound(
    job: &JobRow,
    now: DateTime<Utc>,
    until: DateTime<Utc>,
    holdover: &HoldoverNew,
    why: &Why,
) -> Result<(String, String, Option<Uuid>), StoreError> {
    let class = job.class();
    let mut faults = Faults::default();
    let (words, made_by) = match why {
        Why::Rule(_) if needs_manager(class) => return Err(manager_needed(class)),
        Why::Person { manages: false, .. } if needs_manager(class) => {
            return Err(manager_needed(class));
        }
        Why::Rule(words) => (words.clone(), None),
        Why::Person { id, reason, .. } => (reason.trim().to_owned(), Some(*id)),
    };
    let note = faults.text_or_empty("/note", &holdover.note, NOTE_CHARS_MAX);
    let words = faults.text_or_empty("/reason", &words, NOTE_CHARS_MAX);
    if needs_manager(class) && words.chars().count() < REASON_CHARS_MIN {
        let says = format!(
            "This job is {}: say why it can wait, in {REASON_CHARS_MIN} characters or more.",
            class.words()
        );
        faults.add("/reason", says);
    }
    if until <= now {
        faults.add("/until", "This time is past; choose a later one, or leave it out.");
    } else if until - now > TimeDelta::days(DAYS_MAX) {
        let says = format!(
            "A job can be deferred for {DAYS_MAX} days at most; plan it instead when it can wait \
             longer."
        );
        faults.add("/until", says);
    }
    if class != Urgency::Comfort && holdover.measures.is_empty() && note.is_empty() {
        faults.add(
            "/measures",
            "Say what makes the site safe until then: choose a measure, or write it down.",
        );
    }
    for (index, measure) in holdover.measures.iter().enumerate() {
        if holdover.measures.iter().take(index).any(|earlier| earlier == measure) {
            faults.add(&format!("/measures/{index}"), "This measure is named already.");
        }
    }
    // A rule asks nobody; what it may defer has no questions unless something was left there.
    for check in checks(class, &holdover.measures) {
        if !holdover.checked.iter().any(|id| id == check.id) {
            faults.add(
                "/checked",
                format!("Not answered with yes: \"{}\" ({}).", check.asks, check.id),
            );
        }
    }
    faults.done()?;
    let words = if words.is_empty() { "It can wait.".to_owned() } else { words };
    Ok((note, words, made_by))
}

fn manager_needed(class: Urgency) -> StoreError {
    StoreError::forbidden(format!(
        "This job is {}: only a service manager or the owner may let it wait, and says why.",
        class.words()
    ))
}

/// Ends the holdover that stands for a job, if one does; says whether one stood.
async fn end<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    job_id: Uuid,
    why: &str,
) -> Result<bool, StoreError> {
    let ended = txn
        .execute_raw(sql(
            "UPDATE holdover SET ended_at = $2, ended_why = $3 \
             WHERE job_id = $1 AND ended_at IS NULL",
            [job_id.into(), now.into(), why.into()],
        ))
        .await?;
    Ok(ended.rows_affected() > 0)
}

/// Ends the holdover of a job that is closed, with the change that closes it; says whether one
/// stood.
pub(crate) async fn close<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    job_id: Uuid,
) -> Result<bool, StoreError> {
    end(txn, now, job_id, "closed").await
}

/// Tells open pages that a job, and what stands on it, is not as it was.
async fn announce<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<(), StoreError> {
    let news = ["job", "standing"].map(|topic| (topic, job_id, json!({})));
    live_feed::announce_all(txn, now, shop_id, news.to_vec()).await
}

/// Takes back what was promised or planned before the deferral ends; whoever had the job keeps
/// it, without a time. Who was on site leaves.
async fn take_times_back<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    job_id: Uuid,
    until: DateTime<Utc>,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE job SET window_start = CASE WHEN window_start >= $2 THEN window_start END, \
             window_end = CASE WHEN window_start >= $2 THEN window_end END, \
             state = CASE WHEN state = 'on_site' THEN 'waiting' ELSE state END, \
             not_before = $2, version = version + 1, changed_at = $3 WHERE id = $1",
        [job_id.into(), until.into(), now.into()],
    ))
    .await?;
    txn.execute_raw(sql(
        "UPDATE assignment SET planned = NULL WHERE job_id = $1 AND ended_at IS NULL \
         AND lower(planned) < $2",
        [job_id.into(), until.into()],
    ))
    .await?;
    Ok(())
}

async fn append<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    job_id: Uuid,
    actor: Option<Uuid>,
    kind: &'static str,
    body: serde_json::Value,
) -> Result<(), StoreError> {
    let entry = Entry { shop_id, actor, kind, subject_kind: "job", subject_id: job_id, body };
    record::append(txn, now, entry).await.map(drop)
}

/// What is asked before a job is deferred.
#[derive(Clone, Debug)]
pub struct Asks {
    /// Questions for its class whatever is done.
    pub checks: Vec<Check>,
    /// Whether only a manager may.
    pub needs_manager: bool,
    /// When the shop opens next.
    pub next_open: DateTime<Utc>,
    /// Whether the customer has an address for mail.
    pub customer_has_mail: bool,
}

/// What is asked before a job is deferred.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn asks(store: &Store, caller: &Caller, job_id: Uuid) -> Result<Asks, StoreError> {
    let conn = store.conn();
    let job = JobRow::find(conn, caller.shop_id, job_id).await?;
    Ok(Asks {
        checks: checks(job.class(), &[]),
        needs_manager: needs_manager(job.class()),
        next_open: open_day::next(conn, caller.shop_id, store.now()).await?,
        customer_has_mail: job.email.is_some(),
    })
}

/// A job's latest holdover, standing or ended.
///
/// # Errors
/// `NotFound` for an unknown job, or the database fails.
pub async fn of_job<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Option<Holdover>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        measures: Vec<String>,
        note: String,
        until: DateTime<Utc>,
        made_at: DateTime<Utc>,
        made_by: Option<Uuid>,
        made_by_name: Option<String>,
        why: String,
        told: String,
        ended_at: Option<DateTime<Utc>>,
        ended_why: Option<String>,
    }
    let row = Row::find_by_statement(sql(
        "SELECT holdover.*, person.name AS made_by_name FROM holdover \
         LEFT JOIN person ON person.id = holdover.made_by \
         WHERE holdover.shop_id = $1 AND job_id = $2 ORDER BY made_at DESC, holdover.id DESC \
         LIMIT 1",
        [shop_id.into(), job_id.into()],
    ))
    .one(conn)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let job = JobRow::find(conn, shop_id, job_id).await?;
    let measures: Vec<Measure> =
        row.measures.iter().filter_map(|measure| Measure::from_id(measure)).collect();
    let words = words::Words {
        shop_name: &job.shop_name,
        shop_phone: job.shop_phone.as_deref(),
        number: job.number,
        unit_label: &job.unit_label,
        until: words::at(row.until, job.zone()),
        measures: &measures,
        note: &row.note,
    };
    let read_out = words.read_out();
    Ok(Some(Holdover {
        id: row.id,
        note: row.note,
        until: row.until,
        made_at: row.made_at,
        made_by: row.made_by.zip(row.made_by_name).map(|(id, name)| Named { id, name }),
        why: row.why,
        told: row.told,
        ended_at: row.ended_at,
        ended_why: row.ended_why,
        measures,
        read_out,
    }))
}
