//! Tickets: what lets a signed-in page open one websocket.
//!
//! Belongs here: giving and taking them. Does not belong here: origins and upgrades, which are
//! HTTP's. A browser cannot send an access token with a websocket, and a token in an address
//! ends in logs; a ticket is good once and for seconds, and only its hash is kept.

use chrono::TimeDelta;
use sea_orm::{ConnectionTrait, FromQueryResult};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;

/// How long a ticket is good; after that the page asks for another.
pub const TICKET_S: i64 = 30;

/// Whom a ticket was given to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Taken {
    /// The shop.
    pub shop_id: Uuid,
    /// The person.
    pub person_id: Uuid,
    /// The session it was asked for in. Whether that still stands is for the taker to ask.
    pub session_id: Uuid,
}

/// Gives the caller a ticket, and forgets all that have run out.
///
/// # Errors
/// When the database fails.
pub async fn give(store: &Store, caller: &Caller) -> Result<String, StoreError> {
    let now = store.now();
    let ticket = store.ambient().generator.token();
    store
        .conn()
        .execute_raw(sql("DELETE FROM live_ticket WHERE expires_at < $1", [now.into()]))
        .await?;
    store
        .conn()
        .execute_raw(sql(
            "INSERT INTO live_ticket (digest, shop_id, person_id, session_id, expires_at) \
             VALUES ($1, $2, $3, $4, $5)",
            [
                digest(&ticket).into(),
                caller.shop_id.into(),
                caller.person_id.into(),
                caller.session_id.into(),
                (now + TimeDelta::seconds(TICKET_S)).into(),
            ],
        ))
        .await?;
    Ok(ticket)
}

/// Takes a ticket: the first to ask gets it, nobody after.
///
/// # Errors
/// `NotSignedIn` for a ticket that is unknown, used or too old.
pub async fn take(store: &Store, ticket: &str) -> Result<Taken, StoreError> {
    Taken::find_by_statement(sql(
        "UPDATE live_ticket SET used_at = $2 \
         WHERE digest = $1 AND used_at IS NULL AND expires_at >= $2 \
         RETURNING shop_id, person_id, session_id",
        [digest(ticket).into(), store.now().into()],
    ))
    .one(store.conn())
    .await?
    .ok_or_else(|| StoreError::NotSignedIn {
        says: format!(
            "This ticket is unknown, was used, or is older than {TICKET_S} seconds. Ask for \
             another at /api/live/ticket and use it at once."
        ),
    })
}

fn digest(ticket: &str) -> String {
    Sha256::digest(ticket.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}
