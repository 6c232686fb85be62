//! The colour of a film against the target: tables per paint, light and angle, read for every cell. Over a base coat
//! that does not hide everywhere there is one sheet of tables for each of a row of base films. Does not know where the
//! film lies.

use crate::colour::{Base, BaseCoat, Geometry, Lab, ScreenSpace, Spectrum, TintedClear, Track, Viewing, delta_e00};
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
pub(super) const THICKEST: Micrometres = Micrometres(5000.0);

/// Step of the table of differences, um; one of its places is the target itself, where the curve has its corner.
const STEP: f64 = 0.1;

/// Steps from no base coat to one that hides for good.
const SHEETS: usize = 24;
/// A base coat of this many hiding films hides for good: what still shines through is below 0.02 CIEDE2000.
const FOR_GOOD: f64 = 2.0;
/// Films of the base coat at which its colour is followed to find the sheets, closer where the coat is thin.
const FOLLOWED: usize = 256;
/// Steps of the table of places.
const PLACES: usize = 4096;
/// Share of the sheets that is spread evenly over the film, not over the way that the colour goes.
const EVENLY: f64 = 0.4;

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
            let seen = |film: f64| over(coat, &thick, ground, Micrometres(film), &geometry);
            let tints = [Micrometres(0.0), Micrometres(target_film.0.min(reach))];
            let way = Way::of(FOR_GOOD * hides_at.0, |film| {
                let seen = seen(film);
                tints.map(|tint| {
                    let through = seen.as_base().through(clear, tint, &geometry);
                    Lab::of(&through, viewing.illuminant, viewing.observer)
                })
            });
            let films = way.sheets();
            sheets.extend(films[..SHEETS].iter().map(|film| track(seen(*film).as_base())));
            place = Some(way.places(&films));
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

    /// The same of many films, one after another. Over a base that hides they are read from a table whose steps are so
    /// fine that it is within 1e-4.
    pub fn differences(&self, films: impl Iterator<Item = Films> + Clone) -> Vec<f64> {
        const STEP: f64 = 0.01;
        let most = films.clone().map(|films| films.tinted.0).fold(0.0, f64::max).min(THICKEST.0);
        let intervals = (most / STEP).ceil().max(1.0) as usize;
        if self.place.is_some() || intervals > films.clone().count() {
            return films.map(|films| self.difference(films)).collect();
        }
        let end = STEP * intervals as f64;
        let table = Table::new(0.0, end, intervals, |film| self.difference(Micrometres(film)));
        films.map(|films| table.at(films.tinted.0)).collect()
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

/// The way that the colour goes as a base coat grows, from none to one that hides for good.
struct Way {
    /// Film of the base coat, um, ascending.
    films: Vec<f64>,
    /// CIEDE2000 gone up to there, step by step.
    gone: Vec<f64>,
}

impl Way {
    /// Follows colours up to `most` um of the base coat.
    fn of(most: f64, colours: impl Fn(f64) -> [Lab; 2]) -> Self {
        let films: Vec<f64> = (0..=FOLLOWED).map(|i| most * square(i as f64 / FOLLOWED as f64)).collect();
        let seen: Vec<[Lab; 2]> = films.iter().map(|film| colours(*film)).collect();
        let mut gone = vec![0.0];
        for i in 1..films.len() {
            let step: f64 = (0..2).map(|k| delta_e00(seen[i - 1][k], seen[i][k])).sum();
            // a base like its ground goes nowhere: then the film alone counts
            gone.push(gone[i - 1] + step + 1e-6 * (films[i] - films[i - 1]));
        }
        Self { films, gone }
    }

    /// Films of the sheets, ascending: closer where the colour goes fast.
    fn sheets(&self) -> Vec<f64> {
        let (most, all) = (self.films[FOLLOWED], self.gone[FOLLOWED]);
        let share = |film: f64, gone: f64| EVENLY * film / most + (1.0 - EVENLY) * gone / all;
        let shares: Vec<f64> = self.films.iter().zip(&self.gone).map(|(film, gone)| share(*film, *gone)).collect();
        (0..=SHEETS).map(|i| straight(&shares, &self.films, i as f64 / SHEETS as f64)).collect()
    }

    /// Place among the sheets by film: between two of them as the colour goes, not as the film grows.
    fn places(&self, sheets: &[f64]) -> Table {
        let gone = |film: f64| straight(&self.films, &self.gone, film);
        let ends: Vec<f64> = sheets.iter().map(|film| gone(*film)).collect();
        let numbers: Vec<f64> = (0..sheets.len()).map(|i| i as f64).collect();
        Table::new(0.0, self.films[FOLLOWED], PLACES, |film| straight(&ends, &numbers, gone(film)))
    }
}

fn square(x: f64) -> f64 {
    x * x
}

/// The straight lines through places with ascending `x`, held at the ends.
fn straight(x: &[f64], y: &[f64], at: f64) -> f64 {
    let i = x.partition_point(|x| *x <= at).clamp(1, x.len() - 1);
    let part = ((at - x[i - 1]) / (x[i] - x[i - 1])).clamp(0.0, 1.0);
    y[i - 1] + (y[i] - y[i - 1]) * part
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
