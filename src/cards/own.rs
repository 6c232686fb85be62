//! One's own cards: the tint fitted to what was measured on them, and the job that sprays it. Only the absorption of a
//! whole coat can be known from colours; without a gauge the film of a coat is taken from the job's own settings.

use super::spray;
use crate::colour::tint::{Card, Doubt, Ground, Measured, Reading, Set, TintFit, fit_tint};
use crate::colour::{Base, Illuminant, Lab, Observer, Viewing, delta_e00};
use crate::error::Problem;
use crate::job::{Angles, GroundKind, Job, MeasuredCard, MeasuredCards};
use crate::maths::ascending;
use crate::units::{Degrees, Micrometres};

/// The angle that every base must be known at.
const ANGLE: Degrees = Degrees(45.0);

/// A fit that misses a card by more than this does not meet the cards, CIEDE2000. Our judgement: between what half of all
/// people see and what they accept.
pub const MEETS: f64 = 1.5;

/// The tint fitted to the job's measured cards, with coats, residuals and doubts reading by reading as they stand there;
/// none where it has none. Readings of one card share its coats.
pub fn fit(job: &Job) -> Option<Result<TintFit, Problem>> {
    let measured = job.measured.as_ref()?;
    let places = places(&measured.cards);
    let mut cards: Vec<Card> = Vec::new();
    for (reading, place) in measured.cards.iter().zip(&places) {
        let seen = as_measured(measured, reading);
        match cards.get_mut(*place) {
            None => cards.push(Card { coats: reading.coats, readings: vec![seen], film: reading.film_um }),
            Some(card) => {
                card.readings.push(seen);
                card.film = card.film.or(reading.film_um);
            }
        }
    }
    let ground = match job.under_tint(ANGLE) {
        Some(Base::Solid(_)) => Ground::Solid,
        _ => Ground::Effect,
    };
    let fit = fit_tint(&Set { cards: &cards, ground, unequal: measured.unequal });
    Some(fit.map(|fit| reading_by_reading(measured, &places, fit)))
}

/// Which card every reading is of, counted from 0: readings with the same coats are of one card, until one of them is at
/// an angle that the card has already, or its gauge reads otherwise.
fn places<'a>(readings: &'a [MeasuredCard]) -> Vec<usize> {
    let mut cards: Vec<(Vec<Degrees>, &'a MeasuredCard, Option<Micrometres>)> = Vec::new();
    let place = |reading: &'a MeasuredCard| {
        let fits = |(angles, first, film): &(Vec<Degrees>, &MeasuredCard, Option<Micrometres>)| {
            let gauged = film.zip(reading.film_um).is_none_or(|(one, other)| one == other);
            first.coats == reading.coats && gauged && !angles.contains(&reading.aspecular)
        };
        let known = cards.iter().position(fits);
        match known {
            Some(place) => {
                cards[place].0.push(reading.aspecular);
                cards[place].2 = cards[place].2.or(reading.film_um);
            }
            None => cards.push((vec![reading.aspecular], reading, reading.film_um)),
        }
        known.unwrap_or(cards.len() - 1)
    };
    readings.iter().map(place).collect()
}

fn as_measured(measured: &MeasuredCards, card: &MeasuredCard) -> Reading {
    let viewing = Viewing {
        illuminant: Illuminant::from_name(&measured.illuminant).unwrap_or(Illuminant::D65),
        observer: Observer::from_degrees(measured.observer_deg).unwrap_or(Observer::Degrees10),
        aspecular: card.aspecular,
    };
    let [l, a, b] = card.lab.unwrap_or_default();
    Reading { viewing, measured: card.reflectance.map_or(Measured::Lab(Lab { l, a, b }), Measured::Spectrum) }
}

/// The fit of cards as one of readings.
fn reading_by_reading(measured: &MeasuredCards, places: &[usize], mut fit: TintFit) -> TintFit {
    let first = |card: usize| places.iter().position(|place| *place == card).unwrap_or(card);
    for doubt in &mut fit.doubts {
        if let Doubt::NotByAbsorption { card, .. } | Doubt::LighterThanBase { card } | Doubt::Gauge { card } = doubt {
            *card = first(*card);
        }
    }
    fit.coats = places.iter().map(|place| fit.coats[*place]).collect();
    let off = |(reading, coats): (&MeasuredCard, &f64)| {
        let Reading { viewing, .. } = as_measured(measured, reading);
        let lab = as_measured(measured, reading).lab();
        let seen =
            fit.colour(*coats, viewing.aspecular).map(|seen| Lab::of(&seen, viewing.illuminant, viewing.observer));
        seen.map_or(0.0, |seen| delta_e00(lab, seen))
    };
    fit.residuals = measured.cards.iter().zip(&fit.coats).map(off).collect();
    fit
}

/// Film of one full coat: as gauged, or as the job's own gun and settings lay it, and whether it was gauged.
pub fn film_per_coat(job: &Job, fit: &TintFit) -> (Micrometres, bool) {
    match fit.film_per_coat {
        Some(film) => (film, true),
        None => (film_of_the_gun(job), false),
    }
}

/// Film of one full coat as the job's own gun and settings lay it.
pub fn film_of_the_gun(job: &Job) -> Micrometres {
    Micrometres(spray(job, 1.0).film.mean_um)
}

/// The job with the fitted paint: its tinted clear absorbs as found, its base is the measured one, at every angle it was
/// measured at. It is looked at from where it was, or from 45 degrees if the base is not known there.
pub fn take(job: &Job, fit: &TintFit) -> Result<Job, Problem> {
    let (film, _) = film_per_coat(job, fit);
    let mut taken = job.clone();
    let Some(tinted) = job.tinted() else {
        let remedy = "Add a paint with the role \"tinted_clear\".";
        return Err(Problem::new("paints", "no tinted clear", "one", remedy));
    };
    taken.paints[tinted].absorption = fit.absorption(film);
    taken.paints[tinted].scatter_per_um = 0.0;
    let kind = if fit.ground == Ground::Solid { GroundKind::Solid } else { GroundKind::Effect };
    let measured = base_of(fit)?;
    if kind == GroundKind::Effect && measured.at(taken.viewing.aspecular).is_none() {
        taken.viewing.aspecular = ANGLE;
    }
    match job.base() {
        Some(paint) => (taken.paints[paint].kind, taken.paints[paint].reflectance) = (kind, Some(measured)),
        None => (taken.ground.kind, taken.ground.reflectance) = (kind, measured),
    }
    taken.checked()
}

/// The base at all its angles; a solid one, which is evenly diffuse, at 45 degrees alone.
fn base_of(fit: &TintFit) -> Result<Angles, Problem> {
    let mut angles = fit.bases.clone();
    if fit.ground == Ground::Solid {
        angles.retain(|(angle, _)| *angle == ANGLE);
    }
    ascending(&mut angles, |(angle, _)| angle.0);
    if angles.iter().any(|(angle, _)| *angle == ANGLE) {
        return Ok(Angles(angles));
    }
    let remedy = "Measure a card of 0 coats at 45 degrees too.";
    Err(Problem::new("measured.cards", "no reading at 45 degrees", "readings at 45 degrees among them", remedy))
}
