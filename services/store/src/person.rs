//! People: who works in a shop, in which roles, with which qualifications.
//!
//! Belongs here: adding, changing and finding people; what they may do and are is in [`role`].
//! Does not belong here: passwords ([`crate::password`]) and sessions ([`crate::session`]).

pub mod role;

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait as _, ColumnTrait as _, ConnectionTrait, EntityTrait as _, QueryFilter as _,
    QueryOrder as _,
};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::entity::person as row;
use crate::error::{StoreError, by_constraint};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{password, session};

pub use role::{Caller, GuestScope, Qualification, Role};

/// Longest name, phone number or licence number.
const LINE_CHARS_MAX: usize = 120;

/// A person of a shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Id.
    pub id: Uuid,
    /// Shop.
    pub shop_id: Uuid,
    /// Address for signing in and for mail.
    pub email: String,
    /// Name.
    pub name: String,
    /// Roles.
    pub roles: Vec<Role>,
    /// Qualifications.
    pub qualifications: Vec<Qualification>,
    /// Telephone.
    pub phone: Option<String>,
    /// Licence number.
    pub licence: Option<String>,
    /// Whether they may sign in and be asked.
    pub active: bool,
}

/// A new person.
#[derive(Clone, Debug)]
pub struct PersonNew {
    /// Address for signing in and for mail.
    pub email: String,
    /// Name.
    pub name: String,
    /// First password.
    pub password: String,
    /// Roles; at least one.
    pub roles: Vec<Role>,
    /// Qualifications.
    pub qualifications: Vec<Qualification>,
    /// Telephone.
    pub phone: Option<String>,
    /// Licence number.
    pub licence: Option<String>,
}

/// What to change; the rest stays. An inner `None` clears the value.
#[derive(Clone, Debug, Default)]
pub struct PersonChange {
    /// Name.
    pub name: Option<String>,
    /// A new password; ends the person's other sessions.
    pub password: Option<String>,
    /// Roles; at least one.
    pub roles: Option<Vec<Role>>,
    /// Qualifications.
    pub qualifications: Option<Vec<Qualification>>,
    /// Telephone.
    pub phone: Option<Option<String>>,
    /// Licence number.
    pub licence: Option<Option<String>>,
    /// Whether they may sign in and be asked; taking it away ends their sessions.
    pub active: Option<bool>,
}

/// A person of a shop.
///
/// # Errors
/// `NotFound`, also for people of other shops, or the database fails.
pub async fn person_find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Person, StoreError> {
    row::Entity::find_by_id(id)
        .filter(row::Column::ShopId.eq(shop_id))
        .filter(sea_orm::sea_query::Expr::cust("guest_link IS NULL"))
        .one(conn)
        .await?
        .map(from_row)
        .ok_or(StoreError::NotFound { what: "person" })
}

/// Everyone in a shop, by name.
///
/// # Errors
/// When the database fails.
pub async fn person_list<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
) -> Result<Vec<Person>, StoreError> {
    let rows = row::Entity::find()
        .filter(row::Column::ShopId.eq(shop_id))
        .filter(sea_orm::sea_query::Expr::cust("guest_link IS NULL"))
        .order_by_asc(row::Column::Name)
        .order_by_asc(row::Column::Id)
        .all(conn)
        .await?;
    Ok(rows.into_iter().map(from_row).collect())
}

/// Adds a person to the caller's shop.
///
/// # Errors
/// `Forbidden` unless they manage, `InvalidMany`, `Conflict` where the address is taken, or
/// the database fails.
pub async fn person_add(
    store: &Store,
    caller: &Caller,
    new: PersonNew,
) -> Result<Person, StoreError> {
    caller.must_manage("add people")?;
    owner_by_owner(caller, false, &new.roles)?;
    let password_hash = check_new(store, &new).await?;
    let txn = store.begin().await?;
    let person =
        person_add_in_txn(&txn, store, caller.shop_id, Some(caller.person_id), new, password_hash)
            .await?;
    txn.commit().await?;
    Ok(person)
}

/// Adds the first people of a shop. For set-up and the demo; no caller can ask for it.
///
/// # Errors
/// `InvalidMany`, `Conflict` where the address is taken, or the database fails.
pub async fn person_add_unasked<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    new: PersonNew,
) -> Result<Person, StoreError> {
    let password_hash = check_new(store, &new).await?;
    person_add_in_txn(txn, store, shop_id, None, new, password_hash).await
}

async fn check_new(store: &Store, new: &PersonNew) -> Result<String, StoreError> {
    let mut faults = Faults::default();
    faults.email("/email", &new.email);
    faults.text("/name", &new.name, LINE_CHARS_MAX);
    faults.text_opt("/phone", new.phone.as_deref(), LINE_CHARS_MAX);
    faults.text_opt("/licence", new.licence.as_deref(), LINE_CHARS_MAX);
    password::check(&mut faults, "/password", &new.password);
    check_roles(&mut faults, &new.roles);
    faults.done()?;
    password::hash(store.ambient(), &new.password).await
}

async fn person_add_in_txn<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    actor: Option<Uuid>,
    new: PersonNew,
    password_hash: String,
) -> Result<Person, StoreError> {
    let model = row::ActiveModel {
        id: Set(store.new_id()),
        shop_id: Set(shop_id),
        email: Set(new.email.trim().to_owned()),
        name: Set(new.name.trim().to_owned()),
        password_hash: Set(password_hash),
        roles: Set(role_names(&new.roles)),
        qualifications: Set(qualification_names(&new.qualifications)),
        phone: Set(trimmed(new.phone)),
        licence: Set(trimmed(new.licence)),
        active: Set(true),
        created_at: Set(store.now()),
    };
    let inserted = model.insert(txn).await.map_err(|error| {
        by_constraint(
            error,
            &[("person_email_key", &|| {
                StoreError::conflict(
                    "email-taken",
                    "Somebody already signs in with this e-mail address; give another one.",
                )
            })],
        )
    })?;
    let person = from_row(inserted);
    record_standing(txn, store, actor, &person, "person_added").await?;
    Ok(person)
}

/// Changes a person of the caller's shop: anyone for those who manage; others their own name,
/// telephone and password.
///
/// # Errors
/// `NotFound`, `Forbidden`, `InvalidMany`, `Conflict` where the shop would be left without an
/// owner, or the database fails.
pub async fn person_change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    change: PersonChange,
) -> Result<Person, StoreError> {
    let theirs_alone = change.roles.is_some()
        || change.qualifications.is_some()
        || change.licence.is_some()
        || change.active.is_some();
    if id != caller.person_id || theirs_alone {
        caller.must_manage("change people")?;
    }
    let password_hash = check_change(store, &change).await?;

    let txn = store.begin().await?;
    // The shop's row is locked so that two owners cannot both give up the role at once.
    txn.execute_raw(sql("SELECT 1 FROM shop WHERE id = $1 FOR UPDATE", [caller.shop_id.into()]))
        .await?;
    let before = person_find(&txn, caller.shop_id, id).await?;
    let is_owner = before.roles.contains(&Role::Owner);
    if id != caller.person_id || theirs_alone {
        owner_by_owner(caller, is_owner, change.roles.as_deref().unwrap_or(&before.roles))?;
    }

    let mut model = row::ActiveModel { id: Set(id), ..Default::default() };
    if let Some(name) = &change.name {
        model.name = Set(name.trim().to_owned());
    }
    if let Some(phone) = change.phone {
        model.phone = Set(trimmed(phone));
    }
    if let Some(licence) = change.licence {
        model.licence = Set(trimmed(licence));
    }
    if let Some(roles) = &change.roles {
        model.roles = Set(role_names(roles));
    }
    if let Some(qualifications) = &change.qualifications {
        model.qualifications = Set(qualification_names(qualifications));
    }
    if let Some(active) = change.active {
        model.active = Set(active);
    }
    let new_password = password_hash.is_some();
    if let Some(password_hash) = password_hash {
        model.password_hash = Set(password_hash);
    }
    let after =
        if model.is_changed() { from_row(model.update(&txn).await?) } else { before.clone() };

    if is_owner && !(after.active && after.roles.contains(&Role::Owner)) {
        must_keep_an_owner(&txn, caller.shop_id).await?;
    }
    if new_password || !after.active {
        // The session that changes its own password goes on.
        let keep = after.active.then_some(caller.session_id);
        session::revoke_all_of(&txn, store, after.shop_id, after.id, keep).await?;
    }
    let standing = |person: &Person| {
        (person.roles.clone(), person.qualifications.clone(), person.licence.clone(), person.active)
    };
    if standing(&before) != standing(&after) {
        record_standing(&txn, store, Some(caller.person_id), &after, "person_changed").await?;
    }
    txn.commit().await?;
    Ok(after)
}

/// Gives somebody a new password and ends all their sessions. For whoever has the machine and its
/// database; no caller can ask for it, so that it is on the record as nobody's.
///
/// # Errors
/// `NotFound` where nobody signs in with that address, `InvalidMany`, or the database fails.
pub async fn person_new_password_unasked(
    store: &Store,
    email: &str,
    password: &str,
) -> Result<Person, StoreError> {
    let mut faults = Faults::default();
    password::check(&mut faults, "/password", password);
    faults.done()?;
    let password_hash = password::hash(store.ambient(), password).await?;
    let txn = store.begin().await?;
    let found = row::Entity::find()
        .filter(sea_orm::sea_query::Expr::cust("guest_link IS NULL"))
        .filter(sea_orm::sea_query::Expr::cust_with_values(
            "lower(email) = lower($1)",
            [email.trim().to_owned()],
        ))
        .one(&txn)
        .await?
        .ok_or(StoreError::NotFound { what: "person with this e-mail address" })?;
    let changed = row::ActiveModel {
        id: Set(found.id),
        password_hash: Set(password_hash),
        ..Default::default()
    };
    let person = from_row(changed.update(&txn).await?);
    session::revoke_all_of(&txn, store, person.shop_id, person.id, None).await?;
    record_standing(&txn, store, None, &person, "person_password_set").await?;
    txn.commit().await?;
    Ok(person)
}

async fn check_change(store: &Store, change: &PersonChange) -> Result<Option<String>, StoreError> {
    let mut faults = Faults::default();
    if let Some(name) = &change.name {
        faults.text("/name", name, LINE_CHARS_MAX);
    }
    if let Some(Some(phone)) = &change.phone {
        faults.text_or_empty("/phone", phone, LINE_CHARS_MAX);
    }
    if let Some(Some(licence)) = &change.licence {
        faults.text_or_empty("/licence", licence, LINE_CHARS_MAX);
    }
    if let Some(roles) = &change.roles {
        check_roles(&mut faults, roles);
    }
    if let Some(password) = &change.password {
        password::check(&mut faults, "/password", password);
    }
    faults.done()?;
    match &change.password {
        Some(password) => Ok(Some(password::hash(store.ambient(), password).await?)),
        None => Ok(None),
    }
}

/// What a person may do is on the record, since later entries lean on it.
async fn record_standing<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    actor: Option<Uuid>,
    person: &Person,
    kind: &'static str,
) -> Result<(), StoreError> {
    let entry = Entry {
        shop_id: person.shop_id,
        actor,
        kind,
        subject_kind: "person",
        subject_id: person.id,
        body: json!({
            "roles": role_names(&person.roles),
            "qualifications": qualification_names(&person.qualifications),
            "licensed": person.licence.is_some(),
            "active": person.active,
        }),
    };
    record::append(txn, store.now(), entry).await?;
    Ok(())
}

/// Only an owner makes an owner, or changes one.
fn owner_by_owner(caller: &Caller, is_owner: bool, roles: &[Role]) -> Result<(), StoreError> {
    if (is_owner || roles.contains(&Role::Owner)) && !caller.is(Role::Owner) {
        return Err(StoreError::forbidden("Only an owner may add or change an owner."));
    }
    Ok(())
}

async fn must_keep_an_owner<C: ConnectionTrait>(txn: &C, shop_id: Uuid) -> Result<(), StoreError> {
    let owner = txn
        .query_one_raw(sql(
            "SELECT 1 FROM person WHERE shop_id = $1 AND active AND 'owner' = ANY (roles) LIMIT 1",
            [shop_id.into()],
        ))
        .await?;
    if owner.is_some() {
        return Ok(());
    }
    Err(StoreError::conflict(
        "last-owner",
        "The shop would have no owner any more. Make somebody else an owner first.",
    ))
}

fn check_roles(faults: &mut Faults, roles: &[Role]) {
    if roles.is_empty() {
        faults.add("/roles", "A person needs at least one role.");
    }
}

fn role_names(roles: &[Role]) -> Vec<String> {
    let held = Role::ALL.into_iter().filter(|role| roles.contains(role));
    held.map(|role| role.name().to_owned()).collect()
}

fn qualification_names(qualifications: &[Qualification]) -> Vec<String> {
    let held = Qualification::ALL.into_iter().filter(|held| qualifications.contains(held));
    held.map(|held| held.name().to_owned()).collect()
}

/// Roles from their stored names; the database allows no others.
pub(crate) fn roles_from(names: &[String]) -> Vec<Role> {
    names.iter().filter_map(|name| Role::from_name(name)).collect()
}

/// Qualifications from their stored names; the database allows no others.
pub(crate) fn qualifications_from(names: &[String]) -> Vec<Qualification> {
    names.iter().filter_map(|name| Qualification::from_name(name)).collect()
}

fn trimmed(text: Option<String>) -> Option<String> {
    text.map(|text| text.trim().to_owned()).filter(|text| !text.is_empty())
}

pub(crate) fn from_row(model: row::Model) -> Person {
    Person {
        id: model.id,
        shop_id: model.shop_id,
        roles: roles_from(&model.roles),
        qualifications: qualifications_from(&model.qualifications),
        email: model.email,
        name: model.name,
        phone: model.phone,
        licence: model.licence,
        active: model.active,
    }
}
