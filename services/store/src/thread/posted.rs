//! New messages of several threads at once, for everyone who follows them.
//!
//! Belongs here: one look for many followers, and who of them may not see it. Does not belong
//! here: one person's look, which also keeps that they were shown the thread.

use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::message::{Message, PageRow};
use crate::db::sql;
use crate::error::StoreError;

/// A thread's new messages.
#[derive(Clone, Debug, PartialEq)]
pub struct Posted {
    /// The job that the thread is about.
    pub job_id: Uuid,
    /// The last number there is.
    pub last_seq: i64,
    /// Who owes a blind read on the job and may not see them.
    pub withheld_from: Vec<Uuid>,
    /// In order, without gaps.
    pub messages: Vec<Message>,
}

#[derive(FromQueryResult)]
struct HeadRow {
    job_id: Uuid,
    withheld_from: serde_json::Value,
}

/// The messages of each job's thread after a number, at most `limit` of each. Who may not see
/// them is found by the same statement, so that none slips out after a blind read began.
/// Threads that are not the shop's are left out.
///
/// # Errors
/// When the database fails.
pub async fn posted_after<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    wanted: &[(Uuid, i64)],
    limit: i64,
) -> Result<Vec<Posted>, StoreError> {
    let wanted: Vec<_> =
        wanted.iter().map(|(job_id, after)| json!({ "job": job_id, "after": after })).collect();
    let rows = conn
        .query_all_raw(sql(
            "SELECT thread.job_id, thread.id AS thread_id, thread.last_seq, \
                 false AS withheld, true AS opened, \
                 (SELECT coalesce(jsonb_agg(reader), '[]') FROM condemn_request \
                     WHERE condemn_request.job_id = thread.job_id AND state = 'reading' \
                     AND reader IS NOT NULL) AS withheld_from, \
                 said.* \
             FROM jsonb_to_recordset($2) AS wanted (job uuid, after bigint) \
             JOIN thread ON thread.job_id = wanted.job AND thread.shop_id = $1 \
             CROSS JOIN LATERAL ( \
                 SELECT message.seq, message.id, message.author, \
                     person.name || CASE WHEN person.guest_link IS NULL THEN '' \
                         ELSE ' (guest)' END AS author_name, \
                     message.kind, message.body, message.client_key, message.at \
                 FROM message LEFT JOIN person ON person.id = message.author \
                 WHERE message.thread_id = thread.id AND message.seq > wanted.after \
                 ORDER BY message.seq LIMIT $3 \
             ) AS said ORDER BY thread.job_id, said.seq",
            [shop_id.into(), serde_json::Value::Array(wanted).into(), limit.into()],
        ))
        .await?;

    let mut all: Vec<Posted> = Vec::new();
    for row in rows {
        let head = HeadRow::from_query_result(&row, "")?;
        let page = PageRow::from_query_result(&row, "")?;
        let last_seq = page.last_seq;
        let Some(message) = page.message(head.job_id)? else { continue };
        match all.last_mut() {
            Some(posted) if posted.job_id == head.job_id => posted.messages.push(message),
            _ => {
                let withheld_from = serde_json::from_value(head.withheld_from)
                    .map_err(|error| StoreError::corrupt("condemn request", error))?;
                let messages = vec![message];
                all.push(Posted { job_id: head.job_id, last_seq, withheld_from, messages });
            }
        }
    }
    Ok(all)
}
