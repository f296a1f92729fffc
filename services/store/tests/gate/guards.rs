//! The database's own guards, tried with SQL that no handler would send.

use sea_orm::ConnectionTrait as _;
use store::Store;
use uuid::Uuid;

use super::{JOB, SHOP, constraint, id, seeded};

pub(super) const REQUEST: Uuid = id(0x61);

/// Evidence digests: D1 isolates, D2 does not.
pub(super) fn digest(n: u8) -> String {
    n.to_string().repeat(64)
}

fn verdict(n: u8) -> String {
    let outcome = if n == 1 { "isolated" } else { "not_isolated" };
    format!(r#"{{"outcome": "{outcome}", "evidence_digest": "{}"}}"#, digest(n))
}

pub(super) async fn run(store: &Store, text: &str) {
    store.conn().execute_unprepared(text).await.unwrap();
}

/// The name of the rule that refuses it.
async fn refused(store: &Store, text: &str) -> String {
    match store.conn().execute_unprepared(text).await {
        Ok(_) => format!("not refused: {text}"),
        Err(error) => constraint(&error),
    }
}

/// Ana took r1 and claims the compressor, at this cost, on evidence D1.
pub(super) async fn draft(store: &Store, cost_cents: i64) {
    run(store, &reading(0x51, "r1", 0x11)).await;
    let (digest, verdict) = (digest(1), verdict(1));
    run(
        store,
        &format!(
            "INSERT INTO condemn_request (id, shop_id, job_id, requester, claim, state, \
                 estimated_cost_cents, circuit_name, circuit_text, digest, verdict, \
                 judged_revision, judged_at, created_at, changed_at) \
             VALUES ('{REQUEST}', '{SHOP}', '{JOB}', '{}', '{{\"component\": \"compressor\"}}', \
                 'draft', {cost_cents}, 'c', 'c', '{digest}', '{verdict}', 1, now(), now(), now())",
            id(0x11)
        ),
    )
    .await;
}

pub(super) fn reading(reading: u128, label: &str, by: u128) -> String {
    format!(
        "INSERT INTO reading (id, shop_id, job_id, label, body, taken_by, taken_at) \
         VALUES ('{}', '{SHOP}', '{JOB}', '{label}', '{{}}', '{}', now())",
        id(reading),
        id(by)
    )
}

pub(super) fn state(state: &str, reader: u128) -> String {
    format!(
        "UPDATE condemn_request SET state = '{state}', reader = '{}' WHERE id = '{REQUEST}'",
        id(reader)
    )
}

pub(super) fn blind_read(reader: u128, n: u8) -> String {
    format!(
        "INSERT INTO blind_read (id, shop_id, request_id, reader, digest, component, sure, \
             agrees, seen_thread_before, revealed_at, at) \
         VALUES (gen_random_uuid(), '{SHOP}', '{REQUEST}', '{}', '{}', 'compressor', 'sure', \
             true, false, now(), now())",
        id(reader),
        digest(n)
    )
}

pub(super) fn countersign(signer: u128, n: u8) -> String {
    format!(
        "INSERT INTO countersignature (id, shop_id, request_id, signer, digest, \
             seconds_since_reveal, at) \
         VALUES (gen_random_uuid(), '{SHOP}', '{REQUEST}', '{}', '{}', 60, now())",
        id(signer),
        digest(n)
    )
}

pub(super) fn approve(approver: Option<u128>, n: u8, amount_cents: i64) -> String {
    let approver = approver.map_or("NULL".to_owned(), |one| format!("'{}'", id(one)));
    format!(
        "INSERT INTO approval (id, shop_id, request_id, approver, digest, decision, \
             amount_cents, at) \
         VALUES (gen_random_uuid(), '{SHOP}', '{REQUEST}', {approver}, '{}', 'approved', \
             {amount_cents}, now())",
        digest(n)
    )
}

/// Bo has read it blind and not yet signed.
pub(super) async fn revealed(store: &Store, cost_cents: i64) {
    draft(store, cost_cents).await;
    run(store, &state("reading", 0x12)).await;
    run(store, &blind_read(0x12, 1)).await;
    run(store, &state("revealed", 0x12)).await;
}

/// Bo has signed it, and a manager is asked.
pub(super) async fn awaiting(store: &Store, cost_cents: i64) {
    revealed(store, cost_cents).await;
    run(store, &countersign(0x12, 1)).await;
    run(store, &state("awaiting_approval", 0x12)).await;
}

#[tokio::test]
async fn what_is_on_the_record_is_never_changed_or_removed() {
    let store = seeded("guards_append_only").await;
    awaiting(&store, 90_000).await;
    run(&store, &approve(Some(0x14), 1, 90_000)).await;
    let strike = format!(
        "INSERT INTO reading_strike (reading_id, shop_id, job_id, by, at, reason) \
         VALUES ('{}', '{SHOP}', '{JOB}', '{}', now(), 'probe slipped')",
        id(0x51),
        id(0x11)
    );
    run(&store, &strike).await;

    for table in
        ["reading", "reading_strike", "observation", "blind_read", "countersignature", "approval"]
    {
        let rule = format!("{table}_append_only");
        assert_eq!(refused(&store, &format!("DELETE FROM {table}")).await, rule);
        assert_eq!(refused(&store, &format!("UPDATE {table} SET shop_id = shop_id")).await, rule);
        assert_eq!(refused(&store, &format!("TRUNCATE {table} CASCADE")).await, rule);
    }
    let kept = refused(&store, "DELETE FROM condemn_request").await;
    assert_eq!(kept, "condemn_request_kept");
}

#[tokio::test]
async fn every_change_of_evidence_counts_the_revision_up() {
    let store = seeded("guards_revision").await;
    let strike = format!(
        "INSERT INTO reading_strike (reading_id, shop_id, job_id, by, at, reason) \
         VALUES ('{}', '{SHOP}', '{JOB}', '{}', now(), 'probe slipped')",
        id(0x51),
        id(0x11)
    );
    let observation = format!(
        "INSERT INTO observation (id, shop_id, job_id, label, sign, present, by, at) \
         VALUES (gen_random_uuid(), '{SHOP}', '{JOB}', 'o1', 'hums', true, '{}', now())",
        id(0x11)
    );
    for (n, text) in [(1, reading(0x51, "r1", 0x11)), (2, strike), (3, observation)] {
        run(&store, &text).await;
        let count = format!("SELECT 1 FROM job WHERE id = '{JOB}' AND evidence_revision = {n}");
        let found = store.conn().execute_unprepared(&count).await.unwrap();
        assert_eq!(found.rows_affected(), 1, "revision {n}");
    }
    assert_eq!(refused(&store, &reading(0x52, "r1", 0x11)).await, "reading_label_key");
}

#[tokio::test]
async fn a_read_is_its_readers_alone_and_independent() {
    let store = seeded("guards_read").await;
    draft(&store, 100).await;
    assert_eq!(refused(&store, &blind_read(0x12, 1)).await, "blind_read_not_reader");
    run(&store, &state("reading", 0x12)).await;
    assert_eq!(refused(&store, &blind_read(0x13, 1)).await, "blind_read_not_reader");
    assert_eq!(refused(&store, &blind_read(0x12, 2)).await, "blind_read_stale");
    run(&store, &state("reading", 0x11)).await;
    assert_eq!(refused(&store, &blind_read(0x11, 1)).await, "blind_read_not_independent");
    let aside = format!(
        "INSERT INTO stand_aside (request_id, shop_id, person_id, at) \
         VALUES ('{REQUEST}', '{SHOP}', '{}', now())",
        id(0x13)
    );
    run(&store, &aside).await;
    run(&store, &state("reading", 0x13)).await;
    assert_eq!(refused(&store, &blind_read(0x13, 1)).await, "blind_read_not_independent");
}

#[tokio::test]
async fn a_countersignature_needs_an_independent_reader_who_has_read_this_evidence() {
    let store = seeded("guards_sign").await;
    draft(&store, 100).await;
    run(&store, &state("revealed", 0x13)).await;
    assert_eq!(refused(&store, &countersign(0x13, 1)).await, "countersignature_not_read");
    assert_eq!(refused(&store, &countersign(0x11, 1)).await, "countersignature_not_independent");
    run(&store, &state("reading", 0x12)).await;
    run(&store, &blind_read(0x12, 1)).await;
    assert_eq!(refused(&store, &countersign(0x12, 1)).await, "countersignature_state");
    run(&store, &state("revealed", 0x12)).await;
    assert_eq!(refused(&store, &countersign(0x12, 2)).await, "countersignature_stale");

    run(&store, &reading(0x52, "r2", 0x11)).await;
    assert_eq!(refused(&store, &countersign(0x12, 1)).await, "countersignature_stale");
    let judged = format!("UPDATE condemn_request SET judged_revision = 2 WHERE id = '{REQUEST}'");
    run(&store, &judged).await;
    run(&store, &countersign(0x12, 1)).await;
}

#[tokio::test]
async fn whoever_took_or_struck_a_reading_does_not_sign() {
    let store = seeded("guards_taker").await;
    revealed(&store, 100).await;
    run(&store, &reading(0x52, "r2", 0x12)).await;
    let judged = format!("UPDATE condemn_request SET judged_revision = 2 WHERE id = '{REQUEST}'");
    run(&store, &judged).await;
    assert_eq!(refused(&store, &countersign(0x12, 1)).await, "countersignature_not_independent");
}

#[tokio::test]
async fn evidence_that_does_not_isolate_is_signed_only_with_an_override_on_it() {
    let store = seeded("guards_isolated").await;
    draft(&store, 100).await;
    let judge = |n| {
        format!(
            "UPDATE condemn_request SET digest = '{}', verdict = '{}' WHERE id = '{REQUEST}'",
            digest(n),
            verdict(n)
        )
    };
    run(&store, &judge(2)).await;
    run(&store, &state("reading", 0x12)).await;
    run(&store, &blind_read(0x12, 2)).await;
    run(&store, &state("revealed", 0x12)).await;
    assert_eq!(refused(&store, &countersign(0x12, 2)).await, "countersignature_not_isolated");
    let over = |n: u8, reason: &str, by: u128| {
        format!(
            "UPDATE condemn_request SET override_by = '{}', override_at = now(), \
                 override_reason = '{reason}', override_digest = '{}' WHERE id = '{REQUEST}'",
            id(by),
            digest(n)
        )
    };
    let long = "the cover is under the slab";
    assert_eq!(refused(&store, &over(2, "no", 0x14)).await, "condemn_request_override");
    assert_eq!(refused(&store, &over(2, long, 0x11)).await, "condemn_request_override");
    run(&store, &over(1, long, 0x14)).await;
    assert_eq!(refused(&store, &countersign(0x12, 2)).await, "countersignature_not_isolated");
    run(&store, &over(2, long, 0x14)).await;
    run(&store, &countersign(0x12, 2)).await;
}

#[tokio::test]
async fn nothing_is_approved_without_its_signature_and_nothing_stale() {
    let store = seeded("guards_approve").await;
    revealed(&store, 100).await;
    for wanted in ["countersigned", "awaiting_approval", "approved"] {
        assert_eq!(
            refused(&store, &state(wanted, 0x12)).await,
            "condemn_request_unsigned",
            "{wanted}"
        );
    }
    assert_eq!(refused(&store, &approve(Some(0x14), 1, 100)).await, "approval_state");
    run(&store, &countersign(0x12, 1)).await;
    run(&store, &state("awaiting_approval", 0x12)).await;
    assert_eq!(refused(&store, &state("approved", 0x12)).await, "condemn_request_undecided");
    assert_eq!(refused(&store, &state("declined", 0x12)).await, "condemn_request_undecided");
    assert_eq!(refused(&store, &approve(None, 1, 100)).await, "approval_state");
    assert_eq!(refused(&store, &approve(Some(0x14), 2, 100)).await, "approval_stale");
    run(&store, &reading(0x52, "r2", 0x11)).await;
    assert_eq!(refused(&store, &approve(Some(0x14), 1, 100)).await, "approval_stale");
}

#[tokio::test]
async fn from_the_limit_on_the_approver_is_a_person_and_independent() {
    let store = seeded("guards_limit").await;
    revealed(&store, 50_000).await;
    run(&store, &countersign(0x12, 1)).await;
    run(&store, &state("countersigned", 0x12)).await;
    assert_eq!(refused(&store, &approve(None, 1, 100)).await, "approval_by_policy");
    run(&store, &state("awaiting_approval", 0x12)).await;
    for involved in [0x11, 0x12] {
        // Approving less than was estimated is no way around.
        for amount_cents in [50_000, 100] {
            assert_eq!(
                refused(&store, &approve(Some(involved), 1, amount_cents)).await,
                "approval_not_independent"
            );
        }
    }
    run(&store, &approve(Some(0x14), 1, 50_000)).await;
    assert_eq!(refused(&store, &approve(Some(0x15), 1, 50_000)).await, "approval_once");
    run(&store, &state("approved", 0x12)).await;
    assert_eq!(refused(&store, &state("ready", 0x12)).await, "condemn_request_ended");
}

#[tokio::test]
async fn a_request_begins_as_a_draft_and_keeps_who_claims_what() {
    let store = seeded("guards_begin").await;
    draft(&store, 100).await;
    let copy = |state: &str| {
        format!(
            "INSERT INTO condemn_request (id, shop_id, job_id, requester, claim, state, \
                 estimated_cost_cents, circuit_name, circuit_text, digest, verdict, \
                 judged_revision, judged_at, created_at, changed_at) \
             SELECT gen_random_uuid(), shop_id, job_id, requester, claim, '{state}', \
                 estimated_cost_cents, circuit_name, circuit_text, digest, verdict, \
                 judged_revision, judged_at, created_at, changed_at FROM condemn_request"
        )
    };
    assert_eq!(refused(&store, &copy("approved")).await, "condemn_request_begins");
    let change = |what: &str| format!("UPDATE condemn_request SET {what} WHERE id = '{REQUEST}'");
    for what in [
        "claim = '{\"component\": \"capacitor\"}'",
        "estimated_cost_cents = 1",
        "requester = '00000000-0000-7000-8000-000000000012'",
    ] {
        assert_eq!(refused(&store, &change(what)).await, "condemn_request_fixed", "{what}");
    }
    run(&store, &copy("draft")).await;
    assert_eq!(
        refused(&store, "UPDATE condemn_request SET state = 'held'").await,
        "condemn_request_open_key"
    );
}
