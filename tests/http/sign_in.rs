//! Getting in, staying in, being put out.
//!
//! Belongs here: passwords, lock-out, rate, refresh, sessions and their sockets. Does not
//! belong here: what somebody who is in may do.

use blackbox::client::{Client, id_in};
use blackbox::seed::{PASSWORD, email_of};
use blackbox::service::{Service, Settings};
use blackbox::socket::Socket;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

/// Moves the uses of refresh tokens out of the few seconds in which two tabs may refresh at
/// once.
const USED_LONG_AGO: &str = "UPDATE refresh_used SET at = at - interval '1 minute'";

fn body(name: &str, password: &str) -> Value {
    json!({ "email": email_of(name), "password": password })
}

async fn service(name: &str) -> Service {
    Service::start(&format!("http_{name}"), Settings::default()).await
}

#[tokio::test]
async fn five_wrong_passwords_lock_the_address_and_say_until_when() {
    let service = service("lock").await;
    let mut nobody = Client::anonymous(&service);

    let mut said = Vec::new();
    for _ in 0..5 {
        said.push(nobody.sign_in(&body("bo", "wrong")).await.refused(401, "not-signed-in"));
    }
    let locked = nobody.sign_in(&body("bo", PASSWORD)).await;
    said.push(locked.refused(429, "too-many"));

    let wait: u64 = locked.headers["retry-after"].to_str().unwrap().parse().unwrap();
    assert!((800..=901).contains(&wait), "{wait} s");
    said.dedup();
    insta::assert_json_snapshot!("sign_in_refused", said);
    // Nobody else is locked out, and it ends by itself.
    nobody.sign_in(&body("ana", PASSWORD)).await.done();
    service.execute("UPDATE signin_attempt SET at = at - interval '16 minutes'").await;
    nobody.sign_in(&body("bo", PASSWORD)).await.done();
    // Bo is told by mail, once.
    let mail = service.rows_once("SELECT * FROM mail WHERE template = 'signin_locked'", 1).await;
    assert_eq!((mail.len(), &mail[0]["to_email"]), (1, &json!(email_of("bo"))));
}

#[tokio::test]
async fn an_address_that_nobody_has_is_answered_like_a_wrong_password() {
    let service = service("unknown").await;
    let mut nobody = Client::anonymous(&service);

    let wrong = nobody.sign_in(&body("bo", "wrong")).await.refused(401, "not-signed-in");
    let unknown = nobody.sign_in(&body("nobody", "wrong")).await.refused(401, "not-signed-in");

    assert_eq!(wrong, unknown);
    // Counted alike, too: a lock must not tell who works here.
    for _ in 0..4 {
        nobody.sign_in(&body("nobody", "wrong")).await.refused(401, "not-signed-in");
    }
    nobody.sign_in(&body("nobody", "wrong")).await.refused(429, "too-many");
}

#[tokio::test]
async fn wrong_passwords_sent_at_once_do_not_slip_past_the_count() {
    let service = service("lock_at_once").await;

    let tries = (0..12)
        .map(|_| async { Client::anonymous(&service).sign_in(&body("bo", "wrong")).await.status });
    let mut statuses = futures_util::future::join_all(tries).await;

    statuses.sort_unstable();
    assert_eq!(statuses, [[401].repeat(5), [429].repeat(7)].concat());
}

#[tokio::test]
async fn sign_ins_are_limited_per_network_address() {
    let settings = Settings { signin_per_min: 3, behind_proxy: true, ..Settings::default() };
    let service = Service::start("http_rate", settings).await;
    let nobody = Client::anonymous(&service);
    let from = async |address: &str| {
        let request = nobody.request(Method::POST, "/api/session").json(&body("bo", PASSWORD));
        nobody.send(request.header("X-Forwarded-For", address)).await
    };

    for _ in 0..3 {
        from("192.0.2.7").await.done();
    }
    let limited = from("192.0.2.7").await;
    limited.refused(429, "too-many");
    assert!(limited.headers.contains_key("retry-after"));
    // What the caller wrote before the proxy's own entry counts for nothing.
    from("198.51.100.1, 192.0.2.7").await.refused(429, "too-many");
    from("192.0.2.8").await.done();
}

#[tokio::test]
async fn the_refresh_cookie_is_kept_from_scripts_and_other_sites() {
    let plain = service("cookie").await;
    let (_, line) =
        Client::anonymous(&plain).sign_in(&body("bo", PASSWORD)).await.cookie().unwrap();
    let flags: Vec<&str> = line.split("; ").skip(1).collect();
    for flag in ["HttpOnly", "SameSite=Strict", "Path=/api/session"] {
        assert!(flags.contains(&flag), "{line}");
    }
    assert!(!flags.contains(&"Secure"), "the demo is on plain HTTP: {line}");

    let settings = Settings { behind_proxy: true, ..Settings::default() };
    let proxied = Service::start("http_cookie_proxied", settings).await;
    let answer = Client::anonymous(&proxied).sign_in(&body("bo", PASSWORD)).await;
    assert!(answer.cookie().unwrap().1.contains("; Secure"));
    assert_eq!(answer.headers["cache-control"], "no-store");
    assert!(!answer.text.contains(&answer.cookie().unwrap().0), "only in the cookie");
}

#[tokio::test]
async fn a_refresh_token_is_good_once_and_a_copy_ends_the_session() {
    let service = service("refresh").await;
    let mut bo = Client::signed_in(&service, "bo").await;
    let first = bo.cookie.clone().unwrap();

    let refreshed = bo.refresh_with(&first).await;
    refreshed.done();
    bo.keep(&refreshed);
    let second = bo.cookie.clone().unwrap();
    assert_ne!(first, second);
    bo.get("/api/me").await.done();
    // Two tabs at once: the later gets an access token and no cookie of its own.
    let tab = bo.refresh_with(&first).await;
    tab.done();
    assert!(tab.cookie().is_none());

    let mut socket = Socket::open(&bo).await;
    service.execute(USED_LONG_AGO).await;
    bo.refresh_with(&first).await.refused(401, "not-signed-in");

    bo.get("/api/me").await.refused(401, "not-signed-in");
    bo.refresh_with(&second).await.refused(401, "not-signed-in");
    assert_eq!(socket.closed().await.0, 4401);
    bo.refresh_with("made-up").await.refused(401, "not-signed-in");
}

#[tokio::test]
async fn a_revoked_session_is_refused_at_once_and_its_sockets_are_closed() {
    let service = service("revoke").await;
    let (phone, desk) =
        (Client::signed_in(&service, "bo").await, Client::signed_in(&service, "bo").await);
    let mut sockets = [Socket::open(&phone).await, Socket::open(&phone).await];
    let mut still_open = Socket::open(&desk).await;

    let listed = desk.get("/api/sessions").await.done();
    let listed = listed.as_array().unwrap();
    assert_eq!(listed.len(), 2, "a technician sees their own");
    let other = listed.iter().find(|one| one["current"] == false).unwrap();
    desk.write(Method::DELETE, &path(id_in(other)), blackbox::client::fresh(), &Value::Null)
        .await
        .done();

    phone.get("/api/me").await.refused(401, "not-signed-in");
    for socket in &mut sockets {
        let (code, last) = socket.closed().await;
        assert_eq!((code, &last["type"], &last["code"]), (4401, &json!("goodbye"), &json!(4401)));
    }
    phone.refresh_with(phone.cookie.as_deref().unwrap()).await.refused(401, "not-signed-in");
    // The other session goes on.
    desk.get("/api/me").await.done();
    still_open.send(&json!({ "type": "mark", "job_id": Uuid::nil(), "seen_seq": 1 })).await;
    still_open.until_type("refused").await;
    assert_eq!(desk.get("/api/sessions").await.done().as_array().unwrap().len(), 1);
}

#[tokio::test]
async fn signing_out_ends_the_session_and_takes_the_cookie_away() {
    let service = service("sign_out").await;
    let bo = Client::signed_in(&service, "bo").await;
    let mut socket = Socket::open(&bo).await;

    let request = bo.request(Method::POST, "/api/session/end");
    let cookie = format!("cs_refresh={}", bo.cookie.as_deref().unwrap());
    let answer = bo.send(request.header("Cookie", cookie)).await;

    assert_eq!(answer.status, 204);
    assert!(answer.cookie().unwrap().1.contains("Max-Age=0"));
    assert_eq!(socket.closed().await.0, 4401);
    bo.get("/api/me").await.refused(401, "not-signed-in");
}

#[tokio::test]
async fn whoever_is_let_go_is_out_and_a_new_password_ends_the_other_sessions() {
    let service = service("let_go").await;
    let olaf = Client::signed_in(&service, "olaf").await;
    let (bo, bos_other) =
        (Client::signed_in(&service, "bo").await, Client::signed_in(&service, "bo").await);

    let me = format!("/api/people/{}", bo.id);
    bo.patch(&me, &json!({ "password": "a longer one, now" })).await.done();
    bo.get("/api/me").await.done();
    bos_other.get("/api/me").await.refused(401, "not-signed-in");

    let mut socket = Socket::open(&bo).await;
    olaf.patch(&me, &json!({ "active": false })).await.done();
    bo.get("/api/me").await.refused(401, "not-signed-in");
    assert_eq!(socket.closed().await.0, 4401);
    let mut nobody = Client::anonymous(&service);
    nobody.sign_in(&body("bo", "a longer one, now")).await.refused(401, "not-signed-in");
    let eva = Client::signed_in(&service, "eva").await.id;
    olaf.patch(&format!("/api/people/{eva}"), &json!({ "active": false })).await.done();
    let mine = format!("/api/people/{}", olaf.id);
    olaf.patch(&mine, &json!({ "active": false })).await.refused(409, "last-owner");
}

fn path(session: Uuid) -> String {
    format!("/api/sessions/{session}")
}
