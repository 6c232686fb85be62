//! Which card the rehearsal aims at, what keeps the cards from being compared with the car, and how far the film aimed
//! at is from the car. Says so in words; looks for no film.

use super::nearest::{coats_in_words, light_in_words};
use super::{Card, Looks, Nearest, spray};
use crate::colour::ScreenSpace;
use crate::eye::Target;
use crate::job::inputs::{System, Unit};
use crate::job::{Car, Job};
use crate::units::Degrees;
use crate::words::{digits_of, shown};

/// The card that is chosen, or the one nearest to what the cards are compared with; where nothing can be compared, the
/// one whose film is nearest to the target film.
pub fn aimed<'a>(job: &Job, cards: &'a [Card], nearest: Option<&Nearest>) -> Option<&'a Card> {
    let of = |coats: Option<f64>| cards.iter().find(|card| Some(card.coats) == coats);
    let off = |card: &Card| match job.target {
        Target::Film(film) => (card.film.mean_um - film.0).abs(),
        Target::Colour(_) => 0.0,
    };
    of(job.cards.chosen)
        .or_else(|| of(nearest.and_then(|nearest| nearest.card)))
        .or_else(|| cards.iter().min_by(|a, b| off(a).total_cmp(&off(b))))
}

/// Angles in words: 15°, 45° and 110°.
pub fn angles_in_words(angles: &[Degrees], joint: &str) -> String {
    let words: Vec<String> = angles.iter().map(|angle| format!("{}\u{b0}", digits_of(angle.0, 0))).collect();
    match &words[..] {
        [first @ .., last] if !first.is_empty() => format!("{} {joint} {last}", first.join(", ")),
        all => all.concat(),
    }
}

/// What to choose so that the cards are compared with the car; none where they are, or where no car was measured.
pub fn remedy(job: &Job) -> Option<String> {
    let car = job.car.as_ref()?;
    let view = &job.viewing;
    let viewing = view.viewing();
    if car.lab(viewing.aspecular, viewing.illuminant, viewing.observer).is_some() {
        return None;
    }
    let here = |angle: &Degrees| job.under_tint(*angle).is_some();
    let angles: Vec<Degrees> = car.angles().into_iter().filter(here).collect();
    if angles.is_empty() {
        return Some(format!("Measure the car at {}.", angles_in_words(&job.angles(), "or")));
    }
    let angles = angles_in_words(&angles, "or");
    match car {
        Car::Reflectance(_) => Some(format!("Choose {angles}, or measure the car at this angle.")),
        Car::Lab { illuminant, observer_deg, .. } => {
            let observer = match *observer_deg == view.observer_deg {
                true => String::new(),
                false => format!(", the {observer_deg}\u{b0} observer"),
            };
            Some(format!("Choose {}{observer} and {angles}, or measure spectra.", light_in_words(illuminant)))
        }
    }
}

/// How far the film aimed at is from the car as the job looks at it, CIEDE2000; none where that is not known.
pub fn to_car(job: &Job) -> Option<f64> {
    job.car.as_ref()?;
    let Target::Film(film) = job.target else { return None };
    job.tinted()?;
    Looks::of(job, ScreenSpace::Srgb).difference(film)
}

/// The target where it is a card that was chosen, and how far it is from the car; empty where there is neither.
pub fn target_words(job: &Job, system: System) -> String {
    let Target::Film(film) = job.target else { return String::new() };
    // a target or a gun that was changed since is no longer that card's
    let still = |coats: &f64| (spray(job, *coats).film.mean_um - film.0).abs() < 0.1;
    let chosen = job.cards.chosen.filter(still);
    let film = shown(Unit::Micrometre, film.0, system);
    let card = chosen.map(|coats| format!("the card with {}, {film}", coats_in_words(coats)));
    match (card, &job.car, to_car(job)) {
        (None, None, _) => String::new(),
        (Some(card), None, _) => format!("The target is {card}."),
        (card, Some(_), Some(off)) => format!(
            "The target is {}, and differs from the car by {off:.1}: every difference to the target comes on top of that.",
            card.unwrap_or(film)
        ),
        (card, Some(_), None) => format!(
            "The target is {}; how far it is from the car is not known for this light and angle.",
            card.unwrap_or(film)
        ),
    }
}
