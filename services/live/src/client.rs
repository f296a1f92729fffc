//! Somebody else's end of the live stream: the terminal client's and the tests'.
//!
//! Belongs here: opening, saying, hearing, how long to wait before coming back. Does not
//! belong here: signing in and tickets, which are HTTP's, and what is done with a frame.

use std::time::Duration;

use futures_util::{SinkExt as _, StreamExt as _};
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_tungstenite::tungstenite::{Error as WsError, Message as Raw};
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};

use crate::limits::SILENT_MS_MAX;
use crate::protocol::{ClientFrame, Resume, ServerFrame, VERSION};

/// First wait before coming back; doubled each time.
pub const BACK_FIRST_MS: u64 = 100;
/// Longest wait before coming back.
pub const BACK_LONGEST_MS: u64 = 10_000;

/// Why a line is over, or never began.
#[derive(Debug, thiserror::Error)]
pub enum LineError {
    /// The opening handshake was refused with this status.
    #[error("the live stream was refused with status {0}")]
    Refused(u16),
    /// The service closed the line, and said why.
    #[error("the service closed the line ({code}): {says}")]
    Closed {
        /// One of the protocol's close codes.
        code: u16,
        /// Why, in a sentence.
        says: String,
    },
    /// Nothing was heard for longer than the service is ever silent.
    #[error("nothing was heard for too long")]
    Silent,
    /// The network broke, or was cut.
    #[error("the line is lost")]
    Lost(#[source] Option<Box<WsError>>),
    /// A frame that is not of this version.
    #[error("a frame that cannot be read")]
    Frame(#[from] serde_json::Error),
}

/// An open line.
pub struct LiveLine {
    socket: WebSocketStream<MaybeTlsStream<TcpStream>>,
}

impl LiveLine {
    /// Opens a line to the service at `base` (`http://…`) with a ticket, says hello and waits
    /// for the welcome.
    ///
    /// # Errors
    /// [`LineError`], for a ticket that is used up as well.
    pub async fn open(
        base: &str,
        ticket: &str,
        resume: Resume,
    ) -> Result<(Self, ServerFrame), LineError> {
        let address = format!("{}/live?ticket={ticket}", base.replacen("http", "ws", 1));
        let socket = match connect_async(address).await {
            Ok((socket, _)) => socket,
            Err(WsError::Http(response)) => {
                return Err(LineError::Refused(response.status().as_u16()));
            }
            Err(error) => return Err(lost(error)),
        };
        let mut line = LiveLine { socket };
        line.send(&ClientFrame::Hello { version: VERSION, resume }).await?;
        let welcome = line.next().await?;
        Ok((line, welcome))
    }

    /// Sends a frame.
    ///
    /// # Errors
    /// When the line is over.
    pub async fn send(&mut self, frame: &ClientFrame) -> Result<(), LineError> {
        let text = serde_json::to_string(frame)?;
        self.socket.send(Raw::text(text)).await.map_err(lost)
    }

    /// The next frame that says something; pings are answered. Safe to give up and ask again.
    ///
    /// # Errors
    /// When the line is over.
    pub async fn next(&mut self) -> Result<ServerFrame, LineError> {
        loop {
            let Ok(next) = timeout(Duration::from_millis(SILENT_MS_MAX), self.socket.next()).await
            else {
                return Err(LineError::Silent);
            };
            match next {
                Some(Ok(Raw::Text(text))) => match serde_json::from_str(&text)? {
                    ServerFrame::Ping {} => self.send(&ClientFrame::Pong {}).await?,
                    ServerFrame::Goodbye { code, says } => {
                        return Err(LineError::Closed { code, says });
                    }
                    frame => return Ok(frame),
                },
                Some(Ok(Raw::Close(Some(close)))) => {
                    let says = close.reason.to_string();
                    return Err(LineError::Closed { code: close.code.into(), says });
                }
                Some(Ok(Raw::Close(None))) | None => return Err(LineError::Lost(None)),
                Some(Ok(_)) => {}
                Some(Err(error)) => return Err(lost(error)),
            }
        }
    }

    /// Closes the line in good order.
    pub async fn close(mut self) {
        // A line that is broken is closed as it is.
        let _ = self.socket.close(None).await;
    }
}

fn lost(error: WsError) -> LineError {
    LineError::Lost(Some(Box::new(error)))
}

/// How long to wait before the try after so many that failed. `lot` between 0 and 1 spreads
/// those who were cut in the same instant.
pub fn back_off(failed: u32, lot: f64) -> Duration {
    let doubled = BACK_FIRST_MS.saturating_mul(1 << failed.min(16)).min(BACK_LONGEST_MS);
    Duration::from_millis(doubled).mul_f64(0.5 + lot.clamp(0.0, 1.0) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wait_doubles_to_the_longest_and_is_spread() {
        assert_eq!(back_off(0, 1.0), Duration::from_millis(BACK_FIRST_MS));
        assert_eq!(back_off(0, 0.0), Duration::from_millis(BACK_FIRST_MS / 2));
        assert_eq!(back_off(3, 1.0), Duration::from_millis(BACK_FIRST_MS * 8));
        assert_eq!(back_off(90, 1.0), Duration::from_millis(BACK_LONGEST_MS));
    }
}
