//! The wet film of a rehearsal, cell by cell: how much ever stands there, what of it runs and where to, and how long
//! neighbouring passes lie apart. The laws and their sources are in `wet`. A pass lays what it lays at a place in one
//! moment, as it passes; films do not flow from cell to cell, so a run takes up nothing on its way.

use super::Rehearsal;
use super::passing::Passing;
use crate::appraisal::places_of;
use crate::job::{Job, Paint};
use crate::maths::ascending;
use crate::panel::{Area, Patch, Window};
use crate::units::{Fraction, Micrometres, Millimetres, Seconds};
use crate::wet::{Drying, Flow, Lie, Stack};
use glam::DVec2;

/// A pass that lays less than this share of its coat's film at a place is no neighbour there: an assumption.
pub const SUBSTANTIAL: Fraction = Fraction(0.1);

/// The wet film of one paint: of the moments at which it was the one on top. Cell by cell, 0 where it never lay; no cells
/// for a paint that no coat uses.
#[derive(Debug, Clone, Default)]
pub struct WetFilm {
    /// The most film that was ever open, um wet, with what had not set below.
    pub most: Vec<f64>,
    /// When that was, s from the beginning of the job.
    pub when: Vec<f64>,
    /// How many times the film that just holds on the slope there: above 1 it runs, on a level place it is 0.
    pub times_limit: Vec<f64>,
    /// The greatest gap in time between one pass and the next of the same coat that both lay a substantial share, s.
    pub gap: Vec<f64>,
    /// Places that run, the worst first.
    pub runs: Vec<Run>,
}

/// A connected place that runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its cells, by index.
    pub cells: Vec<usize>,
    /// The block that holds it, on the plan.
    pub area: Area,
    /// The middle of the cell that is most over its limit.
    pub from: DVec2,
    /// Where the film of that cell ends; beyond the rim it drips.
    pub to: DVec2,
    /// How far that is along the surface.
    pub travel: Millimetres,
    /// Its wet film.
    pub wet: Micrometres,
    /// How many times over the limit.
    pub times_limit: f64,
    /// When.
    pub at: Seconds,
}

/// How a coat meets what was laid before it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Meeting {
    /// Of the cells that carry an earlier coat, the share on which that was still open.
    pub onto_open: Fraction,
}

/// The wet film of all paints.
#[derive(Debug, Clone)]
pub struct Wetness {
    /// By paint.
    pub films: Vec<WetFilm>,
    /// By coat.
    pub meetings: Vec<Meeting>,
}

impl Wetness {
    /// Of all passes that are laid.
    pub fn of(rehearsal: &Rehearsal) -> Self {
        let mut coming = Wetting::new(rehearsal);
        while coming.step(rehearsal) {}
        coming.finish(rehearsal)
    }
}

/// The wet film of a rehearsal on its way, pass by pass, so that a page stays alive.
pub struct Wetting {
    history: History,
    coating: Option<Coating>,
    coat: usize,
    /// Passes that are done.
    passes: usize,
}

impl Wetting {
    /// Of a rehearsal whose passes are laid; nothing is done yet.
    pub fn new(rehearsal: &Rehearsal) -> Self {
        Self { history: History::new(&rehearsal.job, &rehearsal.patch), coating: None, coat: 0, passes: 0 }
    }

    /// Goes on by a pass at most; false when all coats are done.
    pub fn step(&mut self, rehearsal: &Rehearsal) -> bool {
        if self.coat == rehearsal.job.coats.len() {
            return false;
        }
        let Some(mut coating) = self.coating.take() else {
            self.coating = Some(self.history.begin(rehearsal, self.coat));
            return true;
        };
        let next = rehearsal.passes.iter().zip(&rehearsal.laid).nth(self.passes);
        if let Some((pass, laid)) = next.filter(|(pass, _)| pass.coat == self.coat) {
            let passing = Passing::of(rehearsal, pass);
            self.history.pass(&rehearsal.patch, pass.window, &laid.film, &passing, &mut coating);
            self.passes += 1;
            self.coating = Some(coating);
        } else {
            self.history.end(rehearsal, self.coat, &coating);
            self.coat += 1;
        }
        true
    }

    /// Judges what has come of it.
    pub fn finish(self, rehearsal: &Rehearsal) -> Wetness {
        let (job, patch) = (&rehearsal.job, &rehearsal.patch);
        let lies = Lie::of_all(job.panel.slope, &patch.gradient);
        let History { mut films, meetings, .. } = self.history;
        for (film, paint) in films.iter_mut().zip(&job.paints) {
            film.judge(patch, &lies, &paint.flow());
        }
        Wetness { films, meetings }
    }
}

impl Paint {
    /// How it dries.
    pub fn drying(&self) -> Drying {
        Drying { open_time: self.open_time.seconds(), leaves_over: self.solvent_leaves_over.seconds() }
    }

    /// How it flows on the panel.
    pub fn flow(&self) -> Flow {
        let thickens_over = self.thickens_over.seconds();
        Flow { sag_limit: self.sag_limit, viscosity: self.viscosity, thickens_over }
    }
}

impl WetFilm {
    fn blank(cells: usize) -> Self {
        let none = || vec![0.0; cells];
        Self { most: none(), when: none(), times_limit: none(), gap: none(), runs: Vec::new() }
    }

    /// What runs.
    fn judge(&mut self, patch: &Patch, lies: &[Lie], flow: &Flow) {
        if self.most.is_empty() {
            return;
        }
        for (cell, times) in self.times_limit.iter_mut().enumerate() {
            *times = self.most[cell] * lies[cell].sine / flow.sag_limit.0;
        }
        let runs = |cell: usize| self.times_limit[cell] > 1.0;
        let mut found: Vec<Run> = (places_of(patch, runs).into_iter())
            .map(|place| {
                let worst = place.most(|cell| self.times_limit[cell]);
                let from = patch.centre(worst % patch.columns, worst / patch.columns);
                let wet = Micrometres(self.most[worst]);
                let travel = flow.travel(wet, &lies[worst]);
                let (to, at) = (lies[worst].below(from, travel), Seconds(self.when[worst]));
                let times_limit = self.times_limit[worst];
                Run { cells: place.cells, area: place.area, from, to, travel, wet, times_limit, at }
            })
            .collect();
        ascending(&mut found, |run| -run.times_limit);
        self.runs = found;
    }
}

/// What stands on the cells while the passes go over them.
struct History {
    cells: Vec<Standing>,
    films: Vec<WetFilm>,
    meetings: Vec<Meeting>,
}

/// What stands on one cell, and what was the most of the coat that is being laid.
#[derive(Debug, Clone, Copy, Default)]
struct Standing {
    stack: Stack,
    /// Last coat that came, counted from 1; 0 for none.
    last_coat: usize,
    /// Film of the present coat from which on a pass is a neighbour, um.
    substantial: f64,
    /// When such a pass came last; not a number before the first.
    neighbour: f64,
    most: f64,
    when: f64,
    gap: f64,
}

/// One coat on its way over the cells.
struct Coating {
    number: usize,
    solids: Fraction,
    drying: Drying,
    /// Cells of it that carry an earlier coat, and those on which that was open.
    carrying: (usize, usize),
}

impl History {
    fn new(job: &Job, patch: &Patch) -> Self {
        let cells = patch.window().len();
        // a paint that no coat uses costs nothing
        let used = |i: usize| job.coats.iter().any(|coat| job.paint_of(coat) == i);
        let films = (0..job.paints.len()).map(|i| WetFilm::blank(if used(i) { cells } else { 0 })).collect();
        Self { cells: vec![Standing::default(); cells], films, meetings: Vec::new() }
    }

    /// A coat begins.
    fn begin(&mut self, rehearsal: &Rehearsal, coat: usize) -> Coating {
        let paint = rehearsal.job.paint_of(&rehearsal.job.coats[coat]);
        for (cell, film) in self.cells.iter_mut().zip(rehearsal.film_of_coat(coat)) {
            let substantial = film * SUBSTANTIAL.0;
            *cell = Standing { substantial, neighbour: f64::NAN, most: 0.0, when: 0.0, gap: 0.0, ..*cell };
        }
        let of = &rehearsal.job.paints[paint];
        Coating { number: coat + 1, solids: of.solids_by_volume, drying: of.drying(), carrying: (0, 0) }
    }

    /// All its passes are done.
    fn end(&mut self, rehearsal: &Rehearsal, coat: usize, coating: &Coating) {
        let film = &mut self.films[rehearsal.job.paint_of(&rehearsal.job.coats[coat])];
        for (i, cell) in self.cells.iter().enumerate() {
            if cell.most > film.most[i] {
                (film.most[i], film.when[i]) = (cell.most, cell.when);
            }
            film.gap[i] = film.gap[i].max(cell.gap);
        }
        let (carrying, open) = coating.carrying;
        let onto_open = Fraction(if carrying > 0 { open as f64 / carrying as f64 } else { 0.0 });
        self.meetings.push(Meeting { onto_open });
    }

    fn pass(&mut self, patch: &Patch, window: Window, laid: &[f64], passing: &Passing, coating: &mut Coating) {
        // a pass goes along the columns or along the rows
        let of_column = |column| passing.at(patch.centre(window.column + column, window.row));
        let along: Vec<Seconds> = (0..window.columns).map(of_column).collect();
        for (row, films) in laid.chunks_exact(window.columns.max(1)).enumerate() {
            let of_row = passing.at(patch.centre(window.column, window.row + row));
            let cells = &mut self.cells[(window.row + row) * patch.columns + window.column..][..window.columns];
            for (column, (film, cell)) in films.iter().zip(cells).enumerate().filter(|(_, (film, _))| **film > 0.0) {
                cell.lay(if passing.lengthways() { along[column] } else { of_row }, *film, coating);
            }
        }
    }
}

impl Standing {
    #[inline]
    fn lay(&mut self, time: Seconds, dry: f64, coating: &mut Coating) {
        if self.last_coat != coating.number {
            coating.carrying.0 += usize::from(self.last_coat > 0);
            coating.carrying.1 += usize::from(self.stack.open(time));
            self.last_coat = coating.number;
        }
        self.stack.lay(time, Micrometres(dry), coating.solids, coating.drying);
        let wet = self.stack.fresh().0;
        if wet > self.most {
            (self.most, self.when) = (wet, time.0);
        }
        if dry >= self.substantial {
            let gap = time.0 - self.neighbour;
            if gap > self.gap {
                self.gap = gap;
            }
            self.neighbour = time.0;
        }
    }
}
