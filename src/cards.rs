//! The spray-outs: a ladder of cards, each with more coats of the tinted clear, sprayed by the job's own gun, hand and
//! coat settings. What film lies on each comes from a rehearsal of the card; how it looks is in `looks`, which of them
//! comes nearest to the car in `nearest`. Knows one identical base under all cards: one that hides.

mod aim;
mod looks;
mod nearest;
pub mod own;
mod report;

pub use aim::{aimed, angles_in_words, remedy, target_words, to_car};
pub use looks::{Compared, Look, Looks, Sticker};
pub use nearest::{ACCEPTED, Nearest, PERCEIVED, Verdict, coats_in_words, light_in_words, nearest, number_in_words};
pub use report::{CardReport, CardsReport, ColourOf, NearestReport, apart, report, words};

use crate::error::Problem;
use crate::eye::Target;
use crate::field::{Spread, Zone, cells_in};
use crate::job::{Job, Role};
use crate::panel::Panel;
use crate::rehearsal::rehearse_film;
use crate::strokes::{Coat, Reach};
use crate::units::{Degrees, Fraction, Micrometres, Millimetres, Minutes};

/// A card: 105 mm by 148 mm (A6), flat on the bench.
const CARD_MM: (f64, f64) = (148.0, 105.0);
/// Cells of a card, mm.
const CELL_MM: f64 = 5.0;

/// One sprayed card.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Coats of tinted clear.
    pub coats: f64,
    /// Dry film over the card.
    pub film: Spread,
}

/// The amounts in which some coats are laid: a half coat is a thin coat, followed directly by a full one (common
/// practice, no source).
///
/// ```
/// assert_eq!(fanlap::cards::amounts(1.5), [0.5, 1.0]);
/// assert_eq!(fanlap::cards::amounts(2.5), [1.0, 0.5, 1.0]);
/// ```
pub fn amounts(coats: f64) -> Vec<f64> {
    let (full, half) = (coats.floor() as usize, coats.fract() >= 0.25);
    let mut amounts = vec![1.0; full];
    if half {
        amounts.insert(full.saturating_sub(1), 0.5);
    }
    amounts
}

/// The job's coats of tinted clear in these amounts, each with the settings of the job's own coat in its place, or of
/// the last one it has. A thin coat flashes off for no time.
fn coats_of(job: &Job, coats: f64) -> Vec<Coat> {
    let Some(tinted) = job.tinted() else { return Vec::new() };
    let own: Vec<&Coat> = job.coats.iter().filter(|coat| job.paint_of(coat) == tinted).collect();
    let fallback = Coat { paint: job.paints[tinted].name.clone(), ..job.new_coat() };
    // thin coats of the job are settings of the full coat they belong to
    let full: Vec<&Coat> = own.iter().copied().filter(|coat| coat.amount.0 > 0.75).collect();
    let own = if full.is_empty() { own } else { full };
    let mut place = 0;
    amounts(coats)
        .into_iter()
        .map(|amount| {
            let like = own.get(place).or(own.last()).copied().unwrap_or(&fallback);
            let thin = amount < 1.0;
            place += usize::from(!thin);
            Coat { amount: Fraction(amount), flash: if thin { Minutes(0.0) } else { like.flash }, ..like.clone() }
        })
        .collect()
}

/// Sprays one card of a ladder.
pub fn spray(job: &Job, coats: f64) -> Card {
    let mut card = job.clone();
    card.panel = Panel {
        length: Millimetres(CARD_MM.0),
        width: Millimetres(CARD_MM.1),
        crown_along: Millimetres(0.0),
        crown_across: Millimetres(0.0),
        rim_radius: Millimetres(0.0),
        rim_angle: card.panel.rim_angle,
        slope: Degrees(0.0),
        cell: Millimetres(CELL_MM),
        edge_band: Millimetres(2.0 * CELL_MM),
    };
    card.coats = coats_of(job, coats);
    for coat in &mut card.coats {
        // the passes run on past a small card on all sides, as they do past a place within a panel
        let fan = job.gun.width_at(coat.distance);
        coat.margin = Millimetres(coat.margin.0.max(fan.0));
        coat.lead = Millimetres(coat.lead.0.max(job.gun.depth_at(coat.distance).0));
        (coat.reach, coat.edge_pass) = (Reach::OneSide, false);
    }
    let rehearsal = rehearse_film(&card);
    let film = card.tinted().map_or_else(Vec::new, |paint| rehearsal.film(paint));
    let all = cells_in(Zone::Panel, &card.panel, card.gun.fan_width, rehearsal.patch());
    Card { coats, film: if film.is_empty() { Spread::default() } else { Spread::over(&film, &all) } }
}

/// Sprays the job's ladder.
pub fn spray_outs(job: &Job) -> Vec<Card> {
    job.cards.ladder.iter().map(|coats| spray(job, *coats)).collect()
}

/// Coats that a film amounts to, straight between the cards and no coat, and on beyond the last card.
pub fn coats_at(cards: &[Card], film: Micrometres) -> f64 {
    let mut below = (0.0, 0.0);
    let mut slope = 0.0;
    for card in cards {
        let (coats, thick) = (card.coats, card.film.mean_um);
        if thick > below.1 {
            slope = (coats - below.0) / (thick - below.1);
            if film.0 <= thick {
                break;
            }
        }
        below = (coats, thick);
    }
    below.0 + slope * (film.0 - below.1)
}

/// Takes a card for the job: its film becomes the target, its coats the job's coats of tinted clear.
///
/// ```
/// use fanlap::{cards::choose, job::examples::EXAMPLES};
/// let job = choose(&EXAMPLES[0].job(), 1.5).unwrap();
/// assert_eq!(job.coats.iter().map(|coat| coat.amount.0).collect::<Vec<_>>(), [0.5, 1.0]);
/// assert_eq!(job.cards.chosen, Some(1.5));
/// ```
pub fn choose(job: &Job, coats: f64) -> Result<Job, Problem> {
    if !job.cards.ladder.contains(&coats) {
        let ladder = job.cards.ladder.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
        let remedy = "Choose one of the cards, or add it to the ladder first.";
        return Err(Problem::new("cards.chosen", coats.to_string(), format!("one of the ladder: {ladder}"), remedy));
    }
    if job.tinted().is_none() {
        let remedy = "Add the tinted clear that the cards are sprayed with.";
        return Err(Problem::new("paints", "no tinted clear", "one paint whose role is \"tinted_clear\"", remedy));
    }
    let film = (10.0 * spray(job, coats).film.mean_um).round() / 10.0;
    let mut chosen = job.clone();
    let is_tinted = |coat: &Coat| job.paints[job.paint_of(coat)].role == Role::TintedClear;
    let place = job.coats.iter().position(is_tinted).unwrap_or(job.coats.len());
    chosen.coats.retain(|coat| !is_tinted(coat));
    let place = place.min(chosen.coats.len());
    chosen.coats.splice(place..place, coats_of(job, coats));
    chosen.target = Target::Film(Micrometres(film));
    chosen.cards.chosen = Some(coats);
    chosen.checked()
}
