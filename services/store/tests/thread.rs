//! Threads: numbers under contention, repeats, what is withheld, marks.
#![allow(clippy::unwrap_used, reason = "a test may")]

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use sea_orm::ConnectionTrait as _;
use store::ambient::Ambient;
use store::person::Role;
use store::thread::many::{Said, say_many};
use store::thread::{self, Message, MessageBody, MessageKind, Page, Saying};
use store::{Caller, Store, StoreError, live_feed, testbed};
use uuid::Uuid;

const fn id(last: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + last)
}

const SHOP: Uuid = id(0x1);
const JOB: Uuid = id(0x41);
const READING: Uuid = id(0x51);

async fn seeded(name: &str) -> Store {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store.conn().execute_unprepared(include_str!("seed.sql")).await.unwrap();
    store
}

fn caller(shop: u128, person: u128) -> Caller {
    Caller {
        person_id: id(0x10 + person),
        shop_id: id(shop),
        roles: vec![Role::Technician],
        qualifications: Vec::new(),
        session_id: id(0x20 + person),
        guest: None,
    }
}

fn ana() -> Caller {
    caller(1, 1)
}

fn bo() -> Caller {
    caller(1, 2)
}

fn text(store: &Store, words: &str) -> Saying {
    let body = MessageBody { text: Some(words.to_owned()), ..MessageBody::default() };
    Saying { client_key: store.new_id(), kind: MessageKind::Text, body }
}

async fn messages(store: &Store, caller: &Caller, after: i64, limit: i64) -> Vec<Message> {
    match thread::messages_after(store, caller, JOB, after, limit).await.unwrap() {
        Page::Messages { messages, .. } => messages,
        Page::Withheld => panic!("withheld"),
    }
}

/// Bo has taken a request on the job to read. The gate's own guards are not what is tried
/// here, so they are off.
async fn bo_reads(store: &Store, state: &str) {
    let script = format!(
        "BEGIN; SET LOCAL session_replication_role = replica; DELETE FROM condemn_request; \
         INSERT INTO condemn_request (id, shop_id, job_id, requester, claim, state, \
             estimated_cost_cents, circuit_name, circuit_text, digest, verdict, judged_revision, \
             judged_at, reader, created_at, changed_at) \
         VALUES ('{}', '{SHOP}', '{JOB}', '{}', '{{\"component\": \"compressor\"}}', '{state}', \
             1, 'any', '', repeat('0', 64), \
             jsonb_build_object('evidence_digest', repeat('0', 64)), 0, now(), '{}', now(), \
             now()); COMMIT",
        id(0x61),
        ana().person_id,
        bo().person_id
    );
    store.conn().execute_unprepared(&script).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn fifty_writers_at_once_get_numbers_without_gaps_that_commit_in_order() {
    const WRITERS: i64 = 50;
    let store = seeded("thread_at_once").await;
    let done = Arc::new(AtomicBool::new(false));

    // A poller that asks for what comes after the last number it saw, while they write.
    let poller = {
        let (store, done) = (store.clone(), Arc::clone(&done));
        tokio::spawn(async move {
            let mut seen = Vec::new();
            loop {
                let last_look = done.load(Ordering::SeqCst);
                let after = seen.last().copied().unwrap_or(0);
                seen.extend(messages(&store, &bo(), after, 7).await.iter().map(|said| said.seq));
                if last_look && seen.len() as i64 >= WRITERS {
                    return seen;
                }
            }
        })
    };
    let writers: Vec<_> = (0..WRITERS)
        .map(|number| {
            let store = store.clone();
            let caller = if number % 2 == 0 { ana() } else { bo() };
            tokio::spawn(async move {
                let saying = text(&store, &number.to_string());
                thread::say(&store, &caller, JOB, saying).await.unwrap().seq
            })
        })
        .collect();
    let mut given = BTreeSet::new();
    for writer in writers {
        given.insert(writer.await.unwrap());
    }
    done.store(true, Ordering::SeqCst);

    let all: Vec<i64> = (1..=WRITERS).collect();
    assert_eq!(given.into_iter().collect::<Vec<_>>(), all);
    assert_eq!(poller.await.unwrap(), all);
    let events = live_feed::events_after(store.conn(), SHOP, 0, 100).await.unwrap();
    assert_eq!(events.iter().map(|event| event.seq).collect::<Vec<_>>(), all);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_repeat_is_the_same_message_even_at_the_same_time() {
    let store = seeded("thread_repeat").await;
    let saying = text(&store, "Once.");

    let repeats: Vec<_> = (0..8)
        .map(|_| {
            let (store, saying) = (store.clone(), saying.clone());
            tokio::spawn(async move { thread::say(&store, &ana(), JOB, saying).await.unwrap() })
        })
        .collect();
    for repeat in repeats {
        assert_eq!(repeat.await.unwrap().seq, 1);
    }

    let other = Saying { body: text(&store, "Other.").body, ..saying.clone() };
    let refused = thread::say(&store, &ana(), JOB, other).await.unwrap_err();
    assert!(matches!(refused, StoreError::Conflict { code: "key-reused", .. }), "{refused:?}");
    // Another person's client may have made the same key.
    assert_eq!(thread::say(&store, &bo(), JOB, saying).await.unwrap().seq, 2);
    assert_eq!(messages(&store, &ana(), 0, 10).await.len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_card_carries_both_names_of_a_reading_of_the_job() {
    let store = seeded("thread_card").await;
    let card = |body: MessageBody| Saying {
        client_key: store.new_id(),
        kind: MessageKind::ReadingCard,
        body,
    };
    let by_label = MessageBody { reading_label: Some("r1".to_owned()), ..MessageBody::default() };
    let by_id = MessageBody { reading_id: Some(READING), ..MessageBody::default() };
    let both = MessageBody { reading_id: Some(READING), ..by_label.clone() };

    for body in [by_label, by_id] {
        let said = thread::say(&store, &ana(), JOB, card(body)).await.unwrap();
        assert_eq!(said.body, both);
    }
    for wrong in [
        MessageBody { reading_label: Some("r2".to_owned()), ..MessageBody::default() },
        MessageBody { reading_label: Some("r2".to_owned()), ..both },
    ] {
        let refused = thread::say(&store, &ana(), JOB, card(wrong)).await.unwrap_err();
        assert!(matches!(refused, StoreError::Invalid { .. }), "{refused:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_blind_reader_is_shown_nothing_and_says_nothing() {
    let store = seeded("thread_blind").await;
    thread::say(&store, &ana(), JOB, text(&store, "It is the run winding.")).await.unwrap();

    bo_reads(&store, "reading").await;
    let page = thread::messages_after(&store, &bo(), JOB, 0, 10).await.unwrap();
    let refused = thread::say(&store, &bo(), JOB, text(&store, "Is it?")).await.unwrap_err();

    assert_eq!(page, Page::Withheld);
    assert!(matches!(refused, StoreError::Forbidden { code: "blind-first", .. }), "{refused:?}");
    assert_eq!(thread::opened_at(store.conn(), JOB, bo().person_id).await.unwrap(), None);
    assert_eq!(messages(&store, &ana(), 0, 10).await.len(), 1);

    bo_reads(&store, "revealed").await;
    assert_eq!(messages(&store, &bo(), 0, 10).await.len(), 1);
    assert!(thread::opened_at(store.conn(), JOB, bo().person_id).await.unwrap().is_some());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mark_never_goes_back_nor_beyond_the_end() {
    let store = seeded("thread_mark").await;
    let seen = async || {
        let members = thread::members(&store, &ana(), JOB).await.unwrap();
        members.into_iter().find(|member| member.id == bo().person_id).unwrap().seen_seq
    };
    for number in 0..5 {
        thread::say(&store, &ana(), JOB, text(&store, &number.to_string())).await.unwrap();
    }
    // Whoever was never shown the thread has read nothing of it, whatever their client says.
    thread::mark(&store, &bo(), JOB, 3).await.unwrap();
    assert_eq!(thread::opened_at(store.conn(), JOB, bo().person_id).await.unwrap(), None);
    messages(&store, &bo(), 0, 10).await;

    for (asked, kept) in [(3, 3), (1, 3), (i64::MAX, 5), (-1, 5)] {
        thread::mark(&store, &bo(), JOB, asked).await.unwrap();
        assert_eq!(seen().await, kept, "{asked}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_service_says_is_in_the_same_order_and_undone_with_its_transaction() {
    let store = seeded("thread_event").await;
    let say_event = async |commit: bool| {
        let txn = store.begin().await.unwrap();
        let words = "A condemn request was made.";
        thread::event_append(&txn, store.ambient(), SHOP, JOB, words).await.unwrap();
        if commit {
            txn.commit().await.unwrap();
        }
    };

    say_event(true).await;
    say_event(false).await;
    thread::say(&store, &ana(), JOB, text(&store, "Seen.")).await.unwrap();

    let said = messages(&store, &bo(), 0, 10).await;
    let kinds: Vec<_> = said.iter().map(|message| (message.seq, message.kind)).collect();
    assert_eq!(kinds, [(1, MessageKind::Event), (2, MessageKind::Text)]);
    assert_eq!(said[0].author, None);
    assert_eq!(said[1].author.as_ref().unwrap().name, "Ana");
}

#[tokio::test(flavor = "multi_thread")]
async fn another_shop_finds_no_such_job() {
    let store = seeded("thread_shop").await;
    thread::say(&store, &ana(), JOB, text(&store, "Ours.")).await.unwrap();
    let other = caller(2, 3);

    let look = thread::messages_after(&store, &other, JOB, 0, 10).await.unwrap_err();
    let say = thread::say(&store, &other, JOB, text(&store, "Theirs.")).await.unwrap_err();
    let mark = thread::mark(&store, &other, JOB, 1).await.unwrap_err();

    for error in [look, say, mark] {
        assert!(matches!(error, StoreError::NotFound { what: "job" }), "{error:?}");
    }
    assert_eq!(thread::members(&store, &other, JOB).await.unwrap(), []);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_database_refuses_to_change_what_was_said() {
    let store = seeded("thread_refused").await;
    thread::say(&store, &ana(), JOB, text(&store, "Said.")).await.unwrap();

    for sql in ["UPDATE message SET body = '{}'", "DELETE FROM message", "TRUNCATE message CASCADE"]
    {
        let refused = store.conn().execute_unprepared(sql).await.unwrap_err();
        assert_eq!(store::error::constraint_of(&refused), Some("message_append_only"));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn messages_stored_together_are_each_stored_once_and_refused_alone() {
    let store = seeded("thread_together").await;
    let say = |caller: Caller, saying: Saying| Said { caller, job_id: JOB, saying };
    let first = text(&store, "first");
    // The thread is there once something was said in it.
    thread::say(&store, &ana(), JOB, first.clone()).await.unwrap();
    let (second, third) = (text(&store, "second"), text(&store, "third"));
    let other_words = Saying { body: text(&store, "else").body, ..second.clone() };
    let nul = text(&store, "\0");
    let elsewhere = Said { caller: caller(2, 3), job_id: JOB, saying: text(&store, "Hello?") };
    let all = vec![
        say(ana(), first),
        say(bo(), second.clone()),
        say(ana(), text(&store, " ")),
        say(bo(), second),
        say(bo(), other_words),
        elsewhere,
        say(ana(), third),
    ];

    let told = say_many(&store, &all).await;
    let spoiled = say_many(&store, &[say(ana(), nul), say(ana(), text(&store, "fourth"))]).await;

    let shown: Vec<String> = told
        .iter()
        .map(|answer| match answer {
            Ok(seq) => seq.to_string(),
            Err(StoreError::Conflict { code, .. }) => (*code).to_owned(),
            Err(StoreError::Invalid { .. }) => "invalid".to_owned(),
            Err(StoreError::NotFound { .. }) => "not found".to_owned(),
            Err(other) => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(shown, ["1", "2", "invalid", "2", "key-reused", "not found", "3"]);
    assert!(matches!(spoiled[0], Err(StoreError::Invalid { .. })), "{:?}", spoiled[0]);
    assert_eq!(*spoiled[1].as_ref().unwrap(), 4);
    let stored: Vec<i64> =
        messages(&store, &ana(), 0, 100).await.iter().map(|message| message.seq).collect();
    assert_eq!(stored, [1, 2, 3, 4]);
    bo_reads(&store, "reading").await;
    let blind =
        say_many(&store, &[say(bo(), text(&store, "Which?")), say(ana(), text(&store, "fifth"))])
            .await;
    assert!(matches!(blind[0], Err(StoreError::Forbidden { code: "blind-first", .. })));
    assert_eq!(*blind[1].as_ref().unwrap(), 5);
}

#[tokio::test(flavor = "multi_thread")]
async fn lots_that_are_stored_at_once_do_not_lock_each_other_out() {
    let store = seeded("thread_lots").await;
    thread::say(&store, &ana(), JOB, text(&store, "first")).await.unwrap();
    let lots = (0..12).map(|_| {
        let store = store.clone();
        let all: Vec<Said> = (0..10)
            .map(|number| Said {
                caller: if number % 2 == 0 { ana() } else { bo() },
                job_id: JOB,
                saying: text(&store, &number.to_string()),
            })
            .collect();
        tokio::spawn(async move { say_many(&store, &all).await })
    });

    let mut numbers = vec![1];
    for lot in lots.collect::<Vec<_>>() {
        for answer in lot.await.unwrap() {
            numbers.push(answer.unwrap());
        }
    }

    numbers.sort_unstable();
    assert_eq!(numbers, (1..=121).collect::<Vec<_>>());
    let events = live_feed::events_after(store.conn(), ana().shop_id, 0, 1000).await.unwrap();
    let announced: Vec<i64> = events.iter().map(|event| event.seq).collect();
    assert_eq!(announced, (1..=events.len() as i64).collect::<Vec<_>>());
}
