//! Advice: from this gun, this paint and this panel to plans that keep the film in its window with the greatest chance, for
//! a hand that strays as this one does. A plain search over what a painter can choose; what is told of a plan is told from
//! hands that had no part in choosing it. Several honest ones with their price, never one oracle.

mod amounts;
mod forgives;
mod hands;
mod search;
mod settings;
mod told;
mod trials;

pub use amounts::{Amount, amounts, spreading};
pub(crate) use forgives::trial_cell;
pub use forgives::{AtAngle, Forgives, at_angle, forgives};
pub use hands::{From, Hands, Steadiness, shares};
pub use search::{Figures, Plan, Search};
pub use settings::{MOST_MIN, MOST_ML, REACH, Setting, WITHIN, Wishes, evenest_overlaps, ripple};
pub use told::TELLING;
pub use trials::{Faultless, Shown, Trial, Trials};

use crate::job::Job;
use serde::{Deserialize, Serialize};

/// Version of the advice.
pub const VERSION: u64 = 1;

/// Films between which the colour is right.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// The least.
    pub film_low_um: f64,
    /// The most.
    pub film_high_um: f64,
}

/// All that is advised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// Its version.
    pub fanlap_advice: u64,
    /// The film aimed at, um.
    pub target_um: f64,
    /// The films that differ from it by less than `within_de00`.
    pub window: Window,
    /// That difference, CIEDE2000.
    pub within_de00: f64,
    /// How far the hand strays, and where that is from.
    pub hand: Steadiness,
    /// How many settings were tried.
    pub tried: usize,
    /// Why there is no plan, if there is none.
    pub none_because: Option<String>,
    /// The job as it stands, by the same figures.
    pub present: Figures,
    /// Plans, the surest first.
    #[serde(rename = "proposals")]
    pub plans: Vec<Plan>,
    /// What this colour forgives with the surest plan; none where it was not looked for.
    pub forgives: Option<Forgives>,
    /// Paint for the surest plan, by paint.
    pub amounts: Vec<Amount>,
}

/// The whole advice on a job in one go; none where it has no tinted clear, no coat, or a target out of its reach.
pub fn advise(job: &Job, wishes: &Wishes) -> Option<Advice> {
    let mut search = Search::new(job, wishes)?;
    while search.stride() {}
    let forgives = forgives(&search.surest(), wishes.within);
    Some(Advice { forgives: Some(forgives), ..search.advice() })
}
