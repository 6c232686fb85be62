//! Quantities with their units, for every public door of the core. Inside a function plain `f64` is used.
//! Units come from the field names of the job file; nothing here guesses a unit from a magnitude.
//!
//! ```
//! use fanlap_film::units::{Micrometres, Millimetres};
//! let film = Micrometres(35.0);
//! assert_eq!(film.to_string(), "35 um");
//! assert!((film.mil() - 1.377953).abs() < 1e-6);
//! assert!((Millimetres(180.0).inches() - 7.086614).abs() < 1e-6);
//! ```

use serde::{Deserialize, Serialize};
use std::fmt;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)?;
                f.write_str($symbol)
            }
        }
    };
}

quantity!(
    /// Film thickness, um.
    Micrometres, " um");
quantity!(
    /// Length, mm.
    Millimetres, " mm");
quantity!(
    /// Travel speed, mm/s.
    MillimetresPerSecond, " mm/s");
quantity!(
    /// Fluid delivery, mL/min.
    MillilitresPerMinute, " mL/min");
quantity!(
    /// Volume of paint, mL.
    Millilitres, " mL");
quantity!(
    /// Angle, degrees.
    Degrees, "\u{b0}");
quantity!(
    /// Share of one, 0..1 unless said otherwise.
    Fraction, "");
quantity!(
    /// Duration, s.
    Seconds, " s");
quantity!(
    /// Duration, min.
    Minutes, " min");
quantity!(
    /// Length at the scale of a room, m.
    Metres, " m");
quantity!(
    /// Viscosity, Pa s.
    PascalSeconds, " Pa s");
quantity!(
    /// Surface tension, mN/m.
    MillinewtonsPerMetre, " mN/m");

/// One mil (a thousandth of an inch) in micrometres, exactly.
pub const UM_PER_MIL: f64 = 25.4;
/// One inch in millimetres, exactly.
pub const MM_PER_INCH: f64 = 25.4;
/// One US fluid ounce in millilitres, exactly.
pub const ML_PER_OUNCE: f64 = 29.573_529_562_5;

impl Micrometres {
    /// The same film in mil.
    pub fn mil(self) -> f64 {
        self.0 / UM_PER_MIL
    }
}

impl Millimetres {
    /// The same length in inches.
    pub fn inches(self) -> f64 {
        self.0 / MM_PER_INCH
    }
}

impl MillilitresPerMinute {
    /// The same delivery in cubic millimetres per second.
    pub fn cubic_mm_per_s(self) -> f64 {
        self.0 * 1000.0 / 60.0
    }
}

impl Degrees {
    /// The same angle in radians.
    pub fn radians(self) -> f64 {
        self.0 * (std::f64::consts::PI / 180.0)
    }
}

impl Minutes {
    /// The same duration in seconds.
    pub fn seconds(self) -> Seconds {
        Seconds(self.0 * 60.0)
    }
}
