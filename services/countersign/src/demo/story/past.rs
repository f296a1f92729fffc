//! The weeks before the demo's weekend: calls taken and served, so that there is something to learn
//! from; the weather that was typed in; the rules that the shop has on.
//!
//! Belongs here: an invented past, drawn from what is usual in the trade and repeated exactly.
//! Does not belong here: the weekend that is told by hand ([`super`]).

use chrono::{DateTime, Datelike as _, Days, Duration, Utc, Weekday};
use roster::capacity::demand::{Demand, Hour};
use roster::capacity::learn::{History, WEEK_HOURS, learn};
use roster::capacity::random::Chance;
use roster::capacity::{Call, HOUR_MIN, Work};
use roster::queue::Urgency as Class;
use roster::rules::Action;
use sea_orm::ConnectionTrait as _;
use store::capacity::setting;
use store::job::{Assign, JobNew, JobState, Urgency, job_add, job_assign};
use store::rule::{RuleSave, RuleState, list, rule_change};
use store::{Caller, StoreError};
use uuid::Uuid;

use super::super::estate::{self, Household};
use super::{FAN, ONE_PHASE, Telling};

/// Weeks of the past.
pub(super) const WEEKS: i64 = 4;

/// The old book's numbers begin here, well away from those of the weekend that is told.
const OLD_BOOK_FROM: i32 = 9_000;

/// What it is drawn with.
const SEED: u64 = 26;

/// Saturday, 20:00 in UTC, an hour after noon in the shop's zone: the rush of [`RUSH`] begins.
const RUSH_WEEK_HOUR: usize = 5 * 24 + 20;

/// Minutes into the rush, and the class' place, most pressing first.
const RUSH: [(f64, usize); 12] = [
    (0.0, 3),
    (6.0, 4),
    (14.0, 3),
    (21.0, 3),
    (33.0, 4),
    (40.0, 1),
    (52.0, 3),
    (58.0, 4),
    (75.0, 3),
    (90.0, 0),
    (110.0, 4),
    (130.0, 3),
];

/// Rules that stay tried: the story asks its readers by hand.
const STAY_TRIED: [&str; 2] = ["offer_remote_read", "widen_readers"];

const HOUSES: [(&str, &str, &str, &str); 5] = [
    ("Sorrel Wainwright", "4 Ropewalk", "heat pump, north wall", ONE_PHASE),
    ("Mill Lane Bakery", "2 Mill Lane", "proving room cooler", FAN),
    ("Isidore Fenn", "71 Quarry Road", "heat pump", ONE_PHASE),
    ("Vellum Falls Library", "8 Market Square", "reading room unit", FAN),
    ("Hesper Lodge", "19 Chapel Close", "attic air handler", ONE_PHASE),
];

impl Telling<'_> {
    /// Calls of the past weeks, served one after the other.
    pub(super) async fn past(&self, until: DateTime<Utc>) -> Result<(), StoreError> {
        let start = self.store.now();
        let people = &self.people;
        let mut units = Vec::new();
        for (customer, address, unit, circuit) in HOUSES {
            let house = Household {
                customer,
                address,
                notes: "",
                unit,
                maker: "Ostervane",
                model: "OV-30",
                serial: "30-1804-C",
                circuit,
                refrigerant: "R-410A",
                flammable: false,
                age_years: 8,
                warranty_years: 5,
                specs: &[],
            };
            units.push(estate::add(self.store, &people.priya, start, &house).await?);
        }
        let hours = u64::try_from((until - start).num_hours()).unwrap_or(0);
        let calls = drawn(start, hours);
        let technicians = [&people.rui, &people.mette, &people.jonas];
        let mut free = [start; 3];
        // What is done to each job is put in order of time: the clock only moves forward.
        let mut done: Vec<(DateTime<Utc>, usize, Deed)> = Vec::new();
        for (at, call) in calls.iter().enumerate() {
            let came = start + minutes(call.ready_min);
            let who = (0..3).min_by_key(|who| free[*who]).unwrap_or(0);
            let arrives = free[who].max(came) + minutes(call.travel_min);
            let leaves = arrives + minutes(call.takes_min);
            if leaves >= until {
                continue;
            }
            free[who] = leaves;
            done.push((came, at, Deed::Taken));
            done.push((came + Duration::minutes(3), at, Deed::Given(who)));
            done.push((arrives, at, Deed::Arrived(who)));
            done.push((leaves, at, Deed::Left(who)));
        }
        done.sort_by_key(|(when, at, _)| (*when, *at));
        self.number_from(OLD_BOOK_FROM).await?;
        let mut jobs = vec![Uuid::nil(); calls.len()];
        for (when, at, deed) in done {
            self.clock.set(when);
            match deed {
                Deed::Taken => jobs[at] = self.taken(&calls[at], units[at % units.len()]).await?,
                Deed::Given(who) => self.given(jobs[at], technicians[who]).await?,
                Deed::Arrived(who) => {
                    self.state(technicians[who], jobs[at], JobState::OnSite).await?;
                }
                Deed::Left(who) => self.state(technicians[who], jobs[at], JobState::Done).await?,
            }
        }
        self.number_from(0).await
    }

    /// Where the next job's number follows on: the past has the old book's.
    async fn number_from(&self, last: i32) -> Result<(), StoreError> {
        let text = format!("UPDATE job_head SET last = {last}");
        self.store.conn().execute_unprepared(&text).await?;
        Ok(())
    }

    async fn taken(&self, call: &Call, unit_id: Uuid) -> Result<Uuid, StoreError> {
        let new = JobNew {
            unit_id,
            complaint: format!("From the old book: {}.", said(call)),
            urgency: Some(class(call.class)),
            ..JobNew::default()
        };
        Ok(job_add(self.store, &self.people.priya, new).await?.id)
    }

    async fn given(&self, job_id: Uuid, who: &Caller) -> Result<(), StoreError> {
        let job = store::job::job_find(self.store.conn(), who.shop_id, job_id).await?;
        let assign =
            Assign { version: job.version, person_id: Some(who.person_id), ..Assign::default() };
        job_assign(self.store, &self.people.priya, job_id, assign).await?;
        Ok(())
    }

    /// A cold spell (or a hot one) over the coming days, typed in by the scheduler.
    pub(super) async fn weather(&self) -> Result<(), StoreError> {
        let today = self.now.date_naive();
        let known = setting::weather(self.store.conn(), self.people.priya.shop_id).await?;
        for ahead in 0..6 {
            let Some(day) = today.checked_add_days(Days::new(ahead)) else { continue };
            let usual = known.usual(day);
            let cold = if matches!(day.weekday(), Weekday::Sat | Weekday::Sun) { 26 } else { 14 };
            let outdoor_f = if usual < 60 { usual - cold } else { usual + cold };
            setting::weather_set(self.store, &self.people.priya, day, Some(outdoor_f)).await?;
        }
        Ok(())
    }

    /// The rules that ship, on, with what the shop had still to name.
    pub(super) async fn rules(&self) -> Result<(), StoreError> {
        let ada = &self.people.ada;
        for rule in list(self.store, ada).await? {
            let now = rule.now;
            if now.actions.iter().any(|action| STAY_TRIED.contains(&action.id())) {
                continue;
            }
            let actions = now.actions.into_iter().map(|action| self.named(action)).collect();
            let save = RuleSave {
                name: now.name,
                why: now.why,
                condition: now.condition,
                actions,
                rearm_min: now.rearm_min,
                state: RuleState::On,
                reason: "Tried over two weekends; it fired when we would have.".to_owned(),
            };
            rule_change(self.store, ada, now.rule_id, now.version, save).await?;
        }
        Ok(())
    }

    fn named(&self, action: Action) -> Action {
        match action {
            Action::DelegateApprovals { up_to_cents, hours, .. } => {
                let person_id = Some(self.people.priya.person_id.to_string());
                Action::DelegateApprovals { person_id, up_to_cents, hours }
            }
            Action::AskNeighbour { message, .. } => Action::AskNeighbour {
                name: "Sable Ridge Heating".to_owned(),
                email: "crew@sableridge.example".to_owned(),
                message,
            },
            other => other,
        }
    }
}

/// What happens to a job of the past; by whom is an index.
enum Deed {
    Taken,
    Given(usize),
    Arrived(usize),
    Left(usize),
}

/// Calls as they are usual for five technicians: the three have much to do.
fn drawn(start: DateTime<Utc>, hours: u64) -> Vec<Call> {
    let first = start.weekday().num_days_from_monday() as usize * 24
        + chrono::Timelike::hour(&start) as usize;
    let hours: Vec<Hour> = (0..hours as usize)
        .map(|hour| Hour { week_hour: (first + hour) % WEEK_HOURS, outdoor_f: 30, usual_f: 30 })
        .collect();
    let demand = Demand::of(&learn(&History::empty(5)), &hours);
    let mut chance = Chance::of(SEED, 0);
    let mut calls = demand.draw(&mut chance);
    // The last Saturday among them was one to remember: after noon everything came at once.
    let mut saturdays =
        hours.iter().enumerate().filter(|(_, hour)| hour.week_hour == RUSH_WEEK_HOUR);
    if let Some((hour, _)) = saturdays.next_back() {
        for (minute, class) in RUSH {
            let ready_min = hour as f64 * HOUR_MIN + minute;
            calls.push(demand.call(class, ready_min, &mut chance));
        }
    }
    calls.sort_by(|one, other| one.ready_min.total_cmp(&other.ready_min));
    calls
}

fn minutes(minutes: f64) -> Duration {
    Duration::seconds((minutes * 60.0) as i64)
}

fn class(class: Class) -> Urgency {
    Urgency::ALL
        .into_iter()
        .find(|urgency| urgency.name() == class.id())
        .unwrap_or(Urgency::Comfort)
}

fn said(call: &Call) -> &'static str {
    match (call.class, call.work) {
        (Class::NoHeatVulnerable, _) => "no heat, somebody ill in the house",
        (Class::Water, _) => "water below the air handler",
        (Class::FoodStorage, _) => "cooler warms up",
        (Class::NoHeatCool, Work::ReturnVisit) => "no heat again",
        (Class::NoHeatCool, _) => "no heat",
        (Class::Comfort, Work::Maintenance) => "yearly maintenance",
        (Class::Comfort, _) => "noisy at night",
    }
}
