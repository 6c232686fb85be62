//! CIEDE2000 against published pairs, and the laws it must keep. Does not test whether people agree with it.

use crate::data::{assert_near, numbers};
use fanlap::colour::{Lab, delta_e00};

/// Sharma, Wu & Dalal 2005: the pairs with their published difference.
fn published_pairs() -> Vec<(Lab, Lab, f64)> {
    let lab = |v: &[f64]| Lab { l: v[0], a: v[1], b: v[2] };
    let table = numbers(include_str!("../data/colour/sharma_2005.csv"));
    table.iter().map(|row| (lab(&row[1..4]), lab(&row[4..7]), row[7])).collect()
}

#[test]
fn the_34_pairs_of_sharma_2005_are_met() {
    let pairs = published_pairs();
    assert_eq!(pairs.len(), 34);
    for (i, (one, other, published)) in pairs.into_iter().enumerate() {
        // Half a unit of the fourth decimal they are printed with.
        assert_near(&format!("pair {}", i + 1), delta_e00(one, other), published, 5e-5);
    }
}

#[test]
fn the_difference_is_the_same_both_ways() {
    for (one, other, _) in published_pairs() {
        // Rounding of the hue arithmetic only.
        assert_near("swapped", delta_e00(one, other), delta_e00(other, one), 1e-12);
    }
}

#[test]
fn a_colour_does_not_differ_from_itself() {
    for (one, other, _) in published_pairs() {
        assert_eq!(delta_e00(one, one), 0.0);
        assert_eq!(delta_e00(other, other), 0.0);
    }
}

#[test]
fn greys_are_compared_without_a_hue() {
    let grey = |l| Lab { l, a: 0.0, b: 0.0 };
    // The formula by hand: dL 1, mean 50.5, SL = 1 + 0.015 x 0.25 / sqrt(20.25).
    assert_near("one step of L*", delta_e00(grey(50.0), grey(51.0)), 1.0 / (1.0 + 0.015 * 0.25 / 4.5), 1e-12);
    assert_eq!(delta_e00(Lab { l: 50.0, a: -0.0, b: 0.0 }, grey(50.0)), 0.0);
}
