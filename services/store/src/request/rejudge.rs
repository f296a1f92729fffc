//! Judging requests again when the evidence has changed.
//!
//! Belongs here: the engine's verdict on each open request, and what becomes of the request
//! by it. Does not belong here: what changed the evidence.

use engine::gate::{self, Actor, Move, State};
use engine::verdict::{Outcome, Verdict};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::after::After;
use super::{Request, climb, find, refused};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::{self, Evidence, judge};
use crate::thread;

/// Judges every open request of a job again, in the transaction that changed its evidence.
/// The job's row must be locked.
pub(crate) async fn rejudge_job<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<After, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
    }
    let open = Row::find_by_statement(sql(
        "SELECT id FROM condemn_request WHERE shop_id = $1 AND job_id = $2 \
         AND state NOT IN ('approved', 'declined', 'withdrawn', 'overturned') \
         ORDER BY id FOR NO KEY UPDATE",
        [shop_id.into(), job_id.into()],
    ))
    .all(txn)
    .await?;
    let mut after = After::default();
    if open.is_empty() {
        return Ok(after);
    }
    let evidence = evidence::of_job(txn, shop_id, job_id).await?;
    for row in open {
        let request = find(txn, store.now(), shop_id, row.id).await?;
        let verdict = judge_request(&request, &evidence).await?;
        judged(store, txn, &request, &evidence, verdict, &mut after).await?;
    }
    Ok(after)
}

/// The engine's verdict on a request's claim, on the evidence as it is. What the shop's calls
/// said is what they said when the request was made: a call elsewhere moves no digest.
pub(super) async fn judge_request(
    request: &Request,
    evidence: &Evidence,
) -> Result<Verdict, StoreError> {
    judge::run(request.case_on(evidence)).await
}

/// Moves a request to where a verdict puts it, and tells whoever is asked by that.
pub(super) async fn judged<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    evidence: &Evidence,
    verdict: Verdict,
    after: &mut After,
) -> Result<(), StoreError> {
    let next = Move::Judge {
        digest: verdict.evidence_digest.clone(),
        isolated: verdict.outcome == Outcome::Isolated,
    };
    let changed = gate::apply(&request.gate, &Actor::Shop, &next).map_err(refused)?;
    let now = store.now();
    let stored =
        serde_json::to_value(&verdict).map_err(|source| StoreError::corrupt("verdict", source))?;
    txn.execute_raw(sql(
        "UPDATE condemn_request SET digest = $2, verdict = $3, judged_revision = $4, \
             judged_at = $5, changed_at = $5, state = $6, disagreement = $7, \
             reader = CASE WHEN $8 THEN reader END, version = version + 1 WHERE id = $1",
        [
            request.id.into(),
            verdict.evidence_digest.clone().into(),
            stored.into(),
            evidence.revision.into(),
            now.into(),
            changed.state.id().into(),
            changed.disagreement().into(),
            changed.reader.is_some().into(),
        ],
    ))
    .await?;
    let body = json!({
        "digest": verdict.evidence_digest,
        "outcome": verdict.outcome,
        "sentence": verdict.sentence,
        "revision": evidence.revision,
        "state_before": request.state.id(),
        "state": changed.state.id(),
    });
    after.request(request, None, "request_judged", body);
    let moved_on = matches!(
        request.state,
        State::Reading | State::Revealed | State::Countersigned | State::AwaitingApproval
    ) && changed.state != request.state;
    if moved_on {
        let words = "The evidence changed: what was read or signed on it is void, and the \
                     condemn request is back at the gate.";
        thread::event_append(txn, store.ambient(), request.shop_id, request.job_id, words).await?;
    }
    if changed.state == State::Ready {
        if request.state == State::AwaitingApproval {
            climb::stop(store, txn, request, changed.state.id()).await?;
        }
        let present = find(txn, now, request.shop_id, request.id).await?;
        climb::start(store, txn, &present, None, after).await?;
    } else if changed.state != request.state {
        climb::stop(store, txn, request, changed.state.id()).await?;
    }
    Ok(())
}
