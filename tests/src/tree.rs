//! The project's own tree.
//!
//! Belongs here: finding files of the workspace. Does not belong here: what they must look
//! like, which each test says for itself.

use std::path::{Path, PathBuf};

/// Folders that hold no source of ours.
const NOT_OURS: [&str; 6] = ["target", "node_modules", "dist", ".git", "data", "test-results"];

/// The folder of the workspace.
pub fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().expect("the workspace exists")
}

/// Every file under a folder of the workspace with one of these endings ("rs"), sorted, with
/// its text. A folder that is not there is a failure: a test that looks at nothing proves
/// nothing.
pub fn files(under: &str, endings: &[&str]) -> Vec<(String, String)> {
    let root = workspace();
    let mut found = Vec::new();
    let mut folders = vec![root.join(under)];
    while let Some(folder) = folders.pop() {
        let entries = std::fs::read_dir(&folder)
            .unwrap_or_else(|error| panic!("{} cannot be read: {error}", folder.display()));
        for entry in entries {
            let path = entry.expect("a folder lists its entries").path();
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            if path.is_dir() {
                if !NOT_OURS.contains(&name.as_str()) {
                    folders.push(path);
                }
            } else if path
                .extension()
                .is_some_and(|ending| endings.iter().any(|wanted| ending.to_str() == Some(wanted)))
            {
                let text = std::fs::read_to_string(&path)
                    .unwrap_or_else(|error| panic!("{} cannot be read: {error}", path.display()));
                let name = path.strip_prefix(&root).expect("under the workspace");
                found.push((name.to_string_lossy().into_owned(), text));
            }
        }
    }
    found.sort();
    found
}
