//! Customers, each with their sites and units.
//!
//! Belongs here: the customer's own row and the tree below it. Does not belong here: finding one
//! by a piece of a name ([`find`]), adding
//! sites ([`crate::site`]) and units ([`crate::unit`]).

pub mod find;

use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait as _, ColumnTrait as _, ConnectionTrait, EntityTrait as _, QueryFilter as _,
    QueryOrder as _,
};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::entity::customer as row;
use crate::error::StoreError;
use crate::person::Caller;
use crate::site::{self, Site};
use crate::text::Faults;
use crate::unit::{self, Unit};

/// Longest name or telephone number.
const LINE_CHARS_MAX: usize = 120;

/// Longest note.
const NOTES_CHARS_MAX: usize = 4_000;

/// A customer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Customer {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// Telephone.
    pub phone: Option<String>,
    /// Address for reports and offers.
    pub email: Option<String>,
    /// Anything worth knowing.
    pub notes: String,
    /// Counts changes.
    pub version: i32,
}

/// A customer with their sites, and each site's units.
#[derive(Clone, Debug, PartialEq)]
pub struct CustomerWhole {
    /// The customer.
    pub customer: Customer,
    /// The sites, each with its units.
    pub sites: Vec<(Site, Vec<Unit>)>,
}

/// A new customer.
#[derive(Clone, Debug)]
pub struct CustomerNew {
    /// Name.
    pub name: String,
    /// Telephone.
    pub phone: Option<String>,
    /// Address for reports and offers.
    pub email: Option<String>,
    /// Anything worth knowing.
    pub notes: String,
}

/// What to change; the rest stays. An inner `None` clears the value.
#[derive(Clone, Debug, Default)]
pub struct CustomerChange {
    /// The version that was looked at; where given, a newer one is not overwritten.
    pub version: Option<i32>,
    /// Name.
    pub name: Option<String>,
    /// Telephone.
    pub phone: Option<Option<String>>,
    /// Address for reports and offers.
    pub email: Option<Option<String>>,
    /// Anything worth knowing.
    pub notes: Option<String>,
}

/// The shop's customers, by name.
///
/// # Errors
/// When the database fails.
pub async fn customer_list(store: &Store, caller: &Caller) -> Result<Vec<Customer>, StoreError> {
    let rows = row::Entity::find()
        .filter(row::Column::ShopId.eq(caller.shop_id))
        .order_by_asc(row::Column::Name)
        .order_by_asc(row::Column::Id)
        .all(store.conn())
        .await?;
    Ok(rows.into_iter().map(from_row).collect())
}

/// A customer with sites and units.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn customer_find(
    store: &Store,
    caller: &Caller,
    id: Uuid,
) -> Result<CustomerWhole, StoreError> {
    let conn = store.conn();
    let customer = find_in_shop(conn, caller.shop_id, id).await?;
    let sites = site::list_of_customer(conn, caller.shop_id, id).await?;
    let mut units = unit::list_of_customer(conn, caller.shop_id, id).await?;
    let sites = sites
        .into_iter()
        .map(|site| {
            let here = units.extract_if(.., |unit| unit.site_id == site.id).collect();
            (site, here)
        })
        .collect();
    Ok(CustomerWhole { customer: from_row(customer), sites })
}

/// Adds a customer. Everyone who takes calls or goes to them may.
///
/// # Errors
/// `InvalidMany`, or the database fails.
pub async fn customer_add(
    store: &Store,
    caller: &Caller,
    new: CustomerNew,
) -> Result<Customer, StoreError> {
    let mut faults = Faults::default();
    let model = row::ActiveModel {
        id: Set(store.new_id()),
        shop_id: Set(caller.shop_id),
        name: Set(faults.text("/name", &new.name, LINE_CHARS_MAX)),
        phone: Set(faults.text_opt("/phone", new.phone.as_deref(), LINE_CHARS_MAX)),
        email: Set(email_opt(&mut faults, new.email.as_deref())),
        notes: Set(faults.text_or_empty("/notes", &new.notes, NOTES_CHARS_MAX)),
        version: Set(1),
        created_at: Set(store.now()),
    };
    faults.done()?;
    let txn = store.begin().await?;
    let customer = from_row(model.insert(&txn).await?);
    txn.commit().await?;
    Ok(customer)
}

/// Changes a customer.
///
/// # Errors
/// `NotFound`, `InvalidMany`, `Conflict` where somebody else changed it meanwhile, or the
/// database fails.
pub async fn customer_change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    change: CustomerChange,
) -> Result<Customer, StoreError> {
    let mut faults = Faults::default();
    let mut model = row::ActiveModel { id: Set(id), ..Default::default() };
    if let Some(name) = &change.name {
        model.name = Set(faults.text("/name", name, LINE_CHARS_MAX));
    }
    if let Some(phone) = &change.phone {
        model.phone = Set(faults.text_opt("/phone", phone.as_deref(), LINE_CHARS_MAX));
    }
    if let Some(email) = &change.email {
        model.email = Set(email_opt(&mut faults, email.as_deref()));
    }
    if let Some(notes) = &change.notes {
        model.notes = Set(faults.text_or_empty("/notes", notes, NOTES_CHARS_MAX));
    }
    faults.done()?;

    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM customer WHERE id = $1 FOR UPDATE", [id.into()])).await?;
    let before = find_in_shop(&txn, caller.shop_id, id).await?;
    if change.version.is_some_and(|version| version != before.version) {
        return Err(StoreError::changed_meanwhile("customer", before.version));
    }
    model.version = Set(before.version + 1);
    let customer = from_row(model.update(&txn).await?);
    txn.commit().await?;
    Ok(customer)
}

/// Goes on only where the customer is the shop's.
pub(crate) async fn must_exist<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<(), StoreError> {
    find_in_shop(conn, shop_id, id).await.map(drop)
}

async fn find_in_shop<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<row::Model, StoreError> {
    row::Entity::find_by_id(id)
        .filter(row::Column::ShopId.eq(shop_id))
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "customer" })
}

fn email_opt(faults: &mut Faults, email: Option<&str>) -> Option<String> {
    let email = email.map(str::trim).filter(|email| !email.is_empty())?;
    Some(faults.email("/email", email))
}

fn from_row(model: row::Model) -> Customer {
    Customer {
        id: model.id,
        name: model.name,
        phone: model.phone,
        email: model.email,
        notes: model.notes,
        version: model.version,
    }
}
