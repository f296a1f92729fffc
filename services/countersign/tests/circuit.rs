//! `countersign circuit check` as a script sees it: the report, the drawing, the exit code.
//!
//! Belongs here: the command's own promises. Does not belong here: what is valid and what is
//! told apart, which the engine's tests say.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn shipped(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../engine/circuits/{name}.toml"))
}

fn circuit_check(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_countersign"))
        .args(["circuit", "check"])
        .args(arguments)
        .output()
        .expect("the binary starts")
}

#[test]
fn a_good_circuit_is_reported_and_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    let svg = folder.path().join("drawn.svg");
    let file = shipped("control-24v");
    let output = circuit_check(&[
        file.to_str().expect("UTF-8"),
        "--no-plans",
        "--svg",
        svg.to_str().expect("UTF-8"),
    ]);

    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let report = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(report.contains("needs a condemn request: control board"), "{report}");
    assert!(report.contains("power off, nothing lifted"), "{report}");
    let drawn = std::fs::read_to_string(svg).expect("it was drawn");
    assert!(drawn.starts_with("<svg") && drawn.trim_end().ends_with("</svg>"));
    for point in ["SR", "TY", "A2"] {
        assert!(drawn.contains(&format!(">{point}</text>")), "{point} is drawn");
    }
}

#[test]
fn a_bad_circuit_is_told_with_its_line_and_exit_code_2() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.toml");
    let text = std::fs::read_to_string(shipped("control-24v")).expect("it is there");
    let dangling = text.replacen("between = [\"F1\", \"F2\"]", "between = [\"F1\", \"FX\"]", 1);
    let line = 1 + dangling.lines().position(|line| line.contains("FX")).expect("replaced");
    std::fs::write(&file, dangling).expect("a file");
    let output = circuit_check(&[file.to_str().expect("UTF-8")]);

    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(told.contains(&format!("mine.toml:{line}: ")), "{told}");
    assert!(told.contains("FX"), "{told}");
    assert!(output.stdout.is_empty());
}

#[test]
fn a_file_that_is_not_there_is_exit_code_1() {
    let output = circuit_check(&["no-such.toml"]);

    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("no-such.toml"));
}
