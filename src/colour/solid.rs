//! The colour of a solid ground under tinted clear. Such a ground sends light evenly to all sides; the clear's surface
//! mirrors much of it back, and every such round is tinted again: F. C. Williams & F. R. Clapper 1953, J. Opt. Soc.
//! Am. 43, 595, in the form derived from Snell, Fresnel and the sum over all rounds (compare L. Simonot, M. Hebert &
//! R. D. Hersch 2006, J. Opt. Soc. Am. A 23, 1432). Assumed: the ground is evenly diffuse whatever the light's
//! direction, the clear does not scatter, the surface's own gloss is not seen. Effect bases are in `film`.

use super::geometry::Geometry;
use super::interface::clear_internal_diffuse;
use super::spectrum::Spectrum;
use fanlap_film::maths::exp;
use fanlap_film::units::{Fraction, Micrometres};

/// A solid ground in contact with clear: what share of the light that meets it from the clear it sends back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid(pub Spectrum);

impl Solid {
    /// From its reflectance factor measured under untinted clear in that geometry, gloss excluded. A perfect white is
    /// measured as 1.0039 at 45:0; above that the ground is brighter than white, and is taken so.
    pub fn measured(reflectance: &Spectrum, geometry: &Geometry) -> Self {
        let (exchanged, mirrored) = (geometry.exchanged().0, clear_internal_diffuse(Fraction(1.0)).0);
        Self(Spectrum(reflectance.0.map(|seen| seen / (exchanged + seen * mirrored))))
    }

    /// Its reflectance factor under tinted clears, each with its napierian absorption (1/um) and film. Their order does
    /// not matter. At angles other than that of the measurement the ground is taken as equally diffuse; only the way
    /// through the film and its surface changes.
    pub fn under(&self, clears: &[(&Spectrum, Micrometres)], geometry: &Geometry) -> Spectrum {
        let (exchanged, path) = (geometry.exchanged().0, geometry.path_factor());
        Spectrum(std::array::from_fn(|band| {
            let depth: f64 = clears.iter().map(|(absorption, film)| absorption.0[band] * film.0).sum();
            let mirrored = clear_internal_diffuse(Fraction(exp(-depth))).0;
            let ground = self.0.0[band];
            exchanged * ground * exp(-depth * path) / (1.0 - ground * mirrored)
        }))
    }
}

/// The reflectance of a solid ground (measured at 45:0 under untinted clear, gloss excluded) through `film` of a tint
/// with this napierian absorption (1/um), at 45:0.
///
/// ```
/// use fanlap_colour::{Geometry, Spectrum, through_tint, through_tint_over_solid};
/// use fanlap_film::units::Micrometres;
/// let (grey, absorption, film) = (Spectrum::constant(0.5), Spectrum::constant(0.01), Micrometres(20.0));
/// let solid = through_tint_over_solid(&grey, &absorption, film).0[0];
/// let effect = through_tint(&grey, &absorption, film, Geometry::STRAIGHT_ON.path_factor()).0[0];
/// assert!(solid < 0.8 * effect); // the same ground, were it an effect base
/// ```
pub fn through_tint_over_solid(measured: &Spectrum, absorption: &Spectrum, film: Micrometres) -> Spectrum {
    Solid::measured(measured, &Geometry::STRAIGHT_ON).under(&[(absorption, film)], &Geometry::STRAIGHT_ON)
}

/// The black, grey and white field of a hiding sticker: reflectance in contact with the clear. An assumption; a field's
/// reading before spraying is higher for black and lower for white, for its surface lies against air.
pub const STICKER: [f64; 3] = [0.03, 0.18, 0.85];

/// The fields of a hiding sticker through `film` of a tint with this napierian absorption (1/um), at 45:0 with the
/// gloss excluded: black, grey, white. A clear without scatter never hides them; the grey one shows how dark the tint
/// is.
pub fn sticker(absorption: &Spectrum, film: Micrometres) -> [Spectrum; 3] {
    STICKER.map(|field| Solid(Spectrum::constant(field)).under(&[(absorption, film)], &Geometry::STRAIGHT_ON))
}
