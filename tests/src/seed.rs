//! Two invented shops and their people, in every black-box test's database.
//!
//! Belongs here: who there is. Everything else a test makes through the service itself; the
//! first people of a shop are the one thing that no caller can ask for.

use store::person::{PersonNew, Qualification, Role, person_add_unasked};
use store::shop::{ShopNew, shop_add};
use store::{Store, StoreError};

/// Everyone's password.
pub const PASSWORD: &str = "seven dry capacitors";

/// Sign-in name before the "@", roles, qualifications.
type Line = (&'static str, &'static [Role], &'static [Qualification]);

const SEALED: &[Qualification] = &[Qualification::SealedSystem, Qualification::Electrical];

/// The shop that most is told of.
pub const SHOP: &str = "Tern Street Refrigeration";

/// The shop next door.
pub const SHOP_ELSEWHERE: &str = "Lowmoor Heating";

/// Ana asks, Bo reads, Cleo could read, Fay is not qualified; Eva is owner and technician in
/// one; Dan, Pia and Olaf have one role each.
const PEOPLE: &[Line] = &[
    ("ana", &[Role::Technician], SEALED),
    ("bo", &[Role::Technician], SEALED),
    ("cleo", &[Role::Technician], SEALED),
    ("fay", &[Role::Technician], &[Qualification::Electrical]),
    ("dan", &[Role::ServiceManager], &[]),
    ("eva", &[Role::Technician, Role::Owner], SEALED),
    ("pia", &[Role::Scheduler], &[]),
    ("olaf", &[Role::Owner], &[]),
];

/// Zed may do everything, next door; Gus is a technician there.
const PEOPLE_ELSEWHERE: &[Line] =
    &[("zed", &Role::ALL, &Qualification::ALL), ("gus", &[Role::Technician], SEALED)];

/// The address that somebody signs in with.
pub fn email_of(name: &str) -> String {
    format!("{name}@tern.example")
}

/// Adds both shops.
///
/// # Errors
/// When the database fails.
pub async fn shops(store: &Store) -> Result<(), StoreError> {
    for (shop, people) in [(SHOP, PEOPLE), (SHOP_ELSEWHERE, PEOPLE_ELSEWHERE)] {
        let txn = store.begin().await?;
        let new = ShopNew { name: shop.into(), zone: "Europe/Oslo".into(), currency: "EUR".into() };
        let shop_id = shop_add(&txn, store, new).await?;
        for (name, roles, qualifications) in people {
            let new = PersonNew {
                email: email_of(name),
                name: format!("{}{} of {shop}", name[..1].to_uppercase(), &name[1..]),
                password: PASSWORD.to_owned(),
                roles: roles.to_vec(),
                qualifications: qualifications.to_vec(),
                phone: None,
                licence: None,
            };
            person_add_unasked(&txn, store, shop_id, new).await?;
        }
        txn.commit().await?;
    }
    Ok(())
}
