//! How a job's evidence is sent.
//!
//! Belongs here: wire shapes and their conversion. Does not belong here: routes, and what is
//! kept from whom.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use engine::case::{Meter, Power, Reading, Shown as MeterShown};
use engine::circuit::Circuit;
use engine::units::Quantity;
use serde::{Deserialize, Serialize};
use store::evidence::{KeptObservation, KeptReading, Named, Shown};
use utoipa::ToSchema;
use utoipa::openapi::Ref;
use uuid::Uuid;

use crate::openapi::{CircuitShape, ReadingShape, SpecShape, VerdictShape};
use crate::shapes::PersonRef;

/// Why something is not shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Hidden {
    /// The caller could be the second reader: they read blind first, or stand aside.
    BlindFirst,
}

/// A job's evidence, with what it proves where the caller may see that.
#[derive(Debug, Serialize, ToSchema)]
pub struct Evidence {
    /// The job.
    pub job_id: Uuid,
    /// Counts every change.
    pub revision: i64,
    /// The unit's circuit.
    pub circuit: CircuitShape,
    /// The unit's own values, by part.
    pub specs: BTreeMap<String, SpecShape>,
    /// Readings in the order taken, struck ones included.
    pub readings: Vec<EvidenceReading>,
    /// Observations in the order made; the latest on a sign counts.
    pub observations: Vec<EvidenceObservation>,
    /// What it proves; null while hidden.
    pub verdict: Option<VerdictShape>,
    /// Whether the verdict judges the readings alone, without a claim.
    pub claimless: bool,
    /// Why the verdict is not shown; null when it is.
    pub hidden: Option<Hidden>,
}

/// A reading as kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct EvidenceReading {
    /// Its id.
    pub id: Uuid,
    /// "r3": what sentences call it.
    pub label: String,
    /// The reading.
    pub reading: ReadingShape,
    /// Who took it.
    pub taken_by: PersonRef,
    /// When.
    pub taken_at: DateTime<Utc>,
    /// The shop's meter that it was taken with; null where it was none of those.
    pub meter: Option<MeterUsed>,
    /// Set when it is no longer believed; it then counts no more.
    pub struck: Option<Struck>,
}

/// The shop's meter of a reading.
#[derive(Debug, Serialize, ToSchema)]
pub struct MeterUsed {
    /// Which.
    pub id: Uuid,
    /// Its serial number.
    pub serial: String,
    /// The day its calibration ended, as known when the reading was taken.
    pub due_on: Option<NaiveDate>,
    /// Whether that day had passed.
    pub overdue: bool,
}

/// That a reading is no longer believed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Struck {
    /// Who struck it.
    pub by: PersonRef,
    /// When.
    pub at: DateTime<Utc>,
    /// Why.
    pub reason: String,
}

/// An observation as kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct EvidenceObservation {
    /// "o2".
    pub label: String,
    /// Which sign.
    pub sign: String,
    /// Whether it was found.
    pub present: bool,
    /// Who said so.
    pub by: PersonRef,
    /// When.
    pub at: DateTime<Utc>,
}

/// A reading to keep. Its label is given when it is kept.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewReading {
    /// What was measured.
    #[schema(schema_with = quantity)]
    pub quantity: Quantity,
    /// The point the first probe touched.
    pub from: String,
    /// The point the second probe touched.
    pub to: String,
    /// The connectors that were lifted at the time.
    #[serde(default)]
    pub lifted: Vec<String>,
    /// Off and proved dead, or energised.
    #[schema(schema_with = power)]
    pub power: Power,
    /// Under power: which of the circuit's states it was in; its first where absent.
    #[serde(default)]
    #[schema(required = false)]
    pub state: Option<String>,
    /// What the meter showed.
    #[schema(schema_with = meter_shown)]
    pub shown: MeterShown,
    /// Temperature of the part, °C.
    #[serde(default)]
    pub part_temp_c: Option<f64>,
    /// Minutes since the motor last ran.
    #[serde(default)]
    pub stopped_min: Option<f64>,
    /// The meter; a usual one where absent.
    #[serde(default)]
    #[schema(required = false, schema_with = meter)]
    pub meter: Option<Meter>,
    /// One of the shop's meters, whose record then says what it can tell; of `meter` only
    /// `zeroed` counts beside it.
    #[serde(default)]
    pub meter_id: Option<Uuid>,
}

/// The body that adds a reading.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddReading {
    /// The reading.
    pub reading: NewReading,
}

/// The body that strikes a reading.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StrikeReading {
    /// Why it is no longer believed.
    pub reason: String,
}

/// The body that adds an observation.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddObservation {
    /// The sign, as the circuit names it.
    pub sign: String,
    /// Whether it was found.
    pub present: bool,
}

pub(crate) fn quantity() -> Ref {
    Ref::from_schema_name("Quantity")
}

pub(crate) fn power() -> Ref {
    Ref::from_schema_name("Power")
}

pub(crate) fn meter_shown() -> Ref {
    Ref::from_schema_name("Shown")
}

pub(crate) fn meter() -> Ref {
    Ref::from_schema_name("Meter")
}

/// A person beside what they did.
pub(crate) fn person(named: Named) -> PersonRef {
    PersonRef { id: named.id, name: named.name }
}

impl From<NewReading> for Reading {
    fn from(new: NewReading) -> Self {
        Reading {
            // The store gives the label under the job's lock.
            id: String::new(),
            quantity: new.quantity,
            from: new.from,
            to: new.to,
            lifted: new.lifted,
            power: new.power,
            state: new.state,
            shown: new.shown,
            part_temp_c: new.part_temp_c,
            stopped_min: new.stopped_min,
            meter: new.meter,
        }
    }
}

impl From<Shown> for Evidence {
    fn from(shown: Shown) -> Self {
        let evidence = shown.evidence;
        Evidence {
            job_id: evidence.job_id,
            revision: evidence.revision,
            circuit: Circuit::clone(&evidence.known.circuit).into(),
            specs: evidence.specs.into_iter().map(|(part, spec)| (part, spec.into())).collect(),
            readings: evidence.readings.into_iter().map(EvidenceReading::from).collect(),
            observations: evidence
                .observations
                .into_iter()
                .map(EvidenceObservation::from)
                .collect(),
            hidden: shown.verdict.is_none().then_some(Hidden::BlindFirst),
            verdict: shown.verdict.map(VerdictShape),
            claimless: shown.claimless,
        }
    }
}

impl From<KeptReading> for EvidenceReading {
    fn from(kept: KeptReading) -> Self {
        EvidenceReading {
            id: kept.id,
            label: kept.label,
            reading: kept.reading.into(),
            taken_by: person(kept.taken_by),
            taken_at: kept.taken_at,
            meter: kept.meter.map(|used| MeterUsed {
                id: used.id,
                serial: used.serial,
                due_on: used.due_on,
                overdue: used.overdue,
            }),
            struck: kept.struck.map(|struck| Struck {
                by: person(struck.by),
                at: struck.at,
                reason: struck.reason,
            }),
        }
    }
}

impl From<KeptObservation> for EvidenceObservation {
    fn from(kept: KeptObservation) -> Self {
        EvidenceObservation {
            label: kept.label,
            sign: kept.sign,
            present: kept.present,
            by: person(kept.by),
            at: kept.at,
        }
    }
}
