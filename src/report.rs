//! The report of a rehearsal, as the contract of the job file names its keys: film, wet film, paint, time, colour, sight
//! and findings. The page, the command line and other people's scripts read the same one. Everything is computed before;
//! here it only gets its keys.

mod defect;
mod sentences;

pub use defect::{DefectReport, Place};
pub use sentences::outcome;

use crate::appraisal::{Appraisal, ColourOfFilm, Difference, FARTHEST, FilmSpreads, NEAREST, WetFigures};
use crate::causes::{Diagnosis, diagnose};
use crate::colour::Lab;
use crate::rehearsal::Account;
use serde::Serialize;
use std::collections::BTreeMap;

/// Version of the report.
pub const VERSION: u64 = 1;

/// Everything that is reported.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// Its version.
    pub fanlap_report: u64,
    /// Dry film by paint.
    pub film: BTreeMap<String, FilmSpreads>,
    /// Wet film by paint: runs and wet edges.
    pub wet: BTreeMap<String, WetFigures>,
    /// Where the paint went, by paint.
    pub paint: BTreeMap<String, Paint>,
    /// How long it takes.
    pub time: Time,
    /// Colour against the target.
    pub colour: Colour,
    /// What an eye would see of the film's unevenness; none where no coat carries colour, or on a panel too small
    /// for any band.
    pub seen: Option<SightReport>,
    /// What is wrong, worst first; none where it was not looked for.
    pub findings: Option<Vec<DefectReport>>,
}

/// Wet paint, mL.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paint {
    /// Left the gun.
    pub sprayed_ml: f64,
    /// Lies on the panel.
    pub on_panel_ml: f64,
    /// Was carried past the rim.
    pub off_panel_ml: f64,
    /// Was lost in the air.
    pub lost_in_air_ml: f64,
}

impl From<&Account> for Paint {
    fn from(account: &Account) -> Self {
        Self {
            sprayed_ml: account.sprayed.0,
            on_panel_ml: account.on_panel.0,
            off_panel_ml: account.off_panel.0,
            lost_in_air_ml: account.lost_in_air.0,
        }
    }
}

/// Durations, s.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Time {
    /// Trigger open.
    pub spraying_s: f64,
    /// From the first trigger to the end of the last flash-off.
    pub total_s: f64,
}

/// Colour over the interior against the target.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Colour {
    /// Aimed at.
    pub target: Sample,
    /// Mean of L*, a* and b* over the interior.
    pub mean: Sample,
    /// CIEDE2000 to the target over the interior.
    pub delta_e00: Difference,
}

/// A colour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sample {
    /// L*, a*, b*.
    pub lab: [f64; 3],
}

impl From<Lab> for Sample {
    fn from(lab: Lab) -> Self {
        Self { lab: [lab.l, lab.a, lab.b] }
    }
}

impl From<&ColourOfFilm> for Colour {
    fn from(colour: &ColourOfFilm) -> Self {
        Self { target: colour.target.into(), mean: colour.mean.into(), delta_e00: colour.delta_e00 }
    }
}

/// What an eye would see of the film's unevenness.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SightReport {
    /// The viewing distance.
    pub distance_m: f64,
    /// Whose eye it is.
    pub eye: String,
    /// How many thresholds of a laboratory's observers this eye takes until it sees: a judgement.
    pub eye_takes: f64,
    /// Luminance of a perfect white in the panel's place: an assumption.
    pub white_cd_per_m2: f64,
    /// How many times over this eye's threshold the interior is, cell by cell: 1 and more is seen.
    pub times_threshold: Difference,
    /// Where it shows the most.
    pub worst: Worst,
    /// The distances between which `worst.seen_from_m` was looked for.
    pub looked_from_m: [f64; 2],
}

/// The place of the interior that shows the most from the viewing distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worst {
    /// Along the length.
    pub x_mm: f64,
    /// Across the width.
    pub y_mm: f64,
    /// From crest to crest of the band that shows there the most; bands are an octave wide.
    pub period_mm: f64,
    /// The paint whose film makes the most of that band.
    pub paint: String,
    /// That film above (or below) its surround.
    pub amplitude_um: f64,
    /// CIEDE2000 of that band from crest to trough.
    pub delta_e00: f64,
    /// The greatest distance from which the place is seen; none if from nowhere within `looked_from_m`.
    pub seen_from_m: Option<f64>,
}

impl SightReport {
    /// Of an appraised rehearsal; none where nothing of it can be seen.
    pub fn of(appraisal: &Appraisal) -> Option<Self> {
        let sight = appraisal.sight()?;
        let (job, patch, worst) = (appraisal.job(), appraisal.patch(), sight.worst?);
        let (view, onlooker) = (&job.viewing, job.viewing.onlooker());
        let place = patch.centre(worst.cell % patch.columns, worst.cell / patch.columns);
        Some(Self {
            distance_m: view.distance.0,
            eye: view.eye.clone(),
            eye_takes: onlooker.eye.multiplier(),
            white_cd_per_m2: onlooker.white,
            times_threshold: sight.times_threshold,
            worst: Worst {
                x_mm: place.x,
                y_mm: place.y,
                period_mm: worst.sighting.period.0,
                paint: worst.paint.map_or(String::new(), |paint| job.paints[paint].name.clone()),
                amplitude_um: worst.sighting.amplitude.0,
                delta_e00: worst.sighting.delta_e00,
                seen_from_m: worst.seen_from.map(|from| from.0),
            },
            looked_from_m: [NEAREST.0, FARTHEST.0],
        })
    }
}

/// The report of an appraised rehearsal; its findings were not looked for.
pub fn report(appraisal: &Appraisal) -> Report {
    Report { seen: SightReport::of(appraisal), ..without_sight(appraisal) }
}

/// The report with its findings, their causes and cures.
pub fn with_findings(appraisal: &Appraisal, diagnoses: &[Diagnosis]) -> Report {
    let findings = diagnoses.iter().map(|diagnosis| DefectReport::of(diagnosis, appraisal.job())).collect();
    Report { findings: Some(findings), ..report(appraisal) }
}

/// The report with everything that can be found, in one go.
pub fn in_full(appraisal: &Appraisal) -> Report {
    // first, so that no search on several cores finds a part of the appraisal on its way
    let report = report(appraisal);
    let diagnoses = diagnose(appraisal);
    let findings = diagnoses.iter().map(|diagnosis| DefectReport::of(diagnosis, appraisal.job())).collect();
    Report { findings: Some(findings), ..report }
}

/// The report without what an eye would see, which takes as long as the rest and can be filled in later.
pub fn without_sight(appraisal: &Appraisal) -> Report {
    let (job, rehearsal) = (appraisal.job(), appraisal.rehearsal());
    let names = || job.paints.iter().map(|paint| paint.name.clone());
    Report {
        fanlap_report: VERSION,
        film: names().enumerate().map(|(i, name)| (name, appraisal.spreads(i))).collect(),
        wet: names().enumerate().map(|(i, name)| (name, appraisal.wet(i))).collect(),
        paint: names().zip(rehearsal.accounts().iter().map(Paint::from)).collect(),
        time: Time { spraying_s: rehearsal.spraying().0, total_s: rehearsal.total().0 },
        colour: appraisal.colour().into(),
        seen: None,
        findings: None,
    }
}

/// The film of one paint as a grid: first row `y_mm` and the x of each column, then a row per grid line with its y
/// first; dry film in um at cell centres.
pub fn film_csv(appraisal: &Appraisal, paint: usize) -> String {
    let (patch, film) = (appraisal.patch(), appraisal.film(paint));
    let mut text = String::from("y_mm");
    (0..patch.columns).for_each(|column| text += &format!(",{}", patch.centre(column, 0).x));
    for row in 0..patch.rows {
        text += &format!("\n{}", patch.centre(0, row).y);
        film[row * patch.columns..][..patch.columns].iter().for_each(|value| text += &format!(",{value}"));
    }
    text + "\n"
}
