//! What a rule would have done, on a night small enough to follow.

use super::*;
use crate::capacity::places::Places;
use crate::capacity::{Duty, DutyKind, Person, Skills, Tolerable, Work};
use crate::plan::RestRule;

fn on_call(count: usize, kind: DutyKind) -> Vec<Person> {
    let duties = vec![Duty { kind, start_min: 0.0, end_min: 10_000.0 }];
    let one = Person {
        skills: Skills::default(),
        duties,
        busy_until_min: 0.0,
        run_start_min: None,
        place: 0,
    };
    vec![one; count]
}

fn setting(people: Vec<Person>) -> Setting {
    Setting {
        hours: 12,
        people,
        tolerable: Tolerable::default(),
        rest: RestRule { rest_min: 0, duty_max_min: 1_000_000 },
        called_when_late: true,
        places: Places::default(),
    }
}

fn call(ready_min: f64, class: Urgency, takes_min: f64) -> Call {
    Call {
        ready_min,
        class,
        work: Work::Diagnosis,
        needs: Skills::default(),
        travel_min: 10.0,
        takes_min,
        held_by: None,
        to: None,
    }
}

fn backdrop() -> Backdrop {
    let saturday = Values { weekend: true, day: "saturday".into(), ..Values::default() };
    Backdrop {
        start: DateTime::from_timestamp(1_795_000_000, 0).unwrap(),
        hours: vec![saturday],
        next_open_min: vec![2_000.0],
    }
}

fn answer(setting: &Setting, calls: &[Call], condition: &str, actions: &[Action]) -> Answer {
    let condition = Condition::parse(condition).unwrap();
    rehearse(setting, calls, Tried { condition: &condition, actions, rearm_min: 30 }, &backdrop())
}

#[test]
fn calling_out_earlier_shortens_the_wait_and_the_answer_says_so() {
    let setting = setting(on_call(2, DutyKind::OnCall));
    let calls = [call(0.0, Urgency::NoHeatCool, 600.0), call(5.0, Urgency::NoHeatCool, 60.0)];

    let answer = answer(
        &setting,
        &calls,
        "urgent_unassigned > 0 && longest_wait_min >= 20 && on_call_left > 0",
        &[Action::CallOutNext {}],
    );

    assert_eq!(answer.fired.len(), 1);
    assert_eq!(answer.fired[0].values.urgent_unassigned, 1);
    // By hand after four hours, at a look; by the rule at the first look after 25 minutes.
    assert_eq!(
        answer.says,
        "Would have fired once; longest urgent wait 35 min instead of 4 h 20; \
        0 urgent calls late instead of 1."
    );
}

#[test]
fn calls_put_off_are_counted_and_come_after_the_span() {
    let setting = setting(on_call(1, DutyKind::OnCall));
    let calls = [
        call(0.0, Urgency::NoHeatCool, 50.0),
        call(1.0, Urgency::Comfort, 240.0),
        call(2.0, Urgency::Comfort, 240.0),
        call(61.0, Urgency::Water, 30.0),
    ];
    let defer = |at_most| [Action::DeferComfort { holdover: "Space heater".into(), at_most }];

    let both = answer(&setting, &calls, "weekend && open_jobs.comfort > 0", &defer(10));
    assert_eq!(both.with.put_off, 2);
    assert!(both.says.starts_with("Would have fired once; 2 calls deferred; "), "{}", both.says);
    assert!(both.with.longest_urgent_min < both.without.longest_urgent_min);

    let one = answer(&setting, &calls, "weekend && open_jobs.comfort > 0", &defer(1));
    assert_eq!(one.with.put_off, 1);
}

#[test]
fn a_rule_that_never_holds_says_so_and_one_that_cannot_be_told_too() {
    let setting = setting(on_call(1, DutyKind::OnCall));
    let calls = [call(0.0, Urgency::Water, 50.0)];
    let never = answer(&setting, &calls, "holiday", &[Action::WidenReaders {}]);
    assert_eq!(
        never.says,
        "Would not have fired. 1 calls came; the longest urgent wait was 10 min."
    );
    let untold = answer(&setting, &calls, "10 / reads_waiting > 1", &[Action::WidenReaders {}]);
    assert!(untold.untold.is_some_and(|why| why.contains("ero")), "{:?}", untold.says);
    let asks = answer(&setting, &calls, "weekend", &[Action::WidenReaders {}]);
    assert!(asks.says.ends_with("is not simulated."), "{}", asks.says);
}
