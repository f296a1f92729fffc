//! The rows that a move leaves behind.
//!
//! Belongs here: a read, a signature, a decision, an override, a standing aside, and the
//! request's own row. Does not belong here: the order in which a move does its work
//! ([`super::moves`]).

use engine::gate;
use sea_orm::{ConnectionTrait as _, DatabaseTransaction};
use uuid::Uuid;

use super::moves::Step;
use super::{Request, digest_changed, person_id};
use crate::approval::{self, NewApproval};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::Caller;
use crate::read::{self, Judgement, NewRead, Sure};
use crate::signature::{self, NewSignature};
use crate::text::Faults;
use crate::thread;

/// A reader who cannot tell does not agree.
pub(super) fn agrees(request: &Request, judgement: &Judgement) -> bool {
    judgement.sure != Sure::CannotTell
        && judgement.component.as_deref() == Some(request.claim.component.as_str())
}

/// The rows that a move leaves behind, before the request's own: the guards look at the state
/// that the move started from.
pub(super) async fn keep(
    store: &Store,
    txn: &DatabaseTransaction,
    caller: &Caller,
    request: &Request,
    step: &Step,
) -> Result<(), StoreError> {
    let (id, at) = (store.new_id(), store.now());
    let (shop_id, request_id) = (request.shop_id, request.id);
    match step {
        Step::CommitRead(judgement) => {
            known_to_circuit(request, judgement)?;
            let opened = thread::opened_at(txn, request.job_id, caller.person_id).await?;
            let new = NewRead {
                id,
                shop_id,
                request_id,
                reader: caller.person_id,
                digest: &request.digest,
                judgement,
                agrees: agrees(request, judgement),
                seen_thread_before: opened.is_some()
                    || request.gate.has_read(person_id(caller.person_id)),
                at,
            };
            read::insert(txn, new).await
        }
        Step::Countersign { digest, note } => {
            let revealed_at = request
                .reads
                .iter()
                .rev()
                .find(|read| read.reader.id == caller.person_id && read.digest == *digest)
                .map_or(at, |read| read.revealed_at);
            let new = NewSignature {
                id,
                shop_id,
                request_id,
                signer: caller.person_id,
                digest,
                note: note.trim(),
                seconds_since_reveal: (at - revealed_at).num_seconds().max(0),
                at,
            };
            signature::insert(txn, new).await
        }
        Step::Approve { digest, amount_cents, reason } => {
            let new = NewApproval {
                id,
                shop_id,
                request_id,
                approver: Some(caller.person_id),
                digest,
                approved: true,
                amount_cents: *amount_cents,
                reason: reason.trim(),
                at,
            };
            approval::insert(txn, new).await
        }
        Step::Decline { digest, reason } => {
            let new = NewApproval {
                id,
                shop_id,
                request_id,
                approver: Some(caller.person_id),
                digest,
                approved: false,
                amount_cents: request.estimated_cost_cents,
                reason: reason.trim(),
                at,
            };
            approval::insert(txn, new).await
        }
        Step::Override { reason } => {
            txn.execute_raw(sql(
                "UPDATE condemn_request SET override_by = $2, override_at = $3, \
                     override_reason = $4, override_digest = digest WHERE id = $1",
                [request_id.into(), caller.person_id.into(), at.into(), reason.trim().into()],
            ))
            .await?;
            Ok(())
        }
        Step::StandAside => {
            txn.execute_raw(sql(
                "INSERT INTO stand_aside (request_id, shop_id, person_id, at) \
                 VALUES ($1, $2, $3, $4)",
                [request_id.into(), shop_id.into(), caller.person_id.into(), at.into()],
            ))
            .await?;
            Ok(())
        }
        Step::Submit
        | Step::Take
        | Step::SendBack { .. }
        | Step::HandOn { .. }
        | Step::Withdraw { .. }
        | Step::Overturn { .. } => Ok(()),
    }
}

/// The request's row as the gate left it.
pub(super) async fn update(
    store: &Store,
    txn: &DatabaseTransaction,
    request: &Request,
    changed: &gate::Request,
) -> Result<(), StoreError> {
    let reader = changed.reader.map(|reader| Uuid::from_u128(reader.0));
    txn.execute_raw(sql(
        "UPDATE condemn_request SET state = $2, reader = $3, disagreement = $4, \
             changed_at = $5, version = version + 1 WHERE id = $1",
        [
            request.id.into(),
            changed.state.id().into(),
            reader.into(),
            changed.disagreement().into(),
            store.now().into(),
        ],
    ))
    .await
    .map_err(|error| {
        by_constraint(
            error,
            &[
                ("condemn_request_unsigned", &digest_changed),
                ("guest_bounds", &crate::guest::out_of_bounds),
                ("condemn_request_ended", &|| {
                    StoreError::conflict("wrong-state", "This request has ended.")
                }),
                ("condemn_request_open_key", &|| {
                    StoreError::conflict(
                        "already-open",
                        "There is an open condemn request for this component on this job; go on \
                         with that one, or withdraw it first.",
                    )
                }),
            ],
        )
    })?;
    Ok(())
}

/// A judgement must speak of what the circuit knows.
fn known_to_circuit(request: &Request, judgement: &Judgement) -> Result<(), StoreError> {
    let circuit = engine::circuit_file::parse(&request.circuit_name, &request.circuit_text)
        .map_err(|problems| StoreError::corrupt("circuit", problems))?;
    let mut faults = Faults::default();
    let Some(component) = &judgement.component else {
        if judgement.sure != Sure::CannotTell {
            faults.add("/component", "Name the component, or say that you cannot tell.");
        }
        return faults.done();
    };
    let by_itself = ["nothing_wrong", "unknown_fault"].contains(&component.as_str());
    if !by_itself && !circuit.components.iter().any(|known| known.id == *component) {
        faults.add(
            "/component",
            "This circuit has no such component; choose one of its own, nothing_wrong or \
             unknown_fault.",
        );
    }
    let part = judgement.part.as_ref().map(|wanted| {
        circuit.parts.iter().find(|part| part.id == *wanted && part.component == *component)
    });
    match (part, &judgement.mode) {
        (Some(None), _) => faults.add("/part", "That component has no such part."),
        (None, Some(_)) => faults.add("/mode", "Name the part that failed in this way."),
        (Some(Some(part)), Some(mode)) if !part.modes.iter().any(|known| known.id == *mode) => {
            faults.add("/mode", "That part does not fail in such a way in this circuit.");
        }
        _ => {}
    }
    faults.done()
}
