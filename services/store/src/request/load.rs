//! Reading condemn requests.
//!
//! Belongs here: the queries, and a request put together from its rows. Does not belong here:
//! what of it a caller may see.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use engine::gate;
use sea_orm::{ConnectionTrait, FromQueryResult, Value as DbValue};
use serde::Deserialize;
use serde_json::Value;
use uuid::Uuid;

use super::{Overridden, Request, person_id, person_ids};
use crate::approval::{self, Approval};
use crate::db::sql;
use crate::error::StoreError;
use crate::evidence::{Named, stored};
use crate::read::{self, BlindRead};
use crate::signature::{self, Countersignature};

/// Most requests in one list; older ones are left off.
pub const LIST_MAX: i64 = 200;

/// Which requests to list.
#[derive(Clone, Debug)]
pub enum Filter {
    /// One.
    One(Uuid),
    /// A job's, oldest first.
    OfJob(Uuid),
    /// The shop's in these states (every state when empty), latest change first.
    InStates(Vec<gate::State>),
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    shop_id: Uuid,
    job_id: Uuid,
    job_number: i32,
    unit_label: String,
    installed_on: Option<NaiveDate>,
    warranty_until: Option<NaiveDate>,
    requester: Uuid,
    requester_name: String,
    claim: Value,
    qualification: Option<String>,
    state: String,
    estimated_cost_cents: i64,
    note: String,
    circuit_name: String,
    circuit_text: String,
    rates: Option<Value>,
    digest: String,
    verdict: Value,
    isolated: bool,
    judged_revision: i64,
    judged_at: DateTime<Utc>,
    disagreement: bool,
    reader: Option<Uuid>,
    reader_name: Option<String>,
    override_by: Option<Uuid>,
    override_by_name: Option<String>,
    override_at: Option<DateTime<Utc>>,
    override_reason: Option<String>,
    override_digest: Option<String>,
    version: i32,
    created_at: DateTime<Utc>,
    changed_at: DateTime<Utc>,
    approval_limit_cents: i64,
    approval_rules: Value,
}

/// The shop's rules for asking a manager, as stored.
#[derive(Deserialize)]
#[serde(default)]
struct StoredRules {
    warranty: bool,
    age_years: Option<u32>,
    disagreement: bool,
    r#override: bool,
}

impl Default for StoredRules {
    fn default() -> Self {
        StoredRules { warranty: true, age_years: None, disagreement: true, r#override: true }
    }
}

#[derive(FromQueryResult)]
struct Pair {
    one: Uuid,
    person: Uuid,
}

/// Everything that hangs on requests, by request.
struct Hanging {
    reads: BTreeMap<Uuid, Vec<BlindRead>>,
    signatures: BTreeMap<Uuid, Vec<Countersignature>>,
    approvals: BTreeMap<Uuid, Approval>,
    aside: BTreeMap<Uuid, Vec<Uuid>>,
    takers: BTreeMap<Uuid, Vec<Uuid>>,
    delegates: BTreeMap<Uuid, Vec<Uuid>>,
}

/// Locks a job's row until the transaction ends.
///
/// # Errors
/// `NotFound`, or when the database fails.
pub(crate) async fn lock_job<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<(), StoreError> {
    let locked = txn
        .query_one_raw(sql(
            "SELECT 1 FROM job WHERE shop_id = $1 AND id = $2 FOR NO KEY UPDATE",
            [shop_id.into(), job_id.into()],
        ))
        .await?;
    locked.map(drop).ok_or(StoreError::NotFound { what: "job" })
}

/// Locks a request's job, then the request; returns the job.
pub(super) async fn lock_request<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    request_id: Uuid,
) -> Result<Uuid, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        job_id: Uuid,
    }
    let row = Row::find_by_statement(sql(
        "SELECT job_id FROM condemn_request WHERE shop_id = $1 AND id = $2",
        [shop_id.into(), request_id.into()],
    ))
    .one(txn)
    .await?
    .ok_or(StoreError::NotFound { what: "request" })?;
    lock_job(txn, shop_id, row.job_id).await?;
    txn.execute_raw(sql(
        "SELECT 1 FROM condemn_request WHERE id = $1 FOR NO KEY UPDATE",
        [request_id.into()],
    ))
    .await?;
    Ok(row.job_id)
}

/// One request.
///
/// # Errors
/// `NotFound`, or when the database fails.
pub async fn find<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    request_id: Uuid,
) -> Result<Request, StoreError> {
    let found = list(conn, now, shop_id, Filter::One(request_id)).await?;
    found.into_iter().next().ok_or(StoreError::NotFound { what: "request" })
}

/// A job's requests, oldest first.
///
/// # Errors
/// When the database fails.
pub async fn list_of_job<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Vec<Request>, StoreError> {
    list(conn, now, shop_id, Filter::OfJob(job_id)).await
}

/// The requests that a filter finds. `now` says how old a unit is and whether its warranty runs.
///
/// # Errors
/// When the database fails.
pub async fn list<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    filter: Filter,
) -> Result<Vec<Request>, StoreError> {
    let (condition, value): (&str, DbValue) = match filter {
        Filter::One(id) => ("request.id = $2 ORDER BY request.id", id.into()),
        Filter::OfJob(id) => {
            ("request.job_id = $2 ORDER BY request.created_at, request.id", id.into())
        }
        Filter::InStates(states) => {
            let all = if states.is_empty() { gate::State::ALL.to_vec() } else { states };
            let ids: Vec<String> = all.into_iter().map(|state| state.id().to_owned()).collect();
            ("request.state = ANY($2) ORDER BY request.changed_at DESC, request.id", ids.into())
        }
    };
    let text = format!(
        "SELECT request.*, job.number AS job_number, unit.label AS unit_label, \
             unit.installed_on, unit.warranty_until, requester.name AS requester_name, \
             reader.name AS reader_name, overrider.name AS override_by_name, \
             shop.approval_limit_cents, shop.approval_rules \
         FROM condemn_request AS request JOIN job ON job.id = request.job_id \
         JOIN unit ON unit.id = job.unit_id JOIN shop ON shop.id = request.shop_id \
         JOIN person AS requester ON requester.id = request.requester \
         LEFT JOIN person AS reader ON reader.id = request.reader \
         LEFT JOIN person AS overrider ON overrider.id = request.override_by \
         WHERE request.shop_id = $1 AND {condition} LIMIT {LIST_MAX}"
    );
    let rows = Row::find_by_statement(sql(&text, [shop_id.into(), value])).all(conn).await?;
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    let mut hanging = hanging(conn, &rows, now).await?;
    rows.into_iter().map(|row| put_together(row, &mut hanging, now.date_naive())).collect()
}

async fn hanging<C: ConnectionTrait>(
    conn: &C,
    rows: &[Row],
    now: DateTime<Utc>,
) -> Result<Hanging, StoreError> {
    let ids: Vec<Uuid> = rows.iter().map(|row| row.id).collect();
    let job_ids: Vec<Uuid> = rows.iter().map(|row| row.job_id).collect();
    let aside = Pair::find_by_statement(sql(
        "SELECT request_id AS one, person_id AS person FROM stand_aside \
         WHERE request_id = ANY($1)",
        [ids.clone().into()],
    ))
    .all(conn)
    .await?;
    let takers = Pair::find_by_statement(sql(
        "SELECT job_id AS one, taken_by AS person FROM reading WHERE job_id = ANY($1) \
         UNION SELECT job_id, by FROM reading_strike WHERE job_id = ANY($1)",
        [job_ids.into()],
    ))
    .all(conn)
    .await?;
    // Only while it waits for the money: a delegate is asked for nothing else.
    let delegates = Pair::find_by_statement(sql(
        "SELECT request.id AS one, delegate.person_id AS person FROM condemn_request AS request \
         JOIN approval_delegate_standing AS delegate ON delegate.shop_id = request.shop_id \
         WHERE request.id = ANY($1) AND request.state = 'awaiting_approval' \
             AND delegate.at <= $2 AND delegate.until > $2 \
             AND delegate.up_to_cents > request.estimated_cost_cents",
        [ids.clone().into(), now.into()],
    ))
    .all(conn)
    .await?;
    let approvals = approval::list_of_requests(conn, &ids).await?;
    Ok(Hanging {
        reads: by_key(read::list_of_requests(conn, &ids).await?, |read| read.request_id),
        signatures: by_key(signature::list_of_requests(conn, &ids).await?, |one| one.request_id),
        approvals: approvals.into_iter().map(|approval| (approval.request_id, approval)).collect(),
        aside: pairs(aside),
        takers: pairs(takers),
        delegates: pairs(delegates),
    })
}

fn by_key<T>(all: Vec<T>, key: impl Fn(&T) -> Uuid) -> BTreeMap<Uuid, Vec<T>> {
    let mut map: BTreeMap<Uuid, Vec<T>> = BTreeMap::new();
    for one in all {
        map.entry(key(&one)).or_default().push(one);
    }
    map
}

fn pairs(all: Vec<Pair>) -> BTreeMap<Uuid, Vec<Uuid>> {
    let mut map: BTreeMap<Uuid, Vec<Uuid>> = BTreeMap::new();
    for pair in all {
        map.entry(pair.one).or_default().push(pair.person);
    }
    map
}

fn put_together(row: Row, hanging: &mut Hanging, today: NaiveDate) -> Result<Request, StoreError> {
    let rules: StoredRules = stored("approval rules", row.approval_rules)?;
    let state = gate::State::from_id(&row.state)
        .ok_or(StoreError::NotFound { what: "state of that name" })?;
    let reads = hanging.reads.remove(&row.id).unwrap_or_default();
    let signatures = hanging.signatures.remove(&row.id).unwrap_or_default();
    let approval = hanging.approvals.remove(&row.id);
    let overridden = match (
        row.override_by.zip(row.override_by_name),
        row.override_at,
        row.override_reason,
        row.override_digest,
    ) {
        (Some((id, name)), Some(at), Some(reason), Some(digest)) => {
            Some(Overridden { by: Named { id, name }, at, reason, digest })
        }
        _ => None,
    };
    let takers = hanging.takers.get(&row.job_id).cloned().unwrap_or_default();
    let gate = gate::Request {
        state,
        requester: person_id(row.requester),
        reading_takers: person_ids(takers),
        digest: Some(row.digest.clone()),
        isolated: row.isolated,
        overridden: overridden.as_ref().map(|given| gate::Override {
            by: person_id(given.by.id),
            digest: given.digest.clone(),
        }),
        reader: row.reader.map(person_id),
        reads: reads.iter().map(gate_read).collect(),
        signatures: signatures.iter().map(gate_signature).collect(),
        stood_aside: person_ids(hanging.aside.remove(&row.id).unwrap_or_default()),
        approval: approval.as_ref().map(gate_approval),
        cost_cents: row.estimated_cost_cents,
        rules: gate::ApprovalRules {
            limit_cents: row.approval_limit_cents,
            warranty: rules.warranty,
            age_years: rules.age_years,
            disagreement: rules.disagreement,
            overridden: rules.r#override,
        },
        under_warranty: row.warranty_until.is_some_and(|until| until >= today),
        age_years: row.installed_on.and_then(|installed| today.years_since(installed)),
    };
    Ok(Request {
        id: row.id,
        shop_id: row.shop_id,
        job_id: row.job_id,
        job_number: row.job_number,
        unit_label: row.unit_label,
        requester: Named { id: row.requester, name: row.requester_name },
        claim: stored("claim", row.claim)?,
        qualification: row.qualification,
        state,
        estimated_cost_cents: row.estimated_cost_cents,
        note: row.note,
        circuit_name: row.circuit_name,
        circuit_text: row.circuit_text,
        rates: row.rates.map(|rates| stored("rates", rates)).transpose()?,
        digest: row.digest,
        verdict: stored("verdict", row.verdict)?,
        judged_revision: row.judged_revision,
        judged_at: row.judged_at,
        disagreement: row.disagreement,
        reader: row.reader.zip(row.reader_name).map(|(id, name)| Named { id, name }),
        overridden,
        reads,
        signatures,
        approval,
        delegates: hanging.delegates.remove(&row.id).unwrap_or_default(),
        version: row.version,
        created_at: row.created_at,
        changed_at: row.changed_at,
        gate,
    })
}

fn gate_read(read: &BlindRead) -> gate::Read {
    gate::Read {
        reader: person_id(read.reader.id),
        digest: read.digest.clone(),
        agrees: read.agrees,
    }
}

fn gate_signature(signature: &Countersignature) -> gate::Signature {
    gate::Signature { signer: person_id(signature.signer.id), digest: signature.digest.clone() }
}

fn gate_approval(approval: &Approval) -> gate::Approval {
    gate::Approval {
        approver: approval.approver.as_ref().map(|approver| person_id(approver.id)),
        digest: approval.digest.clone(),
        approved: approval.approved,
        amount_cents: approval.amount_cents,
    }
}
