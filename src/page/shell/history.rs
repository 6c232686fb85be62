//! What undo takes back: the job, and with it what was recorded by hand and the lesson, where a step has put something
//! else into the hand. A step that changed settings alone leaves the hand as it is. Draws nothing.

use crate::shell::app::{App, Place};
use crate::shell::recorded::{Kept, Recorded, Step};
use crate::shell::rest;
use crate::shell::room::Event;
use fanlap::error::Problem;
use fanlap::job::{Files, Job};
use serde_json::Map;
use std::rc::Rc;

/// Steps that can be undone.
const STEPS: usize = 100;
/// Recordings that the steps may hold in all, letters: the browser keeps not much more.
const MOST_RECORDED: usize = 2_000_000;

/// A job as a step holds it: its link, or its text where the rest of the code, which packs links, is not there yet.
fn packed(job: &Job) -> String {
    if rest::is_here() { job.link() } else { job.text() }
}

/// The job that a step holds.
pub fn unpacked(step: &str) -> Result<Job, Problem> {
    if step.starts_with('{') { Job::read(step, &Files::none()) } else { Job::from_link(step) }
}

impl App {
    /// Takes other settings for the present ones, and remembers those; what was recorded stays in the hand.
    pub fn change(&mut self, job: Job) {
        if job == *self.job {
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
        self.exchange(job, Kept { tracks, ..Kept::default() });
        if recorded {
            self.announce(Event::Opened);
            self.go(Place::Practice);
        }
    }

    /// Takes what another tab has kept in place of the present job and its recordings: undo brings both back.
    pub fn take_over(&mut self, job: Job, hand: Kept) {
        self.remember_hand();
        self.exchange(job, hand);
    }

    fn exchange(&mut self, job: Job, hand: Kept) {
        self.announce(Event::PutDown);
        self.empty_hand();
        self.replace(job);
        self.take_up(hand);
        if *self.place == Place::Practice {
            self.let_go();
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
        self.announce(Event::PutDown);
        let text = self.hand_text();
        self.push(Some(text));
    }

    /// Nothing is recorded, nothing is in the hand.
    pub fn empty_hand(&mut self) {
        *self.recorded = Recorded::default();
        self.announce(Event::Emptied);
    }

    /// What is in the hand, to be kept.
    pub fn hand(&self) -> Kept {
        let mut more = Map::new();
        self.rooms.iter().for_each(|room| room.keep(self, &mut more));
        Kept { tracks: self.recorded.tracks.clone(), coat: self.recorded.coat, more }
    }

    /// Takes up what was kept, for the job that is open.
    pub fn take_up(&mut self, hand: Kept) {
        let coat = hand.coat.min(self.job.coats.len().saturating_sub(1));
        self.empty_hand();
        *self.recorded = Recorded { tracks: hand.tracks, coat };
        self.rooms.iter().for_each(|room| room.take_up(self, &hand.more));
    }

    fn hand_text(&self) -> Rc<str> {
        serde_json::to_string(&self.hand()).unwrap_or_default().into()
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
        self.announce(Event::PutDown);
        let Some(step) = (if back { self.undo.pop() } else { self.redo.pop() }) else { return };
        let hand = step.hand.as_ref().map(|_| self.hand_text());
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
