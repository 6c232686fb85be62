//! What one straight pass of a gun held square lays across its fan, as shares of the paint (derived: the integral of
//! the pattern of `gun` along the short axis). Does not know how much paint, nor how fast the gun goes.

use crate::gun::{Gun, fault};
use crate::maths::{beta, pow};

/// The shape of one straight pass across the fan: (1 + heavy u)(1 - split + split (2m + 3) u^2) (1 - u^2)^m over
/// B(1/2, m + 1). Its integral over -1..1 is 1, faults included.
///
/// ```
/// use fanlap_film::gun::Pass;
/// let pass = Pass::new(1.0, 0.0, 0.0); // a parabola: 3/4 (1 - u^2)
/// assert!((pass.share(0.5) - 0.75 * 0.75).abs() < 1e-12 && pass.share(1.0) == 0.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    scale: f64,
    pass_exponent: f64,
    heavy_end: f64,
    split: f64,
}

impl Pass {
    /// The pass of a gun.
    pub fn of(gun: &Gun) -> Self {
        Self::new(gun.pass_exponent, gun.heavy_end.0, gun.split.0)
    }

    /// The pass with an exponent m of 0.5 or more, a heavy end -1..1 and a split 0..1.
    pub fn new(pass_exponent: f64, heavy_end: f64, split: f64) -> Self {
        Self { scale: 1.0 / beta(0.5, pass_exponent + 1.0), pass_exponent, heavy_end, split }
    }

    /// Share of the paint per unit of u at a place of the fan, its ends at u = -1 and 1; 0 outside.
    pub fn share(&self, u: f64) -> f64 {
        let q = 1.0 - u * u;
        if q <= 0.0 {
            return 0.0;
        }
        let m = self.pass_exponent;
        self.scale * fault(u, self.heavy_end, self.split, 2.0 * m + 3.0) * pow(q, m)
    }
}
