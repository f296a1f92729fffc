//! A shop's own circuits, version by version.
//!
//! Belongs here: adding a version, listing, withdrawing, and which units are on which. Does not
//! belong here: what a circuit file must look like (the engine's), and moving a unit to another
//! version ([`crate::unit`]), which judges its evidence anew.

use chrono::{DateTime, Utc};
use engine::circuit::Circuit;
use engine::circuit_file::{self, FILE_BYTES_MAX};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::{Fault, InFile, StoreError, by_constraint};
use crate::evidence::Named;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::Faults;

/// Most circuits of a shop's own; a further one is refused.
pub const CIRCUITS_MAX: i64 = 200;

/// Most versions of one circuit; a further one is refused.
pub const VERSIONS_MAX: i32 = 500;

/// Longest note of a version, or reason of a withdrawal.
const NOTE_CHARS_MAX: usize = 500;

/// Fewest characters of the reason of a withdrawal.
const REASON_CHARS_MIN: usize = 5;

/// The latest version of one of the shop's own circuits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Own {
    /// Its identifier.
    pub name: String,
    /// A line for people.
    pub title: String,
    /// What to know before using it.
    pub about: String,
    /// The latest version.
    pub version: i32,
    /// Why no unit can be given it any more.
    pub withdrawn: Option<String>,
    /// Units that have it, in any version.
    pub units: i64,
    /// Those of them that are on an older version.
    pub units_behind: i64,
}

/// One version, without its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Version {
    /// Counted from 1.
    pub version: i32,
    /// What is different from the one before.
    pub note: String,
    /// Who added it.
    pub added_by: Named,
    /// When.
    pub at: DateTime<Utc>,
    /// Units that have it.
    pub units: i64,
}

/// A version to add.
#[derive(Clone, Debug)]
pub struct VersionNew {
    /// The circuit file (TOML); its own name says which circuit it is.
    pub text: String,
    /// What is different from the version before.
    pub note: String,
    /// The latest version that the author saw, 0 for a new circuit: a newer one is not
    /// written over unseen.
    pub after_version: i32,
}

#[derive(FromQueryResult)]
struct OwnRow {
    name: String,
    title: String,
    about: String,
    version: i32,
    withdrawn: Option<String>,
    units: i64,
    units_behind: i64,
}

const OWN: &str = "SELECT DISTINCT ON (latest.name) latest.name, latest.title, latest.about, \
         latest.version, circuit_withdrawn.reason AS withdrawn, \
         (SELECT count(*) FROM unit WHERE unit.shop_id = $1 AND unit.circuit = latest.name) \
             AS units, \
         (SELECT count(*) FROM unit WHERE unit.shop_id = $1 AND unit.circuit = latest.name \
             AND unit.circuit_version < latest.version) AS units_behind \
     FROM circuit_version AS latest \
     LEFT JOIN circuit_withdrawn ON circuit_withdrawn.shop_id = latest.shop_id \
         AND circuit_withdrawn.name = latest.name \
     WHERE latest.shop_id = $1 AND ($2::text IS NULL OR latest.name = $2) \
     ORDER BY latest.name, latest.version DESC";

/// The shop's own circuits, by name.
///
/// # Errors
/// When the database fails.
pub async fn list<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Vec<Own>, StoreError> {
    let none: Option<String> = None;
    let rows = OwnRow::find_by_statement(sql(OWN, [shop_id.into(), none.into()])).all(conn).await?;
    Ok(rows.into_iter().map(Own::from).collect())
}

/// The latest version of one of them.
///
/// # Errors
/// When the database fails.
pub async fn latest<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    name: &str,
) -> Result<Option<Own>, StoreError> {
    let row = OwnRow::find_by_statement(sql(OWN, [shop_id.into(), name.into()])).one(conn).await?;
    Ok(row.map(Own::from))
}

/// Every version of one of them, newest first.
///
/// # Errors
/// When the database fails.
pub async fn versions<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    name: &str,
) -> Result<Vec<Version>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        version: i32,
        note: String,
        added_by: Uuid,
        added_by_name: String,
        at: DateTime<Utc>,
        units: i64,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT circuit_version.version, circuit_version.note, circuit_version.added_by, \
             person.name AS added_by_name, circuit_version.at, \
             (SELECT count(*) FROM unit WHERE unit.shop_id = $1 AND unit.circuit = $2 \
                 AND unit.circuit_version = circuit_version.version) AS units \
         FROM circuit_version JOIN person ON person.id = circuit_version.added_by \
         WHERE circuit_version.shop_id = $1 AND circuit_version.name = $2 \
         ORDER BY circuit_version.version DESC",
        [shop_id.into(), name.into()],
    ))
    .all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Version {
            version: row.version,
            note: row.note,
            added_by: Named { id: row.added_by, name: row.added_by_name },
            at: row.at,
            units: row.units,
        })
        .collect())
}

/// Reads a circuit file that somebody is writing. Nothing is kept.
///
/// # Errors
/// `InvalidMany`: every problem at "/text", its words beginning with the line.
pub fn read(text: &str) -> Result<Circuit, StoreError> {
    if text.len() > FILE_BYTES_MAX {
        return Err(StoreError::invalid(
            "/text",
            format!("A circuit file has at most {FILE_BYTES_MAX} bytes; this has {}.", text.len()),
        ));
    }
    circuit_file::parse("line", text).map_err(|problems| {
        let fault = |problem: engine::problem::Problem| Fault {
            pointer: "/text".to_owned(),
            says: match problem.line {
                Some(line) => format!("Line {line}: {}.", problem.says.trim_end_matches('.')),
                None => format!("{}.", problem.says.trim_end_matches('.')),
            },
            in_file: Some(InFile { line: problem.line, path: problem.path }),
        };
        StoreError::InvalidMany(problems.problems.into_iter().map(fault).collect())
    })
}

/// Adds a version of one of the shop's own circuits; the first makes the circuit. Units stay on
/// the version that they have.
///
/// # Errors
/// `Forbidden` unless the caller manages, `InvalidMany` with the file's problems, `Conflict`
/// where somebody added a version meanwhile or a limit is reached.
pub async fn add(store: &Store, caller: &Caller, new: VersionNew) -> Result<Own, StoreError> {
    caller.must_manage("add a circuit")?;
    let circuit = read(&new.text)?;
    let mut faults = Faults::default();
    let note = match new.after_version {
        0 => faults.text_or_empty("/note", &new.note, NOTE_CHARS_MAX),
        _ => faults.text("/note", &new.note, NOTE_CHARS_MAX),
    };
    if super::shipped_named(&circuit.name)?.is_some() {
        faults.add(
            "/text",
            format!(
                "A circuit called \"{0}\" ships with Countersign; call yours something else in its \
                 line `name = …`, for instance \"{0}-ours\".",
                circuit.name
            ),
        );
    }
    faults.done()?;

    let txn = store.begin().await?;
    // Two who add at once take turns.
    txn.execute_raw(sql(
        "SELECT 1 FROM shop WHERE id = $1 FOR NO KEY UPDATE",
        [caller.shop_id.into()],
    ))
    .await?;
    let before = latest(&txn, caller.shop_id, &circuit.name).await?;
    let last = before.as_ref().map_or(0, |own| own.version);
    if last != new.after_version {
        return Err(StoreError::conflict(
            "changed-meanwhile",
            match last {
                0 => format!("There is no circuit \"{}\" yet; add it as a new one.", circuit.name),
                _ => format!(
                    "\"{}\" is at version {last} by now. Look at that version, put your change \
                     into it, then add it.",
                    circuit.name
                ),
            },
        ));
    }
    if last == 0 && list(&txn, caller.shop_id).await?.len() as i64 >= CIRCUITS_MAX {
        return Err(StoreError::conflict(
            "too-many-circuits",
            format!("A shop has at most {CIRCUITS_MAX} circuits of its own."),
        ));
    }
    if last >= VERSIONS_MAX {
        return Err(StoreError::conflict(
            "too-many-versions",
            format!("A circuit has at most {VERSIONS_MAX} versions; give the next one a new name."),
        ));
    }
    insert(store, &txn, caller, &circuit, &new.text, &note, last + 1).await?;
    let own = latest(&txn, caller.shop_id, &circuit.name)
        .await?
        .ok_or(StoreError::NotFound { what: "circuit" })?;
    txn.commit().await?;
    Ok(own)
}

async fn insert<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    circuit: &Circuit,
    text: &str,
    note: &str,
    version: i32,
) -> Result<(), StoreError> {
    let now = store.now();
    let taken =
        || StoreError::conflict("changed-meanwhile", "Somebody added this version just now.");
    txn.execute_raw(sql(
        "INSERT INTO circuit_version (shop_id, name, version, title, about, text, note, added_by, \
             at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        [
            caller.shop_id.into(),
            circuit.name.clone().into(),
            version.into(),
            circuit.title.clone().into(),
            circuit.about.clone().into(),
            text.into(),
            note.into(),
            caller.person_id.into(),
            now.into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("circuit_version_key", &taken)]))?;
    txn.execute_raw(sql(
        "DELETE FROM circuit_withdrawn WHERE shop_id = $1 AND name = $2",
        [caller.shop_id.into(), circuit.name.clone().into()],
    ))
    .await?;
    let body = json!({
        "name": circuit.name, "version": version, "note": note,
        "text_sha256": crate::text::sha256_hex(text),
    });
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "circuit_added",
        subject_kind: "shop",
        subject_id: caller.shop_id,
        body,
    };
    record::append(txn, now, entry).await.map(drop)
}

/// Takes one of the shop's own circuits out of the list that a unit can be given. Units that
/// have it keep it, and a new version brings it back.
///
/// # Errors
/// `Forbidden` unless the caller manages, `NotFound`, `InvalidMany` without a reason.
pub async fn withdraw(
    store: &Store,
    caller: &Caller,
    name: &str,
    reason: &str,
) -> Result<Own, StoreError> {
    caller.must_manage("withdraw a circuit")?;
    let mut faults = Faults::default();
    let reason = faults.text("/reason", reason, NOTE_CHARS_MAX);
    if (1..REASON_CHARS_MIN).contains(&reason.chars().count()) {
        faults.add("/reason", format!("Say why in at least {REASON_CHARS_MIN} characters."));
    }
    faults.done()?;
    let txn = store.begin().await?;
    latest(&txn, caller.shop_id, name).await?.ok_or(StoreError::NotFound { what: "circuit" })?;
    let now = store.now();
    txn.execute_raw(sql(
        "INSERT INTO circuit_withdrawn (shop_id, name, by, at, reason) VALUES ($1, $2, $3, $4, $5) \
         ON CONFLICT (shop_id, name) DO UPDATE SET by = $3, at = $4, reason = $5",
        [
            caller.shop_id.into(),
            name.into(),
            caller.person_id.into(),
            now.into(),
            reason.clone().into(),
        ],
    ))
    .await?;
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "circuit_withdrawn",
        subject_kind: "shop",
        subject_id: caller.shop_id,
        body: json!({ "name": name, "reason": reason }),
    };
    record::append(&txn, now, entry).await?;
    let own = latest(&txn, caller.shop_id, name)
        .await?
        .ok_or(StoreError::NotFound { what: "circuit" })?;
    txn.commit().await?;
    Ok(own)
}

impl From<OwnRow> for Own {
    fn from(row: OwnRow) -> Self {
        Own {
            name: row.name,
            title: row.title,
            about: row.about,
            version: row.version,
            withdrawn: row.withdrawn,
            units: row.units,
            units_behind: row.units_behind,
        }
    }
}
