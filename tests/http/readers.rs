//! Finding a reader from outside: ranked, asked, declined, handed over, widened in time.
//!
//! Belongs here: what people and the passing of time do to who is asked. Does not belong here:
//! the order itself (roster's tests), and two processes at once (the store's).

use blackbox::client::{Client, id_in};
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{COSTLY, World, agreeing, ask, countersign, disagreeing, pins, seen, step};

fn names_asked(request: &Value) -> Vec<String> {
    let asked = request["asked"].as_array().unwrap().iter();
    let open = asked.filter(|ask| ask["answer"].is_null());
    open.map(|ask| ask["person"]["name"].as_str().unwrap()[..2].to_lowercase()).collect()
}

async fn ranked(who: &Client, request: Uuid) -> Vec<String> {
    let path = format!("/api/requests/{request}/candidates");
    let found = who.get(&path).await.done();
    let ranked = found["ranked"].as_array().unwrap().iter();
    ranked.map(|one| one["person"]["name"].as_str().unwrap()[..2].to_lowercase()).collect()
}

#[tokio::test]
async fn the_requester_sees_who_is_best_placed_and_why_and_chooses() {
    let world = World::new("readers_ranked").await;
    let (ana, eva) = (world.client("ana").await, world.client("eva").await);
    let (_, request) = world.ready(&ana, COSTLY).await;

    let path = format!("/api/requests/{request}/candidates");
    let found = ana.get(&path).await.done();
    let first = &found["ranked"][0];
    assert!(first["because"].to_string().contains("qualified for this part"), "{first}");
    assert_eq!(found["ranked"].as_array().unwrap().len(), 3);
    let excluded = found["excluded"].to_string();
    assert!(excluded.contains("is not qualified for this part"), "{excluded}");
    assert!(excluded.contains("made the request"), "{excluded}");

    let asked = step(&ana, request, "ask", &json!({ "person_id": eva.id })).await.done();
    assert_eq!(names_asked(&asked), ["bo", "ev"]);
    assert_eq!(seen(&eva, request).await["asks_me"], true);
    step(&ana, request, "ask", &json!({ "person_id": eva.id })).await.refused(409, "asked-already");
    let unfit = world.client("fay").await;
    let refused = step(&ana, request, "ask", &json!({ "person_id": unfit.id })).await;
    refused.refused(422, "invalid");
    let other_shop = world.client("gus").await;
    let refused = step(&ana, request, "ask", &json!({ "person_id": other_shop.id })).await;
    refused.refused(422, "invalid");
}

#[tokio::test]
async fn declining_moves_on_at_once_and_accepting_stops_it() {
    let world = World::new("readers_decline").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let cleo = world.client("cleo").await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    assert_eq!(names_asked(&seen(&ana, request).await), ["bo"]);
    let short = json!({ "reason": "no" });
    step(&bo, request, "decline-read", &short).await.refused(422, "invalid");

    let reason = json!({ "reason": "On a roof until four." });
    step(&bo, request, "decline-read", &reason).await.done();

    let now = seen(&ana, request).await;
    assert_eq!(names_asked(&now), ["cl", "ev"], "the next two, without waiting");
    assert_eq!(now["asked"][0]["reason"], "On a roof until four.");
    assert_eq!(seen(&cleo, request).await["asked"][0]["reason"], "", "a reason could lead");
    assert!(!ranked(&ana, request).await.contains(&"bo".to_owned()));
    step(&bo, request, "decline-read", &reason).await.refused(409, "not-asked");
    step(&cleo, request, "take", &Value::Null).await.done();
    let taken = seen(&ana, request).await;
    assert_eq!(names_asked(&taken), Vec::<String>::new());
    assert!(taken["ladder"]["stopped_at"].is_string() && taken["ladder"]["next_at"].is_null());
    let answers: Vec<&Value> =
        taken["asked"].as_array().unwrap().iter().map(|ask| &ask["answer"]).collect();
    assert_eq!(answers, ["declined", "accepted", "lapsed"]);
}

#[tokio::test]
async fn a_reader_hands_over_to_a_colleague_whose_read_is_as_blind() {
    let world = World::new("readers_hand").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (eva, fay) = (world.client("eva").await, world.client("fay").await);
    let (_, request) = world.ready(&ana, COSTLY).await;
    step(&bo, request, "take", &Value::Null).await.done();

    let to_fay = json!({ "to": fay.id, "note": "Can you?" });
    step(&bo, request, "hand-on", &to_fay).await.refused(422, "invalid");
    assert_eq!(seen(&bo, request).await["state"], "reading", "nothing half done");
    let to_eva = json!({ "to": eva.id, "note": "Called away; it smells of the compressor." });
    step(&bo, request, "hand-on", &to_eva).await.done();

    let now = seen(&ana, request).await;
    assert_eq!((&now["state"], names_asked(&now)), (&json!("ready"), vec!["ev".to_owned()]));
    assert!(now["events"].to_string().contains("Called away"));
    let blind = seen(&eva, request).await;
    assert_eq!(blind["asks_me"], true);
    assert!(!blind.to_string().contains("Called away"), "a note could lead: {blind}");
    step(&eva, request, "take", &Value::Null).await.done();
    let read = step(&eva, request, "blind-read", &agreeing()).await.done();
    assert!(read["events"].to_string().contains("Called away"));
}

#[tokio::test]
async fn what_falls_due_fires_once_also_when_it_fell_due_while_nothing_ran() {
    let mut world = World::new("readers_due").await;
    let ana = world.client("ana").await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    let fired = "SELECT rung FROM ladder_step WHERE fired_at IS NOT NULL";
    assert_eq!(world.service.rows(fired).await.len(), 1);

    world.service.execute("UPDATE ladder_step SET due_at = now() WHERE rung = 1").await;
    world.service.rows_once(fired, 2).await;
    assert_eq!(names_asked(&seen(&ana, request).await), ["bo", "cl", "ev"]);
    world.service.signal("KILL").await;
    world.service.execute("UPDATE ladder_step SET due_at = now() WHERE rung = 2").await;
    world.service.kill_and_start().await;
    world.service.rows_once(fired, 3).await;

    let told = "SELECT payload FROM outbox WHERE payload ->> 'template' = 'reader_missing'";
    assert_eq!(world.service.rows(told).await.len(), 3, "Dan, Eva and Olaf manage");
    assert_eq!(world.service.count("record_entry WHERE kind = 'ladder_fired'").await, 3);
    assert_eq!(world.service.count("reader_ask").await, 3, "nobody is asked twice");
}

#[tokio::test]
async fn two_judgements_stand_beside_the_claim_and_a_manager_hears_that_they_differ() {
    let world = World::new("readers_third").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (cleo, dan) = (world.client("cleo").await, world.client("dan").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let request = id_in(&ask(&ana, job, COSTLY, "").await.done());
    step(&ana, request, "hand-on", &json!({})).await.refused(409, "wrong-state");
    step(&bo, request, "take", &Value::Null).await.done();
    let differs = step(&bo, request, "blind-read", &disagreeing()).await.done();
    assert_eq!(differs["disagreement"], true);
    let told = "SELECT payload FROM outbox WHERE payload ->> 'template' = 'read_differs'";
    // Dan and Olaf see the claim; Eva could still read it and must not be led.
    assert_eq!(world.service.rows(told).await.len(), 2);

    assert!(seen(&ana, request).await["may"].to_string().contains("hand_on"));
    step(&ana, request, "hand-on", &json!({ "to": cleo.id })).await.done();
    step(&cleo, request, "take", &Value::Null).await.done();
    assert_eq!(seen(&cleo, request).await["reads"], json!([]));
    let third = step(&cleo, request, "blind-read", &agreeing()).await.done();
    assert_eq!(third["reads"].as_array().unwrap().len(), 2, "{third}");
    let signed = countersign(&cleo, request).await.done();

    assert_eq!(signed["state"], "awaiting_approval", "the disagreement asks for a manager");
    let pairs = dan.get("/api/reads/pairs").await.done();
    assert_eq!(pairs, json!([]), "an open request leads nobody");
    super::world::approve(&dan, request).await.done();
    let pairs = dan.get("/api/reads/pairs").await.done();
    let pairs = pairs.as_array().unwrap();
    assert_eq!(pairs.len(), 2);
    let cleos = pairs.iter().find(|pair| pair["reader"]["id"] == cleo.id.to_string()).unwrap();
    assert_eq!((&cleos["agreed"], &cleos["signed"]), (&json!(1), &json!(1)));
    assert_eq!(cleos["seconds"].as_array().unwrap().len(), 1);
}
