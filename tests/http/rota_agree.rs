//! Swaps and leave from outside, whole weeks, the second rota, and what the quarter holds.
//!
//! Belongs here: what two people can agree on and what stands in the way. Does not belong here:
//! single entries and who is asked to read ([`super::rota`]).

use blackbox::client::{Client, id_in};
use serde_json::{Value, json};
use uuid::Uuid;

use super::rota::{at, loosely, put, try_put};
use super::world::{World, pins};

async fn offer(who: &Client, entry: Uuid, to: Option<Uuid>, wanted: Option<Uuid>) -> Value {
    let new = json!({ "entry_id": entry, "to": to, "wanted_id": wanted, "note": "Please." });
    who.post("/api/rota/swaps", &new).await.done()
}

async fn settle(who: &Client, swap: &Value, how: &str) -> blackbox::client::Answer {
    who.post(&format!("/api/rota/swaps/{}/{how}", id_in(swap)), &Value::Null).await
}

/// Whose entry covers an hour, by the beginning of their name.
async fn who_has(who: &Client, hour: i64) -> Vec<String> {
    let path = format!("/api/rota?from={}&to={}", at(hour), at(hour + 1)).replace('+', "%2B");
    let rota = who.get(&path).await.done();
    let entries = rota["entries"].as_array().unwrap().iter();
    entries.map(|one| one["person"]["name"].as_str().unwrap()[..2].to_lowercase()).collect()
}

#[tokio::test]
async fn a_swap_needs_both_and_changes_both_at_once() {
    let world = World::new("agree_swap").await;
    let (pia, bo, cleo) =
        (world.client("pia").await, world.client("bo").await, world.client("cleo").await);
    let ana = world.client("ana").await;
    let of_bo = put(&pia, bo.id, "on_call", 200, 212).await;
    let of_cleo = put(&pia, cleo.id, "on_call", 300, 312).await;

    let swap = offer(&bo, of_bo, Some(cleo.id), Some(of_cleo)).await;
    assert_eq!(swap["may"], json!(["withdraw"]));
    assert_eq!(who_has(&pia, 205).await, ["bo"], "nothing changes before they agree");
    let twice = json!({ "entry_id": of_bo });
    bo.post("/api/rota/swaps", &twice).await.refused(409, "swap-open");
    for other in [&ana, &pia, &bo] {
        settle(other, &swap, "accept").await.refused(403, "not-allowed");
    }
    let mails = "SELECT 1 AS one FROM outbox WHERE payload ->> 'template' = 'swap_offered'";
    assert_eq!(world.service.rows(mails).await.len(), 1);

    settle(&cleo, &swap, "accept").await.done();

    assert_eq!(
        (who_has(&pia, 205).await, who_has(&pia, 305).await),
        (vec!["cl".into()], vec!["bo".into()])
    );
    settle(&cleo, &swap, "accept").await.refused(409, "swap-settled");
    let seen = pia.get("/api/rota/swaps").await.done();
    assert_eq!(seen[0]["state"], "accepted", "the scheduler sees it");
    assert_eq!(world.service.count("record_entry WHERE kind = 'swap_settled'").await, 1);

    // Given away to whoever takes it; declining is for whom it was offered.
    let mine = put(&pia, bo.id, "on_call", 400, 412).await;
    let given = offer(&bo, mine, None, None).await;
    settle(&cleo, &given, "decline").await.refused(403, "not-allowed");
    settle(&pia, &given, "accept").await.refused(403, "not-allowed");
    settle(&ana, &given, "accept").await.done();
    assert_eq!(who_has(&pia, 405).await, ["an"]);
    // Withdrawn, it cannot be accepted.
    let back = put(&pia, bo.id, "on_call", 500, 512).await;
    let back = offer(&bo, back, Some(cleo.id), None).await;
    settle(&bo, &back, "withdraw").await.done();
    settle(&cleo, &back, "accept").await.refused(409, "swap-settled");
}

#[tokio::test]
async fn a_swap_that_breaks_rest_or_cover_or_comes_too_late_is_refused_in_words() {
    let world = World::new("agree_refused").await;
    let (pia, dan) = (world.client("pia").await, world.client("dan").await);
    let (bo, cleo, fay) =
        (world.client("bo").await, world.client("cleo").await, world.client("fay").await);
    // A scheduler is only warned; a swap is refused all the same.
    loosely(&dan, "warn").await;
    let early = put(&pia, bo.id, "shift", 200, 208).await;
    put(&pia, cleo.id, "shift", 184, 193).await;
    let new = json!({ "entry_id": early, "to": cleo.id });
    let refused = bo.post("/api/rota/swaps", &new).await.refused(409, "rest");
    let detail = refused["detail"].as_str().unwrap();
    assert!(detail.contains("Cleo") && detail.contains("only 7 h of rest"), "{detail}");

    // Offered to anybody, it is looked at when somebody takes it.
    let open = offer(&bo, early, None, None).await;
    settle(&cleo, &open, "accept").await.refused(409, "rest");
    assert_eq!(who_has(&pia, 203).await, ["bo"], "nothing half done");

    // Fay may not open the refrigerant circuit, and nobody else is on duty then.
    let refused = settle(&fay, &open, "accept").await.refused(409, "swap-cover");
    assert!(refused["detail"].as_str().unwrap().contains("refrigerant circuit"), "{refused}");
    settle(&bo, &open, "withdraw").await.done();

    // What has begun stays with whoever has it; what is not mine I cannot offer.
    let begun = put(&pia, bo.id, "on_call", -2, 40).await;
    let new = json!({ "entry_id": begun, "to": cleo.id });
    bo.post("/api/rota/swaps", &new).await.refused(409, "swap-begun");
    let new = json!({ "entry_id": early, "to": bo.id });
    cleo.post("/api/rota/swaps", &new).await.refused(403, "not-allowed");

    // Time is up, and the rota was changed otherwise.
    let late = put(&pia, bo.id, "on_call", 600, 612).await;
    let late = offer(&bo, late, Some(cleo.id), None).await;
    let past = format!(
        "UPDATE rota_swap SET made_at = now() - interval '9 days', expires_at = now() - interval '1 day' WHERE id = '{}'",
        id_in(&late)
    );
    world.service.execute(&past).await;
    settle(&cleo, &late, "accept").await.refused(409, "swap-settled");
    let moved = put(&pia, bo.id, "on_call", 700, 712).await;
    let swap = offer(&bo, moved, Some(cleo.id), None).await;
    let path = format!("/api/rota/entries/{moved}");
    let why = json!({ "why": "Planned anew." });
    pia.write("DELETE".parse().unwrap(), &path, blackbox::client::fresh(), &why).await.done();
    let refused = settle(&cleo, &swap, "accept").await.refused(409, "swap-settled");
    assert!(refused["detail"].as_str().unwrap().contains("rota was changed"));
}

#[tokio::test]
async fn leave_is_asked_for_granted_with_room_made_and_refused_with_a_reason() {
    let world = World::new("agree_leave").await;
    let (pia, bo, cleo) =
        (world.client("pia").await, world.client("bo").await, world.client("cleo").await);
    put(&pia, bo.id, "on_call", 230, 250).await;
    put(&pia, bo.id, "on_call", 260, 272).await;
    let days = json!({ "start": at(240), "end": at(288), "reason": "A wedding." });
    let ask = bo.post("/api/rota/leave", &days).await.done();
    assert_eq!(ask["meets"].as_array().unwrap().len(), 2, "{ask}");
    bo.post("/api/rota/leave", &days).await.refused(409, "leave-asked");
    let step = |how: &str| format!("/api/rota/leave/{}/{how}", id_in(&ask));
    cleo.post(&step("grant"), &Value::Null).await.refused(404, "not-found");
    bo.post(&step("grant"), &Value::Null).await.refused(403, "not-allowed");
    pia.post(&step("withdraw"), &Value::Null).await.refused(403, "not-allowed");
    pia.post(&step("refuse"), &Value::Null).await.refused(422, "invalid");
    assert_eq!(cleo.get("/api/rota/leave").await.done(), json!([]), "it is nobody else's");

    pia.post(&step("grant"), &json!({ "why": "Enjoy it." })).await.done();

    let path = format!("/api/rota?from={}&to={}", at(220), at(300)).replace('+', "%2B");
    let rota = bo.get(&path).await.done();
    let kinds: Vec<(&Value, &Value)> =
        rota["entries"].as_array().unwrap().iter().map(|one| (&one["kind"], &one["end"])).collect();
    assert_eq!(kinds.len(), 2, "cut before it, and gone within it: {rota}");
    assert_eq!((kinds[0].0, kinds[1].0), (&json!("on_call"), &json!("leave")));
    pia.post(&step("refuse"), &json!({ "why": "Too late." })).await.refused(409, "leave-answered");
    let told = "SELECT 1 AS one FROM outbox WHERE payload ->> 'template' = 'leave_answered'";
    assert_eq!(world.service.rows(told).await.len(), 1);
    try_put(&pia, bo.id, "shift", 264, 270).await.refused(409, "rota-overlap");
}

#[tokio::test]
async fn a_quarter_is_filled_in_one_go_tried_first_and_all_or_nothing() {
    let world = World::new("agree_pattern").await;
    let (pia, bo, cleo) =
        (world.client("pia").await, world.client("bo").await, world.client("cleo").await);
    let apply = |dry_run: bool, meets: &str| {
        json!({ "kind": "on_call", "first_week": at(24 * 10)[..10], "weeks": 13,
            "people": [bo.id, cleo.id], "turn": "weekly", "meets": meets, "dry_run": dry_run,
            "handover": { "weekday": 4, "minute": 1020 } })
    };
    let tried = pia.post("/api/rota/pattern", &apply(true, "refuse")).await.done();
    // Four nights and a weekend in each week of Monday to Friday.
    assert_eq!(tried["added"].as_array().unwrap().len(), 13 * 5, "{}", tried["added"][0]);
    assert_eq!(world.service.count("rota_entry").await, 0, "only tried");

    // In the sixth week Cleo is away.
    put(&pia, cleo.id, "leave", 24 * 45, 24 * 55).await;
    let refused = pia.post("/api/rota/pattern", &apply(false, "refuse")).await;
    let refused = refused.refused(409, "rota-overlap");
    assert!(refused["detail"].as_str().unwrap().contains("is on leave"), "{refused}");
    assert_eq!(world.service.count("rota_entry").await, 1, "all or nothing");

    let done = pia.post("/api/rota/pattern", &apply(false, "replace")).await.done();
    let left_out = done["left_out"].as_array().unwrap();
    assert!(!left_out.is_empty() && left_out.iter().all(|one| one["stands"]["kind"] == "leave"));
    assert_eq!(done["added"].as_array().unwrap().len() + left_out.len(), 13 * 5);
    // The hours that nobody has are said.
    let path = format!("/api/rota?from={}&to={}", at(24 * 12), at(24 * 80)).replace('+', "%2B");
    let holes = pia.get(&path).await.done()["holes"].clone();
    assert!(holes.as_array().unwrap().len() >= left_out.len(), "{holes}");
    // What it put in itself stands in its own way the second time.
    pia.post("/api/rota/pattern", &apply(false, "refuse")).await.refused(409, "rota-overlap");
    let wrong = json!({ "kind": "leave", "first_week": at(24)[..10], "weeks": 99, "people": [],
        "turn": "weekly", "slots": [] });
    let refused = pia.post("/api/rota/pattern", &wrong).await.refused(422, "invalid");
    assert_eq!(refused["errors"].as_array().unwrap().len(), 4, "{refused}");
}

#[tokio::test]
async fn the_second_rota_counts_once_it_is_open() {
    let world = World::new("agree_second").await;
    let (pia, bo, cleo) =
        (world.client("pia").await, world.client("bo").await, world.client("cleo").await);
    put(&pia, bo.id, "on_call", -10, 60).await;
    put(&pia, cleo.id, "second", -10, 60).await;
    let can_be_called = |duty: &Value, who: &Client| -> bool {
        let people = duty["people"].as_array().unwrap();
        let one = people.iter().find(|one| one["person"]["id"] == who.id.to_string()).unwrap();
        one["can_be_called"].as_bool().unwrap()
    };
    let duty = bo.get("/api/rota/duty").await.done();
    assert!(can_be_called(&duty, &bo) && !can_be_called(&duty, &cleo), "{duty}");

    let open = json!({ "until": at(48), "why": "Four calls and one van." });
    let opened = pia.post("/api/rota/second", &open).await.done();
    assert_eq!(opened["told"][0]["id"], cleo.id.to_string());
    pia.post("/api/rota/second", &open).await.refused(409, "second-open");
    let duty = bo.get("/api/rota/duty").await.done();
    assert!(can_be_called(&duty, &cleo), "{duty}");
    let told = "SELECT 1 AS one FROM outbox WHERE payload ->> 'template' = 'second_rota_open'";
    assert_eq!(world.service.rows(told).await.len(), 1);

    let key = blackbox::client::fresh();
    pia.write("DELETE".parse().unwrap(), "/api/rota/second", key, &Value::Null).await.done();
    let duty = bo.get("/api/rota/duty").await.done();
    assert!(!can_be_called(&duty, &cleo), "{duty}");
}

#[tokio::test]
async fn the_quarter_shows_what_each_has_and_calls_gone_out_for() {
    let world = World::new("agree_quarter").await;
    let (pia, dan, bo) =
        (world.client("pia").await, world.client("dan").await, world.client("bo").await);
    loosely(&dan, "warn").await;
    put(&pia, bo.id, "on_call", -30, 30).await;
    let job = world.job(&bo).await;
    pins(&bo, job).await;
    let of = |fairness: &Value| -> Value {
        let people = fairness["people"].as_array().unwrap();
        people.iter().find(|one| one["person"]["id"] == bo.id.to_string()).unwrap().clone()
    };
    let before = of(&pia.get("/api/rota/fairness").await.done());
    assert_eq!(before["has"]["call_outs"], 0.0, "{before}");
    assert!(before["has"]["nights"].as_f64().unwrap() >= 1.0, "{before}");

    // The job is done on site, just now, while on call.
    let plan = format!(
        "UPDATE assignment SET planned = tstzrange(now(), now() + interval '1 hour') WHERE job_id = '{job}'"
    );
    world.service.execute(&plan).await;
    world.service.execute(&format!("UPDATE job SET state = 'on_site' WHERE id = '{job}'")).await;
    let after = of(&pia.get("/api/rota/fairness").await.done());
    assert_eq!(after["has"]["call_outs"], 1.0, "{after}");

    let share: f64 = pia.get("/api/rota/fairness").await.done()["people"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["share"]["call_outs"].as_f64().unwrap())
        .sum();
    assert!((share - 1.0).abs() < 1e-9, "shares add up: {share}");
}
