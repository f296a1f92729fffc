//! The next days, given out in the order in which people called: something to plan.
//!
//! Belongs here: calls that can wait a little, planned criss-cross through the town. Does not
//! belong here: what is going on now ([`super`]).

use chrono::Duration;
use store::StoreError;
use store::job::{Assign, JobNew, Urgency, Window, Work, job_add, job_assign};
use store::plan::ways::{WaysChange, ways_change};

use super::super::estate::{self, Household};
use super::{ONE_PHASE, Telling};

/// A call: customer, address, complaint, class, kind of work, and where it is planned: which of
/// two, and how many hours from the full hour at which the demo opens.
type Line = (&'static str, &'static str, &'static str, Urgency, Work, Option<(usize, i64)>);

const CALLS: [Line; 6] = [
    (
        "Ottoline Brack",
        "14 Tannery Lane",
        "Fan knocks when it starts.",
        Urgency::Comfort,
        Work::Diagnosis,
        Some((0, 26)),
    ),
    (
        "Piers Thistledown",
        "3 Sluice Walk",
        "Cools the front rooms only.",
        Urgency::Comfort,
        Work::Diagnosis,
        Some((1, 25)),
    ),
    (
        "Saffron Quay Bakery",
        "22 Tannery Lane",
        "Cold counter reads four degrees high.",
        Urgency::FoodStorage,
        Work::Repair,
        Some((1, 29)),
    ),
    (
        "Wendell Ashgrove",
        "8 Sluice Walk",
        "Yearly look before the frost.",
        Urgency::Comfort,
        Work::Maintenance,
        Some((0, 30)),
    ),
    (
        "Isolde Marchbanks",
        "5 Copper Rise",
        "Heats, but never up to the mark.",
        Urgency::NoHeatCool,
        Work::Diagnosis,
        None,
    ),
    (
        "Leopold Vane",
        "11 Copper Rise",
        "Yearly look, filters and drain.",
        Urgency::Comfort,
        Work::Maintenance,
        None,
    ),
];

impl Telling<'_> {
    /// Six calls, four of them given out for tomorrow as they came.
    pub(super) async fn something_to_plan(&self) -> Result<(), StoreError> {
        self.clock.set(self.now);
        let priya = &self.people.priya;
        let [latitude, longitude] = estate::shop_place();
        let shop = WaysChange { shop: Some([latitude, longitude]), ..WaysChange::default() };
        ways_change(self.store, priya, shop).await?;
        let crew = [&self.people.rui, &self.people.mette];
        for (customer, address, complaint, urgency, work, given) in CALLS {
            let house = Household {
                customer,
                address,
                notes: "",
                unit: "air conditioner",
                maker: "Quillon Thermal",
                model: "QT-36",
                serial: "Q1-0440",
                circuit: ONE_PHASE,
                refrigerant: "R-410A",
                flammable: false,
                age_years: 6,
                warranty_years: 5,
                specs: &[],
            };
            let unit_id = estate::add(self.store, priya, self.store.now(), &house).await?;
            let new = JobNew {
                unit_id,
                complaint: complaint.to_owned(),
                urgency: Some(urgency),
                work,
                ..JobNew::default()
            };
            let job = job_add(self.store, priya, new).await?;
            let Some((who, hours)) = given else { continue };
            let start = self.hour + Duration::hours(hours);
            let end = start + Duration::minutes(i64::from(job.expected_min));
            let assign = Assign {
                version: job.version,
                person_id: Some(crew[who].person_id),
                planned: Some(Window { start, end }),
                because: Some("As they called.".to_owned()),
                ..Assign::default()
            };
            job_assign(self.store, priya, job.id, assign).await?;
        }
        Ok(())
    }
}
