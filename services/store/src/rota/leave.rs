//! Leave: asked for by whoever wants it, granted by whoever gives out work.
//!
//! Belongs here: asking, withdrawing, granting, refusing; and making room in the rota for what is
//! granted. Does not belong here: leave that a scheduler puts in unasked, which is an entry like
//! any other ([`super::change`]).

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::Span;
use roster::duty::Kind;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use super::change::{EntryNew, NOTE_CHARS_MAX, check_span, insert, lock_people, remove};
use super::{RotaEntry, spans};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{calendar, live_feed, outbox};

/// How long an answered ask is still listed, in days.
const LISTED_DAYS: i64 = 60;

/// Most asks listed; older ones are left off.
const LISTED_MAX: i64 = 200;

/// What was answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// It is on the rota.
    Granted,
    /// It is not.
    Refused,
    /// Whoever asked does not want it any more.
    Withdrawn,
}

impl Answer {
    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            Answer::Granted => "granted",
            Answer::Refused => "refused",
            Answer::Withdrawn => "withdrawn",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        [Answer::Granted, Answer::Refused, Answer::Withdrawn]
            .into_iter()
            .find(|answer| answer.name() == name)
    }
}

/// Leave that somebody asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeaveAsk {
    /// Id.
    pub id: Uuid,
    /// Who.
    pub person_id: Uuid,
    /// When they want to be away.
    pub span: Span,
    /// Why; often empty.
    pub reason: String,
    /// When they asked.
    pub asked_at: DateTime<Utc>,
    /// What was answered.
    pub answer: Option<Answer>,
    /// In a few words.
    pub answer_words: String,
    /// What of theirs stands in that time, while it is open: granting makes room.
    pub meets: Vec<RotaEntry>,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    person_id: Uuid,
    starts: DateTime<Utc>,
    ends: DateTime<Utc>,
    reason: String,
    asked_at: DateTime<Utc>,
    answer: Option<String>,
    answer_words: String,
}

impl From<Row> for LeaveAsk {
    fn from(row: Row) -> Self {
        LeaveAsk {
            id: row.id,
            person_id: row.person_id,
            span: Span::new(row.starts, row.ends),
            reason: row.reason,
            asked_at: row.asked_at,
            answer: row.answer.as_deref().and_then(Answer::from_name),
            answer_words: row.answer_words,
            meets: Vec::new(),
        }
    }
}

const SELECT: &str = "SELECT id, person_id, lower(during) AS starts, upper(during) AS ends, \
     reason, asked_at, answer, answer_words FROM leave_ask";

/// What is asked for and what was answered lately; of others only for those who give out work.
///
/// # Errors
/// When the database fails.
pub async fn leave_list(store: &Store, caller: &Caller) -> Result<Vec<LeaveAsk>, StoreError> {
    let conn = store.conn();
    let rows = Row::find_by_statement(sql(
        &format!(
            "{SELECT} WHERE shop_id = $1 AND (person_id = $2 OR $3) \
             AND (answer IS NULL OR answered_at > $4) \
             ORDER BY answer IS NOT NULL, lower(during), id LIMIT $5"
        ),
        [
            caller.shop_id.into(),
            caller.person_id.into(),
            caller.schedules().into(),
            (store.now() - TimeDelta::days(LISTED_DAYS)).into(),
            LISTED_MAX.into(),
        ],
    ))
    .all(conn)
    .await?;
    let mut asks: Vec<LeaveAsk> = rows.into_iter().map(LeaveAsk::from).collect();
    for ask in asks.iter_mut().filter(|ask| ask.answer.is_none()) {
        ask.meets = meets(conn, caller.shop_id, ask).await?;
    }
    Ok(asks)
}

async fn meets<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    ask: &LeaveAsk,
) -> Result<Vec<RotaEntry>, StoreError> {
    let mut entries = spans(conn, shop_id, ask.span.start, ask.span.end).await?;
    entries.retain(|entry| entry.person_id == ask.person_id);
    Ok(entries)
}

/// Asks for leave.
///
/// # Errors
/// `InvalidMany`, `Conflict` where they asked for it already or have it, or the database fails.
pub async fn leave_ask(
    store: &Store,
    caller: &Caller,
    span: Span,
    reason: &str,
) -> Result<LeaveAsk, StoreError> {
    let (id, now) = (store.new_id(), store.now());
    let mut faults = Faults::default();
    let reason = faults.text_or_empty("/reason", reason, NOTE_CHARS_MAX);
    check_span(&mut faults, now, Kind::Leave, span);
    if span.end <= now {
        faults.add("/end", "That is over; leave is asked for before it ends.");
    }
    faults.done()?;
    let txn = store.begin().await?;
    let again = || {
        StoreError::conflict(
            "leave-asked",
            "You asked for days of these already; withdraw that first, or choose others.",
        )
    };
    txn.execute_raw(sql(
        "INSERT INTO leave_ask (id, shop_id, person_id, during, reason, asked_at) \
         VALUES ($1, $2, $3, tstzrange($4, $5), $6, $7)",
        [
            id.into(),
            caller.shop_id.into(),
            caller.person_id.into(),
            span.start.into(),
            span.end.into(),
            reason.clone().into(),
            now.into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("leave_ask_no_overlap", &again)]))?;
    let mut ask = LeaveAsk {
        id,
        person_id: caller.person_id,
        span,
        reason,
        asked_at: now,
        answer: None,
        answer_words: String::new(),
        meets: Vec::new(),
    };
    ask.meets = meets(&txn, caller.shop_id, &ask).await?;
    if ask.meets.iter().any(|entry| entry.kind == Kind::Leave) {
        return Err(StoreError::conflict(
            "leave-asked",
            "You are on leave for a part of these days already; choose others.",
        ));
    }
    let body = json!({ "start": span.start, "end": span.end });
    keep(&txn, store, caller, "leave_asked", id, body).await?;
    txn.commit().await?;
    Ok(ask)
}

/// Answers an ask: withdrawn by whoever asked, granted or refused by those who give out work.
/// Granted leave makes room: what stands in its time is taken out, or cut where it reaches
/// beyond.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, `Conflict` where it is answered already, or the
/// database fails.
pub async fn leave_answer(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    answer: Answer,
    words: &str,
) -> Result<LeaveAsk, StoreError> {
    let mut faults = Faults::default();
    let words = match answer {
        Answer::Refused => faults.text("/why", words, NOTE_CHARS_MAX),
        _ => faults.text_or_empty("/why", words, NOTE_CHARS_MAX),
    };
    let txn = store.begin().await?;
    let mut ask = LeaveAsk::from(
        Row::find_by_statement(sql(
            &format!("{SELECT} WHERE shop_id = $1 AND id = $2 FOR UPDATE"),
            [caller.shop_id.into(), id.into()],
        ))
        .one(&txn)
        .await?
        .filter(|row| row.person_id == caller.person_id || caller.schedules())
        .ok_or(StoreError::NotFound { what: "leave asked for" })?,
    );
    match answer {
        Answer::Withdrawn if ask.person_id != caller.person_id => {
            return Err(StoreError::forbidden(
                "Only whoever asked for it withdraws it; you can refuse it, with a reason.",
            ));
        }
        Answer::Withdrawn => {}
        _ => caller.must_schedule("grant or refuse leave")?,
    }
    faults.done()?;
    if let Some(answered) = ask.answer {
        return Err(StoreError::conflict(
            "leave-answered",
            format!("This leave is {} already; ask anew for a change.", answered.name()),
        ));
    }
    let now = store.now();
    let (mut entry_id, mut room) = (None, Vec::new());
    if answer == Answer::Granted {
        lock_people(&txn, caller.shop_id, &[ask.person_id]).await?;
        room = make_room(&txn, store, caller, &ask).await?;
        let calendar = calendar::of_shop(&txn, caller.shop_id).await?;
        let new = EntryNew {
            person_id: ask.person_id,
            kind: Kind::Leave,
            span: ask.span,
            note: String::new(),
        };
        let made = insert(&txn, store, &calendar, caller.shop_id, caller.person_id, new).await?;
        entry_id = Some(made.id);
    }
    txn.execute_raw(sql(
        "UPDATE leave_ask SET answer = $2, answered_by = $3, answered_at = $4, \
             answer_words = $5, entry_id = $6 WHERE id = $1",
        [
            id.into(),
            answer.name().into(),
            caller.person_id.into(),
            now.into(),
            words.clone().into(),
            entry_id.into(),
        ],
    ))
    .await?;
    let body = json!({
        "answer": answer.name(),
        "person": ask.person_id,
        "entry": entry_id,
        "made_room": room.iter().map(|entry| entry.id).collect::<Vec<_>>(),
    });
    keep(&txn, store, caller, "leave_answered", id, body).await?;
    if answer != Answer::Withdrawn {
        let calendar = calendar::of_shop(&txn, caller.shop_id).await?;
        let payload = json!({
            "to_person": ask.person_id,
            "template": "leave_answered",
            "data": {
                "page": "/rota",
                "answer": answer.name(),
                "days": calendar.says_span(ask.span),
                "words": if words.is_empty() { "No words came with it." } else { words.as_str() },
            },
        });
        outbox::put(&txn, store, caller.shop_id, "mail", &payload, now).await?;
    }
    txn.commit().await?;
    ask.answer = Some(answer);
    ask.answer_words = words;
    ask.meets = room;
    Ok(ask)
}

/// Takes out what stands in the time of leave; what reaches beyond it is kept outside it.
async fn make_room<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    ask: &LeaveAsk,
) -> Result<Vec<RotaEntry>, StoreError> {
    let calendar = calendar::of_shop(txn, caller.shop_id).await?;
    let met = meets(txn, caller.shop_id, ask).await?;
    for entry in &met {
        remove(txn, store, caller.person_id, entry, "leave was granted").await?;
        let before = Span::new(entry.span.start, ask.span.start);
        let after = Span::new(ask.span.end, entry.span.end);
        for span in [before, after].into_iter().filter(|span| span.start < span.end) {
            let new = EntryNew {
                person_id: entry.person_id,
                kind: entry.kind,
                span,
                note: entry.note.clone(),
            };
            insert(txn, store, &calendar, caller.shop_id, caller.person_id, new).await?;
        }
    }
    Ok(met)
}

async fn keep<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    kind: &'static str,
    id: Uuid,
    body: Value,
) -> Result<(), StoreError> {
    let now = store.now();
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "leave_ask",
        subject_id: id,
        body,
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, caller.shop_id, "rota", id, json!({})).await
}
