//! The live stream: what changed, and the talk on a job, on every open screen.
//!
//! Belongs here: the wire messages ([`protocol`]), their limits ([`limits`]), one connection
//! over any byte stream ([`serve_connection`]), and the hub that wakes the connections of one
//! process ([`hub::Hub`]).
//! Does not belong here: HTTP (whoever owns a port hands over an upgraded stream and a caller
//! it knows), and storing (the tables are the truth; [`feed::Feed`] is what is asked of them).
//!
//! Nothing here is the only copy of anything. A connection may be closed at any moment, and a
//! client that resumes with the numbers it last saw has missed nothing.

mod bucket;
pub mod client;
pub mod connection;
mod conversation;
pub mod feed;
pub mod hub;
pub mod limits;
pub mod protocol;
mod sayers;
mod store_feed;
mod switchboard;

pub use connection::{End, serve_connection};
pub use hub::Hub;
pub use store_feed::{StoreFeed, listen};
