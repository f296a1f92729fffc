//! The rota from outside: put in, taken out, refused in words, and who is asked because of it.
//!
//! Belongs here: what people do with the rota and what it does to readers. Does not belong here:
//! rest and daylight saving as such, which are the roster's own tests.

use blackbox::client::{Client, id_in};
use chrono::{DateTime, DurationRound as _, TimeDelta, Utc};
use serde_json::{Value, json};
use store::ambient::Ambient;
use uuid::Uuid;

use super::world::{COSTLY, World};

/// The time as the service under test takes it from the system.
pub(crate) fn now() -> DateTime<Utc> {
    Ambient::from_os().expect("the system has randomness").now()
}

/// The last midnight by UTC.
pub(crate) fn midnight() -> DateTime<Utc> {
    now().duration_trunc(TimeDelta::days(1)).expect("a day is a sound step")
}

/// So many hours from the last midnight, as sent.
pub(crate) fn at(hours: i64) -> String {
    (midnight() + TimeDelta::hours(hours)).to_rfc3339()
}

/// Somebody puts an entry in.
pub(crate) async fn put(who: &Client, person: Uuid, kind: &str, from: i64, to: i64) -> Uuid {
    let done = try_put(who, person, kind, from, to).await.done();
    id_in(&done["entry"])
}

/// Somebody tries to.
pub(crate) async fn try_put(
    who: &Client,
    person: Uuid,
    kind: &str,
    from: i64,
    to: i64,
) -> blackbox::client::Answer {
    let new = json!({ "person_id": person, "kind": kind, "start": at(from), "end": at(to) });
    who.post("/api/rota/entries", &new).await
}

/// Takes the shop's rest rule down to its loosest, where a test is about something else.
pub(crate) async fn loosely(manager: &Client, on_break: &str) {
    let calendar = json!({ "week": [[], [], [], [], [], [], []], "rest": { "rest_min": 660,
        "duty_max_min": 780, "nights_on_call_max": 31, "on_break": on_break } });
    manager
        .write("PUT".parse().unwrap(), "/api/calendar", blackbox::client::fresh(), &calendar)
        .await
        .done();
}

async fn candidates(who: &Client, request: Uuid) -> Value {
    who.get(&format!("/api/requests/{request}/candidates")).await.done()
}

fn line(found: &Value, person: Uuid) -> &Value {
    let ranked = found["ranked"].as_array().unwrap();
    ranked.iter().find(|one| one["person"]["id"] == person.to_string()).unwrap()
}

#[tokio::test]
async fn readers_are_ranked_by_the_rota_and_whoever_is_on_leave_is_never_asked() {
    let world = World::new("rota_readers").await;
    let (ana, pia) = (world.client("ana").await, world.client("pia").await);
    let (bo, cleo, eva) =
        (world.client("bo").await, world.client("cleo").await, world.client("eva").await);
    // Bo is away, Cleo on call for the whole time, Eva off duty.
    put(&pia, bo.id, "leave", -24, 96).await;
    put(&pia, cleo.id, "on_call", -12, 60).await;

    let (_, request) = world.ready(&ana, COSTLY).await;

    let found = candidates(&ana, request).await;
    let excluded = found["excluded"].to_string();
    assert!(excluded.contains("is on leave"), "{excluded}");
    let ranked = found["ranked"].as_array().unwrap();
    assert_eq!(ranked.len(), 2);
    assert_eq!(ranked[0]["person"]["id"], cleo.id.to_string());
    let because = line(&found, cleo.id)["because"].to_string();
    assert!(because.contains("on call until") && because.contains("site time"), "{because}");
    assert!(line(&found, eva.id)["because"].to_string().contains("off duty"));
    let asked = super::world::seen(&ana, request).await;
    assert_eq!(asked["asked"][0]["person"]["id"], cleo.id.to_string(), "the ladder keeps to it");

    // In the second rota somebody is off duty until it is opened.
    let other = put(&pia, eva.id, "second", -12, 60).await;
    let because = candidates(&ana, request).await;
    assert!(line(&because, eva.id)["because"].to_string().contains("off duty"));
    let path = format!("/api/rota/entries/{other}");
    pia.write("DELETE".parse().unwrap(), &path, blackbox::client::fresh(), &Value::Null)
        .await
        .done();
}

#[tokio::test]
async fn two_entries_of_one_person_never_meet_and_the_other_is_named() {
    let world = World::new("rota_overlap").await;
    let (pia, bo, cleo) =
        (world.client("pia").await, world.client("bo").await, world.client("cleo").await);
    put(&pia, bo.id, "shift", 200, 208).await;

    let refused = try_put(&pia, bo.id, "on_call", 207, 220).await.refused(409, "rota-overlap");
    let detail = refused["detail"].as_str().unwrap();
    assert!(detail.contains("Bo of") && detail.contains("is on shift"), "{detail}");
    // Touching is not meeting; another person is another matter.
    put(&pia, bo.id, "on_call", 208, 220).await;
    put(&pia, cleo.id, "shift", 200, 208).await;
    try_put(&pia, bo.id, "shift", 300, 300).await.refused(422, "invalid");
    try_put(&pia, bo.id, "shift", 300, 340).await.refused(422, "invalid");
    try_put(&pia, bo.id, "shift", -24 * 200, -24 * 200 + 8).await.refused(422, "invalid");

    let bos = bo.get("/api/rota").await.done();
    let entries = bos["entries"].as_array().unwrap();
    assert_eq!(entries.len(), 3, "{bos}");
    assert_eq!(world.service.count("record_entry WHERE kind = 'rota_entry_added'").await, 3);
}

#[tokio::test]
async fn a_change_that_breaks_rest_is_refused_or_said_as_the_shop_has_it() {
    let world = World::new("rota_rest").await;
    let (pia, dan, bo) =
        (world.client("pia").await, world.client("dan").await, world.client("bo").await);
    put(&pia, bo.id, "shift", 200, 209).await;

    let refused = try_put(&pia, bo.id, "shift", 216, 224).await.refused(409, "rest");
    let detail = refused["detail"].as_str().unwrap();
    assert!(detail.contains("only 7 h of rest") && detail.contains("could begin"), "{detail}");
    loosely(&dan, "warn").await;
    let done = try_put(&pia, bo.id, "shift", 216, 224).await.done();
    assert!(done["warnings"][0]["says"].as_str().unwrap().contains("only 7 h of rest"), "{done}");
    // What stands broken blocks nothing else.
    loosely(&dan, "refuse").await;
    put(&pia, bo.id, "shift", 400, 408).await;
}

#[tokio::test]
async fn a_secret_link_gives_ones_own_duties_as_a_calendar_until_a_new_one_is_made() {
    let world = World::new("rota_feed").await;
    let (pia, bo, cleo) =
        (world.client("pia").await, world.client("bo").await, world.client("cleo").await);
    let mine = put(&pia, bo.id, "on_call", 200, 212).await;
    let theirs = put(&pia, cleo.id, "shift", 200, 208).await;
    let nobody = Client::anonymous(&world.service);
    assert_eq!(bo.get("/api/rota/feed").await.done()["made_at"], Value::Null);

    let made = bo.post("/api/rota/feed", &Value::Null).await.done();
    let path = made["path"].as_str().unwrap().to_owned();
    let read = nobody.get(&path).await;

    assert_eq!(read.status, 200, "{}", read.text);
    assert!(read.text.starts_with("BEGIN:VCALENDAR\r\n"), "{}", read.text);
    assert!(read.text.contains(&format!("UID:{mine}@countersign\r\n")), "{}", read.text);
    assert!(!read.text.contains(&theirs.to_string()), "somebody else's");
    // The demo's shop is in Oslo: the wall's time, explained by the zone in the file.
    let wall = (midnight() + TimeDelta::hours(200)).with_timezone(&chrono_tz::Europe::Oslo);
    let start = format!("DTSTART;TZID=Europe/Oslo:{}\r\n", wall.format("%Y%m%dT%H%M%S"));
    assert!(read.text.contains(&start), "{start}: {}", read.text);
    assert!(read.text.contains("BEGIN:VTIMEZONE\r\nTZID:Europe/Oslo\r\n"), "{}", read.text);

    let again = bo.post("/api/rota/feed", &Value::Null).await.done();
    nobody.get(&path).await.refused(401, "not-signed-in");
    let path = again["path"].as_str().unwrap();
    assert_eq!(nobody.get(path).await.status, 200);
    bo.write("DELETE".parse().unwrap(), "/api/rota/feed", blackbox::client::fresh(), &Value::Null)
        .await
        .done();
    nobody.get(path).await.refused(401, "not-signed-in");
    let kept = world.service.rows("SELECT count(*) AS kept FROM rota_feed").await;
    assert_eq!(kept[0]["kept"], 0);
}
