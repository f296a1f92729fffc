//! Finding a customer while they are on the telephone.
//!
//! Belongs here: looking for a piece of a name, a number or an address. Does not belong here: a
//! customer's own row ([`super`]).

use sea_orm::FromQueryResult;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;
use crate::text::like;

/// Customers told at most; whoever has more that match types another letter.
pub const FOUND_MAX: usize = 12;

/// Fewest letters that are looked for: one would find everybody.
pub const LETTERS_MIN: usize = 2;

/// Longest text that is looked for.
const SOUGHT_CHARS_MAX: usize = 80;

/// Fewest digits that are taken for a piece of a telephone number.
const DIGITS_MIN: usize = 3;

/// A customer who was found, with what is needed to take their call.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// Telephone.
    pub phone: Option<String>,
    /// Their sites, those that match first.
    pub sites: Vec<FoundSite>,
}

/// A site of theirs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoundSite {
    /// Id.
    pub id: Uuid,
    /// Street and number.
    pub address: String,
    /// Town.
    pub town: String,
    /// Its units: id, name, maker and model.
    pub units: Vec<(Uuid, String, String)>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finds {
    /// At most [`FOUND_MAX`], by name.
    pub customers: Vec<Found>,
    /// Whether there are more.
    pub more: bool,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    name: String,
    phone: Option<String>,
}

#[derive(FromQueryResult)]
struct Place {
    customer_id: Uuid,
    site_id: Uuid,
    address: String,
    town: String,
    unit_id: Option<Uuid>,
    label: Option<String>,
    model: Option<String>,
}

/// The customers in whom every word is found: in the name, the telephone number (whatever
/// stands between its digits) or the address of one of their sites.
///
/// # Errors
/// `Invalid` for too short or too long a text, or the database fails.
pub async fn customer_search(
    store: &Store,
    caller: &Caller,
    text: &str,
) -> Result<Finds, StoreError> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(Finds { customers: Vec::new(), more: false });
    }
    let letters = text.chars().filter(|letter| letter.is_alphanumeric()).count();
    if letters < LETTERS_MIN || text.chars().count() > SOUGHT_CHARS_MAX {
        return Err(StoreError::invalid(
            "/q",
            format!(
                "Type {LETTERS_MIN} to {SOUGHT_CHARS_MAX} characters: a piece of the name, the \
                 telephone number or the address."
            ),
        ));
    }
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    // All of it is a number, however it is grouped.
    let number = digits.len() >= DIGITS_MIN
        && text.chars().all(|char| char.is_ascii_digit() || " -+()./".contains(char));
    let words: Vec<String> = text.split_whitespace().map(like).collect();
    let first = words.first().cloned().unwrap_or_default();
    // The first word picks through the indexes, the others sort out.
    let rows = Row::find_by_statement(sql(
        "WITH candidate AS MATERIALIZED ( \
           SELECT id FROM customer WHERE lower(name || ' ' || coalesce(phone, '')) LIKE $2 \
           UNION SELECT customer_id FROM site WHERE lower(address || ' ' || town) LIKE $2 \
           UNION SELECT id FROM customer WHERE $4 AND \
             regexp_replace(coalesce(phone, ''), '[^0-9]', '', 'g') LIKE $5 \
         ) \
         SELECT customer.id, customer.name, customer.phone FROM customer \
         JOIN candidate ON candidate.id = customer.id \
         WHERE customer.shop_id = $1 AND ($4 AND \
             regexp_replace(coalesce(customer.phone, ''), '[^0-9]', '', 'g') LIKE $5 \
           OR lower(concat_ws(' ', customer.name, customer.phone, (SELECT \
             string_agg(address || ' ' || town, ' ') FROM site WHERE customer_id = customer.id))) \
             LIKE ALL ($3)) \
         ORDER BY lower(customer.name) LIKE replace($2, '%', '') || '%' DESC, customer.name, \
           customer.id LIMIT $6",
        [
            caller.shop_id.into(),
            first.into(),
            words.into(),
            number.into(),
            like(&digits).into(),
            (FOUND_MAX as i64 + 1).into(),
        ],
    ))
    .all(store.conn())
    .await?;
    let more = rows.len() > FOUND_MAX;
    let mut customers: Vec<Found> = rows
        .into_iter()
        .take(FOUND_MAX)
        .map(|row| Found { id: row.id, name: row.name, phone: row.phone, sites: Vec::new() })
        .collect();
    places(store, caller, &mut customers).await?;
    Ok(Finds { customers, more })
}

/// Their sites and units, in one look for all.
async fn places(store: &Store, caller: &Caller, customers: &mut [Found]) -> Result<(), StoreError> {
    let ids: Vec<Uuid> = customers.iter().map(|customer| customer.id).collect();
    let places = Place::find_by_statement(sql(
        "SELECT site.customer_id, site.id AS site_id, site.address, site.town, \
           unit.id AS unit_id, unit.label, nullif(trim(unit.maker || ' ' || unit.model), '') \
             AS model \
         FROM site LEFT JOIN unit ON unit.site_id = site.id \
         WHERE site.shop_id = $1 AND site.customer_id = ANY ($2) \
         ORDER BY site.town, site.address, site.id, unit.label, unit.id",
        [caller.shop_id.into(), ids.into()],
    ))
    .all(store.conn())
    .await?;
    for place in places {
        let Some(customer) = customers.iter_mut().find(|one| one.id == place.customer_id) else {
            continue;
        };
        if customer.sites.last().is_none_or(|site| site.id != place.site_id) {
            customer.sites.push(FoundSite {
                id: place.site_id,
                address: place.address,
                town: place.town,
                units: Vec::new(),
            });
        }
        if let (Some(site), Some(id), Some(label)) =
            (customer.sites.last_mut(), place.unit_id, place.label)
        {
            site.units.push((id, label, place.model.unwrap_or_default()));
        }
    }
    Ok(())
}
