//! The examples and the schema in `protocol/` say what `src/protocol.rs` says.
#![allow(clippy::unwrap_used, reason = "a test may")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use live::protocol::{
    ClientFrame, CloseCode, MessageBody, MessageKind, Problem, Protocol, Resume, ServerFrame,
};
use proptest::prelude::*;
use schemars::schema_for;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use uuid::Uuid;

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("protocol").join(name)
}

/// Every example reads as a frame, writes back as it was, and every kind of frame has one.
fn check_examples<F: DeserializeOwned + Serialize>(name: &str, definition: &str) {
    let mut shown = BTreeSet::new();
    for entry in std::fs::read_dir(folder(name)).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let frame: F =
            serde_json::from_str(&text).unwrap_or_else(|error| panic!("{path:?}: {error}"));
        let example: Value = serde_json::from_str(&text).unwrap();
        let mut written = serde_json::to_value(&frame).unwrap();
        same_times(&mut written);
        assert_eq!(written, example, "{path:?}");
        let kind = example["type"].as_str().unwrap().to_owned();
        assert_eq!(path.file_stem().unwrap().to_str().unwrap(), kind);
        shown.insert(kind);
    }
    let schema = serde_json::to_value(schema_for!(Protocol)).unwrap();
    let variants = schema["$defs"][definition]["oneOf"].as_array().unwrap();
    let known: BTreeSet<String> = variants
        .iter()
        .map(|variant| variant["properties"]["type"]["const"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(shown, known);
}

/// An example's time may be written with fewer digits than ours.
fn same_times(value: &mut Value) {
    if let Some(at) = value.pointer_mut("/message/at") {
        let time: chrono::DateTime<chrono::Utc> = serde_json::from_value(at.clone()).unwrap();
        *at = json!(time.to_rfc3339_opts(chrono::SecondsFormat::Millis, true));
    }
}

#[test]
fn every_client_frame_has_a_true_example() {
    check_examples::<ClientFrame>("client", "ClientFrame");
}

#[test]
fn every_server_frame_has_a_true_example() {
    check_examples::<ServerFrame>("server", "ServerFrame");
}

/// Run with `UPDATE_SCHEMA=1` to write the file anew.
#[test]
fn the_committed_schema_is_that_of_the_frames() {
    let path = folder("schema.json");
    let mut schema = serde_json::to_string_pretty(&schema_for!(Protocol)).unwrap();
    schema.push('\n');
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(&path, &schema).unwrap();
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        committed == schema,
        "protocol/schema.json is stale; write it anew with \
         `UPDATE_SCHEMA=1 cargo test -p countersign-live --test protocol`"
    );
}

#[test]
fn every_close_code_is_explained() {
    let text = std::fs::read_to_string(folder("../PROTOCOL.md")).unwrap();
    for code in CloseCode::ALL {
        assert!(text.contains(&format!("| {} |", code.number())), "{code:?}");
    }
}

#[test]
fn an_unknown_field_or_frame_is_refused() {
    let check = |text: &str, names: &str| {
        let error = serde_json::from_str::<ClientFrame>(text).unwrap_err().to_string();
        assert!(error.contains(names), "{error}");
    };
    check(r#"{"type":"pong","extra":1}"#, "extra");
    check(r#"{"type":"sing"}"#, "sing");
    check(r#"{"type":"hello","version":1,"resume":{"live_afer":1}}"#, "live_afer");
    check(r#"{"type":"follow","job_id":"7"}"#, "UUID");
    check(r#"{"type":"mark","job_id":"01927b3c-0000-7000-8000-0000000000a1","seen_seq":-1}"#, "-1");
    check("[]", "missing field `type`");
}

fn id() -> impl Strategy<Value = Uuid> {
    any::<u128>().prop_map(Uuid::from_u128)
}

fn body() -> impl Strategy<Value = MessageBody> {
    let text = || proptest::option::of(any::<String>());
    (text(), text(), proptest::option::of(id()), text()).prop_map(
        |(text, reading_label, reading_id, event)| MessageBody {
            text,
            reading_label,
            reading_id,
            event,
            ..MessageBody::default()
        },
    )
}

fn kind() -> impl Strategy<Value = MessageKind> {
    prop_oneof![
        Just(MessageKind::Text),
        Just(MessageKind::ReadingCard),
        Just(MessageKind::Event),
        Just(MessageKind::Photo),
        Just(MessageKind::Ask),
    ]
}

fn client_frame() -> impl Strategy<Value = ClientFrame> {
    let threads = proptest::collection::btree_map(id(), any::<u64>(), 0..4);
    prop_oneof![
        (any::<u32>(), proptest::option::of(any::<u64>()), threads).prop_map(
            |(version, live_after, threads)| ClientFrame::Hello {
                version,
                resume: Resume { live_after, threads }
            }
        ),
        (id(), any::<u64>()).prop_map(|(job_id, after)| ClientFrame::Follow { job_id, after }),
        id().prop_map(|job_id| ClientFrame::Unfollow { job_id }),
        (id(), id(), kind(), body()).prop_map(|(job_id, key, kind, body)| ClientFrame::Say {
            job_id,
            key,
            kind,
            body
        }),
        (id(), any::<u64>()).prop_map(|(job_id, seen_seq)| ClientFrame::Mark { job_id, seen_seq }),
        (id(), any::<bool>()).prop_map(|(job_id, looking)| ClientFrame::Look { job_id, looking }),
        id().prop_map(|job_id| ClientFrame::Typing { job_id }),
        Just(ClientFrame::Pong {}),
    ]
}

fn server_frame() -> impl Strategy<Value = ServerFrame> {
    let problem = (any::<String>(), any::<String>())
        .prop_map(|(title, detail)| Problem::new("invalid", &title, detail));
    prop_oneof![
        (id(), any::<u64>(), any::<bool>()).prop_map(|(person_id, live_seq, resumed)| {
            ServerFrame::Welcome { version: 1, person_id, live_seq, resumed }
        }),
        (id(), id(), any::<u64>()).prop_map(|(key, job_id, seq)| ServerFrame::Ack {
            key,
            job_id,
            seq
        }),
        (proptest::option::of(id()), proptest::option::of(id()), problem)
            .prop_map(|(key, job_id, problem)| ServerFrame::Refused { key, job_id, problem }),
        (any::<u16>(), any::<String>())
            .prop_map(|(code, says)| ServerFrame::Goodbye { code, says }),
        (any::<u64>(), id()).prop_map(|(live_seq, ref_id)| ServerFrame::Changed {
            live_seq,
            topic: live::protocol::ChangedTopic::Request,
            ref_id,
            body: BTreeMap::from([("state".to_owned(), json!("ready"))]),
            row: live_seq.is_multiple_of(2).then(|| json!({ "id": ref_id, "number": 12 })),
        }),
    ]
}

proptest! {
    #[test]
    fn a_client_frame_reads_as_it_was_written(frame in client_frame()) {
        let text = serde_json::to_string(&frame).unwrap();
        prop_assert_eq!(serde_json::from_str::<ClientFrame>(&text).unwrap(), frame);
    }

    #[test]
    fn a_server_frame_reads_as_it_was_written(frame in server_frame()) {
        let text = serde_json::to_string(&frame).unwrap();
        prop_assert_eq!(serde_json::from_str::<ServerFrame>(&text).unwrap(), frame);
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in ".*") {
        let _ = serde_json::from_str::<ClientFrame>(&text);
    }
}
