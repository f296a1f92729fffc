//! The board in pages, days and single rows, and finding a customer as one types.
//!
//! Belongs here: what a screen asks of the board and what comes over the live stream of it. Does
//! not belong here: taking and giving out jobs.

use std::collections::BTreeSet;

use blackbox::client::{Client, id_in};
use blackbox::socket::Socket;
use serde_json::{Value, json};

use super::world::{CHEAP, World, ask, at_pins, pins, take_reading};

async fn call(world: &World, who: &Client, urgency: &str, more: Value) -> Value {
    let mut call = json!({ "unit_id": world.unit_id, "complaint": "Hums and trips",
        "urgency": urgency });
    for (name, value) in more.as_object().unwrap() {
        call[name] = value.clone();
    }
    who.post("/api/jobs", &call).await.done()
}

fn numbers(board: &Value) -> Vec<i64> {
    board["jobs"].as_array().unwrap().iter().map(|job| job["number"].as_i64().unwrap()).collect()
}

#[tokio::test]
async fn pages_have_every_job_once_in_the_order_of_the_telephone() {
    let world = World::new("board_pages").await;
    let pia = world.client("pia").await;
    let window = |hour: u32| {
        json!({ "window_start": format!("2027-01-09T{hour:02}:00:00Z"),
        "window_end": format!("2027-01-09T{:02}:00:00Z", hour + 1) })
    };
    call(&world, &pia, "comfort", json!({})).await;
    call(&world, &pia, "comfort", window(12)).await;
    call(&world, &pia, "water", json!({})).await;
    call(&world, &pia, "comfort", window(9)).await;
    let done = call(&world, &pia, "water", json!({})).await;
    call(&world, &pia, "no_heat_vulnerable", json!({})).await;
    let path = format!("/api/jobs/{}", done["id"].as_str().unwrap());
    pia.patch(&path, &json!({ "version": 1, "state": "cancelled" })).await.done();

    let mut seen = Vec::new();
    let mut matching = Vec::new();
    let mut path = "/api/board?limit=2".to_owned();
    loop {
        let page = pia.get(&path).await.done();
        seen.extend(numbers(&page));
        matching.push(page["matching"].clone());
        assert_eq!(page["counts"]["open"], 5);
        match page["next"].as_str() {
            Some(next) => path = format!("/api/board?limit=2&after={next}"),
            None => break,
        }
    }

    assert_eq!(seen, [6, 3, 4, 2, 1, 5]);
    assert_eq!(matching, [json!(6), Value::Null, Value::Null]);
    let counts = pia.get("/api/board?limit=0").await.done();
    assert_eq!(counts["jobs"], json!([]));
    assert_eq!(counts["counts"]["comfort"], 3);
    assert_eq!(counts["counts"]["not_given"], 5);
}

#[tokio::test]
async fn the_board_is_asked_by_person_class_day_and_words() {
    let world = World::new("board_asked").await;
    let (pia, ana) = (world.client("pia").await, world.client("ana").await);
    // Half an hour after midnight in Oslo is the evening before in Greenwich.
    let given = json!({ "assigned_to": ana.id, "planned_start": "2027-01-08T23:30:00Z",
        "planned_end": "2027-01-09T00:30:00Z" });
    call(&world, &pia, "comfort", given).await;
    call(&world, &pia, "water", json!({ "complaint": "Drips 100% into the hall" })).await;
    let promised = json!({ "window_start": "2027-01-09T09:00:00Z",
        "window_end": "2027-01-09T11:00:00Z" });
    call(&world, &pia, "food_storage", promised).await;
    let asked = async |who: &Client, query: &str| {
        let board = who.get(&format!("/api/board?{query}")).await.done();
        assert_eq!(board["matching"].as_i64().unwrap() as usize, numbers(&board).len(), "{query}");
        numbers(&board)
    };

    assert_eq!(asked(&pia, &format!("person={}", ana.id)).await, [1]);
    assert_eq!(asked(&ana, "person=me").await, [1]);
    assert_eq!(asked(&pia, "person=nobody").await, [2, 3]);
    assert_eq!(asked(&pia, "urgency=comfort,water").await, [2, 1]);
    assert_eq!(asked(&pia, "day=2027-01-09").await, [3, 1]);
    assert_eq!(asked(&pia, "day=2027-01-08").await, Vec::<i64>::new());
    assert_eq!(asked(&pia, "day=2027-01-09&urgency=comfort").await, [1]);
    assert_eq!(asked(&pia, "q=HALL+quill").await, [2]);
    assert_eq!(asked(&pia, "q=100%25").await, [2], "a percent sign is one");
    assert_eq!(asked(&pia, "q=kiln+row+0142").await, [2, 3, 1]);
    assert_eq!(asked(&pia, "q=nobody+here").await, Vec::<i64>::new());
    let zed = world.client("zed").await;
    assert_eq!(asked(&zed, "q=quill").await, Vec::<i64>::new(), "another shop's");
}

#[tokio::test]
async fn a_job_is_found_by_what_all_about_it_is_called_now() {
    let world = World::new("board_words").await;
    let pia = world.client("pia").await;
    let job = id_in(&call(&world, &pia, "comfort", json!({})).await);
    call(&world, &pia, "water", json!({ "complaint": "Drips" })).await;
    let found = async |q: &str| numbers(&pia.get(&format!("/api/board?q={q}")).await.done());
    for word in ["orsolya", "0142", "kiln", "fernwick", "yard", "ya", "1", "y"] {
        assert!(found(word).await.contains(&1), "{word}");
    }

    let changes = [
        (format!("/api/customers/{}", world.customer_id), json!({ "name": "Ines Vantongeren" })),
        (format!("/api/customers/{}", world.customer_id), json!({ "phone": "555 9931" })),
        (format!("/api/sites/{}", world.site_id), json!({ "address": "2 Weir", "town": "Ambry" })),
        (format!("/api/units/{}", world.unit_id), json!({ "label": "Ice maker" })),
        (format!("/api/jobs/{job}"), json!({ "complaint": "Zzz all night", "version": 1 })),
    ];
    for (path, change) in changes {
        pia.patch(&path, &change).await.done();
    }

    for word in ["orsolya", "0142", "kiln", "fernwick", "yard", "hums"] {
        assert_eq!(found(word).await, Vec::<i64>::new(), "{word}");
    }
    for words in ["vantong", "9931", "weir", "ambry", "ice", "IC", "vantong+ambry+maker"] {
        assert_eq!(found(words).await, [2, 1], "{words}");
    }
    assert_eq!(found("zz").await, [1]);
    assert_eq!(found("weir+drip").await, [2]);
}

/// Rounds in which all about a job is renamed at once while another job is taken.
const RENAMED: usize = 20;

#[tokio::test]
async fn no_job_keeps_a_name_that_was_changed_beside_it() {
    let world = World::new("board_renamed").await;
    let pia = world.client("pia").await;
    call(&world, &pia, "comfort", json!({})).await;

    for round in 0..RENAMED {
        let paths = [
            format!("/api/customers/{}", world.customer_id),
            format!("/api/sites/{}", world.site_id),
            format!("/api/units/{}", world.unit_id),
        ];
        let bodies = [
            json!({ "name": format!("Quill {round}") }),
            json!({ "town": format!("Fernwick {round}") }),
            json!({ "label": format!("Heat pump {round}") }),
        ];
        let (customer, site, unit, _) = tokio::join!(
            pia.patch(&paths[0], &bodies[0]),
            pia.patch(&paths[1], &bodies[1]),
            pia.patch(&paths[2], &bodies[2]),
            call(&world, &pia, "water", json!({})),
        );
        for answer in [customer, site, unit] {
            answer.done();
        }
    }

    let jobs = i64::try_from(RENAMED).unwrap() + 1;
    let right = "job_words JOIN job_words_now USING (job_id) WHERE job_words.words";
    assert_eq!(world.service.count(&format!("{right} = job_words_now.words")).await, jobs);
    assert_eq!(world.service.count(&format!("{right} <> job_words_now.words")).await, 0);
}

#[tokio::test]
async fn a_question_that_cannot_be_is_refused_in_words() {
    let world = World::new("board_wrong").await;
    let pia = world.client("pia").await;
    for wrong in [
        "day=yesterday",
        "person=somebody",
        "urgency=now",
        "after=here",
        "limit=1001",
        "limit=-1",
        "colour=blue",
    ] {
        let refused = pia.get(&format!("/api/board?{wrong}")).await.refused(400, "bad-parameter");
        assert!(refused["detail"].as_str().unwrap().len() > 20, "{wrong}: {refused}");
    }
    pia.get(&format!("/api/board?q={}", "x".repeat(81))).await.refused(422, "invalid");
    pia.get("/api/board/jobs?ids=17").await.refused(400, "bad-parameter");
    let many = vec![world.unit_id.to_string(); 201].join(",");
    pia.get(&format!("/api/board/jobs?ids={many}")).await.refused(400, "bad-parameter");
    assert_eq!(pia.get("/api/board/jobs?ids=,").await.done(), json!([]));
}

#[tokio::test]
async fn a_change_comes_with_the_row_that_the_board_would_give() {
    let world = World::new("board_row").await;
    let (pia, bo, ana) =
        (world.client("pia").await, world.client("bo").await, world.client("ana").await);
    let job = call(&world, &pia, "comfort", json!({ "required": ["electrical"] })).await;
    let id = id_in(&job);
    let mut socket = Socket::open(&bo).await;
    let row_of =
        async |who: &Client| who.get(&format!("/api/board/jobs?ids={id}")).await.done()[0].clone();

    let put = json!({ "person_id": ana.id, "version": 1,
        "planned_start": "2027-01-09T09:00:00Z", "planned_end": "2027-01-09T10:30:00Z" });
    pia.post(&format!("/api/jobs/{id}/assignment"), &put).await.done();
    let assigned = socket.until_type("changed").await;
    assert_eq!(assigned["topic"], "job");
    assert_eq!(assigned["row"], row_of(&bo).await);
    assert_eq!(assigned["row"]["planned_end"], "2027-01-09T10:30:00Z");

    take_reading(&ana, id, &at_pins("C", "S", Some(1.3))).await.done();
    let evidence = socket.until_type("changed").await;
    assert_eq!(
        (&evidence["topic"], &evidence["row"]["readings_count"]),
        (&json!("evidence"), &json!(1))
    );

    // A draft is its requester's alone, in the row as in the answer.
    let draft = json!({ "claim": { "component": "compressor", "part": "run_winding",
        "mode": "open" }, "estimated_cost_cents": CHEAP, "note": "", "submit": false });
    ana.post(&format!("/api/jobs/{id}/requests"), &draft).await.done();
    assert_eq!(row_of(&ana).await["request"]["state"], "draft");
    assert_eq!(row_of(&bo).await["request"], Value::Null);
    pia.patch(&format!("/api/jobs/{id}"), &json!({ "version": 2, "vulnerable": true }))
        .await
        .done();
    let changed = loop {
        let changed = socket.until_type("changed").await;
        if changed["row"]["vulnerable"] == true {
            break changed;
        }
    };
    assert_eq!(changed["row"], row_of(&bo).await);
    assert!(!changed.to_string().contains("run_winding"), "{changed}");
}

#[tokio::test]
async fn a_request_moves_the_row_for_everyone() {
    let world = World::new("board_request").await;
    let (bo, ana) = (world.client("bo").await, world.client("ana").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let mut socket = Socket::open(&bo).await;

    ask(&ana, job, CHEAP, "").await.done();

    let mut states = BTreeSet::new();
    while !states.contains("ready") {
        let changed = socket.until_type("changed").await;
        assert_eq!(changed["row"]["id"], json!(job), "{changed}");
        states.extend(changed["row"]["request"]["state"].as_str().map(str::to_owned));
    }
}

#[tokio::test]
async fn a_customer_is_found_by_a_piece_of_name_number_or_address() {
    let world = World::new("board_find").await;
    let pia = world.client("pia").await;
    for number in 0..13 {
        let new = json!({ "name": format!("Quillfeather {number:02}") });
        pia.post("/api/customers", &new).await.done();
    }
    let found = async |q: &str| {
        let finds = pia.get(&format!("/api/customers/search?q={q}")).await.done();
        let names = finds["customers"].as_array().unwrap().iter();
        let names: Vec<_> = names.map(|one| one["name"].as_str().unwrap().to_owned()).collect();
        (names, finds)
    };

    for q in
        ["orsolya", "QUILL+ors", "5550142", "555-0142", "(555)+01", "kiln+ro", "fernwick+quill"]
    {
        let (names, finds) = found(q).await;
        assert_eq!(names, ["Orsolya Quill"], "{q}");
        let site = &finds["customers"][0]["sites"][0];
        assert_eq!(site["id"], json!(world.site_id));
        assert_eq!(site["units"][0]["id"], json!(world.unit_id));
    }
    let (names, finds) = found("quill").await;
    assert_eq!((names.len(), &finds["more"]), (12, &json!(true)));
    assert!(names.iter().all(|name| name.starts_with("Quillfeather")), "{names:?}");
    assert_eq!(found("no_such%25").await.0, Vec::<String>::new());
    for wrong in ["q".to_owned(), "--".to_owned(), "x".repeat(81)] {
        let path = format!("/api/customers/search?q={wrong}");
        let refused = pia.get(&path).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], "/q", "{wrong}");
    }
    let zed = world.client("zed").await;
    let theirs = zed.get("/api/customers/search?q=orsolya").await.done();
    assert_eq!(theirs["customers"], json!([]));
}

#[tokio::test]
async fn every_change_is_told_in_words_with_names_and_the_shops_clock() {
    let world = World::new("board_history").await;
    let (pia, bo, fay) =
        (world.client("pia").await, world.client("bo").await, world.client("fay").await);
    let taken = json!({ "answers": { "no_heat_cool": "yes" }, "required": ["sealed_system"],
        "window_start": "2027-01-09T09:00:00Z", "window_end": "2027-01-09T13:00:00Z" });
    let mut body = taken;
    body["unit_id"] = json!(world.unit_id);
    body["complaint"] = json!("Hums and trips");
    let job = pia.post("/api/jobs", &body).await.done();
    let path = format!("/api/jobs/{}", job["id"].as_str().unwrap());
    let put = |who: &Client, version: i32| {
        json!({ "person_id": who.id, "version": version,
        "planned_start": "2027-01-09T10:00:00Z", "planned_end": "2027-01-09T11:30:00Z",
        "because": "They go together." })
    };
    let assignment = format!("{path}/assignment");
    pia.post(&assignment, &put(&bo, 1)).await.done();
    pia.post(&assignment, &put(&fay, 2)).await.done();
    let change = json!({ "version": 3, "urgency": "water", "urgency_because": "It drips now",
        "work": "repair", "complaint": "It drips." });
    pia.patch(&path, &change).await.done();
    let back = json!({ "person_id": null, "version": 4 });
    pia.post(&assignment, &back).await.done();

    let history = pia.get(&format!("{path}/history")).await.done();

    let says: Vec<Vec<String>> = history
        .as_array()
        .unwrap()
        .iter()
        // What its ladder did has nobody who did it.
        .filter(|event| !event["actor"].is_null())
        .map(|event| {
            assert_eq!(event["actor"]["name"], "Pia of Tern Street Refrigeration");
            serde_json::from_value(event["says"].clone()).unwrap()
        })
        .collect();
    insta::assert_json_snapshot!("told_history", says);
}
