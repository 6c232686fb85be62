//! Spray-out cards as they are measured, and what a set of them must be to be fitted at all. The limits are our own: no
//! source. Does not know whether the cards belong together.

use super::model::Base;
use crate::difference::delta_e00;
use crate::spectrum::{BANDS, Spectrum};
use crate::track::Viewing;
use crate::tristimulus::{Lab, Xyz};
use fanlap_film::error::Problem;
use fanlap_film::maths::sort;
use fanlap_film::units::{Degrees, Micrometres};

/// What an instrument said, gloss excluded.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(clippy::large_enum_variant)] // a set holds a few dozen of them
pub enum Measured {
    /// Reflectance factors, 1 for a perfect diffuser.
    Spectrum(Spectrum),
    /// CIELAB under the light and for the observer of the reading.
    Lab(Lab),
}

/// One measurement of one card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The angle it was measured at; light and observer are those of a CIELAB reading, and those that a spectrum's
    /// residual is judged under.
    pub viewing: Viewing,
    /// What was measured.
    pub measured: Measured,
}

/// A card: base, tinted clear, untinted clear.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Coats of the tinted clear as they were sprayed: 0 for the base under untinted clear, 1, 1.5, 2 ...
    pub coats: f64,
    /// What was measured on it: one reading, or several at other angles or under other lights.
    pub readings: Vec<Reading>,
    /// The dry film of the tinted clear on this card, if it was gauged.
    pub film: Option<Micrometres>,
}

impl Card {
    /// A card with one reading and no gauged film.
    pub fn new(coats: f64, viewing: Viewing, measured: Measured) -> Self {
        Self { coats, readings: vec![Reading { viewing, measured }], film: None }
    }
}

/// What lies under the tinted clear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Flakes, which send the light out again on the first try.
    Effect,
    /// Without flakes, evenly diffuse.
    Solid,
}

/// Cards sprayed with one tint over one base.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Set<'a> {
    /// The cards, in any order.
    pub cards: &'a [Card],
    /// The kind of base.
    pub ground: Ground,
    /// Whether every card's number of coats is to be fitted too, near the number given.
    pub unequal: bool,
}

impl Reading {
    /// CIELAB under this reading's light and observer.
    pub fn lab(&self) -> Lab {
        match &self.measured {
            Measured::Lab(lab) => *lab,
            Measured::Spectrum(seen) => Lab::of(seen, self.viewing.illuminant, self.viewing.observer),
        }
    }

    /// The tristimulus values, and those of a perfect white.
    pub(super) fn xyz(&self) -> (Xyz, Xyz) {
        let white = Xyz::white(self.viewing.illuminant, self.viewing.observer);
        (self.lab().to_xyz(white), white)
    }

    pub(super) fn is_spectrum(&self) -> bool {
        matches!(self.measured, Measured::Spectrum(_))
    }
}

/// Most cards and most readings of one card.
const MOST: usize = 24;
/// Most coats on one card.
const MOST_COATS: f64 = 12.0;
/// Thickest tinted film that a gauge may have read, um.
const MOST_FILM: f64 = 1000.0;
/// Highest reflectance factor: near the highlight of flakes several times that of a perfect diffuser is real.
const MOST_REFLECTANCE: f64 = 20.0;
/// The noise of a dark reading that may lie below nothing.
const LEAST_REFLECTANCE: f64 = -0.02;
/// Two base cards further apart than this (CIEDE2000) are not the same base.
const SAME_BASE: f64 = 2.0;

impl<'a> Set<'a> {
    /// Every aspecular angle that was measured, in the order of the cards.
    pub(super) fn angles(&self) -> Vec<Degrees> {
        let mut angles: Vec<Degrees> = Vec::new();
        for (_, reading) in self.readings() {
            if !angles.contains(&reading.viewing.aspecular) {
                angles.push(reading.viewing.aspecular);
            }
        }
        angles
    }

    /// Every reading with the place of its card.
    pub(super) fn readings(&self) -> impl Iterator<Item = (usize, &'a Reading)> {
        self.cards.iter().enumerate().flat_map(|(place, card)| card.readings.iter().map(move |r| (place, r)))
    }

    /// The readings of the base at an angle.
    pub(super) fn base_readings(&self, aspecular: Degrees) -> Vec<&Reading> {
        let here = |(card, reading): &(usize, &Reading)| {
            self.cards[*card].coats == 0.0 && reading.viewing.aspecular == aspecular
        };
        self.readings().filter(here).map(|(_, reading)| reading).collect()
    }

    /// The base at an angle from spectra of it: their mean, if there are any.
    pub(super) fn known_base(&self, aspecular: Degrees) -> Option<Base> {
        let spectrum = |reading: &&Reading| match reading.measured {
            Measured::Spectrum(seen) => Some(seen),
            Measured::Lab(_) => None,
        };
        let spectra: Vec<Spectrum> = self.base_readings(aspecular).iter().filter_map(spectrum).collect();
        let mean = |band| spectra.iter().map(|s| s.0[band]).sum::<f64>() / spectra.len() as f64;
        (!spectra.is_empty()).then(|| Base::Known(Spectrum(std::array::from_fn(mean))))
    }

    /// Refuses a set that cannot be fitted.
    pub(super) fn check(&self) -> Result<(), Problem> {
        if self.cards.is_empty() || self.cards.len() > MOST {
            let remedy = "Give the base card and two cards with different numbers of coats.";
            return Err(Problem::new("cards", format!("{} cards", self.cards.len()), "2 to 24 cards", remedy));
        }
        for (place, card) in self.cards.iter().enumerate() {
            check_card(&format!("cards[{place}]"), card)?;
        }
        if self.cards.iter().all(|card| card.coats == 0.0) {
            let remedy = "Add a card with tinted clear, better two.";
            return Err(Problem::new("cards", "only the base", "at least one card with tinted clear", remedy));
        }
        self.angles().into_iter().try_for_each(|angle| self.check_base(angle))
    }

    /// The base at an angle must be measured once and for all, or follow from two spectra.
    fn check_base(&self, aspecular: Degrees) -> Result<(), Problem> {
        let at = format!("base at {aspecular}");
        let bases = self.base_readings(aspecular);
        if bases.is_empty() {
            let spectra = self.readings().filter(|(_, r)| r.viewing.aspecular == aspecular && r.is_spectrum());
            let mut coats: Vec<f64> = spectra.map(|(card, _)| self.cards[card].coats).collect();
            sort(&mut coats);
            coats.dedup();
            let remedy = "Measure a card with 0 coats at this angle.";
            let allowed = "a reading of the base, or spectra at two numbers of coats";
            return if coats.len() < 2 { Err(Problem::new(at, "no reading", allowed, remedy)) } else { Ok(()) };
        }
        for (i, one) in bases.iter().enumerate() {
            for other in &bases[..i] {
                let same_light = one.viewing == other.viewing;
                let apart = if same_light { delta_e00(one.lab(), other.lab()) } else { 0.0 };
                if apart > SAME_BASE {
                    let given = format!("two readings {apart:.1} apart in CIEDE2000");
                    let remedy = "Leave out the card that is not of this base.";
                    return Err(Problem::new(at, given, format!("at most {SAME_BASE} apart"), remedy));
                }
            }
        }
        Ok(())
    }
}

fn check_card(at: &str, card: &Card) -> Result<(), Problem> {
    number(&format!("{at}.coats"), card.coats, (0.0, MOST_COATS), "coats", "Give the coats as sprayed.")?;
    if card.coats > 0.0 && card.coats < 0.1 {
        let allowed = "0 for the base, or 0.1 coats and more";
        return Err(Problem::new(format!("{at}.coats"), card.coats.to_string(), allowed, "Give the coats as sprayed."));
    }
    if let Some(film) = card.film {
        let least = if card.coats == 0.0 { 0.0 } else { 0.1 };
        number(&format!("{at}.film"), film.0, (least, MOST_FILM), "um", "Give the tinted film alone.")?;
    }
    if card.readings.is_empty() || card.readings.len() > MOST {
        let given = format!("{} readings", card.readings.len());
        return Err(Problem::new(format!("{at}.readings"), given, "1 to 24 readings", "Measure the card."));
    }
    card.readings.iter().enumerate().try_for_each(|(i, r)| check_reading(&format!("{at}.readings[{i}]"), r))
}

fn check_reading(at: &str, reading: &Reading) -> Result<(), Problem> {
    let remedy = "Measure again, or correct the number.";
    number(&format!("{at}.aspecular"), reading.viewing.aspecular.0, (-40.0, 130.0), "degrees", remedy)?;
    match &reading.measured {
        Measured::Spectrum(seen) => (0..BANDS).try_for_each(|band| {
            let allowed = (LEAST_REFLECTANCE, MOST_REFLECTANCE);
            number(&format!("{at}, band {}", band + 1), seen.0[band], allowed, "as a reflectance factor", remedy)
        })?,
        Measured::Lab(Lab { l, a, b }) => {
            number(&format!("{at}.L"), *l, (0.0, 250.0), "as L*", remedy)?;
            number(&format!("{at}.a"), *a, (-250.0, 250.0), "as a*", remedy)?;
            number(&format!("{at}.b"), *b, (-250.0, 250.0), "as b*", remedy)?;
        }
    }
    let (seen, _) = reading.xyz();
    let light = seen.y > 0.0 && seen.x > -0.5 && seen.z > -0.5; // below nothing by noise only
    let allowed = "a colour with X, Y and Z above 0";
    if light { Ok(()) } else { Err(Problem::new(at, format!("{:?}", reading.lab()), allowed, remedy)) }
}

fn number(at: &str, given: f64, (least, most): (f64, f64), unit: &str, remedy: &str) -> Result<(), Problem> {
    if given >= least && given <= most {
        return Ok(());
    }
    Err(Problem::new(at, given.to_string(), format!("{least} to {most} {unit}"), remedy))
}
