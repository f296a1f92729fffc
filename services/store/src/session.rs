//! Sessions: signing in, refreshing, listing, ending; and the lock-out on guessing.
//!
//! Belongs here: refresh tokens and their reuse, tries per address of mail. Does not belong
//! here: access tokens and cookies (HTTP's), tries per network address (HTTP's).
//!
//! A refresh token is good once. When a used one comes back, two parties hold copies, and the
//! session ends for both.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::{
    ColumnTrait as _, ConnectionTrait, EntityTrait as _, FromQueryResult, QueryFilter as _,
};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::entity::person as person_row;
use crate::error::StoreError;
use crate::person::{self, Caller, Person, qualifications_from, roles_from};
use crate::text::sha256_hex;
use crate::{live_feed, outbox, password};

/// A session ends this long after its last refresh.
pub const SESSION_DAYS: i64 = 30;

/// Wrong passwords for one address within [`WRONG_WINDOW_MIN`] before it is locked.
pub const WRONG_MAX: usize = 5;

/// The window in which wrong passwords are counted.
pub const WRONG_WINDOW_MIN: i64 = 15;

/// How long an address stays locked; even the right password is refused meanwhile.
pub const LOCKED_MIN: i64 = 15;

/// Two tabs that refresh at once both send the same token. Within this time the second is
/// taken for that, and gets no token of its own; after it, for a copy.
const REUSE_GRACE_S: i64 = 10;

/// Characters kept of what the browser says it is.
const AGENT_CHARS_MAX: usize = 200;

/// A session that has just begun or been refreshed.
#[derive(Clone, Debug)]
pub struct Opened {
    /// The session.
    pub session_id: Uuid,
    /// Whose.
    pub person: Person,
    /// The new refresh token; none for the second of two tabs that refreshed at once.
    pub refresh_token: Option<String>,
}

/// A session as listed.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Listed {
    /// Id.
    pub id: Uuid,
    /// Whose.
    pub person_id: Uuid,
    /// Their name.
    pub person_name: String,
    /// When it began.
    pub created_at: DateTime<Utc>,
    /// When it was last refreshed.
    pub seen_at: DateTime<Utc>,
    /// When it ends unless refreshed.
    pub expires_at: DateTime<Utc>,
    /// What the browser says it is.
    pub agent: String,
}

/// Signs a person in.
///
/// # Errors
/// `NotSignedIn` without saying which of the two was wrong, `TooMany` when the address is
/// locked, or the database fails.
pub async fn sign_in(
    store: &Store,
    email: &str,
    password: &str,
    agent: &str,
    address: &str,
) -> Result<Opened, StoreError> {
    let email_lower = email.trim().to_lowercase();
    let attempt = attempt_note(store, &email_lower, address).await?;
    let found = person_row::Entity::find()
        .filter(person_row::Column::Active.eq(true))
        .filter(sea_orm::sea_query::Expr::cust("guest_link IS NULL"))
        .filter(sea_orm::sea_query::Expr::cust_with_values(
            "lower(email) = lower($1)",
            [email.trim().to_owned()],
        ))
        .one(store.conn())
        .await?;
    let hash = found.as_ref().map(|row| row.password_hash.clone());
    let right = password::verify(password, hash).await?;

    let Some(row) = found.filter(|_| right) else {
        attempt_refused(store, &email_lower).await?;
        return Err(StoreError::NotSignedIn {
            says: format!(
                "The e-mail address or the password is wrong. After {WRONG_MAX} wrong tries the \
                 address is locked for {LOCKED_MIN} minutes."
            ),
        });
    };
    let person = person::from_row(row);
    let txn = store.begin().await?;
    txn.execute_raw(sql("UPDATE signin_attempt SET ok = true WHERE id = $1", [attempt.into()]))
        .await?;
    let opened = open_in_txn(&txn, store, person, agent).await?;
    txn.commit().await?;
    Ok(opened)
}

async fn open_in_txn<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    person: Person,
    agent: &str,
) -> Result<Opened, StoreError> {
    let now = store.now();
    let session_id = store.new_id();
    let refresh_token = store.ambient().generator.token();
    txn.execute_raw(sql(
        "INSERT INTO session (id, shop_id, person_id, created_at, seen_at, agent, refresh_hash, \
         refreshed_at, expires_at) VALUES ($1, $2, $3, $4, $4, $5, $6, $4, $7)",
        [
            session_id.into(),
            person.shop_id.into(),
            person.id.into(),
            now.into(),
            agent_kept(agent).into(),
            sha256_hex(&refresh_token).into(),
            (now + TimeDelta::days(SESSION_DAYS)).into(),
        ],
    ))
    .await?;
    Ok(Opened { session_id, person, refresh_token: Some(refresh_token) })
}

/// Opens a session for a guest, which ends with their link and is never refreshed. Gives the
/// token that stands for it.
pub(crate) async fn open_for_guest<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    person_id: Uuid,
    agent: &str,
    expires_at: DateTime<Utc>,
) -> Result<String, StoreError> {
    let now = store.now();
    let token = store.ambient().generator.token();
    txn.execute_raw(sql(
        "INSERT INTO session (id, shop_id, person_id, created_at, seen_at, agent, refresh_hash, \
         refreshed_at, expires_at) VALUES ($1, $2, $3, $4, $4, $5, $6, $4, $7)",
        [
            store.new_id().into(),
            shop_id.into(),
            person_id.into(),
            now.into(),
            agent_kept(agent).into(),
            sha256_hex(&token).into(),
            expires_at.into(),
        ],
    ))
    .await?;
    Ok(token)
}

fn agent_kept(agent: &str) -> String {
    agent.chars().filter(|char| !char.is_control()).take(AGENT_CHARS_MAX).collect()
}

/// Notes a try before the password is looked at, so that many at once cannot slip past the
/// count; a right one is marked so afterwards.
async fn attempt_note(store: &Store, email_lower: &str, address: &str) -> Result<i64, StoreError> {
    #[derive(FromQueryResult)]
    struct Id {
        id: i64,
    }
    let now = store.now();
    let txn = store.begin().await?;
    txn.execute_raw(sql(
        "SELECT pg_advisory_xact_lock(hashtextextended($1, 0))",
        [email_lower.into()],
    ))
    .await?;
    if let Some(until) = locked_until(&txn, email_lower, now).await? {
        let wait = until - now;
        return Err(StoreError::TooMany {
            says: format!(
                "There were {WRONG_MAX} wrong passwords for this address, so it is locked. Try \
                 again in {} min.",
                (wait.num_seconds() + 59) / 60
            ),
            retry_after_s: u64::try_from(wait.num_seconds()).unwrap_or(0) + 1,
        });
    }
    let row = Id::find_by_statement(sql(
        "INSERT INTO signin_attempt (email_lower, address, at, ok) VALUES ($1, $2, $3, false) \
         RETURNING id",
        [email_lower.into(), address.into(), now.into()],
    ))
    .one(&txn)
    .await?
    .ok_or(StoreError::Unavailable { what: "the database", source: None })?;
    txn.commit().await?;
    Ok(row.id)
}

/// Until when an address is locked, if it is.
async fn locked_until<C: ConnectionTrait>(
    conn: &C,
    email_lower: &str,
    now: DateTime<Utc>,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    #[derive(FromQueryResult)]
    struct Wrong {
        at: DateTime<Utc>,
    }
    let wrong = Wrong::find_by_statement(sql(
        "SELECT at FROM signin_attempt WHERE email_lower = $1 AND NOT ok AND at > coalesce( \
           (SELECT max(at) FROM signin_attempt WHERE email_lower = $1 AND ok), '-infinity') \
         ORDER BY at DESC LIMIT $2",
        [email_lower.into(), i64::try_from(WRONG_MAX).unwrap_or(i64::MAX).into()],
    ))
    .all(conn)
    .await?;
    let (Some(newest), Some(oldest)) = (wrong.first(), wrong.get(WRONG_MAX - 1)) else {
        return Ok(None);
    };
    let until = newest.at + TimeDelta::minutes(LOCKED_MIN);
    let locked = newest.at - oldest.at <= TimeDelta::minutes(WRONG_WINDOW_MIN) && now < until;
    Ok(locked.then_some(until))
}

/// Tells a person, once, when their address has just been locked.
async fn attempt_refused(store: &Store, email_lower: &str) -> Result<(), StoreError> {
    let now = store.now();
    let Some(until) = locked_until(store.conn(), email_lower, now).await? else {
        return Ok(());
    };
    let found = person_row::Entity::find()
        .filter(person_row::Column::Active.eq(true))
        .filter(sea_orm::sea_query::Expr::cust("guest_link IS NULL"))
        .filter(sea_orm::sea_query::Expr::cust_with_values(
            "lower(email) = $1",
            [email_lower.to_owned()],
        ))
        .one(store.conn())
        .await?;
    if let Some(row) = found {
        let payload = json!({
            "to_person": row.id,
            "template": "signin_locked",
            "data": { "tries": WRONG_MAX, "minutes": LOCKED_MIN, "until": until },
        });
        let txn = store.begin().await?;
        outbox::put(&txn, store, row.shop_id, "mail", &payload, now).await?;
        txn.commit().await?;
    }
    Ok(())
}

/// Trades a refresh token for the next one.
///
/// # Errors
/// `NotSignedIn` when the token is unknown, over, or was used before; in the last case the
/// session has ended. Or the database fails.
pub async fn refresh(store: &Store, refresh_token: &str) -> Result<Opened, StoreError> {
    #[derive(FromQueryResult)]
    struct Found {
        id: Uuid,
        shop_id: Uuid,
        person_id: Uuid,
    }
    let now = store.now();
    let presented = sha256_hex(refresh_token);
    let next = store.ambient().generator.token();
    let txn = store.begin().await?;
    let rotated = Found::find_by_statement(sql(
        "UPDATE session SET refresh_hash = $2, refreshed_at = $3, seen_at = $3, expires_at = $4 \
         WHERE refresh_hash = $1 AND revoked_at IS NULL AND expires_at > $3 \
             AND NOT EXISTS (SELECT FROM person \
                 WHERE person.id = session.person_id AND guest_link IS NOT NULL) \
         RETURNING id, shop_id, person_id",
        [
            presented.clone().into(),
            sha256_hex(&next).into(),
            now.into(),
            (now + TimeDelta::days(SESSION_DAYS)).into(),
        ],
    ))
    .one(&txn)
    .await?;
    if let Some(found) = rotated {
        txn.execute_raw(sql(
            "INSERT INTO refresh_used (refresh_hash, session_id, at) VALUES ($1, $2, $3)",
            [presented.into(), found.id.into(), now.into()],
        ))
        .await?;
        let person = active_person(&txn, found.shop_id, found.person_id).await?;
        txn.commit().await?;
        return Ok(Opened { session_id: found.id, person, refresh_token: Some(next) });
    }

    #[derive(FromQueryResult)]
    struct Used {
        session_id: Uuid,
        shop_id: Uuid,
        person_id: Uuid,
        at: DateTime<Utc>,
    }
    let used = Used::find_by_statement(sql(
        "SELECT session_id, shop_id, person_id, at FROM refresh_used \
         JOIN session ON session.id = session_id \
         WHERE refresh_used.refresh_hash = $1 AND revoked_at IS NULL AND expires_at > $2",
        [presented.into(), now.into()],
    ))
    .one(&txn)
    .await?;
    let Some(used) = used else {
        return Err(over());
    };
    if now - used.at <= TimeDelta::seconds(REUSE_GRACE_S) {
        let person = active_person(&txn, used.shop_id, used.person_id).await?;
        return Ok(Opened { session_id: used.session_id, person, refresh_token: None });
    }
    revoke_in_txn(&txn, store, used.shop_id, used.session_id).await?;
    txn.commit().await?;
    tracing::warn!(session = %used.session_id, "a used refresh token came back; the session ended");
    Err(StoreError::NotSignedIn {
        says: "This session was used from two places, so it has ended. Sign in again; if it was \
               not you, change your password."
            .to_owned(),
    })
}

async fn active_person<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    person_id: Uuid,
) -> Result<Person, StoreError> {
    let person = person::person_find(conn, shop_id, person_id).await?;
    if person.active { Ok(person) } else { Err(over()) }
}

fn over() -> StoreError {
    StoreError::NotSignedIn { says: "This session is over. Sign in again.".to_owned() }
}

/// The caller of a session that still stands, with the roles of now.
///
/// # Errors
/// `NotSignedIn` when it was revoked or has ended, or the database fails.
pub async fn caller_find(store: &Store, session_id: Uuid) -> Result<Caller, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        person_id: Uuid,
        shop_id: Uuid,
        roles: Vec<String>,
        qualifications: Vec<String>,
    }
    let row = Row::find_by_statement(sql(
        "SELECT person.id AS person_id, person.shop_id, roles, qualifications \
         FROM session JOIN person ON person.id = session.person_id \
         WHERE session.id = $1 AND revoked_at IS NULL AND expires_at > $2 AND active \
             AND person.guest_link IS NULL",
        [session_id.into(), store.now().into()],
    ))
    .one(store.conn())
    .await?
    .ok_or_else(over)?;
    Ok(Caller {
        person_id: row.person_id,
        shop_id: row.shop_id,
        roles: roles_from(&row.roles),
        qualifications: qualifications_from(&row.qualifications),
        session_id,
        guest: None,
    })
}

/// Which of these sessions let nobody in any more: ended, run out, or their person let go, or
/// the link that a guest came by.
///
/// # Errors
/// When the database fails.
pub async fn ended_of(store: &Store, session_ids: &[Uuid]) -> Result<Vec<Uuid>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
    }
    let asked: Vec<_> = session_ids.iter().map(|id| json!({ "id": id })).collect();
    let rows = Row::find_by_statement(sql(
        "SELECT asked.id FROM jsonb_to_recordset($1) AS asked (id uuid) \
         WHERE NOT EXISTS (SELECT FROM session JOIN person ON person.id = session.person_id \
             LEFT JOIN guest_link AS link ON link.id = person.guest_link \
             WHERE session.id = asked.id AND session.revoked_at IS NULL \
                 AND session.expires_at > $2 AND active \
                 AND (link.id IS NULL OR link.revoked_at IS NULL AND link.expires_at > $2))",
        [serde_json::Value::Array(asked).into(), store.now().into()],
    ))
    .all(store.conn())
    .await?;
    Ok(rows.into_iter().map(|row| row.id).collect())
}

/// The sessions that stand: the caller's own, or everybody's for those who manage.
///
/// # Errors
/// When the database fails.
pub async fn list(store: &Store, caller: &Caller) -> Result<Vec<Listed>, StoreError> {
    Ok(Listed::find_by_statement(sql(
        "SELECT session.id, person_id, person.name AS person_name, session.created_at, seen_at, \
         expires_at, agent FROM session JOIN person ON person.id = session.person_id \
         WHERE session.shop_id = $1 AND (person_id = $2 OR $3) AND revoked_at IS NULL \
         AND expires_at > $4 AND person.guest_link IS NULL ORDER BY seen_at DESC, session.id",
        [
            caller.shop_id.into(),
            caller.person_id.into(),
            caller.manages().into(),
            store.now().into(),
        ],
    ))
    .all(store.conn())
    .await?)
}

/// Ends a session: an own one, or anybody's in the shop for those who manage.
///
/// # Errors
/// `NotFound` where it is neither or has ended, or the database fails.
pub async fn revoke(store: &Store, caller: &Caller, id: Uuid) -> Result<(), StoreError> {
    let txn = store.begin().await?;
    let theirs = txn
        .query_one_raw(sql(
            "SELECT 1 FROM session WHERE id = $1 AND shop_id = $2 AND revoked_at IS NULL \
             AND (person_id = $3 OR $4) FOR UPDATE",
            [id.into(), caller.shop_id.into(), caller.person_id.into(), caller.manages().into()],
        ))
        .await?;
    if theirs.is_none() {
        return Err(StoreError::NotFound { what: "session" });
    }
    revoke_in_txn(&txn, store, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(())
}

/// Signs out: ends the session that a refresh token belongs to, if there is one.
///
/// # Errors
/// When the database fails.
pub async fn end(store: &Store, refresh_token: &str) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Found {
        id: Uuid,
        shop_id: Uuid,
    }
    let txn = store.begin().await?;
    let found = Found::find_by_statement(sql(
        "SELECT id, shop_id FROM session WHERE refresh_hash = $1 AND revoked_at IS NULL FOR UPDATE",
        [sha256_hex(refresh_token).into()],
    ))
    .one(&txn)
    .await?;
    if let Some(found) = found {
        revoke_in_txn(&txn, store, found.shop_id, found.id).await?;
        txn.commit().await?;
    }
    Ok(())
}

/// Ends every session of a person but one.
pub(crate) async fn revoke_all_of<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    person_id: Uuid,
    keep: Option<Uuid>,
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Found {
        id: Uuid,
    }
    let standing = Found::find_by_statement(sql(
        "SELECT id FROM session WHERE person_id = $1 AND revoked_at IS NULL",
        [person_id.into()],
    ))
    .all(txn)
    .await?;
    for session in standing.into_iter().filter(|session| Some(session.id) != keep) {
        revoke_in_txn(txn, store, shop_id, session.id).await?;
    }
    Ok(())
}

async fn revoke_in_txn<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    id: Uuid,
) -> Result<(), StoreError> {
    let now = store.now();
    txn.execute_raw(sql(
        "UPDATE session SET revoked_at = $2 WHERE id = $1",
        [id.into(), now.into()],
    ))
    .await?;
    live_feed::announce(txn, now, shop_id, "session_revoked", id, json!({})).await
}

/// Forgets tries and used tokens that no rule asks about any more.
///
/// # Errors
/// When the database fails.
pub async fn forget_old(store: &Store) -> Result<(), StoreError> {
    let now = store.now();
    let conn = store.conn();
    conn.execute_raw(sql(
        "DELETE FROM signin_attempt WHERE at < $1",
        [(now - TimeDelta::days(1)).into()],
    ))
    .await?;
    conn.execute_raw(sql(
        "DELETE FROM refresh_used WHERE at < $1",
        [(now - TimeDelta::days(SESSION_DAYS)).into()],
    ))
    .await?;
    Ok(())
}
