//! The colour a screen shows for a panel: the film's own light, with what its surface mirrors where that is asked for, adapted from the light's
//! white to the screen's (Bradford: Lam 1985; matrix as in ICC.1:2022 Annex E), in sRGB (IEC 61966-2-1) or Display P3
//! (SMPTE EG 432-1 primaries, D65, sRGB transfer). Does not know which screen it really is.

use super::gamut::into_gamut;
use super::geometry::Geometry;
use super::light::{Illuminant, Observer};
use super::spectrum::Spectrum;
use super::tristimulus::Xyz;
use fanlap_film::maths::pow;
use glam::{DMat3, DVec3};
use std::sync::LazyLock;

/// What the screen's numbers mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScreenSpace {
    /// sRGB.
    Srgb,
    /// Display P3: wider in red and green.
    DisplayP3,
}

/// A colour as shown: linear channels 0..1, and whether it had to be brought into the screen's gamut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// Linear red, green and blue, 0..1.
    pub linear: [f64; 3],
    /// The screen cannot show the colour as it is: chroma was taken back.
    pub mapped: bool,
}

/// Turns reflectances into colours of a screen, for one light and one angle.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    space: ScreenSpace,
    illuminant: Illuminant,
    adapted: DMat3,
    /// What the surface mirrors at this angle.
    surface: f64,
    veil: f64,
}

impl Screen {
    /// For a light and a view, the gloss left out, as an instrument measures.
    pub fn new(space: ScreenSpace, illuminant: Illuminant, geometry: &Geometry) -> Self {
        let adapted = xyz_to_rgb(space).0 * adaptation(white_of(illuminant), screen_white());
        Self { space, illuminant, adapted, surface: geometry.surface_reflectance().0, veil: 0.0 }
    }

    /// The same with a neutral surround mirrored in the gloss, so bright against a white card in the same light.
    pub fn with_surround(self, brightness: f64) -> Self {
        Self { veil: brightness * self.surface, ..self }
    }

    /// The film's own light in linear channels, without the surface's; a perfect white is 1 in each. Not limited.
    pub fn film_light(&self, reflectance: &Spectrum) -> [f64; 3] {
        self.linear(Xyz::of(reflectance, self.illuminant, Observer::Degrees2))
    }

    fn linear(&self, Xyz { x, y, z }: Xyz) -> [f64; 3] {
        (self.adapted * (DVec3::new(x, y, z) / 100.0)).into()
    }

    /// A colour of which only its tristimulus values for the 2 degree observer are known, shown as `show` does.
    pub fn show_xyz(&self, colour: Xyz, exposure: f64) -> Shown {
        into_gamut(self.linear(colour).map(|channel| (channel + self.veil) * exposure), self.space)
    }

    /// The film's light and what the gloss mirrors of the surround, in linear channels. Not limited.
    pub fn light(&self, reflectance: &Spectrum) -> [f64; 3] {
        self.film_light(reflectance).map(|channel| channel + self.veil)
    }

    /// The colour as shown, all channels first multiplied by `exposure`.
    pub fn show(&self, reflectance: &Spectrum, exposure: f64) -> Shown {
        into_gamut(self.light(reflectance).map(|channel| channel * exposure), self.space)
    }
}

/// The screen's transfer function: a linear channel 0..1 to a signal 0..1 (IEC 61966-2-1; both spaces share it).
pub fn encode(linear: f64) -> f64 {
    if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * pow(linear, 1.0 / 2.4) - 0.055 }
}

/// Linear channels as 8-bit signals; outside 0..1 is held at the end.
///
/// ```
/// assert_eq!(fanlap_colour::encode_8_bit([0.0, 0.2159, 1.0]), [0, 128, 255]);
/// ```
pub fn encode_8_bit(linear: [f64; 3]) -> [u8; 3] {
    linear.map(|channel| (255.0 * encode(channel.clamp(0.0, 1.0))).round() as u8)
}

/// XYZ (Y = 1 for white) to linear channels, and the way back.
pub(super) fn xyz_to_rgb(space: ScreenSpace) -> &'static (DMat3, DMat3) {
    match space {
        ScreenSpace::Srgb => &SRGB,
        ScreenSpace::DisplayP3 => &DISPLAY_P3,
    }
}

static SRGB: LazyLock<(DMat3, DMat3)> = LazyLock::new(|| primaries([(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)]));
static DISPLAY_P3: LazyLock<(DMat3, DMat3)> =
    LazyLock::new(|| primaries([(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)]));

/// The matrices of a screen from the chromaticities of its red, green and blue, so that equal channels give its white.
fn primaries(red_green_blue: [(f64, f64); 3]) -> (DMat3, DMat3) {
    let [red, green, blue] = red_green_blue.map(of_unit_luminance);
    let unscaled = DMat3::from_cols(red, green, blue);
    let to_xyz = unscaled * DMat3::from_diagonal(unscaled.inverse() * screen_white());
    (to_xyz.inverse(), to_xyz)
}

fn of_unit_luminance((x, y): (f64, f64)) -> DVec3 {
    DVec3::new(x / y, 1.0, (1.0 - x - y) / y)
}

/// D65 as both standards round it.
fn screen_white() -> DVec3 {
    of_unit_luminance((0.3127, 0.3290))
}

fn white_of(illuminant: Illuminant) -> DVec3 {
    let Xyz { x, y, z } = Xyz::white(illuminant, Observer::Degrees2);
    DVec3::new(x, y, z) / 100.0
}

/// Bradford: scales the sharpened cone responses from one white to another.
fn adaptation(from: DVec3, to: DVec3) -> DMat3 {
    let rows = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];
    let cones = DMat3::from_cols_array_2d(&rows).transpose();
    cones.inverse() * DMat3::from_diagonal((cones * to) / (cones * from)) * cones
}
