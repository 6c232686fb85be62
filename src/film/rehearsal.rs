//! A job rehearsed: lines become strokes, strokes lay film, pass by pass, and the paint is accounted for.
//! [`rehearse`] does it all; [`Rehearsal::lay_some`] and [`Rehearsal::follow_some`] do as much as there is time for, so that
//! a page stays alive;
//! [`Playback`] is the film at any moment, [`Wetness`] what was wet. Has never heard of colour.

mod passing;
mod playback;
mod sweep;
mod wetness;

pub use playback::{Doing, Playback};
pub use wetness::{Meeting, Moving, SUBSTANTIAL, WetFilm, Wetness, Wetting};

use crate::panel::{Area, Patch, Window};
use crate::plan::Plan;
use crate::spray::{Landed, Spray, escaping, footprint};
use crate::strokes::{Coat, Line, MOST_DEVIATIONS, Moment, NEAREST_MM, Order, Recorded, Side, Stroke, lines};

use crate::units::{Millilitres, Millimetres, Seconds};
use glam::DVec2;
use std::sync::Arc;
use sweep::{Onto, Rows, Sweep};

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

/// A pass whose paint is being followed past the rim.
#[derive(Debug, Clone)]
struct Following {
    landed: Landed,
    /// Strips that are done.
    strips: usize,
    strip: Option<(Sweep, Window, Laying)>,
}

/// What a pass laid on the panel.
#[derive(Debug, Clone)]
struct Laid {
    /// Dry film on its window, um; shared by passes that move alike.
    film: Arc<Vec<f64>>,
    landed: Landed,
}

/// Cells around the panel that catch what flies past its rim.
#[derive(Debug, Clone)]
struct Apron {
    strips: Vec<Patch>,
    /// The panel and the strips.
    area: Area,
}

/// Rehearses a whole job.
///
/// ```
/// use fanlap::{job::examples::EXAMPLES, rehearsal::rehearse};
/// let mut job = EXAMPLES[0].job();
/// plan.panel.cell.0 = 20.0; // coarse, for a quick look
/// let rehearsal = rehearse(&job);
/// let film = rehearsal.film(0);
/// let mean = film.iter().sum::<f64>() / film.len() as f64;
/// assert!(mean > 30.0 && mean < 40.0);
/// ```
pub fn rehearse(plan: &Plan) -> Rehearsal {
    let mut rehearsal = rehearse_film(plan);
    while rehearsal.follow_next() {}
    rehearsal
}

/// Rehearses the film alone: what flies past the rim is not followed, and the account does not hold it.
pub fn rehearse_film(plan: &Plan) -> Rehearsal {
    let mut rehearsal = Rehearsal::begin(plan);
    while rehearsal.lay_next() {}
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
                let laying = self.laying.take().unwrap_or_else(|| self.begin_pass(index));
                match self.go_on(index, laying, more) {
                    Ok(laid) => laid,
                    Err(laying) => {
                        self.laying = Some(laying);
                        return true;
                    }
                }
            }
        };
        let pass = &self.passes[index];
        let account = &mut self.accounts[self.plan.paint_of(&self.plan.coats[pass.coat])];
        account.sprayed.0 += self.plan.gun.fluid.cubic_mm_per_s() * pass.stroke.duration().0 / 1000.0;
        account.on_panel.0 += laid.landed.on.0;
        account.lost_in_air.0 += laid.landed.lost.0;
        self.laid.push(laid);
        self.laid.len() < self.passes.len()
    }

    fn sweep(&self, pass: &Pass) -> Sweep {
        Sweep::new(&self.spray, &self.plan.panel, &pass.line, &pass.stroke, self.patch.area())
    }

    /// The cells a pass can reach, before it is laid.
    pub fn window(&self, pass: &Pass) -> Window {
        self.sweep(pass).window(&self.patch)
    }

    /// Finds what a pass can reach.
    fn begin_pass(&mut self, index: usize) -> Laying {
        let pass = &self.passes[index];
        let sweep = self.sweep(pass);
        let (window, reach) = (sweep.window(&self.patch), reach(&self.plan, &self.spray, pass));
        self.reach = self.reach.max(reach);
        let pass = &mut self.passes[index];
        (pass.sweep, pass.window) = (Arc::new(sweep), window);
        let pass = &self.passes[index];
        let rows = pass.sweep.rows(&pass.stroke, &self.onto(pass, pass.stroke.duration()));
        Laying { film: vec![0.0; window.len()], rows }
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

    /// Follows what the next pass sprays past the rim; false when the account of all is complete.
    pub fn follow_next(&mut self) -> bool {
        self.follow_some(&mut || true)
    }

    /// Goes on with what the next pass sprays past the rim, while there is more time; false when the account of all passes
    /// is complete.
    pub fn follow_some(&mut self, more: &mut dyn FnMut() -> bool) -> bool {
        let Some(pass) = self.passes.get(self.past.len()) else { return false };
        let apron = self.apron.take().unwrap_or_else(|| Apron::around(&self.plan, self.reach, self.patch.area()));
        let off = match pass.twin {
            Some(twin) => self.past[twin],
            None => {
                let mut following = self.following.take().unwrap_or_else(|| Following {
                    landed: Landed { on: self.flown_away(pass, apron.area), ..Landed::default() },
                    strips: 0,
                    strip: None,
                });
                if !self.spray_past_rim(pass, &apron, &mut following, more) {
                    (self.apron, self.following) = (Some(apron), Some(following));
                    return true;
                }
                following.landed
            }
        };
        let account = &mut self.accounts[self.plan.paint_of(&self.plan.coats[pass.coat])];
        account.off_panel.0 += off.on.0;
        account.lost_in_air.0 += off.lost.0;
        self.apron = Some(apron);
        self.past.push(off);
        self.past.len() < self.passes.len()
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
        let each = recorded || self.plan.panel.has_rim();
        let apart = if each { 0.0 } else { sweep::apart(self.plan.gun.depth_at(coat.distance), &self.plan.hand) };
        Onto { patch: &self.patch, block: pass.window, until, apart, recorded }
    }

    /// What a pass laid, dry.
    fn dry(&self, pass: &Pass, mut film: Vec<f64>, landed: Landed) -> Laid {
        let solids = self.plan.paints[self.plan.paint_of(&self.plan.coats[pass.coat])].solids_by_volume.0;
        film.iter_mut().for_each(|film| *film *= solids);
        Laid { film: Arc::new(film), landed }
    }

    /// Lays what a pass sprays past the rim while there is more time; true when that is done.
    fn spray_past_rim(
        &self,
        pass: &Pass,
        apron: &Apron,
        following: &mut Following,
        more: &mut dyn FnMut() -> bool,
    ) -> bool {
        let recorded = self.plan.coats[pass.coat].track.is_some();
        for patch in &apron.strips[following.strips..] {
            let (sweep, window, mut strip) = following.strip.take().unwrap_or_else(|| {
                let sweep = pass.sweep.past(&self.spray, &self.plan.panel, &pass.stroke, patch.area());
                let block = sweep.window(patch);
                let onto = Onto { patch, block, until: pass.stroke.duration(), apart: 0.0, recorded };
                let rows = sweep.rows(&pass.stroke, &onto);
                (sweep, block, Laying { film: vec![0.0; block.len()], rows })
            });
            let onto = Onto { patch, block: window, until: pass.stroke.duration(), apart: 0.0, recorded };
            while sweep.lay_row(&self.spray, &pass.stroke, &onto, &mut strip.film, &mut strip.rows) {
                if !more() {
                    following.strip = Some((sweep, window, strip));
                    return false;
                }
            }
            following.landed += sweep.between(&onto, &mut strip.film, strip.rows);
            following.strips += 1;
        }
        true
    }

    /// What a pass sprays past all that is followed.
    fn flown_away(&self, pass: &Pass, followed: Area) -> Millilitres {
        let (panel, moments) = (&self.plan.panel, &pass.stroke.moments);
        let escapes = |moment: &Moment| escaping(&self.spray, panel, &moment.pose, followed).0;
        let shares: Vec<(f64, f64)> = if panel.is_steep() {
            // paint may fly past though all that is reached lies inside
            pass.stroke.evenly(LOOKS_OVER_THE_HORIZON).map(|moment| (moment.time.0, escapes(&moment))).collect()
        } else {
            // over a rolled rim the steps are fine and the directions many: what flies past changes slowly along a pass
            let every = if panel.has_rim() { 5 } else { 1 };
            let last = moments.len() - 1;
            let chosen = moments.iter().enumerate().filter(|(i, _)| i % every == 0 || *i == last);
            let stays = |i: usize| pass.sweep.lands_inside(i, panel);
            chosen.map(|(i, moment)| (moment.time.0, if stays(i) { 0.0 } else { escapes(moment) })).collect()
        };
        let ml_per_s = self.plan.gun.fluid.cubic_mm_per_s() / 1000.0;
        let between = |s: &[(f64, f64)]| 0.5 * (s[0].1 + s[1].1) * ml_per_s * (s[1].0 - s[0].0);
        Millilitres(shares.windows(2).map(between).sum())
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
        let mut film = vec![0.0; self.patch.window().len()];
        for index in 0..self.laid.len() {
            if self.paint_of_pass(index) == paint {
                self.add_pass(index, &mut film);
            }
        }
        film
    }

    /// Dry film of one coat, um, cell by cell.
    pub fn film_of_coat(&self, coat: usize) -> Vec<f64> {
        let mut film = vec![0.0; self.patch.window().len()];
        for index in (0..self.laid.len()).filter(|index| self.passes[*index].coat == coat) {
            self.add_pass(index, &mut film);
        }
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
        for (i, line) in lines.iter().copied().enumerate() {
            // the strokes around the rim are counted by themselves: with or without them the hand strays the same
            let pass = if line.rim || !settings.edge_pass { i } else { i - AROUND };
            let order = Order { coat, pass };
            let twin = alike.map(|first| first + i);
            let follow = || Stroke::of_pass(&plan.panel, &plan.gun, settings, &plan.hand, &line, order);
            let stroke = twin.map_or_else(follow, |twin| passes[twin].stroke.clone());
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

/// Cells of the apron, mm: fine enough for the smallest footprint of the job.
fn apron_cell(plan: &Plan) -> f64 {
    let (gun, hand) = (&plan.gun, &plan.hand);
    let nearer = (hand.distance_error.0 - MOST_DEVIATIONS * hand.distance_sd.0).min(0.0);
    let finest = plan.coats.iter().map(|coat| {
        let distance = Millimetres((coat.distance.0 + nearer).max(NEAREST_MM));
        (gun.depth_at(distance).0 / 8.0).min(gun.width_at(distance).0 / 32.0)
    });
    // on a steep face a footprint is so much shorter on the plan; near a rolled rim the strips have finer cells anyway
    let steep = plan.panel.is_steep() && !plan.panel.has_rim();
    let falls = if steep { plan.panel.falls().abs().max_element() } else { 0.0 };
    let on_plan = 1.0 / (1.0 + falls * falls).sqrt();
    on_plan * finest.fold(f64::INFINITY, f64::min).clamp(plan.panel.cell.0.min(20.0), 20.0)
}

impl Apron {
    /// As far as the fan carries paint past the rim and that is followed.
    fn around(plan: &Plan, reach: f64, panel: Area) -> Self {
        let around = (plan.panel.length.0 + 2.0 * reach) * (plan.panel.width.0 + 2.0 * reach);
        let cell = apron_cell(plan).max((around / MOST_APRON_CELLS).sqrt());
        let room = DVec2::splat(reach + cell);
        let area = Area { least: -room, most: panel.most + room };
        Self { strips: plan.panel.apron(Millimetres(reach + cell), Millimetres(cell)), area }
    }
}

/// How far past the rim the fan carries paint on a pass, mm, as far as it is followed.
fn reach(plan: &Plan, spray: &Spray, pass: &Pass) -> f64 {
    // beyond a rolled rim or a steep edge the surface falls out of the fan's reach long before that
    let slope = plan.panel.gradient(DVec2::ZERO).abs().max_element();
    let falls = plan.panel.has_rim() || plan.panel.is_steep();
    let farthest = if falls { DEEPEST_PAST_RIM / slope } else { FARTHEST_PAST_RIM };
    let room = DVec2::splat(farthest.min(FARTHEST_PAST_RIM));
    let panel = plan.panel.area();
    let everywhere = Area { least: panel.least - room, most: panel.most + room };
    let past = |area: Area| (panel.least - area.least).max_element().max((area.most - panel.most).max_element());
    let areas = pass.stroke.moments.iter().filter_map(|moment| footprint(spray, &plan.panel, &moment.pose, everywhere));
    areas.map(past).fold(0.0, f64::max)
}

/// Cells that the apron may have, so that a far-flung fan of a small gun does not exhaust the machine.
const MOST_APRON_CELLS: f64 = 1_000_000.0;
/// Paint that flies farther past the rim than this is counted by its direction, no longer by where it lands, mm.
const FARTHEST_PAST_RIM: f64 = 1500.0;
/// The same where the rim is rolled or the edge steep: how far the surface that goes on beyond it may fall, mm.
const DEEPEST_PAST_RIM: f64 = 1000.0;
/// So often along a pass over a steep panel it is looked whether paint flies past it all.
const LOOKS_OVER_THE_HORIZON: usize = 100;
