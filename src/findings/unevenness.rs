//! Unevenness of the film away from the edges, parted by what makes it: the mean along the passes is what lines make, in
//! stripes as wide as their spacing, in broader bands, or in one stripe where two reaches meet; what is left over has no
//! direction and is mottle. Each part is looked at by itself, as [`crate::appraisal::Visibility`] sees it.

use super::{Fault, Kind, Part, Seen};
use crate::appraisal::Visibility;
use crate::maths::exp;
use crate::panel::Area;
use crate::report::{FARTHEST, NEAREST, visibility};
use crate::strokes::{Along, Reach};
use crate::units::Micrometres;

/// Stripes up to this many spacings wide, crest to crest, come from the lines themselves.
const STRIPE: f64 = 1.5;
/// Half the width of the stripe where two reaches meet, in fan widths.
pub(super) const MIDDLE: f64 = 0.5;

pub(super) fn faults(seen: &Seen) -> Vec<Fault> {
    let along_length = seen.tinted_coats().any(|coat| coat.along == Along::Length);
    let along_width = seen.tinted_coats().any(|coat| coat.along == Along::Width);
    let mut left = seen.calm();
    let mut faults = Vec::new();
    for (across_rows, on) in [(true, along_length), (false, along_width)] {
        if !on {
            continue;
        }
        let profile = Profile::of(seen, &left, across_rows);
        profile.take_from(seen, &mut left);
        faults.extend(profile.faults(seen));
    }
    faults.extend(looked_at(seen, &left, Kind::Mottle, Part::Interior, seen.inside));
    faults
}

impl Seen<'_> {
    pub(super) fn tinted_coats(&self) -> impl Iterator<Item = &crate::strokes::Coat> {
        self.job.coats.iter().filter(|coat| self.job.paint_of(coat) == self.paint)
    }

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

/// The mean film along the passes, place by place across them, less the mean of all.
struct Profile {
    across_rows: bool,
    values: Vec<f64>,
    /// Size of a cell across the passes, mm.
    step: f64,
}

impl Profile {
    fn of(seen: &Seen, left: &[f64], across_rows: bool) -> Self {
        let patch = seen.patch;
        let within = patch.window_of(seen.inside);
        let count = if across_rows { patch.rows } else { patch.columns };
        let mean = |at: usize| {
            let cells: Vec<f64> = if across_rows {
                (within.column..within.column + within.columns)
                    .map(|column| left[at * patch.columns + column])
                    .collect()
            } else {
                (within.row..within.row + within.rows).map(|row| left[row * patch.columns + at]).collect()
            };
            cells.iter().sum::<f64>() / cells.len().max(1) as f64
        };
        let step = if across_rows { patch.cell.y } else { patch.cell.x };
        Self { across_rows, values: (0..count).map(mean).collect(), step }
    }

    fn place_of(&self, seen: &Seen, cell: usize) -> usize {
        if self.across_rows { cell / seen.patch.columns } else { cell % seen.patch.columns }
    }

    fn take_from(&self, seen: &Seen, left: &mut [f64]) {
        left.iter_mut().enumerate().for_each(|(cell, value)| *value -= self.values[self.place_of(seen, cell)]);
    }

    fn spread_out(&self, seen: &Seen, values: &[f64]) -> Vec<f64> {
        (0..seen.film.len()).map(|cell| values[self.place_of(seen, cell)]).collect()
    }

    fn faults(&self, seen: &Seen) -> Vec<Fault> {
        let coats = || {
            let wanted = if self.across_rows { Along::Length } else { Along::Width };
            seen.tinted_coats().filter(move |coat| coat.along == wanted)
        };
        let spacing = coats().map(|coat| coat.spacing(&seen.job.gun).0).fold(f64::INFINITY, f64::min);
        let mut rest = self.values.clone();
        let mut faults = Vec::new();
        if coats().any(|coat| coat.reach == Reach::BothSides) {
            let bump = self.bump(seen);
            rest.iter_mut().zip(&bump).for_each(|(rest, bump)| *rest -= bump);
            let area = self.middle(seen);
            faults.extend(looked_at(seen, &self.spread_out(seen, &bump), Kind::CentreStripe, Part::Middle, area));
        }
        let broad = smoothed(&rest, STRIPE * spacing / self.step);
        let fine: Vec<f64> = rest.iter().zip(&broad).map(|(rest, broad)| rest - broad).collect();
        for (kind, values) in [(Kind::Striping, fine), (Kind::Banding, broad)] {
            faults.extend(looked_at(seen, &self.spread_out(seen, &values), kind, Part::Interior, seen.inside));
        }
        faults
    }

    fn size(&self, seen: &Seen) -> f64 {
        if self.across_rows { seen.job.panel.width.0 } else { seen.job.panel.length.0 }
    }

    /// What the middle has over its surround, in units of the profile.
    fn bump(&self, seen: &Seen) -> Vec<f64> {
        let (middle, half) = (self.size(seen) / 2.0, MIDDLE * seen.job.gun.fan_width.0);
        let from_middle = |i: usize| ((i as f64 + 0.5) * self.step - middle).abs();
        let around: Vec<f64> = (0..self.values.len())
            .filter(|i| from_middle(*i) > half && from_middle(*i) < 3.0 * half)
            .map(|i| self.values[i])
            .collect();
        let level = around.iter().sum::<f64>() / around.len().max(1) as f64;
        // the mean over the stripe: what is finer within it is striping
        let inside: Vec<usize> = (0..self.values.len()).filter(|i| from_middle(*i) <= half).collect();
        let mean = inside.iter().map(|i| self.values[*i] - level).sum::<f64>() / inside.len().max(1) as f64;
        let bell = |i: usize| exp(-2.0 * (from_middle(i) / half) * (from_middle(i) / half));
        let bells: f64 = inside.iter().map(|i| bell(*i)).sum::<f64>() / inside.len().max(1) as f64;
        (0..self.values.len()).map(|i| mean / bells.max(1e-9) * bell(i)).collect()
    }

    fn middle(&self, seen: &Seen) -> Area {
        let (middle, half) = (self.size(seen) / 2.0, MIDDLE * seen.job.gun.fan_width.0);
        let mut area = seen.inside;
        if self.across_rows {
            (area.least.y, area.most.y) = (middle - half, middle + half);
        } else {
            (area.least.x, area.most.x) = (middle - half, middle + half);
        }
        area
    }
}

/// Even means over a width of cells, held at the ends; twice, so that stripes of that width are gone and broader ones
/// stay.
fn smoothed(values: &[f64], width: f64) -> Vec<f64> {
    let half = ((width / 2.0).round() as isize).max(1);
    let last = values.len() as isize - 1;
    let once = |values: &[f64]| -> Vec<f64> {
        let mean = |i: isize| {
            let sum: f64 = (i - half..=i + half).map(|k| values[mirrored(k, last)]).sum();
            sum / (2 * half + 1) as f64
        };
        (0..=last).map(mean).collect()
    };
    once(&once(values))
}

fn mirrored(k: isize, last: isize) -> usize {
    let k = if k < 0 { -k } else { k };
    (if k > last { 2 * last - k } else { k }).clamp(0, last) as usize
}

/// A film that differs from the mean by some amount, as the job's eye sees it.
fn looked_at(seen: &Seen, off: &[f64], kind: Kind, part: Part, area: Area) -> Option<Fault> {
    let film: Vec<f64> = off.iter().map(|off| (seen.mean + off).max(0.0)).collect();
    let visibility: Visibility = visibility(seen.job, seen.patch, &film)?;
    let distance = seen.job.viewing.distance;
    let times = visibility.map(distance);
    let within = seen.patch.window_of(area);
    let inside = |cell: &usize| {
        let (column, row) = (cell % seen.patch.columns, cell / seen.patch.columns);
        (within.column..within.column + within.columns).contains(&column)
            && (within.row..within.row + within.rows).contains(&row)
    };
    let cells = seen.interior.iter().copied().filter(inside);
    let worst = cells.reduce(|worst, cell| if times[cell] > times[worst] { cell } else { worst })?;
    let sighting = visibility.at(worst, distance)?;
    Some(Fault {
        kind,
        part,
        times: times[worst],
        paint: seen.paint,
        area,
        worst: seen.centre(worst),
        film: Micrometres(off[worst]),
        delta_e00: sighting.delta_e00,
        seen_from: visibility.seen_from(worst, NEAREST, FARTHEST),
    })
}
