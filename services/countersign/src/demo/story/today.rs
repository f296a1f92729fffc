//! The second half of the demo's weekend: what is still open when somebody signs in.
//!
//! Belongs here: the jobs of the last hours. Does not belong here: what ended before, and how a
//! step is told ([`super`]).

use chrono::Duration;
use engine::units::Unit as Measure;
use store::StoreError;
use store::evidence::observation_add;
use store::guest::{LinkNew, link_make};
use store::job::{JobState, Urgency};
use store::request::Step;
use uuid::Uuid;

use super::super::estate::Household;
use super::super::readings::{With as _, megohm, microfarad, ohm, open, volt};
use super::{FAN, ONE_PHASE, THREE_PHASE, Telling};

impl Telling<'_> {
    /// Contradicted: the supply comes first.
    pub(super) async fn held_by_an_unbalanced_supply(&self) -> Result<(), StoreError> {
        self.set(8.0);
        let mette = &self.people.mette;
        let house = Household {
            customer: "Vellum Falls Creamery",
            address: "1 Dairy Road",
            notes: "Ask for the night lead.",
            unit: "milk cooler",
            maker: "Quillon Thermal",
            model: "QT-90-3",
            serial: "Q3-5512",
            circuit: THREE_PHASE,
            refrigerant: "R-404A",
            flammable: false,
            age_years: 7,
            warranty_years: 5,
            specs: &[],
        };
        let job = self
            .call(
                &house,
                "Milk cooler trips on overload every hour.",
                Urgency::FoodStorage,
                Some((mette, self.window(-8, -5))),
            )
            .await?;
        self.set(7.0);
        self.arrives(mette, job).await?;
        let block = ["block"];
        self.reads(
            mette,
            job,
            vec![
                ohm("U", "V", 1.00).lifted(&block).at(48.0, 30.0),
                ohm("V", "W", 1.02).lifted(&block).at(48.0, 30.0),
                ohm("W", "U", 0.99).lifted(&block).at(48.0, 30.0),
            ],
        )
        .await?;
        self.claims(
            mette,
            job,
            ["compressor", "winding_3", "shorted"],
            760_000,
            "Winding 3 reads low and it trips.",
        )
        .await?;
        self.reads(
            mette,
            job,
            vec![volt("L1", "L2", 208.0), volt("L2", "L3", 206.0), volt("L3", "L1", 199.0)],
        )
        .await?;
        self.says(
            mette,
            job,
            "Volts are off on L3. I will ask the utility before I say another word.",
        )
        .await
    }

    /// Isolated, countersigned, above the limit: the manager answers for the money.
    pub(super) async fn waiting_for_approval(&self) -> Result<(), StoreError> {
        self.set(5.0);
        let (mette, rui) = (&self.people.mette, &self.people.rui);
        let house = Household {
            customer: "Thaddeus Winterbourne",
            address: "27 Quarry Hill",
            notes: "Steep drive, park below.",
            unit: "north condenser",
            maker: "Brindlecomb",
            model: "BC-60",
            serial: "60-14-2207",
            circuit: ONE_PHASE,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 8,
            warranty_years: 10,
            specs: &[("run_winding", 0.383, Measure::Ohm), ("start_winding", 1.203, Measure::Ohm)],
        };
        let job = self
            .call(
                &house,
                "Trips the breaker the moment it starts.",
                Urgency::NoHeatCool,
                Some((mette, self.window(-5, -2))),
            )
            .await?;
        self.set(4.5);
        self.arrives(mette, job).await?;
        observation_add(self.store, mette, job, "trips_breaker", true).await?;
        self.reads(
            mette,
            job,
            vec![
                megohm("T1", "SHELL", 0.02).at(29.0, 120.0),
                megohm("C", "SHELL", 0.02).lifted(&["plug"]).at(29.0, 125.0),
                megohm("S", "SHELL", 0.02).lifted(&["plug"]).at(29.0, 125.0),
                megohm("R", "SHELL", 0.02).lifted(&["plug"]).at(29.0, 125.0),
            ],
        )
        .await?;
        self.says(mette, job, "Harness is off in the last three. Same value at every pin.").await?;
        let request = self
            .claims(
                mette,
                job,
                ["compressor", "run_winding", "grounded"],
                348_000,
                "To the shell at the bare pins, harness off.",
            )
            .await?;
        let digest = self
            .judges(
                rui,
                request,
                ["compressor", "run_winding", "grounded"],
                "Grounded inside: the harness was off and all three read alike.",
            )
            .await?;
        self.moves(
            rui,
            request,
            Step::Countersign {
                digest,
                note: "Seen the photo of the plug in her hand.".to_owned(),
            },
        )
        .await?;
        self.state(mette, job, JobState::Waiting).await
    }

    /// Isolated: anyone qualified who took no reading may take it.
    pub(super) async fn measured_for_a_second_read(&self) -> Result<Uuid, StoreError> {
        self.set(2.5);
        let jonas = &self.people.jonas;
        let house = Household {
            customer: "Harrow Street Library",
            address: "Harrow Street",
            notes: "Caretaker until six.",
            unit: "reading room heat pump",
            maker: "Brindlecomb",
            model: "BC-48",
            serial: "48-12-0071",
            circuit: ONE_PHASE,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 6,
            warranty_years: 5,
            specs: &[("run_winding", 0.477, Measure::Ohm), ("start_winding", 1.299, Measure::Ohm)],
        };
        let job = self
            .call(
                &house,
                "No heat in the reading room.",
                Urgency::NoHeatCool,
                Some((jonas, self.window(-2, 1))),
            )
            .await?;
        self.set(1.6);
        self.arrives(jonas, job).await?;
        self.reads(
            jonas,
            job,
            vec![
                open("T1", "T2").at(24.0, 600.0),
                ohm("C", "S", 1.30).lifted(&["plug"]).at(24.0, 605.0),
                open("C", "R").lifted(&["plug"]).at(24.0, 605.0),
                open("S", "R").lifted(&["plug"]).at(24.0, 605.0),
            ],
        )
        .await?;
        self.says(jonas, job, "At the pins with the plug off. I would like another pair of eyes before I order anything.").await?;
        Ok(job)
    }

    /// Asked for minutes before the demo opens, so that the search for a reader is under way;
    /// a colleague next door has a link in the mail.
    pub(super) async fn waiting_for_a_second_read(&self, job: Uuid) -> Result<(), StoreError> {
        let jonas = &self.people.jonas;
        self.clock.set(self.now - Duration::minutes(4));
        let request = self
            .claims(
                jonas,
                job,
                ["compressor", "run_winding", "open"],
                295_000,
                "Run is open at the bare pins, cold.",
            )
            .await?;
        let new = LinkNew {
            meant_for: "Sten Aldous, Northgate".to_owned(),
            hours: 24,
            mail_to: Some("sten.aldous@northgate.example".to_owned()),
        };
        link_make(self.store, jonas, request, new).await?;
        Ok(())
    }

    /// The question that the product exists for.
    pub(super) async fn held_through_the_harness(&self) -> Result<(), StoreError> {
        self.set(1.0);
        let (rui, jonas) = (&self.people.rui, &self.people.jonas);
        let house = Household {
            customer: "Wilhelmina Fairlock",
            address: "51 Lower Weir Road",
            notes: "Two infants in the house.",
            unit: "heat pump",
            maker: "Ostervane",
            model: "OV-36",
            serial: "36-0934-A",
            circuit: ONE_PHASE,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 10,
            warranty_years: 5,
            specs: &[],
        };
        let job = self
            .call(
                &house,
                "No heat since last night, outdoor unit silent.",
                Urgency::NoHeatVulnerable,
                Some((rui, self.window(-1, 2))),
            )
            .await?;
        self.set(0.6);
        self.arrives(rui, job).await?;
        self.reads(rui, job, vec![open("T1", "T2").at(26.0, 600.0)]).await?;
        self.claims(
            rui,
            job,
            ["compressor", "run_winding", "open"],
            312_000,
            "Open between the compressor leads.",
        )
        .await?;
        self.says(
            rui,
            job,
            "Open between the compressor leads at the contactor. Anyone free for a question?",
        )
        .await?;
        self.says(
            jonas,
            job,
            "That is through the whole harness. What does it read at the pins with the plug off?",
        )
        .await
    }

    /// A quick review needs no claim.
    pub(super) async fn asking_a_colleague(&self) -> Result<(), StoreError> {
        self.set(0.4);
        let (mette, rui) = (&self.people.mette, &self.people.rui);
        let house = Household {
            customer: "Juniper Alleyne",
            address: "7 Orchard Steps",
            notes: "",
            unit: "attic air handler's condenser",
            maker: "Quillon Thermal",
            model: "QT-36",
            serial: "Q1-2290",
            circuit: FAN,
            refrigerant: "R-454B",
            flammable: true,
            age_years: 1,
            warranty_years: 10,
            specs: &[],
        };
        let job = self
            .call(
                &house,
                "Outdoor fan starts only with a push.",
                Urgency::Comfort,
                Some((mette, self.window(0, 3))),
            )
            .await?;
        self.set(0.2);
        self.arrives(mette, job).await?;
        observation_add(self.store, mette, job, "hums_no_start", true).await?;
        self.says(mette, job, "Turns freely by hand, hums when called. Capacitor first?").await?;
        self.says_naming(rui, job, "@Mette Hollis Yes, and then the splices on the deck.", mette)
            .await?;
        let wanted = microfarad("CAP_C", "CAP_F", 0.0).lifted(&["start_wire"]);
        self.asks(
            rui,
            job,
            &wanted,
            "FAN section alone. Discharge it and verify before you touch.",
        )
        .await?;
        Ok(())
    }

    pub(super) async fn calls_waiting(&self) -> Result<(), StoreError> {
        self.set(0.15);
        let calls = [
            (
                "Agnes Pellworth",
                "2 Chapel Close",
                "furnace-side heat pump",
                "No heat, 84 years old and alone.",
                Urgency::NoHeatVulnerable,
            ),
            (
                "Fennimore Hotel",
                "Station Approach",
                "laundry heat pump",
                "Water under the air handler, dripping into the laundry.",
                Urgency::Water,
            ),
            (
                "Greenfold Grocers",
                "30 Market Square",
                "walk-in cooler",
                "Walk-in at 11 °C and climbing.",
                Urgency::FoodStorage,
            ),
            (
                "Ottoline Marsh",
                "16 Mill Lane",
                "heat pump",
                "Upstairs never gets warm.",
                Urgency::Comfort,
            ),
        ];
        for (customer, address, unit, complaint, urgency) in calls {
            let house = Household {
                customer,
                address,
                notes: "",
                unit,
                maker: "Ostervane",
                model: "OV-36",
                serial: "36-2101-B",
                circuit: ONE_PHASE,
                refrigerant: "R-410A",
                flammable: false,
                age_years: 5,
                warranty_years: 5,
                specs: &[],
            };
            self.call(&house, complaint, urgency, None).await?;
            self.later(1);
        }
        Ok(())
    }
}
