//! Who is asked, and by mail.
//!
//! Belongs here: who may read and who may answer for the money among the shop's people, and
//! the outbox rows that tell them. Does not belong here: how a mail is worded and sent.
//!
//! No mail says what is claimed, what it costs or how the evidence was judged: it may be read
//! by someone who is about to read blind.

use chrono::{DateTime, Utc};
use engine::gate;
use roster::reader::{Asked, Candidate, readers};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Request, person_id};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::outbox;

/// One of the shop's active people.
#[derive(Clone, Debug, FromQueryResult)]
pub(super) struct Colleague {
    pub(super) id: Uuid,
    pub(super) name: String,
    roles: Vec<String>,
    qualifications: Vec<String>,
    open_reads: i64,
    last_asked_at: Option<DateTime<Utc>>,
}

impl Colleague {
    fn is(&self, role: &str) -> bool {
        self.roles.iter().any(|held| held == role)
    }

    /// As the gate knows them for a request.
    fn person(&self, request: &Request) -> gate::Person {
        gate::Person {
            id: person_id(self.id),
            technician: self.is("technician"),
            manager: self.is("service_manager") || self.is("owner"),
            qualified: request
                .qualification
                .as_ref()
                .is_none_or(|wanted| self.qualifications.contains(wanted)),
        }
    }

    pub(super) fn named(&self) -> Named {
        Named { id: self.id, name: self.name.clone() }
    }
}

/// The shop's active people.
pub(super) async fn colleagues<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
) -> Result<Vec<Colleague>, StoreError> {
    Ok(Colleague::find_by_statement(sql(
        "SELECT person.id, person.name, person.roles, person.qualifications, \
             (SELECT count(*) FROM condemn_request WHERE condemn_request.reader = person.id \
                 AND condemn_request.state IN ('reading', 'revealed')) AS open_reads, \
             (SELECT max(read_asked.at) FROM read_asked \
                 WHERE read_asked.person_id = person.id) AS last_asked_at \
         FROM person WHERE person.shop_id = $1 AND person.active ORDER BY person.name, person.id",
        [shop_id.into()],
    ))
    .all(conn)
    .await?)
}

/// Who may read a request, in the order in which they are asked, and who may not and why.
pub(super) fn readers_of(request: &Request, people: &[Colleague]) -> Asked<Uuid> {
    let rules = &request.gate;
    let candidates = people
        .iter()
        .map(|one| {
            let id = person_id(one.id);
            Candidate {
                id: one.id,
                active: true,
                technician: one.is("technician"),
                qualifications: one.qualifications.clone(),
                requester: id == rules.requester,
                took_reading: rules.reading_takers.contains(&id),
                stood_aside: rules.stood_aside.contains(&id),
                has_read: rules.has_read_current(id),
                open_reads: u32::try_from(one.open_reads).unwrap_or(u32::MAX),
                last_asked_at: one.last_asked_at,
            }
        })
        .collect();
    readers(candidates, request.qualification.as_deref())
}

/// Who may answer for the money.
pub(super) fn approvers_of(request: &Request, people: &[Colleague]) -> Vec<Named> {
    people
        .iter()
        .filter(|one| gate::could_approve(&request.gate, &one.person(request)))
        .map(Colleague::named)
        .collect()
}

/// Asks everyone who may read, once per body of evidence; returns whom.
pub(super) async fn ask_readers<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
) -> Result<Vec<Uuid>, StoreError> {
    let people = colleagues(txn, request.shop_id).await?;
    let mut asked = Vec::new();
    for person in readers_of(request, &people).asked {
        let new = txn
            .execute_raw(sql(
                "INSERT INTO read_asked (request_id, shop_id, person_id, digest, at) \
                 VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING",
                [
                    request.id.into(),
                    request.shop_id.into(),
                    person.into(),
                    request.digest.clone().into(),
                    store.now().into(),
                ],
            ))
            .await?;
        if new.rows_affected() == 1 {
            mail(store, txn, request, person, "second_read_asked", json!({})).await?;
            asked.push(person);
        }
    }
    Ok(asked)
}

/// Asks everyone who may answer for the money.
pub(super) async fn ask_approvers<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
) -> Result<Vec<Uuid>, StoreError> {
    let people = colleagues(txn, request.shop_id).await?;
    let approvers: Vec<Uuid> =
        approvers_of(request, &people).into_iter().map(|approver| approver.id).collect();
    for approver in &approvers {
        mail(store, txn, request, *approver, "approval_asked", json!({})).await?;
    }
    Ok(approvers)
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

async fn mail<C: ConnectionTrait>(
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
