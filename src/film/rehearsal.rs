//! A job rehearsed: lines become strokes, strokes lay film, pass by pass, and the paint is accounted for.
//! [`rehearse`] does it all; [`Rehearsal::lay_some`] and [`Rehearsal::follow_some`] do as much as there is time for, so that
//! a page stays alive;
//! [`Playback`] is the film at any moment, [`Wetness`] what was wet. Has never heard of colour.

mod passing;
mod past;
mod playback;
mod sweep;
mod wetness;

pub use playback::{Doing, Playback};
pub use wetness::{Meeting, Moving, SUBSTANTIAL, WetFilm, Wetness, Wetting};

use crate::maths::{fill_pieces, in_turn};
use crate::panel::{Patch, Window};
use crate::plan::Plan;
use crate::spray::{Landed, Spray};
use crate::strokes::{Coat, Line, Order, Recorded, Side, Stroke, lines};
use crate::units::{Millilitres, Seconds};
use glam::DVec2;
use past::{Apron, Following, reach};
use std::sync::Arc;
use sweep::{Onto, Rolls, Rows, Sweep};

/// Strokes of the pass around the rim.
const AROUND: usize = 4;
/// Turning at the end of a pass with the trigger closed, s: an assumption. To the other side of a lying panel one walks
/// round, for as long as the job's hand says.
pub const TURN: Seconds = Seconds(0.6);

/// One pass of the job.
#[derive(Debug, Clone)]
pub struct Pass {
    /// Which coat it belongs to.
    pub coat: usize,
    /// Its number within the coat, from 1.
    pub number: usize,
    /// The planned line.
    pub line: Line,
    /// What the hand makes of it.
    pub stroke: Stroke,
    /// When the trigger opens, from the beginning of the job.
    pub start: Seconds,
    /// When it closes.
    pub end: Seconds,
    /// The cells it can reach; known once it is laid.
    pub window: Window,
    sweep: Arc<Sweep>,
    /// An earlier pass that moves alike with the same paint: it lays the same film.
    twin: Option<usize>,
}

/// When a coat begins, ends and has flashed off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoatTimes {
    /// The first trigger opens.
    pub start: Seconds,
    /// The last trigger closes.
    pub end: Seconds,
    /// The flash-off is over, and the painter is where the next coat begins.
    pub flashed: Seconds,
}

/// Where the paint went, mL wet.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Account {
    /// Left the gun.
    pub sprayed: Millilitres,
    /// Lies on the panel.
    pub on_panel: Millilitres,
    /// Was carried past the rim.
    pub off_panel: Millilitres,
    /// Never reached a surface.
    pub lost_in_air: Millilitres,
}

/// A job, its passes, and the film of those that are laid so far.
#[derive(Debug, Clone)]
pub struct Rehearsal {
    plan: Plan,
    patch: Patch,
    apron: Option<Apron>,
    spray: Spray,
    passes: Vec<Pass>,
    coats: Vec<CoatTimes>,
    laid: Vec<Laid>,
    /// What each pass whose paint has been followed sprayed past the rim.
    past: Vec<Landed>,
    accounts: Vec<Account>,
    /// How far past the rim the passes that are laid carry paint, mm.
    reach: f64,
    laying: Option<Laying>,
    following: Option<Following>,
}

/// A pass that is being laid.
#[derive(Debug, Clone)]
struct Laying {
    film: Vec<f64>,
    rows: Rows,
}

/// What a pass laid on the panel.
#[derive(Debug, Clone)]
struct Laid {
    /// Dry film on its window, um; shared by passes that move alike.
    film: Arc<Vec<f64>>,
    landed: Landed,
}

/// Rehearses a whole job.
///
/// ```
/// use fanlap_film::{plan::Plan, rehearsal::rehearse};
/// use fanlap_formats::job::examples::EXAMPLES;
/// let job = EXAMPLES[0].job();
/// let mut panel = job.panel.clone();
/// panel.cell.0 = 20.0; // coarse, for a quick look
/// let example = job.plan();
/// let (gun, hand) = (example.gun().clone(), example.hand().clone());
/// let plan = Plan::new(panel, gun, example.paints().to_vec(), example.coats().to_vec(), hand)?;
/// let rehearsal = rehearse(&plan);
/// let film = rehearsal.film(0);
/// let mean = film.iter().sum::<f64>() / film.len() as f64;
/// assert!(mean > 30.0 && mean < 40.0);
/// # Ok::<(), fanlap_film::error::Problem>(())
/// ```
pub fn rehearse(plan: &Plan) -> Rehearsal {
    let mut rehearsal = rehearse_film(plan);
    rehearsal.follow_all();
    rehearsal
}

/// Rehearses the film alone: what flies past the rim is not followed, and the account does not hold it.
pub fn rehearse_film(plan: &Plan) -> Rehearsal {
    let mut rehearsal = Rehearsal::begin(plan);
    rehearsal.lay_all();
    rehearsal
}

impl Rehearsal {
    /// Plans all passes without laying film.
    pub fn begin(plan: &Plan) -> Self {
        let (passes, coats) = schedule(plan);
        Self {
            patch: plan.panel.cells(),
            apron: None,
            spray: Spray::of(&plan.gun),
            passes,
            coats,
            laid: Vec::new(),
            past: Vec::new(),
            accounts: vec![Account::default(); plan.paints.len()],
            reach: 0.0,
            laying: None,
            following: None,
            plan: plan.clone(),
        }
    }

    /// Lays the next pass; false when all are laid.
    pub fn lay_next(&mut self) -> bool {
        self.lay_some(&mut || true)
    }

    /// Goes on with the next pass, row by row, while there is more time; false when all passes are laid.
    pub fn lay_some(&mut self, more: &mut dyn FnMut() -> bool) -> bool {
        let index = self.laid.len();
        let Some(twin) = self.passes.get(index).map(|pass| pass.twin) else { return false };
        let laid = match twin {
            Some(twin) => {
                let (sweep, window) = (self.passes[twin].sweep.clone(), self.passes[twin].window);
                (self.passes[index].sweep, self.passes[index].window) = (sweep, window);
                self.laid[twin].clone()
            }
            None => {
                let laying = self.laying.take().unwrap_or_else(|| {
                    self.reaches(index, self.reached_by(index));
                    self.rows_of(index)
                });
                match self.go_on(index, laying, more) {
                    Ok(laid) => laid,
                    Err(laying) => {
                        self.laying = Some(laying);
                        return true;
                    }
                }
            }
        };
        self.keep(index, laid);
        self.laid.len() < self.passes.len()
    }

    /// Lays all passes, each as if it were alone.
    fn lay_all(&mut self) {
        let alone = |this: &Self, index: usize| this.passes[index].twin.is_none();
        let reached = in_turn(self.passes.len(), |index| alone(self, index).then(|| self.reached_by(index)));
        for (index, reached) in reached.into_iter().enumerate() {
            if let Some(reached) = reached {
                self.reaches(index, reached);
            }
        }
        let lay = |index: usize| self.go_on(index, self.rows_of(index), &mut || true).ok();
        let laid = in_turn(self.passes.len(), |index| if alone(self, index) { lay(index) } else { None });
        for (index, laid) in laid.into_iter().enumerate() {
            match laid {
                Some(laid) => self.keep(index, laid),
                None => _ = self.lay_next(),
            }
        }
    }

    /// Puts what a pass laid into the account.
    fn keep(&mut self, index: usize, laid: Laid) {
        let pass = &self.passes[index];
        let account = &mut self.accounts[self.plan.paint_of(&self.plan.coats[pass.coat])];
        account.sprayed.0 += self.plan.gun.fluid.cubic_mm_per_s() * pass.stroke.duration().0 / 1000.0;
        account.on_panel.0 += laid.landed.on.0;
        account.lost_in_air.0 += laid.landed.lost.0;
        self.laid.push(laid);
    }

    fn sweep(&self, pass: &Pass) -> Sweep {
        Sweep::new(&self.spray, &self.plan.panel, &pass.line, &pass.stroke, self.patch.area())
    }

    /// The cells a pass can reach, before it is laid.
    pub fn window(&self, pass: &Pass) -> Window {
        self.sweep(pass).window(&self.patch)
    }

    /// What a pass can reach: when, on which cells, and how far past the rim.
    fn reached_by(&self, index: usize) -> (Sweep, Window, f64) {
        let pass = &self.passes[index];
        let sweep = self.sweep(pass);
        let window = sweep.window(&self.patch);
        (sweep, window, reach(&self.plan, &self.spray, pass))
    }

    fn reaches(&mut self, index: usize, (sweep, window, reach): (Sweep, Window, f64)) {
        self.reach = self.reach.max(reach);
        let pass = &mut self.passes[index];
        (pass.sweep, pass.window) = (Arc::new(sweep), window);
    }

    /// The rows of a pass whose reach is known; none is laid yet.
    fn rows_of(&self, index: usize) -> Laying {
        let pass = &self.passes[index];
        let rows = pass.sweep.rows(&pass.stroke, &self.onto(pass, pass.stroke.duration()));
        Laying { film: vec![0.0; pass.window.len()], rows }
    }

    /// Lays rows of a pass while there is more time: what it laid, or how far it has come.
    fn go_on(&self, index: usize, mut laying: Laying, more: &mut dyn FnMut() -> bool) -> Result<Laid, Laying> {
        let pass = &self.passes[index];
        let onto = self.onto(pass, pass.stroke.duration());
        while pass.sweep.lay_row(&self.spray, &pass.stroke, &onto, &mut laying.film, &mut laying.rows) {
            if !more() {
                return Err(laying);
            }
        }
        let landed = pass.sweep.between(&onto, &mut laying.film, laying.rows);
        Ok(self.dry(pass, laying.film, landed))
    }

    /// What a pass lays on its window from the opening of the trigger until `until`.
    fn spray_pass(&self, pass: &Pass, until: Seconds) -> Laid {
        let mut film = vec![0.0; pass.window.len()];
        let landed = pass.sweep.lay(&self.spray, &pass.stroke, &self.onto(pass, until), &mut film);
        self.dry(pass, film, landed)
    }

    /// Onto what a pass is laid from the opening of the trigger until `until`.
    fn onto(&self, pass: &Pass, until: Seconds) -> Onto<'_> {
        let coat = &self.plan.coats[pass.coat];
        let recorded = coat.track.is_some();
        Onto {
            patch: &self.patch,
            block: pass.window,
            until,
            apart: self.apart(pass),
            recorded,
            rolls: self.rolls(pass),
        }
    }

    /// How far apart the rows of a pass may be sprayed, mm.
    fn apart(&self, pass: &Pass) -> f64 {
        let coat = &self.plan.coats[pass.coat];
        let depth = self.plan.gun.depth_at(coat.distance);
        if coat.track.is_some() { 0.0 } else { sweep::apart(depth, &self.plan.hand) }
    }

    /// Where a pass goes over a rolled rim.
    fn rolls(&self, pass: &Pass) -> Rolls {
        let (plan, panel) = (&self.plan, &self.plan.panel);
        if !panel.has_rim() {
            return Rolls::NOWHERE;
        }
        let (length, cell) = if pass.sweep.lengthways() {
            (panel.length.0, self.patch.cell.x)
        } else {
            (panel.width.0, self.patch.cell.y)
        };
        // a cell is as steep as its mean
        let rim = panel.rim_width().0 + cell / 2.0;
        let finer = Stroke::finer_over_rim(panel, &plan.gun, &plan.coats[pass.coat], &plan.hand, &pass.line);
        Rolls { even: (rim, length - rim), finer }
    }

    /// What a pass laid, dry.
    fn dry(&self, pass: &Pass, mut film: Vec<f64>, landed: Landed) -> Laid {
        let solids = self.plan.paints[self.plan.paint_of(&self.plan.coats[pass.coat])].solids_by_volume.0;
        film.iter_mut().for_each(|film| *film *= solids);
        Laid { film: Arc::new(film), landed }
    }

    /// What is sprayed.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The panel in cells.
    pub fn patch(&self) -> &Patch {
        &self.patch
    }

    /// All passes in the order they are sprayed.
    pub fn passes(&self) -> &[Pass] {
        &self.passes
    }

    /// The times of the coats.
    pub fn coats(&self) -> &[CoatTimes] {
        &self.coats
    }

    /// Number of passes laid so far.
    pub fn laid(&self) -> usize {
        self.laid.len()
    }

    /// Whether all passes are laid.
    pub fn finished(&self) -> bool {
        self.laid.len() == self.passes.len()
    }

    /// Where the paint went, paint by paint.
    pub fn accounts(&self) -> &[Account] {
        &self.accounts
    }

    /// From the first trigger to the end of the last flash-off.
    pub fn total(&self) -> Seconds {
        self.coats.last().map_or(Seconds(0.0), |coat| coat.flashed)
    }

    /// Whether the painter goes round the panel after a pass, within its coat.
    pub fn walks_round_after(&self, pass: usize) -> bool {
        let next = self.passes.get(pass + 1).filter(|next| next.coat == self.passes[pass].coat);
        next.is_some_and(|next| walk(&self.plan, self.passes[pass].line.side, next.line.side).is_some())
    }

    /// How long the trigger is open in all.
    pub fn spraying(&self) -> Seconds {
        Seconds(self.passes.iter().map(|pass| pass.stroke.duration().0).sum())
    }

    /// Dry film of one paint over all laid passes, um, cell by cell.
    pub fn film(&self, paint: usize) -> Vec<f64> {
        self.film_of(|index| self.paint_of_pass(index) == paint)
    }

    /// Dry film of one coat, um, cell by cell.
    pub fn film_of_coat(&self, coat: usize) -> Vec<f64> {
        self.film_of(|index| self.passes[index].coat == coat)
    }

    /// Dry film of some passes of those that are laid, in their order.
    fn film_of(&self, which: impl Fn(usize) -> bool) -> Vec<f64> {
        let chosen: Vec<usize> = (0..self.laid.len()).filter(|index| which(*index)).collect();
        let mut film = vec![0.0; self.patch.window().len()];
        fill_pieces(&mut film, self.patch.columns, |row, film| {
            for index in chosen.iter().filter(|index| self.passes[**index].window.holds_row(row)) {
                let window = self.passes[*index].window;
                let laid = window.row_of(&self.laid[*index].film, row);
                film[window.column..].iter_mut().zip(laid).for_each(|(sum, value)| *sum += value);
            }
        });
        film
    }

    /// Which passes laid how much at a place on the plan, um; those that laid less than `least` are left out.
    pub fn laid_at(&self, place: DVec2, least: f64) -> Vec<(usize, f64)> {
        let cell = (place / self.patch.cell).floor();
        let (column, row) = (cell.x.max(0.0) as usize, cell.y.max(0.0) as usize);
        let inside =
            |w: &Window| (w.column..w.column + w.columns).contains(&column) && (w.row..w.row + w.rows).contains(&row);
        (0..self.laid.len())
            .filter(|index| inside(&self.passes[*index].window))
            .map(|index| {
                let w = self.passes[index].window;
                (index, self.laid[index].film[(row - w.row) * w.columns + column - w.column])
            })
            .filter(|(_, film)| *film >= least)
            .collect()
    }

    fn paint_of_pass(&self, index: usize) -> usize {
        self.plan.paint_of(&self.plan.coats[self.passes[index].coat])
    }

    fn add_pass(&self, index: usize, film: &mut [f64]) {
        let within = Block { outer: self.patch.window(), inner: self.passes[index].window };
        within.add(film, &self.laid[index].film, 1.0);
    }
}

/// A block of cells within a larger one.
struct Block {
    outer: Window,
    inner: Window,
}

impl Block {
    /// Adds the inner block's values, times `factor`, to the outer block's.
    fn add(&self, outer: &mut [f64], inner: &[f64], factor: f64) {
        let w = self.inner;
        for row in 0..w.rows {
            let start = (w.row + row - self.outer.row) * self.outer.columns + w.column - self.outer.column;
            let from = &inner[row * w.columns..(row + 1) * w.columns];
            outer[start..start + w.columns].iter_mut().zip(from).for_each(|(sum, value)| *sum += value * factor);
        }
    }
}

/// All passes with their times.
fn schedule(plan: &Plan) -> (Vec<Pass>, Vec<CoatTimes>) {
    let (mut passes, mut coats): (Vec<Pass>, _) = (Vec::new(), Vec::new());
    let mut now = 0.0;
    for (coat, settings) in plan.coats.iter().enumerate() {
        let start = now;
        let mut end = now;
        let alike = plan.coats[..coat].iter().position(|other| plan.hand.is_steady() && same_film(other, settings));
        let alike = alike.map(|alike| passes.partition_point(|pass| pass.coat < alike));
        for (i, pass) in recorded(plan, settings).into_iter().enumerate() {
            let times = (Seconds(start + pass.start.0), Seconds(start + pass.start.0 + pass.stroke.duration().0));
            let (window, sweep, twin) = (Window::default(), Arc::default(), None);
            let Recorded { line, stroke, .. } = pass;
            end = times.1.0;
            passes.push(Pass { coat, number: i + 1, line, stroke, start: times.0, end: times.1, window, sweep, twin });
        }
        let lines = planned(plan, settings);
        // the strokes around the rim are counted by themselves: with or without them the hand strays the same
        let number = |i: usize| if lines[i].rim || !settings.edge_pass { i } else { i - AROUND };
        let follow = |i: usize| {
            let order = Order { coat, pass: number(i) };
            Stroke::of_pass(&plan.panel, &plan.gun, settings, &plan.hand, &lines[i], order)
        };
        let strokes: Vec<Stroke> = match alike {
            Some(first) => (0..lines.len()).map(|i| passes[first + i].stroke.clone()).collect(),
            None => in_turn(lines.len(), follow),
        };
        for (i, (line, stroke)) in lines.iter().copied().zip(strokes).enumerate() {
            let twin = alike.map(|first| first + i);
            end = now + stroke.duration().0;
            let times = (Seconds(now), Seconds(end));
            let (window, sweep) = (Window::default(), Arc::default());
            passes.push(Pass { coat, number: i + 1, line, stroke, start: times.0, end: times.1, window, sweep, twin });
            let to_next = lines.get(i + 1).and_then(|next| walk(plan, line.side, next.side)).unwrap_or(TURN);
            // around the rim the trigger stays open from corner to corner
            now = if line.rim && i + 1 < AROUND { end } else { end + to_next.0 };
        }
        // where the next coat begins at the other side one is there no sooner than one has walked
        let next = plan.coats.get(coat + 1).map(|next| planned(plan, next)).unwrap_or_default();
        let back = lines.last().zip(next.first()).and_then(|(last, first)| walk(plan, last.side, first.side));
        now = end + settings.flash.seconds().0.max(back.map_or(0.0, |back| back.0));
        coats.push(CoatTimes { start: Seconds(start), end: Seconds(end), flashed: Seconds(now) });
    }
    (passes, coats)
}

/// How long it takes from one side to another, at least a turn; none where one stays on a side or nobody gets behind the
/// panel, because it stands.
fn walk(plan: &Plan, from: Side, to: Side) -> Option<Seconds> {
    (from != to && !plan.panel.stands()).then(|| Seconds(plan.hand.walk_round.0.max(TURN.0)))
}

/// The passes of a coat that a hand sprayed.
fn recorded(plan: &Plan, coat: &Coat) -> Vec<Recorded> {
    coat.track.as_ref().map_or_else(Vec::new, |track| track.passes(&plan.panel, coat.along))
}

/// The lines of a coat that is sprayed as planned.
fn planned(plan: &Plan, coat: &Coat) -> Vec<Line> {
    if coat.track.is_some() { Vec::new() } else { lines(&plan.panel, &plan.gun, coat) }
}

/// Whether two coats lay the same film: they differ in their flash-off at most.
fn same_film(one: &Coat, other: &Coat) -> bool {
    *one == Coat { flash: one.flash, ..other.clone() }
}
