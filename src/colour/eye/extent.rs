//! How far a pattern reaches: what share of the field around a cell is filled by marks as strong as the one there. A
//! grating that fills the field has the share 1, a single cloud its own area. Does not know what the values are of.

use fanlap_film::panel::Patch;

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

    /// What lies within `half` mm of the middle of a cell.
    fn around(&self, cell: usize, half: f64) -> Stretch {
        let (middle, half) = (cell as f64 + 0.5, (half / self.cell).max(0.5));
        let (from, to) = ((middle - half).max(0.0), (middle + half).min(self.cells as f64));
        Stretch { from: self.place(from), to: self.place(to), cells: to - from }
    }
}

fn between(values: &[f64], (block, part): (usize, f64)) -> f64 {
    values[block] + (values[block + 1] - values[block]) * part
}

impl Extent {
    /// Of what has that square in every cell and shows that period, mm.
    pub fn of(patch: &Patch, period: f64, square: impl Fn(usize) -> f64) -> Self {
        let columns = Axis::new(patch.cell.x, patch.columns, period);
        let rows = Axis::new(patch.cell.y, patch.rows, period);
        let across = columns.blocks() + 1;
        let mut sums = vec![0.0; across * (rows.blocks() + 1)];
        for row in 0..patch.rows {
            let line = &mut sums[(row / rows.block + 1) * across..][..across];
            for column in 0..patch.columns {
                line[column / columns.block + 1] += square(row * patch.columns + column);
            }
        }
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

    /// The mean square within `half` mm of a cell, along and across.
    pub fn mean(&self, cell: usize, half: f64) -> f64 {
        let along = self.columns.around(cell % self.columns.cells, half);
        let across = self.rows.around(cell / self.columns.cells, half);
        let up_to = |(block, part): (usize, f64)| {
            let (low, high) = (self.line(&across, block), self.line(&across, block + 1));
            low + (high - low) * part
        };
        (up_to(along.to) - up_to(along.from)) / (along.cells * across.cells)
    }

    /// The same of every cell, one after another.
    pub fn means(&self, half: f64) -> impl Iterator<Item = f64> {
        let stretches: Vec<Stretch> = (0..self.columns.cells).map(|column| self.columns.around(column, half)).collect();
        (0..self.rows.cells).flat_map(move |row| {
            let across = self.rows.around(row, half);
            let line: Vec<f64> = (0..=self.columns.blocks()).map(|column| self.line(&across, column)).collect();
            let mean = move |along: &Stretch| {
                (between(&line, along.to) - between(&line, along.from)) / (along.cells * across.cells)
            };
            stretches.iter().map(mean).collect::<Vec<f64>>()
        })
    }
}

/// The square root of the share of the field that marks as strong as a cell's fill: a grating's mean square is half
/// that of its crests.
pub(super) fn root_of_share(mean_square: f64, square: f64) -> f64 {
    if square > 0.0 { (2.0 * mean_square / square).clamp(0.0, 1.0).sqrt() } else { 1.0 }
}
