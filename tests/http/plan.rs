//! Proposals from outside: asked for, taken whole or in part, refused in words, given back.
//!
//! Belongs here: what a scheduler sees and does, and that the board changes with it or not at
//! all. Does not belong here: whether a plan is good (the planner's), and its promises, which the
//! roster's checker has.

use blackbox::client::{Client, id_in};
use chrono::{Datelike as _, NaiveDate, TimeDelta, Weekday};
use serde_json::{Value, json};
use uuid::Uuid;

use super::rota::{at, loosely, midnight, put};
use super::world::World;

/// From the last midnight on, in hours: the day after next, so that nothing is under way then.
const FROM: i64 = 48;
const UNTIL: i64 = 72;

/// Asks for some days, of which the shop is open on one at least.
pub(crate) fn ask() -> Value {
    json!({ "from": at(0), "until": at(95), "seconds": 1 })
}

/// Bo and Cleo on shift on that day, and so many calls that nobody has.
struct Day {
    world: World,
    pia: Client,
    bo: Client,
    jobs: Vec<Uuid>,
}

impl Day {
    async fn new(name: &str, calls: usize) -> Self {
        let world = World::new(name).await;
        let [pia, bo] = [world.client("pia").await, world.client("bo").await];
        let cleo = world.client("cleo").await;
        loosely(&world.client("dan").await, "warn").await;
        for person in [bo.id, cleo.id] {
            put(&pia, person, "shift", FROM + 8, FROM + 18).await;
        }
        let mut jobs = Vec::new();
        for _ in 0..calls {
            let new = json!({ "unit_id": world.unit_id, "complaint": "Hums", "urgency": "comfort",
                "expected_min": 60 });
            jobs.push(id_in(&pia.post("/api/jobs", &new).await.done()));
        }
        Day { world, pia, bo, jobs }
    }

    async fn proposed(&self) -> Value {
        let ask = json!({ "from": at(FROM), "until": at(UNTIL), "seconds": 1 });
        self.pia.post("/api/plans", &ask).await.done()
    }

    async fn job(&self, index: usize) -> Value {
        self.pia.get(&format!("/api/jobs/{}", self.jobs[index])).await.done()
    }

    async fn give(&self, index: usize, from: i64) -> Value {
        let version = self.job(index).await["version"].clone();
        let put = json!({ "person_id": self.bo.id, "version": version,
            "planned_start": at(from), "planned_end": at(from + 1) });
        let path = format!("/api/jobs/{}/assignment", self.jobs[index]);
        self.pia.post(&path, &put).await.done()
    }

    async fn step(&self, plan: &Value, step: &str, body: &Value) -> blackbox::client::Answer {
        self.pia.post(&format!("/api/plans/{}/{step}", id_in(plan)), body).await
    }
}

fn of(plan: &Value, job: Uuid) -> &Value {
    let jobs = plan["jobs"].as_array().unwrap();
    jobs.iter().find(|one| one["id"] == job.to_string()).unwrap()
}

/// The same moment, whichever way it is written.
fn same(one: &Value, other: &Value) -> bool {
    let moment = |value: &Value| {
        value.as_str().and_then(|text| chrono::DateTime::parse_from_rfc3339(text).ok())
    };
    moment(one).is_some() && moment(one) == moment(other)
}

#[tokio::test]
async fn a_proposal_changes_nothing_until_it_is_taken_and_can_be_given_back() {
    let day = Day::new("plan_taken", 3).await;
    let pinned = day.give(2, FROM + 10).await;
    let path = format!("/api/jobs/{}/pin", day.jobs[2]);
    day.pia.post(&path, &json!({ "pinned": true })).await.done();

    let plan = day.proposed().await;
    let untouched = day.job(0).await;
    let taken = day.step(&plan, "take", &json!({})).await.done();
    let now = day.job(0).await;
    day.step(&plan, "take", &json!({})).await.refused(409, "plan-settled");
    let back = day.step(&plan, "undo", &Value::Null).await.done();
    let after = day.job(0).await;

    assert_eq!(plan["state"], "open");
    assert_eq!((&untouched["state"], &untouched["planned_start"]), (&json!("open"), &Value::Null));
    let held = of(&plan, day.jobs[2]);
    assert_eq!((&held["kind"], &held["pinned"]), (&json!("held"), &json!(true)));
    assert!(same(&held["after"]["start"], &pinned["planned_start"]));
    for job in &day.jobs[..2] {
        let one = of(&plan, *job);
        assert_eq!(one["kind"], "placed", "{one}");
        assert_eq!(one["before"], Value::Null);
        assert!(one["why"].as_str().unwrap().starts_with("nobody had it"), "{one}");
    }
    let notes = plan["notes"].to_string();
    assert!(notes.contains("have no coordinates"), "{notes}");
    assert_eq!((&plan["before"]["without"], &plan["after"]["without"]), (&json!(2), &json!(0)));

    let planned = of(&plan, day.jobs[0]);
    assert_eq!(taken["state"], "taken");
    assert_eq!(now["state"], "assigned");
    assert_eq!(now["assigned_to"]["id"], planned["after"]["person_id"]);
    assert!(same(&now["planned_start"], &planned["after"]["start"]), "{now}");
    assert_eq!(now["window_start"], Value::Null, "nothing is promised by planning");

    assert_eq!(back["state"], "open");
    assert_eq!((&after["state"], &after["assigned_to"]), (&json!("open"), &Value::Null));
    let history = day.pia.get(&format!("/api/jobs/{}/history", day.jobs[0])).await.done();
    let kinds: Vec<&Value> = history.as_array().unwrap().iter().map(|one| &one["kind"]).collect();
    assert_eq!(kinds[kinds.len() - 2..], [&json!("job_assigned"), &json!("job_assigned")]);
}

#[tokio::test]
async fn what_changed_meanwhile_is_named_and_the_rest_can_be_taken_alone() {
    let day = Day::new("plan_changed", 2).await;
    let plan = day.proposed().await;
    let job = day.job(0).await;
    let patch = json!({ "version": job["version"], "complaint": "Hums, and now it drips" });
    day.pia.patch(&format!("/api/jobs/{}", day.jobs[0]), &patch).await.done();

    let refused = day.step(&plan, "take", &json!({})).await.refused(409, "board-changed");
    let untouched = day.job(1).await;
    let one = json!({ "jobs": [day.jobs[1]] });
    let taken = day.step(&plan, "take", &one).await.done();
    let twice = day.step(&plan, "take", &one).await.refused(422, "invalid");

    let number = format!("Job {} changed", job["number"]);
    assert!(refused["detail"].as_str().unwrap().starts_with(&number), "{refused}");
    assert_eq!(untouched["state"], "open", "all of it or nothing");
    assert_eq!(taken["state"], "open", "the other is still there to be taken");
    assert_eq!(of(&taken, day.jobs[0])["changed_since"], true);
    assert_eq!(of(&taken, day.jobs[1])["taken"], true);
    assert_eq!(of(&taken, day.jobs[1])["changed_since"], false);
    assert_eq!(twice["errors"][0]["pointer"], "/jobs/0");
    assert_eq!(day.job(1).await["state"], "assigned");
}

#[tokio::test]
async fn a_slot_that_somebody_else_filled_meanwhile_is_refused_and_nothing_moves() {
    let day = Day::new("plan_overlap", 1).await;
    let plan = day.proposed().await;
    let after = &of(&plan, day.jobs[0])["after"];
    let new = json!({ "unit_id": day.world.unit_id, "complaint": "Drips", "urgency": "water",
        "assigned_to": after["person_id"], "planned_start": after["start"],
        "planned_end": after["end"] });
    let other = day.pia.post("/api/jobs", &new).await.done();

    let refused = day.step(&plan, "take", &json!({})).await.refused(409, "assignment-overlap");

    let says = refused["detail"].as_str().unwrap();
    assert!(says.contains(&format!("job {}", other["number"])), "{says}");
    assert_eq!(day.job(0).await["state"], "open");
    let kept = day.pia.get(&format!("/api/plans/{}", id_in(&plan))).await.done();
    assert_eq!((&kept["state"], &kept["takings"]), (&json!("open"), &json!([])));
}

#[tokio::test]
async fn two_jobs_may_change_places_in_one_taking() {
    let day = Day::new("plan_swap", 2).await;
    // The urgent one stands behind the other: the plan turns them round, each into the other's
    // slot or nearly so.
    day.give(0, FROM + 8).await;
    let urgent = day.give(1, FROM + 9).await;
    let patch = json!({ "version": urgent["version"], "urgency": "water" });
    day.pia.patch(&format!("/api/jobs/{}", day.jobs[1]), &patch).await.done();

    let plan = day.proposed().await;
    let taken = day.step(&plan, "take", &json!({})).await.done();

    let moved = of(&plan, day.jobs[1]);
    assert_eq!(moved["kind"], "moved", "{plan}");
    assert_eq!(taken["state"], "taken");
    assert!(same(&day.job(1).await["planned_start"], &moved["after"]["start"]));
}

#[tokio::test]
async fn what_has_begun_or_was_touched_is_not_given_back() {
    let day = Day::new("plan_begun", 2).await;
    let plan = day.proposed().await;
    day.step(&plan, "undo", &Value::Null).await.refused(409, "nothing-to-undo");
    day.step(&plan, "take", &json!({})).await.done();
    let job = day.job(1).await;
    let patch = json!({ "version": job["version"], "complaint": "Louder" });
    day.pia.patch(&format!("/api/jobs/{}", day.jobs[1]), &patch).await.done();

    let refused = day.step(&plan, "undo", &Value::Null).await.refused(409, "plan-begun");

    let says = refused["detail"].as_str().unwrap();
    assert!(says.starts_with(&format!("Job {} has begun or was changed", job["number"])), "{says}");
    assert_eq!(day.job(0).await["state"], "assigned");
}

#[tokio::test]
async fn asks_that_cannot_be_planned_say_what_would_be_right() {
    let day = Day::new("plan_bad", 1).await;
    for (ask, pointer) in [
        (json!({ "from": at(FROM), "until": at(FROM) }), "/until"),
        (json!({ "from": at(-48), "until": at(-24) }), "/until"),
        (json!({ "from": at(FROM), "until": at(FROM + 97) }), "/until"),
        (json!({ "from": at(24 * 70), "until": at(24 * 71) }), "/from"),
        (json!({ "from": at(FROM), "until": at(UNTIL), "seconds": 31 }), "/seconds"),
        (json!({ "from": at(FROM), "until": at(UNTIL), "seconds": 0 }), "/seconds"),
    ] {
        let refused = day.pia.post("/api/plans", &ask).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{ask}: {refused}");
    }
    let path = format!("/api/jobs/{}/pin", day.jobs[0]);
    day.pia.post(&path, &json!({ "pinned": true })).await.refused(409, "nothing-to-pin");
    let plan = day.proposed().await;
    let stranger = json!({ "jobs": [Uuid::nil()] });
    let refused = day.step(&plan, "take", &stranger).await.refused(422, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/jobs/0");
    assert_eq!(day.world.service.count("plan_taking").await, 0);

    day.step(&plan, "drop", &Value::Null).await.done();
    day.step(&plan, "take", &json!({})).await.refused(409, "plan-settled");
    day.step(&plan, "drop", &Value::Null).await.refused(409, "plan-settled");
}

#[tokio::test]
async fn known_ways_go_before_guesses_and_a_wrong_line_is_named() {
    let day = Day::new("plan_ways", 1).await;
    let site = day.world.site_id;
    let table = day.pia.get("/api/ways/table").await;
    assert!(table.text.starts_with("from,to,minutes,from is,to is\n"), "{}", table.text);
    assert!(table.text.contains(&format!("shop,{site},25,")), "{}", table.text);

    let known = format!("from,to,minutes\nshop,{site},7\n{site},SHOP,9\n");
    let ways = day.pia.patch("/api/ways", &json!({ "known_csv": known })).await.done();
    let plan = day.proposed().await;

    assert_eq!((&ways["known"], &ways["sites_without"]), (&json!(2), &json!(1)));
    assert_eq!(of(&plan, day.jobs[0])["after"]["drive_min"], 7);
    for (csv, says) in [
        ("to,from,minutes\n", "The first line must be"),
        ("from,to,minutes\nshop,nowhere,5\n", "Line 2: \"nowhere\" is no place"),
        ("from,to,minutes\nshop,shop,-1\n", "Line 2: \"-1\" is no number of minutes"),
        ("from,to,minutes\nshop,shop,1\nshop,shop,2\n", "Line 3 says again what line 2 says"),
    ] {
        let refused = day.pia.patch("/api/ways", &json!({ "known_csv": csv })).await;
        let refused = refused.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], "/known_csv");
        assert!(refused["errors"][0]["says"].as_str().unwrap().starts_with(says), "{refused}");
    }
    let stranger = format!("from,to,minutes\nshop,{},5\n", Uuid::nil());
    let refused = day.pia.patch("/api/ways", &json!({ "known_csv": stranger })).await;
    assert!(refused.refused(422, "invalid").to_string().contains("is no site of this shop"));
    for (bad, pointer) in [
        (json!({ "factor": 0.5 }), "/factor"),
        (json!({ "km_per_h": 300.0 }), "/km_per_h"),
        (json!({ "latitude": 44.0 }), "/longitude"),
        (json!({ "latitude": 91.0, "longitude": 0.0 }), "/latitude"),
    ] {
        let refused = day.pia.patch("/api/ways", &bad).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{bad}");
    }
    assert_eq!(
        day.pia.get("/api/ways").await.done()["known"],
        2,
        "what was refused changed nothing"
    );
    let out = day.pia.patch("/api/ways", &json!({ "known_csv": "" })).await.done();
    assert_eq!(out["known"], 0);
}

/// Midnight of a Saturday that begins in more than a day, in hours from the last midnight, and one
/// more Saturday of the same quarter.
fn saturdays() -> (i64, i64) {
    let today = midnight().date_naive();
    let saturday = |date: &NaiveDate| date.weekday() == Weekday::Sat;
    let quarter = |date: NaiveDate| (date.year(), date.month0() / 3);
    let next = today.iter_days().skip(2).find(saturday).expect("every week has one");
    let [week, back] = [7, -7].map(|days| next + TimeDelta::days(days));
    let other = if quarter(week) == quarter(next) { week } else { back };
    let hours = |date: NaiveDate| (date - today).num_hours();
    (hours(next), hours(other))
}

#[tokio::test]
async fn of_two_equals_whoever_has_had_more_of_the_quarter_gets_less_of_the_weekend() {
    let world = World::new("plan_fair").await;
    let [pia, bo, cleo] =
        [world.client("pia").await, world.client("bo").await, world.client("cleo").await];
    loosely(&world.client("dan").await, "warn").await;
    let (saturday, other) = saturdays();
    for person in [bo.id, cleo.id] {
        put(&pia, person, "on_call", saturday + 8, saturday + 18).await;
    }
    put(&pia, bo.id, "on_call", other + 8, other + 20).await;
    for _ in 0..2 {
        let new = json!({ "unit_id": world.unit_id, "complaint": "Hums", "urgency": "comfort",
            "expected_min": 60 });
        pia.post("/api/jobs", &new).await.done();
    }

    let ask = json!({ "from": at(saturday), "until": at(saturday + 24), "seconds": 1 });
    let plan = pia.post("/api/plans", &ask).await.done();

    let find = |id: Uuid| {
        let people = plan["people"].as_array().unwrap();
        people.iter().find(|one| one["id"] == id.to_string()).unwrap()
    };
    let (had, had_not) = (find(bo.id), find(cleo.id));
    assert!(had["work_min"][1].as_i64() < had_not["work_min"][1].as_i64(), "{plan}");
    let (before, after) = (&had_not["quarter"]["before"], &had_not["quarter"]["after"]);
    assert_eq!(before["has"]["weekend_h"], 10.0, "{before}");
    assert_eq!(
        (&before["has"]["call_outs"], &after["has"]["call_outs"]),
        (&json!(0.0), &json!(2.0))
    );
    assert!(after["share"]["call_outs"].as_f64() > before["share"]["call_outs"].as_f64());
    assert_eq!(before["says"], "10 h, 4 h above an even share of 6 h", "of five technicians");
    assert_eq!(had["quarter"]["after"]["has"]["call_outs"], 0.0);
    assert_eq!(had["quarter"]["before"]["has_h"], 22.0);
}

#[tokio::test]
async fn a_job_whose_slot_was_given_away_can_be_taken_at_the_next_free_time() {
    let day = Day::new("plan_free", 1).await;
    let plan = day.proposed().await;
    let after = of(&plan, day.jobs[0])["after"].clone();
    let other = json!({ "unit_id": day.world.unit_id, "complaint": "Hums", "urgency": "comfort" });
    let other = day.pia.post("/api/jobs", &other).await.done();
    let put = json!({ "person_id": after["person_id"], "version": other["version"],
        "planned_start": after["start"], "planned_end": after["end"],
        "because": "It was promised." });
    day.pia.post(&format!("/api/jobs/{}/assignment", id_in(&other)), &put).await.done();

    let only = json!({ "jobs": [day.jobs[0]] });
    let refused = day.step(&plan, "take", &only).await.refused(409, "assignment-overlap");
    let free = refused["overlap"]["free_start"].clone();
    let whole = day.step(&plan, "take", &json!({ "start": free, "jobs": [] })).await;
    assert_ne!(whole.status, 200, "no job, no start: {}", whole.text);
    let then = json!({ "jobs": [day.jobs[0]], "start": free });
    let taken = day.step(&plan, "take", &then).await.done();

    assert_eq!(taken["state"], "taken", "{taken}");
    let job = day.job(0).await;
    assert!(same(&job["planned_start"], &free), "{job}");
    assert_eq!(job["assigned_to"]["id"], after["person_id"]);
    day.step(&plan, "undo", &Value::Null).await.done();
    assert_eq!(day.job(0).await["state"], "open");
}
