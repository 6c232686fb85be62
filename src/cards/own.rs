//! One's own cards: the tint fitted to what was measured on them, and the job that sprays it. Only the absorption of a
//! whole coat can be known from colours; without a gauge the film of a coat is taken from the job's own settings.

use super::spray;
use crate::colour::tint::{Card, Ground, Measured, Reading, Set, TintFit, fit_tint};
use crate::colour::{Base, Illuminant, Lab, Observer, Viewing};
use crate::error::Problem;
use crate::job::{Angles, GroundKind, Job, MeasuredCard, MeasuredCards};
use crate::units::{Degrees, Micrometres};

/// The angle at which one's own cards are measured.
const ANGLE: Degrees = Degrees(45.0);

/// A fit that misses a card by more than this does not meet the cards, CIEDE2000. Our judgement: between what half of all
/// people see and what they accept.
pub const MEETS: f64 = 1.5;

/// The tint fitted to the job's measured cards; none where it has none.
pub fn fit(job: &Job) -> Option<Result<TintFit, Problem>> {
    let measured = job.measured.as_ref()?;
    let cards: Vec<Card> = measured.cards.iter().map(|card| as_measured(measured, card)).collect();
    let ground = match job.under_tint(ANGLE) {
        Some(Base::Solid(_)) => Ground::Solid,
        _ => Ground::Effect,
    };
    Some(fit_tint(&Set { cards: &cards, ground, unequal: measured.unequal }))
}

fn as_measured(measured: &MeasuredCards, card: &MeasuredCard) -> Card {
    let viewing = Viewing {
        illuminant: Illuminant::from_name(&measured.illuminant).unwrap_or(Illuminant::D65),
        observer: Observer::from_degrees(measured.observer_deg).unwrap_or(Observer::Degrees10),
        aspecular: ANGLE,
        surround_gloss: 0.0,
    };
    let [l, a, b] = card.lab.unwrap_or_default();
    let reading = card.reflectance.map_or(Measured::Lab(Lab { l, a, b }), Measured::Spectrum);
    Card { coats: card.coats, readings: vec![Reading { viewing, measured: reading }], film: card.film_um }
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

/// The job with the fitted paint: its tinted clear absorbs as found, its base is the measured one. The base is then
/// known at 45 degrees only, and looked at from there.
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
    if let Some(base) = fit.base_at(ANGLE) {
        let measured = Angles(vec![(ANGLE, *base)]);
        match job.base() {
            Some(paint) => (taken.paints[paint].kind, taken.paints[paint].reflectance) = (kind, Some(measured)),
            None => (taken.ground.kind, taken.ground.reflectance) = (kind, measured),
        }
    }
    taken.viewing.aspecular = ANGLE;
    taken.checked()
}
