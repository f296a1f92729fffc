//! Every limit of the live stream, and what happens there.
//!
//! Belongs here: named numbers. Does not belong here: enforcing them.

/// Bytes of one frame, either way. A longer one from a client closes the socket with 4400.
pub const FRAME_BYTES_MAX: usize = 64 * 1024;

/// Bytes that a socket's frames are read and written in. A longer frame takes more for as long
/// as it lasts; an idle socket keeps this much each way.
pub const BUFFER_BYTES: usize = 2 * 1024;

/// Frames of one client that wait to be answered. At this many the server reads no further
/// from the socket until it has answered one.
pub const OUTSTANDING_WRITES_MAX: usize = 64;

/// Frames that wait to be written to one client. At this many the socket waits for the client
/// to read, [`SLOW_MS_MAX`] at the longest.
pub const OUTGOING_FRAMES_MAX: usize = 256;

/// How long a client may leave its frames unread while more wait. After that it is closed
/// with 4408 and resumes when it can.
pub const SLOW_MS_MAX: u64 = 10_000;

/// Sockets of one session in one process. One more is closed at once with 4429.
pub const SOCKETS_PER_SESSION_MAX: usize = 8;

/// Threads followed on one socket. Following one more is refused; the socket stays open.
pub const FOLLOWED_THREADS_MAX: usize = 64;

pub use store::thread::TEXT_CHARS_MAX;

/// Frames a client may send per second, over time. See [`FRAMES_BURST_MAX`].
pub const FRAMES_PER_S_MAX: u32 = 40;

/// Frames a client may send at once, such as what was written without signal. One more than
/// this, refilled at [`FRAMES_PER_S_MAX`], closes the socket with 4429.
pub const FRAMES_BURST_MAX: u32 = 400;

/// How long a fresh socket may take to say hello. After that it is closed with 4400.
pub const HELLO_MS_MAX: u64 = 10_000;

/// Between two pings of the server. Each also asks whether the session still stands.
pub const PING_MS: u64 = 15_000;

/// How long a client may say nothing, not even pong. After that it counts as gone and the
/// socket is closed with 4408.
pub const SILENT_MS_MAX: u64 = 40_000;

/// How long the goodbye and the closing handshake may take. After that the stream is dropped.
pub const CLOSE_MS_MAX: u64 = 500;

/// Between two looks at the table that no notification asked for. A lost notification delays
/// a change, or the end of a revoked session, by this much.
pub const POLL_MS: u64 = 400;

/// Between two attempts to deliver what the database could not give.
pub const RETRY_MS: u64 = 1_000;

/// Rows of one look at a table. More are fetched in further looks.
pub const PAGE_ROWS_MAX: u64 = 200;

/// Changes and messages that wait in memory for one socket. One that lags further behind reads
/// the tables instead.
pub const EVENTS_IN_MEMORY_MAX: usize = 256;

/// Between two attempts to listen at a database that does not answer.
pub const LISTEN_AGAIN_MS: u64 = 1_000;

/// Between two removals of events that nobody will resume from.
pub const PRUNE_EVERY_MS: u64 = 3_600_000;

/// Messages stored in one transaction. What waits beyond goes with the next.
pub const SAY_LOT_MAX: usize = 128;

/// Lots stored at once: one is prepared while another waits for the disk.
pub const SAY_LOTS_AT_ONCE: usize = 2;

/// Between two notices that somebody types. More of them are passed over.
pub const TYPING_EVERY_MS: u64 = 2_000;
