//! What the spray-outs show, as the command line writes it and scripts read it. Computes nothing that the cards do not
//! hold.

use super::nearest::{coats_in_words, number_in_words};
use super::{Card, Looks, Nearest, Verdict, angles_in_words, nearest::nearest, remedy, spray_outs};
use crate::colour::{Lab, ScreenSpace, delta_e00, flop_index};
use crate::field::Spread;
use crate::job::{Job, inputs::System, inputs::Unit};
use crate::units::Degrees;
use crate::words::{digits_of, shown};
use serde::Serialize;
use std::collections::BTreeMap;

/// Version of the report.
pub const VERSION: u64 = 1;

/// All that is reported of the spray-outs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CardsReport {
    /// Its version.
    pub fanlap_cards: u64,
    /// Name of the light.
    pub illuminant: String,
    /// Observer, degrees.
    pub observer_deg: u8,
    /// Aspecular angle of `colour`, `sticker` and `compared`, degrees.
    pub aspecular_deg: f64,
    /// What the cards are compared with: `car`, `target`, or null where the car was not measured so.
    pub compared_with: Option<&'static str>,
    /// Its L*, a*, b*.
    pub compared_lab: Option<[f64; 3]>,
    /// The bare base.
    pub base: ColourOf,
    /// Card by card.
    pub cards: Vec<CardReport>,
    /// The film that comes nearest.
    pub nearest: Option<NearestReport>,
    /// All of it in a sentence or two.
    pub text: String,
}

/// One card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CardReport {
    /// Coats of tinted clear.
    pub coats: f64,
    /// Dry film over the card.
    pub film: Spread,
    /// Its colour at `aspecular_deg`.
    pub colour: ColourOf,
    /// CIEDE2000 to what it is compared with.
    pub delta_e00: Option<f64>,
    /// CIEDE2000 to the next card.
    pub to_next_card: Option<f64>,
    /// Its colour at every angle at which the base was measured, by degrees.
    pub angles: BTreeMap<String, ColourOf>,
    /// Flop index; none without 15, 45 and 110 degrees. The formula is from memory.
    pub flop_index: Option<f64>,
    /// The fields of its hiding sticker.
    pub sticker: BTreeMap<&'static str, ColourOf>,
}

/// A colour in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ColourOf {
    /// L*, a*, b*.
    pub lab: [f64; 3],
    /// C*ab.
    pub chroma: f64,
    /// h_ab, degrees.
    pub hue_deg: f64,
}

impl From<Lab> for ColourOf {
    fn from(lab: Lab) -> Self {
        Self { lab: [lab.l, lab.a, lab.b], chroma: lab.chroma(), hue_deg: lab.hue_degrees() }
    }
}

/// The film that comes nearest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NearestReport {
    /// Dry film, um.
    pub film_um: f64,
    /// Coats it amounts to.
    pub coats: f64,
    /// CIEDE2000 there, by aspecular angle.
    pub delta_e00: BTreeMap<String, f64>,
    /// Coats of the cards on either side.
    pub between: [Option<f64>; 2],
    /// `reached`, `near`, `not_of_this_paint` or `deeper_than_coats`.
    pub verdict: &'static str,
}

/// Sprays and looks at a job's ladder.
pub fn report(job: &Job) -> CardsReport {
    let cards = spray_outs(job);
    let looks = Looks::of(job, ScreenSpace::Srgb);
    let found = nearest(job, &cards);
    let compared_with = looks.compared.lab().map(|_| if job.car.is_some() { "car" } else { "target" });
    CardsReport {
        fanlap_cards: VERSION,
        illuminant: job.viewing.illuminant.clone(),
        observer_deg: job.viewing.observer_deg,
        aspecular_deg: job.viewing.aspecular.0,
        compared_with,
        compared_lab: looks.compared.lab().map(|lab| [lab.l, lab.a, lab.b]),
        base: looks.lab(crate::units::Micrometres(0.0)).into(),
        cards: (0..cards.len()).map(|i| card(job, &cards[i], cards.get(i + 1), &looks)).collect(),
        nearest: found.as_ref().map(|found| NearestReport {
            film_um: found.film.0,
            coats: found.coats,
            delta_e00: found.differences.iter().map(|(angle, d)| (angle.0.to_string(), *d)).collect(),
            between: [found.between.0, found.between.1],
            verdict: found.verdict.name(),
        }),
        text: words(job, &cards, found.as_ref(), System::Metric),
    }
}

fn card(job: &Job, card: &Card, next: Option<&Card>, looks: &Looks) -> CardReport {
    let film = card.film.mean();
    let lab = looks.lab(film);
    let illuminant = job.viewing.viewing().illuminant;
    let at = |angle: Degrees| Some(Looks::at(job, angle, illuminant, ScreenSpace::Srgb)?.lab(film));
    let light = |angle: f64| at(Degrees(angle)).map(|lab| lab.l);
    let flop = match (light(15.0), light(45.0), light(110.0)) {
        (Some(l15), Some(l45), Some(l110)) => Some(flop_index(l15, l45, l110)),
        _ => None,
    };
    let sticker = looks.sticker(film);
    let fields = job.cards.sticker.named().iter().map(|(name, i)| (*name, sticker[*i].lab.into())).collect();
    CardReport {
        coats: card.coats,
        film: card.film,
        colour: lab.into(),
        delta_e00: looks.difference(film),
        to_next_card: next.map(|next| delta_e00(lab, looks.lab(next.film.mean()))),
        angles: job.angles().iter().filter_map(|angle| Some((angle.0.to_string(), at(*angle)?.into()))).collect(),
        flop_index: flop,
        sticker: fields,
    }
}

/// How far neighbouring cards differ, in a sentence; empty for one card.
pub fn apart(cards: &[Card], looks: &Looks) -> String {
    let lab = |card: &Card| looks.lab(card.film.mean());
    let steps: Vec<String> =
        cards.windows(2).map(|pair| format!("{:.1}", delta_e00(lab(&pair[0]), lab(&pair[1])))).collect();
    match &steps[..] {
        [] => String::new(),
        [one] => format!("The two cards differ by {one} (CIEDE2000)."),
        [first @ .., last] => format!("Neighbouring cards differ by {} and {last} (CIEDE2000).", first.join(", ")),
    }
}

/// What the spray-outs show, in a sentence or two.
pub fn words(job: &Job, cards: &[Card], nearest: Option<&Nearest>, system: System) -> String {
    let um = |value: f64| shown(Unit::Micrometre, value, system);
    let what = if job.car.is_some() { "The car" } else { "The target" };
    let Some(found) = nearest else {
        let light = &job.viewing.illuminant;
        let remedy = remedy(job).unwrap_or_default();
        return format!("The car was not measured for the light {light}: no card can be compared with it. {remedy}");
    };
    let differences: Vec<String> = match &found.differences[..] {
        [(_, d)] => vec![format!("{d:.1}")],
        many => many.iter().map(|(angle, d)| format!("{d:.1} at {}\u{b0}", digits_of(angle.0, 0))).collect(),
    };
    let differences = differences.join(", ");
    let place = match found.between {
        (Some(below), Some(above)) => {
            format!("between the cards with {} and {}", number_in_words(below), coats_in_words(above))
        }
        (None, Some(above)) => format!("below the card with {}", coats_in_words(above)),
        (Some(below), None) => format!("beyond the card with {}", coats_in_words(below)),
        (None, None) => "without a card".to_string(),
    };
    let coats = coats_in_words((100.0 * found.coats).round() / 100.0);
    if job.car.is_none() && found.differences.iter().all(|(_, d)| *d < 0.05) {
        return format!(
            "The target is the film of {coats} ({}), {place}. Measure the car to compare its colour with the cards.",
            um(found.film.0)
        );
    }
    let over: Vec<Degrees> = found.differences.iter().map(|(angle, _)| *angle).collect();
    let over =
        if over.len() > 1 { format!(", over {} together", angles_in_words(&over, "and")) } else { String::new() };
    let nearest = format!("{what} comes nearest{over} at {coats} ({}), {place}", um(found.film.0));
    let here = remedy(job).map_or(String::new(), |remedy| {
        format!(" At {}\u{b0} there is nothing to compare with. {remedy}", digits_of(job.viewing.aspecular.0, 0))
    });
    let found = match found.verdict {
        Verdict::Reached => format!("{nearest}; the colour difference there is {differences}: hardly seen."),
        Verdict::Near => {
            format!("{nearest}; the colour difference there is {differences}: seen, and accepted by most.")
        }
        Verdict::NotOfThisPaint => format!(
            "No film of this paint reaches the car's colour. {nearest}, and the colour difference there is still \
             {differences}: it is not a matter of coats, but of the base or the tint."
        ),
        Verdict::DeeperThanCoats => {
            let most = cards.last().map_or(0.0, |card| card.coats);
            format!(
                "Even many coats stay too light: at {} the colour difference is still {differences}. A stronger tint or a \
                 deeper base is needed, not more than {} coats.",
                um(found.film.0),
                digits_of(most, 1)
            )
        }
    };
    found + &here
}
