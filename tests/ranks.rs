//! The house rules of the source: who may know whom, where chance and the browser may come in, how files begin and
//! how long they are. Reads the text of `src`; does not build it.

use std::fs;
use std::path::{Path, PathBuf};

/// The modules of the crate by rank, as the crate's own page lists them; a module knows only lower ranks.
const RANKS: [&[&str]; 11] = [
    &["units", "maths", "error", "json"],
    &["gun", "panel", "colour"],
    &["strokes", "film", "wet"],
    &["appraisal"],
    &["job"],
    &["rehearsal"],
    &["report", "words", "picture"],
    &["cards", "findings", "practice"],
    &["causes", "advice"],
    &["sheet"],
    &["web"],
];
/// Modules of one rank of which the first knows the second: a report is said in words and drawn in pictures, a fault of a
/// text is a problem.
const NEIGHBOURS: [(&str, &str); 3] = [("words", "report"), ("picture", "report"), ("json", "error")];
/// Files longer than this are to be divided.
const MOST_LINES: usize = 600;
/// Functions that differ between machines; `maths` has their equals.
const TRANSCENDENTAL: &str = "sin cos tan asin acos atan atan2 sin_cos sinh cosh tanh asinh acosh atanh exp exp2 \
                              exp_m1 ln ln_1p log log2 log10 powf powi cbrt hypot mul_add";

struct Source {
    path: PathBuf,
    /// First part of its path under `src`, without `.rs`.
    module: String,
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
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
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
            let module = inside.iter().next().unwrap().to_string_lossy().trim_end_matches(".rs").to_string();
            found.push(Source { text: fs::read_to_string(&path).unwrap(), path: inside, module });
        }
    }
}

fn rank(module: &str) -> Option<usize> {
    RANKS.iter().position(|modules| modules.contains(&module))
}

/// The modules named after every `crate::` of a line: `crate::a::b`, `crate::{a, b::c}`.
fn named(line: &str) -> Vec<String> {
    let word = |text: &str| text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    line.split("crate::")
        .skip(1)
        .flat_map(|rest| match rest.strip_prefix('{') {
            None => vec![word(rest)],
            Some(list) => list.split('}').next().unwrap_or("").split(',').map(|part| word(part.trim())).collect(),
        })
        .filter(|name| !name.is_empty())
        .collect()
}

fn may_know(who: &str, whom: &str) -> bool {
    who == whom || rank(whom) < rank(who) || NEIGHBOURS.contains(&(who, whom))
}

/// Fails with all places at which a rule is broken.
fn none(rule: &str, broken: Vec<String>) {
    assert!(broken.is_empty(), "{rule}:\n{}", broken.join("\n"));
}

#[test]
fn every_module_has_a_rank() {
    let outside = ["lib", "main", "cli"];
    let unknown = sources().into_iter().map(|source| source.module);
    let unknown = unknown.filter(|module| rank(module).is_none() && !outside.contains(&module.as_str()));
    none("modules without a rank", unknown.collect());
    for module in RANKS.iter().flat_map(|modules| modules.iter()) {
        assert!(sources().iter().any(|source| source.module == *module), "{module} has a rank and no file");
    }
}

#[test]
fn the_crates_page_lists_the_same_ranks() {
    let page = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let page: String = page.lines().filter_map(|line| line.strip_prefix("//!")).collect::<Vec<_>>().join(" ");
    let mut from = page.find("The ranks").expect("the page speaks of ranks");
    for modules in RANKS {
        let places = modules.iter().map(|module| {
            let word = |(at, _): &(usize, &str)| {
                let (before, after) = (page[..*at].chars().last(), page[at + module.len()..].chars().next());
                ![before, after].iter().any(|c| c.is_some_and(|c| c.is_alphanumeric() || c == '_'))
            };
            let at = page.match_indices(module).filter(|(at, _)| *at >= from).find(word);
            at.unwrap_or_else(|| panic!("{module} is not listed in its place")).0
        });
        from = places.max().unwrap();
    }
}

#[test]
fn a_module_knows_only_lower_ranks() {
    let mut broken = Vec::new();
    for source in sources().iter().filter(|source| rank(&source.module).is_some()) {
        for (number, line) in source.code() {
            let known = named(line).into_iter().filter(|name| rank(name).is_some());
            broken.extend(
                known
                    .filter(|name| !may_know(&source.module, name))
                    .map(|name| format!("{}:{number} knows {name}", source.path.display())),
            );
        }
    }
    none("knows what it must not", broken);
}

#[test]
fn nothing_reaches_over_its_own_module_with_super() {
    let mut broken = Vec::new();
    for source in sources().iter().filter(|source| source.path.iter().count() == 1 && source.module != "lib") {
        let reached = source.code().filter(|(_, line)| line.contains("super::") && !line.contains("super::*"));
        broken.extend(reached.map(|(number, _)| format!("{}:{number}", source.path.display())));
    }
    for source in sources() {
        let reached = source.code().filter(|(_, line)| line.contains("super::super::"));
        broken.extend(reached.map(|(number, _)| format!("{}:{number}", source.path.display())));
    }
    none("`super` out of a module: write `crate::`", broken);
}

#[test]
fn only_the_page_has_heard_of_a_browser() {
    let mut broken = Vec::new();
    for source in sources().iter().filter(|source| source.module != "web") {
        for (number, line) in source.code() {
            // the builder of the page names the tool of that name; it is no part of the core
            let builder = source.module == "cli" && !line.contains("wasm_bindgen::");
            let heard = ["web_sys", "js_sys", "wasm_bindgen"].iter().any(|word| line.contains(word));
            if heard && !builder {
                broken.push(format!("{}:{number}: {line}", source.path.display()));
            }
        }
    }
    none("has heard of a browser", broken);
}

#[test]
fn only_the_command_line_touches_files_clocks_and_the_network() {
    let mut broken = Vec::new();
    for source in sources().iter().filter(|source| !matches!(source.module.as_str(), "cli" | "main")) {
        for (number, line) in source.code() {
            let words =
                ["std::fs", "std::net", "std::env", "std::time", "std::thread", "std::process", "println!", "HashMap"];
            if words.iter().any(|word| line.contains(word)) && source.module != "web" {
                broken.push(format!("{}:{number}: {line}", source.path.display()));
            }
        }
    }
    none("does what only the command line does, or what falls differently every time", broken);
}

#[test]
fn chance_is_asked_by_the_page_or_the_command_line_only() {
    let (mut broken, mut asked, mut drawn) = (Vec::new(), 0, 0);
    for source in sources() {
        for (number, line) in source.code() {
            let (asks, draws) = (line.contains("getrandom"), line.contains("rand_pcg"));
            asked += usize::from(asks);
            drawn += usize::from(draws);
            // what follows from a seed is the hand's, and the same everywhere
            let allowed =
                (!asks || matches!(source.module.as_str(), "web" | "cli")) && (!draws || source.module == "strokes");
            if !allowed || line.contains("rand::") {
                broken.push(format!("{}:{number}: {line}", source.path.display()));
            }
        }
    }
    none("asks chance where it must not", broken);
    assert!(asked > 0 && drawn > 0, "asked {asked} times, drawn {drawn} times");
}

#[test]
fn transcendental_functions_come_from_maths() {
    let mut broken = Vec::new();
    for source in sources().iter().filter(|source| source.module != "maths") {
        for (number, line) in source.code() {
            let called = TRANSCENDENTAL.split_whitespace().find(|name| {
                let method = format!(".{name}(");
                // a function of a module, such as `maths::log(` or `console::log_1(`, is not a method of a number
                let path = [format!("f64::{name}"), format!("f32::{name}")];
                line.contains(&method) || path.iter().any(|path| line.contains(path.as_str()))
            });
            broken.extend(called.map(|name| format!("{}:{number} calls {name}: {line}", source.path.display())));
        }
    }
    none("differs between machines", broken);
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
