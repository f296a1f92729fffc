//! Conditions that are right, and what is said of those that are not.

use proptest::prelude::*;

use super::super::syntax::{LENGTH_MAX, NESTING_MAX, OPERATORS_MAX};
use super::*;

/// The first fault, as one line.
fn first(text: &str) -> String {
    let faults = Condition::parse(text).expect_err(text);
    let fault = &faults[0];
    format!(
        "{}:{} {}{}",
        fault.line,
        fault.column,
        fault.says,
        fault.suggestion.as_ref().map(|instead| format!(" [{instead}]")).unwrap_or_default()
    )
}

fn holds(text: &str, values: &Values) -> bool {
    Condition::parse(text).unwrap().holds(values).unwrap()
}

fn saturday() -> Values {
    Values {
        weekend: true,
        day: "saturday".into(),
        hour: 17,
        outdoor_f: 8,
        open_jobs: [0, 1, 0, 3, 4],
        urgent_unassigned: 2,
        hours_left: 6.5,
        chance_late: [0.05, 0.0, 0.0, 0.3, 0.0],
        ..Values::default()
    }
}

#[test]
fn conditions_hold_or_not() {
    for (text, expected) in [
        ("weekend", true),
        ("weekend && !holiday", true),
        ("day in [\"saturday\", \"sunday\"] && hour >= 17", true),
        ("hour in [17, 18]", true),
        ("day == 'sunday'", false),
        ("open_jobs.all == 8 && open_jobs.comfort > open_jobs.no_heat_cool", true),
        ("chance_late.no_heat_cool > 0.25 || outdoor_f < 0", true),
        // Whole numbers and fractions may be compared, though not reckoned with together.
        ("hours_left > 6 && hours_left < 7", true),
        ("double(open_jobs.all) / 2.0 > hours_left", false),
        ("(weekend ? on_call_left : on_duty) == 0", true),
        ("-outdoor_f > -10", true),
        ("open_jobs.comfort % 2 == 0", true),
    ] {
        assert_eq!(holds(text, &saturday()), expected, "{text}");
    }
}

#[test]
fn a_wrong_name_is_placed_and_the_right_one_suggested() {
    assert_eq!(
        first("weekend &&\n  on_cal_left == 0"),
        "2:3 on_cal_left is not known; did you mean on_call_left? [on_call_left]"
    );
    assert_eq!(
        first("open_jobs.no_heat > 2"),
        "1:1 open_jobs.no_heat is not known; did you mean open_jobs.no_heat_cool? \
         [open_jobs.no_heat_cool]"
    );
    assert_eq!(
        first("chance_late > 0.2"),
        "1:1 chance_late is by class; say which, like chance_late.no_heat_cool. \
         [chance_late.no_heat_cool]"
    );
    assert_eq!(first("zzz > 0"), "1:1 zzz is not known; what there is stands beside the field.");
    assert_eq!(
        first("day == \"Saterday\""),
        "1:8 \"Saterday\" is not a day; did you mean \"saturday\"? [\"saturday\"]"
    );
}

#[test]
fn what_does_not_fit_is_told_with_its_place() {
    for (text, expected) in [
        (
            "hour",
            "1:1 The whole condition must be yes or no, and this is a whole number; compare it \
             with something.",
        ),
        (
            "weekend && hour",
            "1:12 && takes yes or no, and this is a whole number; compare it with something.",
        ),
        ("weekend > 2", "1:1 > compares numbers, and this is yes or no."),
        (
            "hour == \"five\"",
            "1:1 == compares things of one kind, and these are a whole number and a word.",
        ),
        (
            "hours_left + hour > 2.0",
            "1:14 + needs two whole numbers or two with a fraction; write 2.0 for 2, or double(…) \
             around a name.",
        ),
        ("hour.small > 2", "1:1 There is nothing to choose from with a dot here."),
        (
            "[1, 2].exists(x, x == hour)",
            "1:1 Going through a list is not offered here; name what you mean.",
        ),
        (
            "size(day) > 2",
            "1:1 size is not offered here; there are comparisons, &&, ||, !, in, and + - * / %.",
        ),
        ("hour > 2u", "1:8 Leave the u away: whole numbers are written like 3."),
        ("null == null", "1:1 This does not belong in a condition."),
    ] {
        // A function's own place is its bracket; the rest begins where it is written.
        let found = first(text);
        let (place, says) = expected.split_once(' ').unwrap();
        assert!(found.ends_with(says), "{text}: {found}");
        if !text.contains('(') {
            assert!(found.starts_with(&format!("{place} ")), "{text}: {found}");
        }
    }
    let all = Condition::parse("on_cal_left > 0 && hours_lef > 2.0").unwrap_err();
    assert_eq!(all.len(), 2, "{all:?}");
}

#[test]
fn what_cannot_be_read_is_told_in_our_words() {
    for (text, expected) in [
        ("", "1:1 A rule needs a condition, like \"urgent_unassigned > 0\"."),
        ("hour = 5", "1:6 One = is not a comparison; == asks whether two things are equal. [==]"),
        ("weekend and holiday", "1:9 \"and\" is written && here. [&&]"),
        ("not weekend", "1:1 \"not\" is written ! here. [!]"),
        ("hour ≥ 5", "1:6 '≥' cannot stand in a condition; only plain characters can. [>=]"),
        ("hour >", "1:7 The condition stops in the middle; something is missing here."),
        ("(weekend", "1:9 The condition stops in the middle; something is missing here."),
        ("hour > 2 )", "1:10 \")\" does not fit here."),
    ] {
        assert_eq!(first(text), expected, "{text}");
    }
}

#[test]
fn what_is_too_long_or_too_deep_is_refused_before_it_is_read() {
    let long = format!("hour > {}", "1".repeat(LENGTH_MAX));
    assert!(first(&long).contains("at most 600 are read"));
    let deep = format!("{}weekend{}", "(".repeat(NESTING_MAX + 1), ")".repeat(NESTING_MAX + 1));
    assert!(first(&deep).contains("More than 12 brackets"));
    let many = format!("hour{} > 1", "+1".repeat(OPERATORS_MAX));
    assert!(first(&many).contains("More than 80 operators"));
}

#[test]
fn the_deepest_that_is_allowed_is_read_on_a_small_stack() {
    let brackets = format!("{}weekend{}", "(".repeat(NESTING_MAX), ")".repeat(NESTING_MAX));
    let nots = format!("{}weekend", "!(".repeat(NESTING_MAX)) + &")".repeat(NESTING_MAX);
    let minuses = format!("{}hour == 0", "- ".repeat(OPERATORS_MAX - 1));
    let sums = format!("hour{} > 1", "+1".repeat(OPERATORS_MAX - 1));
    let ands = format!("weekend{}", " && weekend".repeat(OPERATORS_MAX / 2));
    let choices = format!("{}weekend", "true?false:".repeat(OPERATORS_MAX / 2 - 1));
    let mixed = format!("{}hour{} > 0", "(1+".repeat(NESTING_MAX), ")".repeat(NESTING_MAX));
    // As much as a thread of the service has.
    let read = move || {
        for text in [brackets, nots, sums, ands, choices, mixed] {
            let condition =
                Condition::parse(&text).unwrap_or_else(|faults| panic!("{text}: {faults:?}"));
            condition.holds(&saturday()).unwrap();
        }
        // Whatever the reader says of this one, it must not fall over.
        drop(Condition::parse(&minuses));
    };
    std::thread::Builder::new().stack_size(2 << 20).spawn(read).unwrap().join().unwrap();
}

#[test]
fn a_condition_says_what_it_looks_at() {
    let condition = Condition::parse("weekend && open_jobs.water > 0 && weekend").unwrap();
    assert_eq!(condition.uses().iter().collect::<Vec<_>>(), ["open_jobs.water", "weekend"]);
    let untold = Condition::parse("hour / on_duty > 2").unwrap().holds(&saturday()).unwrap_err();
    assert!(untold.starts_with("It could not be told: "), "{untold}");
}

/// Pieces of conditions, right and wrong, put together by chance.
fn pieces() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "weekend",
        "hour",
        "hours_left",
        "open_jobs.water",
        "chance_late",
        "day",
        "\"monday\"",
        "&&",
        "||",
        "!",
        "(",
        ")",
        "[",
        "]",
        "==",
        ">",
        "+",
        "-",
        "%",
        "?",
        ":",
        "in",
        "1",
        "2.5",
        ".",
        ",",
        "\"",
        "nonsense",
        "size(",
        "true",
        "\n",
        "=",
    ]);
    prop::collection::vec(piece, 0..24).prop_map(|pieces| pieces.join(" "))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn whatever_is_accepted_can_be_told_and_whatever_is_refused_has_a_place(text in pieces()) {
        match Condition::parse(&text) {
            // A number too large or a division by zero is the only way left to fail.
            Ok(condition) => {
                if let Err(error) = condition.holds(&saturday()) {
                    prop_assert!(error.contains("zero") || error.contains("verflow"), "{text}: {error}");
                }
            }
            Err(faults) => {
                prop_assert!(!faults.is_empty());
                let lines = text.lines().count().max(1) + 1;
                for fault in faults {
                    prop_assert!(fault.line >= 1 && fault.line <= lines, "{fault}");
                    prop_assert!(fault.column >= 1, "{fault}");
                }
            }
        }
    }
}
