//! What speaks against trusting a fitted tint, found in its cards and in what the fit leaves. The limits are our own,
//! tried on simulated cards (`tests/colour_tint.rs`). Does not know how the cards were sprayed.

use super::cards::{Measured, Reading, Set};
use super::model::LAB_SURE;
use super::{Solution, film_per_coat};
use crate::spectrum::{BANDS, Spectrum};
use crate::tristimulus::Xyz;
use fanlap_film::units::Degrees;

/// A reason to trust a fitted tint less.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doubt {
    /// All tinted cards have one number of coats.
    OneTintedFilm,
    /// CIELAB alone, all under one light: unsafe under any other.
    OneLight,
    /// No spectrum at this angle: the base is the smoothest that has its colour.
    BaseByColour {
        /// The angle.
        aspecular: Degrees,
    },
    /// The base was not measured at this angle and follows from the tinted cards.
    BaseNotMeasured {
        /// The angle.
        aspecular: Degrees,
    },
    /// With other coats than those given the cards agree much better. Readings noisier than 0.2 in CIELAB or 1 per cent
    /// can look so too.
    UnequalCoats {
        /// Root mean square left in L*, a*, b* with the coats as given.
        equal: f64,
        /// The same with the coats fitted.
        unequal: f64,
    },
    /// A tint that only absorbs cannot look like this card.
    NotByAbsorption {
        /// Its place among the cards, from 0.
        card: usize,
        /// CIEDE2000 between the card and the fit.
        off: f64,
    },
    /// A tinted card sends back more than the base: something scatters, or the base is another one.
    LighterThanBase {
        /// Its place among the cards, from 0.
        card: usize,
    },
    /// The gauged film does not agree with the coats of this card and the films of the others.
    Gauge {
        /// Its place among the cards, from 0.
        card: usize,
    },
    /// More coats than on the thickest card.
    BeyondTheCards {
        /// The coats asked for.
        coats: f64,
        /// The coats of the thickest card.
        thickest: f64,
    },
    /// The fit did not come to rest.
    NotSettled,
}

impl Doubt {
    /// The doubt and what can be done, for a painter.
    pub fn words(&self) -> String {
        match self {
            Doubt::OneTintedFilm => "All tinted cards have the same coats; colours at other films are a guess. \
                 Add a card with three coats."
                .into(),
            Doubt::OneLight => {
                "Measured as L*a*b* under one light; under another the colours may be off by about half \
                 a unit or more. Measure spectra, or L*a*b* under a second light."
                    .into()
            }
            Doubt::BaseByColour { aspecular } => {
                format!("At {aspecular} only the colour of the base is known, not its spectrum.")
            }
            Doubt::BaseNotMeasured { aspecular } => {
                format!("At {aspecular} the base was not measured; it is deduced from the tinted cards.")
            }
            Doubt::UnequalCoats { equal, unequal } => format!(
                "The coats seem to be unequal: {equal:.2} is left in L*a*b*, {unequal:.2} if they may differ. Fit the \
                 coats too, or gauge the films."
            ),
            Doubt::NotByAbsorption { card, off } => format!(
                "Card {} is {off:.1} off in CIEDE2000: this is no clear tint over this base, or a reading is wrong.",
                card + 1
            ),
            Doubt::LighterThanBase { card } => {
                format!(
                    "Card {} is lighter than the base in part of the spectrum: a clear tint only takes light.",
                    card + 1
                )
            }
            Doubt::Gauge { card } => format!("The gauged film of card {} does not fit its number of coats.", card + 1),
            Doubt::BeyondTheCards { coats, thickest } => {
                format!("{coats:.1} coats lie beyond the thickest card ({thickest:.1}); the further, the less sure.")
            }
            Doubt::NotSettled => "The fit did not come to rest; its figures are the best found.".into(),
        }
    }
}

/// CIEDE2000 beyond which a card does not fit: noise of 0.5 in CIELAB leaves less.
const OFF: f64 = 1.5;
/// By how much the squared residuals, in standard deviations, must fall before coats count as unequal. Equal ones made
/// them fall by up to 14, one with a fifth too much by 12 to 120 (simulated, noise 0.2).
const UNEQUAL: f64 = 18.0;
/// Share by which a tinted card may exceed the base in X, Y, Z and in a band, for noise; and this much reflectance.
const LIGHTER: f64 = 0.05;
const LIGHTER_BAND: f64 = 0.1;
const DARK: f64 = 0.005;
/// Share by which a gauged film may differ from the fit's.
const GAUGE: f64 = 0.2;

/// Every doubt about a fit but those about a film that is asked for later.
pub(super) fn doubts(set: &Set, equal: &Solution, unequal: &Solution, coats: &[f64]) -> Vec<Doubt> {
    let chosen = if set.unequal { unequal } else { equal };
    let mut doubts = of_the_cards(set);
    let residuals = chosen.residuals(set.cards.len());
    let too_far = residuals.iter().enumerate().filter(|(_, off)| **off > OFF);
    doubts.extend(too_far.map(|(card, off)| Doubt::NotByAbsorption { card, off: *off }));
    doubts.extend(
        (0..set.cards.len()).filter(|card| lighter(set, chosen, *card)).map(|card| Doubt::LighterThanBase { card }),
    );
    doubts.extend((!set.unequal).then(|| unequal_coats(equal, unequal)).flatten());
    doubts.extend(gauges(set, coats));
    doubts.extend((!chosen.fitted.settled).then_some(Doubt::NotSettled));
    doubts
}

/// What is missing in the cards.
fn of_the_cards(set: &Set) -> Vec<Doubt> {
    let mut tinted: Vec<f64> = set.cards.iter().map(|card| card.coats).filter(|coats| *coats > 0.0).collect();
    tinted.dedup();
    let mut doubts = Vec::new();
    doubts.extend(tinted.windows(2).all(|pair| pair[0] == pair[1]).then_some(Doubt::OneTintedFilm));
    let readings: Vec<&Reading> =
        set.readings().filter(|(card, _)| set.cards[*card].coats > 0.0).map(|(_, r)| r).collect();
    let light = |r: &Reading| (r.viewing.illuminant, r.viewing.observer);
    let one_light = readings.iter().all(|r| !r.is_spectrum() && light(r) == light(readings[0]));
    doubts.extend(one_light.then_some(Doubt::OneLight));
    for aspecular in set.angles() {
        let spectra = set.readings().any(|(_, r)| r.viewing.aspecular == aspecular && r.is_spectrum());
        doubts.extend((!spectra).then_some(Doubt::BaseByColour { aspecular }));
        doubts.extend(set.base_readings(aspecular).is_empty().then_some(Doubt::BaseNotMeasured { aspecular }));
    }
    doubts
}

/// Whether the coats as given leave much more than fitted ones.
fn unequal_coats(equal: &Solution, unequal: &Solution) -> Option<Doubt> {
    let noise = (unequal.left() / LAB_SURE).max(1.0);
    let gained = equal.fitted.cost() - unequal.fitted.cost();
    let doubt = Doubt::UnequalCoats { equal: equal.left(), unequal: unequal.left() };
    (gained > UNEQUAL * noise * noise).then_some(doubt)
}

/// Whether a tinted card sends back more than the base.
fn lighter(set: &Set, chosen: &Solution, card: usize) -> bool {
    let angles = set.angles();
    let exceeds = |reading: &Reading| {
        let place = angles.iter().position(|angle| *angle == reading.viewing.aspecular).unwrap_or(0);
        let base = chosen.model.base(&chosen.fitted.values, place);
        let measured = set.base_readings(reading.viewing.aspecular).into_iter().find(|r| r.viewing == reading.viewing);
        let base_xyz = measured.map(|base| base.xyz().0);
        let fitted_xyz = || Xyz::of(&base, reading.viewing.illuminant, reading.viewing.observer);
        exceeds_in_light(reading, base_xyz.unwrap_or_else(fitted_xyz)) || exceeds_in_a_band(reading, &base)
    };
    set.cards[card].coats > 0.0 && set.cards[card].readings.iter().any(exceeds)
}

fn exceeds_in_light(reading: &Reading, base: Xyz) -> bool {
    let (seen, white) = reading.xyz();
    let pairs = [(seen.x, base.x, white.x), (seen.y, base.y, white.y), (seen.z, base.z, white.z)];
    pairs.iter().any(|(seen, base, white)| *seen > (1.0 + LIGHTER) * base + DARK * white)
}

fn exceeds_in_a_band(reading: &Reading, base: &Spectrum) -> bool {
    match &reading.measured {
        Measured::Spectrum(seen) => (0..BANDS).any(|b| seen.0[b] > (1.0 + LIGHTER_BAND) * base.0[b] + DARK),
        Measured::Lab(_) => false,
    }
}

/// The gauged cards whose film does not fit their coats.
fn gauges(set: &Set, coats: &[f64]) -> Vec<Doubt> {
    let Some(per_coat) = film_per_coat(set, coats) else { return Vec::new() };
    let off = |card: usize| {
        let expected = per_coat.0 * coats[card];
        set.cards[card].film.is_some_and(|film| (film.0 - expected).abs() > GAUGE * expected)
    };
    (0..set.cards.len()).filter(|card| off(*card)).map(|card| Doubt::Gauge { card }).collect()
}
