//! What calls turned out to be: said, superseded, counted, and what that moves.
//!
//! Belongs here: promises about such words and the odds they move. Does not belong here: the
//! arithmetic of it, which the engine's tests hold.

use blackbox::client::{Client, fresh, id_in};
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{
    COSTLY, World, agreeing, approve, ask, at_pins, countersign, digest, pins, seen, step,
    take_reading,
};

/// Calls that are enough to see them move the odds.
const CALLS: usize = 12;

fn path(job: Uuid) -> String {
    format!("/api/jobs/{job}/found")
}

fn fault(part: &str, mode: &str, how: &str) -> Value {
    json!({ "was": "fault", "part": part, "mode": mode, "how": how })
}

/// So many jobs that turned out to be that.
async fn said_on(world: &World, who: &Client, calls: usize, word: &Value) {
    for _ in 0..calls {
        let job = world.job(who).await;
        who.post(&path(job), word).await.done();
    }
}

async fn verdict(who: &Client, job: Uuid) -> Value {
    who.get(&format!("/api/jobs/{job}/evidence")).await.done()["verdict"].clone()
}

fn share(verdict: &Value, component: &str) -> f64 {
    let all = verdict["components"].as_array().unwrap();
    let one = all.iter().find(|one| one["component"] == component);
    one.unwrap_or_else(|| panic!("{component} in {all:?}"))["share"].as_f64().unwrap()
}

#[tokio::test]
async fn a_word_on_a_job_is_kept_and_a_later_one_supersedes_it() {
    let world = World::new("found_words").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let zed = world.client("zed").await;
    let job = world.job(&ana).await;
    assert_eq!(ana.get(&path(job)).await.done()["words"], json!([]));
    assert_eq!(ana.get("/api/found").await.done()["calls"], 0);

    let mut first = fault("run_winding", "open", "only_replaced");
    first["note"] = json!("  The old one went to scrap.  ");
    let key = fresh();
    let said = ana.write(Method::POST, &path(job), key, &first).await.done();
    // The same word again, after a lost answer.
    assert_eq!(ana.write(Method::POST, &path(job), key, &first).await.done(), said);
    let word = &said["words"][0];
    assert_eq!(word["says"], "run winding: open (compressor)");
    assert_eq!((&word["how"], &word["by"]["id"]), (&json!("only_replaced"), &json!(ana.id)));
    assert_eq!(word["note"], "The old one went to scrap.");
    let counted = ana.get("/api/found").await.done();
    assert_eq!((&counted["calls"], &counted["counted"]), (&json!(1), &json!(0.25)));

    let bench = fault("plug_r", "open", "bench_confirmed");
    let now = dan.post(&path(job), &bench).await.done();
    let words = now["words"].as_array().unwrap();
    assert_eq!(words.len(), 2, "both stay: {now}");
    assert_eq!((&words[0]["part"], &words[0]["by"]["id"]), (&json!("plug_r"), &json!(dan.id)));
    assert_eq!(words[1], *word);
    assert_eq!(ana.get(&path(job)).await.done(), now);

    let counted = ana.get("/api/found").await.done();
    assert_eq!((&counted["calls"], &counted["counted"]), (&json!(1), &json!(1.0)));
    let turned = counted["turned"].as_array().unwrap();
    assert_eq!(turned.len(), 1, "the latest word counts: {counted}");
    assert_eq!(
        (&turned[0]["bench_confirmed"], &turned[0]["only_replaced"]),
        (&json!(1), &json!(0))
    );
    let top = &counted["kinds"][0];
    assert_eq!(
        (&top["class"], &top["kind"], &top["effect"]),
        (&json!("fault"), &json!("contact"), &json!("open"))
    );
    assert!(top["times"].as_f64().unwrap() > 1.0, "{top}");
    let expected: f64 = counted["kinds"]
        .as_array()
        .unwrap()
        .iter()
        .map(|kind| kind["expected"].as_f64().unwrap())
        .sum();
    assert!((expected - 1.0).abs() < 1e-9, "one call is expected once: {expected}");

    // Another shop sees nothing of it.
    zed.get(&path(job)).await.refused(404, "not-found");
    zed.post(&path(job), &bench).await.refused(404, "not-found");
    assert_eq!(
        zed.get("/api/found").await.done(),
        json!({ "calls": 0, "counted": 0.0, "kinds": [], "turned": [] })
    );

    // On the record with everything said, and not in the job's own history.
    let entries = world
        .service
        .rows("SELECT body FROM record_entry WHERE kind = 'found_said' ORDER BY seq")
        .await;
    assert_eq!(entries.len(), 2);
    assert_eq!(entries[1]["body"]["job_id"], json!(job));
    assert_eq!(entries[1]["body"]["mode"], "open");
    assert!(world.service.run(&["verify-record"]).await.status.success());
}

#[tokio::test]
async fn what_a_circuit_does_not_list_is_refused_with_what_it_lists() {
    let world = World::new("found_refused").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let long = "x".repeat(2_001);
    for (body, pointer, says) in [
        (fault("flux", "open", "run_test"), "/part", "there are supply"),
        (fault("run_winding", "tired", "run_test"), "/mode", "it has open"),
        (json!({ "was": "fault", "part": "run_winding", "how": "run_test" }), "/mode", "missing"),
        (json!({ "was": "nothing_wrong", "part": "plug_r", "how": "run_test" }), "/part", "Leave"),
        (json!({ "was": "nothing_wrong", "how": "only_replaced" }), "/how", "bench"),
        (json!({ "was": "not_listed", "words": " ", "how": "run_test" }), "/words", "empty"),
        (json!({ "was": "nothing_wrong", "how": "run_test", "note": long }), "/note", "2000"),
    ] {
        let problem = ana.post(&path(job), &body).await.refused(422, "invalid");
        let error = &problem["errors"][0];
        assert_eq!(error["pointer"], pointer, "{problem}");
        assert!(error["says"].as_str().unwrap().contains(says), "{error}");
    }
    assert_eq!(ana.get(&path(job)).await.done()["words"], json!([]));

    // What no circuit lists is kept and shown, and moves nothing.
    let nest = json!({ "was": "not_listed", "words": "A nest in the fan", "how": "run_test" });
    ana.post(&path(job), &nest).await.done();
    let counted = ana.get("/api/found").await.done();
    assert_eq!((&counted["calls"], &counted["counted"]), (&json!(1), &json!(0.0)));
    assert_eq!((&counted["turned"][0]["listed"], &counted["kinds"]), (&json!(false), &json!([])));
    let fresh_job = world.job(&ana).await;
    pins(&ana, fresh_job).await;
    let verdict = verdict(&ana, fresh_job).await;
    assert!(verdict["considered"].get("confirmed_calls").is_none(), "{verdict}");
}

#[tokio::test]
async fn confirmed_calls_move_a_fresh_jobs_odds_and_no_request_that_is_open() {
    let world = World::new("found_moves").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let job = world.job(&ana).await;
    let first = take_reading(&ana, job, &super::world::through_the_harness()).await.done();
    let before = first["verdict"].clone();
    assert!(before["considered"].get("confirmed_calls").is_none(), "{before}");
    let (open_job, request) = world.ready(&ana, COSTLY).await;
    let digest_before = digest(&ana, request).await;

    said_on(&world, &ana, CALLS, &fault("plug_r", "open", "run_test")).await;

    // A job's own verdict is of this moment.
    let after = verdict(&ana, job).await;
    assert_eq!(after["considered"]["confirmed_calls"], json!(CALLS as f64));
    assert_ne!(after["evidence_digest"], before["evidence_digest"]);
    let (was, is) = (share(&before, "harness"), share(&after, "harness"));
    assert!(is > was + 0.02, "the harness had {was} and has {is}");
    assert!(share(&after, "compressor") < share(&before, "compressor"));

    // The open request keeps what it was made on through every judgement of it.
    assert_eq!(digest(&ana, request).await, digest_before);
    step(&bo, request, "take", &Value::Null).await.done();
    step(&bo, request, "blind-read", &agreeing()).await.done();
    let signed = countersign(&bo, request).await.done();
    assert_eq!(
        (&signed["state"], &signed["digest"]),
        (&json!("awaiting_approval"), &json!(digest_before))
    );
    said_on(&world, &bo, 1, &fault("plug_r", "open", "bench_confirmed")).await;
    let approved = approve(&dan, request).await.done();
    assert_eq!(
        (&approved["state"], &approved["digest"]),
        (&json!("approved"), &json!(digest_before))
    );
    let shown = verdict(&ana, open_job).await;
    assert!(shown["considered"].get("confirmed_calls").is_none(), "as it was decided: {shown}");

    // A request made now keeps those of now, while more is said elsewhere and it is judged anew.
    let late = world.job(&ana).await;
    pins(&ana, late).await;
    let late_request = id_in(&ask(&ana, late, COSTLY, "").await.done());
    let kept = seen(&ana, late_request).await;
    let calls = json!(CALLS as f64 + 1.0);
    assert_eq!(kept["verdict"]["considered"]["confirmed_calls"], calls);
    said_on(&world, &ana, 1, &json!({ "was": "nothing_wrong", "how": "run_test" })).await;
    step(&bo, late_request, "take", &Value::Null).await.done();
    take_reading(&ana, late, &at_pins("C", "SHELL", None)).await.done();
    let rejudged = seen(&ana, late_request).await;
    assert_ne!(rejudged["digest"], kept["digest"], "the evidence changed");
    assert_eq!(rejudged["verdict"]["considered"]["confirmed_calls"], calls);
    let stored = world
        .service
        .rows(&format!(
            "SELECT rates->>'calls' AS calls FROM condemn_request WHERE id = '{late_request}'"
        ))
        .await;
    assert_eq!(stored[0]["calls"], "13.0");
}

#[tokio::test]
async fn a_jobs_own_word_is_not_among_those_that_judge_it() {
    let world = World::new("found_own").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let before = verdict(&ana, job).await;

    ana.post(&path(job), &fault("run_winding", "open", "bench_confirmed")).await.done();

    assert_eq!(verdict(&ana, job).await, before);
}

#[tokio::test]
async fn nothing_is_said_beside_an_open_request_nor_shown_to_who_could_read_it_blind() {
    let world = World::new("found_blind").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    ana.post(&path(job), &fault("plug_r", "open", "only_replaced")).await.done();
    assert_eq!(bo.get(&path(job)).await.done()["words"][0]["part"], "plug_r");

    let request = id_in(&ask(&ana, job, COSTLY, "").await.done());

    let word = fault("run_winding", "open", "run_test");
    ana.post(&path(job), &word).await.refused(409, "request-open");
    bo.get(&path(job)).await.refused(403, "blind-first");
    let history = bo.get(&format!("/api/jobs/{job}/history")).await.done().to_string();
    assert!(!history.contains("plug_r"), "{history}");
    ana.get(&path(job)).await.done();

    step(&ana, request, "withdraw", &json!({ "reason": "It was the plug after all." }))
        .await
        .done();
    ana.post(&path(job), &word).await.done();
    assert_eq!(bo.get(&path(job)).await.done()["words"].as_array().unwrap().len(), 2);
}

#[tokio::test]
async fn what_was_said_and_what_a_request_is_judged_by_cannot_be_rewritten() {
    let world = World::new("found_kept").await;
    let ana = world.client("ana").await;
    said_on(&world, &ana, 1, &fault("plug_r", "open", "run_test")).await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    for (statement, says) in [
        ("UPDATE job_found SET how = 'bench_confirmed'", "job_found are never changed"),
        ("DELETE FROM job_found", "job_found are never changed"),
        ("TRUNCATE job_found", "job_found are never changed"),
        ("UPDATE found_circuit SET text = 'x'", "found_circuit are never changed"),
        ("UPDATE condemn_request SET rates = NULL", "judged by is not changed"),
    ] {
        let refused = world.service.refusal(statement).await;
        assert!(refused.contains(says), "{statement}: {refused}");
    }
    assert_eq!(seen(&ana, request).await["verdict"]["considered"]["confirmed_calls"], json!(1.0));
}
