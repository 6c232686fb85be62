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

/// Widest line of the page's code, letters.
const WIDEST: usize = 120;
/// Longest function of the page, lines.
const LONGEST: usize = 60;

#[test]
fn no_line_of_the_page_is_wider_than_a_screen() {
    let code = sources().into_iter().filter(|source| source.path.starts_with("page"));
    let www = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../www"));
    let files = fs::read_dir(www).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file());
    let www = files.filter_map(|path| fs::read_to_string(&path).ok().map(|text| Source { text, path }));
    let (mut wide, mut lines) = (Vec::new(), 0);
    for source in code.chain(www) {
        for (i, line) in source.text.lines().enumerate() {
            lines += 1;
            // an attribute's value has no place where it could be divided
            let attribute = line.trim_start().split_once("=\"").is_some_and(|(name, _)| !name.contains(['<', ' ']));
            if line.chars().count() > WIDEST && !attribute {
                wide.push(format!("{}:{}: {}", source.path.display(), i + 1, line.chars().count()));
            }
        }
    }
    assert!(lines > 10_000, "only {lines} lines of the page");
    none("wider than 120 letters", wide);
}

#[test]
fn no_function_of_the_page_is_too_long() {
    let (mut long, mut functions) = (Vec::new(), 0);
    for source in sources().iter().filter(|source| source.path.starts_with("page")) {
        let lines: Vec<&str> = source.text.lines().collect();
        for (i, line) in lines.iter().enumerate() {
            let indent = &line[..line.len() - line.trim_start().len()];
            let mut words = line.split_whitespace().skip_while(|word| word.starts_with("pub"));
            if words.next() != Some("fn") || line.ends_with(';') || line.ends_with('}') {
                continue;
            }
            functions += 1;
            let end = format!("{indent}}}");
            let length = 1 + lines[i..].iter().position(|line| *line == end).unwrap_or(0);
            if length > LONGEST {
                long.push(format!("{}:{}: {length} lines", source.path.display(), i + 1));
            }
        }
    }
    assert!(functions > 500, "only {functions} functions of the page");
    none("longer than 60 lines", long);
}

#[test]
fn the_page_changes_with_its_window_at_known_widths_only() {
    let www = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../www"));
    let styles: Vec<PathBuf> = fs::read_dir(www)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "css") && !path.ends_with("sheet.css"))
        .collect();
    let table = fs::read_to_string(www.join("base.css")).unwrap();
    let table = table.split_once("*/").unwrap().0.to_string();
    let (mut unknown, mut queries) = (Vec::new(), 0);
    for path in &styles {
        for part in fs::read_to_string(path).unwrap().split("-width: ").skip(1) {
            let Some((width, rest)) = part.split_once("px)") else { continue };
            let Ok(width) = width.parse::<u32>() else { continue };
            // below a width means: up to one less
            let known = [width, width + 1].map(|width| format!(" {width} "));
            let small = format!("{width},");
            queries += usize::from(rest.trim_start().starts_with(['{', 'a']));
            if !known.iter().any(|known| table.contains(known)) && !table.contains(&small) {
                unknown.push(format!("{}: {width} px", path.display()));
            }
        }
    }
    assert!(queries > 10, "only {queries} media queries");
    none("no width of the table of breakpoints in base.css", unknown);
}

#[test]
fn every_element_the_page_asks_for_by_name_stands_in_its_document() {
    let www = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../www"));
    let document = ["index.html", "help.html"].map(|file| fs::read_to_string(www.join(file)).unwrap()).concat();
    let calls = ["by_id(", "input(", "select(", "template(", "off(", "canvas(", "click(", "change(", "slide("];
    let (mut missing, mut asked) = (Vec::new(), 0);
    for source in sources().iter().filter(|source| source.path.starts_with("page")) {
        for (number, line) in source.code() {
            for call in calls {
                for rest in line.split(&format!("{call}\"")).skip(1) {
                    let id = rest.split('"').next().unwrap_or_default();
                    // of an input of the job the path is given
                    if id.contains(['{', '.', '[']) {
                        continue;
                    }
                    asked += 1;
                    if !document.contains(&format!("id=\"{id}\"")) {
                        missing.push(format!("{}:{number}: {id}", source.path.display()));
                    }
                }
            }
        }
    }
    assert!(asked > 200, "only {asked} elements by their name");
    none("asked for, but not in www/index.html", missing);
}
