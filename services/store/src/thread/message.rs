//! What a message is, and how a row becomes one.
//!
//! Belongs here: shapes. Does not belong here: queries.

use chrono::{DateTime, Utc};
use sea_orm::FromQueryResult;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::error::StoreError;

/// What kind of message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MessageKind {
    /// Written by a person.
    Text,
    /// A reading quoted.
    ReadingCard,
    /// Said by the service.
    Event,
}

impl MessageKind {
    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            MessageKind::Text => "text",
            MessageKind::ReadingCard => "reading_card",
            MessageKind::Event => "event",
        }
    }

    fn from_name(name: &str) -> Option<Self> {
        [MessageKind::Text, MessageKind::ReadingCard, MessageKind::Event]
            .into_iter()
            .find(|kind| kind.name() == name)
    }
}

/// What a message says; which fields are there depends on its kind.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MessageBody {
    /// The words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The quoted reading's label on its job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_label: Option<String>,
    /// The quoted reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_id: Option<Uuid>,
    /// What happened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub event: Option<String>,
}

/// A stored message.
#[derive(Clone, Debug, PartialEq)]
pub struct Message {
    /// The thread it is in.
    pub thread_id: Uuid,
    /// The job that the thread is about.
    pub job_id: Uuid,
    /// Its number, from 1 without gaps.
    pub seq: i64,
    /// Its own id.
    pub id: Uuid,
    /// Who wrote it; nobody for the service.
    pub author: Option<Author>,
    /// What kind of message.
    pub kind: MessageKind,
    /// What it says.
    pub body: MessageBody,
    /// The key its writer's client made.
    pub client_key: Option<Uuid>,
    /// When it was stored.
    pub at: DateTime<Utc>,
}

/// Who wrote a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Author {
    /// The person.
    pub id: Uuid,
    /// Their name.
    pub name: String,
}

/// A message beside the head of its thread; the message's half is null when there is none.
#[derive(FromQueryResult)]
pub(super) struct PageRow {
    pub(super) thread_id: Option<Uuid>,
    pub(super) last_seq: i64,
    pub(super) withheld: bool,
    pub(super) opened: bool,
    pub(super) seq: Option<i64>,
    pub(super) id: Option<Uuid>,
    pub(super) author: Option<Uuid>,
    pub(super) author_name: Option<String>,
    pub(super) kind: Option<String>,
    pub(super) body: Option<serde_json::Value>,
    pub(super) client_key: Option<Uuid>,
    pub(super) at: Option<DateTime<Utc>>,
}

impl PageRow {
    /// The message's half.
    ///
    /// # Errors
    /// When what is stored is no message.
    pub(super) fn message(self, job_id: Uuid) -> Result<Option<Message>, StoreError> {
        let (Some(thread_id), Some(seq), Some(id), Some(kind), Some(body), Some(at)) =
            (self.thread_id, self.seq, self.id, self.kind, self.body, self.at)
        else {
            return Ok(None);
        };
        let kind = MessageKind::from_name(&kind).ok_or_else(|| {
            StoreError::corrupt("message", std::io::Error::other("an unknown kind of message"))
        })?;
        let body =
            serde_json::from_value(body).map_err(|error| StoreError::corrupt("message", error))?;
        let author = match (self.author, self.author_name) {
            (Some(id), Some(name)) => Some(Author { id, name }),
            _ => None,
        };
        let client_key = self.client_key;
        Ok(Some(Message { thread_id, job_id, seq, id, author, kind, body, client_key, at }))
    }
}
