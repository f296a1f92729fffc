//! What a rule would have done, on a night small enough to follow.

use super::papers::{Kind, MayAnswer, Paper};
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
    let tried = Tried { condition: &condition, actions, rearm_min: 30 };
    rehearse(setting, calls, tried, &backdrop(), None)
}

fn played(condition: &str, action: Action, papers: &Papers) -> Answer {
    let condition = Condition::parse(condition).unwrap();
    let actions = [action];
    let tried = Tried { condition: &condition, actions: &actions, rearm_min: 600 };
    let setting = setting(on_call(1, DutyKind::OnCall));
    rehearse(&setting, &[], tried, &backdrop(), Some(papers))
}

fn may(id: &str, asked_min: Option<f64>, mean_min: f64) -> MayAnswer {
    MayAnswer { id: id.to_owned(), asked_min, mean_min }
}

fn read(until_min: Option<f64>, may: Vec<MayAnswer>) -> Paper {
    Paper { kind: Kind::Read, from_min: 100.0, until_min, amount_cents: 0, may }
}

fn approval(from_min: f64, amount_cents: i64) -> Paper {
    let may = vec![may("dan", None, 20.0)];
    Paper { kind: Kind::Approval, from_min, until_min: Some(from_min + 400.0), amount_cents, may }
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
    assert!(!asks.actions[0].played && asks.actions[0].says.contains("no second reads"));
}

#[test]
fn asking_everybody_is_answered_by_the_soonest_of_those_not_asked_before() {
    let condition = "read_waiting_min >= 15";
    let widen = || Action::WidenReaders {};
    // Two who answer after 20 minutes each: the first of them after 10, half the time after 6.9.
    let two = vec![may("ana", Some(100.0), 1.0), may("ben", None, 20.0), may("eva", None, 20.0)];
    let papers =
        |until_min| Papers { all: vec![read(until_min, two.clone())], ..Papers::default() };

    let slow = played(condition, widen(), &papers(Some(200.0)));

    // Seen at the look at 120.
    assert_eq!(slow.fired.len(), 1);
    assert_eq!(slow.fired[0].values.read_waiting_min, 20);
    assert_eq!(slow.without.longest_read_min, 100.0);
    assert!((slow.with.longest_read_min - (20.0 + 10.0 * 2.0_f64.ln())).abs() < 1e-9);
    assert!(
        slow.says.contains("the longest wait for a second read 27 min instead of 1 h 40"),
        "{}",
        slow.says
    );
    assert!(slow.actions[0].played && slow.actions[0].says.starts_with("Played on 1 second read:"));

    // Whoever answered sooner anyway did.
    assert_eq!(played(condition, widen(), &papers(Some(122.0))).with.longest_read_min, 22.0);
    // Never answered: to the end of the span without the rule.
    assert_eq!(played(condition, widen(), &papers(None)).without.longest_read_min, 620.0);
    // Somebody whom the ladder asks later is asked now; who was asked already is not again.
    let later = Papers {
        all: vec![read(
            Some(300.0),
            vec![may("ben", Some(250.0), 10.0), may("ana", Some(101.0), 1.0)],
        )],
        ..Papers::default()
    };
    let with = played(condition, widen(), &later).with.longest_read_min;
    assert!((with - (20.0 + 10.0 * 2.0_f64.ln())).abs() < 1e-9, "{with}");

    let offered = played(condition, Action::OfferRemoteRead {}, &papers(Some(200.0)));
    assert_eq!(offered.with.longest_read_min, offered.without.longest_read_min);
    assert!(offered.actions[0].says.starts_with("Only counted: how much sooner"));
}

#[test]
fn a_delegate_answers_what_is_below_their_amount_and_within_their_hours() {
    let delegate = |person_id: Option<&str>| Action::DelegateApprovals {
        person_id: person_id.map(ToOwned::to_owned),
        up_to_cents: 100_000,
        hours: 3,
    };
    let condition = "approval_waiting_min >= 45";
    let papers = |all| Papers { all, delegate_after_min: Some(60.0) };
    let longest = |all: Vec<Paper>| {
        played(condition, delegate(Some("dan")), &papers(all)).with.longest_approval_min
    };
    let middle = 20.0 * 2.0_f64.ln();

    // Waits since 0, seen at 45.
    assert!((longest(vec![approval(0.0, 90_000)]) - (45.0 + middle)).abs() < 1e-9);
    assert_eq!(longest(vec![approval(0.0, 100_000)]), 400.0, "only below the amount");
    // One that comes while the delegate stands reaches them by its ladder.
    let both = longest(vec![approval(0.0, 10_000), approval(60.0, 10_000)]);
    assert!((both - (60.0 + middle)).abs() < 1e-9, "{both}");
    // Until 225 they stand: what its ladder would bring them at 226 is too late.
    let late = |from_min| longest(vec![approval(0.0, 10_000), approval(from_min, 10_000)]);
    assert!((late(164.0) - (60.0 + middle)).abs() < 1e-9, "{}", late(164.0));
    assert_eq!(late(166.0), 400.0);

    let unnamed = played(condition, delegate(None), &papers(vec![approval(0.0, 90_000)]));
    assert_eq!(unnamed.with.longest_approval_min, 400.0);
    assert!(unnamed.actions[0].says.starts_with("Only counted: nobody is named yet"));
    let none = played(condition, delegate(Some("dan")), &papers(Vec::new()));
    assert!(none.actions[0].says.starts_with("Only counted: no approval waited"));
}

#[test]
fn every_action_is_said_to_be_played_or_counted() {
    let setting = setting(on_call(1, DutyKind::OnCall));
    let actions: Vec<Action> =
        crate::rules::starting::starting().into_iter().flat_map(|rule| rule.actions).collect();
    let answer = answer(&setting, &[], "weekend", &actions);
    let said: Vec<&str> = answer.actions.iter().map(|played| played.action).collect();
    assert_eq!(said, actions.iter().map(Action::id).collect::<Vec<_>>());
    for played in answer.actions {
        let begins = if played.played { "Played: " } else { "Only counted: " };
        assert!(played.says.starts_with(begins) && played.says.ends_with('.'), "{played:?}");
    }
}
