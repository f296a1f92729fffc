//! One websocket over any byte stream: reading, writing and closing.
//!
//! Belongs here: frames in and out, how long each may take, the closing handshake. Does not
//! belong here: what is answered (`conversation`).
//!
//! Three futures share a connection, without a task of their own: one reads frames into a
//! bounded inbox, one writes frames from a bounded outbox, and the conversation sits between.
//! The first to end, or a revoked session, ends the others.

use std::time::Duration;

use futures_util::stream::{SplitSink, SplitStream};
use futures_util::{SinkExt, StreamExt};
use store::ambient::Clock;
use store::person::Caller;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::mpsc;
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::error::CapacityError;
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode as WireCode;
use tokio_tungstenite::tungstenite::protocol::{CloseFrame, Message as Raw, Role, WebSocketConfig};
use tokio_tungstenite::tungstenite::{Error as WsError, Utf8Bytes};

use crate::bucket::Bucket;
use crate::conversation::converse;
use crate::feed::Feed;
use crate::hub::Hub;
use crate::limits::{
    BUFFER_BYTES, CLOSE_MS_MAX, FRAME_BYTES_MAX, OUTGOING_FRAMES_MAX, OUTSTANDING_WRITES_MAX,
    SILENT_MS_MAX, SLOW_MS_MAX, SOCKETS_PER_SESSION_MAX,
};
use crate::protocol::{ClientFrame, CloseCode, ServerFrame};

/// A close frame's reason may have this many bytes (RFC 6455, 5.5); the goodbye before it
/// carries the whole sentence.
const REASON_BYTES_MAX: usize = 123;

/// How a connection ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// The client closed it, or its network did.
    Left,
    /// We closed it.
    Closed(CloseCode, String),
}

impl End {
    /// Closed by us, for this reason.
    pub(crate) fn closed(code: CloseCode, says: impl Into<String>) -> Self {
        End::Closed(code, says.into())
    }
}

/// Where the conversation puts its frames.
pub(crate) struct Outgoing {
    queue: mpsc::Sender<Utf8Bytes>,
}

impl Outgoing {
    /// Queues a frame. While the queue is full this waits, so that nothing is read for a
    /// client that does not read; after [`SLOW_MS_MAX`] the client is too slow.
    pub(crate) async fn push(&self, frame: ServerFrame) -> Result<(), End> {
        match frame.text() {
            Ok(text) => self.push_text(text).await,
            Err(error) => Err(End::closed(CloseCode::Restarting, error.to_string())),
        }
    }

    /// The same for a frame that is in words already.
    pub(crate) async fn push_text(&self, text: Utf8Bytes) -> Result<(), End> {
        match self.queue.try_send(text) {
            Ok(()) => Ok(()),
            Err(mpsc::error::TrySendError::Full(text)) => self.push_slowly(text).await,
            Err(mpsc::error::TrySendError::Closed(_)) => Err(End::Left),
        }
    }

    async fn push_slowly(&self, text: Utf8Bytes) -> Result<(), End> {
        match self.queue.send_timeout(text, Duration::from_millis(SLOW_MS_MAX)).await {
            Ok(()) => Ok(()),
            Err(mpsc::error::SendTimeoutError::Timeout(_)) => Err(too_slow()),
            Err(mpsc::error::SendTimeoutError::Closed(_)) => Err(End::Left),
        }
    }
}

/// Serves one websocket whose opening handshake is done, for a caller who is known, until it
/// ends. Says how it ended.
pub async fn serve_connection<S, F>(stream: S, hub: Hub<F>, caller: Caller) -> End
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    F: Feed,
{
    let config = WebSocketConfig::default()
        .read_buffer_size(BUFFER_BYTES)
        .write_buffer_size(BUFFER_BYTES)
        .max_message_size(Some(FRAME_BYTES_MAX))
        .max_frame_size(Some(FRAME_BYTES_MAX));
    let socket = WebSocketStream::from_raw_socket(stream, Role::Server, Some(config)).await;
    let (mut sink, mut source) = socket.split();
    let end = attend(&mut sink, &mut source, &hub, &caller).await;
    if let End::Closed(code, says) = &end {
        let goodbye = farewell(&mut sink, &mut source, *code, says);
        // A client that is gone or stuck does not hold the connection.
        let _ = timeout(Duration::from_millis(CLOSE_MS_MAX), goodbye).await;
    }
    end
}

async fn attend<S, F>(
    sink: &mut SplitSink<WebSocketStream<S>, Raw>,
    source: &mut SplitStream<WebSocketStream<S>>,
    hub: &Hub<F>,
    caller: &Caller,
) -> End
where
    S: AsyncRead + AsyncWrite + Unpin,
    F: Feed,
{
    let Some(seat) = hub.seat(caller) else {
        let says = format!(
            "this session has {SOCKETS_PER_SESSION_MAX} live connections open; close one first"
        );
        return End::closed(CloseCode::TooMany, says);
    };
    let (incoming, inbox) = mpsc::channel(OUTSTANDING_WRITES_MAX);
    let (queue, outbox) = mpsc::channel(OUTGOING_FRAMES_MAX);
    tokio::select! {
        biased;
        () = seat.revoked.cancelled() => signed_out(),
        () = hub.closing().cancelled() => {
            End::closed(CloseCode::Restarting, "the service restarts; come back in a moment")
        }
        end = converse(hub, caller, inbox, Outgoing { queue }) => end,
        end = write(sink, outbox) => end,
        end = read(source, incoming, hub.clock()) => end,
    }
}

/// Reads until the client leaves or breaks a rule.
async fn read<S>(
    source: &mut SplitStream<WebSocketStream<S>>,
    incoming: mpsc::Sender<Box<ClientFrame>>,
    clock: &dyn Clock,
) -> End
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let mut bucket = Bucket::new(clock.now());
    loop {
        // Waiting for the inbox below is not counted as the client's silence.
        let Ok(next) = timeout(Duration::from_millis(SILENT_MS_MAX), source.next()).await else {
            return End::closed(CloseCode::TooSlow, "nothing was heard, not even a pong");
        };
        let raw = match next {
            Some(Ok(raw)) => raw,
            Some(Err(WsError::Capacity(CapacityError::MessageTooLong { size, .. }))) => {
                let says = format!("a frame of {size} bytes; {FRAME_BYTES_MAX} is the most");
                return End::closed(CloseCode::BadFrame, says);
            }
            Some(Err(WsError::Utf8(_))) => {
                return End::closed(CloseCode::BadFrame, "a text frame that is not UTF-8");
            }
            Some(Err(_)) | None => return End::Left,
        };
        if !bucket.take(clock.now()) {
            return End::closed(CloseCode::TooMany, "too many frames; wait a little");
        }
        let text = match raw {
            Raw::Text(text) => text,
            Raw::Close(_) => return End::Left,
            Raw::Binary(_) => {
                return End::closed(CloseCode::BadFrame, "a binary frame; send JSON as text");
            }
            Raw::Ping(_) | Raw::Pong(_) | Raw::Frame(_) => continue,
        };
        match serde_json::from_str::<ClientFrame>(&text) {
            // Its arrival is all there is to it.
            Ok(ClientFrame::Pong {}) => {}
            Ok(frame) => {
                if incoming.send(Box::new(frame)).await.is_err() {
                    return End::Left;
                }
            }
            Err(error) => return End::closed(CloseCode::BadFrame, error.to_string()),
        }
    }
}

/// Writes until the client does not take its frames in time. Frames that wait together go out
/// together.
async fn write<S>(
    sink: &mut SplitSink<WebSocketStream<S>, Raw>,
    mut outbox: mpsc::Receiver<Utf8Bytes>,
) -> End
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    while let Some(first) = outbox.recv().await {
        let writing = async {
            sink.feed(Raw::Text(first)).await?;
            while let Ok(next) = outbox.try_recv() {
                sink.feed(Raw::Text(next)).await?;
            }
            sink.flush().await
        };
        match timeout(Duration::from_millis(SLOW_MS_MAX), writing).await {
            Ok(Ok(())) => {}
            Ok(Err(_)) => return End::Left,
            Err(_) => return too_slow(),
        }
    }
    // The conversation dropped its end: it says why itself.
    std::future::pending().await
}

/// Says goodbye, closes, and waits for the client to close too.
async fn farewell<S>(
    sink: &mut SplitSink<WebSocketStream<S>, Raw>,
    source: &mut SplitStream<WebSocketStream<S>>,
    code: CloseCode,
    says: &str,
) -> Result<(), WsError>
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let goodbye = ServerFrame::Goodbye { code: code.number(), says: says.to_owned() };
    if let Ok(text) = serde_json::to_string(&goodbye) {
        sink.send(Raw::text(text)).await?;
    }
    let frame = CloseFrame { code: WireCode::from(code.number()), reason: reason(says) };
    sink.send(Raw::Close(Some(frame))).await?;
    // What still comes in was not acknowledged, so the client says it again elsewhere.
    while let Some(Ok(_)) = source.next().await {}
    Ok(())
}

/// As much of a sentence as a close frame holds.
fn reason(says: &str) -> Utf8Bytes {
    let mut end = says.len().min(REASON_BYTES_MAX);
    while !says.is_char_boundary(end) {
        end -= 1;
    }
    Utf8Bytes::from(&says[..end])
}

pub(crate) fn signed_out() -> End {
    End::closed(CloseCode::SignedOut, "the session has ended; sign in again")
}

fn too_slow() -> End {
    End::closed(CloseCode::TooSlow, "frames were not read in time; resume from the last seen")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_reason_is_cut_between_characters() {
        let says = "é".repeat(100);

        let cut = reason(&says);

        assert_eq!(cut.as_str(), "é".repeat(61));
    }
}
