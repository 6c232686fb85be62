//! Connected places: cells that belong together because they touch side by side. Plain flood fill, no source; does not
//! know that a place may touch another at a corner only.

use crate::panel::{Area, Patch, Window};
use glam::DVec2;

/// A connected place of a patch.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its cells, by index, ascending.
    pub cells: Vec<usize>,
    /// The smallest block of cells that holds it.
    pub window: Window,
    /// That block on the plan, mm.
    pub area: Area,
}

impl Place {
    /// The cell of most value; of equal ones the first. A place has at least one cell.
    pub fn most(&self, value: impl Fn(usize) -> f64) -> usize {
        let most = self.cells.iter().copied().reduce(|most, i| if value(i) > value(most) { i } else { most });
        most.unwrap_or_default()
    }
}

/// The connected places of those cells that belong, in the order of their first cells. Cells are neighbours where they
/// share a side.
///
/// ```
/// use fanlap_film::field::places_of;
/// use fanlap_formats::job::Job;
/// let patch = Job::default().panel.cells();
/// let places = places_of(&patch, |cell| cell == 0 || cell == 1 || cell == 2 + patch.columns);
/// assert_eq!((places.len(), places[0].cells.len(), places[0].area.most.x), (2, 2, 8.0));
/// ```
pub fn places_of(patch: &Patch, belongs: impl Fn(usize) -> bool) -> Vec<Place> {
    let mut waiting: Vec<bool> = (0..patch.columns * patch.rows).map(belongs).collect();
    let mut places = Vec::new();
    for first in 0..waiting.len() {
        if waiting[first] {
            places.push(place(patch, connected(patch, &mut waiting, first)));
        }
    }
    places
}

/// The cells that hang together with the first; they no longer wait.
fn connected(patch: &Patch, waiting: &mut [bool], first: usize) -> Vec<usize> {
    waiting[first] = false;
    let (mut cells, mut at) = (vec![first], 0);
    while let Some(cell) = cells.get(at).copied() {
        let (column, row) = (cell % patch.columns, cell / patch.columns);
        let beside = [
            (column > 0).then(|| cell - 1),
            (column + 1 < patch.columns).then(|| cell + 1),
            (row > 0).then(|| cell - patch.columns),
            (row + 1 < patch.rows).then(|| cell + patch.columns),
        ];
        for next in beside.into_iter().flatten() {
            if std::mem::take(&mut waiting[next]) {
                cells.push(next);
            }
        }
        at += 1;
    }
    cells.sort_unstable();
    cells
}

fn place(patch: &Patch, cells: Vec<usize>) -> Place {
    let one = |cell: &usize| Window { column: cell % patch.columns, row: cell / patch.columns, columns: 1, rows: 1 };
    let window = cells.iter().map(one).fold(Window::default(), Window::union);
    let corner = |column: usize, row: usize| patch.origin + patch.cell * DVec2::new(column as f64, row as f64);
    let area = Area {
        least: corner(window.column, window.row),
        most: corner(window.column + window.columns, window.row + window.rows),
    };
    Place { cells, window, area }
}
