//! Coming in by a link: what it is for, a code to an address, a session.
//!
//! Belongs here: the way from a token to a session, with its limits. Does not belong here:
//! cookies and limits per network address, which are HTTP's.
//!
//! Holding the link is not enough: whoever signs must be reachable at an address that they
//! name. The code is short, so it is good once, for minutes, for a few tries.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait as _, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{announce, note};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::text::{Faults, sha256_hex};
use crate::{outbox, session};

/// How long a code is good, minutes; after that another is asked for.
pub const CODE_MIN: i64 = 10;

/// Wrong tries that a code takes; after that another is asked for.
pub const CODE_TRIES_MAX: i32 = 5;

/// Codes that one link sends within an hour; one more is refused until the hour has passed.
pub const CODES_PER_HOUR_MAX: i64 = 5;

/// Digits of a code.
const CODE_DIGITS: u32 = 6;

/// Longest name or licence number.
const LINE_CHARS_MAX: usize = 120;

/// What a link is for; nothing of the case itself.
#[derive(Clone, Debug)]
pub struct Invitation {
    /// The shop's name.
    pub shop_name: String,
    /// Who made the link.
    pub invited_by: String,
    /// When it ends.
    pub expires_at: DateTime<Utc>,
    /// Whether somebody came by it already; then only the same address comes again.
    pub opened: bool,
}

/// A guest who is in.
#[derive(Clone, Debug)]
pub struct Entered {
    /// The session's token, for a cookie.
    pub token: String,
    /// When the session ends: with the link.
    pub expires_at: DateTime<Utc>,
}

#[derive(FromQueryResult)]
struct LinkRow {
    id: Uuid,
    shop_id: Uuid,
    shop_name: String,
    request_id: Uuid,
    job_id: Uuid,
    invited_by: String,
    expires_at: DateTime<Utc>,
    guest_id: Option<Uuid>,
    guest_email: Option<String>,
}

/// What the link of a token is for.
///
/// # Errors
/// `NotSignedIn` for a token that is unknown, or whose link has ended.
pub async fn invitation_of(store: &Store, token: &str) -> Result<Invitation, StoreError> {
    let link = link_of(store, token).await?;
    Ok(Invitation {
        shop_name: link.shop_name,
        invited_by: link.invited_by,
        expires_at: link.expires_at,
        opened: link.guest_id.is_some(),
    })
}

/// Sends a code to the address that a guest gives.
///
/// # Errors
/// `NotSignedIn` as above, `InvalidMany`, `Conflict` where the link is somebody else's,
/// `TooMany` codes.
pub async fn code_send(
    store: &Store,
    token: &str,
    name: &str,
    licence: &str,
    email: &str,
) -> Result<(), StoreError> {
    let link = link_of(store, token).await?;
    let mut faults = Faults::default();
    let name = faults.text("/name", name, LINE_CHARS_MAX);
    let licence = faults.text("/licence", licence, LINE_CHARS_MAX);
    let email = faults.email("/email", email);
    faults.done()?;
    if link.guest_email.as_ref().is_some_and(|known| !known.eq_ignore_ascii_case(&email)) {
        return Err(link_taken());
    }
    let now = store.now();
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM guest_link WHERE id = $1 FOR UPDATE", [link.id.into()]))
        .await?;
    // Before a code is sent, not after it was typed in: a colleague signs in.
    let staff = txn
        .query_one_raw(sql(
            "SELECT 1 FROM person WHERE shop_id = $1 AND guest_link IS NULL \
             AND lower(email) = lower($2) LIMIT 1",
            [link.shop_id.into(), email.clone().into()],
        ))
        .await?;
    if staff.is_some() {
        return Err(is_staff());
    }
    let sent = txn
        .execute_raw(sql(
            "SELECT 1 FROM guest_code WHERE link_id = $1 AND sent_at > $2",
            [link.id.into(), (now - TimeDelta::hours(1)).into()],
        ))
        .await?;
    if i64::try_from(sent.rows_affected()).unwrap_or(i64::MAX) >= CODES_PER_HOUR_MAX {
        return Err(StoreError::TooMany {
            says: format!(
                "{CODES_PER_HOUR_MAX} codes were sent for this link within an hour. Look into \
                 that mail, or try again later."
            ),
            retry_after_s: 3_600,
        });
    }
    let (id, code) = (store.new_id(), code_new(store));
    txn.execute_raw(sql(
        "INSERT INTO guest_code (id, link_id, name, licence, email, code_hash, sent_at, \
             expires_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        [
            id.into(),
            link.id.into(),
            name.into(),
            licence.into(),
            email.clone().into(),
            code_hash(id, &code).into(),
            now.into(),
            (now + TimeDelta::minutes(CODE_MIN)).into(),
        ],
    ))
    .await?;
    let payload = json!({
        "to_email": email,
        "template": "guest_code",
        "data": { "code": code, "minutes": CODE_MIN, "invited_by": link.invited_by },
    });
    outbox::put(&txn, store, link.shop_id, "mail", &payload, now).await?;
    txn.commit().await?;
    Ok(())
}

/// Takes the code that was sent last, and opens a session.
///
/// # Errors
/// `NotSignedIn` as above, `Invalid` for a wrong code or one that is over, `Conflict` where the
/// link or the request has that guest already.
pub async fn code_verify(
    store: &Store,
    token: &str,
    code: &str,
    agent: &str,
) -> Result<Entered, StoreError> {
    #[derive(FromQueryResult)]
    struct Sent {
        id: Uuid,
        name: String,
        licence: String,
        email: String,
        code_hash: String,
    }
    let link = link_of(store, token).await?;
    let now = store.now();
    // The try is counted before it is looked at, and whatever becomes of it.
    let sent = Sent::find_by_statement(sql(
        "UPDATE guest_code SET attempts = attempts + 1 WHERE id = (SELECT id FROM guest_code \
             WHERE link_id = $1 ORDER BY sent_at DESC, id DESC LIMIT 1) \
         AND used_at IS NULL AND expires_at > $2 AND attempts < $3 \
         RETURNING id, name, licence, email, code_hash",
        [link.id.into(), now.into(), CODE_TRIES_MAX.into()],
    ))
    .one(store.conn())
    .await?
    .ok_or_else(|| {
        StoreError::invalid(
            "/code",
            format!(
                "This code is used, older than {CODE_MIN} minutes, or was tried \
                 {CODE_TRIES_MAX} times. Ask for another."
            ),
        )
    })?;
    if sent.code_hash != code_hash(sent.id, code.trim()) {
        let says = "This is not the code that was sent last. Look at the newest mail.";
        return Err(StoreError::invalid("/code", says));
    }

    let txn = store.begin().await?;
    // A link that is being ended waits here, or this for it.
    txn.execute_raw(sql("SELECT 1 FROM guest_link WHERE id = $1 FOR UPDATE", [link.id.into()]))
        .await?;
    let used = txn
        .execute_raw(sql(
            "UPDATE guest_code SET used_at = $2 WHERE id = $1 AND used_at IS NULL",
            [sent.id.into(), now.into()],
        ))
        .await?;
    if used.rows_affected() == 0 {
        return Err(StoreError::invalid("/code", "This code was used a moment ago."));
    }
    let link = link_of(store, token).await?;
    let person_id = match link.guest_id {
        Some(known) => known,
        None => {
            let id = store.new_id();
            txn.execute_raw(sql(
                "INSERT INTO person (id, shop_id, email, name, password_hash, roles, licence, \
                     guest_link, created_at) VALUES ($1, $2, $3, $4, '-', '{}', $5, $6, $7)",
                [
                    id.into(),
                    link.shop_id.into(),
                    sent.email.clone().into(),
                    sent.name.into(),
                    sent.licence.into(),
                    link.id.into(),
                    now.into(),
                ],
            ))
            .await
            .map_err(|error| {
                by_constraint(
                    error,
                    &[
                        ("guest_is_staff", &is_staff),
                        ("guest_again", &|| {
                            StoreError::conflict(
                                "guest-again",
                                "You have been a guest on this request already, by another link.",
                            )
                        }),
                        ("person_guest_key", &link_taken),
                        ("guest_link_over", &over),
                    ],
                )
            })?;
            let body = json!({ "link": link.id });
            let kind = "guest_verified";
            note(store, &txn, link.shop_id, link.request_id, Some(id), kind, body).await?;
            announce(&txn, now, link.shop_id, link.request_id, link.job_id).await?;
            id
        }
    };
    if link.guest_email.as_ref().is_some_and(|known| !known.eq_ignore_ascii_case(&sent.email)) {
        return Err(link_taken());
    }
    let ends = link.expires_at;
    let session_token =
        session::open_for_guest(&txn, store, link.shop_id, person_id, agent, ends).await?;
    txn.commit().await?;
    Ok(Entered { token: session_token, expires_at: ends })
}

async fn link_of(store: &Store, token: &str) -> Result<LinkRow, StoreError> {
    LinkRow::find_by_statement(sql(
        "SELECT guest_link.id, guest_link.shop_id, shop.name AS shop_name, \
             guest_link.request_id, guest_link.job_id, maker.name AS invited_by, \
             guest_link.expires_at, guest.id AS guest_id, guest.email AS guest_email \
         FROM guest_link JOIN shop ON shop.id = guest_link.shop_id \
         JOIN person AS maker ON maker.id = guest_link.made_by \
         LEFT JOIN person AS guest ON guest.guest_link = guest_link.id \
         WHERE guest_link.token_hash = $1 AND guest_link.revoked_at IS NULL \
             AND guest_link.expires_at > $2",
        [sha256_hex(token.trim()).into(), store.now().into()],
    ))
    .one(store.conn())
    .await?
    .ok_or_else(over)
}

fn over() -> StoreError {
    StoreError::NotSignedIn {
        says: "This link is not one of ours, or has ended. Ask whoever sent it for another."
            .to_owned(),
    }
}

fn is_staff() -> StoreError {
    StoreError::conflict(
        "guest-is-staff",
        "That address is of somebody who works in this shop. A guest comes from outside; a \
         colleague signs in.",
    )
}

fn link_taken() -> StoreError {
    StoreError::conflict(
        "link-taken",
        "Somebody else has opened this link with another address; a link is for one person. Ask \
         for one of your own.",
    )
}

/// Even over all codes: 2^64 is so far above 10^6 that the remainder leans on none.
fn code_new(store: &Store) -> String {
    let mut random = [0; 8];
    store.ambient().generator.fill(&mut random);
    let code = u64::from_le_bytes(random) % 10u64.pow(CODE_DIGITS);
    format!("{code:0width$}", width = CODE_DIGITS as usize)
}

fn code_hash(id: Uuid, code: &str) -> String {
    sha256_hex(&format!("{id}/{code}"))
}
