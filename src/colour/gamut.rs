//! Brings a colour that a screen cannot show to the nearest look it can: chroma is taken back at constant lightness
//! and hue in OkLCh until plain clipping is no longer noticed (W3C CSS Color Module Level 4, "CSS gamut mapping to an
//! RGB destination"). OkLab after Ottosson 2020, matrices of CSS Color 4. Does not know paint or light.

use super::screen::{ScreenSpace, Shown, xyz_to_rgb};
use fanlap_film::maths::cbrt;
use glam::{DMat3, DVec3};
use std::sync::LazyLock;

/// The difference in OkLab which is just noticed, as CSS Color 4 sets it.
const JUST_NOTICEABLE: f64 = 0.02;
/// Where the search for chroma ends, as CSS Color 4 sets it.
const SEARCH_END: f64 = 1e-4;
/// A channel this far outside still counts as inside: rounding, a hundredth of an 8-bit step.
const ROUNDING: f64 = 4e-5;

/// A colour in OkLab: lightness 0..1, and two axes of chroma.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OkLab(pub [f64; 3]);

/// XYZ (D65 white, Y = 1) to cone-like responses, and those, cube-rooted, to OkLab; each with its inverse.
static XYZ_TO_CONES: LazyLock<(DMat3, DMat3)> = LazyLock::new(|| {
    with_inverse([
        [0.819_022_437_996_703, 0.361_906_260_052_890_4, -0.128_873_781_520_987_9],
        [0.032_983_653_932_388_5, 0.929_286_861_586_343_4, 0.036_144_666_350_642_4],
        [0.048_177_189_359_624_2, 0.264_239_531_752_730_8, 0.633_547_828_469_430_9],
    ])
});
static CONES_TO_OKLAB: LazyLock<(DMat3, DMat3)> = LazyLock::new(|| {
    with_inverse([
        [0.210_454_268_309_314, 0.793_617_774_702_305_4, -0.004_072_043_011_619_3],
        [1.977_998_532_431_168_4, -2.428_592_242_048_58, 0.450_593_709_617_411],
        [0.025_904_042_465_547_8, 0.782_771_712_457_529_6, -0.808_675_754_923_077_4],
    ])
});

fn with_inverse(rows: [[f64; 3]; 3]) -> (DMat3, DMat3) {
    let matrix = DMat3::from_cols_array_2d(&rows).transpose();
    (matrix, matrix.inverse())
}

impl OkLab {
    /// From linear channels of a screen.
    pub fn from_linear(linear: [f64; 3], space: ScreenSpace) -> Self {
        let cones = XYZ_TO_CONES.0 * (xyz_to_rgb(space).1 * DVec3::from(linear));
        Self((CONES_TO_OKLAB.0 * DVec3::new(cbrt(cones.x), cbrt(cones.y), cbrt(cones.z))).into())
    }

    /// To linear channels of a screen; outside 0..1 if the screen cannot show it.
    pub fn to_linear(self, space: ScreenSpace) -> [f64; 3] {
        let roots = CONES_TO_OKLAB.1 * DVec3::from(self.0);
        (xyz_to_rgb(space).0 * (XYZ_TO_CONES.1 * (roots * roots * roots))).into()
    }

    /// Distance in OkLab.
    pub fn difference(self, other: OkLab) -> f64 {
        (DVec3::from(self.0) - DVec3::from(other.0)).length()
    }

    /// The same lightness and hue with `part` of the chroma.
    fn with_chroma(self, part: f64) -> Self {
        let [lightness, a, b] = self.0;
        Self([lightness, a * part, b * part])
    }

    fn chroma(self) -> f64 {
        (self.0[1] * self.0[1] + self.0[2] * self.0[2]).sqrt()
    }
}

/// The nearest look a screen can show, and whether the colour had to be changed for it.
pub fn into_gamut(linear: [f64; 3], space: ScreenSpace) -> Shown {
    if inside(linear) {
        return Shown { linear: clipped(linear), mapped: false };
    }
    let wanted = OkLab::from_linear(linear, space);
    let lightness = wanted.0[0];
    let linear = if lightness >= 1.0 {
        [1.0; 3]
    } else if lightness <= 0.0 {
        [0.0; 3]
    } else {
        less_chroma(wanted, space)
    };
    Shown { linear, mapped: true }
}

/// Takes back chroma until clipping changes the colour by no more than the just noticeable difference.
fn less_chroma(wanted: OkLab, space: ScreenSpace) -> [f64; 3] {
    let (plain, noticed) = clipping(wanted, space);
    if noticed < JUST_NOTICEABLE {
        return plain;
    }
    let (mut enough, mut too_much) = (0.0, 1.0);
    while (too_much - enough) * wanted.chroma() > SEARCH_END {
        let part = 0.5 * (enough + too_much);
        if clipping(wanted.with_chroma(part), space).1 < JUST_NOTICEABLE { enough = part } else { too_much = part }
    }
    clipping(wanted.with_chroma(enough), space).0
}

/// The colour clipped channel by channel, and how far that moves it in OkLab.
fn clipping(wanted: OkLab, space: ScreenSpace) -> ([f64; 3], f64) {
    let shown = clipped(wanted.to_linear(space));
    (shown, OkLab::from_linear(shown, space).difference(wanted))
}

fn clipped(linear: [f64; 3]) -> [f64; 3] {
    linear.map(|channel| channel.clamp(0.0, 1.0))
}

fn inside(linear: [f64; 3]) -> bool {
    linear.iter().all(|channel| (-ROUNDING..=1.0 + ROUNDING).contains(channel))
}
