//! What an attempt at a lesson is worth: the settings that were locked are the lesson's, what was sprayed or answered is
//! the learner's. The same mark on the page and on the command line.

use super::performance::{Performance, Range, SprayedPass, performance};
use super::{ErrorSource, Foreseen, Lesson, NextStep, Prediction, Slip, Task, next_step};
use crate::appraisal::Appraisal;
use crate::error::Problem;
use crate::field::share_within;
use crate::job::inputs::System;
use crate::job::{Files, Job};
use crate::json;
use crate::rehearsal::rehearse_film;
use crate::strokes::MovedBy;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::cell::LazyCell;

/// Version of the attempt's file.
pub const ATTEMPT_VERSION: u64 = 1;

/// The check of an answer.
const WRONG: &str = "wrong answers";

/// An attempt at a lesson, as in its file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attempt {
    /// Its version.
    pub fanlap_attempt: u64,
    /// The title of the lesson.
    pub lesson: String,
    /// Whether it was a test, without help.
    #[serde(default)]
    pub test: bool,
    /// The job with its recorded coats.
    pub job: Value,
    /// What was named as the error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<ErrorSource>,
    /// What was foreseen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prediction: Option<Prediction>,
}

/// One thing that was looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// What it is.
    pub name: &'static str,
    /// The worst that was found.
    pub is: f64,
    /// What is allowed.
    pub allowed: f64,
    /// Whether it was kept.
    pub kept: bool,
    /// No less is allowed; otherwise no more.
    pub at_least: bool,
    /// Both are shares.
    pub share: bool,
}

impl Check {
    /// In words: what is, and what is allowed.
    pub fn text(&self) -> String {
        if self.name == WRONG {
            return if self.kept { "The right cause." } else { "Not the right cause." }.to_string();
        }
        let (name, unit) = self.name.strip_suffix(", mm").map_or((self.name, ""), |name| (name, " mm"));
        let (factor, unit, digits) = if self.share { (100.0, " %", 1) } else { (1.0, unit, 0) };
        let number = |value: f64| crate::words::digits_of(value * factor, digits);
        let limit = if self.at_least { "at least" } else { "at most" };
        format!("{name} {}{unit}, {limit} {}{unit}", number(self.is), number(self.allowed))
    }
}

/// What an attempt at a lesson is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mark {
    /// Whether all was kept, on every coat.
    pub passed: bool,
    /// Coat by coat, then of the whole: what was looked at.
    pub checks: Vec<Vec<Check>>,
    /// How far the film is off the plan's, the worst of the coats.
    pub off: f64,
    /// How near the prediction came.
    pub foreseen: Option<Foreseen>,
    /// What to do next, of the first coat that is not done; where all are, of the first of which there is something to say.
    pub next: Option<NextStep>,
    /// What moved the gun; none where it is not known, or was somebody else's.
    pub moved_by: Option<MovedBy>,
}

impl Mark {
    /// What is to be said of how the gun was moved, beside the mark: keys keep line and speed by themselves.
    pub fn moved(&self) -> Option<&'static str> {
        let keys = "Sprayed by keys: the gun kept line and speed by itself.";
        (self.moved_by == Some(MovedBy::Keys)).then_some(keys)
    }
}

impl Attempt {
    /// At a lesson, with what was recorded.
    pub fn new(lesson: &Lesson, job: &Job) -> Self {
        Self {
            fanlap_attempt: ATTEMPT_VERSION,
            lesson: lesson.title.clone(),
            test: false,
            job: job.value(),
            answer: None,
            prediction: None,
        }
    }

    /// Reads an attempt; its job is checked like any.
    pub fn read(file: &str, text: &str) -> Result<Self, Problem> {
        let text = text.trim_start_matches('\u{feff}');
        json::read("saved attempt", text).map_err(|problem| problem.within(file))?;
        let attempt: Self = serde_json::from_str(text).map_err(|error| {
            Problem::new(file, error.to_string(), "an attempt as the page saves it", "Save it again from the page.")
        })?;
        if attempt.fanlap_attempt != ATTEMPT_VERSION {
            let remedy = "Open it with the version of this program that wrote it.";
            let given = attempt.fanlap_attempt.to_string();
            return Err(Problem::new(format!("{file}, fanlap_attempt"), given, ATTEMPT_VERSION.to_string(), remedy));
        }
        attempt.sprayed()?;
        Ok(attempt)
    }

    /// The text of its file.
    pub fn text(&self) -> String {
        serde_json::to_string(self).expect("an attempt is plain data") + "\n"
    }

    /// The job with its recorded coats.
    pub fn sprayed(&self) -> Result<Job, Problem> {
        Job::read(&self.job.to_string(), &Files::none())
    }
}

fn at_most(name: &'static str, is: f64, allowed: f64) -> Check {
    Check { name, is, allowed, kept: is <= allowed, at_least: false, share: false }
}

fn at_least(name: &'static str, is: f64, allowed: f64) -> Check {
    Check { name, is, allowed, kept: is >= allowed, at_least: true, share: false }
}

impl Lesson {
    /// The worked example.
    pub fn example(&self) -> Result<Attempt, Problem> {
        self.attempt(&self.set_up()?, &Slip::default(), |hand, _| self.answer(hand))
    }

    /// The typical error.
    pub fn typical_error(&self) -> Result<Attempt, Problem> {
        let slip = if let Task::Spray { slip } = self.task { slip } else { Slip::default() };
        self.attempt(&self.begun()?, &slip, |_, mistaken_for| Ok(mistaken_for))
    }

    fn attempt(
        &self,
        job: &Job,
        slip: &Slip,
        answer: impl Fn(&Slip, ErrorSource) -> Result<ErrorSource, Problem>,
    ) -> Result<Attempt, Problem> {
        Ok(match &self.task {
            Task::Spray { .. } => Attempt::new(self, &self.sprayed_by(job, slip)?),
            Task::Plan { .. } => Attempt::new(self, job),
            Task::Find { hand, mistaken_for } => {
                Attempt { answer: Some(answer(hand, *mistaken_for)?), ..Attempt::new(self, job) }
            }
        })
    }

    /// What did most of a hand's errors to the film, as the rehearsal shows it.
    fn answer(&self, hand: &Slip) -> Result<ErrorSource, Problem> {
        let next = next_step(&self.sprayed_by(&self.set_up()?, hand)?, 0, System::Metric);
        next.and_then(|next| next.channel).ok_or_else(|| {
            let remedy = "Give its hand one error that is large enough to see.";
            Problem::new(format!("{}, task", self.title), "a hand whose film has no cause", "one with a cause", remedy)
        })
    }

    /// What is marked: the lesson's job with what the learner chose and sprayed, or what the other hand sprays of it.
    fn marked(&self, job: &Job) -> Result<Job, Problem> {
        if let Some(hand) = self.other_hand() {
            return self.sprayed_by(job, &hand);
        }
        let mut marked = self.set_up()?;
        for (coat, sprayed) in marked.coats.iter_mut().zip(&job.coats) {
            coat.track.clone_from(&sprayed.track);
        }
        Ok(marked)
    }

    /// Marks an attempt.
    pub fn mark(&self, attempt: &Attempt) -> Result<Mark, Problem> {
        let job = self.marked(&attempt.sprayed()?)?;
        let made = LazyCell::new(|| Appraisal::of(rehearse_film(&job)));
        let told = |coat: usize| performance(&job, coat).zip(next_step(&job, coat, System::Metric));
        let mut next = None;
        let (mut checks, mut off, mut all_done) = (Vec::new(), 0.0_f64, true);
        match &self.task {
            Task::Spray { .. } => {
                let whole = self.whole_film(&made)?;
                for coat in 0..job.coats.len() {
                    let told = told(coat);
                    let made = match &told {
                        Some(told) => self.checks_of(&job, coat, told, whole),
                        None => Vec::new(),
                    };
                    let done = !made.is_empty() && made.iter().all(|check| check.kept);
                    let error = told.as_ref().map_or(0.0, |(_, next)| next.error);
                    off = off.max(whole.unwrap_or(error));
                    let told = told.map(|(_, next)| next);
                    // a coat that is not done comes before one of which there is only more to say
                    if let Some(told) = told.filter(|told| !done || told.channel.is_some())
                        && (next.is_none() || (!done && all_done))
                    {
                        next = Some(told);
                    }
                    all_done &= done;
                    checks.push(made);
                }
                checks.extend(self.limits.in_window.map(|least| {
                    let is = in_window(&made);
                    vec![Check { share: true, ..at_least("panel in the window", is, least) }]
                }));
            }
            Task::Plan { .. } => {
                off = apart(&made, &self.sprayed_by(&self.set_up()?, &Slip::default())?);
                let allowed = self.limits.film.unwrap_or(f64::INFINITY);
                checks.push(vec![Check { share: true, ..at_most("film off the plan's", off, allowed) }]);
            }
            Task::Find { hand, .. } => {
                let right = attempt.answer == Some(self.answer(hand)?);
                checks.push(vec![at_most(WRONG, f64::from(u8::from(!right)), 0.0)]);
                next = next_step(&job, 0, System::Metric);
            }
        }
        let passed = checks.iter().all(|made| !made.is_empty() && made.iter().all(|check| check.kept));
        let foreseen = attempt.prediction.as_ref().map(|said| said.against(made.patch(), made.film(painted(&job))));
        Ok(Mark { passed, checks, off, foreseen, next, moved_by: self.moved_by(&job) })
    }

    /// What moved the gun in the learner's recordings: keys where they did in any.
    fn moved_by(&self, job: &Job) -> Option<MovedBy> {
        let tracks = job.coats.iter().filter(|_| self.other_hand().is_none()).filter_map(|coat| coat.track.as_ref());
        let movers: Vec<MovedBy> = tracks.filter_map(|track| track.moved_by).collect();
        movers.iter().copied().find(|mover| *mover == MovedBy::Keys).or(movers.first().copied())
    }

    /// How far the whole film is off the plan's, where the lines are the learner's to choose: those that were reached say
    /// nothing of it.
    fn whole_film(&self, made: &LazyCell<Appraisal, impl FnOnce() -> Appraisal>) -> Result<Option<f64>, Problem> {
        if self.open.is_empty() {
            return Ok(None);
        }
        Ok(Some(apart(made, &self.sprayed_by(&self.set_up()?, &Slip::default())?)))
    }

    fn checks_of(
        &self,
        job: &Job,
        coat: usize,
        (performance, next): &(Performance, NextStep),
        whole: Option<f64>,
    ) -> Vec<Check> {
        let error = whole.unwrap_or(next.error);
        let (coat, limits) = (&job.coats[coat], &self.limits);
        let worst = |of: &dyn Fn(&SprayedPass) -> f64| performance.passes.iter().map(of).fold(0.0, f64::max);
        let missing = (performance.left_out.len() + performance.to_come) as f64;
        // where the lines are the learner's to choose, the film tells whether there are enough
        let chosen = !self.open.is_empty();
        let mut checks = Vec::new();
        if !chosen {
            checks.push(at_most("lines not sprayed", missing, 0.0));
        }
        checks
            .extend(limits.film.map(|allowed| Check { share: true, ..at_most("film off the plan's", error, allowed) }));
        let meant = (coat.actual_speed().0, coat.distance.0);
        // the worst place along any pass: what errs to both sides is no better for its mean
        let off = |range: &Range, meant: f64| (range.least - meant).abs().max((range.most - meant).abs());
        checks.extend(limits.speed.map(|allowed| {
            let is = worst(&|pass| off(&pass.speed_mm_per_s, meant.0) / meant.0);
            Check { share: true, ..at_most("speed off at worst", is, allowed) }
        }));
        checks.extend(limits.distance_mm.map(|allowed| {
            at_most("distance off at worst, mm", worst(&|pass| off(&pass.distance_mm, meant.1)), allowed)
        }));
        checks.extend(
            limits
                .line_mm
                .map(|allowed| at_most("off line at worst, mm", worst(&|pass| pass.course.worst_mm.abs()), allowed)),
        );
        checks.extend(limits.outside_mm.map(|allowed| {
            let least = performance.passes.iter().map(|pass| pass.opened_before_mm.min(pass.closed_after_mm));
            let is = least.fold(f64::INFINITY, f64::min);
            at_least("trigger outside the edge, mm", is, allowed)
        }));
        checks
    }
}

/// The paint whose film is looked at.
fn painted(job: &Job) -> usize {
    job.tinted().unwrap_or(0)
}

/// Share of the panel whose colour is within 1 dE of the target.
fn in_window(made: &Appraisal) -> f64 {
    let appearance = made.appearance();
    let Some((low, high)) = appearance.track().film_window(appearance.target(), 1.0) else { return 0.0 };
    share_within(made.film(painted(made.job())), (low.0, high.0))
}

/// How far a film lies from that of another job on the same panel: root mean square over the other's mean.
fn apart(made: &Appraisal, meant: &Job) -> f64 {
    let (film, meant) = (made.film(painted(made.job())), rehearse_film(meant).film(painted(meant)));
    let mean = meant.iter().sum::<f64>() / meant.len().max(1) as f64;
    super::diagnose::off(film, &meant) / mean.max(1e-9)
}
