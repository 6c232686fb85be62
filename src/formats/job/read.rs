//! Reading a job: JSON, every key known, every value within the limits of the inputs table, missing keys filled with
//! their defaults, then what only the whole job can tell. Has never heard of where the text came from.

use super::inputs::{INPUTS, Input, Kind, Range, plain_number, section};
use super::{GroundKind, Job, Role, VERSION, cards, limits, spectra, tracks};
use crate::job::Files;
use fanlap_film::error::Problem;
use serde_json::{Map, Value, json};

/// Largest file that is read, be it a job, what a job names, a lesson or an attempt: room for a hundred measured spectra.
pub const LARGEST_BYTES: usize = 2_000_000;

/// Parses the text of a job file.
pub(super) fn parse(text: &str) -> Result<Value, Problem> {
    if text.len() > LARGEST_BYTES {
        let allowed = format!("up to {LARGEST_BYTES} bytes");
        let remedy = "Check that it is a job file; move long spectra into CSV files beside it.";
        return Err(Problem::new("job file", format!("{} bytes", text.len()), allowed, remedy));
    }
    crate::json::read("job file", text)
}

/// Checks a parsed job file and makes a job of it.
pub(super) fn job(mut value: Value, files: &Files) -> Result<Job, Problem> {
    let whole = object(&mut value, "job file")?;
    version(whole)?;
    known_keys(whole, "", &top_keys())?;
    fill(whole, "", "")?;
    for name in ["panel", "gun", "viewing", "hand"] {
        fill(object(whole.entry(name).or_insert(json!({})), name)?, name, name)?;
    }
    target(whole.entry("target").or_insert(json!({})))?;
    list(whole, "paints", json!([{}]))?;
    list(whole, "coats", json!([]))?;
    tracks::check(whole)?;
    spectra::resolve(whole, files)?;
    cards::resolve(whole, files)?;
    let job: Job = serde_json::from_value(value).map_err(|error| {
        Problem::new("job file", error.to_string(), "a job as assets/docs/job-file.md describes it", "Mend it.")
    })?;
    together(&job)?;
    Ok(job)
}

/// A path that no input has, refused by name with the nearest of the keys known at its place.
pub(super) fn unknown(path: &str, known: &[&str]) -> Problem {
    let key = path.rsplit('.').next().unwrap_or(path);
    // a key of a hundred letters is no slip of the pen
    let nearest = known.iter().filter(|_| key.len() < 100).min_by_key(|known| distance(known, key));
    let elsewhere = INPUTS.iter().find(|input| input.key() == key).and_then(|input| input.path.rsplit_once('.'));
    let remedy = match (nearest, elsewhere) {
        (_, Some((section, _))) => format!("It belongs to {section}."),
        (Some(near), _) if distance(near, key) <= 3 => format!("Did you mean {near}?"),
        _ => "Remove it; `fanlap inputs` lists every key.".to_string(),
    };
    Problem::new(path, "an unknown key", "only the keys of a job file", remedy)
}

fn version(whole: &mut Map<String, Value>) -> Result<(), Problem> {
    match whole.get("fanlap_job") {
        Some(version) if version.as_u64() == Some(VERSION) => Ok(()),
        Some(other) => {
            let remedy = "Open it with the version of this program that wrote it.";
            Err(Problem::new("fanlap_job", other.to_string(), VERSION.to_string(), remedy))
        }
        None => {
            let remedy = "Check that it is a job file; the key tells its version.";
            Err(Problem::new("fanlap_job", "nothing", VERSION.to_string(), remedy))
        }
    }
}

fn top_keys() -> Vec<&'static str> {
    let known = ["fanlap_job", "title", "panel", "gun", "paints", "ground", "target", "viewing", "coats", "hand"];
    known.into_iter().chain(["cards", "car", "measured", "test_card"]).collect()
}

fn known_keys(map: &Map<String, Value>, path: &str, known: &[&str]) -> Result<(), Problem> {
    match map.keys().find(|key| !known.contains(&key.as_str())) {
        Some(key) => Err(unknown(&join(path, key), known)),
        None => Ok(()),
    }
}

/// Checks every value of a section and fills in what is missing. `path` says where, `pattern` which section it is.
pub(super) fn fill(map: &mut Map<String, Value>, path: &str, pattern: &str) -> Result<(), Problem> {
    let inputs: Vec<&Input> = match pattern {
        "" => INPUTS.iter().filter(|input| !input.path.contains('.')).collect(),
        _ => section(pattern).collect(),
    };
    if !pattern.is_empty() {
        known_keys(map, path, &inputs.iter().map(|input| input.key()).collect::<Vec<_>>())?;
    }
    for input in inputs {
        match (map.get_mut(input.key()), input.default_value()) {
            (Some(value), _) => {
                check(input, &join(path, input.key()), value)?;
                // 10.0 is 10, also where the job keeps a whole number
                if let Some(number) = value.as_f64() {
                    *value = plain_number(number);
                }
            }
            (None, Some(default)) => {
                map.insert(input.key().to_string(), default);
            }
            (None, None) => {}
        }
    }
    Ok(())
}

/// A list of sections; a single default where it is missing.
fn list(whole: &mut Map<String, Value>, name: &str, missing: Value) -> Result<(), Problem> {
    let value = whole.entry(name).or_insert(missing);
    let Value::Array(items) = value else {
        return Err(Problem::new(name, short(value), "a list [ ... ]", "Put the items into square brackets."));
    };
    let most = limits::LIMITS.items;
    if items.len() > most {
        let remedy = "Split the job; the limit keeps a file from exhausting the machine.";
        return Err(Problem::new(name, format!("{} items", items.len()), format!("up to {most}"), remedy));
    }
    for (i, item) in items.iter_mut().enumerate() {
        let path = format!("{name}[{i}]");
        fill(object(item, &path)?, &path, &format!("{name}[]"))?;
    }
    Ok(())
}

/// A film or a colour, not both; the default film if neither.
fn target(value: &mut Value) -> Result<(), Problem> {
    let map = object(value, "target")?;
    known_keys(map, "target", &["film_um", "lab"])?;
    match (map.get("film_um"), map.get("lab")) {
        (Some(_), Some(_)) => {
            Err(Problem::new("target", "film_um and lab", "one of them", "Remove the one that is not aimed at."))
        }
        (None, Some(lab)) => cards::check_lab(lab, "target.lab"),
        _ => fill(map, "target", "target"),
    }
}

/// Checks one value against its input.
fn check(input: &Input, path: &str, value: &Value) -> Result<(), Problem> {
    match &input.kind {
        Kind::Number(range) => check_number(input, range, path, value),
        Kind::Choice(options, _) => {
            let known = options.iter().any(|(json, _)| same(&serde_json::from_str(json).unwrap_or_default(), value));
            let allowed = options.iter().map(|(json, _)| *json).collect::<Vec<_>>().join(", ");
            let remedy = format!("Choose one of these for {}.", input.name);
            if known { Ok(()) } else { Err(Problem::new(path, short(value), allowed, remedy)) }
        }
        Kind::Flag(_) if value.is_boolean() => Ok(()),
        Kind::Flag(_) => Err(Problem::new(path, short(value), "true or false", "Write it without quotes.")),
        Kind::Text(_) => match value.as_str() {
            Some(text)
                if !text.trim().is_empty() && text.chars().count() <= 200 && !text.contains(char::is_control) =>
            {
                Ok(())
            }
            _ => {
                let allowed = "a text of 1 to 200 characters on one line";
                Err(Problem::new(path, short(value), allowed, "Put it into quotes."))
            }
        },
        Kind::Form(_) => Ok(()),
    }
}

/// Equal, whether written 45 or 45.0.
pub(super) fn same(a: &Value, b: &Value) -> bool {
    a == b || (a.is_number() && a.as_f64() == b.as_f64())
}

fn check_number(input: &Input, range: &Range, path: &str, value: &Value) -> Result<(), Problem> {
    if range.none.is_some() && value.is_null() {
        return Ok(());
    }
    let whole_only = path.ends_with(".seed");
    match value.as_f64() {
        Some(x) if x >= range.least && x <= range.most && !(whole_only && x.fract() != 0.0) => Ok(()),
        _ => Err(Problem::new(path, short(value), allowed(range), remedy(input, range))),
    }
}

/// The limits of a number in words.
pub(super) fn allowed(range: &Range) -> String {
    let unit = range.unit.in_file();
    let limits = if range.least == range.most {
        format!("{}", range.least)
    } else {
        format!("{} to {}", range.least, range.most)
    };
    let limits = if unit.is_empty() { limits } else { format!("{limits} {unit}") };
    match range.none {
        Some(meaning) => format!("{limits}, or null ({meaning})"),
        None => limits,
    }
}

fn remedy(input: &Input, range: &Range) -> String {
    if range.least == range.most {
        input.hint.to_string()
    } else {
        format!("Change {} to a value within this range.", input.name)
    }
}

/// What only the whole job can tell.
fn together(job: &Job) -> Result<(), Problem> {
    for (i, paint) in job.paints.iter().enumerate() {
        if job.paints[..i].iter().any(|other| other.name == paint.name) {
            let remedy = "Give each paint a name of its own.";
            return Err(Problem::new(format!("paints[{i}].name"), &paint.name, "a name used once", remedy));
        }
    }
    for (i, coat) in job.coats.iter().enumerate() {
        if !job.paints.iter().any(|paint| paint.name == coat.paint) {
            let names = job.paints.iter().map(|paint| paint.name.as_str()).collect::<Vec<_>>().join(", ");
            let names = if names.is_empty() { "no paint: the job has none".to_string() } else { names };
            let remedy = "Name one of the job's paints.";
            return Err(Problem::new(format!("coats[{i}].paint"), &coat.paint, names, remedy));
        }
        let nearest = coat.distance.0 + job.hand.distance_error.0;
        if nearest < 30.0 {
            let remedy = "Make the distance or the error larger.";
            let given = format!("{} mm with hand.distance_error_mm {}", coat.distance.0, job.hand.distance_error.0);
            return Err(Problem::new(format!("coats[{i}].distance_mm"), given, "together at least 30 mm", remedy));
        }
    }
    base_first(job)?;
    looked_at(job)?;
    limits::check(job)
}

/// A base lies under the tinted clear, and there is one of each at most.
fn base_first(job: &Job) -> Result<(), Problem> {
    for (role, words) in [(Role::TintedClear, "tinted clears"), (Role::Base, "bases")] {
        if job.paints.iter().filter(|paint| paint.role == role).count() > 1 {
            let remedy = format!("The colour of two {words} over each other is not computed in this version.");
            return Err(Problem::new("paints", format!("two {words}"), "at most one", remedy));
        }
    }
    let role = |coat| job.paints[job.paint_of(coat)].role;
    let tinted = job.coats.iter().position(|coat| role(coat) == Role::TintedClear).unwrap_or(job.coats.len());
    match job.coats.iter().skip(tinted).position(|coat| role(coat) == Role::Base) {
        None => Ok(()),
        Some(after) => {
            let at = format!("coats[{}].paint", tinted + after);
            let remedy = "Spray the base first; a base over the tinted clear would hide it.";
            Err(Problem::new(at, "a base after the tinted clear", "base coats before tinted ones", remedy))
        }
    }
}

/// The angle must be one at which base and ground were measured.
fn looked_at(job: &Job) -> Result<(), Problem> {
    let angle = job.viewing.aspecular;
    let bases = job.paints.iter().filter_map(|paint| Some((paint.kind, paint.reflectance.as_ref()?)));
    for (kind, measured) in bases.chain([(job.ground.kind, &job.ground.reflectance)]) {
        if kind == GroundKind::Effect && measured.at(angle).is_none() {
            let angles: Vec<String> = measured.0.iter().map(|(angle, _)| angle.0.to_string()).collect();
            let given = angle.0.to_string();
            let remedy = format!(
                "The base was measured at {} degrees only; measure it at {given} too, as a card of 0 coats, to see it there.",
                angles.join(", ")
            );
            return Err(Problem::new("viewing.aspecular_deg", given, angles.join(", "), remedy));
        }
    }
    Ok(())
}

pub(super) fn object<'a>(value: &'a mut Value, at: &str) -> Result<&'a mut Map<String, Value>, Problem> {
    let given = short(value);
    value.as_object_mut().ok_or_else(|| Problem::new(at, given, "an object { ... }", "Put its keys into braces."))
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_string() } else { format!("{path}.{key}") }
}

/// A value as the person wrote it, not longer than a line.
pub(super) fn short(value: &Value) -> String {
    let text = value.to_string();
    if text.chars().count() <= 60 { text } else { text.chars().take(57).collect::<String>() + "..." }
}

/// Edit distance between two words (Levenshtein).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = std::mem::replace(&mut row[0], i + 1);
        for (j, y) in b.iter().enumerate() {
            let changed = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}
