//! How steady a hand is, and what many hands of that steadiness lay: a job is rehearsed once for each seed. Draws nothing
//! by chance that the seed does not say.

use crate::appraisal::Appraisal;
use crate::field::share_within;
use crate::job::Job;
use crate::practice::{NOVICE, Performance};
use crate::rehearsal::rehearse_film;
use crate::strokes::stir;
use crate::units::{Degrees, Fraction, Millimetres};
use serde::{Deserialize, Serialize};

/// How far a hand strays, standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Steadiness {
    /// Of the distance, mm.
    pub distance_mm: f64,
    /// Of the line, mm.
    pub line_mm: f64,
    /// Of the speed, as a share of it.
    pub speed: f64,
    /// Of heel and drag, degrees.
    pub angle_deg: f64,
    /// Where that is from.
    pub from: From,
}

/// Where a hand's steadiness is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum From {
    /// The job's own hand.
    Job,
    /// Passes that were sprayed by hand.
    Measured,
    /// Half of a novice's: an assumption.
    Assumed,
}

/// A hand of which nothing is known strays by this share of a novice's: a judgement.
const ASSUMED: f64 = 0.5;

impl Steadiness {
    /// The job's hand; where it does not stray at all, an assumed one.
    pub fn of(job: &Job) -> Self {
        let hand = &job.hand;
        if hand.is_steady() {
            let (distance_mm, line_mm, speed, angle_deg) = NOVICE;
            let part = |value: f64| ASSUMED * value;
            return Self {
                distance_mm: part(distance_mm),
                line_mm: part(line_mm),
                speed: part(speed),
                angle_deg: part(angle_deg),
                from: From::Assumed,
            };
        }
        Self {
            distance_mm: hand.distance_sd.0,
            line_mm: hand.line_sd.0,
            speed: hand.speed_sd.0,
            angle_deg: hand.angle_sd.0,
            from: From::Job,
        }
    }

    /// As passes sprayed by hand show it, against what was meant; none of less than three passes. No more than the job
    /// file takes of a straying hand.
    pub fn measured(job: &Job, coat: usize, performance: &Performance) -> Option<Self> {
        let passes = &performance.passes;
        if passes.len() < 3 {
            return None;
        }
        let coat = &job.coats[coat];
        let about = |of: &dyn Fn(&crate::practice::SprayedPass) -> f64| {
            (passes.iter().map(|pass| of(pass) * of(pass)).sum::<f64>() / passes.len() as f64).sqrt()
        };
        // within a pass it strays as well: a third of the way from least to most stands for that
        let distance = |pass: &crate::practice::SprayedPass| {
            let range = &pass.distance_mm;
            (range.mean - coat.distance.0).abs().max((range.most - range.least) / 3.0)
        };
        let meant = coat.actual_speed().0;
        let speed = |pass: &crate::practice::SprayedPass| {
            let range = &pass.speed_mm_per_s;
            (range.mean / meant - 1.0).abs().max((range.most - range.least) / 3.0 / meant)
        };
        Some(Self {
            distance_mm: about(&distance).min(60.0),
            line_mm: about(&|pass| pass.off_line_mm).min(60.0),
            speed: about(&speed).min(0.4),
            angle_deg: about(&|pass| pass.drag_deg.mean).max(about(&|pass| pass.heel_deg.mean)).min(15.0),
            from: From::Measured,
        })
    }

    /// The job as a hand of this steadiness sprays it.
    pub fn sprays(&self, job: &Job, seed: u32) -> Job {
        let mut by_hand = job.clone();
        let hand = &mut by_hand.hand;
        (hand.distance_sd, hand.line_sd) = (Millimetres(self.distance_mm), Millimetres(self.line_mm));
        (hand.speed_sd, hand.angle_sd) = (Fraction(self.speed), Degrees(self.angle_deg));
        hand.seed = seed;
        by_hand
    }
}

/// The hands of a job, by their seeds: one set chooses among plans, another, which had no part in that, tells what the
/// chosen ones give. The seeds hang on the job, so that no one set of hands is kind to the same plans in every job, and
/// on nothing else, so that page and command line tell the same. All plans of a job meet the same hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hands(u64);

impl Hands {
    /// The hands of a job, whatever its title.
    pub fn of(job: &Job) -> Self {
        let mut job = job.clone();
        job.title.clear();
        Self(job.text().bytes().fold(0, |state, byte| stir(state ^ u64::from(byte))))
    }

    /// Seeds of the hands that choose, without end.
    pub fn choosing(self) -> impl Iterator<Item = u32> {
        self.seeds(1)
    }

    /// Seeds of the hands that tell, without end.
    pub fn telling(self) -> impl Iterator<Item = u32> {
        self.seeds(2)
    }

    fn seeds(self, set: u64) -> impl Iterator<Item = u32> {
        let from = stir(self.0 ^ set);
        (0..).map(move |i| (stir(from.wrapping_add(i)) >> 32) as u32)
    }
}

/// The job sprayed as it stands, its film alone.
pub(super) fn sprayed(job: &Job) -> Appraisal {
    Appraisal::of(rehearse_film(job))
}

/// Share of the panel on which the film of the tinted clear is in a window when the job is sprayed as it stands.
pub(super) fn share(job: &Job, window: (f64, f64)) -> f64 {
    share_within(sprayed(job).tinted().unwrap_or_default(), window)
}

/// Share of the panel in the window, hand by hand.
pub fn shares(job: &Job, hand: &Steadiness, window: (f64, f64), seeds: impl Iterator<Item = u32>) -> Vec<f64> {
    seeds.map(|seed| share(&hand.sprays(job, seed), window)).collect()
}
