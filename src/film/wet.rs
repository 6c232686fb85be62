//! Wet film: what runs, how far, what levels, and how a stack of coats thickens, each by its age. The laws are
//! one-dimensional, each with its source beside it; figures of real clears are from memory and called assumptions. Has
//! never heard of jobs; does not know that solvent leaves edges faster, nor that a run gathers the paint of what it passes.

mod lie;
mod stack;

pub use lie::Lie;
pub use stack::{Drying, Layer, Stack, travel};

use crate::maths::{pow, sin};
use crate::units::{Degrees, Micrometres, Millimetres, MillinewtonsPerMetre, PascalSeconds, Seconds};
use std::f64::consts::TAU;

/// Standard gravity, m/s2 (by definition, CGPM 1901).
pub const GRAVITY: f64 = 9.80665;
/// Density of wet clear, kg/m3: an assumption (950 to 1050, from memory).
pub const DENSITY: f64 = 1000.0;
/// Surface tension of wet clear: an assumption (26 to 30 mN/m, from memory).
pub const SURFACE_TENSION: MillinewtonsPerMetre = MillinewtonsPerMetre(28.0);

/// A film that flows down by this much runs. A sag test has stripes 1.6 mm (1/16 in) apart and calls it sag where one
/// reaches the next (ASTM D4400-99, read in extracts); that an eye sees an edge that has moved by most of that is our
/// judgement. Less is no run: a film a hundredth over its limit moves by a hundredth of a millimetre.
pub const RUN_TRAVEL: Millimetres = Millimetres(1.0);

/// How a wet film flows on the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// Wet film that just holds on a standing panel; 0 for a film without a yield stress.
    pub sag_limit: Micrometres,
    /// Viscosity on the panel just after landing.
    pub viscosity: PascalSeconds,
    /// It rises e-fold over this time.
    pub thickens_over: Seconds,
}

impl Flow {
    /// The film, laid at once, that makes a run on a slope of this sine: it flows down by [`RUN_TRAVEL`] before it has
    /// thickened. None on a level place.
    pub fn runs_from(&self, sine: f64) -> Option<Micrometres> {
        let one_micrometre = surface_speed(Micrometres(1.0), self.viscosity, sine) * self.thickens_over.0 / 1000.0;
        (sine > 0.0).then(|| Micrometres(self.sag_limit.0 / sine + (RUN_TRAVEL.0 / one_micrometre).sqrt()))
    }

    /// Waves up to this length fall to 1/e or less while the film thickens: viscosity that rises e-fold over T flows as
    /// much in all as the first viscosity does in T.
    pub fn levels_up_to(&self, wet: Micrometres) -> Millimetres {
        levelled_within(self.thickens_over, wet, self.viscosity, SURFACE_TENSION)
    }
}

/// The wet film that just holds on a slope, from the one that holds on a standing panel: tau0 / (rho g sin(theta)), so
/// it goes by the sine (yield: T. Mezger, The Rheology Handbook, 3.3.4.2.12d); none on a level place, where any holds.
///
/// ```
/// use fanlap_film::{units::{Degrees, Micrometres}, wet::sag_limit_at};
/// let on_a_slope = |slope| sag_limit_at(Micrometres(120.0), Degrees(slope));
/// assert!((on_a_slope(30.0).unwrap().0 - 240.0).abs() < 1e-9);
/// assert_eq!(on_a_slope(0.0), None);
/// ```
pub fn sag_limit_at(vertical: Micrometres, slope: Degrees) -> Option<Micrometres> {
    let sine = sin(slope.radians());
    (sine > 0.0).then(|| Micrometres(vertical.0 / sine))
}

/// The wet film that a yield stress (Pa) just holds on a standing panel: tau0 / (rho g), as above.
pub fn sag_limit_of(yield_stress_pa: f64) -> Micrometres {
    Micrometres(1e6 * yield_stress_pa / (DENSITY * GRAVITY))
}

/// How fast the surface of a Newtonian film flows down, um/s: rho g sin(theta) h^2 / (2 eta). The law of the falling
/// film (from memory, integrated here); theta by its sine.
#[inline]
pub fn surface_speed(wet: Micrometres, viscosity: PascalSeconds, sine: f64) -> f64 {
    1e-6 * DENSITY * GRAVITY * sine * wet.0 * wet.0 / (2.0 * viscosity.0)
}

/// Time in which surface tension levels a wave of the film to 1/e: 3 eta (lambda / 2 pi)^4 / (sigma h^3) (S. E. Orchard,
/// 1962, as printed by S. Abbott, Practical Coatings, Levelling). For waves long against the film and small
/// against its thickness; gravity, which helps waves longer than about 10 mm on a level panel, is left out.
pub fn levelling_time(
    wave: Millimetres,
    wet: Micrometres,
    viscosity: PascalSeconds,
    tension: MillinewtonsPerMetre,
) -> Seconds {
    let reduced = wave.0 * 1e-3 / TAU;
    Seconds(3.0 * viscosity.0 * pow(reduced, 4.0) / levelling_force(wet, tension))
}

/// The longest wave that levels to 1/e within a time, by the same law.
pub fn levelled_within(
    time: Seconds,
    wet: Micrometres,
    viscosity: PascalSeconds,
    tension: MillinewtonsPerMetre,
) -> Millimetres {
    Millimetres(1000.0 * TAU * pow(time.0 * levelling_force(wet, tension) / (3.0 * viscosity.0), 0.25))
}

/// sigma h^3, in SI units.
fn levelling_force(wet: Micrometres, tension: MillinewtonsPerMetre) -> f64 {
    let film = wet.0 * 1e-6;
    tension.0 * 1e-3 * film * film * film
}
