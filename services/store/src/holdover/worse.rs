//! "It got worse": the customer's link.
//!
//! Belongs here: what a link shows and what an answer does. Does not belong here: tries per
//! network address, which are HTTP's, and the class that answers make (the roster's).
//!
//! Whoever holds the link sees the job's number, the shop's name and telephone, and nothing
//! else. The link ends when the deferral does; an answer counts once, however often it is sent.

use chrono::{DateTime, Utc};
use roster::holdover::{Worse, worse};
use roster::ladder::quiet::zone_of;
use roster::queue::Urgency;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{announce, append, words};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::text::{Faults, sha256_hex};
use crate::{job, live_feed, outbox, record, request};

/// Longest words of a customer, characters.
const SAYS_CHARS_MAX: usize = 500;

/// What a link shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// The shop's name.
    pub shop_name: String,
    /// Its telephone.
    pub shop_phone: Option<String>,
    /// The job's number.
    pub job_number: i32,
    /// When somebody comes at the earliest, by the clock at the site.
    pub until: String,
    /// How it stands.
    pub standing: Standing,
}

/// How a link stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It can be answered.
    Open,
    /// It was answered; the shop knows.
    Told,
    /// The job is back on the shop's list, or done.
    Over,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    shop_id: Uuid,
    job_id: Uuid,
    shop_name: String,
    shop_phone: Option<String>,
    job_number: i32,
    unit_label: String,
    zone: String,
    until: DateTime<Utc>,
    link_until: DateTime<Utc>,
    ended_why: Option<String>,
    urgency: String,
    assigned_to: Option<Uuid>,
}

async fn find<C: ConnectionTrait>(conn: &C, token: &str) -> Result<Row, StoreError> {
    Row::find_by_statement(sql(
        "SELECT holdover.id, holdover.shop_id, holdover.job_id, shop.name AS shop_name, \
             shop.phone AS shop_phone, job.number AS job_number, unit.label AS unit_label, \
             site.zone, holdover.until, holdover.link_until, holdover.ended_why, job.urgency, \
             job.assigned_to \
         FROM holdover JOIN shop ON shop.id = holdover.shop_id JOIN job ON job.id = holdover.job_id \
         JOIN unit ON unit.id = job.unit_id JOIN site ON site.id = unit.site_id \
         WHERE holdover.token_hash = $1",
        [sha256_hex(token.trim()).into()],
    ))
    .one(conn)
    .await?
    .ok_or_else(|| StoreError::NotSignedIn {
        says: "This link is not one of ours. Call the shop that sent it.".to_owned(),
    })
}

fn shown(row: &Row, now: DateTime<Utc>) -> Link {
    let standing = match row.ended_why.as_deref() {
        Some("worse") => Standing::Told,
        Some(_) => Standing::Over,
        None if row.link_until <= now => Standing::Over,
        None => Standing::Open,
    };
    Link {
        shop_name: row.shop_name.clone(),
        shop_phone: row.shop_phone.clone(),
        job_number: row.job_number,
        until: words::at(row.until, zone_of(&row.zone).unwrap_or(chrono_tz::Tz::UTC)),
        standing,
    }
}

/// What a link is about.
///
/// # Errors
/// `NotSignedIn` for a token that is none.
pub async fn look(store: &Store, token: &str) -> Result<Link, StoreError> {
    Ok(shown(&find(store.conn(), token).await?, store.now()))
}

/// Takes a customer's answer: the job is open again at the class that the answers make, the
/// deferral has ended, its ladder starts, and whoever gives out work and whoever had the job are
/// told. A repeat changes nothing and gets the same answer.
///
/// # Errors
/// `NotSignedIn` for a token that is none; `Conflict` where the job is back already; `Invalid`.
pub async fn answer(
    store: &Store,
    token: &str,
    answers: Worse,
    says: &str,
) -> Result<Link, StoreError> {
    let mut faults = Faults::default();
    let says = faults.text_or_empty("/says", says, SAYS_CHARS_MAX);
    faults.done()?;
    let found = find(store.conn(), token).await?;
    let txn = store.begin().await?;
    request::lock_job(&txn, found.shop_id, found.job_id).await?;
    let row = find(&txn, token).await?;
    let now = store.now();
    match shown(&row, now).standing {
        Standing::Told => return Ok(shown(&row, now)),
        Standing::Over => {
            let call = row.shop_phone.as_deref().unwrap_or("the shop");
            return Err(StoreError::conflict(
                "link-over",
                format!("Your job is back on the shop's list already. Call {call}."),
            ));
        }
        Standing::Open => {}
    }
    let before = Urgency::from_id(&row.urgency).unwrap_or(Urgency::Comfort);
    let class = worse(before, answers);
    let kept = json!({ "answers": answers, "says": says });
    txn.execute_raw(sql(
        "UPDATE holdover SET ended_at = $2, ended_why = 'worse', answers = $3 \
         WHERE id = $1 AND ended_at IS NULL",
        [row.id.into(), now.into(), kept.into()],
    ))
    .await?;
    txn.execute_raw(sql(
        "UPDATE assignment SET ended_at = $2 WHERE job_id = $1 AND ended_at IS NULL",
        [row.job_id.into(), now.into()],
    ))
    .await?;
    txn.execute_raw(sql(
        "UPDATE job SET state = 'open', assigned_to = NULL, urgency = $2, window_start = NULL, \
             window_end = NULL, not_before = NULL, version = version + 1, changed_at = $3 WHERE id = $1",
        [row.job_id.into(), class.id().into(), now.into()],
    ))
    .await?;
    let told = tell(store, &txn, &row, class).await?;
    let ladder = job::settle(store, &txn, row.shop_id, row.job_id).await?;
    let body = json!({
        "holdover": row.id,
        "answers": answers,
        "urgency_before": before.id(),
        "urgency": class.id(),
        "taken_from": row.assigned_to,
        "told": told,
    });
    append(&txn, now, row.shop_id, row.job_id, None, "job_worse", body).await?;
    for entry in ladder {
        record::append(&txn, now, entry).await?;
    }
    announce(&txn, now, row.shop_id, row.job_id).await?;
    let after = find(&txn, token).await?;
    txn.commit().await?;
    Ok(shown(&after, now))
}

/// Tells whoever gives out work, and whoever had the job. The managers where nobody is a
/// scheduler.
async fn tell<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    row: &Row,
    class: Urgency,
) -> Result<Vec<Uuid>, StoreError> {
    #[derive(FromQueryResult)]
    struct Person {
        id: Uuid,
    }
    let people = Person::find_by_statement(sql(
        "SELECT id FROM person WHERE shop_id = $1 AND active AND guest_link IS NULL \
         AND (id = $2 OR 'scheduler' = ANY (roles) OR (roles && ARRAY['service_manager', 'owner'] \
             AND NOT EXISTS (SELECT FROM person AS other WHERE other.shop_id = $1 \
                 AND other.active AND 'scheduler' = ANY (other.roles)))) \
         ORDER BY name, id",
        [row.shop_id.into(), row.assigned_to.into()],
    ))
    .all(txn)
    .await?;
    let mut told = Vec::new();
    for person in people {
        let payload = json!({
            "to_person": person.id,
            "template": "job_worse",
            "data": {
                "job_id": row.job_id,
                "job_number": row.job_number,
                "unit_label": row.unit_label,
                "urgency": class.words(),
            },
        });
        outbox::put(txn, store, row.shop_id, "mail", &payload, store.now()).await?;
        let body = json!({ "job_id": row.job_id, "kind": "worse" });
        live_feed::announce(txn, store.now(), row.shop_id, "asked", person.id, body).await?;
        told.push(person.id);
    }
    Ok(told)
}
