//! A second opinion on colour arithmetic by the crate palette 0.7, a general colour library that shares no code with
//! this one: CIELAB, CIEDE2000, chroma and hue, the screen's primaries, adaptation and encoding, OkLab. On colours drawn
//! afresh at every run; a failure names the seed, and `FANLAP_SEED=... cargo test --test colour_palette` repeats it.
//! Does not test weights of observers and lights: palette knows no spectra.

use crate::data::{assert_near, numbers};
use fanlap::colour::{
    BANDS, Geometry, Illuminant, Lab, Observer, OkLab, Screen, ScreenSpace, Spectrum, Xyz, delta_e00, encode,
    encode_8_bit,
};
use fanlap::maths::{atan2, cos, exp, pow};
use fanlap::units::Degrees;
use palette::chromatic_adaptation::adaptation_matrix;
use palette::color_difference::Ciede2000;
use palette::convert::{Convert, FromColorUnclamped};
use palette::lms::matrix::Bradford;
use palette::rgb::{DisplayP3, Rgb};
use palette::white_point::D65;
use palette::{LinSrgb, Srgb};
use std::f64::consts::PI;
use std::time::{SystemTime, UNIX_EPOCH};

type LinP3 = Rgb<palette::encoding::Linear<palette::encoding::DisplayP3>, f64>;
type PaletteLab = palette::Lab<D65, f64>;
type PaletteXyz = palette::Xyz<D65, f64>;

/// palette's white for D65 and 2 degrees.
const WHITE: Xyz = Xyz { x: 95.047, y: 100.0, z: 108.883 };
/// Colours drawn for each comparison.
const DRAWN: usize = 5000;

/// Numbers drawn by chance: splitmix64 (Steele, Lea & Flood 2014, OOPSLA; from memory).
struct Chance {
    seed: u64,
    state: u64,
}

impl Chance {
    fn fresh() -> Self {
        let clock = || SystemTime::now().duration_since(UNIX_EPOCH).expect("a clock after 1970").as_nanos() as u64;
        let given = std::env::var("FANLAP_SEED").ok().map(|seed| seed.parse().expect("FANLAP_SEED is a whole number"));
        let seed = given.unwrap_or_else(clock);
        Self { seed, state: seed }
    }

    fn between(&mut self, least: f64, most: f64) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        least + (most - least) * (z >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn lab(&mut self) -> Lab {
        Lab { l: self.between(0.0, 100.0), a: self.between(-110.0, 110.0), b: self.between(-110.0, 110.0) }
    }

    /// A colour up to about ten units from another one.
    fn near(&mut self, Lab { l, a, b }: Lab) -> Lab {
        let mut off = || self.between(-6.0, 6.0);
        Lab { l: (l + off()).clamp(0.0, 100.0), a: a + off(), b: b + off() }
    }

    /// A smooth reflectance.
    fn spectrum(&mut self) -> Spectrum {
        let (foot, height) = (self.between(0.0, 0.5), self.between(0.0, 0.5));
        let (middle, width, turn) = (self.between(0.0, 35.0), self.between(3.0, 15.0), self.between(0.0, 2.0 * PI));
        Spectrum(std::array::from_fn(|band| {
            let off = (band as f64 - middle) / width;
            0.7 * foot * (1.0 + cos(PI * band as f64 / BANDS as f64 + turn)) + height * exp(-off * off)
        }))
    }

    /// What a failure says first.
    fn said(&self, what: &str, i: usize) -> String {
        format!("FANLAP_SEED={}, {what}, draw {i}", self.seed)
    }
}

fn their_lab(lab: Lab) -> PaletteLab {
    PaletteLab::new(lab.l, lab.a, lab.b)
}

fn their_xyz(xyz: Xyz) -> PaletteXyz {
    PaletteXyz::new(xyz.x / 100.0, xyz.y / 100.0, xyz.z / 100.0)
}

#[test]
fn cielab_of_tristimulus_values() {
    let mut chance = Chance::fresh();
    for i in 0..DRAWN {
        // every other colour is dark: below 0.9 % the cube root has its straight foot
        let most = if i % 2 == 0 { 110.0 } else { 1.5 };
        let xyz = Xyz { x: chance.between(0.0, most), y: chance.between(0.0, most), z: chance.between(0.0, most) };
        let (ours, theirs) = (Lab::from_xyz(xyz, WHITE), PaletteLab::from_color_unclamped(their_xyz(xyz)));
        // the same formula: nothing but rounding
        for (ours, theirs) in [(ours.l, theirs.l), (ours.a, theirs.a), (ours.b, theirs.b)] {
            assert_near(&chance.said("CIELAB", i), ours, theirs, 1e-10);
        }
    }
}

#[test]
fn our_white_of_daylight_is_palettes() {
    // palette's is the one of ASTM E308 for its own 10 nm tables, in three decimals; ours is the sum of weights made
    // anew from the 1 nm tables of the CIE
    let white = Xyz::white(Illuminant::D65, Observer::Degrees2);
    for (ours, theirs) in [(white.x, WHITE.x), (white.y, WHITE.y), (white.z, WHITE.z)] {
        assert_near("white of D65, 2 degrees", ours, theirs, 5e-3);
    }
}

#[test]
fn chroma_and_hue() {
    let mut chance = Chance::fresh();
    for i in 0..DRAWN {
        let lab = chance.lab();
        let theirs = palette::Lch::<D65, f64>::from_color_unclamped(their_lab(lab));
        assert_near(&chance.said("chroma", i), lab.chroma(), theirs.chroma, 1e-11);
        assert_near(&chance.said("hue", i), lab.hue_degrees(), theirs.hue.into_positive_degrees(), 1e-11);
    }
}

/// Hues of two colours as CIEDE2000 takes them, with a* stretched, degrees.
fn hues(one: Lab, other: Lab) -> [f64; 2] {
    let seventh = pow(0.5 * (one.chroma() + other.chroma()), 7.0);
    let stretch = 1.5 - 0.5 * (seventh / (seventh + pow(25.0, 7.0))).sqrt();
    [one, other].map(|Lab { a, b, .. }| atan2(b, stretch * a).to_degrees().rem_euclid(360.0))
}

#[test]
fn ciede2000_of_the_published_pairs() {
    // Sharma, Wu & Dalal 2005, in four decimals: both must meet what is printed, and each other, also where the hues
    // are opposite, for these pairs are not closer to 180 degrees than rounding
    let pairs = numbers(include_str!("../data/colour/sharma_2005.csv"));
    assert_eq!(pairs.len(), 34);
    for (i, row) in pairs.iter().enumerate() {
        let lab = |from: usize| Lab { l: row[from], a: row[from + 1], b: row[from + 2] };
        let theirs = their_lab(lab(1)).difference(their_lab(lab(4)));
        assert_near(&format!("palette, pair {}", i + 1), theirs, row[7], 5e-5);
        assert_near(&format!("pair {}", i + 1), delta_e00(lab(1), lab(4)), theirs, 1e-6);
    }
}

#[test]
fn ciede2000_of_random_pairs() {
    let mut chance = Chance::fresh();
    let mut compared = 0;
    for i in 0..2 * DRAWN {
        let one = chance.lab();
        let other = if i % 2 == 0 { chance.lab() } else { chance.near(one) };
        let [hue, next] = hues(one, other);
        let turn = (hue - next).abs();
        // At opposite hues the mean hue jumps to the other side, and rounding alone decides to which (Sharma, Wu &
        // Dalal 2005 on discontinuities): such a pair has two values.
        if (turn - 180.0).abs() < 1e-6 {
            continue;
        }
        compared += 1;
        let theirs = their_lab(one).difference(their_lab(other));
        // palette leaves a mean hue that Sharma brings below 360 degrees above it. That is the same in every cosine, but
        // not in the bell around 275 degrees: exp(-((360 - 275) / 25)^2) = 1e-5 against 0. It turns by 60 degrees times
        // that, twice, on the product of the chroma and hue terms, which is at most half the square of the difference.
        let allowed = if turn > 180.0 && hue + next >= 360.0 { 5.5e-6 * theirs } else { 0.0 };
        let said = chance.said(&format!("{one:?} {other:?}"), i);
        assert_near(&said, delta_e00(one, other), theirs, 1e-10 + allowed);
    }
    assert!(compared > 2 * DRAWN - 10, "only {compared} pairs were compared");
}

#[test]
fn encoding_of_linear_channels_and_back() {
    let mut chance = Chance::fresh();
    for i in 0..DRAWN {
        // a third of the channels lies on the straight foot or near the joint at 0.0031308
        let most = if i % 3 == 0 { 0.006 } else { 1.0 };
        let linear: [f64; 3] = std::array::from_fn(|_| chance.between(0.0, most));
        let [r, g, b] = linear;
        let srgb = Srgb::from_linear(LinSrgb::new(r, g, b));
        let p3 = DisplayP3::from_linear(LinP3::new(r, g, b));
        let bytes = srgb.into_format::<u8>();
        assert_eq!(encode_8_bit(linear), [bytes.red, bytes.green, bytes.blue], "{}", chance.said("8 bits", i));
        for theirs in [[srgb.red, srgb.green, srgb.blue], [p3.red, p3.green, p3.blue]] {
            for (linear, theirs) in linear.into_iter().zip(theirs) {
                assert_near(&chance.said("signal", i), encode(linear), theirs, 1e-12);
            }
        }
        let [r, g, b] = linear.map(encode);
        let back = Srgb::new(r, g, b).into_linear();
        for (linear, theirs) in linear.into_iter().zip([back.red, back.green, back.blue]) {
            // the standard's joint is printed with five digits: within 1e-8 of it the two branches may be swapped
            assert_near(&chance.said("back", i), linear, theirs, 1e-7);
        }
    }
}

#[test]
fn linear_channels_of_spectra_in_every_light() {
    let mut chance = Chance::fresh();
    for illuminant in Illuminant::ALL {
        let white = their_xyz(Xyz::white(illuminant, Observer::Degrees2));
        let adapted = adaptation_matrix::<f64, D65, D65, Bradford>(Some(white), None);
        let screen = |space| Screen::new(space, illuminant, &Geometry::new(Degrees(45.0)));
        let (narrow, wide) = (screen(ScreenSpace::Srgb), screen(ScreenSpace::DisplayP3));
        for i in 0..DRAWN / 5 {
            let seen = chance.spectrum();
            let xyz: PaletteXyz = adapted.convert(their_xyz(Xyz::of(&seen, illuminant, Observer::Degrees2)));
            let srgb = LinSrgb::<f64>::from_color_unclamped(xyz);
            let p3 = LinP3::from_color_unclamped(xyz);
            let pairs = [
                (narrow.film_light(&seen), [srgb.red, srgb.green, srgb.blue]),
                (wide.film_light(&seen), [p3.red, p3.green, p3.blue]),
            ];
            for (ours, theirs) in pairs {
                for (ours, theirs) in ours.into_iter().zip(theirs) {
                    // palette's matrices start from 0.95047, 1, 1.08883 for white, ours from x 0.3127, y 0.3290, which is
                    // 0.95046, 1, 1.08906: 2e-4 of the blue one, less for what is not bright
                    assert_near(&chance.said(illuminant.name(), i), ours, theirs, 2e-4);
                }
            }
        }
    }
}

#[test]
fn oklab_of_linear_channels() {
    let mut chance = Chance::fresh();
    for i in 0..DRAWN {
        let linear: [f64; 3] = std::array::from_fn(|_| chance.between(0.0, 1.0));
        let [r, g, b] = linear;
        let theirs = palette::Oklab::<f64>::from_color_unclamped(LinSrgb::new(r, g, b));
        let ours = OkLab::from_linear(linear, ScreenSpace::Srgb).0;
        for (ours, theirs) in ours.into_iter().zip([theirs.l, theirs.a, theirs.b]) {
            // palette takes Ottosson's own matrices, ours are those of CSS Color 4, made anew from the primaries
            assert_near(&chance.said("OkLab", i), ours, theirs, 1e-4);
        }
    }
}
