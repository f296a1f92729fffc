//! Mail that was sent, or kept for want of a mail server.
//!
//! Belongs here: keeping and listing. Does not belong here: writing and sending it (notify's).

use chrono::{DateTime, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::live_feed;
use crate::person::Caller;

/// Mails listed at most, newest first.
const LISTED_MAX: i64 = 200;

/// A mail to keep.
#[derive(Clone, Debug)]
pub struct MailNew {
    /// The shop.
    pub shop_id: Uuid,
    /// The outbox row it came from; kept once for each.
    pub outbox_id: Uuid,
    /// To whom, where it is a person of the shop.
    pub to_person: Option<Uuid>,
    /// To which address.
    pub to_email: String,
    /// The template.
    pub template: String,
    /// Subject.
    pub subject: String,
    /// Text.
    pub body_text: String,
    /// Whether it left the machine.
    pub sent: bool,
}

/// A mail as listed.
#[derive(Clone, Debug, FromQueryResult)]
pub struct Mail {
    /// Id.
    pub id: Uuid,
    /// To which address.
    pub to_email: String,
    /// To whom, where it is a person of the shop.
    pub to_name: Option<String>,
    /// The template.
    pub template: String,
    /// Subject.
    pub subject: String,
    /// Text.
    pub body_text: String,
    /// Whether it left the machine.
    pub sent: bool,
    /// When it was sent or kept.
    pub sent_at: DateTime<Utc>,
}

/// Keeps a mail, in the transaction that settles its outbox row.
///
/// # Errors
/// When the database fails.
pub async fn keep<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    new: MailNew,
) -> Result<(), StoreError> {
    let id = store.new_id();
    let now = store.now();
    txn.execute_raw(sql(
        "INSERT INTO mail (id, shop_id, outbox_id, to_person, to_email, template, subject, \
         body_text, sent, sent_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        [
            id.into(),
            new.shop_id.into(),
            new.outbox_id.into(),
            new.to_person.into(),
            new.to_email.into(),
            new.template.into(),
            new.subject.into(),
            new.body_text.into(),
            new.sent.into(),
            now.into(),
        ],
    ))
    .await?;
    live_feed::announce(txn, now, new.shop_id, "mail", id, json!({})).await
}

/// The shop's mail, newest first, for those who manage.
///
/// # Errors
/// `Forbidden`, or the database fails.
pub async fn list(store: &Store, caller: &Caller) -> Result<Vec<Mail>, StoreError> {
    caller.must_manage("read the mail that was sent")?;
    Ok(Mail::find_by_statement(sql(
        "SELECT mail.id, to_email, person.name AS to_name, template, subject, body_text, sent, \
         sent_at FROM mail LEFT JOIN person ON person.id = mail.to_person \
         WHERE mail.shop_id = $1 ORDER BY sent_at DESC, mail.id DESC LIMIT $2",
        [caller.shop_id.into(), LISTED_MAX.into()],
    ))
    .all(store.conn())
    .await?)
}
