//! The way of light through the clear (Snell, Fresnel) and what is left of it (Beer and Lambert).
//! Does not test solid bases: `colour_optics.rs` does.

use crate::data::{assert_near, daylight, ground, numbers, random_spectra};
use fanlap::colour::{Geometry, REFRACTIVE_INDEX, Spectrum, demonstration, fresnel, through_tint, through_tints};
use fanlap::units::{Degrees, Micrometres};

#[test]
fn path_factors_follow_snell_at_every_angle() {
    for row in numbers(include_str!("../data/colour/geometry_n1.5_illum45.csv")) {
        let geometry = Geometry::new(Degrees(row[0]));
        assert_near("view angle", geometry.view_angle().0, row[1], 1e-12);
        // Printed with six decimals.
        assert_near("path factor", geometry.path_factor(), row[4], 1e-6);
    }
}

#[test]
fn surface_reflectance_follows_fresnel() {
    let table = numbers(include_str!("../data/colour/fresnel_saunderson.csv"));
    let row = table.iter().find(|row| row[0] == REFRACTIVE_INDEX).unwrap();
    // Printed with six decimals.
    assert_near("straight on", fresnel(Degrees(0.0)).0, row[1], 1e-6);
    assert_near("at 45 degrees", fresnel(Degrees(45.0)).0, row[2], 1e-6);
    assert_near("aspecular 0 is the mirror", Geometry::new(Degrees(0.0)).surface_reflectance().0, row[2], 1e-6);
    assert_near("aspecular 45 is straight on", Geometry::new(Degrees(45.0)).surface_reflectance().0, row[1], 1e-6);
    assert_near("grazing light is all mirrored", fresnel(Degrees(90.0)).0, 1.0, 1e-12);
}

#[test]
fn both_transmittances_give_the_tabulated_product() {
    for row in numbers(include_str!("../data/colour/geometry_n1.5_illum45.csv")) {
        // Printed with six decimals.
        assert_near("Ti Tv / n^2", Geometry::new(Degrees(row[0])).exchanged().0, row[6], 1e-6);
    }
}

#[test]
#[should_panic(expected = "between -40 and 130")]
fn an_eye_behind_the_panel_is_refused() {
    Geometry::new(Degrees(140.0));
}

#[test]
fn spectra_of_the_red_film_are_the_computed_ones() {
    let (paint, viewing) = (demonstration::ember(), daylight(45.0));
    let path = Geometry::new(viewing.aspecular).path_factor();
    let films = [0.0, 10.0, 20.0, 30.0, 35.0, 40.0, 50.0, 60.0, 80.0];
    for (band, row) in numbers(include_str!("../data/colour/red_over_orange_as45_spectra.csv")).iter().enumerate() {
        for (film, expected) in films.into_iter().zip(&row[1..]) {
            let seen = through_tint(ground(&paint, &viewing), &paint.absorption, Micrometres(film), path);
            // Six decimals are printed, of a base and an absorption printed with six digits.
            assert_near("reflectance", seen.0[band], *expected, 2e-6);
        }
    }
}

#[test]
fn two_films_of_one_tint_are_their_sum() {
    let tint = demonstration::kelp().absorption;
    for (base, _) in random_spectra() {
        let in_steps = through_tints(&base, &[(&tint, Micrometres(12.5)), (&tint, Micrometres(22.5))], 2.1);
        let at_once = through_tint(&base, &tint, Micrometres(35.0), 2.1);
        for band in 0..in_steps.0.len() {
            assert_near("additivity", in_steps.0[band], at_once.0[band], 1e-15);
        }
    }
}

#[test]
fn the_order_of_two_tints_does_not_matter() {
    let (red, green) = (demonstration::ember().absorption, demonstration::kelp().absorption);
    let base = Spectrum::constant(0.8);
    let one = through_tints(&base, &[(&red, Micrometres(10.0)), (&green, Micrometres(20.0))], 2.1);
    let other = through_tints(&base, &[(&green, Micrometres(20.0)), (&red, Micrometres(10.0))], 2.1);
    for band in 0..one.0.len() {
        assert_near("order", one.0[band], other.0[band], 1e-15);
    }
}

#[test]
fn no_film_leaves_the_base_as_it_is() {
    let base = Spectrum::constant(0.37);
    assert_eq!(through_tint(&base, &demonstration::ember().absorption, Micrometres(0.0), 2.1), base);
    assert_eq!(through_tints(&base, &[], 2.1), base);
}
