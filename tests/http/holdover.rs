//! Jobs that wait for a working day, and customers who say that it got worse.
//!
//! Belongs here: deferring, being told, coming back, the customer's link. Does not belong here:
//! the class that answers make (roster's tests).

use std::fs;

use blackbox::client::{Client, id_in};
use blackbox::service::Settings;
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::World;

async fn job(world: &World, urgency: &str) -> Uuid {
    let pia = world.client("pia").await;
    let new = json!({ "unit_id": world.unit_id, "complaint": "Lukewarm", "urgency": urgency });
    id_in(&pia.post("/api/jobs", &new).await.done())
}

/// Gives the world's customer an address for mail.
async fn with_mail(world: &World) {
    let sql = format!(
        "UPDATE customer SET email = 'orsolya@home.example' WHERE id = '{}'",
        world.customer_id
    );
    world.service.execute(&sql).await;
    world.service.execute("UPDATE shop SET phone = '555 0100'").await;
}

async fn defer(who: &Client, job: Uuid, more: &Value) -> blackbox::client::Answer {
    let version = who.get(&format!("/api/jobs/{job}")).await.done()["version"].clone();
    let mut body = json!({ "version": version, "measures": ["auxiliary_heat"],
        "checked": ["told", "warm", "alarm", "frost"] });
    body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    who.post(&format!("/api/jobs/{job}/holdover"), &body).await
}

/// The token in the mail that the customer got.
async fn token_of(world: &World) -> String {
    let sql = "SELECT body_text FROM mail WHERE template = 'holdover_told' ORDER BY sent_at";
    let mails = world.service.rows_once(sql, 1).await;
    let text = mails.last().unwrap()["body_text"].as_str().unwrap().to_owned();
    let (_, token) = text.split_once("/worse#").unwrap_or_else(|| panic!("no link: {text}"));
    token.split_whitespace().next().unwrap().to_owned()
}

fn worse(token: &str, yes: &[&str]) -> Value {
    let mut body = json!({ "token": token, "danger": "no", "none_at_all": "no",
        "vulnerable": "no", "water": "no", "food": "no" });
    for answer in yes {
        body[*answer] = json!("yes");
    }
    body
}

#[tokio::test]
async fn a_deferred_job_tells_the_customer_and_comes_back_by_itself() {
    let file = std::env::temp_dir().join(format!("clock-holdover-{}", std::process::id()));
    fs::write(&file, "0").unwrap();
    let settings = Settings { clock_file: Some(file.clone()), ..Settings::default() };
    let world = World::with("holdover_back", settings).await;
    with_mail(&world).await;
    let pia = world.client("pia").await;
    let job = job(&world, "no_heat_cool").await;
    let done = defer(&pia, job, &json!({})).await.done();
    assert_eq!(done["told"], "mail");
    let standing = pia.get("/api/standing").await.done();
    assert_eq!(standing["deferred"][0]["job_id"], job.to_string());
    let told = "SELECT body_text FROM mail WHERE template = 'holdover_told'";
    let mail = world.service.rows_once(told, 1).await;
    let text = mail[0]["body_text"].as_str().unwrap();
    assert!(text.contains("The auxiliary heat is on.") && text.contains("call 555 0100"), "{text}");
    assert!(!text.contains("Orsolya"), "nothing of the customer: {text}");

    // Five days later it is a working day's morning at the latest.
    fs::write(&file, (5 * 24 * 60 * 60_000_i64).to_string()).unwrap();
    world.service.rows_once("SELECT 1 FROM holdover WHERE ended_why = 'returned'", 1).await;
    let pia = world.client("pia").await;
    let standing = pia.get("/api/standing").await.done();
    assert_eq!(standing["deferred"], json!([]));
    let history = pia.get(&format!("/api/jobs/{job}/history")).await.done();
    assert!(history.to_string().contains("job_returned"));
    fs::remove_file(&file).unwrap();
}

#[tokio::test]
async fn it_got_worse_reopens_the_job_once_however_often_it_is_pressed() {
    let world = World::new("holdover_worse").await;
    with_mail(&world).await;
    let (pia, bo) = (world.client("pia").await, world.client("bo").await);
    let job = world.job(&bo).await;
    defer(&bo, job, &json!({ "note": "Call before you come" })).await.done();
    let token = token_of(&world).await;
    let out = Client::anonymous(&world.service);
    let shown = out.post("/api/worse/look", &json!({ "token": token })).await.done();
    assert_eq!(shown["standing"], "open");
    let mut keys: Vec<&String> = shown.as_object().unwrap().keys().collect();
    keys.sort();
    assert_eq!(
        keys,
        ["danger_says", "job_number", "shop_name", "shop_phone", "standing", "until"],
        "nothing of the customer"
    );

    let body = worse(&token, &["none_at_all", "vulnerable"]);
    let (one, other) = tokio::join!(out.post("/api/worse", &body), out.post("/api/worse", &body));
    assert_eq!(
        (&one.done()["standing"], &other.done()["standing"]),
        (&json!("told"), &json!("told"))
    );
    assert_eq!(out.post("/api/worse", &body).await.done()["standing"], "told");

    let now = pia.get(&format!("/api/jobs/{job}")).await.done();
    assert_eq!(
        (now["urgency"].as_str(), now["state"].as_str()),
        (Some("no_heat_vulnerable"), Some("open"))
    );
    assert_eq!(world.service.count("record_entry WHERE kind = 'job_worse'").await, 1);
    let told = "outbox WHERE payload ->> 'template' = 'job_worse'";
    assert_eq!(world.service.count(told).await, 2, "Pia, and Bo who had it");
    let ladder = pia.get(&format!("/api/jobs/{job}/ladder")).await.done();
    assert!(ladder["stopped_at"].is_null() && ladder["started_at"].is_string(), "{ladder}");
    let record = world.service.rows("SELECT body FROM record_entry").await;
    assert!(!json!(record).to_string().contains("Call before you come"));
}

#[tokio::test]
async fn somebody_who_does_not_know_is_served_as_if_they_had_said_yes() {
    let world = World::new("holdover_unsure").await;
    with_mail(&world).await;
    let (pia, bo) = (world.client("pia").await, world.client("bo").await);
    let job = world.job(&bo).await;
    defer(&bo, job, &json!({})).await.done();
    let token = token_of(&world).await;
    let out = Client::anonymous(&world.service);
    let mut body = worse(&token, &["none_at_all"]);

    // A word that is none of the three changes nothing.
    body["vulnerable"] = json!("perhaps");
    out.post("/api/worse", &body).await.refused(400, "bad-json");
    assert_eq!(pia.get(&format!("/api/jobs/{job}")).await.done()["urgency"], "no_heat_cool");

    body["vulnerable"] = json!("unsure");
    assert_eq!(out.post("/api/worse", &body).await.done()["standing"], "told");
    let now = pia.get(&format!("/api/jobs/{job}")).await.done();
    assert_eq!(now["urgency"], "no_heat_vulnerable");
    let history = pia.get(&format!("/api/jobs/{job}/history")).await.done();
    assert!(history.to_string().contains("Not sure counts as yes."), "{history}");
    // It is kept as it was said.
    let kept = world.service.rows("SELECT answers FROM holdover").await;
    let answers = &kept[0]["answers"]["answers"];
    assert_eq!((&answers["vulnerable"], &answers["water"]), (&json!("unsure"), &json!("no")));
}

#[tokio::test]
async fn without_an_address_it_says_what_to_read_out() {
    let world = World::new("holdover_phone").await;
    let pia = world.client("pia").await;
    let job = job(&world, "comfort").await;
    let body = json!({ "measures": [], "checked": [] });
    let done = defer(&pia, job, &body).await.done();
    assert_eq!(done["told"], "telephone");
    let words = done["read_out"].as_str().unwrap();
    assert!(words.contains("We come on") && words.contains("call the shop"), "{words}");
    let seen = pia.get(&format!("/api/jobs/{job}/holdover")).await.done();
    assert_eq!(seen["read_out"], done["read_out"]);
    assert_eq!(world.service.count("outbox").await, 0);
}

#[tokio::test]
async fn the_most_urgent_wait_only_with_a_managers_reason_and_every_question_answered() {
    let world = World::new("holdover_refused").await;
    let (pia, dan) = (world.client("pia").await, world.client("dan").await);
    let wet = job(&world, "water").await;
    let water = json!({ "measures": ["water_shut_off"], "checked": ["told", "stopped"] });
    defer(&pia, wet, &water).await.refused(403, "not-allowed");
    let refused = defer(&dan, wet, &water).await.refused(422, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/reason");
    let mut reasoned = water.clone();
    reasoned["reason"] = json!("The valve is shut and the customer is away");
    reasoned["checked"] = json!(["told"]);
    let refused = defer(&dan, wet, &reasoned).await.refused(422, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/checked");
    reasoned["checked"] = json!(["told", "stopped"]);
    defer(&dan, wet, &reasoned).await.done();
    let stopped = dan.get(&format!("/api/jobs/{wet}/ladder")).await.done();
    assert_eq!(stopped["stopped_why"], "it waits for a working day");

    let cold = job(&world, "no_heat_cool").await;
    for (more, pointer) in [
        (json!({ "until": "2020-01-01T00:00:00Z" }), "/until"),
        (json!({ "until": "2090-01-01T00:00:00Z" }), "/until"),
        (json!({ "measures": [] }), "/measures"),
        (json!({ "measures": ["prayer"] }), "/measures/0"),
    ] {
        let refused = defer(&pia, cold, &more).await.refused(422, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{refused}");
    }
    let ended = pia.request(reqwest::Method::DELETE, &format!("/api/jobs/{cold}/holdover"));
    let key = blackbox::client::fresh().to_string();
    pia.send(ended.header("Idempotency-Key", key)).await.refused(409, "not-deferred");
}

#[tokio::test]
async fn a_link_that_is_none_or_has_done_its_work_shows_nothing() {
    let world = World::new("holdover_link").await;
    with_mail(&world).await;
    let pia = world.client("pia").await;
    let job = job(&world, "comfort").await;
    defer(&pia, job, &json!({})).await.done();
    let token = token_of(&world).await;
    let out = Client::anonymous(&world.service);
    out.post("/api/worse/look", &json!({ "token": "guess" })).await.refused(401, "not-signed-in");
    out.post("/api/worse", &worse("guess", &["water"])).await.refused(401, "not-signed-in");

    let back = pia.request(reqwest::Method::DELETE, &format!("/api/jobs/{job}/holdover"));
    let key = blackbox::client::fresh().to_string();
    pia.send(back.header("Idempotency-Key", key)).await.done();
    let shown = out.post("/api/worse/look", &json!({ "token": token })).await.done();
    assert_eq!(shown["standing"], "over");
    out.post("/api/worse", &worse(&token, &["water"])).await.refused(409, "link-over");
    let kept = world.service.count(&format!("holdover WHERE token_hash = '{token}'")).await;
    assert_eq!(kept, 0, "only the hash is kept");
}

#[tokio::test]
async fn the_customers_link_is_limited_per_address() {
    let settings = Settings { signin_per_min: 12, ..Settings::default() };
    let world = World::with("holdover_limit", settings).await;
    let out = Client::anonymous(&world.service);
    let mut refused = 0;
    for _ in 0..20 {
        let answer = out.post("/api/worse/look", &json!({ "token": "guess" })).await;
        refused += usize::from(answer.status == 429);
    }
    assert!(refused >= 8, "{refused}");
}
