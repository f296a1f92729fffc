//! The live stream measured: `cargo run --release -p countersign-tests --bin live-bench`.
//!
//! Belongs here: sockets' memory, messages a second, times to the acknowledgement and to the
//! last delivery, the same against pgbench and against a bare broadcast, and a reconnect storm.
//! Does not belong here: a test; nothing here passes or fails.
//!
//! Everything shares the machine: the service, its PostgreSQL (with fsync, which is asked for)
//! and this program, which plays two thousand people.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement"
)]

mod bare;
mod crowd;
mod place;

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crowd::{Crowd, SOCKETS};
use place::Place;

/// Aimed at: messages a second that are offered while times are taken.
const OFFERED_PER_S: f64 = 500.0;
/// How long each load lasts.
const LASTS: Duration = Duration::from_secs(10);
/// How long sockets are left alone before their memory is read.
const SETTLES: Duration = Duration::from_secs(5);

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(measure());
}

async fn measure() {
    let mut rows: Vec<(&str, String, &str)> = Vec::new();
    let mut figures = serde_json::Map::new();
    let mut tell = |name: &'static str, value: f64, unit: &'static str, aim: &'static str| {
        println!("{name:<52} {value:>10.1} {unit:<6} {aim}");
        figures.insert(name.to_owned(), json!(value));
        rows.push((name, format!("{value:.1} {unit}"), aim));
    };

    let place = Place::open().await;
    // Hashing a password takes memory of its own: a socket's is counted from here.
    let mut crowd = Crowd::sign_in(&place).await;
    let alone = place.service_rss_kb();
    let began = Instant::now();
    crowd.connect(&place).await;
    tell("sockets opened and welcomed", SOCKETS as f64, "", "2000");
    tell("opening them", began.elapsed().as_secs_f64(), "s", "");
    tokio::time::sleep(SETTLES).await;
    let each = (place.service_rss_kb() - alone) / SOCKETS as f64;
    tell("server memory per idle socket", each, "kB", "under 30");

    crowd.follow().await;
    // The first message of each thread makes it; that is not what is measured.
    crowd.closed(Duration::from_secs(2)).await;
    let steady = crowd.offered(OFFERED_PER_S, LASTS).await;
    tell("offered 500/s: acknowledged", steady.per_s, "/s", "500");
    tell("send to acknowledgement, p50", steady.ack_ms[0], "ms", "");
    tell("send to acknowledgement, p99", steady.ack_ms[1], "ms", "under 100");
    tell("send to last delivery, p50", steady.last_ms[0], "ms", "");
    tell("send to last delivery, p99", steady.last_ms[1], "ms", "under 100");
    let most = crowd.closed(LASTS).await;
    tell("200 writers, one at a time each: acknowledged", most.per_s, "/s", "");
    tell("  send to acknowledgement, p99", most.ack_ms[1], "ms", "");
    tell("  send to last delivery, p99", most.last_ms[1], "ms", "");

    let began = Instant::now();
    crowd.cut();
    crowd.resume(&place).await;
    tell("2000 sockets cut at once: all resumed after", began.elapsed().as_secs_f64(), "s", "");
    crowd.cut();

    let (one, many) = (place.pgbench(1), place.pgbench(20));
    tell("pgbench insert and commit, 1 connection", one, "/s", "");
    tell("pgbench insert and commit, 20 connections", many, "/s", "");
    tell("ratio to pgbench with 1 connection", most.per_s / one, "", "0.5");
    tell("ratio to pgbench with 20 connections", most.per_s / many, "", "0.5");
    place.close().await;

    let bare = bare::broadcast(LASTS).await;
    tell("bare broadcast without storage", bare, "/s", "");
    tell("ratio to the bare broadcast", most.per_s / bare, "", "");
    println!("{}", Value::Object(figures));
}
