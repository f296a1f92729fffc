//! The demo's weekend, step by step.
//!
//! Belongs here: what broke, who measured what, who said what, in the order of time. Does not
//! belong here: how a step is done, which is the store's, and shapes of readings
//! ([`super::readings`]).

mod calls;
mod found;
mod guest;
mod past;
mod rota;
mod talk;
mod today;
mod tomorrow;
mod van;
mod waits;

use chrono::{DateTime, Duration, DurationRound as _, Utc};
use engine::case::{Claim, Reading};
use engine::units::Unit as Measure;
use store::ambient::ManualClock;
use store::evidence::{observation_add, reading_add, reading_strike};
use store::job::{Assign, JobChange, JobNew, JobState, Urgency, Window};
use store::job::{job_add, job_assign, job_change, job_find};
use store::read::{Judgement, Sure};
use store::request::{NewRequest, Step, request_make, request_move};
use store::shop::{ShopNew, shop_add};
use store::{Caller, Store, StoreError};
use uuid::Uuid;

use super::estate::{self, Household};
use super::people::{self, People};
use super::readings::{With as _, microfarad, ohm, open, volt};

const ONE_PHASE: &str = "compressor-1ph-plug";
const THREE_PHASE: &str = "compressor-3ph";
const FAN: &str = "condenser-fan-shared-capacitor";

struct Telling<'a> {
    store: &'a Store,
    clock: &'a ManualClock,
    people: People,
    /// The full hour at which the demo opens.
    hour: DateTime<Utc>,
    now: DateTime<Utc>,
}

/// Tells it all; the last step lies at `now`.
pub(super) async fn tell(
    store: &Store,
    clock: &ManualClock,
    now: DateTime<Utc>,
) -> Result<(), StoreError> {
    let hour = now.duration_trunc(Duration::hours(1)).unwrap_or(now);
    let told_from = hour - Duration::hours(40);
    clock.set(told_from - Duration::weeks(past::WEEKS));
    let txn = store.begin().await?;
    let shop_id = shop_add(
        &txn,
        store,
        ShopNew {
            name: super::SHOP_NAME.to_owned(),
            zone: "America/Denver".to_owned(),
            currency: "USD".to_owned(),
        },
    )
    .await?;
    txn.commit().await?;
    let people = people::add(store, shop_id).await?;
    let telling = Telling { store, clock, people, hour, now };
    telling.vans_filled().await?;
    telling.rota().await?;
    // Oldest first: the clock only moves forward.
    telling.past(told_from).await?;
    clock.set(told_from);
    let plug = telling.overturned_by_a_second_read().await?;
    telling.declined_for_its_age().await?;
    telling.approved_by_policy().await?;
    let capacitor = telling.withdrawn_for_a_capacitor().await?;
    telling.done_and_cancelled().await?;
    telling.held_by_an_unbalanced_supply().await?;
    telling.waiting_for_approval().await?;
    let to_read = telling.measured_for_a_second_read().await?;
    telling.held_through_the_harness().await?;
    telling.asking_a_colleague().await?;
    telling.waits_for_a_working_day().await?;
    telling.calls_waiting().await?;
    telling.calls_of_the_coming_days().await?;
    telling.waiting_for_a_second_read(to_read).await?;
    telling.something_to_plan().await?;
    clock.set(now);
    telling.agreements().await?;
    telling.turned_out(plug, capacitor).await?;
    telling.weather().await?;
    telling.rules().await?;
    Ok(())
}

impl Telling<'_> {
    fn set(&self, hours_before: f64) {
        let at = self.hour - Duration::seconds((hours_before * 3600.0) as i64);
        self.clock.set(at.min(self.now));
    }

    fn later(&self, minutes: i64) {
        self.clock.advance(Duration::minutes(minutes));
        if self.store.now() > self.now {
            self.clock.set(self.now);
        }
    }

    /// Hours from the full hour, e.g. (−3, −1).
    fn window(&self, from: i64, to: i64) -> Window {
        Window { start: self.hour + Duration::hours(from), end: self.hour + Duration::hours(to) }
    }

    async fn call(
        &self,
        household: &Household,
        complaint: &str,
        urgency: Urgency,
        given: Option<(&Caller, Window)>,
    ) -> Result<Uuid, StoreError> {
        let unit_id =
            estate::add(self.store, &self.people.priya, self.store.now(), household).await?;
        let job = job_add(
            self.store,
            &self.people.priya,
            JobNew {
                unit_id,
                complaint: complaint.to_owned(),
                urgency: Some(urgency),
                window: given.map(|(_, window)| window),
                ..JobNew::default()
            },
        )
        .await?;
        if let Some((technician, window)) = given {
            self.later(4);
            let assign = Assign {
                version: job.version,
                person_id: Some(technician.person_id),
                window: Some(window),
                // Recorded only where something speaks against it, such as the hour.
                because: Some("Nobody else was nearer.".to_owned()),
                ..Assign::default()
            };
            job_assign(self.store, &self.people.priya, job.id, assign).await?;
        }
        Ok(job.id)
    }

    async fn state(&self, who: &Caller, job_id: Uuid, state: JobState) -> Result<(), StoreError> {
        let job = job_find(self.store.conn(), who.shop_id, job_id).await?;
        let change = JobChange { version: job.version, state: Some(state), ..JobChange::default() };
        job_change(self.store, who, job_id, change).await?;
        Ok(())
    }

    async fn arrives(&self, who: &Caller, job_id: Uuid) -> Result<(), StoreError> {
        self.state(who, job_id, JobState::OnSite).await
    }

    /// Takes readings two minutes apart; the answer is their ids.
    async fn reads(
        &self,
        who: &Caller,
        job_id: Uuid,
        readings: Vec<Reading>,
    ) -> Result<Vec<Uuid>, StoreError> {
        let mut ids = Vec::new();
        for reading in readings {
            self.later(2);
            let shown = reading_add(self.store, who, job_id, reading).await?;
            ids.extend(shown.evidence.readings.last().map(|kept| kept.id));
        }
        Ok(ids)
    }

    async fn claims(
        &self,
        who: &Caller,
        job_id: Uuid,
        claim: [&str; 3],
        cost_cents: i64,
        note: &str,
    ) -> Result<Uuid, StoreError> {
        self.later(3);
        let new = NewRequest {
            claim: Claim {
                component: claim[0].to_owned(),
                part: Some(claim[1].to_owned()),
                mode: Some(claim[2].to_owned()),
            },
            estimated_cost_cents: cost_cents,
            note: note.to_owned(),
            submit: true,
        };
        Ok(request_make(self.store, who, job_id, new).await?.id)
    }

    /// Makes a move; the answer is the digest that the mover then sees.
    async fn moves(
        &self,
        who: &Caller,
        request_id: Uuid,
        step: Step,
    ) -> Result<String, StoreError> {
        self.later(4);
        let shown = request_move(self.store, who, request_id, step).await?;
        Ok(shown.told.map(|seen| seen.digest).unwrap_or_default())
    }

    async fn judges(
        &self,
        who: &Caller,
        request_id: Uuid,
        fault: [&str; 3],
        note: &str,
    ) -> Result<String, StoreError> {
        self.moves(who, request_id, Step::Take).await?;
        let judgement = Judgement {
            component: Some(fault[0].to_owned()),
            part: Some(fault[1].to_owned()),
            mode: Some(fault[2].to_owned()),
            sure: Sure::FairlySure,
            note: note.to_owned(),
        };
        self.moves(who, request_id, Step::CommitRead(judgement)).await
    }

    /// A condemnation that a colleague's question undid: the number the shop is proudest of.
    async fn overturned_by_a_second_read(&self) -> Result<Uuid, StoreError> {
        self.set(30.0);
        let (rui, mette) = (&self.people.rui, &self.people.mette);
        let house = Household {
            customer: "Odalys Brightwater",
            address: "12 Tanner's Row",
            notes: "Gate code is on the job card. Friendly goat.",
            unit: "side yard condenser",
            maker: "Brindlecomb",
            model: "BC-48",
            serial: "48-11-0932",
            circuit: ONE_PHASE,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 9,
            warranty_years: 5,
            specs: &[("run_winding", 0.477, Measure::Ohm), ("start_winding", 1.299, Measure::Ohm)],
        };
        let job = self
            .call(
                &house,
                "Heat pump silent, fan runs.",
                Urgency::NoHeatCool,
                Some((rui, self.window(-29, -26))),
            )
            .await?;
        self.set(28.0);
        self.arrives(rui, job).await?;
        let pins = self
            .reads(
                rui,
                job,
                vec![
                    open("C", "R").lifted(&["plug"]).at(31.0, 250.0),
                    open("C", "S").lifted(&["plug"]).at(31.0, 250.0),
                    ohm("S", "R", 1.78).lifted(&["plug"]).at(31.0, 250.0),
                ],
            )
            .await?;
        self.says(rui, job, "Everything is off and cold since this morning. Readings are in.")
            .await?;
        let request = self
            .claims(
                rui,
                job,
                ["compressor", "overload", "stuck_open"],
                310_000,
                "Common is open to both after four hours.",
            )
            .await?;
        self.judges(
            mette,
            request,
            ["harness", "plug_c", "open"],
            "Common open to both and the other two good: the overload, or the C contact. Which side of the plug was the probe on?",
        )
        .await?;
        let back = Step::SendBack {
            note:
                "Read C to R and C to S again on the bare compressor pins, then T1 to the C socket."
                    .to_owned(),
            test: None,
        };
        self.moves(mette, request, back).await?;
        let pins_anew = ohm("C", "R", 0.49).lifted(&["plug"]).at(30.0, 280.0);
        let ask = self
            .asks(
                mette,
                job,
                &pins_anew,
                "On the bare pins, not in the socket. Press hard: they blacken.",
            )
            .await?;
        self.says(rui, job, "You are right, I was in the socket for C. Reading again.").await?;
        for reading in &pins[..2] {
            reading_strike(
                self.store,
                rui,
                *reading,
                "Probe was in the plug's C socket, not on the pin.",
            )
            .await?;
        }
        self.answers(rui, job, ask, pins_anew).await?;
        self.reads(
            rui,
            job,
            vec![
                ohm("C", "S", 1.31).lifted(&["plug"]).at(30.0, 280.0),
                ohm("T1", "HC", 0.02).lifted(&["plug"]).at(30.0, 280.0),
                open("T1", "T2").at(30.0, 285.0),
            ],
        )
        .await?;
        self.shows_the_plug(rui, job, "Here is your answer: the C contact.").await?;
        let overturn = Step::Overturn {
            reason: "The windings and the overload are good at the pins.".to_owned(),
            found: "The plug's C contact was burnt open. New plug end fitted, runs at 11.2 A."
                .to_owned(),
        };
        self.moves(rui, request, overturn).await?;
        self.says(rui, job, "New plug end, it runs. That would have been a compressor. Thank you.")
            .await?;
        self.state(rui, job, JobState::Done).await?;
        Ok(job)
    }

    /// Isolated and countersigned, and still not worth the money.
    async fn declined_for_its_age(&self) -> Result<(), StoreError> {
        self.set(26.0);
        let (rui, mette, ada) = (&self.people.rui, &self.people.mette, &self.people.ada);
        let house = Household {
            customer: "Lantern Street Bakery",
            address: "4 Lantern Street",
            notes: "Roof hatch behind the ovens.",
            unit: "roof unit 2",
            maker: "Quillon Thermal",
            model: "QT-120-3",
            serial: "Q3-7781",
            circuit: THREE_PHASE,
            refrigerant: "R-22",
            flammable: false,
            age_years: 21,
            warranty_years: 5,
            specs: &[],
        };
        let job = self
            .call(
                &house,
                "Bakery at 33 °C, compressor trips.",
                Urgency::NoHeatCool,
                Some((mette, self.window(-26, -22))),
            )
            .await?;
        self.set(24.0);
        self.arrives(mette, job).await?;
        self.reads(
            mette,
            job,
            vec![
                volt("L1", "L2", 209.0),
                volt("L2", "L3", 208.0),
                volt("L3", "L1", 207.0),
                open("U", "V").lifted(&["block"]).at(38.0, 90.0),
                ohm("V", "W", 1.02).lifted(&["block"]).at(38.0, 90.0),
                open("W", "U").lifted(&["block"]).at(38.0, 90.0),
            ],
        )
        .await?;
        let request = self
            .claims(
                mette,
                job,
                ["compressor", "winding_1", "open"],
                985_000,
                "Winding 1 open at the studs, supply is even.",
            )
            .await?;
        let digest = self
            .judges(
                rui,
                request,
                ["compressor", "winding_1", "open"],
                "Open from pin 1 to both others, block off. Supply is fine.",
            )
            .await?;
        self.moves(rui, request, Step::Countersign { digest: digest.clone(), note: String::new() })
            .await?;
        let decline = Step::Decline {
            digest,
            reason: "A 21-year-old unit on R-22: offer a replacement instead of a compressor."
                .to_owned(),
        };
        self.moves(ada, request, decline).await?;
        self.state(mette, job, JobState::Waiting).await
    }

    /// Under the limit and out of warranty: the policy approves once it is countersigned, here
    /// by a guest, since nobody else was awake.
    async fn approved_by_policy(&self) -> Result<(), StoreError> {
        self.set(22.0);
        let jonas = &self.people.jonas;
        let house = Household {
            customer: "Perrin and Imke Dashwood",
            address: "88 Upper Weir Road",
            notes: "",
            unit: "condenser behind the garage",
            maker: "Ostervane",
            model: "OV-30",
            serial: "30-5520-K",
            circuit: FAN,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 12,
            warranty_years: 5,
            specs: &[],
        };
        let job = self
            .call(
                &house,
                "Outdoor fan does not turn.",
                Urgency::Comfort,
                Some((jonas, self.window(-22, -20))),
            )
            .await?;
        self.set(21.5);
        self.arrives(jonas, job).await?;
        let splices = ["motor_splices"];
        self.reads(
            jonas,
            job,
            vec![
                open("MC", "MS").lifted(&splices).at(22.0, 300.0),
                ohm("MC", "MR", 36.2).lifted(&splices).at(22.0, 300.0),
                open("MS", "MR").lifted(&splices).at(22.0, 300.0),
            ],
        )
        .await?;
        let request = self
            .claims(
                jonas,
                job,
                ["fan_motor", "start_winding", "open"],
                42_000,
                "Start winding open at the motor's own wires.",
            )
            .await?;
        let rosa = self.guest(jonas, request, "rosa.lind@northgate.example").await?;
        let digest = self
            .judges(
                &rosa,
                request,
                ["fan_motor", "start_winding", "open"],
                "Start is open to both at the splices, run is good.",
            )
            .await?;
        self.moves(&rosa, request, Step::Countersign { digest, note: "Agreed.".to_owned() })
            .await?;
        self.state(jonas, job, JobState::Waiting).await
    }

    /// The claim fell to a microfarad reading.
    async fn withdrawn_for_a_capacitor(&self) -> Result<Uuid, StoreError> {
        self.set(19.0);
        let jonas = &self.people.jonas;
        let house = Household {
            customer: "Solveig Marchbanks",
            address: "3 Mill Lane",
            notes: "Neighbour has the key.",
            unit: "heat pump",
            maker: "Brindlecomb",
            model: "BC-36",
            serial: "36-09-4410",
            circuit: ONE_PHASE,
            refrigerant: "R-454B",
            flammable: true,
            age_years: 3,
            warranty_years: 10,
            specs: &[("capacitor", 40.0, Measure::Microfarad)],
        };
        let job = self
            .call(
                &house,
                "Hums, then clicks off.",
                Urgency::NoHeatCool,
                Some((jonas, self.window(-19, -17))),
            )
            .await?;
        self.set(18.5);
        self.arrives(jonas, job).await?;
        observation_add(self.store, jonas, job, "hums_no_start", true).await?;
        self.reads(
            jonas,
            job,
            vec![
                ohm("C", "R", 0.75).lifted(&["plug"]).at(28.0, 40.0),
                ohm("C", "S", 1.60).lifted(&["plug"]).at(28.0, 40.0),
                ohm("S", "R", 2.35).lifted(&["plug"]).at(28.0, 40.0),
            ],
        )
        .await?;
        let request = self
            .claims(
                jonas,
                job,
                ["compressor", "pump", "seized"],
                280_000,
                "Windings good, hums: I think it is stuck.",
            )
            .await?;
        self.reads(jonas, job, vec![microfarad("CAP_C", "CAP_H", 18.6).lifted(&["start_wire"])])
            .await?;
        self.moves(
            jonas,
            request,
            Step::Withdraw { reason: "The capacitor section is at 46 %.".to_owned() },
        )
        .await?;
        self.says(jonas, job, "New capacitor, starts at once.").await?;
        self.state(jonas, job, JobState::Done).await?;
        Ok(job)
    }

    async fn done_and_cancelled(&self) -> Result<(), StoreError> {
        self.set(17.0);
        let (mette, priya) = (&self.people.mette, &self.people.priya);
        let tea = Household {
            customer: "Copper Kettle Tea Room",
            address: "19 Market Square",
            notes: "",
            unit: "dining room unit",
            maker: "Ostervane",
            model: "OV-24",
            serial: "24-1182-C",
            circuit: FAN,
            refrigerant: "R-410A",
            flammable: false,
            age_years: 6,
            warranty_years: 5,
            specs: &[],
        };
        let done = self
            .call(
                &tea,
                "Rattles since the storm.",
                Urgency::Comfort,
                Some((mette, self.window(-17, -15))),
            )
            .await?;
        self.set(16.0);
        self.arrives(mette, done).await?;
        self.later(25);
        self.says(mette, done, "A branch in the guard. Out, runs quietly.").await?;
        self.state(mette, done, JobState::Done).await?;
        let flat = Household {
            customer: "Casimir Hollowell",
            address: "Flat 6, Weaver's Court",
            notes: "",
            unit: "balcony unit",
            maker: "Quillon Thermal",
            model: "QT-18",
            serial: "Q1-0440",
            circuit: FAN,
            refrigerant: "R-32",
            flammable: true,
            age_years: 2,
            warranty_years: 5,
            specs: &[],
        };
        let cancelled = self.call(&flat, "Does not cool.", Urgency::Comfort, None).await?;
        self.later(30);
        self.state(priya, cancelled, JobState::Cancelled).await
    }
}
