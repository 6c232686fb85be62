//! Tinted clears fitted to simulated spray-out cards: the tint law itself is taken as exact, so every figure here is
//! optimistic. Compared with an earlier fit of ours (`fit_simulation.csv`), with the truth, and with what should be
//! refused or doubted. Does not test any real card: there is none here.

use crate::data::{assert_near, daylight, ground, number};
use fanlap::colour::demonstration::{Demonstration, ember, kelp};
use fanlap::colour::tint::{Card, Doubt, Ground, Measured, Reading, Set, TintFit, fit_tint, smoothest_spectrum};
use fanlap::colour::{BANDS, Base, Geometry, Illuminant, Lab, Observer, Spectrum, Viewing, delta_e00};
use fanlap::maths;
use fanlap::units::{Degrees, Micrometres};
use std::f64::consts::PI;
use std::time::Instant;

/// The film of one simulated coat, um.
const COAT: f64 = 17.0;
const AT_45: Degrees = Degrees(45.0);

/// Noise from a fixed seed: the SplitMix64 generator (Steele, Lea & Flood 2014; constants from memory), Box & Muller
/// 1958.
struct Noise(u64);

impl Noise {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (p, q) = (1.0 - self.even(), self.even());
        (-2.0 * maths::log(p)).sqrt() * maths::cos(2.0 * PI * q)
    }

    fn lab(&mut self, lab: Lab, deviation: f64) -> Measured {
        let mut off = || deviation * self.normal();
        Measured::Lab(Lab { l: lab.l + off(), a: lab.a + off(), b: lab.b + off() })
    }

    fn spectrum(&mut self, seen: Spectrum, share: f64) -> Measured {
        Measured::Spectrum(Spectrum(seen.0.map(|r| r * (1.0 + share * self.normal()))))
    }
}

/// How the simulated cards are measured.
#[derive(Clone, Copy, PartialEq)]
enum By {
    Spectrum,
    Lab,
}

/// A paint that cards are sprayed with, some strength of its tint and a kind of base.
#[derive(Clone)]
struct Truth {
    paint: Demonstration,
    strength: f64,
    ground: Ground,
}

impl Truth {
    fn of(paint: Demonstration) -> Self {
        Self { paint, strength: 1.0, ground: Ground::Effect }
    }

    fn per_coat(&self) -> Spectrum {
        Spectrum(self.paint.absorption.0.map(|a| COAT * self.strength * a))
    }

    fn seen(&self, coats: f64, aspecular: Degrees) -> Spectrum {
        let base = ground(&self.paint, &daylight(if self.ground == Ground::Solid { 45.0 } else { aspecular.0 }));
        let base = match self.ground {
            Ground::Effect => Base::Effect(base),
            Ground::Solid => Base::Solid(base),
        };
        base.through(&self.per_coat(), Micrometres(coats), &Geometry::new(aspecular))
    }

    fn lab(&self, coats: f64, viewing: &Viewing) -> Lab {
        Lab::of(&self.seen(coats, viewing.aspecular), viewing.illuminant, viewing.observer)
    }

    /// A card of that many coats, which may be called something else.
    fn card(&self, called: f64, coats: f64, by: By, deviation: f64, noise: &mut Noise) -> Card {
        let viewing = daylight(45.0);
        let measured = match by {
            By::Spectrum => noise.spectrum(self.seen(coats, AT_45), deviation),
            By::Lab => noise.lab(self.lab(coats, &viewing), deviation),
        };
        Card::new(called, viewing, measured)
    }

    fn cards(&self, coats: &[f64], by: By, deviation: f64, noise: &mut Noise) -> Vec<Card> {
        coats.iter().map(|coats| self.card(*coats, *coats, by, deviation, noise)).collect()
    }

    fn fit(&self, cards: &[Card]) -> TintFit {
        fit_tint(&Set { cards, ground: self.ground, unequal: false }).unwrap()
    }

    /// CIEDE2000 between fit and truth.
    fn off(&self, fit: &TintFit, coats: f64, illuminant: Illuminant) -> f64 {
        let colour = |seen: &Spectrum| Lab::of(seen, illuminant, Observer::Degrees10);
        delta_e00(colour(&self.seen(coats, AT_45)), colour(&fit.colour(coats, AT_45).unwrap()))
    }
}

/// The films of `fit_simulation.csv`.
const COATS: [f64; 5] = [0.5, 1.5, 2.5, 3.5, 4.0];

/// The seven figures of a row of `fit_simulation.csv`.
fn figures(truth: &Truth, fit: &TintFit) -> [f64; 7] {
    let mean = |light| COATS.iter().map(|coats| truth.off(fit, *coats, light)).sum::<f64>() / 5.0;
    let [p, q, r, s, t] = COATS.map(|coats| truth.off(fit, coats, Illuminant::D65));
    [p, q, r, s, t, mean(Illuminant::A), mean(Illuminant::LedB3)]
}

/// A card measured so often that its mean is as good as exact.
fn often(mut card: Card) -> Card {
    card.readings = vec![card.readings[0]; 20];
    card
}

/// The cards of one draw of a row. The base's reading has no noise there, which the fit is told by many readings.
fn row_cards(truth: &Truth, row: &[&str], noise: &mut Noise) -> Vec<Card> {
    let (what, deviation) = (row[0], number(row[3]));
    let base_by = if what.contains("true base") { By::Spectrum } else { By::Lab };
    let by = if row[2] == "1" { By::Spectrum } else { By::Lab };
    let tinted: &[f64] = match what {
        _ if what.contains("cards 0-3") => &[1.0, 2.0, 3.0],
        _ if what.contains("cards 0-2") => &[1.0, 2.0],
        _ if what.contains("cards 1 and 3") => &[1.0, 3.0],
        _ => &[1.0],
    };
    let mut cards = vec![often(truth.card(0.0, 0.0, base_by, 0.0, noise))];
    cards.extend(truth.cards(tinted, by, deviation, noise));
    cards
}

/// The rows of `fit_simulation.csv`; the cells before the first figure, in which only the name is quoted.
fn simulated() -> Vec<(Vec<&'static str>, Vec<f64>)> {
    let table = include_str!("../data/colour/fit_simulation.csv");
    let split = |line: &'static str| {
        let (name, rest) = line[1..].split_once("\",").expect("a quoted name");
        let cells: Vec<&str> = std::iter::once(name).chain(rest.split(',')).collect();
        (cells[..5].to_vec(), cells[5..].iter().map(|cell| number(cell)).collect())
    };
    table.lines().skip(1).map(split).collect()
}

#[test]
fn earlier_simulated_fits_are_reached() {
    let (truth, draws) = (Truth::of(ember()), 40);
    for (row, expected) in simulated() {
        let mut noise = Noise(7);
        let mut mean = [0.0; 7];
        for _ in 0..draws {
            let fit = truth.fit(&row_cards(&truth, &row, &mut noise));
            mean.iter_mut().zip(figures(&truth, &fit)).for_each(|(mean, figure)| *mean += figure / f64::from(draws));
        }
        println!("{}\n  {mean:.3?}\n  {expected:.3?}", row[0]);
        for (mean, expected) in mean.iter().zip(&expected) {
            // A mean over 40 draws is known to about 8 per cent, the earlier ones no better; and their basis ended at
            // 600 nm, knowing where this red absorbs: worth 0.03 at half a coat. Ours covers 380 to 730 nm.
            assert!(*mean <= 1.15 * expected + 0.03, "{}: {mean:.3}, expected {expected:.3}", row[0]);
        }
        let sum = |figures: &[f64]| figures.iter().sum::<f64>();
        assert!(sum(&mean) <= 1.08 * sum(&expected), "{}: {:.3}, expected {:.3}", row[0], sum(&mean), sum(&expected));
    }
}

#[test]
fn a_green_is_fitted_as_well_as_a_red() {
    let truth = Truth::of(kelp());
    let (mut noise, mut worst) = (Noise(3), 0.0_f64);
    for _ in 0..10 {
        let spectra = truth.fit(&truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Spectrum, 0.01, &mut noise));
        worst = figures(&truth, &spectra).into_iter().fold(worst, f64::max);
    }
    println!("spectra, worst {worst:.3}");
    assert!(worst < 0.4, "spectra with 1 per cent noise: {worst}");
    let mut mean = [0.0; 7];
    for _ in 0..20 {
        let fit = truth.fit(&truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Lab, 0.2, &mut noise));
        mean.iter_mut().zip(figures(&truth, &fit)).for_each(|(mean, figure)| *mean += figure / 20.0);
    }
    println!("CIELAB, mean {mean:.3?}");
    // As the red's row "base from Lab", with the noise of the base's reading added.
    assert!(mean[..5].iter().all(|off| *off < 0.3) && mean[5] < 0.77 && mean[6] < 0.58, "{mean:?}");
}

#[test]
fn exact_spectra_give_the_exact_tint() {
    for (paint, strength, solid) in
        [(ember(), 1.0, false), (kelp(), 1.0, false), (ember(), 0.2, false), (kelp(), 2.0, false), (ember(), 1.0, true)]
    {
        let truth = Truth { paint, strength, ground: if solid { Ground::Solid } else { Ground::Effect } };
        let fit = truth.fit(&truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Spectrum, 0.0, &mut Noise(1)));
        let highest = truth.per_coat().0.iter().fold(0.0, |high: f64, depth| high.max(*depth));
        let off = (0..BANDS).map(|b| (fit.per_coat.0[b] - truth.per_coat().0[b]).abs()).fold(0.0, f64::max);
        let figures = figures(&truth, &fit);
        println!(
            "{} x {strength} solid {solid}: off {:.1e} {figures:.4?} {:?}",
            truth.paint.name,
            off / highest,
            fit.doubts
        );
        // The pull towards smoothness; the weaker the tint, the more its cards count as noise.
        assert!(off < 5e-3 * highest, "{} x {strength}: {off} of {highest}", truth.paint.name);
        assert!(figures.iter().all(|figure| *figure < 0.04), "{} x {strength}: {figures:?}", truth.paint.name);
        assert_eq!((fit.settled, fit.doubts), (true, vec![]));
    }
}

#[test]
fn exact_colours_give_the_colours_between() {
    for (paint, strength, solid) in
        [(ember(), 1.0, false), (kelp(), 1.0, false), (ember(), 0.2, false), (kelp(), 2.0, false), (ember(), 1.0, true)]
    {
        let truth = Truth { paint, strength, ground: if solid { Ground::Solid } else { Ground::Effect } };
        let fit = truth.fit(&truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Lab, 0.0, &mut Noise(1)));
        let figures = figures(&truth, &fit);
        println!(
            "{} x {strength} solid {solid}: {figures:.3?} {:.3?} {:?}",
            truth.paint.name, fit.residuals, fit.doubts
        );
        assert!(figures[..3].iter().all(|figure| *figure < 0.15), "{} x {strength}: {figures:?}", truth.paint.name);
    }
}

#[test]
fn unequal_coats_are_noticed_and_found() {
    let truth = Truth::of(ember());
    let sprayed = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.2), (3.0, 3.2)];
    let cases = [(By::Lab, 0.0, [0.04, 0.12]), (By::Spectrum, 0.0, [0.01, 0.01]), (By::Spectrum, 0.01, [0.02, 0.03])];
    for (by, deviation, tolerance) in cases {
        let mut noise = Noise(5);
        let tinted = |(called, coats)| truth.card(called, coats, by, deviation, &mut noise);
        let mut cards: Vec<Card> = sprayed.into_iter().map(tinted).collect();
        cards[0] = truth.card(0.0, 0.0, By::Spectrum, 0.0, &mut noise);
        let equal = truth.fit(&cards);
        let fit = fit_tint(&Set { cards: &cards, ground: Ground::Effect, unequal: true }).unwrap();
        let ratios = [fit.coats[2] / fit.coats[1], fit.coats[3] / fit.coats[1]];
        println!("{ratios:.3?} left {:.3} {:.3} {:?}", fit.left_equal, fit.left_unequal, equal.doubts);
        // The pull towards the coats as given and towards a smooth tint; an earlier fit of ours left 0.31 and found
        // 2.19 and 3.15 from CIELAB.
        assert_near("second card", ratios[0], 2.2, tolerance[0]);
        assert_near("third card", ratios[1], 3.2, tolerance[1]);
        assert_near("sum of the coats", fit.coats.iter().sum(), 6.0, 1e-9);
        assert!(fit.left_unequal < 0.4 * fit.left_equal);
        assert!(equal.doubts.iter().any(|doubt| matches!(doubt, Doubt::UnequalCoats { .. })), "{:?}", equal.doubts);
        assert!(!fit.doubts.iter().any(|doubt| matches!(doubt, Doubt::UnequalCoats { .. })));
        assert_eq!(equal.coats, [0.0, 1.0, 2.0, 3.0]);
    }
}

#[test]
fn equal_coats_raise_no_doubt_in_spite_of_noise() {
    for paint in [ember(), kelp()] {
        let (truth, mut noise) = (Truth::of(paint), Noise(11));
        for _ in 0..15 {
            let spectra = truth.fit(&truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Spectrum, 0.01, &mut noise));
            assert_eq!(spectra.doubts, []);
        }
        let expected = [Doubt::OneLight, Doubt::BaseByColour { aspecular: AT_45 }];
        for deviation in [0.1, 0.2] {
            let fits = (0..15).map(|_| truth.fit(&truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Lab, deviation, &mut noise)));
            let more = fits.filter(|fit| fit.doubts != expected).inspect(|fit| println!("{:?}", fit.doubts)).count();
            assert_eq!(more, 0, "{}, {deviation}", truth.paint.name);
        }
    }
}

#[test]
fn residuals_are_what_the_fitted_colours_leave() {
    let truth = Truth::of(ember());
    for by in [By::Lab, By::Spectrum] {
        let cards = truth.cards(&[0.0, 1.0, 2.0, 3.0], by, if by == By::Lab { 0.3 } else { 0.02 }, &mut Noise(2));
        for unequal in [false, true] {
            let fit = fit_tint(&Set { cards: &cards, ground: Ground::Effect, unequal }).unwrap();
            for (place, card) in cards.iter().enumerate() {
                let seen = fit.colour(fit.coats[place], AT_45).unwrap();
                let lab = Lab::of(&seen, Illuminant::D65, Observer::Degrees10);
                assert_near("residual", fit.residuals[place], delta_e00(lab, card.readings[0].lab()), 1e-9);
            }
        }
    }
}

#[test]
fn the_smoothest_spectrum_has_the_colour_and_comes_near_the_base() {
    let (base, viewing) = (*ground(&ember(), &daylight(45.0)), daylight(45.0));
    let colour = |seen: &Spectrum| Lab::of(seen, viewing.illuminant, viewing.observer);
    let smoothest = smoothest_spectrum(colour(&base), &viewing);
    let square = base.combined(&smoothest, |p, q| (p - q) * (p - q)).weighted_sum(&Spectrum::constant(1.0));
    // 0.026 was computed in Python with the same rule.
    assert_near("rms off the base", (square / BANDS as f64).sqrt(), 0.026, 1e-3);

    for paint in [ember(), kelp()] {
        for (aspecular, seen) in &paint.ground {
            for illuminant in Illuminant::ALL {
                let viewing = Viewing { illuminant, observer: Observer::Degrees2, ..daylight(aspecular.0) };
                let wanted = Lab::of(seen, illuminant, Observer::Degrees2);
                let found = smoothest_spectrum(wanted, &viewing);
                let got = Lab::of(&found, illuminant, Observer::Degrees2);
                let off = [got.l - wanted.l, got.a - wanted.a, got.b - wanted.b].map(f64::abs);
                assert!(off.iter().all(|off| *off < 1e-6), "{} at {aspecular}: {off:?}", paint.name);
                assert!(found.0.iter().all(|r| *r > 0.0 && *r < 3.5));
            }
        }
    }
}

#[test]
fn several_angles_and_lights_share_one_tint() {
    let (truth, mut noise) = (Truth::of(ember()), Noise(9));
    let views: Vec<Viewing> = [15.0, 45.0, 110.0]
        .into_iter()
        .flat_map(|angle| [Illuminant::D65, Illuminant::A].map(|illuminant| Viewing { illuminant, ..daylight(angle) }))
        .collect();
    let (mut mean, mut spent) = ([0.0; 7], 0.0);
    for _ in 0..5 {
        let reading = |coats: f64, viewing: &Viewing, noise: &mut Noise| Reading {
            viewing: *viewing,
            measured: noise.lab(truth.lab(coats, viewing), 0.2),
        };
        let mut card = |coats| {
            let readings = views.iter().map(|viewing| reading(coats, viewing, &mut noise)).collect();
            Card { coats, readings, film: None }
        };
        let cards = [0.0, 1.0, 2.0, 3.0].map(&mut card);
        let begun = Instant::now();
        let fit = truth.fit(&cards);
        spent += begun.elapsed().as_secs_f64() / 5.0;
        mean.iter_mut().zip(figures(&truth, &fit)).for_each(|(mean, figure)| *mean += figure / 5.0);
        assert_eq!(fit.bases.iter().map(|(angle, _)| angle.0).collect::<Vec<_>>(), [15.0, 45.0, 110.0]);
        assert!(!fit.doubts.contains(&Doubt::OneLight) && fit.colour(1.0, Degrees(75.0)).is_none());
        assert!(fit.residuals.iter().all(|off| *off < 1.0), "{:?}", fit.residuals);
    }
    println!("three angles, two lights: {mean:.3?}, {:.0} ms", 1e3 * spent);
    // A second light more than halves what one light leaves under A (0.77 from D65 alone).
    assert!(mean[5] < 0.35, "{mean:?}");
}

#[test]
fn a_base_that_was_not_measured_follows_from_two_spectra() {
    let (truth, mut noise) = (Truth::of(ember()), Noise(4));
    let fit = truth.fit(&truth.cards(&[1.0, 2.0, 3.0], By::Spectrum, 0.01, &mut noise));
    println!("{:.3?} base {:.3} {:?}", figures(&truth, &fit), truth.off(&fit, 0.0, Illuminant::D65), fit.doubts);
    assert_eq!(fit.doubts, [Doubt::BaseNotMeasured { aspecular: AT_45 }]);
    assert!(truth.off(&fit, 0.0, Illuminant::D65) < 0.5 && truth.off(&fit, 0.5, Illuminant::D65) < 0.3);
}

#[test]
fn gauged_films_give_the_absorption_per_micrometre() {
    let truth = Truth::of(ember());
    let mut cards = truth.cards(&[0.0, 1.0, 2.0, 3.0], By::Spectrum, 0.0, &mut Noise(1));
    assert_eq!(truth.fit(&cards).film_per_coat, None);
    (cards[1].film, cards[3].film) = (Some(Micrometres(17.0)), Some(Micrometres(51.0)));
    let fit = truth.fit(&cards);
    let film = fit.film_per_coat.unwrap();
    assert_near("film of a coat", film.0, COAT, 1e-9);
    let absorption = fit.absorption(film);
    for band in 0..BANDS {
        assert_near("absorption", absorption.0[band], truth.paint.absorption.0[band], 1e-4);
    }
    assert_eq!(fit.doubts, []);
    cards[1].film = Some(Micrometres(30.0));
    assert!(truth.fit(&cards).doubts.contains(&Doubt::Gauge { card: 1 }));
}

#[test]
fn doubts_are_raised_where_they_should_be() {
    let (red, green, mut noise) = (Truth::of(ember()), Truth::of(kelp()), Noise(8));
    let one = red.fit(&red.cards(&[0.0, 1.0], By::Spectrum, 0.0, &mut noise));
    assert_eq!(one.doubts, [Doubt::OneTintedFilm]);
    assert_eq!(one.doubt_at(1.0), None);
    assert_eq!(one.doubt_at(2.0), Some(Doubt::BeyondTheCards { coats: 2.0, thickest: 1.0 }));

    let mut wrong = red.cards(&[0.0, 1.0, 3.0], By::Lab, 0.0, &mut noise);
    wrong[1] = green.card(1.0, 1.0, By::Lab, 0.0, &mut noise);
    let wrong = red.fit(&wrong).doubts;
    assert!(wrong.iter().any(|doubt| matches!(doubt, Doubt::NotByAbsorption { .. })), "{wrong:?}");
    assert!(wrong.contains(&Doubt::LighterThanBase { card: 1 }), "{wrong:?}");

    let mut milky = red.cards(&[0.0, 1.0, 3.0], By::Spectrum, 0.0, &mut noise);
    let scattered = Spectrum(red.seen(3.0, AT_45).0.map(|r| r + 0.08));
    milky[2] = Card::new(3.0, daylight(45.0), Measured::Spectrum(scattered));
    let milky = red.fit(&milky).doubts;
    assert!(milky.contains(&Doubt::LighterThanBase { card: 2 }), "{milky:?}");
    assert!(milky.iter().all(|doubt| doubt.words().len() > 40));
}

#[test]
fn sets_that_cannot_be_fitted_are_refused() {
    let (red, mut noise) = (Truth::of(ember()), Noise(6));
    let sound = red.cards(&[0.0, 1.0, 3.0], By::Lab, 0.0, &mut noise);
    let refused = |cards: &[Card], at: &str| {
        let problem = fit_tint(&Set { cards, ground: Ground::Effect, unequal: false }).unwrap_err();
        assert_eq!(problem.at, at, "{problem}");
    };
    let changed = |change: &dyn Fn(&mut Vec<Card>)| {
        let mut cards = sound.clone();
        change(&mut cards);
        cards
    };
    let lab = |l, a, b| Measured::Lab(Lab { l, a, b });
    refused(&[], "cards");
    refused(&sound[..1], "cards");
    refused(&sound[1..], "base at 45\u{b0}");
    refused(&vec![sound[1].clone(); 25], "cards");
    refused(&changed(&|cards| cards.push(Card::new(0.0, daylight(45.0), lab(62.0, 20.0, 49.0)))), "base at 45\u{b0}");
    for coats in [-1.0, f64::NAN, 0.01, 13.0] {
        refused(&changed(&|cards| cards[1].coats = coats), "cards[1].coats");
    }
    refused(&changed(&|cards| cards[2].readings.clear()), "cards[2].readings");
    refused(&changed(&|cards| cards[2].film = Some(Micrometres(f64::INFINITY))), "cards[2].film");
    refused(&changed(&|cards| cards[1].readings[0].viewing.aspecular.0 = 170.0), "cards[1].readings[0].aspecular");
    refused(&changed(&|cards| cards[1].readings[0].viewing.aspecular.0 = 25.0), "base at 25\u{b0}");
    refused(&changed(&|cards| cards[1].readings[0].measured = lab(f64::NAN, 0.0, 0.0)), "cards[1].readings[0].L");
    refused(&changed(&|cards| cards[1].readings[0].measured = lab(10.0, 0.0, 90.0)), "cards[1].readings[0]");
    let mut dark = red.seen(1.0, AT_45);
    dark.0[3] = -0.5;
    refused(
        &changed(&|cards| cards[1].readings[0].measured = Measured::Spectrum(dark)),
        "cards[1].readings[0], band 4",
    );
}

#[test]
fn whatever_is_given_is_refused_or_fitted_with_finite_numbers() {
    let mut noise = Noise(12);
    let (mut fitted, mut refused) = (0, 0);
    for _ in 0..120 {
        let mut between = |low: f64, high: f64| low + (high - low) * noise.even();
        let mut card = |place: usize| {
            let coats = if place == 0 { 0.0 } else { between(0.1, 12.0) };
            let level = between(0.0, 1.2);
            let measured = match between(0.0, 3.0) as u32 {
                0 => Measured::Spectrum(Spectrum(std::array::from_fn(|_| level * between(-0.01, 1.0)))),
                _ => Measured::Lab(Lab { l: between(0.0, 120.0), a: between(-80.0, 80.0), b: between(-80.0, 80.0) }),
            };
            Card::new(coats, daylight(45.0), measured)
        };
        let cards: Vec<Card> = (0..4).map(&mut card).collect();
        let ground = if noise.even() < 0.5 { Ground::Effect } else { Ground::Solid };
        let Ok(fit) = fit_tint(&Set { cards: &cards, ground, unequal: noise.even() < 0.5 }) else {
            refused += 1;
            continue;
        };
        fitted += 1;
        assert!(fit.per_coat.0.iter().all(|depth| (0.0..100.0).contains(depth)), "{:?}", fit.per_coat);
        assert!(fit.residuals.iter().chain(&fit.coats).all(|number| number.is_finite()), "{fit:?}");
        assert!(fit.colour(5.0, AT_45).unwrap().0.iter().all(|r| r.is_finite()));
        assert!(fit.doubts.len() > 1, "{:?}", fit.doubts);
    }
    println!("{fitted} fitted, {refused} refused");
    assert!(fitted > 40 && refused > 10, "{fitted} fitted, {refused} refused");
}

#[test]
#[ignore = "a measurement: prints how long fits take"]
fn time_of_a_fit() {
    let truth = Truth::of(ember());
    for (by, deviation) in [(By::Spectrum, 0.01), (By::Lab, 0.2)] {
        let mut noise = Noise(1);
        let mut times: Vec<f64> = Vec::new();
        for _ in 0..60 {
            let cards = truth.cards(&[0.0, 1.0, 2.0, 3.0], by, deviation, &mut noise);
            let begun = Instant::now();
            truth.fit(&cards);
            times.push(1e3 * begun.elapsed().as_secs_f64());
        }
        times.sort_by(f64::total_cmp);
        println!(
            "{}: median {:.1} ms, longest {:.1} ms",
            if by == By::Lab { "CIELAB" } else { "spectra" },
            times[30],
            times[59]
        );
    }
}
