//! The demo's board beyond this hour: calls with their answers, plans of their own, one that is
//! late.
//!
//! Belongs here: what a scheduler finds to do. Does not belong here: jobs that are measured
//! ([`super::today`]).

use store::StoreError;
use store::job::{Answer, Answers, Assign, JobNew, Window, Work, job_add, job_assign};
use store::person::Qualification;

use super::super::estate::{self, Household};
use super::{FAN, ONE_PHASE, Telling};

/// One call of the coming days.
struct Call {
    customer: &'static str,
    address: &'static str,
    unit: &'static str,
    circuit: &'static str,
    complaint: &'static str,
    answers: Answers,
    work: Work,
    required: &'static [Qualification],
    outdoor_f: i32,
    /// Promised, hours from the full hour.
    promised: (i64, i64),
}

const NOTHING: Answers = Answers {
    gas_smell: Some(Answer::No),
    smoke: Some(Answer::No),
    co_alarm: Some(Answer::No),
    no_heat_cool: Some(Answer::No),
    vulnerable: Some(Answer::No),
    water: Some(Answer::No),
    food: Some(Answer::No),
};

impl Telling<'_> {
    /// Calls for the next day, some planned; one whose promise nobody kept yet.
    pub(super) async fn calls_of_the_coming_days(&self) -> Result<(), StoreError> {
        let (rui, jonas) = (&self.people.rui, &self.people.jonas);
        let calls = [
            (
                Call {
                    customer: "Barnaby Thistlewood",
                    address: "9 Quarry Hill",
                    unit: "heat pump behind the shed",
                    circuit: ONE_PHASE,
                    complaint: "Heats, but rattles when it starts.",
                    answers: NOTHING,
                    work: Work::Diagnosis,
                    required: &[],
                    outdoor_f: 21,
                    promised: (-1, 0),
                },
                None,
            ),
            (
                Call {
                    customer: "Saltmarsh Dental Rooms",
                    address: "6 Lantern Street",
                    unit: "waiting room unit",
                    circuit: FAN,
                    complaint: "Service before the season, as every year.",
                    answers: NOTHING,
                    work: Work::Maintenance,
                    required: &[],
                    outdoor_f: 21,
                    promised: (20, 24),
                },
                Some((rui, (21, 22))),
            ),
            (
                Call {
                    customer: "Corvina Ashdown",
                    address: "40 Upper Weir Road",
                    unit: "furnace and heat pump",
                    circuit: ONE_PHASE,
                    complaint: "Burner lights and goes out again; the house is cold.",
                    answers: Answers { no_heat_cool: Some(Answer::Yes), ..NOTHING },
                    work: Work::Diagnosis,
                    required: &[Qualification::Combustion],
                    outdoor_f: 12,
                    promised: (18, 22),
                },
                Some((jonas, (19, 21))),
            ),
            (
                Call {
                    customer: "Imogen Larkspur",
                    address: "2 Orchard Steps",
                    unit: "loft heat pump",
                    circuit: ONE_PHASE,
                    complaint: "Ice on the outdoor unit up to the fan.",
                    answers: NOTHING,
                    work: Work::Diagnosis,
                    required: &[Qualification::SealedSystem],
                    outdoor_f: 19,
                    promised: (22, 26),
                },
                None,
            ),
        ];
        for (call, planned) in calls {
            let house = Household {
                customer: call.customer,
                address: call.address,
                notes: "",
                unit: call.unit,
                maker: "Ostervane",
                model: "OV-36",
                serial: "36-4410-D",
                circuit: call.circuit,
                refrigerant: "R-410A",
                flammable: false,
                age_years: 4,
                warranty_years: 5,
                specs: &[],
            };
            let priya = &self.people.priya;
            let unit_id = estate::add(self.store, priya, self.store.now(), &house).await?;
            let new = JobNew {
                unit_id,
                complaint: call.complaint.to_owned(),
                answers: Some(call.answers),
                window: Some(self.window(call.promised.0, call.promised.1)),
                required: call.required.to_vec(),
                outdoor_f: Some(call.outdoor_f),
                work: call.work,
                ..JobNew::default()
            };
            let job = job_add(self.store, priya, new).await?;
            self.later(3);
            if let Some((who, (from, to))) = planned {
                let Window { start, end } = self.window(from, to);
                let assign = Assign {
                    version: job.version,
                    person_id: Some(who.person_id),
                    planned: Some(Window { start, end }),
                    because: Some("As they agreed on the telephone.".to_owned()),
                    ..Assign::default()
                };
                job_assign(self.store, priya, job.id, assign).await?;
            }
        }
        Ok(())
    }
}
