//! Guest readers: a colleague from outside, by link, for one second read.
//!
//! Belongs here: who a guest's session is, what they stated, and their saying no. Does not
//! belong here: links ([`link`]), coming in by one ([`enter`]), what a guest is shown
//! ([`case`]), and what is taken out of every text for them ([`mask`]).
//!
//! A guest is a person of the shop without any role and with the link they came by. So the
//! gate, the triggers, the record and the thread treat them as the one more reader they are,
//! and everything that asks for a role is closed to them.

use chrono::{DateTime, Utc};
use engine::gate::State;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, GuestScope};
use crate::record::{self, Entry};
use crate::text::{Faults, sha256_hex};
use crate::{live_feed, request, session};

mod case;
mod enter;
mod link;
pub mod mask;

pub use case::{GuestCase, case_of};
pub use enter::{
    CODE_MIN, CODE_TRIES_MAX, CODES_PER_HOUR_MAX, Entered, Invitation, code_send, code_verify,
    invitation_of,
};
pub use link::{
    LINK_HOURS_MAX, LINK_HOURS_MIN, LINKS_STANDING_MAX, Link, LinkNew, link_list, link_make,
    link_revoke,
};

/// What a guest said of themselves; the address is verified.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stated {
    /// The person that stands for them.
    pub person_id: Uuid,
    /// Name.
    pub name: String,
    /// Licence number, as they state it; nobody has checked it.
    pub licence: String,
    /// Their address, to which a code was sent that they knew.
    pub email: String,
}

/// A guest says no: what they have taken goes back, and their link ends.
///
/// # Errors
/// `NotSignedIn` for whoever is no guest, `InvalidMany`, or the database fails.
pub async fn decline(store: &Store, caller: &Caller, reason: &str) -> Result<(), StoreError> {
    let Some(scope) = caller.guest else {
        return Err(StoreError::NotSignedIn { says: "This is for guests.".to_owned() });
    };
    let mut faults = Faults::default();
    let reason = faults.text("/reason", reason, request::NOTE_CHARS_MAX);
    faults.done()?;
    let me = caller.person_id;
    let seen = request::find(store.conn(), store.now(), caller.shop_id, scope.request_id).await?;
    let has_it = seen.reader.as_ref().is_some_and(|reader| reader.id == me);
    if has_it && matches!(seen.state, State::Reading | State::Revealed) {
        let step = request::Step::HandOn { note: reason.clone(), to: None };
        request::request_move(store, caller, scope.request_id, step).await?;
    }
    let txn = store.begin().await?;
    let now = store.now();
    txn.execute_raw(sql(
        "UPDATE guest_link SET revoked_at = $2 WHERE id = $1 AND revoked_at IS NULL",
        [scope.link_id.into(), now.into()],
    ))
    .await?;
    session::revoke_all_of(&txn, store, caller.shop_id, me, None).await?;
    let body = json!({ "link": scope.link_id, "reason": reason });
    let (shop_id, request_id) = (caller.shop_id, scope.request_id);
    note(store, &txn, shop_id, request_id, Some(me), "guest_declined", body).await?;
    announce(&txn, now, shop_id, request_id, scope.job_id).await?;
    txn.commit().await?;
    Ok(())
}

/// The guest of a session that still stands, on a link that does.
///
/// # Errors
/// `NotSignedIn` when either has ended, or the database fails.
pub async fn caller_by_token(store: &Store, token: &str) -> Result<Caller, StoreError> {
    caller_where(store, "session.refresh_hash = $1", sha256_hex(token).into()).await
}

/// Whoever a session is of, staff or guest, if it still stands.
///
/// # Errors
/// `NotSignedIn` when it has ended, or the database fails.
pub async fn anyone_by_session(store: &Store, session_id: Uuid) -> Result<Caller, StoreError> {
    match session::caller_find(store, session_id).await {
        Err(StoreError::NotSignedIn { .. }) => {
            caller_where(store, "session.id = $1", session_id.into()).await
        }
        other => other,
    }
}

async fn caller_where(
    store: &Store,
    condition: &str,
    value: sea_orm::Value,
) -> Result<Caller, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        session_id: Uuid,
        person_id: Uuid,
        shop_id: Uuid,
        link_id: Uuid,
        request_id: Uuid,
        job_id: Uuid,
    }
    let text = format!(
        "SELECT session.id AS session_id, person.id AS person_id, person.shop_id, \
             link.id AS link_id, link.request_id, link.job_id \
         FROM session JOIN person ON person.id = session.person_id \
         JOIN guest_link AS link ON link.id = person.guest_link \
         WHERE {condition} AND session.revoked_at IS NULL AND session.expires_at > $2 \
             AND link.revoked_at IS NULL AND link.expires_at > $2 AND person.active"
    );
    let row = Row::find_by_statement(sql(&text, [value, store.now().into()]))
        .one(store.conn())
        .await?
        .ok_or_else(|| StoreError::NotSignedIn {
            says: "This guest link has ended, or was not opened here. Open the link again; if it \
                   has ended, ask whoever sent it for another."
                .to_owned(),
        })?;
    Ok(Caller {
        person_id: row.person_id,
        shop_id: row.shop_id,
        roles: Vec::new(),
        qualifications: Vec::new(),
        session_id: row.session_id,
        guest: Some(GuestScope {
            link_id: row.link_id,
            request_id: row.request_id,
            job_id: row.job_id,
        }),
    })
}

/// What a guest is told whose link ended while they acted, or who reaches for another request.
pub(crate) fn out_of_bounds() -> StoreError {
    StoreError::forbidden(
        "A guest reads, signs and talks on the one request they were invited to, while the link \
         stands.",
    )
}

/// Whether the caller is a guest who has not read blind yet; the talk is kept from them.
pub(crate) async fn owes_read<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
) -> Result<bool, StoreError> {
    let Some(guest) = caller.guest else { return Ok(false) };
    let read = conn
        .query_one_raw(sql(
            "SELECT 1 FROM blind_read WHERE request_id = $1 AND reader = $2 LIMIT 1",
            [guest.request_id.into(), caller.person_id.into()],
        ))
        .await?;
    Ok(read.is_none())
}

/// What a guest stated, for the record beside their signature.
pub(crate) async fn stated<C: ConnectionTrait>(
    conn: &C,
    person_id: Uuid,
) -> Result<Value, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        name: String,
        licence: Option<String>,
        email: String,
    }
    let row = Row::find_by_statement(sql(
        "SELECT name, licence, email FROM person WHERE id = $1 AND guest_link IS NOT NULL",
        [person_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "guest" })?;
    Ok(json!({
        "name": row.name,
        "licence_as_stated": row.licence,
        "email_verified": row.email,
    }))
}

async fn note<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    request_id: Uuid,
    actor: Option<Uuid>,
    kind: &'static str,
    body: Value,
) -> Result<(), StoreError> {
    let subject_kind = "request";
    let entry = Entry { shop_id, actor, kind, subject_kind, subject_id: request_id, body };
    record::append(txn, store.now(), entry).await?;
    Ok(())
}

async fn announce<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    request_id: Uuid,
    job_id: Uuid,
) -> Result<(), StoreError> {
    let body = json!({ "job_id": job_id });
    live_feed::announce(txn, now, shop_id, "request", request_id, body).await
}
