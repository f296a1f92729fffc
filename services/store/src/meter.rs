//! The shop's meters: what each can tell, and until when its calibration runs.
//!
//! Belongs here: the meter's own row, and the engine's meter made of it for one reading. Does not
//! belong here: what a meter's limits mean for a verdict (the engine's).

use chrono::{DateTime, Months, NaiveDate, Utc};
use engine::case::Meter as CaseMeter;
use engine::units::Quantity;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::evidence::{Named, stored};
use crate::person::{Caller, Role};
use crate::record::{self, Entry};
use crate::text::Faults;

/// Most meters of a shop, retired ones apart; a further one is refused.
pub const METERS_MAX: i64 = 500;

/// Longest label, maker, model or serial number.
const LINE_CHARS_MAX: usize = 120;

/// Most ranges of one meter: each quantity once.
const RANGES_MAX: usize = 6;

/// What a meter can tell of one quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Of what.
    pub quantity: Quantity,
    /// Percent of reading, 0 to 20.
    pub accuracy_pct: f64,
    /// The smallest step shown, base unit of the quantity.
    pub resolution: f64,
    /// The highest value before "OL", base unit.
    pub highest: f64,
}

/// What can be said of a meter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeterSaid {
    /// What people call it; no two in use have the same.
    pub label: String,
    /// Maker.
    pub maker: String,
    /// Model.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// Whose van it is in.
    pub keeper: Option<Uuid>,
    /// What it can tell, each quantity once.
    pub ranges: Vec<Range>,
    /// Resistance of its leads, ohm, 0 to 10.
    pub lead_ohm: Option<f64>,
    /// Whether it measures volts at low impedance.
    pub low_impedance: Option<bool>,
    /// When it was last calibrated.
    pub calibrated_on: Option<NaiveDate>,
    /// For how many months that counts, 1 to 120.
    pub calibration_months: Option<u32>,
}

/// A meter.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// Id.
    pub id: Uuid,
    /// What is said of it.
    pub said: MeterSaid,
    /// Whose van it is in, by name.
    pub keeper: Option<Named>,
    /// The day on which its calibration ends.
    pub due_on: Option<NaiveDate>,
    /// Since when it is not used any more.
    pub retired_at: Option<DateTime<Utc>>,
    /// Counts changes.
    pub version: i32,
}

impl Meter {
    /// The engine's meter for a reading of this quantity. Whether its leads were zeroed is the
    /// technician's to say.
    ///
    /// # Errors
    /// `Invalid` at "/reading/meter_id" when it cannot measure the quantity or is retired.
    pub fn for_reading(
        &self,
        quantity: Quantity,
        zeroed: Option<bool>,
    ) -> Result<CaseMeter, StoreError> {
        let at = "/reading/meter_id";
        let label = &self.said.label;
        if self.retired_at.is_some() {
            return Err(StoreError::invalid(at, format!("\"{label}\" is not used any more.")));
        }
        let ranges = &self.said.ranges;
        let range = ranges.iter().find(|range| range.quantity == quantity).ok_or_else(|| {
            let told: Vec<&str> = ranges.iter().map(|range| range.quantity.word()).collect();
            StoreError::invalid(
                at,
                format!(
                    "\"{label}\" is not known to measure {}; it measures {}. Choose another meter, \
                     or add that range to it.",
                    quantity.word(),
                    told.join(", ")
                ),
            )
        })?;
        Ok(CaseMeter {
            label: Some(label.clone()),
            accuracy_pct: Some(range.accuracy_pct),
            resolution: Some(range.resolution),
            highest: Some(range.highest),
            lead_ohm: self.said.lead_ohm.filter(|_| quantity == Quantity::Resistance),
            zeroed: zeroed.filter(|_| quantity == Quantity::Resistance),
            low_impedance: self.said.low_impedance.filter(|_| quantity == Quantity::Voltage),
        })
    }
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    label: String,
    maker: String,
    model: String,
    serial: String,
    keeper: Option<Uuid>,
    keeper_name: Option<String>,
    ranges: Value,
    lead_ohm: Option<f64>,
    low_impedance: Option<bool>,
    calibrated_on: Option<NaiveDate>,
    calibration_months: Option<i32>,
    retired_at: Option<DateTime<Utc>>,
    version: i32,
}

const ONE: &str = "SELECT meter.id, meter.label, meter.maker, meter.model, meter.serial, \
         meter.keeper, person.name AS keeper_name, meter.ranges, meter.lead_ohm, \
         meter.low_impedance, meter.calibrated_on, meter.calibration_months, meter.retired_at, \
         meter.version \
     FROM meter LEFT JOIN person ON person.id = meter.keeper \
     WHERE meter.shop_id = $1 AND ($2::uuid IS NULL OR meter.id = $2) \
     ORDER BY meter.retired_at IS NOT NULL, lower(meter.label), meter.id";

/// The shop's meters, those in use first, by label.
///
/// # Errors
/// When the database fails.
pub async fn list<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Vec<Meter>, StoreError> {
    let all: Option<Uuid> = None;
    let rows = Row::find_by_statement(sql(ONE, [shop_id.into(), all.into()])).all(conn).await?;
    rows.into_iter().map(from_row).collect()
}

/// A meter of a shop.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Meter, StoreError> {
    Row::find_by_statement(sql(ONE, [shop_id.into(), id.into()]))
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "meter" })
        .and_then(from_row)
}

/// Adds a meter.
///
/// # Errors
/// `Forbidden` unless the caller manages or is a technician who keeps it, `InvalidMany`,
/// `Conflict` where another has its label.
pub async fn add(store: &Store, caller: &Caller, said: MeterSaid) -> Result<Meter, StoreError> {
    may_keep(caller, &said)?;
    let txn = store.begin().await?;
    let said = sound(&txn, store.now(), caller.shop_id, said).await?;
    #[derive(FromQueryResult)]
    struct Count {
        count: i64,
    }
    let in_use = Count::find_by_statement(sql(
        "SELECT count(*) FROM meter WHERE shop_id = $1 AND retired_at IS NULL",
        [caller.shop_id.into()],
    ))
    .one(&txn)
    .await?;
    if in_use.is_some_and(|in_use| in_use.count >= METERS_MAX) {
        return Err(StoreError::conflict(
            "too-many-meters",
            format!("A shop keeps at most {METERS_MAX} meters; retire those that are gone."),
        ));
    }
    let id = store.new_id();
    let label = said.label.clone();
    txn.execute_raw(sql(
        "INSERT INTO meter (id, shop_id, label, maker, model, serial, keeper, ranges, lead_ohm, \
             low_impedance, calibrated_on, calibration_months, created_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
        [
            id.into(),
            caller.shop_id.into(),
            said.label.into(),
            said.maker.into(),
            said.model.into(),
            said.serial.into(),
            said.keeper.into(),
            json!(said.ranges).into(),
            said.lead_ohm.into(),
            said.low_impedance.into(),
            said.calibrated_on.into(),
            said.calibration_months.and_then(|months| i32::try_from(months).ok()).into(),
            store.now().into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("meter_label_key", &|| label_taken(&label))]))?;
    let meter = find(&txn, caller.shop_id, id).await?;
    note(store, &txn, caller, &meter, "meter_added").await?;
    txn.commit().await?;
    Ok(meter)
}

/// Says everything about a meter anew, or retires it. Readings taken with it stay as they were.
///
/// # Errors
/// As [`add`]; `NotFound`; `Conflict` where somebody changed it meanwhile.
pub async fn change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    version: i32,
    said: MeterSaid,
    retired: bool,
) -> Result<Meter, StoreError> {
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM meter WHERE id = $1 FOR UPDATE", [id.into()])).await?;
    let before = find(&txn, caller.shop_id, id).await?;
    may_keep(caller, &before.said)?;
    may_keep(caller, &said)?;
    if before.version != version {
        return Err(StoreError::changed_meanwhile("meter", before.version));
    }
    let said = sound(&txn, store.now(), caller.shop_id, said).await?;
    let label = said.label.clone();
    let retired_at = retired.then(|| before.retired_at.unwrap_or(store.now()));
    txn.execute_raw(sql(
        "UPDATE meter SET label = $2, maker = $3, model = $4, serial = $5, keeper = $6, \
             ranges = $7, lead_ohm = $8, low_impedance = $9, calibrated_on = $10, \
             calibration_months = $11, retired_at = $12, version = version + 1 WHERE id = $1",
        [
            id.into(),
            said.label.into(),
            said.maker.into(),
            said.model.into(),
            said.serial.into(),
            said.keeper.into(),
            json!(said.ranges).into(),
            said.lead_ohm.into(),
            said.low_impedance.into(),
            said.calibrated_on.into(),
            said.calibration_months.and_then(|months| i32::try_from(months).ok()).into(),
            retired_at.into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("meter_label_key", &|| label_taken(&label))]))?;
    let meter = find(&txn, caller.shop_id, id).await?;
    note(store, &txn, caller, &meter, "meter_changed").await?;
    txn.commit().await?;
    Ok(meter)
}

fn label_taken(label: &str) -> StoreError {
    StoreError::conflict(
        "meter-label",
        format!("Another meter in use is called \"{label}\"; give this one a name of its own."),
    )
}

fn may_keep(caller: &Caller, said: &MeterSaid) -> Result<(), StoreError> {
    if caller.manages() || (caller.is(Role::Technician) && said.keeper == Some(caller.person_id)) {
        return Ok(());
    }
    Err(StoreError::forbidden(
        "A technician looks after the meters in their own van; a service manager or the owner \
         after all of them.",
    ))
}

/// Checks everything at once.
async fn sound<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    mut said: MeterSaid,
) -> Result<MeterSaid, StoreError> {
    let mut faults = Faults::default();
    said.label = faults.text("/label", &said.label, LINE_CHARS_MAX);
    said.maker = faults.text_or_empty("/maker", &said.maker, LINE_CHARS_MAX);
    said.model = faults.text_or_empty("/model", &said.model, LINE_CHARS_MAX);
    said.serial = faults.text_or_empty("/serial", &said.serial, LINE_CHARS_MAX);
    if said.ranges.is_empty() || said.ranges.len() > RANGES_MAX {
        faults.add("/ranges", format!("Say what it measures: 1 to {RANGES_MAX} quantities."));
    }
    for (at, range) in said.ranges.iter().enumerate() {
        let pointer = |field: &str| format!("/ranges/{at}/{field}");
        if said.ranges[..at].iter().any(|other| other.quantity == range.quantity) {
            faults.add(
                &pointer("quantity"),
                format!("{} is said twice; once is enough.", range.quantity.word()),
            );
        }
        if !(0.0..=20.0).contains(&range.accuracy_pct) {
            faults.add(&pointer("accuracy_pct"), "Percent of reading, from 0 to 20.");
        }
        if !(range.resolution > 0.0 && range.resolution.is_finite()) {
            faults.add(&pointer("resolution"), "The smallest step that it shows, above 0.");
        }
        if !(range.highest > range.resolution && range.highest.is_finite()) {
            faults
                .add(&pointer("highest"), "The highest value before OL, above the smallest step.");
        }
    }
    if said.lead_ohm.is_some_and(|ohm| !(0.0..=10.0).contains(&ohm)) {
        faults.add("/lead_ohm", "The resistance of both leads touched together, 0 to 10 Ω.");
    }
    if said.calibration_months.is_some_and(|months| !(1..=120).contains(&months)) {
        faults.add("/calibration_months", "For how many months a calibration counts, 1 to 120.");
    }
    if said.calibrated_on.is_some_and(|day| day > now.date_naive() + chrono::Days::new(1)) {
        faults.add("/calibrated_on", "This day is yet to come; give the day of the last one.");
    }
    if let Some(keeper) = said.keeper
        && crate::person::person_find(conn, shop_id, keeper).await.is_err()
    {
        faults.add("/keeper", "There is no such person in the shop.");
    }
    faults.done()?;
    Ok(said)
}

async fn note<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    meter: &Meter,
    kind: &'static str,
) -> Result<(), StoreError> {
    let said = &meter.said;
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "meter",
        subject_id: meter.id,
        body: json!({
            "label": said.label, "serial": said.serial, "ranges": said.ranges,
            "lead_ohm": said.lead_ohm, "low_impedance": said.low_impedance,
            "calibrated_on": said.calibrated_on, "due_on": meter.due_on,
            "retired": meter.retired_at.is_some(),
        }),
    };
    record::append(txn, store.now(), entry).await.map(drop)
}

fn from_row(row: Row) -> Result<Meter, StoreError> {
    let months = row.calibration_months.and_then(|months| u32::try_from(months).ok());
    let due_on = row
        .calibrated_on
        .zip(months)
        .and_then(|(day, months)| day.checked_add_months(Months::new(months)));
    Ok(Meter {
        id: row.id,
        keeper: row.keeper.zip(row.keeper_name).map(|(id, name)| Named { id, name }),
        due_on,
        retired_at: row.retired_at,
        version: row.version,
        said: MeterSaid {
            label: row.label,
            maker: row.maker,
            model: row.model,
            serial: row.serial,
            keeper: row.keeper,
            ranges: stored("meter", row.ranges)?,
            lead_ohm: row.lead_ohm,
            low_impedance: row.low_impedance,
            calibrated_on: row.calibrated_on,
            calibration_months: months,
        },
    })
}
