//! Taking a call: answers, class, reason, and what a job is asked for.
//!
//! Belongs here: `/api/intake` and what a new or changed job keeps of it. Does not belong here:
//! every combination of answers, which the roster's own tests have.

use serde_json::{Value, json};
use uuid::Uuid;

use super::world::World;

fn call(world: &World, more: Value) -> Value {
    let mut call = json!({ "unit_id": world.unit_id, "complaint": "Hums and trips" });
    for (name, value) in more.as_object().unwrap() {
        call[name] = value.clone();
    }
    call
}

#[tokio::test]
async fn the_answers_make_the_class_and_the_job_keeps_both() {
    let world = World::new("intake_class").await;
    let pia = world.client("pia").await;
    let answers = json!({ "no_heat_cool": "yes", "vulnerable": "unsure", "gas_smell": "no" });

    let path = "/api/intake?no_heat_cool=yes&vulnerable=unsure&gas_smell=no";
    let page = pia.get(path).await.done();
    let call = call(
        &world,
        json!({ "answers": answers, "outdoor_f": -4, "work": "repair",
        "required": ["sealed_system", "electrical", "sealed_system"],
        "not_before": "2027-01-09T08:00:00Z" }),
    );
    let job = pia.post("/api/jobs", &call).await.done();

    assert_eq!(page["class"], "no_heat_vulnerable");
    assert_eq!(page["dangers"], json!([]));
    assert_eq!(job["urgency"], "no_heat_vulnerable");
    assert_eq!(job["intake"]["because"], page["because"]);
    assert_eq!(job["intake"]["answers"], answers);
    assert_eq!(job["vulnerable"], true);
    assert_eq!(job["required"], json!(["sealed_system", "electrical"]));
    assert_eq!((&job["outdoor_f"], &job["work"]), (&json!(-4), &json!("repair")));
    assert_eq!(job["expected_min"], 120, "what a repair usually takes");
    let board = pia.get("/api/board").await.done();
    assert_eq!(board["jobs"][0]["vulnerable"], true);
    assert_eq!(board["jobs"][0]["expected_min"], 120);
}

#[tokio::test]
async fn another_class_than_the_answers_make_wants_a_reason_that_goes_on_the_record() {
    let world = World::new("intake_overruled").await;
    let pia = world.client("pia").await;
    let answers = json!({ "no_heat_cool": "no", "water": "no" });
    let with = |reason: Value| {
        call(&world, json!({ "answers": answers, "urgency": "water", "urgency_because": reason }))
    };

    for no_reason in [Value::Null, json!("   ")] {
        let refused = pia.post("/api/jobs", &with(no_reason)).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], "/urgency_because");
        assert!(refused["detail"].as_str().unwrap().contains("comfort"), "{refused}");
    }
    let reason = json!("The pan is about to run over, she says.");
    let job = pia.post("/api/jobs", &with(reason.clone())).await.done();
    let path = format!("/api/jobs/{}", job["id"].as_str().unwrap());
    // What stands may be said again; a third class wants a reason anew.
    let patch = json!({ "version": 1, "urgency": "food_storage" });
    pia.patch(&path, &patch).await.refused(422, "invalid");
    let patch = json!({ "version": 1, "answers": { "food": "yes" } });
    let changed = pia.patch(&path, &patch).await.done();

    assert_eq!((&job["urgency"], &job["intake"]["class"]), (&json!("water"), &json!("comfort")));
    assert_eq!(job["intake"]["overruled"], reason);
    assert_eq!(changed["urgency"], "food_storage");
    assert_eq!(changed["intake"]["overruled"], Value::Null);
    let history = pia.get(&format!("{path}/history")).await.done();
    assert_eq!(history[0]["body"]["intake"]["overruled"], reason);
    let events = history.as_array().unwrap();
    let changed = events.iter().find(|event| event["kind"] == "job_changed").expect("it changed");
    assert_eq!(changed["body"]["was"]["urgency"], "water");
}

#[tokio::test]
async fn danger_is_told_before_anything_is_kept() {
    let world = World::new("intake_danger").await;
    let pia = world.client("pia").await;

    let page = pia.get("/api/intake?gas_smell=unsure&co_alarm=yes").await.done();

    let ids: Vec<_> = page["dangers"].as_array().unwrap().iter().map(|one| &one["id"]).collect();
    assert_eq!(ids, ["gas", "carbon_monoxide"]);
    assert!(page["safety_source"].as_str().unwrap().contains("local rules"), "{page}");
    assert_eq!(page["class"], "no_heat_cool");
    assert_eq!(world.service.count("job").await, 0);
}

#[tokio::test]
async fn what_cannot_be_is_refused_by_its_place() {
    let world = World::new("intake_bad").await;
    let pia = world.client("pia").await;

    for (wrong, pointer) in [
        (json!({}), "/urgency"),
        (json!({ "answers": {} }), "/urgency"),
        (json!({ "urgency": "comfort", "expected_min": 4 }), "/expected_min"),
        (json!({ "urgency": "comfort", "expected_min": 2881 }), "/expected_min"),
        (json!({ "urgency": "comfort", "outdoor_f": 141 }), "/outdoor_f"),
        (json!({ "urgency": "comfort", "outdoor_f": -81 }), "/outdoor_f"),
        (
            json!({ "urgency": "comfort", "planned_start": "2027-01-09T08:00:00Z",
                "planned_end": "2027-01-09T09:00:00Z" }),
            "/planned_start",
        ),
        (
            json!({ "urgency": "comfort", "assigned_to": pia.id,
                "planned_start": "2027-01-09T08:00:00Z" }),
            "/planned_end",
        ),
        (
            json!({ "urgency": "comfort", "assigned_to": pia.id,
                "planned_start": "2027-01-09T08:00:00Z",
                "planned_end": "2027-01-11T08:00:01Z" }),
            "/planned_end",
        ),
        (json!({ "urgency": "comfort", "assigned_to": pia.id }), "/person_id"),
    ] {
        let refused = pia.post("/api/jobs", &call(&world, wrong.clone())).await;
        let refused = refused.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{wrong}: {refused}");
    }
    for wrong in [
        json!({ "answers": { "weather": "yes" } }),
        json!({ "answers": { "water": "perhaps" } }),
        json!({ "urgency": "comfort", "work": "magic" }),
        json!({ "urgency": "comfort", "required": ["juggling"] }),
        json!({ "urgency": "comfort", "outdoor_f": 4.5 }),
    ] {
        pia.post("/api/jobs", &call(&world, wrong)).await.refused(400, "bad-json");
    }
    pia.get("/api/intake?water=perhaps").await.refused(400, "bad-parameter");
    pia.get("/api/intake?weather=yes").await.refused(400, "bad-parameter");
    assert_eq!(world.service.count("job").await, 0);
}

#[tokio::test]
async fn a_site_keeps_where_it_lies() {
    let world = World::new("intake_place").await;
    let pia = world.client("pia").await;
    let path = format!("/api/sites/{}", world.site_id);

    let placed = json!({ "latitude": 45.62, "longitude": -105.74 });
    let site = pia.patch(&path, &placed).await.done();
    for (wrong, pointer) in [
        (json!({ "latitude": 45.62 }), "/longitude"),
        (json!({ "longitude": 45.62 }), "/latitude"),
        (json!({ "latitude": 90.1, "longitude": 0 }), "/latitude"),
        (json!({ "latitude": 0, "longitude": -180.1 }), "/longitude"),
    ] {
        let refused = pia.patch(&path, &wrong).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{wrong}");
    }
    let cleared = pia.patch(&path, &json!({ "latitude": null, "longitude": null })).await.done();

    assert_eq!((&site["latitude"], &site["longitude"]), (&json!(45.62), &json!(-105.74)));
    assert_eq!((&cleared["latitude"], &cleared["longitude"]), (&Value::Null, &Value::Null));
}

#[tokio::test]
async fn the_kind_of_work_brings_its_usual_minutes_until_somebody_says_otherwise() {
    let world = World::new("intake_minutes").await;
    let pia = world.client("pia").await;
    let job = pia.post("/api/jobs", &call(&world, json!({ "urgency": "comfort" }))).await.done();
    let path = format!("/api/jobs/{}", job["id"].as_str().unwrap());
    let change = async |version: i32, body: Value| {
        let mut body = body;
        body["version"] = json!(version);
        pia.patch(&path, &body).await.done()["expected_min"].clone()
    };

    assert_eq!(job["expected_min"], 90);
    assert_eq!(change(1, json!({ "work": "maintenance" })).await, 60);
    assert_eq!(change(2, json!({ "expected_min": 75 })).await, 75);
    assert_eq!(change(3, json!({ "work": "installation" })).await, 75);
}

#[tokio::test]
async fn a_repeated_call_is_taken_once() {
    let world = World::new("intake_repeat").await;
    let pia = world.client("pia").await;
    let key = Uuid::from_u128(7);
    let body = call(&world, json!({ "answers": { "water": "yes" } }));

    let first = pia.write(reqwest::Method::POST, "/api/jobs", key, &body).await.done();
    let again = pia.write(reqwest::Method::POST, "/api/jobs", key, &body).await.done();

    assert_eq!(first, again);
    assert_eq!(world.service.count("job").await, 1);
}
