//! The record: an append-only chain per shop.
//!
//! Belongs here: appending an entry, and finding the first one that was tampered with. Does
//! not belong here: what is worth recording; each noun says that in its own transaction.
//!
//! `hash = sha256(prev_hash ‖ canonical JSON of {shop, seq, at, actor, kind, subject, body})`,
//! canonical as in RFC 8785, the first entry following 64 zeros.

use chrono::{DateTime, SecondsFormat, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;

/// What the first entry of a shop follows.
pub const FIRST_PREV_HASH: &str =
    "0000000000000000000000000000000000000000000000000000000000000000";

/// Entries read at once while verifying; bounds the memory, not the chain.
const VERIFY_PAGE: i64 = 1_000;

/// Entries inserted in one statement; bounds its size.
const INSERT_PAGE: usize = 200;

/// One thing to put on the record.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Whose record.
    pub shop_id: Uuid,
    /// Who did it; nobody when a rule did.
    pub actor: Option<Uuid>,
    /// What happened, e.g. "reading_taken".
    pub kind: &'static str,
    /// The noun it happened to, e.g. "job".
    pub subject_kind: &'static str,
    /// Which one.
    pub subject_id: Uuid,
    /// What was known of it; ids rather than names.
    pub body: Value,
}

/// Where an entry stands in the chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Appended {
    /// Its number, from 1.
    pub seq: i64,
    /// Its hash, hexadecimal.
    pub hash: String,
}

/// An entry as it is kept.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Kept {
    /// Whose record.
    pub shop_id: Uuid,
    /// Its number, from 1.
    pub seq: i64,
    /// When.
    pub at: DateTime<Utc>,
    /// Who.
    pub actor: Option<Uuid>,
    /// What happened.
    pub kind: String,
    /// The noun it happened to.
    pub subject_kind: String,
    /// Which one.
    pub subject_id: Uuid,
    /// What was known.
    pub body: Value,
    /// The hash of the entry before.
    pub prev_hash: String,
    /// Its hash.
    pub hash: String,
}

/// The first place where a chain does not hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Whose record.
    pub shop_id: Uuid,
    /// The number of the entry that is wrong or missing.
    pub seq: i64,
    /// In what way.
    pub says: String,
}

#[derive(FromQueryResult)]
struct Head {
    seq: i64,
    hash: String,
}

/// Appends an entry. Call it inside the transaction of what it records: it holds the lock of
/// the shop's chain until that ends, so do it late.
///
/// # Errors
/// When the shop is unknown or the database fails.
pub async fn append<C: ConnectionTrait>(
    txn: &C,
    at: DateTime<Utc>,
    entry: Entry,
) -> Result<Appended, StoreError> {
    let shop_id = entry.shop_id;
    append_many(txn, at, shop_id, vec![entry]).await
}

/// Appends entries of one shop in their order, as [`append`] does with one; gives the last.
///
/// # Errors
/// As [`append`].
pub async fn append_many<C: ConnectionTrait>(
    txn: &C,
    at: DateTime<Utc>,
    shop_id: Uuid,
    entries: Vec<Entry>,
) -> Result<Appended, StoreError> {
    let head = Head::find_by_statement(sql(
        "SELECT seq, hash FROM record_head WHERE shop_id = $1 FOR UPDATE",
        [shop_id.into()],
    ))
    .one(txn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    let mut last = Appended { seq: head.seq, hash: head.hash };
    for page in pages(entries) {
        let mut rows = Vec::new();
        for entry in page {
            let mut kept = Kept {
                shop_id,
                seq: last.seq + 1,
                at,
                actor: entry.actor,
                kind: entry.kind.to_owned(),
                subject_kind: entry.subject_kind.to_owned(),
                subject_id: entry.subject_id,
                body: entry.body,
                prev_hash: last.hash,
                hash: String::new(),
            };
            kept.hash = hash_of(&kept)?;
            last = Appended { seq: kept.seq, hash: kept.hash.clone() };
            rows.push(json!({
                "seq": kept.seq,
                "actor": kept.actor,
                "kind": kept.kind,
                "subject_kind": kept.subject_kind,
                "subject_id": kept.subject_id,
                "body": kept.body,
                "prev_hash": kept.prev_hash,
                "hash": kept.hash,
            }));
        }
        txn.execute_raw(sql(
            "INSERT INTO record_entry \
             (shop_id, seq, at, actor, kind, subject_kind, subject_id, body, prev_hash, hash) \
             SELECT $1, seq, $2, actor, kind, subject_kind, subject_id, body, prev_hash, hash \
             FROM jsonb_to_recordset($3) AS entry (seq bigint, actor uuid, kind text, \
                 subject_kind text, subject_id uuid, body jsonb, prev_hash text, hash text)",
            [shop_id.into(), at.into(), Value::Array(rows).into()],
        ))
        .await?;
    }
    txn.execute_raw(sql(
        "UPDATE record_head SET seq = $2, hash = $3 WHERE shop_id = $1",
        [shop_id.into(), last.seq.into(), last.hash.clone().into()],
    ))
    .await?;
    Ok(last)
}

/// Entries in the portions in which they are inserted.
fn pages(entries: Vec<Entry>) -> Vec<Vec<Entry>> {
    let mut pages = vec![Vec::new()];
    for entry in entries {
        if pages.last().is_some_and(|page| page.len() == INSERT_PAGE) {
            pages.push(Vec::new());
        }
        if let Some(page) = pages.last_mut() {
            page.push(entry);
        }
    }
    pages
}

/// The entries about one subject, oldest first.
///
/// # Errors
/// When the database fails.
pub async fn list_of_subject<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    subject_kind: &str,
    subject_id: Uuid,
) -> Result<Vec<Kept>, StoreError> {
    Ok(Kept::find_by_statement(sql(
        "SELECT * FROM record_entry \
         WHERE shop_id = $1 AND subject_kind = $2 AND subject_id = $3 ORDER BY seq",
        [shop_id.into(), subject_kind.into(), subject_id.into()],
    ))
    .all(conn)
    .await?)
}

/// Walks a shop's chain from the first entry to its head.
///
/// The outer error is the database's; the inner result is the finding: how many entries hold,
/// or the first that does not.
///
/// # Errors
/// When the database fails.
pub async fn verify(store: &Store, shop_id: Uuid) -> Result<Result<i64, Broken>, StoreError> {
    let conn = store.conn();
    let broken = |seq: i64, says: &str| Broken { shop_id, seq, says: says.to_owned() };
    // The head is read first: entries appended meanwhile are beyond it and not looked at.
    let head = Head::find_by_statement(sql(
        "SELECT seq, hash FROM record_head WHERE shop_id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?;
    let Some(head) = head else {
        return Ok(Err(broken(0, "the end of the chain is not noted any more")));
    };

    let mut prev_hash = FIRST_PREV_HASH.to_owned();
    let mut seq_expected = 1;
    loop {
        let page = Kept::find_by_statement(sql(
            "SELECT * FROM record_entry WHERE shop_id = $1 AND seq >= $2 AND seq <= $3 \
             ORDER BY seq LIMIT $4",
            [shop_id.into(), seq_expected.into(), head.seq.into(), VERIFY_PAGE.into()],
        ))
        .all(conn)
        .await?;
        if page.is_empty() {
            break;
        }
        for kept in page {
            if kept.seq != seq_expected {
                return Ok(Err(broken(seq_expected, "the entry is missing")));
            }
            if kept.prev_hash != prev_hash {
                return Ok(Err(broken(kept.seq, "it does not follow the entry before")));
            }
            if hash_of(&kept)? != kept.hash {
                return Ok(Err(broken(kept.seq, "its content is not what was recorded")));
            }
            prev_hash = kept.hash;
            seq_expected += 1;
        }
    }
    if seq_expected <= head.seq {
        return Ok(Err(broken(seq_expected, "the entry is missing")));
    }
    if prev_hash != head.hash {
        return Ok(Err(broken(head.seq, "the end of the chain is not the one noted")));
    }
    Ok(Ok(head.seq))
}

/// Every shop that has a record.
///
/// # Errors
/// When the database fails.
pub async fn list_shops(store: &Store) -> Result<Vec<(Uuid, String)>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        name: String,
    }
    let rows = Row::find_by_statement(sql("SELECT id, name FROM shop ORDER BY name, id", []))
        .all(store.conn())
        .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

fn hash_of(kept: &Kept) -> Result<String, StoreError> {
    let document = json!({
        "shop": kept.shop_id,
        "seq": kept.seq,
        "at": kept.at.to_rfc3339_opts(SecondsFormat::Micros, true),
        "actor": kept.actor,
        "kind": kept.kind,
        "subject": { "kind": kept.subject_kind, "id": kept.subject_id },
        "body": kept.body,
    });
    let canonical = serde_json_canonicalizer::to_vec(&document)
        .map_err(|source| StoreError::corrupt("record entry", source))?;
    let mut hasher = Sha256::new();
    hasher.update(kept.prev_hash.as_bytes());
    hasher.update(&canonical);
    Ok(crate::text::hex(&hasher.finalize()))
}
