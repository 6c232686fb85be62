//! Colour as numbers: CIE XYZ and CIELAB (ISO/CIE 11664-4:2019). Does not know where the spectrum came from.

use super::light::{Illuminant, Observer, weights};
use super::spectrum::Spectrum;
use fanlap_film::maths::{atan2, cbrt};

/// Tristimulus values; Y = 100 for a perfect white.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Xyz {
    /// X.
    pub x: f64,
    /// Y, the luminance factor in per cent.
    pub y: f64,
    /// Z.
    pub z: f64,
}

impl Xyz {
    /// The tristimulus values of a reflectance (ASTM E308).
    pub fn of(reflectance: &Spectrum, illuminant: Illuminant, observer: Observer) -> Self {
        let [x, y, z] = weights(illuminant, observer).each_ref().map(|weight| reflectance.weighted_sum(weight));
        Self { x, y, z }
    }

    /// The white point: a perfect white under this light.
    pub fn white(illuminant: Illuminant, observer: Observer) -> Self {
        Self::of(&Spectrum::constant(1.0), illuminant, observer)
    }
}

/// CIELAB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// L*, 0 black, 100 white.
    pub l: f64,
    /// a*, green to red.
    pub a: f64,
    /// b*, blue to yellow.
    pub b: f64,
}

impl Lab {
    /// CIELAB of tristimulus values against a white.
    pub fn from_xyz(colour: Xyz, white: Xyz) -> Self {
        let [x, y, z] = [colour.x / white.x, colour.y / white.y, colour.z / white.z].map(response);
        Self { l: 116.0 * y - 16.0, a: 500.0 * (x - y), b: 200.0 * (y - z) }
    }

    /// CIELAB of a reflectance.
    pub fn of(reflectance: &Spectrum, illuminant: Illuminant, observer: Observer) -> Self {
        Self::from_xyz(Xyz::of(reflectance, illuminant, observer), Xyz::white(illuminant, observer))
    }

    /// How L*, a* and b* change with X, Y and Z.
    pub(super) fn slopes(colour: Xyz, white: Xyz) -> [[f64; 3]; 3] {
        let per = |value: f64, white: f64| response_slope(value / white) / white;
        let [x, y, z] = [per(colour.x, white.x), per(colour.y, white.y), per(colour.z, white.z)];
        [[0.0, 116.0 * y, 0.0], [500.0 * x, -500.0 * y, 0.0], [0.0, 200.0 * y, -200.0 * z]]
    }

    /// The tristimulus values of this colour against a white.
    ///
    /// ```
    /// use fanlap_colour::{Illuminant, Lab, Observer, Xyz};
    /// let white = Xyz::white(Illuminant::D65, Observer::Degrees10);
    /// for colour in [Lab { l: 50.0, a: 40.0, b: 30.0 }, Lab { l: 4.0, a: 2.0, b: -3.0 }] {
    ///     let back = Lab::from_xyz(colour.to_xyz(white), white);
    ///     assert!([back.l - colour.l, back.a - colour.a, back.b - colour.b].iter().all(|off| off.abs() < 1e-12));
    /// }
    /// ```
    pub fn to_xyz(&self, white: Xyz) -> Xyz {
        let y = (self.l + 16.0) / 116.0;
        let [x, y, z] = [y + self.a / 500.0, y, y - self.b / 200.0].map(ratio);
        Xyz { x: x * white.x, y: y * white.y, z: z * white.z }
    }

    /// L*.
    pub fn lightness(&self) -> f64 {
        self.l
    }

    /// C*ab.
    pub fn chroma(&self) -> f64 {
        (self.a * self.a + self.b * self.b).sqrt()
    }

    /// Hue angle h_ab, 0 to 360 degrees: 0 red, 90 yellow, 180 green, 270 blue.
    pub fn hue_degrees(&self) -> f64 {
        let hue = atan2(self.b, self.a) * (180.0 / std::f64::consts::PI);
        if hue < 0.0 { hue + 360.0 } else { hue }
    }
}

/// The cube root of CIELAB with its straight foot for dark colours.
fn response(ratio: f64) -> f64 {
    if ratio > 216.0 / 24389.0 { cbrt(ratio) } else { (24389.0 / 27.0 * ratio + 16.0) / 116.0 }
}

/// The slope of `response`.
fn response_slope(ratio: f64) -> f64 {
    if ratio > 216.0 / 24389.0 {
        let root = cbrt(ratio);
        1.0 / (3.0 * root * root)
    } else {
        24389.0 / 27.0 / 116.0
    }
}

/// The ratio that `response` answers with this.
fn ratio(response: f64) -> f64 {
    if response > 6.0 / 29.0 { response * response * response } else { (116.0 * response - 16.0) * (27.0 / 24389.0) }
}
