//! The colour of a film against the target: one table per paint, light and angle, read for every cell. Does not know
//! where the film lies.

use crate::colour::{Base, Lab, ScreenSpace, Spectrum, Track, Viewing, delta_e00};
use crate::maths::Table;
use crate::units::Micrometres;
use serde::{Deserialize, Serialize};

/// What is aimed at, as in the job file's `target`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Target {
    /// A dry film of the tinted clear.
    #[serde(rename = "film_um")]
    Film(Micrometres),
    /// A colour L*, a*, b* under the job's viewing.
    #[serde(rename = "lab")]
    Colour([f64; 3]),
}

/// Colour of a tinted clear over its ground by film, and its difference to the target.
#[derive(Debug, Clone)]
pub struct Appearance {
    track: Track,
    target: Lab,
    target_film: Micrometres,
    signed: Table,
}

/// Beyond this film the colour is held: what is tabulated must not grow with a job that lays metres of film.
pub(super) const THICKEST: Micrometres = Micrometres(5000.0);

/// Step of the table of differences, um; one of its places is the target itself, where the curve has its corner.
const STEP: f64 = 0.1;

impl Appearance {
    /// Tabulates up to `film_max`.
    pub fn new(
        ground: Base,
        absorption: &Spectrum,
        viewing: &Viewing,
        space: ScreenSpace,
        target: &Target,
        film_max: Micrometres,
    ) -> Self {
        let film_max = Micrometres(film_max.0.min(THICKEST.0));
        let reach = match target {
            // well beyond the target, so that its window does not depend on the film that is laid
            Target::Film(film) => film_max.0.max(2.0 * film.0 + 10.0),
            Target::Colour(_) => film_max.0.max(100.0),
        };
        let track = Track::over(ground, absorption, viewing, space, Micrometres(reach + 1.0));
        let (target, target_film) = match *target {
            Target::Film(film) => (track.lab(film), film),
            Target::Colour([l, a, b]) => {
                let lab = Lab { l, a, b };
                (lab, track.nearest_film(lab).0)
            }
        };
        let below = (target_film.0 / STEP).ceil();
        let above = ((reach - target_film.0) / STEP).ceil().max(1.0);
        let values = (0..=(below + above) as usize)
            .map(|i| {
                let film = target_film.0 + STEP * (i as f64 - below);
                let difference = delta_e00(track.lab(Micrometres(film.max(0.0))), target);
                if (i as f64) < below { -difference } else { difference }
            })
            .collect();
        let signed = Table::from_values(target_film.0 - STEP * below, STEP, values);
        Self { track, target, target_film, signed }
    }

    /// The table of colours.
    pub fn track(&self) -> &Track {
        &self.track
    }

    /// The colour aimed at.
    pub fn target(&self) -> Lab {
        self.target
    }

    /// The film aimed at, or the one that comes nearest to the colour aimed at.
    pub fn target_film(&self) -> Micrometres {
        self.target_film
    }

    /// CIEDE2000 between a film's colour and the target.
    pub fn difference(&self, film: Micrometres) -> f64 {
        delta_e00(self.track.lab(film), self.target)
    }

    /// The same from a table, within 0.005: below 0 where the film is under the target's.
    pub fn signed_difference(&self, film: Micrometres) -> f64 {
        self.signed.at(film.0)
    }
}
