//! The invented paints, the colours of the film maps, and how faulty tables of spectra are refused.
//! Does not test any real paint: there is none here.

use crate::data::{daylight, track};
use fanlap::colour::demonstration::{ember, kelp};
use fanlap::colour::{ScreenSpace, Spectrum, Viewing, encode_8_bit, maps, read_spectra};
use fanlap::units::{Degrees, Micrometres};

#[test]
fn both_paints_are_given_at_six_angles() {
    for paint in [ember(), kelp()] {
        let angles: Vec<f64> = paint.ground.iter().map(|(angle, _)| angle.0).collect();
        assert_eq!(angles, [-15.0, 15.0, 25.0, 45.0, 75.0, 110.0], "{}", paint.name);
        assert!(paint.absorption.0.iter().all(|a| *a > 0.0));
        assert!(paint.ground_at(Degrees(60.0)).is_none());
    }
}

#[test]
fn both_bases_grow_darker_away_from_the_highlight() {
    for paint in [ember(), kelp()] {
        let sums: Vec<f64> = paint.ground.iter().map(|(_, base)| base.weighted_sum(&Spectrum::constant(1.0))).collect();
        assert!(sums.windows(2).all(|pair| pair[1] < pair[0]), "{}: {sums:?}", paint.name);
    }
}

#[test]
fn the_green_looks_straw_without_tint_and_green_at_three_coats() {
    let viewing = Viewing { surround_gloss: 1.0, ..daylight(45.0) };
    let track = track(&kelp(), &viewing, ScreenSpace::Srgb);
    // Our own choice of look, 8-bit sRGB with the surface's reflection; a change of the tables should be meant.
    assert_eq!(encode_8_bit(track.screen(Micrometres(0.0))), [219, 205, 154]);
    assert_eq!(encode_8_bit(track.screen(Micrometres(35.0))), [31, 143, 65]);
}

#[test]
fn film_maps_keep_their_published_ends() {
    assert_eq!((maps::cividis(0.0), maps::cividis(1.0)), ([0, 34, 78], [254, 232, 56]));
    assert_eq!((maps::under_over(-1.0), maps::under_over(1.0)), ([38, 38, 0], [44, 26, 76]));
    assert_eq!(maps::cividis(f64::NAN), maps::cividis(-5.0));
    assert_eq!(maps::under_over(9.0), maps::under_over(1.0));
}

#[test]
fn cividis_grows_ever_lighter() {
    let light =
        |t: f64| maps::cividis(t).iter().zip([0.2126, 0.7152, 0.0722]).map(|(c, w)| f64::from(*c) * w).sum::<f64>();
    // 8-bit rounding may step back by one level of one channel.
    assert!((0..255).all(|i| light(f64::from(i + 1) / 255.0) > light(f64::from(i) / 255.0) - 0.8));
    assert!(light(1.0) > 5.0 * light(0.0));
}

#[test]
fn under_and_over_are_told_apart_by_hue_and_meet_near_white() {
    let (under, middle, over) = (maps::under_over(-0.5), maps::under_over(0.0), maps::under_over(0.5));
    assert!(under[2] < under[0] && under[2] < under[1], "under is olive: {under:?}");
    assert!(over[2] > over[0] && over[2] > over[1], "over is blue: {over:?}");
    assert!(middle.iter().all(|channel| *channel > 225), "on target is near white: {middle:?}");
}

#[test]
fn a_faulty_table_says_where_and_what_is_allowed() {
    let row = |band: usize| format!("{},0.5\n", 380 + 10 * band);
    let body: String = (0..36).map(row).collect();
    let sound = format!("wavelength_nm,R\n{body}");
    assert_eq!(read_spectra("card.csv", &sound).unwrap(), [("R".to_string(), Spectrum::constant(0.5))]);

    let faults = [
        (sound.replace("wavelength_nm", "nm"), "card.csv, line 1", "wavelength_nm"),
        (sound.replace("730,0.5\n", ""), "card.csv", "36 rows"),
        (sound.replace("400,0.5", "400,bright"), "card.csv, row 3", "400 nm and 1 finite numbers"),
        (sound.replace("410,0.5", "415,0.5"), "card.csv, row 4", "410 nm and 1 finite numbers"),
        (sound.replace("420,0.5", "420,NaN"), "card.csv, row 5", "420 nm and 1 finite numbers"),
        (sound.replace("430,0.5", "430,0.5,0.5"), "card.csv, row 6", "430 nm and 1 finite numbers"),
    ];
    for (text, at, allowed) in faults {
        let problem = read_spectra("card.csv", &text).unwrap_err();
        assert_eq!(problem.at, at);
        assert!(problem.allowed.contains(allowed), "{problem}");
    }
}
