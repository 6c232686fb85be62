//! A whole stroke laid on a patch, row of cells by row of cells square to its travel: each row is sprayed while the fan
//! goes over it, in one step where the gun hardly turns and from moment to moment where it does. Along its travel a pass
//! changes slowly, away from where the trigger opens and closes: there only some rows are sprayed, the others lie between.
//! `tests/film/sweep.rs` holds all of it to the plain law.

use crate::gun::Pose;
use crate::panel::{Area, Panel, Patch, Window};
use crate::spray::{Landed, Spray, deposit, deposit_passing, lands_within, reached};
use crate::strokes::{Hand, Line, Moment, Stroke};
use crate::units::{Millilitres, Millimetres, Seconds};
use glam::DVec2;

/// A gun that makes fewer steps than this while it passes a place hardly turns: one step will do. It is taken this share
/// of the time before and after the middle, about the root mean square of where the paint is in the fan's depth: over a
/// curved panel that is how far the gun is from the place on an average.
const HARDLY_TURNS: f64 = 3.5;
const ON_AVERAGE: f64 = 0.35;
/// Rows are sprayed this far apart, as a share of the fan's depth, and no farther apart than so many mm: a hand that
/// strays does so over less than the fan's depth. And the film grows by no more than this share from one to the next
/// where the hand nearly stands: a cubic is then within its fourth power.
const APART: f64 = 0.2;
const APART_MM: f64 = 12.0;
const GROWTH_APART: f64 = 0.12;
/// Rows that a row lies between, two on each side.
const NODES: usize = 4;

/// What a gun can reach at each moment of a stroke.
#[derive(Debug, Clone, Default)]
pub(super) struct Sweep {
    lengthways: bool,
    forward: bool,
    areas: Vec<Area>,
    /// How far along the travel the fan has reached until each moment.
    ahead: Vec<f64>,
    /// What it will not reach any more after each moment.
    behind: Vec<f64>,
}

/// Onto what a stroke is laid, and until when.
pub(super) struct Onto<'a> {
    pub(super) patch: &'a Patch,
    /// Cells of the patch.
    pub(super) block: Window,
    /// From the opening of the trigger.
    pub(super) until: Seconds,
    /// How far apart rows may be sprayed, mm; 0: each is.
    pub(super) apart: f64,
    /// The moments were recorded: between few of them the gun may have done anything.
    pub(super) recorded: bool,
    /// Where the surface rolls down along the travel.
    pub(super) rolls: Rolls,
}

/// Where along its travel a pass goes over a rolled rim, and how much finer its steps are for that.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rolls {
    /// Between these places, mm, it does not.
    pub(super) even: (f64, f64),
    /// How many times as many steps.
    pub(super) finer: f64,
}

impl Rolls {
    /// Nowhere.
    pub(super) const NOWHERE: Self = Self { even: (f64::NEG_INFINITY, f64::INFINITY), finer: 1.0 };
}

/// The rows of a block on their way.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    passages: Vec<Option<Passage>>,
    between: Between,
    /// What landed on each of those that are laid.
    landed: Vec<Landed>,
}

/// When the fan passes a row, in places of the list of moments.
#[derive(Debug, Clone, Copy)]
struct Passage {
    enters: f64,
    leaves: f64,
    /// The trigger is open from before it enters until after it has left, and the surface does not roll down along it.
    whole: bool,
}

impl Sweep {
    /// Of a stroke along a line, over the part of the surface within an area.
    pub(super) fn new(spray: &Spray, panel: &Panel, line: &Line, stroke: &Stroke, within: Area) -> Self {
        let direction = line.direction();
        let lengthways = direction.x.abs() >= direction.y.abs();
        let forward = if lengthways { direction.x > 0.0 } else { direction.y > 0.0 };
        let areas = stroke.moments.iter().map(|m| reached(spray, panel, &m.pose, within)).collect();
        Self { lengthways, forward, ..Self::default() }.over(areas)
    }

    /// The same over a part that begins where the panel, of which this is, ends.
    pub(super) fn past(
        &self,
        spray: &Spray,
        panel: &Panel,
        (stroke, inside): (&Stroke, &[bool]),
        within: Area,
    ) -> Self {
        let reach = |(i, moment): (usize, &Moment)| {
            let on_panel = self.areas[i].shared(panel.area()).filter(|_| inside[i]);
            on_panel.unwrap_or_else(|| reached(spray, panel, &moment.pose, within))
        };
        let areas = stroke.moments.iter().enumerate().map(reach).collect();
        Self { lengthways: self.lengthways, forward: self.forward, ..Self::default() }.over(areas)
    }

    /// At which moments all that is sprayed lands on the panel.
    pub(super) fn inside(&self, spray: &Spray, panel: &Panel, stroke: &Stroke) -> Vec<bool> {
        // beyond a rolled rim the surface falls off so steeply that every footprint seems to reach it
        let lands = |moment: &Moment| panel.has_rim() && lands_within(spray, panel, &moment.pose, panel.area());
        let moments = stroke.moments.iter().enumerate();
        moments.map(|(i, moment)| self.lands_inside(i, panel) || lands(moment)).collect()
    }

    /// Whether it goes along the length.
    pub(super) fn lengthways(&self) -> bool {
        self.lengthways
    }

    /// Whether all that is sprayed at a moment lands on the panel.
    pub(super) fn lands_inside(&self, moment: usize, panel: &Panel) -> bool {
        let (area, panel) = (&self.areas[moment], panel.area());
        area.least.cmpge(panel.least).all() && area.most.cmple(panel.most).all()
    }

    fn over(self, areas: Vec<Area>) -> Self {
        let front = |area: &Area| self.way(if self.forward { area.most } else { area.least });
        let back = |area: &Area| self.way(if self.forward { area.least } else { area.most });
        let ahead = running(areas.iter().map(front), f64::NEG_INFINITY, f64::max);
        let mut behind = running(areas.iter().rev().map(back), f64::INFINITY, f64::min);
        behind.reverse();
        Self { areas, ahead, behind, ..self }
    }

    /// How far along the travel a place is.
    fn way(&self, place: DVec2) -> f64 {
        let along = if self.lengthways { place.x } else { place.y };
        if self.forward { along } else { -along }
    }

    /// The cells of a patch that are reached at all.
    pub(super) fn window(&self, patch: &Patch) -> Window {
        let steps = self.areas.windows(2).map(|step| patch.window_of(step[0].around(step[1])));
        steps.fold(Window::default(), Window::union)
    }

    /// Lays wet film, um, on the cells of a block, row after row as they lie in it.
    pub(super) fn lay(&self, spray: &Spray, stroke: &Stroke, onto: &Onto, film: &mut [f64]) -> Landed {
        let mut rows = self.rows(stroke, onto);
        while self.lay_row(spray, stroke, onto, film, &mut rows) {}
        self.between(onto, film, rows)
    }

    /// The rows of a block, none of which is laid yet.
    pub(super) fn rows(&self, stroke: &Stroke, onto: &Onto) -> Rows {
        let count = if self.lengthways { onto.block.columns } else { onto.block.rows };
        let passages: Vec<Option<Passage>> = (0..count).map(|i| self.passage(stroke, onto, i)).collect();
        let cell = if self.lengthways { onto.patch.cell.x } else { onto.patch.cell.y };
        let every = ((onto.apart / cell) as usize).max(1);
        Rows { between: Between::of(&passages, every), passages, landed: Vec::with_capacity(count) }
    }

    /// Lays the next row, unless it lies between others; false when all are laid.
    pub(super) fn lay_row(
        &self,
        spray: &Spray,
        stroke: &Stroke,
        onto: &Onto,
        film: &mut [f64],
        rows: &mut Rows,
    ) -> bool {
        let i = rows.landed.len();
        let Some(passage) = rows.passages.get(i) else { return false };
        let sprayed = passage.filter(|_| !rows.between.holds(i));
        let landed = sprayed.map(|passage| self.spray_row(spray, stroke, onto, film, i, passage));
        rows.landed.push(landed.unwrap_or_default());
        true
    }

    /// Fills the rows that lie between those that are laid; what landed in all.
    pub(super) fn between(&self, onto: &Onto, film: &mut [f64], rows: Rows) -> Landed {
        let Rows { between, mut landed, .. } = rows;
        let held = (0..landed.len()).filter(|i| between.holds(*i)).map(|i| (i, between.nodes(i)));
        let held: Vec<Held> = held.collect();
        self.fill(onto.block, film, &held);
        for (i, nodes) in held {
            let sum = |of: fn(&Landed) -> f64| nodes.iter().map(|(node, share)| share * of(&landed[*node])).sum();
            landed[i] = Landed { on: Millilitres(sum(|l| l.on.0)), lost: Millilitres(sum(|l| l.lost.0)) };
        }
        landed.into_iter().fold(Landed::default(), |mut sum, row| {
            sum += row;
            sum
        })
    }

    /// The cells of a row.
    fn row(&self, block: Window, i: usize) -> Window {
        if self.lengthways {
            Window { column: block.column + i, columns: 1, ..block }
        } else {
            Window { row: block.row + i, rows: 1, ..block }
        }
    }

    fn passage(&self, stroke: &Stroke, onto: &Onto, i: usize) -> Option<Passage> {
        let first = self.row(onto.block, i);
        let centre = onto.patch.centre(first.column, first.row);
        let (along, way) = (if self.lengthways { centre.x } else { centre.y }, self.way(centre));
        let enters = crossing(&self.ahead, way)?;
        let leaves = crossing(&self.behind, way);
        let rolls = along < onto.rolls.even.0 || along > onto.rolls.even.1;
        let closed = rolls || self.ahead[0] >= way || leaves.is_none_or(|at| stroke.time_at(at).0 > onto.until.0);
        let leaves = leaves.unwrap_or((self.areas.len() - 1) as f64);
        (enters < leaves && stroke.time_at(enters).0 < onto.until.0).then_some(Passage {
            enters,
            leaves,
            whole: !closed,
        })
    }

    fn spray_row(
        &self,
        spray: &Spray,
        stroke: &Stroke,
        onto: &Onto,
        film: &mut [f64],
        i: usize,
        passage: Passage,
    ) -> Landed {
        let Passage { enters, leaves, whole } = passage;
        let row =
            self.narrowed(self.row(onto.block, i), onto.patch, &self.areas[enters as usize..=leaves.ceil() as usize]);
        if row.is_empty() {
            return Landed::default();
        }
        let (from, to) = (stroke.time_at(enters), Seconds(stroke.time_at(leaves).0.min(onto.until.0)));
        let within = &stroke.moments[enters as usize + 1..leaves.ceil() as usize];
        let calm = whole && !onto.recorded && leaves - enters < HARDLY_TURNS * onto.rolls.finer;
        let at = |time: Seconds| (time, stroke.pose_at(time));
        if calm {
            let (middle, half) = (0.5 * (from.0 + to.0), 0.5 * ON_AVERAGE * (to.0 - from.0));
            let ends = [middle - half, middle + half].map(|time| at(Seconds(time)));
            return deposit_passing(spray, onto.patch, row, (onto.block, film), &ends);
        }
        let ends = [from, to].map(at);
        let stops = within.iter().map(|moment| (moment.time, moment.pose)).filter(|(time, _)| time.0 < to.0);
        let path: Vec<(Seconds, Pose)> = [ends[0]].into_iter().chain(stops).chain([ends[1]]).collect();
        deposit(spray, onto.patch, row, (onto.block, film), &path)
    }

    /// Fills the rows that lie between others, in the order in which the cells lie in the block.
    fn fill(&self, block: Window, film: &mut [f64], held: &[Held]) {
        let mut fill = |(i, nodes): &Held, cell: usize, (from_cell, from_row): (usize, usize)| {
            let of = |node: usize| node * from_row + cell * from_cell;
            let value: f64 = nodes.iter().map(|(node, share)| share * film[of(*node)]).sum();
            film[of(*i)] = value.max(0.0);
        };
        if self.lengthways {
            (0..block.rows).for_each(|cell| held.iter().for_each(|row| fill(row, cell, (block.columns, 1))));
        } else {
            held.iter().for_each(|row| (0..block.columns).for_each(|cell| fill(row, cell, (1, block.columns))));
        }
    }

    /// The part of a row that some areas reach.
    fn narrowed(&self, row: Window, patch: &Patch, areas: &[Area]) -> Window {
        let across = |place: DVec2| if self.lengthways { place.y } else { place.x };
        let least = areas.iter().map(|area| across(area.least)).fold(f64::INFINITY, f64::min);
        let most = areas.iter().map(|area| across(area.most)).fold(f64::NEG_INFINITY, f64::max);
        let (origin, cell) = (across(patch.origin), across(patch.cell));
        let (first, count) = if self.lengthways { (row.row, row.rows) } else { (row.column, row.columns) };
        let inside = |place: f64| place.clamp(first as f64, (first + count) as f64) as usize;
        let from = inside(((least - origin) / cell - 0.5).ceil());
        let count = inside(((most - origin) / cell + 0.5).floor()).saturating_sub(from);
        if self.lengthways {
            Window { row: from, rows: count, ..row }
        } else {
            Window { column: from, columns: count, ..row }
        }
    }
}

/// A row that lies between others: they, with their shares in it.
type Held = (usize, [(usize, f64); NODES]);

/// Rows that are not sprayed but lie between others: of those that are passed as a whole all but every so many.
#[derive(Debug, Clone)]
struct Between {
    first: usize,
    last: usize,
    every: usize,
}

impl Between {
    fn of(passages: &[Option<Passage>], every: usize) -> Self {
        let whole = |passage: &Option<Passage>| passage.is_some_and(|passage| passage.whole);
        let first = passages.iter().position(whole).unwrap_or(0);
        let count = passages[first..].iter().take_while(|passage| whole(passage)).count();
        let gaps = count.saturating_sub(1) / every;
        let gaps = if gaps + 1 >= NODES { gaps } else { 0 };
        Self { first, last: first + gaps * every, every }
    }

    fn holds(&self, i: usize) -> bool {
        (self.first..self.last).contains(&i) && !(i - self.first).is_multiple_of(self.every)
    }

    /// The rows next to a row and their shares in it, by the cubic through them.
    fn nodes(&self, i: usize) -> [(usize, f64); NODES] {
        let at = (i - self.first) as f64 / self.every as f64;
        let begin = (at as usize).saturating_sub(1).min((self.last - self.first) / self.every + 1 - NODES);
        let x = at - begin as f64;
        std::array::from_fn(|j| {
            let others = (0..NODES).filter(|k| *k != j);
            let share = others.map(|k| (x - k as f64) / (j as f64 - k as f64)).product();
            (self.first + (begin + j) * self.every, share)
        })
    }
}

/// The most or least so far of a list.
fn running(values: impl Iterator<Item = f64>, first: f64, of: fn(f64, f64) -> f64) -> Vec<f64> {
    values
        .scan(first, |so_far, value| {
            *so_far = of(*so_far, value);
            Some(*so_far)
        })
        .collect()
}

/// Where an ascending list reaches a value, in places of the list with a fraction; none if it stays below.
fn crossing(ascending: &[f64], value: f64) -> Option<f64> {
    let next = ascending.partition_point(|at| *at < value);
    if next == 0 {
        return Some(0.0);
    }
    let (low, high) = (ascending[next - 1], *ascending.get(next)?);
    Some((next - 1) as f64 + (value - low) / (high - low))
}

/// How far apart rows of a pass may be sprayed, mm.
pub(super) fn apart(depth: Millimetres, hand: &Hand) -> f64 {
    (APART * depth.0).min(APART_MM).min(GROWTH_APART / hand.slowing_per_mm())
}
