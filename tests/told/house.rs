//! The house rules of the source that neither Cargo nor a lint holds: how files begin and how long they are, and that
//! the core touches no files, clocks or threads of its own. Reads the text of `src`; does not build it.

use std::fs;
use std::path::{Path, PathBuf};

/// Files longer than this are to be divided.
const MOST_LINES: usize = 600;
/// Packages that may touch files, clocks and the network.
const OUTSIDE: [&str; 2] = ["cli", "page"];

struct Source {
    path: PathBuf,
    text: String,
}

impl Source {
    /// The text without comments.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        let lines = self.text.lines().enumerate().map(|(i, line)| (i + 1, line.trim_start()));
        lines
            .filter(|(_, line)| !line.starts_with("//"))
            .map(|(i, line)| (i, line.split(" // ").next().unwrap_or(line)))
    }

    fn is_core(&self) -> bool {
        !OUTSIDE.iter().any(|package| self.path.starts_with(package))
    }
}

fn sources() -> Vec<Source> {
    let root = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("src");
    let mut found = Vec::new();
    collect(&root, &root, &mut found);
    assert!(found.len() > 30, "only {} files under src", found.len());
    found
}

fn collect(root: &Path, folder: &Path, found: &mut Vec<Source>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(root, &path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            let inside = path.strip_prefix(root).unwrap().to_path_buf();
            found.push(Source { text: fs::read_to_string(&path).unwrap(), path: inside });
        }
    }
}

/// Fails with all places at which a rule is broken.
fn none(rule: &str, broken: Vec<String>) {
    assert!(broken.is_empty(), "{rule}:\n{}", broken.join("\n"));
}

#[test]
fn the_core_touches_no_files_clocks_or_network() {
    let words = ["std::fs", "std::net", "std::env", "std::time", "std::process", "println!", "HashMap", "getrandom"];
    let (mut broken, mut core) = (Vec::new(), 0);
    for source in sources().iter().filter(|source| source.is_core()) {
        core += 1;
        for (number, line) in source.code() {
            if words.iter().any(|word| line.contains(word)) {
                broken.push(format!("{}:{number}: {line}", source.path.display()));
            }
        }
    }
    assert!(core > 30, "only {core} files of the core");
    none("does what only the command line and the page do, or what falls differently every time", broken);
}

#[test]
fn every_file_begins_by_saying_what_it_is_for() {
    let silent = sources().into_iter().filter(|source| !source.text.starts_with("//! "));
    none("does not begin with //!", silent.map(|source| source.path.display().to_string()).collect());
}

#[test]
fn no_file_is_too_long() {
    let long = sources().into_iter().map(|source| (source.text.lines().count(), source.path));
    let long =
        long.filter(|(lines, _)| *lines >= MOST_LINES).map(|(lines, path)| format!("{}: {lines}", path.display()));
    none("600 lines and more", long.collect());
}

/// The modules of the library from the lowest up: none knows one that stands beside it or above it.
const RANKS: [&[&str]; 6] = [
    &["rehearsal", "words"],
    &["appraisal", "cards"],
    &["findings", "picture", "practice"],
    &["causes", "advice"],
    &["sheet"],
    &["report"],
];

fn rank_of(module: &str) -> Option<usize> {
    RANKS.iter().position(|modules| modules.contains(&module))
}

#[test]
fn no_module_of_the_library_knows_a_higher_one() {
    let (mut broken, mut seen) = (Vec::new(), 0);
    for source in &sources() {
        let first = source.path.iter().next().unwrap().to_string_lossy();
        let module = first.trim_end_matches(".rs");
        let Some(rank) = rank_of(module) else { continue };
        for (number, line) in source.code() {
            for name in line.split("crate::").skip(1) {
                let named: &str = name.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or_default();
                seen += usize::from(rank_of(named).is_some());
                // of names in braces only the first could be read here
                if name.starts_with('{') || named != module && rank_of(named).is_some_and(|other| other >= rank) {
                    broken.push(format!("{}:{number}: {line}", source.path.display()));
                }
            }
        }
    }
    assert!(seen > 50, "only {seen} names of modules");
    none("knows a module beside it or above it", broken);
}

#[test]
fn wet_film_sight_and_zones_are_computed_by_the_appraisal_alone() {
    let words = ["Wetness::of", "Wetting::", "Mapping::new", "cells_in("];
    let core = |source: &&Source| {
        let below = ["film", "colour", "formats", "appraisal", "appraisal.rs", "cards.rs"];
        !below.iter().any(|folder| source.path.starts_with(folder))
    };
    let mut broken = Vec::new();
    for source in sources().iter().filter(core) {
        for (number, line) in source.code() {
            if words.iter().any(|word| line.contains(word)) {
                broken.push(format!("{}:{number}: {line}", source.path.display()));
            }
        }
    }
    none("computes anew what the appraisal holds", broken);
}
