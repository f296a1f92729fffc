//! Evidence: a job's readings, strikes and observations.
//!
//! Belongs here: reading them, the engine's case made of them, and what of it a caller may
//! see. Does not belong here: adding to it ([`add`]), running the engine ([`judge`]), the
//! requests that rest on it ([`crate::request`]).

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, NaiveDate, Utc};
use engine::case::{CASE_FORMAT, Case, Claim, Observation, Reading, Spec};
use engine::policy::Policy;
use engine::rates::Rates;
use engine::verdict::Verdict;
use engine::verdict::plan::TestPlan;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use uuid::Uuid;

use crate::circuit::{self, Known};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;
use crate::{found, request};

mod add;
mod given;
pub mod judge;

pub use add::{
    OBSERVATIONS_MAX, READINGS_MAX, ask_answer, observation_add, reading_add, reading_add_with,
    reading_strike,
};
pub use given::judge_given;

/// Someone, by id and name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Who.
    pub id: Uuid,
    /// What they are called.
    pub name: String,
}

/// That a reading is no longer believed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Struck {
    /// Who struck it.
    pub by: Named,
    /// When.
    pub at: DateTime<Utc>,
    /// Why.
    pub reason: String,
}

/// A reading as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptReading {
    /// Its id.
    pub id: Uuid,
    /// "r3": what sentences call it.
    pub label: String,
    /// The reading; its id is the label.
    pub reading: Reading,
    /// Who took it.
    pub taken_by: Named,
    /// When.
    pub taken_at: DateTime<Utc>,
    /// The shop's meter that it was taken with, where it was one of those.
    pub meter: Option<MeterUsed>,
    /// Set when it is struck.
    pub struck: Option<Struck>,
}

/// The meter of a reading. What it was worth then is in the reading itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MeterUsed {
    /// Which.
    pub id: Uuid,
    /// Its serial number.
    pub serial: String,
    /// The day its calibration ended, as known when the reading was taken.
    pub due_on: Option<NaiveDate>,
    /// Whether that day had passed.
    pub overdue: bool,
}

/// An observation as kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptObservation {
    /// "o2".
    pub label: String,
    /// Which sign.
    pub sign: String,
    /// Whether it was found.
    pub present: bool,
    /// Who said so.
    pub by: Named,
    /// When.
    pub at: DateTime<Utc>,
}

/// Everything known about a job's unit that a verdict rests on.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The job.
    pub job_id: Uuid,
    /// Its shop.
    pub shop_id: Uuid,
    /// The job's number in the shop.
    pub job_number: i32,
    /// Where the job stands.
    pub job_state: String,
    /// Who has the job.
    pub assigned_to: Option<Uuid>,
    /// Counts every change.
    pub revision: i64,
    /// The circuit.
    pub known: Known,
    /// The unit's own values, by part.
    pub specs: BTreeMap<String, Spec>,
    /// The shop's thresholds.
    pub policy: Policy,
    /// Every reading, struck ones included, in the order taken.
    pub readings: Vec<KeptReading>,
    /// Every observation, in the order made.
    pub observations: Vec<KeptObservation>,
}

impl Evidence {
    /// The engine's case without a claim, on the unit's circuit as it is now, with what the shop's
    /// calls say now ([`found::rates_for`]); `None` where the verdict is not looked at.
    pub fn case(&self, rates: Option<Rates>) -> Case {
        self.case_of(None, self.known.circuit.name.clone(), self.known.text_to_send(), rates)
    }

    /// The engine's case for a claim, on the circuit and with what the shop's calls said that its
    /// request keeps.
    pub fn case_for(
        &self,
        claim: Claim,
        circuit_name: &str,
        circuit_text: &str,
        rates: Option<Rates>,
    ) -> Case {
        self.case_of(Some(claim), circuit_name.to_owned(), Some(circuit_text.to_owned()), rates)
    }

    /// Readings not struck, every answer to a sign: what an earlier one still says is the engine's.
    fn case_of(
        &self,
        claim: Option<Claim>,
        circuit: String,
        circuit_text: Option<String>,
        rates: Option<Rates>,
    ) -> Case {
        let readings = self
            .readings
            .iter()
            .filter(|kept| kept.struck.is_none())
            .map(|kept| kept.reading.clone())
            .collect();
        let observations = self
            .observations
            .iter()
            .map(|kept| Observation {
                id: kept.label.clone(),
                sign: kept.sign.clone(),
                present: kept.present,
            })
            .collect();
        Case {
            format: CASE_FORMAT,
            title: None,
            circuit,
            circuit_text,
            specs: self.specs.clone(),
            claim,
            readings,
            observations,
            policy: Some(self.policy.clone()),
            rates,
        }
    }

    /// Everyone who took or struck a reading: whose evidence it partly is.
    pub fn takers(&self) -> BTreeSet<Uuid> {
        self.readings
            .iter()
            .flat_map(|kept| {
                std::iter::once(kept.taken_by.id).chain(kept.struck.iter().map(|by| by.by.id))
            })
            .collect()
    }
}

/// Evidence, as far as one caller may see what it proves.
#[derive(Clone, Debug)]
pub struct Shown {
    /// The evidence itself, which is never hidden.
    pub evidence: Evidence,
    /// What it proves; `None` while the caller could still read it blind.
    pub verdict: Option<Verdict>,
    /// Whether the verdict judges the readings alone, without a claim.
    pub claimless: bool,
}

/// A job's evidence with what the caller may see of the verdict.
///
/// With the claim of the latest request, where the caller may see that one and it was judged
/// on this evidence; without a claim otherwise. Whoever could still become the second reader
/// of an open request sees no verdict at all, since the engine's conclusion leads as much as
/// the requester's.
///
/// # Errors
/// `NotFound`, or when the database or the engine fails.
pub async fn shown_to(store: &Store, caller: &Caller, job_id: Uuid) -> Result<Shown, StoreError> {
    let (evidence, sees) = seen_by(store, caller, job_id).await?;
    let (verdict, claimless) = match sees {
        Sees::Nothing => (None, true),
        Sees::Request(request) => (Some(request.verdict), false),
        Sees::Readings => {
            let rates = found::rates_for(store.conn(), caller.shop_id, job_id).await?;
            (Some(judge::run(evidence.case(rates)).await?), true)
        }
    };
    Ok(Shown { evidence, verdict, claimless })
}

/// The whole plan of tests from where a job's evidence stands, with the claim where the caller
/// sees the verdict on it.
///
/// # Errors
/// `NotFound`; `Forbidden` while the caller sees no verdict, since what is worth measuring next
/// says what is suspected; or when the database or the engine fails.
pub async fn test_plan(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
) -> Result<TestPlan, StoreError> {
    let (evidence, sees) = seen_by(store, caller, job_id).await?;
    let case = match sees {
        Sees::Nothing => {
            return Err(StoreError::Forbidden {
                code: "blind-first",
                says: "You may be the one who reads this job's evidence for a second opinion. \
                       What to measure next is shown once your own judgement is in, so that \
                       nothing leads you."
                    .to_owned(),
            });
        }
        Sees::Request(request) => request.case_on(&evidence),
        Sees::Readings => {
            evidence.case(found::rates_for(store.conn(), caller.shop_id, job_id).await?)
        }
    };
    judge::plan(case).await
}

/// What a caller sees of what the evidence proves.
enum Sees {
    /// Nothing yet: they could still read it blind.
    Nothing,
    /// The verdict on a request's claim.
    Request(Box<request::Request>),
    /// The verdict on the readings alone.
    Readings,
}

/// Whether the caller could still read an open request blind.
fn blind(requests: &[request::Request], evidence: &Evidence, caller: &Caller) -> bool {
    let hidden = requests.iter().any(|request| request.hidden_while_open(caller));
    hidden && !evidence.takers().contains(&caller.person_id)
}

/// Whether the caller could still read an open request of this job blind, so that nothing that
/// leads may be shown to them.
pub(crate) async fn blind_on(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
) -> Result<bool, StoreError> {
    let evidence = of_job(store.conn(), caller.shop_id, job_id).await?;
    let requests = request::list_of_job(store.conn(), store.now(), caller.shop_id, job_id).await?;
    Ok(blind(&requests, &evidence, caller))
}

async fn seen_by(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
) -> Result<(Evidence, Sees), StoreError> {
    let evidence = of_job(store.conn(), caller.shop_id, job_id).await?;
    let requests = request::list_of_job(store.conn(), store.now(), caller.shop_id, job_id).await?;
    if blind(&requests, &evidence, caller) {
        return Ok((evidence, Sees::Nothing));
    }
    let judged = requests
        .into_iter()
        .rev()
        .find(|request| request.visible_to(caller) && request.judged_revision == evidence.revision);
    let sees = judged.map_or(Sees::Readings, |request| Sees::Request(Box::new(request)));
    Ok((evidence, sees))
}

#[derive(FromQueryResult)]
struct JobRow {
    number: i32,
    state: String,
    assigned_to: Option<Uuid>,
    evidence_revision: i64,
    specs: Value,
    policy: Value,
}

#[derive(FromQueryResult)]
struct ReadingRow {
    id: Uuid,
    label: String,
    body: Value,
    taken_by: Uuid,
    taken_by_name: String,
    taken_at: DateTime<Utc>,
    meter_id: Option<Uuid>,
    meter_serial: Option<String>,
    meter_due_on: Option<NaiveDate>,
    struck_by: Option<Uuid>,
    struck_by_name: Option<String>,
    struck_at: Option<DateTime<Utc>>,
    struck_reason: Option<String>,
}

#[derive(FromQueryResult)]
struct ObservationRow {
    label: String,
    sign: String,
    present: bool,
    by: Uuid,
    by_name: String,
    at: DateTime<Utc>,
}

/// A job's evidence.
///
/// # Errors
/// `NotFound`, or when the database fails.
pub async fn of_job<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Evidence, StoreError> {
    let job = JobRow::find_by_statement(sql(
        "SELECT job.number, job.state, job.assigned_to, job.evidence_revision, unit.specs, \
                shop.policy \
         FROM job JOIN unit ON unit.id = job.unit_id JOIN shop ON shop.id = job.shop_id \
         WHERE job.shop_id = $1 AND job.id = $2",
        [shop_id.into(), job_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "job" })?;
    let readings = ReadingRow::find_by_statement(sql(
        "SELECT reading.id, reading.label, reading.body, reading.taken_by, \
                taker.name AS taken_by_name, reading.taken_at, reading.meter_id, \
                meter.serial AS meter_serial, reading.meter_due_on, strike.by AS struck_by, \
                striker.name AS struck_by_name, strike.at AS struck_at, \
                strike.reason AS struck_reason \
         FROM reading JOIN person AS taker ON taker.id = reading.taken_by \
         LEFT JOIN reading_strike AS strike ON strike.reading_id = reading.id \
         LEFT JOIN person AS striker ON striker.id = strike.by \
         LEFT JOIN meter ON meter.id = reading.meter_id \
         WHERE reading.shop_id = $1 AND reading.job_id = $2 \
         ORDER BY substr(reading.label, 2)::int",
        [shop_id.into(), job_id.into()],
    ))
    .all(conn)
    .await?;
    let observations = ObservationRow::find_by_statement(sql(
        "SELECT observation.label, observation.sign, observation.present, observation.by, \
                person.name AS by_name, observation.at \
         FROM observation JOIN person ON person.id = observation.by \
         WHERE observation.shop_id = $1 AND observation.job_id = $2 \
         ORDER BY substr(observation.label, 2)::int",
        [shop_id.into(), job_id.into()],
    ))
    .all(conn)
    .await?;
    Ok(Evidence {
        job_id,
        shop_id,
        job_number: job.number,
        job_state: job.state,
        assigned_to: job.assigned_to,
        revision: job.evidence_revision,
        known: circuit::of_job(conn, job_id).await?,
        specs: stored("unit specs", job.specs)?,
        policy: stored("shop policy", job.policy)?,
        readings: readings.into_iter().map(reading_from_row).collect::<Result<_, _>>()?,
        observations: observations.into_iter().map(observation_from_row).collect(),
    })
}

/// Reads what was stored as JSON.
pub(crate) fn stored<T: serde::de::DeserializeOwned>(
    what: &'static str,
    value: Value,
) -> Result<T, StoreError> {
    serde_json::from_value(value).map_err(|source| StoreError::corrupt(what, source))
}

fn reading_from_row(row: ReadingRow) -> Result<KeptReading, StoreError> {
    let mut body = row.body;
    if let Value::Object(fields) = &mut body {
        fields.insert("id".to_owned(), Value::String(row.label.clone()));
    }
    let struck = match (row.struck_by, row.struck_by_name, row.struck_at, row.struck_reason) {
        (Some(id), Some(name), Some(at), Some(reason)) => {
            Some(Struck { by: Named { id, name }, at, reason })
        }
        _ => None,
    };
    let meter = row.meter_id.map(|id| MeterUsed {
        id,
        serial: row.meter_serial.unwrap_or_default(),
        due_on: row.meter_due_on,
        overdue: row.meter_due_on.is_some_and(|due| due < row.taken_at.date_naive()),
    });
    Ok(KeptReading {
        id: row.id,
        reading: stored("reading", body)?,
        label: row.label,
        taken_by: Named { id: row.taken_by, name: row.taken_by_name },
        taken_at: row.taken_at,
        meter,
        struck,
    })
}

fn observation_from_row(row: ObservationRow) -> KeptObservation {
    KeptObservation {
        label: row.label,
        sign: row.sign,
        present: row.present,
        by: Named { id: row.by, name: row.by_name },
        at: row.at,
    }
}
