//! What undo takes back: the job, and with it what was recorded by hand and the lesson, where a step has put something else
//! into the hand. A step that changed settings alone leaves the hand as it is. Draws nothing.

use crate::practice::instructor::PutIn;
use crate::practice::lesson;
use crate::practice::{self, Practice};
use crate::shell::app::{App, Place};
use crate::shell::rest;
use fanlap::error::Problem;
use fanlap::job::{Files, Job};
use fanlap::strokes::Track;
use fanlap::units::Seconds;
use serde::{Deserialize, Serialize};
use std::rc::Rc;

/// Steps that can be undone.
const STEPS: usize = 100;
/// Recordings that the steps may hold in all, letters: the browser keeps not much more.
const MOST_RECORDED: usize = 2_000_000;

/// A step that can be undone: what it goes back to.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Link of the job; its text where the rest of the page, which packs links, is not there yet.
    pub job: String,
    /// What was in the hand, as JSON; none where the step left that alone.
    pub hand: Option<Rc<str>>,
}

/// What is in the hand: recordings, and the lesson as far as it has come.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct InHand {
    /// Recordings, coat by coat.
    pub tracks: Vec<Track>,
    /// What was done in a lesson.
    pub attempt: Option<lesson::State>,
    /// The coat that is sprayed.
    #[serde(rename = "coat_in_hand")]
    coat: usize,
    distance: Option<f64>,
    put_in: Option<PutIn>,
    judged_anew: bool,
    stutters: Vec<(usize, f64)>,
}

impl InHand {
    /// Of the page as it is.
    pub fn of(app: &App) -> Self {
        let practice = &app.practice;
        Self {
            tracks: practice.tracks.clone(),
            attempt: practice.lesson.as_ref().map(|trying| trying.state.clone()),
            coat: practice.coat,
            distance: practice.distance,
            put_in: practice.put_in,
            judged_anew: practice.judged_anew,
            stutters: practice.stutters.iter().map(|(coat, when)| (*coat, when.0)).collect(),
        }
    }

    /// Puts it into the hand, for the job that is open.
    pub fn take_up(self, app: &mut App) {
        app.practice = Practice::default();
        let practice = &mut app.practice;
        practice.tracks = self.tracks;
        practice.coat = self.coat.min(app.job.coats.len().saturating_sub(1));
        (practice.distance, practice.put_in, practice.judged_anew) = (self.distance, self.put_in, self.judged_anew);
        practice.stutters = self.stutters.into_iter().map(|(coat, when)| (coat, Seconds(when))).collect();
        if self.attempt.is_some() {
            lesson::recognise(app, self.attempt);
        }
    }
}

/// A job as a step holds it.
fn packed(job: &Job) -> String {
    if rest::is_here() { job.link() } else { job.text() }
}

/// The job that a step holds.
pub fn unpacked(text: &str) -> Result<Job, Problem> {
    if text.starts_with('{') { Job::read(text, &Files::none()) } else { Job::from_link(text) }
}

impl App {
    /// Takes other settings for the present ones, and remembers those; what was recorded stays in the hand.
    pub fn change(&mut self, job: Job) {
        if job == self.job {
            return;
        }
        if !self.moving {
            self.remember();
        }
        self.replace(job);
    }

    /// Opens a job with what was recorded of it, in place of the present one and its recordings: undo brings both back.
    pub fn open(&mut self, mut job: Job) {
        let tracks: Vec<_> = job.coats.iter_mut().map(|coat| coat.track.take()).collect();
        let recorded = tracks.iter().any(Option::is_some);
        let tracks = tracks.into_iter().map(Option::unwrap_or_default).collect();
        self.remember_hand();
        self.exchange(job, InHand { tracks, ..InHand::default() });
        if recorded {
            lesson::recognise(self, None);
            self.go(Place::Practice);
        }
    }

    /// Takes what another tab has kept in place of the present job and its recordings: undo brings both back.
    pub fn take_over(&mut self, job: Job, hand: InHand) {
        self.remember_hand();
        self.exchange(job, hand);
    }

    fn exchange(&mut self, job: Job, hand: InHand) {
        practice::put_down(self);
        self.practice = Practice::default();
        self.replace(job);
        hand.take_up(self);
        if self.place == Place::Practice {
            self.held = None;
            self.resprayed();
        }
        self.measure();
    }

    /// Puts the present job on the list of what can be undone.
    pub fn remember(&mut self) {
        self.push(None);
    }

    /// Puts the present job on the list of what can be undone, and with it what is in the hand.
    pub fn remember_hand(&mut self) {
        practice::put_down(self);
        let text = self.in_hand();
        self.push(Some(text));
    }

    fn in_hand(&self) -> Rc<str> {
        serde_json::to_string(&InHand::of(self)).unwrap_or_default().into()
    }

    fn push(&mut self, hand: Option<Rc<str>>) {
        let step = Step { job: packed(&self.job), hand };
        if self.undo.last() != Some(&step) {
            self.undo.push(step);
        }
        let mut recorded = 0;
        let fits = |step: &&Step| {
            recorded += step.hand.as_ref().map_or(0, |hand| hand.len());
            recorded <= MOST_RECORDED
        };
        let kept = self.undo.iter().rev().take(STEPS).take_while(fits).count().max(1);
        self.undo.drain(..self.undo.len() - kept);
        self.redo.clear();
    }

    /// One step back (or forward).
    pub fn step_history(&mut self, back: bool) {
        practice::put_down(self);
        let Some(step) = (if back { self.undo.pop() } else { self.redo.pop() }) else { return };
        let hand = step.hand.as_ref().map(|_| self.in_hand());
        let here = Step { job: packed(&self.job), hand };
        if back {
            self.redo.push(here)
        } else {
            self.undo.push(here)
        }
        if let Err(problem) = self.show_step(step) {
            self.trouble("This step cannot be taken back", &problem.to_string());
        }
    }

    fn show_step(&mut self, step: Step) -> Result<(), Problem> {
        let job = unpacked(&step.job)?;
        match step.hand.and_then(|hand| serde_json::from_str(&hand).ok()) {
            Some(hand) => self.exchange(job, hand),
            None => self.replace(job),
        }
        Ok(())
    }
}
