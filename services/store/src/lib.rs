//! Everything that is kept: one file per noun, over PostgreSQL.
//!
//! Belongs here: queries, transactions, what the database refuses and in which words, the
//! chained record, the outbox, the private PostgreSQL. Does not belong here: HTTP, wire
//! shapes, sentences of the verdict; the engine and the roster decide, the store keeps.
//!
//! Every write takes the time and its ids from [`ambient::Ambient`], and every query filters
//! by the shop of whoever asks.

pub mod ambient;
pub mod approval;
pub mod board;
pub mod calendar;
pub mod capacity;
pub mod circuit;
pub mod customer;
pub mod db;
pub mod delegate;
mod entity;
pub mod error;
pub mod evidence;
pub mod found;
pub mod guest;
pub mod holdover;
pub mod idempotency;
pub mod job;
pub mod ladder;
pub mod live_feed;
pub mod live_ticket;
pub mod mail;
pub mod meter;
pub mod outbox;
pub mod pairs;
pub mod password;
pub mod person;
pub mod photo;
pub mod plan;
pub mod private_pg;
pub mod read;
pub mod record;
pub mod request;
pub mod rota;
pub mod rule;
pub mod session;
pub mod shop;
pub mod signature;
pub mod site;
pub mod testbed;
pub mod text;
pub mod thread;
pub mod unit;

mod zone;

pub use db::Store;
pub use error::StoreError;
pub use person::Caller;
