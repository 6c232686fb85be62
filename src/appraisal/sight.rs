//! What an eye sees of a finished film: how many times over its threshold the unevenness is, cell by cell, and from how
//! far the worst place of the interior is seen. The measure is [`crate::eye::Visibility`]; the distance and the eye are
//! the job's. A white in the panel's place is taken at 300 cd/m2, about 1000 lx, whatever the booth.

use super::{Appraisal, Difference};
use crate::eye::{Appearance, Carrier, FilmColour, Looking, Mapping, Raster, Sighting, Visibility};
use crate::field::Zone;
use crate::job::Job;
use crate::units::{Metres, Micrometres};
use std::sync::{Arc, OnceLock};

/// From here on it is asked from how far a place is seen.
pub const NEAREST: Metres = Metres(0.3);
/// Up to here.
pub const FARTHEST: Metres = Metres(10.0);

/// What the job's eye sees of a finished film.
#[derive(Clone)]
pub struct Sight {
    /// The unevenness, for any cell and distance.
    pub visibility: Visibility,
    /// How many times over the eye's threshold each cell is seen from the job's distance: 1 and more is seen.
    pub times: Vec<f64>,
    /// The same over the interior.
    pub times_threshold: Difference,
    /// The cell of the interior that shows the most; none on a panel without an interior.
    pub worst: Option<WorstSeen>,
}

/// The cell of the interior that shows the most from the viewing distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorstSeen {
    /// Which one.
    pub cell: usize,
    /// The band that shows there the most.
    pub sighting: Sighting,
    /// The paint whose film makes the most of that band, by its place among the paints.
    pub paint: Option<usize>,
    /// The greatest distance from which the cell is seen; none if from nowhere between [`NEAREST`] and [`FARTHEST`].
    pub seen_from: Option<Metres>,
}

/// A sight on its way: first the unevenness, band by band, then its map.
pub(super) enum SightSteps {
    Looking(Box<Looking>),
    Mapping(Box<(Visibility, Mapping)>),
}

/// What comes of a step.
pub(super) enum Step {
    More(SightSteps),
    Done(Box<Sight>),
}

impl SightSteps {
    /// Of the finished film; none where nothing that carries colour was sprayed.
    pub fn of(appraisal: &Appraisal) -> Option<Self> {
        let job = appraisal.job();
        if job.coloured().is_empty() {
            return None;
        }
        let films = (appraisal.tinted().unwrap_or(&[0.0]), appraisal.base().unwrap_or(&[f64::INFINITY]));
        let (raster, alone) = (Raster::of(appraisal.patch()), (Micrometres(0.0), &OnceLock::new()));
        let looking = looking_at(job, appraisal.appearance(), raster, films, alone)?;
        Some(Self::Looking(Box::new(looking)))
    }

    /// Goes on by a part.
    pub fn step(self, appraisal: &Appraisal) -> Step {
        match self {
            Self::Looking(mut looking) => Step::More(if looking.step() {
                Self::Looking(looking)
            } else {
                let visibility = looking.finish();
                let mapping = Mapping::new(&visibility, appraisal.job().viewing.distance);
                Self::Mapping(Box::new((visibility, mapping)))
            }),
            Self::Mapping(mut both) => {
                if both.1.step(&both.0) {
                    return Step::More(Self::Mapping(both));
                }
                let (visibility, mapping) = *both;
                Step::Done(Box::new(Sight::of(appraisal, visibility, mapping.finish())))
            }
        }
    }
}

impl Sight {
    fn of(appraisal: &Appraisal, visibility: Visibility, times: Vec<f64>) -> Self {
        let interior = appraisal.cells(Zone::Interior);
        let times_threshold = Difference::of(interior.iter().map(|cell| times[*cell]).collect());
        let worst = WorstSeen::of(appraisal, &visibility, &times);
        Self { visibility, times, times_threshold, worst }
    }
}

impl WorstSeen {
    fn of(appraisal: &Appraisal, visibility: &Visibility, times: &[f64]) -> Option<Self> {
        let job = appraisal.job();
        // of equal cells the first
        let worse = |worst: usize, cell: usize| if times[cell] > times[worst] { cell } else { worst };
        let cell = appraisal.cells(Zone::Interior).iter().copied().reduce(worse)?;
        let sighting = visibility.at(cell, job.viewing.distance)?;
        let paint = if sighting.carrier == Carrier::Base { job.base() } else { job.tinted() };
        Some(Self { cell, sighting, paint, seen_from: visibility.seen_from(cell, NEAREST, FARTHEST) })
    }
}

/// At films (um, cell by cell) of a job's tinted clear and of the base under it; one number for an even film. The colours
/// of the film alone reach up to a film at least, and are kept for the next look at films that are no thicker.
pub(crate) fn looking_at(
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
