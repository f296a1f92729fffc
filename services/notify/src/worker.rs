//! The worker that empties the outbox.
//!
//! Belongs here: taking a row, writing and sending its mail, settling it, waiting for the
//! next. Does not belong here: templates and the mail server.
//!
//! A row is settled in the transaction that took it: two workers never send the same one, and
//! one that is killed while sending sends it again. A notification only wakes; a slow poll
//! finds what was missed.

use std::time::Duration;

use serde_json::{Map, Value, json};
use store::mail::MailNew;
use store::outbox::{self, Due, Listener};
use store::person::person_find;
use store::shop::shop_find;
use store::{Store, StoreError};
use tokio_util::sync::CancellationToken;
use uuid::Uuid;

use crate::error::NotifyError;
use crate::sender::Sender;
use crate::template;

/// How often the outbox is looked at without being woken: retries fall due silently.
const POLL: Duration = Duration::from_secs(5);

/// How long to wait before working again after the database failed.
const PAUSE_AFTER_FAILURE: Duration = Duration::from_secs(2);

/// Mails that carry a secret of their receiver's: a guest's link and code, a customer's link.
const SECRET: [&str; 3] = ["guest_code", "guest_invited", "holdover_told"];

/// What the worker is told at start.
pub struct Settings {
    /// How mail leaves the machine.
    pub sender: Sender,
    /// Where people reach the service, for links: "https://shop.example", no slash at the end.
    pub base_url: String,
}

/// A mail ready to go.
struct Mail {
    to_person: Option<Uuid>,
    to_name: Option<String>,
    to_email: String,
    template: String,
    written: template::Written,
}

/// Works until told to stop; what is being sent then is finished first.
pub async fn run(store: Store, settings: Settings, stop: CancellationToken) {
    let mut listener = None;
    while !stop.is_cancelled() {
        if let Err(error) = empty(&store, &settings, &stop).await {
            tracing::warn!(error = &error as &dyn std::error::Error, "the outbox");
            listener = None;
            wait(PAUSE_AFTER_FAILURE, &stop).await;
            continue;
        }
        if listener.is_none() {
            listener = connect(&store).await;
            if listener.is_some() {
                // Something may have been put in just before it listened.
                continue;
            }
        }
        listener = idle(listener, &stop).await;
    }
}

async fn connect(store: &Store) -> Option<Listener> {
    match Listener::connect(store).await {
        Ok(listener) => Some(listener),
        Err(error) => {
            tracing::warn!(error = &error as &dyn std::error::Error, "the outbox listener");
            None
        }
    }
}

/// Waits for a put, the next look, or the stop. A listener that failed is given up.
async fn idle(mut listener: Option<Listener>, stop: &CancellationToken) -> Option<Listener> {
    let heard = async {
        match &mut listener {
            Some(listener) => listener.heard().await.is_ok(),
            None => std::future::pending().await,
        }
    };
    let still_good = tokio::select! {
        still_good = heard => still_good,
        () = tokio::time::sleep(POLL) => true,
        () = stop.cancelled() => true,
    };
    listener.filter(|_| still_good)
}

async fn wait(pause: Duration, stop: &CancellationToken) {
    tokio::select! {
        () = tokio::time::sleep(pause) => {}
        () = stop.cancelled() => {}
    }
}

/// Sends everything that is due.
async fn empty(
    store: &Store,
    settings: &Settings,
    stop: &CancellationToken,
) -> Result<(), NotifyError> {
    while !stop.is_cancelled() && send_next(store, settings).await? {}
    Ok(())
}

/// Sends the next thing that is due, and says whether there was one.
///
/// # Errors
/// When the database fails. What is wrong with the mail itself is noted on its row.
pub async fn send_next(store: &Store, settings: &Settings) -> Result<bool, NotifyError> {
    let txn = store.begin().await?;
    let now = store.now();
    let Some(due) = outbox::take_next(&txn, now).await? else {
        return Ok(false);
    };
    match send(store, settings, &due).await {
        Ok((mail, sent)) => {
            outbox::settle_done(&txn, due.id, now).await?;
            let mut mail = mail;
            if SECRET.contains(&mail.template.as_str()) && sent {
                // The shop reads its sent mail; a link and a code are their receiver's alone.
                // Where nothing leaves the machine that page is the only way to see them.
                outbox::forget_data(&txn, due.id).await?;
                mail.written = template::Written {
                    subject: "To somebody outside the shop".to_owned(),
                    text: "What it said is kept from this page: its link is theirs alone.\n"
                        .to_owned(),
                };
            }
            let kept = MailNew {
                shop_id: due.shop_id,
                outbox_id: due.id,
                to_person: mail.to_person,
                to_email: mail.to_email,
                template: mail.template,
                subject: mail.written.subject,
                body_text: mail.written.text,
                sent,
            };
            store::mail::keep(&txn, store, kept).await?;
        }
        // The database's trouble is nobody's fault; the row is taken up again.
        Err(NotifyError::Store(
            error @ (StoreError::Unavailable { .. } | StoreError::Database(_)),
        )) => return Err(error.into()),
        Err(error) => {
            tracing::warn!(
                outbox = %due.id,
                tries = due.attempts + 1,
                error = &error as &dyn std::error::Error,
                "a mail could not be sent"
            );
            outbox::settle_failed(&txn, &due, now, &error.to_string()).await?;
        }
    }
    txn.commit().await.map_err(StoreError::from)?;
    Ok(true)
}

async fn send(store: &Store, settings: &Settings, due: &Due) -> Result<(Mail, bool), NotifyError> {
    let mail = prepare(store, settings, due).await?;
    let sent = settings
        .sender
        .send(due.id, mail.to_name.as_deref(), &mail.to_email, &mail.written)
        .await?;
    Ok((mail, sent))
}

async fn prepare(store: &Store, settings: &Settings, due: &Due) -> Result<Mail, NotifyError> {
    let text = |name: &str| due.payload.get(name).and_then(Value::as_str);
    let template = text("template").ok_or(NotifyError::BadPayload("template"))?.to_owned();
    let to_person = text("to_person").and_then(|id| Uuid::parse_str(id).ok());
    let (to_name, to_email) = match to_person {
        Some(id) => {
            let person = person_find(store.conn(), due.shop_id, id).await?;
            (Some(person.name), person.email)
        }
        None => (None, text("to_email").ok_or(NotifyError::BadPayload("receiver"))?.to_owned()),
    };
    let mut values =
        due.payload.get("data").and_then(Value::as_object).cloned().unwrap_or_default();
    let shop = shop_find(store.conn(), due.shop_id).await?;
    values.insert("shop_name".to_owned(), json!(shop.name));
    values.insert("to_name".to_owned(), json!(to_name.as_deref().unwrap_or(&to_email)));
    values.insert("link".to_owned(), json!(link(&settings.base_url, &values)));
    let written = template::write(&template, &values)?;
    Ok(Mail { to_person, to_name, to_email, template, written })
}

/// The page that a mail is about: a guest's or a customer's own, one that is named ("/rota"), the
/// job where one is, else the start page. A token stands after "#", which is sent to no server.
fn link(base_url: &str, values: &Map<String, Value>) -> String {
    if let Some(token) = values.get("guest_token").and_then(Value::as_str) {
        return format!("{base_url}/guest#{token}");
    }
    if let Some(token) = values.get("worse_token").and_then(Value::as_str) {
        return format!("{base_url}/worse#{token}");
    }
    if let Some(page) = values.get("page").and_then(Value::as_str) {
        return format!("{base_url}{page}");
    }
    match values.get("job_id").and_then(Value::as_str) {
        Some(job_id) => format!("{base_url}/jobs/{job_id}"),
        None => format!("{base_url}/"),
    }
}
