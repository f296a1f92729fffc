//! What a message is, and how a row becomes one.
//!
//! Belongs here: shapes, and what a message may say. Does not belong here: queries.

use chrono::{DateTime, Utc};
use sea_orm::FromQueryResult;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::ask::Ask;
use super::mention::MENTIONS_MAX;
use crate::error::StoreError;

/// Characters in one message's text. A longer one is refused.
pub const TEXT_CHARS_MAX: usize = 4_000;

/// What kind of message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MessageKind {
    /// Written by a person.
    Text,
    /// A reading quoted.
    ReadingCard,
    /// Said by the service.
    Event,
    /// A photo, and words to it if there are any.
    Photo,
    /// A reading asked for.
    Ask,
}

impl MessageKind {
    /// Every kind.
    const ALL: [MessageKind; 5] = [
        MessageKind::Text,
        MessageKind::ReadingCard,
        MessageKind::Event,
        MessageKind::Photo,
        MessageKind::Ask,
    ];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            MessageKind::Text => "text",
            MessageKind::ReadingCard => "reading_card",
            MessageKind::Event => "event",
            MessageKind::Photo => "photo",
            MessageKind::Ask => "ask",
        }
    }

    fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
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
    /// The photo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo_id: Option<Uuid>,
    /// Its pixels across, told by the service.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_px: Option<i32>,
    /// Its pixels down, told by the service.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_px: Option<i32>,
    /// The reading asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ask: Option<Ask>,
    /// The ask that an event answers: its message's id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ask_id: Option<Uuid>,
    /// People named in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mentions: Vec<Uuid>,
}

impl MessageBody {
    /// Whether a person may say this as a message of that kind.
    ///
    /// # Errors
    /// `Invalid`, saying what belongs where.
    pub fn check(&self, kind: MessageKind) -> Result<(), StoreError> {
        let text = self.text.as_deref().unwrap_or_default();
        if text.chars().count() > TEXT_CHARS_MAX {
            let says =
                format!("The text is longer than {TEXT_CHARS_MAX} characters; say it in parts.");
            return Err(StoreError::invalid("/body/text", says));
        }
        let card = self.reading_id.is_some() || self.reading_label.is_some();
        let wrong = match kind {
            MessageKind::Event => {
                Some(("/kind", "Events are said by the service; say a text or a reading_card."))
            }
            // PostgreSQL keeps no such character.
            _ if text.contains('\0') => {
                Some(("/body/text", "The text holds a NUL character; leave it out."))
            }
            _ if self.event.is_some() => {
                Some(("/body/event", "Events are said by the service; leave this out."))
            }
            _ if self.ask_id.is_some() => {
                Some(("/body/ask_id", "An ask is answered by filling in its card; leave this out."))
            }
            _ if self.mentions.len() > MENTIONS_MAX => {
                Some(("/body/mentions", "At most ten people can be named in one message."))
            }
            _ if card && kind != MessageKind::ReadingCard && kind != MessageKind::Text => {
                Some(("/body", "Only a reading_card quotes a reading."))
            }
            _ if self.photo_id.is_some() && kind != MessageKind::Photo => {
                Some(("/body/photo_id", "Only a photo shows one; say it with kind photo."))
            }
            _ if self.ask.is_some() && kind != MessageKind::Ask => {
                Some(("/body/ask", "Only an ask asks for a reading; say it with kind ask."))
            }
            MessageKind::Photo if self.photo_id.is_none() => {
                Some(("/body/photo_id", "A photo names its photo_id, from the job's photos."))
            }
            MessageKind::Ask if self.ask.is_none() => {
                Some(("/body/ask", "An ask says what to measure, and where."))
            }
            MessageKind::Text if card => {
                Some(("/body", "A text quotes no reading; say it as a reading_card."))
            }
            MessageKind::Text if text.trim().is_empty() => {
                Some(("/body/text", "The text is empty; write something."))
            }
            MessageKind::ReadingCard if !card => {
                Some(("/body", "A reading_card names its reading_label or its reading_id."))
            }
            _ => None,
        };
        match wrong {
            Some((pointer, says)) => Err(StoreError::invalid(pointer, says)),
            None => Ok(()),
        }
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_says_what_its_kind_should_and_nothing_else() {
        let text =
            |text: &str| MessageBody { text: Some(text.to_owned()), ..MessageBody::default() };
        let card = |body: MessageBody| MessageBody { reading_label: Some("r1".to_owned()), ..body };
        let event = MessageBody { event: Some("approved".to_owned()), ..MessageBody::default() };
        let check = |kind: MessageKind, body: MessageBody, at: Option<&str>| {
            let pointer = match body.check(kind) {
                Ok(()) => None,
                Err(StoreError::Invalid { pointer, .. }) => Some(pointer),
                Err(other) => panic!("{other:?}"),
            };
            assert_eq!(pointer.as_deref(), at, "{kind:?} {body:?}");
        };

        check(MessageKind::Text, text("Read it at the pins."), None);
        check(MessageKind::Text, text(&"é".repeat(TEXT_CHARS_MAX)), None);
        check(MessageKind::Text, text(&"é".repeat(TEXT_CHARS_MAX + 1)), Some("/body/text"));
        check(MessageKind::Text, text(" \n"), Some("/body/text"));
        check(MessageKind::Text, MessageBody::default(), Some("/body/text"));
        check(MessageKind::Text, card(text("see")), Some("/body"));
        check(MessageKind::ReadingCard, card(MessageBody::default()), None);
        check(MessageKind::ReadingCard, text("which?"), Some("/body"));
        check(MessageKind::ReadingCard, card(event.clone()), Some("/body/event"));
        check(MessageKind::Event, event, Some("/kind"));
    }
}
