//! Input that cannot be: refused with what is wrong, where, and what would be right.
//!
//! Belongs here: bad bodies, addresses and headers, and that nothing of them is kept. Does not
//! belong here: each of the engine's refusals, which its own tests have.

use blackbox::client::fresh;
use reqwest::Method;
use serde_json::{Value, json};

use super::world::{World, at_pins, pins};

/// The tables in which something half-saved could be left.
const TABLES: [&str; 9] = [
    "customer",
    "site",
    "unit",
    "job",
    "reading",
    "observation",
    "condemn_request",
    "record_entry",
    "live_event",
];

async fn counts(world: &World) -> Vec<i64> {
    let mut counts = Vec::new();
    for table in TABLES {
        counts.push(world.service.count(table).await);
    }
    counts
}

#[tokio::test]
async fn a_reading_that_cannot_be_is_refused_by_its_place_and_not_kept() {
    let world = World::new("bad_reading").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let path = format!("/api/jobs/{job}/readings");
    let before = counts(&world).await;
    let good = at_pins("C", "S", Some(1.3)).to_string();
    assert!(good.contains("1.3") && good.contains(r#""ohm""#), "{good}");

    let mut said = Vec::new();
    for (what, reading) in [
        ("unknown point", good.replace(r#""from":"C""#, r#""from":"Q7""#)),
        ("negative", good.replace("1.3", "-1.3")),
        ("not a number", good.replace("1.3", "NaN")),
        ("beyond all numbers", good.replace("1.3", "1e999")),
        ("a word", good.replace("1.3", r#""much""#)),
        ("another quantity's unit", good.replace(r#""ohm""#, r#""volt""#)),
        ("no unit at all", good.replace(r#""ohm""#, r#""furlong""#)),
        ("pins with the plug on", good.replace(r#"["plug"]"#, "[]")),
        ("unknown connector", good.replace(r#"["plug"]"#, r#"["plug", "hat"]"#)),
        ("energised ohms", good.replace(r#""off""#, r#""energised""#)),
        ("as hot as a star", good.replace("24", "5772")),
        ("an unknown field", good.replacen('{', r#"{"id":"r1","#, 1)),
        ("a field missing", good.replace(r#""power":"off","#, "")),
    ] {
        assert_ne!(reading, good, "{what}");
        let answer = ana.post_text(&path, format!(r#"{{"reading":{reading}}}"#)).await;
        assert!([400, 422].contains(&answer.status), "{what}: {} {}", answer.status, answer.text);
        let problem = answer.json();
        let errors = problem["errors"].as_array().unwrap_or_else(|| panic!("{what}: {problem}"));
        assert!(!errors.is_empty(), "{what}: {problem}");
        said.push(json!({ "what": what, "status": answer.status, "errors": errors }));
    }

    insta::assert_json_snapshot!("bad_readings", said);
    assert_eq!(counts(&world).await, before);
}

#[tokio::test]
async fn a_body_that_is_not_what_is_expected_is_refused_by_its_place() {
    let world = World::new("bad_body").await;
    let (ana, pia) = (world.client("ana").await, world.client("pia").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let before = counts(&world).await;

    let jobs = "/api/jobs";
    let requests = format!("/api/jobs/{job}/requests");
    let observations = format!("/api/jobs/{job}/observations");
    let units = format!("/api/sites/{}/units", world.site_id);
    let unit = world.unit_id;
    let mut said = Vec::new();
    for (who, path, body) in [
        (&pia, "/api/customers", r#""#.to_owned()),
        (&pia, "/api/customers", r#"{"name":"#.to_owned()),
        (&pia, "/api/customers", r#"[]"#.to_owned()),
        (&pia, "/api/customers", r#"{"name":""}"#.to_owned()),
        (&pia, "/api/customers", format!(r#"{{"name":"{}"}}"#, "x".repeat(10_000))),
        (&pia, "/api/customers", r#"{"name":"Ida","colour":"blue"}"#.to_owned()),
        (&pia, "/api/customers", r#"{"name":"Ida","name":"Eda"}"#.to_owned()),
        (&pia, "/api/customers", r#"{"name":"Ida"} {"name":"Eda"}"#.to_owned()),
        (&pia, "/api/customers", "{\"name\":\"Nul\\u0000l\"}".to_owned()),
        (&pia, jobs, r#"{"unit_id":"17","complaint":"Warm","urgency":"comfort"}"#.to_owned()),
        (&pia, jobs, format!(r#"{{"unit_id":"{unit}","complaint":"Warm","urgency":"now"}}"#)),
        (&pia, jobs, format!(
            r#"{{"unit_id":"{unit}","complaint":"Warm","urgency":"comfort","window_start":"2027-01-09T08:00:00Z"}}"#
        )),
        (&pia, jobs, format!(
            r#"{{"unit_id":"{unit}","complaint":"Warm","urgency":"comfort","window_start":"2027-01-09T08:00:00Z","window_end":"2027-01-09T07:00:00Z"}}"#
        )),
        (&pia, units.as_str(), r#"{"label":"Roof","circuit":"no-such"}"#.to_owned()),
        (&pia, units.as_str(), r#"{"label":"Roof","circuit":"compressor-3ph","specs":{"hat":{"value":1,"unit":"ohm"}}}"#.to_owned()),
        (&ana, requests.as_str(), r#"{"claim":{"component":"hat"},"estimated_cost_cents":1,"submit":true}"#.to_owned()),
        (&ana, requests.as_str(), r#"{"claim":{"component":"compressor"},"estimated_cost_cents":-1,"submit":true}"#.to_owned()),
        (&ana, requests.as_str(), r#"{"claim":{"component":"compressor"},"estimated_cost_cents":1.5,"submit":true}"#.to_owned()),
        (&ana, requests.as_str(), r#"{"claim":{"component":"compressor","part":"lead_c"},"estimated_cost_cents":1,"submit":true}"#.to_owned()),
        (&ana, observations.as_str(), r#"{"sign":"smells_of_almonds","present":true}"#.to_owned()),
    ] {
        let answer = who.post_text(path, body.clone()).await;
        let shown: String = body.chars().take(120).collect();
        assert!([400, 422].contains(&answer.status), "{shown}: {} {}", answer.status, answer.text);
        let problem = answer.json();
        let body = shown.replace(&unit.to_string(), "(the unit)");
        said.push(json!({ "body": body, "status": answer.status, "errors": problem["errors"] }));
    }

    insta::assert_json_snapshot!("bad_bodies", said);
    assert_eq!(counts(&world).await, before);
}

#[tokio::test]
async fn a_body_of_a_megabyte_is_refused_before_it_is_read() {
    let world = World::new("bad_size").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let before = counts(&world).await;
    let long = |bytes: usize| format!(r#"{{"name":"{}"}}"#, "x".repeat(bytes));

    for path in
        ["/api/customers".to_owned(), "/api/check".to_owned(), format!("/api/jobs/{job}/thread")]
    {
        let problem = ana.post_text(&path, long(1024 * 1024)).await.refused(413, "too-large");
        assert!(problem["detail"].as_str().unwrap().contains("256 KiB"), "{problem}");
    }
    let mut nobody = blackbox::client::Client::anonymous(&world.service);
    let body = json!({ "email": "x".repeat(1024 * 1024), "password": "x" });
    nobody.sign_in(&body).await.refused(413, "too-large");
    // Whoever is not signed in is told that first.
    let answer = nobody.post_text("/api/customers", long(1024 * 1024)).await;
    answer.refused(401, "not-signed-in");
    // Just under the limit it is read, and refused for what is in it.
    let answer = ana.post_text("/api/customers", long(250 * 1024)).await;
    answer.refused(422, "invalid");

    assert_eq!(counts(&world).await, before);
}

#[tokio::test]
async fn only_json_is_read() {
    let world = World::new("bad_type").await;
    let pia = world.client("pia").await;
    let before = counts(&world).await;
    let send = async |media_type: Option<&str>| {
        let mut request = pia.request(Method::POST, "/api/customers").body(r#"{"name":"Ida"}"#);
        request = request.header("Idempotency-Key", fresh().to_string());
        if let Some(media_type) = media_type {
            request = request.header("Content-Type", media_type);
        }
        pia.send(request).await
    };

    // What a form on another site's page could send.
    for media_type in
        [None, Some("text/plain"), Some("application/x-www-form-urlencoded"), Some("x")]
    {
        let problem = send(media_type).await.refused(415, "not-json");
        assert!(problem["detail"].as_str().unwrap().contains("application/json"), "{problem}");
    }
    assert_eq!(counts(&world).await, before);
    send(Some("application/json; charset=utf-8")).await.done();
}

#[tokio::test]
async fn an_address_that_is_not_right_is_refused() {
    let world = World::new("bad_address").await;
    let bo = world.client("bo").await;

    for path in [
        "/api/jobs/17",
        "/api/requests/x",
        "/api/units/%00",
        "/api/jobs/17/evidence",
        "/api/customers/-1",
    ] {
        bo.get(path).await.refused(400, "bad-parameter");
    }
    let nil = uuid::Uuid::nil();
    for path in ["jobs", "requests", "units", "customers"] {
        bo.get(&format!("/api/{path}/{nil}")).await.refused(404, "not-found");
    }
    bo.get("/api/circuits/no-such").await.refused(404, "not-found");
    bo.get("/api/nowhere").await.refused(404, "not-found");
    bo.get("/api/requests?state=eaten").await.refused(400, "bad-parameter");
    bo.get("/api/requests?mine=perhaps").await.refused(400, "bad-parameter");
    let job = world.job(&bo).await;
    bo.get(&format!("/api/jobs/{job}/thread?after=x")).await.refused(400, "bad-parameter");

    let answer = bo.write(Method::PUT, "/api/customers", fresh(), &json!({})).await;
    answer.refused(405, "method");
    assert_eq!(answer.headers["allow"], "GET, POST");
}

#[tokio::test]
async fn a_case_that_cannot_be_judged_is_refused_as_on_the_command_line() {
    let world = World::new("bad_case").await;
    let bo = world.client("bo").await;

    let mut said = Vec::new();
    for case in [
        json!({ "format": 2, "circuit": "compressor-1ph-plug" }),
        json!({ "format": 1, "circuit": "no-such" }),
        json!({ "format": 1, "circuit": "own", "circuit_text": "format = 1\nname = \"own\"\n" }),
        json!({ "format": 1, "circuit": "compressor-1ph-plug", "claim": { "component": "hat" } }),
    ] {
        let answer = bo.post("/api/check", &case).await;
        let problem = answer.refused(422, "invalid");
        said.push(problem["errors"].clone());
    }

    insta::assert_json_snapshot!("bad_cases", said);
}

#[tokio::test]
async fn each_kind_of_problem_has_a_page_for_people() {
    let world = World::new("bad_pages").await;
    let bo = world.client("bo").await;

    let refused = bo.get("/api/jobs/17").await.refused(400, "bad-parameter");
    let page = bo.get(refused["type"].as_str().unwrap()).await;

    assert_eq!(page.status, 200);
    assert!(page.headers["content-type"].to_str().unwrap().starts_with("text/html"));
    assert!(page.text.contains(refused["title"].as_str().unwrap()), "{}", page.text);
    assert_ne!(Value::Null, refused["detail"]);
}
