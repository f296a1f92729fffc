//! The HTTP API: routes, one folder per noun, and what they share.
//!
//! Belongs here: wire shapes, who is asking, problem details, the OpenAPI document, the static
//! web client. Does not belong here: queries and rules (the store's and the engine's), the
//! websocket (live's). A handler reads its input, asks the store, and shows the answer.

pub mod app;
pub mod auth;
pub mod board;
pub mod calendar;
pub mod capacity;
pub mod check;
pub mod circuit;
pub mod config;
pub mod customer;
pub mod demo;
pub mod evidence;
pub mod found;
pub mod guest;
pub mod health;
pub mod holdover;
pub mod idempotency;
pub mod intake;
pub mod job;
pub mod ladder;
pub mod live;
pub mod mail;
pub mod meter;
pub mod openapi;
pub mod person;
pub mod photo;
pub mod plan;
pub mod problem;
pub mod request;
pub mod rota;
pub mod rule;
pub mod session;
pub mod shapes;
pub mod shop;
pub mod site;
pub mod thread;
pub mod unit;
pub mod web_client;

pub use app::AppState;
pub use auth::SignedIn;
pub use idempotency::Write;
pub use problem::Problem;
