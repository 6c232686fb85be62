//! The house rules of the source that neither Cargo nor a lint holds: how files begin and how long they are, that the core
//! touches no files, clocks or threads of its own, and that no place of the page knows another. Reads the text of `src`;
//! does not build it.

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

/// Folders of the page, those below first: a folder knows those before it and itself. The places know no other place.
const BELOW: [&str; 3] = ["parts", "shell", "figure"];

/// The files of the page, each with the files it names by `crate::`: paths without their ending.
fn page_imports() -> Vec<(String, Vec<String>)> {
    let of_page = |source: &Source| source.path.starts_with("page");
    let sources: Vec<Source> = sources().into_iter().filter(of_page).collect();
    let name = |source: &Source| {
        let inside = source.path.strip_prefix("page").unwrap().with_extension("");
        inside.to_string_lossy().replace('\\', "/")
    };
    let names: Vec<String> = sources.iter().map(name).collect();
    assert!(names.len() > 40, "only {} files of the page", names.len());
    let file = |path: &str| {
        // the longest beginning of a path that is a file
        let parts: Vec<&str> = path.split("::").collect();
        let known = (1..=parts.len()).rev().map(|count| parts[..count].join("/"));
        known.into_iter().find(|path| names.contains(path)).unwrap_or("lib".to_string())
    };
    let imports = |source: &Source| {
        let code: String = source.code().map(|(_, line)| line.to_string() + " ").collect();
        let mut named: Vec<String> = code.split("crate::").skip(1).flat_map(paths).map(|path| file(&path)).collect();
        named.sort();
        named.dedup();
        named
    };
    sources.iter().map(|source| (name(source), imports(source))).collect()
}

/// The paths that begin here: one, or those of a list in braces.
fn paths(text: &str) -> Vec<String> {
    let end = text.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':')).unwrap_or(text.len());
    let (path, rest) = text.split_at(end);
    let Some(list) = rest.strip_prefix('{').filter(|_| path.is_empty() || path.ends_with("::")) else {
        return vec![path.to_string()];
    };
    let (mut depth, mut each) = (0, vec![String::new()]);
    for c in list.chars() {
        match c {
            '}' if depth == 0 => break,
            ',' if depth == 0 => each.push(String::new()),
            c => {
                depth += i32::from(c == '{') - i32::from(c == '}');
                each.last_mut().unwrap().push(c);
            }
        }
    }
    each.iter().flat_map(|one| paths(one.trim())).map(|one| format!("{path}{one}")).collect()
}

fn folder(file: &str) -> &str {
    file.split('/').next().unwrap_or(file)
}

#[test]
fn no_place_of_the_page_knows_another() {
    let mut broken = Vec::new();
    for (file, named) in page_imports().iter().filter(|(file, _)| file != "lib") {
        let own = folder(file);
        let rank = |folder: &str| BELOW.iter().position(|below| *below == folder).unwrap_or(BELOW.len());
        for other in named {
            let of = folder(other);
            if of == "lib" || (of != own && rank(of) >= rank(own)) {
                broken.push(format!("{file}.rs names {other}.rs"));
            }
        }
    }
    none("a place of the page knows another, or what lies below it knows a place", broken);
}

#[test]
fn no_more_than_two_files_of_the_page_know_each_other() {
    let imports = page_imports();
    let index = |file: &String| imports.iter().position(|(name, _)| name == file);
    let arrows: Vec<Vec<usize>> = imports.iter().map(|(_, named)| named.iter().filter_map(index).collect()).collect();
    let reaches = |from: usize| {
        let (mut seen, mut left) = (vec![false; arrows.len()], arrows[from].clone());
        while let Some(file) = left.pop() {
            if !std::mem::replace(&mut seen[file], true) {
                left.extend(&arrows[file]);
            }
        }
        seen
    };
    let reached: Vec<Vec<bool>> = (0..arrows.len()).map(reaches).collect();
    let circle = |file: usize| -> Vec<usize> {
        (0..arrows.len()).filter(|other| reached[file][*other] && reached[*other][file]).collect()
    };
    let mut circles: Vec<Vec<usize>> = (0..arrows.len()).map(circle).filter(|circle| circle.len() > 2).collect();
    circles.sort();
    circles.dedup();
    let words =
        |circle: Vec<usize>| circle.iter().map(|file| imports[*file].0.clone() + ".rs").collect::<Vec<_>>().join(", ");
    none("files of the page that know each other in a circle", circles.into_iter().map(words).collect());
}
