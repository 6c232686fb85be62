//! Reads spectra from comma-separated text: a header, then one row per band from 380 to 730 nm by 10 nm.
//! The format is our own. Does not know what the columns mean.

use super::spectrum::{BANDS, Spectrum, wavelength};
use fanlap_film::error::Problem;

/// Reads a table whose first column is `wavelength_nm`; gives every other column by its name, in order.
/// `file` only serves to say where a fault is.
pub fn read_spectra(file: &str, text: &str) -> Result<Vec<(String, Spectrum)>, Problem> {
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let names = header(file, lines.next().unwrap_or(""))?;
    let mut columns: Vec<(String, Spectrum)> = names.into_iter().map(|name| (name, Spectrum::constant(0.0))).collect();
    let rows: Vec<&str> = lines.collect();
    if rows.len() != BANDS {
        let remedy = "Give one row per band and nothing else.";
        return Err(Problem::new(file, format!("{} rows", rows.len()), "36 rows, 380 to 730 nm by 10 nm", remedy));
    }
    for (band, row) in rows.into_iter().enumerate() {
        let values = numbers(file, band, row, columns.len())?;
        for (column, value) in columns.iter_mut().zip(values) {
            column.1.0[band] = value;
        }
    }
    Ok(columns)
}

/// The names of the value columns.
fn header(file: &str, line: &str) -> Result<Vec<String>, Problem> {
    let mut names = line.split(',').map(|name| name.trim().to_string());
    let first = names.next().unwrap_or_default();
    let names: Vec<String> = names.collect();
    if first != "wavelength_nm" || names.is_empty() {
        let remedy = "Name the first column wavelength_nm and every spectrum after it.";
        return Err(Problem::new(format!("{file}, line 1"), line, "wavelength_nm,<name>,...", remedy));
    }
    Ok(names)
}

/// The values of one row, its wavelength checked and dropped.
fn numbers(file: &str, band: usize, row: &str, count: usize) -> Result<Vec<f64>, Problem> {
    let allowed = format!("{} nm and {count} finite numbers", wavelength(band));
    let refused = || Problem::new(format!("{file}, row {}", band + 1), row, allowed.as_str(), "Correct this row.");
    let values: Vec<f64> =
        row.split(',').map(|cell| cell.trim().parse()).collect::<Result<_, _>>().map_err(|_| refused())?;
    let sound = values.len() == count + 1 && values[0] == wavelength(band) && values.iter().all(|v| v.is_finite());
    if sound { Ok(values[1..].to_vec()) } else { Err(refused()) }
}
