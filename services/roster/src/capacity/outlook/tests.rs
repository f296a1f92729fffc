//! The outlook against the formula, against itself, and its sentences.

use proptest::prelude::*;

use super::*;
use crate::capacity::demand::Hour;
use crate::capacity::erlang;
use crate::capacity::learn::{History, Lognormal, learn};
use crate::capacity::places::Places;
use crate::capacity::{Duty, Person, Skills, Tolerable};
use crate::plan::RestRule;

fn people(count: usize, kind: DutyKind, skills: &[&str]) -> Vec<Person> {
    let duties = vec![Duty { kind, start_min: 0.0, end_min: 1e9 }];
    let one = Person {
        skills: Skills::of(skills),
        duties,
        busy_until_min: 0.0,
        run_start_min: None,
        place: SHOP,
    };
    vec![one; count]
}

fn setting(hours: usize, people: Vec<Person>) -> Setting {
    let rest = RestRule { rest_min: 0, duty_max_min: i64::MAX / 4 };
    Setting {
        hours,
        people,
        tolerable: Tolerable::default(),
        rest,
        called_when_late: false,
        places: Places::default(),
    }
}

fn saturday(outdoor_f: i32) -> Demand {
    let hour = |week_hour| Hour { week_hour, outdoor_f, usual_f: 40 };
    Demand::of(&learn(&History::empty(5)), &(120..144).map(hour).collect::<Vec<_>>())
}

/// One call in ten from a place an hour away, the rest from one that is near.
fn two_places() -> (Setting, Demand) {
    let names = ["shop", "Sedge", "Upper Marrow"].map(ToOwned::to_owned).to_vec();
    let ways = vec![0.0, 10.0, 100.0, 10.0, 8.0, 95.0, 100.0, 95.0, 8.0];
    let mut setting = setting(24, people(12, DutyKind::Shift, &super::super::QUALIFICATIONS));
    setting.places = Places::of(names, ways).unwrap();
    let mut demand = saturday(5);
    demand.place_shares = vec![0.0, 0.9, 0.1];
    (setting, demand)
}

/// Exponential times, one class, equal people: what the formula assumes. Times of work are
/// lognormal in the outlook, so the runs are made here.
fn late_share(load: f64, servers: usize, takes_min: f64, target_min: f64) -> Odds {
    let (hours, warm_hours) = (100, 20);
    let class = 3;
    let mut tally = Tally::default();
    let mut setting = setting(hours, people(servers, DutyKind::Shift, &[]));
    setting.tolerable = Tolerable([target_min; CLASSES]);
    let runs = 400;
    for run in 0..runs {
        let mut chance = Chance::of(7, run);
        let mut at = 0.0;
        let mut calls = Vec::new();
        while at < setting.end_min() {
            at += chance.exponential(takes_min / load);
            calls.push(Call {
                ready_min: at,
                class: Urgency::ALL[class],
                work: Work::Diagnosis,
                needs: Skills::default(),
                travel_min: 0.0,
                takes_min: chance.exponential(takes_min),
                held_by: None,
                to: None,
            });
        }
        let outcomes = play(&setting, &calls, &mut Nobody);
        // The first hours begin with nobody busy and are left out.
        let counted = calls.iter().zip(&outcomes).filter(|(call, _)| {
            (warm_hours as f64 * HOUR_MIN..setting.end_min()).contains(&call.ready_min)
        });
        let (mut all, mut late) = (0.0, 0.0);
        for (call, outcome) in counted {
            all += 1.0;
            let waited = outcome.begun_min.map_or(f64::INFINITY, |begun| begun - call.ready_min);
            late += f64::from(u8::from(waited > target_min));
        }
        tally.add(all, late);
    }
    tally.odds(runs)
}

#[test]
fn where_the_formula_holds_the_simulation_agrees_within_its_interval() {
    // The check values with a shop's numbers of people: load, people, minutes, target.
    for (load, servers, takes_min, target_min) in
        [(2.0, 3, 45.0, 15.0), (4.0, 6, 60.0, 30.0), (1.5, 2, 90.0, 60.0), (10.0, 12, 30.0, 5.0)]
    {
        let odds = late_share(load, servers, takes_min, target_min);
        let servers = u32::try_from(servers).unwrap();
        let formula = erlang::chance_of_waiting_longer(load, servers, takes_min, target_min);
        // Half an interval of slack: four intervals of 95 % are all met only in four of five.
        let slack = (odds.high - odds.low) / 4.0;
        assert!(
            (odds.low - slack..=odds.high + slack).contains(&formula),
            "{formula} is not within {odds:?} for {load} on {servers}"
        );
        assert!(odds.high - odds.low < 0.06, "too wide to say anything: {odds:?}");
    }
}

#[test]
fn one_place_without_a_way_is_as_no_place() {
    let bare = setting(48, people(2, DutyKind::Shift, &["combustion"]));
    let mut demand = saturday(10);
    demand.travel = None;
    let mut placed = bare.clone();
    placed.places = Places::of(vec!["shop".into(), "here".into()], vec![0.0; 4]).unwrap();
    for run in 0..40 {
        let calls = calls(&demand, &[], &mut Chance::of(3, run));
        let to = Some(To { place: 1, factor: 1.0 });
        let there: Vec<Call> = calls.iter().map(|call| Call { to, ..*call }).collect();
        let (one, other) = (play(&bare, &calls, &mut Nobody), play(&placed, &there, &mut Nobody));
        assert_eq!(one, other);
    }
}

#[test]
fn a_place_that_is_too_far_is_named_though_few_call_from_there() {
    let (setting, demand) = two_places();

    let seen = outlook(&setting, &demand, &[], 1, 200);

    let places: Vec<&str> = seen.by_place.iter().map(|place| place.name.as_str()).collect();
    assert_eq!(places, ["Sedge", "Upper Marrow"]);
    let far = &seen.by_place[1];
    assert!((far.odds.calls / seen.by_place[0].odds.calls - 1.0 / 9.0).abs() < 0.03, "{far:?}");
    assert_eq!(far.way_min, 100.0);
    let short: Vec<&Short> = seen.short.iter().filter(|short| short.what == "place").collect();
    assert_eq!(short.len(), 1, "{short:?}");
    assert_eq!(short[0].place.as_deref(), Some("Upper Marrow"));
    let says = &short[0].says;
    assert!(says.starts_with("Upper Marrow is short: 100 min there; about "), "{says}");
    assert!(says.contains("from there would wait too long because of the way"), "{says}");
    assert!((short[0].calls - far.way_late).abs() < 1e-12);
    // All classes together its calls are too few to make a class late.
    assert!(seen.by_class[3].chance < SHORT_FROM, "{:?}", seen.by_class[3]);

    let bytes = |seed| serde_json::to_vec(&outlook(&setting, &demand, &[], seed, 40)).unwrap();
    assert_eq!(bytes(4), bytes(4));
    assert_ne!(bytes(4), bytes(5));
}

#[test]
fn a_place_is_not_short_where_nobody_is_there_to_go_at_all() {
    let (mut setting, demand) = two_places();
    setting.people.clear();
    let seen = outlook(&setting, &demand, &[], 1, 50);
    assert!(seen.by_place.iter().all(|place| place.odds.chance > SHORT_FROM));
    assert!(seen.short.iter().all(|short| short.what == "hours"), "{:?}", seen.short);
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_gives_others() {
    let setting = setting(24, people(2, DutyKind::OnCall, &["combustion"]));
    let bytes =
        |seed| serde_json::to_vec(&outlook(&setting, &saturday(10), &[], seed, 60)).unwrap();
    assert_eq!(bytes(4), bytes(4));
    assert_ne!(bytes(4), bytes(5));
}

#[test]
fn more_people_are_late_less_and_cold_brings_more_load() {
    let of = |count, outdoor_f| {
        let setting = setting(24, people(count, DutyKind::Shift, &super::super::QUALIFICATIONS));
        outlook(&setting, &saturday(outdoor_f), &[], 9, 300)
    };
    let (two, four, mild) = (of(1, 5), of(4, 5), of(1, 60));
    let late = |outlook: &Outlook| outlook.by_class[3].chance;
    assert!(late(&two) > late(&four) + 0.05, "{} {}", late(&two), late(&four));
    assert!(late(&two) > late(&mild), "{} {}", late(&two), late(&mild));
    assert!(two.hours[12].load > mild.hours[12].load);
    assert!(two.hours[12].load > two.hours[12].usual);
    assert!(two.hours.iter().all(|hour| hour.load_low <= hour.load && hour.supply == 1.0));
}

#[test]
fn what_is_short_is_named() {
    let nobody = outlook(&setting(24, Vec::new()), &saturday(5), &[], 1, 50);
    assert_eq!(nobody.short[0].what, "hours");
    assert!(nobody.short[0].says.starts_with("Hours are short: about"), "{:?}", nobody.short[0]);

    let mut demand = saturday(5);
    demand.needs = [[0.0, 0.0, 0.0, 1.0, 0.0]; CLASSES];
    let unqualified = setting(24, people(9, DutyKind::Shift, &["electrical"]));
    let short = outlook(&unqualified, &demand, &[], 1, 50).short;
    assert_eq!(short[0].what, "qualification");
    assert_eq!(short[0].qualification.as_deref(), Some("combustion"));
    assert!(short[0].says.contains("qualified for combustion"), "{:?}", short[0]);

    let mut far = saturday(5);
    far.travel = Some(Lognormal::with_median(300.0, 0.05));
    far.needs = [[1.0, 0.0, 0.0, 0.0, 0.0]; CLASSES];
    let short = outlook(&setting(24, people(40, DutyKind::Shift, &[])), &far, &[], 1, 50).short;
    assert_eq!(short[0].what, "place");
}

#[test]
fn what_waits_already_is_load_from_the_first_hour() {
    let setting = setting(24, people(1, DutyKind::Shift, &[]));
    let waiting = Standing {
        ready_min: -30.0,
        class: Urgency::Water,
        work: Work::Repair,
        needs: Skills::default(),
        expected_min: Some(120.0),
        held_by: None,
        place: None,
    };
    let with = outlook(&setting, &saturday(40), &vec![waiting; 3], 2, 40);
    let without = outlook(&setting, &saturday(40), &[], 2, 40);
    assert!(with.hours[0].load > without.hours[0].load + 2.5);
    assert_eq!(with.by_class[1].calls.round(), without.by_class[1].calls.round() + 3.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn an_interval_holds_its_estimate(count in 0..5usize, outdoor_f in -20..110i32, seed: u64) {
        let setting = setting(24, people(count, DutyKind::OnCall, &["electrical"]));
        let outlook = outlook(&setting, &saturday(outdoor_f), &[], seed, 20);
        for odds in outlook.by_part.iter().flatten().chain(&outlook.by_class) {
            prop_assert!(0.0 <= odds.low && odds.low <= odds.chance);
            prop_assert!(odds.chance <= odds.high && odds.high <= 1.0);
        }
    }
}
