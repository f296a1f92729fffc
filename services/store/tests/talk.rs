//! What a thread holds beside words: photos, asks answered, people named, who is here, search.
#![allow(clippy::unwrap_used, reason = "a test may")]

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use engine::case::{Power, Shown};
use engine::units::Quantity;
use sea_orm::ConnectionTrait as _;
use store::ambient::Ambient;
use store::person::Role;
use store::photo::{self, Size};
use store::thread::ask::{Ask, Filled};
use store::thread::{self, MessageBody, MessageKind, Page, Saying, here, search};
use store::{Caller, Store, StoreError, evidence, testbed};
use uuid::Uuid;

const fn id(last: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + last)
}

const JOB: Uuid = id(0x41);

/// A PNG of one pixel.
const DOT: &str = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==";

async fn seeded(name: &str) -> Store {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store.conn().execute_unprepared(include_str!("seed.sql")).await.unwrap();
    // A circuit that there is, and no reading that was none.
    let fit = "BEGIN; SET LOCAL session_replication_role = replica; DELETE FROM reading; \
         UPDATE unit SET circuit = 'compressor-1ph-plug'; UPDATE job SET circuit = NULL; COMMIT";
    store.conn().execute_unprepared(fit).await.unwrap();
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

async fn say(store: &Store, who: &Caller, kind: MessageKind, body: MessageBody) -> thread::Message {
    let saying = Saying { client_key: store.new_id(), kind, body };
    thread::say(store, who, JOB, saying).await.unwrap()
}

fn words(text: &str) -> MessageBody {
    MessageBody { text: Some(text.to_owned()), ..MessageBody::default() }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_photo_is_kept_once_by_what_it_is_and_shown_by_a_message_of_its_owner() {
    let store = seeded("talk_photo").await;
    let (ana, bo, cy) = (caller(1, 1), caller(1, 2), caller(2, 3));
    let bytes = STANDARD.decode(DOT).unwrap();

    let kept = photo::photo_keep(&store, &ana, JOB, bytes.clone()).await.unwrap();
    let again = photo::photo_keep(&store, &ana, JOB, bytes.clone()).await.unwrap();

    assert_ne!(kept.id, again.id);
    let contents = "SELECT 1 FROM photo_content";
    let statement = sea_orm::Statement::from_string(sea_orm::DbBackend::Postgres, contents);
    // Two sizes of one pixel at two qualities.
    assert_eq!(store.conn().query_all_raw(statement).await.unwrap().len(), 2);
    let body = MessageBody { photo_id: Some(kept.id), ..words("The plug") };
    let said = say(&store, &ana, MessageKind::Photo, body.clone()).await;
    assert_eq!((said.body.width_px, said.body.height_px), (Some(1), Some(1)));
    let theirs = Saying { client_key: store.new_id(), kind: MessageKind::Photo, body };
    let refused = thread::say(&store, &bo, JOB, theirs).await.unwrap_err();
    assert!(matches!(refused, StoreError::Invalid { .. }), "{refused:?}");
    let shown = photo::photo_bytes(&store, &bo, kept.id, Size::Whole).await.unwrap();
    assert_eq!(&shown[..2], [0xFF, 0xD8]);
    let elsewhere = photo::photo_bytes(&store, &cy, kept.id, Size::Preview).await.unwrap_err();
    assert!(matches!(elsewhere, StoreError::NotFound { .. }));
    let elsewhere = photo::photo_keep(&store, &cy, JOB, bytes).await.unwrap_err();
    assert!(matches!(elsewhere, StoreError::NotFound { .. }));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_ask_is_answered_by_one_reading_and_the_thread_says_so() {
    let store = seeded("talk_ask").await;
    let (ana, bo) = (caller(1, 1), caller(1, 2));
    let ask = Ask {
        quantity: Quantity::Resistance,
        from: "C".to_owned(),
        to: "R".to_owned(),
        lifted: vec!["plug".to_owned()],
        power: Power::Off,
        state: None,
        why: "Open there too?".to_owned(),
    };
    let body = MessageBody { ask: Some(ask), ..MessageBody::default() };
    let asked = say(&store, &bo, MessageKind::Ask, body).await;
    let filled = || Filled {
        shown: Shown::OverLimit,
        part_temp_c: None,
        stopped_min: None,
        meter: None,
        meter_id: None,
    };

    let shown = evidence::ask_answer(&store, &ana, JOB, asked.id, filled()).await.unwrap();

    let reading = &shown.evidence.readings[0];
    assert_eq!((reading.reading.from.as_str(), reading.taken_by.id), ("C", ana.person_id));
    let Page::Messages { messages, .. } =
        thread::messages_after(&store, &bo, JOB, asked.seq, 10).await.unwrap()
    else {
        panic!("withheld")
    };
    let said = &messages[0].body;
    assert_eq!((said.ask_id, said.reading_id), (Some(asked.id), Some(reading.id)));
    let event = said.event.as_deref().unwrap();
    assert!(event.starts_with("r1 answers what Bo asked for"), "{event}");
    let second = evidence::ask_answer(&store, &bo, JOB, asked.id, filled()).await.unwrap_err();
    assert!(matches!(second, StoreError::Conflict { code: "ask-answered", .. }), "{second:?}");
    let kept = evidence::of_job(store.conn(), ana.shop_id, JOB).await.unwrap();
    assert_eq!(kept.readings.len(), 1, "the second was not kept");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mail_goes_to_whoever_is_named_and_not_looking() {
    let store = seeded("talk_mention").await;
    let (ana, bo) = (caller(1, 1), caller(1, 2));
    let name_bo = || MessageBody { mentions: vec![bo.person_id], ..words("@Bo, a word?") };
    let mails = async || {
        let sql = "SELECT payload FROM outbox";
        let statement = sea_orm::Statement::from_string(sea_orm::DbBackend::Postgres, sql);
        store.conn().query_all_raw(statement).await.unwrap().len()
    };

    let socket = store.new_id();
    here::look(&store, &bo, JOB, socket).await.unwrap();
    say(&store, &ana, MessageKind::Text, name_bo()).await;
    assert_eq!(mails().await, 0);
    assert_eq!(here::lookers(&store, ana.shop_id, JOB).await.unwrap()[0].id, bo.person_id);

    here::look_away(&store, None, socket).await.unwrap();
    assert_eq!(here::lookers(&store, ana.shop_id, JOB).await.unwrap(), []);
    say(&store, &ana, MessageKind::Text, name_bo()).await;
    assert_eq!(mails().await, 1);
    let stranger = MessageBody { mentions: vec![id(0x13)], ..words("@Cy") };
    let saying = Saying { client_key: store.new_id(), kind: MessageKind::Text, body: stranger };
    let refused = thread::say(&store, &ana, JOB, saying).await.unwrap_err();
    assert!(matches!(refused, StoreError::Invalid { .. }), "{refused:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_search_marks_what_it_found_by_the_stem_and_stays_in_the_shop() {
    let store = seeded("talk_search").await;
    let (ana, cy) = (caller(1, 1), caller(2, 3));
    say(&store, &ana, MessageKind::Text, words("The splices behind the fan were burnt.")).await;
    say(&store, &ana, MessageKind::Text, words("Nothing else.")).await;

    let hits = search::search(&store, &ana, "burnt splice").await.unwrap();

    assert_eq!(hits.len(), 1);
    let marked: Vec<&str> =
        hits[0].snippet.iter().filter(|(_, hit)| *hit).map(|(text, _)| &**text).collect();
    assert_eq!((hits[0].seq, marked), (1, vec!["splices", "burnt"]));
    assert_eq!(search::search(&store, &cy, "splice").await.unwrap(), []);
    assert_eq!(search::search(&store, &ana, " ").await.unwrap(), []);
}
