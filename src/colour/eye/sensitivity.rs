//! What a human eye can just tell apart: contrast sensitivity to still patterns looked at straight, in three
//! mechanisms (achromatic, red-green, yellow-violet), after Ashraf, Mantiuk, Chapiro & Wuerger 2024, "castleCSF",
//! Journal of Vision 24(4):5; the two colour mechanisms do not lose the lowest frequencies (Mullen 1985, J. Physiol.
//! 359, 381-400; pages from memory). Against the 1157 still foveal thresholds which the authors collected, the form was
//! found to err by 4.4 dB rms (a factor of 1.7); no test here repeats that. It was fitted
//! mostly on greys and down to 1/16 cycle per degree: saturated grounds and slower changes are its reach, not its
//! data. Does not know flicker, eccentric view, or what is looked at.

use crate::Xyz;
use fanlap_film::maths::{log10, pow};

/// One of the three ways in which the eye compares its cones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mechanism {
    /// Lighter and darker.
    Achromatic,
    /// Redder and greener.
    RedGreen,
    /// Yellower and more violet.
    YellowViolet,
}

/// The parameters of one mechanism.
struct Parameters {
    peak: Law,
    frequency: Law,
    bandwidth: f64,
    /// How far sensitivity falls below the peak's frequency: the share lost, at most.
    low_loss: f64,
    area: f64,
    area_frequency: f64,
}

/// How a parameter follows the background's luminance.
enum Law {
    Constant(f64),
    /// p0 (1 + p1/L)^-p2
    Rising([f64; 3]),
    /// The same, times 1 - (1 + p3/L)^-p4.
    RisingAndFalling([f64; 5]),
}

// The numbers of ACHROMATIC, RED_GREEN, YELLOW_VIOLET, XYZ_TO_CONES and CONES_TO_MECHANISMS are the authors':
//
// MIT License. Copyright (c) 2023 Graphics and Displays group - University of Cambridge
//
// Permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated
// documentation files (the "Software"), to deal in the Software without restriction, including without limitation the
// rights to use, copy, modify, merge, publish, distribute, sublicense, and/or sell copies of the Software, and to
// permit persons to whom the Software is furnished to do so, subject to the following conditions: The above copyright
// notice and this permission notice shall be included in all copies or substantial portions of the Software.
//
// THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR IMPLIED, INCLUDING BUT NOT LIMITED TO THE
// WARRANTIES OF MERCHANTABILITY, FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE AUTHORS
// OR COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR
// OTHERWISE, ARISING FROM, OUT OF OR IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN THE SOFTWARE.

const ACHROMATIC: Parameters = Parameters {
    peak: Law::RisingAndFalling([56.4947, 7.54726, 0.144532, 5.58341e-7, 9.66862e9]),
    frequency: Law::Rising([1.78119, 91.5718, 0.256682]),
    bandwidth: 0.000213047,
    low_loss: 0.100207,
    area: 157.103,
    area_frequency: 0.702338,
};
const RED_GREEN: Parameters = Parameters {
    peak: Law::Rising([681.434, 38.0038, 0.480386]),
    frequency: Law::Constant(0.0178364),
    bandwidth: 2.42104,
    low_loss: 0.0,
    area: 2816.44,
    area_frequency: 0.0711058,
};
const YELLOW_VIOLET: Parameters = Parameters {
    peak: Law::Rising([166.683, 62.8974, 0.41193]),
    frequency: Law::Constant(0.00425753),
    bandwidth: 2.68197,
    low_loss: 0.0,
    area: 2.82789e7,
    area_frequency: 0.000635093,
};
/// XYZ of the 2 degree observer, cd/m2, to the long, middle and short cones.
const XYZ_TO_CONES: [[f64; 3]; 3] = [
    [0.187596268556126, 0.585168649077728, -0.026384263306304],
    [-0.133397430663221, 0.405505777260049, 0.034502127690364],
    [0.000244379021663, -0.000542995890619, 0.019406849066323],
];
const CONES_TO_MECHANISMS: [[f64; 3]; 3] = [[1.0, 1.0, 0.0], [1.0, -2.3112, 0.0], [-1.0, -1.0, 50.9875]];

impl Law {
    fn at(&self, luminance: f64) -> f64 {
        let rising = |p0: f64, p1: f64, p2: f64| p0 * pow(1.0 + p1 / luminance, -p2);
        match *self {
            Law::Constant(value) => value,
            Law::Rising([p0, p1, p2]) => rising(p0, p1, p2),
            Law::RisingAndFalling([p0, p1, p2, p3, p4]) => rising(p0, p1, p2) * (1.0 - pow(1.0 + p3 / luminance, -p4)),
        }
    }
}

impl Mechanism {
    /// All three, as the rows of the matrix that makes them come.
    pub const ALL: [Mechanism; 3] = [Mechanism::Achromatic, Mechanism::RedGreen, Mechanism::YellowViolet];

    /// The inverse of the least contrast that is seen half the time: of a pattern of so many cycles per degree over an
    /// attended area (square degrees), on a background of that luminance (cd/m2).
    pub fn sensitivity(self, cycles_per_degree: f64, area: f64, luminance: f64) -> f64 {
        self.lit(luminance).tuned(&Pitch::of(cycles_per_degree)) * self.over_area(cycles_per_degree, area)
    }

    /// On a background of that luminance, cd/m2.
    pub(super) fn lit(self, luminance: f64) -> Lit {
        let of = self.parameters();
        let frequency = of.frequency.at(luminance);
        let (peak, decades, width) = (of.peak.at(luminance), log10(frequency), pow(2.0, of.bandwidth));
        Lit { peak, frequency, decades, width, least: 1.0 - of.low_loss }
    }

    /// What an attended area makes of it, whatever the luminance.
    pub(super) fn over_area(self, cycles_per_degree: f64, area: f64) -> f64 {
        let of = self.parameters();
        let ratio = cycles_per_degree / of.area_frequency;
        let critical = of.area / (1.0 + ratio * ratio);
        (critical / (1.0 + critical / area)).sqrt()
    }

    fn parameters(self) -> &'static Parameters {
        match self {
            Mechanism::Achromatic => &ACHROMATIC,
            Mechanism::RedGreen => &RED_GREEN,
            Mechanism::YellowViolet => &YELLOW_VIOLET,
        }
    }
}

/// A pattern's cycles per degree, and their decades.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pitch {
    pub(super) cycles: f64,
    decades: f64,
}

impl Pitch {
    pub(super) fn of(cycles: f64) -> Self {
        Self { cycles, decades: log10(cycles) }
    }
}

/// A mechanism on a background, for patterns of every frequency.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lit {
    peak: f64,
    frequency: f64,
    decades: f64,
    width: f64,
    /// What is left of it at the lowest frequencies.
    least: f64,
}

impl Lit {
    /// Its sensitivity to a frequency, not yet limited by an area.
    pub(super) fn tuned(&self, pitch: &Pitch) -> f64 {
        let decades = pitch.decades - self.decades;
        let parabola = pow(10.0, -decades * decades / self.width);
        let passed = if pitch.cycles < self.frequency { parabola.max(self.least) } else { parabola };
        self.peak * passed * pitch.cycles
    }
}

/// The three mechanisms together.
#[derive(Debug, Clone, Copy)]
pub struct Sensitivity;

impl Sensitivity {
    /// How many times a modulation (its amplitude) must be taken to be just seen on a background; both in XYZ of the
    /// 2 degree observer in cd/m2, over an attended area in square degrees. Infinite for no modulation and in the dark.
    pub fn threshold(background: Xyz, modulation: Xyz, cycles_per_degree: f64, area: f64) -> f64 {
        let parts = Self::parts(background, modulation, cycles_per_degree, area);
        let sum: f64 = parts.iter().map(|part| part * part).sum();
        if sum > 0.0 { 1.0 / sum.sqrt() } else { f64::INFINITY }
    }

    /// What each mechanism, in the order of [`Mechanism::ALL`], answers to a light; the first is its luminance.
    pub fn answers(light: Xyz) -> [f64; 3] {
        transformed(&CONES_TO_MECHANISMS, transformed(&XYZ_TO_CONES, [light.x, light.y, light.z]))
    }

    /// How strongly each mechanism, in the order of [`Mechanism::ALL`], is stirred by that modulation: contrast times
    /// sensitivity, 1 when it alone would just see it.
    pub fn parts(background: Xyz, modulation: Xyz, cycles_per_degree: f64, area: f64) -> [f64; 3] {
        let (luminance, contrasts) = Self::contrasts(background, modulation);
        if luminance <= 0.0 || cycles_per_degree <= 0.0 {
            return [0.0; 3];
        }
        std::array::from_fn(|i| contrasts[i] * Mechanism::ALL[i].sensitivity(cycles_per_degree, area, luminance))
    }

    /// A background's luminance, and how much of it a modulation is in each mechanism, in the order of
    /// [`Mechanism::ALL`]; nothing in the dark.
    pub(super) fn contrasts(background: Xyz, modulation: Xyz) -> (f64, [f64; 3]) {
        let ground = transformed(&XYZ_TO_CONES, [background.x, background.y, background.z]);
        let luminance = ground[0] + ground[1];
        if luminance <= 0.0 {
            return (0.0, [0.0; 3]);
        }
        (luminance, Self::answers(modulation).map(|stirred| stirred.abs() / luminance))
    }
}

fn transformed(matrix: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}
