//! The colour of a base seen through a tinted clear: light passes the film twice and is absorbed by Beer and Lambert.
//! That is right for effect bases, whose flakes send the light out again on the first try; under `solid` is what holds
//! for a base that scatters. Does not know geometry: it is handed the path.

use super::spectrum::Spectrum;
use fanlap_film::maths::exp;
use fanlap_film::units::Micrometres;

/// The reflectance of `base` (measured under untinted clear) through `film` of a tint with this napierian absorption
/// (1/um); `path` is the path factor of the geometry.
///
/// ```
/// use fanlap_colour::{Spectrum, through_tint};
/// use fanlap_film::units::Micrometres;
/// let (base, absorption) = (Spectrum::constant(0.5), Spectrum::constant(0.01));
/// let seen = through_tint(&base, &absorption, Micrometres(50.0), 2.0);
/// assert!((seen.0[0] - 0.5 * (-1.0_f64).exp()).abs() < 1e-15); // 0.01 /um x 50 um x 2 = 1
/// ```
pub fn through_tint(base: &Spectrum, absorption: &Spectrum, film: Micrometres, path: f64) -> Spectrum {
    base.combined(absorption, |reflectance, a| reflectance * exp(-a * film.0 * path))
}

/// The same through several tinted clears, each with its absorption and film; their order does not matter.
pub fn through_tints(base: &Spectrum, clears: &[(&Spectrum, Micrometres)], path: f64) -> Spectrum {
    clears.iter().fold(*base, |seen, (absorption, film)| through_tint(&seen, absorption, *film, path))
}
