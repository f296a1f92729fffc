//! What every source file has, and what none has.

use blackbox::tree::{files, workspace};

/// Longest file under `services/` and `web-client/src`, lines. Longer ones are to be split.
const LINES_MAX: usize = 600;
/// Written by a generator, so that nobody has to read them.
const GENERATED: [&str; 1] = ["web-client/src/lib/api-types.ts"];
/// The one file that may read a clock or draw a random number.
const AMBIENT: &str = "services/store/src/ambient.rs";
/// Measurements, which nothing depends on: they take the time of things.
const MEASURED: &str = "tests/bench/";

fn rust() -> Vec<(String, String)> {
    ["services", "migrations", "tests"].iter().flat_map(|folder| files(folder, &["rs"])).collect()
}

/// Fails once, with everything that is wrong.
fn none(wrong: Vec<String>, rule: &str) {
    assert!(wrong.is_empty(), "{rule}:\n  {}", wrong.join("\n  "));
}

#[test]
fn every_module_begins_with_what_belongs_in_it() {
    let modules = rust();
    assert!(modules.len() > 100, "{} modules", modules.len());
    let wrong = modules
        .into_iter()
        .filter(|(_, text)| !text.starts_with("//! "))
        .map(|(path, _)| path)
        .collect();
    none(wrong, "a module's first line is a //! head");
}

#[test]
fn clock_and_randomness_come_from_one_place() {
    // Written apart, so that this file does not name what it looks for.
    let bans = [concat!("disallowed_", "methods"), concat!("disallowed_", "types")];
    let wrong = rust()
        .into_iter()
        .filter(|(path, _)| path != AMBIENT && !path.starts_with(MEASURED))
        .filter(|(_, text)| bans.iter().any(|ban| text.contains(ban)))
        .map(|(path, _)| path)
        .collect();
    none(wrong, "only store::ambient may allow what clippy.toml bans");

    let bans = std::fs::read_to_string(workspace().join("clippy.toml")).expect("clippy.toml");
    for banned in [
        "std::time::SystemTime::now",
        "std::time::Instant::now",
        "chrono::Utc::now",
        "uuid::Uuid::new_v4",
        "uuid::Uuid::now_v7",
        "rand::rngs::ThreadRng",
    ] {
        assert!(bans.contains(banned), "clippy.toml no longer bans {banned}");
    }
}

#[test]
fn no_file_is_too_long_to_read() {
    let wrong = files("services", &["rs", "toml", "sql"])
        .into_iter()
        .filter(|(path, _)| !path.starts_with("services/engine/circuits/"))
        .chain(files("web-client/src", &["ts", "svelte", "css"]))
        .filter(|(path, _)| !GENERATED.contains(&path.as_str()))
        .map(|(path, text)| (text.lines().count(), path))
        .filter(|(lines, _)| *lines > LINES_MAX)
        .map(|(lines, path)| format!("{path}: {lines} lines"))
        .collect();
    none(wrong, "a file has at most 600 lines");
}

#[test]
fn nothing_is_left_for_later_and_no_test_is_skipped() {
    let words = [
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("#[ign", "ore"),
        concat!("test.sk", "ip("),
        concat!("it.sk", "ip("),
        concat!("describe.sk", "ip("),
        concat!("test.on", "ly("),
        concat!("it.on", "ly("),
    ];
    let mut sources = rust();
    sources.extend(files("web-client/src", &["ts", "svelte"]));
    sources.extend(files("tests", &["ts", "mjs"]));
    let wrong = sources
        .into_iter()
        .flat_map(|(path, text)| {
            let found: Vec<&str> =
                words.iter().filter(|word| text.contains(**word)).copied().collect();
            found.into_iter().map(move |word| format!("{path}: {word}")).collect::<Vec<_>>()
        })
        .collect();
    none(wrong, "done means done");
}

#[test]
fn no_file_names_a_folder_of_somebodys_machine() {
    let folders = [concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/ho", "me/")];
    let mut sources = rust();
    for (folder, endings) in [
        ("services", &["toml", "json", "md"][..]),
        ("web-client/src", &["ts", "svelte"]),
        ("migrations", &["sql", "md", "toml"]),
        ("tests", &["toml", "ts", "mjs"]),
    ] {
        sources.extend(files(folder, endings));
    }
    let wrong = sources
        .into_iter()
        .filter(|(_, text)| folders.iter().any(|folder| text.contains(folder)))
        .map(|(path, _)| path)
        .collect();
    none(wrong, "paths are relative to the repository");
}

#[test]
fn the_container_is_built_from_every_folder_of_the_workspace() {
    let read = |path: &str| std::fs::read_to_string(workspace().join(path)).expect(path);
    let (manifest, container) = (read("Cargo.toml"), read("deploy/Containerfile"));
    let members = manifest.split("members = [").nth(1).and_then(|rest| rest.split(']').next());
    let folders: std::collections::BTreeSet<&str> = members
        .expect("the workspace's members")
        .split('"')
        .skip(1)
        .step_by(2)
        .filter_map(|member| member.split('/').next())
        .collect();
    assert!(folders.len() >= 3, "{folders:?}");
    let wrong = folders
        .into_iter()
        .filter(|folder| !container.contains(&format!("\nCOPY {folder} {folder}\n")))
        .map(str::to_owned)
        .collect();
    none(wrong, "deploy/Containerfile copies each folder that cargo needs");
}
