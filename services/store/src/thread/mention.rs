//! People named in a message.
//!
//! Belongs here: who may be named, and the mail to those who are not looking. Does not belong
//! here: how it is shown. The mail says that one was named and where, and nothing of what was
//! said: it may be read by someone who is about to read blind.

use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::outbox;
use crate::person::Caller;

/// People named in one message; one with more is refused.
pub const MENTIONS_MAX: usize = 10;

/// Checks that everyone named works in the shop.
pub(super) async fn check<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    mentions: &[Uuid],
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        found: i64,
    }
    if mentions.is_empty() {
        return Ok(());
    }
    let row = Row::find_by_statement(sql(
        "SELECT count(*) AS found FROM person WHERE shop_id = $1 AND id = ANY($2) AND active \
         AND guest_link IS NULL",
        [caller.shop_id.into(), mentions.to_vec().into()],
    ))
    .one(conn)
    .await?;
    let found = row.map_or(0, |row| row.found);
    if usize::try_from(found).ok() == Some(mentions.len()) {
        return Ok(());
    }
    Err(StoreError::invalid(
        "/body/mentions",
        "Each one named must be an active colleague, and named once; pick them from the list.",
    ))
}

/// Mails those named who are not looking at the thread, in the transaction of the message.
pub(super) async fn tell<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    job_id: Uuid,
    mentions: &[Uuid],
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        number: i32,
        label: String,
    }
    if mentions.is_empty() {
        return Ok(());
    }
    let rows = Row::find_by_statement(sql(
        "SELECT person.id, job.number, unit.label FROM person, job JOIN unit \
             ON unit.id = job.unit_id \
         WHERE job.id = $1 AND person.id = ANY($2) AND person.id <> $3 AND NOT EXISTS ( \
             SELECT FROM looking WHERE looking.job_id = $1 \
                 AND looking.person_id = person.id AND looking.until >= $4) \
         ORDER BY person.id",
        [job_id.into(), mentions.to_vec().into(), caller.person_id.into(), store.now().into()],
    ))
    .all(txn)
    .await?;
    for row in rows {
        let data = json!({
            "job_id": job_id, "job_number": row.number, "unit_label": row.label,
        });
        let payload = json!({ "to_person": row.id, "template": "mentioned", "data": data });
        outbox::put(txn, store, caller.shop_id, "mail", &payload, store.now()).await?;
    }
    Ok(())
}
