//! Wire shapes of units.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use engine::case::Spec;
use serde::{Deserialize, Serialize};
use store::unit::{Unit, UnitChange, UnitNew};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::openapi::SpecShape;
use crate::shapes::absent_or;

/// A unit: the equipment.
#[derive(Serialize, ToSchema)]
#[schema(as = UnitHeld)]
pub struct UnitShape {
    /// Id.
    pub id: Uuid,
    /// Where it stands.
    pub site_id: Uuid,
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
    /// Which version, of a circuit of the shop's own; null for one that ships.
    pub circuit_version: Option<i32>,
    /// Refrigerant, e.g. "R-410A".
    pub refrigerant: Option<String>,
    /// Whether the refrigerant burns.
    pub flammable: bool,
    /// When it was installed.
    pub installed_on: Option<NaiveDate>,
    /// The last day of its warranty.
    pub warranty_until: Option<NaiveDate>,
    /// Nameplate and service-sheet values, by part of the circuit.
    pub specs: BTreeMap<String, SpecShape>,
    /// Counts changes.
    pub version: i32,
}

/// A new unit.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitAdd {
    /// What people call it.
    label: String,
    /// Maker.
    #[serde(default)]
    maker: String,
    /// Model.
    #[serde(default)]
    model: String,
    /// Serial number.
    #[serde(default)]
    serial: String,
    /// The circuit it is judged by; /api/circuits lists them.
    circuit: String,
    /// Refrigerant, e.g. "R-410A".
    #[serde(default)]
    refrigerant: Option<String>,
    /// Whether the refrigerant burns.
    #[serde(default)]
    flammable: bool,
    /// When it was installed.
    #[serde(default)]
    installed_on: Option<NaiveDate>,
    /// The last day of its warranty.
    #[serde(default)]
    warranty_until: Option<NaiveDate>,
    /// Nameplate and service-sheet values, by part of the circuit.
    #[serde(default)]
    specs: BTreeMap<String, SpecShape>,
}

/// What to change of a unit; what is absent stays, null clears.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitPatch {
    /// The version that was looked at; where given, a newer one is not overwritten.
    #[serde(default)]
    version: Option<i32>,
    /// What people call it.
    #[serde(default)]
    label: Option<String>,
    /// Maker.
    #[serde(default)]
    maker: Option<String>,
    /// Model.
    #[serde(default)]
    model: Option<String>,
    /// Serial number.
    #[serde(default)]
    serial: Option<String>,
    /// The circuit it is judged by. Another one is taken in its latest version; the same one
    /// stays in the version that it is.
    #[serde(default)]
    circuit: Option<String>,
    /// Which version of it, of a circuit of the shop's own.
    #[serde(default)]
    circuit_version: Option<i32>,
    /// Refrigerant.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<String>)]
    refrigerant: Option<Option<String>>,
    /// Whether the refrigerant burns.
    #[serde(default)]
    flammable: Option<bool>,
    /// When it was installed.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<NaiveDate>)]
    installed_on: Option<Option<NaiveDate>>,
    /// The last day of its warranty.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<NaiveDate>)]
    warranty_until: Option<Option<NaiveDate>>,
    /// Nameplate and service-sheet values, all of them.
    #[serde(default)]
    specs: Option<BTreeMap<String, SpecShape>>,
}

impl From<Unit> for UnitShape {
    fn from(unit: Unit) -> Self {
        UnitShape {
            id: unit.id,
            site_id: unit.site_id,
            label: unit.label,
            maker: unit.maker,
            model: unit.model,
            serial: unit.serial,
            circuit: unit.circuit,
            circuit_version: unit.circuit_version,
            refrigerant: unit.refrigerant,
            flammable: unit.flammable,
            installed_on: unit.installed_on,
            warranty_until: unit.warranty_until,
            specs: unit.specs.into_iter().map(|(part, spec)| (part, spec.into())).collect(),
            version: unit.version,
        }
    }
}

impl From<UnitAdd> for UnitNew {
    fn from(new: UnitAdd) -> Self {
        UnitNew {
            label: new.label,
            maker: new.maker,
            model: new.model,
            serial: new.serial,
            circuit: new.circuit,
            refrigerant: new.refrigerant,
            flammable: new.flammable,
            installed_on: new.installed_on,
            warranty_until: new.warranty_until,
            specs: specs_from(new.specs),
        }
    }
}

impl From<UnitPatch> for UnitChange {
    fn from(patch: UnitPatch) -> Self {
        UnitChange {
            version: patch.version,
            label: patch.label,
            maker: patch.maker,
            model: patch.model,
            serial: patch.serial,
            circuit: patch.circuit,
            circuit_version: patch.circuit_version,
            refrigerant: patch.refrigerant,
            flammable: patch.flammable,
            installed_on: patch.installed_on,
            warranty_until: patch.warranty_until,
            specs: patch.specs.map(specs_from),
        }
    }
}

fn specs_from(specs: BTreeMap<String, SpecShape>) -> BTreeMap<String, Spec> {
    specs.into_iter().map(|(part, spec)| (part, spec.0)).collect()
}
