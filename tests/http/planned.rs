//! The planned slot beside the promise: who is where when, and what is in the way.
//!
//! Belongs here: assignments with their times. Does not belong here: the promise itself, and
//! proposals for a whole day.

use blackbox::client::Client;
use serde_json::{Value, json};

use super::world::World;

/// A promise from ten to two in Oslo, as it was asked for and as it is answered.
const PROMISE: [&str; 2] = ["2027-01-09T09:00:00Z", "2027-01-09T13:00:00Z"];

fn at(clock: &str) -> String {
    format!("2027-01-09T{clock}:00Z")
}

async fn call(world: &World, who: &Client, more: Value) -> Value {
    let mut call = json!({ "unit_id": world.unit_id, "complaint": "Hums and trips",
        "urgency": "comfort" });
    for (name, value) in more.as_object().unwrap() {
        call[name] = value.clone();
    }
    who.post("/api/jobs", &call).await.done()
}

async fn promised(world: &World, who: &Client) -> Value {
    let window = json!({ "window_start": PROMISE[0], "window_end": PROMISE[1] });
    call(world, who, window).await
}

fn put(job: &Value, who: &Client, slot: Option<[&str; 2]>) -> Value {
    let mut put = json!({ "person_id": who.id, "version": job["version"] });
    if let Some([start, end]) = slot {
        put["planned_start"] = json!(at(start));
        put["planned_end"] = json!(at(end));
    }
    put
}

fn assignment(job: &Value) -> String {
    format!("/api/jobs/{}/assignment", job["id"].as_str().unwrap())
}

fn planned(job: &Value) -> [&Value; 2] {
    [&job["planned_start"], &job["planned_end"]]
}

#[tokio::test]
async fn a_plan_of_its_own_leaves_the_promise_alone() {
    let world = World::new("planned_own").await;
    let (pia, bo) = (world.client("pia").await, world.client("bo").await);
    let job = promised(&world, &pia).await;

    let given = pia.post(&assignment(&job), &put(&job, &bo, None)).await.done();
    let moved =
        pia.post(&assignment(&job), &put(&given, &bo, Some(["10:15", "11:45"]))).await.done();
    let patch = json!({ "version": moved["version"], "window_start": at("10:00"),
        "window_end": at("15:00") });
    let path = format!("/api/jobs/{}", job["id"].as_str().unwrap());
    let promised_anew = pia.patch(&path, &patch).await.done();
    let mut back = put(&promised_anew, &bo, None);
    back["person_id"] = Value::Null;
    let back = pia.post(&assignment(&job), &back).await.done();

    assert_eq!(planned(&job), [&Value::Null; 2]);
    assert_eq!(planned(&given), [&json!(PROMISE[0]), &json!(PROMISE[1])], "where none is given");
    assert_eq!(planned(&moved), [&json!(at("10:15")), &json!(at("11:45"))]);
    assert_eq!(moved["window_start"], PROMISE[0]);
    assert_eq!(planned(&promised_anew), planned(&moved), "the plan was its own");
    assert_eq!(planned(&back), [&Value::Null; 2]);
    assert_eq!(back["window_end"], at("15:00"));
}

#[tokio::test]
async fn a_plan_that_was_only_the_promise_goes_along_with_it() {
    let world = World::new("planned_along").await;
    let (pia, bo) = (world.client("pia").await, world.client("bo").await);
    let job = promised(&world, &pia).await;
    let given = pia.post(&assignment(&job), &put(&job, &bo, None)).await.done();

    let patch = json!({ "version": given["version"], "window_start": at("14:00"),
        "window_end": at("16:00") });
    let path = format!("/api/jobs/{}", job["id"].as_str().unwrap());
    let moved = pia.patch(&path, &patch).await.done();

    assert_eq!(planned(&moved), [&json!(at("14:00")), &json!(at("16:00"))]);
}

#[tokio::test]
async fn an_overlap_names_the_other_job_and_the_next_free_time() {
    let world = World::new("planned_overlap").await;
    let (pia, bo) = (world.client("pia").await, world.client("bo").await);
    let mut jobs = Vec::new();
    for slot in [Some(["09:00", "10:30"]), Some(["11:00", "12:00"]), None] {
        let job = call(&world, &pia, json!({})).await;
        if slot.is_some() {
            pia.post(&assignment(&job), &put(&job, &bo, slot)).await.done();
        }
        jobs.push(job);
    }
    let third = jobs.remove(2);

    let wanted = put(&third, &bo, Some(["09:30", "10:30"]));
    let refused = pia.post(&assignment(&third), &wanted).await.refused(409, "assignment-overlap");

    let detail = refused["detail"].as_str().unwrap();
    assert!(
        detail.starts_with("Bo of Tern Street Refrigeration is planned for job 1 "),
        "{detail}"
    );
    assert!(detail.contains("(Orsolya Quill) from Sat 9 Jan 10:00 to Sat 9 Jan 11:30"), "{detail}");
    assert_eq!(refused["overlap"]["job_id"], jobs[0]["id"]);
    assert_eq!(refused["overlap"]["number"], 1);
    // Half an hour between the two is too short for an hour.
    assert_eq!(refused["overlap"]["free_start"], at("12:00"));
    assert_eq!(refused["overlap"]["free_end"], at("13:00"));
    let wanted = put(&third, &bo, Some(["10:30", "11:00"]));
    let fits = pia.post(&assignment(&third), &wanted).await.done();
    assert_eq!(fits["assigned_to"]["id"], json!(bo.id));
}

#[tokio::test]
async fn of_two_who_plan_the_same_hour_at_once_one_is_told_of_the_other() {
    let world = World::new("planned_race").await;
    let (pia, dan, bo) =
        (world.client("pia").await, world.client("dan").await, world.client("bo").await);
    // Some rounds: without a lock on a person's plans every few of them ended in a deadlock.
    for round in 0..12 {
        let (one, other) =
            (call(&world, &pia, json!({})).await, call(&world, &pia, json!({})).await);
        let slot = [format!("{:02}:00", round + 8), format!("{:02}:45", round + 8)];
        let slot = Some([slot[0].as_str(), slot[1].as_str()]);
        let (one_path, other_path) = (assignment(&one), assignment(&other));
        let (one_put, other_put) = (put(&one, &bo, slot), put(&other, &bo, slot));

        let (first, second) =
            tokio::join!(pia.post(&one_path, &one_put), dan.post(&other_path, &other_put));

        let (won, lost, winner) =
            if first.status == 200 { (first, second, one) } else { (second, first, other) };
        won.done();
        let refused = lost.refused(409, "assignment-overlap");
        assert_eq!(refused["overlap"]["job_id"], winner["id"], "round {round}: {refused}");
    }
}

#[tokio::test]
async fn what_speaks_against_somebody_wants_a_reason_that_goes_on_the_record() {
    let world = World::new("planned_against").await;
    let (pia, fay) = (world.client("pia").await, world.client("fay").await);
    let asked = json!({ "required": ["sealed_system"], "not_before": at("12:00"),
        "window_start": at("08:00"), "window_end": at("09:00") });
    let job = call(&world, &pia, asked).await;
    let mut wanted = put(&job, &fay, Some(["10:00", "11:00"]));

    let refused = pia.post(&assignment(&job), &wanted).await.refused(409, "needs-reason");
    wanted["because"] = json!("She goes with Bo, and they are in.");
    let given = pia.post(&assignment(&job), &wanted).await.done();

    let detail = refused["detail"].as_str().unwrap();
    for part in
        ["not qualified for the sealed system", "before Sat 9 Jan 13:00", "by Sat 9 Jan 10:00"]
    {
        assert!(detail.contains(part), "{detail}");
    }
    assert_eq!(given["assigned_to"]["id"], json!(fay.id));
    let path = format!("/api/jobs/{}/history", job["id"].as_str().unwrap());
    let history = pia.get(&path).await.done();
    let body = &history[1]["body"];
    assert_eq!(body["because"], wanted["because"]);
    assert_eq!(body["despite"].as_array().unwrap().len(), 3, "{body}");
}

#[tokio::test]
async fn whoever_is_off_duty_or_on_leave_is_said_to_be_and_may_be_sent_with_a_reason() {
    let world = World::new("planned_duty").await;
    let (pia, bo, fay) =
        (world.client("pia").await, world.client("bo").await, world.client("fay").await);
    let job = call(&world, &pia, json!({})).await;
    let path = assignment(&job);
    let entry = |who: &Client, kind: &str, start: &str, end: &str| json!({ "person_id": who.id, "kind": kind, "start": at(start), "end": at(end) });
    for body in [entry(&bo, "shift", "07:00", "15:00"), entry(&fay, "leave", "06:00", "20:00")] {
        pia.post("/api/rota/entries", &body).await.done();
    }

    let late = put(&job, &bo, Some(["15:00", "16:00"]));
    let refused = pia.post(&path, &late).await.refused(409, "needs-reason");
    assert!(refused["detail"].as_str().unwrap().contains("is not on duty then"), "{refused}");
    let away = put(&job, &fay, Some(["10:00", "11:00"]));
    let refused = pia.post(&path, &away).await.refused(409, "needs-reason");
    assert!(refused["detail"].as_str().unwrap().contains("is on leave then"), "{refused}");
    let mut anyway = late.clone();
    anyway["because"] = json!("He offered to stay.");
    let given = pia.post(&path, &anyway).await.done();
    let on_shift = put(&given, &bo, Some(["14:45", "16:00"]));
    let given = pia.post(&path, &on_shift).await.done();

    assert_eq!(planned(&given), [&json!(at("14:45")), &json!(at("16:00"))]);
}

#[tokio::test]
async fn a_plan_that_cannot_be_is_refused() {
    let world = World::new("planned_bad").await;
    let (pia, bo) = (world.client("pia").await, world.client("bo").await);
    let job = promised(&world, &pia).await;
    let path = assignment(&job);

    let backwards = put(&job, &bo, Some(["11:00", "10:00"]));
    let mut nobody = put(&job, &bo, Some(["10:00", "11:00"]));
    nobody["person_id"] = Value::Null;
    let mut half = put(&job, &bo, None);
    half["planned_end"] = json!(at("11:00"));
    for (wrong, pointer) in
        [(backwards, "/planned_end"), (nobody, "/planned_start"), (half, "/planned_start")]
    {
        let refused = pia.post(&path, &wrong).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{wrong}");
    }
    assert_eq!(world.service.count("assignment").await, 0);
}
