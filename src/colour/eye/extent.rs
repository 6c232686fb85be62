//! How far a pattern reaches: what share of the field around a cell is filled by marks as strong as the one there. A
//! grating that fills the field has the share 1, a single cloud its own area. Does not know what the values are of.

use super::bands::Raster;
use fanlap_film::maths::fill_pieces;

/// Blocks that a period spans at least: what is summed need not be finer.
const BLOCKS_A_PERIOD: f64 = 4.0;

/// Sums of squares over the cells of a patch, from its corner on, block by block.
#[derive(Debug, Clone)]
pub(super) struct Extent {
    columns: Axis,
    rows: Axis,
    /// Row after row of block corners.
    sums: Vec<f64>,
}

/// The blocks along one side.
#[derive(Debug, Clone)]
struct Axis {
    cell: f64,
    cells: usize,
    block: usize,
}

/// The part of a side that lies in a window: where it begins and ends among the block corners, and its cells.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: (usize, f64),
    to: (usize, f64),
    cells: f64,
}

impl Axis {
    fn new(cell: f64, cells: usize, period: f64) -> Self {
        Self { cell, cells, block: ((period / BLOCKS_A_PERIOD / cell) as usize).max(1) }
    }

    fn blocks(&self) -> usize {
        self.cells.div_ceil(self.block)
    }

    /// A place in cells from the corner, as the corner of a block before it and the share of that block.
    fn place(&self, at: f64) -> (usize, f64) {
        let block = ((at / self.block as f64) as usize).min(self.blocks() - 1);
        let (from, to) = (block * self.block, ((block + 1) * self.block).min(self.cells));
        (block, (at - from as f64) / (to - from) as f64)
    }

    /// What lies within `half` mm of a place, in cells from the corner.
    fn around(&self, middle: f64, half: f64) -> Stretch {
        let half = half / self.cell;
        let (from, to) = ((middle - half).max(0.0), (middle + half).min(self.cells as f64));
        Stretch { from: self.place(from), to: self.place(to), cells: to - from }
    }
}

fn between(values: &[f64], (block, part): (usize, f64)) -> f64 {
    values[block] + (values[block + 1] - values[block]) * part
}

impl Extent {
    /// Of what has that square in every cell and shows that period, mm.
    pub fn of(raster: &Raster, period: f64, square: impl Fn(usize) -> f64 + Sync + Send) -> Self {
        let [columns, rows] = [0, 1].map(|i| Axis::new(raster.cell[i], raster.cells[i], period));
        let across = columns.blocks() + 1;
        let mut sums = vec![0.0; across * (rows.blocks() + 1)];
        fill_pieces(&mut sums[across..], across, |block, line| {
            for row in block * rows.block..((block + 1) * rows.block).min(rows.cells) {
                for column in 0..columns.cells {
                    line[column / columns.block + 1] += square(row * columns.cells + column);
                }
            }
        });
        for row in 1..=rows.blocks() {
            for column in 1..across {
                sums[row * across + column] += sums[row * across + column - 1];
            }
            for column in 1..across {
                sums[row * across + column] += sums[(row - 1) * across + column];
            }
        }
        Self { columns, rows, sums }
    }

    /// Sums over the rows of a stretch, up to each block corner along the columns.
    fn line(&self, rows: &Stretch, column: usize) -> f64 {
        let across = self.columns.blocks() + 1;
        let at = |(row, part): (usize, f64)| {
            let (low, high) = (self.sums[row * across + column], self.sums[(row + 1) * across + column]);
            low + (high - low) * part
        };
        at(rows.to) - at(rows.from)
    }

    /// The mean square within `half` mm of a cell of a division of the same place.
    pub fn mean(&self, raster: &Raster, cell: usize, half: f64) -> f64 {
        let half = at_least(half, raster);
        let (column, row) = (cell % raster.cells[0], cell / raster.cells[0]);
        let middle = |cell: usize, axis: &Axis, of: usize| (cell as f64 + 0.5) * (axis.cells as f64 / of as f64);
        let along = self.columns.around(middle(column, &self.columns, raster.cells[0]), half[0]);
        let across = self.rows.around(middle(row, &self.rows, raster.cells[1]), half[1]);
        let up_to = |(block, part): (usize, f64)| {
            let (low, high) = (self.line(&across, block), self.line(&across, block + 1));
            low + (high - low) * part
        };
        (up_to(along.to) - up_to(along.from)) / (along.cells * across.cells)
    }

    /// The same of its own cells, row by row.
    pub fn means(&self, raster: &Raster, half: f64) -> Means<'_> {
        let half = at_least(half, raster);
        let around = |column: usize| self.columns.around(column as f64 + 0.5, half[0]);
        Means { extent: self, along: (0..self.columns.cells).map(around).collect(), half: half[1] }
    }
}

/// Half a window's sides: a cell is looked at as a whole.
fn at_least(half: f64, raster: &Raster) -> [f64; 2] {
    raster.cell.map(|cell| half.max(0.5 * cell))
}

/// Mean squares around the cells of a band.
pub(super) struct Means<'a> {
    extent: &'a Extent,
    along: Vec<Stretch>,
    half: f64,
}

impl Means<'_> {
    /// Of the cells of a row.
    pub fn of_row(&self, row: usize) -> impl Iterator<Item = f64> {
        let extent = self.extent;
        let across = extent.rows.around(row as f64 + 0.5, self.half);
        let line: Vec<f64> = (0..=extent.columns.blocks()).map(|column| extent.line(&across, column)).collect();
        self.along
            .iter()
            .map(move |along| (between(&line, along.to) - between(&line, along.from)) / (along.cells * across.cells))
    }
}

/// The square root of the share of the field that marks as strong as a cell's fill: a grating's mean square is half
/// that of its crests.
pub(super) fn root_of_share(mean_square: f64, square: f64) -> f64 {
    if square > 0.0 { (2.0 * mean_square / square).clamp(0.0, 1.0).sqrt() } else { 1.0 }
}
