//! The demo's customers, sites and units: an invented town, invented makers and models.
//!
//! Belongs here: who has what where. Does not belong here: what broke ([`super::story`]).

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use engine::case::Spec;
use engine::units::Unit as Measure;
use store::customer::{CustomerNew, customer_add};
use store::site::{Place, SiteNew, site_add};
use store::unit::{UnitNew, unit_add};
use store::{Caller, Store, StoreError};
use uuid::Uuid;

/// One customer with one site and one unit.
pub(super) struct Household {
    pub(super) customer: &'static str,
    pub(super) address: &'static str,
    pub(super) notes: &'static str,
    pub(super) unit: &'static str,
    pub(super) maker: &'static str,
    pub(super) model: &'static str,
    pub(super) serial: &'static str,
    pub(super) circuit: &'static str,
    pub(super) refrigerant: &'static str,
    pub(super) flammable: bool,
    pub(super) age_years: i64,
    /// Years of warranty from installation.
    pub(super) warranty_years: i64,
    /// Part, value and unit from the nameplate or the service sheet.
    pub(super) specs: &'static [(&'static str, f64, Measure)],
}

/// The town that everything is in.
const TOWN: &str = "Vellum Falls";
const DAYS_PER_YEAR: i64 = 365;

/// The middle of the invented town: grass and sky, with no house for miles.
const MIDDLE: Place = Place { latitude: 45.62, longitude: -105.74 };
/// How far the town reaches from its middle, degrees: some five kilometres.
const REACH: f64 = 0.045;
/// Between two house numbers of a street, degrees: some ten metres.
const HOUSE: f64 = 0.0001;

/// Where an address of the town lies: each street somewhere, its houses in a row. The same
/// address always lies at the same place.
fn place_of(address: &str) -> Place {
    let (number, street) = match address.split_once(' ') {
        Some((number, street)) if number.starts_with(|first: char| first.is_ascii_digit()) => {
            (number.parse().unwrap_or(1.0), street)
        }
        _ => (1.0, address),
    };
    // Any even scatter of short texts will do.
    let scatter = |seed: u32| {
        let mixed = street.bytes().fold(seed, |mixed, byte| {
            (mixed ^ u32::from(byte)).wrapping_mul(16_777_619).rotate_left(7)
        });
        f64::from(mixed % 2_001) / 1_000.0 - 1.0
    };
    Place {
        latitude: MIDDLE.latitude + REACH * scatter(2_166_136_261) + HOUSE * number,
        longitude: MIDDLE.longitude + REACH * scatter(97),
    }
}

/// Where the shop itself lies, degrees.
pub(super) fn shop_place() -> [f64; 2] {
    [MIDDLE.latitude, MIDDLE.longitude]
}

/// Adds a household; the answer is its unit.
pub(super) async fn add(
    store: &Store,
    caller: &Caller,
    now: DateTime<Utc>,
    it: &Household,
) -> Result<Uuid, StoreError> {
    let customer = customer_add(
        store,
        caller,
        CustomerNew {
            name: it.customer.to_owned(),
            phone: None,
            email: None,
            notes: String::new(),
        },
    )
    .await?;
    let site = site_add(
        store,
        caller,
        customer.id,
        SiteNew {
            address: it.address.to_owned(),
            town: TOWN.to_owned(),
            altitude_ft: Some(4_300),
            zone: None,
            place: Some(place_of(it.address)),
            notes: it.notes.to_owned(),
        },
    )
    .await?;
    let installed = (now - Duration::days(it.age_years * DAYS_PER_YEAR)).date_naive();
    let specs: BTreeMap<String, Spec> = it
        .specs
        .iter()
        .map(|&(part, value, unit)| {
            let spec = Spec {
                value,
                unit,
                tolerance_pct: None,
                source: Some("service sheet in the panel".to_owned()),
            };
            (part.to_owned(), spec)
        })
        .collect();
    let unit = unit_add(
        store,
        caller,
        site.id,
        UnitNew {
            label: it.unit.to_owned(),
            maker: it.maker.to_owned(),
            model: it.model.to_owned(),
            serial: it.serial.to_owned(),
            circuit: it.circuit.to_owned(),
            refrigerant: Some(it.refrigerant.to_owned()),
            flammable: it.flammable,
            installed_on: Some(installed),
            warranty_until: Some(installed + Duration::days(it.warranty_years * DAYS_PER_YEAR)),
            specs,
        },
    )
    .await?;
    Ok(unit.id)
}
