//! Jobs: numbers, overlaps, versions, who may, and a repeat that is carried out once.

// Helpers of tests may give up as tests do.
#![allow(clippy::unwrap_used)]

use chrono::{DateTime, TimeDelta, Utc};
use store::ambient::Ambient;
use store::customer::{CustomerNew, customer_add, customer_list};
use store::idempotency::{Claimed, answer, claim};
use store::job::{
    Assign, JobChange, JobNew, JobState, Urgency, Window, job_add, job_assign, job_change,
};
use store::person::{PersonNew, Role, person_add_unasked};
use store::shop::{ShopNew, shop_add};
use store::site::{SiteNew, site_add};
use store::unit::{UnitNew, unit_add};
use store::{Caller, Store, StoreError, testbed};
use uuid::Uuid;

struct Bed {
    store: Store,
    scheduler: Caller,
    technician: Caller,
    unit_id: Uuid,
}

async fn caller(store: &Store, shop_id: Uuid, name: &str, role: Role) -> Caller {
    let new = PersonNew {
        email: format!("{name}@shop.example"),
        name: name.to_owned(),
        password: "a quiet compressor".to_owned(),
        roles: vec![role],
        qualifications: vec![],
        phone: None,
        licence: None,
    };
    let person = person_add_unasked(store.conn(), store, shop_id, new).await.unwrap();
    Caller {
        person_id: person.id,
        shop_id,
        roles: person.roles,
        qualifications: vec![],
        session_id: store.new_id(),
        guest: None,
    }
}

async fn shop(store: &Store) -> Uuid {
    let new =
        ShopNew { name: "Shop".into(), zone: "America/Denver".into(), currency: "USD".into() };
    shop_add(store.conn(), store, new).await.unwrap()
}

fn customer(name: &str) -> CustomerNew {
    CustomerNew { name: name.to_owned(), phone: None, email: None, notes: String::new() }
}

async fn bed(name: &str) -> Bed {
    let store = testbed::store(&format!("job_{name}"), Ambient::from_os().unwrap()).await.unwrap();
    let shop_id = shop(&store).await;
    let scheduler = caller(&store, shop_id, "scheduler", Role::Scheduler).await;
    let technician = caller(&store, shop_id, "technician", Role::Technician).await;
    let customer = customer_add(&store, &scheduler, customer("Orla Fenwick")).await.unwrap();
    let site = SiteNew {
        address: "1 Weir Road".into(),
        town: "Vellum Falls".into(),
        ..SiteNew::default()
    };
    let site = site_add(&store, &scheduler, customer.id, site).await.unwrap();
    let unit = UnitNew {
        label: "heat pump".into(),
        circuit: store::circuit::shipped().unwrap()[0].circuit.name.clone(),
        ..UnitNew::default()
    };
    let unit_id = unit_add(&store, &scheduler, site.id, unit).await.unwrap().id;
    Bed { store, scheduler, technician, unit_id }
}

fn at(hour: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_764_000_000, 0).unwrap() + TimeDelta::hours(hour)
}

impl Bed {
    fn new_job(&self, window: Option<Window>, assigned_to: Option<Uuid>) -> JobNew {
        JobNew {
            unit_id: self.unit_id,
            complaint: "No cooling".to_owned(),
            urgency: Some(Urgency::NoHeatCool),
            window,
            assigned_to,
            ..JobNew::default()
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn numbers_have_no_gaps_whoever_takes_jobs_at_once() {
    let bed = bed("numbers").await;

    let jobs: Vec<_> = (0..8)
        .map(|_| {
            let (store, caller) = (bed.store.clone(), bed.scheduler.clone());
            let new = bed.new_job(None, None);
            tokio::spawn(async move { job_add(&store, &caller, new).await.unwrap().number })
        })
        .collect();
    let mut numbers = Vec::new();
    for job in jobs {
        numbers.push(job.await.unwrap());
    }

    numbers.sort_unstable();
    assert_eq!(numbers, (1..=8).collect::<Vec<_>>());
}

#[tokio::test(flavor = "multi_thread")]
async fn one_person_is_never_planned_twice_at_once() {
    let bed = bed("overlap").await;
    let who = Some(bed.technician.person_id);
    let morning = Some(Window { start: at(0), end: at(4) });
    job_add(&bed.store, &bed.scheduler, bed.new_job(morning, who)).await.unwrap();

    let overlapping = Some(Window { start: at(3), end: at(6) });
    let refused = job_add(&bed.store, &bed.scheduler, bed.new_job(overlapping, who)).await;
    let after = Some(Window { start: at(4), end: at(6) });
    let accepted = job_add(&bed.store, &bed.scheduler, bed.new_job(after, who)).await;

    let refused = refused.unwrap_err();
    let StoreError::Overlap { says, overlap } = refused else { panic!("{refused}") };
    assert!(says.contains("job 1 (Orla Fenwick)"), "{says}");
    assert_eq!((overlap.number, overlap.free_start), (1, at(4)));
    // The number of the refused one was given back.
    assert_eq!(accepted.unwrap().number, 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_second_of_two_changes_is_told_to_look_again() {
    let bed = bed("version").await;
    let job = job_add(&bed.store, &bed.scheduler, bed.new_job(None, None)).await.unwrap();
    let assign = || Assign {
        version: job.version,
        person_id: Some(bed.technician.person_id),
        ..Assign::default()
    };

    job_assign(&bed.store, &bed.scheduler, job.id, assign()).await.unwrap();
    let refused = job_assign(&bed.store, &bed.scheduler, job.id, assign()).await.unwrap_err();

    assert!(matches!(refused, StoreError::Conflict { code: "changed-meanwhile", .. }), "{refused}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_technician_moves_their_own_job_and_no_other() {
    let bed = bed("own").await;
    let own = bed.new_job(None, Some(bed.technician.person_id));
    let own = job_add(&bed.store, &bed.technician, own).await.unwrap();
    let other = job_add(&bed.store, &bed.scheduler, bed.new_job(None, None)).await.unwrap();
    let to = |version, state| JobChange { version, state: Some(state), ..JobChange::default() };

    let there =
        job_change(&bed.store, &bed.technician, own.id, to(1, JobState::OnSite)).await.unwrap();
    assert_eq!(there.state, JobState::OnSite);
    for (id, version, state) in
        [(own.id, 2, JobState::Cancelled), (other.id, 1, JobState::Cancelled)]
    {
        let refused = job_change(&bed.store, &bed.technician, id, to(version, state)).await;
        assert!(matches!(refused.unwrap_err(), StoreError::Forbidden { .. }));
    }
    let back = job_change(&bed.store, &bed.scheduler, own.id, to(2, JobState::Assigned)).await;
    assert!(matches!(back.unwrap_err(), StoreError::Conflict { code: "job-state", .. }));
}

#[tokio::test(flavor = "multi_thread")]
async fn another_shop_finds_nothing() {
    let bed = bed("other_shop").await;
    let job = job_add(&bed.store, &bed.scheduler, bed.new_job(None, None)).await.unwrap();
    let shop_id = shop(&bed.store).await;
    let stranger = caller(&bed.store, shop_id, "stranger", Role::Owner).await;

    let found = store::job::job_find(bed.store.conn(), stranger.shop_id, job.id).await;

    assert!(matches!(found.unwrap_err(), StoreError::NotFound { .. }));
    assert!(customer_list(&bed.store, &stranger).await.unwrap().is_empty());
    let theirs = job_add(&bed.store, &stranger, bed.new_job(None, None)).await;
    assert!(matches!(theirs.unwrap_err(), StoreError::NotFound { .. }));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_repeat_is_carried_out_once_and_gets_the_first_answer() {
    let bed = bed("repeat").await;
    let (store, who, key) = (&bed.store, &bed.scheduler, Uuid::from_u128(77));
    let ask = async |hash: &str| {
        claim(store, who.person_id, key, "POST /api/customers", hash).await.unwrap()
    };

    let Claimed::New(first) = ask("h").await else { panic!("the first is not new") };
    assert!(matches!(ask("h").await, Claimed::StillWorking));
    customer_add(&store.claimed(first.clone()), who, customer("Once")).await.unwrap();
    assert!(matches!(ask("h").await, Claimed::StillWorking));
    answer(store, &first, 201, "{}").await.unwrap();

    assert!(matches!(ask("h").await, Claimed::Answered { status: 201, .. }));
    assert!(matches!(ask("other").await, Claimed::OtherRequest));
}
