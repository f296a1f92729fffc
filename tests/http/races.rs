//! A reading that arrives in the same moment as a signature or an approval.
//!
//! Belongs here: many rounds of two people at once, and what must hold whoever was first.
//! Does not belong here: the same with raw SQL, which the store's tests do.

use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{CHEAP, COSTLY, World, at_pins, digest, seen, step, take_reading};

/// Rounds of each race.
const ROUNDS: usize = 30;

#[tokio::test]
async fn nothing_is_approved_on_other_evidence_than_the_latest() {
    let world = World::new("race_approve").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;
    let (mut approved, mut refused) = (0, 0);

    for round in 0..ROUNDS {
        let (job, request) = world.awaiting(&ana, &bo).await;
        let digest = digest(&dan, request).await;
        let body = json!({ "digest": digest, "amount_cents": COSTLY });
        let reading = at_pins("S", "SHELL", None);
        let measuring = take_reading(&ana, job, &reading);
        let approving = step(&dan, request, "approve", &body);
        // Polled in turn: now one request leaves first, now the other.
        let (measured, answer) = if round % 2 == 0 {
            tokio::join!(measuring, approving)
        } else {
            let (answer, measured) = tokio::join!(approving, measuring);
            (measured, answer)
        };

        measured.done();
        let after = seen(&dan, request).await;
        if answer.status == 200 {
            approved += 1;
            assert_eq!(after["state"], "approved");
        } else {
            refused += 1;
            answer.refused(409, "digest-changed");
            assert_ne!(after["state"], "approved");
        }
        must_be_on_latest(&world, job, request).await;
    }

    assert_eq!(world.service.count("approval").await, approved);
    assert_eq!(approved + refused, i64::try_from(ROUNDS).unwrap());
}

#[tokio::test]
async fn nothing_is_countersigned_on_other_evidence_than_the_latest() {
    let world = World::new("race_sign").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);

    for round in 0..ROUNDS {
        // Cheap: the countersignature makes shop policy approve in the same moment.
        let (job, request) = world.revealed(&ana, &bo, CHEAP).await;
        let digest = digest(&bo, request).await;
        let body = json!({ "digest": digest });
        let reading = at_pins("S", "SHELL", None);
        let measuring = take_reading(&ana, job, &reading);
        let signing = step(&bo, request, "countersign", &body);
        let (measured, answer) = if round % 2 == 0 {
            tokio::join!(measuring, signing)
        } else {
            let (answer, measured) = tokio::join!(signing, measuring);
            (measured, answer)
        };

        measured.done();
        let after = seen(&ana, request).await;
        if answer.status == 200 {
            assert_eq!(after["state"], "approved");
        } else {
            answer.refused(409, "digest-changed");
            assert_eq!(after["state"], "ready");
        }
        must_be_on_latest(&world, job, request).await;
    }
}

#[tokio::test]
async fn of_two_readers_who_take_it_at_once_one_gets_it() {
    let world = World::new("race_take").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let cleo = world.client("cleo").await;

    for _ in 0..10 {
        let (_, request) = world.ready(&ana, COSTLY).await;

        let (by_bo, by_cleo) = tokio::join!(
            step(&bo, request, "take", &Value::Null),
            step(&cleo, request, "take", &Value::Null)
        );

        let mut statuses = [by_bo.status, by_cleo.status];
        statuses.sort_unstable();
        assert_eq!(statuses, [200, 409], "{} {}", by_bo.text, by_cleo.text);
    }
}

#[tokio::test]
async fn readings_taken_at_once_get_labels_of_their_own() {
    let world = World::new("race_labels").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let job = world.job(&ana).await;

    let reading = at_pins("C", "S", Some(1.3));
    let both = async |who| {
        for _ in 0..6 {
            take_reading(who, job, &reading).await.done();
        }
    };
    tokio::join!(both(&ana), both(&bo));

    let evidence = ana.get(&format!("/api/jobs/{job}/evidence")).await.done();
    let labels: Vec<String> = evidence["readings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|kept| kept["label"].as_str().unwrap().to_owned())
        .collect();
    let expected: Vec<String> = (1..=12).map(|number| format!("r{number}")).collect();
    assert_eq!(labels, expected);
    assert_eq!(evidence["revision"], 12);
}

/// Whatever was signed or approved was so on the evidence that was the latest just then: as
/// many changes as the record shows before it are the revision that it was judged on.
async fn must_be_on_latest(world: &World, job: Uuid, request: Uuid) {
    let decisions = world
        .service
        .rows(&format!(
            "SELECT entry.kind, entry.body ->> 'digest' AS digest, \
                 (SELECT judged.body ->> 'digest' FROM record_entry AS judged \
                  WHERE judged.shop_id = entry.shop_id AND judged.subject_id = '{request}' \
                      AND judged.kind IN ('request_made', 'request_judged') \
                      AND judged.seq < entry.seq ORDER BY judged.seq DESC LIMIT 1) AS judged, \
                 (SELECT count(*) FROM record_entry AS taken \
                  WHERE taken.shop_id = entry.shop_id AND taken.subject_id = '{job}' \
                      AND taken.kind = 'reading_taken' AND taken.seq < entry.seq) AS taken, \
                 condemn_request.judged_revision, condemn_request.state, \
                 condemn_request.digest AS digest_now \
             FROM record_entry AS entry, condemn_request \
             WHERE condemn_request.id = '{request}' AND entry.subject_id = '{request}' \
                 AND entry.kind IN ('request_countersigned', 'request_approved')"
        ))
        .await;
    for decision in decisions {
        assert_eq!(decision["digest"], decision["judged"], "{decision}");
        if decision["state"] == "approved" {
            assert_eq!(decision["digest"], decision["digest_now"], "{decision}");
            assert_eq!(decision["taken"], decision["judged_revision"], "{decision}");
        }
    }
}
