//! Marks an attempt at a lesson once all of it is done, unless the computer has stuttered.

use crate::practice::progress;
use crate::practice::state::{Attempting, practice, practice_mut};
use crate::shell::app::App;
use crate::shell::room::Event;
use fanlap::practice::{Attempt, Marked};
use fanlap::strokes::Recorded;

/// What is said where the computer has stuttered: what was sprayed is then not the hand's alone.
pub fn stuttered(app: &App) -> Option<String> {
    let (coat, when) = practice(app).stutters.first()?;
    let settings = app.job.coats.get(*coat)?;
    let track = app.recorded.tracks.get(*coat)?;
    let passes = track.passes(&app.job.panel, settings.along);
    let began = |pass: &Recorded| track.samples[*pass.looks.start()].time.0;
    let number = passes.iter().rposition(|pass| began(pass) <= when.0)? + 1;
    let test = practice(app).lesson.as_ref().is_some_and(|trying| trying.state.test);
    Some(match number {
        _ if test => "Your computer stuttered; this test is not marked: press Again.".to_string(),
        number if number == passes.len() && *coat == app.recorded.coat => {
            "Your computer stuttered; this pass is not marked: take it back and spray it again.".to_string()
        }
        number => {
            format!("Your computer stuttered in pass {number}; nothing is marked: take it back and go on from there.")
        }
    })
}

/// What was sprayed has changed: the mark is out of date.
pub fn sprayed(app: &mut App) {
    if practice(app).lesson.is_some()
        && let Some(trying) = &mut *practice_mut(app).lesson
    {
        trying.mark = None;
    }
}

/// Marks the attempt when all of it is done, and puts it into the record once.
pub fn finish(app: &mut App) {
    let Some(trying) = &*practice(app).lesson else { return };
    let (lesson, state) = (&trying.lesson, &trying.state);
    let said = !lesson.predict || state.foretold;
    let stuttered = stuttered(app).is_some();
    if !practice(app).complete || stuttered || !said || (trying.finds() && state.answer.is_none()) {
        return;
    }
    let mark = match lesson.mark(&attempt(app, trying)) {
        Ok(mark) => mark,
        Err(problem) => return app.trouble("The attempt was not marked", &problem.to_string()),
    };
    let foreseen = mark.foreseen.and_then(|foreseen| foreseen.mean_off);
    let (title, test) = (lesson.title.clone(), state.test);
    let marked = Marked { lesson: title, when_s: 0.0, test, passed: mark.passed, off: mark.off, foreseen };
    let counted = state.counted;
    if let Some(trying) = &mut *practice_mut(app).lesson {
        trying.mark = Some(mark);
        trying.state.counted = true;
    }
    app.announce(Event::Marked);
    if !counted {
        progress::add(app, marked);
    }
}

/// The attempt as a file keeps it.
pub fn attempt(app: &App, trying: &Attempting) -> Attempt {
    let job = if trying.lesson.other_hand().is_some() { app.job.clone() } else { app.by_hand() };
    let said = trying.lesson.predict.then_some(trying.state.said);
    let (test, answer) = (trying.state.test, trying.state.answer);
    Attempt { test, answer, prediction: said, ..Attempt::new(&trying.lesson, &job) }
}
