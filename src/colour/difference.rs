//! How different two colours look: CIEDE2000 (ISO/CIE 11664-6:2022), in the steps and the reading of ambiguous hues of
//! Sharma, Wu & Dalal 2005, Color Research and Application 30(1), 21-30. Parametric factors kL = kC = kH = 1.
//! Does not know how large the fields are or how they join; the formula was made for large fields that touch.

use super::tristimulus::Lab;
use fanlap_film::maths::{atan2, cos, exp, pow, sin};
use std::f64::consts::PI;

const DEGREE: f64 = PI / 180.0;

/// The CIEDE2000 difference.
pub fn delta_e00(one: Lab, other: Lab) -> f64 {
    let stretch = 1.0 + 0.5 * (1.0 - chroma_ratio(0.5 * (one.chroma() + other.chroma())));
    let (p, q) = (Lab { a: stretch * one.a, ..one }, Lab { a: stretch * other.a, ..other });
    let (cp, cq) = (p.chroma(), q.chroma());
    let (turn, hue) = hues(p, q);

    let (l, c) = (0.5 * (p.l + q.l), 0.5 * (cp + cq));
    let off_middle = (l - 50.0) * (l - 50.0);
    let lightness = (q.l - p.l) / (1.0 + 0.015 * off_middle / (20.0 + off_middle).sqrt());
    let chroma = (cq - cp) / (1.0 + 0.045 * c);
    let hue_weight = 1.0 + 0.015 * c * hue_dependence(hue);
    let hue_difference = 2.0 * (cp * cq).sqrt() * sin(0.5 * turn) / hue_weight;

    let rotation = -sin(2.0 * 30.0 * DEGREE * blue_bump(hue)) * 2.0 * chroma_ratio(c);
    let sum = lightness * lightness + chroma * chroma + hue_difference * hue_difference;
    (sum + rotation * chroma * hue_difference).max(0.0).sqrt()
}

/// sqrt(C^7 / (C^7 + 25^7)).
fn chroma_ratio(chroma: f64) -> f64 {
    let seventh = pow(chroma, 7.0);
    (seventh / (seventh + 6_103_515_625.0)).sqrt()
}

/// The turn of hue from `p` to `q` and the mean hue, radians; a colour without chroma takes the other's hue.
fn hues(p: Lab, q: Lab) -> (f64, f64) {
    let (hp, hq) = (hue(p), hue(q));
    if p.chroma() * q.chroma() == 0.0 {
        return (0.0, hp + hq);
    }
    let turn = hq - hp;
    if turn.abs() <= PI {
        return (turn, 0.5 * (hp + hq));
    }
    let mean = if hp + hq < 2.0 * PI { 0.5 * (hp + hq) + PI } else { 0.5 * (hp + hq) - PI };
    (if turn > 0.0 { turn - 2.0 * PI } else { turn + 2.0 * PI }, mean)
}

/// Hue angle, 0 to 2 pi; 0 for a colour without chroma.
fn hue(colour: Lab) -> f64 {
    let angle = if colour.a == 0.0 && colour.b == 0.0 { 0.0 } else { atan2(colour.b, colour.a) };
    if angle < 0.0 { angle + 2.0 * PI } else { angle }
}

/// T of the formula: how the eye's tolerance for hue changes around the circle.
fn hue_dependence(hue: f64) -> f64 {
    1.0 - 0.17 * cos(hue - 30.0 * DEGREE) + 0.24 * cos(2.0 * hue) + 0.32 * cos(3.0 * hue + 6.0 * DEGREE)
        - 0.20 * cos(4.0 * hue - 63.0 * DEGREE)
}

/// The bell around hue 275 degrees, where hue and chroma differences lean on each other.
fn blue_bump(hue: f64) -> f64 {
    let off = (hue / DEGREE - 275.0) / 25.0;
    exp(-off * off)
}
