//! The way of light through a smooth clear film: light at 45 degrees, the view named by its aspecular angle (ASTM E2194,
//! E2539: measured from the mirror direction towards the lamp). Snell and Fresnel, unpolarised, as in Born & Wolf,
//! Principles of Optics, 1.5. Does not know the film's thickness or its colour.

use super::interface::Surface;
use fanlap_film::maths::{asin, cos, sin};
use fanlap_film::units::{Degrees, Fraction};
use std::f64::consts::PI;

/// Refractive index of acrylic and polyurethane clears: an assumption (1.45 to 1.55 occur; the path hardly changes).
pub const REFRACTIVE_INDEX: f64 = 1.5;

/// Aspecular angles at which a paint can be measured and looked at, degrees, light at 45 degrees (ASTM E2539 names them:
/// from memory).
pub const ANGLES: [f64; 6] = [-15.0, 15.0, 25.0, 45.0, 75.0, 110.0];

const LIGHT: f64 = 45.0 * PI / 180.0;

/// Light at 45 degrees from the panel's normal, seen at one aspecular angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    view: f64,
}

impl Geometry {
    /// Lit at 45 degrees, seen along the normal: 45:0, as most hand-held instruments measure.
    pub const STRAIGHT_ON: Geometry = Geometry { view: 0.0 };

    /// The view at an aspecular angle between -40 and 130 degrees: further the eye would be behind the panel.
    ///
    /// ```
    /// use fanlap_colour::Geometry;
    /// use fanlap_film::units::Degrees;
    /// let straight_on = Geometry::new(Degrees(45.0));
    /// assert!((straight_on.path_factor() - 2.133893).abs() < 1e-6);
    /// assert!((straight_on.surface_reflectance().0 - 0.04).abs() < 1e-12);
    /// ```
    pub fn new(aspecular: Degrees) -> Self {
        assert!((-40.0..=130.0).contains(&aspecular.0), "an aspecular angle is between -40 and 130 degrees");
        Self { view: Degrees(45.0 - aspecular.0).radians() }
    }

    /// How much longer the way in and out of the film is than the film is thick, by Snell.
    pub fn path_factor(&self) -> f64 {
        1.0 / cos(refracted(LIGHT)) + 1.0 / cos(refracted(self.view))
    }

    /// The view from the panel's normal, degrees; positive on the mirror side of the lamp.
    pub fn view_angle(&self) -> Degrees {
        Degrees(self.view * (180.0 / PI))
    }

    /// What comes back to the eye of light that an evenly diffuse ground under the film sends out again whole, before
    /// any of it is mirrored back inside: the surface's losses in and out, and the widening by Snell (1 / n^2).
    pub fn exchanged(&self) -> Fraction {
        let passed = |angle| 1.0 - fresnel(angle).0;
        let lamp = Degrees(LIGHT * (180.0 / PI));
        Fraction(passed(lamp) * passed(self.view_angle()) / (REFRACTIVE_INDEX * REFRACTIVE_INDEX))
    }

    /// The share of light which the clear's surface mirrors towards the eye.
    pub fn surface_reflectance(&self) -> Fraction {
        fresnel(self.view_angle())
    }
}

/// The share of unpolarised light mirrored by a clear's surface at that angle from its normal.
pub fn fresnel(angle: Degrees) -> Fraction {
    Surface::CLEAR.reflectance(angle)
}

/// Fresnel's share of unpolarised light mirrored between air and a medium of index `n`, from the cosines of the angle
/// on either side; the same from both.
pub(super) fn mirrored(n: f64, outside: f64, inside: f64) -> f64 {
    let across = (outside - n * inside) / (outside + n * inside);
    let along = (n * outside - inside) / (n * outside + inside);
    0.5 * (across * across + along * along)
}

/// The angle inside the film, radians.
fn refracted(angle: f64) -> f64 {
    asin(sin(angle) / REFRACTIVE_INDEX)
}
