//! What the job's eye would see of a finished film, as the page keeps it: computed in parts, each in a frame of its
//! own where the grid is the full one, so that nothing waits for it. Until a new one is there the last one stands, a
//! frame or two. Where a stripe's film passes from above its surround to below, the cells hold nothing of it and yet no
//! eye sees a gap: the map is filled there, a judgement of ours. Draws nothing.

use crate::parts::shown::Shown;
use fanlap::appraisal::{self, FARTHEST, NEAREST};
use fanlap::field::filled;
use fanlap::panel::Patch;
use fanlap::report::SightReport;
use fanlap::units::Millimetres;
use glam::DVec2;
use std::cell::Cell;
use std::sync::Arc;

/// How far the computing has come.
pub enum Look {
    /// A new film has not been looked at yet, or only in part.
    Due,
    /// It has been looked at.
    Done,
}

/// Wider gaps are not filled, mm: what lies between two slow blends is not one.
const WIDEST_GAP: f64 = 160.0;

/// What is seen of one finished film.
#[derive(Clone)]
pub struct Sight {
    /// The cells.
    pub patch: Patch,
    /// How many times over the eye's threshold each is seen from the job's distance, gaps within stripes filled.
    pub times: Vec<f64>,
    /// The same, bare, and how far each is seen.
    bare: Arc<appraisal::Sight>,
    /// How wide a gap is filled.
    gap: Millimetres,
    /// The cell asked for last, and from how far it is seen: a probe asks in every frame.
    asked: Cell<Option<(usize, Option<f64>)>>,
}

/// Looks at a film as long as there is time; what is left to do.
pub fn look(shown: &mut Shown, mut more: impl FnMut() -> bool) -> Look {
    while shown.appraisal.step_sight() {
        if !more() {
            return Look::Due;
        }
    }
    shown.report.seen = SightReport::of(&shown.appraisal);
    shown.sight = shown.appraisal.sight().map(|bare| Sight::filled(shown.appraisal.patch(), bare));
    Look::Done
}

impl Sight {
    fn filled(patch: &Patch, bare: &Arc<appraisal::Sight>) -> Self {
        // the crests of a band's widest stripes and their troughs lie 0.71 of its period apart
        let apart = bare.worst.map_or(0.0, |worst| 0.75 * worst.sighting.period.0);
        let gap = Millimetres(apart.min(WIDEST_GAP));
        let times = filled(patch, &bare.times, gap);
        Self { patch: patch.clone(), times, bare: bare.clone(), gap, asked: Cell::new(None) }
    }

    /// How many times over the threshold a place on the plan is seen, and the greatest distance from which it is. In a
    /// gap that is filled, the distance is that of the crest or trough which fills it.
    pub fn at(&self, place: DVec2) -> (f64, Option<f64>) {
        let last = DVec2::new(self.patch.columns as f64 - 1.0, self.patch.rows as f64 - 1.0);
        let at = ((place - self.patch.origin) / self.patch.cell).floor().clamp(DVec2::ZERO, last);
        let cell = self.filling(at.x as usize, at.y as usize);
        let from = match self.asked.get() {
            Some((asked, from)) if asked == cell => from,
            _ => self.bare.visibility.seen_from(cell, NEAREST, FARTHEST).map(|from| from.0),
        };
        self.asked.set(Some((cell, from)));
        (self.times[at.y as usize * self.patch.columns + at.x as usize], from)
    }

    /// The cell whose bare value comes nearest to the filled one of a cell, within a gap of it; mostly itself.
    fn filling(&self, column: usize, row: usize) -> usize {
        let (columns, rows) = (self.patch.columns, self.patch.rows);
        let reach = [self.patch.cell.x, self.patch.cell.y].map(|cell| (self.gap.0 / cell).round() as usize);
        let own = row * columns + column;
        let off = |cell: usize| (self.bare.times[cell] - self.times[own]).abs();
        let around = (row.saturating_sub(reach[1])..(row + reach[1] + 1).min(rows))
            .flat_map(|r| (column.saturating_sub(reach[0])..(column + reach[0] + 1).min(columns)).map(move |c| (r, c)))
            .map(|(r, c)| r * columns + c);
        around.fold(own, |best, cell| if off(cell) < off(best) { cell } else { best })
    }

    /// Whether it is seen anywhere on the panel.
    pub fn anywhere(&self) -> bool {
        self.times.iter().any(|times| *times >= 1.0)
    }
}
