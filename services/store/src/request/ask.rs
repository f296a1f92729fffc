//! Asking: who is told what, and by mail.
//!
//! Belongs here: one ask and its answer, and the outbox rows that tell people. Does not belong
//! here: in which order and when ([`super::climb`]), how a mail is worded and sent.
//!
//! No mail says what is claimed, what it costs or how the evidence was judged: it may be read
//! by someone who is about to read blind.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use engine::gate;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use super::Request;
use super::people::People;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::outbox;

/// What a manager is told who sees the claim.
const PROOF_AT_ONCE: &str = "The proof, the second read and the cost are on one page:";

/// What a manager is told who works as a technician too.
const PROOF_ASIDE: &str = "Since you work as a technician too, the claim is kept from you while \
     you could still read it blind. Open the page and stand aside; the proof, the second read and \
     the cost are shown to you then:";

/// One ask, with its answer where there is one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// The request.
    pub request_id: Uuid,
    /// Who was asked.
    pub person: Named,
    /// By whom; the ladder where absent.
    pub asked_by: Option<Named>,
    /// When.
    pub asked_at: DateTime<Utc>,
    /// accepted, declined, or lapsed where it was no longer wanted.
    pub answer: Option<String>,
    /// When that was.
    pub answered_at: Option<DateTime<Utc>>,
    /// Why it was declined.
    pub reason: String,
}

/// Asks somebody, and tells them by mail too where wanted; nothing happens when an ask of
/// theirs is open. Says whether they were asked.
pub(super) async fn ask_reader<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    person: Uuid,
    asked_by: Option<Uuid>,
    by_mail: bool,
) -> Result<bool, StoreError> {
    let new = txn
        .execute_raw(sql(
            "INSERT INTO reader_ask (id, shop_id, request_id, person_id, digest, asked_by, \
                 asked_at) VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING",
            [
                store.new_id().into(),
                request.shop_id.into(),
                request.id.into(),
                person.into(),
                request.digest.clone().into(),
                asked_by.into(),
                store.now().into(),
            ],
        ))
        .await?;
    if new.rows_affected() == 0 {
        return Ok(false);
    }
    if by_mail {
        mail(store, txn, request, person, "second_read_asked", json!({})).await?;
    }
    Ok(true)
}

/// Answers somebody's open ask, if there is one; says whether there was.
pub(super) async fn answer<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    request_id: Uuid,
    person: Uuid,
    answer: &str,
    reason: &str,
) -> Result<bool, StoreError> {
    let answered = txn
        .execute_raw(sql(
            "UPDATE reader_ask SET answer = $3, reason = $4, answered_at = $5 \
             WHERE request_id = $1 AND person_id = $2 AND answer IS NULL",
            [request_id.into(), person.into(), answer.into(), reason.into(), now.into()],
        ))
        .await?;
    Ok(answered.rows_affected() > 0)
}

/// Notes that somebody gave a request back without reading it, which is as good as a no.
pub(super) async fn gave_back<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    person: Uuid,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "INSERT INTO reader_ask (id, shop_id, request_id, person_id, digest, asked_at, answer, \
             answered_at, reason) VALUES ($1, $2, $3, $4, $5, $6, 'declined', $6, $7)",
        [
            store.new_id().into(),
            request.shop_id.into(),
            request.id.into(),
            person.into(),
            request.digest.clone().into(),
            store.now().into(),
            "Gave it back unread.".into(),
        ],
    ))
    .await?;
    Ok(())
}

/// Whether somebody who was asked is still to answer.
pub(super) async fn open<C: ConnectionTrait>(
    conn: &C,
    request_id: Uuid,
) -> Result<bool, StoreError> {
    let open = conn
        .query_one_raw(sql(
            "SELECT 1 FROM reader_ask WHERE request_id = $1 AND answer IS NULL LIMIT 1",
            [request_id.into()],
        ))
        .await?;
    Ok(open.is_some())
}

/// Who was asked and is still to answer.
pub(super) async fn open_of<C: ConnectionTrait>(
    conn: &C,
    request_id: Uuid,
) -> Result<BTreeSet<Uuid>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        person_id: Uuid,
    }
    let open = Row::find_by_statement(sql(
        "SELECT person_id FROM reader_ask WHERE request_id = $1 AND answer IS NULL",
        [request_id.into()],
    ))
    .all(conn)
    .await?;
    Ok(open.into_iter().map(|row| row.person_id).collect())
}

/// Lets every open ask on a request lapse.
pub(super) async fn lapse<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    request_id: Uuid,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE reader_ask SET answer = 'lapsed', answered_at = $2 \
         WHERE request_id = $1 AND answer IS NULL",
        [request_id.into(), now.into()],
    ))
    .await?;
    Ok(())
}

#[derive(FromQueryResult)]
struct Row {
    request_id: Uuid,
    person_id: Uuid,
    person_name: String,
    asked_by: Option<Uuid>,
    asked_by_name: Option<String>,
    asked_at: DateTime<Utc>,
    answer: Option<String>,
    answered_at: Option<DateTime<Utc>>,
    reason: String,
}

/// Every ask on these requests, oldest first.
pub(super) async fn list_of_requests<C: ConnectionTrait>(
    conn: &C,
    request_ids: &[Uuid],
) -> Result<Vec<Ask>, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT reader_ask.*, person.name AS person_name, asker.name AS asked_by_name \
         FROM reader_ask JOIN person ON person.id = reader_ask.person_id \
         LEFT JOIN person AS asker ON asker.id = reader_ask.asked_by \
         WHERE reader_ask.request_id = ANY($1) ORDER BY reader_ask.asked_at, reader_ask.id",
        [request_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Ask {
            request_id: row.request_id,
            person: Named { id: row.person_id, name: row.person_name },
            asked_by: row.asked_by.zip(row.asked_by_name).map(|(id, name)| Named { id, name }),
            asked_at: row.asked_at,
            answer: row.answer,
            answered_at: row.answered_at,
            reason: row.reason,
        })
        .collect())
}

/// Asks somebody to answer for the money.
pub(super) async fn ask_approver<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    people: &People,
    person: Uuid,
    by_mail: bool,
) -> Result<(), StoreError> {
    let Some(approver) = people.all.iter().find(|one| one.id == person).filter(|_| by_mail) else {
        return Ok(());
    };
    let sees = gate::claim_visible_to(&request.gate, &approver.person(request));
    let how = if sees { PROOF_AT_ONCE } else { PROOF_ASIDE };
    mail(store, txn, request, person, "approval_asked", json!({ "how": how })).await
}

/// Tells the managers who see the claim that the blind read names something else.
pub(super) async fn tell_of_difference<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
) -> Result<Vec<Uuid>, StoreError> {
    let people = People::of(txn, store.now(), request.shop_id, &[request]).await?;
    let managers = people.all.iter().filter(|one| {
        one.manages()
            && one.id != request.requester.id
            && gate::claim_visible_to(&request.gate, &one.person(request))
    });
    let mut told = Vec::new();
    for manager in managers {
        mail(store, txn, request, manager.id, "read_differs", json!({})).await?;
        told.push(manager.id);
    }
    Ok(told)
}

/// Tells the requester how it ended.
pub(super) async fn tell_requester<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    decision: gate::State,
) -> Result<(), StoreError> {
    let more = json!({ "decision": decision.id() });
    mail(store, txn, request, request.requester.id, "request_decided", more).await
}

/// Tells somebody about a request by mail.
pub(super) async fn mail<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    to_person: Uuid,
    template: &str,
    more: Value,
) -> Result<(), StoreError> {
    let mut data = json!({
        "request_id": request.id,
        "job_id": request.job_id,
        "job_number": request.job_number,
        "unit_label": request.unit_label,
    });
    if let (Value::Object(data), Value::Object(more)) = (&mut data, more) {
        data.extend(more);
    }
    let payload = json!({ "to_person": to_person, "template": template, "data": data });
    outbox::put(txn, store, request.shop_id, "mail", &payload, store.now()).await?;
    Ok(())
}
