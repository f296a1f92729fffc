//! countersign → {http, live, notify} → store → {engine, roster}, over `cargo metadata`.

use std::collections::{BTreeMap, BTreeSet};

use blackbox::tree::workspace;
use cargo_metadata::{DependencyKind, Metadata, MetadataCommand, Package};

/// Who may know whom among our own crates. A crate that is not listed fails the test: it must
/// be given its place first.
const MAY_KNOW: [(&str, &[&str]); 11] = [
    ("countersign-engine", &[]),
    ("countersign-roster", &[]),
    ("countersign-planner", &["countersign-roster"]),
    ("countersign-year", &["countersign-roster", "countersign-planner"]),
    ("countersign-migrations", &[]),
    (
        "countersign-store",
        &[
            "countersign-engine",
            "countersign-roster",
            "countersign-planner",
            "countersign-migrations",
        ],
    ),
    ("countersign-http", &["countersign-store", "countersign-engine", "countersign-roster"]),
    ("countersign-live", &["countersign-store", "countersign-engine", "countersign-roster"]),
    ("countersign-notify", &["countersign-store", "countersign-engine", "countersign-roster"]),
    (
        "countersign",
        &[
            "countersign-http",
            "countersign-live",
            "countersign-notify",
            "countersign-store",
            "countersign-year",
            "countersign-engine",
            "countersign-roster",
            "countersign-migrations",
        ],
    ),
    (
        "countersign-tests",
        &["countersign-live", "countersign-store", "countersign-engine", "countersign-roster"],
    ),
];

/// The only crates from outside that the pure crates may use: shapes, their texts, hashes, wide
/// arithmetic.
const PURE: [(&str, &[&str]); 2] = [
    (
        "countersign-engine",
        &[
            "num-complex",
            "pulp",
            "schemars",
            "serde",
            "serde_json",
            "serde_json_canonicalizer",
            "sha2",
            "thiserror",
            "toml",
        ],
    ),
    (
        "countersign-roster",
        &[
            "cel",
            "chrono",
            "chrono-tz",
            "holidays-rs",
            "rand_pcg",
            "serde",
            "serde_json",
            "strsim",
            "thiserror",
        ],
    ),
];

/// What must not be reached from a pure crate, however indirectly.
const NOT_PURE: [&str; 12] = [
    "actix-web",
    "async-std",
    "futures-executor",
    "getrandom",
    "hyper",
    "lettre",
    "mio",
    "rand",
    "reqwest",
    "sea-orm",
    "sqlx",
    "tokio",
];

/// Ways that are not followed, each with the reason. The grammar's runtime reads ids that are
/// written in its tables with `uuid` and makes none; that `uuid` can also draw random ones is
/// asked for by other crates of the workspace, and the metadata does not tell who asked.
const NOT_FOLLOWED: [(&str, &str); 1] = [("antlr4rust", "uuid")];

fn metadata() -> Metadata {
    MetadataCommand::new()
        .manifest_path(workspace().join("Cargo.toml"))
        .other_options(["--offline".to_owned(), "--locked".to_owned()])
        .exec()
        .expect("cargo metadata")
}

fn ours(metadata: &Metadata) -> Vec<&Package> {
    metadata.workspace_packages()
}

/// Names of what a package needs to be built, without what only its tests need.
fn normal(package: &Package) -> BTreeSet<&str> {
    package
        .dependencies
        .iter()
        .filter(|dependency| dependency.kind == DependencyKind::Normal)
        .map(|dependency| dependency.name.as_str())
        .collect()
}

#[test]
fn crates_know_only_those_below_them() {
    let metadata = metadata();
    let names: BTreeSet<&str> =
        ours(&metadata).iter().map(|package| package.name.as_str()).collect();
    for package in ours(&metadata) {
        let allowed = MAY_KNOW.iter().find(|(name, _)| *name == package.name.as_str());
        let (_, allowed) = allowed.unwrap_or_else(|| panic!("{} has no place yet", package.name));
        for known in normal(package).intersection(&names) {
            assert!(allowed.contains(known), "{} must not know {known}", package.name);
        }
    }
}

#[test]
fn http_and_live_do_not_know_each_other_not_even_in_their_tests() {
    let metadata = metadata();
    for (one, other) in
        [("countersign-http", "countersign-live"), ("countersign-live", "countersign-http")]
    {
        let package = ours(&metadata).into_iter().find(|package| package.name.as_str() == one);
        let known = &package.expect("the crate exists").dependencies;
        assert!(known.iter().all(|dependency| dependency.name != other), "{one} knows {other}");
    }
}

#[test]
fn the_pure_crates_use_nothing_that_is_not_listed() {
    let metadata = metadata();
    for (name, allowed) in PURE {
        let package = ours(&metadata).into_iter().find(|package| package.name.as_str() == name);
        for used in normal(package.expect("the crate exists")) {
            assert!(allowed.contains(&used), "{name} must do without {used}");
        }
    }
}

#[test]
fn the_pure_crates_reach_no_io_async_or_framework_however_indirectly() {
    let metadata = metadata();
    let resolve = metadata.resolve.as_ref().expect("a resolved graph");
    let name_of: BTreeMap<_, _> =
        metadata.packages.iter().map(|package| (&package.id, package.name.as_str())).collect();
    for (pure, _) in PURE {
        let start = metadata.packages.iter().find(|package| package.name.as_str() == pure);
        let mut reached = BTreeSet::new();
        let mut next = vec![&start.expect("the crate exists").id];
        while let Some(id) = next.pop() {
            if !reached.insert(id) {
                continue;
            }
            let node = resolve.nodes.iter().find(|node| node.id == *id).expect("a node");
            next.extend(
                node.deps
                    .iter()
                    .filter(|dependency| {
                        dependency.dep_kinds.iter().any(|info| {
                            info.kind == DependencyKind::Normal && info.target.is_none()
                        })
                    })
                    .filter(|dependency| {
                        !NOT_FOLLOWED.contains(&(name_of[&node.id], name_of[&dependency.pkg]))
                    })
                    .map(|dependency| &dependency.pkg),
            );
        }
        for id in reached {
            assert!(!NOT_PURE.contains(&name_of[id]), "{pure} reaches {}", name_of[id]);
        }
    }
}

#[test]
fn every_crate_takes_the_workspaces_lints() {
    for package in ours(&metadata()) {
        let manifest = std::fs::read_to_string(&package.manifest_path).expect("a manifest");
        assert!(manifest.contains("[lints]\nworkspace = true"), "{}", package.manifest_path);
    }
}
