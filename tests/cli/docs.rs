//! The documentation against the program: the tables of inputs, the commands and their options, the jobs that are shown,
//! and whether what a page points at is there. Judges no words.

use super::*;

fn root() -> PathBuf {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).to_path_buf()
}

fn page(name: &str) -> String {
    fs::read_to_string(root().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// The pages for people: the front page, those beside it and all under `assets/docs`.
fn pages() -> Vec<String> {
    let docs = names(&root().join("assets/docs"));
    let docs = docs.iter().filter(|name| name.ends_with(".md")).map(|name| format!("assets/docs/{name}"));
    ["README.md", "DEVELOPERS.md"].into_iter().map(String::from).chain(docs).collect()
}

fn help(arguments: &[&str]) -> String {
    let run = run(&root(), &[arguments, &["--help"]].concat());
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    run.out
}

#[test]
fn the_tables_of_the_job_file_are_those_of_the_program() {
    let text = page("assets/docs/job-file.md");
    let (_, rest) = text.split_once("<!-- inputs -->\n").expect("where they begin");
    let (tables, _) = rest.split_once("<!-- inputs end -->").expect("where they end");
    let run = run(&root(), &["inputs", "--markdown"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    assert!(tables.trim() == run.out.trim(), "put the output of `fanlap inputs --markdown` between the two marks");
    for input in INPUTS {
        assert!(run.out.contains(&format!("| `{}` | ", input.key())), "{}", input.path);
    }
}

/// The commands that the help lists.
fn commands() -> BTreeSet<String> {
    let help = help(&[]);
    let (_, rest) = help.split_once("Commands:\n").unwrap();
    let listed = rest.lines().take_while(|line| !line.is_empty()).filter(|line| line.starts_with("  "));
    let named = listed.filter_map(|line| line.strip_prefix("  ")?.split(' ').next()).filter(|name| !name.is_empty());
    named.filter(|name| *name != "help").map(String::from).collect()
}

/// The options that a help lists.
fn options(help: &str) -> BTreeSet<String> {
    let (_, rest) = help.split_once("Options:\n").unwrap();
    let words = rest.lines().filter_map(|line| line.trim_start().trim_start_matches("-h, ").split([' ', '=']).next());
    let long = words.filter(|word| word.starts_with("--") && !matches!(*word, "--help" | "--version"));
    long.map(String::from).collect()
}

/// The words of a cell in backticks.
fn quoted(cell: &str) -> Vec<String> {
    cell.split('`').skip(1).step_by(2).map(String::from).collect()
}

/// The rows of the table under a heading.
fn rows<'a>(text: &'a str, first: &str) -> Vec<Vec<&'a str>> {
    let table = text.lines().skip_while(|line| !line.starts_with(&format!("| {first} |"))).skip(2);
    table
        .take_while(|line| line.starts_with('|'))
        .map(|line| line.split('|').skip(1).map(str::trim).collect())
        .collect()
}

#[test]
fn the_page_on_the_command_line_lists_every_command_and_every_option_of_each() {
    let text = page("assets/docs/command-line.md");
    let told: BTreeSet<String> =
        rows(&text, "command").iter().filter_map(|row| quoted(row[0])[0].split(' ').nth(1).map(String::from)).collect();
    assert_eq!(told, commands());
    let mut told = BTreeSet::new();
    for row in rows(&text, "option") {
        let option = quoted(row[0])[0].clone();
        let of = if row[1] == "the page" { vec![String::new()] } else { quoted(row[1]) };
        told.extend(of.into_iter().map(|command| (command, option.clone())));
    }
    let with = |command: &str, help: String| -> Vec<(String, String)> {
        options(&help).into_iter().map(|option| (command.to_string(), option)).collect()
    };
    let mut offered: BTreeSet<_> = with("", help(&[])).into_iter().collect();
    for command in commands() {
        offered.extend(with(&command, help(&[&command])));
    }
    assert_eq!(told, offered);
}

/// The blocks of a page in a language.
fn blocks(text: &str, language: &str) -> Vec<String> {
    let mark = format!("```{language}\n");
    let parts = text.split(&mark).skip(1);
    parts.map(|part| part.split("```").next().unwrap().to_string()).collect()
}

#[test]
fn the_jobs_that_are_shown_are_taken() {
    let blocks = blocks(&page("assets/docs/job-file.md"), "json");
    let folder = tempfile::tempdir().unwrap();
    // a format is told by its content, not by the name
    let measured = root().join("tests/data/colour/measured/by_wavelength.csv");
    fs::copy(measured, folder.path().join("base.cxf")).unwrap();
    let mut taken = 0;
    for block in &blocks {
        let mut shown: Value =
            serde_json::from_str(&block.replace("[...]", "[]")).unwrap_or_else(|e| panic!("{e}: {block}"));
        if shown.get("samples").is_some() {
            shown = job(json!({ "coats": [{ "track": shown }] }));
        }
        fs::write(folder.path().join("job.json"), shown.to_string()).unwrap();
        let run = run(folder.path(), &["check", "job.json"]);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{block}");
        taken += 1;
    }
    assert_eq!(taken, 3);
}

#[test]
fn the_error_that_is_shown_is_what_such_a_line_gets() {
    let shown = blocks(&page("assets/docs/many-jobs.md"), "json").remove(0);
    let line = json!({ "fanlap_job": 1, "coats": [{}, { "overlap": 1.4 }] });
    let run = run_with(&root(), &["rehearse", "-"], format!("\n\n{line}\n").into_bytes());
    assert_eq!(run.out, shown);
}

/// How a heading is called in a link.
fn anchor(heading: &str) -> String {
    let plain = heading.trim_start_matches('#').trim().to_lowercase();
    plain.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c)).collect::<String>().replace(' ', "-")
}

#[test]
fn what_a_page_points_at_is_there() {
    let mut looked = 0;
    for name in pages() {
        let text = page(&name);
        let folder = root().join(&name).parent().unwrap().to_path_buf();
        for target in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            if target.contains("://") {
                continue;
            }
            let (file, place) = target.split_once('#').unwrap_or((target, ""));
            let path = if file.is_empty() { root().join(&name) } else { folder.join(file) };
            assert!(path.exists(), "{name}: {target}");
            if !place.is_empty() {
                let there = fs::read_to_string(&path).unwrap();
                let found = there.lines().any(|line| line.starts_with('#') && anchor(line) == place);
                assert!(found, "{name}: {target}");
            }
            looked += 1;
        }
    }
    assert!(looked > 10, "only {looked} links");
}

#[test]
fn lines_of_prose_are_short_enough_to_compare() {
    let mut long = Vec::new();
    for name in pages() {
        let mut code = false;
        for (number, line) in page(&name).lines().enumerate() {
            code ^= line.starts_with("```");
            // a table's row cannot be broken
            if !code && !line.starts_with('|') && line.chars().count() > 120 && !line.starts_with("![") {
                long.push(format!("{name}:{}", number + 1));
            }
        }
    }
    assert!(long.is_empty(), "more than 120 characters: {}", long.join(", "));
}
