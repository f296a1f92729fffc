//! The condemn gate in the database and in the store.
#![allow(clippy::unwrap_used, reason = "a test may")]

use sea_orm::{ConnectionTrait as _, DbErr};
use store::ambient::Ambient;
use store::person::{Qualification, Role};
use store::{Caller, Store, testbed};
use uuid::Uuid;

mod blindness;
mod guards;
mod guests;
mod ladder;
mod races;
mod story;

const fn id(last: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + last)
}

const SHOP: Uuid = id(0x1);
const JOB: Uuid = id(0x41);

async fn seeded(name: &str) -> Store {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store.conn().execute_unprepared(include_str!("shop.sql")).await.unwrap();
    store
}

fn person(last: u128, roles: &[Role]) -> Caller {
    Caller {
        person_id: id(last),
        shop_id: SHOP,
        roles: roles.to_vec(),
        qualifications: vec![Qualification::SealedSystem],
        session_id: id(0x20 + last),
        guest: None,
    }
}

/// Makes the requests.
fn ana() -> Caller {
    person(0x11, &[Role::Technician])
}

/// Reads them.
fn bo() -> Caller {
    person(0x12, &[Role::Technician])
}

/// Could read them.
fn cleo() -> Caller {
    person(0x13, &[Role::Technician])
}

/// Manages, and is no technician.
fn dan() -> Caller {
    person(0x14, &[Role::ServiceManager])
}

/// Owns the shop, and is a technician.
fn eva() -> Caller {
    person(0x15, &[Role::Technician, Role::Owner])
}

/// Is a technician without the qualification.
fn fay() -> Caller {
    Caller { qualifications: vec![Qualification::Electrical], ..person(0x16, &[Role::Technician]) }
}

/// Works next door.
fn gus() -> Caller {
    Caller { shop_id: id(0x2), ..person(0x19, &[Role::Technician]) }
}

/// A test's error type, so that a broken promise reads as one.
fn constraint(error: &DbErr) -> String {
    store::error::constraint_of(error)
        .map_or_else(|| format!("no constraint: {error}"), str::to_owned)
}
