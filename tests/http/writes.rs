//! Writes and their keys: a repeat gets the first answer and changes nothing.
//!
//! Belongs here: `Idempotency-Key`. Does not belong here: what single writes do.

use blackbox::client::fresh;
use reqwest::Method;
use serde_json::{Value, json};

use super::world::{COSTLY, World, at_pins, step};

#[tokio::test]
async fn a_repeat_gets_the_first_answer_and_leaves_one_row() {
    let world = World::new("repeat").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let (path, key) = (format!("/api/jobs/{job}/readings"), fresh());
    let body = json!({ "reading": at_pins("C", "S", Some(1.3)) });

    let first = ana.write(Method::POST, &path, key, &body).await;
    let other = json!({ "reading": at_pins("C", "R", None) });
    ana.post(&path, &other).await.done();
    let again = ana.write(Method::POST, &path, key, &body).await;

    assert_eq!(first.status, 201);
    assert_eq!((again.status, &again.text), (201, &first.text), "though there is more by now");
    assert_eq!(world.service.count("reading").await, 2);
}

#[tokio::test]
async fn repeats_sent_at_once_are_carried_out_once() {
    let world = World::new("repeat_at_once").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let (path, key) = (format!("/api/jobs/{job}/readings"), fresh());
    let body = json!({ "reading": at_pins("C", "S", Some(1.3)) });

    let repeats = (0..8).map(|_| ana.write(Method::POST, &path, key, &body));
    let answers = futures_util::future::join_all(repeats).await;

    assert_eq!(world.service.count("reading").await, 1);
    for answer in &answers {
        match answer.status {
            201 => {
                assert_eq!(answer.text, answers.iter().find(|one| one.status == 201).unwrap().text)
            }
            _ => drop(answer.refused(409, "still-working")),
        }
    }
    assert_eq!(ana.write(Method::POST, &path, key, &body).await.status, 201);
}

#[tokio::test]
async fn a_refusal_is_repeated_too() {
    let world = World::new("repeat_refused").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let (path, key) = (format!("/api/jobs/{job}/readings"), fresh());
    let body = json!({ "reading": at_pins("C", "NOWHERE", Some(1.3)) });

    let first = ana.write(Method::POST, &path, key, &body).await;
    let again = ana.write(Method::POST, &path, key, &body).await;

    first.refused(422, "invalid");
    assert_eq!(again.json(), first.json());
}

#[tokio::test]
async fn a_key_belongs_to_one_write_of_one_person() {
    let world = World::new("key").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let job = world.job(&ana).await;
    let (path, key) = (format!("/api/jobs/{job}/readings"), fresh());
    let body = json!({ "reading": at_pins("C", "S", Some(1.3)) });
    ana.write(Method::POST, &path, key, &body).await.done();

    let other = json!({ "reading": at_pins("C", "S", Some(1.4)) });
    ana.write(Method::POST, &path, key, &other).await.refused(422, "key-reused");
    let elsewhere = format!("/api/jobs/{}/readings", world.job(&ana).await);
    ana.write(Method::POST, &elsewhere, key, &body).await.refused(422, "key-reused");
    bo.write(Method::POST, &path, key, &body).await.done();

    assert_eq!(world.service.count("reading").await, 2);
}

#[tokio::test]
async fn a_move_that_is_repeated_after_its_answer_was_lost_is_made_once() {
    let world = World::new("repeat_move").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (_, request) = world.ready(&ana, COSTLY).await;
    let (path, key) = (format!("/api/requests/{request}/take"), fresh());

    let first = bo.write(Method::POST, &path, key, &Value::Null).await.done();
    let again = bo.write(Method::POST, &path, key, &Value::Null).await.done();

    assert_eq!(first, again);
    step(&bo, request, "take", &Value::Null).await.refused(409, "wrong-state");
}

#[tokio::test]
async fn a_write_without_a_proper_key_is_refused() {
    let world = World::new("no_key").await;
    let pia = world.client("pia").await;
    let before = world.service.count("customer").await;
    let body = json!({ "name": "Hedda Marsh" });

    for key in [None, Some(""), Some("17"), Some("not-a-uuid")] {
        let mut request = pia.request(Method::POST, "/api/customers").json(&body);
        if let Some(key) = key {
            request = request.header("Idempotency-Key", key);
        }
        pia.send(request).await.refused(400, "bad-key");
    }

    assert_eq!(world.service.count("customer").await, before);
}
