//! What an eye would see of a finished film, for the report: how many times over its threshold the unevenness lies over
//! the interior, and from how far the worst place is seen. The measure is `appraisal::visibility`; the distance and
//! the eye are the job's. Does not know the booth: a white in the panel's place is taken at 300 cd/m2, about 1000 lx.

use super::{Difference, Sprayed};
use crate::eye::{Appearance, Carrier, FilmColour, Looking, Raster, Visibility};
use crate::field::{Zone, cells_in};
use crate::job::Job;
use crate::panel::Patch;
use crate::rehearsal::Rehearsal;
use crate::units::{Metres, Micrometres};
use serde::Serialize;
use std::sync::{Arc, OnceLock};

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

/// What the job's eye would see of what was sprayed; none where nothing that carries colour was.
pub fn looking(job: &Job, appearance: &Appearance, patch: &Patch, sprayed: &Sprayed) -> Option<Looking> {
    let films = (sprayed.tinted.unwrap_or(&[0.0]), sprayed.base.unwrap_or(&[f64::INFINITY]));
    if job.coloured().is_empty() {
        None
    } else {
        looking_at(job, appearance, Raster::of(patch), films, (Micrometres(0.0), &OnceLock::new()))
    }
}

/// The same of the films (um, cell by cell) of a tinted clear and of the base under it; one number for an even film. The
/// colours of the film alone reach up to a film at least, and are kept for the next look at films that are no thicker.
pub fn looking_at(
    job: &Job,
    appearance: &Appearance,
    raster: Raster,
    (film, base): (&[f64], &[f64]),
    (thickest, kept): (Micrometres, &OnceLock<Arc<FilmColour>>),
) -> Option<Looking> {
    let most = Micrometres(film.iter().copied().fold(0.0, f64::max));
    let (clear, viewing, onlooker) = (job.tinted_clear(), job.viewing.viewing(), job.viewing.onlooker());
    let least = base.iter().copied().fold(f64::INFINITY, f64::min);
    // a base that hides for good everywhere is the same everywhere
    if film.len() > 1 && appearance.underlay().thickest().is_none_or(|thickest| least >= thickest.0) {
        let ground = job.under_tint(job.viewing.aspecular)?;
        let up_to = |film: Micrometres| Arc::new(FilmColour::over(ground, clear, &viewing, film));
        let kept = kept.get_or_init(|| up_to(Micrometres(most.0.max(thickest.0))));
        let colour = if kept.film_max().0 >= most.0 { kept.clone() } else { up_to(most) };
        return Some(Looking::at_film(raster, film, colour, onlooker));
    }
    Some(Looking::at_build_up(raster, (film, base), appearance.build_up(), onlooker))
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
            paint: carrier(job, sighting.carrier),
            amplitude_um: sighting.amplitude.0,
            delta_e00: sighting.delta_e00,
            seen_from_m: visibility.seen_from(worst, NEAREST, FARTHEST).map(|from| from.0),
        },
        looked_from_m: [NEAREST.0, FARTHEST.0],
    })
}

fn carrier(job: &Job, carrier: Carrier) -> String {
    let paint = if carrier == Carrier::Base { job.base() } else { job.tinted() };
    paint.map_or(String::new(), |paint| job.paints[paint].name.clone())
}

/// What is seen of a finished rehearsal.
pub(super) fn seen(rehearsal: &Rehearsal, appearance: &Appearance) -> Option<Seen> {
    let (job, patch) = (rehearsal.job(), rehearsal.patch());
    let [tinted, base] = [job.tinted(), job.base()].map(|paint| paint.map(|paint| rehearsal.film(paint)));
    let sprayed = Sprayed { tinted: tinted.as_deref(), base: base.as_deref() };
    let visibility = looking(job, appearance, patch, &sprayed)?.finish();
    seen_by(job, patch, &visibility, &visibility.map(job.viewing.distance))
}
