//! Circuit files that cannot be used: each problem names file, line and part.

use engine::circuit_file::{FILE_BYTES_MAX, parse, shipped};
use engine::problem::Problem;

fn shipped_text(name: &str) -> &'static str {
    shipped().iter().find(|known| known.name == name).expect("it ships").text
}

/// The one problem after replacing the first `old`, and the line of the replacement.
#[track_caller]
fn refused(old: &str, new: &str) -> (Problem, usize) {
    let text = shipped_text("compressor-1ph-plug");
    let place = text.find(old).expect("the text to replace is there");
    let line = text[..place].matches('\n').count() + 1;
    let mut problems =
        parse("mine.toml", &text.replacen(old, new, 1)).expect_err("refused").problems;
    assert_eq!(problems.len(), 1, "{problems:?}");
    (problems.remove(0), line)
}

#[test]
fn a_dangling_lead_is_named_with_file_and_line() {
    let (problem, line) = refused(r#"between = ["T1", "HC"]"#, r#"between = ["T1", "NOWHERE"]"#);
    assert_eq!(problem.at, format!("mine.toml:{line}"));
    assert!(problem.says.contains("part lead_c dangles"), "{}", problem.says);
    assert!(problem.says.contains("\"NOWHERE\""), "{}", problem.says);
    assert_eq!(problem.line, Some(u32::try_from(line).unwrap()));
    let path = problem.path.expect("a path into the file");
    assert!(path.starts_with("/parts/") && path.ends_with("/between"), "{path}");
}

#[test]
fn what_concerns_the_file_as_a_whole_has_its_line_too() {
    for (old, new, path) in [
        ("format = 1", "format = 2", "/format"),
        ("name = \"compressor-1ph-plug\"", "name = \"No Name\"", "/name"),
        ("shell = \"SHELL\"", "shell = \"HULL\"", "/shell"),
    ] {
        let text = shipped_text("compressor-1ph-plug");
        let line = 1 + text.lines().position(|line| line == old).expect("the line is there");
        let problems =
            parse("mine.toml", &text.replacen(old, new, 1)).expect_err("refused").problems;
        let found = problems.iter().find(|problem| problem.path.as_deref() == Some(path));
        let found = found.unwrap_or_else(|| panic!("{path}: {problems:?}"));
        assert_eq!(found.line, Some(u32::try_from(line).unwrap()), "{path}");
        assert_eq!(found.at, format!("mine.toml:{line}"));
    }
}

#[test]
fn a_lead_from_a_point_to_itself_is_named() {
    let (problem, line) = refused(r#"between = ["HC", "C"]"#, r#"between = ["C", "C"]"#);
    assert_eq!(problem.at, format!("mine.toml:{line}"));
    assert!(problem.says.contains("must differ"), "{}", problem.says);
}

#[test]
fn an_id_used_twice_is_named_with_its_line() {
    let problems = parse(
        "mine.toml",
        &shipped_text("compressor-1ph-plug").replacen("id = \"WIRE_S\"", "id = \"CAP_H\"", 1),
    )
    .expect_err("refused")
    .problems;
    assert!(
        problems.iter().any(|problem| problem.says.contains("\"CAP_H\" is used twice in points")
            && problem.at.starts_with("mine.toml:")),
        "{problems:?}"
    );
}

#[test]
fn a_resistance_of_nothing_or_less_is_refused() {
    for ohm in ["0", "-1.5", "nan", "inf"] {
        let (problem, _) = refused("ohm = 0.015", &format!("ohm = {ohm}"));
        assert!(problem.says.contains("part lead_c: ohm"), "{}", problem.says);
        assert!(problem.says.contains("outside"), "{}", problem.says);
    }
}

#[test]
fn a_prior_that_is_no_probability_is_refused() {
    let (problem, _) =
        refused(r#"effect = "open", prior = 0.02 }"#, r#"effect = "open", prior = 1.2 }"#);
    assert!(problem.says.contains("prior = 1.2 must be 0.0001 to 0.5"), "{}", problem.says);
}

#[test]
fn an_unknown_field_or_kind_names_those_there_are() {
    let (problem, line) = refused(r#"kind = "lead""#, r#"kind = "string""#);
    assert_eq!(problem.at, format!("mine.toml:{line}"));
    assert!(problem.says.contains("winding"), "{}", problem.says);
    let (problem, _) = refused("minutes = 2", "minuets = 2");
    assert!(problem.says.contains("minuets"), "{}", problem.says);
}

#[test]
fn text_that_is_no_toml_says_on_which_line() {
    let problems = parse("mine.toml", "format = 1\nname = \"x\n").expect_err("refused").problems;
    assert_eq!(problems[0].at, "mine.toml:2");
}

#[test]
fn another_version_and_a_giant_are_refused() {
    let (problem, _) = refused("format = 1", "format = 9");
    assert!(problem.says.contains("reads circuit format 1"), "{}", problem.says);
    let giant = "#".repeat(FILE_BYTES_MAX + 1);
    let problems = parse("mine.toml", &giant).expect_err("refused").problems;
    assert!(problems[0].says.contains(&FILE_BYTES_MAX.to_string()), "{}", problems[0].says);
}

#[test]
fn a_case_carries_the_problems_of_its_own_circuit() {
    let text = shipped_text("compressor-1ph-plug").replacen(r#""HC"]"#, r#""NOWHERE"]"#, 1);
    let case = serde_json::json!({
        "format": 1, "circuit": "compressor-1ph-plug", "circuit_text": text,
    });
    let case = engine::validate::case_from_json(&case.to_string()).expect("the shape is right");
    let problems = engine::check(&case).expect_err("refused").problems;
    assert!(problems[0].at.starts_with("compressor-1ph-plug.toml:"), "{}", problems[0].at);
}

#[test]
fn every_shipped_circuit_is_valid_and_survives_being_written_out() {
    for known in shipped() {
        let circuit = parse(known.name, known.text).expect("valid");
        assert_eq!(circuit.name, known.name);
        let text = toml::to_string(&circuit).expect("a circuit is TOML");
        assert_eq!(parse("again.toml", &text).expect("valid"), circuit, "{}", known.name);
        let json = serde_json::to_string(&circuit).expect("a circuit is JSON");
        let back: engine::circuit::Circuit = serde_json::from_str(&json).expect("the same shape");
        assert_eq!(back, circuit, "{}", known.name);
    }
}

#[test]
fn sources_that_would_drive_each_other_are_refused_and_three_phases_are_not() {
    let (text, open) = (shipped_text("compressor-1ph-plug"), "[[parts]]\nid = \"supply_volts\"");
    let second = |volt: u32| {
        let more = format!(
            "[[parts]]\nid = \"again\"\nlabel = \"again\"\ncomponent = \"supply\"\nkind = \"source\"\nbetween = [\"L1\", \"L2\"]\nvolt = {volt}\n\n{open}"
        );
        parse("mine.toml", &text.replacen(open, &more, 1))
    };
    assert!(second(240).is_ok());
    let problems = second(120).expect_err("refused").problems;
    assert!(problems[0].says.contains("closes a loop of sources"), "{}", problems[0].says);
    assert!(problems[0].at.starts_with("mine.toml:"), "{}", problems[0].at);
    assert!(parse("mine.toml", shipped_text("compressor-3ph")).is_ok());
}
