//! Somebody's duties as a telephone's calendar, read by another library.
//!
//! Belongs here: that an independent reader takes the same moments from the file as the rota has,
//! over midnight and over both changes of the clocks. Does not belong here: the link, which is the
//! rota's test.
//!
//! The reader is Python's `icalendar`; it is put under `target/` the first time, which needs the
//! network.

use std::process::{Command, Stdio};
use std::sync::LazyLock;

use blackbox::client::{Client, id_in};
use blackbox::tree::workspace;
use chrono::{DateTime, NaiveTime, Offset as _, TimeDelta, TimeZone as _, Utc};
use chrono_tz::Tz;
use serde_json::{Value, json};

use super::rota::{loosely, midnight};
use super::world::World;

/// How far around now a change of the clocks is looked for, days: within what a feed holds.
const LOOK_DAYS: std::ops::Range<i64> = -28..192;

/// The reader's python, put in place by the first test that needs it.
static PYTHON: LazyLock<String> = LazyLock::new(|| {
    let prepared = Command::new(workspace().join("tests/http/smtp/prepare"))
        .arg(workspace().join(READER))
        .output()
        .expect("tests/http/smtp/prepare runs");
    assert!(prepared.status.success(), "{}", String::from_utf8_lossy(&prepared.stderr));
    String::from_utf8(prepared.stdout).unwrap().trim().to_owned()
});

/// Where the reader lies.
const READER: &str = "tests/referees/calendar";

/// The file as the other library reads it.
fn read(text: String) -> Value {
    let mut reader = Command::new(&*PYTHON)
        .arg(workspace().join(READER).join("read.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("python starts");
    // Dropped when written, so that the reader sees the end.
    std::io::Write::write_all(&mut reader.stdin.take().unwrap(), text.as_bytes()).unwrap();
    let done = reader.wait_with_output().unwrap();
    let errors = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "the calendar cannot be read: {errors}\n{text}");
    serde_json::from_slice(&done.stdout).expect("JSON")
}

/// The first change of the clocks by so many hours in one of the zones, that a feed of today holds.
/// The north's and the south's changes are at most 213 days apart, so that there always is one.
fn change(zones: [Tz; 2], hours: i32) -> (Tz, DateTime<Utc>) {
    let found = zones.into_iter().find_map(|zone| {
        let offset = |at: DateTime<Utc>| {
            zone.offset_from_utc_datetime(&at.naive_utc()).fix().local_minus_utc()
        };
        let looked = (LOOK_DAYS.start * 24..LOOK_DAYS.end * 24).map(|hour| {
            let at = midnight() + TimeDelta::hours(hour);
            (at, offset(at) - offset(at - TimeDelta::hours(1)))
        });
        looked.into_iter().find(|(_, by)| *by == hours * 3600).map(|(at, _)| (zone, at))
    });
    found.expect("one of them changes its clocks within the feed's time")
}

/// Puts duties around a change of the clocks, and gives what the feed's reader should find: id,
/// start, end, busy.
async fn duties(world: &World, bo: &Client, zone: Tz, change: DateTime<Utc>) -> Vec<Value> {
    let pia = world.client("pia").await;
    let wall = |days: i64, hour: u32| {
        let day = change.with_timezone(&zone).date_naive() + TimeDelta::days(days);
        let wall = day.and_time(NaiveTime::from_hms_opt(hour, 0, 0).unwrap());
        zone.from_local_datetime(&wall).earliest().expect("not skipped").to_utc()
    };
    // In the hour that comes twice, the second time; or in the one after a skipped hour.
    let within = change + TimeDelta::minutes(30);
    let mut expected = Vec::new();
    for (kind, start, end) in [
        ("leave", wall(-3, 0), wall(-2, 0)),
        ("on_call", wall(-1, 22), within),
        ("second", within, wall(0, 7)),
        ("shift", wall(4, 20), wall(5, 4)),
    ] {
        let new = json!({ "person_id": bo.id, "kind": kind, "start": start, "end": end,
            "note": "Keys, van 2; call first" });
        let id = id_in(&pia.post("/api/rota/entries", &new).await.done()["entry"]);
        let moment = |at: DateTime<Utc>| at.format("%Y-%m-%dT%H:%M:%S+00:00").to_string();
        expected.push(json!({ "uid": format!("{id}@countersign"), "start": moment(start),
            "end": moment(end), "busy": kind == "shift" }));
    }
    expected
}

async fn another_library_reads_the_same(name: &str, zones: [Tz; 2], hours: i32) {
    let (zone, change) = change(zones, hours);
    let world = World::new(name).await;
    let (dan, bo) = (world.client("dan").await, world.client("bo").await);
    dan.patch("/api/shop", &json!({ "zone": zone.name() })).await.done();
    loosely(&dan, "warn").await;
    let expected = duties(&world, &bo, zone, change).await;
    let link = async || {
        let made = bo.post("/api/rota/feed", &Value::Null).await.done();
        read(Client::anonymous(&world.service).get(made["path"].as_str().unwrap()).await.text)
    };

    let calendar = link().await;

    assert_eq!(calendar["zones"], json!([zone.name()]));
    let events = calendar["events"].as_array().unwrap();
    for way in ["named", "explained"] {
        let found: Vec<Value> = events
            .iter()
            .map(|event| {
                json!({ "uid": event["uid"], "start": event["start"][way],
                    "end": event["end"][way], "busy": event["busy"] })
            })
            .collect();
        assert_eq!(found, expected, "{way}, around {change} in {zone}");
    }
    for event in events {
        assert_eq!(event["description"], "Keys, van 2; call first");
        assert_eq!(event["errors"], json!([]), "{event}");
    }
    let shop = dan.get("/api/shop").await.done();
    assert_eq!(events[0]["summary"], format!("Leave, {}", shop["name"].as_str().unwrap()));
    // A day off is midnight to midnight on the shop's wall; a night crosses one.
    let walls = |event: &Value| {
        let clock = |end: &str| event[end]["wall"].as_str().unwrap()[11..].to_owned();
        [clock("start"), clock("end")]
    };
    assert_eq!(walls(&events[0]), ["00:00:00", "00:00:00"]);
    assert_eq!(walls(&events[3]), ["20:00:00", "04:00:00"]);
    // Through another link they are the same events, or a telephone would show each twice.
    let again = link().await;
    let uids = |calendar: &Value| {
        let events = calendar["events"].as_array().unwrap().iter();
        events.map(|event| event["uid"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(uids(&again), uids(&calendar));
}

#[tokio::test]
async fn a_night_on_which_clocks_go_back_is_read_alike_by_another_library() {
    let zones = [chrono_tz::Europe::Oslo, chrono_tz::Australia::Sydney];
    another_library_reads_the_same("feed_back", zones, -1).await;
}

#[tokio::test]
async fn a_night_on_which_clocks_go_forward_is_read_alike_by_another_library() {
    let zones = [chrono_tz::Europe::Oslo, chrono_tz::Australia::Sydney];
    another_library_reads_the_same("feed_forward", zones, 1).await;
}
