//! Diffuse light at the clear's surface, solid grounds under tint, films that scatter, and what a hiding sticker shows.
//! Figures without a source were computed in Python from the same published formulas, by plain sums over 8000
//! directions. Does not test the path through the clear: `colour_film.rs` does.

use crate::data::{assert_near, daylight, ground, numbers, random_spectra};
use fanlap::colour::demonstration::{Demonstration, ember, kelp};
use fanlap::colour::{
    Base, Geometry, Gloss, Illuminant, Lab, Layer, Observer, Saunderson, Scattering, ScreenSpace, Solid, Spectrum,
    Surface, Track, clear_internal_diffuse, delta_e00, flop_index, fresnel, sticker, thick_film, through_tint,
    through_tint_over_solid,
};
use fanlap::maths;
use fanlap::units::{Degrees, Fraction, Micrometres};
use std::f64::consts::{FRAC_PI_2, PI};

fn lab(reflectance: &Spectrum) -> Lab {
    Lab::of(reflectance, Illuminant::D65, Observer::Degrees10)
}

fn assert_lab(what: &str, given: Lab, expected: [f64; 3], tolerance: f64) {
    for (given, expected) in [given.l, given.a, given.b].into_iter().zip(expected) {
        assert_near(what, given, expected, tolerance);
    }
}

/// The ground of a paint at 45:0.
fn at_45_0(paint: &Demonstration) -> &Spectrum {
    ground(paint, &daylight(45.0))
}

/// A midpoint sum.
fn summed(from: f64, to: f64, places: u32, f: impl Fn(f64) -> f64) -> f64 {
    let step = (to - from) / f64::from(places);
    (0..places).map(|i| step * f(from + step * (f64::from(i) + 0.5))).sum()
}

// The surface

#[test]
fn surface_reflectances_are_the_computed_ones_for_every_index() {
    for row in numbers(include_str!("../data/colour/fresnel_saunderson.csv")) {
        let surface = Surface { index: row[0] };
        let given = [
            surface.reflectance(Degrees(0.0)),
            surface.reflectance(Degrees(45.0)),
            surface.external_diffuse(),
            surface.internal_diffuse(Fraction(1.0)),
        ];
        for (given, expected) in given.into_iter().zip(&row[1..5]) {
            // Six decimals are printed.
            assert_near(&format!("n = {}", row[0]), given.0, *expected, 6e-7);
        }
    }
}

#[test]
fn diffuse_reflectances_of_the_clear_are_met_to_nine_digits() {
    // Printed with nine digits.
    for (index, outside, inside) in [(1.5, 0.0917779593, 0.59634576), (1.53, 0.096164383, 0.613893965)] {
        let surface = Surface { index };
        assert_near("from outside", surface.external_diffuse().0, outside, 1e-8);
        assert_near("from inside", surface.internal_diffuse(Fraction(1.0)).0, inside, 1e-8);
    }
}

#[test]
fn light_passes_the_surface_equally_both_ways() {
    // Thermodynamics: (1 - inside) n^2 = 1 - outside, exactly; 1e-11 for the quadratures.
    for index in [1.01, 1.3, 1.45, 1.5, 1.6, 2.4] {
        let surface = Surface { index };
        let outwards = (1.0 - surface.internal_diffuse(Fraction(1.0)).0) * index * index;
        assert_near(&format!("n = {index}"), outwards, 1.0 - surface.external_diffuse().0, 1e-11);
    }
}

#[test]
fn light_mirrored_inside_a_tinted_film_is_the_computed_one() {
    // Nine decimals where given, five elsewhere.
    let tabulated = [
        (1.0, 0.59634576, 1e-8),
        (0.95, 0.46966163, 1e-8),
        (0.9, 0.374063517, 1e-8),
        (0.8, 0.236856274, 1e-8),
        (0.7, 0.14627, 5e-6),
        (0.5, 0.047441521, 1e-8),
        (0.3, 0.00975, 5e-6),
        (0.1, 0.00042, 5e-6),
    ];
    for (straight, expected, tolerance) in tabulated {
        let given = Surface::CLEAR.internal_diffuse(Fraction(straight)).0;
        assert_near(&format!("{straight} straight through"), given, expected, tolerance);
    }
    assert_eq!(Surface::CLEAR.internal_diffuse(Fraction(0.0)), Fraction(0.0));
}

#[test]
fn the_integral_over_the_angle_inside_gives_the_same() {
    // The textbook integral, R(angle) sin(2 angle), cut at the critical angle; 1e-7 for the corner of R there.
    let inside = |angle: f64| {
        let outside = (1.5 * maths::sin(angle)).min(1.0);
        fresnel(Degrees(maths::asin(outside) * 180.0 / PI)).0
    };
    let critical = maths::asin(1.0 / 1.5);
    for straight in [1.0, 0.99, 0.8, 0.4] {
        let kept = |angle: f64| maths::pow(straight, 2.0 / maths::cos(angle)) * maths::sin(2.0 * angle);
        let partly = summed(0.0, critical, 100_000, |angle| inside(angle) * kept(angle));
        let totally = summed(critical, FRAC_PI_2, 100_000, kept);
        let given = Surface::CLEAR.internal_diffuse(Fraction(straight)).0;
        assert_near(&format!("{straight} straight through"), given, partly + totally, 1e-7);
    }
}

#[test]
fn the_table_of_internal_reflection_errs_by_no_more_than_1e_6() {
    // Every eighth of a step near 1, where the curve bends most, and coarser below.
    let near_one = (0..2000).map(|i| 1.0 - f64::from(i) / (8.0 * 4096.0));
    let all = (0..=3000).map(|i| f64::from(i) / 3000.0);
    for straight in near_one.chain(all).map(Fraction) {
        let exact = Surface::CLEAR.internal_diffuse(straight).0;
        assert_near(&format!("at {}", straight.0), clear_internal_diffuse(straight).0, exact, 1e-6);
    }
    assert_eq!(clear_internal_diffuse(Fraction(1.2)), clear_internal_diffuse(Fraction(1.0)));
}

#[test]
fn saunderson_is_met_and_undone() {
    // Half a unit of the last digit printed.
    let clear = Saunderson::clear();
    assert_near("gloss included", clear.measured(0.5, Gloss::Included), 0.316070887, 5e-9);
    assert_near("gloss excluded", clear.measured(0.5, Gloss::Excluded), 0.276071, 5e-7);
    let diffuse = Saunderson { outside: Surface::CLEAR.external_diffuse(), ..clear };
    assert_near("diffuse light", diffuse.measured(0.5, Gloss::Included), 0.352959, 5e-7);
    for gloss in [Gloss::Included, Gloss::Excluded] {
        for inside in [0.0, 0.03, 0.5, 0.97, 1.0] {
            assert_near("there and back", diffuse.inside_film(diffuse.measured(inside, gloss), gloss), inside, 1e-14);
        }
    }
    assert_near("a perfect white gives everything back", diffuse.measured(1.0, Gloss::Included), 1.0, 1e-14);
}

// Solid grounds

#[test]
fn a_perfect_white_under_untinted_clear_measures_1_003906_at_45_0() {
    let seen = Solid(Spectrum::constant(1.0)).under(&[], &Geometry::STRAIGHT_ON);
    // T45 T0 / (1 - k_ext), nine digits.
    assert_near("ideal white", seen.0[0], 1.00390614, 1e-8);
}

#[test]
fn a_perfect_white_sends_out_all_the_light_that_entered() {
    // Energy: the reflectance factor averaged over the hemisphere is the share that passed the surface on its way in.
    let white = Solid(Spectrum::constant(1.0));
    let seen = |angle: f64| white.under(&[], &Geometry::new(Degrees(45.0 + angle))).0[0];
    let weight = |angle: f64| maths::sin(2.0 * Degrees(angle).radians()) * PI / 180.0;
    let measurable = summed(0.0, 85.0, 2000, |angle| seen(angle) * weight(angle));
    // Closer to grazing than 85 degrees no view is offered: the factor follows what the surface lets out.
    let passed = |angle| 1.0 - fresnel(Degrees(angle)).0;
    let grazing = summed(85.0, 90.0, 2000, |angle| seen(0.0) * passed(angle) / passed(0.0) * weight(angle));
    assert_near("light out", measurable + grazing, passed(45.0), 1e-6);
}

#[test]
fn the_orange_as_a_solid_ground_is_4_7_off_the_plain_product_at_20_um() {
    let (paint, film) = (ember(), Micrometres(20.0));
    let solid = lab(&through_tint_over_solid(at_45_0(&paint), &paint.absorption, film));
    let path = Geometry::STRAIGHT_ON.path_factor();
    let effect = lab(&through_tint(at_45_0(&paint), &paint.absorption, film, path));
    // The table of internal reflection moves CIELAB by 1e-4.
    assert_lab("solid", solid, [41.1448, 43.0933, 29.1638], 3e-4);
    assert_lab("effect", effect, [44.8321, 41.7868, 34.5483], 3e-4);
    assert_near("between them", delta_e00(solid, effect), 4.7099, 3e-4);
}

#[test]
fn no_film_leaves_a_solid_ground_as_it_was_measured() {
    for aspecular in [15.0, 45.0, 110.0] {
        let geometry = Geometry::new(Degrees(aspecular));
        for (measured, _) in random_spectra() {
            let seen =
                Solid::measured(&measured, &geometry).under(&[(&ember().absorption, Micrometres(0.0))], &geometry);
            for (given, expected) in seen.0.into_iter().zip(measured.0) {
                assert_near("no film", given, expected, 1e-14);
            }
        }
    }
}

#[test]
fn a_solid_ground_takes_tint_faster_than_an_effect_base() {
    let (path, absorption) = (Geometry::STRAIGHT_ON.path_factor(), kelp().absorption);
    for (measured, _) in random_spectra() {
        for film in [1.0, 10.0, 40.0].map(Micrometres) {
            let solid = through_tint_over_solid(&measured, &absorption, film);
            let effect = through_tint(&measured, &absorption, film, path);
            assert!((0..36).all(|band| solid.0[band] < effect.0[band]), "at {film}");
        }
    }
}

#[test]
fn a_ground_almost_black_follows_beer_and_lambert() {
    // Light sent back twice by a ground of 1e-6 does not count.
    let (dark, absorption) = (Spectrum::constant(1e-6), ember().absorption);
    let plain = through_tint(&dark, &absorption, Micrometres(30.0), Geometry::STRAIGHT_ON.path_factor());
    let solid = through_tint_over_solid(&dark, &absorption, Micrometres(30.0));
    for (solid, plain) in solid.0.into_iter().zip(plain.0) {
        assert_near("ratio", solid / plain, 1.0, 2e-6);
    }
}

#[test]
fn films_of_one_tint_add_and_their_order_does_not_matter() {
    let (red, green) = (ember().absorption, kelp().absorption);
    let geometry = Geometry::new(Degrees(75.0));
    let solid = Solid::measured(at_45_0(&kelp()), &Geometry::STRAIGHT_ON);
    let seen = |clears: &[(&Spectrum, f64)]| {
        let clears: Vec<_> = clears.iter().map(|(tint, film)| (*tint, Micrometres(*film))).collect();
        solid.under(&clears, &geometry).0
    };
    for band in 0..36 {
        assert_near("sum", seen(&[(&red, 12.5), (&red, 22.5)])[band], seen(&[(&red, 35.0)])[band], 1e-15);
        let [one, other] = [[(&red, 9.0), (&green, 20.0)], [(&green, 20.0), (&red, 9.0)]].map(|clears| seen(&clears));
        assert_near("order", one[band], other[band], 1e-15);
    }
}

#[test]
fn a_track_over_a_solid_ground_holds_its_colours() {
    for paint in [ember(), kelp()] {
        let base = Base::Solid(at_45_0(&paint));
        for aspecular in [15.0, 45.0, 110.0] {
            let (viewing, geometry) = (daylight(aspecular), Geometry::new(Degrees(aspecular)));
            let track = Track::over(base, &paint.absorption, &viewing, ScreenSpace::Srgb, Micrometres(120.0));
            let off = |film| delta_e00(track.lab(film), lab(&base.through(&paint.absorption, film, &geometry)));
            let worst = |from: u32| (from..=960).map(|i| off(Micrometres(0.125 * f64::from(i)))).fold(0.0, f64::max);
            // Light mirrored inside falls off steeply with the first trace of tint; from 5 um on it is as over flakes.
            assert!(worst(0) <= 0.03, "{} at {aspecular}: {}", paint.name, worst(0));
            assert!(worst(40) <= 0.003, "{} at {aspecular} from 5 um: {}", paint.name, worst(40));
        }
    }
}

#[test]
fn a_track_over_an_effect_base_is_the_one_it_was() {
    let (paint, viewing) = (kelp(), daylight(25.0));
    let base = ground(&paint, &viewing);
    let old = Track::new(base, &paint.absorption, &viewing, ScreenSpace::Srgb, Micrometres(50.0));
    let new = Track::over(Base::Effect(base), &paint.absorption, &viewing, ScreenSpace::Srgb, Micrometres(50.0));
    assert_eq!((old.lab(Micrometres(33.3)), old.exposure()), (new.lab(Micrometres(33.3)), new.exposure()));
}

// Films that scatter

#[test]
fn films_that_scatter_have_the_computed_reflectance_and_transmittance() {
    for row in numbers(include_str!("../data/colour/kubelka_munk_checks.csv")) {
        let layer = Layer::new(row[0], row[1], Micrometres(row[2]));
        // Nine digits are printed.
        assert_near(&format!("{row:?}"), layer.over(row[3]), row[4], 6e-10);
        if row[7].is_finite() {
            assert_near(&format!("{row:?}"), layer.transmittance, row[7], 6e-10);
        }
    }
}

/// Kubelka & Munk's differential equation from the ground up, by Runge and Kutta's fourth-order steps.
fn stepped(k: f64, s: f64, film: f64, ground: f64) -> f64 {
    let grows = |r: f64| s - 2.0 * (k + s) * r + s * r * r;
    let step = film / 4000.0;
    (0..4000).fold(ground, |r, _| {
        let a = grows(r);
        let b = grows(r + 0.5 * step * a);
        let c = grows(r + 0.5 * step * b);
        r + step / 6.0 * (a + 2.0 * b + 2.0 * c + grows(r + step * c))
    })
}

#[test]
fn the_differential_equation_gives_the_same() {
    for (k, s, film, ground) in [
        (0.02, 0.05, 40.0, 0.0),
        (0.02, 0.05, 40.0, 0.8),
        (0.1, 0.02, 25.0, 0.5),
        (0.0, 0.03, 50.0, 0.1),
        (1e-9, 0.4, 90.0, 0.9),
    ] {
        // The steps' own error.
        let what = format!("K {k}, S {s}, {film} um over {ground}");
        assert_near(&what, Layer::new(k, s, Micrometres(film)).over(ground), stepped(k, s, film, ground), 1e-10);
    }
}

#[test]
fn the_hyperbolic_cotangent_gives_the_same() {
    // q = alpha coth(alpha X), R = (Rg (q - K - S) + S) / (q + K + S - S Rg): Kubelka 1948 with alpha = b S.
    for (k, s, film, ground) in [(0.02, 0.05, 40.0, 0.8), (0.3, 0.001, 80.0, 0.6), (1e-5, 0.02, 3.0, 0.2)] {
        let alpha: f64 = maths::pow(k * (k + 2.0 * s), 0.5);
        let squared = maths::exp(-2.0 * alpha * film);
        let q = alpha * (1.0 + squared) / (1.0 - squared);
        let expected = (ground * (q - k - s) + s) / (q + k + s - s * ground);
        // What the difference under the fraction loses.
        assert_near("coth", Layer::new(k, s, Micrometres(film)).over(ground), expected, 1e-12);
    }
}

#[test]
fn fifteen_and_twenty_five_um_are_forty() {
    for (k, s) in [(0.02, 0.05), (0.0, 0.03), (0.03, 0.0), (0.4, 2.0)] {
        let film = |um| Layer::new(k, s, Micrometres(um));
        let (pair, whole) = (film(15.0).on(&film(25.0)), film(40.0));
        assert_near("reflectance", pair.reflectance, whole.reflectance, 1e-14);
        assert_near("from below", pair.from_below, whole.from_below, 1e-14);
        assert_near("transmittance", pair.transmittance, whole.transmittance, 1e-14);
    }
}

#[test]
fn a_pile_of_unlike_layers_can_be_taken_apart_anywhere() {
    // Kubelka 1954: what lies under a layer acts by its reflectance alone.
    let [top, middle, bottom] = [(0.01, 0.002, 30.0), (0.1, 0.3, 8.0), (0.0, 0.05, 20.0)]
        .map(|(k, s, film)| Layer::new(k, s, Micrometres(film)));
    let expected = top.over(middle.over(bottom.over(0.4)));
    assert_near("from the top", top.on(&middle).on(&bottom).over(0.4), expected, 1e-14);
    assert_near("from the bottom", top.on(&middle.on(&bottom)).over(0.4), expected, 1e-14);
    let turned = bottom.on(&middle).on(&top);
    assert_near("turned over", top.on(&middle).on(&bottom).from_below, turned.reflectance, 1e-14);
}

#[test]
fn films_reach_their_limits() {
    let layer = |k, s, film| Layer::new(k, s, Micrometres(film));
    for ground in [0.0, 0.3, 1.0] {
        assert_near("no film", layer(0.1, 0.2, 0.0).over(ground), ground, 1e-15);
        assert_near("nothing in it", layer(0.0, 0.0, 40.0).over(ground), ground, 1e-15);
        // Beer and Lambert, 2 K X; and Kubelka 1948 for K = 0.
        assert_near("no scatter", layer(0.03, 0.0, 35.0).over(ground), ground * maths::exp(-2.1), 1e-15);
        let scattered = ((1.0 - ground) * 1.5 + ground) / ((1.0 - ground) * 1.5 + 1.0);
        assert_near("no absorption", layer(0.0, 0.03, 50.0).over(ground), scattered, 1e-15);
        assert_near("almost none", layer(1e-14, 0.03, 50.0).over(ground), scattered, 1e-12);
        assert_near("thick", layer(0.02, 0.05, 1e5).over(ground), thick_film(0.02, 0.05), 1e-15);
    }
    // By hand: 1 + 0.4 - sqrt(0.16 + 0.8).
    assert_near("thick", thick_film(0.02, 0.05), 1.4 - 0.96_f64.sqrt(), 1e-15);
    assert_eq!((thick_film(0.1, 0.0), thick_film(0.0, 0.1)), (0.0, 1.0));
}

#[test]
fn films_neither_jump_nor_make_light() {
    for k in [0.0, 1e-12, 1e-4, 0.02, 3.0] {
        for s in [0.0, 1e-9, 1e-3, 0.3] {
            let mut before = 1.0;
            for film in (0..400).map(|i| 0.5 * f64::from(i)) {
                let layer = Layer::new(k, s, Micrometres(film));
                let sum = layer.reflectance + layer.transmittance;
                assert!(layer.reflectance >= 0.0 && layer.transmittance >= 0.0 && sum <= 1.0 + 1e-14, "{k} {s} {film}");
                assert!(layer.transmittance <= before, "more film lets less through: {k} {s} {film}");
                before = layer.transmittance;
            }
        }
    }
}

fn red_with_scatter(scatter: f64) -> Scattering {
    Scattering::of_clear(&ember().absorption, &Spectrum::constant(scatter))
}

#[test]
fn the_red_with_scatter_hides_as_computed() {
    for row in numbers(include_str!("../data/colour/hiding_contrast_ratio_red.csv")) {
        let hiding = red_with_scatter(row[0]).hiding(Micrometres(row[1]), Illuminant::D65, Observer::Degrees10);
        // Five decimals are printed, of an absorption printed with six digits.
        assert_near(&format!("{row:?}"), hiding.contrast_ratio.0, row[2], 1e-5);
        assert_near(&format!("{row:?}"), hiding.difference, row[3], 5e-5);
    }
}

#[test]
fn a_clear_without_scatter_never_hides_and_a_paint_does() {
    let film = |paint: Scattering| paint.hiding_film(Micrometres(400.0), Illuminant::D65, Observer::Degrees10);
    assert_eq!(film(red_with_scatter(0.0)), None);
    let hidden = film(red_with_scatter(0.02)).unwrap();
    let difference =
        |um| red_with_scatter(0.02).hiding(Micrometres(um), Illuminant::D65, Observer::Degrees10).difference;
    assert!(difference(hidden.0) < 0.5 && difference(hidden.0 - 0.002) > 0.5, "at {hidden}");
    let white = Scattering { absorption: Spectrum::constant(1e-4), scatter: Spectrum::constant(0.2) };
    assert!(film(white).unwrap().0 > 20.0 && film(white).unwrap().0 < 400.0);
    let scattering_more = Scattering { scatter: Spectrum::constant(0.4), ..white };
    assert!(film(scattering_more).unwrap().0 < film(white).unwrap().0);
}

#[test]
fn a_contrast_ratio_of_0_98_is_about_half_a_unit_of_ciede2000_for_greys() {
    // Computed: 0.45 for Y 20 to 80. Why a film with a difference below 0.5 counts as hiding.
    for y in [0.2, 0.4, 0.8] {
        let [over_black, over_white] = [0.98 * y, y].map(|r| lab(&Spectrum::constant(r)));
        let difference = delta_e00(over_black, over_white);
        assert!((0.35..0.5).contains(&difference), "Y {y}: {difference}");
    }
}

// Stickers and flop

#[test]
fn the_fields_of_a_sticker_under_35_um_of_red_are_the_computed_ones() {
    let [black, grey, white] = sticker(&ember().absorption, Micrometres(35.0)).map(|field| lab(&field));
    // The table of internal reflection moves CIELAB by 1e-4.
    assert_lab("black", black, [3.5166, 10.8585, -4.8656], 3e-4);
    assert_lab("grey", grey, [17.6121, 29.3776, -12.4847], 3e-4);
    assert_lab("white", white, [45.2428, 61.4334, -20.1800], 3e-4);
}

#[test]
fn the_grey_field_darkens_with_each_coat_and_black_stays_told_from_white() {
    // Common practice, no source: the painter counts coats of a tinted clear by the grey field.
    for paint in [ember(), kelp()] {
        let fields = |coats: u32| sticker(&paint.absorption, Micrometres(17.0 * f64::from(coats)));
        let grey = |coats| lab(&fields(coats)[1]).lightness();
        for coats in 0..4 {
            let darker = grey(coats) - grey(coats + 1);
            assert!(darker > 1.0, "{}: coat {} darkens by {darker}", paint.name, coats + 1);
        }
        let [black, _, white] = fields(4);
        assert!(delta_e00(lab(&black), lab(&white)) > 10.0, "{}", paint.name);
    }
}

#[test]
fn the_flop_index_is_its_formula() {
    // Arithmetic only: the formula itself is from memory.
    assert_near("L* 120, 65, 38", flop_index(120.0, 65.0, 38.0), 9.88507957, 1e-8);
    assert_eq!(flop_index(60.0, 60.0, 60.0), 0.0);
    assert_eq!(flop_index(50.0, 60.0, 70.0), 0.0);
}

#[test]
fn an_effect_base_flops_and_a_solid_one_hardly() {
    let paint = ember();
    let effect = |angle| lab(paint.ground_at(Degrees(angle)).unwrap()).lightness();
    // The invented base's own figure, one decimal.
    assert_near("orange", flop_index(effect(15.0), effect(45.0), effect(110.0)), 8.1, 0.05);
    let base = Base::Solid(at_45_0(&paint));
    let solid = |angle| {
        let geometry = Geometry::new(Degrees(angle));
        lab(&base.through(&paint.absorption, Micrometres(0.0), &geometry)).lightness()
    };
    assert!(flop_index(solid(15.0), solid(45.0), solid(110.0)) < 0.5);
}

#[test]
fn without_tint_both_surface_corrections_differ_by_a_constant_only() {
    // Saunderson passes light by (1 - k1)(1 - k2), the way in and out at 45:0 by T45 T0 / n^2.
    let clear = Saunderson::clear();
    let scale = |inside: f64| {
        let solid = Solid(Spectrum::constant(inside)).under(&[], &Geometry::STRAIGHT_ON).0[0];
        solid / clear.measured(inside, Gloss::Excluded)
    };
    assert_near("the same scale", scale(0.05), scale(0.95), 1e-12);
    // By hand: 0.405231 / (0.96 x 0.403654).
    assert_near("their ratio", scale(0.5), 1.045736, 2e-6);
}
