//! What is wrong with a finished film: where, how large, and how many times over the limit at which an eye sees it or the
//! job is endangered. Every kind of fault is measured whether it is over its limit or not, so that what causes it can be
//! found by measuring again. Limits and their reasons stand in [`Kind::reason`]. Does not know what caused anything.

mod edges;
mod maps;
mod unevenness;
mod wet;
mod why;

pub use crate::report::{Kind, Part};

pub use maps::WORKING_DISTANCE;
pub use why::{Why, why_here};

use crate::appraisal::{Zone, cells_in};
use crate::colour::{Lab, ScreenSpace, delta_e00};
use crate::job::Job;
use crate::panel::{Area, Patch};
use crate::rehearsal::Rehearsal;
use crate::report::{FARTHEST, appearance};
use crate::strokes::{Along, Reach};
use crate::units::{Metres, Micrometres};
use glam::DVec2;

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
    /// Its size: film above (or below) what is around it or aimed at; for a run the wet film over the limit; for a
    /// distance none.
    pub film: Micrometres,
    /// CIEDE2000 it makes, against what is around it or aimed at.
    pub delta_e00: f64,
    /// The greatest distance from which it is seen; none if it is not seen or was not looked for.
    pub seen_from: Option<Metres>,
}

/// Everything that is measured of a finished rehearsal, worst first. Findings are those with `times` of 1 and more.
pub fn faults(rehearsal: &Rehearsal) -> Vec<Fault> {
    let mut faults = wet::faults(rehearsal);
    if let Some(seen) = Seen::of(rehearsal) {
        faults.extend(unevenness::faults(&seen));
        faults.extend(edges::faults(&seen));
        faults.extend(maps::faults(&seen));
    }
    faults.sort_by(|a, b| b.times.total_cmp(&a.times));
    faults
}

/// Those that would be seen or endanger the job.
pub fn findings(rehearsal: &Rehearsal) -> Vec<Fault> {
    faults(rehearsal).into_iter().filter(|fault| fault.times >= 1.0).collect()
}

/// Whether a place lies in the stripe where two reaches of a tinted coat meet.
fn in_the_middle(job: &Job, place: DVec2) -> bool {
    let (panel, half) = (&job.panel, unevenness::MIDDLE * job.gun.fan_width.0);
    job.coats.iter().filter(|coat| Some(job.paint_of(coat)) == job.tinted() && coat.reach == Reach::BothSides).any(
        |coat| match coat.along {
            Along::Length => (place.y - panel.width.0 / 2.0).abs() <= half,
            Along::Width => (place.x - panel.length.0 / 2.0).abs() <= half,
        },
    )
}

/// A finished rehearsal with what every kind of fault needs to know of it.
struct Seen<'a> {
    rehearsal: &'a Rehearsal,
    job: &'a Job,
    patch: &'a Patch,
    paint: usize,
    film: Vec<f64>,
    /// Cells away from the edges.
    interior: Vec<usize>,
    /// Their rectangle.
    inside: Area,
    /// Mean film over them, without the stripe where two reaches meet.
    mean: f64,
    /// Colour of a film.
    appearance: crate::appraisal::Appearance,
}

impl<'a> Seen<'a> {
    fn of(rehearsal: &'a Rehearsal) -> Option<Self> {
        let (job, patch) = (rehearsal.job(), rehearsal.patch());
        let paint = job.tinted()?;
        job.coats.iter().find(|coat| job.paint_of(coat) == paint)?;
        let film = rehearsal.film(paint);
        let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, patch);
        let centre = |i: usize| patch.centre(i % patch.columns, i / patch.columns);
        let least = interior.iter().map(|i| centre(*i)).reduce(DVec2::min)? - patch.cell / 2.0;
        let most = interior.iter().map(|i| centre(*i)).reduce(DVec2::max)? + patch.cell / 2.0;
        let outside: Vec<usize> = interior.iter().copied().filter(|i| !in_the_middle(job, centre(*i))).collect();
        let counted = if outside.is_empty() { &interior } else { &outside };
        let mean = counted.iter().map(|i| film[*i]).sum::<f64>() / counted.len() as f64;
        let thickest = Micrometres(film.iter().copied().fold(1.0, f64::max));
        let appearance = appearance(job, ScreenSpace::Srgb, thickest);
        Some(Self { rehearsal, job, patch, paint, film, interior, inside: Area { least, most }, mean, appearance })
    }

    fn centre(&self, cell: usize) -> DVec2 {
        self.patch.centre(cell % self.patch.columns, cell / self.patch.columns)
    }

    fn lab(&self, film: f64) -> Lab {
        self.appearance.lab(Micrometres(film))
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
        let times = delta_e00 / self.large_field();
        Fault {
            kind,
            part,
            times,
            paint: self.paint,
            area,
            worst: (area.least + area.most) / 2.0,
            film: Micrometres(film - around),
            delta_e00,
            seen_from: (times >= 1.0).then_some(FARTHEST),
        }
    }
}
