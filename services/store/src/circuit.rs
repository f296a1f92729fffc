//! Circuits: the ones that ship, read once, and finding one by its name and version.
//!
//! Belongs here: which circuit a name means. Does not belong here: reading the file's text,
//! which is the engine's; a shop's own circuits ([`own`]).

pub mod own;

use std::sync::{Arc, OnceLock};

use engine::circuit::Circuit;
use engine::circuit_file;
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::sql;
use crate::error::StoreError;

/// A circuit with the text it was read from, which a condemn request keeps. Cheap to clone.
#[derive(Clone, Debug)]
pub struct Known {
    /// As read.
    pub circuit: Arc<Circuit>,
    /// Its file.
    pub text: Arc<str>,
    /// Counted from 1 for a shop's own; `None` for one that ships.
    pub version: Option<i32>,
}

impl Known {
    /// The text to give to the engine with the circuit's name: none for one that it ships.
    pub fn text_to_send(&self) -> Option<String> {
        self.version.map(|_| self.text.to_string())
    }
}

/// Every circuit that ships, by name.
///
/// # Errors
/// When a shipped file does not read; the engine's tests keep that from happening.
pub fn shipped() -> Result<&'static [Known], StoreError> {
    static KNOWN: OnceLock<Result<Vec<Known>, engine::problem::Problems>> = OnceLock::new();
    let known = KNOWN.get_or_init(|| {
        circuit_file::shipped()
            .iter()
            .map(|shipped| {
                let file = format!("{}.toml", shipped.name);
                let circuit = Arc::new(circuit_file::parse(&file, shipped.text)?);
                Ok(Known { circuit, text: shipped.text.into(), version: None })
            })
            .collect()
    });
    match known {
        Ok(known) => Ok(known),
        Err(problems) => Err(StoreError::corrupt("circuit", problems.clone())),
    }
}

/// The shipped circuit of that name.
///
/// # Errors
/// When a shipped file does not read.
pub fn shipped_named(name: &str) -> Result<Option<&'static Known>, StoreError> {
    Ok(shipped()?.iter().find(|known| known.circuit.name == name))
}

/// One version of a circuit: a shipped one where `version` is `None`, else the shop's own.
///
/// # Errors
/// `NotFound` when there is none, or the database fails.
pub async fn find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    name: &str,
    version: Option<i32>,
) -> Result<Known, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        text: String,
    }
    let missing = || StoreError::NotFound { what: "circuit" };
    let Some(version) = version else {
        return shipped_named(name)?.cloned().ok_or_else(missing);
    };
    let row = Row::find_by_statement(sql(
        "SELECT text FROM circuit_version WHERE shop_id = $1 AND name = $2 AND version = $3",
        [shop_id.into(), name.into(), version.into()],
    ))
    .one(conn)
    .await?
    .ok_or_else(missing)?;
    let circuit = read_kept(name, &row.text)?;
    Ok(Known { circuit, text: row.text.into(), version: Some(version) })
}

/// A circuit from a text that was kept with something that was said of it, in whatever version.
///
/// # Errors
/// When it does not read; it did when it was kept.
pub(crate) fn read_kept(name: &str, text: &str) -> Result<Arc<Circuit>, StoreError> {
    if let Some(known) = shipped_named(name)?.filter(|known| *known.text == *text) {
        return Ok(known.circuit.clone());
    }
    let circuit = circuit_file::parse(&format!("{name}.toml"), text)
        .map_err(|problems| StoreError::corrupt("circuit", problems))?;
    Ok(Arc::new(circuit))
}

/// The circuit that a unit can be given by that name: a shipped one, or the latest version of one
/// of the shop's own that is not withdrawn.
///
/// # Errors
/// `NotFound` when there is none, or the database fails.
pub async fn find_current<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    name: &str,
) -> Result<Known, StoreError> {
    if let Some(known) = shipped_named(name)? {
        return Ok(known.clone());
    }
    let latest = own::latest(conn, shop_id, name).await?;
    match latest {
        Some(latest) if latest.withdrawn.is_none() => {
            find(conn, shop_id, name, Some(latest.version)).await
        }
        _ => Err(StoreError::NotFound { what: "circuit" }),
    }
}

/// What a job's evidence is read against: the circuit that its first reading was taken on, or
/// the unit's where there is no reading yet.
///
/// # Errors
/// `NotFound` when there is no such job, or the database fails.
pub async fn of_job<C: ConnectionTrait>(conn: &C, job_id: Uuid) -> Result<Known, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        shop_id: Uuid,
        circuit: String,
        circuit_version: Option<i32>,
    }
    let row = Row::find_by_statement(sql(
        "SELECT job.shop_id, coalesce(job.circuit, unit.circuit) AS circuit, \
             CASE WHEN job.circuit IS NULL THEN unit.circuit_version ELSE job.circuit_version END \
                 AS circuit_version \
         FROM job JOIN unit ON unit.id = job.unit_id WHERE job.id = $1",
        [job_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "job" })?;
    find(conn, row.shop_id, &row.circuit, row.circuit_version).await
}
