//! A spectrum for a colour of which only CIELAB is known: of all that look so, the smoothest. Smooth is said of z with
//! R = ceiling / (1 + exp(-z)), by its second and first differences; without the first ones it runs away where the eye
//! is blind (tried). Ours. Does not know the real spectrum: under another light the colour may be off.

use super::model::{Smoothness, logistic};
use crate::light::weights;
use crate::spectrum::{BANDS, Spectrum};
use crate::track::Viewing;
use crate::tristimulus::{Lab, Xyz};
use fanlap_film::maths::{least_squares_sloped, log};

/// The smoothness that is least.
const EVEN: Smoothness = Smoothness { bend: 1.0, rise: 1.0, size: None };
/// How sure the colour is, CIELAB, step by step: the last is as good as exact.
const SURE: [f64; 3] = [0.1, 1e-2, 1e-4];
/// Ceilings that are tried, in units of the brightest of X, Y, Z against white, or of 1 if that is more.
const CEILINGS: [f64; 4] = [1.0, 1.5, 2.5, 5.0];
/// A colour is reached if it is less than this off in CIELAB.
const REACHED: f64 = 1e-6;
/// How far z may go.
const MOST_LOGIT: f64 = 15.0;

/// The smoothest reflectance factor with that colour under that light and for that observer, at most 1 unless the
/// colour needs more, as near the highlight of flakes. A colour that no reflectance has
/// is approached as far as possible.
///
/// ```
/// use fanlap_colour::tint::smoothest_spectrum;
/// use fanlap_colour::{Illuminant, Lab, Observer, Viewing};
/// use fanlap_film::units::Degrees;
/// let viewing = Viewing { illuminant: Illuminant::D65, observer: Observer::Degrees10, aspecular: Degrees(45.0), surround_gloss: 0.0 };
/// let grey = smoothest_spectrum(Lab { l: 50.0, a: 0.0, b: 0.0 }, &viewing);
/// assert!(grey.0.iter().all(|r| (r - 0.184187).abs() < 1e-5)); // ((50 + 16) / 116)^3
/// ```
pub fn smoothest_spectrum(colour: Lab, viewing: &Viewing) -> Spectrum {
    let (ceiling, z) = smoothest_logit(colour, viewing);
    Spectrum(z.0.map(|z| ceiling * logistic(z)))
}

/// The same as a ceiling and z: the lowest ceiling under which the colour can be.
pub(super) fn smoothest_logit(colour: Lab, viewing: &Viewing) -> (f64, Spectrum) {
    let (light, eye) = (viewing.illuminant, viewing.observer);
    let white = Xyz::white(light, eye);
    let wanted = colour.to_xyz(white);
    let brightest = (wanted.x / white.x).max(wanted.y / white.y).max(wanted.z / white.z);
    let mut found = (1.0, Spectrum::constant(0.0));
    for ceiling in CEILINGS.map(|times| times * brightest.max(1.0)) {
        let look = Look { colour, white, weights: weights(light, eye), ceiling, sure: SURE[0] };
        let (z, off) = look.smoothest();
        found = (ceiling, z);
        if off < REACHED {
            break;
        }
    }
    found
}

/// A colour that is sought.
struct Look<'a> {
    colour: Lab,
    white: Xyz,
    weights: &'a [Spectrum; 3],
    ceiling: f64,
    sure: f64,
}

impl Look<'_> {
    /// The smoothest z and how far its colour is off.
    fn smoothest(mut self) -> (Spectrum, f64) {
        let share = (self.colour.to_xyz(self.white).y / self.white.y / self.ceiling).clamp(1e-5, 1.0 - 1e-5);
        let mut z = vec![log(share / (1.0 - share)); BANDS];
        for sure in SURE {
            self.sure = sure;
            let bounds = vec![(-MOST_LOGIT, MOST_LOGIT); BANDS];
            z = least_squares_sloped(&z, &bounds, |z| self.residuals(z), |z| self.slopes(z), 1e-12).values;
        }
        let off = self.residuals(&z)[..3].iter().map(|off| off * off).sum::<f64>().sqrt() * self.sure;
        (Spectrum(std::array::from_fn(|band| z[band])), off)
    }

    fn xyz(&self, z: &[f64]) -> Xyz {
        let seen = Spectrum(std::array::from_fn(|band| self.ceiling * logistic(z[band])));
        let [x, y, z] = self.weights.each_ref().map(|weight| seen.weighted_sum(weight));
        Xyz { x, y, z }
    }

    fn residuals(&self, z: &[f64]) -> Vec<f64> {
        let lab = Lab::from_xyz(self.xyz(z), self.white);
        let off = [lab.l - self.colour.l, lab.a - self.colour.a, lab.b - self.colour.b];
        let mut rows = off.map(|off| off / self.sure).to_vec();
        EVEN.rows(z, &mut rows);
        rows
    }

    fn slopes(&self, z: &[f64]) -> Vec<Vec<f64>> {
        let by_xyz = Lab::slopes(self.xyz(z), self.white);
        let of_band = |band: usize| {
            let share = logistic(z[band]);
            let by_z = self.ceiling * share * (1.0 - share) / self.sure;
            by_xyz.map(|row| (0..3).map(|i| row[i] * self.weights[i].0[band]).sum::<f64>() * by_z).to_vec()
        };
        let mut slopes: Vec<Vec<f64>> = (0..BANDS).map(of_band).collect();
        EVEN.slopes(0, &mut slopes);
        slopes
    }
}
