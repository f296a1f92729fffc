//! The record, and the command that finds tampering.
//!
//! Belongs here: what `verify-record` says after one byte was changed behind the service's
//! back. Does not belong here: what is recorded.

use blackbox::seed::{SHOP, SHOP_ELSEWHERE};

use super::world::{World, approve};

#[tokio::test]
async fn one_changed_byte_is_found_and_named() {
    let world = World::new("record").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let (_, request) = world.awaiting(&ana, &bo).await;
    approve(&dan, request).await.done();

    let whole = world.service.run(&["verify-record"]).await;
    let says = String::from_utf8(whole.stdout).unwrap();
    assert!(whole.status.success(), "{says}");
    assert_eq!(says.lines().count(), 2, "one line per shop: {says}");
    assert!(says.contains(&format!("{SHOP}: ")) && says.contains("all as written"), "{says}");

    let entry = world
        .service
        .rows(
            "SELECT seq, hash FROM record_entry WHERE kind = 'request_approved' \
             AND body ->> 'amount_cents' = '187654'",
        )
        .await;
    let seq = entry[0]["seq"].as_i64().expect("the approval is on the record");
    world
        .service
        .execute(&format!(
            "ALTER TABLE record_entry DISABLE TRIGGER ALL; \
             UPDATE record_entry SET body = jsonb_set(body, '{{amount_cents}}', '187655') \
                 WHERE seq = {seq} AND kind = 'request_approved'; \
             ALTER TABLE record_entry ENABLE TRIGGER ALL;"
        ))
        .await;

    let tampered = world.service.run(&["verify-record"]).await;
    let says = String::from_utf8(tampered.stdout).unwrap();
    assert_eq!(tampered.status.code(), Some(2), "{says}");
    let named = format!("{SHOP}: entry {seq}: ");
    assert!(says.lines().any(|line| line.starts_with(&named)), "{says}");
    let untouched = says.lines().find(|line| line.starts_with(SHOP_ELSEWHERE)).unwrap();
    assert!(untouched.contains("all as written"), "{says}");
}

#[tokio::test]
async fn a_removed_last_entry_is_found_too() {
    let world = World::new("record_end").await;
    let ana = world.client("ana").await;
    world.job(&ana).await;

    let last = world
        .service
        .rows("SELECT max(seq) AS seq FROM record_entry WHERE kind = 'job_taken'")
        .await[0]["seq"]
        .as_i64()
        .unwrap();
    world
        .service
        .execute(&format!(
            "ALTER TABLE record_entry DISABLE TRIGGER ALL; \
             DELETE FROM record_entry WHERE seq = {last} AND kind = 'job_taken'; \
             ALTER TABLE record_entry ENABLE TRIGGER ALL;"
        ))
        .await;

    let output = world.service.run(&["verify-record"]).await;
    let says = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(2), "{says}");
    assert!(says.contains(&format!("entry {last}: ")), "{says}");
}
