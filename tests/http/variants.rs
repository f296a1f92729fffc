//! Where a request leaves the main path, and who may not do what on it.
//!
//! Belongs here: one test per rule of the gate, over HTTP. Does not belong here: the rules'
//! whole state space, which the engine walks, and races ([`super::races`]).

use blackbox::client::{Client, id_in};
use serde_json::{Value, json};

use super::world::{
    CHEAP, COSTLY, World, agreeing, approve, ask, at_pins, countersign, digest, disagreeing, pins,
    seen, step, take_reading, through_the_harness,
};

#[tokio::test]
async fn a_countersignature_on_changed_evidence_is_void() {
    let world = World::new("void").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let (job, request) = world.awaiting(&ana, &bo).await;
    let signed = digest(&dan, request).await;

    take_reading(&ana, job, &at_pins("S", "R", None)).await.done();

    let after = seen(&dan, request).await;
    assert_eq!(after["state"], "ready", "it has to be read again");
    assert_ne!(after["digest"], signed);
    assert_eq!(after["void_signatures"], 1);
    assert_eq!(after["countersignature"], Value::Null);
    assert_eq!(after["reads"][0]["void"], true);
    let stale = json!({ "digest": signed, "amount_cents": COSTLY });
    step(&dan, request, "approve", &stale).await.refused(409, "digest-changed");
    let current = json!({ "digest": after["digest"], "amount_cents": COSTLY });
    step(&dan, request, "approve", &current).await.refused(409, "wrong-state");
    assert_eq!(world.service.count("approval").await, 0);
}

#[tokio::test]
async fn a_contradicting_reading_takes_a_signed_request_back_to_held() {
    let world = World::new("contradicted").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (job, request) = world.awaiting(&ana, &bo).await;
    let evidence = ana.get(&format!("/api/jobs/{job}/evidence")).await.done();

    for kept in evidence["readings"].as_array().unwrap() {
        let path = format!("/api/readings/{}/strike", id_in(kept));
        ana.post(&path, &json!({ "reason": "The probe slipped." })).await.done();
    }
    for (from, to, ohm) in [("C", "R", 0.48), ("C", "S", 1.30), ("S", "R", 1.78)] {
        take_reading(&ana, job, &at_pins(from, to, Some(ohm))).await.done();
    }

    let after = seen(&ana, request).await;
    assert_eq!(after["verdict"]["outcome"], "contradicted");
    assert_eq!((&after["state"], &after["void_signatures"]), (&json!("held"), &json!(1)));
    step(&bo, request, "take", &Value::Null).await.refused(409, "wrong-state");
}

#[tokio::test]
async fn a_countersignature_on_a_stale_digest_is_refused() {
    let world = World::new("stale").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (job, request) = world.revealed(&ana, &bo, COSTLY).await;
    let read = digest(&bo, request).await;

    take_reading(&ana, job, &at_pins("C", "SHELL", None)).await.done();

    let body = json!({ "digest": read });
    step(&bo, request, "countersign", &body).await.refused(409, "digest-changed");
    assert_eq!(world.service.count("countersignature").await, 0);
}

#[tokio::test]
async fn nameplate_values_are_evidence_too() {
    let world = World::new("nameplate").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (_, request) = world.revealed(&ana, &bo, COSTLY).await;
    let read = digest(&bo, request).await;

    let specs = json!({ "specs": { "start_winding": { "value": 1.3, "unit": "ohm" } } });
    ana.patch(&format!("/api/units/{}", world.unit_id), &specs).await.done();

    let body = json!({ "digest": read });
    step(&bo, request, "countersign", &body).await.refused(409, "digest-changed");
}

#[tokio::test]
async fn the_second_reader_is_neither_requester_nor_reading_taker_nor_unqualified() {
    let world = World::new("readers").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (fay, dan) = (world.client("fay").await, world.client("dan").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    take_reading(&bo, job, &at_pins("S", "SHELL", None)).await.done();
    let request = id_in(&ask(&ana, job, COSTLY, "").await.done());

    step(&ana, request, "take", &Value::Null).await.refused(403, "not-independent");
    step(&bo, request, "take", &Value::Null).await.refused(403, "not-independent");
    let refused = step(&fay, request, "take", &Value::Null).await;
    let problem = refused.refused(403, "not-qualified");
    assert!(!problem.to_string().contains("sealed"), "which one would tell what is claimed");
    step(&dan, request, "take", &Value::Null).await.refused(403, "not-qualified");
}

#[tokio::test]
async fn from_the_limit_on_the_approver_is_neither_requester_nor_reader_nor_reading_taker() {
    let world = World::new("approvers").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (eva, dan) = (world.client("eva").await, world.client("dan").await);

    // Eva, an owner who is a technician too, asks.
    let (_, asked_by_eva) = world.awaiting(&eva, &bo).await;
    approve(&eva, asked_by_eva).await.refused(403, "not-independent");
    // Approving less than the estimate is no way around it.
    let less = json!({ "digest": digest(&eva, asked_by_eva).await, "amount_cents": 1 });
    step(&eva, asked_by_eva, "approve", &less).await.refused(403, "not-independent");
    // Eva reads.
    let (_, read_by_eva) = world.awaiting(&ana, &eva).await;
    approve(&eva, read_by_eva).await.refused(403, "not-independent");
    // Eva took a reading.
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    take_reading(&eva, job, &at_pins("S", "SHELL", None)).await.done();
    let measured_by_eva = id_in(&ask(&ana, job, COSTLY, "").await.done());
    step(&bo, measured_by_eva, "take", &Value::Null).await.done();
    step(&bo, measured_by_eva, "blind-read", &agreeing()).await.done();
    countersign(&bo, measured_by_eva).await.done();
    let seen_by_bo =
        json!({ "digest": digest(&bo, measured_by_eva).await, "amount_cents": COSTLY });
    let refused = step(&eva, measured_by_eva, "approve", &seen_by_bo).await;
    assert_eq!(refused.status, 403, "{}", refused.text);
    // Bo, who manages nothing.
    step(&bo, measured_by_eva, "approve", &seen_by_bo).await.refused(403, "not-yours");

    assert_eq!(world.service.count("approval").await, 0);
    for request in [asked_by_eva, read_by_eva, measured_by_eva] {
        assert_eq!(approve(&dan, request).await.done()["state"], "approved");
    }
}

#[tokio::test]
async fn an_override_needs_a_reason_and_still_a_countersignature() {
    let world = World::new("override").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let job = world.job(&ana).await;
    take_reading(&ana, job, &through_the_harness()).await.done();
    let request = id_in(&ask(&ana, job, CHEAP, "").await.done());

    let short = json!({ "reason": "too short, this one" });
    assert_eq!(short["reason"].as_str().unwrap().chars().count(), 19);
    let problem = step(&dan, request, "override", &short).await.refused(422, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/reason", "{problem}");
    let reason = json!({ "reason": "The terminal box is under ice until spring." });
    let given = step(&dan, request, "override", &reason).await.done();
    assert_eq!(given["state"], "ready");
    assert_eq!(given["override"]["by"]["id"], dan.id.to_string());
    assert_eq!(given["verdict"]["outcome"], "not_isolated", "the engine is not overruled");

    step(&bo, request, "take", &Value::Null).await.done();
    step(&bo, request, "blind-read", &agreeing()).await.done();
    let early = json!({ "digest": digest(&dan, request).await, "amount_cents": CHEAP });
    step(&dan, request, "approve", &early).await.refused(409, "wrong-state");
    let signed = countersign(&bo, request).await.done();
    assert_eq!(signed["state"], "awaiting_approval", "an override asks for a manager");
    assert!(signed["owed"][2]["words"].as_str().unwrap().contains("overridden"));

    // The override was of that evidence and of no other.
    take_reading(&ana, job, &through_the_harness()).await.done();
    let after = seen(&dan, request).await;
    assert_eq!((&after["state"], &after["override"]["void"]), (&json!("held"), &json!(true)));
}

#[tokio::test]
async fn a_disagreement_is_shown_side_by_side_and_asks_for_a_manager() {
    let world = World::new("disagreement").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let (_, request) = world.ready(&ana, CHEAP).await;
    step(&bo, request, "take", &Value::Null).await.done();

    let differs = step(&bo, request, "blind-read", &disagreeing()).await.done();
    assert_eq!(differs["disagreement"], true);
    assert_eq!(differs["claim"]["component"], "compressor");
    assert_eq!(differs["reads"][0]["component"], "harness");
    assert_eq!(differs["reads"][0]["agrees"], false);

    // Persuaded, Bo signs; that cheap it would have been approved by policy.
    let signed = countersign(&bo, request).await.done();
    assert_eq!(signed["state"], "awaiting_approval");
    assert!(signed["owed"][2]["words"].as_str().unwrap().contains("named something else"));
    assert_eq!(approve(&dan, request).await.done()["state"], "approved");
}

#[tokio::test]
async fn sent_back_it_is_read_again_on_new_evidence() {
    let world = World::new("sent_back").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (job, request) = world.revealed(&ana, &bo, COSTLY).await;

    let problem =
        step(&bo, request, "send-back", &json!({ "note": "hm" })).await.refused(422, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/note", "{problem}");
    let note = json!({ "note": "Read S to the shell, please." });
    let back = step(&bo, request, "send-back", &note).await.done();
    assert_eq!(back["state"], "sent_back");
    assert!(back["events"].to_string().contains("Read S to the shell"));
    take_reading(&ana, job, &at_pins("S", "SHELL", None)).await.done();

    assert_eq!(seen(&ana, request).await["state"], "ready");
    step(&bo, request, "take", &Value::Null).await.done();
    let again = step(&bo, request, "blind-read", &agreeing()).await.done();
    let reads = again["reads"].as_array().unwrap();
    assert_eq!(reads.iter().map(|read| read["void"] == true).collect::<Vec<_>>(), [true, false]);
    assert_eq!(reads[1]["seen_thread_before"], true, "Bo knew the claim the second time");
}

#[tokio::test]
async fn handed_on_it_waits_for_another_reader() {
    let world = World::new("handed_on").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let cleo = world.client("cleo").await;
    let (_, request) = world.revealed(&ana, &bo, COSTLY).await;

    let handed = step(&bo, request, "hand-on", &json!({ "note": "Not sure." })).await.done();
    assert_eq!(handed["state"], "ready");
    let body = json!({ "digest": handed["digest"] });
    step(&bo, request, "countersign", &body).await.refused(409, "wrong-state");

    step(&cleo, request, "take", &Value::Null).await.done();
    step(&cleo, request, "blind-read", &agreeing()).await.done();
    let signed = countersign(&cleo, request).await.done();
    assert_eq!(signed["countersignature"]["signer"]["id"], cleo.id.to_string());
    assert_eq!(signed["reads"].as_array().unwrap().len(), 2);
}

#[tokio::test]
async fn an_ended_request_is_open_to_everyone_and_moved_by_nobody() {
    let world = World::new("ended").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (cleo, dan) = (world.client("cleo").await, world.client("dan").await);

    let (_, withdrawn) = world.ready(&ana, COSTLY).await;
    step(&bo, withdrawn, "withdraw", &json!({ "reason": "no" })).await.refused(403, "not-yours");
    let reason = json!({ "reason": "It was the fuse." });
    assert_eq!(step(&ana, withdrawn, "withdraw", &reason).await.done()["state"], "withdrawn");

    let (_, overturned) = world.revealed(&ana, &bo, COSTLY).await;
    step(&cleo, overturned, "overturn", &json!({ "found": "A burnt plug." }))
        .await
        .refused(403, "not-yours");
    let found = json!({ "found": "The plug contact R was burnt." });
    let ended = step(&bo, overturned, "overturn", &found).await.done();
    assert_eq!(ended["state"], "overturned");

    let (_, declined) = world.awaiting(&ana, &bo).await;
    let body = json!({ "digest": digest(&dan, declined).await, "reason": "Replace the unit." });
    let ended = step(&dan, declined, "decline", &body).await.done();
    assert_eq!(ended["approval"]["decision"], "declined");

    for request in [withdrawn, overturned, declined] {
        let shown = seen(&cleo, request).await;
        assert_eq!(shown["claim"]["component"], "compressor", "{shown}");
        assert_eq!(shown["may"], json!([]));
        let body = json!({ "digest": shown["digest"], "amount_cents": COSTLY });
        step(&dan, request, "approve", &body).await.refused(409, "wrong-state");
        step(&ana, request, "withdraw", &reason).await.refused(409, "wrong-state");
    }
}

#[tokio::test]
async fn there_is_one_open_request_per_component_of_a_job() {
    let world = World::new("one_open").await;
    let ana = world.client("ana").await;
    let (job, first) = world.ready(&ana, COSTLY).await;

    ask(&ana, job, COSTLY, "").await.refused(409, "already-open");

    step(&ana, first, "withdraw", &json!({ "reason": "Again, with a note." })).await.done();
    ask(&ana, job, COSTLY, "").await.done();
    assert_eq!(requests_of(&ana, job).await, 2, "the refused one left nothing");
}

async fn requests_of(who: &Client, job: uuid::Uuid) -> usize {
    let listed = who.get("/api/requests").await.done();
    let listed = listed.as_array().unwrap().iter();
    listed.filter(|one| one["job_id"] == job.to_string()).count()
}
