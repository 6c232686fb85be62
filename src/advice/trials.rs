//! The trials of a search for plans. Each needs nothing but the job, the wishes and what is tried, so that they can be run
//! anywhere and in any number at once. Does not know what is tried next, nor what is made of it.

use super::hands::{film, with_cells};
use super::search::Figures;
use super::settings::{SPEED_STEP, strays};
use super::{Setting, Wishes};
use crate::colour::ScreenSpace;
use crate::field::{Spread, Zone, cells_in, share_within};
use crate::job::Job;
use crate::maths::erf;
use crate::rehearsal::{Rehearsal, Wetness, rehearse_film};
use crate::report::{Difference, Film, Wet, appearance, appearance_of, report_unseen, wet};
use crate::strokes::{Reach, Sequence};
use crate::units::Micrometres;
use serde::{Deserialize, Serialize};

/// Cells with a faultless hand, mm, at least.
const TRIAL_CELL: f64 = 16.0;

/// One trial. Where no setting is given the job is sprayed as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Trial {
    /// A setting with a faultless hand.
    Faultless(Setting),
    /// A setting with a faultless hand, looked at wet.
    Wet(Setting),
    /// One hand sprays.
    Hand {
        /// What is set.
        setting: Option<Setting>,
        /// Which hand.
        seed: u32,
        /// Cells, mm.
        cell_mm: f64,
    },
    /// All that is told of a plan besides its hands.
    Plan(Option<Setting>),
}

/// What a trial showed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shown {
    /// With a faultless hand; none where it cannot be sprayed so fast or so slowly.
    Faultless(Option<Faultless>),
    /// Wet: the setting, or the one with its lines straight across that was looked at in its place.
    Wet {
        /// What was looked at.
        setting: Setting,
        /// Something runs or is near its limit.
        moves: bool,
        /// Share of the panel where the wet edge is lost.
        edge_lost: f64,
    },
    /// Share of the panel in the window.
    Share(f64),
    /// What is told of a plan: figures, film and colour. Of the hands it knows nothing.
    Plan(Figures, Film, Difference),
}

/// A setting with a faultless hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Faultless {
    /// What is set, its speed put right where a crown lets the mean be off.
    pub setting: Setting,
    /// Standard deviation over mean.
    pub uneven: f64,
    /// The chance that a place is in the window, reckoned.
    pub reckoned: f64,
    /// Trigger open, s.
    pub spraying_s: f64,
    /// With turns and flash-off, s.
    pub total_s: f64,
}

/// What all trials of a search have in common.
pub struct Trials {
    /// The job as it stands.
    pub(super) job: Job,
    /// The same with coarse cells and nothing but its tinted clear.
    pub(super) coarse: Job,
    pub(super) wishes: Wishes,
    /// The film aimed at.
    pub(super) target: Micrometres,
    /// The films that are right, um.
    pub(super) window: (f64, f64),
}

impl Trials {
    /// Of a job; none where it has no tinted clear, no coat of it, or a target out of its reach.
    pub fn new(job: &Job, wishes: &Wishes) -> Option<Self> {
        let tinted = job.tinted()?;
        job.coats.iter().find(|coat| coat.paint == job.paints[tinted].name)?;
        let seen = appearance(job, ScreenSpace::Srgb, Micrometres(100.0));
        let target = seen.target_film();
        let (low, high) = seen.track().film_window(seen.target(), wishes.within)?;
        let mut coarse = with_cells(job, TRIAL_CELL);
        // only the tinted clear's film is judged
        coarse.coats.retain(|coat| coat.paint == job.paints[tinted].name);
        for coat in &mut coarse.coats {
            coat.track = None;
        }
        coarse.hand = job.faultless_hand();
        Some(Self { job: job.clone(), coarse, wishes: wishes.clone(), target, window: (low.0, high.0) })
    }

    /// Runs one.
    pub fn run(&self, trial: &Trial) -> Shown {
        match trial {
            Trial::Faultless(setting) => Shown::Faultless(self.faultless(setting)),
            Trial::Wet(setting) => self.wet(setting),
            Trial::Hand { setting, seed, cell_mm } => {
                let mut job = self.wishes.hand.sprays(&self.sprayed(setting.as_ref()), *seed);
                job.panel.cell.0 = *cell_mm;
                Shown::Share(share_within(&film(&job).1, self.window))
            }
            Trial::Plan(setting) => self.plan(setting.as_ref()),
        }
    }

    fn sprayed(&self, setting: Option<&Setting>) -> Job {
        setting.map_or_else(|| self.coarse.clone(), |setting| setting.of(&self.coarse))
    }

    fn faultless(&self, setting: &Setting) -> Option<Faultless> {
        let job = setting.of(&self.coarse);
        let (rehearsal, mut film) = film(&job);
        let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, rehearsal.patch());
        let spread = Spread::over(&film, &interior);
        let speed = setting.speed_mm_per_s * spread.mean().0 / self.target.0;
        let speed = (speed / SPEED_STEP).round() * SPEED_STEP;
        if !setting.can(speed, &self.wishes) {
            return None;
        }
        // the film goes as one over the speed, and so does the time
        let by = setting.speed_mm_per_s / speed;
        film.iter_mut().for_each(|film| *film *= by);
        let spraying_s = rehearsal.spraying().0 * by;
        Some(Faultless {
            uneven: uneven(&spread),
            reckoned: self.reckoned(setting, &film),
            spraying_s,
            total_s: rehearsal.total().0 - rehearsal.spraying().0 + spraying_s,
            setting: Setting { speed_mm_per_s: speed, ..setting.clone() },
        })
    }

    /// The chance that a place of this film is in the window when the hand strays.
    fn reckoned(&self, setting: &Setting, film: &[f64]) -> f64 {
        let sd = strays(&self.coarse, setting, &self.wishes.hand);
        let chance = |film: &f64| {
            let s = std::f64::consts::SQRT_2 * (sd * film).max(1e-9);
            0.5 * (erf((self.window.1 - film) / s) - erf((self.window.0 - film) / s))
        };
        film.iter().map(chance).sum::<f64>() / film.len().max(1) as f64
    }

    /// What loses its wet edge from both sides is sprayed straight across.
    fn wet(&self, setting: &Setting) -> Shown {
        let look = |setting: Setting| {
            let wet = wet_of(&film(&setting.of(&self.coarse)).0);
            Shown::Wet { setting, moves: wet.runs + wet.near_limit > 0, edge_lost: wet.edge_lost }
        };
        match look(setting.clone()) {
            Shown::Wet { setting, edge_lost, .. } if edge_lost > 0.0 && setting.reach == Reach::BothSides => {
                look(Setting { sequence: Sequence::StraightAcross, ..setting })
            }
            as_it_is => as_it_is,
        }
    }

    fn plan(&self, setting: Option<&Setting>) -> Shown {
        let job = self.sprayed(setting);
        let mut rehearsal = film(&job).0;
        while rehearsal.follow_next() {}
        let wet = wet_of(&rehearsal);
        let mut own = job;
        own.panel.cell = self.job.panel.cell;
        let (as_meant, film) = film(&own);
        let spread = Spread::over(&film, &cells_in(Zone::Interior, &own.panel, own.gun.fan_width, as_meant.patch()));
        let figures = Figures {
            in_window_faultless: share_within(&film, self.window),
            unevenness_faultless: uneven(&spread),
            mean_um: spread.mean().0,
            spraying_s: rehearsal.spraying().0,
            total_s: rehearsal.total().0,
            sprayed_ml: rehearsal.accounts().iter().map(|account| account.sprayed.0).sum(),
            passes: rehearsal.passes().len(),
            runs: wet.runs,
            edge_lost: wet.edge_lost,
            ..Figures::default()
        };
        let (film, difference) = setting.map(|setting| reported(&setting.of(&self.job))).unwrap_or_default();
        Shown::Plan(figures, film, difference)
    }
}

/// The wet film of the tinted clear.
fn wet_of(rehearsal: &Rehearsal) -> Wet {
    let job = rehearsal.job();
    job.tinted().map(|paint| wet(job, &Wetness::of(rehearsal), paint)).unwrap_or_default()
}

/// The tinted clear's film and colour as a report of the job has them.
fn reported(job: &Job) -> (Film, Difference) {
    let rehearsal = rehearse_film(job);
    let report = report_unseen(&rehearsal, &appearance_of(&rehearsal));
    let film = job.tinted().and_then(|paint| report.film.get(&job.paints[paint].name)).copied();
    (film.unwrap_or_default(), report.colour.delta_e00)
}

fn uneven(spread: &Spread) -> f64 {
    spread.sd_um / spread.mean_um.max(1e-9)
}
