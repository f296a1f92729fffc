//! A job's thread: messages numbered without gaps, and how far each person has read.
//!
//! Belongs here: numbers, repeats, what is withheld from a blind reader, marks. Does not
//! belong here: who is connected, which is live's.
//!
//! A number is taken under the lock of the thread's row in the transaction that stores the
//! message, so they commit in order: whoever has seen number n misses nothing before it.
//! Locks are taken in the order job, thread.

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::ambient::Ambient;
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::Caller;
use crate::{guest, live_feed, photo};

pub mod ask;
pub mod here;
pub mod many;
mod mention;
mod message;
mod posted;
pub mod search;

pub use mention::MENTIONS_MAX;
use message::PageRow;
pub use message::{Author, Message, MessageBody, MessageKind, TEXT_CHARS_MAX};
pub use posted::{Posted, posted_after};

/// A look at a thread.
#[derive(Clone, Debug, PartialEq)]
pub enum Page {
    /// The caller owes a blind read on the job and may not see its talk.
    Withheld,
    /// Messages in order.
    Messages {
        /// The thread; none before its first message.
        thread_id: Option<Uuid>,
        /// The last number there is; 0 for none.
        last_seq: i64,
        /// Those after the number asked about.
        messages: Vec<Message>,
    },
}

/// Somebody who wrote in a thread or was shown it.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Member {
    /// The person.
    pub id: Uuid,
    /// Their name.
    pub name: String,
    /// The last number they have read.
    pub seen_seq: i64,
}

/// A message to be stored.
#[derive(Clone, Debug)]
pub struct Saying {
    /// Made by the client; a repeat of it is the same message.
    pub client_key: Uuid,
    /// Text or a reading card.
    pub kind: MessageKind,
    /// What it says. A card may name its reading by label or by id; both are stored.
    pub body: MessageBody,
}

#[derive(FromQueryResult)]
struct ThreadRow {
    id: Uuid,
    last_seq: i64,
}

/// The job's messages after a number, at most `limit`. Whether they are withheld is decided by
/// the same statement, so that none slips out after a blind read began.
///
/// # Errors
/// `NotFound` when the job is not one of the caller's shop.
pub async fn messages_after(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    after: i64,
    limit: i64,
) -> Result<Page, StoreError> {
    caller.must_reach_job(job_id)?;
    if guest::owes_read(store.conn(), caller).await? {
        return Ok(Page::Withheld);
    }
    let rows = PageRow::find_by_statement(sql(
        "SELECT head.*, said.* FROM ( \
             SELECT thread.id AS thread_id, coalesce(thread.last_seq, 0) AS last_seq, \
                 EXISTS (SELECT FROM condemn_request WHERE condemn_request.job_id = job.id \
                     AND condemn_request.state = 'reading' AND condemn_request.reader = $3) \
                     AS withheld, \
                 EXISTS (SELECT FROM thread_mark WHERE thread_mark.thread_id = thread.id \
                     AND thread_mark.person_id = $3) AS opened \
             FROM job LEFT JOIN thread ON thread.job_id = job.id \
             WHERE job.shop_id = $1 AND job.id = $2 \
         ) AS head LEFT JOIN LATERAL ( \
             SELECT message.seq, message.id, message.author, \
                 person.name || CASE WHEN person.guest_link IS NULL THEN '' \
                     ELSE ' (guest)' END AS author_name, message.kind, message.body, message.client_key, message.at \
             FROM message LEFT JOIN person ON person.id = message.author \
             WHERE message.thread_id = head.thread_id AND message.seq > $4 \
                 AND NOT head.withheld \
             ORDER BY message.seq LIMIT $5 \
         ) AS said ON true ORDER BY said.seq",
        [caller.shop_id.into(), job_id.into(), caller.person_id.into(), after.into(), limit.into()],
    ))
    .all(store.conn())
    .await?;

    let first = rows.first().ok_or(StoreError::NotFound { what: "job" })?;
    if first.withheld {
        return Ok(Page::Withheld);
    }
    let (thread_id, last_seq, opened) = (first.thread_id, first.last_seq, first.opened);
    let mut messages = Vec::with_capacity(rows.len());
    for row in rows {
        messages.extend(row.message(job_id)?);
    }
    guest::mask::messages(store, caller, &mut messages).await?;
    // From here on the person knows what is said on this job, which a later second read of
    // theirs has to admit.
    if !opened && !messages.is_empty() {
        open(store, caller, job_id).await?;
    }
    Ok(Page::Messages { thread_id, last_seq, messages })
}

/// Stores a message, or finds the one that its key stored before.
///
/// # Errors
/// `NotFound` when the job is not one of the caller's shop, `Forbidden` while they owe a blind
/// read on it, `Invalid` when it says nothing or quotes no reading of the job, `Conflict` when the key
/// stored another message, or when it asks for a reading on a closed job.
pub async fn say(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    saying: Saying,
) -> Result<Message, StoreError> {
    caller.must_reach_job(job_id)?;
    saying.body.check(saying.kind)?;
    let txn = store.begin().await?;
    let thread = locked(&txn, store.ambient(), caller.shop_id, job_id).await?;
    if withheld(&txn, job_id, caller.person_id).await? || guest::owes_read(&txn, caller).await? {
        return Err(blind_first());
    }
    let body = body_completed(&txn, caller, job_id, saying.kind, saying.body).await?;
    if let Some(said) = find_by_key(&txn, &thread, job_id, caller, saying.client_key).await? {
        if said.kind == saying.kind && said.body == body {
            txn.commit().await?;
            return Ok(said);
        }
        return Err(StoreError::conflict(
            "key-reused",
            "This key stored another message. Make a new key for each message.",
        ));
    }
    // After the look for a repeat: what was stored while the job was open stays acknowledged.
    if saying.kind == MessageKind::Ask {
        ask::must_be_open(&txn, job_id).await?;
    }
    let (id, at) = (store.new_id(), store.now());
    let new = NewMessage {
        id,
        shop_id: caller.shop_id,
        job_id,
        author: Some(caller.person_id),
        kind: saying.kind,
        body: &body,
        client_key: Some(saying.client_key),
        at,
    };
    append(&txn, &thread, new).await?;
    mention::tell(store, &txn, caller, job_id, &body.mentions).await?;
    let stored = find_by_key(&txn, &thread, job_id, caller, saying.client_key).await?;
    txn.commit().await?;
    stored.ok_or(StoreError::NotFound { what: "message" })
}

/// Says in the job's thread what the service did, in the transaction that did it. The words
/// must not give a claim away: they are shown to whoever may see the thread.
///
/// # Errors
/// `NotFound` when the job is not the shop's.
pub async fn event_append<C: ConnectionTrait>(
    txn: &C,
    ambient: &Ambient,
    shop_id: Uuid,
    job_id: Uuid,
    words: &str,
) -> Result<i64, StoreError> {
    let thread = locked(txn, ambient, shop_id, job_id).await?;
    let body = MessageBody { event: Some(words.to_owned()), ..MessageBody::default() };
    let new = NewMessage {
        id: ambient.new_id(),
        shop_id,
        job_id,
        author: None,
        kind: MessageKind::Event,
        body: &body,
        client_key: None,
        at: ambient.now(),
    };
    append(txn, &thread, new).await
}

/// Keeps how far the caller has read. It never goes back, nor beyond the last message; of a
/// thread that they were never shown there is nothing to keep.
///
/// # Errors
/// `NotFound` when the job is not one of the caller's shop.
pub async fn mark(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    seen_seq: i64,
) -> Result<(), StoreError> {
    caller.must_reach_job(job_id)?;
    let marked = store
        .conn()
        .execute_raw(sql(
            "UPDATE thread_mark SET seen_seq = greatest(seen_seq, least($4, thread.last_seq)) \
             FROM thread WHERE thread.id = thread_mark.thread_id \
             AND thread.shop_id = $1 AND thread.job_id = $2 AND thread_mark.person_id = $3",
            [caller.shop_id.into(), job_id.into(), caller.person_id.into(), seen_seq.into()],
        ))
        .await?;
    if marked.rows_affected() > 0 {
        let (shop_id, person_id) = (caller.shop_id, caller.person_id);
        here::tell(store, &here::Told::Marked { job_id, shop_id, person_id, seen_seq }).await?;
    }
    if marked.rows_affected() > 0 || job_exists(store.conn(), caller.shop_id, job_id).await? {
        Ok(())
    } else {
        Err(StoreError::NotFound { what: "job" })
    }
}

/// Keeps that the caller is now shown the thread.
async fn open(store: &Store, caller: &Caller, job_id: Uuid) -> Result<(), StoreError> {
    store
        .conn()
        .execute_raw(sql(
            "INSERT INTO thread_mark (thread_id, person_id, opened_at) \
             SELECT id, $3, $4 FROM thread WHERE shop_id = $1 AND job_id = $2 \
             ON CONFLICT (thread_id, person_id) DO NOTHING",
            [caller.shop_id.into(), job_id.into(), caller.person_id.into(), store.now().into()],
        ))
        .await?;
    Ok(())
}

/// Who wrote in the job's thread or was shown it, by name.
///
/// # Errors
/// When the database fails.
pub async fn members(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
) -> Result<Vec<Member>, StoreError> {
    caller.must_reach_job(job_id)?;
    Ok(Member::find_by_statement(sql(
        "SELECT person.id, person.name, coalesce(thread_mark.seen_seq, 0) AS seen_seq \
         FROM thread JOIN person ON person.shop_id = thread.shop_id \
         LEFT JOIN thread_mark \
             ON thread_mark.thread_id = thread.id AND thread_mark.person_id = person.id \
         WHERE thread.shop_id = $1 AND thread.job_id = $2 \
             AND (thread_mark.person_id IS NOT NULL OR EXISTS (SELECT FROM message \
                 WHERE message.thread_id = thread.id AND message.author = person.id)) \
         ORDER BY person.name, person.id",
        [caller.shop_id.into(), job_id.into()],
    ))
    .all(store.conn())
    .await?)
}

/// Since when a person knows what is said on a job; none if they were never shown it. A second
/// read keeps this.
///
/// # Errors
/// When the database fails.
pub async fn opened_at<C: ConnectionTrait>(
    conn: &C,
    job_id: Uuid,
    person_id: Uuid,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        opened_at: DateTime<Utc>,
    }
    let row = Row::find_by_statement(sql(
        "SELECT opened_at FROM thread_mark JOIN thread ON thread.id = thread_mark.thread_id \
         WHERE thread.job_id = $1 AND thread_mark.person_id = $2",
        [job_id.into(), person_id.into()],
    ))
    .one(conn)
    .await?;
    Ok(row.map(|row| row.opened_at))
}

/// Goes on when the caller may see the job's thread now.
///
/// # Errors
/// `NotFound` when the job is not one of the caller's shop, `Forbidden` while they owe a blind
/// read on it.
pub(crate) async fn must_see<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    job_id: Uuid,
) -> Result<(), StoreError> {
    caller.must_reach_job(job_id)?;
    if !job_exists(conn, caller.shop_id, job_id).await? {
        return Err(StoreError::NotFound { what: "job" });
    }
    if withheld(conn, job_id, caller.person_id).await? || guest::owes_read(conn, caller).await? {
        return Err(blind_first());
    }
    Ok(())
}

/// What a person is told who owes a blind read on the job.
pub fn blind_first() -> StoreError {
    StoreError::Forbidden {
        code: "blind-first",
        says: "You are reading this job's evidence for a second opinion. Its talk is shown once \
               your own judgement is in, so that nobody leads you."
            .to_owned(),
    }
}

/// The thread with its row locked until the transaction ends; made when it is not there yet.
async fn locked<C: ConnectionTrait>(
    txn: &C,
    ambient: &Ambient,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<ThreadRow, StoreError> {
    let find = || {
        ThreadRow::find_by_statement(sql(
            "SELECT id, last_seq FROM thread WHERE shop_id = $1 AND job_id = $2 FOR UPDATE",
            [shop_id.into(), job_id.into()],
        ))
        .one(txn)
    };
    if let Some(thread) = find().await? {
        return Ok(thread);
    }
    // The job first: its row is what the new row's foreign key asks for in any case, and
    // somebody who holds it may be about to make the same thread.
    txn.execute_raw(sql(
        "SELECT FROM job WHERE shop_id = $1 AND id = $2 FOR KEY SHARE",
        [shop_id.into(), job_id.into()],
    ))
    .await?;
    txn.execute_raw(sql(
        "INSERT INTO thread (id, shop_id, job_id, created_at) \
         SELECT $1, shop_id, id, $2 FROM job WHERE shop_id = $3 AND id = $4 \
         ON CONFLICT ON CONSTRAINT thread_job_key DO NOTHING",
        [ambient.new_id().into(), ambient.now().into(), shop_id.into(), job_id.into()],
    ))
    .await?;
    find().await?.ok_or(StoreError::NotFound { what: "job" })
}

struct NewMessage<'a> {
    id: Uuid,
    shop_id: Uuid,
    job_id: Uuid,
    author: Option<Uuid>,
    kind: MessageKind,
    body: &'a MessageBody,
    client_key: Option<Uuid>,
    at: DateTime<Utc>,
}

/// Takes the next number of a locked thread for a message, and announces it.
async fn append<C: ConnectionTrait>(
    txn: &C,
    thread: &ThreadRow,
    new: NewMessage<'_>,
) -> Result<i64, StoreError> {
    let seq = thread.last_seq + 1;
    let body =
        serde_json::to_value(new.body).map_err(|error| StoreError::corrupt("message", error))?;
    txn.execute_raw(sql(
        "UPDATE thread SET last_seq = $2 WHERE id = $1",
        [thread.id.into(), seq.into()],
    ))
    .await?;
    txn.execute_raw(sql(
        "INSERT INTO message \
         (thread_id, seq, id, shop_id, author, kind, body, client_key, at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        [
            thread.id.into(),
            seq.into(),
            new.id.into(),
            new.shop_id.into(),
            new.author.into(),
            new.kind.name().into(),
            body.into(),
            new.client_key.into(),
            new.at.into(),
        ],
    ))
    .await
    .map_err(|error| {
        by_constraint(
            error,
            &[("message_blind_first", &blind_first), ("guest_bounds", &guest::out_of_bounds)],
        )
    })?;
    let more = json!({ "job_id": new.job_id, "seq": seq });
    live_feed::announce(txn, new.at, new.shop_id, "message", new.job_id, more).await?;
    Ok(seq)
}

/// Whether the person owes a blind read on the job.
async fn withheld<C: ConnectionTrait>(
    conn: &C,
    job_id: Uuid,
    person_id: Uuid,
) -> Result<bool, StoreError> {
    let reading = conn
        .query_one_raw(sql(
            "SELECT 1 FROM condemn_request \
             WHERE job_id = $1 AND state = 'reading' AND reader = $2 LIMIT 1",
            [job_id.into(), person_id.into()],
        ))
        .await?;
    Ok(reading.is_some())
}

async fn job_exists<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<bool, StoreError> {
    let job = conn
        .query_one_raw(sql(
            "SELECT 1 FROM job WHERE shop_id = $1 AND id = $2",
            [shop_id.into(), job_id.into()],
        ))
        .await?;
    Ok(job.is_some())
}

/// A body with what only the service knows: both names of a quoted reading, a photo's size.
/// Whatever it names must be the job's, or a colleague.
async fn body_completed<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    job_id: Uuid,
    kind: MessageKind,
    body: MessageBody,
) -> Result<MessageBody, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
        label: String,
    }
    mention::check(conn, caller, &body.mentions).await?;
    match (kind, &body.ask) {
        (MessageKind::ReadingCard, _) => {}
        (MessageKind::Photo, _) => {
            let photo = photo::photo_of(conn, caller, job_id, body.photo_id).await?;
            let (width_px, height_px) = (Some(photo.width_px), Some(photo.height_px));
            return Ok(MessageBody { width_px, height_px, ..body });
        }
        (MessageKind::Ask, Some(ask)) => {
            ask::check(conn, job_id, ask).await?;
            return Ok(MessageBody { width_px: None, height_px: None, ..body });
        }
        _ => return Ok(MessageBody { width_px: None, height_px: None, ..body }),
    }
    let reading = Row::find_by_statement(sql(
        "SELECT id, label FROM reading WHERE job_id = $1 \
         AND ($2::uuid IS NULL OR id = $2) AND ($3::text IS NULL OR label = $3) \
         AND ($2 IS NOT NULL OR $3 IS NOT NULL)",
        [job_id.into(), body.reading_id.into(), body.reading_label.clone().into()],
    ))
    .one(conn)
    .await?
    .ok_or_else(|| {
        StoreError::invalid(
            "/body/reading_label",
            "There is no such reading on this job; quote one that is listed with its evidence.",
        )
    })?;
    Ok(MessageBody { reading_id: Some(reading.id), reading_label: Some(reading.label), ..body })
}

async fn find_by_key<C: ConnectionTrait>(
    conn: &C,
    thread: &ThreadRow,
    job_id: Uuid,
    caller: &Caller,
    client_key: Uuid,
) -> Result<Option<Message>, StoreError> {
    let row = PageRow::find_by_statement(sql(
        "SELECT message.thread_id, 0::bigint AS last_seq, false AS withheld, false AS opened, \
             message.seq, message.id, message.author, \
             person.name || CASE WHEN person.guest_link IS NULL THEN '' \
                 ELSE ' (guest)' END AS author_name, message.kind, message.body, message.client_key, message.at \
         FROM message LEFT JOIN person ON person.id = message.author \
         WHERE message.thread_id = $1 AND message.author = $2 AND message.client_key = $3",
        [thread.id.into(), caller.person_id.into(), client_key.into()],
    ))
    .one(conn)
    .await?;
    match row {
        Some(row) => row.message(job_id),
        None => Ok(None),
    }
}
