//! A guest reader: from a link to a countersignature, and what they never get.
//!
//! Belongs here: the guest's whole way over HTTP, mail and the live stream. Does not belong
//! here: that no other route lets them in ([`super::authorization`]).

use blackbox::client::{Client, fresh, id_in};
use blackbox::socket::Socket;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{CHEAP, COSTLY, World, agreeing, ask, digest, disagreeing, pins, seen, step};

/// The customer's details in every test's world; none of it is ever a guest's to see.
const CUSTOMER: [&str; 6] = ["Orsolya", "Quill", "Kiln Row", "Fernwick", "555 0142", "5550142"];

/// Somebody makes a link for a request.
pub(crate) async fn link(who: &Client, request: Uuid) -> Value {
    let new = json!({ "meant_for": "Rosa next door", "hours": 24 });
    who.post(&format!("/api/requests/{request}/guest-links"), &new).await.done()
}

/// A guest comes in by a link, with the code from the mail that was kept.
pub(crate) async fn enter(world: &World, link: &Value, email: &str) -> Client {
    let mut guest = Client::anonymous(&world.service);
    let token = link["token"].as_str().unwrap();
    send_code(&guest, token, email).await.done();
    let code = code_for(world, email).await;
    let body = json!({ "token": token, "code": code });
    let opened = guest.post("/api/guest/session", &body).await;
    opened.done();
    let (cookie, line) = opened.cookie_named("cs_guest").unwrap();
    assert!(line.contains("HttpOnly") && line.contains("SameSite=Strict"), "{line}");
    assert!(line.contains("Path=/api/guest"), "{line}");
    guest.guest = Some(cookie);
    let case = guest.get("/api/guest/case").await.done();
    guest.id = case["person_id"].as_str().unwrap().parse().unwrap();
    guest
}

async fn send_code(guest: &Client, token: &str, email: &str) -> blackbox::client::Answer {
    let body = json!({ "token": token, "name": "Rosa Lind", "licence": "RL-2209",
        "email": email });
    guest.post("/api/guest/code", &body).await
}

/// The code in the newest mail to that address.
async fn code_for(world: &World, email: &str) -> String {
    let sent = format!("SELECT 1 FROM guest_code WHERE email = '{email}'");
    let count = world.service.rows(&sent).await.len();
    let mails = format!(
        "SELECT body_text FROM mail WHERE to_email = '{email}' AND template = 'guest_code' \
         ORDER BY sent_at DESC, id DESC"
    );
    let mail = world.service.rows_once(&mails, count).await;
    let text = mail[0]["body_text"].as_str().unwrap();
    let code: String = text
        .split(|char: char| !char.is_ascii_digit())
        .find(|digits| digits.len() == 6)
        .unwrap_or_else(|| panic!("no code in {text}"))
        .to_owned();
    code
}

fn tells_nothing_of_the_customer(heard: &str) {
    for detail in CUSTOMER {
        assert!(!heard.contains(detail), "{detail}: {heard}");
    }
}

#[tokio::test]
async fn a_guest_reads_blind_talks_and_countersigns_without_a_word_of_the_customer() {
    let world = World::new("guest_story").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let note = "Mrs Quill waits at 9 Kiln Row.";
    let request = id_in(&ask(&ana, job, COSTLY, note).await.done());
    let link = link(&ana, request).await;
    let token = link["token"].as_str().unwrap();

    let outside = Client::anonymous(&world.service);
    let invitation = outside.post("/api/guest/invitation", &json!({ "token": token })).await;
    assert_eq!(invitation.done()["opened"], false);
    let rosa = enter(&world, &link, "rosa@lind.example").await;
    let mut socket = Socket::open(&rosa).await;

    // Blind: the readings and the circuit, no claim, no verdict, no talk.
    let digest_of_claim = digest(&ana, request).await;
    let case = rosa.get("/api/guest/case").await.done();
    assert_eq!(case["request"]["claim"], Value::Null);
    assert_eq!(case["evidence"]["verdict"], Value::Null);
    assert_eq!(case["evidence"]["readings"].as_array().unwrap().len(), 3);
    assert_eq!(case["request"]["may"], json!(["take"]));
    rosa.get("/api/guest/thread").await.refused(403, "blind-first");
    let taken = rosa.post("/api/guest/take", &Value::Null).await.done();
    assert_eq!(taken["request"]["state"], "reading");
    let mut anas = Socket::open(&ana).await;
    anas.say(job, "Quill's number is 555 0142, at 9 Kiln Row.").await;
    anas.until_type("ack").await;
    assert_eq!(socket.follow(job, 0).await["withheld"], true);
    for (asked, heard) in rosa.heard() {
        for telltale in [digest_of_claim.as_str(), "\"isolated\"", "187654"] {
            assert!(!heard.contains(telltale), "{asked} tells {telltale}: {heard}");
        }
    }

    // The read is in: side by side, and the talk opens.
    let revealed = rosa.post("/api/guest/blind-read", &agreeing()).await.done();
    assert_eq!(revealed["request"]["claim"]["part"], "run_winding");
    assert_eq!(revealed["request"]["reads"][0]["guest"]["licence"], "RL-2209");
    assert_eq!(revealed["request"]["note"], "Mrs [customer] waits at [customer].");
    let said = socket.until(|frame| frame["message"]["body"]["text"].as_str().is_some()).await;
    assert_eq!(
        said["message"]["body"]["text"],
        "[customer]'s number is [customer], at [customer]."
    );
    anas.follow(job, 0).await;
    socket.say(job, "I see it too.").await;
    socket.until_type("ack").await;
    let heard = anas.until_said("I see it too.").await;
    assert_eq!(heard["message"]["author"]["name"], "Rosa Lind (guest)");
    rosa.get("/api/guest/thread").await.done();

    let signed = rosa
        .post("/api/guest/countersign", &json!({ "digest": digest_of_claim, "note": "Agreed." }))
        .await
        .done();
    assert_eq!(signed["request"]["state"], "awaiting_approval");
    let request_now = seen(&dan, request).await;
    let guest = &request_now["countersignature"]["guest"];
    assert_eq!(guest["name"], "Rosa Lind");
    assert_eq!(guest["licence"], "RL-2209");
    assert_eq!(guest["email"], "rosa@lind.example");
    let record = world
        .service
        .rows("SELECT body FROM record_entry WHERE kind = 'request_countersigned'")
        .await;
    assert_eq!(record[0]["body"]["guest"]["email_verified"], "rosa@lind.example");

    for (asked, heard) in rosa.heard() {
        tells_nothing_of_the_customer(&format!("{asked} {heard}"));
    }
    let frames = serde_json::to_string(&socket.frames).unwrap();
    tells_nothing_of_the_customer(&frames);
    assert!(!frames.contains("\"job\""), "nothing of the board is announced: {frames}");
    let mails = world.service.rows("SELECT * FROM mail WHERE to_email LIKE 'rosa@%'").await;
    for mail in mails {
        tells_nothing_of_the_customer(&mail.to_string());
    }

    // Ended: the socket within a second, and every door.
    let path = format!("/api/guest-links/{}", id_in(&link));
    let ended = ana.write(Method::DELETE, &path, fresh(), &Value::Null).await.done();
    assert_eq!(ended["stands"], false);
    assert_eq!(socket.closed().await.0, 4401);
    rosa.get("/api/guest/case").await.refused(401, "not-signed-in");
    outside
        .post("/api/guest/invitation", &json!({ "token": token }))
        .await
        .refused(401, "not-signed-in");
    let verified = world.service.run(&["verify-record"]).await;
    assert!(verified.status.success(), "{verified:?}");
}

#[tokio::test]
async fn the_token_is_shown_once_and_kept_nowhere() {
    let world = World::new("guest_token").await;
    let ana = world.client("ana").await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    let path = format!("/api/requests/{request}/guest-links");
    let (key, new) = (fresh(), json!({ "hours": 2 }));

    let made = ana.write(Method::POST, &path, key, &new).await.done();
    let again = ana.write(Method::POST, &path, key, &new).await.done();

    let token = made["token"].as_str().unwrap();
    assert!(token.len() >= 40);
    assert_eq!((&again["id"], &again["token"]), (&made["id"], &Value::Null));
    assert_eq!(world.service.count("guest_link").await, 1);
    for table in ["guest_link", "idempotency", "record_entry", "live_event", "outbox"] {
        for row in world.service.rows(&format!("SELECT * FROM {table}")).await {
            assert!(!row.to_string().contains(token), "{table} keeps it: {row}");
        }
    }
    let listed = ana.get(&path).await.done();
    assert!(!listed.to_string().contains(token));
    for hours in [0, 337] {
        ana.post(&path, &json!({ "hours": hours })).await.refused(422, "invalid");
    }
}

#[tokio::test]
async fn a_code_is_good_once_for_a_few_tries_and_an_address_of_the_shop_is_no_guest() {
    let world = World::new("guest_code").await;
    let ana = world.client("ana").await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    let made = link(&ana, request).await;
    let token = made["token"].as_str().unwrap();
    let guest = Client::anonymous(&world.service);
    let verify = async |code: &str| {
        guest.post("/api/guest/session", &json!({ "token": token, "code": code })).await
    };

    send_code(&guest, token, "BO@tern.example").await.refused(409, "guest-is-staff");
    send_code(&guest, token, "not an address").await.refused(422, "invalid");
    send_code(&guest, token, "rosa@lind.example").await.done();
    let code = code_for(&world, "rosa@lind.example").await;
    let wrong = if code == "123456" { "654321" } else { "123456" };
    for _ in 0..5 {
        verify(wrong).await.refused(422, "invalid");
    }
    // The right one comes too late.
    verify(&code).await.refused(422, "invalid");
    send_code(&guest, token, "rosa@lind.example").await.done();
    let code = code_for(&world, "rosa@lind.example").await;
    assert_eq!(verify(&code).await.status, 204);
    verify(&code).await.refused(422, "invalid");

    // The link is hers now, on another device too; somebody else's address is refused.
    send_code(&guest, token, "sten@lind.example").await.refused(409, "link-taken");
    send_code(&guest, token, "Rosa@lind.example").await.done();
    let code = code_for(&world, "Rosa@lind.example").await;
    assert_eq!(verify(&code).await.status, 204);
    assert_eq!(world.service.count("person WHERE guest_link IS NOT NULL").await, 1);
    // Another link to the same request does not make her a second reader.
    let second = link(&ana, request).await;
    let second = second["token"].as_str().unwrap();
    send_code(&guest, second, "rosa@lind.example").await.done();
    let code = code_for(&world, "rosa@lind.example").await;
    let body = json!({ "token": second, "code": code });
    guest.post("/api/guest/session", &body).await.refused(409, "guest-again");
    // Codes of one link are limited.
    for _ in 0..2 {
        send_code(&guest, token, "rosa@lind.example").await.done();
    }
    send_code(&guest, token, "rosa@lind.example").await.refused(429, "too-many");
}

#[tokio::test]
async fn a_shop_of_one_gets_its_second_read_from_a_guest() {
    let world = World::new("guest_solo").await;
    let zed = world.client("zed").await;
    let gus = zed.get("/api/people").await.done();
    let gus = gus.as_array().unwrap().iter().find(|one| one["email"] == "gus@tern.example");
    let path = format!("/api/people/{}", id_in(gus.unwrap()));
    zed.patch(&path, &json!({ "active": false })).await.done();
    let customer = zed.post("/api/customers", &json!({ "name": "Abel Stroud" })).await.done();
    let site = json!({ "address": "2 High Moor", "town": "Lowmoor" });
    let path = format!("/api/customers/{}/sites", id_in(&customer));
    let site = zed.post(&path, &site).await.done();
    let unit = json!({ "label": "Cellar unit", "circuit": "compressor-1ph-plug" });
    let unit = zed.post(&format!("/api/sites/{}/units", id_in(&site)), &unit).await.done();
    let new = json!({ "unit_id": id_in(&unit), "complaint": "Hums", "urgency": "comfort",
        "assigned_to": zed.id });
    let job = id_in(&zed.post("/api/jobs", &new).await.done());
    pins(&zed, job).await;

    let ready = ask(&zed, job, CHEAP, "").await.done();
    let request = id_in(&ready);
    assert_eq!(ready["state"], "ready");
    assert_eq!(ready["asked"], json!([]), "there is nobody to ask");
    let path = format!("/api/requests/{request}/candidates");
    let candidates = zed.get(&path).await.done();
    assert_eq!(candidates["ranked"], json!([]));
    step(&zed, request, "take", &Value::Null).await.refused(403, "not-independent");
    let rosa = enter(&world, &link(&zed, request).await, "rosa@lind.example").await;
    rosa.post("/api/guest/take", &Value::Null).await.done();
    rosa.post("/api/guest/blind-read", &agreeing()).await.done();
    let digest = digest(&zed, request).await;
    let signed = rosa.post("/api/guest/countersign", &json!({ "digest": digest })).await.done();

    assert_eq!(signed["request"]["state"], "approved");
    let people = zed.get("/api/people").await.done();
    assert!(!people.to_string().contains("Rosa"), "a guest is nobody of the shop");
}

#[tokio::test]
async fn a_link_ends_by_itself_and_takes_the_session_with_it() {
    let world = World::new("guest_expired").await;
    let ana = world.client("ana").await;
    let (_, request) = world.ready(&ana, COSTLY).await;
    let made = link(&ana, request).await;
    let rosa = enter(&world, &made, "rosa@lind.example").await;

    world
        .service
        .execute(
            "UPDATE guest_link SET created_at = now() - interval '2 days', \
             expires_at = now() - interval '1 second'",
        )
        .await;

    rosa.get("/api/guest/case").await.refused(401, "not-signed-in");
    rosa.post("/api/guest/take", &Value::Null).await.refused(401, "not-signed-in");
    rosa.post("/api/guest/live-ticket", &Value::Null).await.refused(401, "not-signed-in");
    let token = json!({ "token": made["token"] });
    rosa.post("/api/guest/invitation", &token).await.refused(401, "not-signed-in");
    let links = ana.get(&format!("/api/requests/{request}/guest-links")).await.done();
    assert_eq!(links[0]["stands"], false);
}

#[tokio::test]
async fn a_guest_may_be_the_third_reader_or_say_no() {
    let world = World::new("guest_third").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (_, request) = world.ready(&ana, COSTLY).await;
    step(&bo, request, "take", &Value::Null).await.done();
    step(&bo, request, "blind-read", &disagreeing()).await.done();
    // The requester asks for a third.
    let again = step(&ana, request, "hand-on", &json!({ "note": "A third, please." })).await;
    assert_eq!(again.done()["state"], "ready");

    let rosa = enter(&world, &link(&ana, request).await, "rosa@lind.example").await;
    rosa.post("/api/guest/take", &Value::Null).await.done();
    let heard = rosa.heard().into_iter().map(|(_, heard)| heard).collect::<String>();
    assert!(!heard.contains("I would look at the plug"), "{heard}");
    let both = rosa.post("/api/guest/blind-read", &agreeing()).await.done();
    assert_eq!(both["request"]["reads"].as_array().unwrap().len(), 2);
    let sten = enter(&world, &link(&ana, request).await, "sten@lind.example").await;
    sten.post("/api/guest/decline", &json!({ "reason": "No time today." })).await.done();
    sten.get("/api/guest/case").await.refused(401, "not-signed-in");

    // A guest who gives it back after taking it leaves it to the next.
    rosa.post("/api/guest/decline", &json!({ "reason": "I am called away." })).await.done();
    assert_eq!(seen(&ana, request).await["state"], "ready");
}
