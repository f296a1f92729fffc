//! Messages of many writers, stored together.
//!
//! Belongs here: one transaction for texts that wait at the same time. Does not belong here:
//! gathering them (live's), and whatever else a message may be or do ([`super::say`]).
//!
//! A commit waits for the disk, and a shop's commits that announce something wait for each
//! other; stored one by one, a shop would get as many messages a second as its disk makes
//! commits. What is promised stays: a number is taken under the lock of its thread's row, and
//! nobody is told before the commit.

use std::collections::{BTreeMap, HashMap};

use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{MessageBody, MessageKind, Saying, blind_first};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;

/// A message of somebody in some job's thread.
#[derive(Clone, Debug)]
pub struct Said {
    /// Who.
    pub caller: Caller,
    /// Where.
    pub job_id: Uuid,
    /// What.
    pub saying: Saying,
}

impl Said {
    /// Whether it is a text and nothing more, from one of the shop's own.
    fn is_plain(&self) -> bool {
        let text = self.saying.body.text.clone();
        self.saying.kind == MessageKind::Text
            && self.saying.body == MessageBody { text, ..MessageBody::default() }
            && self.caller.guest.is_none()
    }
}

#[derive(FromQueryResult)]
struct ThreadRow {
    id: Uuid,
    shop_id: Uuid,
    job_id: Uuid,
    last_seq: i64,
}

/// What is known of one message before it is stored, under the thread's lock.
#[derive(FromQueryResult)]
struct KnownRow {
    n: i32,
    withheld: bool,
    seq: Option<i64>,
    kind: Option<String>,
    body: Option<Value>,
}

/// The number of each message, or why it is not stored; in the order given. What is no plain
/// text goes to [`super::say`] by itself, and so does everything when storing it together
/// fails, so that nobody pays for another's message.
pub async fn say_many(store: &Store, all: &[Said]) -> Vec<Result<i64, StoreError>> {
    let plain = all.iter().enumerate().filter(|(_, said)| said.is_plain()).collect::<Vec<_>>();
    let mut answers: Vec<Option<Result<i64, StoreError>>> = all.iter().map(|_| None).collect();
    if plain.len() > 1 {
        match together(store, &plain).await {
            Ok(stored) => stored.into_iter().for_each(|(n, answer)| answers[n] = Some(answer)),
            Err(error @ StoreError::Unavailable { .. }) => {
                tracing::warn!(error = &error as &dyn std::error::Error, "storing together");
            }
            Err(_) => {}
        }
    }
    let mut told = Vec::with_capacity(all.len());
    for (said, answer) in all.iter().zip(answers) {
        told.push(match answer {
            Some(answer) => answer,
            None => super::say(store, &said.caller, said.job_id, said.saying.clone())
                .await
                .map(|message| message.seq),
        });
    }
    told
}

type Answers = Vec<(usize, Result<i64, StoreError>)>;

async fn together(store: &Store, plain: &[(usize, &Said)]) -> Result<Answers, StoreError> {
    let mut answers = Answers::new();
    let txn = store.begin().await?;
    let threads = locked(&txn, plain).await?;
    // A thread's first message makes the thread, which is `say`'s to do.
    let here: Vec<(usize, &Said, Uuid)> = plain
        .iter()
        .filter_map(|(n, said)| {
            let thread = threads.get(&said.job_id)?;
            (thread.shop_id == said.caller.shop_id).then_some((*n, *said, thread.id))
        })
        .collect();
    let known = known(&txn, &here).await?;

    let mut last: BTreeMap<Uuid, i64> =
        threads.values().map(|thread| (thread.id, thread.last_seq)).collect();
    let mut fresh: HashMap<(Uuid, Uuid, Uuid), (i64, &MessageBody)> = HashMap::new();
    let (mut rows, mut news) = (Vec::new(), BTreeMap::new());
    for (n, said, thread_id) in here {
        let Saying { client_key, kind, body } = &said.saying;
        let Some(row) = known.get(&n) else { continue };
        let name = (thread_id, said.caller.person_id, *client_key);
        let stored = |was: &Value| row.kind.as_deref() == Some(kind.name()) && json!(body) == *was;
        let answer = if let Err(error) = body.check(*kind) {
            Err(error)
        } else if row.withheld {
            Err(blind_first())
        } else if let (Some(seq), Some(was)) = (row.seq, &row.body) {
            if stored(was) { Ok(seq) } else { Err(key_reused()) }
        } else if let Some((seq, was)) = fresh.get(&name) {
            if *was == body { Ok(*seq) } else { Err(key_reused()) }
        } else {
            let seq = last.entry(thread_id).or_default();
            *seq += 1;
            fresh.insert(name, (*seq, body));
            news.entry(said.job_id).or_insert((said.caller.shop_id, *seq));
            rows.push(json!({
                "thread_id": thread_id, "seq": *seq, "id": store.new_id(),
                "shop_id": said.caller.shop_id, "author": said.caller.person_id,
                "kind": kind.name(), "body": body, "client_key": client_key,
            }));
            Ok(*seq)
        };
        answers.push((n, answer));
    }
    if !rows.is_empty() {
        keep(&txn, store, rows, news).await?;
    }
    txn.commit().await?;
    Ok(answers)
}

/// The threads of these messages, by job, locked in one order so that two that store together
/// cannot lock each other out.
async fn locked<C: ConnectionTrait>(
    txn: &C,
    plain: &[(usize, &Said)],
) -> Result<HashMap<Uuid, ThreadRow>, StoreError> {
    let jobs: Vec<_> = plain.iter().map(|(_, said)| json!({ "job": said.job_id })).collect();
    let rows = ThreadRow::find_by_statement(sql(
        "SELECT id, shop_id, job_id, last_seq FROM thread \
         WHERE job_id IN (SELECT job FROM jsonb_to_recordset($1) AS said (job uuid)) \
         ORDER BY id FOR UPDATE",
        [Value::Array(jobs).into()],
    ))
    .all(txn)
    .await?;
    Ok(rows.into_iter().map(|row| (row.job_id, row)).collect())
}

/// Whether each is withheld or stored already. A statement of its own, after the lock: only
/// then it sees what the holder before committed.
async fn known<C: ConnectionTrait>(
    txn: &C,
    here: &[(usize, &Said, Uuid)],
) -> Result<HashMap<usize, KnownRow>, StoreError> {
    let asked: Vec<_> = here
        .iter()
        .map(|(n, said, thread_id)| {
            json!({
                "n": n, "thread": thread_id, "job": said.job_id,
                "author": said.caller.person_id, "key": said.saying.client_key,
            })
        })
        .collect();
    let rows = KnownRow::find_by_statement(sql(
        "SELECT said.n, \
             EXISTS (SELECT FROM condemn_request WHERE condemn_request.job_id = said.job \
                 AND condemn_request.state = 'reading' AND condemn_request.reader = said.author) \
                 AS withheld, \
             message.seq, message.kind, message.body \
         FROM jsonb_to_recordset($1) \
             AS said (n int, thread uuid, job uuid, author uuid, key uuid) \
         LEFT JOIN message ON message.thread_id = said.thread \
             AND message.author = said.author AND message.client_key = said.key",
        [Value::Array(asked).into()],
    ))
    .all(txn)
    .await?;
    Ok(rows.into_iter().filter_map(|row| Some((usize::try_from(row.n).ok()?, row))).collect())
}

/// Stores the rows, raises their threads' numbers, and announces each thread once, from its
/// first new message on.
async fn keep<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    rows: Vec<Value>,
    news: BTreeMap<Uuid, (Uuid, i64)>,
) -> Result<(), StoreError> {
    let news: Vec<_> = news
        .into_iter()
        .map(|(job_id, (shop_id, seq))| {
            json!({
                "shop_id": shop_id, "ref_id": job_id, "body": { "job_id": job_id, "seq": seq },
            })
        })
        .collect();
    txn.execute_raw(sql(
        "WITH said AS (SELECT * FROM jsonb_to_recordset($1) AS said (thread_id uuid, \
             seq bigint, id uuid, shop_id uuid, author uuid, kind text, body jsonb, \
             client_key uuid)), \
         raised AS (UPDATE thread SET last_seq = greatest(thread.last_seq, latest.seq) \
             FROM (SELECT thread_id, max(seq) AS seq FROM said GROUP BY thread_id) AS latest \
             WHERE thread.id = latest.thread_id), \
         stored AS (INSERT INTO message \
             (thread_id, seq, id, shop_id, author, kind, body, client_key, at) \
             SELECT thread_id, seq, id, shop_id, author, kind, body, client_key, $3 FROM said) \
         INSERT INTO live_event (shop_id, topic, ref_id, body, at) \
             SELECT shop_id, 'message', ref_id, body, $3 FROM jsonb_to_recordset($2) \
                 AS news (shop_id uuid, ref_id uuid, body jsonb)",
        [Value::Array(rows).into(), Value::Array(news).into(), store.now().into()],
    ))
    .await?;
    Ok(())
}

fn key_reused() -> StoreError {
    StoreError::conflict(
        "key-reused",
        "This key stored another message. Make a new key for each message.",
    )
}
