//! Who reads for whom, and how: what shows a rubber stamp.
//!
//! Belongs here: counting reads and signatures by pair, for managers. Does not belong here: a
//! judgement about anybody; the numbers are shown beside each other and that is all.

use sea_orm::FromQueryResult;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::person::Caller;

/// Pairs listed at most, those with most reads first.
const PAIRS_MAX: i64 = 400;

/// One requester with one reader.
#[derive(Clone, Debug)]
pub struct Pair {
    /// Who asked.
    pub requester: Named,
    /// Who read.
    pub reader: Named,
    /// Whether the reader was a guest.
    pub guest: bool,
    /// Blind reads.
    pub reads: i64,
    /// Those that named the component claimed.
    pub agreed: i64,
    /// Signatures.
    pub signed: i64,
    /// Seconds from seeing the claim to signing it, one per signature, shortest first.
    pub seconds: Vec<i64>,
}

/// Every pair, from the requests that have ended: an open one could still be read blind by
/// somebody who sees this.
///
/// # Errors
/// `Forbidden` for those who do not manage, or the database fails.
pub async fn list(store: &Store, caller: &Caller) -> Result<Vec<Pair>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        requester: Uuid,
        requester_name: String,
        reader: Uuid,
        reader_name: String,
        guest: bool,
        reads: i64,
        agreed: i64,
        seconds: Vec<i64>,
    }
    caller.must_manage("see who reads for whom")?;
    let rows = Row::find_by_statement(sql(
        "SELECT request.requester, requester.name AS requester_name, blind_read.reader, \
             reader.name AS reader_name, reader.guest_link IS NOT NULL AS guest, \
             count(*) AS reads, count(*) FILTER (WHERE blind_read.agrees) AS agreed, \
             coalesce(array_agg(sign.seconds_since_reveal ORDER BY sign.seconds_since_reveal) \
                 FILTER (WHERE sign.id IS NOT NULL), '{}') AS seconds \
         FROM blind_read JOIN condemn_request AS request ON request.id = blind_read.request_id \
         JOIN person AS requester ON requester.id = request.requester \
         JOIN person AS reader ON reader.id = blind_read.reader \
         LEFT JOIN countersignature AS sign ON sign.request_id = blind_read.request_id \
             AND sign.signer = blind_read.reader AND sign.digest = blind_read.digest \
         WHERE request.shop_id = $1 \
             AND request.state IN ('approved', 'declined', 'withdrawn', 'overturned') \
         GROUP BY request.requester, requester.name, blind_read.reader, reader.name, \
             reader.guest_link \
         ORDER BY count(*) DESC, requester.name, reader.name, blind_read.reader LIMIT $2",
        [caller.shop_id.into(), PAIRS_MAX.into()],
    ))
    .all(store.conn())
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Pair {
            requester: Named { id: row.requester, name: row.requester_name },
            reader: Named { id: row.reader, name: row.reader_name },
            guest: row.guest,
            reads: row.reads,
            agreed: row.agreed,
            signed: i64::try_from(row.seconds.len()).unwrap_or(i64::MAX),
            seconds: row.seconds,
        })
        .collect())
}
