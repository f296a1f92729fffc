//! Wire shapes of circuits.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use chrono::{DateTime, Utc};
use engine::survey;
use serde::{Deserialize, Serialize};
use store::circuit::Known;
use store::circuit::own::{Own, Version, VersionNew};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::evidence::shapes::person;
use crate::openapi::CircuitShape;
use crate::shapes::PersonRef;

/// A circuit that a unit can be given.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitListed {
    /// Its identifier.
    pub name: String,
    /// A line for people.
    pub title: String,
    /// What to know before using it.
    pub about: String,
    /// The latest version, of one of the shop's own; null for one that ships.
    pub version: Option<i32>,
    /// Why no unit can be given it any more; null where one can.
    pub withdrawn: Option<String>,
    /// Units of the shop's own circuit that are on an older version; 0 for one that ships.
    pub units_behind: i64,
}

/// A version of one of the shop's own circuits.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitVersion {
    /// Counted from 1.
    pub version: i32,
    /// What is different from the one before.
    pub note: String,
    /// Who added it.
    pub added_by: PersonRef,
    /// When.
    pub at: DateTime<Utc>,
    /// Units that have it.
    pub units: i64,
}

/// A circuit's file.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitFile {
    /// Its identifier.
    pub name: String,
    /// Which version; null for one that ships.
    pub version: Option<i32>,
    /// The file (TOML).
    pub text: String,
}

/// A unit that has a circuit.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitUnit {
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
    /// Counts the unit's changes; send it with the next one.
    pub version: i32,
}

/// A version to add, or a file to look over.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CircuitAdd {
    /// The circuit file (TOML); its own name says which circuit it is.
    pub text: String,
    /// What is different from the version before; needed from the second on.
    #[serde(default)]
    pub note: String,
    /// The latest version that the author saw; 0 for a new circuit.
    pub after_version: i32,
}

/// A circuit file that somebody is writing.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CircuitDraft {
    /// The file (TOML).
    pub text: String,
    /// Whether to say which faults no reading of a condition tells apart, which takes seconds.
    #[serde(default)]
    pub survey: bool,
}

/// What a circuit file comes to.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitLooked {
    /// The circuit, ready to draw.
    pub circuit: CircuitShape,
    /// Per condition, faults that no reading in it tells apart; empty where not asked for.
    pub conditions: Vec<CircuitCondition>,
}

/// A condition, and the faults that no reading in it tells apart.
#[derive(Debug, Serialize, ToSchema)]
pub struct CircuitCondition {
    /// "power off, compressor plug off".
    pub label: String,
    /// Groups of two or more, larger first.
    pub groups: Vec<Vec<String>>,
}

/// Why a circuit is withdrawn.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CircuitWithdraw {
    /// In words.
    pub reason: String,
}

impl From<&Known> for CircuitListed {
    fn from(known: &Known) -> Self {
        CircuitListed {
            name: known.circuit.name.clone(),
            title: known.circuit.title.clone(),
            about: known.circuit.about.clone(),
            version: known.version,
            withdrawn: None,
            units_behind: 0,
        }
    }
}

impl From<Own> for CircuitListed {
    fn from(own: Own) -> Self {
        CircuitListed {
            name: own.name,
            title: own.title,
            about: own.about,
            version: Some(own.version),
            withdrawn: own.withdrawn,
            units_behind: own.units_behind,
        }
    }
}

impl From<Version> for CircuitVersion {
    fn from(version: Version) -> Self {
        CircuitVersion {
            version: version.version,
            note: version.note,
            added_by: person(version.added_by),
            at: version.at,
            units: version.units,
        }
    }
}

impl From<survey::Condition> for CircuitCondition {
    fn from(condition: survey::Condition) -> Self {
        CircuitCondition { label: condition.label, groups: condition.groups }
    }
}

impl From<CircuitAdd> for VersionNew {
    fn from(new: CircuitAdd) -> Self {
        VersionNew { text: new.text, note: new.note, after_version: new.after_version }
    }
}
