//! Who is looking at a thread now, and who is typing.
//!
//! Belongs here: keeping and forgetting it, and telling every server process. Does not belong
//! here: how often, which is live's.
//!
//! Looking is a row with an expiry in a table that is not logged: a process that dies takes
//! nobody along for longer than [`LOOKING_S`], a newcomer asks one query who is there, and a
//! mention asks whether a mail is needed. Typing is a notification and no row at all: it is
//! worth nothing a few seconds later. Both go to every process over PostgreSQL's NOTIFY, which
//! carries ids only. Whoever owes a blind read on the job is not there: neither seen nor told.

use chrono::TimeDelta;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::Author;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;

/// The channel on which it is told. Nothing is lost when it is: the next beat tells it again.
pub const CHANNEL: &str = "here";

/// How long somebody counts as looking after they last said so.
pub const LOOKING_S: i64 = 40;

/// What a notification says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case")]
pub enum Told {
    /// Ask again who is looking at this job's thread.
    Looking {
        /// The job.
        job_id: Uuid,
        /// Its shop.
        shop_id: Uuid,
    },
    /// Somebody types.
    Typing {
        /// The job.
        job_id: Uuid,
        /// Its shop.
        shop_id: Uuid,
        /// Who.
        person_id: Uuid,
    },
    /// Somebody has read up to a number.
    Marked {
        /// The job.
        job_id: Uuid,
        /// Its shop.
        shop_id: Uuid,
        /// Who.
        person_id: Uuid,
        /// How far.
        seen_seq: i64,
    },
}

/// Keeps that the caller looks at a thread on this socket, for [`LOOKING_S`] more. Nothing is
/// kept of somebody who may not see it.
///
/// # Errors
/// When the database fails.
pub async fn look(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    socket_id: Uuid,
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        fresh: bool,
    }
    let now = store.now();
    let row = Row::find_by_statement(sql(
        "INSERT INTO looking (job_id, socket_id, shop_id, person_id, until) \
         SELECT job.id, $3, job.shop_id, $4, $5 FROM job \
         WHERE job.shop_id = $1 AND job.id = $2 AND NOT EXISTS (SELECT FROM condemn_request \
             WHERE condemn_request.job_id = job.id AND condemn_request.state = 'reading' \
             AND condemn_request.reader = $4) \
         ON CONFLICT (job_id, socket_id) DO UPDATE SET until = excluded.until \
         RETURNING xmax = 0 AS fresh",
        [
            caller.shop_id.into(),
            job_id.into(),
            socket_id.into(),
            caller.person_id.into(),
            (now + TimeDelta::seconds(LOOKING_S)).into(),
        ],
    ))
    .one(store.conn())
    .await?;
    if row.is_some_and(|row| row.fresh) {
        tell(store, &Told::Looking { job_id, shop_id: caller.shop_id }).await?;
    }
    Ok(())
}

/// Forgets what a socket looked at: one thread, or all of them.
///
/// # Errors
/// When the database fails.
pub async fn look_away(
    store: &Store,
    job_id: Option<Uuid>,
    socket_id: Uuid,
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        job_id: Uuid,
        shop_id: Uuid,
    }
    let rows = Row::find_by_statement(sql(
        "DELETE FROM looking WHERE (socket_id = $1 AND ($2::uuid IS NULL OR job_id = $2)) \
             OR until < $3 RETURNING job_id, shop_id",
        [socket_id.into(), job_id.into(), store.now().into()],
    ))
    .all(store.conn())
    .await?;
    for row in rows {
        tell(store, &Told::Looking { job_id: row.job_id, shop_id: row.shop_id }).await?;
    }
    Ok(())
}

/// Who is looking at a job's thread, by name.
///
/// # Errors
/// When the database fails.
pub async fn lookers(
    store: &Store,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Vec<Author>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        name: String,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT DISTINCT person.name, person.id FROM looking \
         JOIN person ON person.id = looking.person_id \
         WHERE looking.shop_id = $1 AND looking.job_id = $2 AND looking.until >= $3 \
             AND NOT EXISTS (SELECT FROM condemn_request \
                 WHERE condemn_request.job_id = $2 AND condemn_request.state = 'reading' \
                 AND condemn_request.reader = person.id) \
         ORDER BY person.name, person.id",
        [shop_id.into(), job_id.into(), store.now().into()],
    ))
    .all(store.conn())
    .await?;
    Ok(rows.into_iter().map(|row| Author { id: row.id, name: row.name }).collect())
}

/// Tells every server process, this one too.
///
/// # Errors
/// When the database fails.
pub async fn tell(store: &Store, told: &Told) -> Result<(), StoreError> {
    let payload =
        serde_json::to_string(told).map_err(|source| StoreError::corrupt("notice", source))?;
    store
        .conn()
        .execute_raw(sql("SELECT pg_notify($1, $2)", [CHANNEL.into(), payload.into()]))
        .await?;
    Ok(())
}
