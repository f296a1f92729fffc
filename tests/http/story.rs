//! The main story, over HTTP: from the first reading to an answer for the money.
//!
//! Belongs here: the path that most jobs take. Does not belong here: its variants
//! ([`super::variants`]) and what is kept from whom ([`super::blindness`]).

use blackbox::client::{Client, id_in};
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{
    CHEAP, COSTLY, World, agreeing, approve, ask, countersign, pins, seen, step, take_reading,
    through_the_harness,
};

#[tokio::test]
async fn a_job_goes_from_readings_through_the_gate_to_an_approval() {
    let world = World::new("story").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let job = world.job(&ana).await;

    // Read through the harness: held, with the reason and the way on.
    take_reading(&ana, job, &through_the_harness()).await.done();
    let held = ask(&ana, job, COSTLY, "Open, I think.").await.done();
    let request = id_in(&held);
    assert_eq!(held["state"], "held");
    let verdict = &held["verdict"];
    assert_eq!(verdict["outcome"], "not_isolated", "{verdict}");
    let suspects = components(verdict, "suspects");
    assert!(suspects.contains(&"harness".to_owned()), "{suspects:?}");
    let first = &verdict["next_tests"][0]["takes"][0];
    assert_eq!(first["lifted"], json!(["plug"]), "{first}");
    assert!(["C", "S", "R"].contains(&first["from"].as_str().unwrap()), "{first}");
    assert_eq!(owed(&held), ["evidence: owed", "second_read: owed", "approval: owed"]);
    step(&bo, request, "take", &Value::Null).await.refused(409, "wrong-state");

    // Read at the pins: ready, and somebody else is asked.
    pins(&ana, job).await;
    let ready = seen(&ana, request).await;
    assert_eq!(ready["state"], "ready");
    assert_eq!(ready["verdict"]["outcome"], "isolated");
    assert_eq!(owed(&ready), ["evidence: done", "second_read: owed", "approval: owed"]);
    let asked = &ready["owed"][1]["who"];
    let asked: Vec<&str> =
        asked.as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect();
    assert!(asked.contains(&bo.id.to_string().as_str()), "{asked:?}");
    assert!(!asked.contains(&ana.id.to_string().as_str()), "nobody reads their own");
    assert_eq!(on_board(&dan, job).await["state"], "ready");

    let reading = step(&bo, request, "take", &Value::Null).await.done();
    assert_eq!((&reading["state"], &reading["claim"]), (&json!("reading"), &Value::Null));

    let revealed = step(&bo, request, "blind-read", &agreeing()).await.done();
    assert_eq!(revealed["state"], "revealed");
    assert_eq!(revealed["claim"]["part"], "run_winding");
    assert_eq!(revealed["reads"][0]["agrees"], true);
    assert_eq!(revealed["disagreement"], false);

    let signed = countersign(&bo, request).await.done();
    assert_eq!(signed["state"], "awaiting_approval", "the cost asks for a manager");
    assert_eq!(signed["countersignature"]["signer"]["id"], bo.id.to_string());
    assert_eq!(signed["countersignature"]["digest"], signed["digest"]);
    assert_eq!(owed(&signed), ["evidence: done", "second_read: done", "approval: owed"]);

    let approved = approve(&dan, request).await.done();
    assert_eq!(approved["state"], "approved");
    assert_eq!(approved["approval"]["approver"]["id"], dan.id.to_string());
    assert_eq!(approved["approval"]["amount_cents"], COSTLY);
    assert_eq!(approved["approval"]["digest"], signed["digest"]);
    assert_eq!(owed(&approved), ["evidence: done", "second_read: done", "approval: done"]);
    assert_eq!(approved["may"], json!([]));
    assert_eq!(on_board(&ana, job).await["state"], "approved");

    insta::assert_json_snapshot!("what_happened", happened(&approved));
}

#[tokio::test]
async fn shop_policy_answers_for_a_small_sum_once_it_is_countersigned() {
    let world = World::new("story_policy").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (_, request) = world.revealed(&ana, &bo, CHEAP).await;

    let approved = countersign(&bo, request).await.done();

    assert_eq!(approved["state"], "approved");
    assert_eq!(approved["approval"]["approver"], Value::Null);
    assert_eq!(approved["approval"]["amount_cents"], CHEAP);
}

#[tokio::test]
async fn a_technician_works_a_job_of_their_own_from_taking_it_to_done() {
    let world = World::new("story_job").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let new = json!({ "unit_id": world.unit_id, "complaint": "Drips", "urgency": "water",
        "assigned_to": ana.id });

    let job = ana.post("/api/jobs", &new).await.done();
    let path = format!("/api/jobs/{}", id_in(&job));
    let mut version = job["version"].clone();
    for state in ["on_site", "waiting", "on_site", "done"] {
        let body = json!({ "version": version, "state": state });
        let answer = ana.patch(&path, &body).await.done();
        assert_eq!(answer["state"], state);
        version = answer["version"].clone();
    }

    let late = json!({ "version": job["version"], "state": "on_site" });
    ana.patch(&path, &late).await.refused(409, "changed-meanwhile");
    let readings = format!("{path}/readings");
    let body = json!({ "reading": through_the_harness() });
    ana.post(&readings, &body).await.refused(409, "job-closed");
    let history = bo.get(&format!("{path}/history")).await.done();
    let kinds: Vec<&str> =
        history.as_array().unwrap().iter().map(|entry| entry["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds[0], "job_taken");
    assert_eq!(kinds.len(), 5, "{kinds:?}");
}

#[tokio::test]
async fn nobody_is_planned_in_two_places_at_once() {
    let world = World::new("story_plan").await;
    let (pia, ana) = (world.client("pia").await, world.client("ana").await);
    let window = |from: &str, to: &str| {
        json!({ "unit_id": world.unit_id, "complaint": "Warm", "urgency": "comfort",
            "assigned_to": ana.id, "window_start": from, "window_end": to })
    };

    pia.post("/api/jobs", &window("2027-01-09T08:00:00Z", "2027-01-09T10:00:00Z")).await.done();
    let jobs_before = world.service.count("job").await;
    let overlap = window("2027-01-09T09:30:00Z", "2027-01-09T11:00:00Z");
    let refused = pia.post("/api/jobs", &overlap).await;

    assert_eq!(refused.status, 409, "{}", refused.text);
    assert_eq!(world.service.count("job").await, jobs_before, "nothing is half-saved");
    pia.post("/api/jobs", &window("2027-01-09T10:00:00Z", "2027-01-09T11:00:00Z")).await.done();
}

fn components(verdict: &Value, list: &str) -> Vec<String> {
    let listed = verdict[list].as_array().unwrap();
    listed.iter().map(|one| one["component"].as_str().unwrap().to_owned()).collect()
}

fn owed(request: &Value) -> Vec<String> {
    let owed = request["owed"].as_array().unwrap().iter();
    owed.map(|one| {
        let done = if one["done"] == true { "done" } else { "owed" };
        format!("{}: {done}", one["step"].as_str().unwrap())
    })
    .collect()
}

/// Who did what, in order; without times and ids.
fn happened(request: &Value) -> Vec<String> {
    let events = request["events"].as_array().unwrap().iter();
    events
        .map(|event| {
            let actor = event["actor"]["name"].as_str().unwrap_or("(the shop)");
            // The engine's sentence is its own tests' matter.
            let words = event["words"].as_str().unwrap();
            let words = if event["kind"] == "request_judged" { "judged" } else { words };
            format!("{actor}: {words}")
        })
        .collect()
}

async fn on_board(who: &Client, job: Uuid) -> Value {
    let board = who.get("/api/board").await.done();
    let jobs = board["jobs"].as_array().unwrap();
    jobs.iter().find(|one| id_in(one) == job).expect("the job is on the board")["request"].clone()
}

#[tokio::test]
async fn a_look_at_the_wires_in_doubt_waits_until_the_next_bears_it_out() {
    let world = World::new("looks").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let observations = format!("/api/jobs/{job}/observations");
    // Every answer is kept, and the last two are looked at.
    for (present, result) in
        [(false, "waiting"), (false, "fail"), (true, "waiting"), (true, "pass"), (false, "waiting")]
    {
        let answer = json!({ "sign": "wires_as_drawn", "present": present });
        ana.post(&observations, &answer).await.done();
        let evidence = ana.get(&format!("/api/jobs/{job}/evidence")).await.done();
        let verdict = &evidence["verdict"];
        let checks = verdict["checks"].as_array().unwrap();
        let check = checks.iter().find(|check| check["id"] == "wires_as_drawn").unwrap();
        assert_eq!(check["result"], result, "{check}");
        let first = &verdict["next_tests"][0];
        assert_eq!(first["sign"] == "wires_as_drawn", result == "waiting", "{first}");
    }
}
