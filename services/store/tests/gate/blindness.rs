//! What is kept from whoever could still read a request blind.

use engine::case::Claim;
use engine::gate::{MoveKind, State};
use store::request::{Filter, NewRequest, Step, list_shown, request_make, shown_to};
use store::{Caller, StoreError, evidence, request};

use super::story::{at_pins, claim, count, isolating_readings, judgement, make};
use super::{JOB, ana, bo, cleo, dan, eva, fay, gus, seeded};

#[tokio::test]
async fn the_claim_and_the_verdict_are_kept_from_who_could_read_it() {
    let store = seeded("blind_kept").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    for (who, sees) in [
        (ana(), true),
        (bo(), false),
        (cleo(), false),
        (dan(), true),
        (eva(), false),
        (fay(), false),
    ] {
        let shown = shown_to(&store, &who, id).await.unwrap();
        assert_eq!(shown.told.is_some(), sees, "{who:?}");
        let evidence = evidence::shown_to(&store, &who, JOB).await.unwrap();
        assert_eq!(evidence.verdict.is_some(), sees, "{who:?}");
        assert_eq!(evidence.evidence.readings.len(), 3, "the evidence itself is never hidden");
    }
    assert!(matches!(shown_to(&store, &gus(), id).await, Err(StoreError::NotFound { .. })));
}

#[tokio::test]
async fn nothing_a_reader_is_shown_names_what_is_claimed() {
    let store = seeded("blind_words").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    let taken = make(&store, &bo(), id, Step::Take).await;
    assert_eq!(taken.state, State::Reading);
    let listed = list_shown(&store, &bo(), Filter::InStates(vec![]), true).await.unwrap();
    for shown in [taken, listed.into_iter().next().unwrap()] {
        let words = format!("{shown:?}").to_lowercase();
        for secret in ["compressor", "run_winding", "run winding", "90000", "isolated"] {
            assert!(!words.contains(secret), "{secret} in {words}");
        }
    }
    for place in
        ["outbox WHERE payload::text", "live_event WHERE body::text", "message WHERE body::text"]
    {
        for secret in ["compressor", "winding", "isolate", "90000"] {
            let leaks = count(&store, &format!("{place} ILIKE '%{secret}%'")).await;
            assert_eq!(leaks, 0, "{secret} in {place}");
        }
    }
}

#[tokio::test]
async fn a_committed_read_or_standing_aside_opens_it_for_that_person_alone() {
    let store = seeded("blind_opens").await;
    isolating_readings(&store).await;
    let id = claim(&store, 90_000).await.id;
    make(&store, &bo(), id, Step::Take).await;
    assert!(make(&store, &bo(), id, judgement("compressor")).await.told.is_some());
    assert!(shown_to(&store, &cleo(), id).await.unwrap().told.is_none());
    let aside = make(&store, &cleo(), id, Step::StandAside).await;
    assert!(aside.told.is_some() && !aside.may.contains(&MoveKind::Take));
    assert!(shown_to(&store, &eva(), id).await.unwrap().told.is_none());
    make(&store, &ana(), id, Step::Withdraw { reason: String::new() }).await;
    for who in [cleo(), eva(), fay()] {
        assert!(shown_to(&store, &who, id).await.unwrap().told.is_some(), "ended: {who:?}");
    }
}

#[tokio::test]
async fn whoever_takes_a_reading_on_the_job_is_out_of_it_and_sees_the_readings_judged_alone() {
    let store = seeded("blind_taker").await;
    let id = claim(&store, 90_000).await.id;
    let shown =
        evidence::reading_add(&store, &cleo(), JOB, at_pins("C", "S", Some(1.3))).await.unwrap();
    assert!(shown.claimless && shown.verdict.is_some());
    let request = shown_to(&store, &cleo(), id).await.unwrap();
    assert!(request.told.is_none() && !request.may.contains(&MoveKind::Take));
}

async fn claim_as(store: &store::Store, who: &Caller, submit: bool) -> Result<uuid::Uuid, String> {
    let new = NewRequest {
        claim: Claim { component: "compressor".to_owned(), part: None, mode: None },
        estimated_cost_cents: 100,
        note: String::new(),
        submit,
    };
    match request_make(store, who, JOB, new).await {
        Ok(shown) => Ok(shown.id),
        Err(StoreError::Forbidden { code, .. } | StoreError::Conflict { code, .. }) => {
            Err(code.to_owned())
        }
        Err(other) => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn asking_about_the_same_component_tells_nobody_what_is_claimed() {
    let store = seeded("blind_probe").await;
    isolating_readings(&store).await;
    let draft = claim_as(&store, &cleo(), false).await.unwrap();
    assert!(matches!(shown_to(&store, &ana(), draft).await, Err(StoreError::NotFound { .. })));
    claim(&store, 90_000).await;
    assert_eq!(claim_as(&store, &bo(), true).await, Err("blind-first".to_owned()));
    assert_eq!(claim_as(&store, &ana(), true).await, Err("already-open".to_owned()));
    let submit = request::request_move(&store, &cleo(), draft, Step::Submit).await;
    assert!(matches!(submit, Err(StoreError::Forbidden { code: "blind-first", .. })));
}
