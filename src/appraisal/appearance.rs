//! The colour of a film against the target: tables per paint, light and angle, read for every cell. Over a base coat
//! that does not hide everywhere there is one sheet of tables for each of a row of base films. Does not know where the
//! film lies.

use crate::colour::{Base, BaseCoat, Geometry, Lab, ScreenSpace, Spectrum, TintedClear, Track, Viewing, delta_e00};
use crate::maths::{Table, cbrt, exp};
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

/// What lies under the tinted clear.
#[derive(Debug, Clone, Copy)]
pub enum Under<'a> {
    /// The same everywhere.
    Ground(Base<'a>),
    /// A base coat of any film on a ground.
    BaseCoat {
        /// What the coat hides.
        coat: &'a BaseCoat,
        /// Its dry film from which on it hides.
        hides_at: Micrometres,
        /// How it looks there.
        thick: Base<'a>,
        /// What it lies on.
        ground: Base<'a>,
    },
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
    /// By growing film of the base coat; the last one is where it hides.
    sheets: Vec<Sheet>,
    /// Place among the sheets by film of the base coat.
    place: Option<Table>,
    target: Lab,
    target_film: Micrometres,
}

/// The tables over one film of the base coat.
#[derive(Debug, Clone)]
struct Sheet {
    track: Track,
    signed: Table,
}

/// Beyond this film the colour is held: what is tabulated must not grow with a job that lays metres of film.
const THICKEST: Micrometres = Micrometres(5000.0);

/// Step of the table of differences, um; one of its places is the target itself, where the curve has its corner.
const STEP: f64 = 0.1;

/// Steps from no base coat to one that hides for good.
const SHEETS: usize = 24;
/// A base coat of this many hiding films hides for good: what still shines through is below 0.02 CIEDE2000.
const FOR_GOOD: f64 = 1.5;
/// Steps of the table of `places`.
const PLACES: usize = 8192;
/// What shines through falls about so many powers of e over a hiding film: from a difference of 60 to 0.5.
const FADES: f64 = 4.8;

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
        let track = |base: Base| Track::over(base, clear, viewing, space, Micrometres(reach + 1.0));
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
        let mut sheets = Vec::new();
        let mut place = None;
        if let Under::BaseCoat { coat, hides_at, thick, ground } = under {
            let geometry = Geometry::new(viewing.aspecular);
            let films = (0..SHEETS).map(|i| Micrometres(film_of_sheet(i as f64, hides_at.0)));
            sheets.extend(films.map(|film| track(over(coat, &thick, ground, film, &geometry).as_base())));
            place = Some(places(hides_at.0));
        }
        sheets.push(hiding);
        let sheet = |track: Track| Sheet { signed: signed(&track, target, target_film, reach), track };
        Self { sheets: sheets.into_iter().map(sheet).collect(), place, target, target_film }
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

    /// The same from a table, within 0.005 over a base that hides: below 0 where the film is under the target's.
    pub fn signed_difference(&self, films: impl Into<Films>) -> f64 {
        let films = films.into();
        self.between(films.base, |sheet| [sheet.signed.at(films.tinted.0)])[0]
    }

    /// Number of sheets: one for each film of the base coat that is tabulated.
    pub fn sheets(&self) -> usize {
        self.sheets.len()
    }

    /// The base film of the last sheet; none where there is but one.
    pub fn thickest_base(&self) -> Option<Micrometres> {
        self.place.as_ref().map(|place| Micrometres(place.end()))
    }

    /// Place of a base film among the sheets, 0 to `sheets() - 1`.
    pub fn sheet_of(&self, base: Micrometres) -> f64 {
        self.place.as_ref().map_or(0.0, |place| place.at(base.0))
    }

    /// Linear screen channels and signed difference of a tinted film on one sheet.
    pub fn on_sheet(&self, sheet: usize, tinted: Micrometres) -> ([f64; 3], f64) {
        let sheet = &self.sheets[sheet];
        (sheet.track.screen(tinted), sheet.signed.at(tinted.0))
    }

    fn between<const N: usize>(&self, base: Micrometres, of: impl Fn(&Sheet) -> [f64; N]) -> [f64; N] {
        let last = self.sheets.len() - 1;
        let place = self.sheet_of(base);
        let i = (place as usize).min(last.saturating_sub(1));
        let part = place - i as f64;
        if last == 0 || part >= 1.0 {
            return of(&self.sheets[last.min(i + 1)]);
        }
        let (thin, thick) = (of(&self.sheets[i]), of(&self.sheets[i + 1]));
        std::array::from_fn(|k| thin[k] + (thick[k] - thin[k]) * part)
    }
}

/// A base coat of some film on its ground, as measured under untinted clear.
enum Seen {
    Effect(Spectrum),
    Solid(Spectrum),
}

impl Seen {
    fn as_base(&self) -> Base<'_> {
        match self {
            Self::Effect(seen) => Base::Effect(seen),
            Self::Solid(seen) => Base::Solid(seen),
        }
    }
}

fn over(coat: &BaseCoat, thick: &Base, ground: Base, film: Micrometres, geometry: &Geometry) -> Seen {
    match thick {
        Base::Effect(seen) => Seen::Effect(coat.effect_over(seen, ground, film, geometry)),
        Base::Solid(_) => Seen::Solid(coat.solid_over(ground, film)),
    }
}

/// The base film of a sheet: they lie close where a little more of the base changes most, at the thinnest films.
fn film_of_sheet(i: f64, hides_at: f64) -> f64 {
    let part = i / SHEETS as f64;
    FOR_GOOD * hides_at * part * part * part
}

/// Place among the sheets by film: between two of them as what shines through fades, not as the film grows.
fn places(hides_at: f64) -> Table {
    let fading = |film: f64| exp(-FADES * film / hides_at);
    let end = FOR_GOOD * hides_at;
    Table::new(0.0, end, PLACES, |film| {
        let i = (cbrt(film / end) * SHEETS as f64 + 1e-9).floor().min(SHEETS as f64 - 1.0);
        let (thin, thick) = (fading(film_of_sheet(i, hides_at)), fading(film_of_sheet(i + 1.0, hides_at)));
        i + (thin - fading(film)) / (thin - thick)
    })
}

/// Signed differences to the target up to `reach`, um.
fn signed(track: &Track, target: Lab, target_film: Micrometres, reach: f64) -> Table {
    let below = (target_film.0 / STEP).ceil();
    let above = ((reach - target_film.0) / STEP).ceil().max(1.0);
    let values = (0..=(below + above) as usize)
        .map(|i| {
            let film = target_film.0 + STEP * (i as f64 - below);
            let difference = delta_e00(track.lab(Micrometres(film.max(0.0))), target);
            if (i as f64) < below { -difference } else { difference }
        })
        .collect();
    Table::from_values(target_film.0 - STEP * below, STEP, values)
}
