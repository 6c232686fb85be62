//! Brings measured wavelengths to the 36 bands of the core: interpolation in the way of ASTM E2022, ends held as ASTM
//! E308 folds its weights (both from memory). Does not know which file the values come from.

use fanlap_colour::{BANDS, Spectrum, wavelength};
use fanlap_film::error::Problem;

/// Wavelengths as measured: upwards from `first` in even steps.
pub(super) struct Grid {
    first: f64,
    halved: bool,
}

impl Grid {
    /// Checks wavelengths, nm; `at` says where the one of an index stands.
    pub fn of(at: impl Fn(usize) -> String, wavelengths: &[f64]) -> Result<Self, Problem> {
        let (first, last) = match wavelengths {
            [first, .., last] => (*first, *last),
            _ => return Err(ends(at(0), &format!("{} wavelengths", wavelengths.len()))),
        };
        let step = wavelengths[1] - first;
        let even = |pair: &[f64]| same(pair[1] - pair[0], step) && (same(step, 10.0) || same(step, 20.0));
        if let Some(before) = wavelengths.windows(2).position(|pair| !even(pair)) {
            let given = format!("{} nm after {} nm", wavelengths[before + 1], wavelengths[before]);
            let remedy = "Give every wavelength once, upwards, at 10 or 20 nm; export anew if the steps are finer.";
            return Err(Problem::new(at(before + 1), given, "even steps of 10 or 20 nm", remedy));
        }
        if !same(first / 10.0, (first / 10.0).round()) {
            let remedy = "Export at wavelengths such as 400, 410 and 420 nm.";
            return Err(Problem::new(at(0), format!("{first} nm first"), "whole tens, such as 400 nm", remedy));
        }
        if first > 400.0 || last < 700.0 {
            return Err(ends(at(0), &format!("{first} to {last} nm")));
        }
        Ok(Self { first: first.round(), halved: same(step, 20.0) })
    }

    /// The spectrum through values at these wavelengths, as many as there were wavelengths.
    pub fn spectrum(&self, values: &[f64]) -> Spectrum {
        let tens = if self.halved { with_middles(values) } else { values.to_vec() };
        let last = tens.len().saturating_sub(1) as f64;
        let index = |band: usize| ((wavelength(band) - self.first) / 10.0).clamp(0.0, last) as usize;
        let bands: [f64; BANDS] = std::array::from_fn(|band| tens[index(band)].max(0.0));
        Spectrum(bands)
    }
}

/// Says that a range is too short.
fn ends(at: String, given: &str) -> Problem {
    let remedy = "Measure or export the whole range; missing ends below 400 and above 700 nm are held.";
    Problem::new(at, given, "400 to 700 nm at least, by 10 or 20 nm", remedy)
}

/// Equal but for the rounding of a text.
fn same(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-6
}

/// The values with one put between every two.
fn with_middles(values: &[f64]) -> Vec<f64> {
    let middles = (1..values.len()).flat_map(|right| [middle(values, right), values[right]]);
    values.iter().take(1).copied().chain(middles).collect()
}

/// The value half a step before `right`.
fn middle(values: &[f64], right: usize) -> f64 {
    let neighbours = (right.checked_sub(2).map(|before| values[before]), values.get(right + 1));
    match (values[right - 1], values[right], neighbours) {
        (left, right, (Some(before), Some(after))) => (9.0 * (left + right) - before - after) / 16.0,
        (left, right, (None, Some(after))) => (3.0 * left + 6.0 * right - after) / 8.0,
        (left, right, (Some(before), None)) => (6.0 * left + 3.0 * right - before) / 8.0,
        (left, right, (None, None)) => (left + right) / 2.0,
    }
}
