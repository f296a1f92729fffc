//! What is in the vans, and a circuit that the shop drew itself.
//!
//! Belongs here: meters and the shop's own circuit. Does not belong here: readings taken with
//! them.

use chrono::{Days, NaiveDate};
use engine::units::Quantity;
use store::StoreError;
use store::circuit::own::{VersionNew, add as circuit_add};
use store::meter::{MeterSaid, Range, add as meter_add};

use super::Telling;

/// A range as a maker's sheet gives it.
fn range(quantity: Quantity, accuracy_pct: f64, resolution: f64, highest: f64) -> Range {
    Range { quantity, accuracy_pct, resolution, highest }
}

impl Telling<'_> {
    /// Three meters, one of them due for calibration, and a walk-in cooler's own circuit.
    pub(super) async fn vans_filled(&self) -> Result<(), StoreError> {
        let today = self.store.now().date_naive();
        let before = |days: u64| today.checked_sub_days(Days::new(days));
        let (rui, jonas) = (&self.people.rui, &self.people.jonas);
        self.meter("Van 1, clamp meter", "W1-2207", rui.person_id, before(120), 0.1).await?;
        self.meter("Van 3, clamp meter", "W1-1893", jonas.person_id, before(400), 0.1).await?;
        let shop = MeterSaid {
            label: "Milliohm meter".to_owned(),
            maker: "Harrow Bench".to_owned(),
            model: "Four-lead 20".to_owned(),
            serial: "HB-0412".to_owned(),
            ranges: vec![range(Quantity::Resistance, 0.2, 0.001, 200.0)],
            lead_ohm: Some(0.0),
            calibrated_on: before(30),
            calibration_months: Some(12),
            ..MeterSaid::default()
        };
        meter_add(self.store, &self.people.ada, shop).await?;
        self.own_circuit().await
    }

    async fn meter(
        &self,
        label: &str,
        serial: &str,
        keeper: uuid::Uuid,
        calibrated_on: Option<NaiveDate>,
        step_ohm: f64,
    ) -> Result<(), StoreError> {
        let said = MeterSaid {
            label: label.to_owned(),
            maker: "Wend".to_owned(),
            model: "Clamp 40".to_owned(),
            serial: serial.to_owned(),
            keeper: Some(keeper),
            ranges: vec![
                range(Quantity::Resistance, 0.9, step_ohm, 4e7),
                range(Quantity::Voltage, 0.7, 0.1, 1000.0),
                range(Quantity::Current, 2.0, 0.1, 400.0),
                range(Quantity::Capacitance, 2.0, 0.1, 1000.0),
            ],
            lead_ohm: Some(0.3),
            low_impedance: Some(false),
            calibrated_on,
            calibration_months: Some(12),
        };
        meter_add(self.store, &self.people.ada, said).await.map(drop)
    }

    /// Like the shipped one, under a name and with a note of its own.
    async fn own_circuit(&self) -> Result<(), StoreError> {
        let Some(known) = store::circuit::shipped_named(super::ONE_PHASE)? else { return Ok(()) };
        let name = format!("name = \"{}\"", super::ONE_PHASE);
        let text = known.text.replacen(&name, "name = \"walk-in-cooler\"", 1).replacen(
            "title = \"",
            "title = \"Walk-in cooler: ",
            1,
        );
        let new = VersionNew { text, note: String::new(), after_version: 0 };
        circuit_add(self.store, &self.people.ada, new).await.map(drop)
    }
}
