//! Units: the equipment, with its nameplate and the circuit it is judged by.
//!
//! Belongs here: the unit's own row, and judging open requests again when what is known of the
//! unit changes. Does not belong here: which circuit that is ([`circuit`]).

mod circuit;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use engine::case::Spec;
use sea_orm::ActiveValue::Set;
use sea_orm::{
    ActiveModelTrait as _, ColumnTrait as _, ConnectionTrait, EntityTrait as _, FromQueryResult,
    QueryFilter as _,
};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::entity::unit as row;
use crate::error::StoreError;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{live_feed, request, site};

use circuit::{check_specs, chosen, current, must_fit, must_have_no_readings};

pub use circuit::{OfCircuit, list_of_circuit};

/// Longest label, maker, model or serial number.
const LINE_CHARS_MAX: usize = 120;

/// A unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// Id.
    pub id: Uuid,
    /// Where it stands.
    pub site_id: Uuid,
    /// What people call it: "walk-in cooler, east wall".
    pub label: String,
    /// Maker.
    pub maker: String,
    /// Model.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// The circuit it is judged by.
    pub circuit: String,
    /// Which version, of a circuit of the shop's own; `None` for one that ships.
    pub circuit_version: Option<i32>,
    /// Refrigerant, e.g. "R-410A".
    pub refrigerant: Option<String>,
    /// Whether the refrigerant burns.
    pub flammable: bool,
    /// When it was installed.
    pub installed_on: Option<NaiveDate>,
    /// The last day of its warranty.
    pub warranty_until: Option<NaiveDate>,
    /// Nameplate and service-sheet values, by part.
    pub specs: BTreeMap<String, Spec>,
    /// Counts changes.
    pub version: i32,
}

/// A new unit.
#[derive(Clone, Debug, Default)]
pub struct UnitNew {
    /// What people call it.
    pub label: String,
    /// Maker.
    pub maker: String,
    /// Model.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// The circuit it is judged by.
    pub circuit: String,
    /// Refrigerant.
    pub refrigerant: Option<String>,
    /// Whether the refrigerant burns.
    pub flammable: bool,
    /// When it was installed.
    pub installed_on: Option<NaiveDate>,
    /// The last day of its warranty.
    pub warranty_until: Option<NaiveDate>,
    /// Nameplate and service-sheet values, by part.
    pub specs: BTreeMap<String, Spec>,
}

/// What to change; the rest stays. An inner `None` clears the value.
#[derive(Clone, Debug, Default)]
pub struct UnitChange {
    /// The version that was looked at; where given, a newer one is not overwritten.
    pub version: Option<i32>,
    /// What people call it.
    pub label: Option<String>,
    /// Maker.
    pub maker: Option<String>,
    /// Model.
    pub model: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// The circuit it is judged by. Another one is taken in its latest version; the same one
    /// stays in the version that it is.
    pub circuit: Option<String>,
    /// Which version of it, of a circuit of the shop's own.
    pub circuit_version: Option<i32>,
    /// Refrigerant.
    pub refrigerant: Option<Option<String>>,
    /// Whether the refrigerant burns.
    pub flammable: Option<bool>,
    /// When it was installed.
    pub installed_on: Option<Option<NaiveDate>>,
    /// The last day of its warranty.
    pub warranty_until: Option<Option<NaiveDate>>,
    /// Nameplate and service-sheet values, all of them.
    pub specs: Option<BTreeMap<String, Spec>>,
}

/// A unit of a shop.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn unit_find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Unit, StoreError> {
    row::Entity::find_by_id(id)
        .filter(row::Column::ShopId.eq(shop_id))
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "unit" })
        .and_then(from_row)
}

/// Every unit at a customer's sites, by label.
pub(crate) async fn list_of_customer<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    customer_id: Uuid,
) -> Result<Vec<Unit>, StoreError> {
    let rows = row::Model::find_by_statement(sql(
        "SELECT unit.* FROM unit JOIN site ON site.id = unit.site_id \
         WHERE unit.shop_id = $1 AND site.customer_id = $2 ORDER BY unit.label, unit.id",
        [shop_id.into(), customer_id.into()],
    ))
    .all(conn)
    .await?;
    rows.into_iter().map(from_row).collect()
}

/// Adds a unit to a site.
///
/// # Errors
/// `NotFound` for the site, `InvalidMany`, or the database fails.
pub async fn unit_add(
    store: &Store,
    caller: &Caller,
    site_id: Uuid,
    new: UnitNew,
) -> Result<Unit, StoreError> {
    let mut faults = Faults::default();
    let known = current(store.conn(), &mut faults, caller.shop_id, &new.circuit).await?;
    let model = row::ActiveModel {
        id: Set(store.new_id()),
        shop_id: Set(caller.shop_id),
        site_id: Set(site_id),
        label: Set(faults.text("/label", &new.label, LINE_CHARS_MAX)),
        maker: Set(faults.text_or_empty("/maker", &new.maker, LINE_CHARS_MAX)),
        model: Set(faults.text_or_empty("/model", &new.model, LINE_CHARS_MAX)),
        serial: Set(faults.text_or_empty("/serial", &new.serial, LINE_CHARS_MAX)),
        circuit: Set(new.circuit.clone()),
        circuit_version: Set(known.as_ref().and_then(|known| known.version)),
        refrigerant: Set(faults.text_opt(
            "/refrigerant",
            new.refrigerant.as_deref(),
            LINE_CHARS_MAX,
        )),
        flammable: Set(new.flammable),
        installed_on: Set(new.installed_on),
        warranty_until: Set(new.warranty_until),
        specs: Set(json!(new.specs)),
        version: Set(1),
        created_at: Set(store.now()),
    };
    if let Some(known) = &known {
        check_specs(&mut faults, known, &new.specs).await?;
    }
    check_dates(&mut faults, new.installed_on, new.warranty_until);
    faults.done()?;

    let txn = store.begin().await?;
    site::site_find(&txn, caller.shop_id, site_id).await?;
    let unit = from_row(model.insert(&txn).await?)?;
    txn.commit().await?;
    Ok(unit)
}

/// Changes a unit. Where its circuit or values change, the evidence of its open jobs means
/// something else: their revision counts up, and open requests are judged again.
///
/// # Errors
/// `NotFound`, `InvalidMany`, `Conflict` where somebody else changed it meanwhile or a circuit
/// is changed under readings that name its points, or the database fails.
pub async fn unit_change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    change: UnitChange,
) -> Result<Unit, StoreError> {
    let txn = store.begin().await?;
    // Jobs before anything else: evidence and signatures take the job's lock first, too.
    let open_jobs = lock_open_jobs(&txn, caller.shop_id, id).await?;
    txn.execute_raw(sql("SELECT 1 FROM unit WHERE id = $1 FOR UPDATE", [id.into()])).await?;
    let before = unit_find(&txn, caller.shop_id, id).await?;
    if change.version.is_some_and(|version| version != before.version) {
        return Err(StoreError::changed_meanwhile("unit", before.version));
    }
    let model = changed_row(&txn, caller.shop_id, &before, &change).await?;
    let after = from_row(model.update(&txn).await?)?;

    let other_version = after.circuit_version != before.circuit_version;
    let judged_anew =
        after.circuit != before.circuit || other_version || after.specs != before.specs;
    if after.circuit != before.circuit {
        must_have_no_readings(&txn, caller.shop_id, &open_jobs).await?;
    }
    if judged_anew {
        for job_id in open_jobs {
            if other_version {
                must_fit(&txn, caller.shop_id, &after, job_id).await?;
            }
            judge_anew(store, &txn, caller, &before, &after, job_id).await?;
        }
    }
    txn.commit().await?;
    Ok(after)
}

async fn changed_row<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    before: &Unit,
    change: &UnitChange,
) -> Result<row::ActiveModel, StoreError> {
    let mut faults = Faults::default();
    let mut model = row::ActiveModel { id: Set(before.id), ..Default::default() };
    if let Some(label) = &change.label {
        model.label = Set(faults.text("/label", label, LINE_CHARS_MAX));
    }
    if let Some(maker) = &change.maker {
        model.maker = Set(faults.text_or_empty("/maker", maker, LINE_CHARS_MAX));
    }
    if let Some(name) = &change.model {
        model.model = Set(faults.text_or_empty("/model", name, LINE_CHARS_MAX));
    }
    if let Some(serial) = &change.serial {
        model.serial = Set(faults.text_or_empty("/serial", serial, LINE_CHARS_MAX));
    }
    if let Some(refrigerant) = &change.refrigerant {
        model.refrigerant =
            Set(faults.text_opt("/refrigerant", refrigerant.as_deref(), LINE_CHARS_MAX));
    }
    if let Some(flammable) = change.flammable {
        model.flammable = Set(flammable);
    }
    if let Some(installed_on) = change.installed_on {
        model.installed_on = Set(installed_on);
    }
    if let Some(warranty_until) = change.warranty_until {
        model.warranty_until = Set(warranty_until);
    }
    check_dates(
        &mut faults,
        change.installed_on.unwrap_or(before.installed_on),
        change.warranty_until.unwrap_or(before.warranty_until),
    );
    if change.circuit.is_some() || change.circuit_version.is_some() || change.specs.is_some() {
        let specs = change.specs.as_ref().unwrap_or(&before.specs);
        if let Some(known) = chosen(txn, &mut faults, shop_id, before, change).await? {
            check_specs(&mut faults, &known, specs).await?;
            model.circuit = Set(known.circuit.name.clone());
            model.circuit_version = Set(known.version);
        }
        model.specs = Set(json!(specs));
    }
    faults.done()?;
    model.version = Set(before.version + 1);
    Ok(model)
}

async fn lock_open_jobs<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    unit_id: Uuid,
) -> Result<Vec<Uuid>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        id: Uuid,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT id FROM job WHERE shop_id = $1 AND unit_id = $2 \
         AND state NOT IN ('done', 'cancelled') ORDER BY id FOR NO KEY UPDATE",
        [shop_id.into(), unit_id.into()],
    ))
    .all(txn)
    .await?;
    Ok(rows.into_iter().map(|row| row.id).collect())
}

fn values(unit: &Unit) -> serde_json::Value {
    json!({
        "circuit": unit.circuit, "circuit_version": unit.circuit_version, "specs": unit.specs,
    })
}

async fn judge_anew<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    before: &Unit,
    after: &Unit,
    job_id: Uuid,
) -> Result<(), StoreError> {
    let now = store.now();
    txn.execute_raw(sql(
        "UPDATE job SET evidence_revision = evidence_revision + 1, changed_at = $2 WHERE id = $1",
        [job_id.into(), now.into()],
    ))
    .await?;
    let mut outcome = request::rejudge_job(store, txn, caller.shop_id, job_id).await?;
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "unit_values_changed",
        subject_kind: "job",
        subject_id: job_id,
        body: json!({
            "unit": after.id,
            "before": values(before),
            "after": values(after),
        }),
    };
    record::append(txn, now, entry).await?;
    outcome.record(txn, now).await?;
    for topic in ["evidence", "job"] {
        live_feed::announce(txn, now, caller.shop_id, topic, job_id, json!({})).await?;
    }
    outcome.announce(txn, now).await
}

fn check_dates(
    faults: &mut Faults,
    installed_on: Option<NaiveDate>,
    warranty_until: Option<NaiveDate>,
) {
    if let (Some(installed_on), Some(warranty_until)) = (installed_on, warranty_until)
        && warranty_until < installed_on
    {
        faults.add(
            "/warranty_until",
            format!("The warranty cannot end before the unit was installed, on {installed_on}."),
        );
    }
}

fn from_row(model: row::Model) -> Result<Unit, StoreError> {
    Ok(Unit {
        id: model.id,
        site_id: model.site_id,
        label: model.label,
        maker: model.maker,
        model: model.model,
        serial: model.serial,
        circuit: model.circuit,
        circuit_version: model.circuit_version,
        refrigerant: model.refrigerant,
        flammable: model.flammable,
        installed_on: model.installed_on,
        warranty_until: model.warranty_until,
        specs: serde_json::from_value(model.specs)
            .map_err(|source| StoreError::corrupt("unit's values", source))?,
        version: model.version,
    })
}
