//! What the columns of a table mean that holds one measured colour a row. The names are our own and those of CGATS.17
//! (from memory). Does not know how the table is written.

use super::bands::Grid;
use super::values::{Scale, aspecular, lab, named_angle, number};
use super::{Reading, Sample};
use fanlap_film::error::Problem;

/// What one column gives.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Meaning {
    Name,
    Identity,
    Aspecular,
    L,
    A,
    B,
    Illuminant,
    Observer,
    Band(f64, Scale),
}

/// What holds for all rows of a table unless a row says otherwise; light and eye may be empty.
pub(super) struct Common {
    pub scale: Scale,
    /// The aspecular angle.
    pub aspecular: Option<f64>,
    pub illuminant: String,
    pub observer: String,
}

/// Where the parts of a sample stand in a row.
pub(super) struct Columns {
    meanings: Vec<Option<Meaning>>,
    grid: Option<Grid>,
}

impl Columns {
    /// The columns under these headings, unknown ones passed over; none where they hold no colour.
    pub fn of(at: &str, headings: &[&str]) -> Result<Option<Self>, Problem> {
        if headings.len() > MOST_HEADINGS {
            let given = format!("{} columns", headings.len());
            return Err(Problem::new(at, given, format!("{MOST_HEADINGS} columns"), "Leave the unused ones out."));
        }
        let meanings: Vec<Option<Meaning>> = headings.iter().map(|heading| meaning(heading)).collect();
        let again = |place: &usize| meanings[*place].is_some() && meanings[..*place].contains(&meanings[*place]);
        if let Some(place) = (0..meanings.len()).find(again) {
            let given = format!("a second column \"{}\"", headings[place]);
            return Err(Problem::new(at, given, "every column once", "Remove one of the two."));
        }
        let bands: Vec<f64> = meanings.iter().filter_map(|meaning| band(*meaning)).map(|(nm, _)| nm).collect();
        let grid = if bands.is_empty() { None } else { Some(Grid::of(|_| at.to_string(), &bands)?) };
        let columns = Self { meanings, grid };
        let lab = [Meaning::L, Meaning::A, Meaning::B].map(|part| columns.place(part).is_some());
        match (&columns.grid, lab) {
            (Some(_), _) | (None, [true, true, true]) => Ok(Some(columns)),
            (None, [false, false, false]) => Ok(None),
            _ => Err(Problem::new(at, headings.join(" "), "L, a and b together", "Give all three of them.")),
        }
    }

    /// Refuses headings that say nothing.
    pub fn refuse_unknown(&self, at: &str, headings: &[&str]) -> Result<(), Problem> {
        let Some(place) = self.meanings.iter().position(Option::is_none) else { return Ok(()) };
        let remedy = "Name every column in one of these ways, or remove it.";
        Err(Problem::new(at, format!("a column \"{}\"", headings[place]), HEADINGS, remedy))
    }

    fn place(&self, meaning: Meaning) -> Option<usize> {
        self.meanings.iter().position(|known| *known == Some(meaning))
    }

    /// The cell under a heading; empty where there is none.
    fn cell<'a>(&self, cells: &[&'a str], meaning: Meaning) -> &'a str {
        self.place(meaning).map_or("", |place| cells[place].trim())
    }

    /// The sample of a row that has a cell under every heading. `at` says where it stands, `index` counts from 0.
    pub fn sample(&self, at: &str, cells: &[&str], index: usize, common: &Common) -> Result<Sample, Problem> {
        let given = [Meaning::Name, Meaning::Identity].map(|meaning| self.cell(cells, meaning));
        let name = given.into_iter().find(|name| !name.is_empty());
        let name = name.map_or_else(|| format!("sample {}", index + 1), str::to_string);
        let at = format!("{at} ({name})");
        let angle = self.cell(cells, Meaning::Aspecular);
        let field = number(angle).or_else(|| named_angle(angle));
        if field.is_none() && !angle.is_empty() {
            return Err(Problem::new(at, angle, "an aspecular angle, degrees", "Give a number or nothing here."));
        }
        let aspecular = aspecular(&at, field.or(common.aspecular), named_angle(&name))?;
        Ok(Sample { aspecular, reading: self.reading(&at, cells, common)?, name })
    }

    fn reading(&self, at: &str, cells: &[&str], common: &Common) -> Result<Reading, Problem> {
        let Some(grid) = &self.grid else {
            let light = first(self.cell(cells, Meaning::Illuminant), &common.illuminant);
            let eye = first(self.cell(cells, Meaning::Observer), &common.observer);
            let parts = [Meaning::L, Meaning::A, Meaning::B].map(|part| self.cell(cells, part));
            return lab(at, parts, light, eye);
        };
        let bands = self.meanings.iter().zip(cells).filter_map(|(meaning, cell)| Some((band(*meaning)?, cell)));
        let values =
            bands.map(|((nm, scale), cell)| scale.or(common.scale).reflectance(&format!("{at}, {nm} nm"), cell));
        Ok(Reading::Spectrum(grid.spectrum(&values.collect::<Result<Vec<f64>, Problem>>()?)))
    }
}

/// The first text that says something.
fn first<'a>(one: &'a str, other: &'a str) -> &'a str {
    if one.is_empty() { other } else { one }
}

/// Most columns that are looked at.
const MOST_HEADINGS: usize = 1000;
const HEADINGS: &str = "name, aspecular_deg, L, a, b, illuminant, observer_deg, or wavelengths such as 400 or nm400";

fn meaning(heading: &str) -> Option<Meaning> {
    let heading = heading.trim().to_ascii_lowercase();
    match heading.as_str() {
        "name" | "sample" | "sample_name" => Some(Meaning::Name),
        "id" | "sample_id" => Some(Meaning::Identity),
        "aspecular" | "aspecular_deg" | "aspecular_angle" | "angle" | "angle_deg" => Some(Meaning::Aspecular),
        "l" | "l*" | "lab_l" => Some(Meaning::L),
        "a" | "a*" | "lab_a" => Some(Meaning::A),
        "b" | "b*" | "lab_b" => Some(Meaning::B),
        "illuminant" => Some(Meaning::Illuminant),
        "observer" | "observer_deg" => Some(Meaning::Observer),
        _ => wavelength_heading(&heading),
    }
}

/// Whether a heading means something in a table of one colour a row.
pub(super) fn is_known(heading: &str) -> bool {
    meaning(heading).is_some()
}

fn band(meaning: Option<Meaning>) -> Option<(f64, Scale)> {
    match meaning {
        Some(Meaning::Band(nm, scale)) => Some((nm, scale)),
        _ => None,
    }
}

/// Beginnings of a heading in small letters that name a band; the longer before what they begin with.
const BEFORE_WAVELENGTH: [(&str, Scale); 10] = [
    ("spectral_pct_", Scale::Percent),
    ("spectral_pct", Scale::Percent),
    ("spectral_dec_", Scale::Factor),
    ("spectral_dec", Scale::Factor),
    ("spectral_nm_", Scale::Unsaid),
    ("spectral_nm", Scale::Unsaid),
    ("spectral_", Scale::Unsaid),
    ("nm_", Scale::Unsaid),
    ("nm", Scale::Unsaid),
    ("r", Scale::Unsaid),
];

fn wavelength_heading(heading: &str) -> Option<Meaning> {
    let (heading, percent) = without_percent(heading);
    let begun = |(word, scale): &(&str, Scale)| Some((heading.strip_prefix(word)?, *scale));
    let (rest, scale) = BEFORE_WAVELENGTH.iter().find_map(begun).unwrap_or((heading, Scale::Unsaid));
    let rest = rest.strip_suffix("nm").unwrap_or(rest).trim();
    let wavelength = number(rest).filter(|_| rest.starts_with(|c: char| c.is_ascii_digit()))?;
    Some(Meaning::Band(wavelength, if percent { Scale::Percent } else { scale }))
}

/// A heading without the per cent sign at its end, and whether it had one.
pub(super) fn without_percent(heading: &str) -> (&str, bool) {
    let stripped = heading.trim().strip_suffix('%');
    (stripped.unwrap_or(heading).trim(), stripped.is_some())
}
