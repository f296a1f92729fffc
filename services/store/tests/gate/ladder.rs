//! The ladder for a second read, over a clock that the test moves.
//!
//! Belongs here: that each rung fires once, whoever looks and however the clock goes. Does not
//! belong here: whom a rung asks, beyond how many.

use std::sync::Arc;

use chrono::TimeDelta;
use store::ambient::{Ambient, Clock as _, Generator, ManualClock, SystemClock};
use store::ladder::climb_due;
use store::request::{Step, read_decline, shown_to};
use store::{Store, testbed};
use uuid::Uuid;

use super::story::{claim, count, isolating_readings, make};
use super::{ana, bo};

struct Bed {
    clock: Arc<ManualClock>,
    store: Store,
    url: String,
    request: Uuid,
}

impl Bed {
    async fn new(name: &str) -> Self {
        let clock = Arc::new(ManualClock::new(SystemClock.now()));
        let url = testbed::database(name).await.unwrap();
        let store = connect(&url, &clock, 1).await;
        let seed = include_str!("shop.sql");
        sea_orm::ConnectionTrait::execute_unprepared(store.conn(), seed).await.unwrap();
        isolating_readings(&store).await;
        let request = claim(&store, 90_000).await.id;
        Bed { clock, store, url, request }
    }

    async fn fired(&self) -> u64 {
        count(&self.store, "ladder_step WHERE fired_at IS NOT NULL").await
    }

    async fn asked(&self) -> u64 {
        count(&self.store, "reader_ask").await
    }

    fn advance(&self, minutes: i64) {
        self.clock.advance(TimeDelta::minutes(minutes));
    }
}

async fn connect(url: &str, clock: &Arc<ManualClock>, seed: u64) -> Store {
    let ambient = Ambient { clock: clock.clone(), generator: Arc::new(Generator::seeded(seed)) };
    Store::connect(url, ambient, 4).await.unwrap()
}

#[tokio::test]
async fn rungs_fire_when_they_fall_due_and_not_before() {
    let bed = Bed::new("ladder_due").await;
    assert_eq!((bed.fired().await, bed.asked().await), (1, 1));

    bed.advance(4);
    assert_eq!(climb_due(&bed.store).await.unwrap(), 0);
    bed.advance(1);
    assert_eq!(climb_due(&bed.store).await.unwrap(), 1);
    assert_eq!((bed.fired().await, bed.asked().await), (2, 3));
    assert_eq!(climb_due(&bed.store).await.unwrap(), 0, "once");
    bed.advance(10);
    assert_eq!(climb_due(&bed.store).await.unwrap(), 1);

    let managers = "outbox WHERE payload ->> 'template' = 'reader_missing'";
    assert_eq!(count(&bed.store, managers).await, 2, "Dan and Eva manage");
    let fired = "record_entry WHERE kind = 'ladder_fired'";
    assert_eq!(count(&bed.store, fired).await, 3);
}

#[tokio::test]
async fn two_processes_that_look_at_once_fire_each_rung_once() {
    let bed = Bed::new("ladder_race").await;
    let mut stores = Vec::new();
    for seed in 0..6 {
        stores.push(connect(&bed.url, &bed.clock, 100 + seed).await);
    }
    bed.advance(60);

    let mut looks = tokio::task::JoinSet::new();
    for store in stores {
        looks.spawn(async move {
            let mut fired = 0;
            for _ in 0..8 {
                fired += climb_due(&store).await.unwrap();
            }
            fired
        });
    }
    let fired: usize = looks.join_all().await.into_iter().sum();

    assert_eq!(fired, 2, "both rungs that were left, by whichever process");
    assert_eq!(bed.asked().await, 3, "nobody is asked twice");
    assert_eq!(count(&bed.store, "record_entry WHERE kind = 'ladder_fired'").await, 3);
}

#[tokio::test]
async fn what_fell_due_while_nothing_ran_fires_at_the_first_look_also_after_a_clock_jump() {
    let bed = Bed::new("ladder_restart").await;
    bed.advance(3 * 24 * 60);
    let after_restart = connect(&bed.url, &bed.clock, 7).await;

    assert_eq!(climb_due(&after_restart).await.unwrap(), 2);
    // The clock is put back: nothing fires again.
    bed.clock.advance(TimeDelta::days(-10));
    assert_eq!(climb_due(&after_restart).await.unwrap(), 0);
    assert_eq!(bed.fired().await, 3);
}

#[tokio::test]
async fn accepting_stops_it_and_declining_brings_it_forward() {
    let bed = Bed::new("ladder_stop").await;
    let (store, request) = (&bed.store, bed.request);
    bed.advance(1);
    let declined = read_decline(store, &bo(), request, "On a ladder").await;
    assert!(declined.is_ok(), "{declined:?}");
    assert_eq!(bed.fired().await, 2, "nobody was left to answer");
    let ladder = shown_to(store, &ana(), request).await.unwrap().ladder.unwrap();
    let gap = ladder.steps[2].due_at - ladder.steps[1].due_at;
    assert_eq!(gap, TimeDelta::minutes(10), "the last rung keeps its distance");

    make(store, &super::cleo(), request, Step::Take).await;
    bed.advance(120);
    assert_eq!(climb_due(store).await.unwrap(), 0);
    assert_eq!(count(store, "ladder_step WHERE skipped_at IS NOT NULL").await, 1);
    assert_eq!(count(store, "ladder WHERE stopped_at IS NOT NULL").await, 1);
    // Given back unread: it begins anew, and not with whoever gave it back.
    let back = Step::HandOn { note: String::new(), to: None };
    let shown = make(store, &super::cleo(), request, back).await;
    let open: Vec<Uuid> =
        shown.asked.iter().filter(|ask| ask.answer.is_none()).map(|ask| ask.person.id).collect();
    assert_eq!(open, [super::eva().person_id]);
}

#[tokio::test]
async fn the_database_refuses_a_second_firing_and_a_second_answer() {
    let bed = Bed::new("ladder_guards").await;
    let refused = async |sql: &str| {
        let error =
            sea_orm::ConnectionTrait::execute_unprepared(bed.store.conn(), sql).await.unwrap_err();
        super::constraint(&error)
    };
    assert_eq!(
        refused("UPDATE ladder_step SET fired_at = now() WHERE rung = 0").await,
        "ladder_step_once"
    );
    let declined = read_decline(&bed.store, &bo(), bed.request, "On a ladder").await;
    assert!(declined.is_ok(), "{declined:?}");
    assert_eq!(
        refused("UPDATE reader_ask SET answer = 'accepted' WHERE answer = 'declined'").await,
        "reader_ask_answered"
    );
    assert_eq!(refused("DELETE FROM reader_ask").await, "reader_ask_answered");
}

#[tokio::test]
async fn many_jobs_due_at_once_are_shared_out_and_each_fires_once() {
    let bed = Bed::new("ladder_many").await;
    let (jobs, steps) = (130, 3);
    let execute = async |sql: &str| {
        sea_orm::ConnectionTrait::execute_unprepared(bed.store.conn(), sql).await.expect(sql);
    };
    execute(&format!(
        "INSERT INTO job (id, shop_id, number, unit_id, complaint, urgency, state, created_by, \
             created_at, changed_at) SELECT gen_random_uuid(), shop_id, 1000 + n, unit_id, 'Wet', \
             'water', 'open', created_by, created_at, changed_at \
         FROM job, generate_series(1, {jobs}) AS n WHERE number < 1000"
    ))
    .await;
    let spec = r#"{"after_min": 0, "who": [{"group": "next", "count": 2}], "how": "mail"}"#;
    execute(&format!(
        "WITH started AS (INSERT INTO ladder (id, shop_id, kind, subject_kind, subject_id, \
             started_at) SELECT gen_random_uuid(), shop_id, 'urgent_job', 'job', id, created_at \
             FROM job WHERE number > 1000 RETURNING id, started_at) \
         INSERT INTO ladder_step (ladder_id, rung, action, due_at, planned_at, spec) \
         SELECT id, rung, 'ask_next', started_at + rung * interval '1 minute', started_at, \
             '{spec}'::jsonb FROM started, generate_series(0, {steps} - 1) AS rung"
    ))
    .await;
    bed.advance(3);
    let mut looks = tokio::task::JoinSet::new();
    for seed in 0..4 {
        let store = connect(&bed.url, &bed.clock, 200 + seed).await;
        looks.spawn(async move {
            let mut fired = 0;
            for _ in 0..6 {
                fired += climb_due(&store).await.unwrap();
            }
            fired
        });
    }
    let fired: usize = looks.join_all().await.into_iter().sum();

    // Five technicians, two at each step: the third finds one left, and nobody is asked twice.
    assert_eq!(fired, jobs * steps);
    let kept = "record_entry WHERE kind = 'job_ladder_fired'";
    assert_eq!(count(&bed.store, kept).await, (jobs * steps) as u64);
    let asked = "ladder_told JOIN ladder ON ladder.id = ladder_id \
         WHERE asked AND kind = 'urgent_job'";
    assert_eq!(count(&bed.store, asked).await, (jobs * 5) as u64);
    let wanted = "outbox WHERE payload ->> 'template' = 'job_wanted'";
    assert_eq!(count(&bed.store, wanted).await, (jobs * 5) as u64);
    store::record::verify(&bed.store, super::SHOP).await.unwrap().unwrap();
    // The asking went round: nobody was asked first much more often than anybody else.
    let uneven = "(SELECT person_id FROM ladder_told WHERE rung = 0 GROUP BY 1 \
         HAVING count(*) NOT BETWEEN 30 AND 74) AS uneven";
    assert_eq!(count(&bed.store, uneven).await, 0);
}
