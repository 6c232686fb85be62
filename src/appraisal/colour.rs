//! The colour of a job's films: its tables by film, the film and the window that it aims at, and the colour over the
//! interior against the target.

use super::Appraisal;
use crate::colour::{BaseCoat, Lab, ScreenSpace};
use crate::eye::{Appearance, Under};
use crate::field::Zone;
use crate::job::Job;
use crate::units::{Degrees, Micrometres};
use serde::{Deserialize, Serialize};

/// Colour over the interior against the target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColourOfFilm {
    /// Aimed at.
    pub target: Lab,
    /// Mean of L*, a* and b* over the interior.
    pub mean: Lab,
    /// CIEDE2000 to the target over the interior.
    pub delta_e00: Difference,
}

/// How differences are spread over some cells.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Difference {
    /// Mean.
    pub mean: f64,
    /// Not passed in 19 places of 20 (linear interpolation between ranks).
    pub p95: f64,
    /// Most.
    pub max: f64,
}

impl Difference {
    pub(super) fn of(mut values: Vec<f64>) -> Self {
        let Some(last) = values.len().checked_sub(1) else { return Self::default() };
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let rank = 0.95 * last as f64;
        let (low, part) = (rank.floor() as usize, rank - rank.floor());
        // of the order no more than that one value and those above it need be known
        let (_, value, above) = values.select_nth_unstable_by(low, f64::total_cmp);
        let at_least = |a: f64, b: f64| if b.total_cmp(&a).is_lt() { b } else { a };
        let at_most = |a: f64, b: f64| if b.total_cmp(&a).is_gt() { b } else { a };
        let next = above.iter().copied().reduce(at_least).unwrap_or(*value);
        let max = above.iter().copied().reduce(at_most).unwrap_or(*value);
        Self { mean, p95: *value + (next - *value) * part, max }
    }
}

impl ColourOfFilm {
    pub(super) fn of(appraisal: &Appraisal) -> Self {
        let (appearance, interior) = (appraisal.appearance(), appraisal.cells(Zone::Interior));
        let labs: Vec<Lab> = interior.iter().map(|cell| appearance.lab(appraisal.films_at(*cell))).collect();
        let count = labs.len().max(1) as f64;
        let mean = |part: fn(&Lab) -> f64| labs.iter().map(part).sum::<f64>() / count;
        let mean = Lab { l: mean(|lab| lab.l), a: mean(|lab| lab.a), b: mean(|lab| lab.b) };
        let differences = appearance.differences(interior.iter().map(|cell| appraisal.films_at(*cell)));
        Self { target: appearance.target(), mean, delta_e00: Difference::of(differences) }
    }
}

/// The colour of a job's tinted clear over its base and ground, tabulated up to `film_max`; without a tinted clear, of
/// what lies under it alone.
pub fn appearance(job: &Job, space: ScreenSpace, film_max: Micrometres) -> Appearance {
    let aspecular = job.viewing.aspecular;
    let ground = job.ground.at(aspecular).expect("checked when the job was read");
    let thick = job.under_tint(aspecular).expect("checked when the job was read");
    let (clear, viewing) = (job.tinted_clear(), job.viewing.viewing());
    let over = |under| Appearance::over(under, clear, &viewing, space, &job.target, film_max);
    let base = job.base().and_then(|i| Some((&job.paints[i], job.paints[i].reflectance.as_ref()?.at(Degrees(45.0))?)));
    match base {
        None => over(Under::Ground(ground)),
        Some((paint, reflectance)) => {
            let coat = BaseCoat::new(reflectance, paint.hides_at);
            over(Under::BaseCoat { coat: &coat, hides_at: paint.hides_at, thick, ground })
        }
    }
}

/// Films up to this one are looked through for those that pass for the target, um.
const LOOKED_THROUGH: Micrometres = Micrometres(100.0);

/// The film of the tinted clear that a job aims at: the target's, or the one nearest to its colour.
pub fn target_film(job: &Job) -> Micrometres {
    appearance(job, ScreenSpace::Srgb, LOOKED_THROUGH).target_film()
}

/// The films of the tinted clear that differ from a job's target by less than a colour difference, CIEDE2000, and the
/// film it aims at; no films where even the nearest one differs by more.
pub fn film_window(job: &Job, within_de00: f64) -> (Option<[Micrometres; 2]>, Micrometres) {
    let appearance = appearance(job, ScreenSpace::Srgb, LOOKED_THROUGH);
    let window = appearance.track().film_window(appearance.target(), within_de00);
    (window.map(|(low, high)| [low, high]), appearance.target_film())
}
