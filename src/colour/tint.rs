//! A tinted clear from measured spray-out cards: of all smooth absorptions the one whose films come nearest to what was
//! measured, by penalised least squares (as D. L. Phillips 1962, J. ACM 9, 84: from memory) over all 36 bands, none
//! below 0. Only the absorption of a whole coat can be found, the product of absorption per um and film: a gauge
//! reading tells them apart. Gaussians 25 nm apart as a basis did worse from spectra and are not needed from CIELAB:
//! what the eye does not see, smoothness settles. Tried accuracy: `tests/colour_tint.rs`. Does not know any pigment,
//! nor any scatter.

mod cards;
mod doubts;
mod model;
mod smoothest;

pub use cards::{Card, Ground, Measured, Reading, Set};
pub use doubts::Doubt;
pub use smoothest::smoothest_spectrum;

use crate::difference::delta_e00;
use crate::film::through_tint;
use crate::geometry::Geometry;
use crate::solid::Solid;
use crate::spectrum::Spectrum;
use crate::tristimulus::Lab;
use fanlap_film::error::Problem;
use fanlap_film::maths::{Fitted, least_squares_sloped, log};
use fanlap_film::units::{Degrees, Micrometres};
use model::{Angle, Base, Model, USUAL_DEPTH};

/// A round that lowers the squared residuals, in standard deviations, by less than this share has settled.
const ENOUGH: f64 = 1e-6;

/// A tinted clear as it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct TintFit {
    /// Napierian absorption of one full coat, without dimension: absorption per um times the coat's film.
    pub per_coat: Spectrum,
    /// The base at every angle that was measured: measured itself, or deduced where it is only known as CIELAB.
    pub bases: Vec<(Degrees, Spectrum)>,
    /// The kind of base.
    pub ground: Ground,
    /// How many full coats each card amounts to: as given, or fitted where the set asks for it; then they add up to the
    /// sum of those given, so that a full coat is the mean one.
    pub coats: Vec<f64>,
    /// CIEDE2000 between measured and fitted, card by card: the largest of its readings.
    pub residuals: Vec<f64>,
    /// Root mean square of what is left in L*, a* and b* with the coats as given.
    pub left_equal: f64,
    /// The same with the coats fitted.
    pub left_unequal: f64,
    /// The film of one full coat by the gauged cards.
    pub film_per_coat: Option<Micrometres>,
    /// Rounds of the fit and of the rough one before it.
    pub rounds: usize,
    /// Whether it came to rest.
    pub settled: bool,
    /// What speaks against trusting it.
    pub doubts: Vec<Doubt>,
}

impl TintFit {
    /// The base at an angle that was measured.
    pub fn base_at(&self, aspecular: Degrees) -> Option<&Spectrum> {
        self.bases.iter().find(|(angle, _)| *angle == aspecular).map(|(_, base)| base)
    }

    /// Whether so many coats lie beyond the thickest card.
    pub fn doubt_at(&self, coats: f64) -> Option<Doubt> {
        let thickest = self.coats.iter().fold(0.0, |most: f64, coats| most.max(*coats));
        (coats > thickest * 1.001).then_some(Doubt::BeyondTheCards { coats, thickest })
    }

    /// The reflectance factor after that many full coats, at an angle that was measured.
    pub fn colour(&self, coats: f64, aspecular: Degrees) -> Option<Spectrum> {
        let (base, geometry) = (self.base_at(aspecular)?, Geometry::new(aspecular));
        let depth = Micrometres(coats); // the absorption is per coat, so coats stand for the film
        Some(match self.ground {
            Ground::Effect => through_tint(base, &self.per_coat, depth, geometry.path_factor()),
            Ground::Solid => Solid::measured(base, &geometry).under(&[(&self.per_coat, depth)], &geometry),
        })
    }

    /// Napierian absorption, 1/um, if a full coat has this dry film.
    pub fn absorption(&self, film_per_coat: Micrometres) -> Spectrum {
        Spectrum(self.per_coat.0.map(|depth| depth / film_per_coat.0))
    }
}

/// Fits a tint to a set of cards. Takes some tens of milliseconds.
///
/// ```
/// use fanlap_colour::tint::{Card, Ground, Measured, Set, fit_tint};
/// use fanlap_colour::{Illuminant, Lab, Observer, Viewing};
/// use fanlap_film::units::Degrees;
/// let viewing = Viewing { illuminant: Illuminant::D65, observer: Observer::Degrees10, aspecular: Degrees(45.0), surround_gloss: 0.0 };
/// let card = |coats, l, a, b| Card::new(coats, viewing, Measured::Lab(Lab { l, a, b }));
/// let cards = [card(0.0, 58.5, 20.2, 49.3), card(1.0, 46.4, 39.5, 36.1), card(3.0, 34.7, 54.6, 27.4)];
/// let tint = fit_tint(&Set { cards: &cards, ground: Ground::Effect, unequal: false }).unwrap();
/// assert!(tint.residuals.iter().all(|off| *off < 0.2));
/// let two = Lab::of(&tint.colour(2.0, Degrees(45.0)).unwrap(), Illuminant::D65, Observer::Degrees10);
/// assert!((two.l - 39.1).abs() < 0.3 && (two.a - 49.8).abs() < 0.6); // a colour that was not measured
/// ```
pub fn fit_tint(set: &Set) -> Result<TintFit, Problem> {
    set.check()?;
    let even = Spectrum::constant(first_depth(set));
    let rough = Solution::find(set, &even, USUAL_DEPTH, false);
    let tint = rough.model.tint(&rough.fitted.values);
    let highest = tint.0.iter().fold(0.0, |high: f64, depth| high.max(*depth));
    let [equal, unequal] = [false, true].map(|unequal| Solution::find(set, &tint, highest, unequal));
    let chosen = if set.unequal { &unequal } else { &equal };
    let (model, x) = (&chosen.model, &chosen.fitted.values);
    let scale = chosen.scale(set);
    let coats: Vec<f64> = (0..set.cards.len()).map(|card| model.coats(x, card) / scale).collect();
    Ok(TintFit {
        per_coat: Spectrum(model.tint(x).0.map(|depth| depth * scale)),
        bases: set.angles().into_iter().enumerate().map(|(i, angle)| (angle, model.base(x, i))).collect(),
        ground: set.ground,
        residuals: chosen.residuals(set.cards.len()),
        left_equal: equal.left(),
        left_unequal: unequal.left(),
        film_per_coat: film_per_coat(set, &coats),
        doubts: doubts::doubts(set, &equal, &unequal, &coats),
        coats,
        rounds: rough.fitted.rounds + chosen.fitted.rounds,
        settled: chosen.fitted.settled,
    })
}

/// A model with the unknowns that fit best.
struct Solution<'a> {
    model: Model<'a>,
    fitted: Fitted,
}

impl<'a> Solution<'a> {
    fn find(set: &Set<'a>, tint: &Spectrum, highest: f64, unequal: bool) -> Self {
        let model = Model::new(set, angles(set), unequal, highest);
        let (start, bounds) = (model.start(tint), model.bounds());
        let fitted = least_squares_sloped(&start, &bounds, |x| model.residuals(x), |x| model.slopes(x), ENOUGH);
        Self { model, fitted }
    }

    /// How much the coats of the cards add up to, by those given.
    fn scale(&self, set: &Set) -> f64 {
        let given: f64 = set.cards.iter().map(|card| card.coats).sum();
        (0..set.cards.len()).map(|card| self.model.coats(&self.fitted.values, card)).sum::<f64>() / given
    }

    /// CIEDE2000 card by card.
    fn residuals(&self, cards: usize) -> Vec<f64> {
        let mut largest = vec![0.0_f64; cards];
        for (card, reading, seen) in self.model.fitted(&self.fitted.values) {
            let fitted = Lab::of(&seen, reading.viewing.illuminant, reading.viewing.observer);
            largest[card] = largest[card].max(delta_e00(reading.lab(), fitted));
        }
        largest
    }

    /// Root mean square of what is left in CIELAB.
    fn left(&self) -> f64 {
        let (mut sum, mut count) = (0.0, 0);
        for (_, reading, seen) in self.model.fitted(&self.fitted.values) {
            let (p, q) = (reading.lab(), Lab::of(&seen, reading.viewing.illuminant, reading.viewing.observer));
            sum += (p.l - q.l) * (p.l - q.l) + (p.a - q.a) * (p.a - q.a) + (p.b - q.b) * (p.b - q.b);
            count += 3;
        }
        (sum / f64::from(count)).sqrt()
    }
}

/// The angles with what is known of the base there.
fn angles(set: &Set) -> Vec<Angle> {
    let of = |aspecular| {
        let base = set.known_base(aspecular).unwrap_or_else(|| deduced(set, aspecular));
        Angle { aspecular, geometry: Geometry::new(aspecular), base }
    };
    set.angles().into_iter().map(of).collect()
}

/// A base that is to be deduced starts from the smoothest with its colour, or that of the lightest card.
fn deduced(set: &Set, aspecular: Degrees) -> Base {
    let here = set.readings().filter(|(_, reading)| reading.viewing.aspecular == aspecular);
    let thinnest = here.min_by(|p, q| set.cards[p.0].coats.total_cmp(&set.cards[q.0].coats));
    let (_, reading) = thinnest.expect("an angle has a reading");
    let (ceiling, start) = smoothest::smoothest_logit(reading.lab(), &reading.viewing);
    Base::Deduced { ceiling, start }
}

/// An even absorption of one coat to start from, by how much darker the cards are than the lightest.
fn first_depth(set: &Set) -> f64 {
    let light = |(card, reading): (usize, &Reading)| (set.cards[card].coats, reading.xyz().0.y);
    let lights: Vec<(f64, f64)> = set.readings().map(light).collect();
    let lightest = lights.iter().map(|(_, y)| *y).fold(0.0, f64::max);
    let depths =
        lights.iter().filter(|(coats, _)| *coats > 0.0).map(|(coats, y)| log(lightest / y.max(1e-3)) / (2.2 * coats));
    depths.fold(0.0, f64::max).clamp(0.01, 2.0)
}

/// The film of a full coat: least squares over the gauged cards.
fn film_per_coat(set: &Set, coats: &[f64]) -> Option<Micrometres> {
    let gauged = set.cards.iter().zip(coats).filter_map(|(card, coats)| card.film.map(|film| (film.0, *coats)));
    let (film, square) = gauged.fold((0.0, 0.0), |(f, s), (film, coats)| (f + film * coats, s + coats * coats));
    (square > 0.0).then(|| Micrometres(film / square))
}
