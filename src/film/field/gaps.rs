//! A map with its narrow gaps filled: the grey-scale closing of mathematical morphology (Serra 1982, from memory) with a
//! square. Peaks, and the outlines of what is wider than a gap, stay as they are. Knows nothing of what the map shows.

use crate::panel::Patch;
use crate::units::Millimetres;

/// The values over the cells of a patch, every dip narrower than `gap` raised to the lower of its two sides; a dip at
/// the rim, if half as wide, to its one.
pub fn filled(patch: &Patch, values: &[f64], gap: Millimetres) -> Vec<f64> {
    let reach = [patch.cell.x, patch.cell.y].map(|cell| (gap.0 / cell / 2.0).round() as usize);
    let raised = both_ways(values, patch.columns, reach, f64::max, f64::NEG_INFINITY);
    both_ways(&raised, patch.columns, reach, f64::min, f64::INFINITY)
}

/// The most (or least) within reach along the rows and then across them; `none` is what never wins.
fn both_ways(
    values: &[f64],
    columns: usize,
    [along, across]: [usize; 2],
    of: fn(f64, f64) -> f64,
    none: f64,
) -> Vec<f64> {
    let mut out: Vec<f64> = values.chunks_exact(columns).flat_map(|row| running(row, along, of, none)).collect();
    for column in 0..columns {
        let line: Vec<f64> = out.iter().skip(column).step_by(columns).copied().collect();
        let line = running(&line, across, of, none);
        out.iter_mut().skip(column).step_by(columns).zip(line).for_each(|(cell, value)| *cell = value);
    }
    out
}

/// The same along one line, in a time that does not depend on the reach: the window is the end of one block and the
/// beginning of the next (van Herk 1992, Gil & Werman 1993; from memory).
fn running(line: &[f64], reach: usize, of: fn(f64, f64) -> f64, none: f64) -> Vec<f64> {
    let window = 2 * reach + 1;
    let blocks = (line.len() + 2 * reach).div_ceil(window);
    let mut ahead = vec![none; blocks * window];
    ahead[reach..reach + line.len()].copy_from_slice(line);
    let mut behind = ahead.clone();
    for (ahead, behind) in ahead.chunks_exact_mut(window).zip(behind.chunks_exact_mut(window)) {
        (1..window).for_each(|i| ahead[i] = of(ahead[i], ahead[i - 1]));
        (1..window).rev().for_each(|i| behind[i - 1] = of(behind[i - 1], behind[i]));
    }
    (0..line.len()).map(|i| of(behind[i], ahead[i + window - 1])).collect()
}
