//! Sessions: lock-out, refresh, reuse of a refresh token, revoking; and an owner's last chair.

// Helpers of tests may give up as tests do.
#![allow(clippy::unwrap_used)]

use std::sync::Arc;

use chrono::{DateTime, TimeDelta};
use store::ambient::{Ambient, Generator, ManualClock};
use store::person::{
    Person, PersonChange, PersonNew, Role, person_add, person_add_unasked, person_change,
};
use store::session::{LOCKED_MIN, WRONG_MAX, caller_find, refresh, revoke, sign_in};
use store::shop::{ShopNew, shop_add};
use store::{Caller, Store, StoreError, testbed};

const PASSWORD: &str = "a quiet compressor";
const EMAIL: &str = "Owner@shop.example";

struct Bed {
    store: Store,
    clock: Arc<ManualClock>,
    owner: Person,
}

async fn bed(name: &str) -> Bed {
    let clock = Arc::new(ManualClock::new(DateTime::from_timestamp(1_764_000_000, 0).unwrap()));
    let ambient = Ambient { clock: clock.clone(), generator: Arc::new(Generator::seeded(3)) };
    let store = testbed::store(name, ambient).await.unwrap();
    let txn = store.begin().await.unwrap();
    let new =
        ShopNew { name: "Shop".into(), zone: "America/Denver".into(), currency: "USD".into() };
    let shop_id = shop_add(&txn, &store, new).await.unwrap();
    let owner =
        person_add_unasked(&txn, &store, shop_id, person(EMAIL, Role::Owner)).await.unwrap();
    txn.commit().await.unwrap();
    Bed { store, clock, owner }
}

fn person(email: &str, role: Role) -> PersonNew {
    PersonNew {
        email: email.to_owned(),
        name: email.to_owned(),
        password: PASSWORD.to_owned(),
        roles: vec![role],
        qualifications: vec![],
        phone: None,
        licence: None,
    }
}

impl Bed {
    async fn sign_in(&self, password: &str) -> Result<store::session::Opened, StoreError> {
        sign_in(&self.store, "owner@shop.example", password, "test", "127.0.0.1").await
    }

    async fn caller(&self) -> Caller {
        let opened = self.sign_in(PASSWORD).await.unwrap();
        caller_find(&self.store, opened.session_id).await.unwrap()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn guessing_locks_the_address_and_time_unlocks_it() {
    let bed = bed("session_lock").await;

    for _ in 0..WRONG_MAX {
        let refused = bed.sign_in("wrong wrong").await.unwrap_err();
        assert!(matches!(refused, StoreError::NotSignedIn { .. }), "{refused}");
    }
    let locked = bed.sign_in(PASSWORD).await.unwrap_err();
    assert!(matches!(locked, StoreError::TooMany { .. }), "{locked}");

    bed.clock.advance(TimeDelta::minutes(LOCKED_MIN));
    bed.sign_in(PASSWORD).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn guesses_made_at_once_cannot_slip_past_the_count() {
    let bed = bed("session_at_once").await;

    let guesses: Vec<_> = (0..WRONG_MAX * 2)
        .map(|_| {
            let store = bed.store.clone();
            tokio::spawn(async move {
                sign_in(&store, EMAIL, "wrong wrong", "test", "127.0.0.1").await.unwrap_err()
            })
        })
        .collect();
    let mut looked_at = 0;
    for guess in guesses {
        looked_at += usize::from(matches!(guess.await.unwrap(), StoreError::NotSignedIn { .. }));
    }

    assert_eq!(looked_at, WRONG_MAX);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_used_refresh_token_that_comes_back_ends_the_session() {
    let bed = bed("session_reuse").await;
    let opened = bed.sign_in(PASSWORD).await.unwrap();
    let first = opened.refresh_token.unwrap();

    // Two tabs at once: the second goes on without a token of its own.
    let second = refresh(&bed.store, &first).await.unwrap().refresh_token.unwrap();
    assert!(refresh(&bed.store, &first).await.unwrap().refresh_token.is_none());
    // Several refreshes later somebody sends the first one.
    bed.clock.advance(TimeDelta::minutes(9));
    let third = refresh(&bed.store, &second).await.unwrap().refresh_token.unwrap();
    bed.clock.advance(TimeDelta::minutes(9));
    let reused = refresh(&bed.store, &first).await.unwrap_err();

    assert!(matches!(reused, StoreError::NotSignedIn { .. }));
    assert!(refresh(&bed.store, &third).await.is_err());
    assert!(caller_find(&bed.store, opened.session_id).await.is_err());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_revoked_session_is_refused_at_once() {
    let bed = bed("session_revoke").await;
    let (one, other) = (bed.caller().await, bed.caller().await);

    revoke(&bed.store, &one, other.session_id).await.unwrap();

    assert!(caller_find(&bed.store, other.session_id).await.is_err());
    assert!(caller_find(&bed.store, one.session_id).await.is_ok());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_shop_keeps_an_owner_and_a_manager_makes_none() {
    let bed = bed("session_owner").await;
    let owner = bed.caller().await;
    let give_up = PersonChange { roles: Some(vec![Role::Technician]), ..PersonChange::default() };

    let refused = person_change(&bed.store, &owner, bed.owner.id, give_up).await.unwrap_err();
    assert!(matches!(refused, StoreError::Conflict { code: "last-owner", .. }), "{refused}");

    let taken =
        person_add(&bed.store, &owner, person("OWNER@shop.example", Role::Technician)).await;
    assert!(matches!(taken.unwrap_err(), StoreError::Conflict { code: "email-taken", .. }));

    let manager = Caller { roles: vec![Role::ServiceManager], ..owner };
    let refused = person_add(&bed.store, &manager, person("two@shop.example", Role::Owner)).await;
    assert!(matches!(refused.unwrap_err(), StoreError::Forbidden { .. }));
}
