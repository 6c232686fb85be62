//! What a lesson shows, hides, locks and tells just now: questions to the lesson that is tried. Changes nothing.

use crate::practice::state::{Attempting, State, learner, practice};
use crate::shell::app::{App, Place};
use crate::shell::room::Sought;
use fanlap::practice::{Aid, Lesson, Prediction, Task, Told, lessons};

/// What helps while a lesson is sprayed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Help {
    /// Planned lines.
    Lines,
    /// The pacer.
    Pacer,
    /// Its clicks.
    Clicks,
    /// The film.
    Film,
}

/// All of them, with the boxes that switch them.
pub const HELP: [(Help, &str); 4] = [
    (Help::Lines, "practice-lines"),
    (Help::Pacer, "practice-pacer"),
    (Help::Clicks, "practice-clicks"),
    (Help::Film, "practice-film"),
];

/// Why the film is not to be seen just now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Veil {
    /// It is being sprayed.
    Spraying,
    /// It is to be foreseen first.
    Foretelling,
    /// This attempt is not told of.
    Untold,
}

impl Attempting {
    pub fn new(app: &App, lesson: Lesson, test: bool) -> Self {
        let trial = learner(app).progress.trial(&lesson.title);
        let state = State { title: lesson.title.clone(), trial, test, ..State::default() };
        Self { lesson, state, mark: None }
    }

    pub fn aid(&self, help: Help) -> Aid {
        let shown = &self.lesson.shown;
        match help {
            _ if self.state.test => Aid::Off,
            Help::Lines => shown.lines,
            Help::Pacer => shown.pacer,
            Help::Clicks => shown.clicks,
            Help::Film => shown.film,
        }
    }

    pub fn told(&self) -> Told {
        if self.state.test { Told::None } else { self.lesson.told }
    }

    pub fn finds(&self) -> bool {
        matches!(self.lesson.task, Task::Find { .. })
    }

    /// Whether the whole attempt is told of, once it is marked.
    pub fn tells(&self) -> bool {
        let off = self.mark.as_ref().map_or(f64::INFINITY, |mark| mark.off);
        self.told().tells(self.state.trial, self.lesson.seed, off)
    }
}

/// The lessons of the ladder, and after them those that were opened from files and links.
pub fn ladder(app: &App) -> impl Iterator<Item = &Lesson> {
    lessons().iter().chain(&learner(app).own)
}

/// Whether something helps just now: as the lesson has it, or as its box is ticked.
pub fn shown(app: &App, help: Help) -> bool {
    let Some(trying) = &*practice(app).lesson else {
        return practice(app).helps[HELP.iter().position(|(of, _)| *of == help).unwrap_or(0)];
    };
    let line = practice(app).told.as_ref().map_or(0, |told| told.passes.len());
    let lines = fanlap::practice::plan(&app.job, app.recorded.coat).len();
    trying.aid(help).shows(line, lines, trying.state.trial)
}

/// Whether the film is not to be seen just now, and why.
pub fn veil(app: &App) -> Option<Veil> {
    let sprays = practice(app).live.is_some();
    let Some(trying) = &*practice(app).lesson else {
        return (sprays && !shown(app, Help::Film)).then_some(Veil::Spraying);
    };
    if !practice(app).complete || sprays {
        let waits = match trying.lesson.other_hand() {
            None => app.recorded.any() && !shown(app, Help::Film),
            Some(_) => trying.lesson.predict && !trying.state.foretold,
        };
        return waits.then_some(Veil::Spraying);
    }
    if trying.lesson.predict && !trying.state.foretold {
        return Some(Veil::Foretelling);
    }
    (trying.mark.is_some() && !trying.tells() && trying.told() != Told::Every).then_some(Veil::Untold)
}

/// Whether a press on the panel says where the film is thick or thin.
pub fn foretells(app: &App) -> bool {
    veil(app) == Some(Veil::Foretelling)
}

/// The next place that is asked for.
pub fn asked(said: &Prediction) -> &'static str {
    match (said.thick_mm, said.thin_mm) {
        (None, _) => "thickest",
        (Some(_), None) => "thinnest",
        _ => "",
    }
}

/// The lesson that settings are locked by does not open these.
pub fn locks(app: &App, paths: &[String]) -> bool {
    practice(app).lesson.as_ref().is_some_and(|trying| !paths.iter().all(|path| trying.lesson.opens(path)))
}

/// Whether an attempt is over that cannot be changed, or is somebody else's: nothing is taken back.
pub fn is_over(app: &App) -> bool {
    practice(app).lesson.as_ref().is_some_and(|trying| trying.state.test || trying.state.counted)
}

/// What is looked for in a film: nothing more where a lesson calls it done, what is beyond its plan in a spraying by
/// hand, unless the plan itself is the learner's to choose.
pub fn sought(app: &App) -> Option<Sought> {
    let trying = practice(app).lesson.as_ref();
    let mark = trying.filter(|trying| !trying.finds()).and_then(|trying| trying.mark.as_ref());
    let by_hand = *app.place == Place::Practice;
    if by_hand && mark.is_some_and(|mark| mark.passed) {
        return Some(Sought::Nothing);
    }
    let against_plan = by_hand && trying.is_none_or(|trying| trying.lesson.open.is_empty());
    against_plan.then_some(Sought::BeyondPlan)
}

/// Whether the error in a film is what the lesson asks for.
pub fn finds(app: &App) -> bool {
    practice(app).lesson.as_ref().is_some_and(Attempting::finds)
}

/// How far what was chosen in a lesson is from what is meant: the mean film that it lays; none where nothing is chosen.
pub fn chosen(app: &App) -> Option<(f64, f64)> {
    let trying = practice(app).lesson.as_ref().filter(|trying| !trying.lesson.open.is_empty())?;
    let meant = trying.lesson.set_up().ok()?;
    let film = |job: &fanlap::job::Job| job.coats.iter().map(|coat| job.planned_film(coat).0).sum::<f64>();
    Some((film(&app.job), film(&meant)))
}

/// Whether the passes are told of just now.
pub fn tells_of_passes(app: &App) -> bool {
    match &*practice(app).lesson {
        None => practice(app).put_in.as_ref().is_none_or(|put_in| put_in.guess.is_some()),
        Some(_) if veil(app).is_some_and(|veil| veil != Veil::Spraying) => false,
        Some(trying) if trying.told() == Told::Every && trying.lesson.other_hand().is_none() => true,
        // how somebody else's gun went is told only where that is the question
        Some(trying) => trying.mark.is_some() && trying.tells() && !matches!(trying.lesson.task, Task::Plan { .. }),
    }
}
