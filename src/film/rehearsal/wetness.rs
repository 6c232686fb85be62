//! The wet film of a rehearsal, cell by cell: how much ever lies there, what of it runs and where to, what is near its
//! limit, and how long neighbouring passes lie apart. The laws and their sources are in `wet`. A pass lays what it lays
//! at a place in one moment, as it passes; films do not flow from cell to cell, so a run takes up nothing on its way.

use super::Rehearsal;
use super::passing::Passing;
use crate::field::{Place, places_of};
use crate::maths::ascending;
use crate::panel::{Area, Patch, Window};
use crate::plan::Plan;
use crate::units::{Fraction, Micrometres, Millimetres, Seconds};
use crate::wet::{Drying, Flow, Layer, Lie, RUN_TRAVEL, Stack, travel};
use glam::DVec2;

/// A pass that lays less than this share of its coat's film at a place is no neighbour there: an assumption.
pub const SUBSTANTIAL: Fraction = Fraction(0.1);

/// A coat of this many e-folds of its viscosity has set for good: it weighs 1/8000, which is a hundredth of a micrometre of
/// wet film.
const SET_FOR_GOOD: f64 = 9.0;

/// The wet film of one paint, cell by cell, as it was while that paint was the one on top; 0 where it was never sprayed.
/// No cells for a paint that no coat uses.
#[derive(Debug, Clone, Default)]
pub struct WetFilm {
    /// The most wet film, um: of coats of different age the film laid at once that would flow as far ([`Stack::as_one`]).
    pub most: Vec<f64>,
    /// When that was, s from the beginning of the job.
    pub when: Vec<f64>,
    /// How many times the film that just holds on the slope there: above 1 it moves, on a level place it is 0.
    pub times_limit: Vec<f64>,
    /// How far its surface flows down at most, mm.
    pub travel: Vec<f64>,
    /// The greatest gap in time between one pass and the next of the same coat that both lay a substantial share, s.
    pub gap: Vec<f64>,
    /// Places that run, the longest run first.
    pub runs: Vec<Moving>,
    /// Places over their limit in which nothing runs, the one that is most over it first.
    pub near_limit: Vec<Moving>,
}

/// A connected place whose wet film moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Moving {
    /// Its cells, by index.
    pub cells: Vec<usize>,
    /// The block that holds it, on the plan.
    pub area: Area,
    /// The middle of the cell that moves most.
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
    lies: Vec<Lie>,
    coating: Option<Coating>,
    coat: usize,
    /// Passes that are done.
    passes: usize,
}

impl Wetting {
    /// Of a rehearsal whose passes are laid; nothing is done yet.
    pub fn new(rehearsal: &Rehearsal) -> Self {
        let (plan, patch) = (&rehearsal.plan, &rehearsal.patch);
        let (history, lies) = (History::new(plan, patch), Lie::of_all(plan.panel.slope, &patch.gradient));
        Self { history, lies, coating: None, coat: 0, passes: 0 }
    }

    /// Goes on by a pass at most; false when all coats are done.
    pub fn step(&mut self, rehearsal: &Rehearsal) -> bool {
        if self.coat == rehearsal.plan.coats.len() {
            return false;
        }
        let Some(mut coating) = self.coating.take() else {
            self.coating = Some(self.history.begin(rehearsal, self.coat));
            return true;
        };
        let next = rehearsal.passes.iter().zip(&rehearsal.laid).nth(self.passes);
        if let Some((pass, laid)) = next.filter(|(pass, _)| pass.coat == self.coat) {
            let (ground, passing) = ((&rehearsal.patch, pass.window, &self.lies[..]), Passing::of(rehearsal, pass));
            coating.pass(&mut self.history.cells, ground, &laid.film, &passing);
            self.passes += 1;
            self.coating = Some(coating);
        } else {
            self.history.end(rehearsal, self.coat, coating);
            self.coat += 1;
        }
        true
    }

    /// Judges what has come of it.
    pub fn finish(self, rehearsal: &Rehearsal) -> Wetness {
        let History { mut films, meetings, .. } = self.history;
        for (film, paint) in films.iter_mut().zip(&rehearsal.plan.paints) {
            film.judge(&rehearsal.patch, &self.lies, &paint.flow());
        }
        Wetness { films, meetings }
    }
}

impl WetFilm {
    fn blank(cells: usize) -> Self {
        let none = || vec![0.0; cells];
        Self { most: none(), when: none(), times_limit: none(), travel: none(), gap: none(), ..Self::default() }
    }

    /// How many times what makes a run there is. Of a run its travel over [`RUN_TRAVEL`]; below that the film over the one
    /// that would run, of which what is above the sag limit counts by the root of its travel, as it does in one coat.
    pub fn of_run(&self, cell: usize, flow: &Flow) -> f64 {
        let (most, times, travel) = (self.most[cell], self.times_limit[cell], self.travel[cell] / RUN_TRAVEL.0);
        if travel >= 1.0 {
            return travel;
        }
        let sine = if most > 0.0 { times * flow.sag_limit.0 / most } else { 0.0 };
        flow.runs_from(sine).map_or(0.0, |runs_from| {
            let limit = flow.sag_limit.0 / sine;
            (most.min(limit) + (runs_from.0 - limit) * travel.sqrt()) / runs_from.0
        })
    }

    /// What runs, and what is near it.
    fn judge(&mut self, patch: &Patch, lies: &[Lie], flow: &Flow) {
        if self.most.is_empty() {
            return;
        }
        for (cell, times) in self.times_limit.iter_mut().enumerate() {
            *times = self.most[cell] * lies[cell].sine / flow.sag_limit.0;
        }
        let runs = |cell: usize| self.travel[cell] >= RUN_TRAVEL.0;
        let mut found = self.places(patch, lies, runs, &self.travel);
        ascending(&mut found, |run| -run.travel.0);
        let mut near = self.places(patch, lies, |cell| self.times_limit[cell] > 1.0, &self.times_limit);
        near.retain(|place| !place.cells.iter().any(|cell| runs(*cell)));
        ascending(&mut near, |place| -place.times_limit);
        (self.runs, self.near_limit) = (found, near);
    }

    /// Connected places, each with the cell that is worst by a measure.
    fn places(&self, patch: &Patch, lies: &[Lie], of: impl Fn(usize) -> bool, worst: &[f64]) -> Vec<Moving> {
        let moving = |place: Place| {
            let worst = place.most(|cell| worst[cell]);
            let from = patch.centre(worst % patch.columns, worst / patch.columns);
            let travel = Millimetres(self.travel[worst]);
            Moving {
                cells: place.cells,
                area: place.area,
                from,
                to: lies[worst].below(from, travel),
                travel,
                wet: Micrometres(self.most[worst]),
                times_limit: self.times_limit[worst],
                at: Seconds(self.when[worst]),
            }
        };
        places_of(patch, of).into_iter().map(moving).collect()
    }
}

/// What lies on the cells while the passes go over them.
struct History {
    cells: Vec<Standing>,
    /// Coats below that have not set for good, the uppermost first.
    below: Vec<Below>,
    films: Vec<WetFilm>,
    meetings: Vec<Meeting>,
}

/// What lies on one cell of the coat that is being laid, and the most that came of it.
#[derive(Debug, Clone, Copy, Default)]
struct Standing {
    layer: Layer,
    /// Last coat that came, counted from 1; 0 for none.
    last_coat: usize,
    /// Until when paint that comes melts into what lies there.
    open_until: f64,
    /// Film of the present coat from which on a pass is a neighbour, um.
    substantial: f64,
    /// When such a pass came last; not a number before the first.
    neighbour: f64,
    most: f64,
    when: f64,
    travel: f64,
    gap: f64,
}

/// A coat that is covered.
struct Below {
    layers: Vec<Layer>,
    flow: Flow,
    drying: Drying,
    /// When its last paint came, s.
    last: f64,
}

/// One coat on its way over the cells.
struct Coating {
    number: usize,
    solids: Fraction,
    flow: Flow,
    drying: Drying,
    below: Vec<Below>,
    /// Film times the slope's sine below which nothing moves, um.
    holds: f64,
    /// Cells of it that carry an earlier coat, and those on which that was open.
    carrying: (usize, usize),
}

impl History {
    fn new(plan: &Plan, patch: &Patch) -> Self {
        let cells = patch.window().len();
        // a paint that no coat uses costs nothing
        let used = |i: usize| plan.coats.iter().any(|coat| plan.paint_of(coat) == i);
        let films = (0..plan.paints.len()).map(|i| WetFilm::blank(if used(i) { cells } else { 0 })).collect();
        Self { cells: vec![Standing::default(); cells], below: Vec::new(), films, meetings: Vec::new() }
    }

    /// A coat begins.
    fn begin(&mut self, rehearsal: &Rehearsal, coat: usize) -> Coating {
        let (plan, times) = (&rehearsal.plan, rehearsal.coats[coat]);
        let paint = plan.paint_of(&plan.coats[coat]);
        let fluid = |below: &Below| times.start.0 - below.last < SET_FOR_GOOD * below.flow.thickens_over.0;
        self.below.retain(fluid);
        for (cell, film) in self.cells.iter_mut().zip(rehearsal.film_of_coat(coat)) {
            let substantial = film * SUBSTANTIAL.0;
            let (last_coat, open_until) = (cell.last_coat, cell.open_until);
            *cell = Standing { substantial, last_coat, open_until, neighbour: f64::NAN, ..Standing::default() };
        }
        let of = &plan.paints[paint];
        let (solids, flow, drying) = (of.solids_by_volume, of.flow(), of.drying());
        let below = std::mem::take(&mut self.below);
        let holds = below.iter().map(|below| below.flow.sag_limit.0).fold(flow.sag_limit.0, f64::min);
        Coating { number: coat + 1, solids, flow, drying, below, holds, carrying: (0, 0) }
    }

    /// All its passes are done.
    fn end(&mut self, rehearsal: &Rehearsal, coat: usize, coating: Coating) {
        let (plan, times) = (&rehearsal.plan, rehearsal.coats[coat]);
        let Coating { flow, drying, below, carrying: (carrying, open), .. } = coating;
        self.below = below;
        let onto_open = Fraction(if carrying > 0 { open as f64 / carrying as f64 } else { 0.0 });
        self.meetings.push(Meeting { onto_open });
        self.films[plan.paint_of(&plan.coats[coat])].keep(&self.cells);
        // what has set for good when the next coat begins need not be kept
        if coat + 1 < plan.coats.len() && times.flashed.0 - times.end.0 < SET_FOR_GOOD * flow.thickens_over.0 {
            let layers = self.cells.iter().map(|cell| cell.layer).collect();
            self.below.insert(0, Below { layers, flow, drying, last: times.end.0 });
        }
    }
}

impl WetFilm {
    /// The most of what was and what one more coat has brought.
    fn keep(&mut self, cells: &[Standing]) {
        for (i, cell) in cells.iter().enumerate() {
            if cell.most > self.most[i] {
                (self.most[i], self.when[i]) = (cell.most, cell.when);
            }
            if cell.travel > 0.0 {
                self.travel[i] = self.travel[i].max(cell.travel);
            }
            self.gap[i] = self.gap[i].max(cell.gap);
        }
    }
}

impl Coating {
    fn pass(
        &mut self,
        cells: &mut [Standing],
        (patch, window, lies): (&Patch, Window, &[Lie]),
        laid: &[f64],
        passing: &Passing,
    ) {
        // a pass goes along the columns or along the rows
        let of_column = |column| passing.at(patch.centre(window.column + column, window.row));
        let along: Vec<Seconds> = (0..window.columns).map(of_column).collect();
        for (row, films) in laid.chunks_exact(window.columns.max(1)).enumerate() {
            let of_row = passing.at(patch.centre(window.column, window.row + row));
            let first = (window.row + row) * patch.columns + window.column;
            let cells = &mut cells[first..][..window.columns];
            for (column, (film, cell)) in films.iter().zip(cells).enumerate().filter(|(_, (film, _))| **film > 0.0) {
                let time = if passing.lengthways() { along[column] } else { of_row };
                self.lay(cell, time, *film);
                self.look(cell, time, (first + column, lies[first + column].sine));
            }
        }
    }

    #[inline]
    fn lay(&mut self, cell: &mut Standing, time: Seconds, dry: f64) {
        if cell.last_coat != self.number {
            self.carrying.0 += usize::from(cell.last_coat > 0);
            self.carrying.1 += usize::from(cell.last_coat > 0 && time.0 <= cell.open_until);
            cell.last_coat = self.number;
        }
        cell.layer.lay(time, Micrometres(dry), self.solids, &self.drying);
        cell.open_until = time.0 + self.drying.open_time.0;
        if dry >= cell.substantial {
            let gap = time.0 - cell.neighbour;
            if gap > cell.gap {
                cell.gap = gap;
            }
            cell.neighbour = time.0;
        }
    }

    /// How much wet film that makes, and whether it moves.
    #[inline]
    fn look(&self, cell: &mut Standing, time: Seconds, (index, sine): (usize, f64)) {
        let fresh = cell.layer.fresh();
        let (wet, thickness) = if self.below.is_empty() {
            (fresh.0, fresh.0)
        } else {
            let mut stack = Stack::default();
            stack.add(fresh, Seconds(0.0), &self.flow);
            self.covered(index, time).for_each(|(film, age, flow)| stack.add(film, age, &flow));
            (stack.as_one().0, stack.thickness)
        };
        if wet > cell.most {
            (cell.most, cell.when) = (wet, time.0);
        }
        if thickness * sine > self.holds {
            let top = std::iter::once((fresh, Seconds(0.0), self.flow));
            cell.travel = cell.travel.max(travel(top.chain(self.covered(index, time)), sine).0);
        }
    }

    /// The coats below a place, from the outside in.
    #[inline]
    fn covered(&self, index: usize, time: Seconds) -> impl Iterator<Item = (Micrometres, Seconds, Flow)> {
        let lying = self.below.iter().filter(move |below| !below.layers[index].is_bare());
        lying.map(move |below| {
            let layer = &below.layers[index];
            (layer.wet(time, &below.drying), layer.age(time), below.flow)
        })
    }
}
