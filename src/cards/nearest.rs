//! Which film comes nearest to the car's colour, how near, between which cards, and whether any film reaches it at all.
//! Limits of a visible and of an accepted difference: R. D. Paravina et al. 2015, J. Esthet. Restor. Dent. 27 (S1), S1
//! (abstract): CIEDE2000 0.8 and 1.8 for half of 175 observers; no equal figure for car panels was found. Does not know
//! how a film is laid.

use super::{Card, Looks, coats_at};
use crate::colour::ScreenSpace;
use crate::job::inputs::{Kind, input};
use crate::job::{Job, MOST_COATS};
use crate::maths::lowest;
use crate::units::{Degrees, Micrometres};
use crate::words::digits_of;
use std::iter::successors;

/// Half of all observers see a difference of this size, CIEDE2000.
pub const PERCEIVED: f64 = 0.8;
/// Half of all observers accept a difference of this size, CIEDE2000.
pub const ACCEPTED: f64 = 1.8;

/// The film that comes nearest.
#[derive(Debug, Clone, PartialEq)]
pub struct Nearest {
    /// The film.
    pub film: Micrometres,
    /// Coats that it amounts to.
    pub coats: f64,
    /// CIEDE2000 at that film, by the angles at which there is something to compare with.
    pub differences: Vec<(Degrees, f64)>,
    /// Coats of the card whose colour comes nearest, over the same angles.
    pub card: Option<f64>,
    /// Coats of the cards on either side of it; none beyond the first or the last.
    pub between: (Option<f64>, Option<f64>),
    /// What that means.
    pub verdict: Verdict,
}

/// Whether a film of the paint reaches the car's colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The difference is hardly seen.
    Reached,
    /// It is seen, and accepted by most.
    Near,
    /// It is not a matter of coats: another base or another tint is needed.
    NotOfThisPaint,
    /// Even the most coats are still too light; still more film would reach it, so a stronger tint does.
    DeeperThanCoats,
}

impl Verdict {
    /// Its word in reports.
    pub fn name(self) -> &'static str {
        match self {
            Self::Reached => "reached",
            Self::Near => "near",
            Self::NotOfThisPaint => "not_of_this_paint",
            Self::DeeperThanCoats => "deeper_than_coats",
        }
    }
}

/// Coarse step of the search, um.
const STEP: f64 = 0.5;
/// Beyond this film no paint is looked for, um.
const THICKEST: f64 = 2000.0;

/// Looks for the film that comes nearest, over all angles at once (root mean square of their differences); none if there
/// is nothing to compare with. Searched up to `MOST_COATS`.
pub fn nearest(job: &Job, cards: &[Card]) -> Option<Nearest> {
    let illuminant = job.viewing.viewing().illuminant;
    let looks: Vec<(Degrees, Looks)> = compared_angles(job)
        .into_iter()
        .filter_map(|angle| Some((angle, Looks::at(job, angle, illuminant, ScreenSpace::Srgb)?)))
        .filter(|(_, looks)| looks.compared.lab().is_some())
        .collect();
    if looks.is_empty() {
        return None;
    }
    let off = |film: f64| {
        let squares = looks.iter().filter_map(|(_, looks)| looks.difference(Micrometres(film))).map(|d| d * d);
        (squares.sum::<f64>() / looks.len() as f64).sqrt()
    };
    let per_coat = cards.iter().map(|card| card.film.mean_um / card.coats).fold(0.0, f64::max);
    let most = (per_coat * MOST_COATS).clamp(10.0, 500.0);
    let steps = (most / STEP).ceil() as usize;
    let coarse = (0..=steps).map(|i| (STEP * i as f64).min(most)).min_by(|a, b| off(*a).total_cmp(&off(*b)))?;
    let film = lowest((coarse - STEP).max(0.0), (coarse + STEP).min(most), 1e-4, off);
    // CIEDE2000 jumps where hues are opposite, and there the section may end on the upper side
    let film = if off(film) <= off(coarse) { film } else { coarse };
    let differences: Vec<(Degrees, f64)> =
        looks.iter().filter_map(|(angle, looks)| Some((*angle, looks.difference(Micrometres(film))?))).collect();
    let worst =
        |film: f64| looks.iter().filter_map(|(_, looks)| looks.difference(Micrometres(film))).fold(0.0, f64::max);
    // whether the paint would come there with more film than the most coats lay
    let beyond = || successors(Some(most), |film| Some(1.01 * film)).take_while(|film| *film < THICKEST);
    let coats = coats_at(cards, Micrometres(film));
    let verdict = match worst(film) {
        d if d <= PERCEIVED => Verdict::Reached,
        d if d <= ACCEPTED => Verdict::Near,
        _ if film > most - STEP && beyond().any(|film| worst(film) <= ACCEPTED) => Verdict::DeeperThanCoats,
        _ => Verdict::NotOfThisPaint,
    };
    let card = |found: Option<&Card>| found.map(|card| card.coats);
    let below = card(cards.iter().rev().find(|card| card.film.mean_um <= film));
    let above = card(cards.iter().find(|card| card.film.mean_um > film));
    let off_card = |card: &&Card| off(card.film.mean_um);
    let closest = card(cards.iter().min_by(|a, b| off_card(a).total_cmp(&off_card(b))));
    let between = (below, above);
    Some(Nearest { film: Micrometres(film), coats, differences, card: closest, between, verdict })
}

/// Angles at which the car was measured and the paint is known; the job's own angle where no car was measured.
fn compared_angles(job: &Job) -> Vec<Degrees> {
    match &job.car {
        Some(car) => car.angles().into_iter().filter(|angle| job.under_tint(*angle).is_some()).collect(),
        None => vec![job.viewing.aspecular],
    }
}

/// Coats as the trade writes them: 1 coat, 1½ coats, 1.93 coats.
pub fn coats_in_words(coats: f64) -> String {
    format!("{} {}", number_in_words(coats), if coats <= 1.0 { "coat" } else { "coats" })
}

/// Their number alone.
pub fn number_in_words(coats: f64) -> String {
    let whole = coats.floor();
    match coats.fract() {
        0.5 if whole == 0.0 => "\u{bd}".to_string(),
        0.5 => format!("{whole}\u{bd}"),
        _ => digits_of(coats, 2),
    }
}

/// A light as it is named to a person.
pub fn light_in_words(name: &str) -> &str {
    let Some(Kind::Choice(lights, _)) = input("viewing.illuminant").map(|input| input.kind) else { return name };
    let light = lights.iter().find(|(value, _)| value.trim_matches('"') == name);
    light.map_or(name, |(_, words)| words)
}
