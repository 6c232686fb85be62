//! What the clear's smooth surface does to diffuse light, from outside and from inside, and the correction it asks of
//! every reflectance computed under it: Fresnel's equations averaged over all directions (Judd & Wyszecki, Color in
//! Business, Science and Industry, from memory) and J. L. Saunderson 1942, J. Opt. Soc. Am. 32, 727. Does not know
//! orange peel: the surface is flat and lies against air.

use super::geometry::{REFRACTIVE_INDEX, mirrored};
use fanlap_film::maths::{Table, asin, cos, exp, integral, log, sin};
use fanlap_film::units::{Degrees, Fraction};
use std::iter::successors;
use std::sync::LazyLock;

/// The smooth surface between air and a medium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Refractive index of the medium, above 1.
    pub index: f64,
}

/// Pieces of an integral over the directions that Snell lets out, five places in each: exact to 1e-12.
const PIECES: u32 = 16;
/// Pieces of an integral over the directions beyond, each ending at half the cosine at which it began.
const TOTAL_PIECES: usize = 24;
/// Steps of the table of `internal_diffuse`.
const STEPS: usize = 4096;

impl Surface {
    /// The surface of a clear.
    pub const CLEAR: Surface = Surface { index: REFRACTIVE_INDEX };

    /// The share of unpolarised light that is mirrored back into air, at that angle from the normal (Fresnel).
    pub fn reflectance(&self, angle: Degrees) -> Fraction {
        let outside = angle.radians();
        Fraction(mirrored(self.index, cos(outside), cos(asin(sin(outside) / self.index))))
    }

    /// The share of perfectly diffuse light that is mirrored back into air.
    pub fn external_diffuse(&self) -> Fraction {
        let n = self.index;
        let inside = |outside: f64| (1.0 - (1.0 - outside * outside) / (n * n)).sqrt();
        Fraction(in_pieces(1.0, |outside| 2.0 * outside * mirrored(n, outside, inside(outside))))
    }

    /// The share of perfectly diffuse light at the bottom of a film that the surface sends back to the bottom, when
    /// the film passes `straight` (0..1) of light that crosses it once along the normal: slanting ways lose more.
    /// A film without colour passes 1.
    pub fn internal_diffuse(&self, straight: Fraction) -> Fraction {
        if straight.0 <= 0.0 {
            return Fraction(0.0);
        }
        let depth = -log(straight.0);
        let twice_through = |inside: f64| exp(-2.0 * depth / inside);
        let critical = (1.0 - 1.0 / (self.index * self.index)).sqrt();
        Fraction(self.partly_mirrored(critical, twice_through) + totally_mirrored(critical, twice_through))
    }

    /// The light that leaves steeper than total reflection lets it. The variable is the cosine outside over n, in which
    /// nothing has a corner.
    fn partly_mirrored(&self, critical: f64, kept: impl Fn(f64) -> f64) -> f64 {
        in_pieces(1.0 / self.index, |cosine| {
            let inside = (cosine * cosine + critical * critical).sqrt();
            2.0 * cosine * mirrored(self.index, self.index * cosine, inside) * kept(inside)
        })
    }
}

/// The light that meets the surface flatter than the angle whose cosine is `critical`.
fn totally_mirrored(critical: f64, kept: impl Fn(f64) -> f64) -> f64 {
    let ends = successors(Some(critical), |cosine| Some(0.5 * cosine)).take(TOTAL_PIECES);
    ends.map(|cosine| integral(0.5 * cosine, cosine, |inside| 2.0 * inside * kept(inside))).sum()
}

/// The integral from 0 to `end` in equal pieces.
fn in_pieces(end: f64, f: impl Fn(f64) -> f64) -> f64 {
    let place = |i: u32| end * f64::from(i) / f64::from(PIECES);
    (0..PIECES).map(|i| integral(place(i), place(i + 1), &f)).sum()
}

static CLEAR_INTERNAL: LazyLock<Table> =
    LazyLock::new(|| Table::new(0.0, 1.0, STEPS, |straight| Surface::CLEAR.internal_diffuse(Fraction(straight)).0));

/// `internal_diffuse` of a clear from a table, within 1e-6; held outside 0..1.
pub fn clear_internal_diffuse(straight: Fraction) -> Fraction {
    Fraction(CLEAR_INTERNAL.at(straight.0))
}

/// Whether an instrument sees what the surface mirrors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gloss {
    /// It does, as a sphere with its gloss trap closed.
    Included,
    /// It does not, as at 45:0.
    Excluded,
}

/// The correction between the reflectance inside a film, met by diffuse light, and what is measured outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Saunderson {
    /// The share mirrored outside, k1: that along the normal for directed light, `external_diffuse` for diffuse.
    pub outside: Fraction,
    /// The share of diffuse light mirrored inside, k2.
    pub inside: Fraction,
}

impl Saunderson {
    /// A smooth clear lit and seen by an instrument along the normal.
    pub fn clear() -> Self {
        let surface = Surface::CLEAR;
        Self { outside: surface.reflectance(Degrees(0.0)), inside: clear_internal_diffuse(Fraction(1.0)) }
    }

    /// What is measured for a reflectance inside.
    ///
    /// ```
    /// use fanlap_colour::{Gloss, Saunderson};
    /// let clear = Saunderson::clear();
    /// assert!((clear.measured(0.5, Gloss::Included) - 0.316071).abs() < 1e-6);
    /// assert!((clear.inside_film(0.276071, Gloss::Excluded) - 0.5).abs() < 1e-5);
    /// ```
    pub fn measured(&self, inside_film: f64, gloss: Gloss) -> f64 {
        let (k1, k2) = (self.outside.0, self.inside.0);
        self.seen_gloss(gloss) + (1.0 - k1) * (1.0 - k2) * inside_film / (1.0 - k2 * inside_film)
    }

    /// The reflectance inside for what is measured.
    pub fn inside_film(&self, measured: f64, gloss: Gloss) -> f64 {
        let (k1, k2) = (self.outside.0, self.inside.0);
        let without = measured - self.seen_gloss(gloss);
        without / ((1.0 - k1) * (1.0 - k2) + k2 * without)
    }

    fn seen_gloss(&self, gloss: Gloss) -> f64 {
        match gloss {
            Gloss::Included => self.outside.0,
            Gloss::Excluded => 0.0,
        }
    }
}
