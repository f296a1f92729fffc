//! The board measured: `cargo run --release -p countersign-tests --bin board-bench`.
//!
//! Belongs here: size and time of what a screen fetches when ten thousand jobs are open, and how
//! long a change takes to five hundred screens. Does not belong here: a test; nothing here passes
//! or fails.
//!
//! Everything shares the machine: the service, its PostgreSQL (with fsync, which is asked for)
//! and this program, which plays the five hundred.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement"
)]

#[path = "../live/crowd.rs"]
#[allow(dead_code, reason = "the crowd of the live stream's measurement says and follows, too")]
mod crowd;
mod estate;
#[path = "../live/place.rs"]
#[allow(dead_code, reason = "the place of the live stream's measurement")]
mod place;
mod viewers;

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crowd::{half_and_99, sign_in};
use place::Place;
use viewers::Viewers;

/// Open jobs.
const JOBS: usize = 10_000;
/// Screens that look on.
const VIEWERS: usize = 500;
/// Rows of a screen's first page, as the web client asks for them.
const PAGE_ROWS: usize = 60;
/// How often each snapshot is fetched.
const FETCHES: usize = 50;
/// Changes a second, and for how long.
const CHANGES_PER_S: f64 = 5.0;
const LASTS: Duration = Duration::from_secs(20);

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    runtime.block_on(measure());
}

async fn measure() {
    let mut figures = serde_json::Map::new();
    let mut tell = |name: &str, value: f64, unit: &str, aim: &str| {
        println!("{name:<58} {value:>10.1} {unit:<6} {aim}");
        figures.insert(name.to_owned(), json!(value));
    };
    let place = Place::open().await;
    let today = estate::fill(&place, JOBS).await;
    let http = reqwest::Client::builder().no_proxy().build().unwrap();
    let token = sign_in(&http, &place.base, 0).await;

    for (name, path) in [
        ("first page of the queue", format!("/api/board?limit={PAGE_ROWS}")),
        ("a day of the plan", format!("/api/board?limit=500&day={today}")),
        ("one row", format!("/api/board/jobs?ids={}", place.jobs[0])),
        ("the queue by two words", format!("/api/board?limit={PAGE_ROWS}&q=customer+17")),
        ("a customer by a piece of the name", "/api/customers/search?q=mer+1999".to_owned()),
    ] {
        let mut ms = Vec::new();
        let (mut bytes, mut packed) = (0, 0);
        for _ in 0..FETCHES {
            let began = Instant::now();
            bytes = fetch(&http, &place.base, &token, &path, false).await;
            ms.push(began.elapsed().as_secs_f64() * 1000.0);
            packed = fetch(&http, &place.base, &token, &path, true).await;
        }
        let [half, most] = half_and_99(ms);
        tell(&format!("{name}: size"), bytes as f64 / 1024.0, "KiB", "");
        tell(&format!("{name}: size on the wire, gzip"), packed as f64 / 1024.0, "KiB", "");
        tell(&format!("{name}: p50"), half, "ms", "");
        tell(&format!("{name}: p99"), most, "ms", "under 100");
    }
    let began = Instant::now();
    let (rows, bytes) = whole(&http, &place.base, &token).await;
    tell("every job, in pages of 1000: rows", rows as f64, "", "10000");
    tell("every job: size", bytes as f64 / 1024.0, "KiB", "");
    tell("every job: time", began.elapsed().as_secs_f64() * 1000.0, "ms", "");

    let alone = place.service_rss_kb();
    let viewers = Viewers::open(&place, VIEWERS).await;
    tell("screens that look on", VIEWERS as f64, "", "500");
    tell("memory per screen", (place.service_rss_kb() - alone) / VIEWERS as f64, "kB", "");
    let seen = viewers.changes(&place, &token, CHANGES_PER_S, LASTS).await;
    tell("changes made", seen.changes as f64, "", "");
    tell("rows that came, of those that should", seen.share * 100.0, "%", "100");
    tell("change asked for to row on a screen, p50", seen.ms[0], "ms", "");
    tell("change asked for to row on a screen, p99", seen.ms[1], "ms", "under 1000");
    tell("change asked for to row on the last screen, p99", seen.last_ms[1], "ms", "under 1000");
    place.close().await;
    println!("{}", Value::Object(figures));
}

/// Bytes of the answer's body as they came.
async fn fetch(http: &reqwest::Client, base: &str, token: &str, path: &str, packed: bool) -> usize {
    let mut asked = http.get(format!("{base}{path}")).bearer_auth(token);
    if packed {
        asked = asked.header("accept-encoding", "gzip");
    }
    let answer = asked.send().await.unwrap();
    assert!(answer.status().is_success(), "{path}: {}", answer.status());
    answer.bytes().await.unwrap().len()
}

async fn whole(http: &reqwest::Client, base: &str, token: &str) -> (usize, usize) {
    let (mut rows, mut bytes) = (0, 0);
    let mut path = "/api/board?limit=1000".to_owned();
    loop {
        let answer = http.get(format!("{base}{path}")).bearer_auth(token).send().await.unwrap();
        let text = answer.text().await.unwrap();
        bytes += text.len();
        let page: Value = serde_json::from_str(&text).unwrap();
        rows += page["jobs"].as_array().unwrap().len();
        match page["next"].as_str() {
            Some(next) => path = format!("/api/board?limit=1000&after={next}"),
            None => return (rows, bytes),
        }
    }
}
