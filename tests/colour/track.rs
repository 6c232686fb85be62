//! Colour against film: the invented red against figures computed apart from this program, and the table's own error.
//! Does not test what the screen shows.

use crate::data::{assert_near, daylight, ground, number, numbers, rows, track};
use fanlap::colour::demonstration::{Demonstration, ember, kelp};
use fanlap::colour::{Geometry, Illuminant, Lab, Observer, ScreenSpace, Viewing, delta_e00, through_tint};
use fanlap::units::Micrometres;

const ANGLES: [f64; 5] = [15.0, 25.0, 45.0, 75.0, 110.0];

fn red(aspecular: f64) -> fanlap::colour::Track {
    track(&ember(), &daylight(aspecular), ScreenSpace::Srgb)
}

#[test]
fn the_red_has_the_computed_lab_at_every_film() {
    let track = red(45.0);
    for row in numbers(include_str!("../data/colour/red_over_orange_as45_track.csv")) {
        let colour = track.lab(Micrometres(row[0]));
        let given = [colour.l, colour.a, colour.b, colour.chroma(), colour.hue_degrees()];
        for (given, expected) in given.into_iter().zip(&row[1..6]) {
            // Four decimals are printed, of a base and an absorption printed with six digits.
            assert_near(&format!("{} um", row[0]), given, *expected, 3e-4);
        }
    }
}

#[test]
fn the_red_changes_as_fast_as_computed() {
    let track = red(45.0);
    for row in numbers(include_str!("../data/colour/red_over_orange_as45_track.csv")) {
        // At the end of the table a one-sided difference stands for the derivative: half a step off.
        let tolerance = if row[0] == 0.0 { 0.02 } else { 0.001 };
        assert_near(&format!("{} um", row[0]), track.slope(Micrometres(row[0])), row[6], tolerance);
    }
}

#[test]
fn the_windows_of_the_red_are_the_computed_ones() {
    for row in numbers(include_str!("../data/colour/red_film_windows.csv")) {
        let track = red(row[0]);
        let target = track.lab(Micrometres(row[1]));
        for (limit, low, high) in [(0.5, row[2], row[3]), (1.0, row[4], row[5]), (1.8, row[6], row[7])] {
            let (thinnest, thickest) = track.film_window(target, limit).unwrap();
            // Three decimals are printed; the table's error of 0.0005 over a slope of 0.05 adds 0.01 um at worst.
            assert_near(&format!("{row:?}, below {limit}"), thinnest.0 - row[1], low, 0.01);
            assert_near(&format!("{row:?}, below {limit}"), thickest.0 - row[1], high, 0.01);
        }
    }
}

#[test]
fn reading_between_the_entries_errs_by_no_more_than_0_002() {
    for paint in [ember(), kelp()] {
        for aspecular in ANGLES {
            for illuminant in Illuminant::ALL {
                let viewing = Viewing { illuminant, ..daylight(aspecular) };
                let worst = worst_reading(&paint, &viewing);
                assert!(worst <= 0.002, "{} at {aspecular} under {}: {worst}", paint.name, illuminant.name());
            }
        }
    }
}

/// The largest difference between the table's colour and the exact one, looked for at and halfway between the entries.
fn worst_reading(paint: &Demonstration, viewing: &Viewing) -> f64 {
    let track = track(paint, viewing, ScreenSpace::Srgb);
    let path = Geometry::new(viewing.aspecular).path_factor();
    let error = |i: u32| {
        let film = Micrometres(0.125 * f64::from(i));
        let seen = through_tint(ground(paint, viewing), &paint.absorption, film, path);
        delta_e00(track.lab(film), Lab::of(&seen, viewing.illuminant, viewing.observer))
    };
    (0..=8 * 120).map(error).fold(0.0, f64::max)
}

#[test]
fn the_film_of_a_colour_on_the_track_is_found_again() {
    for paint in [ember(), kelp()] {
        let track = track(&paint, &daylight(45.0), ScreenSpace::Srgb);
        for film in [0.0, 0.3, 17.25, 35.0, 63.9, 120.0] {
            let (found, off) = track.nearest_film(track.lab(Micrometres(film)));
            assert_near(paint.name, found.0, film, 1e-6);
            assert_near(paint.name, off, 0.0, 1e-6);
        }
    }
}

#[test]
fn a_target_beside_the_track_gets_its_nearest_film() {
    let track = red(45.0);
    let on_track = track.lab(Micrometres(35.0));
    let target = Lab { l: on_track.l + 1.0, ..on_track };
    let (film, off) = track.nearest_film(target);
    let scanned = (0..12_000).map(|i| delta_e00(track.lab(Micrometres(0.01 * f64::from(i))), target));
    assert_near("as near as a fine scan", off, scanned.fold(f64::INFINITY, f64::min), 1e-4);
    assert!(film.0 < 35.0, "a lighter target wants less film");
    assert!(off > 0.1);
    assert_eq!(track.film_window(target, 0.1), None, "no film comes that near");
}

#[test]
fn a_window_ends_with_the_table() {
    let track = red(45.0);
    let (low, high) = track.film_window(track.lab(Micrometres(0.2)), 1.0).unwrap();
    assert_eq!(low, Micrometres(0.0));
    assert!(high.0 > 0.7);
    assert_eq!(track.film_window(track.lab(Micrometres(110.0)), 1.8).unwrap().1, track.film_max());
}

#[test]
fn films_outside_the_table_are_held_at_its_ends() {
    let track = red(45.0);
    assert_eq!(track.lab(Micrometres(-3.0)), track.lab(Micrometres(0.0)));
    assert_eq!(track.lab(Micrometres(500.0)), track.lab(track.film_max()));
    assert_eq!(track.screen(Micrometres(f64::NAN)), track.screen(Micrometres(0.0)));
}

#[test]
fn more_film_takes_the_red_from_yellowish_orange_to_a_deeper_darker_bluer_red() {
    // Common practice, no source.
    let track = red(45.0);
    let [base, coat, full] = [0.0, 17.0, 50.0].map(|film| track.lab(Micrometres(film)));
    assert!((60.0..75.0).contains(&base.hue_degrees()), "the base alone is a yellowish orange");
    assert!(base.lightness() > coat.lightness() && coat.lightness() > full.lightness(), "darker with film");
    assert!(base.hue_degrees() > coat.hue_degrees() && coat.hue_degrees() > full.hue_degrees(), "bluer with film");
    assert!(full.chroma() > coat.chroma() && full.chroma() > base.chroma(), "more saturated with film");
}

#[test]
fn more_film_takes_the_green_from_pale_straw_to_deep_green() {
    let track = track(&kelp(), &daylight(45.0), ScreenSpace::Srgb);
    let [base, full] = [0.0, 35.0].map(|film| track.lab(Micrometres(film)));
    assert!(base.lightness() > 75.0 && (80.0..100.0).contains(&base.hue_degrees()), "pale straw: {base:?}");
    assert!(full.lightness() < 50.0 && (130.0..150.0).contains(&full.hue_degrees()), "deep green: {full:?}");
    let slope = track.slope(Micrometres(35.0));
    assert!((0.3..0.6).contains(&slope), "as touchy as a three-coat colour should be to learn on: {slope}");
}

#[test]
fn thin_errors_show_sooner_than_thick_ones() {
    // Follows from a slope that falls with film.
    for paint in [ember(), kelp()] {
        for aspecular in ANGLES {
            let track = track(&paint, &daylight(aspecular), ScreenSpace::Srgb);
            let (low, high) = track.film_window(track.lab(Micrometres(35.0)), 1.0).unwrap();
            assert!(35.0 - low.0 < high.0 - 35.0, "{} at {aspecular}", paint.name);
        }
    }
}

#[test]
fn the_light_changes_how_much_film_shows() {
    // Computed apart from this program, dE00 per um at 35 um over a step of 1 um upwards, thousandths.
    for (name, expected) in [("D65", 359.0), ("A", 318.0), ("LED-B3", 378.0)] {
        let viewing = Viewing { illuminant: Illuminant::from_name(name).unwrap(), ..daylight(45.0) };
        let track = track(&ember(), &viewing, ScreenSpace::Srgb);
        let step = delta_e00(track.lab(Micrometres(35.0)), track.lab(Micrometres(36.0)));
        // Three decimals are printed.
        assert_near(name, step, expected / 1000.0, 6e-4);
    }
}

#[test]
fn the_small_field_observer_sees_another_colour() {
    let small = Viewing { observer: Observer::Degrees2, ..daylight(45.0) };
    let track = track(&ember(), &small, ScreenSpace::Srgb);
    assert!(delta_e00(track.lab(Micrometres(35.0)), red(45.0).lab(Micrometres(35.0))) > 0.5);
    assert_eq!(track.screen(Micrometres(35.0)), red(45.0).screen(Micrometres(35.0)), "a screen keeps its own observer");
}

#[test]
fn every_angle_of_the_table_of_windows_is_carried() {
    for row in rows(include_str!("../data/colour/red_film_windows.csv")) {
        assert!(ember().ground_at(fanlap::units::Degrees(number(row[0]))).is_some());
    }
}
