//! The film while it is sprayed, on the cells of the full grid: laid from look to look, ahead of the events where the
//! gun stands. Knows no app.

use fanlap::panel::{Panel, Patch, Window};
use fanlap::spray::{Spray, deposit, footprint};
use fanlap::strokes::{Along, Sample};
use fanlap::units::Seconds;
use std::ops::Range;

/// The film while it is sprayed, on the cells of the full grid.
pub struct Live {
    pub spray: Spray,
    pub patch: Patch,
    pub solids: f64,
    pub film: Vec<f64>,
    /// The film of some cells before it was shown growing under a gun that stands: no event has told of that yet.
    pub before: Option<(Window, Vec<f64>)>,
}

impl Live {
    /// Lays what is sprayed from one look to the next, so that it can be withdrawn or not.
    pub fn lay(&mut self, panel: &Panel, along: Along, looks: [&Sample; 2], ahead: bool) {
        let poses = looks.map(|sample| sample.pose(panel, along));
        let areas = poses.map(|pose| footprint(&self.spray, panel, &pose, panel.area()));
        let [Some(one), Some(other)] = areas else { return };
        let window = self.patch.window_of(one.around(other));
        // dry film: as if the trigger had been open for the share that stays
        let seconds = Seconds((looks[1].time.0 - looks[0].time.0) * self.solids);
        let path = [(Seconds(0.0), poses[0]), (seconds, poses[1])];
        if seconds.0 > 0.0 && !window.is_empty() {
            if ahead {
                let film = self.rows(window).flat_map(|row| self.film[row].iter().copied()).collect();
                self.before = Some((window, film));
            }
            let block = self.patch.window();
            deposit(&self.spray, &self.patch, window, (block, &mut self.film), &path);
        }
    }

    /// Takes away what was laid ahead of the events.
    pub fn withdraw(&mut self) {
        let Some((window, film)) = self.before.take() else { return };
        for (row, before) in self.rows(window).zip(film.chunks(window.columns)) {
            self.film[row].copy_from_slice(before);
        }
    }

    /// The rows of a block of cells, as they lie in the film.
    fn rows(&self, block: Window) -> impl Iterator<Item = Range<usize>> + use<> {
        let columns = self.patch.columns;
        (block.row..block.row + block.rows).map(move |row| {
            let first = row * columns + block.column;
            first..first + block.columns
        })
    }
}
