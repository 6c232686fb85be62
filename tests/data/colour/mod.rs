//! What the colour tests share: reading the tables beside this file and the paint they are about.
#![allow(dead_code)]

use fanlap::colour::{BANDS, Illuminant, Observer, ScreenSpace, Spectrum, Track, Viewing, demonstration};
use fanlap::units::{Degrees, Micrometres};

/// The number in a cell.
pub fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("{cell} is not a number"))
}

/// The rows of a table under its header, cell by cell.
pub fn rows(table: &str) -> Vec<Vec<&str>> {
    table.lines().skip(1).map(|line| line.split(',').collect()).collect()
}

/// The rows of a table of nothing but numbers.
pub fn numbers(table: &str) -> Vec<Vec<f64>> {
    rows(table).into_iter().map(|row| row.into_iter().map(number).collect()).collect()
}

/// The reflectances of the 200 random spectra, each with what follows them in its row.
pub fn random_spectra() -> Vec<(Spectrum, Vec<f64>)> {
    let split = |row: Vec<f64>| (Spectrum(row[1..=BANDS].try_into().unwrap()), row[BANDS + 1..].to_vec());
    numbers(include_str!("oracle_random_spectra.csv")).into_iter().map(split).collect()
}

/// D65, 10 degree observer, at an aspecular angle.
pub fn daylight(aspecular: f64) -> Viewing {
    Viewing {
        illuminant: Illuminant::D65,
        observer: Observer::Degrees10,
        aspecular: Degrees(aspecular),
        surround_gloss: 0.0,
    }
}

/// The track of a demonstration paint, 0 to 120 um.
pub fn track(paint: &demonstration::Demonstration, viewing: &Viewing, space: ScreenSpace) -> Track {
    Track::new(ground(paint, viewing), &paint.absorption, viewing, space, Micrometres(120.0))
}

/// The base of a paint at the angle of that viewing.
pub fn ground<'a>(paint: &'a demonstration::Demonstration, viewing: &Viewing) -> &'a Spectrum {
    paint.ground_at(viewing.aspecular).expect("the demonstration paints know this angle")
}

/// Fails, saying what was compared, unless two numbers agree.
pub fn assert_near(what: &str, given: f64, expected: f64, tolerance: f64) {
    let off = (given - expected).abs();
    assert!(off <= tolerance, "{what}: {given}, expected {expected}, off by {off:e}, allowed {tolerance:e}");
}
