//! A quantity in 36 bands of the visible spectrum, as hand-held spectrophotometers give it (ASTM E308, data at
//! 10 nm steps). Does not know whether it holds a reflectance or an absorption.

/// How many bands: 380 to 730 nm by 10 nm.
pub const BANDS: usize = 36;

/// One value per band: a reflectance factor (1 = perfect diffuser, more is possible near a highlight) or an
/// absorption in 1/um, napierian.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spectrum(pub [f64; BANDS]);

impl Spectrum {
    /// The same value in every band.
    pub const fn constant(value: f64) -> Self {
        Self([value; BANDS])
    }

    /// Band by band `f(self, other)`.
    pub fn combined(&self, other: &Spectrum, f: impl Fn(f64, f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| f(self.0[band], other.0[band])))
    }

    /// The sum over the bands of this spectrum times `weights`.
    pub fn weighted_sum(&self, weights: &Spectrum) -> f64 {
        (0..BANDS).map(|band| self.0[band] * weights.0[band]).sum()
    }
}

/// The middle of a band, nm.
///
/// ```
/// use fanlap_colour::{BANDS, wavelength};
/// assert_eq!((wavelength(0), wavelength(BANDS - 1)), (380.0, 730.0));
/// ```
pub fn wavelength(band: usize) -> f64 {
    380.0 + 10.0 * band as f64
}
