//! A thread's routes and the ticket's, from outside.
#![allow(clippy::unwrap_used, reason = "a test may")]

use actix_web::body::MessageBody;
use actix_web::dev::ServiceResponse;
use actix_web::http::StatusCode;
use actix_web::test::TestRequest;
use actix_web::{test, web};
use http_api::app::{AppState, app};
use http_api::config::Config;
use sea_orm::ConnectionTrait as _;
use serde_json::{Value, json};
use store::ambient::Ambient;
use store::testbed;
use uuid::Uuid;

const JOB: &str = "00000000-0000-7000-8000-000000000041";

const fn id(last: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + last)
}

async fn state(name: &str) -> web::Data<AppState> {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store.conn().execute_unprepared(include_str!("../../store/tests/seed.sql")).await.unwrap();
    web::Data::new(AppState::new(store, Config::local(b"secret".to_vec())))
}

/// A request of person 1, 2 (of the job's shop) or 3 (of another); 0 is nobody.
fn asked(
    state: &AppState,
    person: u128,
    (method, path): (&str, &str),
    body: Option<Value>,
) -> TestRequest {
    let mut request = TestRequest::with_uri(path).method(method.parse().unwrap());
    if person > 0 {
        let (person_id, session_id) = (id(0x10 + person), id(0x20 + person));
        let token = state.keys.sign(person_id, session_id, state.store.now()).unwrap();
        request = request.insert_header(("Authorization", format!("Bearer {token}")));
    }
    if let Some(body) = body {
        let key = state.store.new_id().to_string();
        request = request.insert_header(("Idempotency-Key", key)).set_json(body);
    }
    request
}

async fn answered<B: MessageBody>(response: ServiceResponse<B>) -> (StatusCode, Value) {
    let status = response.status();
    let bytes = test::read_body(response).await;
    (status, serde_json::from_slice(&bytes).unwrap_or(Value::Null))
}

#[actix_web::test]
async fn what_is_said_is_shown_from_a_number_on_to_the_shop_only() {
    let state = state("http_thread").await;
    let service = test::init_service(app(state.clone(), |_| {})).await;
    let ask = async |person: u128, request: (&str, &str), body: Option<Value>| {
        let request = asked(&state, person, request, body).to_request();
        answered(test::call_service(&service, request).await).await
    };
    let thread = format!("/api/jobs/{JOB}/thread");
    let say = |text: &str| json!({ "key": state.store.new_id(), "kind": "text", "body": { "text": text } });

    let (status, empty) = ask(1, ("GET", &thread), None).await;
    assert_eq!((status, &empty["last_seq"]), (StatusCode::OK, &json!(0)));
    for (person, text) in [(1, "first"), (2, "second")] {
        let (status, said) = ask(person, ("POST", &thread), Some(say(text))).await;
        assert_eq!((status, &said["body"]["text"]), (StatusCode::CREATED, &json!(text)));
    }
    let again = say("third");
    for _ in 0..2 {
        let (_, said) = ask(1, ("POST", &thread), Some(again.clone())).await;
        assert_eq!(said["seq"], 3, "{said}");
    }
    let (_, page) = ask(2, ("GET", &thread), None).await;
    assert_eq!(page["messages"].as_array().unwrap().len(), 3);
    let mark = format!("{thread}/mark");
    let (status, _) = ask(2, ("POST", &mark), Some(json!({ "seen_seq": 2 }))).await;
    assert_eq!(status, StatusCode::NO_CONTENT);

    let after = format!("{thread}?after=1&limit=1");
    let (_, page) = ask(2, ("GET", &after), None).await;
    assert_eq!(page["last_seq"], 3);
    assert_eq!(page["messages"].as_array().unwrap().len(), 1);
    assert_eq!(page["messages"][0]["author"]["name"], "Bo");
    let bo = json!({ "id": id(0x12), "name": "Bo", "seen_seq": 2 });
    assert!(page["members"].as_array().unwrap().contains(&bo), "{page}");

    for request in [("GET", thread.as_str()), ("POST", thread.as_str()), ("POST", mark.as_str())] {
        let body = match request {
            ("GET", _) => None,
            (_, path) if path == mark => Some(json!({ "seen_seq": 1 })),
            _ => Some(say("theirs")),
        };
        let (status, _) = ask(3, request, body.clone()).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{request:?}");
        let (status, _) = ask(0, request, body).await;
        assert_eq!(status, StatusCode::UNAUTHORIZED, "{request:?}");
    }
}

#[actix_web::test]
async fn what_says_nothing_is_refused_at_its_place() {
    let state = state("http_thread_refused").await;
    let service = test::init_service(app(state.clone(), |_| {})).await;
    let ask = async |person: u128, request: (&str, &str), body: Option<Value>| {
        let request = asked(&state, person, request, body).to_request();
        answered(test::call_service(&service, request).await).await
    };
    let thread = format!("/api/jobs/{JOB}/thread");
    let check = async |kind: &str, body: Value, status: u16, pointer: &str| {
        let new = json!({ "key": state.store.new_id(), "kind": kind, "body": body });
        let (answered, problem) = ask(1, ("POST", &thread), Some(new)).await;
        assert_eq!(answered.as_u16(), status, "{problem}");
        assert_eq!(problem["errors"][0]["pointer"], pointer, "{problem}");
    };

    check("text", json!({ "text": "" }), 422, "/body/text").await;
    check("reading_card", json!({ "reading_label": "r9" }), 422, "/body/reading_label").await;
    check("event", json!({ "event": "approved" }), 422, "/kind").await;
    check("shout", json!({ "text": "x" }), 400, "/kind").await;
    check("text", json!({ "words": "x" }), 400, "/body/words").await;
}

#[actix_web::test]
async fn a_ticket_is_for_those_who_are_signed_in() {
    let state = state("http_ticket").await;
    let service = test::init_service(app(state.clone(), |_| {})).await;
    let ask = async |person: u128, request: (&str, &str), body: Option<Value>| {
        let request = asked(&state, person, request, body).to_request();
        answered(test::call_service(&service, request).await).await
    };
    let request = ("POST", "/api/live/ticket");

    let (status, ticket) = ask(1, request, None).await;
    assert_eq!((status, &ticket["expires_in_s"]), (StatusCode::OK, &json!(30)));
    assert!(ticket["ticket"].as_str().unwrap().len() > 30);
    let (status, _) = ask(0, request, None).await;
    assert_eq!(status, StatusCode::UNAUTHORIZED);
}
