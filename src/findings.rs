//! What is wrong with a finished film: where, how large, and how many times over the limit at which an eye sees it or the
//! job is endangered. Every kind of fault is measured whether it is over its limit or not, so that what causes it can be
//! found by measuring again. Limits and their reasons stand in [`Kind::reason`]. Does not know what caused anything.

mod edges;
mod maps;
mod masking;
mod unevenness;
mod wet;
mod why;

pub use crate::report::{Kind, Part};

pub use maps::WORKING_DISTANCE;
pub use masking::{Masked, masked};
pub use why::{Why, why_here};

use crate::colour::{Lab, ScreenSpace, delta_e00};
use crate::eye::{Appearance, FilmColour, Films, Raster, Visibility};
use crate::field::{Zone, cells_in};
use crate::job::Job;
use crate::maths::ascending;
use crate::panel::{Area, Patch};
use crate::rehearsal::{Rehearsal, Wetness};
use crate::report::{FARTHEST, NEAREST, appearance, looking_at};
use crate::strokes::{Along, Coat, Reach};
use crate::units::{Metres, Micrometres};
use glam::DVec2;
use std::sync::{Arc, OnceLock};

/// A fault as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// What it is.
    pub kind: Kind,
    /// Where in the job.
    pub part: Part,
    /// How many times over its limit; 1 and more is a finding.
    pub times: f64,
    /// Place among the paints.
    pub paint: usize,
    /// The rectangle it covers, mm.
    pub area: Area,
    /// Where it is worst, mm.
    pub worst: DVec2,
    /// Its size: film above (or below) what is around it or aimed at; of wet film that moves what is over the limit;
    /// for a distance none.
    pub film: Micrometres,
    /// CIEDE2000 it makes, against what is around it or aimed at.
    pub delta_e00: f64,
    /// The greatest distance from which it is seen; none if it is not seen, was not looked for, or is seen only beside
    /// the right colour.
    pub seen_from: Option<Metres>,
}

/// Everything that is measured of a finished rehearsal, worst first. Findings are those with `times` of 1 and more.
pub fn faults(rehearsal: &Rehearsal) -> Vec<Fault> {
    measured(rehearsal, &Seen::all(rehearsal), &Wetness::of(rehearsal), true)
}

/// The same without the distances from which they are seen, for whoever only asks how bad they are.
pub fn sizes(rehearsal: &Rehearsal) -> Vec<Fault> {
    measured(rehearsal, &Seen::all(rehearsal), &Wetness::of(rehearsal), false)
}

/// Those that would be seen or endanger the job, with the distance from which they are seen.
pub fn findings(rehearsal: &Rehearsal) -> Vec<Fault> {
    findings_of(rehearsal, &Wetness::of(rehearsal))
}

/// The same where its wet film is known already.
pub fn findings_of(rehearsal: &Rehearsal, wetness: &Wetness) -> Vec<Fault> {
    let all = Seen::all(rehearsal);
    let measured = measured(rehearsal, &all, wetness, true);
    let looked_for = |fault: Fault| match all.iter().find(|seen| seen.paint == fault.paint) {
        Some(seen) if fault.seen_from.is_none() => Fault { seen_from: seen.seen_from(&fault), ..fault },
        _ => fault,
    };
    over_limit(&measured).cloned().map(looked_for).collect()
}

/// `from`: whether it is asked from how far they are seen.
fn measured(rehearsal: &Rehearsal, all: &[Seen], wetness: &Wetness, from: bool) -> Vec<Fault> {
    let mut faults = wet::faults(rehearsal, wetness);
    faults.extend(masking::fault(rehearsal.job()));
    for seen in all {
        let mut of_paint = unevenness::faults(seen, from);
        of_paint.extend(edges::faults(seen));
        of_paint.extend(maps::holiday(seen));
        // where the middle was missed, the stripe of too little film along it is the same fault once more
        let missed = |fault: &Fault| fault.kind == Kind::Holiday && fault.part == Part::Middle && fault.times >= 1.0;
        if of_paint.iter().any(missed) {
            of_paint.retain(|fault| fault.kind != Kind::CentreStripe || fault.film.0 > 0.0);
        }
        faults.extend(of_paint);
    }
    faults.extend((0..rehearsal.job().coats.len()).flat_map(|coat| maps::distance(rehearsal, coat)));
    ascending(&mut faults, |fault| -fault.times);
    // coats that run both ways may have the same fault twice: the worse one stands for both
    let mut told = Vec::new();
    faults.retain(|fault| {
        let new = !told.contains(&(fault.kind, fault.part, fault.paint));
        told.push((fault.kind, fault.part, fault.paint));
        new
    });
    faults
}

/// Those of what was measured that are over their limit. A paint that runs is not told to be near it as well.
pub fn over_limit(faults: &[Fault]) -> impl Iterator<Item = &Fault> {
    let over = || faults.iter().filter(|fault| fault.times >= 1.0);
    let runs = move |paint: usize| over().any(|fault| fault.kind == Kind::Run && fault.paint == paint);
    over().filter(move |fault| fault.kind != Kind::NearRun || !runs(fault.paint))
}

/// Half the width of the stripe where two reaches meet: half a fan on either side of the lines that only one of them, or
/// both, should have laid. None where no such coat runs this way from both sides.
fn half_of_middle(job: &Job, paint: usize, along: Along) -> Option<f64> {
    let met = coats_of(job, paint).filter(|coat| coat.along == along && coat.reach == Reach::BothSides);
    met.map(|coat| (job.gun.width_at(coat.distance).0 + coat.reach_overlap.0.abs()) / 2.0).reduce(f64::max)
}

/// The coats of a paint.
fn coats_of(job: &Job, paint: usize) -> impl Iterator<Item = &Coat> {
    job.coats.iter().filter(move |coat| job.paint_of(coat) == paint)
}

/// Places across the passes that run this way over which the mean film is taken, mm: without the stripe where two
/// reaches meet, and by whole spacings, so that the mean does not hang on where the stripes are cut. Where that stripe
/// takes up all that lies inside, what lies beside it.
fn counted(job: &Job, paint: usize, along: Along, (from, to): (f64, f64), size: f64) -> Vec<(f64, f64)> {
    let spacings = coats_of(job, paint).filter(|coat| coat.along == along).map(|coat| coat.spacing(&job.gun).0);
    let Some(spacing) = spacings.reduce(f64::max) else { return vec![(from, to)] };
    let beside = |from: f64, to: f64, half: f64| {
        let sides = [(from, to.min(size / 2.0 - half)), (from.max(size / 2.0 + half), to)];
        sides.into_iter().filter(|(from, to)| to - from > 1.0).collect::<Vec<_>>()
    };
    let band = job.panel.edge_band.0;
    let mut parts = half_of_middle(job, paint, along).map_or(Vec::new(), |half| {
        let inside = beside(from, to, half);
        if inside.is_empty() { beside(band, size - band, half) } else { inside }
    });
    if parts.is_empty() {
        parts.push((from, to));
    }
    let whole = |(from, to): (f64, f64)| {
        let spacings = ((to - from) / spacing + 1e-9).floor();
        let (middle, half) = ((from + to) / 2.0, spacings.max(1.0) * spacing / 2.0);
        let fits = middle - half >= band && middle + half <= size - band;
        if spacings >= 1.0 || fits { (middle - half, middle + half) } else { (from, to) }
    };
    parts.into_iter().map(whole).collect()
}

/// Mean film over the places counted along both axes, every cell by the share of it that lies within.
fn mean_film(patch: &Patch, film: &[f64], across_x: &[(f64, f64)], across_y: &[(f64, f64)]) -> f64 {
    let shares = |count: usize, origin: f64, cell: f64, parts: &[(f64, f64)]| -> Vec<f64> {
        let share = |i: usize| {
            let (least, most) = (origin + cell * i as f64, origin + cell * (i as f64 + 1.0));
            parts.iter().map(|(from, to)| (most.min(*to) - least.max(*from)).max(0.0)).sum::<f64>()
        };
        (0..count).map(share).collect()
    };
    let columns = shares(patch.columns, patch.origin.x, patch.cell.x, across_x);
    let rows = shares(patch.rows, patch.origin.y, patch.cell.y, across_y);
    let (mut sum, mut weight) = (0.0, 0.0);
    for (row, down) in rows.iter().enumerate().filter(|(_, share)| **share > 0.0) {
        for (column, across) in columns.iter().enumerate() {
            sum += film[row * patch.columns + column] * across * down;
            weight += across * down;
        }
    }
    sum / weight.max(1e-9)
}

/// One paint of a finished rehearsal with what every kind of fault needs to know of it. It is looked at in the whole
/// build-up: the other film that carries colour is taken at its mean.
struct Seen<'a> {
    job: &'a Job,
    patch: &'a Patch,
    paint: usize,
    film: Vec<f64>,
    /// Mean of the other film; infinite where there is no base or none that shows.
    other: f64,
    /// Cells away from the edges.
    interior: Vec<usize>,
    /// Their rectangle.
    inside: Area,
    /// Mean film over them by whole spacings of the lines, without the stripe where two reaches meet.
    mean: f64,
    /// Colour of films.
    appearance: Arc<Appearance>,
    /// The same as an eye needs it, for looks at films no thicker than the first.
    colour: OnceLock<Arc<FilmColour>>,
}

impl<'a> Seen<'a> {
    /// Every paint that is sprayed and carries colour, the base before the tinted clear.
    fn all(rehearsal: &'a Rehearsal) -> Vec<Self> {
        let (job, patch) = (rehearsal.job(), rehearsal.patch());
        let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, patch);
        let films: Vec<(usize, Vec<f64>)> =
            job.coloured().into_iter().map(|paint| (paint, rehearsal.film(paint))).collect();
        let most = |paint| films.iter().find(|(of, _)| Some(*of) == paint).map(|(_, film)| film.iter().copied());
        let thickest = most(job.tinted()).map_or(1.0, |film| film.fold(1.0, f64::max));
        if films.is_empty() || interior.is_empty() {
            return Vec::new();
        }
        let appearance = Arc::new(appearance(job, ScreenSpace::Srgb, Micrometres(thickest)));
        let of = |(paint, film): (usize, Vec<f64>)| Self::of(job, patch, (paint, film), &interior, &appearance);
        let mut all: Vec<Self> = films.into_iter().map(of).collect();
        if let [base, tinted] = all.as_mut_slice() {
            (base.other, tinted.other) = (tinted.mean, base.mean);
        }
        all
    }

    fn of(
        job: &'a Job,
        patch: &'a Patch,
        (paint, film): (usize, Vec<f64>),
        interior: &[usize],
        appearance: &Arc<Appearance>,
    ) -> Self {
        let centre = |i: usize| patch.centre(i % patch.columns, i / patch.columns);
        let centres = interior.iter().map(|i| centre(*i));
        let least = centres.clone().reduce(DVec2::min).unwrap_or_default() - patch.cell / 2.0;
        let most = centres.reduce(DVec2::max).unwrap_or_default() + patch.cell / 2.0;
        let across_x = counted(job, paint, Along::Width, (least.x, most.x), job.panel.length.0);
        let across_y = counted(job, paint, Along::Length, (least.y, most.y), job.panel.width.0);
        let mean = mean_film(patch, &film, &across_x, &across_y);
        // alone, a base lies under no clear, and a tinted clear over no base or over a ground that is all there is
        let other = if job.base().is_some() { 0.0 } else { f64::INFINITY };
        let (interior, appearance, inside) = (interior.to_vec(), appearance.clone(), Area { least, most });
        let colour = OnceLock::new();
        Self { job, patch, paint, film, other, interior, inside, mean, appearance, colour }
    }

    fn is_base(&self) -> bool {
        Some(self.paint) == self.job.base()
    }

    fn coats(&self) -> impl Iterator<Item = &Coat> {
        coats_of(self.job, self.paint)
    }

    fn centre(&self, cell: usize) -> DVec2 {
        self.patch.centre(cell % self.patch.columns, cell / self.patch.columns)
    }

    /// The stripe where two reaches of coats that run this way meet: from, to, mm across the passes.
    fn middle(&self, along: Along) -> Option<(f64, f64)> {
        let panel = &self.job.panel;
        let size = if along == Along::Length { panel.width.0 } else { panel.length.0 };
        half_of_middle(self.job, self.paint, along).map(|half| (size / 2.0 - half, size / 2.0 + half))
    }

    fn lab(&self, film: f64) -> Lab {
        let (film, other) = (Micrometres(film), Micrometres(self.other));
        self.appearance.lab(if self.is_base() {
            Films { tinted: other, base: film }
        } else {
            Films { tinted: film, base: other }
        })
    }

    /// CIEDE2000 between two films.
    fn off(&self, film: f64, other: f64) -> f64 {
        delta_e00(self.lab(film), self.lab(other))
    }

    /// The difference of two large fields that the job's eye sees, CIEDE2000: half of all observers see 0.8, half accept
    /// 1.8 (R. D. Paravina et al. 2015).
    fn large_field(&self) -> f64 {
        if self.job.viewing.eye == "anyone" { 1.8 } else { 0.8 }
    }

    /// A fault of two large fields, over a rectangle.
    fn of_fields(&self, kind: Kind, part: Part, area: Area, (film, around): (f64, f64)) -> Fault {
        let delta_e00 = self.off(film, around);
        Fault {
            kind,
            part,
            times: delta_e00 / self.large_field(),
            paint: self.paint,
            area,
            worst: (area.least + area.most) / 2.0,
            film: Micrometres(film - around),
            delta_e00,
            seen_from: None,
        }
    }

    /// What the job's eye would see of this film over some cells, the other one even.
    fn visibility(&self, raster: Raster, film: &[f64]) -> Option<Visibility> {
        let other = [self.other];
        let films = if self.is_base() { (&other[..], film) } else { (film, &other[..]) };
        let thickest = Micrometres(self.film.iter().copied().fold(0.0, f64::max));
        Some(looking_at(self.job, &self.appearance, raster, films, (thickest, &self.colour))?.finish())
    }

    /// The greatest distance from which a fault of two fields is seen; none where only the right colour beside it gives
    /// it away, and for what is not seen.
    fn seen_from(&self, fault: &Fault) -> Option<Metres> {
        let film: Vec<f64> = match fault.kind {
            Kind::HeavyEdge | Kind::ThinEdge => {
                let strip: Vec<usize> = edges::cells_within(self, fault.area).collect();
                let mut film = vec![self.mean; self.film.len()];
                strip.into_iter().for_each(|cell| film[cell] += fault.film.0);
                film
            }
            Kind::Holiday => self.film.clone(),
            _ => return None,
        };
        let window = self.patch.window_of(Area { least: fault.worst, most: fault.worst + self.patch.cell });
        let cell = window.row * self.patch.columns + window.column;
        self.visibility(Raster::of(self.patch), &film)?.seen_from(cell, NEAREST, FARTHEST)
    }
}
