//! Countersignatures: a second reader's signature on one exact body of evidence.
//!
//! Belongs here: keeping and listing them, and the database's refusals in words. Does not
//! belong here: who may sign and when, which the gate decides ([`engine::gate`]).

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::sql;
use crate::error::{StoreError, by_constraint};
use crate::evidence::Named;
use crate::guest::Stated;

/// A countersignature as kept.
#[derive(Clone, Debug)]
pub struct Countersignature {
    /// Its id.
    pub id: Uuid,
    /// The request.
    pub request_id: Uuid,
    /// Who signed.
    pub signer: Named,
    /// What they stated, where they are a guest.
    pub guest: Option<Stated>,
    /// The evidence that was signed.
    pub digest: String,
    /// In the signer's words.
    pub note: String,
    /// Seconds from seeing the claim to signing.
    pub seconds_since_reveal: i64,
    /// When.
    pub at: DateTime<Utc>,
}

/// A countersignature to keep.
pub(crate) struct NewSignature<'a> {
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) request_id: Uuid,
    pub(crate) signer: Uuid,
    pub(crate) digest: &'a str,
    pub(crate) note: &'a str,
    pub(crate) seconds_since_reveal: i64,
    pub(crate) at: DateTime<Utc>,
}

/// Keeps one.
pub(crate) async fn insert<C: ConnectionTrait>(
    txn: &C,
    signature: NewSignature<'_>,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "INSERT INTO countersignature (id, shop_id, request_id, signer, digest, note, \
             seconds_since_reveal, at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        [
            signature.id.into(),
            signature.shop_id.into(),
            signature.request_id.into(),
            signature.signer.into(),
            signature.digest.into(),
            signature.note.into(),
            signature.seconds_since_reveal.into(),
            signature.at.into(),
        ],
    ))
    .await
    .map_err(|error| {
        by_constraint(
            error,
            &[
                ("countersignature_stale", &crate::request::digest_changed),
                ("guest_bounds", &crate::guest::out_of_bounds),
                ("countersignature_not_independent", &|| {
                    StoreError::forbidden(
                        "A countersignature is neither the requester's nor anyone's who took a \
                         reading on the job.",
                    )
                }),
                ("countersignature_not_read", &|| {
                    StoreError::forbidden("Commit your blind read on this evidence first.")
                }),
                ("countersignature_state", &|| {
                    StoreError::conflict("wrong-state", "It is not yours to sign now.")
                }),
                ("countersignature_not_isolated", &|| {
                    StoreError::conflict(
                        "not-isolated",
                        "The readings do not isolate what is claimed.",
                    )
                }),
            ],
        )
    })?;
    Ok(())
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    request_id: Uuid,
    signer: Uuid,
    signer_name: String,
    guest_link: Option<Uuid>,
    licence: Option<String>,
    email: String,
    digest: String,
    note: String,
    seconds_since_reveal: i64,
    at: DateTime<Utc>,
}

/// The countersignatures on these requests, oldest first.
pub(crate) async fn list_of_requests<C: ConnectionTrait>(
    conn: &C,
    request_ids: &[Uuid],
) -> Result<Vec<Countersignature>, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT countersignature.*, person.name AS signer_name, \
             person.guest_link, person.licence, person.email FROM countersignature \
         JOIN person ON person.id = countersignature.signer \
         WHERE countersignature.request_id = ANY($1) \
         ORDER BY countersignature.at, countersignature.id",
        [request_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Countersignature {
            id: row.id,
            request_id: row.request_id,
            guest: row.guest_link.map(|_| Stated {
                person_id: row.signer,
                name: row.signer_name.clone(),
                licence: row.licence.unwrap_or_default(),
                email: row.email,
            }),
            signer: Named { id: row.signer, name: row.signer_name },
            digest: row.digest,
            note: row.note,
            seconds_since_reveal: row.seconds_since_reveal,
            at: row.at,
        })
        .collect())
}
