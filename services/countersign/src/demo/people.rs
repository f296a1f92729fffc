//! The demo's people, all invented.
//!
//! Belongs here: names, roles, qualifications and the one password. Does not belong here:
//! what they do ([`super::story`]).

use store::person::{PersonNew, Qualification, Role, person_add_unasked};
use store::{Caller, Store, StoreError};
use uuid::Uuid;

/// Everyone's password in the demo.
pub(crate) const PASSWORD: &str = "roof in the rain";

/// The people of the story, as callers.
pub(super) struct People {
    pub(super) rui: Caller,
    pub(super) mette: Caller,
    pub(super) jonas: Caller,
    pub(super) ada: Caller,
    pub(super) priya: Caller,
}

struct Line {
    name: &'static str,
    address: &'static str,
    roles: &'static [Role],
    qualifications: &'static [Qualification],
    licence: Option<&'static str>,
    does: &'static str,
}

const RUI: Line = Line {
    name: "Rui Castellan",
    address: "rui@marrowcreek.example",
    roles: &[Role::Technician],
    qualifications: &[Qualification::SealedSystem, Qualification::Electrical],
    licence: Some("VF-2210"),
    does: "technician: has a held request",
};
const METTE: Line = Line {
    name: "Mette Hollis",
    address: "mette@marrowcreek.example",
    roles: &[Role::Technician],
    qualifications: &[
        Qualification::SealedSystem,
        Qualification::ThreePhase,
        Qualification::Electrical,
    ],
    licence: Some("VF-1874"),
    does: "technician: can give a second read",
};
const JONAS: Line = Line {
    name: "Jonas Kettleby",
    address: "jonas@marrowcreek.example",
    roles: &[Role::Technician],
    qualifications: &[
        Qualification::SealedSystem,
        Qualification::Combustion,
        Qualification::Electrical,
    ],
    licence: Some("VF-3051"),
    does: "technician: waits for a second read",
};
const ADA: Line = Line {
    name: "Ada Brandvold",
    address: "ada@marrowcreek.example",
    roles: &[Role::ServiceManager],
    qualifications: &[],
    licence: None,
    does: "service manager: has one to approve",
};
const PRIYA: Line = Line {
    name: "Priya Sundqvist",
    address: "priya@marrowcreek.example",
    roles: &[Role::Scheduler],
    qualifications: &[],
    licence: None,
    does: "scheduler: gives out the weekend",
};
const WALTER: Line = Line {
    name: "Walter Emberson",
    address: "walter@marrowcreek.example",
    roles: &[Role::Owner],
    qualifications: &[],
    licence: None,
    does: "owner: people, sessions, settings",
};
const ALL: [&Line; 6] = [&RUI, &METTE, &JONAS, &ADA, &PRIYA, &WALTER];

/// Address, name and what they are there for, in the order of the story.
pub(crate) fn sign_ins() -> Vec<(&'static str, &'static str, &'static str)> {
    ALL.iter().map(|line| (line.address, line.name, line.does)).collect()
}

/// Adds everyone.
pub(super) async fn add(store: &Store, shop_id: Uuid) -> Result<People, StoreError> {
    let people = People {
        rui: one(store, shop_id, &RUI).await?,
        mette: one(store, shop_id, &METTE).await?,
        jonas: one(store, shop_id, &JONAS).await?,
        ada: one(store, shop_id, &ADA).await?,
        priya: one(store, shop_id, &PRIYA).await?,
    };
    one(store, shop_id, &WALTER).await?;
    Ok(people)
}

async fn one(store: &Store, shop_id: Uuid, line: &Line) -> Result<Caller, StoreError> {
    let txn = store.begin().await?;
    let person = person_add_unasked(
        &txn,
        store,
        shop_id,
        PersonNew {
            email: line.address.to_owned(),
            name: line.name.to_owned(),
            password: PASSWORD.to_owned(),
            roles: line.roles.to_vec(),
            qualifications: line.qualifications.to_vec(),
            phone: None,
            licence: line.licence.map(str::to_owned),
        },
    )
    .await?;
    txn.commit().await?;
    Ok(Caller {
        person_id: person.id,
        shop_id,
        roles: person.roles,
        qualifications: person.qualifications,
        // No session: the story is told before anyone signs in.
        session_id: Uuid::nil(),
        guest: None,
    })
}
