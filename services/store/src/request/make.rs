//! Making a condemn request.
//!
//! Belongs here: what must hold before one is kept. Does not belong here: its later moves.

use engine::case::Claim;
use engine::gate::RefusalCode;
use engine::rates::Rates;
use engine::verdict::Verdict;
use sea_orm::{ConnectionTrait as _, DatabaseTransaction};
use serde_json::json;
use uuid::Uuid;

use super::after::After;
use super::moves::{Step, finish_showing, move_locked};
use super::view::Shown;
use super::{find, list_of_job, lock_job};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::{self, Evidence, judge};
use crate::found;
use crate::person::{Caller, Role};
use crate::text::Faults;

/// Highest estimate, in cents of the shop's currency; a higher one is refused as a slip of
/// the keys.
pub const COST_CENTS_MAX: i64 = 100_000_000;

/// Longest note, reason or finding, characters; a longer one is refused.
pub const NOTE_CHARS_MAX: usize = 2_000;

/// A request to make.
#[derive(Clone, Debug)]
pub struct NewRequest {
    /// What is claimed.
    pub claim: Claim,
    /// The estimate.
    pub estimated_cost_cents: i64,
    /// In the requester's words.
    pub note: String,
    /// Whether to submit it at once.
    pub submit: bool,
}

/// Makes a condemn request on a job.
///
/// # Errors
/// `InvalidMany` with pointers into the body, `Forbidden` (not a technician; an open request
/// on the job is kept from the caller), `Conflict`, `NotFound`.
pub async fn request_make(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    new: NewRequest,
) -> Result<Shown, StoreError> {
    if !caller.is(Role::Technician) {
        return Err(StoreError::forbidden(
            "A technician makes a condemn request; ask the one who has the job.",
        ));
    }
    let note = sound(&new)?;
    let txn = store.begin().await?;
    lock_job(&txn, caller.shop_id, job_id).await?;
    let evidence = evidence::of_job(&txn, caller.shop_id, job_id).await?;
    if matches!(evidence.job_state.as_str(), "done" | "cancelled") {
        return Err(StoreError::conflict(
            "job-closed",
            format!("This job is {}; open it again first.", evidence.job_state),
        ));
    }
    must_see_open_ones(store, &txn, caller, job_id).await?;
    let known = &evidence.known;
    let rates = found::rates_for(&txn, caller.shop_id, job_id).await?;
    let case =
        evidence.case_for(new.claim.clone(), &known.circuit.name, &known.text, rates.clone());
    let verdict = judge::run_given(case).await?;
    let id = insert(store, &txn, caller, &evidence, &new, &note, (&verdict, rates)).await?;

    let request = find(&txn, store.now(), caller.shop_id, id).await?;
    let mut after = After::default();
    let body = json!({
        "job_id": job_id,
        "claim": new.claim,
        "estimated_cost_cents": new.estimated_cost_cents,
        "note": note,
        "digest": verdict.evidence_digest,
        "outcome": verdict.outcome,
        "sentence": verdict.sentence,
    });
    after.request(&request, Some(caller.person_id), "request_made", body);
    if new.submit {
        move_locked(store, &txn, caller, &request, &Step::Submit, &mut after).await?;
    }
    finish_showing(store, txn, after, caller, id).await
}

/// Asking about the same component must not be a way to find out what is claimed.
///
/// # Errors
/// `Forbidden` when an open request on the job is kept from the caller.
pub(super) async fn must_see_open_ones(
    store: &Store,
    txn: &DatabaseTransaction,
    caller: &Caller,
    job_id: Uuid,
) -> Result<(), StoreError> {
    let others = list_of_job(txn, store.now(), caller.shop_id, job_id).await?;
    if others.iter().any(|other| other.hidden_while_open(caller)) {
        return Err(StoreError::Forbidden {
            code: RefusalCode::BlindFirst.id(),
            says: "There is an open condemn request on this job. Read it blind, or stand aside to \
                   see it, before you make one of your own."
                .to_owned(),
        });
    }
    Ok(())
}

fn sound(new: &NewRequest) -> Result<String, StoreError> {
    let mut faults = Faults::default();
    let note = faults.text_or_empty("/note", &new.note, NOTE_CHARS_MAX);
    if !(0..=COST_CENTS_MAX).contains(&new.estimated_cost_cents) {
        faults.add(
            "/estimated_cost_cents",
            format!("The estimate is in cents, from 0 to {COST_CENTS_MAX}."),
        );
    }
    faults.done()?;
    Ok(note)
}

async fn insert(
    store: &Store,
    txn: &DatabaseTransaction,
    caller: &Caller,
    evidence: &Evidence,
    new: &NewRequest,
    note: &str,
    (verdict, rates): (&Verdict, Option<Rates>),
) -> Result<Uuid, StoreError> {
    let corrupt = |source| StoreError::corrupt("claim", source);
    let known = &evidence.known;
    let qualification = known
        .circuit
        .components
        .iter()
        .find(|component| component.id == new.claim.component)
        .and_then(|component| component.qualification.clone());
    let id = store.new_id();
    txn.execute_raw(sql(
        "INSERT INTO condemn_request (id, shop_id, job_id, requester, claim, qualification, \
             state, estimated_cost_cents, note, circuit_name, circuit_text, digest, verdict, \
             judged_revision, judged_at, created_at, changed_at, rates) \
         VALUES ($1, $2, $3, $4, $5, $6, 'draft', $7, $8, $9, $10, $11, $12, $13, $14, $14, $14, \
             $15)",
        [
            id.into(),
            caller.shop_id.into(),
            evidence.job_id.into(),
            caller.person_id.into(),
            serde_json::to_value(&new.claim).map_err(corrupt)?.into(),
            qualification.into(),
            new.estimated_cost_cents.into(),
            note.into(),
            known.circuit.name.clone().into(),
            known.text.to_string().into(),
            verdict.evidence_digest.clone().into(),
            serde_json::to_value(verdict).map_err(corrupt)?.into(),
            evidence.revision.into(),
            store.now().into(),
            rates.map(|rates| serde_json::to_value(rates).map_err(corrupt)).transpose()?.into(),
        ],
    ))
    .await?;
    Ok(id)
}
