//! The wire messages of the live stream, version 1: JSON text frames told apart by `type`.
//!
//! Belongs here: the shape of each frame and each close code. Does not belong here: when they
//! are sent (`conversation`), how long they may be (`limits`), and the rows behind them.
//! `PROTOCOL.md` says what each means; `protocol/*.json` holds one example of each and the
//! JSON schema, and tests compare them with this file.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use engine::case::Power;
use engine::units::Quantity;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use tokio_tungstenite::tungstenite::Utf8Bytes;
use uuid::Uuid;

/// The version that this server speaks. A hello with another one is closed with 4400.
pub const VERSION: u32 = 1;

/// What a client says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum ClientFrame {
    /// First on every socket: the version, and where to go on from.
    Hello {
        /// [`VERSION`].
        version: u32,
        /// What this client has seen before; nothing when left out.
        #[serde(default)]
        resume: Resume,
    },
    /// Send this job's messages, now and as they come.
    Follow {
        /// The job whose thread it is.
        job_id: Uuid,
        /// The last message number that the client has; 0 for none.
        #[serde(default)]
        after: u64,
    },
    /// Send no more of them.
    Unfollow {
        /// The job whose thread it is.
        job_id: Uuid,
    },
    /// Store a message. Answered with `ack` or `refused`, never with silence.
    Say {
        /// The job whose thread it is.
        job_id: Uuid,
        /// Made by the client; a repeat of it is the same message and the same answer.
        key: Uuid,
        /// What kind of message.
        kind: MessageKind,
        /// What it says.
        body: MessageBody,
    },
    /// The person has read this far.
    Mark {
        /// The job whose thread it is.
        job_id: Uuid,
        /// The last message number read.
        seen_seq: u64,
    },
    /// The thread is on the screen, or is no more. Only while it is, the person counts as
    /// looking.
    Look {
        /// The job whose thread it is. It must be followed.
        job_id: Uuid,
        /// Whether it is on the screen.
        looking: bool,
    },
    /// The person is typing in a followed thread. Said every few seconds at most, and kept
    /// nowhere.
    Typing {
        /// The job whose thread it is.
        job_id: Uuid,
    },
    /// The answer to `ping`.
    Pong {},
}

/// What a client has seen before.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Resume {
    /// The last `live_seq` it saw; null for none.
    #[serde(default)]
    pub live_after: Option<u64>,
    /// The threads it follows: job id to the last message number it has.
    #[serde(default)]
    pub threads: BTreeMap<Uuid, u64>,
}

/// What the server says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum ServerFrame {
    /// The answer to `hello`.
    Welcome {
        /// The version spoken from here on.
        version: u32,
        /// Who the server takes the client for.
        person_id: Uuid,
        /// The number that the stream goes on from.
        live_seq: u64,
        /// Whether every change since `live_after` follows. When false, fetch again what is
        /// on the screen.
        resumed: bool,
    },
    /// The answer to `follow`; the messages after it come next.
    Following {
        /// The job whose thread it is.
        job_id: Uuid,
        /// The last message number there is; the client's own while messages are withheld.
        last_seq: u64,
        /// True while this person owes a blind read on the job: messages come when it is in.
        withheld: bool,
    },
    /// A message of a followed thread, in the order of its number.
    Message {
        /// The message.
        message: Message,
    },
    /// The message is stored.
    Ack {
        /// The key it was said with.
        key: Uuid,
        /// The job whose thread it is in.
        job_id: Uuid,
        /// The number it has there.
        seq: u64,
    },
    /// What was asked is not done, and why.
    Refused {
        /// The key of the `say` that is refused.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        key: Option<Uuid>,
        /// The job it was about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        job_id: Option<Uuid>,
        /// What is wrong, and what would be right.
        problem: Problem,
    },
    /// Something changed: fetch it again if it is on the screen.
    Changed {
        /// The number to resume after.
        live_seq: u64,
        /// What kind of thing.
        topic: ChangedTopic,
        /// Which one.
        ref_id: Uuid,
        /// Which job, and a state or version where there is one. Never a claim.
        body: BTreeMap<String, Value>,
        /// The job's row on the board as it is now, the same as from `GET /api/board/jobs`,
        /// except that it shows nobody's drafts. Absent where it was not at hand: fetch it there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        row: Option<Value>,
    },
    /// Who looks at a followed thread now, whenever that changes.
    Presence {
        /// The job whose thread it is.
        job_id: Uuid,
        /// Everyone, this person too.
        looking: Vec<Author>,
    },
    /// Somebody is typing. Forget it after some seconds without another.
    Typing {
        /// The job whose thread it is.
        job_id: Uuid,
        /// Who.
        person_id: Uuid,
    },
    /// Somebody has read up to here.
    Marked {
        /// The job whose thread it is.
        job_id: Uuid,
        /// Who.
        person_id: Uuid,
        /// The last message number they have read.
        seen_seq: u64,
    },
    /// Answer with `pong`.
    Ping {},
    /// The last frame; the socket closes with the same code.
    Goodbye {
        /// One of [`CloseCode`].
        code: u16,
        /// Why, in a sentence.
        says: String,
    },
}

impl ServerFrame {
    /// As it goes over the wire.
    ///
    /// # Errors
    /// Never in fact: plain fields and JSON values are all there is in a frame.
    pub fn text(&self) -> Result<Utf8Bytes, serde_json::Error> {
        serde_json::to_string(self).map(Utf8Bytes::from)
    }
}

/// What a client is told of a change to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ChangedTopic {
    /// A job's row on the board. `ref_id` is the job's.
    Job,
    /// Readings or observations of a job. `ref_id` is the job's.
    Evidence,
    /// The state of a condemn request. `ref_id` is the request's.
    Request,
    /// Mail was sent. Only managers and owners are told.
    Mail,
    /// A rule was saved, fired, or came to hold or not. `ref_id` is the rule's.
    Rule,
    /// The weather or the longest waits changed. `ref_id` is the shop's.
    Capacity,
    /// The rota, a swap, leave or the shop's calendar. `ref_id` is whatever was changed.
    Rota,
    /// A proposal for a day or a weekend. Only those who give out work are told.
    Plan,
}

/// What kind of message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MessageKind {
    /// Written by a person: `text`.
    Text,
    /// A reading quoted: `reading_label` or `reading_id`, and `text` if something is said to it.
    ReadingCard,
    /// Said by the service: `event`. A client cannot say one.
    Event,
    /// A photo that was sent to the job's photos before: `photo_id`, and `text` if something is
    /// said to it.
    Photo,
    /// A reading asked for: `ask`.
    Ask,
}

/// What a message says; which fields are there depends on its kind.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MessageBody {
    /// The words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The reading's label on its job, such as `r4`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_label: Option<String>,
    /// The reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading_id: Option<Uuid>,
    /// What happened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub event: Option<String>,
    /// The photo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo_id: Option<Uuid>,
    /// Its pixels across. The server knows: a client's is not looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_px: Option<i32>,
    /// Its pixels down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_px: Option<i32>,
    /// The reading asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ask: Option<Box<Ask>>,
    /// The message whose ask an event answers, with that reading's label and id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ask_id: Option<Uuid>,
    /// People named in it. Those who are not looking get a mail.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mentions: Vec<Uuid>,
}

/// What somebody is asked to measure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ask {
    /// What to measure.
    pub quantity: Quantity,
    /// The point of the first probe.
    pub from: String,
    /// The point of the second.
    pub to: String,
    /// What to lift first.
    #[serde(default)]
    pub lifted: Vec<String>,
    /// Dead or energised.
    pub power: Power,
    /// Under power: which of the circuit's states to read it in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// What it would settle, in the asker's words.
    #[serde(default)]
    pub why: String,
}

/// A stored message.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Message {
    /// The thread it is in.
    pub thread_id: Uuid,
    /// The job that the thread is about.
    pub job_id: Uuid,
    /// Its number in the thread, from 1 without gaps.
    pub seq: u64,
    /// Its own id.
    pub id: Uuid,
    /// Who wrote it; null for the service.
    pub author: Option<Author>,
    /// What kind of message.
    pub kind: MessageKind,
    /// What it says.
    pub body: MessageBody,
    /// The key its writer's client made; null for the service.
    pub key: Option<Uuid>,
    /// When it was stored.
    pub at: DateTime<Utc>,
}

/// Who wrote a message.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Author {
    /// The person.
    pub id: Uuid,
    /// Their name.
    pub name: String,
}

/// Why something is refused, in the shape of the HTTP API's problems (RFC 9457).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Problem {
    /// `/problems/` and a code.
    #[serde(rename = "type")]
    pub kind: String,
    /// The code in words.
    pub title: String,
    /// What is wrong here, and what would be right.
    pub detail: String,
}

impl Problem {
    /// A problem of this code.
    pub fn new(code: &str, title: &str, detail: impl Into<String>) -> Self {
        Problem {
            kind: format!("/problems/{code}"),
            title: title.to_owned(),
            detail: detail.into(),
        }
    }
}

/// Why the server closes a socket.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CloseCode {
    /// The server stops or restarts: come back in a moment.
    Restarting,
    /// A frame that is no JSON, too long, unknown, out of turn, or of another version: a fault
    /// of the client, which should not send it again.
    BadFrame,
    /// The session has ended: sign in.
    SignedOut,
    /// The client did not read or did not answer: resume.
    TooSlow,
    /// Too many sockets or too many frames: wait before coming back.
    TooMany,
}

impl CloseCode {
    /// All of them, for documents and tests.
    pub const ALL: [CloseCode; 5] = [
        CloseCode::Restarting,
        CloseCode::BadFrame,
        CloseCode::SignedOut,
        CloseCode::TooSlow,
        CloseCode::TooMany,
    ];

    /// The number on the wire.
    pub fn number(self) -> u16 {
        match self {
            CloseCode::Restarting => 1012,
            CloseCode::BadFrame => 4400,
            CloseCode::SignedOut => 4401,
            CloseCode::TooSlow => 4408,
            CloseCode::TooMany => 4429,
        }
    }
}

/// Both directions in one, for the JSON schema.
#[derive(JsonSchema)]
#[expect(dead_code, reason = "never made: only its schema is asked for")]
pub struct Protocol {
    /// What a client says.
    client: ClientFrame,
    /// What the server says.
    server: ServerFrame,
}
