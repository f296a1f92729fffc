//! Somebody on the live stream.
//!
//! Belongs here: opening, saying, waiting for a frame, a copy of every frame received. Does
//! not belong here: what should come.

use std::collections::BTreeMap;

use futures_util::{SinkExt as _, StreamExt as _};
use serde_json::{Value, json};
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::client::IntoClientRequest as _;
use tokio_tungstenite::tungstenite::{Error, Message};
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};
use uuid::Uuid;

use crate::client::{Client, fresh};
use crate::service::PATIENCE;

/// An open socket.
pub struct Socket {
    stream: WebSocketStream<MaybeTlsStream<TcpStream>>,
    /// Every frame received, in order.
    pub frames: Vec<Value>,
}

impl Socket {
    /// Opens one for somebody who is signed in, says hello, and has been welcomed.
    ///
    /// # Panics
    /// When they are not let in.
    pub async fn open(client: &Client) -> Self {
        Self::resume(client, None, &BTreeMap::new()).await
    }

    /// Opens one that goes on after these numbers.
    ///
    /// # Panics
    /// When they are not let in.
    pub async fn resume(
        client: &Client,
        live_after: Option<u64>,
        threads: &BTreeMap<Uuid, u64>,
    ) -> Self {
        let ticket = ticket(client).await;
        let mut socket = Self::enter(client, &ticket, None).await.expect("the ticket is good");
        let resume = json!({ "live_after": live_after, "threads": threads });
        socket.send(&json!({ "type": "hello", "version": 1, "resume": resume })).await;
        let welcome = socket.next().await;
        assert_eq!(welcome["type"], "welcome", "{welcome}");
        assert_eq!(welcome["person_id"], client.id.to_string());
        socket
    }

    /// Opens one with a ticket and an origin, or gives the status of the refusal.
    ///
    /// # Errors
    /// The status with which it was refused.
    ///
    /// # Panics
    /// When there is no answer.
    pub async fn enter(client: &Client, ticket: &str, origin: Option<&str>) -> Result<Self, u16> {
        let address = format!("{}/live?ticket={ticket}", client.base.replacen("http", "ws", 1));
        let mut request = address.into_client_request().expect("an address");
        if let Some(origin) = origin {
            request.headers_mut().insert("Origin", origin.parse().expect("an origin"));
        }
        match connect_async(request).await {
            Ok((stream, _)) => Ok(Socket { stream, frames: Vec::new() }),
            Err(Error::Http(response)) => Err(response.status().as_u16()),
            Err(other) => panic!("no answer: {other}"),
        }
    }

    /// Sends a frame.
    ///
    /// # Panics
    /// When the socket is closed.
    pub async fn send(&mut self, frame: &Value) {
        self.send_text(frame.to_string()).await;
    }

    /// Sends this very text.
    ///
    /// # Panics
    /// When the socket is closed.
    pub async fn send_text(&mut self, text: String) {
        self.stream.send(Message::text(text)).await.expect("the socket is open");
    }

    /// Sends this very text, and says whether the socket was still open.
    pub async fn try_send(&mut self, text: &str) -> bool {
        self.stream.send(Message::text(text)).await.is_ok()
    }

    /// Says something in a job's thread under a fresh key; gives the key.
    pub async fn say(&mut self, job_id: Uuid, text: &str) -> Uuid {
        let key = fresh();
        self.say_again(job_id, key, text).await;
        key
    }

    /// Says something under a given key.
    pub async fn say_again(&mut self, job_id: Uuid, key: Uuid, text: &str) {
        let body = json!({ "text": text });
        let frame =
            json!({ "type": "say", "job_id": job_id, "key": key, "kind": "text", "body": body });
        self.send(&frame).await;
    }

    /// Follows a job's thread after a number, and has been told that it does.
    ///
    /// # Panics
    /// When it may not.
    pub async fn follow(&mut self, job_id: Uuid, after: u64) -> Value {
        self.send(&json!({ "type": "follow", "job_id": job_id, "after": after })).await;
        let wanted = job_id.to_string();
        self.until(|frame| frame["type"] == "following" && frame["job_id"] == wanted).await
    }

    /// The next frame; pings are answered and passed over.
    ///
    /// # Panics
    /// When none comes.
    pub async fn next(&mut self) -> Value {
        loop {
            let received = tokio::time::timeout(PATIENCE, self.stream.next()).await;
            let message = match received {
                Ok(Some(Ok(message))) => message,
                Ok(other) => panic!("the socket ended: {other:?} after {:#?}", self.frames),
                Err(_) => panic!("nothing more came after {:#?}", self.frames),
            };
            let Message::Text(text) = message else {
                panic!("{message:?} after {:#?}", self.frames);
            };
            let frame: Value = serde_json::from_str(&text).expect("a frame is JSON");
            self.frames.push(frame.clone());
            if frame["type"] == "ping" {
                self.send(&json!({ "type": "pong" })).await;
                continue;
            }
            return frame;
        }
    }

    /// The next frame of which this is true; others are kept in `frames`.
    pub async fn until(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        loop {
            let frame = self.next().await;
            if wanted(&frame) {
                return frame;
            }
        }
    }

    /// The next frame of a type.
    pub async fn until_type(&mut self, kind: &str) -> Value {
        self.until(|frame| frame["type"] == kind).await
    }

    /// The next message saying this.
    pub async fn until_said(&mut self, text: &str) -> Value {
        self.until(|frame| frame["message"]["body"]["text"] == text).await
    }

    /// Waits for the close; gives the code and what the last frame said.
    ///
    /// # Panics
    /// When it stays open, or ends without a code.
    pub async fn closed(&mut self) -> (u16, Value) {
        let closing = async {
            loop {
                match self.stream.next().await {
                    Some(Ok(Message::Text(text))) => {
                        self.frames.push(serde_json::from_str(&text).expect("a frame is JSON"));
                    }
                    Some(Ok(Message::Close(Some(close)))) => return u16::from(close.code),
                    other => panic!("no close came: {other:?}"),
                }
            }
        };
        let code = tokio::time::timeout(PATIENCE, closing).await.expect("the socket is closed");
        (code, self.frames.last().cloned().unwrap_or_default())
    }

    /// The messages received of a job: number and text.
    pub fn messages(&self, job_id: Uuid) -> Vec<(u64, String)> {
        let wanted = job_id.to_string();
        self.frames
            .iter()
            .filter(|frame| frame["type"] == "message" && frame["message"]["job_id"] == wanted)
            .map(|frame| {
                let message = &frame["message"];
                let text = message["body"]["text"].as_str().unwrap_or_default().to_owned();
                (message["seq"].as_u64().unwrap_or_default(), text)
            })
            .collect()
    }
}

/// A ticket for somebody who is signed in.
///
/// # Panics
/// When they get none.
pub async fn ticket(client: &Client) -> String {
    let path = match client.guest {
        Some(_) => "/api/guest/live-ticket",
        None => "/api/live/ticket",
    };
    let given = client.post(path, &Value::Null).await.done();
    given["ticket"].as_str().expect("a ticket").to_owned()
}
