//! Links for guests: made, listed, ended.
//!
//! Belongs here: one link's life. Does not belong here: coming in by it ([`super::enter`]).

use chrono::{DateTime, TimeDelta, Utc};
use engine::gate::State;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{Stated, announce, note};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::person::{Caller, Role};
use crate::text::{Faults, sha256_hex};
use crate::{outbox, session};

/// Shortest life of a link, hours.
pub const LINK_HOURS_MIN: i64 = 1;

/// Longest life of a link, hours; a second read that takes longer asks for another link.
pub const LINK_HOURS_MAX: i64 = 14 * 24;

/// Links on one request that stand at once; one more is refused.
pub const LINKS_STANDING_MAX: i64 = 5;

/// Longest line that says whom a link is meant for.
const MEANT_FOR_CHARS_MAX: usize = 120;

/// A link to make.
#[derive(Clone, Debug)]
pub struct LinkNew {
    /// For the shop's own list.
    pub meant_for: String,
    /// How long it is good.
    pub hours: i64,
    /// Where the service mails it to; whoever made it passes it on where absent.
    pub mail_to: Option<String>,
}

/// A link as listed.
#[derive(Clone, Debug)]
pub struct Link {
    /// Its id.
    pub id: Uuid,
    /// The request it is for.
    pub request_id: Uuid,
    /// Who made it.
    pub made_by: Named,
    /// For the shop's own list.
    pub meant_for: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it ends by itself.
    pub expires_at: DateTime<Utc>,
    /// When it was ended.
    pub revoked_at: Option<DateTime<Utc>>,
    /// Who came by it.
    pub guest: Option<Stated>,
}

/// Makes a link for one request and gives its token, which is shown once: only its hash is
/// kept.
///
/// # Errors
/// `NotFound`, `Forbidden` for whoever is neither technician nor manager, `Conflict` for a
/// request that is a draft, has ended or has links enough, `InvalidMany`.
pub async fn link_make(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
    new: LinkNew,
) -> Result<(Link, String), StoreError> {
    if !caller.is(Role::Technician) && !caller.manages() {
        return Err(StoreError::forbidden(
            "A technician or a manager invites a guest reader; ask one of them.",
        ));
    }
    let mut faults = Faults::default();
    let meant_for = faults.text_or_empty("/meant_for", &new.meant_for, MEANT_FOR_CHARS_MAX);
    if !(LINK_HOURS_MIN..=LINK_HOURS_MAX).contains(&new.hours) {
        let says = format!("A link is good for {LINK_HOURS_MIN} to {LINK_HOURS_MAX} hours.");
        faults.add("/hours", says);
    }
    let mail_to = new.mail_to.as_deref().map(|address| faults.email("/mail_to", address));
    faults.done()?;
    let txn = store.begin().await?;
    let about = request_about(&txn, caller, request_id).await?;
    must_be_open(&about)?;
    let (id, now) = (store.new_id(), store.now());
    let token = store.ambient().generator.token();
    let standing = txn
        .execute_raw(sql(
            "SELECT 1 FROM guest_link WHERE request_id = $1 AND revoked_at IS NULL \
             AND expires_at > $2",
            [request_id.into(), now.into()],
        ))
        .await?;
    if i64::try_from(standing.rows_affected()).unwrap_or(i64::MAX) >= LINKS_STANDING_MAX {
        return Err(StoreError::conflict(
            "too-many-links",
            format!("{LINKS_STANDING_MAX} links to this request stand; end one of them first."),
        ));
    }
    let expires_at = now + TimeDelta::hours(new.hours);
    txn.execute_raw(sql(
        "INSERT INTO guest_link (id, shop_id, request_id, job_id, made_by, token_hash, \
             meant_for, created_at, expires_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        [
            id.into(),
            caller.shop_id.into(),
            request_id.into(),
            about.job_id.into(),
            caller.person_id.into(),
            sha256_hex(&token).into(),
            meant_for.into(),
            now.into(),
            expires_at.into(),
        ],
    ))
    .await?;
    if let Some(to_email) = mail_to {
        // The worker forgets the token once the mail has left.
        let payload = json!({
            "to_email": to_email,
            "template": "guest_invited",
            "data": { "guest_token": token, "invited_by": about.maker, "hours": new.hours },
        });
        outbox::put(&txn, store, caller.shop_id, "mail", &payload, now).await?;
    }
    let body = json!({ "link": id, "expires_at": expires_at });
    note(store, &txn, caller.shop_id, request_id, Some(caller.person_id), "guest_link_made", body)
        .await?;
    announce(&txn, now, caller.shop_id, request_id, about.job_id).await?;
    txn.commit().await?;
    let link = link_find(store, caller, id).await?;
    Ok((link, token))
}

/// The links of a request, newest first.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn link_list(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
) -> Result<Vec<Link>, StoreError> {
    request_about(store.conn(), caller, request_id).await?;
    links(store.conn(), caller.shop_id, "guest_link.request_id = $2", request_id).await
}

/// Ends a link: for whoever made it, the requester, and managers. The guest's session and
/// sockets end with it.
///
/// # Errors
/// `NotFound`, `Forbidden`, or the database fails. Ending it twice is no error.
pub async fn link_revoke(store: &Store, caller: &Caller, id: Uuid) -> Result<Link, StoreError> {
    let link = link_find(store, caller, id).await?;
    let txn = store.begin().await?;
    let about = request_about(&txn, caller, link.request_id).await?;
    let theirs = link.made_by.id == caller.person_id || about.requester == caller.person_id;
    if !theirs && !caller.manages() {
        return Err(StoreError::forbidden(
            "Whoever made the link, the requester, or a manager ends it.",
        ));
    }
    let now = store.now();
    let ended = txn
        .execute_raw(sql(
            "UPDATE guest_link SET revoked_at = $2, revoked_by = $3 \
             WHERE id = $1 AND revoked_at IS NULL",
            [id.into(), now.into(), caller.person_id.into()],
        ))
        .await?;
    if ended.rows_affected() > 0 {
        if let Some(guest) = &link.guest {
            session::revoke_all_of(&txn, store, caller.shop_id, guest.person_id, None).await?;
        }
        let (by, kind) = (Some(caller.person_id), "guest_link_revoked");
        let body = json!({ "link": id });
        note(store, &txn, caller.shop_id, link.request_id, by, kind, body).await?;
        announce(&txn, now, caller.shop_id, link.request_id, about.job_id).await?;
    }
    txn.commit().await?;
    link_find(store, caller, id).await
}

#[derive(FromQueryResult)]
struct About {
    job_id: Uuid,
    requester: Uuid,
    state: String,
    /// The caller's name.
    maker: String,
}

/// The request as far as a link asks; a draft is its requester's alone.
async fn request_about<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    request_id: Uuid,
) -> Result<About, StoreError> {
    About::find_by_statement(sql(
        "SELECT job_id, requester, state, person.name AS maker FROM condemn_request \
         JOIN person ON person.id = $3 WHERE condemn_request.shop_id = $1 \
             AND condemn_request.id = $2 AND (state <> 'draft' OR requester = $3)",
        [caller.shop_id.into(), request_id.into(), caller.person_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "request" })
}

fn must_be_open(about: &About) -> Result<(), StoreError> {
    let state = State::from_id(&about.state);
    if state.is_some_and(|state| !state.ended() && state != State::Draft) {
        return Ok(());
    }
    Err(StoreError::conflict(
        "wrong-state",
        "A guest is invited to a request that is submitted and has not ended.",
    ))
}

async fn link_find(store: &Store, caller: &Caller, id: Uuid) -> Result<Link, StoreError> {
    let found = links(store.conn(), caller.shop_id, "guest_link.id = $2", id).await?;
    found.into_iter().next().ok_or(StoreError::NotFound { what: "link" })
}

#[derive(FromQueryResult)]
struct LinkRow {
    id: Uuid,
    request_id: Uuid,
    made_by: Uuid,
    made_by_name: String,
    meant_for: String,
    created_at: DateTime<Utc>,
    expires_at: DateTime<Utc>,
    revoked_at: Option<DateTime<Utc>>,
    guest_id: Option<Uuid>,
    guest_name: Option<String>,
    guest_licence: Option<String>,
    guest_email: Option<String>,
}

async fn links<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    condition: &str,
    id: Uuid,
) -> Result<Vec<Link>, StoreError> {
    let text = format!(
        "SELECT guest_link.id, guest_link.request_id, guest_link.made_by, \
             maker.name AS made_by_name, guest_link.meant_for, guest_link.created_at, \
             guest_link.expires_at, guest_link.revoked_at, guest.id AS guest_id, \
             guest.name AS guest_name, guest.licence AS guest_licence, \
             guest.email AS guest_email \
         FROM guest_link JOIN person AS maker ON maker.id = guest_link.made_by \
         LEFT JOIN person AS guest ON guest.guest_link = guest_link.id \
         WHERE guest_link.shop_id = $1 AND {condition} \
         ORDER BY guest_link.created_at DESC, guest_link.id DESC"
    );
    let rows = LinkRow::find_by_statement(sql(&text, [shop_id.into(), id.into()]));
    Ok(rows.all(conn).await?.into_iter().map(Link::from).collect())
}

impl From<LinkRow> for Link {
    fn from(row: LinkRow) -> Self {
        let guest = row.guest_id.zip(row.guest_name).zip(row.guest_email);
        Link {
            id: row.id,
            request_id: row.request_id,
            made_by: Named { id: row.made_by, name: row.made_by_name },
            meant_for: row.meant_for,
            created_at: row.created_at,
            expires_at: row.expires_at,
            revoked_at: row.revoked_at,
            guest: guest.map(|((person_id, name), email)| Stated {
                person_id,
                name,
                licence: row.guest_licence.unwrap_or_default(),
                email,
            }),
        }
    }
}
