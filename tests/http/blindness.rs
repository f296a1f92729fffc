//! What a second reader gets before their blind read is committed: nothing of the claim.
//!
//! Belongs here: everything that one person can receive, searched byte by byte. Does not
//! belong here: who may make which move.

use std::collections::BTreeSet;

use blackbox::client::{Client, fresh, id_in};
use blackbox::socket::Socket;
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{COSTLY, World, agreeing, ask, at_pins, digest, pins, seen, step, take_reading};

/// Written in the request's note and in the thread; nothing else says it.
const MARKER: &str = "marker-ox-kettle-51";

/// What would give the claim away, apart from the circuit's own description of itself.
fn telltales(digest: &str) -> [String; 10] {
    let claim = [MARKER, "run_winding", "run winding", "\"isolated\"", "187654", digest];
    // What the engine concludes, by the names of the fields that say it.
    let concluded = ["waterfall", "best_rival", "next_tests", "longest_min"];
    std::array::from_fn(|at| {
        claim.iter().chain(&concluded).nth(at).map_or("", |one| one).to_owned()
    })
}

#[tokio::test]
async fn until_the_blind_read_is_in_nothing_received_tells_the_claim() {
    let world = World::new("blind").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let mut bos_socket = Socket::open(&bo).await;
    let mut dans_socket = Socket::open(&dan).await;
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let request = id_in(&ask(&ana, job, COSTLY, MARKER).await.done());
    let digest_of_claim = digest(&ana, request).await;

    // Asked, and not taken yet.
    everything(&bo, &world, job, request, &["/thread"]).await;
    // What a guess at the claim could be tried on.
    let guess = json!({ "claim": { "component": "compressor" }, "estimated_cost_cents": 1,
        "submit": true });
    let path = format!("/api/jobs/{job}/requests");
    bo.post(&path, &guess).await.refused(403, "blind-first");
    must_not_tell_a_digest(&bo, request, &digest_of_claim).await;

    let taken = step(&bo, request, "take", &Value::Null).await.done();
    assert_eq!((&taken["state"], &taken["hidden"]), (&json!("reading"), &json!("blind_first")));
    let following = bos_socket.follow(job, 0).await;
    assert_eq!(following["withheld"], true);
    dans_socket.follow(job, 0).await;
    let mut anas_socket = Socket::open(&ana).await;
    anas_socket.say(job, MARKER).await;
    dans_socket.until_said(MARKER).await;

    everything(&bo, &world, job, request, &[]).await;
    bo.get(&format!("/api/jobs/{job}/thread")).await.refused(403, "blind-first");
    let said = json!({ "key": fresh(), "kind": "text", "body": { "text": "What is it?" } });
    bo.post(&format!("/api/jobs/{job}/thread"), &said).await.refused(403, "blind-first");
    bos_socket.say(job, "What is it?").await;
    let refused = bos_socket.until_type("refused").await;
    assert_eq!(refused["problem"]["type"], "/problems/blind-first", "{refused}");
    bo.post(&path, &guess).await.refused(403, "blind-first");
    must_not_tell_a_digest(&bo, request, &digest_of_claim).await;
    let evidence = bo.get(&format!("/api/jobs/{job}/evidence")).await.done();
    assert_eq!((&evidence["verdict"], &evidence["hidden"]), (&Value::Null, &json!("blind_first")));
    assert_eq!(evidence["readings"].as_array().unwrap().len(), 3, "the readings are shown");
    // What is worth measuring next says what is suspected.
    let plan = format!("/api/jobs/{job}/test-plan");
    bo.get(&plan).await.refused(403, "blind-first");
    assert_eq!(ana.get(&plan).await.done()["outcome"], "isolated", "the requester has it");

    let telltales = telltales(&digest_of_claim);
    for (asked, heard) in bo.heard() {
        tells_nothing(&asked, &heard, &telltales);
    }
    let frames = serde_json::to_string(&bos_socket.frames).unwrap();
    tells_nothing("the live stream", &frames, &telltales);
    let mail =
        world.service.rows_once("SELECT * FROM mail WHERE template = 'second_read_asked'", 1).await;
    for one in mail {
        tells_nothing("mail", &one.to_string(), &telltales);
    }

    // The read is in: the claim and the talk are shown.
    let revealed = step(&bo, request, "blind-read", &agreeing()).await.done();
    assert_eq!(revealed["claim"]["part"], "run_winding");
    assert_eq!(revealed["note"], MARKER);
    assert_eq!(revealed["digest"], digest_of_claim);
    assert_eq!(revealed["reads"][0]["seen_thread_before"], false);
    bos_socket.until_said(MARKER).await;
    bo.get(&plan).await.done();
    let told = bo.get(&format!("/api/jobs/{job}/evidence")).await.done();
    let waterfall = &told["verdict"]["explained"]["waterfall"];
    assert_eq!(waterfall["steps"].as_array().unwrap().len(), 4, "before, and after each reading");
    let thread = bo.get(&format!("/api/jobs/{job}/thread")).await.done();
    assert!(thread["messages"].to_string().contains(MARKER), "{thread}");
}

/// The evidence changes while somebody reads: the next reader is as blind as the first.
#[tokio::test]
async fn what_one_reader_thought_does_not_lead_the_next() {
    let world = World::new("blind_next").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let cleo = world.client("cleo").await;
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let request = id_in(&ask(&ana, job, COSTLY, MARKER).await.done());
    step(&bo, request, "take", &Value::Null).await.done();
    let thought = json!({ "component": "harness", "sure": "sure", "note": MARKER });
    let differs = step(&bo, request, "blind-read", &thought).await.done();
    assert_eq!(differs["disagreement"], true);

    step(&bo, request, "hand-on", &json!({ "note": MARKER })).await.done();
    step(&cleo, request, "take", &Value::Null).await.done();
    everything(&cleo, &world, job, request, &[]).await;

    let telltales = telltales(differs["digest"].as_str().unwrap());
    for (asked, heard) in cleo.heard() {
        tells_nothing(&asked, &heard, &telltales);
        let of_request = asked.contains("/api/requests");
        assert!(!of_request || !heard.contains("\"disagreement\":true"), "{asked}: {heard}");
    }
    assert_eq!(seen(&cleo, request).await["reads"], json!([]));
}

/// The readings are shown to a blind reader, who could have them judged beside the request.
#[tokio::test]
async fn nobody_has_pasted_readings_judged_before_their_own_judgement_is_in() {
    let world = World::new("blind_pasted").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (job, request) = world.ready(&ana, COSTLY).await;
    let evidence = bo.get(&format!("/api/jobs/{job}/evidence")).await.done();
    let readings: Vec<Value> = evidence["readings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|kept| kept["reading"].clone())
        .collect();
    assert_eq!(readings.len(), 3, "{evidence}");
    let pasted = json!({ "format": 1, "circuit": "compressor-1ph-plug", "readings": readings });
    let elsewhere = json!({ "format": 1, "circuit": "control-24v" });

    // Not taken yet: only what is on the same circuit could be that request.
    bo.post("/api/check", &pasted).await.refused(403, "blind-first");
    bo.post("/api/check", &elsewhere).await.done();
    // Whoever claims, or took the readings, is led by nothing.
    assert_eq!(ana.post("/api/check", &pasted).await.done()["outcome"], "isolated");

    step(&bo, request, "take", &Value::Null).await.done();
    let refused = bo.post("/api/check", &pasted).await.refused(403, "blind-first");
    assert!(refused["detail"].as_str().unwrap().contains("owe a blind read"), "{refused}");
    bo.post("/api/check", &elsewhere).await.refused(403, "blind-first");

    step(&bo, request, "blind-read", &agreeing()).await.done();
    assert_eq!(bo.post("/api/check", &pasted).await.done()["outcome"], "isolated");
}

#[tokio::test]
async fn whoever_stands_aside_sees_the_claim_and_is_no_reader_any_more() {
    let world = World::new("blind_aside").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (_, request) = world.ready(&ana, COSTLY).await;
    assert_eq!(seen(&bo, request).await["claim"], Value::Null);

    let shown = step(&bo, request, "stand-aside", &Value::Null).await.done();

    assert_eq!(shown["claim"]["component"], "compressor");
    step(&bo, request, "take", &Value::Null).await.refused(403, "stood-aside");
}

#[tokio::test]
async fn whoever_takes_a_reading_is_no_reader_and_sees_the_readings_judged_without_the_claim() {
    let world = World::new("blind_taker").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (job, request) = world.ready(&ana, COSTLY).await;
    let path = format!("/api/jobs/{job}/evidence");
    assert_eq!(bo.get(&path).await.done()["verdict"], Value::Null);

    let evidence = take_reading(&bo, job, &at_pins("S", "SHELL", None)).await.done();

    assert_eq!(evidence["claimless"], true);
    assert_eq!(evidence["verdict"]["claim"], Value::Null);
    let shown = seen(&bo, request).await;
    assert_eq!((&shown["claim"], &shown["digest"]), (&Value::Null, &Value::Null));
    step(&bo, request, "take", &Value::Null).await.refused(403, "not-independent");
}

/// Asks for everything that there is to get, on the job and the request where an address has
/// a place for them. The API's own list of addresses leads, so that a new one is searched too.
async fn everything(who: &Client, world: &World, job: Uuid, request: Uuid, spared: &[&str]) {
    let document = Client::anonymous(&world.service).get("/api/openapi.json").await.done();
    let paths = document["paths"].as_object().unwrap();
    let mut asked = BTreeSet::new();
    for (path, _) in paths.iter().filter(|(_, methods)| methods["get"].is_object()) {
        if spared.iter().any(|end| path.ends_with(end)) {
            continue;
        }
        let id = match path.split('/').nth(2).unwrap() {
            "jobs" => job,
            "requests" => request,
            "units" => world.unit_id,
            "customers" => world.customer_id,
            _ => Uuid::nil(),
        };
        let filled: Vec<String> = path
            .split('/')
            .map(|part| if part.starts_with('{') { id.to_string() } else { part.to_owned() })
            .collect();
        who.get(&filled.join("/")).await;
        asked.insert(path.clone());
    }
    for must in ["/api/board", "/api/requests", "/api/requests/{request_id}"] {
        assert!(asked.contains(must), "{must} is not among {asked:?}");
    }
    who.get(&format!("/api/board/jobs?ids={job}")).await.done();
    for query in ["?mine=true", "?state=ready,reading", "?state=revealed"] {
        who.get(&format!("/api/requests{query}")).await.done();
    }
}

/// A claim is few bits: whoever could ask whether a digest is right could find it by trying.
async fn must_not_tell_a_digest(who: &Client, request: Uuid, right: &str) {
    let wrong = "0".repeat(64);
    for (move_name, more) in [
        ("countersign", json!({})),
        ("approve", json!({ "amount_cents": 1 })),
        ("decline", json!({ "reason": "No, not this." })),
    ] {
        let mut answers = Vec::new();
        for digest in [right, wrong.as_str()] {
            let mut body = more.clone();
            body["digest"] = json!(digest);
            let answer = step(who, request, move_name, &body).await;
            assert!(answer.status >= 400, "{move_name}: {}", answer.text);
            answers.push((answer.status, answer.text));
        }
        assert_eq!(answers[0], answers[1], "{move_name} tells whether a digest is right");
    }
}

/// Fails where something received holds a telltale. The circuit describes every part that it
/// has, whoever asks, so that description is left out.
fn tells_nothing(asked: &str, heard: &str, telltales: &[String]) {
    if asked.contains("/api/circuits") {
        return;
    }
    let (headers, body) = heard.split_once('\n').unwrap_or(("", heard));
    let mut text = body.to_owned();
    if let Ok(mut value) = serde_json::from_str::<Value>(body) {
        if let Some(fields) = value.as_object_mut()
            && fields.get("circuit").is_some_and(Value::is_object)
        {
            fields.remove("circuit");
        }
        text = value.to_string();
    }
    for telltale in telltales {
        assert!(
            !text.contains(telltale.as_str()) && !headers.contains(telltale.as_str()),
            "{asked} tells {telltale:?}: {text}"
        );
    }
}
