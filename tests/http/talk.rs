//! The thread beside words: photos, asks for a reading, mentions, who is here, search.
//!
//! Belongs here: what somebody with a network connection sees of them. Does not belong here:
//! what is made of a picture, which the store's own tests have.

use blackbox::client::{Client, fresh, id_in};
use blackbox::socket::Socket;
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{COSTLY, World, agreeing, ask, pins, step};

/// A PNG of one pixel.
const DOT: &str = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==";

pub(crate) fn dot_in_base64() -> &'static str {
    DOT
}

/// Puts a photo on a job.
pub(crate) async fn photo(who: &Client, job: Uuid) -> Uuid {
    id_in(&who.post(&format!("/api/jobs/{job}/photos"), &json!({ "content": DOT })).await.done())
}

/// Asks for the reading between two pins with the plug off.
pub(crate) async fn ask_for(who: &Client, job: Uuid, why: &str) -> Uuid {
    let wanted = json!({ "quantity": "resistance", "from": "C", "to": "R", "lifted": ["plug"],
        "power": "off", "why": why });
    id_in(&say(who, job, "ask", json!({ "ask": wanted })).await)
}

async fn say(who: &Client, job: Uuid, kind: &str, body: Value) -> Value {
    let new = json!({ "key": fresh(), "kind": kind, "body": body });
    who.post(&format!("/api/jobs/{job}/thread"), &new).await.done()
}

#[tokio::test]
async fn a_photo_is_shown_to_whoever_may_see_the_thread_and_to_nobody_else() {
    let world = World::new("talk_photo").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let zed = world.client("zed").await;
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let request = id_in(&ask(&ana, job, COSTLY, "").await.done());
    let photo_id = photo(&ana, job).await;

    let said = say(&ana, job, "photo", json!({ "photo_id": photo_id, "text": "The plug" })).await;
    assert_eq!((&said["body"]["width_px"], &said["body"]["height_px"]), (&json!(1), &json!(1)));
    let path = format!("/api/photos/{photo_id}");
    for path in [path.clone(), format!("{path}?preview=true")] {
        let answer = bo.get(&path).await;
        assert_eq!(answer.status, 200);
        assert_eq!(answer.headers.get("content-type").unwrap(), "image/jpeg");
        assert_eq!(answer.headers.get("cache-control").unwrap(), "no-store");
    }
    zed.get(&path).await.refused(404, "not-found");
    let other = json!({ "key": fresh(), "kind": "photo", "body": { "photo_id": photo_id } });
    bo.post(&format!("/api/jobs/{job}/thread"), &other).await.refused(422, "invalid");

    step(&bo, request, "take", &Value::Null).await.done();
    bo.get(&path).await.refused(403, "blind-first");
    let body = json!({ "content": DOT });
    bo.post(&format!("/api/jobs/{job}/photos"), &body).await.refused(403, "blind-first");
    step(&bo, request, "blind-read", &agreeing()).await.done();
    assert_eq!(bo.get(&path).await.status, 200);
}

#[tokio::test]
async fn what_is_no_picture_is_refused_in_words_whatever_it_is_called() {
    let world = World::new("talk_bad_photo").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let check = async |content: &str, says: &str| {
        let path = format!("/api/jobs/{job}/photos");
        let problem = ana.post(&path, &json!({ "content": content })).await.refused(422, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/content", "{problem}");
        assert!(problem["detail"].as_str().unwrap().contains(says), "{problem}");
    };

    check("PHN2ZyB4bWxucz0iaHR0cDovL3d3dy53My5vcmcvMjAwMC9zdmciLz4=", "JPEG, PNG or WebP").await;
    check("R0lGODlhAQABAAAAACw=", "JPEG, PNG or WebP").await;
    check(&DOT[..64], "damaged").await;
    check("no base64 at all", "base64").await;
    let huge = json!({ "content": "A".repeat(9 * 1024 * 1024) });
    ana.post(&format!("/api/jobs/{job}/photos"), &huge).await.refused(413, "too-large");
}

#[tokio::test]
async fn an_ask_is_answered_once_from_its_card_and_tells_no_verdict() {
    let world = World::new("talk_ask").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (cleo, dan) = (world.client("cleo").await, world.client("dan").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    ask(&ana, job, COSTLY, "").await.done();
    let mut bos_socket = Socket::open(&bo).await;
    bos_socket.follow(job, 0).await;
    let ask_id = ask_for(&dan, job, "Is it open there too?").await;

    let path = format!("/api/jobs/{job}/asks/{ask_id}/answer");
    let filled = json!({ "shown": { "is": "over_limit" } });
    dan.post(&path, &filled).await.refused(403, "not-allowed");
    let evidence = ana.post(&path, &filled).await.done();
    let reading = evidence["readings"].as_array().unwrap().last().unwrap().clone();
    assert_eq!(
        (&reading["reading"]["from"], &reading["reading"]["to"]),
        (&json!("C"), &json!("R"))
    );
    cleo.post(&path, &filled).await.refused(409, "ask-answered");
    let nowhere = format!("/api/jobs/{job}/asks/{}/answer", fresh());
    ana.post(&nowhere, &filled).await.refused(404, "not-found");

    // Bo could still read it blind: the sentence names the reading and where the gate stands.
    let wanted = ask_id.to_string();
    let frame =
        bos_socket.until(|frame| frame["message"]["body"]["ask_id"] == wanted.as_str()).await;
    let body = &frame["message"]["body"];
    assert_eq!(body["reading_label"], reading["label"]);
    let event = body["event"].as_str().unwrap();
    assert!(event.contains("The gate answers"), "{event}");
    for leak in ["solated", "run winding", "compressor is", "condemn"] {
        assert!(!event.contains(leak), "{event}");
    }
    let shown = bo.get(&format!("/api/jobs/{job}/evidence")).await.done();
    assert_eq!(shown["verdict"], Value::Null);
}

#[tokio::test]
async fn a_closed_job_is_still_talked_about_but_asked_for_nothing() {
    let world = World::new("talk_closed").await;
    let (ana, pia) = (world.client("ana").await, world.client("pia").await);
    let job = world.job(&ana).await;
    let wanted = json!({ "quantity": "resistance", "from": "C", "to": "R", "power": "off" });
    let first = json!({ "key": fresh(), "kind": "ask", "body": { "ask": wanted } });
    let path = format!("/api/jobs/{job}/thread");
    let ask_id = id_in(&pia.post(&path, &first).await.done());
    let version = pia.get(&format!("/api/jobs/{job}")).await.done()["version"].clone();
    let finish = json!({ "version": version, "state": "cancelled" });
    pia.patch(&format!("/api/jobs/{job}"), &finish).await.done();

    let said = say(&ana, job, "text", json!({ "text": "It never came to anything." })).await;
    assert_eq!(said["seq"], 2);
    assert!(!photo(&ana, job).await.is_nil());
    // What was stored while it was open is still acknowledged, by the same id.
    assert_eq!(id_in(&pia.post(&path, &first).await.done()), ask_id);
    let new = json!({ "key": fresh(), "kind": "ask", "body": { "ask": wanted } });
    ana.post(&path, &new).await.refused(409, "job-closed");
    let filled = json!({ "shown": { "is": "over_limit" } });
    let answer = ana.post(&format!("/api/jobs/{job}/asks/{ask_id}/answer"), &filled).await;
    answer.refused(409, "job-closed");
}

#[tokio::test]
async fn an_ask_for_what_the_circuit_has_not_is_refused_at_its_place() {
    let world = World::new("talk_bad_ask").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let check = async |change: Value, pointer: &str| {
        let mut wanted = json!({ "quantity": "resistance", "from": "C", "to": "R",
            "lifted": ["plug"], "power": "off" });
        for (field, value) in change.as_object().unwrap() {
            wanted[field] = value.clone();
        }
        let new = json!({ "key": fresh(), "kind": "ask", "body": { "ask": wanted } });
        let path = format!("/api/jobs/{job}/thread");
        let problem = ana.post(&path, &new).await.refused(422, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{problem}");
    };

    check(json!({ "from": "nowhere" }), "/body/ask/from").await;
    check(json!({ "to": "C" }), "/body/ask/to").await;
    check(json!({ "lifted": ["roof"] }), "/body/ask/lifted/0").await;
    check(json!({ "power": "energised" }), "/body/ask/power").await;
    check(json!({ "why": "x".repeat(501) }), "/body/ask/why").await;
}

#[tokio::test]
async fn whoever_is_named_gets_a_mail_without_a_word_of_it_unless_they_are_looking() {
    let world = World::new("talk_mention").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let cleo = world.client("cleo").await;
    let job = world.job(&ana).await;
    say(&ana, job, "text", json!({ "text": "Hello." })).await;
    let mut bos_socket = Socket::open(&bo).await;
    bos_socket.follow(job, 0).await;
    bos_socket.send(&json!({ "type": "look", "job_id": job, "looking": true })).await;
    bos_socket.until_type("presence").await;

    let words = "@Bo @Cleo marker-heron-9";
    say(&ana, job, "text", json!({ "text": words, "mentions": [bo.id, cleo.id] })).await;

    let sql = "SELECT * FROM outbox WHERE payload ->> 'template' = 'mentioned'";
    let mails = world.service.rows_once(sql, 1).await;
    assert_eq!(mails.len(), 1, "{mails:?}");
    let mail = mails[0].to_string();
    assert!(mail.contains(&cleo.id.to_string()) && !mail.contains("marker-heron-9"), "{mail}");
    let new = json!({ "key": fresh(), "kind": "text",
        "body": { "text": "@Nobody", "mentions": [fresh()] } });
    let path = format!("/api/jobs/{job}/thread");
    let problem = ana.post(&path, &new).await.refused(422, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/body/mentions");
}

#[tokio::test]
async fn who_looks_types_and_has_read_is_told_to_others_and_neither_to_nor_of_a_blind_reader() {
    let world = World::new("talk_here").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let (job, request) = world.ready(&ana, COSTLY).await;
    say(&ana, job, "text", json!({ "text": "Anyone?" })).await;
    step(&bo, request, "take", &Value::Null).await.done();
    let mut bos_socket = Socket::open(&bo).await;
    let mut dans_socket = Socket::open(&dan).await;
    let mut anas_socket = Socket::open(&ana).await;
    let look = json!({ "type": "look", "job_id": job, "looking": true });
    for socket in [&mut bos_socket, &mut dans_socket, &mut anas_socket] {
        socket.follow(job, 0).await;
        socket.send(&look).await;
        socket.send(&json!({ "type": "typing", "job_id": job })).await;
    }

    let anas_id = ana.id.to_string();
    let typing = dans_socket
        .until(|frame| frame["type"] == "typing" && frame["person_id"] == anas_id.as_str())
        .await;
    assert_eq!(typing["job_id"], job.to_string());
    anas_socket.send(&json!({ "type": "mark", "job_id": job, "seen_seq": 1 })).await;
    dans_socket.until_type("marked").await;
    drop(anas_socket);
    let alone = dans_socket
        .until(|frame| {
            frame["type"] == "presence" && frame["looking"].as_array().unwrap().len() == 1
        })
        .await;
    assert_eq!(alone["looking"][0]["id"], dan.id.to_string());

    let told = serde_json::to_string(&dans_socket.frames).unwrap();
    assert!(!told.contains(&bo.id.to_string()), "a blind reader is seen: {told}");
    // Whatever was told before this answer would have come before it.
    bos_socket.say(job, "Hello?").await;
    bos_socket.until_type("refused").await;
    for kind in ["presence", "typing", "marked"] {
        assert!(bos_socket.frames.iter().all(|frame| frame["type"] != kind), "{kind} was told");
    }
}

#[tokio::test]
async fn a_search_finds_what_was_said_in_the_shop_best_first_and_nothing_that_is_withheld() {
    let world = World::new("talk_search").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let zed = world.client("zed").await;
    let (job, request) = world.ready(&ana, COSTLY).await;
    say(&ana, job, "text", json!({ "text": "The splices behind the fan were burnt." })).await;
    let best = "Burnt splice, burnt splices all over <b>.";
    let best = say(&ana, job, "text", json!({ "text": best })).await;
    ask_for(&ana, job, "Is the kettledrum burnt?").await;

    let search = async |who: &Client, words: &str| {
        who.get(&format!("/api/threads/search?q={words}")).await.done().as_array().unwrap().clone()
    };
    let hits = search(&bo, "burnt%20splicing").await;
    assert_eq!(hits.len(), 2, "{hits:?}");
    assert_eq!(hits[0]["seq"], best["seq"]);
    assert_eq!(hits[0]["job_id"], job.to_string());
    let marked: Vec<&Value> = hits[0]["snippet"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|piece| piece["hit"] == true)
        .collect();
    assert!(marked.len() >= 2 && marked[0]["text"] == "Burnt", "{hits:?}");
    assert_eq!(search(&bo, "kettledrum").await.len(), 1);
    assert_eq!(search(&bo, "kettledrum%20-burnt").await.len(), 0);
    assert_eq!(search(&zed, "splice").await.len(), 0);

    step(&bo, request, "take", &Value::Null).await.done();
    assert_eq!(search(&bo, "splice").await.len(), 0);
    step(&bo, request, "blind-read", &agreeing()).await.done();
    assert_eq!(search(&bo, "splice").await.len(), 2);
    let long = "x".repeat(201);
    bo.get(&format!("/api/threads/search?q={long}")).await.refused(422, "invalid");
}
