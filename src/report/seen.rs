//! What an eye would see of a finished film, for the report: how many times over its threshold the unevenness lies over
//! the interior, and from how far the worst place is seen. The measure is `appraisal::visibility`; the distance and
//! the eye are the job's. Does not know the booth: a white in the panel's place is taken at 300 cd/m2, about 1000 lx.

use super::Difference;
use crate::appraisal::{FilmColour, Visibility, Zone, cells_in};
use crate::job::Job;
use crate::panel::Patch;
use crate::rehearsal::Rehearsal;
use crate::units::{Metres, Micrometres};
use serde::Serialize;

/// From here on it is asked from how far a place is seen.
pub const NEAREST: Metres = Metres(0.3);
/// Up to here.
pub const FARTHEST: Metres = Metres(10.0);

/// What an eye would see of the film's unevenness.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seen {
    /// From where it looks.
    pub distance_m: f64,
    /// Whose it is.
    pub eye: String,
    /// How many thresholds of a laboratory's observers this eye takes until it sees: a judgement.
    pub eye_takes: f64,
    /// Luminance of a perfect white in the panel's place: an assumption.
    pub white_cd_per_m2: f64,
    /// How many times over this eye's threshold the interior lies, cell by cell: 1 and more is seen.
    pub times_threshold: Difference,
    /// Where it shows the most.
    pub worst: Worst,
    /// The distances between which `worst.seen_from_m` was looked for.
    pub looked_from_m: [f64; 2],
}

/// The place of the interior that shows the most from the viewing distance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Worst {
    /// Along the length.
    pub x_mm: f64,
    /// Across the width.
    pub y_mm: f64,
    /// From crest to crest of the band that shows there the most; bands are an octave wide.
    pub period_mm: f64,
    /// Film of that band above (or below) its surround.
    pub amplitude_um: f64,
    /// CIEDE2000 of that band from crest to trough.
    pub delta_e00: f64,
    /// The greatest distance from which the place is seen; none if from nowhere within `looked_from_m`.
    pub seen_from_m: Option<f64>,
}

/// What the job's eye would see of a film (um, cell by cell) of its tinted clear.
pub fn visibility(job: &Job, patch: &Patch, film: &[f64]) -> Option<Visibility> {
    job.tinted().filter(|_| !job.coats.is_empty())?;
    let base = job.under_tint(job.viewing.aspecular)?;
    let most = Micrometres(film.iter().copied().fold(0.0, f64::max));
    let colour = FilmColour::over(base, job.tinted_clear(), &job.viewing.viewing(), most);
    Some(Visibility::of(patch, film, colour, job.viewing.onlooker()))
}

/// The same in figures, from the map of times at the job's distance.
pub fn seen_by(job: &Job, patch: &Patch, visibility: &Visibility, times: &[f64]) -> Option<Seen> {
    let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, patch);
    // of equal places the first
    let worst = interior.iter().copied().reduce(|worst, i| if times[i] > times[worst] { i } else { worst })?;
    let (view, onlooker) = (&job.viewing, job.viewing.onlooker());
    let sighting = visibility.at(worst, view.distance)?;
    let place = patch.centre(worst % patch.columns, worst / patch.columns);
    Some(Seen {
        distance_m: view.distance.0,
        eye: view.eye.clone(),
        eye_takes: onlooker.eye.multiplier(),
        white_cd_per_m2: onlooker.white,
        times_threshold: Difference::of(interior.iter().map(|i| times[*i]).collect()),
        worst: Worst {
            x_mm: place.x,
            y_mm: place.y,
            period_mm: sighting.period.0,
            amplitude_um: sighting.amplitude.0,
            delta_e00: sighting.delta_e00,
            seen_from_m: visibility.seen_from(worst, NEAREST, FARTHEST).map(|from| from.0),
        },
        looked_from_m: [NEAREST.0, FARTHEST.0],
    })
}

/// What is seen of a finished rehearsal.
pub(super) fn seen(rehearsal: &Rehearsal) -> Option<Seen> {
    let (job, patch) = (rehearsal.job(), rehearsal.patch());
    let film = rehearsal.film(job.tinted()?);
    let visibility = visibility(job, patch, &film)?;
    seen_by(job, patch, &visibility, &visibility.map(job.viewing.distance))
}
