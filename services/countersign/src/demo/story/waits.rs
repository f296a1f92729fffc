//! Jobs of the demo that wait for a working day.
//!
//! Belongs here: two deferrals, one told by mail and one to be read out on the telephone, and
//! the telephone that stands in both. Does not belong here: how a step is told ([`super`]).

use roster::holdover::Measure;
use store::StoreError;
use store::customer::{CustomerChange, customer_change};
use store::holdover::{HoldoverNew, job_defer};
use store::job::{Urgency, job_find};
use store::shop::{ShopChange, shop_change};
use store::site::site_find;
use store::unit::unit_find;

use super::super::estate::Household;
use super::{ONE_PHASE, Telling};

impl Telling<'_> {
    /// Comfort calls of the morning, put off with what keeps the houses going.
    pub(super) async fn waits_for_a_working_day(&self) -> Result<(), StoreError> {
        self.set(1.2);
        let change =
            ShopChange { phone: Some(Some("555 0100".to_owned())), ..ShopChange::default() };
        shop_change(self.store, &self.people.ada, change).await?;
        self.waits(
            "Clement Ashby",
            "8 Orchard Rise",
            "The guest room stays at 60 °F.",
            Some("clement@ashby.example"),
            HoldoverNew {
                measures: vec![Measure::AuxiliaryHeat],
                note: "The rest of the house is warm.".to_owned(),
                ..HoldoverNew::default()
            },
        )
        .await?;
        self.later(6);
        self.waits(
            "Widow Tansley",
            "3 Ferry Lane",
            "The drip pan is full, the unit is off.",
            None,
            HoldoverNew {
                measures: vec![Measure::SystemOff, Measure::PanEmptied],
                ..HoldoverNew::default()
            },
        )
        .await
    }

    async fn waits(
        &self,
        customer: &'static str,
        address: &'static str,
        complaint: &str,
        email: Option<&str>,
        holdover: HoldoverNew,
    ) -> Result<(), StoreError> {
        let house = Household {
            customer,
            address,
            notes: "",
            unit: "heat pump",
            maker: "Ostervane",
            model: "OV-24",
            serial: "24-0417-C",
            circuit: ONE_PHASE,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 9,
            warranty_years: 5,
            specs: &[],
        };
        let (store, priya) = (self.store, &self.people.priya);
        let job_id = self.call(&house, complaint, Urgency::Comfort, None).await?;
        let job = job_find(store.conn(), priya.shop_id, job_id).await?;
        if let Some(email) = email {
            let unit = unit_find(store.conn(), priya.shop_id, job.unit_id).await?;
            let site = site_find(store.conn(), priya.shop_id, unit.site_id).await?;
            let change = CustomerChange {
                version: None,
                name: None,
                phone: None,
                email: Some(Some(email.to_owned())),
                notes: None,
            };
            customer_change(store, priya, site.customer_id, change).await?;
        }
        self.later(2);
        let reason = "Comfort only; the house is warm enough.".to_owned();
        job_defer(store, priya, job_id, job.version, None, holdover, reason).await?;
        Ok(())
    }
}
