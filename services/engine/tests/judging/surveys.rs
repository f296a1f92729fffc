//! The circuits that ship, looked over: what the first reading may not be taken for, and what no
//! reading tells apart.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use engine::case::{Case, Observation, Power, Reading};
use engine::circuit::PartKind;
use engine::circuit_file::{parse, shipped};
use engine::survey::{PLAN_TESTS_MAX, Sheet, conditions, faults, plan, shown};
use engine::verdict::Outcome;
use serde_json::json;

use crate::support::judged;

#[test]
fn no_lead_or_contact_is_taken_for_a_costly_component_by_the_first_reading() {
    for known in shipped() {
        let circuit = parse(known.name, known.text).expect("it is valid");
        let case: Case = serde_json::from_value(json!({"format": 1, "circuit": known.name}))
            .expect("the shape of a case");
        let major = |id: &str| {
            circuit.components.iter().any(|component| component.id == id && component.major)
        };
        // Questions that come first are answered with no.
        let mut case = case;
        let first = loop {
            let tests = judged(&case).next_tests;
            if let Some(test) = tests.iter().find(|test| !test.takes.is_empty()) {
                break test.clone();
            }
            let sign = tests.iter().find_map(|test| test.sign.clone()).expect("a test");
            let id = format!("o{}", case.observations.len());
            case.observations.push(Observation { id, sign, present: false });
        };
        // Faults that show alike are judged alike: once is enough.
        let mut by_answer: BTreeMap<String, (String, Vec<Reading>)> = BTreeMap::new();
        for fault in faults(&circuit) {
            let part = circuit.parts.iter().find(|part| part.id == fault.part);
            let of_path =
                part.is_some_and(|part| matches!(part.kind, PartKind::Lead | PartKind::Contact));
            if !of_path || major(&fault.component) {
                continue;
            }
            let readings: Vec<Reading> = first
                .takes
                .iter()
                .enumerate()
                .filter_map(|(index, take)| {
                    let powered = take.quantity.needs_power();
                    Some(Reading {
                        id: format!("r{index}"),
                        quantity: take.quantity,
                        from: take.from.clone(),
                        to: take.to.clone(),
                        lifted: take.lifted.clone(),
                        power: if powered { Power::Energised } else { Power::Off },
                        state: take.state.clone(),
                        shown: shown(&circuit, Some(&fault), take)?,
                        part_temp_c: None,
                        stopped_min: None,
                        meter: None,
                    })
                })
                .collect();
            by_answer.entry(format!("{readings:?}")).or_insert((fault.label, readings));
        }
        assert!(!by_answer.is_empty(), "{} has leads", known.name);
        for (label, readings) in by_answer.into_values() {
            let verdict = judged(&Case { readings, ..case.clone() });
            let leading = &verdict.components[0].component;
            assert!(
                verdict.outcome != Outcome::Isolated || !major(leading),
                "{}: {label} is taken for {leading}: {}",
                known.name,
                verdict.sentence
            );
        }
    }
}

/// What no plan proves, and why that is so. Whatever else turns up in the page is a gap in a circuit
/// file or in the engine, not a fact of the world.
const NOT_PROVEN: [(&str, &str, &str); 1] = [(
    "compressor-inverter",
    "bleeder of the DC link open",
    "it keeps nothing from running: the link empties into the drive's own supply sooner, so that only a slow discharge tells, once",
)];

/// Every fault of every costly component, its own plan followed with what a sound meter would
/// show, then once more with the maker's own values at hand: the component is isolated, or the page
/// names what is left beside it.
#[test]
fn every_fault_of_a_major_component_is_isolated_by_some_plan_but_for_those_named() {
    let mut page = String::new();
    let mut left: Vec<(&str, String)> = Vec::new();
    for known in shipped() {
        let circuit = parse(known.name, known.text).expect("it is valid");
        let major = |id: &str| circuit.components.iter().any(|c| c.id == id && c.major);
        let passing = |part: &str, mode: &str| {
            circuit
                .parts
                .iter()
                .filter(|known| known.id == part)
                .any(|known| known.modes.iter().any(|known| known.id == mode && known.passing))
        };
        writeln!(page, "{}", known.name).expect("a string takes text");
        for fault in faults(&circuit) {
            if !major(&fault.component) || passing(&fault.part, &fault.mode) {
                continue;
            }
            let found = |sheet| {
                plan(&circuit, known.text, &fault, PLAN_TESTS_MAX, sheet).expect("a valid case")
            };
            let mut plan = found(Sheet::Missing);
            if plan.outcome != Outcome::Isolated {
                plan = found(Sheet::AtHand);
                if plan.outcome == Outcome::Isolated {
                    writeln!(page, "  {}: with the maker's own values", fault.label)
                        .expect("a string takes text");
                }
            }
            if plan.outcome == Outcome::Isolated {
                assert_eq!(plan.leading, fault.component, "{}: {}", known.name, fault.label);
                continue;
            }
            let others = plan.suspects.iter().filter(|label| **label != fault.label);
            let others: Vec<&str> = others.map(String::as_str).collect();
            let others = if others.is_empty() { "nothing" } else { &others.join("; ") };
            writeln!(
                page,
                "  {}: {:?} after {} tests; beside it: {others}",
                fault.label,
                plan.outcome,
                plan.steps.len()
            )
            .expect("a string takes text");
            left.push((known.name, fault.label));
        }
    }
    insta::with_settings!({prepend_module_to_snapshot => false}, {
        insta::assert_snapshot!("isolated-by-some-plan", page);
    });
    let named: Vec<(&str, String)> = NOT_PROVEN
        .iter()
        .map(|(circuit, label, reason)| {
            assert!(!reason.is_empty(), "{label}");
            (*circuit, (*label).to_owned())
        })
        .collect();
    assert_eq!(left, named);
}

#[test]
fn what_no_reading_tells_apart_is_known() {
    for known in shipped() {
        let circuit = parse(known.name, known.text).expect("it is valid");
        let mut page = String::new();
        for condition in conditions(&circuit) {
            writeln!(page, "{}", condition.label).expect("a string takes text");
            for group in condition.groups {
                writeln!(page, "  {}: {}", group.len(), group.join("; "))
                    .expect("a string takes text");
            }
        }
        insta::with_settings!({prepend_module_to_snapshot => false}, {
            insta::assert_snapshot!(format!("ambiguity-groups-{}", known.name), page);
        });
    }
}
