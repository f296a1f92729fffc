//! Rules from outside: saved, refused, tried, fired once, and what firing does.
//!
//! Belongs here: what somebody sees of a rule, and what its firing sets going. Does not belong
//! here: the language's own checks (roster's tests).

use blackbox::client::{Client, id_in};
use blackbox::service::{Server, Settings};
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{COSTLY, World, approve, seen};

/// The next look of any process finds every rule due.
const DUE: &str = "UPDATE rule SET looked_at = now() - interval '1 hour'";

/// Rules that fire in the race of two processes.
const RACED: usize = 12;

fn rule(name: &str, condition: &str, actions: &Value, state: &str) -> Value {
    json!({ "name": name, "condition": condition, "actions": actions, "rearm_min": 60,
        "state": state })
}

fn neighbour() -> Value {
    json!([{ "do": "ask_neighbour", "name": "Northgate", "email": "crew@northgate.example",
        "message": "Can you take two calls tonight?" }])
}

async fn comfort_job(world: &World, pia: &Client) -> Uuid {
    let new = json!({ "unit_id": world.unit_id, "complaint": "Rattles at night",
        "urgency": "comfort" });
    id_in(&pia.post("/api/jobs", &new).await.done())
}

#[tokio::test]
async fn a_new_shop_gets_the_rules_that_ship_tried_and_explained() {
    let world = World::new("rules_ship").await;
    let ana = world.client("ana").await;

    let list = ana.get("/api/rules").await.done();

    let rules = list["rules"].as_array().unwrap();
    assert!((5..=7).contains(&rules.len()));
    for rule in rules {
        assert_eq!(rule["state"], "tried", "{rule}");
        assert!(rule["why"].as_str().unwrap().len() > 60, "{rule}");
        assert!(rule["by"].is_null(), "{rule}");
    }
    let names: Vec<&str> =
        list["variables"].as_array().unwrap().iter().map(|v| v["name"].as_str().unwrap()).collect();
    assert!(names.contains(&"on_call_left") && names.contains(&"chance_late"), "{names:?}");
}

#[tokio::test]
async fn what_is_wrong_is_told_with_its_place_and_a_suggestion() {
    let world = World::new("rules_wrong").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);

    let body = json!({ "condition": "weekend &&\n on_cal_left == 0" });
    let checked = ana.post("/api/rules/check", &body).await.done();
    assert_eq!(
        checked["faults"],
        json!([{ "line": 2, "column": 2, "suggestion": "on_call_left",
            "says": "on_cal_left is not known; did you mean on_call_left?" }])
    );
    let deep = json!({ "condition": "(".repeat(300) });
    let checked = ana.post("/api/rules/check", &deep).await.done();
    assert!(checked["faults"][0]["says"].as_str().unwrap().contains("brackets"), "{checked}");

    let mut wrong = rule(
        "",
        "hour",
        &json!([{ "do": "defer_comfort", "holdover": "",
        "at_most": 0 }, { "do": "delegate_approvals", "person_id": Uuid::nil(),
        "up_to_cents": 5, "hours": 500 }]),
        "on",
    );
    wrong["rearm_min"] = json!(1);
    let refused = dan.post("/api/rules", &wrong).await.refused(422, "invalid");
    let mut pointers: Vec<&str> = refused["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| e["pointer"].as_str().unwrap())
        .collect();
    pointers.sort_unstable();
    assert_eq!(
        pointers,
        [
            "/actions/0/at_most",
            "/actions/0/holdover",
            "/actions/1/hours",
            "/actions/1/person_id",
            "/condition",
            "/name",
            "/rearm_min"
        ]
    );
    let unknown = rule("Odd", "weekend", &json!([{ "do": "close_the_shop" }]), "on");
    let refused = dan.post("/api/rules", &unknown).await;
    assert!((400..=422).contains(&refused.status), "{}", refused.text);
    ana.post("/api/rules", &rule("Mine", "weekend", &neighbour(), "off"))
        .await
        .refused(403, "not-allowed");
}

#[tokio::test]
async fn every_saving_is_a_version_and_an_old_one_is_not_saved_over() {
    let world = World::new("rules_versions").await;
    let dan = world.client("dan").await;
    let first = rule("Cold", "outdoor_f < 10", &neighbour(), "off");
    let added = dan.post("/api/rules", &first).await.done();
    let path = format!("/api/rules/{}", id_in(&added));

    let mut second = first.clone();
    second["condition"] = json!("outdoor_f < 0");
    second["reason"] = json!("Ten is not cold.");
    let change = json!({ "version": 1, "rule": second });
    assert_eq!(dan.post(&format!("{path}/versions"), &change).await.done()["version"], 2);
    dan.post(&format!("{path}/versions"), &change).await.refused(409, "changed-meanwhile");

    let story = dan.get(&path).await.done();
    let conditions: Vec<&str> = story["versions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|version| version["condition"].as_str().unwrap())
        .collect();
    assert_eq!(conditions, ["outdoor_f < 0", "outdoor_f < 10"]);
    assert_eq!(story["versions"][0]["by"]["id"], json!(dan.id));
    assert_eq!(world.service.count("record_entry WHERE kind = 'rule_saved'").await, 2);
    let rewritten = world.service.rows("SELECT count(*) AS n FROM rule_version").await;
    assert!(rewritten[0]["n"].as_i64().unwrap() >= 9);
    // Nobody of another shop sees it.
    let zed = world.client("zed").await;
    zed.get(&path).await.refused(404, "not-found");
}

#[tokio::test]
async fn a_rule_fires_once_though_two_processes_look_and_says_with_which_values() {
    let settings = Settings { token_secret: Some("one for both".into()), ..Settings::default() };
    let world = World::with("rules_race", settings.clone()).await;
    let url = world.service.database_url();
    let second = Server::start(url, &settings).await;
    let (dan, pia) = (world.client("dan").await, world.client("pia").await);
    for number in 0..RACED {
        let new = rule(&format!("Raced {number}"), "open_jobs.comfort > 0", &neighbour(), "on");
        dan.post("/api/rules", &new).await.done();
    }
    let noted = rule("Only noted", "open_jobs.comfort > 0", &neighbour(), "tried");
    dan.post("/api/rules", &noted).await.done();

    comfort_job(&world, &pia).await;
    let raced = "SELECT rule_firing.* FROM rule_firing JOIN rule_version USING (rule_id, version) \
        WHERE name LIKE 'Raced %' OR name = 'Only noted'";
    for _ in 0..3 {
        world.service.execute(DUE).await;
        let looked = "SELECT id FROM rule WHERE looked_at > now() - interval '30 minutes'";
        world.service.rows_once(looked, RACED + 1).await;
    }
    drop(second);

    let firings = world.service.rows(raced).await;
    assert_eq!(firings.len(), RACED + 1);
    let mails = "outbox WHERE payload ->> 'template' = 'neighbour_asked'";
    assert_eq!(world.service.count(mails).await, i64::try_from(RACED).unwrap());
    let record =
        world.service.rows("SELECT body FROM record_entry WHERE kind = 'rule_fired'").await;
    assert_eq!(record.len(), RACED);
    let entry = &record[0]["body"];
    assert_eq!(entry["values"], json!({ "open_jobs.comfort": 1 }));
    assert!(entry["all_values"]["on_call_left"].is_number(), "{entry}");
    assert_eq!(entry["outcomes"][0]["says"], "Northgate was asked by mail.");
    let noted = firings.iter().find(|firing| firing["live"] == false).unwrap();
    assert_eq!(noted["outcomes"][0]["done"], false);
    assert!(world.service.run(&["verify-record"]).await.status.success());
    // Whatever the service does, the database refuses a second one within the time.
    let again = world
        .service
        .rows("SELECT count(DISTINCT rule_id) = count(*) AS once FROM rule_firing")
        .await;
    assert_eq!(again[0]["once"], true);
}

#[tokio::test]
async fn whoever_is_named_may_approve_below_the_amount_while_the_gate_asks_the_same() {
    let world = World::new("rules_delegate").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (pia, dan) = (world.client("pia").await, world.client("dan").await);
    let (_, request) = world.awaiting(&ana, &bo).await;
    let digest = seen(&dan, request).await["digest"].clone();
    let early = json!({ "digest": digest, "amount_cents": COSTLY, "reason": "Worth it." });
    let path = format!("/api/requests/{request}/approve");
    assert_eq!(pia.post(&path, &early).await.status, 403);

    for delegate in [&pia, &ana] {
        let actions = json!([{ "do": "delegate_approvals", "person_id": delegate.id,
            "up_to_cents": COSTLY + 1, "hours": 2 }]);
        let name = format!("Delegate {}", delegate.id);
        dan.post("/api/rules", &rule(&name, "approvals_waiting > 0", &actions, "on")).await.done();
    }
    world.service.execute(DUE).await;
    world.service.rows_once("SELECT id FROM approval_delegate", 2).await;

    // Neither the requester nor the reader answers for it, delegated or not.
    approve(&ana, request).await.refused(403, "not-independent");
    let too_much = json!({ "digest": digest, "amount_cents": COSTLY + 1, "reason": "Worth it." });
    pia.post(&path, &too_much).await.refused(403, "not-allowed");
    let approved = approve(&pia, request).await.done();
    assert_eq!(approved["state"], "approved");
}

#[tokio::test]
async fn a_rule_is_tried_on_last_weekend_and_on_drawn_ones_and_repeats_with_its_seed() {
    let world = World::new("rules_rehearse").await;
    let (ana, pia) = (world.client("ana").await, world.client("pia").await);
    let mut body = json!({ "condition": "open_jobs.comfort > 0", "rearm_min": 60,
        "actions": [{ "do": "defer_comfort", "holdover": "Keep it off.", "at_most": 5 }],
        "over": "simulated", "seed": 3 });
    ana.post("/api/rules/rehearse", &body).await.refused(403, "not-allowed");

    let drawn = pia.post("/api/rules/rehearse", &body).await.done();

    assert!(drawn["says"].as_str().unwrap().starts_with("Would "), "{drawn}");
    assert!(drawn["on_average"].as_str().unwrap().contains("20 drawn weekends"), "{drawn}");
    let again = pia.post("/api/rules/rehearse", &body).await.done();
    assert_eq!((&drawn["says"], &drawn["on_average"]), (&again["says"], &again["on_average"]));
    body["over"] = json!("last_weekend");
    let was = pia.post("/api/rules/rehearse", &body).await.done();
    assert_eq!(
        was["says"],
        "Would not have fired. 0 calls came; the longest urgent wait was 0 min."
    );
    let said = |answer: &Value| answer["actions"][0].clone();
    assert_eq!(said(&was)["played"], true);

    // A second read that waited two hours on Saturday.
    let (_, request) = world.ready(&ana, 90_000).await;
    let start = was["start"].as_str().unwrap();
    world
        .service
        .execute(&format!(
            "INSERT INTO ladder (id, shop_id, kind, subject_kind, subject_id, started_at, \
                 stopped_at, stopped_why) \
             SELECT gen_random_uuid(), shop_id, 'second_read', 'request', id, \
                 timestamptz '{start}' + interval '20 hours', \
                 timestamptz '{start}' + interval '22 hours', 'taken' \
             FROM condemn_request WHERE id = '{request}'"
        ))
        .await;
    body["condition"] = json!("read_waiting_min >= 30");
    body["actions"] = json!([{ "do": "widen_readers" }, { "do": "offer_remote_read" }]);
    let read = pia.post("/api/rules/rehearse", &body).await.done();
    assert_eq!(
        (&read["without"]["reads"], &read["without"]["longest_read_min"]),
        (&json!(1), &json!(120.0)),
        "{read}"
    );
    let with = read["with"]["longest_read_min"].as_f64().unwrap();
    assert!((30.0..60.0).contains(&with), "{with}: seen by the rule at 30");
    assert!(read["says"].as_str().unwrap().contains("a second read"), "{read}");
    assert!(said(&read)["says"].as_str().unwrap().starts_with("Played on 1 second read"));
    assert_eq!(read["actions"][1]["played"], false);
    // A drawn weekend has none.
    body["over"] = json!("simulated");
    let drawn = pia.post("/api/rules/rehearse", &body).await.done();
    assert_eq!((&drawn["with"]["reads"], &said(&drawn)["played"]), (&json!(0), &json!(false)));
    body["condition"] = json!("open_jobs.comfrt > 0");
    let refused = pia.post("/api/rules/rehearse", &body).await.refused(422, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/condition");
    assert!(
        refused["errors"][0]["says"].as_str().unwrap().contains("line 1")
            || refused["errors"][0]["says"].as_str().unwrap().contains("Line 1, column 1"),
        "{refused}"
    );
    assert_eq!(world.service.count("rule_firing WHERE live").await, 0);
}

/// Open every day, with a rest rule that refuses nobody.
async fn open_daily(dan: &Client) {
    let day = json!([{ "from_min": 480, "to_min": 1020 }]);
    let calendar = json!({ "week": [day, day, day, day, day, day, day], "rest": {
        "rest_min": 660, "duty_max_min": 780, "nights_on_call_max": 31, "on_break": "warn" } });
    let put = reqwest::Method::PUT;
    dan.write(put, "/api/calendar", blackbox::client::fresh(), &calendar).await.done();
}

#[tokio::test]
async fn a_rule_calls_somebody_out_opens_the_second_rota_and_puts_comfort_off() {
    let world = World::new("rules_act").await;
    let (dan, pia) = (world.client("dan").await, world.client("pia").await);
    let (bo, cleo) = (world.client("bo").await, world.client("cleo").await);
    let fay = world.client("fay").await;
    open_daily(&dan).await;
    for (who, kind) in [(&bo, "on_call"), (&cleo, "on_call"), (&fay, "second")] {
        super::rota::put(&pia, who.id, kind, -2, 46).await;
    }
    for (name, condition, action) in [
        ("Out", "urgent_unassigned > 0 && on_call_left > 0", json!({ "do": "call_out_next" })),
        ("Second", "urgent_unassigned > 0 && !second_open", json!({ "do": "open_second_rota" })),
        (
            "Comfort",
            "open_jobs.comfort > 0",
            json!({ "do": "defer_comfort", "holdover": "Keep it off.", "at_most": 5 }),
        ),
    ] {
        dan.post("/api/rules", &rule(name, condition, &json!([action]), "on")).await.done();
    }
    let comfort = comfort_job(&world, &pia).await;
    let urgent = json!({ "unit_id": world.unit_id, "complaint": "No heat at all",
        "urgency": "no_heat_cool" });
    pia.post("/api/jobs", &urgent).await.done();

    world.service.execute(DUE).await;
    let fired = "SELECT name, outcomes, vals FROM rule_firing \
        JOIN rule_version USING (rule_id, version) WHERE live ORDER BY name";
    let fired = world.service.rows_once(fired, 3).await;

    for firing in &fired {
        assert_eq!(firing["outcomes"][0]["done"], true, "{firing}");
    }
    let says = |at: usize| fired[at]["outcomes"][0]["says"].as_str().unwrap().to_owned();
    // Without an address the customer is to be called, and the firing says so.
    assert!(says(0).contains("1 comfort call was put off"), "{}", says(0));
    assert!(says(0).contains("to be called: job"), "{}", says(0));
    assert!(says(1).starts_with("Cleo") && says(1).contains("was called out"), "{}", says(1));
    assert_eq!(fired[1]["vals"]["on_call_left"], 1);
    assert_eq!(says(2), "The second rota was opened; 1 on it were told.");
    let held = pia.get(&format!("/api/jobs/{comfort}/holdover")).await.done();
    assert!(held.to_string().contains("Keep it off."), "{held}");
    for (template, who) in [("called_out", &cleo), ("second_rota_open", &fay)] {
        let mails = format!(
            "outbox WHERE payload ->> 'template' = '{template}' \
             AND payload ->> 'to_person' = '{}'",
            who.id
        );
        assert_eq!(world.service.count(&mails).await, 1, "{template}");
    }
    // Bo comes anyway, so nobody is left; and what is open is not opened again.
    world.service.execute(DUE).await;
    let looked = "SELECT id FROM rule WHERE looked_at > now() - interval '30 minutes'";
    world.service.rows_once(looked, 10).await;
    assert_eq!(world.service.count("call_out").await, 1);
    assert_eq!(world.service.count("second_opening").await, 1);
}
