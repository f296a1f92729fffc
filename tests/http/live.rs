//! The live stream between several people.
//!
//! Belongs here: what two or three sockets see of each other, cuts, tickets, close codes. Does
//! not belong here: each rule of the protocol, which live's own tests have over memory.

use std::collections::BTreeMap;

use blackbox::client::fresh;
use blackbox::socket::{Socket, ticket};
use serde_json::json;

use super::world::World;

/// One frame may have this many bytes (PROTOCOL.md, limits).
const FRAME_BYTES_MAX: usize = 64 * 1024;

#[tokio::test]
async fn everyone_gets_every_message_in_the_same_order() {
    let world = World::new("live_order").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let mut sockets = Vec::new();
    for name in ["ana", "bo", "dan"] {
        let mut socket = Socket::open(&world.client(name).await).await;
        socket.follow(job, 0).await;
        sockets.push(socket);
    }

    // All three at once.
    let talks = sockets.into_iter().enumerate().map(|(speaker, mut socket)| async move {
        for line in 0..20 {
            socket.say(job, &format!("{speaker}/{line}")).await;
        }
        while socket.messages(job).len() < 60 {
            socket.next().await;
        }
        socket
    });
    let sockets = futures_util::future::join_all(talks).await;

    let heard: Vec<_> = sockets.iter().map(|socket| socket.messages(job)).collect();
    let numbers: Vec<u64> = heard[0].iter().map(|(seq, _)| *seq).collect();
    assert_eq!(numbers, (1..=60).collect::<Vec<_>>(), "without gaps, each once");
    assert_eq!(heard[0], heard[1]);
    assert_eq!(heard[0], heard[2]);
    for speaker in 0..3 {
        let own = heard[0].iter().filter(|(_, text)| text.starts_with(&format!("{speaker}/")));
        let expected: Vec<String> = (0..20).map(|line| format!("{speaker}/{line}")).collect();
        assert!(own.map(|(_, text)| text).eq(&expected), "a speaker's own order is kept");
    }
    let thread = ana.get(&format!("/api/jobs/{job}/thread")).await.done();
    let by_api: Vec<_> = thread["messages"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (one["seq"].as_u64().unwrap(), one["body"]["text"].as_str().unwrap().to_owned()))
        .collect();
    assert_eq!(by_api, heard[0]);
}

#[tokio::test]
async fn a_message_is_stored_before_it_is_acknowledged_and_survives_a_killed_service() {
    let mut world = World::new("live_stored").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let mut socket = Socket::open(&ana).await;

    let key = socket.say(job, "The fan is free.").await;
    let ack = socket.until_type("ack").await;
    world.service.kill_and_start().await;

    assert_eq!((&ack["key"], &ack["seq"]), (&json!(key), &json!(1)));
    let stored = world.service.rows("SELECT client_key, body FROM message").await;
    assert_eq!(stored.len(), 1);
    assert_eq!(stored[0]["client_key"], key.to_string());
    // The client that missed the answer says it again, to the service that came after.
    let ana = world.client("ana").await;
    let mut socket = Socket::open(&ana).await;
    socket.say_again(job, key, "The fan is free.").await;
    assert_eq!(socket.until_type("ack").await["seq"], 1);
    assert_eq!(world.service.count("message").await, 1);
}

#[tokio::test]
async fn a_repeated_key_is_the_same_message_here_and_over_http() {
    let world = World::new("live_key").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let mut socket = Socket::open(&ana).await;

    let key = socket.say(job, "No hum.").await;
    let first = socket.until_type("ack").await;
    socket.say_again(job, key, "No hum.").await;
    let again = socket.until_type("ack").await;
    let message = json!({ "key": key, "kind": "text", "body": { "text": "No hum." } });
    let path = format!("/api/jobs/{job}/thread");
    let by_http = ana.post(&path, &message).await.done();

    assert_eq!(first["seq"], again["seq"]);
    assert_eq!(by_http["seq"], first["seq"]);
    assert_eq!(world.service.count("message").await, 1);
    // The same key with other words is no repeat.
    socket.say_again(job, key, "It hums.").await;
    let refused = socket.until_type("refused").await;
    assert_eq!(refused["problem"]["type"], "/problems/key-reused");
    // The same key of another person's client is theirs.
    let bo = world.client("bo").await;
    bo.post(&path, &message).await.done();
    assert_eq!(world.service.count("message").await, 2);
}

#[tokio::test]
async fn a_cut_line_resumes_with_exactly_what_was_missed() {
    let world = World::new("live_cut").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let job = world.job(&ana).await;
    let mut speaker = Socket::open(&ana).await;
    let mut listener = Socket::open(&bo).await;
    listener.follow(job, 0).await;
    for line in 1..=3 {
        speaker.say(job, &format!("before {line}")).await;
    }
    listener.until_said("before 3").await;
    let live_seq = last_live_seq(&listener);

    // Cut in the middle of more: dropped without a word, and whatever was on the way is lost.
    speaker.say(job, "on the way").await;
    drop(listener);
    for line in 1..=4 {
        speaker.say(job, &format!("missed {line}")).await;
    }
    while speaker.frames.iter().filter(|frame| frame["type"] == "ack").count() < 8 {
        speaker.next().await;
    }
    world.job(&ana).await;

    let threads = BTreeMap::from([(job, 3)]);
    let mut listener = Socket::resume(&bo, Some(live_seq), &threads).await;
    assert_eq!(listener.frames[0]["resumed"], true);
    listener.until(|frame| frame["type"] == "changed" && frame["topic"] == "job").await;
    while listener.messages(job).len() < 5 {
        listener.next().await;
    }
    let expected = ["on the way", "missed 1", "missed 2", "missed 3", "missed 4"];
    let expected: Vec<(u64, String)> =
        (4..).zip(expected).map(|(seq, text)| (seq, text.to_owned())).collect();
    assert_eq!(listener.messages(job), expected);

    // Over HTTP it is the same.
    let path = format!("/api/jobs/{job}/thread?after=3");
    let missed = bo.get(&path).await.done();
    assert_eq!(missed["messages"].as_array().unwrap().len(), 5);
    assert_eq!(missed["messages"][0]["seq"], 4);
}

/// The last number of the feed that a socket has seen.
fn last_live_seq(socket: &Socket) -> u64 {
    let seen = socket.frames.iter().filter_map(|frame| frame["live_seq"].as_u64());
    seen.max().unwrap()
}

#[tokio::test]
async fn what_one_changes_is_announced_to_the_others_and_not_next_door() {
    let world = World::new("live_changed").await;
    let (ana, pia) = (world.client("ana").await, world.client("pia").await);
    let gus = world.client("gus").await;
    let mut pias = Socket::open(&pia).await;
    let mut guss = Socket::open(&gus).await;
    let board = pia.get("/api/board").await.done();

    let job = world.job(&ana).await;
    let taken = pias.until(|frame| frame["topic"] == "job").await;
    assert_eq!(taken["ref_id"], job.to_string());
    assert!(taken["live_seq"].as_u64() > board["as_of_live"].as_u64(), "{taken}");
    let shown = ana.get(&format!("/api/jobs/{job}")).await.done();
    let body = json!({ "version": shown["version"], "state": "on_site" });
    ana.patch(&format!("/api/jobs/{job}"), &body).await.done();
    pias.until(|frame| frame["topic"] == "job" && frame["ref_id"] == job.to_string()).await;
    let board = pia.get("/api/board").await.done();
    assert_eq!(board["jobs"][0]["state"], "on_site");

    // Next door nothing came, and our job cannot be followed.
    guss.send(&json!({ "type": "follow", "job_id": job, "after": 0 })).await;
    let refused = guss.until_type("refused").await;
    assert_eq!(refused["problem"]["type"], "/problems/not-found", "{refused}");
    guss.say(job, "Hello?").await;
    guss.until_type("refused").await;
    assert!(guss.frames.iter().all(|frame| frame["type"] != "changed"), "{:#?}", guss.frames);
    assert_eq!(world.service.count("message").await, 0);
}

#[tokio::test]
async fn a_ticket_is_good_once_for_a_while_and_on_this_origin() {
    let world = World::new("live_ticket").await;
    let bo = world.client("bo").await;
    let enter = async |ticket: &str, origin: Option<&str>| {
        Socket::enter(&bo, ticket, origin).await.map(drop)
    };

    assert_eq!(enter("made-up", None).await, Err(401));
    let given = ticket(&bo).await;
    assert_eq!(enter(&given, Some("https://elsewhere.example")).await, Err(403));
    assert_eq!(enter(&given, Some(&bo.base)).await, Ok(()));
    assert_eq!(enter(&given, Some(&bo.base)).await, Err(401), "a second time");
    let late = ticket(&bo).await;
    let past = "UPDATE live_ticket SET expires_at = expires_at - interval '31 seconds'";
    world.service.execute(past).await;
    assert_eq!(enter(&late, None).await, Err(401), "after its time");
    // A plain request is told what the address is.
    let plain = bo.get(&format!("/live?ticket={}", ticket(&bo).await)).await;
    plain.refused(400, "bad-parameter");
}

#[tokio::test]
async fn what_is_no_frame_closes_the_socket_with_its_code() {
    let world = World::new("live_bad").await;
    let bo = world.client("bo").await;

    let too_long = format!("{{\"type\":\"pong\",\"x\":\"{}\"}}", "x".repeat(FRAME_BYTES_MAX));
    for bad in [
        too_long.as_str(),
        "not json",
        "{}",
        r#"{"type":"shout"}"#,
        r#"{"type":"pong","more":1}"#,
        r#"{"type":"follow","job_id":"17"}"#,
        r#"{"type":"hello","version":1}"#,
    ] {
        let mut socket = Socket::open(&bo).await;
        socket.send_text(bad.to_owned()).await;
        let (code, last) = socket.closed().await;
        let shown: String = bad.chars().take(40).collect();
        assert_eq!((code, &last["type"]), (4400, &json!("goodbye")), "{shown}: {last}");
        assert!(last["says"].as_str().unwrap().len() > 10, "{shown}: {last}");
    }

    let greets = async |hello: &str| {
        let ticket = ticket(&bo).await;
        let mut socket = Socket::enter(&bo, &ticket, None).await.unwrap();
        socket.send_text(hello.to_owned()).await;
        socket.closed().await.0
    };
    assert_eq!(greets(r#"{"type":"hello","version":2}"#).await, 4400);
    assert_eq!(greets(r#"{"type":"pong"}"#).await, 4400);
}

#[tokio::test]
async fn what_cannot_be_said_is_refused_and_the_socket_stays_open() {
    let world = World::new("live_refused").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let mut socket = Socket::open(&ana).await;
    let event = json!({ "type": "say", "job_id": job, "key": fresh(), "kind": "event",
        "body": { "event": "approved" } });
    let card = json!({ "type": "say", "job_id": job, "key": fresh(), "kind": "reading_card",
        "body": { "reading_label": "r9" } });
    let empty = json!({ "type": "say", "job_id": job, "key": fresh(), "kind": "text",
        "body": { "text": "  " } });
    let nowhere = json!({ "type": "say", "job_id": fresh(), "key": fresh(), "kind": "text",
        "body": { "text": "Anyone?" } });

    let mut said = Vec::new();
    for frame in [event, card, empty, nowhere] {
        socket.send(&frame).await;
        let refused = socket.until_type("refused").await;
        assert_eq!(refused["key"], frame["key"]);
        said.push(refused["problem"].clone());
    }

    insta::assert_json_snapshot!("live_refused", said);
    assert_eq!(world.service.count("message").await, 0);
    socket.say(job, "Still here.").await;
    socket.until_type("ack").await;
}

#[tokio::test]
async fn a_session_has_so_many_sockets_and_no_more() {
    let world = World::new("live_many").await;
    let bo = world.client("bo").await;
    let mut open = Vec::new();
    for _ in 0..8 {
        open.push(Socket::open(&bo).await);
    }

    let ticket = ticket(&bo).await;
    let mut ninth = Socket::enter(&bo, &ticket, None).await.unwrap();
    assert_eq!(ninth.closed().await.0, 4429);
    drop(open);
}

#[tokio::test]
async fn a_service_that_is_stopped_says_goodbye() {
    let mut world = World::new("live_stop").await;
    let bo = world.client("bo").await;
    let mut socket = Socket::open(&bo).await;

    world.service.signal("TERM").await;

    let (code, last) = socket.closed().await;
    assert_eq!((code, &last["code"]), (1012, &json!(1012)));
}

#[tokio::test]
async fn a_flood_of_frames_closes_the_socket() {
    let world = World::new("live_flood").await;
    let bo = world.client("bo").await;
    let mut socket = Socket::open(&bo).await;

    for _ in 0..600 {
        // It may be closed before all are sent.
        if !socket.try_send(r#"{"type":"pong"}"#).await {
            break;
        }
    }

    assert_eq!(socket.closed().await.0, 4429);
}

#[tokio::test]
async fn the_terminal_client_says_what_is_typed_and_shows_the_thread() {
    let world = World::new("live_talk").await;
    let bo = world.client("bo").await;
    let job = world.job(&bo).await;
    let mut bos = Socket::open(&bo).await;
    bos.follow(job, 0).await;
    bos.say(job, "Any hum?").await;
    bos.until_said("Any hum?").await;

    let mut talk = world.service.talk("ana", job).await;
    talk.type_line("None. \u{1b}[2J").await;
    bos.until_said("None. \u{1b}[2J").await;
    bos.say(job, "Thanks.").await;

    let shown = [talk.line().await, talk.line().await, talk.line().await];
    assert!(shown[0].ends_with("Any hum?"), "{shown:?}");
    assert!(shown[1].starts_with("   2 ") && shown[1].contains("Ana"), "{shown:?}");
    assert!(shown[1].contains("None."), "{shown:?}");
    assert!(!shown[1].contains('\u{1b}'), "a message cannot steer the terminal: {shown:?}");
    assert!(shown[2].ends_with("Thanks."), "{shown:?}");
    // Ctrl-C is a clean end.
    assert!(talk.interrupted().await.success());
}

#[tokio::test]
async fn the_terminal_client_comes_back_after_a_killed_service_and_loses_nothing() {
    let mut world = World::new("live_talk_back").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let front = blackbox::proxy::Proxy::start(world.service.host()).await;
    let mut talk = world.service.talk_at(&format!("http://{}", front.address), "ana", job).await;
    talk.type_line("Before.").await;
    assert!(talk.line().await.ends_with("Before."));

    world.service.signal("KILL").await;
    talk.type_line("During.").await;
    world.service.kill_and_start().await;
    front.moved(world.service.host());

    assert!(talk.line().await.ends_with("During."));
    assert!(talk.interrupted().await.success());
    assert_eq!(world.service.count("message").await, 2);
}
