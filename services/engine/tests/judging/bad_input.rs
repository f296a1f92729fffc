//! Cases that cannot be judged: each problem says where it is and what would be right.

use engine::problem::Problems;
use engine::validate::{CASE_BYTES_MAX, OBSERVATIONS_MAX, READINGS_MAX, case_from_json};
use serde_json::{Value, json};

fn reading() -> Value {
    json!({
        "id": "r1", "quantity": "resistance", "from": "C", "to": "R", "lifted": ["plug"],
        "power": "off", "shown": {"is": "value", "value": 0.48, "unit": "ohm"},
    })
}

fn case() -> Value {
    json!({"format": 1, "circuit": "compressor-1ph-plug", "readings": [reading()]})
}

fn refused_text(text: &str) -> Problems {
    case_from_json(text)
        .and_then(|case| engine::check(&case).map(|verdict| panic!("judged: {}", verdict.sentence)))
        .expect_err("refused")
}

/// The one problem of a case after this change, by place and words.
fn refused(change: impl FnOnce(&mut Value)) -> (String, String) {
    let mut case = case();
    change(&mut case);
    let mut problems = refused_text(&case.to_string()).problems;
    assert_eq!(problems.len(), 1, "{problems:?}");
    let problem = problems.remove(0);
    (problem.at, problem.says)
}

#[track_caller]
fn says(found: &(String, String), at: &str, words: &[&str]) {
    assert_eq!(found.0, at, "{}", found.1);
    for word in words {
        assert!(found.1.contains(word), "\"{word}\" is not in: {}", found.1);
    }
}

#[test]
fn the_case_that_is_changed_below_is_sound() {
    let case = case_from_json(&case().to_string()).expect("well formed");
    assert!(engine::check(&case).is_ok());
}

#[test]
fn an_unknown_point_lists_those_a_probe_can_touch() {
    let found = refused(|case| case["readings"][0]["to"] = json!("X9"));
    says(&found, "/readings/0/to", &["\"X9\"", "CAP_H", "WIRE_S"]);
    assert!(!found.1.contains(" N,"), "a joint inside is not offered: {}", found.1);
}

#[test]
fn a_joint_inside_cannot_be_touched() {
    let found = refused(|case| case["readings"][0]["to"] = json!("N"));
    says(&found, "/readings/0/to", &["inside"]);
}

#[test]
fn negative_ohms_are_no_reading() {
    let found = refused(|case| case["readings"][0]["shown"]["value"] = json!(-0.3));
    says(&found, "/readings/0/shown/value", &["-0.3", "0 to", "over_limit"]);
}

#[test]
fn a_wrong_unit_lists_the_right_ones() {
    let found = refused(|case| case["readings"][0]["shown"]["unit"] = json!("volt"));
    says(&found, "/readings/0/shown/unit", &["resistance", "V", "Ω, kΩ, MΩ"]);
}

#[test]
fn a_unit_that_does_not_exist_names_those_that_do() {
    let found = refused(|case| case["readings"][0]["shown"]["unit"] = json!("furlong"));
    says(&found, "", &["furlong", "ohm", "megohm", "line 1"]);
}

#[test]
fn pins_behind_a_plug_need_it_lifted() {
    let mut case = case();
    case["readings"][0]["lifted"] = json!([]);
    let problems = refused_text(&case.to_string()).problems;
    assert_eq!(problems.len(), 2, "both probes: {problems:?}");
    let first = (problems[0].at.clone(), problems[0].says.clone());
    says(&first, "/readings/0/from", &["compressor pin C", "compressor plug", "\"plug\""]);
}

#[test]
fn an_unknown_connector_lists_those_there_are() {
    let found = refused(|case| case["readings"][0]["lifted"] = json!(["plug", "cork"]));
    says(&found, "/readings/0/lifted/1", &["\"cork\"", "plug", "start_wire"]);
}

#[test]
fn nan_and_numbers_beyond_all_measure_are_refused_with_their_place() {
    let text = |value: &str| case().to_string().replace("0.48", value);
    for value in ["NaN", "1e999", "Infinity", "-Infinity"] {
        let problems = refused_text(&text(value)).problems;
        assert!(problems[0].says.contains("line 1 column"), "{value}: {}", problems[0].says);
    }
    let finite = refused_text(&text("1e300")).problems;
    assert_eq!(finite[0].at, "/readings/0/shown/value");
}

#[test]
fn a_reading_on_one_point_only_is_none() {
    let found = refused(|case| case["readings"][0]["to"] = json!("C"));
    says(&found, "/readings/0/to", &["between two"]);
}

#[test]
fn ohms_on_a_live_circuit_are_refused_and_volts_on_a_dead_one() {
    let found = refused(|case| case["readings"][0]["power"] = json!("energised"));
    says(&found, "/readings/0/power", &["off and proved dead"]);
    let found = refused(|case| {
        case["readings"][0]["quantity"] = json!("voltage");
        case["readings"][0]["shown"]["unit"] = json!("volt");
    });
    says(&found, "/readings/0/power", &["on"]);
}

#[test]
fn temperatures_times_and_meters_have_limits_that_are_told() {
    let found = refused(|case| case["readings"][0]["part_temp_c"] = json!(2000));
    says(&found, "/readings/0/part_temp_c", &["-60 to 250 °C"]);
    let found = refused(|case| case["readings"][0]["stopped_min"] = json!(-1));
    says(&found, "/readings/0/stopped_min", &["0 to 100000 minutes"]);
    let found = refused(|case| case["readings"][0]["meter"] = json!({"accuracy_pct": 90}));
    says(&found, "/readings/0/meter/accuracy_pct", &["0 to 20"]);
}

#[test]
fn a_megabyte_is_refused_unread() {
    let padded = format!("{}{}", " ".repeat(1 << 20), case());
    let problems = refused_text(&padded).problems;
    assert!(problems[0].says.contains(&CASE_BYTES_MAX.to_string()), "{}", problems[0].says);
    // Just under the limit the same case is read.
    let allowed = format!("{}{}", " ".repeat(CASE_BYTES_MAX - 2_000), case());
    assert!(case_from_json(&allowed).is_ok());
}

#[test]
fn deep_nesting_is_refused_and_overflows_nothing() {
    let deep = "[".repeat(100_000);
    assert!(case_from_json(&deep).is_err());
}

#[test]
fn a_case_of_another_version_says_which_is_read() {
    for version in [json!(2), json!("1"), json!(1.5), Value::Null] {
        let found = refused(|case| case["format"] = version.clone());
        says(&found, "/format", &["reads format 1"]);
    }
    let found = refused(|case| {
        case.as_object_mut().expect("an object").remove("format");
    });
    says(&found, "/format", &["missing", "reads format 1"]);
    // Even where the rest has another shape throughout.
    let problems = refused_text(r#"{"format": 7, "evidence": {"kind": "other"}}"#).problems;
    assert!(problems[0].says.contains("format is 7"), "{}", problems[0].says);
}

#[test]
fn an_unknown_field_is_named_and_not_dropped() {
    let found = refused(|case| case["readings"][0]["tempreature"] = json!(20));
    says(&found, "", &["tempreature", "part_temp_c"]);
}

#[test]
fn ids_are_used_once() {
    let found = refused(|case| case["readings"] = json!([reading(), reading()]));
    says(&found, "/readings/1/id", &["\"r1\"", "twice"]);
    let found = refused(|case| {
        case["observations"] = json!([{"id": "r1", "sign": "hums_no_start", "present": true}]);
    });
    says(&found, "/observations/0/id", &["once"]);
    let found = refused(|case| case["readings"][0]["id"] = json!(""));
    says(&found, "/readings/0/id", &["1 to 40"]);
}

#[test]
fn too_many_readings_or_observations_say_how_many_there_may_be() {
    let many: Vec<Value> = (0..=READINGS_MAX)
        .map(|index| {
            let mut reading = reading();
            reading["id"] = json!(format!("r{index}"));
            reading
        })
        .collect();
    let found = refused(|case| case["readings"] = json!(many));
    says(&found, "/readings", &["65", "64", "strike"]);
    let many: Vec<Value> = (0..=OBSERVATIONS_MAX)
        .map(|i| json!({"id": format!("o{i}"), "sign": "hums_no_start", "present": true}))
        .collect();
    let found = refused(|case| case["observations"] = json!(many));
    says(&found, "/observations", &["65", "64"]);
}

#[test]
fn names_in_the_claim_list_what_there_is() {
    let found = refused(|case| case["claim"] = json!({"component": "piano"}));
    says(&found, "/claim/component", &["\"piano\"", "compressor", "capacitor"]);
    let found =
        refused(|case| case["claim"] = json!({"component": "compressor", "part": "lead_c"}));
    says(&found, "/claim/part", &["lead_c", "run_winding"]);
    let found = refused(|case| {
        case["claim"] =
            json!({"component": "compressor", "part": "run_winding", "mode": "haunted"});
    });
    says(&found, "/claim/mode", &["haunted", "shorted", "grounded"]);
    let found = refused(|case| case["claim"] = json!({"component": "compressor", "mode": "open"}));
    says(&found, "/claim/mode", &["part"]);
    let found = refused(|case| {
        case["claim"] = json!({"component": "compressor", "part": "overload", "mode": "hot"});
    });
    says(&found, "/claim/mode", &["passes by itself"]);
}

#[test]
fn specs_name_a_part_and_suit_it() {
    let spec = |part: &str, value: f64, unit: &str| {
        let spec = json!({part: {"value": value, "unit": unit}});
        refused(move |case| case["specs"] = spec)
    };
    says(&spec("flywheel", 1.0, "ohm"), "/specs/flywheel", &["run_winding"]);
    says(&spec("run_winding", 0.5, "volt"), "/specs/run_winding/unit", &["Ω or kΩ", "V"]);
    says(&spec("run_winding", 0.0, "ohm"), "/specs/run_winding/value", &["above 0"]);
}

#[test]
fn an_unknown_sign_lists_those_there_are() {
    let found = refused(|case| {
        case["observations"] = json!([{"id": "o1", "sign": "sings", "present": true}]);
    });
    says(&found, "/observations/0/sign", &["\"sings\"", "hums_no_start"]);
}

#[test]
fn a_policy_outside_its_limits_is_refused() {
    let found = refused(|case| case["policy"] = json!({"isolated_min": 0.1}));
    assert_eq!(found.0, "/policy/isolated_min", "{}", found.1);
}

#[test]
fn an_unknown_circuit_lists_those_that_ship() {
    let found = refused(|case| case["circuit"] = json!("flux-capacitor"));
    says(&found, "/circuit", &["flux-capacitor", "compressor-3ph", "circuit_text"]);
}

#[test]
fn everything_wrong_is_told_at_once() {
    let mut case = case();
    case["readings"][0]["from"] = json!("X1");
    case["readings"][0]["shown"]["value"] = json!(-1);
    case["claim"] = json!({"component": "piano"});
    let places: Vec<String> =
        refused_text(&case.to_string()).problems.into_iter().map(|problem| problem.at).collect();
    for at in ["/claim/component", "/readings/0/from", "/readings/0/shown/value"] {
        assert!(places.iter().any(|place| place == at), "{at} in {places:?}");
    }
}
