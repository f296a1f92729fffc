//! What a connection promises, over memory: tables in memory, streams in memory, time that
//! moves only when nothing else can.
#![allow(clippy::unwrap_used, reason = "a test may")]

mod support;

use std::collections::BTreeMap;
use std::time::Duration;

use live::End;
use live::limits::{
    FOLLOWED_THREADS_MAX, FRAME_BYTES_MAX, FRAMES_BURST_MAX, OUTGOING_FRAMES_MAX, PAGE_ROWS_MAX,
    SOCKETS_PER_SESSION_MAX,
};
use live::protocol::{
    ChangedTopic, ClientFrame, CloseCode, MessageBody, MessageKind, Resume, ServerFrame,
};
use serde_json::json;
use store::person::Role;
use support::{Client, JOB, Tables, caller, hub, technician};
use tokio::time::{Instant, timeout};
use uuid::Uuid;

#[tokio::test(start_paused = true)]
async fn a_message_is_stored_before_it_is_acknowledged_and_reaches_every_follower() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut writer = Client::new(&hub, &technician(1)).await;
    let mut reader = Client::new(&hub, &technician(2)).await;
    writer.follow(0).await;
    reader.follow(0).await;

    writer.say(7, "Read it at the pins.").await;

    let ack = writer.next().await;
    assert_eq!(ack, ServerFrame::Ack { key: Uuid::from_u128(7), job_id: JOB, seq: 1 });
    assert_eq!(tables.stored(), 1);
    assert_eq!(reader.message().await, (1, "Read it at the pins.".to_owned()));
    assert_eq!(writer.message().await, (1, "Read it at the pins.".to_owned()));
}

#[tokio::test(start_paused = true)]
async fn a_repeated_message_is_stored_once_and_acknowledged_again() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;

    client.say(7, "Once.").await;
    client.say(7, "Once.").await;

    assert_eq!(client.next().await, client.next().await);
    assert_eq!(tables.stored(), 1);
}

#[tokio::test(start_paused = true)]
async fn a_resumed_client_gets_what_it_missed_and_nothing_twice() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let many = PAGE_ROWS_MAX * 2 + 3;
    for number in 1..=many {
        tables.store_text(Uuid::from_u128(5), &format!("{number}"));
    }
    tables.announce("job", JOB, json!({ "job_id": JOB }));
    let resume = Resume { live_after: Some(many), threads: BTreeMap::from([(JOB, 2)]) };

    let (mut client, welcome) = Client::resumed(&hub, &technician(1), resume).await;

    let ServerFrame::Welcome { resumed: true, live_seq, .. } = welcome else {
        panic!("{welcome:?}")
    };
    assert_eq!(live_seq, many);
    let following = client.next().await;
    assert_eq!(following, ServerFrame::Following { job_id: JOB, last_seq: many, withheld: false });
    for number in 3..=many {
        assert_eq!(client.message().await, (number, number.to_string()));
    }
    let changed = client.next().await;
    assert!(matches!(changed, ServerFrame::Changed { topic: ChangedTopic::Job, .. }));
}

#[tokio::test(start_paused = true)]
async fn a_client_away_for_longer_than_the_feed_is_kept_is_told_to_fetch_again() {
    let tables = Tables::default();
    let hub = hub(&tables);
    for _ in 0..10 {
        tables.announce("job", JOB, json!({}));
    }
    tables.prune_before(5);
    let welcomed = async |after: u64| {
        let resume = Resume { live_after: Some(after), ..Resume::default() };
        match Client::resumed(&hub, &technician(1), resume).await.1 {
            ServerFrame::Welcome { resumed, live_seq, .. } => (resumed, live_seq),
            other => panic!("{other:?}"),
        }
    };

    assert_eq!(welcomed(3).await, (false, 10));
    assert_eq!(welcomed(4).await, (true, 4));
    // From another database, or a future one.
    assert_eq!(welcomed(11).await, (false, 10));
}

#[tokio::test(start_paused = true)]
async fn a_blind_reader_gets_no_message_until_the_read_is_committed() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let reader = technician(1);
    let mut client = Client::new(&hub, &reader).await;
    client.follow(0).await;
    tables.store_text(Uuid::from_u128(5), "before");
    assert_eq!(client.message().await, (1, "before".to_owned()));

    tables.begin_blind_read(reader.person_id);
    let withheld = client.next().await;
    tables.store_text(Uuid::from_u128(5), "It is the run winding.");
    client.say(9, "What do you think?").await;

    assert_eq!(withheld, ServerFrame::Following { job_id: JOB, last_seq: 1, withheld: true });
    assert!(matches!(client.next().await, ServerFrame::Changed { .. }));
    let refused = client.next().await;
    let ServerFrame::Refused { problem, .. } = refused else { panic!("{refused:?}") };
    assert_eq!(problem.kind, "/problems/blind-first");
    let quiet = timeout(Duration::from_secs(5), client.next()).await;
    assert!(quiet.is_err(), "{quiet:?}");

    tables.commit_blind_read(reader.person_id);
    let shown = client.next().await;
    assert_eq!(shown, ServerFrame::Following { job_id: JOB, last_seq: 2, withheld: false });
    assert_eq!(client.message().await, (2, "It is the run winding.".to_owned()));
}

#[tokio::test(start_paused = true)]
async fn a_claim_in_an_announcement_does_not_leave_the_server() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;
    let body = json!({
        "job_id": JOB, "state": "ready",
        "claim": { "component": "compressor" }, "sentence": "Only the run winding explains it.",
        "version": { "claim": "compressor" },
    });

    tables.announce("request", Uuid::from_u128(9), body);

    let changed = client.next().await;
    let ServerFrame::Changed { body, .. } = changed else { panic!("{changed:?}") };
    let expected =
        BTreeMap::from([("job_id".to_owned(), json!(JOB)), ("state".to_owned(), json!("ready"))]);
    assert_eq!(body, expected);
}

#[tokio::test(start_paused = true)]
async fn mail_is_told_to_managers_only() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut manager = Client::new(&hub, &caller(1, Role::ServiceManager)).await;
    let mut other = Client::new(&hub, &technician(2)).await;

    tables.announce("mail", Uuid::from_u128(9), json!({}));
    tables.announce("job", JOB, json!({}));

    let topic = |frame| match frame {
        ServerFrame::Changed { topic, .. } => topic,
        other => panic!("{other:?}"),
    };
    assert_eq!(topic(manager.next().await), ChangedTopic::Mail);
    assert_eq!(topic(other.next().await), ChangedTopic::Job);
}

#[tokio::test(start_paused = true)]
async fn a_revoked_session_loses_its_sockets_within_a_second_and_no_other() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mine = technician(1);
    let first = Client::new(&hub, &mine).await;
    let second = Client::new(&hub, &mine).await;
    let mut other = Client::new(&hub, &technician(2)).await;

    // No wake-up: the notification is taken to be lost.
    let revoked_at = Instant::now();
    tables.revoke(mine.session_id);

    assert_eq!(first.closed().await, 4401);
    assert_eq!(second.closed().await, 4401);
    assert!(revoked_at.elapsed() < Duration::from_secs(1), "{:?}", revoked_at.elapsed());
    assert!(matches!(other.follow(0).await, ServerFrame::Following { .. }));
}

#[tokio::test(start_paused = true)]
async fn a_session_that_ended_unannounced_loses_its_socket_at_the_next_ping() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mine = technician(1);
    let client = Client::new(&hub, &mine).await;

    tables.end_session(mine.session_id);

    assert_eq!(client.closed().await, 4401);
    let mut late = Client::silent(&hub, &mine).await;
    late.send_text(r#"{"type":"hello","version":1}"#).await;
    assert_eq!(late.closed().await, 4401);
}

#[tokio::test(start_paused = true)]
async fn a_client_that_does_not_read_is_closed_and_resumes_without_loss() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut slow = Client::new(&hub, &technician(1)).await;
    slow.follow(0).await;
    let many = OUTGOING_FRAMES_MAX as u64 * 3;
    for number in 1..=many {
        tables.store_text(Uuid::from_u128(5), &format!("{number} {}", "x".repeat(200)));
    }

    let end = slow.served.await.unwrap();

    assert!(matches!(end, End::Closed(CloseCode::TooSlow, _)), "{end:?}");
    let resume = Resume { live_after: None, threads: BTreeMap::from([(JOB, 0)]) };
    let (mut back, _) = Client::resumed(&hub, &technician(1), resume).await;
    for number in 1..=many {
        assert_eq!(back.message().await.0, number);
    }
}

#[tokio::test(start_paused = true)]
async fn a_client_that_says_nothing_is_taken_for_gone() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let client = Client::new(&hub, &technician(1)).await;

    // `closed` reads and does not answer pings.
    assert_eq!(client.closed().await, 4408);
    assert_eq!(hub.sockets(), 0);
}

#[tokio::test(start_paused = true)]
async fn a_client_that_answers_pings_stays() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;

    let quiet = timeout(Duration::from_secs(600), client.next()).await;

    assert!(quiet.is_err());
    assert!(matches!(client.follow(0).await, ServerFrame::Following { .. }));
}

#[tokio::test(start_paused = true)]
async fn a_faulty_client_is_closed_with_4400() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let me = technician(1);
    let check_first = async |text: String| {
        let mut client = Client::silent(&hub, &me).await;
        client.send_text(&text).await;
        assert_eq!(client.closed().await, 4400, "{text:.60}");
    };

    check_first("rubbish".to_owned()).await;
    check_first(r#"{"type":"hello","version":2}"#.to_owned()).await;
    check_first(format!(r#"{{"type":"follow","job_id":"{JOB}"}}"#)).await;
    check_first(format!(r#"{{"type":"hello","version":1,"x":"{}"}}"#, "é".repeat(200))).await;

    let silent = Client::silent(&hub, &me).await;
    assert_eq!(silent.closed().await, 4400);

    let mut twice = Client::new(&hub, &me).await;
    twice.send_text(r#"{"type":"hello","version":1}"#).await;
    assert_eq!(twice.closed().await, 4400);
}

#[tokio::test(start_paused = true)]
async fn a_frame_that_is_too_long_is_closed_with_4400() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;

    // The far end closes before all of it is written.
    let text = "x".repeat(FRAME_BYTES_MAX + 1);
    let sent = futures_util::SinkExt::send(
        &mut client.socket,
        tokio_tungstenite::tungstenite::Message::text(text),
    );
    let _ = timeout(Duration::from_millis(100), sent).await;

    let end = client.served.await.unwrap();
    assert!(matches!(end, End::Closed(CloseCode::BadFrame, _)), "{end:?}");
}

#[tokio::test(start_paused = true)]
async fn too_many_sockets_or_frames_are_closed_with_4429() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let me = technician(1);
    let mut open = Vec::new();
    for _ in 0..SOCKETS_PER_SESSION_MAX {
        open.push(Client::new(&hub, &me).await);
    }
    let one_more = Client::silent(&hub, &me).await;
    assert_eq!(one_more.closed().await, 4429);

    let mut noisy = open.pop().unwrap();
    for _ in 0..=FRAMES_BURST_MAX {
        if noisy.socket_send_pong().await.is_err() {
            break;
        }
    }
    assert_eq!(noisy.closed().await, 4429);

    // Both places are free again.
    let mut next = Client::new(&hub, &me).await;
    assert!(matches!(next.follow(0).await, ServerFrame::Following { .. }));
}

#[tokio::test(start_paused = true)]
async fn what_cannot_be_said_is_refused_and_the_socket_stays() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;
    let key = Uuid::from_u128(7);
    let job_id = Uuid::from_u128(77);
    let body = MessageBody { text: Some("hello".to_owned()), ..MessageBody::default() };

    client.send(ClientFrame::Say { job_id, key, kind: MessageKind::Text, body }).await;

    let answer = client.next().await;
    let ServerFrame::Refused { key: Some(refused), problem, .. } = answer else {
        panic!("{answer:?}")
    };
    assert_eq!((refused, problem.kind.as_str()), (key, "/problems/not-found"));
    assert_eq!(tables.stored(), 0);
}

#[tokio::test(start_paused = true)]
async fn a_job_of_another_shop_cannot_be_followed() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;

    for number in 0..FOLLOWED_THREADS_MAX as u128 + 1 {
        let job_id = Uuid::from_u128(1_000 + number);
        client.send(ClientFrame::Follow { job_id, after: 0 }).await;
        let refused = client.next().await;
        let ServerFrame::Refused { problem, .. } = refused else { panic!("{refused:?}") };
        assert_eq!(problem.kind, "/problems/not-found");
    }

    // None of them counts as followed.
    assert!(matches!(client.follow(0).await, ServerFrame::Following { .. }));
}

#[tokio::test(start_paused = true)]
async fn an_unfollowed_thread_is_quiet() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;
    client.follow(0).await;

    client.send(ClientFrame::Unfollow { job_id: JOB }).await;
    client.send(ClientFrame::Mark { job_id: JOB, seen_seq: 3 }).await;
    client.say(1, "to nobody").await;

    assert!(matches!(client.next().await, ServerFrame::Ack { seq: 1, .. }));
    assert_eq!(tables.mark_of(technician(1).person_id), Some(3));
    assert!(timeout(Duration::from_secs(5), client.next()).await.is_err());
}

#[tokio::test(start_paused = true)]
async fn a_database_that_was_away_loses_nothing() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let mut client = Client::new(&hub, &technician(1)).await;
    client.follow(0).await;

    tables.away(true);
    client.say(1, "first").await;
    let refused = client.next().await;
    tables.store_text(Uuid::from_u128(5), "from elsewhere");
    tokio::time::sleep(Duration::from_secs(30)).await;
    tables.away(false);

    let ServerFrame::Refused { problem, .. } = refused else { panic!("{refused:?}") };
    assert_eq!(problem.kind, "/problems/unavailable");
    assert_eq!(client.message().await, (1, "from elsewhere".to_owned()));
    client.say(1, "first").await;
    assert_eq!(client.message().await, (2, "first".to_owned()));
}

#[tokio::test(start_paused = true)]
async fn two_servers_on_one_database_show_the_same_thread() {
    let tables = Tables::default();
    let (one, two) = (hub(&tables), hub(&tables));
    let mut here = Client::new(&one, &technician(1)).await;
    let mut there = Client::new(&two, &technician(2)).await;
    here.follow(0).await;
    there.follow(0).await;

    for number in 0..40 {
        let writer = if number % 2 == 0 { &mut here } else { &mut there };
        writer.say(number, &format!("{number}")).await;
        while !matches!(writer.next().await, ServerFrame::Ack { .. }) {}
    }

    let resume = || Resume { live_after: None, threads: BTreeMap::from([(JOB, 0)]) };
    let (mut here, _) = Client::resumed(&one, &technician(1), resume()).await;
    let (mut there, _) = Client::resumed(&two, &technician(2), resume()).await;
    for _ in 0..40 {
        assert_eq!(here.message().await, there.message().await);
    }
}

#[tokio::test(start_paused = true)]
async fn a_stopping_server_says_that_it_comes_back() {
    let tables = Tables::default();
    let hub = hub(&tables);
    let client = Client::new(&hub, &technician(1)).await;

    hub.close();

    assert_eq!(client.closed().await, 1012);
}
