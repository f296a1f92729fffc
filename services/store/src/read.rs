//! Blind reads: what a second reader judged before seeing the claim.
//!
//! Belongs here: keeping and listing them, and the database's refusals in words. Does not
//! belong here: who may read and when, which the gate decides ([`engine::gate`]).

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::db::sql;
use crate::error::{StoreError, by_constraint};
use crate::evidence::Named;
use crate::guest::Stated;

/// How sure a reader is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sure {
    /// Would sign it.
    Sure,
    /// Leans to it.
    FairlySure,
    /// The evidence does not tell.
    CannotTell,
}

impl Sure {
    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            Sure::Sure => "sure",
            Sure::FairlySure => "fairly_sure",
            Sure::CannotTell => "cannot_tell",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        [Sure::Sure, Sure::FairlySure, Sure::CannotTell]
            .into_iter()
            .find(|sure| sure.name() == name)
    }
}

/// A judgement, as a reader commits it.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// The component that has failed in the reader's view; absent when they cannot tell.
    pub component: Option<String>,
    /// The part of it.
    pub part: Option<String>,
    /// Its fault mode.
    pub mode: Option<String>,
    /// How sure.
    pub sure: Sure,
    /// In the reader's words.
    pub note: String,
}

/// A blind read as kept.
#[derive(Clone, Debug)]
pub struct BlindRead {
    /// Its id.
    pub id: Uuid,
    /// The request.
    pub request_id: Uuid,
    /// Who read.
    pub reader: Named,
    /// What they stated, where they are a guest.
    pub guest: Option<Stated>,
    /// The evidence that was read.
    pub digest: String,
    /// What they judged.
    pub judgement: Judgement,
    /// Whether it names the component claimed.
    pub agrees: bool,
    /// Whether they had seen the job's thread, or this claim on earlier evidence, before.
    pub seen_thread_before: bool,
    /// When the claim was shown to them.
    pub revealed_at: DateTime<Utc>,
    /// When.
    pub at: DateTime<Utc>,
}

/// A blind read to keep.
pub(crate) struct NewRead<'a> {
    pub(crate) id: Uuid,
    pub(crate) shop_id: Uuid,
    pub(crate) request_id: Uuid,
    pub(crate) reader: Uuid,
    pub(crate) digest: &'a str,
    pub(crate) judgement: &'a Judgement,
    pub(crate) agrees: bool,
    pub(crate) seen_thread_before: bool,
    pub(crate) at: DateTime<Utc>,
}

/// Keeps one.
pub(crate) async fn insert<C: ConnectionTrait>(
    txn: &C,
    read: NewRead<'_>,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "INSERT INTO blind_read (id, shop_id, request_id, reader, digest, component, part, mode, \
             sure, note, agrees, seen_thread_before, revealed_at, at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $13)",
        [
            read.id.into(),
            read.shop_id.into(),
            read.request_id.into(),
            read.reader.into(),
            read.digest.into(),
            read.judgement.component.clone().into(),
            read.judgement.part.clone().into(),
            read.judgement.mode.clone().into(),
            read.judgement.sure.name().into(),
            read.judgement.note.clone().into(),
            read.agrees.into(),
            read.seen_thread_before.into(),
            read.at.into(),
        ],
    ))
    .await
    .map_err(|error| {
        by_constraint(
            error,
            &[
                ("blind_read_stale", &crate::request::digest_changed),
                ("guest_bounds", &crate::guest::out_of_bounds),
                ("blind_read_once", &|| {
                    StoreError::conflict("already-read", "You have read this evidence already.")
                }),
                ("blind_read_not_reader", &|| {
                    StoreError::forbidden("Only the second reader who took it reads it.")
                }),
                ("blind_read_not_independent", &|| {
                    StoreError::forbidden(
                        "A second reader is not the requester, took no reading on the job and did \
                         not stand aside.",
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
    reader: Uuid,
    reader_name: String,
    guest_link: Option<Uuid>,
    licence: Option<String>,
    email: String,
    digest: String,
    component: Option<String>,
    part: Option<String>,
    mode: Option<String>,
    sure: String,
    note: String,
    agrees: bool,
    seen_thread_before: bool,
    revealed_at: DateTime<Utc>,
    at: DateTime<Utc>,
}

/// The reads of these requests, oldest first.
pub(crate) async fn list_of_requests<C: ConnectionTrait>(
    conn: &C,
    request_ids: &[Uuid],
) -> Result<Vec<BlindRead>, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT blind_read.*, person.name AS reader_name, \
             person.guest_link, person.licence, person.email FROM blind_read \
         JOIN person ON person.id = blind_read.reader \
         WHERE blind_read.request_id = ANY($1) ORDER BY blind_read.at, blind_read.id",
        [request_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    Ok(rows.into_iter().map(from_row).collect())
}

fn from_row(row: Row) -> BlindRead {
    BlindRead {
        id: row.id,
        request_id: row.request_id,
        guest: row.guest_link.map(|_| Stated {
            person_id: row.reader,
            name: row.reader_name.clone(),
            licence: row.licence.unwrap_or_default(),
            email: row.email,
        }),
        reader: Named { id: row.reader, name: row.reader_name },
        digest: row.digest,
        judgement: Judgement {
            component: row.component,
            part: row.part,
            mode: row.mode,
            // The database knows no fourth.
            sure: Sure::from_name(&row.sure).unwrap_or(Sure::CannotTell),
            note: row.note,
        },
        agrees: row.agrees,
        seen_thread_before: row.seen_thread_before,
        revealed_at: row.revealed_at,
        at: row.at,
    }
}
