//! What a film amounts to over a panel: its spread over the parts, its value at a place, its contours, its connected
//! places. Reads only; has never heard of plans or passes.

mod contours;
mod gaps;
mod places;

pub use contours::contours;
pub use gaps::filled;
pub use places::{Place, places_of};

use crate::panel::{Panel, Patch};
use crate::units::{Micrometres, Millimetres};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// A part of the panel that is reported by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zone {
    /// Every cell.
    Panel,
    /// Cells at least one fan width from every edge, where the panel is large enough for that; otherwise every cell
    /// outside the edge band.
    Interior,
    /// Cells within the edge band.
    EdgeBand,
}

/// The cells, by index, whose centres lie in a zone.
pub fn cells_in(zone: Zone, panel: &Panel, fan_width: Millimetres, patch: &Patch) -> Vec<usize> {
    let to_edge = |index: usize| {
        let at = patch.centre(index % patch.columns, index / patch.columns);
        at.min(panel.area().most - at).min_element()
    };
    let all = 0..patch.columns * patch.rows;
    match zone {
        Zone::Panel => all.collect(),
        Zone::EdgeBand => all.filter(|i| to_edge(*i) <= panel.edge_band.0).collect(),
        Zone::Interior => {
            let deep: Vec<usize> = all.clone().filter(|i| to_edge(*i) >= fan_width.0).collect();
            if deep.is_empty() { all.filter(|i| to_edge(*i) > panel.edge_band.0).collect() } else { deep }
        }
    }
}

/// How a film is spread over some cells, um. All zero where there are no cells.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Spread {
    /// Mean.
    pub mean_um: f64,
    /// Standard deviation over the cells.
    pub sd_um: f64,
    /// Least.
    pub min_um: f64,
    /// Most.
    pub max_um: f64,
}

impl Spread {
    /// The mean as a film.
    pub fn mean(&self) -> Micrometres {
        Micrometres(self.mean_um)
    }

    /// Over the cells with these indices.
    pub fn over(film: &[f64], cells: &[usize]) -> Self {
        if cells.is_empty() {
            return Self::default();
        }
        let count = cells.len() as f64;
        let mean_um = cells.iter().map(|i| film[*i]).sum::<f64>() / count;
        let variance = cells.iter().map(|i| (film[*i] - mean_um) * (film[*i] - mean_um)).sum::<f64>() / count;
        let (min_um, max_um) =
            cells.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), i| (low.min(film[*i]), high.max(film[*i])));
        Self { mean_um, sd_um: variance.sqrt(), min_um, max_um }
    }
}

/// Share of the cells whose film, um, lies within a window, its ends included.
pub fn share_within(film: &[f64], (low, high): (f64, f64)) -> f64 {
    film.iter().filter(|film| (low..=high).contains(*film)).count() as f64 / film.len().max(1) as f64
}

/// Film at a place on the plan, straight between cell centres, held outside the outermost ones.
pub fn film_at(patch: &Patch, film: &[f64], place: DVec2) -> Micrometres {
    let last = DVec2::new(patch.columns as f64 - 1.0, patch.rows as f64 - 1.0);
    let at = ((place - patch.origin) / patch.cell - 0.5).clamp(DVec2::ZERO, last);
    let (column, row) = (at.x as usize, at.y as usize);
    let (right, below) = ((column + 1).min(patch.columns - 1), (row + 1).min(patch.rows - 1));
    let part = at - at.floor();
    let across = |row: usize| {
        let (a, b) = (film[row * patch.columns + column], film[row * patch.columns + right]);
        a + (b - a) * part.x
    };
    let (near, far) = (across(row), across(below));
    Micrometres(near + (far - near) * part.y)
}
