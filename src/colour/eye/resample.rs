//! Weighted sums along the rows and columns of a map, from one number of cells over a side to another: Gaussians, and the
//! polynomial through what lies around. Past the rim a map goes on as its mirror image. Does not know what a map is of.

use fanlap_film::maths::{exp, fill_pieces};

/// Where a Gaussian ends, in its sigmas.
const REACH: f64 = 5.5;
/// Nodes of the polynomial: what is smoothed by three cells or more is met within 1.3e-5 of any wave in it.
const NODES: usize = 8;
/// Sums that are formed side by side.
const LANES: usize = 16;

/// The weights that make the cells along one side of those along the same side, divided otherwise.
#[derive(Debug, Clone)]
pub(super) struct Taps {
    from: usize,
    /// The first cell that each takes, before the side's beginning too.
    first: Vec<isize>,
    /// Weights of each, one after another; of the first alone where all are alike.
    weights: Vec<f64>,
    count: usize,
}

impl Taps {
    /// A Gaussian of some sigma, in the cells it is taken from.
    pub fn gaussian(from: usize, to: usize, sigma: f64) -> Self {
        let reach = REACH * sigma;
        Self::new((from, to), reach, (2.0 * reach) as usize + 1, |off| {
            let inside = |off: &f64| off.abs() <= reach;
            let weight = |off: f64| exp(-0.5 * (off / sigma) * (off / sigma));
            let raw: Vec<f64> = off.map(|off| if inside(&off) { weight(off) } else { 0.0 }).collect();
            let sum: f64 = raw.iter().sum();
            raw.into_iter().map(|weight| weight / sum).collect()
        })
    }

    /// The polynomial through the nearest cells.
    pub fn between(from: usize, to: usize) -> Self {
        let half = NODES as f64 / 2.0;
        Self::new((from, to), half, NODES, |off| polynomial(&off.collect::<Vec<f64>>()))
    }

    /// Weights by how far cells are from a place, in cells; no more of them than `count` lie within reach.
    fn new(
        (from, to): (usize, usize),
        reach: f64,
        count: usize,
        weights: impl Fn(&mut dyn Iterator<Item = f64>) -> Vec<f64>,
    ) -> Self {
        let place = |cell: usize| centre(cell, from, to);
        let first = |cell: usize| (place(cell) - reach).ceil() as isize;
        let different = if from % to == 0 { 1 } else { to };
        let of = |cell: usize| {
            let off = move |i: usize| (first(cell) + i as isize) as f64 - place(cell);
            weights(&mut (0..count).map(off))
        };
        let weights = (0..different).flat_map(of).collect();
        Self { from, first: (0..to).map(first).collect(), weights, count }
    }

    fn to(&self) -> usize {
        self.first.len()
    }

    fn alike(&self) -> bool {
        self.weights.len() == self.count
    }

    fn weights(&self, cell: usize) -> &[f64] {
        let cell = if self.alike() { 0 } else { cell };
        &self.weights[cell * self.count..][..self.count]
    }

    /// Along every row of a map.
    fn along(&self, map: &[f64]) -> Vec<f64> {
        let rows = map.len() / self.from;
        let (begin, end) = (self.first[0], self.first[self.to() - 1] + self.count as isize);
        let mut out = vec![0.0; rows * self.to()];
        fill_pieces(&mut out, self.to(), |row, out| {
            let row = &map[row * self.from..][..self.from];
            let padded: Vec<f64> = (begin..end).map(|at| row[mirrored(at, self.from)]).collect();
            if self.alike() && self.from == self.to() {
                return shifted(self.weights(0), &padded, out);
            }
            for (cell, out) in out.iter_mut().enumerate() {
                *out = dot(self.weights(cell), &padded[(self.first[cell] - begin) as usize..]);
            }
        });
        out
    }

    /// Along every column of a map with that many.
    fn across(&self, map: &[f64], columns: usize) -> Vec<f64> {
        let mut out = vec![0.0; self.to() * columns];
        fill_pieces(&mut out, columns, |row, out| {
            let first = self.first[row];
            let rows = (0..self.count as isize).map(|i| mirrored(first + i, self.from));
            let rows: Vec<&[f64]> = rows.map(|row| &map[row * columns..][..columns]).collect();
            summed(self.weights(row), |tap, from| &rows[tap][from..], out);
        });
        out
    }
}

/// A map with other cells along both sides.
pub(super) fn resampled(map: &[f64], [columns, rows]: [&Taps; 2]) -> Vec<f64> {
    // the shorter way first
    if rows.to() < rows.from {
        columns.along(&rows.across(map, columns.from))
    } else {
        rows.across(&columns.along(map), columns.to())
    }
}

/// What a map divided into some cells is in the middle of a cell of another division, by the polynomial.
pub(super) fn value_at(map: &[f64], from: [usize; 2], to: [usize; 2], cell: [usize; 2]) -> f64 {
    let [columns, rows] = [0, 1].map(|i| {
        let centre = centre(cell[i], from[i], to[i]);
        let first = (centre - NODES as f64 / 2.0).ceil() as isize;
        let at = move |node: usize| mirrored(first + node as isize, from[i]);
        let off: Vec<f64> = (0..NODES).map(|node| (first + node as isize) as f64 - centre).collect();
        (at, polynomial(&off))
    });
    let row = |row: usize| -> f64 {
        let start = rows.0(row) * from[0];
        (0..NODES).map(|node| columns.1[node] * map[start + columns.0(node)]).sum()
    };
    (0..NODES).map(|node| rows.1[node] * row(node)).sum()
}

/// The middle of a cell of one division, in cells of another.
fn centre(cell: usize, from: usize, to: usize) -> f64 {
    (cell as f64 + 0.5) * (from as f64 / to as f64) - 0.5
}

/// Shares of cells in the polynomial through them, by how far they are from the place where it is read.
fn polynomial(off: &[f64]) -> Vec<f64> {
    let share = |j: usize| {
        let others = (0..off.len()).filter(|k| *k != j);
        others.map(|k| off[k] / (off[k] - off[j])).product()
    };
    (0..off.len()).map(share).collect()
}

/// The cell that stands for a place past the end: 2 1 0 | 0 1 2 ...
fn mirrored(place: isize, count: usize) -> usize {
    if (0..count as isize).contains(&place) {
        return place as usize;
    }
    let turn = place.rem_euclid(2 * count as isize) as usize;
    if turn < count { turn } else { 2 * count - 1 - turn }
}

/// The same weights for all, one cell after another.
fn shifted(weights: &[f64], padded: &[f64], out: &mut [f64]) {
    summed(weights, |tap, from| &padded[from + tap..], out);
}

/// Sums of weighted values: `of` says from where on the values for a weight go.
#[inline]
fn summed<'a>(weights: &[f64], of: impl Fn(usize, usize) -> &'a [f64], out: &mut [f64]) {
    let whole = out.len() / LANES * LANES;
    let (blocks, rest) = out.split_at_mut(whole);
    for (i, block) in blocks.chunks_exact_mut(LANES).enumerate() {
        let mut sums = [0.0; LANES];
        for (tap, weight) in weights.iter().enumerate() {
            let values = &of(tap, i * LANES)[..LANES];
            for lane in 0..LANES {
                sums[lane] += weight * values[lane];
            }
        }
        block.copy_from_slice(&sums);
    }
    for (i, out) in rest.iter_mut().enumerate() {
        *out = weights.iter().enumerate().map(|(tap, weight)| weight * of(tap, whole + i)[0]).sum();
    }
}

/// A weighted sum, in four parts side by side.
#[inline]
fn dot(weights: &[f64], values: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let values = &values[..weights.len()];
    let (fours, rest) = (weights.chunks_exact(4), weights.len() / 4 * 4);
    for (weights, values) in fours.zip(values.chunks_exact(4)) {
        for lane in 0..4 {
            sums[lane] += weights[lane] * values[lane];
        }
    }
    let last: f64 = (rest..weights.len()).map(|i| weights[i] * values[i]).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + last
}
