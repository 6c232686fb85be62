//! What of a hand's spraying did most to the film: the coat is rehearsed again with one thing put right at a time, and
//! compared with the film of the plan, of which only the lines count that were reached so far. What did most is looked at
//! more closely in the same way. The same judgement as that of causes: only what a rehearsal shows is said.

use super::performance::{Performance, performance, plan};
use super::righted::{Detail, planned, put_right, put_right_in_part};
use super::sentences::{Did, noticed, told};
use crate::job::Job;
use crate::job::inputs::System;
use crate::rehearsal::{Rehearsal, TRIAL_CELL, on_cells};
use crate::strokes::{Along, Line, Track};
use serde::{Deserialize, Serialize};

/// What takes away less than this share of the error is not worth a word: a judgement.
const LEAST_SHARE: f64 = 0.1;
/// Of what explains nearly the same, the plainer one is named: a judgement, as that of causes.
const NEARLY: f64 = 0.9;
/// A part that explains this share of what all its parts do is named by itself: a judgement.
const BY_ITSELF: f64 = 0.5;
/// A film this near to the plan's, root mean square over its mean, has nothing to be put right: a judgement.
const GOOD_ENOUGH: f64 = 0.03;

/// What can be put right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ErrorSource {
    /// The distance of the gun.
    Distance,
    /// How far apart the lines lie.
    Overlap,
    /// The line that a pass follows.
    Line,
    /// The speed along it.
    Speed,
    /// Heel and lean of the gun.
    Angle,
    /// Where the trigger opens and closes.
    Trigger,
    /// A planned line that was not sprayed.
    LeftOut,
    /// A planned line that was sprayed more than once.
    Twice,
}

/// The one thing to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextStep {
    /// How far the film lies from the plan's: root mean square over its mean.
    pub error: f64,
    /// What did most; none where the film is good enough, or nothing alone explains it.
    pub channel: Option<ErrorSource>,
    /// Share of the error, its square, that goes when it alone is put right.
    pub share: f64,
    /// In a sentence or two.
    pub text: String,
}

/// What did most to a recorded coat's film, and what to do, in one go; none of a coat that was not recorded.
pub fn next_step(job: &Job, coat: usize, system: System) -> Option<NextStep> {
    Some(tried(job, coat)?.told(system))
}

/// A recording with one thing put right.
#[derive(Debug, Clone, PartialEq)]
pub struct Righted {
    /// What was put right.
    pub channel: ErrorSource,
    /// The recording without it.
    pub track: Track,
    /// What was wrong, in a sentence.
    pub cause: String,
    /// What to do, in a sentence.
    pub cure: String,
    /// Share of what the coat's film is off the plan's that goes with it.
    pub share: f64,
}

/// A recorded coat with one thing put right at a time, what did most first: in the words of the next step.
pub fn righted(job: &Job, coat: usize) -> Vec<Righted> {
    let Some(trials) = tried(job, coat) else { return Vec::new() };
    let best = trials.best();
    let mut all: Vec<Did> = trials.did().collect();
    all.retain(|did| best.as_ref().is_none_or(|best| best.channel != did.channel));
    let one = |did: Did| {
        let (cause, cure) = told(&trials.job, &did, &trials.performance, System::Metric);
        let track = trials.put_right(did.channel, did.detail);
        Righted { channel: did.channel, track, cause, cure, share: did.share }
    };
    best.into_iter().chain(all).filter(|did| did.share > 0.0).map(one).collect()
}

/// A recorded coat as its plan has it: the lines that were reached, sprayed without a fault; none of one that was not
/// recorded, or along no line.
pub fn as_planned(job: &Job, coat: usize) -> Option<Track> {
    let trials = Trials::new(job, coat)?;
    (!trials.performance.passes.is_empty()).then(|| trials.planned())
}

fn tried(job: &Job, coat: usize) -> Option<Trials> {
    let mut trials = Trials::new(job, coat)?;
    while trials.step() {}
    Some(trials)
}

impl ErrorSource {
    /// All that is tried, in this order, after the plan's film and the film as it is.
    pub const ALL: [Self; 8] = [
        Self::Distance,
        Self::Overlap,
        Self::Line,
        Self::Speed,
        Self::Angle,
        Self::Trigger,
        Self::LeftOut,
        Self::Twice,
    ];

    /// What a learner calls it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Distance => "the distance",
            Self::Overlap => "the overlap",
            Self::Line => "the lines",
            Self::Speed => "the speed",
            Self::Angle => "the wrist",
            Self::Trigger => "the trigger",
            Self::LeftOut => "a line left out",
            Self::Twice => "a line sprayed twice",
        }
    }
}

/// The search for what did most, pass by pass, so that a page stays alive.
pub struct Trials {
    /// The coat alone, on the trial grid.
    job: Job,
    track: Track,
    performance: Performance,
    laying: Option<Rehearsal>,
    /// The plan's film.
    meant: Vec<f64>,
    /// How far the films tried so far lie from it: as it is, then channel by channel.
    errors: Vec<f64>,
}

impl Trials {
    /// Of a recorded coat; none of one that was not recorded.
    pub fn new(job: &Job, coat: usize) -> Option<Self> {
        let performance = performance(job, coat)?;
        let mut job = on_cells(job, TRIAL_CELL);
        job.coats = vec![job.coats[coat].clone()];
        let track = job.coats[0].track.clone()?;
        Some(Self { job, track, performance, laying: None, meant: Vec::new(), errors: Vec::new() })
    }

    /// Lays one pass of what is being tried; false when all is done.
    pub fn step(&mut self) -> bool {
        let Some(laying) = &mut self.laying else {
            let Some(track) = self.next() else { return false };
            let mut job = self.job.clone();
            job.coats[0].track = Some(track);
            self.laying = Some(Rehearsal::plan(&job));
            return true;
        };
        if laying.lay_next() {
            return true;
        }
        let film = laying.film_of_coat(0);
        self.laying = None;
        if self.meant.is_empty() {
            self.meant = film;
        } else {
            let mean = self.meant.iter().sum::<f64>() / self.meant.len() as f64;
            self.errors.push(off(&film, &self.meant) / mean.max(1e-9));
        }
        true
    }

    /// What is tried next.
    fn next(&self) -> Option<Track> {
        if self.performance.passes.is_empty() {
            return None;
        }
        if self.meant.is_empty() {
            return Some(self.planned());
        }
        let Some(tried) = self.errors.len().checked_sub(1) else { return Some(self.track.clone()) };
        if let Some(channel) = ErrorSource::ALL.get(tried) {
            return Some(self.put_right(*channel, None));
        }
        // then the parts of what did most
        let channel = self.most()?.0;
        let detail = Detail::of(channel).get(tried - ErrorSource::ALL.len())?;
        Some(self.put_right(channel, Some(*detail)))
    }

    /// The lines that were reached, as the plan has them.
    fn planned(&self) -> Track {
        let plan = plan(&self.job, 0);
        let reached: Vec<&Line> = self.performance.reached().map(|number| &plan[number - 1]).collect();
        planned(&self.job, &reached, 0.0)
    }

    fn put_right(&self, channel: ErrorSource, detail: Option<Detail>) -> Track {
        match detail {
            None => put_right(&self.job, &self.track, channel, &self.performance),
            Some(detail) => put_right_in_part(&self.job, &self.track, detail),
        }
    }

    /// Share of the error, its square, that goes with what was tried as number so and so after the film as it is.
    fn share(&self, tried: usize) -> f64 {
        let (Some(now), Some(left)) = (self.errors.first(), self.errors.get(1 + tried)) else { return 0.0 };
        1.0 - left / now * (left / now)
    }

    /// The channel that did most, and its share: uneven lines only where even ones too far apart are not nearly as much.
    fn most(&self) -> Option<(ErrorSource, f64)> {
        let shares = || ErrorSource::ALL.into_iter().enumerate().map(|(i, channel)| (channel, self.share(i)));
        let most = shares().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let plainer = shares().find(|(channel, share)| *channel == ErrorSource::Overlap && *share >= NEARLY * most.1);
        Some(plainer.filter(|_| most.0 == ErrorSource::Line).unwrap_or(most))
    }

    /// Every channel with its share.
    fn did(&self) -> impl Iterator<Item = Did> {
        let one = |(i, channel)| Did { channel, detail: None, share: self.share(i) };
        ErrorSource::ALL.into_iter().enumerate().map(one)
    }

    /// What did most, as closely as it is known; none where the film is good enough or nothing explains it.
    fn best(&self) -> Option<Did> {
        let (channel, share) = self.most()?;
        if self.errors[0] <= GOOD_ENOUGH || share < LEAST_SHARE {
            return None;
        }
        let parts = Detail::of(channel).iter().enumerate();
        let parts = parts.map(|(i, detail)| (*detail, self.share(ErrorSource::ALL.len() + i)));
        let part = parts.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|part| part.1 >= BY_ITSELF * share);
        Some(Did { channel, detail: part.map(|part| part.0), share })
    }

    /// What did most, as far as it was tried.
    pub fn told(&self, system: System) -> NextStep {
        let Some(now) = self.errors.first() else {
            let axis = if self.job.coats[0].along == Along::Length { "length" } else { "width" };
            let text = format!("Nothing was sprayed along the lines yet: they run along the panel\u{2019}s {axis}.");
            return NextStep { error: 0.0, channel: None, share: 0.0, text };
        };
        let best = self.best();
        let did = |did: &Did| {
            let (cause, cure) = told(&self.job, did, &self.performance, system);
            format!("{cause} Next: {cure}")
        };
        let mut text = best.as_ref().map_or_else(|| self.untold(*now, system), did);
        if let Some(pass) = self.performance.passes.iter().find(|pass| pass.turned) {
            text += &format!(" The trigger stayed open through the turn after pass {}: close it there.", pass.number);
        }
        let share = best.as_ref().map_or(0.0, |best| best.share);
        NextStep { error: *now, channel: best.map(|best| best.channel), share, text }
    }

    /// Where nothing did most.
    fn untold(&self, error: f64, system: System) -> String {
        let noticed = noticed(&self.job, &self.performance, system);
        match (error <= GOOD_ENOUGH, noticed) {
            (true, None) if self.performance.to_come > 0 => {
                "So far the film is as even as the plan\u{2019}s. Next: the lines that are still to come.".to_string()
            }
            (true, None) => {
                "The film is as even as the plan\u{2019}s. Next: the same again, or something harder.".to_string()
            }
            (true, Some((what, next))) => {
                format!("The film is as even as the plan\u{2019}s. Even so: {what} Next: {next}")
            }
            (false, Some((what, next))) => {
                format!("No single thing explains what is left. The largest: {what} Next: {next}")
            }
            (false, None) => "No single thing explains what is left; several small ones play together. Next: the same \
                              again, more evenly."
                .to_string(),
        }
    }
}

pub(super) fn off(film: &[f64], meant: &[f64]) -> f64 {
    let squares = film.iter().zip(meant).map(|(a, b)| (a - b) * (a - b)).sum::<f64>();
    (squares / film.len().max(1) as f64).sqrt()
}
