//! What the job's eye would see of a finished film, as the page keeps it: computed in parts, each in a frame of its
//! own where the grid is the full one, so that nothing waits for it. Until a new one is there the last one stands, a
//! frame or two. Where a stripe's film passes from above its surround to below, the cells hold nothing of it and yet no
//! eye sees a gap: the map is filled there, a judgement of ours. Draws nothing.

use crate::parts::shown::Shown;
use fanlap::eye::{Looking, Mapping, Visibility};
use fanlap::field::filled;
use fanlap::panel::Patch;
use fanlap::report::{FARTHEST, NEAREST, Sprayed, looking, seen_by};
use fanlap::units::Millimetres;
use glam::DVec2;
use std::cell::Cell;

/// How far the computing has come.
pub enum Look {
    /// A new film has not been looked at yet.
    Due,
    /// Its bands are on their way.
    Looking(Box<Looking>),
    /// They are there, and its map is on its way.
    Mapping(Box<(Visibility, Mapping)>),
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
    /// The same, bare.
    bare: Vec<f64>,
    /// How wide a gap is filled.
    gap: Millimetres,
    visibility: Visibility,
    /// The cell asked for last, and from how far it is seen: a probe asks in every frame.
    asked: Cell<Option<(usize, Option<f64>)>>,
}

/// Looks at a film as long as there is time; what is left to do.
pub fn look(shown: &mut Shown, mut part: Look, mut more: impl FnMut() -> bool) -> Look {
    loop {
        part = match part {
            Look::Done => return Look::Done,
            Look::Due => {
                let sprayed = Sprayed { tinted: Some(&shown.finished), base: shown.base.as_deref() };
                let looking = looking(shown.rehearsal.job(), &shown.appearance, shown.rehearsal.patch(), &sprayed);
                let Some(looking) = looking else {
                    (shown.sight, shown.report.seen) = (None, None);
                    return Look::Done;
                };
                Look::Looking(Box::new(looking))
            }
            Look::Looking(mut looking) => {
                if looking.step() {
                    Look::Looking(looking)
                } else {
                    let sight = looking.finish();
                    let mapping = Mapping::new(&sight, shown.rehearsal.job().viewing.distance);
                    Look::Mapping(Box::new((sight, mapping)))
                }
            }
            Look::Mapping(mut both) => {
                if !both.1.step(&both.0) {
                    finish(shown, both.0, both.1.finish());
                    return Look::Done;
                }
                Look::Mapping(both)
            }
        };
        if !more() {
            return part;
        }
    }
}

fn finish(shown: &mut Shown, visibility: Visibility, bare: Vec<f64>) {
    let (job, patch) = (shown.rehearsal.job(), shown.rehearsal.patch());
    shown.report.seen = seen_by(job, patch, &visibility, &bare);
    // the crests of a band's widest stripes and their troughs lie 0.71 of its period apart
    let apart = shown.report.seen.as_ref().map_or(0.0, |seen| 0.75 * seen.worst.period_mm);
    let gap = Millimetres(apart.min(WIDEST_GAP));
    let times = filled(patch, &bare, gap);
    let patch = patch.clone();
    shown.sight = Some(Sight { patch, times, bare, gap, visibility, asked: Cell::new(None) });
}

impl Sight {
    /// How many times over the threshold a place on the plan is seen, and the greatest distance from which it is. In a
    /// gap that is filled, the distance is that of the crest or trough which fills it.
    pub fn at(&self, place: DVec2) -> (f64, Option<f64>) {
        let last = DVec2::new(self.patch.columns as f64 - 1.0, self.patch.rows as f64 - 1.0);
        let at = ((place - self.patch.origin) / self.patch.cell).floor().clamp(DVec2::ZERO, last);
        let cell = self.filling(at.x as usize, at.y as usize);
        let from = match self.asked.get() {
            Some((asked, from)) if asked == cell => from,
            _ => self.visibility.seen_from(cell, NEAREST, FARTHEST).map(|from| from.0),
        };
        self.asked.set(Some((cell, from)));
        (self.times[at.y as usize * self.patch.columns + at.x as usize], from)
    }

    /// The cell whose bare value comes nearest to the filled one of a cell, within a gap of it; mostly itself.
    fn filling(&self, column: usize, row: usize) -> usize {
        let (columns, rows) = (self.patch.columns, self.patch.rows);
        let reach = [self.patch.cell.x, self.patch.cell.y].map(|cell| (self.gap.0 / cell).round() as usize);
        let own = row * columns + column;
        let off = |cell: usize| (self.bare[cell] - self.times[own]).abs();
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
