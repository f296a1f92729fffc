//! Inputs that nobody meant: mutated circuit files and cases never panic, and what is wrong with
//! them is told with its place.

use engine::case::{Case, Reading, Shown};
use engine::circuit_file::{parse, shipped};
use engine::units::{Quantity, Unit};
use engine::verdict::Verdict;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::{compressor, judged, share, three_pins};

/// What a number, a word or a line is replaced with.
const ODD: [&str; 16] = [
    "nan",
    "inf",
    "-inf",
    "-1",
    "0",
    "1e308",
    "1e-308",
    "9223372036854775807",
    "\"\"",
    "\"NOWHERE\"",
    "[]",
    "[[]]",
    "true",
    "\"\\u0000\"",
    "{}",
    "1e",
];

/// How a text is spoilt.
#[derive(Clone, Debug)]
enum Spoil {
    /// A line left out, said twice, or moved behind another.
    Drop(usize),
    Twice(usize),
    Swap(usize, usize),
    /// The value of a line's assignment replaced.
    Value(usize, usize),
    /// The text cut off.
    Cut(usize),
    /// A character put in.
    Put(usize, char),
}

fn spoils() -> impl Strategy<Value = Spoil> {
    prop_oneof![
        1 => any::<usize>().prop_map(Spoil::Drop),
        1 => any::<usize>().prop_map(Spoil::Twice),
        1 => (any::<usize>(), any::<usize>()).prop_map(|(a, b)| Spoil::Swap(a, b)),
        4 => (any::<usize>(), 0..ODD.len()).prop_map(|(line, odd)| Spoil::Value(line, odd)),
        1 => any::<usize>().prop_map(Spoil::Cut),
        1 => (any::<usize>(), any::<char>()).prop_map(|(at, put)| Spoil::Put(at, put)),
    ]
}

fn spoilt(text: &str, spoils: &[Spoil]) -> String {
    let mut text = text.to_owned();
    for spoil in spoils {
        let mut lines: Vec<&str> = text.lines().collect();
        let count = lines.len().max(1);
        let boundary = |at: usize| {
            (0..=at % (text.len() + 1)).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0)
        };
        text = match *spoil {
            _ if text.is_empty() => return text,
            Spoil::Drop(line) => {
                lines.remove(line % count);
                lines.join("\n")
            }
            Spoil::Twice(line) => {
                lines.insert(line % count, lines[line % count]);
                lines.join("\n")
            }
            Spoil::Swap(a, b) => {
                lines.swap(a % count, b % count);
                lines.join("\n")
            }
            Spoil::Value(line, odd) => {
                // The next line from there that assigns something.
                let place = (0..count)
                    .map(|step| (line % count + step) % count)
                    .find(|&place| lines[place].contains(" = "));
                let Some(place) = place else { return text };
                let (key, _) = lines[place].split_once(" = ").expect("it was just found");
                let line = format!("{key} = {}", ODD[odd]);
                let mut lines: Vec<String> = lines.into_iter().map(str::to_owned).collect();
                lines[place] = line;
                lines.join("\n")
            }
            Spoil::Cut(at) => text[..boundary(at)].to_owned(),
            Spoil::Put(at, put) => {
                let at = boundary(at);
                format!("{}{put}{}", &text[..at], &text[at..])
            }
        };
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 160, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_spoilt_circuit_file_is_refused_with_file_and_line_or_still_judges(
        known in 0..shipped().len(),
        spoils in prop::collection::vec(spoils(), 1..4),
    ) {
        let text = spoilt(shipped()[known].text, &spoils);
        let lines = text.lines().count() + 1;
        match parse("mine.toml", &text) {
            Err(problems) => {
                prop_assert!(!problems.problems.is_empty());
                for problem in problems.problems {
                    prop_assert!(!problem.says.trim().is_empty());
                    let line = problem.at.strip_prefix("mine.toml:").and_then(|line| line.parse::<usize>().ok());
                    // What is wrong with the file as a whole stands on no line of it.
                    prop_assert!(
                        problem.at == "mine.toml" || line.is_some_and(|line| (1..=lines).contains(&line)),
                        "{:?} of {lines} lines: {}", problem.at, problem.says
                    );
                }
            }
            Ok(circuit) => {
                let case: Case = serde_json::from_value(
                    json!({"format": 1, "circuit": circuit.name, "circuit_text": text}),
                ).expect("the shape of a case");
                // A file that is still a circuit is judged: shares add up, nothing panics.
                if let Ok(verdict) = engine::check(&case) {
                    whole(&verdict)?;
                }
            }
        }
    }
}

fn whole(verdict: &Verdict) -> Result<(), TestCaseError> {
    let sum: f64 = verdict.components.iter().map(|share| share.share).sum();
    prop_assert!((sum - 1.0).abs() < 1e-4, "{sum}: {}", verdict.sentence);
    Ok(())
}

/// Every place of a document, by pointer.
fn places(value: &Value, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Array(all) => {
            all.iter()
                .enumerate()
                .for_each(|(index, one)| places(one, &format!("{at}/{index}"), found));
        }
        Value::Object(fields) => {
            fields.iter().for_each(|(name, one)| places(one, &format!("{at}/{name}"), found));
        }
        _ => {}
    }
}

fn odd_values() -> Vec<Value> {
    vec![
        json!(null),
        json!(-1),
        json!(0),
        json!(1e308),
        json!(-1e308),
        json!(1e-320),
        json!(u64::MAX),
        json!(""),
        json!("NOWHERE"),
        json!("\u{0}"),
        json!([]),
        json!({}),
        json!(true),
        json!("r1"),
        json!("T1"),
        json!({"is": "value", "value": 1e300, "unit": "megohm"}),
        json!("energised"),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_spoilt_case_is_refused_with_a_pointer_or_judged(
        claimed in any::<bool>(),
        changes in prop::collection::vec((any::<usize>(), any::<usize>(), any::<bool>()), 1..4),
    ) {
        let claim = claimed.then(|| crate::support::claim("compressor", "run_winding", "open"));
        let case = compressor(claim, three_pins([0.5, 1.3, 1.8], 25.0));
        let mut case = serde_json::to_value(case).expect("a case is JSON");
        for (at, odd, drop) in changes {
            let mut found = Vec::new();
            places(&case, "", &mut found);
            let pointer = &found[at % found.len()];
            let values = odd_values();
            let Some(place) = case.pointer_mut(pointer) else { continue };
            match place {
                Value::Array(all) if drop && !all.is_empty() => { all.remove(odd % all.len()); }
                Value::Object(fields) if drop && !fields.is_empty() => {
                    let name = fields.keys().nth(odd % fields.len()).cloned().expect("it has fields");
                    fields.remove(&name);
                }
                place => *place = values[odd % values.len()].clone(),
            }
        }
        let judged = engine::validate::case_from_json(&case.to_string())
            .and_then(|case| engine::check(&case));
        match judged {
            Ok(verdict) => whole(&verdict)?,
            Err(problems) => {
                prop_assert!(!problems.problems.is_empty());
                for problem in problems.problems {
                    prop_assert!(!problem.says.trim().is_empty());
                    prop_assert!(
                        problem.at.is_empty() || problem.at.starts_with('/'),
                        "{:?}: {}", problem.at, problem.says
                    );
                }
            }
        }
    }

    #[test]
    fn text_that_is_hardly_a_case_never_panics(text in ".{0,400}") {
        prop_assert!(engine::validate::case_from_json(&text).is_err());
        prop_assert!(parse("mine.toml", &text).is_err());
    }

    #[test]
    fn a_value_said_in_another_unit_is_the_same_both_ways(value in 1e-3f64..1e9) {
        for quantity in [Quantity::Resistance, Quantity::Insulation] {
            for &one in quantity.units() {
                for &other in quantity.units() {
                    let there = value * one.to_base() / other.to_base();
                    let back = there * other.to_base() / one.to_base();
                    prop_assert!((back / value - 1.0).abs() < 1e-12, "{one:?} {other:?}");
                }
            }
        }
    }
}

/// A case with something to weigh in every family of code: pins, insulation, a sign.
fn busy() -> Case {
    let mut case = compressor(
        Some(crate::support::claim("compressor", "run_winding", "open")),
        three_pins([0.5, 1.3, 1.8], 60.0),
    );
    case.readings[0].shown = Shown::OverLimit;
    case
}

#[test]
fn the_same_bytes_come_out_in_every_thread() {
    let expected = serde_json::to_string(&judged(&busy())).expect("a verdict is JSON");
    let plan = engine::plan_of_tests(&busy()).expect("a valid case");
    let plan = serde_json::to_string(&plan).expect("a plan is JSON");
    let threads: Vec<_> = (0..8)
        .map(|_| {
            std::thread::spawn(|| {
                let verdict = serde_json::to_string(&judged(&busy())).expect("a verdict is JSON");
                let plan = engine::plan_of_tests(&busy()).expect("a valid case");
                (verdict, serde_json::to_string(&plan).expect("a plan is JSON"))
            })
        })
        .collect();
    for thread in threads {
        let (of_thread, plan_of_thread) = thread.join().expect("no thread panics");
        assert_eq!(of_thread, expected);
        assert_eq!(plan_of_thread, plan);
    }
}

/// The share of what is true, over readings that are true of it, never falls on average.
#[test]
fn a_true_reading_never_makes_the_truth_less_likely_on_average() {
    let known =
        shipped().iter().find(|known| known.name == "compressor-1ph-plug").expect("it ships");
    let circuit = parse(known.name, known.text).expect("it is valid");
    let (mut before_all, mut after_all, mut count) = (0.0, 0.0, 0);
    for fault in engine::survey::faults(&circuit) {
        let component = &fault.component;
        let mut readings: Vec<Reading> = Vec::new();
        let mut before = share(&judged(&compressor(None, Vec::new())), component);
        for pins in [["C", "R"], ["C", "S"], ["S", "R"]] {
            let planned = engine::verdict::PlannedReading {
                quantity: Quantity::Resistance,
                from: pins[0].into(),
                to: pins[1].into(),
                lifted: vec!["plug".into()],
                state: None,
                low_impedance: false,
                label: String::new(),
            };
            let Some(shown) = engine::survey::shown(&circuit, Some(&fault), &planned) else {
                continue;
            };
            let mut reading = three_pins([1.0, 1.0, 1.0], 25.0).remove(0);
            reading.id = format!("r{}", readings.len() + 1);
            (reading.from, reading.to, reading.shown) = (planned.from, planned.to, shown);
            readings.push(reading);
            let after = share(&judged(&compressor(None, readings.clone())), component);
            before_all += before.max(1e-9).ln();
            after_all += after.max(1e-9).ln();
            count += 1;
            before = after;
        }
    }
    assert!(count > 60, "{count}");
    assert!(
        after_all > before_all,
        "over {count} true readings the log share of the truth went from {before_all} to {after_all}"
    );
}

#[test]
fn one_unit_is_never_taken_for_another() {
    assert_eq!(Unit::Kilohm.to_base(), 1e3 * Unit::Ohm.to_base());
    assert_eq!(Unit::Megohm.to_base(), 1e3 * Unit::Kilohm.to_base());
}
