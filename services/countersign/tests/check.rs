//! `countersign check` as a script sees it: what goes in, what comes out, the exit code.
//!
//! Belongs here: the command's own promises. Does not belong here: whether a verdict is right,
//! which the engine's tests say.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// The columns that the readable form keeps to.
const COLUMNS: usize = 80;

fn here(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn example(name: &str) -> PathBuf {
    here("cases").join(format!("{name}.json"))
}

/// Runs `countersign check` with this on its standard input.
fn check_with(arguments: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_countersign"))
        .arg("check")
        .args(arguments)
        // No database may be needed, not even one that is named.
        .env("DATABASE_URL", "postgres://nobody@127.0.0.1:1/none")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    // It may stop reading at its limit: then the rest has nowhere to go.
    let _ = child.stdin.take().expect("a pipe").write_all(input);
    child.wait_with_output().expect("the binary ends")
}

fn check(arguments: &[&str]) -> Output {
    check_with(arguments, b"")
}

fn check_example(name: &str, more: &[&str]) -> Output {
    let path = example(name);
    let mut arguments = vec![path.to_str().expect("a path in UTF-8")];
    arguments.extend(more);
    check(&arguments)
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("it ends by itself")
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

#[test]
fn every_outcome_has_its_exit_code() {
    for (name, outcome, expected) in [
        ("c-open-run-winding-at-the-pins", "isolated", 0),
        ("a-open-through-the-harness", "not_isolated", 10),
        ("b-good-at-the-pins", "contradicted", 11),
        ("f-windings-do-not-add-up", "inconsistent", 12),
        ("f2-labels-in-question", "incomplete", 13),
    ] {
        let output = check_example(name, &[]);
        assert_eq!(code(&output), expected, "{name}: {}", err(&output));
        let verdict: Value = serde_json::from_str(&out(&output)).expect("a verdict in JSON");
        assert_eq!(verdict["outcome"], outcome, "{name}");
        assert!(err(&output).is_empty(), "{}", err(&output));
    }
}

#[test]
fn the_exit_codes_are_in_the_help() {
    let output = check(&["--help"]);
    assert_eq!(code(&output), 0);
    let help = out(&output);
    for line in [
        "0  isolated",
        "10  not isolated",
        "11  contradicted",
        "12  inconsistent",
        "13  incomplete",
        "2  bad input",
        "1  anything else",
    ] {
        assert!(help.contains(line), "\"{line}\" is not in:\n{help}");
    }
}

#[test]
fn a_file_and_standard_input_give_the_same_bytes() {
    let from_file = check_example("g-weak-capacitor", &[]);
    let text = fs::read(example("g-weak-capacitor")).expect("the example exists");
    let from_input = check_with(&["-"], &text);
    assert_eq!(out(&from_file), out(&from_input));
    assert_eq!(code(&from_file), code(&from_input));
}

#[test]
fn every_example_is_readable_within_80_columns() {
    let mut count = 0;
    for entry in fs::read_dir(here("cases")).expect("the folder of examples") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|ending| ending != "json") {
            continue;
        }
        let output = check(&[path.to_str().expect("UTF-8"), "--readable"]);
        let text = out(&output);
        for line in text.lines() {
            let columns = line.chars().count();
            assert!(columns <= COLUMNS, "{columns} columns in {}: {line}", path.display());
        }
        assert!(text.contains("Share of each component"), "{}", path.display());
        assert!(text.contains('█'), "{}", path.display());
        count += 1;
    }
    assert!(count >= 14, "{count} examples");
}

#[test]
fn the_readable_form_says_what_why_and_what_next() {
    let text = out(&check_example("a-open-through-the-harness", &["--readable"]));
    for words in [
        "NOT ISOLATED",
        "Why",
        "lead C open",
        "internal overload",
        "Next tests, the best first",
        "compressor plug off",
        "! Terminals are under pressure",
        "evidence ",
    ] {
        assert!(text.contains(words), "\"{words}\" is not in:\n{text}");
    }
    let supply = out(&check_example("i-supply-unbalance", &["--readable"]));
    assert!(supply.contains("Source: NEMA MG 1"), "{supply}");
}

#[test]
fn bad_input_is_told_as_json_with_its_place() {
    let text = fs::read_to_string(example("a-open-through-the-harness")).expect("it exists");
    let output = check_with(&["-"], text.replace("\"T1\"", "\"T9\"").as_bytes());
    assert_eq!(code(&output), 2);
    assert!(out(&output).is_empty(), "nothing that could pass for a verdict");
    let told: Value = serde_json::from_str(&err(&output)).expect("problems in JSON");
    assert_eq!(told["problems"][0]["at"], "/readings/0/from");
    assert!(told["problems"][0]["says"].as_str().expect("words").contains("CAP_H"));
}

#[test]
fn bad_input_is_told_in_words_too() {
    let output = check_with(&["-", "--readable"], br#"{"format": 9}"#);
    assert_eq!(code(&output), 2);
    let told = err(&output);
    assert!(told.contains("/format: the case's format is 9"), "{told}");
    assert!(!told.contains('{'), "{told}");
}

#[test]
fn a_broken_circuit_names_file_line_and_part() {
    let text = include_str!("../../engine/circuits/compressor-1ph-plug.toml").replacen(
        "\"HC\"]",
        "\"NOWHERE\"]",
        1,
    );
    let case = serde_json::json!({
        "format": 1, "circuit": "compressor-1ph-plug", "circuit_text": text,
    });
    let output = check_with(&["-"], case.to_string().as_bytes());
    assert_eq!(code(&output), 2);
    let told: Value = serde_json::from_str(&err(&output)).expect("problems in JSON");
    let at = told["problems"][0]["at"].as_str().expect("a place");
    assert!(at.starts_with("compressor-1ph-plug.toml:"), "{at}");
    assert!(told["problems"][0]["says"].as_str().expect("words").contains("lead_c"));
}

#[test]
fn what_is_no_json_no_text_or_too_long_is_bad_input() {
    for (input, words) in [
        (b"".to_vec(), "not a case"),
        (b"{\"format\": 1,".to_vec(), "line 1"),
        (b"\xff\xfe{}".to_vec(), "UTF-8"),
        (vec![b' '; 1 << 20], "262144"),
    ] {
        let output = check_with(&["-"], &input);
        assert_eq!(code(&output), 2, "{words}");
        assert!(err(&output).contains(words), "\"{words}\" is not in {}", err(&output));
    }
}

#[test]
fn a_file_that_is_not_there_is_another_failure() {
    let output = check(&["no-such-case.json"]);
    assert_eq!(code(&output), 1);
    assert!(err(&output).contains("no-such-case.json"), "{}", err(&output));
}

#[test]
fn neither_a_case_nor_a_schema_is_wrong_usage() {
    let output = check(&[]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("CASE.json"), "{}", err(&output));
}

#[test]
fn the_committed_schemas_are_those_the_binary_prints() {
    for what in ["case", "verdict", "circuit"] {
        let output = check(&["--schema", what]);
        assert_eq!(code(&output), 0, "{}", err(&output));
        let path = here("schemas").join(format!("{what}.schema.json"));
        let committed = fs::read_to_string(&path).unwrap_or_default();
        assert!(
            committed == out(&output),
            "{} is stale: run `countersign schemas --write` and commit the result",
            path.display()
        );
    }
}

#[test]
fn every_example_and_its_verdict_have_the_shape_of_the_schemas() {
    for entry in fs::read_dir(here("cases")).expect("the folder of examples") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|ending| ending != "json") {
            continue;
        }
        let case: Value = serde_json::from_str(&fs::read_to_string(&path).expect("it exists"))
            .expect("an example is JSON");
        let verdict: Value = serde_json::from_str(&out(&check(&[path.to_str().expect("UTF-8")])))
            .expect("a verdict is JSON");
        for (what, value) in [("case", &case), ("verdict", &verdict)] {
            let schema: Value =
                serde_json::from_str(&out(&check(&["--schema", what]))).expect("a schema is JSON");
            fits(&schema, &schema, value, what)
                .unwrap_or_else(|says| panic!("{}: {says}", path.display()));
        }
    }
}

/// Whether a value has the shape of a schema, as far as our own schemas go: references,
/// types, properties, required, enumerations, alternatives, items.
fn fits(root: &Value, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
    if let Some(reference) = schema["$ref"].as_str() {
        let target = root.pointer(reference.trim_start_matches('#')).expect("it exists");
        return fits(root, target, value, at);
    }
    for alternatives in ["oneOf", "anyOf"] {
        if let Some(list) = schema[alternatives].as_array()
            && !list.iter().any(|one| fits(root, one, value, at).is_ok())
        {
            return Err(format!("{at}: {value} is none of {alternatives}"));
        }
    }
    if schema["const"] != Value::Null && schema["const"] != *value {
        return Err(format!("{at}: {value} is not {}", schema["const"]));
    }
    if let Some(list) = schema["enum"].as_array()
        && !list.contains(value)
    {
        return Err(format!("{at}: {value} is not in {list:?}"));
    }
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => vec![],
    };
    let is = |kind: &&str| match *kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        _ => false,
    };
    if !types.is_empty() && !types.iter().any(is) {
        return Err(format!("{at}: {value} is not {types:?}"));
    }
    if let Value::Object(fields) = value {
        for required in schema["required"].as_array().into_iter().flatten() {
            if !fields.contains_key(required.as_str().unwrap_or_default()) {
                return Err(format!("{at}: {required} is missing"));
            }
        }
        for (name, field) in fields {
            let at = format!("{at}/{name}");
            match (&schema["properties"][name], &schema["additionalProperties"]) {
                (Value::Null, Value::Bool(false)) => return Err(format!("{at} is not allowed")),
                (Value::Null, Value::Null | Value::Bool(_)) => {}
                (Value::Null, others) => fits(root, others, field, &at)?,
                (property, _) => fits(root, property, field, &at)?,
            }
        }
    }
    if let (Value::Array(items), false) = (value, schema["items"].is_null()) {
        for (index, item) in items.iter().enumerate() {
            fits(root, &schema["items"], item, &format!("{at}/{index}"))?;
        }
    }
    Ok(())
}
