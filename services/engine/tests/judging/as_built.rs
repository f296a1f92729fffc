//! Units that are not quite as drawn: wires that changed places or touch, contacts that come and
//! go, an overload that closes while somebody reads.
//!
//! Belongs here: that none of these makes a good part look condemned. Does not belong here: cases
//! of one fault that shows every time ([`crate::cases`]).

use engine::case::{Case, Claim, Observation, Reading};
use engine::verdict::{CheckResult, Outcome, Verdict};
use serde_json::json;

use crate::support::{Seen, claim, compressor, judged, reading};

const PLUG: [&str; 1] = ["plug"];

fn ohms(id: &str, ends: [&str; 2], lifted: &[&str], seen: Seen) -> Reading {
    reading(id, "resistance", ends, lifted, seen)
}

/// The lead of the common pin is open: everything else was read good.
fn open_lead() -> Vec<Reading> {
    let good = |id, ends, ohm| ohms(id, ends, &PLUG, Seen::Ohm(ohm));
    vec![
        ohms("r1", ["T1", "HC"], &PLUG, Seen::OverLimit),
        good("r2", ["C", "R"], 0.62),
        good("r3", ["C", "S"], 1.46),
        good("r4", ["S", "R"], 2.06),
        ohms("r5", ["T1", "WIRE_S"], &[], Seen::OverLimit),
        ohms("r6", ["T1", "T2"], &[], Seen::OverLimit),
        ohms("r7", ["T1", "HC"], &["plug", "start_wire"], Seen::OverLimit),
    ]
}

fn looked(case: &mut Case, present: bool) {
    let id = format!("o{}", case.observations.len() + 1);
    let seen = json!({ "id": id, "sign": "wires_as_drawn", "present": present });
    let seen: Observation = serde_json::from_value(seen).expect("the shape of an observation");
    case.observations.push(seen);
}

fn harness() -> Claim {
    claim("harness", "lead_c", "open")
}

fn check<'v>(verdict: &'v Verdict, id: &str) -> &'v engine::verdict::Check {
    verdict.checks.iter().find(|check| check.id == id).expect("the check was made")
}

#[test]
fn wiring_is_condemned_only_once_somebody_looked_whether_it_is_as_drawn() {
    let mut case = compressor(Some(harness()), open_lead());
    let asked = judged(&case);
    assert_eq!(asked.outcome, Outcome::Incomplete, "{}", asked.sentence);
    assert_eq!(asked.next_tests[0].sign.as_deref(), Some("wires_as_drawn"));
    assert!(asked.owed[0].says.contains("compare them with the drawing"), "{:?}", asked.owed);

    looked(&mut case, true);
    let yes = judged(&case);
    assert_eq!(yes.outcome, Outcome::Isolated, "{}", yes.sentence);
    assert_eq!(check(&yes, "wires_as_drawn").result, CheckResult::Pass);

    // Who looks again and finds them swapped is believed once a second look has borne that out.
    looked(&mut case, false);
    assert_ne!(judged(&case).outcome, Outcome::Isolated);
    looked(&mut case, false);
    let no = judged(&case);
    assert_ne!(no.outcome, Outcome::Isolated, "{}", no.sentence);
    assert_eq!(check(&no, "wires_as_drawn").result, CheckResult::Fail);
    assert!(no.owed[0].says.starts_with("Put the wires"), "{:?}", no.owed);
    assert!(no.next_tests.iter().all(|test| test.sign.is_none()), "{:?}", no.next_tests);

    // A compressor is not condemned on readings of another circuit either.
    case.claim = Some(claim("compressor", "run_winding", "open"));
    assert_ne!(judged(&case).outcome, Outcome::Isolated);
}

#[test]
fn looks_at_the_wires_that_differ_are_asked_for_until_two_in_a_row_agree() {
    use CheckResult::{Fail, Pass, Waiting};
    for (looks, result) in [
        (&[true][..], Pass),
        (&[false], Waiting),
        (&[false, false], Fail),
        (&[false, true], Waiting),
        (&[false, true, true], Pass),
        (&[true, false], Waiting),
        (&[true, false, true], Waiting),
        // Put right after two looks said so: two more bear that out.
        (&[false, false, true], Waiting),
        (&[false, false, true, true], Pass),
    ] {
        let mut case = compressor(Some(harness()), open_lead());
        looks.iter().for_each(|present| looked(&mut case, *present));
        let verdict = judged(&case);
        assert_eq!(check(&verdict, "wires_as_drawn").result, result, "{looks:?}");
        let asked = verdict.next_tests.first().filter(|test| test.sign.is_some());
        let once_more = asked.is_some_and(|test| test.title.starts_with("Once more: "));
        assert_eq!(once_more, result == Waiting, "{looks:?}: {asked:?}");
        assert_eq!(verdict.outcome == Outcome::Isolated, result == Pass, "{looks:?}");
    }
}

#[test]
fn what_touching_wires_would_show_too_is_not_isolated_before_they_are_told_apart() {
    // Through the harness alone C–R reads low: turns of the winding, or two of its wires.
    let readings = vec![
        ohms("r1", ["T1", "T2"], &[], Seen::Ohm(0.2)),
        ohms("r2", ["T1", "WIRE_S"], &[], Seen::Ohm(1.5)),
        ohms("r3", ["T2", "WIRE_S"], &[], Seen::Ohm(1.67)),
        ohms("r4", ["T1", "T2"], &["start_wire"], Seen::Ohm(0.2)),
    ];
    let shorted = claim("compressor", "run_winding", "shorted");
    let mut case = compressor(Some(shorted), readings);
    let through = judged(&case);
    assert_eq!(through.outcome, Outcome::NotIsolated, "{}", through.sentence);
    let touching =
        |verdict: &Verdict| verdict.because.iter().any(|says| says.contains("touching each other"));
    assert!(touching(&through), "{:?}", through.because);

    let pins = |id, ends, ohm| ohms(id, ends, &PLUG, Seen::Ohm(ohm));
    case.readings.extend([
        pins("r5", ["C", "R"], 0.2),
        pins("r6", ["C", "S"], 1.48),
        pins("r7", ["S", "R"], 1.66),
    ]);
    let at_the_pins = judged(&case);
    assert!(!touching(&at_the_pins), "{:?}", at_the_pins.because);
}

#[test]
fn many_good_readings_of_one_occasion_clear_no_loose_contact() {
    let good = |id: &str, ends| ohms(id, ends, &PLUG, Seen::Ohm(0.02));
    let open = vec![ohms("r1", ["T1", "T2"], &[], Seen::OverLimit)];
    let share = |readings: &[Reading]| {
        let verdict = judged(&compressor(None, readings.to_vec()));
        let found = verdict.components.iter().find(|known| known.component == "harness");
        found.map_or(0.0, |known| known.share)
    };
    let mut once = open.clone();
    once.push(good("r2", ["T1", "HC"]));
    let mut often = once.clone();
    often.extend([good("r3", ["HC", "T1"]), good("r4", ["T1", "HC"]), good("r5", ["HC", "T1"])]);
    // By four independent readings the lead would be down to a hundredth of what one leaves it.
    assert!(share(&often) > 0.3 * share(&once), "{} {}", share(&often), share(&once));
    assert!(share(&once) < share(&open));
}

#[test]
fn an_overload_may_close_between_two_readings_that_nothing_tells_apart() {
    let pins = |id, ends, seen| ohms(id, ends, &PLUG, seen);
    let closed_later = vec![
        pins("r1", ["C", "R"], Seen::OverLimit),
        pins("r2", ["C", "S"], Seen::OverLimit),
        pins("r3", ["S", "R"], Seen::Ohm(2.06)),
        pins("r4", ["C", "R"], Seen::Ohm(0.62)),
        pins("r5", ["C", "S"], Seen::Ohm(1.46)),
    ];
    let verdict = judged(&compressor(None, closed_later.clone()));
    assert_eq!(verdict.components[0].component, "passing_state", "{:?}", verdict.components);

    // The other way round it opened by itself while nothing ran.
    let mut opened_later = closed_later;
    opened_later.rotate_left(3);
    let turned = judged(&compressor(None, opened_later));
    let passing = |verdict: &Verdict| {
        let found = verdict.components.iter().find(|known| known.component == "passing_state");
        found.map_or(0.0, |known| known.share)
    };
    assert!(passing(&turned) < passing(&verdict), "{:?}", turned.components);
}

#[test]
fn an_answer_given_again_counts_once() {
    let shares = |looks: &[bool]| {
        let mut case = compressor(None, open_lead());
        looks.iter().for_each(|present| looked(&mut case, *present));
        judged(&case).components
    };
    assert_eq!(shares(&[true]), shares(&[true, true, true]));
    assert_eq!(shares(&[true]), shares(&[false, true]));
    assert_ne!(shares(&[true]), shares(&[true, false]));
}
