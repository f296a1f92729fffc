//! Approvals: who answers for the money, or that the shop's policy does.
//!
//! Belongs here: keeping and listing them, and the database's refusals in words. Does not
//! belong here: when a manager is asked, which the gate decides ([`engine::gate`]).

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::sql;
use crate::error::{StoreError, by_constraint};
use crate::evidence::Named;

/// A decision as kept.
#[derive(Clone, Debug)]
pub struct Approval {
    /// Its id.
    pub id: Uuid,
    /// The request.
    pub request_id: Uuid,
    /// The manager; absent when policy decided.
    pub approver: Option<Named>,
    /// The evidence it was given on.
    pub digest: String,
    /// Approved, or declined.
    pub approved: bool,
    /// The amount answered for.
    pub amount_cents: i64,
    /// In the approver's words.
    pub reason: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// A decision to keep.
pub(crate) struct NewApproval<'a> {
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) request_id: Uuid,
    pub(crate) approver: Option<Uuid>,
    pub(crate) digest: &'a str,
    pub(crate) approved: bool,
    pub(crate) amount_cents: i64,
    pub(crate) reason: &'a str,
    pub(crate) at: DateTime<Utc>,
}

/// Keeps one.
pub(crate) async fn insert<C: ConnectionTrait>(
    txn: &C,
    approval: NewApproval<'_>,
) -> Result<(), StoreError> {
    let decision = if approval.approved { "approved" } else { "declined" };
    txn.execute_raw(sql(
        "INSERT INTO approval (id, shop_id, request_id, approver, digest, decision, \
             amount_cents, reason, at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        [
            approval.id.into(),
            approval.shop_id.into(),
            approval.request_id.into(),
            approval.approver.into(),
            approval.digest.into(),
            decision.into(),
            approval.amount_cents.into(),
            approval.reason.into(),
            approval.at.into(),
        ],
    ))
    .await
    .map_err(|error| {
        by_constraint(
            error,
            &[
                ("approval_stale", &crate::request::digest_changed),
                ("approval_once", &|| {
                    StoreError::conflict("already-decided", "This request is decided already.")
                }),
                ("approval_state", &|| {
                    StoreError::conflict("wrong-state", "It does not wait for approval now.")
                }),
                ("approval_not_countersigned", &|| {
                    StoreError::conflict(
                        "not-countersigned",
                        "Nobody has countersigned this evidence.",
                    )
                }),
                ("approval_not_isolated", &|| {
                    StoreError::conflict(
                        "not-isolated",
                        "The readings do not isolate what is claimed.",
                    )
                }),
                ("approval_by_policy", &over_limit),
                ("approval_not_independent", &over_limit),
            ],
        )
    })?;
    Ok(())
}

fn over_limit() -> StoreError {
    StoreError::forbidden(
        "From the shop's limit on, the approver is a manager who is neither requester nor reader \
         and took no reading on the job.",
    )
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    request_id: Uuid,
    approver: Option<Uuid>,
    approver_name: Option<String>,
    digest: String,
    decision: String,
    amount_cents: i64,
    reason: String,
    at: DateTime<Utc>,
}

/// The decisions on these requests.
pub(crate) async fn list_of_requests<C: ConnectionTrait>(
    conn: &C,
    request_ids: &[Uuid],
) -> Result<Vec<Approval>, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT approval.*, person.name AS approver_name FROM approval \
         LEFT JOIN person ON person.id = approval.approver \
         WHERE approval.request_id = ANY($1)",
        [request_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Approval {
            id: row.id,
            request_id: row.request_id,
            approver: row.approver.zip(row.approver_name).map(|(id, name)| Named { id, name }),
            digest: row.digest,
            approved: row.decision == "approved",
            amount_cents: row.amount_cents,
            reason: row.reason,
            at: row.at,
        })
        .collect())
}
