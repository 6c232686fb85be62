//! What the screen shows: the transfer to sRGB and Display P3, the exposure, and the way back into the gamut.
//! Does not test any real screen.

use crate::data::{assert_near, daylight, ground, numbers, random_spectra, track};
use fanlap::colour::demonstration::{Demonstration, ember, kelp};
use fanlap::colour::{
    Geometry, Illuminant, OkLab, Screen, ScreenSpace, Spectrum, Viewing, encode, encode_8_bit, into_gamut, through_tint,
};
use fanlap::maths;
use fanlap::units::{Degrees, Micrometres};

const SPACES: [ScreenSpace; 2] = [ScreenSpace::Srgb, ScreenSpace::DisplayP3];
const ANGLES: [f64; 5] = [15.0, 25.0, 45.0, 75.0, 110.0];

fn screen(space: ScreenSpace, illuminant: Illuminant, aspecular: f64) -> Screen {
    Screen::new(space, illuminant, &Geometry::new(Degrees(aspecular)))
}

fn hue(colour: OkLab) -> f64 {
    maths::atan2(colour.0[2], colour.0[1]).to_degrees()
}

fn chroma(colour: OkLab) -> f64 {
    (colour.0[1] * colour.0[1] + colour.0[2] * colour.0[2]).sqrt()
}

/// Linear channels in and far out of the gamut.
fn many_colours() -> impl Iterator<Item = [f64; 3]> {
    let steps = || (0..12).map(|i| -0.25 + 0.13 * f64::from(i));
    steps().flat_map(move |r| steps().flat_map(move |g| steps().map(move |b| [r, g, b])))
}

#[test]
fn two_hundred_random_spectra_have_the_expected_linear_srgb() {
    let screen = screen(ScreenSpace::Srgb, Illuminant::D65, 45.0);
    for (reflectance, expected) in random_spectra() {
        for (given, expected) in screen.film_light(&reflectance).into_iter().zip(&expected[9..12]) {
            // The expected values use the matrix IEC 61966-2-1 prints with four decimals and no adaptation from the
            // D65 of the weights to the D65 of the chromaticities; ours maps white to equal channels exactly.
            assert_near("linear sRGB", given, *expected, 3e-4);
        }
    }
}

#[test]
fn the_red_film_has_the_computed_screen_colours() {
    for row in numbers(include_str!("../data/colour/red_over_orange_sRGB.csv")) {
        let (paint, viewing) = (ember(), daylight(row[0]));
        let path = Geometry::new(viewing.aspecular).path_factor();
        let seen = through_tint(ground(&paint, &viewing), &paint.absorption, Micrometres(row[1]), path);
        let linear = screen(ScreenSpace::Srgb, Illuminant::D65, row[0]).film_light(&seen);
        for (given, expected) in linear.into_iter().zip(&row[2..5]) {
            // As above, times 1.4 near the highlight.
            assert_near(&format!("{row:?}"), given, *expected, 4e-4);
        }
    }
}

#[test]
fn a_white_card_has_equal_channels_in_every_light() {
    for space in SPACES {
        for light in Illuminant::ALL {
            for channel in screen(space, light, 45.0).film_light(&Spectrum::constant(1.0)) {
                assert_near(light.name(), channel, 1.0, 1e-12);
            }
        }
    }
}

#[test]
fn the_surface_adds_what_fresnel_says_of_a_white_surround() {
    let black = Spectrum::constant(0.0);
    // n = 1.5: 4 % straight on; at 65 degrees from the normal 0.1205, by Fresnel's equations.
    for (aspecular, expected) in [(45.0, 0.04), (110.0, 0.1205)] {
        let bare = screen(ScreenSpace::Srgb, Illuminant::A, aspecular);
        for (surround, share) in [(1.0, 1.0), (0.5, 0.5), (0.0, 0.0)] {
            for channel in bare.with_surround(surround).light(&black) {
                assert_near("mirrored surround", channel, share * expected, 5e-5);
            }
        }
        assert_eq!(bare.light(&black), [0.0; 3], "none unless it is asked for");
    }
}

#[test]
fn the_transfer_function_is_that_of_iec_61966_2_1() {
    // The standard's own joints and ends; the two branches meet to about 3e-8 there.
    assert_eq!(encode(0.0), 0.0);
    assert_near("white", encode(1.0), 1.0, 1e-12);
    assert_near("the joint", encode(0.0031308), 0.04045, 1e-6);
    assert_near("no step at the joint", encode(0.0031308), encode(0.0031309), 2e-6);
    // 8-bit mid grey of the standard's inverse: ((128 / 255 + 0.055) / 1.055)^2.4 = 0.215861.
    assert_eq!(encode_8_bit([0.215861, 0.0, 2.0]), [128, 0, 255]);
}

#[test]
fn oklab_of_the_srgb_primaries_is_as_published() {
    // CSS Color 4: white is L 1 without chroma; red is oklch(62.8% 0.258 29.2), lime oklch(86.6% 0.295 142.5).
    let published = [
        ([1.0, 1.0, 1.0], 1.0, 0.0, 0.0),
        ([1.0, 0.0, 0.0], 0.628, 0.258, 29.2),
        ([0.0, 1.0, 0.0], 0.866, 0.295, 142.5),
    ];
    for (linear, lightness, expected_chroma, expected_hue) in published {
        let colour = OkLab::from_linear(linear, ScreenSpace::Srgb);
        // Half a unit of the last printed digit, and what the rounding of the matrices leaves in white.
        assert_near("lightness", colour.0[0], lightness, 6e-4);
        assert_near("chroma", chroma(colour), expected_chroma, 6e-4);
        if expected_chroma > 0.0 {
            assert_near("hue", hue(colour), expected_hue, 0.06);
        }
    }
}

#[test]
fn oklab_and_back_is_the_same_colour() {
    for space in SPACES {
        for linear in many_colours() {
            let back = OkLab::from_linear(linear, space).to_linear(space);
            for (given, expected) in back.into_iter().zip(linear) {
                assert_near("there and back", given, expected, 1e-12);
            }
        }
    }
}

#[test]
fn whatever_is_shown_lies_inside_the_gamut() {
    for space in SPACES {
        for linear in many_colours() {
            let shown = into_gamut(linear, space).linear;
            assert!(shown.iter().all(|channel| (0.0..=1.0).contains(channel)), "{linear:?} became {shown:?}");
        }
    }
}

#[test]
fn colours_inside_the_gamut_are_not_touched() {
    for linear in many_colours().filter(|linear| linear.iter().all(|channel| (0.0..=1.0).contains(channel))) {
        let shown = into_gamut(linear, ScreenSpace::Srgb);
        assert_eq!((shown.linear, shown.mapped), (linear, false));
    }
}

#[test]
fn mapping_keeps_the_hue_and_the_lightness_of_slight_excursions() {
    let mut mapped = 0;
    for linear in many_colours() {
        let wanted = OkLab::from_linear(linear, ScreenSpace::Srgb);
        let shown = into_gamut(linear, ScreenSpace::Srgb);
        let got = OkLab::from_linear(shown.linear, ScreenSpace::Srgb);
        if !shown.mapped || !(0.05..0.95).contains(&wanted.0[0]) {
            continue;
        }
        mapped += 1;
        // The last clipping may move the colour by the just noticeable 0.02 in any direction, no further.
        assert!((got.0[0] - wanted.0[0]).abs() <= 0.02, "lightness of {linear:?}");
        let across = 2.0 * chroma(got).min(chroma(wanted)) * maths::sin((hue(got) - hue(wanted)).to_radians() / 2.0);
        assert!(across.abs() <= 0.0201, "hue of {linear:?}: {} became {}", hue(wanted), hue(got));
        assert!(chroma(got) <= chroma(wanted) + 0.02, "chroma of {linear:?}");
    }
    assert!(mapped > 500);
}

#[test]
fn a_paint_mapped_slightly_keeps_its_hue() {
    for (paint, viewing) in paints_and_views() {
        let track = track(&paint, &viewing, ScreenSpace::Srgb);
        let screen = screen(ScreenSpace::Srgb, viewing.illuminant, viewing.aspecular.0);
        let path = Geometry::new(viewing.aspecular).path_factor();
        for film in (0..=160).map(|i| Micrometres(0.5 * f64::from(i))) {
            let seen = through_tint(ground(&paint, &viewing), &paint.absorption, film, path);
            let light = screen.light(&seen).map(|channel| channel * track.exposure());
            let wanted = OkLab::from_linear(light, ScreenSpace::Srgb);
            let got = OkLab::from_linear(track.screen(film), ScreenSpace::Srgb);
            // the last clipping moves a colour by 0.02 of OkLab at most, which is the more degrees the less chroma is left
            let sine = (0.0101 / chroma(got).min(chroma(wanted))).min(1.0);
            let allowed = 2.0 * maths::atan2(sine, (1.0 - sine * sine).sqrt()).to_degrees();
            assert!(chroma(got) < 0.08 || allowed < 15.0);
            assert_near(&format!("{} at {film}, {viewing:?}", paint.name), hue(got), hue(wanted), allowed + 0.1);
        }
    }
}

fn paints_and_views() -> Vec<(Demonstration, Viewing)> {
    let views = ANGLES.iter().flat_map(|angle| Illuminant::ALL.map(|illuminant| (*angle, illuminant)));
    let views = views.map(|(angle, illuminant)| Viewing { illuminant, ..daylight(angle) });
    views.flat_map(|viewing| [(ember(), viewing), (kelp(), viewing)]).collect()
}

#[test]
fn a_screen_darkens_steadily_with_film() {
    // Luminance of linear channels, coefficients of the two spaces' middle row.
    let luminance = |space, [r, g, b]: [f64; 3]| match space {
        ScreenSpace::Srgb => 0.2126 * r + 0.7152 * g + 0.0722 * b,
        ScreenSpace::DisplayP3 => 0.2290 * r + 0.6917 * g + 0.0793 * b,
    };
    for space in SPACES {
        for (paint, viewing) in paints_and_views() {
            let track = track(&paint, &viewing, space);
            let at = |i: u32| luminance(space, track.screen(Micrometres(0.5 * f64::from(i))));
            for i in 0..240 {
                assert!(at(i + 1) < at(i), "{} {viewing:?} {space:?} after {} um", paint.name, 0.5 * f64::from(i));
            }
        }
    }
}

#[test]
fn srgb_and_display_p3_show_the_same_colour_where_both_can() {
    let (narrow, wide) = SPACES.map(|space| screen(space, Illuminant::D65, 45.0)).into();
    for (reflectance, _) in random_spectra() {
        let (one, other) = (narrow.show(&reflectance, 0.8), wide.show(&reflectance, 0.8));
        if one.mapped {
            continue;
        }
        assert!(!other.mapped, "Display P3 holds all of sRGB");
        let one = OkLab::from_linear(one.linear, ScreenSpace::Srgb);
        let other = OkLab::from_linear(other.linear, ScreenSpace::DisplayP3);
        // Channels a rounding outside are held at 0; near black OkLab's cube root magnifies that.
        assert_near("the same colour", one.difference(other), 0.0, 1e-3);
    }
}

#[test]
fn srgb_red_in_display_p3_is_as_published() {
    // CSS Color 4, conversions: linear-light red of sRGB is 0.8225, 0.0332, 0.0171 in Display P3.
    let red = OkLab::from_linear([1.0, 0.0, 0.0], ScreenSpace::Srgb).to_linear(ScreenSpace::DisplayP3);
    for (given, expected) in red.into_iter().zip([0.8225, 0.0332, 0.0171]) {
        assert_near("red", given, expected, 6e-5);
    }
}

#[test]
fn display_p3_needs_no_more_mapping_than_srgb() {
    for (paint, viewing) in paints_and_views() {
        let first = |space| track(&paint, &viewing, space).mapped().map_or(f64::INFINITY, |film| film.0);
        assert!(first(ScreenSpace::DisplayP3) >= first(ScreenSpace::Srgb), "{} {viewing:?}", paint.name);
    }
}

#[test]
fn highlights_are_fitted_by_one_exposure_for_all_films() {
    let bright = track(&ember(), &daylight(15.0), ScreenSpace::Srgb);
    assert!(bright.exposure() < 1.0);
    let brightest = (0..=240).flat_map(|i| bright.screen(Micrometres(0.5 * f64::from(i)))).fold(0.0, f64::max);
    assert_near("the brightest channel just fits", brightest, 1.0, 1e-9);
    assert_eq!(track(&ember(), &daylight(45.0), ScreenSpace::Srgb).exposure(), 1.0);
}

#[test]
fn mapping_is_reported_from_the_first_film_that_needs_it() {
    // The red leaves sRGB at about 55 um; with 4 % of white mirrored on top it stays inside.
    let red = track(&ember(), &daylight(45.0), ScreenSpace::Srgb).mapped().expect("a deep red leaves sRGB");
    assert!((50.0..60.0).contains(&red.0), "{red}");
    let in_a_white_room = Viewing { surround_gloss: 1.0, ..daylight(45.0) };
    assert_eq!(track(&ember(), &in_a_white_room, ScreenSpace::Srgb).mapped(), None);
    let green = track(&kelp(), &in_a_white_room, ScreenSpace::Srgb).mapped().expect("a deep green leaves sRGB");
    assert!((30.0..60.0).contains(&green.0), "{green}");
}
