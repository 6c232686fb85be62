//! `inputs`: the table of inputs for a person to read, as a list or as Markdown. Checks nothing.

use fanlap::job::inputs::{INPUTS, Input, Kind, Range, Unit};

/// A key on a line, what it takes, and below it what it is.
pub fn list() -> String {
    let entry = |input: &Input| {
        let takes = match default(input) {
            Some(default) => format!("{}, default {default}", takes(input)),
            None => takes(input),
        };
        format!("{:<30} {takes}\n{:<30} {}: {}\n", input.path, "", input.name, input.hint)
    };
    INPUTS.iter().map(entry).collect()
}

/// The same as a table for each section of the job file.
pub fn markdown() -> String {
    let mut sections: Vec<(&str, String)> = Vec::new();
    for input in INPUTS {
        let section = input.path.rsplit_once('.').map_or("", |(section, _)| section);
        match sections.iter_mut().find(|(name, _)| *name == section) {
            Some((_, rows)) => *rows += &row(input),
            None => sections.push((section, row(input))),
        }
    }
    let table = |(name, rows): (&str, String)| {
        let heading = if name.is_empty() { "The whole job".to_string() } else { code(name.to_string()) };
        format!("### {heading}\n\n| key | takes | default | what it is |\n|---|---|---|---|\n{rows}\n")
    };
    sections.into_iter().map(table).collect()
}

fn row(input: &Input) -> String {
    let default = default(input).map(code).unwrap_or_default();
    let takes = if matches!(input.kind, Kind::Form(_)) { code(takes(input)) } else { takes(input) };
    let cells = [code(input.key().to_string()), takes, default, format!("{}. {}", input.name, input.hint)];
    format!("| {} |\n", cells.map(|cell| cell.replace('|', "\\|")).join(" | "))
}

fn code(text: String) -> String {
    format!("`{text}`")
}

/// What an input takes, in words.
fn takes(input: &Input) -> String {
    match input.kind {
        Kind::Number(range) => number(&range),
        Kind::Choice(options, _) => options.iter().map(|(value, _)| *value).collect::<Vec<_>>().join(", "),
        Kind::Flag(_) => "true or false".to_string(),
        Kind::Text(_) => "text".to_string(),
        Kind::Form(takes) => takes.to_string(),
    }
}

fn number(range: &Range) -> String {
    let unit = if range.unit == Unit::Plain { "" } else { range.unit.in_file() };
    let limits = format!("{} to {} {unit}", range.least, range.most);
    match range.none {
        Some(meaning) => format!("{}, or null: {meaning}", limits.trim_end()),
        None => limits.trim_end().to_string(),
    }
}

fn default(input: &Input) -> Option<String> {
    input.default_value().map(|value| value.to_string())
}
