//! Reads measured colours from CGATS.17 text (ANSI CGATS.17, ISO 28178; keywords and fields from memory, no copy of
//! the standard was at hand). Does not know device values, densities or XYZ, which it passes over.

use super::Sample;
use super::columns::{Columns, Common};
use super::values::{Scale, geometry_angle, named_angle, number};
use fanlap_film::error::Problem;

/// A word of the file; text in quotes is never a keyword.
#[derive(Clone, Copy)]
struct Word<'a> {
    text: &'a str,
    quoted: bool,
    line: usize,
}

/// Whether a text is of this format.
pub(super) fn recognised(text: &str) -> bool {
    let first = text.trim_start();
    let keywords = ["BEGIN_DATA", "NUMBER_OF_FIELDS", "NUMBER_OF_SETS"];
    let begun = |line: &str| keywords.iter().any(|word| line.trim_start().starts_with(word));
    first.starts_with("CGATS") || first.starts_with("ISO28178") || text.lines().any(begun)
}

/// Reads every table of a file.
pub(super) fn read(file: &str, text: &str, scale: Scale) -> Result<Vec<Sample>, Problem> {
    let comments = text.lines().filter_map(|line| Some(line.split_once('#')?.1));
    let mut table = Table::new(file, Scale::said_by(comments).or(scale));
    let mut samples = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((line, content)) = lines.next() {
        let words = words(file, line + 1, content)?;
        match words.first().filter(|word| !word.quoted).map(|word| word.text) {
            Some("BEGIN_DATA_FORMAT") => {
                table.fields = block(file, &words, &mut lines, "END_DATA_FORMAT")?;
                table.used = false;
            }
            Some("BEGIN_DATA") => {
                let data = block(file, &words, &mut lines, "END_DATA")?;
                table.read(line + 1, &data, &mut samples)?;
                table = table.next();
            }
            Some(keyword) => table.keyword(keyword, &words[1..])?,
            None => {}
        }
    }
    if table.sets.is_some() || !table.fields.is_empty() && !table.used {
        let remedy = "Give the values between BEGIN_DATA and END_DATA; the file may be cut short.";
        return Err(Problem::new(file, "fields or a count without values", "BEGIN_DATA after them", remedy));
    }
    Ok(samples)
}

/// The words of a line up to a comment.
fn words<'a>(file: &str, line: usize, content: &'a str) -> Result<Vec<Word<'a>>, Problem> {
    let mut words = Vec::new();
    let mut rest = content.trim();
    while !rest.is_empty() && !rest.starts_with('#') {
        let quoted = rest.starts_with('"');
        let (text, after) = match rest.strip_prefix('"') {
            Some(inside) => inside.split_once('"').ok_or_else(|| unclosed(file, line, content))?,
            None => rest.split_once(char::is_whitespace).unwrap_or((rest, "")),
        };
        words.push(Word { text, quoted, line });
        rest = after.trim_start();
    }
    Ok(words)
}

fn unclosed(file: &str, line: usize, content: &str) -> Problem {
    Problem::new(format!("{file}, line {line}"), content, "quotes in pairs", "Close the quote on the same line.")
}

/// The words after the opening one, up to the closing keyword.
fn block<'a>(
    file: &str,
    opening: &[Word<'a>],
    lines: &mut impl Iterator<Item = (usize, &'a str)>,
    closing: &str,
) -> Result<Vec<Word<'a>>, Problem> {
    let closes = |word: &Word| !word.quoted && word.text == closing;
    let mut found = Vec::new();
    let mut more = opening[1..].to_vec();
    loop {
        let end = more.iter().position(closes);
        found.extend(more.drain(..end.unwrap_or(more.len())));
        if end.is_some() {
            return Ok(found);
        }
        let Some((line, content)) = lines.next() else {
            let at = format!("{file}, line {}", opening[0].line);
            let given = format!("{} without {closing}", opening[0].text);
            let remedy = "The file is cut short: export anew.";
            return Err(Problem::new(at, given, format!("{closing} at its end"), remedy));
        };
        more = words(file, line + 1, content)?;
    }
}

/// A table as far as it is read.
struct Table<'a> {
    file: &'a str,
    fields: Vec<Word<'a>>,
    /// Whether the fields have headed values.
    used: bool,
    /// How many fields and sets the file says there are.
    field_count: Option<f64>,
    sets: Option<f64>,
    common: Common,
}

impl<'a> Table<'a> {
    fn new(file: &'a str, scale: Scale) -> Self {
        let common = Common { scale, aspecular: None, illuminant: String::new(), observer: String::new() };
        Self { file, fields: Vec::new(), used: false, field_count: None, sets: None, common }
    }

    /// The table after this one: its fields and scale are kept until others are given.
    fn next(self) -> Self {
        Self { fields: self.fields, used: true, ..Self::new(self.file, self.common.scale) }
    }

    fn keyword(&mut self, keyword: &str, values: &[Word]) -> Result<(), Problem> {
        let value = values.first().map_or("", |word| word.text);
        match (keyword, value.split_once(',')) {
            ("NUMBER_OF_FIELDS", _) => self.field_count = Some(self.count(keyword, values)?),
            ("NUMBER_OF_SETS", _) => self.sets = Some(self.count(keyword, values)?),
            ("SPECTRAL_NORM", _) => self.common.scale = self.norm(value)?,
            ("ASPECULAR" | "ASPECULAR_DEG" | "ASPECULAR_ANGLE", _) => {
                self.common.aspecular = number(value).or_else(|| named_angle(value));
            }
            ("MEASUREMENT_GEOMETRY" | "GEOMETRY", _) => self.common.aspecular = geometry_angle(value),
            ("ILLUMINANT", _) => self.common.illuminant = value.to_string(),
            ("OBSERVER", _) => self.common.observer = value.to_string(),
            ("WEIGHTING_FUNCTION", Some(("ILLUMINANT", light))) => self.common.illuminant = light.trim().to_string(),
            ("WEIGHTING_FUNCTION", Some(("OBSERVER", eye))) => self.common.observer = eye.trim().to_string(),
            _ => {}
        }
        Ok(())
    }

    fn count(&self, keyword: &str, values: &[Word]) -> Result<f64, Problem> {
        let text = values.first().map_or("", |word| word.text);
        let refused = || {
            let at = format!("{}, {keyword}", self.file);
            Problem::new(at, text, "a whole number above 0", "Correct the count, or leave the line out.")
        };
        number(text).filter(|count| *count >= 1.0 && count.fract() == 0.0).ok_or_else(refused)
    }

    fn norm(&self, value: &str) -> Result<Scale, Problem> {
        match number(value) {
            Some(1.0) => Ok(Scale::Factor),
            Some(100.0) => Ok(Scale::Percent),
            _ => {
                let at = format!("{}, SPECTRAL_NORM", self.file);
                Err(Problem::new(at, value, "1 (factor) or 100 (per cent)", "Export on one of these scales."))
            }
        }
    }

    /// Reads the values of this table; `line` is where they begin.
    fn read(&mut self, line: usize, data: &[Word], samples: &mut Vec<Sample>) -> Result<(), Problem> {
        let at = format!("{}, line {line}", self.file);
        let count = self.fields.len();
        if count == 0 {
            let remedy = "Name the fields between BEGIN_DATA_FORMAT and END_DATA_FORMAT before the values.";
            return Err(Problem::new(at, "BEGIN_DATA without fields", "fields before the values", remedy));
        }
        self.check(&at, "NUMBER_OF_FIELDS", self.field_count, count, "fields")?;
        if !data.len().is_multiple_of(count) {
            let given = format!("{} values for {count} fields", data.len());
            let remedy = "Give every set one value for each field; text with spaces needs quotes.";
            return Err(Problem::new(at, given, format!("a multiple of {count} values"), remedy));
        }
        self.check(&at, "NUMBER_OF_SETS", self.sets, data.len() / count, "sets of values")?;
        let headings: Vec<&str> = self.fields.iter().map(|field| field.text).collect();
        let Some(columns) = Columns::of(&at, &headings)? else { return Ok(()) };
        for set in data.chunks(count) {
            let at = format!("{}, line {}", self.file, set[0].line);
            let cells: Vec<&str> = set.iter().map(|word| word.text).collect();
            samples.push(columns.sample(&at, &cells, samples.len(), &self.common)?);
        }
        Ok(())
    }

    /// Refuses another count than the file says.
    fn check(&self, at: &str, keyword: &str, said: Option<f64>, found: usize, what: &str) -> Result<(), Problem> {
        match said {
            Some(said) if said != found as f64 => {
                let remedy = "Correct the count, or export anew if values are missing.";
                let allowed = format!("{said} {what}, as {keyword} says");
                Err(Problem::new(at, format!("{found} {what}"), allowed, remedy))
            }
            _ => Ok(()),
        }
    }
}
