//! What happens when nobody answers, from outside: an urgent job that nobody has, the shop's own
//! ladders, quiet hours.
//!
//! Belongs here: what people do to a ladder and what it does to them, over restarts and with two
//! processes. Does not belong here: whom a step reaches (roster's tests), second reads
//! ([`super::readers`]).

use std::fs;
use std::path::PathBuf;

use blackbox::client::{Client, id_in};
use blackbox::service::{Server, Settings};
use chrono::{DateTime, TimeDelta};
use serde_json::{Value, json};
use uuid::Uuid;

use super::rota::now;
use super::world::{COSTLY, World, approve, countersign, step};

/// A world whose clock the test moves, in minutes.
struct Clocked {
    world: World,
    file: PathBuf,
    settings: Settings,
}

impl Clocked {
    async fn new(name: &str) -> Self {
        let file = std::env::temp_dir().join(format!("clock-{name}-{}", std::process::id()));
        fs::write(&file, "0").unwrap();
        let settings = Settings { clock_file: Some(file.clone()), ..Settings::default() };
        let world = World::with(name, settings.clone()).await;
        Clocked { world, file, settings }
    }

    fn at_min(&self, minutes: i64) {
        fs::write(&self.file, (minutes * 60_000).to_string()).unwrap();
    }
}

impl Drop for Clocked {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.file);
    }
}

/// A job that nobody has, on the world's unit.
async fn open_job(world: &World, urgency: &str) -> Uuid {
    let pia = world.client("pia").await;
    let new = json!({ "unit_id": world.unit_id, "complaint": "Drips", "urgency": urgency });
    id_in(&pia.post("/api/jobs", &new).await.done())
}

async fn ladder(who: &Client, job: Uuid) -> Value {
    who.get(&format!("/api/jobs/{job}/ladder")).await.done()
}

/// Names of those whom a step asked or told, by their first two letters.
fn reached(rung: &Value, asked: bool) -> Vec<String> {
    let told = rung["told"].as_array().unwrap().iter();
    let mut names: Vec<String> = told
        .filter(|one| one["asked"] == asked)
        .map(|one| one["person"]["name"].as_str().unwrap()[..2].to_lowercase())
        .collect();
    names.sort();
    names
}

/// The same steps on every day: the tests run on Sundays too.
fn every_day() -> Value {
    let step = |after_min: i64, groups: &[&str]| {
        let who: Vec<Value> = groups
            .iter()
            .map(|group| match *group {
                "next" => json!({ "group": "next", "count": 2 }),
                group => json!({ "group": group }),
            })
            .collect();
        json!({ "after_min": after_min, "who": who, "how": "mail" })
    };
    let urgent = [
        step(5, &["schedulers", "best"]),
        step(15, &["next"]),
        step(30, &["everyone", "managers"]),
    ];
    json!({
        "second_read": { "week": [step(0, &["best"]), step(5, &["next"])] },
        "urgent_job": { "week": urgent },
        "approval": { "week": [step(0, &["managers"]), step(60, &["owners"])] },
        "urgent": ["no_heat_vulnerable", "water"],
        "quiet": null,
        "never_quiet": ["water"],
    })
}

async fn save(who: &Client, version: i64, ladders: &Value) -> Value {
    let body = json!({ "version": version, "ladders": ladders, "why": "A test" });
    who.write(reqwest::Method::PUT, "/api/ladders", blackbox::client::fresh(), &body).await.done()
}

#[tokio::test]
async fn an_urgent_job_that_nobody_has_climbs_until_somebody_takes_it() {
    let clocked = Clocked::new("ladder_urgent").await;
    let world = &clocked.world;
    let (dan, bo) = (world.client("dan").await, world.client("bo").await);
    save(&dan, 0, &every_day()).await;
    let job = open_job(world, "water").await;
    let before = ladder(&bo, job).await;
    assert!(before["next_at"].is_string(), "{before}");
    assert_eq!(
        before["next_words"],
        "the schedulers are told and the best placed technician is asked"
    );

    clocked.at_min(6);
    let fired = "SELECT 1 FROM ladder_step WHERE fired_at IS NOT NULL";
    world.service.rows_once(fired, 1).await;
    let first = ladder(&bo, job).await;
    assert_eq!(reached(&first["rungs"][0], true), ["an"], "by name, all else alike");
    assert_eq!(reached(&first["rungs"][0], false), ["pi"]);
    world.service.rows_once("SELECT 1 FROM mail WHERE template = 'job_wanted'", 1).await;
    let standing = world.client("ana").await.get("/api/standing").await.done();
    assert_eq!(standing["ladders"][0]["asks_me"], true, "{standing}");

    clocked.at_min(16);
    world.service.rows_once(fired, 2).await;
    // A token is good for ten minutes.
    let bo = world.client("bo").await;
    let version = bo.get(&format!("/api/jobs/{job}")).await.done()["version"].clone();
    let take = json!({ "version": version, "person_id": bo.id });
    bo.post(&format!("/api/jobs/{job}/assignment"), &take).await.done();
    let stopped = ladder(&bo, job).await;
    assert_eq!(stopped["stopped_why"], "somebody has it");
    assert_eq!(stopped["next_at"], Value::Null);
    clocked.at_min(120);
    let bo = world.client("bo").await;
    assert!(ladder(&bo, job).await["rungs"][2]["skipped_at"].is_string());
    let history = bo.get(&format!("/api/jobs/{job}/history")).await.done();
    let kinds: Vec<&str> =
        history.as_array().unwrap().iter().map(|one| one["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds.iter().filter(|kind| **kind == "job_ladder_fired").count(), 2, "{kinds:?}");
}

#[tokio::test]
async fn saying_no_asks_the_next_and_a_change_of_class_starts_or_stops_it() {
    let world = World::new("ladder_no").await;
    let (dan, pia) = (world.client("dan").await, world.client("pia").await);
    let mut at_once = every_day();
    at_once["urgent_job"]["week"][0]["after_min"] = json!(0);
    save(&dan, 0, &at_once).await;
    let job = open_job(&world, "comfort").await;
    assert_eq!(ladder(&pia, job).await, Value::Null, "it can wait");

    let version = pia.get(&format!("/api/jobs/{job}")).await.done()["version"].clone();
    let change = json!({ "version": version, "urgency": "water" });
    pia.patch(&format!("/api/jobs/{job}"), &change).await.done();
    let rising = ladder(&pia, job).await;
    assert_eq!(reached(&rising["rungs"][0], true), ["an"]);

    let ana = world.client("ana").await;
    let path = format!("/api/jobs/{job}/decline");
    ana.post(&path, &json!({ "reason": "no" })).await.refused(422, "invalid");
    let said = ana.post(&path, &json!({ "reason": "I am ill today" })).await.done();
    assert_eq!(reached(&said["rungs"][1], true), ["bo", "cl"], "the next are asked at once");
    assert_eq!(said["rungs"][0]["told"][0]["reason"], "I am ill today");
    ana.post(&path, &json!({ "reason": "I am ill today" })).await.refused(409, "not-asked");

    let version = pia.get(&format!("/api/jobs/{job}")).await.done()["version"].clone();
    let change = json!({ "version": version, "urgency": "comfort" });
    pia.patch(&format!("/api/jobs/{job}"), &change).await.done();
    assert_eq!(ladder(&pia, job).await["stopped_why"], "it can wait now");
}

#[tokio::test]
async fn two_processes_and_a_kill_between_them_fire_each_step_once() {
    let mut clocked = Clocked::new("ladder_two").await;
    let dan = clocked.world.client("dan").await;
    save(&dan, 0, &every_day()).await;
    let mut jobs = Vec::new();
    for _ in 0..5 {
        jobs.push(open_job(&clocked.world, "water").await);
    }
    let url = clocked.world.service.database_url().to_owned();
    let other = Server::start(&url, &clocked.settings).await;
    clocked.at_min(6);
    clocked.world.service.kill_and_start().await;
    clocked.at_min(40);
    let fired = "SELECT 1 FROM ladder_step WHERE fired_at IS NOT NULL";
    clocked.world.service.rows_once(fired, 15).await;
    drop(other);

    let service = &clocked.world.service;
    assert_eq!(service.count("record_entry WHERE kind = 'job_ladder_fired'").await, 15);
    let asked_twice = "(SELECT ladder_id, person_id FROM ladder_told WHERE asked \
         GROUP BY 1, 2 HAVING count(*) > 1) AS twice";
    assert_eq!(service.count(asked_twice).await, 0);
    let wanted = service.count("outbox WHERE payload ->> 'template' = 'job_wanted'").await;
    assert_eq!(wanted, service.count("ladder_told WHERE asked").await, "one mail each");
    let verified = service.run(&["verify-record"]).await;
    assert!(verified.status.success(), "{verified:?}");
}

#[tokio::test]
async fn an_approval_that_waits_reminds_and_deciding_stops_it() {
    let clocked = Clocked::new("ladder_approval").await;
    let world = &clocked.world;
    save(&world.client("dan").await, 0, &every_day()).await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (_, request) = world.revealed(&ana, &bo, COSTLY).await;
    countersign(&bo, request).await.done();
    let asked = "outbox WHERE payload ->> 'template' = 'approval_asked'";
    let at_once = world.service.count(asked).await;
    assert!(at_once >= 2, "Dan and the owners");

    clocked.at_min(61);
    let reminded = "SELECT 1 FROM ladder_step JOIN ladder ON ladder.id = ladder_id \
         WHERE kind = 'approval' AND fired_at IS NOT NULL";
    world.service.rows_once(reminded, 2).await;
    assert!(world.service.count(asked).await > at_once, "the owners once more");
    let (dan, olaf) = (world.client("dan").await, world.client("olaf").await);
    let seen = olaf.get(&format!("/api/requests/{request}")).await.done();
    assert_eq!(seen["approval_ladder"]["rungs"][1]["words"], "the owners are asked");

    approve(&dan, request).await.done();
    let seen = olaf.get(&format!("/api/requests/{request}")).await.done();
    assert_eq!(seen["approval_ladder"]["stopped_why"], "approved");
}

#[tokio::test]
async fn quiet_hours_hold_a_step_until_the_morning_and_say_so() {
    let world = World::new("ladder_quiet").await;
    let dan = world.client("dan").await;
    // Whatever the time now: quiet from two hours ago for four hours, by the shop's clock.
    let now = world
        .service
        .rows("SELECT extract(hour FROM now() AT TIME ZONE 'Europe/Oslo')::int AS hour");
    let hour = now.await[0]["hour"].as_i64().unwrap();
    let hours = json!({ "from_min": (hour + 22) % 24 * 60, "to_min": (hour + 2) % 24 * 60 });
    let mut ladders = every_day();
    ladders["urgent_job"]["week"][0]["after_min"] = json!(0);
    ladders["quiet"] = hours.clone();
    save(&dan, 0, &ladders).await;

    let loud = open_job(&world, "water").await;
    assert_eq!(reached(&ladder(&dan, loud).await["rungs"][0], true), ["an"], "never quiet");
    let held = open_job(&world, "no_heat_vulnerable").await;
    let waits = ladder(&dan, held).await;
    assert!(waits["rungs"][0]["held_until"].is_string(), "{waits}");
    assert!(waits["rungs"][0]["fired_at"].is_null());
    assert!(waits["rungs"][0]["told"].as_array().unwrap().is_empty());

    // Bo wants to be asked at any hour: the next such job goes to him.
    let bo = world.client("bo").await;
    let path = format!("/api/people/{}/quiet-hours", bo.id);
    let none = json!({ "own": true, "hours": null, "zone": "Europe/Oslo" });
    let put = reqwest::Method::PUT;
    bo.write(put.clone(), &path, blackbox::client::fresh(), &none).await.done();
    let next = open_job(&world, "no_heat_vulnerable").await;
    let climbed = ladder(&dan, next).await;
    assert_eq!(reached(&climbed["rungs"][0], true), ["bo"], "{climbed}");
    let note = climbed["rungs"][0]["note"].as_str().unwrap();
    assert!(note.contains("quiet hours"), "{note}");

    let zone = json!({ "own": true, "hours": hours, "zone": "Nowhere/Town" });
    let refused = bo.write(put, &path, blackbox::client::fresh(), &zone).await;
    refused.refused(422, "invalid");
}

#[tokio::test]
async fn bad_ladders_are_refused_where_they_are_wrong_and_the_last_of_two_is_told() {
    let world = World::new("ladder_bad").await;
    let dan = world.client("dan").await;
    let send = async |version: i64, ladders: &Value| {
        let body = json!({ "version": version, "ladders": ladders });
        dan.write(reqwest::Method::PUT, "/api/ladders", blackbox::client::fresh(), &body).await
    };
    let mut bad = every_day();
    bad["urgent_job"]["week"][1]["after_min"] = json!(5);
    bad["urgent_job"]["week"][2]["who"] = json!([{ "group": "delegate" }]);
    bad["second_read"]["week"][0]["who"] = json!([{ "group": "person", "person_id": Uuid::nil() }]);
    let refused = send(0, &bad).await.refused(422, "invalid");
    let pointers: Vec<&str> = refused["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|error| error["pointer"].as_str().unwrap())
        .collect();
    assert_eq!(
        pointers,
        [
            "/ladders/second_read/week/0/who/0",
            "/ladders/second_read/week/0/who",
            "/ladders/urgent_job/week/1/after_min",
            "/ladders/urgent_job/week/2/who/0",
            "/ladders/urgent_job/week/2/who",
        ]
    );
    let mut unknown = every_day();
    unknown["urgent_job"]["week"][0]["who"] = json!([{ "group": "everybody" }]);
    send(0, &unknown).await.refused(400, "bad-json");
    send(0, &every_day()).await.done();
    send(0, &every_day()).await.refused(409, "changed-meanwhile");
    let now = dan.get("/api/ladders").await.done();
    assert_eq!(now["version"], 1);
    assert_eq!(now["versions"][0]["made_by"]["id"], dan.id.to_string());
}

#[tokio::test]
async fn what_would_happen_is_told_without_anything_happening() {
    let world = World::new("ladder_preview").await;
    let pia = world.client("pia").await;
    let mut ladders = every_day();
    ladders["quiet"] = json!({ "from_min": 22 * 60, "to_min": 7 * 60 });
    // 22:40 in Oslo on Saturday 28 November 2026.
    let ask = json!({ "kind": "urgent_job", "at": "2026-11-28T21:40:00Z",
        "urgency": "no_heat_vulnerable", "ladders": ladders });
    let story = pia.post("/api/ladders/preview", &ask).await.done();
    assert_eq!((story["weekend"].clone(), story["starts"].clone()), (json!(true), json!(true)));
    let first = &story["steps"][0];
    assert_eq!(first["held_until"], "2026-11-29T06:00:00Z", "{first}");
    assert!(first["quiet"].as_array().unwrap().len() >= 2);
    let morning = story["steps"].as_array().unwrap().iter().find(|step| {
        step["at"] == "2026-11-29T06:00:00Z" && !step["asked"].as_array().unwrap().is_empty()
    });
    assert!(morning.is_some(), "{story}");

    let any_hour = json!({ "kind": "urgent_job", "at": "2026-11-28T21:40:00Z", "urgency": "water",
        "ladders": ladders });
    let story = pia.post("/api/ladders/preview", &any_hour).await.done();
    assert_eq!(story["minds_quiet"], false);
    assert!(story["steps"][0]["held_until"].is_null());
    let wrong = json!({ "kind": "lunch", "at": "2026-11-28T21:40:00Z", "urgency": "water" });
    pia.post("/api/ladders/preview", &wrong).await.refused(422, "invalid");

    assert_eq!(world.service.count("ladder").await, 0);
    assert_eq!(world.service.count("ladder_setting").await, 0);
}

#[tokio::test]
async fn taking_a_read_stops_the_shops_own_steps() {
    let world = World::new("ladder_read").await;
    let (dan, ana, bo) =
        (world.client("dan").await, world.client("ana").await, world.client("bo").await);
    save(&dan, 0, &every_day()).await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    let seen = ana.get(&format!("/api/requests/{request}")).await.done();
    assert_eq!(seen["ladder"]["rungs"].as_array().unwrap().len(), 2, "as the shop has it");
    assert_eq!(seen["ladder"]["setting_version"], 1);
    step(&bo, request, "take", &Value::Null).await.done();
    let seen = ana.get(&format!("/api/requests/{request}")).await.done();
    assert!(seen["ladder"]["stopped_at"].is_string());
}

#[tokio::test]
async fn a_job_for_which_nobody_need_go_yet_asks_people_only_shortly_before() {
    let clocked = Clocked::new("ladder_not_before").await;
    let world = &clocked.world;
    let (dan, pia) = (world.client("dan").await, world.client("pia").await);
    save(&dan, 0, &every_day()).await;
    let in_hours = |hours: i64| (now() + TimeDelta::hours(hours)).to_rfc3339();
    let new = json!({ "unit_id": world.unit_id, "complaint": "Drips", "urgency": "water",
        "not_before": in_hours(6) });
    let job = pia.post("/api/jobs", &new).await.done();
    let id = id_in(&job);

    let standing = ladder(&pia, id).await;
    let due = |standing: &Value, rung: usize| {
        let due = standing["rungs"][rung]["due_at"].as_str().unwrap().to_owned();
        DateTime::parse_from_rfc3339(&due).unwrap().to_utc() - now()
    };
    // The last of its steps, after half an hour, falls due when somebody need go.
    let minutes = due(&standing, 2).num_minutes();
    assert!((355..=360).contains(&minutes), "{minutes}: {standing}");
    let path = format!("/api/jobs/{id}");
    let patch = json!({ "version": job["version"], "not_before": in_hours(12) });
    let job = pia.patch(&path, &patch).await.done();
    let moved = ladder(&pia, id).await;
    let minutes = due(&moved, 2).num_minutes();
    assert!((715..=720).contains(&minutes), "{minutes}: {moved}");
    assert_eq!(world.service.count("ladder WHERE stopped_why = 'its time was moved'").await, 1);
    // Somebody may go at once after all: it begins anew, now.
    let patch = json!({ "version": job["version"], "not_before": null });
    pia.patch(&path, &patch).await.done();
    let now = ladder(&pia, id).await;
    assert!(due(&now, 0).num_minutes() <= 5, "{now}");
    clocked.at_min(6);
    let fired = "SELECT 1 FROM ladder_step WHERE fired_at IS NOT NULL";
    world.service.rows_once(fired, 1).await;
}

#[tokio::test]
async fn a_delegate_whom_a_manager_named_is_reached_by_the_ladder_and_may_approve() {
    let clocked = Clocked::new("ladder_delegate").await;
    let world = &clocked.world;
    let (dan, pia) = (world.client("dan").await, world.client("pia").await);
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let mut ladders = every_day();
    ladders["approval"]["week"][1]["who"] = json!([{ "group": "delegate" }]);
    save(&dan, 0, &ladders).await;
    let until = (now() + TimeDelta::hours(30)).to_rfc3339();
    let name = |who: &Client, cents: i64| {
        let body = json!({ "up_to_cents": cents, "until": until, "why": "On leave till Monday." });
        let path = format!("/api/people/{}/delegation", who.id);
        (path, body)
    };
    let put = reqwest::Method::PUT;
    let fresh = blackbox::client::fresh;
    let (path, body) = name(&pia, COSTLY + 1);
    pia.write(put.clone(), &path, fresh(), &body).await.refused(403, "not-allowed");
    let (own, body_of_dan) = name(&dan, COSTLY);
    dan.write(put.clone(), &own, fresh(), &body_of_dan).await.refused(409, "manages-already");
    let (_, too_much) = name(&pia, 0);
    let refused = dan.write(put.clone(), &path, fresh(), &too_much).await;
    assert_eq!(refused.refused(422, "invalid")["errors"][0]["pointer"], "/up_to_cents");
    let standing = dan.write(put, &path, fresh(), &body).await.done();
    assert_eq!(standing[0]["person"]["id"], json!(pia.id), "{standing}");
    assert_eq!(standing[0]["named_by"]["id"], json!(dan.id));

    // Dan does not answer; the step after an hour reaches Pia.
    let (_, request) = world.revealed(&ana, &bo, COSTLY).await;
    countersign(&bo, request).await.done();
    let (_, other) = world.revealed(&ana, &bo, COSTLY).await;
    countersign(&bo, other).await.done();
    let asked = format!(
        "outbox WHERE payload ->> 'template' = 'approval_asked' AND payload ->> 'to_person' = '{}'",
        pia.id
    );
    assert_eq!(world.service.count(&asked).await, 0);
    clocked.at_min(61);
    world.service.rows_once(&format!("SELECT 1 FROM {asked}"), 2).await;
    // An hour on, everybody's access has to be renewed.
    let (dan, pia) = (world.client("dan").await, world.client("pia").await);
    let seen = pia.get(&format!("/api/requests/{request}")).await.done();
    let reached = reached(&seen["approval_ladder"]["rungs"][1], true);
    assert_eq!(reached, ["pi"], "{seen}");
    assert_eq!(approve(&pia, request).await.done()["state"], "approved");

    // Ended, it allows nothing more.
    let end = reqwest::Method::DELETE;
    let left = dan.write(end, &path, fresh(), &Value::Null).await.done();
    assert_eq!(left, json!([]));
    let digest = super::world::digest(&dan, other).await;
    let late = json!({ "digest": digest, "amount_cents": COSTLY, "reason": "Worth it." });
    step(&pia, other, "approve", &late).await.refused(403, "not-yours");
    assert_eq!(world.service.count("record_entry WHERE kind LIKE 'delegate_%'").await, 2);
}
