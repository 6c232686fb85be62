//! The colour of a film against the target: tables per paint, light and angle, read for every cell. Over a base coat
//! that does not hide everywhere there is one sheet of tables for each of a row of base films. Does not know where the
//! film lies.

use super::build_up::BuildUpColour;
use super::underlay::{Under, Underlay};
use crate::{Base, Lab, ScreenSpace, TintedClear, Track, Viewing, delta_e00};
use fanlap_film::maths::Table;
use fanlap_film::units::Micrometres;
use serde::{Deserialize, Serialize};
use std::sync::{Arc, OnceLock};

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

/// The films at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Films {
    /// Dry film of the tinted clear.
    pub tinted: Micrometres,
    /// Dry film of the base coat under it; infinite where it hides or where there is none.
    pub base: Micrometres,
}

impl From<Micrometres> for Films {
    /// Tinted clear over what hides.
    fn from(tinted: Micrometres) -> Self {
        Self { tinted, base: Micrometres(f64::INFINITY) }
    }
}

/// Colour of a tinted clear over what lies under it by film, and its difference to the target.
#[derive(Debug, Clone)]
pub struct Appearance {
    underlay: Underlay,
    /// One for each base of the underlay.
    sheets: Vec<Sheet>,
    target: Lab,
    target_film: Micrometres,
    clear: TintedClear,
    viewing: Viewing,
    /// As the eye's mechanisms answer to it, once that was asked.
    build_up: OnceLock<Arc<BuildUpColour>>,
}

/// The tables over one film of the base coat.
#[derive(Debug, Clone)]
struct Sheet {
    track: Track,
    signed: Table,
}

/// Beyond this film the colour is held: what is tabulated must not grow with a job that lays metres of film.
pub(super) const THICKEST: Micrometres = Micrometres(5000.0);

/// Two colours that differ by less in L* are taken as equally light.
const AS_LIGHT: f64 = 1e-9;

/// Step of the table of differences, um; one of its places is the target itself, where the curve has its corner.
const STEP: f64 = 0.1;

impl Appearance {
    /// Tabulates up to `film_max`.
    pub fn new(
        ground: Base,
        clear: impl Into<TintedClear>,
        viewing: &Viewing,
        space: ScreenSpace,
        target: &Target,
        film_max: Micrometres,
    ) -> Self {
        Self::over(Under::Ground(ground), clear, viewing, space, target, film_max)
    }

    /// The same over a ground or a base coat. The target's film lies over a base coat that hides.
    pub fn over(
        under: Under,
        clear: impl Into<TintedClear>,
        viewing: &Viewing,
        space: ScreenSpace,
        target: &Target,
        film_max: Micrometres,
    ) -> Self {
        let (clear, film_max) = (clear.into(), Micrometres(film_max.0.min(THICKEST.0)));
        let reach = match target {
            // well beyond the target, so that its window does not depend on the film that is laid
            Target::Film(film) => film_max.0.max(2.0 * film.0 + 10.0),
            Target::Colour(_) => film_max.0.max(100.0),
        };
        let exposed =
            |base: Base, most: f64| Track::exposed(base, clear, viewing, space, Micrometres(reach + 1.0), most);
        let track = |base: Base| exposed(base, 1.0);
        let hiding = match under {
            Under::Ground(base) | Under::BaseCoat { thick: base, .. } => track(base),
        };
        let (target, target_film) = match *target {
            Target::Film(film) => (hiding.lab(film), film),
            Target::Colour([l, a, b]) => {
                let lab = Lab { l, a, b };
                (lab, hiding.nearest_film(lab).0)
            }
        };
        let underlay = Underlay::new(under, clear, viewing, [Micrometres(0.0), Micrometres(target_film.0.min(reach))]);
        let bases: Vec<Base> = underlay.bases().collect();
        let mut tracks: Vec<Track> = bases[..bases.len() - 1].iter().map(|base| track(*base)).collect();
        tracks.push(hiding);
        // one exposure for all: thin and thick places of a base lie side by side
        let least = tracks.iter().map(Track::exposure).fold(1.0, f64::min);
        for (track, base) in tracks.iter_mut().zip(&bases).filter(|(track, _)| track.exposure() > least) {
            *track = exposed(*base, least);
        }
        let sheet = |track: Track| Sheet { signed: signed(&track, target, target_film, reach), track };
        let sheets = tracks.into_iter().map(sheet).collect();
        let (viewing, build_up) = (*viewing, OnceLock::new());
        Self { underlay, sheets, target, target_film, clear, viewing, build_up }
    }

    /// What the eye's mechanisms answer to every build-up.
    pub fn build_up(&self) -> Arc<BuildUpColour> {
        let film_max = self.track().film_max();
        let new = || Arc::new(BuildUpColour::new(&self.underlay, self.clear, &self.viewing, film_max));
        self.build_up.get_or_init(new).clone()
    }

    /// What lies under the tinted clear.
    pub fn underlay(&self) -> &Underlay {
        &self.underlay
    }

    /// The table of colours where the base hides.
    pub fn track(&self) -> &Track {
        &self.sheets[self.sheets.len() - 1].track
    }

    /// The colour aimed at.
    pub fn target(&self) -> Lab {
        self.target
    }

    /// The film aimed at, or the one that comes nearest to the colour aimed at.
    pub fn target_film(&self) -> Micrometres {
        self.target_film
    }

    /// The colour of films.
    pub fn lab(&self, films: impl Into<Films>) -> Lab {
        let films = films.into();
        let [l, a, b] = self.between(films.base, |sheet| {
            let lab = sheet.track.lab(films.tinted);
            [lab.l, lab.a, lab.b]
        });
        Lab { l, a, b }
    }

    /// CIEDE2000 between the colour of films and the target.
    pub fn difference(&self, films: impl Into<Films>) -> f64 {
        delta_e00(self.lab(films), self.target)
    }

    /// The same of many films, one after another. Over a base that hides they are read from a table whose steps are so
    /// fine that it is within 1e-4.
    pub fn differences(&self, films: impl Iterator<Item = Films> + Clone) -> Vec<f64> {
        const STEP: f64 = 0.01;
        let most = films.clone().map(|films| films.tinted.0).fold(0.0, f64::max).min(THICKEST.0);
        let intervals = (most / STEP).ceil().max(1.0) as usize;
        if self.underlay.thickest().is_some() || intervals > films.clone().count() {
            return films.map(|films| self.difference(films)).collect();
        }
        let end = STEP * intervals as f64;
        let table = Table::new(0.0, end, intervals, |film| self.difference(Micrometres(film)));
        films.map(|films| table.at(films.tinted.0)).collect()
    }

    /// The same from a table, within 0.005 over a base that hides: below 0 where the colour is lighter than the target's,
    /// above where it is darker, whichever film made it so.
    pub fn signed_difference(&self, films: impl Into<Films>) -> f64 {
        let films = films.into();
        self.between(films.base, |sheet| [sheet.signed.at(films.tinted.0)])[0]
    }

    /// Number of sheets: one for each film of the base coat that is tabulated.
    pub fn sheets(&self) -> usize {
        self.sheets.len()
    }

    /// Linear screen channels and signed difference (above 0: darker) of a tinted film on one sheet.
    pub fn on_sheet(&self, sheet: usize, tinted: Micrometres) -> ([f64; 3], f64) {
        let sheet = &self.sheets[sheet];
        (sheet.track.screen(tinted), sheet.signed.at(tinted.0))
    }

    fn between<const N: usize>(&self, base: Micrometres, of: impl Fn(&Sheet) -> [f64; N]) -> [f64; N] {
        let last = self.sheets.len() - 1;
        let place = self.underlay.place_of(base);
        let i = (place as usize).min(last.saturating_sub(1));
        let part = place - i as f64;
        if last == 0 || part >= 1.0 {
            return of(&self.sheets[last.min(i + 1)]);
        }
        let (thin, thick) = (of(&self.sheets[i]), of(&self.sheets[i + 1]));
        std::array::from_fn(|k| thin[k] + (thick[k] - thin[k]) * part)
    }
}

/// Differences to the target up to `reach`, um: below 0 where the colour is lighter than the target's, or as light and the
/// film thinner.
fn signed(track: &Track, target: Lab, target_film: Micrometres, reach: f64) -> Table {
    let below = (target_film.0 / STEP).ceil();
    let above = ((reach - target_film.0) / STEP).ceil().max(1.0);
    let values = (0..=(below + above) as usize)
        .map(|i| {
            let film = target_film.0 + STEP * (i as f64 - below);
            let lab = track.lab(Micrometres(film.max(0.0)));
            let difference = delta_e00(lab, target);
            let darker = target.l - lab.l;
            let lighter = if darker.abs() < AS_LIGHT { (i as f64) < below } else { darker < 0.0 };
            if lighter { -difference } else { difference }
        })
        .collect();
    Table::from_values(target_film.0 - STEP * below, STEP, values)
}
