//! What lies under a tinted clear by film of the base coat: one ground that is the same everywhere, or a row of bases from
//! no base coat to one that hides for good, closer where the colour goes fast. Does not know where the films lie.

use crate::{Base, BaseCoat, Geometry, Lab, Spectrum, TintedClear, Viewing, delta_e00};
use fanlap_film::maths::Table;
use fanlap_film::units::Micrometres;

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

/// The bases of a build-up by growing film of the base coat, and the place of every film among them.
#[derive(Debug, Clone)]
pub struct Underlay {
    /// The last one is where it hides.
    bases: Vec<Laid>,
    /// Place among the bases by film; none where there is but one.
    place: Option<Table>,
}

impl Underlay {
    /// As seen through two films of a tinted clear, between which the build-up lies.
    pub fn new(under: Under, clear: TintedClear, viewing: &Viewing, tints: [Micrometres; 2]) -> Self {
        let (coat, hides_at, thick, ground) = match under {
            Under::Ground(base) => return Self { bases: vec![Laid::of(&base)], place: None },
            Under::BaseCoat { coat, hides_at, thick, ground } => (coat, hides_at, thick, ground),
        };
        let geometry = Geometry::new(viewing.aspecular);
        let laid = |film: f64| over(coat, &thick, ground, Micrometres(film), &geometry);
        let way = Way::of(FOR_GOOD * hides_at.0, |film| {
            let laid = laid(film);
            tints.map(|tint| {
                let through = laid.as_base().through(clear, tint, &geometry);
                Lab::of(&through, viewing.illuminant, viewing.observer)
            })
        });
        let films = way.sheets();
        let mut bases: Vec<Laid> = films[..SHEETS].iter().map(|film| laid(*film)).collect();
        bases.push(Laid::of(&thick));
        Self { bases, place: Some(way.places(&films)) }
    }

    /// The bases, the thinnest first.
    pub fn bases(&self) -> impl Iterator<Item = Base<'_>> {
        self.bases.iter().map(Laid::as_base)
    }

    /// Place of a base film among them, 0 to their number less 1.
    pub fn place_of(&self, base: Micrometres) -> f64 {
        self.place.as_ref().map_or(0.0, |place| place.at(base.0))
    }

    /// The base film at a place among them, to a thousandth of the film that hides.
    pub fn film_at(&self, place: f64) -> Micrometres {
        let (mut low, mut high) = (0.0, self.thickest().map_or(0.0, |film| film.0));
        for _ in 0..12 {
            let middle = 0.5 * (low + high);
            if self.place_of(Micrometres(middle)) < place { low = middle } else { high = middle }
        }
        Micrometres(0.5 * (low + high))
    }

    /// The base film of the last one; none where there is but one.
    pub fn thickest(&self) -> Option<Micrometres> {
        self.place.as_ref().map(|place| Micrometres(place.end()))
    }
}

/// A base coat of some film on its ground, as measured under untinted clear.
#[derive(Debug, Clone)]
enum Laid {
    Effect(Spectrum),
    Solid(Spectrum),
}

impl Laid {
    fn of(base: &Base) -> Self {
        match base {
            Base::Effect(seen) => Self::Effect(**seen),
            Base::Solid(seen) => Self::Solid(**seen),
        }
    }

    fn as_base(&self) -> Base<'_> {
        match self {
            Self::Effect(seen) => Base::Effect(seen),
            Self::Solid(seen) => Base::Solid(seen),
        }
    }
}

fn over(coat: &BaseCoat, thick: &Base, ground: Base, film: Micrometres, geometry: &Geometry) -> Laid {
    match thick {
        Base::Effect(seen) => Laid::Effect(coat.effect_over(seen, ground, film, geometry)),
        Base::Solid(_) => Laid::Solid(coat.solid_over(ground, film)),
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
