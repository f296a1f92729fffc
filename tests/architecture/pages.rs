//! The pages for people name only what exists.

use std::path::Path;

use blackbox::tree::{files, workspace};

/// Made by building or running, so absent from a fresh checkout.
const MADE: [&str; 3] = ["target", "web-client/dist", ".data"];
/// Endings that make a name without a folder a file of ours.
const FILE_ENDINGS: [&str; 8] = ["rs", "toml", "md", "json", "ts", "svelte", "sql", "css"];

/// The two pages that a newcomer reads: they must be there.
const PROMISED: [&str; 2] = ["README.md", "DEVELOPERS.md"];

/// Every page that is there, by its path.
fn pages() -> Vec<(String, String)> {
    let root = workspace();
    let mut pages = Vec::new();
    for name in PROMISED {
        if let Ok(text) = std::fs::read_to_string(root.join(name)) {
            pages.push((name.to_owned(), text));
        }
    }
    for folder in ["services", "migrations", "deploy", "tests"] {
        pages.extend(files(folder, &["md"]));
    }
    pages
}

/// The words of a page that are set as code: between backticks, and in fenced blocks.
fn code_words(text: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut fenced = false;
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
            continue;
        }
        let parts: Vec<&str> =
            if fenced { vec![line] } else { line.split('`').skip(1).step_by(2).collect() };
        for part in parts {
            words.extend(part.split_whitespace().map(|word| {
                word.trim_matches(|letter: char| ",;:()\"'".contains(letter))
                    .trim_end_matches('.')
                    .to_owned()
            }));
        }
    }
    words
}

/// A name to be filled in ("NAME.toml", "<table>_append_only"), a pattern, an address.
fn is_placeholder(word: &str) -> bool {
    let shouted = word.split(['/', '.']).any(|piece| {
        piece.len() > 1
            && piece.chars().all(|letter| letter.is_ascii_uppercase() || letter == '_')
            && !["README", "DEVELOPERS", "PROTOCOL", "LICENSE"].contains(&piece)
    });
    shouted || word.contains(['<', '>', '{', '}', '*', '$', '=', '…', '|', '@', '#', '[', '\\'])
}

/// What is wrong with a word of a page in this folder, if it claims to be a path.
fn missing(word: &str, folder: &Path, names: &[String]) -> bool {
    let root = workspace();
    if is_placeholder(word) || word.starts_with(['/', '-', '~']) || word.contains("//") {
        return false;
    }
    let word = word.trim_end_matches('/');
    if MADE.iter().any(|made| word == *made || word.starts_with(&format!("{made}/"))) {
        return false;
    }
    match word.split_once('/') {
        Some((first, _)) => {
            let claims = root.join(first).is_dir() || folder.join(first).is_dir();
            claims && !first.is_empty() && !root.join(word).exists() && !folder.join(word).exists()
        }
        None => {
            let claims = Path::new(word).extension().is_some_and(|ending| {
                FILE_ENDINGS.iter().any(|known| ending.to_str() == Some(known))
            }) && !word.starts_with('.');
            claims && !names.iter().any(|name| name == word)
        }
    }
}

/// The targets of links that are no addresses.
fn links(text: &str) -> Vec<&str> {
    text.split("](")
        .skip(1)
        .filter_map(|rest| rest.split_once(')').map(|(target, _)| target))
        .map(|target| target.split('#').next().unwrap_or_default())
        .filter(|target| !target.is_empty() && !target.contains("://"))
        .filter(|target| !target.starts_with("mailto:"))
        .collect()
}

/// The name of every file of the tree, without its folder.
fn names() -> Vec<String> {
    let root = workspace();
    let mut names: Vec<String> = ["services", "migrations", "tests", "web-client", "deploy"]
        .iter()
        .flat_map(|folder| files(folder, &FILE_ENDINGS))
        .map(|(path, _)| path)
        .collect();
    for entry in std::fs::read_dir(root).expect("the workspace is readable") {
        names.push(entry.expect("an entry").file_name().to_string_lossy().into_owned());
    }
    names.into_iter().map(|path| path.rsplit('/').next().unwrap_or_default().to_owned()).collect()
}

#[test]
fn every_path_that_a_page_names_exists() {
    let names = names();
    let mut wrong: Vec<String> = PROMISED
        .iter()
        .filter(|name| !workspace().join(name).is_file())
        .map(|name| format!("{name}, which every newcomer is promised"))
        .collect();
    for (path, text) in pages() {
        let page = workspace().join(&path);
        let folder = page.parent().expect("a page is in a folder");
        for word in code_words(&text) {
            if missing(&word, folder, &names) {
                wrong.push(format!("{path}: `{word}`"));
            }
        }
        for link in links(&text) {
            if !folder.join(link).exists() {
                wrong.push(format!("{path}: link to {link}"));
            }
        }
    }
    assert!(wrong.is_empty(), "named but not there:\n  {}", wrong.join("\n  "));
}

#[test]
fn the_check_sees_a_path_that_is_gone() {
    let folder = workspace();
    let names = ["circuit.rs".to_owned()];
    let page = "See `services/engine/src/gone.rs`, `circuit.rs` and `goner.rs`.\n\
        ```\ncargo run -p countersign -- check services/countersign/cases/gone.json\n```\n\
        `application/json`, `services/engine/circuits/NAME.toml`, `/api/jobs`, `web-client/dist`";
    let gone: Vec<String> =
        code_words(page).into_iter().filter(|word| missing(word, &folder, &names)).collect();
    assert_eq!(
        gone,
        ["services/engine/src/gone.rs", "goner.rs", "services/countersign/cases/gone.json"]
    );
    assert_eq!(links("[a](b.md#c) and [d](https://e.example/f)"), ["b.md"]);
}
