//! What a played span keeps to, by small ones worked out by hand.

use super::*;
use crate::capacity::places::{Places, To, WITHIN_MIN};
use crate::capacity::{Duty, Person, Skills, Tolerable, Work};
use crate::plan::RestRule;

const NO_REST: RestRule = RestRule { rest_min: 0, duty_max_min: 1_000_000 };

fn person(kind: DutyKind, skills: &[&str]) -> Person {
    Person {
        skills: Skills::of(skills),
        duties: vec![Duty { kind, start_min: 0.0, end_min: 10_000.0 }],
        busy_until_min: 0.0,
        run_start_min: None,
        place: SHOP,
    }
}

fn setting(people: Vec<Person>) -> Setting {
    Setting {
        hours: 24,
        people,
        tolerable: Tolerable::default(),
        rest: NO_REST,
        called_when_late: false,
        places: Places::default(),
    }
}

fn call(ready_min: f64, class: Urgency, takes_min: f64) -> Call {
    Call {
        ready_min,
        class,
        work: Work::Diagnosis,
        needs: Skills::default(),
        travel_min: 0.0,
        takes_min,
        held_by: None,
        to: None,
    }
}

fn begun(outcomes: &[Outcome]) -> Vec<f64> {
    outcomes.iter().map(|outcome| outcome.begun_min.unwrap_or(f64::NAN)).collect()
}

#[test]
fn the_pressing_call_goes_first_but_nobody_is_called_away() {
    let setting = setting(vec![person(DutyKind::Shift, &[])]);
    let calls = [
        call(0.0, Urgency::Comfort, 100.0),
        call(10.0, Urgency::Comfort, 10.0),
        call(20.0, Urgency::Water, 30.0),
    ];
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [0.0, 130.0, 100.0]);
}

#[test]
fn whoever_can_do_least_else_goes() {
    let both = vec![
        person(DutyKind::Shift, &["combustion", "electrical"]),
        person(DutyKind::Shift, &["combustion"]),
    ];
    let mut calls = [call(0.0, Urgency::Water, 500.0), call(1.0, Urgency::Water, 10.0)];
    calls[0].needs = Skills::of(&["combustion"]);
    calls[1].needs = Skills::of(&["electrical"]);
    assert_eq!(begun(&play(&setting(both), &calls, &mut Nobody)), [0.0, 1.0]);
}

#[test]
fn lateness_is_put_down_to_hours_a_qualification_or_the_way() {
    let mut calls = vec![
        call(0.0, Urgency::Water, 400.0),
        call(1.0, Urgency::Water, 10.0),
        call(2.0, Urgency::Water, 10.0),
    ];
    let late = play(&setting(vec![person(DutyKind::Shift, &[])]), &calls, &mut Nobody);
    assert_eq!(late[1].late, Some(Cause::Hours));
    assert_eq!(late[0].late, None);

    calls.truncate(1);
    calls[0].needs = Skills::of(&["combustion"]);
    let late = play(&setting(vec![person(DutyKind::Shift, &[])]), &calls, &mut Nobody);
    assert_eq!(late[0], Outcome { late: Some(Cause::Qualification(2)), ..Outcome::default() });

    calls[0].needs = Skills::default();
    calls[0].travel_min = 130.0;
    let late = play(&setting(vec![person(DutyKind::Shift, &[])]), &calls, &mut Nobody);
    assert_eq!(late[0].late, Some(Cause::Place(None)));
}

/// The shop, one place near it and one far from both.
fn places() -> Places {
    let names = ["shop", "Sedge", "Upper Marrow"].map(ToOwned::to_owned).to_vec();
    let ways = vec![0.0, 10.0, 48.0, 10.0, WITHIN_MIN, 50.0, 48.0, 50.0, WITHIN_MIN];
    Places::of(names, ways).unwrap()
}

fn call_to(place: usize, ready_min: f64, takes_min: f64) -> Call {
    let to = Some(To { place, factor: 1.0 });
    Call { to, ..call(ready_min, Urgency::NoHeatVulnerable, takes_min) }
}

#[test]
fn people_drive_from_where_they_are_and_from_the_shop_once_they_are_back() {
    let mut setting = setting(vec![person(DutyKind::Shift, &[])]);
    setting.places = places();
    let calls = [call_to(2, 0.0, 30.0), call_to(2, 5.0, 30.0), call_to(2, 300.0, 30.0)];
    // 48 there; 8 to the next house; back at the shop after an hour, so 48 again.
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [48.0, 86.0, 348.0]);

    let slow = To { place: 2, factor: 1.5 };
    let calls = [Call { to: Some(slow), ..calls[0] }];
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [72.0]);
    // Whoever is there at the start need not drive there.
    setting.people[0].place = 2;
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [12.0]);
    // A place that nobody knows takes the way drawn for the call.
    let lost = Call { to: Some(To { place: 9, factor: 3.0 }), travel_min: 21.0, ..calls[0] };
    assert_eq!(begun(&play(&setting, &[lost], &mut Nobody)), [21.0]);
}

#[test]
fn whoever_is_nearest_goes_unless_they_are_wanted_elsewhere() {
    let mut setting = setting(vec![person(DutyKind::Shift, &[]), person(DutyKind::Shift, &[])]);
    setting.places = places();
    setting.people[1].place = 2;
    let calls = [call_to(2, 0.0, 30.0)];
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [WITHIN_MIN]);
    setting.people[1].skills = Skills::of(&["electrical"]);
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [48.0]);
}

#[test]
fn a_place_is_short_only_where_somebody_there_would_have_been_in_time() {
    let mut setting = setting(vec![person(DutyKind::Shift, &[])]);
    setting.places = places();
    let late = |setting: &Setting, first_takes_min| {
        let calls = [call_to(1, 0.0, first_takes_min), call_to(2, 1.0, 10.0)];
        play(setting, &calls, &mut Nobody)[1].late
    };
    // May wait 90: sent at 61 it begins at 111, and somebody in Upper Marrow would at 69.
    assert_eq!(late(&setting, 51.0), Some(Cause::Place(Some(2))));
    // Sent at 90: even 8 more minutes are too many, so it is hours that are short.
    assert_eq!(late(&setting, 80.0), Some(Cause::Hours));
    assert_eq!(late(&setting, 20.0), None);
    setting.tolerable.0[0] = 40.0;
    assert_eq!(late(&setting, 0.0), Some(Cause::Place(Some(2))));
}

#[test]
fn the_next_on_call_comes_only_when_called() {
    let two = || vec![person(DutyKind::OnCall, &[]), person(DutyKind::OnCall, &[])];
    let calls = [call(0.0, Urgency::Water, 600.0), call(1.0, Urgency::Water, 10.0)];
    assert_eq!(begun(&play(&setting(two()), &calls, &mut Nobody)), [0.0, 600.0]);

    // By hand, at the first look after the call has waited 120 minutes.
    let by_hand = Setting { called_when_late: true, ..setting(two()) };
    assert_eq!(begun(&play(&by_hand, &calls, &mut Nobody)), [0.0, 135.0]);

    struct Rule;
    impl Watch for Rule {
        fn look(&mut self, seen: &Seen) -> Vec<Lever> {
            assert_eq!(seen.on_duty + seen.on_call_left, 2);
            if seen.urgent_waiting() > 0 { vec![Lever::CallOutNext] } else { Vec::new() }
        }
    }
    assert_eq!(begun(&play(&setting(two()), &calls, &mut Rule)), [0.0, 15.0]);
}

#[test]
fn the_second_rota_waits_until_it_is_opened() {
    struct Open;
    impl Watch for Open {
        fn look(&mut self, seen: &Seen) -> Vec<Lever> {
            if seen.at_min >= 60.0 { vec![Lever::OpenSecond] } else { Vec::new() }
        }
    }
    let setting = setting(vec![person(DutyKind::Second, &[])]);
    let calls = [call(0.0, Urgency::Water, 10.0)];
    assert_eq!(play(&setting, &calls, &mut Nobody)[0].begun_min, None);
    assert_eq!(play(&setting, &calls, &mut Open)[0].begun_min, Some(60.0));
}

#[test]
fn what_is_put_off_comes_back_on_its_day_and_is_not_late() {
    struct Defer;
    impl Watch for Defer {
        fn look(&mut self, seen: &Seen) -> Vec<Lever> {
            let first = seen.at_min == 0.0;
            let defer = Lever::DeferComfort { until_min: 1_200.0, at_most: 5 };
            if first { vec![defer] } else { Vec::new() }
        }
    }
    let mut setting = setting(vec![person(DutyKind::Shift, &[])]);
    setting.tolerable.0[CLASSES - 1] = 60.0;
    let calls = [call(-90.0, Urgency::Water, 300.0), call(-80.0, Urgency::Comfort, 10.0)];
    let outcomes = play(&setting, &calls, &mut Defer);
    assert_eq!(outcomes[1], Outcome { begun_min: Some(1_200.0), deferred: true, late: None });
}

#[test]
fn somebody_whose_rest_is_due_is_not_sent() {
    let rest = RestRule { rest_min: 600, duty_max_min: 300 };
    let setting = Setting { rest, ..setting(vec![person(DutyKind::Shift, &[])]) };
    let calls = [call(0.0, Urgency::Water, 260.0), call(10.0, Urgency::Water, 10.0)];
    // Free at 260, but with less than an hour to the rest; rested at 860, seen at the next look.
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [0.0, 870.0]);
}

#[test]
fn what_somebody_has_already_is_theirs_alone() {
    let setting = setting(vec![person(DutyKind::Shift, &[]), person(DutyKind::Shift, &[])]);
    let mut calls = [call(0.0, Urgency::Water, 50.0), call(1.0, Urgency::Water, 10.0)];
    calls[0].held_by = Some(1);
    calls[1].held_by = Some(1);
    assert_eq!(begun(&play(&setting, &calls, &mut Nobody)), [0.0, 50.0]);
}
