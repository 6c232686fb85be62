//! A paint film that scatters as well as absorbs, on what lies under it: P. Kubelka 1948, J. Opt. Soc. Am. 38, 448;
//! layers on layers: P. Kubelka 1954, J. Opt. Soc. Am. 44, 330. From it, how well a film hides a black and white card.
//! Light inside is taken as perfectly diffuse throughout, which overstates what a clear absorbs from directed light.
//! Does not know the surface: `interface` does.

use super::difference::delta_e00;
use super::interface::{Gloss, Saunderson};
use super::light::{Illuminant, Observer};
use super::spectrum::Spectrum;
use super::tristimulus::{Lab, Xyz};
use fanlap_film::maths::exp;
use fanlap_film::units::{Fraction, Micrometres};

/// What one film, or several on each other, does to diffuse light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// The share of light from above sent back, with nothing under the layer.
    pub reflectance: f64,
    /// The same for light from below; one film alone looks alike from both sides.
    pub from_below: f64,
    /// The share let through, either way.
    pub transmittance: f64,
}

impl Layer {
    /// A film with this absorption K and scatter S of diffuse light (1/um, neither below 0).
    ///
    /// With alpha = sqrt(K (K + 2 S)) Kubelka's hyperbolic functions are all divided by exp(alpha film), so that
    /// nothing overflows, and nothing is divided by K, S or the film: all three may be 0.
    pub fn new(absorption: f64, scatter: f64, film: Micrometres) -> Self {
        let alpha = (absorption * (absorption + 2.0 * scatter)).sqrt();
        let depth = alpha * film.0;
        let fading = exp(-depth);
        let cosh = 0.5 * (1.0 + fading * fading);
        // sinh(depth) / alpha: by its series where the difference would lose digits; the next term is below 1e-15
        let sinh = if depth < 0.02 {
            let square = depth * depth;
            fading * film.0 * (1.0 + square / 6.0 * (1.0 + square / 20.0 * (1.0 + square / 42.0)))
        } else {
            0.5 * (1.0 - fading * fading) / alpha
        };
        let all = cosh + (absorption + scatter) * sinh;
        let reflectance = scatter * sinh / all;
        Self { reflectance, from_below: reflectance, transmittance: fading / all }
    }

    /// The reflectance of the layer with a ground of that reflectance under it, in contact.
    ///
    /// ```
    /// use fanlap_colour::Layer;
    /// use fanlap_film::units::Micrometres;
    /// let film = Layer::new(0.02, 0.05, Micrometres(40.0));
    /// assert!((film.over(0.8) - 0.429514469).abs() < 1e-9);
    /// ```
    pub fn over(&self, ground: f64) -> f64 {
        self.reflectance + self.transmittance * self.transmittance * ground / (1.0 - self.from_below * ground)
    }

    /// This layer lying on another, in contact.
    pub fn on(&self, below: &Layer) -> Layer {
        let rounds = 1.0 - self.from_below * below.reflectance;
        Layer {
            reflectance: self.over(below.reflectance),
            from_below: below.from_below + below.transmittance * below.transmittance * self.from_below / rounds,
            transmittance: self.transmittance * below.transmittance / rounds,
        }
    }
}

/// The reflectance of a film so thick that nothing shines through; 0 if it does not scatter. K and S in any one unit.
///
/// ```
/// // Kubelka & Munk 1931: K/S = (1 - R)^2 / 2 R
/// assert!((fanlap_colour::thick_film(0.25, 1.0) - 0.5).abs() < 1e-15);
/// ```
pub fn thick_film(absorption: f64, scatter: f64) -> f64 {
    if scatter == 0.0 {
        return 0.0;
    }
    scatter / (absorption + scatter + (absorption * (absorption + 2.0 * scatter)).sqrt())
}

/// A paint by what each um of its dry film does to diffuse light, band by band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scattering {
    /// Absorption K, 1/um.
    pub absorption: Spectrum,
    /// Scatter S, 1/um.
    pub scatter: Spectrum,
}

/// How well a film hides a black and white card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hiding {
    /// Y over black by Y over white, 1 for a film that hides.
    pub contrast_ratio: Fraction,
    /// CIEDE2000 between the two.
    pub difference: f64,
}

/// The card: reflectance of its black and white in contact with the film (ASTM D2805 asks for at most 0.01 and for
/// 0.80: from memory).
pub const CARD: [f64; 2] = [0.0, 0.8];

/// The difference over black and white below which a film counts as hiding, CIEDE2000: about what a contrast ratio of
/// 0.98 is for greys with Y 20 to 80 (computed).
pub const HIDDEN: f64 = 0.5;

/// The coarse step in which `hiding_film` looks, um.
const STEP: f64 = 1.0;

impl Scattering {
    /// A tinted clear with a little scatter. Diffuse light takes twice the way of light along the normal, on average,
    /// so K is twice the napierian absorption (1/um).
    pub fn of_clear(napierian: &Spectrum, scatter: &Spectrum) -> Self {
        Self { absorption: Spectrum(napierian.0.map(|a| 2.0 * a)), scatter: *scatter }
    }

    /// The reflectance inside a film on a ground in contact with it.
    pub fn over(&self, ground: &Spectrum, film: Micrometres) -> Spectrum {
        Spectrum(std::array::from_fn(|band| {
            Layer::new(self.absorption.0[band], self.scatter.0[band], film).over(ground.0[band])
        }))
    }

    /// The same as measured through a smooth surface, gloss excluded.
    pub fn measured_over(&self, ground: &Spectrum, film: Micrometres) -> Spectrum {
        let clear = Saunderson::clear();
        Spectrum(self.over(ground, film).0.map(|inside| clear.measured(inside, Gloss::Excluded)))
    }

    /// How well a film hides the card, gloss excluded.
    pub fn hiding(&self, film: Micrometres, illuminant: Illuminant, observer: Observer) -> Hiding {
        let [black, white] = CARD.map(|field| self.measured_over(&Spectrum::constant(field), film));
        let luminance = |seen| Xyz::of(seen, illuminant, observer).y;
        let colour = |seen| Lab::of(seen, illuminant, observer);
        Hiding {
            contrast_ratio: Fraction(luminance(&black) / luminance(&white)),
            difference: delta_e00(colour(&black), colour(&white)),
        }
    }

    /// The film from which on, up to `film_max`, every film hides the card (a difference below `HIDDEN`); none if
    /// `film_max` does not. To 0.001 um.
    pub fn hiding_film(
        &self,
        film_max: Micrometres,
        illuminant: Illuminant,
        observer: Observer,
    ) -> Option<Micrometres> {
        let hides = |film| self.hiding(Micrometres(film), illuminant, observer).difference < HIDDEN;
        if !hides(film_max.0) {
            return None;
        }
        let steps = (film_max.0 / STEP).ceil() as usize;
        let thicker = |i: usize| film_max.0 * (i as f64 / steps as f64);
        let shows = (0..steps).rev().find(|&i| !hides(thicker(i)))?;
        let (mut low, mut high) = (thicker(shows), thicker(shows + 1));
        while high - low > 1e-3 {
            let middle = 0.5 * (low + high);
            if hides(middle) { high = middle } else { low = middle }
        }
        Some(Micrometres(high))
    }
}
