//! The state of practice: the gun in the hand, the lesson that is tried, the learner. Changes nothing but itself.

use crate::parts::watched::{Stamp, Watched};
use crate::practice::live::Live;
use crate::shell::app::App;
use crate::shell::stale::{Changed, last};
use fanlap::practice::{Channel, Lesson, Mark, NextStep, Performance, Prediction, Progress, Trials};
use fanlap::rehearsal::Rehearsal;
use fanlap::strokes::{Along, Line, Sample};
use fanlap::units::{Degrees, Seconds};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Who moves the gun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mover {
    /// A pointer, by its number.
    Pointer(i32),
    /// The gun runs along by itself, the trigger is the space bar: since when, ms, and from where to where.
    Keys { since: f64, from: DVec2, to: DVec2 },
}

/// Practice: the gun in the hand, and what is said of what it sprayed.
#[derive(Default)]
pub struct Practice {
    /// The lesson that is tried.
    pub lesson: Watched<Option<Attempting>>,
    /// The error that an instructor put in.
    pub put_in: Watched<Option<PutIn>>,
    /// What helps where no lesson says it: lines, pacer, clicks, film.
    pub helps: Watched<[bool; 4]>,
    /// Settings were changed after it was sprayed.
    pub judged_anew: bool,
    /// Every line of every coat was sprayed.
    pub complete: bool,
    /// Heel and lean, by the tilt of a pen.
    pub tilt: (Degrees, Degrees),
    /// Nozzle to panel, mm; none: as the coat says.
    pub distance: Watched<Option<f64>>,
    /// Who moves the gun.
    pub mover: Option<Mover>,
    /// The trigger is open.
    pub open: bool,
    /// Fingers on the panel: which and where on the screen.
    pub fingers: Vec<(i32, DVec2)>,
    /// Where the gun is, while it is over the stage.
    pub gun: Watched<Option<Sample>>,
    /// When the recording of the coat began, ms.
    pub began: Option<f64>,
    /// When the trigger opened, ms, and where.
    pub opened: Option<(f64, DVec2)>,
    /// The look at which it opened.
    pub opened_at: usize,
    /// The pacer has moved on.
    pub paced: Stamp,
    /// When the page last could take events, ms.
    pub awake: f64,
    /// The coats and the times of their recordings at which the computer stuttered.
    pub stutters: Vec<(usize, Seconds)>,
    /// The film that grows.
    pub live: Watched<Option<Live>>,
    /// What is told of the passes.
    pub told: Watched<Option<Performance>>,
    /// What did most, once it is found.
    pub next: Watched<Option<NextStep>>,
    /// The search for it.
    pub trials: Option<Trials>,
    /// The plan that is to stand beside what was sprayed.
    pub comparing: Option<Box<Rehearsal>>,
}

impl Practice {
    /// Nothing in the hand; what helps stays.
    pub fn empty(&mut self) {
        *self = Self { helps: std::mem::take(&mut self.helps), ..Self::default() };
    }

    /// What is sprayed is done by somebody else: the gun is not in the hand.
    pub fn out_of_hand(&self) -> bool {
        self.put_in.is_some() || self.lesson.as_ref().is_some_and(|trying| trying.lesson.other_hand().is_some())
    }

    /// Whether frames are wanted: the gun is being moved, or a search goes on.
    pub fn busy(&self) -> bool {
        self.mover.is_some() || self.trials.is_some() || self.comparing.is_some()
    }

    /// The last changes of what is shown of it.
    pub fn changed(&self) -> Changed {
        let all = last(&[&self.lesson, &self.told]);
        let film = last(&[&self.live, &self.helps]).max(all);
        let drawing = last(&[&self.gun, &self.paced, &self.put_in, &self.distance]).max(all);
        let column = last(&[&self.put_in, &self.distance, &self.next]).max(all);
        Changed { film, drawing, column, places: 0 }
    }
}

/// The gun in the hand.
pub fn practice(app: &App) -> &Practice {
    app.states.of()
}

/// The gun in the hand, to change it.
pub fn practice_mut(app: &mut App) -> &mut Practice {
    app.states.of_mut()
}

/// The learner.
pub fn learner(app: &App) -> &Learner {
    app.states.of()
}

/// The learner, to change what is known.
pub fn learner_mut(app: &mut App) -> &mut Learner {
    app.states.of_mut()
}

/// A lesson that is being tried.
pub struct Attempting {
    /// Which.
    pub lesson: Lesson,
    /// What was done in it so far, beside the recording.
    pub state: State,
    /// The mark, when all was done.
    pub mark: Option<Mark>,
}

/// What of an attempt survives a reload.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct State {
    /// The title of the lesson.
    pub title: String,
    /// Its number, from 1.
    pub trial: u32,
    /// Whether it is a test.
    pub test: bool,
    /// What is foreseen.
    pub said: Prediction,
    /// It was said, or skipped.
    pub foretold: bool,
    /// What was named as the error.
    pub answer: Option<Channel>,
    /// It is in the record.
    pub counted: bool,
}

/// An error that was put in.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct PutIn {
    /// Which.
    pub channel: Channel,
    /// Nobody was told which.
    pub secret: bool,
    /// What the class named.
    pub guess: Option<Channel>,
}

/// What belongs to the learner, whatever job is open.
#[derive(Default)]
pub struct Learner {
    /// Attempts so far.
    pub progress: Progress,
    /// Lessons that were opened from files and links.
    pub own: Vec<Lesson>,
    /// Deletion was asked for once.
    pub deleting: bool,
}

/// Which way the passes of the coat in the hand run.
pub fn along(app: &App) -> Along {
    app.job.coats[app.recorded.coat].along
}

/// The planned lines of the coat in the hand.
pub fn plan(app: &App) -> Vec<Line> {
    fanlap::practice::plan(&app.job, app.recorded.coat)
}

/// Nozzle to panel, mm.
pub fn distance(app: &App) -> f64 {
    practice(app).distance.unwrap_or(app.job.coats[app.recorded.coat].distance.0)
}
