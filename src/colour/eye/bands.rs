//! A film map in octave bands: differences of Gaussians (Marr & Hildreth 1980, Proc. R. Soc. B 207, 187-217, from
//! memory) of sigma and twice sigma, from 3 mm up to the panel's size. Does not know colour, distance or the eye.
//!
//! Past the rim the film is continued by its mirror image. That keeps the film's sum, makes no edge where the panel
//! ends, and one smoothing after another is again a smoothing, which weights normalised at the rim would break. Narrow
//! Gaussians are summed cell by cell; wide ones are exact factors on the cosine series (DCT-II) that goes with the
//! mirror image, of which they leave only the first terms. What is cut off is below 1e-6 of the film.

use fanlap_film::maths::{cos, exp};
use fanlap_film::panel::Patch;
use fanlap_film::units::Millimetres;
use std::f64::consts::PI;

/// What a band leaves of a stripe of its own period: 4^(-1/3) - 4^(-4/3).
pub const BAND_GAIN: f64 = 0.472_470_393_710_577_4;
/// The period at which a band is the most sensitive, in sigmas: pi sqrt(6 / ln 4).
pub const BAND_PERIOD: f64 = 6.535_785_184_273_005;

/// Sigma of the finest band, mm.
const FINEST: f64 = 3.0;
/// Cells that a band's period must span: what is finer is not in the film map.
const CELLS_A_PERIOD: f64 = 4.0;
/// Gaussians wider than this, in cells, are taken by the cosine series.
const WIDE: f64 = 4.0;
/// Where a Gaussian ends, in its sigmas, over place as over frequency.
const REACH: f64 = 5.5;

/// A film map smoothed by octaves. The bands are the steps from each level to the next.
#[derive(Debug, Clone)]
pub struct Bands {
    sigmas: Vec<f64>,
    levels: Vec<Vec<f64>>,
}

impl Bands {
    /// Of the film (um) over the cells of a patch. Bands with periods under 4 cells or beyond twice the longer side
    /// are left out: the map does not hold them.
    pub fn of(patch: &Patch, film: &[f64]) -> Self {
        let mut coming = Smoothing::new(patch, film);
        while coming.step() {}
        coming.finish()
    }

    /// How many bands there are; none on a panel too small for any.
    pub fn count(&self) -> usize {
        self.sigmas.len()
    }

    /// Sigma of a band's narrower Gaussian.
    pub fn sigma(&self, band: usize) -> Millimetres {
        Millimetres(self.sigmas[band])
    }

    /// The period of stripes to which a band answers most.
    pub fn period(&self, band: usize) -> Millimetres {
        Millimetres(self.sigmas[band] * BAND_PERIOD)
    }

    /// What a band holds of stripes of a period, over what it holds of stripes of its own: at most 1.
    pub fn answer(&self, band: usize, period: Millimetres) -> f64 {
        let turns = PI * self.sigmas[band] / period.0;
        (exp(-2.0 * turns * turns) - exp(-8.0 * turns * turns)) / BAND_GAIN
    }

    /// What a band holds at a cell, um: not yet divided by [`BAND_GAIN`].
    #[inline]
    pub fn value(&self, band: usize, cell: usize) -> f64 {
        self.levels[band][cell] - self.levels[band + 1][cell]
    }

    /// The film around a cell against which a band compares it, um.
    #[inline]
    pub fn surround(&self, band: usize, cell: usize) -> f64 {
        self.levels[band + 1][cell]
    }
}

/// The bands of a film on their way, one Gaussian after another, narrowest first, so that a page stays alive.
#[derive(Debug, Clone)]
pub struct Smoothing {
    film: Vec<f64>,
    cells: [usize; 2],
    cell: [f64; 2],
    /// Sigmas of the bands, and the one beyond the last, mm.
    sigmas: Vec<f64>,
    series: Option<Series>,
    levels: Vec<Vec<f64>>,
}

impl Smoothing {
    /// Of the film (um) over the cells of a patch; nothing is done yet.
    pub fn new(patch: &Patch, film: &[f64]) -> Self {
        assert_eq!(film.len(), patch.columns * patch.rows, "a film for every cell");
        let size = patch.area().most - patch.area().least;
        let (least, most) = (CELLS_A_PERIOD * patch.cell.max_element(), 2.0 * size.max_element());
        let octaves = (0..40).map(|k| FINEST * (1_u64 << k) as f64);
        let fits = |sigma: &f64| (least..=most).contains(&(BAND_PERIOD * sigma));
        let mut sigmas: Vec<f64> = octaves.filter(fits).collect();
        sigmas.extend(sigmas.last().map(|last| 2.0 * last));
        let (cells, cell) = ([patch.columns, patch.rows], [patch.cell.x, patch.cell.y]);
        Self { film: film.to_vec(), cells, cell, sigmas, series: None, levels: Vec::new() }
    }

    /// Goes on by one Gaussian, or by the series that the wide ones share; false when all are there.
    pub fn step(&mut self) -> bool {
        let Some(sigma) = self.sigmas.get(self.levels.len()) else { return false };
        let in_cells = self.cell.map(|cell| sigma / cell);
        let level = if in_cells.iter().any(|sigma| *sigma < WIDE) {
            summed(&self.film, self.cells, in_cells)
        } else if let Some(series) = &self.series {
            series.smoothed(in_cells)
        } else {
            self.series = Some(Series::of(&self.film, self.cells, in_cells));
            return true;
        };
        self.levels.push(level);
        true
    }

    /// The bands, once all is done.
    pub fn finish(mut self) -> Bands {
        self.sigmas.pop();
        Bands { sigmas: self.sigmas, levels: self.levels }
    }
}

/// Smooths by plain sums, sigmas in cells: along the rows, then across them.
fn summed(film: &[f64], [columns, rows]: [usize; 2], [along, across]: [f64; 2]) -> Vec<f64> {
    let weights = kernel(along);
    let reach = weights.len() - 1;
    let mut once = vec![0.0; film.len()];
    let mut padded = vec![0.0; columns + 2 * reach];
    for (row, out) in film.chunks_exact(columns).zip(once.chunks_exact_mut(columns)) {
        for (i, cell) in padded.iter_mut().enumerate() {
            *cell = row[mirrored(i as isize - reach as isize, columns)];
        }
        for (j, weight) in weights.iter().enumerate() {
            add(out, *weight, &padded[reach - j..reach - j + columns]);
            if j > 0 {
                add(out, *weight, &padded[reach + j..reach + j + columns]);
            }
        }
    }
    across_rows(&once, columns, rows, &kernel(across))
}

fn across_rows(film: &[f64], columns: usize, rows: usize, weights: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; film.len()];
    for (r, row) in out.chunks_exact_mut(columns).enumerate() {
        for (j, weight) in weights.iter().enumerate() {
            let sides = [r as isize - j as isize, r as isize + j as isize];
            for side in &sides[..if j == 0 { 1 } else { 2 }] {
                let from = mirrored(*side, rows) * columns;
                add(row, *weight, &film[from..from + columns]);
            }
        }
    }
    out
}

/// The weights of a Gaussian from its middle to one side; with the other side they sum to 1.
fn kernel(sigma: f64) -> Vec<f64> {
    let reach = (REACH * sigma).ceil() as usize;
    let raw: Vec<f64> = (0..=reach).map(|i| exp(-0.5 * (i as f64 / sigma) * (i as f64 / sigma))).collect();
    let sum = 2.0 * raw.iter().sum::<f64>() - 1.0;
    raw.into_iter().map(|weight| weight / sum).collect()
}

/// The cell that stands for a place past the end: 2 1 0 | 0 1 2 ...
fn mirrored(place: isize, count: usize) -> usize {
    let turn = place.rem_euclid(2 * count as isize) as usize;
    if turn < count { turn } else { 2 * count - 1 - turn }
}

/// out += factor * values.
#[inline]
fn add(out: &mut [f64], factor: f64, values: &[f64]) {
    for (sum, value) in out.iter_mut().zip(values) {
        *sum += factor * value;
    }
}

/// The first terms of a film's cosine series.
#[derive(Debug, Clone)]
struct Series {
    cells: [usize; 2],
    terms: [usize; 2],
    /// Term after term along x, for every term along y.
    values: Vec<f64>,
}

impl Series {
    /// As many terms as a Gaussian with those sigmas in cells leaves.
    fn of(film: &[f64], cells: [usize; 2], sigmas: [f64; 2]) -> Self {
        let [columns, rows] = cells;
        let terms = [terms_left(columns, sigmas[0]), terms_left(rows, sigmas[1])];
        let along = product(film, columns, &transposed(&cosines(columns, terms[0]), columns), terms[0]);
        let values = product(&cosines(rows, terms[1]), rows, &along, terms[0]);
        Self { cells, terms, values }
    }

    /// The film smoothed by a Gaussian at least as wide as the one the series was made for.
    fn smoothed(&self, sigmas: [f64; 2]) -> Vec<f64> {
        let [columns, rows] = self.cells;
        let (x, y) = (factors(columns, sigmas[0]), factors(rows, sigmas[1]));
        let row = |q: usize| &self.values[q * self.terms[0]..];
        let left: Vec<f64> = (0..y.len())
            .flat_map(|q| x.iter().zip(row(q)).map(move |(x, value)| (q, x * value)))
            .map(|(q, v)| v * y[q])
            .collect();
        let across = product(&transposed(&cosines(rows, y.len()), rows), y.len(), &left, x.len());
        product(&across, x.len(), &cosines(columns, x.len()), columns)
    }
}

/// How many terms over that many cells a Gaussian leaves.
fn terms_left(cells: usize, sigma: f64) -> usize {
    ((REACH * cells as f64 / (PI * sigma)) as usize + 1).min(cells)
}

/// What a Gaussian makes of each term, with the series' own 1/n and 2/n.
fn factors(cells: usize, sigma: f64) -> Vec<f64> {
    let n = cells as f64;
    let factor = |k: usize| {
        let turns = PI * k as f64 / n * sigma;
        exp(-0.5 * turns * turns) * if k == 0 { 1.0 / n } else { 2.0 / n }
    };
    (0..terms_left(cells, sigma)).map(factor).collect()
}

/// cos(pi k (2 i + 1) / 2 n) for every cell i of n, for one term k after another.
fn cosines(cells: usize, terms: usize) -> Vec<f64> {
    let turn: Vec<f64> = (0..4 * cells).map(|i| cos(PI * i as f64 / (2.0 * cells as f64))).collect();
    (0..terms).flat_map(|k| (0..cells).map(move |i| k * (2 * i + 1) % (4 * cells))).map(|at| turn[at]).collect()
}

/// A matrix with that many columns, turned over.
fn transposed(matrix: &[f64], columns: usize) -> Vec<f64> {
    let rows = matrix.len() / columns;
    (0..columns).flat_map(|c| (0..rows).map(move |r| matrix[r * columns + c])).collect()
}

/// The product of two matrices, rows one after another: `inner` columns by as many rows of `columns`.
fn product(left: &[f64], inner: usize, right: &[f64], columns: usize) -> Vec<f64> {
    let mut out = vec![0.0; left.len() / inner * columns];
    for (row, sum) in left.chunks_exact(inner).zip(out.chunks_exact_mut(columns)) {
        for (factor, values) in row.iter().zip(right.chunks_exact(columns)) {
            add(sum, *factor, values);
        }
    }
    out
}
