//! What a rule does when it fires.
//!
//! Belongs here: each action, through the noun that it concerns, and what came of it in words.
//! Does not belong here: whether it fires ([`super::look`]). No action touches a judgement, a
//! signature or an approval: they change who is asked, and how.
//!
//! Jobs and requests that an action may lock are locked before the first action, as every write
//! does: an entry on the record is behind all of them.

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::Span;
use roster::duty::Kind;
use roster::rules::{Action, Values};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::Serialize;
use serde_json::{Value, json};
use uuid::Uuid;

use super::now::OnDuty;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::holdover::{self, HoldoverNew, TellBy, Why};
use crate::person::person_find;
use crate::rota::{self, second};
use crate::{job, outbox, request};

/// Most requests that one firing tells somebody about.
const REQUESTS_MAX: i64 = 10;

/// Most rungs that one firing climbs for a request.
const RUNGS_MAX: usize = 8;

/// One firing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Firing<'a> {
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) rule_name: &'a str,
    pub(crate) values: &'a Values,
    pub(crate) now: DateTime<Utc>,
}

/// What came of an action.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Outcome {
    /// The action.
    r#do: &'static str,
    /// Whether anything was done.
    done: bool,
    /// In words.
    says: String,
}

/// What a firing that is only noted would have done.
pub(crate) fn none(actions: &[Action]) -> Vec<Outcome> {
    let noted = |action: &Action| {
        let says = format!("Only tried: would {}.", action.says());
        Outcome { r#do: action.id(), done: false, says }
    };
    actions.iter().map(noted).collect()
}

/// Carries the actions out in their order.
pub(crate) async fn all<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
    actions: &[Action],
) -> Result<Vec<Outcome>, StoreError> {
    lock(txn, firing, actions).await?;
    let mut outcomes = Vec::new();
    for action in actions {
        let (done, says) = match action {
            Action::CallOutNext {} => call_out_next(store, txn, firing).await?,
            Action::OpenSecondRota {} => open_second(store, txn, firing).await?,
            Action::DeferComfort { holdover, at_most } => {
                defer_comfort(store, txn, firing, holdover, *at_most).await?
            }
            Action::OfferRemoteRead {} => offer_remote_read(store, txn, firing).await?,
            Action::WidenReaders {} => widen_readers(store, txn, firing).await?,
            Action::DelegateApprovals { person_id, up_to_cents, hours } => {
                delegate(store, txn, firing, person_id.as_deref(), *up_to_cents, *hours).await?
            }
            Action::AskNeighbour { name, email, message } => {
                ask_neighbour(store, txn, firing, name, email, message).await?
            }
        };
        outcomes.push(Outcome { r#do: action.id(), done, says });
    }
    Ok(outcomes)
}

/// Locks what the actions may lock, jobs before requests, in the order of their ids.
async fn lock<C: ConnectionTrait>(
    txn: &C,
    firing: &Firing<'_>,
    actions: &[Action],
) -> Result<(), StoreError> {
    let on_jobs = |action: &Action| {
        matches!(
            action,
            Action::CallOutNext {} | Action::DeferComfort { .. } | Action::WidenReaders {}
        )
    };
    if !actions.iter().any(on_jobs) {
        return Ok(());
    }
    for text in [
        "SELECT 1 FROM job WHERE shop_id = $1 AND (state = 'open' OR EXISTS (SELECT FROM \
             condemn_request WHERE job_id = job.id AND condemn_request.state = 'ready')) \
         ORDER BY id FOR NO KEY UPDATE",
        "SELECT 1 FROM condemn_request WHERE shop_id = $1 AND state = 'ready' \
         ORDER BY id FOR NO KEY UPDATE",
    ] {
        txn.query_all_raw(sql(text, [firing.shop_id.into()])).await?;
    }
    Ok(())
}

async fn mail<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
    to: Value,
    template: &str,
    data: Value,
) -> Result<(), StoreError> {
    let mut payload = to;
    payload["template"] = json!(template);
    payload["data"] = data;
    outbox::put(txn, store, firing.shop_id, "mail", &payload, firing.now).await?;
    Ok(())
}

/// A job that waits.
#[derive(FromQueryResult)]
struct Waiting {
    id: Uuid,
    number: i32,
}

/// Jobs that nobody has and that are not put off, the most pressing first: of every class but
/// comfort, or of comfort alone.
async fn waiting<C: ConnectionTrait>(
    txn: &C,
    firing: &Firing<'_>,
    comfort: bool,
    limit: i64,
) -> Result<Vec<Waiting>, StoreError> {
    Ok(Waiting::find_by_statement(sql(
        "SELECT id, number FROM job WHERE shop_id = $1 AND state = 'open' \
             AND (urgency = 'comfort') = $2 \
             AND coalesce(job.not_before, '-infinity') <= $3 AND NOT EXISTS (SELECT FROM holdover \
                 WHERE holdover.job_id = job.id AND holdover.ended_at IS NULL) \
         ORDER BY array_position(ARRAY['no_heat_vulnerable', 'water', 'food_storage', \
             'no_heat_cool', 'comfort'], urgency), created_at, id LIMIT $4",
        [firing.shop_id.into(), comfort.into(), firing.now.into(), limit.into()],
    ))
    .all(txn)
    .await?)
}

async fn call_out_next<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
) -> Result<(bool, String), StoreError> {
    let on_duty = OnDuty::of(txn, firing.shop_id, firing.now).await?;
    let Some((person_id, name, until)) = on_duty.next_on_call() else {
        return Ok((false, "Nobody on call was left to call out.".to_owned()));
    };
    txn.execute_raw(sql(
        "INSERT INTO call_out (id, shop_id, person_id, firing_id, at, until) \
         VALUES ($1, $2, $3, $4, $5, $6)",
        [
            store.new_id().into(),
            firing.shop_id.into(),
            person_id.into(),
            firing.id.into(),
            firing.now.into(),
            until.into(),
        ],
    ))
    .await?;
    let job = waiting(txn, firing, false, 1).await?.into_iter().next();
    let data = json!({
        "rule_name": firing.rule_name,
        "waiting": firing.values.urgent_unassigned,
        "longest": roster::rules::rehearse::span(firing.values.longest_wait_min as f64),
        "job_id": job.as_ref().map(|job| job.id),
    });
    mail(store, txn, firing, json!({ "to_person": person_id }), "called_out", data).await?;
    if let Some(job) = &job {
        // The job's own ladder goes on at once, so that whoever comes out is asked for it.
        job::call_out(txn, store, firing.shop_id, job.id).await?;
    }
    let first = job.map(|job| format!(" First is job {}.", job.number)).unwrap_or_default();
    Ok((true, format!("{name} was called out.{first}")))
}

async fn open_second<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
) -> Result<(bool, String), StoreError> {
    if second::open_until(txn, firing.shop_id, firing.now).await?.is_some() {
        return Ok((false, "The second rota was open already.".to_owned()));
    }
    let ahead = firing.now + TimeDelta::days(second::OPEN_DAYS_MAX);
    let until = rota::spans(txn, firing.shop_id, firing.now, ahead)
        .await?
        .into_iter()
        .filter(|entry| entry.kind == Kind::Second && entry.span.holds(firing.now))
        .map(|entry| entry.span.end)
        .max();
    let Some(until) = until else {
        return Ok((false, "Nobody is on the second rota now.".to_owned()));
    };
    let span = Span::new(firing.now, until.min(ahead));
    let told = second::open(txn, store, firing.shop_id, span, firing.rule_name, None).await?.len();
    Ok((true, format!("The second rota was opened; {told} on it were told.")))
}

async fn defer_comfort<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
    note: &str,
    at_most: u32,
) -> Result<(bool, String), StoreError> {
    let jobs = waiting(txn, firing, true, i64::from(at_most)).await?;
    let (mut by_mail, mut to_call) = (0, Vec::new());
    for job in &jobs {
        let holdover = HoldoverNew { note: note.to_owned(), ..HoldoverNew::default() };
        let why = Why::Rule(firing.rule_name.to_owned());
        let put_off =
            holdover::defer(txn, store, firing.shop_id, job.id, None, holdover, why).await?;
        match put_off.told {
            TellBy::Mail => by_mail += 1,
            TellBy::Telephone => to_call.push(job.number.to_string()),
        }
    }
    if jobs.is_empty() {
        return Ok((false, "No comfort call was waiting.".to_owned()));
    }
    let calls = if jobs.len() == 1 { "call was" } else { "calls were" };
    let mut says = format!(
        "{} comfort {calls} put off to the next open day, {by_mail} told by mail.",
        jobs.len()
    );
    if !to_call.is_empty() {
        says += &format!(" Without mail, to be called: job {}.", to_call.join(", job "));
    }
    Ok((true, says))
}

/// A request that waits for a reader.
#[derive(FromQueryResult)]
struct Unread {
    id: Uuid,
    job_id: Uuid,
    job_number: i32,
    unit_label: String,
    requester: Uuid,
}

async fn unread<C: ConnectionTrait>(
    txn: &C,
    firing: &Firing<'_>,
) -> Result<Vec<Unread>, StoreError> {
    Ok(Unread::find_by_statement(sql(
        "SELECT request.id, request.job_id, job.number AS job_number, \
             unit.label AS unit_label, request.requester \
         FROM condemn_request AS request JOIN job ON job.id = request.job_id \
         JOIN unit ON unit.id = job.unit_id \
         WHERE request.shop_id = $1 AND request.state = 'ready' \
         ORDER BY request.changed_at, request.id LIMIT $2",
        [firing.shop_id.into(), REQUESTS_MAX.into()],
    ))
    .all(txn)
    .await?)
}

/// Tells whoever asked, and whoever is asked to read, that no second truck is wanted. The mail
/// says nothing of the claim: whoever reads it may yet read blind.
async fn offer_remote_read<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
) -> Result<(bool, String), StoreError> {
    #[derive(FromQueryResult)]
    struct Asked {
        person_id: Uuid,
    }
    let requests = unread(txn, firing).await?;
    let mut told = 0;
    for request in &requests {
        let asked = Asked::find_by_statement(sql(
            "SELECT person_id FROM reader_ask WHERE request_id = $1 AND answer IS NULL \
             ORDER BY asked_at, person_id",
            [request.id.into()],
        ))
        .all(txn)
        .await?;
        let people = asked.into_iter().map(|one| one.person_id).chain([request.requester]);
        for person_id in people {
            let data = json!({
                "job_id": request.job_id,
                "job_number": request.job_number,
                "unit_label": request.unit_label,
            });
            let to = json!({ "to_person": person_id });
            mail(store, txn, firing, to, "remote_read_offered", data).await?;
            told += 1;
        }
    }
    Ok(match requests.len() {
        0 => (false, "No second read was waiting.".to_owned()),
        count => (
            true,
            format!(
                "{told} people were told that {count} second reads can be read from where they are."
            ),
        ),
    })
}

async fn widen_readers<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
) -> Result<(bool, String), StoreError> {
    let mut reached = 0;
    for request in unread(txn, firing).await? {
        // Each widening is one more rung; a few reach everybody there is.
        for _ in 0..RUNGS_MAX {
            let more = request::widen(txn, store, firing.shop_id, request.id).await?;
            reached += more;
            if more == 0 {
                break;
            }
        }
    }
    Ok(match reached {
        0 => (false, "Everybody who may read had been asked already.".to_owned()),
        1 => (true, "One more person was asked to read.".to_owned()),
        more => (true, format!("{more} more people were asked to read.")),
    })
}

async fn delegate<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
    person_id: Option<&str>,
    up_to_cents: i64,
    hours: i64,
) -> Result<(bool, String), StoreError> {
    let named = person_id.and_then(|id| Uuid::parse_str(id).ok());
    let person = match named {
        Some(id) => person_find(txn, firing.shop_id, id).await.ok().filter(|person| person.active),
        None => None,
    };
    let Some(person) = person else {
        return Ok((false, "Whoever was named as delegate is no longer at work.".to_owned()));
    };
    let until = firing.now + TimeDelta::hours(hours);
    txn.execute_raw(sql(
        "INSERT INTO approval_delegate (id, shop_id, person_id, firing_id, up_to_cents, at, until) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
        [
            store.new_id().into(),
            firing.shop_id.into(),
            person.id.into(),
            firing.id.into(),
            up_to_cents.into(),
            firing.now.into(),
            until.into(),
        ],
    ))
    .await?;
    let amount = roster::rules::action::money(up_to_cents);
    let data =
        json!({ "amount": amount, "hours": hours, "waiting": firing.values.approvals_waiting });
    let to = json!({ "to_person": person.id });
    mail(store, txn, firing, to, "approval_delegated", data).await?;
    Ok((true, format!("{} may approve below {amount} for {hours} h.", person.name)))
}

async fn ask_neighbour<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    firing: &Firing<'_>,
    name: &str,
    email: &str,
    message: &str,
) -> Result<(bool, String), StoreError> {
    let data = json!({ "name": name.trim(), "message": message.trim() });
    let to = json!({ "to_email": email.trim() });
    mail(store, txn, firing, to, "neighbour_asked", data).await?;
    Ok((true, format!("{} was asked by mail.", name.trim())))
}
