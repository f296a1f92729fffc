//! What the database keeps a guest to, whatever the service does.
//!
//! Belongs here: each trigger, tried with plain SQL. Does not belong here: the guest's way in
//! (the black box has it).

use sea_orm::ConnectionTrait as _;
use store::Store;
use store::request::Step;

use super::story::{claim, count, isolating_readings, judgement, make};
use super::{ana, bo, cleo, seeded};

const GUEST: &str = "00000000-0000-7000-8000-0000000000a1";
const LINK: &str = "00000000-0000-7000-8000-0000000000b1";

async fn refused(store: &Store, sql: &str) -> String {
    match store.conn().execute_unprepared(sql).await {
        Ok(_) => panic!("allowed: {sql}"),
        Err(error) => super::constraint(&error),
    }
}

async fn run(store: &Store, sql: &str) {
    store.conn().execute_unprepared(sql).await.unwrap();
}

/// A ready request, a link to it, and a guest who came by it.
async fn invited(name: &str) -> (Store, String) {
    let store = seeded(name).await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id.to_string();
    run(
        &store,
        &format!(
            "INSERT INTO guest_link (id, shop_id, request_id, job_id, made_by, token_hash, \
                 created_at, expires_at) SELECT '{LINK}', shop_id, id, job_id, requester, 'h', \
                 now(), now() + interval '1 day' FROM condemn_request WHERE id = '{id}'"
        ),
    )
    .await;
    run(&store, &guest_sql(GUEST, "rosa@lind.example", LINK)).await;
    (store, id)
}

fn guest_sql(id: &str, email: &str, link: &str) -> String {
    format!(
        "INSERT INTO person (id, shop_id, email, name, password_hash, roles, licence, guest_link, \
             created_at) SELECT '{id}', shop_id, '{email}', 'Rosa Lind', '-', '{{}}', 'L-1', id, \
             now() FROM guest_link WHERE id = '{link}'"
    )
}

fn take_sql(request: &str) -> String {
    format!(
        "UPDATE condemn_request SET state = 'reading', reader = '{GUEST}' WHERE id = '{request}'"
    )
}

fn read_sql(request: &str) -> String {
    format!(
        "INSERT INTO blind_read (id, shop_id, request_id, reader, digest, component, sure, agrees, \
             seen_thread_before, revealed_at, at) SELECT gen_random_uuid(), shop_id, id, \
             '{GUEST}', digest, 'compressor', 'sure', true, false, now(), now() \
             FROM condemn_request WHERE id = '{request}'"
    )
}

fn sign_sql(request: &str) -> String {
    format!(
        "INSERT INTO countersignature (id, shop_id, request_id, signer, digest, \
             seconds_since_reveal, at) SELECT gen_random_uuid(), shop_id, id, '{GUEST}', digest, \
             1, now() FROM condemn_request WHERE id = '{request}'"
    )
}

const SAY: &str = "INSERT INTO message (thread_id, seq, id, shop_id, author, kind, body, \
    client_key, at) SELECT id, last_seq + 1, gen_random_uuid(), shop_id, \
    '00000000-0000-7000-8000-0000000000a1', 'text', '{}', gen_random_uuid(), now() FROM thread";

#[tokio::test]
async fn a_guest_reads_blind_before_they_sign_or_talk_and_only_while_the_link_stands() {
    let (store, request) = invited("guest_order").await;
    assert_eq!(refused(&store, &sign_sql(&request)).await, "countersignature_not_read");
    assert_eq!(refused(&store, &read_sql(&request)).await, "blind_read_not_reader");
    assert_eq!(refused(&store, SAY).await, "guest_bounds");
    run(&store, &take_sql(&request)).await;
    assert_eq!(refused(&store, SAY).await, "message_blind_first");
    run(&store, &read_sql(&request)).await;
    run(&store, &format!("UPDATE condemn_request SET state = 'revealed' WHERE id = '{request}'"))
        .await;
    run(&store, SAY).await;

    run(&store, &format!("UPDATE guest_link SET revoked_at = now() WHERE id = '{LINK}'")).await;
    assert_eq!(refused(&store, &sign_sql(&request)).await, "guest_bounds");
    assert!(refused(&store, SAY).await.starts_with("guest_bounds"));
}

#[tokio::test]
async fn a_guest_reaches_no_other_request_and_does_nothing_that_is_the_shops() {
    let (store, request) = invited("guest_bounds").await;
    // Another claim on the same job.
    run(
        &store,
        &format!(
            "INSERT INTO condemn_request (id, shop_id, job_id, requester, claim, state, \
                 estimated_cost_cents, circuit_name, circuit_text, digest, verdict, \
                 judged_revision, judged_at, created_at, changed_at) \
             SELECT '00000000-0000-7000-8000-0000000000c1', shop_id, job_id, requester, \
                 '{{\"component\": \"harness\"}}', 'draft', 1, circuit_name, circuit_text, digest, \
                 verdict, judged_revision, judged_at, created_at, changed_at \
                 FROM condemn_request WHERE id = '{request}'; \
             UPDATE condemn_request SET state = 'ready' \
                 WHERE id = '00000000-0000-7000-8000-0000000000c1'"
        ),
    )
    .await;
    let other = take_sql("00000000-0000-7000-8000-0000000000c1");
    assert_eq!(refused(&store, &other).await, "guest_bounds");
    for sql in [
        format!(
            "INSERT INTO reading (id, shop_id, job_id, label, body, taken_by, taken_at) SELECT \
                 gen_random_uuid(), shop_id, id, 'r99', '{{}}', '{GUEST}', now() FROM job"
        ),
        format!(
            "INSERT INTO observation (id, shop_id, job_id, label, sign, present, by, at) SELECT \
                 gen_random_uuid(), shop_id, id, 'o99', 'x', true, '{GUEST}', now() FROM job"
        ),
        format!(
            "INSERT INTO stand_aside (request_id, shop_id, person_id, at) SELECT id, shop_id, \
                 '{GUEST}', now() FROM condemn_request WHERE id = '{request}'"
        ),
        format!(
            "UPDATE condemn_request SET override_by = '{GUEST}', override_at = now(), \
                 override_reason = 'behind a wall of stone', override_digest = digest \
                 WHERE id = '{request}'"
        ),
    ] {
        assert_eq!(refused(&store, &sql).await, "guest_bounds", "{sql}");
    }
    let roles = format!("UPDATE person SET roles = '{{owner}}' WHERE id = '{GUEST}'");
    assert_eq!(refused(&store, &roles).await, "person_guest_roles");
    let name = format!("UPDATE person SET licence = 'L-2' WHERE id = '{GUEST}'");
    assert_eq!(refused(&store, &name).await, "person_guest_fixed");
}

#[tokio::test]
async fn neither_staff_nor_the_same_guest_twice_comes_by_a_link() {
    let (store, request) = invited("guest_once").await;
    let link = "00000000-0000-7000-8000-0000000000b2";
    run(
        &store,
        &format!(
            "INSERT INTO guest_link (id, shop_id, request_id, job_id, made_by, token_hash, \
                 created_at, expires_at) SELECT '{link}', shop_id, id, job_id, requester, 'h2', \
                 now(), now() + interval '1 day' FROM condemn_request WHERE id = '{request}'"
        ),
    )
    .await;
    let id = "00000000-0000-7000-8000-0000000000a2";

    let staff = refused(&store, &guest_sql(id, "Ana@Here.example", link)).await;
    let again = refused(&store, &guest_sql(id, "ROSA@lind.example", link)).await;
    let taken = refused(&store, &guest_sql(id, "sten@lind.example", LINK)).await;

    assert_eq!(staff, "guest_is_staff");
    assert_eq!(again, "guest_again");
    assert_eq!(taken, "person_guest_key");
    assert_eq!(count(&store, "person WHERE guest_link IS NOT NULL").await, 1);
}

#[tokio::test]
async fn the_requester_may_ask_for_a_third_reader_once_two_judgements_differ() {
    let store = seeded("guest_third").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    make(&store, &bo(), id, judgement("harness")).await;
    let to = Some(cleo().person_id);
    let shown =
        make(&store, &ana(), id, Step::HandOn { note: "A third, please".to_owned(), to }).await;
    let open: Vec<_> = shown.asked.iter().filter(|ask| ask.answer.is_none()).collect();
    assert_eq!(open.len(), 1);
    assert_eq!(open[0].person.id, cleo().person_id);
    assert_eq!(open[0].asked_by.as_ref().unwrap().id, ana().person_id);
}
