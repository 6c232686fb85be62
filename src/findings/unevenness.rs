//! Unevenness of the film away from the edges, parted by what makes it: the mean along the passes is what lines make, in
//! stripes as wide as their spacing, in broader bands, or in one stripe where two reaches meet. The mean across the passes
//! is what every pass does at the same place: it belongs to the ends of the passes and is told there, by the edges. What
//! then still repeats from line to line is the lines' too. What is left over has no direction and is mottle. Each part is looked at by itself, as [`crate::eye::Visibility`] sees it.

use super::{Fault, Kind, Part, Seen};
use crate::eye::Raster;
use crate::panel::Area;
use crate::report::{FARTHEST, NEAREST};
use crate::strokes::Along;
use crate::units::Micrometres;

/// Stripes up to this many spacings wide, crest to crest, come from the lines themselves.
const STRIPE: f64 = 1.5;
/// From so many lines on what repeats is told from chance.
const LINES_TO_REPEAT: f64 = 3.0;

pub(super) fn faults(seen: &Seen, from: bool) -> Vec<Fault> {
    let mut left = seen.calm();
    let mut faults = Vec::new();
    for along in [Along::Length, Along::Width] {
        let profile = Profile::of(seen, &left, along);
        profile.take_from(seen, &mut left);
        if seen.coats().any(|coat| coat.along == along) {
            faults.extend(profile.faults(seen, from));
        }
    }
    for along in [Along::Length, Along::Width] {
        take_what_repeats(seen, along, &mut left);
    }
    let all = Looked { raster: Raster::of(seen.patch), place_of: &|cell| cell, from };
    faults.extend(all.at(seen, &left, Kind::Mottle, Part::Interior, seen.inside));
    faults
}

impl Seen<'_> {
    /// The film less its mean away from the edges; near the edges it goes on as it is just inside.
    fn calm(&self) -> Vec<f64> {
        let patch = self.patch;
        let within = patch.window_of(self.inside);
        let hold = |at: usize, first: usize, count: usize| at.clamp(first, first + count.max(1) - 1);
        (0..self.film.len())
            .map(|cell| {
                let column = hold(cell % patch.columns, within.column, within.columns);
                let row = hold(cell / patch.columns, within.row, within.rows);
                self.film[row * patch.columns + column] - self.mean
            })
            .collect()
    }
}

/// The mean film along the passes that run one way, place by place across them, less the mean of all.
struct Profile {
    along: Along,
    /// A value for every row (or column) of cells; beyond the interior as it is at its rim.
    values: Vec<f64>,
    /// Rows (or columns) of the interior: the first, and how many.
    first: usize,
    count: usize,
    /// Size of a cell across the passes, mm.
    step: f64,
}

impl Profile {
    fn of(seen: &Seen, left: &[f64], along: Along) -> Self {
        let patch = seen.patch;
        let within = patch.window_of(seen.inside);
        let (columns, rows) = (within.column..within.column + within.columns, within.row..within.row + within.rows);
        let mean = |cells: &mut dyn Iterator<Item = usize>, count: usize| {
            cells.map(|cell| left[cell]).sum::<f64>() / count.max(1) as f64
        };
        let across_rows =
            |row: usize| mean(&mut columns.clone().map(|column| row * patch.columns + column), columns.len());
        let across_columns =
            |column: usize| mean(&mut rows.clone().map(|row| row * patch.columns + column), rows.len());
        let (values, range, step) = match along {
            Along::Length => ((0..patch.rows).map(across_rows).collect(), rows.clone(), patch.cell.y),
            Along::Width => ((0..patch.columns).map(across_columns).collect(), columns.clone(), patch.cell.x),
        };
        Self { along, values, first: range.start, count: range.len(), step }
    }

    fn place_of(&self, seen: &Seen, cell: usize) -> usize {
        if self.along == Along::Length { cell / seen.patch.columns } else { cell % seen.patch.columns }
    }

    fn take_from(&self, seen: &Seen, left: &mut [f64]) {
        left.iter_mut().enumerate().for_each(|(cell, value)| *value -= self.values[self.place_of(seen, cell)]);
    }

    fn faults(&self, seen: &Seen, from: bool) -> Vec<Fault> {
        // the same all along the passes: one cell is looked at for each row, or each column
        let raster = Raster::along(seen.patch, self.along == Along::Length);
        let looked = Looked { raster, place_of: &|cell| self.place_of(seen, cell), from };
        let coats = seen.coats().filter(|coat| coat.along == self.along);
        let spacing = coats.map(|coat| coat.spacing(&seen.job.gun).0).fold(f64::INFINITY, f64::min) / self.step;
        let mut rest = self.values.clone();
        let mut faults = Vec::new();
        if let Some(middle) = seen.middle(self.along) {
            let bump = self.bump(seen, middle, spacing);
            rest.iter_mut().zip(&bump).for_each(|(rest, bump)| *rest -= bump);
            let mut area = seen.inside;
            match self.along {
                Along::Length => (area.least.y, area.most.y) = middle,
                Along::Width => (area.least.x, area.most.x) = middle,
            }
            faults.extend(looked.at(seen, &bump, Kind::CentreStripe, Part::Middle, area));
        }
        let rest: Vec<f64> = (0..rest.len()).map(|i| self.going_on(&rest, i as f64, spacing)).collect();
        // a mean over one spacing has nothing of the lines left; the other parts stripes from bands
        let mut broad = smoothed(&smoothed(&rest, spacing), STRIPE * spacing);
        if self.rim().1 - self.rim().0 < spacing {
            broad.fill(0.0); // no room for anything broader than the lines
        }
        let fine: Vec<f64> = rest.iter().zip(&broad).map(|(rest, broad)| rest - broad).collect();
        for (kind, values) in [(Kind::Striping, fine), (Kind::Banding, broad)] {
            faults.extend(looked.at(seen, &values, kind, Part::Interior, seen.inside));
        }
        faults
    }

    /// The first and the last place of the interior, in cells.
    fn rim(&self) -> (f64, f64) {
        (self.first as f64, (self.first + self.count.max(1) - 1) as f64)
    }

    /// Whether a place, in cells, lies in the interior.
    fn inside(&self, at: f64) -> bool {
        (self.rim().0..=self.rim().1).contains(&at)
    }

    /// The value at a place, in cells; beyond the interior the lines go on as they do within it.
    fn going_on(&self, values: &[f64], at: f64, spacing: f64) -> f64 {
        let (first, last) = self.rim();
        let mut at = at;
        if last - first >= spacing {
            at += ((first - at) / spacing).ceil().max(0.0) * spacing;
            at -= ((at - last) / spacing).ceil().max(0.0) * spacing;
        }
        between(values, at.clamp(first, last))
    }

    /// What the stripe where two reaches meet has over the film beside it, at the same place between two lines. Where
    /// the stripe fills the interior there is nothing beside it: all its unevenness is then the middle's, unless the
    /// reaches neither overlap nor leave a gap.
    fn bump(&self, seen: &Seen, middle: (f64, f64), spacing: f64) -> Vec<f64> {
        let centre = |i: f64| (i + 0.5) * self.step;
        let met = |i: f64| centre(i) >= middle.0 && centre(i) <= middle.1;
        let apart = seen.coats().any(|coat| coat.along == self.along && coat.reach_overlap.0 != 0.0);
        let beside = |i: f64, way: f64| {
            let place = (1..).map(|k| i + way * spacing * f64::from(k)).find(|at| !self.inside(*at) || !met(*at))?;
            self.inside(place).then(|| between(&self.values, place))
        };
        let over = |i: usize| {
            let (value, i) = (self.values[i], i as f64);
            match (met(i), beside(i, -1.0), beside(i, 1.0)) {
                (false, _, _) => 0.0,
                (true, Some(a), Some(b)) => value - 0.5 * (a + b),
                (true, Some(a), None) | (true, None, Some(a)) => value - a,
                (true, None, None) => {
                    if apart {
                        value
                    } else {
                        0.0
                    }
                }
            }
        };
        (0..self.values.len()).map(over).collect()
    }
}

/// Takes away what is the same from line to line at one place along the passes: stripes that are stronger at the ends of a
/// pass than in its middle, for instance. Only where there are lines enough to tell chance from what repeats.
fn take_what_repeats(seen: &Seen, along: Along, left: &mut [f64]) {
    let coats = seen.coats().filter(|coat| coat.along == along);
    let Some(spacing) = coats.map(|coat| coat.spacing(&seen.job.gun).0).reduce(f64::max) else { return };
    let (patch, within) = (seen.patch, seen.patch.window_of(seen.inside));
    let (first, count, step, lanes) = match along {
        Along::Length => (within.row, within.rows, patch.cell.y, patch.columns),
        Along::Width => (within.column, within.columns, patch.cell.x, patch.rows),
    };
    // passes go to and fro: every other one is like the first, where there are enough of them
    let enough = |period: &f64| count as f64 >= LINES_TO_REPEAT * period;
    let Some(spacing) = [2.0 * spacing / step, spacing / step].into_iter().find(enough) else { return };
    let last = (first + count - 1) as f64;
    for lane in 0..lanes {
        let cell = |i: usize| match along {
            Along::Length => i * patch.columns + lane,
            Along::Width => lane * patch.columns + i,
        };
        let values: Vec<f64> = (first..first + count).map(|i| left[cell(i)]).collect();
        let repeated = |at: f64| {
            let at = at.clamp(first as f64, last) - first as f64;
            let before = (at / spacing).floor();
            let places = (0..).map(|k| at + (f64::from(k) - before) * spacing);
            let found: Vec<f64> =
                places.take_while(|at| *at <= last - first as f64).map(|at| between(&values, at)).collect();
            found.iter().sum::<f64>() / found.len() as f64
        };
        let all = if along == Along::Length { patch.rows } else { patch.columns };
        (0..all).for_each(|i| left[cell(i)] -= repeated(i as f64));
    }
}

/// Straight between two values.
fn between(values: &[f64], at: f64) -> f64 {
    let low = at.floor() as usize;
    let high = (low + 1).min(values.len() - 1);
    values[low] + (values[high] - values[low]) * (at - at.floor())
}

/// Even means over a width in cells, which need not be whole; mirrored at the ends.
fn smoothed(values: &[f64], width: f64) -> Vec<f64> {
    let last = values.len() as isize - 1;
    let half = (width / 2.0).max(0.5);
    let reach = (half + 0.5).floor() as isize;
    let weight = |k: isize| (half + 0.5 - k.abs() as f64).clamp(0.0, 1.0);
    let mean =
        |i: isize| (-reach..=reach).map(|k| weight(k) * values[mirrored(i + k, last)]).sum::<f64>() / (2.0 * half);
    (0..=last).map(mean).collect()
}

fn mirrored(k: isize, last: isize) -> usize {
    let k = if k < 0 { -k - 1 } else { k };
    (if k > last { 2 * last + 1 - k } else { k }).clamp(0, last) as usize
}

/// How a film is looked at that differs from the mean by some amount.
struct Looked<'a> {
    raster: Raster,
    /// Where among its cells a cell of the panel is.
    place_of: &'a dyn Fn(usize) -> usize,
    /// Whether it is asked from how far it is seen.
    from: bool,
}

impl Looked<'_> {
    /// As the job's eye sees it.
    fn at(&self, seen: &Seen, off: &[f64], kind: Kind, part: Part, area: Area) -> Option<Fault> {
        let film: Vec<f64> = off.iter().map(|off| (seen.mean + off).max(0.0)).collect();
        let visibility = seen.visibility(self.raster, &film)?;
        let distance = seen.job.viewing.distance;
        let times = visibility.map(distance);
        let times_of = |cell: usize| times[(self.place_of)(cell)];
        let within = seen.patch.window_of(area);
        let inside = |cell: &usize| {
            let (column, row) = (cell % seen.patch.columns, cell / seen.patch.columns);
            (within.column..within.column + within.columns).contains(&column)
                && (within.row..within.row + within.rows).contains(&row)
        };
        let cells = seen.interior.iter().copied().filter(inside);
        let worst = cells.reduce(|worst, cell| if times_of(cell) > times_of(worst) { cell } else { worst })?;
        let place = (self.place_of)(worst);
        let sighting = visibility.at(place, distance)?;
        Some(Fault {
            kind,
            part,
            times: times[place],
            paint: seen.paint,
            area,
            worst: seen.centre(worst),
            film: Micrometres(off[place]),
            delta_e00: sighting.delta_e00,
            seen_from: self.from.then(|| visibility.seen_from(place, NEAREST, FARTHEST)).flatten(),
        })
    }
}
