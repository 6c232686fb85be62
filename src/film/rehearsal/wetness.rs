//! The wet film of a rehearsal, cell by cell: how much ever lies there, what of it runs and where to, what is near its
//! limit, and how long neighbouring passes lie apart. The laws and their sources are in `wet`. A pass lays what it lays
//! at a place in one moment, as it passes; films do not flow from cell to cell, so a run takes up nothing on its way.

use super::passing::Passing;
use super::{Pass, Rehearsal};
use crate::field::{Place, places_of};
use crate::maths::{ascending, in_turn};
use crate::panel::{Area, Patch, Window};
use crate::units::{Fraction, Micrometres, Millimetres, Seconds};
use crate::wet::{Drying, Flow, Layer, Lie, RUN_TRAVEL, Stack, travel};
use glam::DVec2;
use std::ops::Range;

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

/// The wet film of a rehearsal on its way, some rows of cells after another, so that a page stays alive.
pub struct Wetting {
    lies: Vec<Lie>,
    courses: Vec<Course>,
    films: Vec<WetFilm>,
    /// By coat: cells of it that carry an earlier coat, and those on which that was open.
    carrying: Vec<(usize, usize)>,
    /// Rows that are done.
    rows: usize,
}

/// Rows of cells that are gone through at a time.
const ROWS: usize = 8;

impl Wetting {
    /// Of a rehearsal whose passes are laid; nothing is done yet.
    pub fn new(rehearsal: &Rehearsal) -> Self {
        let (plan, patch) = (&rehearsal.plan, &rehearsal.patch);
        // a paint that no coat uses costs nothing
        let used = |i: usize| plan.coats.iter().any(|coat| plan.paint_of(coat) == i);
        let cells = |i: usize| if used(i) { patch.window().len() } else { 0 };
        let films = (0..plan.paints.len()).map(|i| WetFilm::room_for(cells(i))).collect();
        let lies = Lie::of_all(plan.panel.slope, &patch.gradient);
        Self { lies, courses: Course::all(rehearsal), films, carrying: vec![(0, 0); plan.coats.len()], rows: 0 }
    }

    /// Goes on by some rows; false when all are done.
    pub fn step(&mut self, rehearsal: &Rehearsal) -> bool {
        let left = rehearsal.patch.rows - self.rows;
        // all of it at once where there are cores to share it; in a page piece by piece, so that it stays alive
        let pieces = if cfg!(target_arch = "wasm32") { left.min(1) } else { left.div_ceil(ROWS) };
        let first = |piece: usize| self.rows + piece * ROWS;
        let end = |piece: usize| (first(piece) + ROWS).min(rehearsal.patch.rows);
        let done = in_turn(pieces, |piece| self.through(rehearsal, first(piece)..end(piece)));
        for rows in done {
            for (film, more) in self.films.iter_mut().zip(rows.films).filter(|(film, _)| film.most.capacity() > 0) {
                film.most.extend(more.most);
                film.when.extend(more.when);
                film.travel.extend(more.travel);
                film.gap.extend(more.gap);
            }
            for (sum, more) in self.carrying.iter_mut().zip(rows.carrying) {
                *sum = (sum.0 + more.0, sum.1 + more.1);
            }
        }
        self.rows = (self.rows + pieces.saturating_mul(ROWS)).min(rehearsal.patch.rows);
        self.rows < rehearsal.patch.rows
    }

    /// What comes of all coats on some rows.
    fn through(&self, rehearsal: &Rehearsal, rows: Range<usize>) -> Rows {
        let blank = |_| WetFilm::blank(rows.len() * rehearsal.patch.columns);
        let mut done =
            Rows { films: (0..self.films.len()).map(blank).collect(), carrying: vec![(0, 0); self.courses.len()] };
        for row in rows.clone() {
            self.row(rehearsal, row, (row - rows.start) * rehearsal.patch.columns, &mut done);
        }
        done
    }

    /// The same on one row, whose cells begin at a place of what is done.
    fn row(&self, rehearsal: &Rehearsal, row: usize, at: usize, done: &mut Rows) {
        let columns = rehearsal.patch.columns;
        let mut cells = vec![Standing::default(); columns];
        let mut layers: Vec<Vec<Layer>> = Vec::with_capacity(self.courses.len());
        for (coat, course) in self.courses.iter().enumerate() {
            course.begin(rehearsal, row, &mut cells);
            let below: Vec<Below> = course
                .below
                .iter()
                .map(|coat| Below { course: &self.courses[*coat], layers: &layers[*coat] })
                .collect();
            let mut coating = Coating { course, number: coat + 1, below, carrying: (0, 0) };
            let lies = &self.lies[row * columns..][..columns];
            for pass in course.passes.iter().filter(|pass| pass.window.holds_row(row)) {
                coating.pass(&mut cells, row, lies, (pass, &rehearsal.laid[pass.index].film));
            }
            done.carrying[coat] =
                (done.carrying[coat].0 + coating.carrying.0, done.carrying[coat].1 + coating.carrying.1);
            done.films[course.paint].keep(at, &cells);
            let layer = |cell: &Standing| cell.layer;
            layers.push(if course.kept { cells.iter().map(layer).collect() } else { Vec::new() });
        }
    }

    /// Judges what has come of it.
    pub fn finish(mut self, rehearsal: &Rehearsal) -> Wetness {
        for (film, paint) in self.films.iter_mut().zip(&rehearsal.plan.paints) {
            film.judge(&rehearsal.patch, &self.lies, &paint.flow());
        }
        let share = |open: usize, of: usize| Fraction(if of > 0 { open as f64 / of as f64 } else { 0.0 });
        let meetings = self.carrying.iter().map(|(of, open)| Meeting { onto_open: share(*open, *of) }).collect();
        Wetness { films: self.films, meetings }
    }
}

/// What came of some rows.
struct Rows {
    films: Vec<WetFilm>,
    carrying: Vec<(usize, usize)>,
}

impl WetFilm {
    fn blank(cells: usize) -> Self {
        let none = || vec![0.0; cells];
        Self { most: none(), when: none(), travel: none(), gap: none(), ..Self::default() }
    }

    fn room_for(cells: usize) -> Self {
        let room = || Vec::with_capacity(cells);
        Self { most: room(), when: room(), travel: room(), gap: room(), ..Self::default() }
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
        self.times_limit = self.most.iter().zip(lies).map(|(most, lie)| most * lie.sine / flow.sag_limit.0).collect();
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

/// One coat with the passes that lay it.
struct Course {
    paint: usize,
    solids: Fraction,
    flow: Flow,
    drying: Drying,
    /// Coats below that have not set for good when it begins, the uppermost first.
    below: Vec<usize>,
    /// Whether it lies below another one so.
    kept: bool,
    /// Film times the slope's sine below which nothing moves, um.
    holds: f64,
    passes: Vec<Over>,
}

/// A pass that is laid, with the times at which it passes.
struct Over {
    index: usize,
    window: Window,
    lengthways: bool,
    /// By column where it goes along the length, by row where it goes across.
    times: Vec<Seconds>,
}

impl Course {
    /// Of all coats that are laid.
    fn all(rehearsal: &Rehearsal) -> Vec<Self> {
        let plan = &rehearsal.plan;
        let mut courses: Vec<Self> = Vec::new();
        let mut fluid: Vec<usize> = Vec::new();
        for (coat, times) in rehearsal.coats.iter().enumerate() {
            // a coat that has set for good when this one begins need not be looked at
            let since = |below: &usize| times.start.0 - rehearsal.coats[*below].end.0;
            fluid.retain(|below| since(below) < SET_FOR_GOOD * courses[*below].flow.thickens_over.0);
            let paint = plan.paint_of(&plan.coats[coat]);
            let flow = plan.paints[paint].flow();
            let limits = fluid.iter().map(|below| courses[*below].flow.sag_limit.0);
            let holds = limits.fold(flow.sag_limit.0, f64::min);
            courses.push(Self {
                paint,
                solids: plan.paints[paint].solids_by_volume,
                flow,
                drying: plan.paints[paint].drying(),
                below: fluid.clone(),
                kept: false,
                holds,
                passes: Over::of_coat(rehearsal, coat),
            });
            fluid.insert(0, coat);
        }
        for covered in courses.iter().flat_map(|course| course.below.clone()).collect::<Vec<usize>>() {
            courses[covered].kept = true;
        }
        courses
    }

    /// It begins on a row of cells.
    fn begin(&self, rehearsal: &Rehearsal, row: usize, cells: &mut [Standing]) {
        for cell in cells.iter_mut() {
            let (last_coat, open_until) = (cell.last_coat, cell.open_until);
            *cell = Standing { last_coat, open_until, neighbour: f64::NAN, ..Standing::default() };
        }
        for pass in self.passes.iter().filter(|pass| pass.window.holds_row(row)) {
            let films = pass.window.row_of(&rehearsal.laid[pass.index].film, row);
            cells[pass.window.column..].iter_mut().zip(films).for_each(|(cell, film)| cell.substantial += film);
        }
        cells.iter_mut().for_each(|cell| cell.substantial *= SUBSTANTIAL.0);
    }
}

impl Over {
    fn of_coat(rehearsal: &Rehearsal, coat: usize) -> Vec<Self> {
        let laid = rehearsal.passes[..rehearsal.laid.len()].iter().enumerate();
        laid.filter(|(_, pass)| pass.coat == coat).map(|(index, pass)| Self::of(rehearsal, index, pass)).collect()
    }

    fn of(rehearsal: &Rehearsal, index: usize, pass: &Pass) -> Self {
        let (patch, window, passing) = (&rehearsal.patch, pass.window, Passing::of(rehearsal, pass));
        let lengthways = passing.lengthways();
        let count = if lengthways { window.columns } else { window.rows };
        let centre = |i: usize| {
            let (column, row) = if lengthways { (i, 0) } else { (0, i) };
            patch.centre(window.column + column, window.row + row)
        };
        Self { index, window, lengthways, times: (0..count).map(|i| passing.at(centre(i))).collect() }
    }
}

impl WetFilm {
    /// The most of what was and what one more coat has brought to the cells from a place on.
    fn keep(&mut self, at: usize, cells: &[Standing]) {
        for (i, cell) in (at..).zip(cells) {
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

/// A coat that is covered, on a row of cells.
struct Below<'a> {
    course: &'a Course,
    layers: &'a [Layer],
}

/// One coat on its way over a row of cells.
struct Coating<'a> {
    course: &'a Course,
    number: usize,
    below: Vec<Below<'a>>,
    /// Cells of it that carry an earlier coat, and those on which that was open.
    carrying: (usize, usize),
}

impl Coating<'_> {
    fn pass(&mut self, cells: &mut [Standing], row: usize, lies: &[Lie], (pass, laid): (&Over, &[f64])) {
        let window = pass.window;
        let films = window.row_of(laid, row);
        let cells = &mut cells[window.column..][..window.columns];
        for (column, (film, cell)) in films.iter().zip(cells).enumerate().filter(|(_, (film, _))| **film > 0.0) {
            let time = if pass.lengthways { pass.times[column] } else { pass.times[row - window.row] };
            self.lay(cell, time, *film);
            self.look(cell, time, (window.column + column, lies[window.column + column].sine));
        }
    }

    #[inline]
    fn lay(&mut self, cell: &mut Standing, time: Seconds, dry: f64) {
        if cell.last_coat != self.number {
            self.carrying.0 += usize::from(cell.last_coat > 0);
            self.carrying.1 += usize::from(cell.last_coat > 0 && time.0 <= cell.open_until);
            cell.last_coat = self.number;
        }
        cell.layer.lay(time, Micrometres(dry), self.course.solids, &self.course.drying);
        cell.open_until = time.0 + self.course.drying.open_time.0;
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
            stack.add(fresh, Seconds(0.0), &self.course.flow);
            self.covered(index, time).for_each(|(film, age, flow)| stack.add(film, age, &flow));
            (stack.as_one().0, stack.thickness)
        };
        if wet > cell.most {
            (cell.most, cell.when) = (wet, time.0);
        }
        if thickness * sine > self.course.holds {
            let top = std::iter::once((fresh, Seconds(0.0), self.course.flow));
            cell.travel = cell.travel.max(travel(top.chain(self.covered(index, time)), sine).0);
        }
    }

    /// The coats below a place, from the outside in.
    #[inline]
    fn covered(&self, index: usize, time: Seconds) -> impl Iterator<Item = (Micrometres, Seconds, Flow)> {
        let lying = self.below.iter().filter(move |below| !below.layers[index].is_bare());
        lying.map(move |below| {
            let layer = &below.layers[index];
            (layer.wet(time, &below.course.drying), layer.age(time), below.course.flow)
        })
    }
}
