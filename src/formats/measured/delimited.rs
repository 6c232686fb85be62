//! Reads plain tables of measured colours, by wavelength or by sample; cells parted by tabs, semicolons or commas.
//! The layouts are our own. Does not know cells that run over several lines.

use super::bands::Grid;
use super::columns::{Columns, Common, is_known, without_percent};
use super::values::{Scale, aspecular, named_angle, number};
use super::{Reading, Sample};
use fanlap_film::error::Problem;

/// A line of cells and its number in the file, from 1.
struct Row {
    line: usize,
    cells: Vec<String>,
}

/// A table under its header.
struct Table<'a> {
    file: &'a str,
    header: Row,
    rows: Vec<Row>,
    scale: Scale,
}

/// Reads a table of either layout.
pub(super) fn read(file: &str, text: &str, scale: Scale) -> Result<Vec<Sample>, Problem> {
    let table = Table::of(file, text, scale)?;
    let first = table.header.cells[0].to_ascii_lowercase();
    if ["wavelength_nm", "wavelength", "nm"].contains(&first.as_str()) || table.begins_with_wavelengths() {
        table.by_wavelength()
    } else {
        table.by_sample()
    }
}

impl<'a> Table<'a> {
    fn of(file: &'a str, text: &str, scale: Scale) -> Result<Self, Problem> {
        let comments = text.lines().filter_map(|line| line.trim_start().strip_prefix('#'));
        let scale = Scale::said_by(comments).or(scale);
        let mut separator = None;
        let mut rows = Vec::new();
        for (line, content) in text.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with('#')) {
            if content.trim().is_empty() {
                continue;
            }
            let separator = *separator.get_or_insert_with(|| separator_of(content));
            let cells = split(content, separator).ok_or_else(|| unclosed(file, line + 1, content))?;
            if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push(Row { line: line + 1, cells });
            }
        }
        if rows.is_empty() {
            return Err(unknown(file, "nothing"));
        }
        let mut header = rows.remove(0);
        without_empty_end(&mut header.cells);
        let mut table = Self { file, header, rows, scale };
        table.level()?;
        Ok(table)
    }

    /// Gives every row as many cells as the header has.
    fn level(&mut self) -> Result<(), Problem> {
        let count = self.header.cells.len();
        for row in &mut self.rows {
            if row.cells.len() > count {
                without_empty_end(&mut row.cells);
                row.cells.resize(row.cells.len().max(count), String::new());
            }
            if row.cells.len() != count {
                let at = format!("{}, line {}", self.file, row.line);
                let remedy = "Give one cell under every heading; decimal commas need semicolons between the cells.";
                return Err(Problem::new(at, format!("{} cells", row.cells.len()), format!("{count} cells"), remedy));
            }
        }
        Ok(())
    }

    fn by_sample(self) -> Result<Vec<Sample>, Problem> {
        let headings: Vec<&str> = self.header.cells.iter().map(String::as_str).collect();
        let at = format!("{}, line {}", self.file, self.header.line);
        let columns = Columns::of(&at, &headings)?.ok_or_else(|| unknown(&at, &headings.join(", ")))?;
        columns.refuse_unknown(&at, &headings)?;
        let common = Common { scale: self.scale, aspecular: None, illuminant: String::new(), observer: String::new() };
        let sample = |(index, row): (usize, &Row)| {
            let cells: Vec<&str> = row.cells.iter().map(String::as_str).collect();
            columns.sample(&format!("{}, line {}", self.file, row.line), &cells, index, &common)
        };
        self.rows.iter().enumerate().map(sample).collect()
    }

    /// Whether the first column holds wavelengths, whatever it is called, and is not known by another name.
    fn begins_with_wavelengths(&self) -> bool {
        let numbers: Option<Vec<f64>> = self.rows.iter().map(|row| number(&row.cells[0])).collect();
        let near = |numbers: Vec<f64>| numbers.len() > 1 && numbers.iter().all(|nm| (300.0..=900.0).contains(nm));
        numbers.is_some_and(near) && !is_known(&self.header.cells[0])
    }

    fn by_wavelength(self) -> Result<Vec<Sample>, Problem> {
        let wavelength = |row: &Row| {
            let at = format!("{}, line {}", self.file, row.line);
            let refused = || Problem::new(at, row.cells[0].as_str(), "a wavelength, nm", "Give the wavelength here.");
            number(&row.cells[0]).ok_or_else(refused)
        };
        let wavelengths: Vec<f64> = self.rows.iter().map(wavelength).collect::<Result<_, Problem>>()?;
        let at = |index: usize| match self.rows.get(index) {
            Some(row) => format!("{}, line {}", self.file, row.line),
            None => self.file.to_string(),
        };
        let grid = Grid::of(at, &wavelengths)?;
        (1..self.header.cells.len()).map(|column| self.column(column, &grid)).collect()
    }

    /// The sample of one column of a table by wavelength.
    fn column(&self, column: usize, grid: &Grid) -> Result<Sample, Problem> {
        let (name, percent) = without_percent(&self.header.cells[column]);
        let name = if name.is_empty() { format!("sample {column}") } else { name.to_string() };
        let scale = if percent { Scale::Percent } else { self.scale };
        let value = |row: &Row| {
            let at = format!("{}, line {}, column {name}", self.file, row.line);
            scale.reflectance(&at, &row.cells[column])
        };
        let values: Vec<f64> = self.rows.iter().map(value).collect::<Result<_, Problem>>()?;
        let at = format!("{}, column {name}", self.file);
        let aspecular = aspecular(&at, number(&name), named_angle(&name))?;
        Ok(Sample { aspecular, reading: Reading::Spectrum(grid.spectrum(&values)), name })
    }
}

/// What parts the cells of a table with this header.
fn separator_of(header: &str) -> char {
    ['\t', ';'].into_iter().find(|separator| header.contains(*separator)).unwrap_or(',')
}

/// The cells of a line, trimmed, without their quotes; none where a quote is not closed.
fn split(line: &str, separator: char) -> Option<Vec<String>> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        let cell = cells.last_mut()?;
        match letter {
            '"' if quoted && letters.next_if_eq(&'"').is_some() => cell.push('"'),
            '"' if quoted || cell.trim().is_empty() => quoted = !quoted,
            _ if letter == separator && !quoted => cells.push(String::new()),
            _ => cell.push(letter),
        }
    }
    if quoted { None } else { Some(cells.iter().map(|cell| cell.trim().to_string()).collect()) }
}

/// Drops empty cells at the end, such as spreadsheets write.
fn without_empty_end(cells: &mut Vec<String>) {
    let kept = cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1);
    cells.truncate(kept);
}

fn unclosed(file: &str, line: usize, content: &str) -> Problem {
    Problem::new(format!("{file}, line {line}"), content, "quotes in pairs", "Close the quote on the same line.")
}

/// Says which files are understood.
fn unknown(at: &str, given: &str) -> Problem {
    let allowed = "a table headed wavelength_nm, or by sample with L, a, b or wavelengths, CGATS.17 text, or CxF3";
    Problem::new(at, given, allowed, "Export the measured colours in one of these formats.")
}
