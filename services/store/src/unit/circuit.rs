//! Which circuit a unit is judged by, and in which version.
//!
//! Belongs here: choosing it, whether the unit's values and its open jobs' readings fit it, and
//! which units have one. Does not belong here: the unit's own row ([`super`]), and what a circuit
//! is ([`crate::circuit`]).

use std::collections::BTreeMap;

use engine::case::{CASE_FORMAT, Case, Spec};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::{Unit, UnitChange};
use crate::circuit::{self, Known, own};
use crate::db::sql;
use crate::error::StoreError;
use crate::evidence::{self, judge};
use crate::text::Faults;

/// Most units listed for one circuit; further ones are left off.
const CIRCUIT_UNITS_MAX: i64 = 1_000;

/// A unit that has a circuit.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct OfCircuit {
    /// Id.
    pub id: Uuid,
    /// What people call it.
    pub label: String,
    /// Whose it is.
    pub customer_id: Uuid,
    /// Their name.
    pub customer_name: String,
    /// Which version it has.
    pub circuit_version: Option<i32>,
    /// Counts the unit's changes.
    pub version: i32,
}

/// The shop's units that have a circuit, by customer and label.
///
/// # Errors
/// When the database fails.
pub async fn list_of_circuit<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    circuit: &str,
) -> Result<Vec<OfCircuit>, StoreError> {
    Ok(OfCircuit::find_by_statement(sql(
        "SELECT unit.id, unit.label, site.customer_id, customer.name AS customer_name, \
             unit.circuit_version, unit.version \
         FROM unit JOIN site ON site.id = unit.site_id \
         JOIN customer ON customer.id = site.customer_id \
         WHERE unit.shop_id = $1 AND unit.circuit = $2 \
         ORDER BY customer.name, unit.label, unit.id LIMIT $3",
        [shop_id.into(), circuit.into(), CIRCUIT_UNITS_MAX.into()],
    ))
    .all(conn)
    .await?)
}

/// The circuit of a change: another one in its latest version, or a version that was named.
pub(super) async fn chosen<C: ConnectionTrait>(
    txn: &C,
    faults: &mut Faults,
    shop_id: Uuid,
    before: &Unit,
    change: &UnitChange,
) -> Result<Option<Known>, StoreError> {
    let name = change.circuit.as_ref().unwrap_or(&before.circuit);
    let version = match change.circuit_version {
        None if *name != before.circuit => return current(txn, faults, shop_id, name).await,
        None => before.circuit_version,
        Some(version) => Some(version),
    };
    match circuit::find(txn, shop_id, name, version).await {
        Ok(known) => Ok(Some(known)),
        Err(StoreError::NotFound { .. }) => {
            let last = own::latest(txn, shop_id, name).await?.map_or(0, |own| own.version);
            let says = if last == 0 {
                format!("\"{name}\" has no versions; leave this out.")
            } else {
                format!("\"{name}\" has the versions 1 to {last}.")
            };
            faults.add("/circuit_version", says);
            Ok(None)
        }
        Err(other) => Err(other),
    }
}

/// The circuit that a unit can be given by a name, or a fault that names those there are.
pub(super) async fn current<C: ConnectionTrait>(
    conn: &C,
    faults: &mut Faults,
    shop_id: Uuid,
    name: &str,
) -> Result<Option<Known>, StoreError> {
    match circuit::find_current(conn, shop_id, name).await {
        Ok(known) => Ok(Some(known)),
        Err(StoreError::NotFound { .. }) => {
            let own = own::list(conn, shop_id).await?;
            let own = own.iter().filter(|own| own.withdrawn.is_none()).map(|own| own.name.as_str());
            let shipped = circuit::shipped()?.iter().map(|known| known.circuit.name.as_str());
            let names: Vec<_> = own.chain(shipped).collect();
            faults.add(
                "/circuit",
                format!("There is no circuit \"{name}\"; there are {}.", names.join(", ")),
            );
            Ok(None)
        }
        Err(other) => Err(other),
    }
}

/// An open job's readings must mean something on the version that its unit moves to; its
/// evidence is then read against that one.
pub(super) async fn must_fit<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    after: &Unit,
    job_id: Uuid,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "UPDATE job SET circuit = $2, circuit_version = $3 WHERE id = $1 AND circuit IS NOT NULL",
        [job_id.into(), after.circuit.clone().into(), after.circuit_version.into()],
    ))
    .await?;
    let evidence = evidence::of_job(txn, shop_id, job_id).await?;
    match judge::run_given(evidence.case(None)).await {
        Ok(_) => Ok(()),
        Err(StoreError::InvalidMany(found)) => Err(StoreError::conflict(
            "circuit-in-use",
            format!(
                "Readings of job {} do not fit that version: {} Close that job first, or keep the \
                 points that they name in the circuit.",
                evidence.job_number,
                found.first().map_or("", |fault| fault.says.as_str())
            ),
        )),
        Err(other) => Err(other),
    }
}

/// The engine must accept the values on the circuit.
pub(super) async fn check_specs(
    faults: &mut Faults,
    known: &Known,
    specs: &BTreeMap<String, Spec>,
) -> Result<(), StoreError> {
    if specs.is_empty() {
        return Ok(());
    }
    let case = Case {
        format: CASE_FORMAT,
        title: None,
        circuit: known.circuit.name.clone(),
        circuit_text: known.text_to_send(),
        specs: specs.clone(),
        claim: None,
        readings: Vec::new(),
        observations: Vec::new(),
        policy: None,
        rates: None,
    };
    match judge::run_given(case).await {
        Err(StoreError::InvalidMany(found)) => {
            for fault in found.into_iter().filter(|fault| fault.pointer.starts_with("/specs")) {
                faults.add(&fault.pointer, fault.says);
            }
            Ok(())
        }
        Err(StoreError::Invalid { pointer, says }) if pointer.starts_with("/specs") => {
            faults.add(&pointer, says);
            Ok(())
        }
        Err(StoreError::Invalid { .. }) | Ok(_) => Ok(()),
        Err(other) => Err(other),
    }
}

/// Readings name points of the circuit; on another circuit they would mean nothing.
pub(super) async fn must_have_no_readings<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    open_jobs: &[Uuid],
) -> Result<(), StoreError> {
    let found = txn
        .query_one_raw(sql(
            "SELECT 1 FROM job WHERE shop_id = $1 AND id = ANY ($2) AND evidence_revision > 0",
            [shop_id.into(), open_jobs.to_vec().into()],
        ))
        .await?;
    if found.is_none() {
        return Ok(());
    }
    Err(StoreError::conflict(
        "circuit-in-use",
        "Readings were taken on this unit's circuit in a job that is still open. Close that job \
         first, or take a new unit for the other circuit.",
    ))
}
