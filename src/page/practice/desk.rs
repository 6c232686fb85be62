//! What is done with what was sprayed by hand: it is taken back, cleared, or put beside its plan.

use crate::parts::dom;
use crate::parts::shown::Shown;
use crate::practice::aids::HELP;
use crate::practice::hand::{self, NOTCH};
use crate::practice::lesson;
use crate::practice::record::{SEARCHES, take_back, tell};
use crate::practice::state::{practice, practice_mut};
use crate::shell::app::{App, Held};
use crate::shell::run::with;
use fanlap::rehearsal::Rehearsal;

/// Clears what was recorded; undo brings it back.
fn clear(app: &mut App) {
    app.remember_hand();
    app.recorded.tracks.clear();
    app.let_go();
    let practice = practice_mut(app);
    (practice.began, practice.judged_anew) = (None, false);
    practice.live.take();
    practice.put_in.take();
    practice.stutters.clear();
    lesson::again(app);
    app.resprayed();
}

/// Shows the plan's result beside what was sprayed, once it is rehearsed, or lets go of it.
fn compare(app: &mut App) {
    if app.held.take().is_none() {
        // as many coats as were sprayed
        let mut job = app.job.clone();
        job.coats.truncate(app.by_hand().coats.len());
        practice_mut(app).comparing = Some(Box::new(Rehearsal::plan(&job)));
    }
    app.rescale();
}

/// What a held plan and what was sprayed are called.
pub fn beside(app: &App) -> Option<(&'static str, &'static str)> {
    let plan = app.held.as_ref().is_some_and(|held| held.job.coats.iter().all(|coat| coat.track.is_none()));
    let by = if practice(app).put_in.is_some() { "With the error" } else { "By hand" };
    (plan && app.in_hand()).then_some(("Plan", by))
}

/// Goes on with the plan that is to stand beside what was sprayed.
pub fn rehearse_plan(app: &mut App) {
    let Some(mut coming) = practice_mut(app).comparing.take() else { return };
    let until = dom::now() + SEARCHES;
    let mut more = || dom::now() < until;
    while coming.lay_some(&mut more) && more() {}
    while coming.finished() && more() {
        if !coming.follow_some(&mut more) {
            let job = coming.job().clone();
            let shown = Shown::new(*coming, app.space);
            app.hold_beside(Held { job, shown, change: false });
            app.rescale();
            return;
        }
    }
    practice_mut(app).comparing = Some(coming);
}

/// What is done with what was sprayed.
pub fn listen() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("practice-back", take_back);
    click("practice-clear", clear);
    click("practice-compare", compare);
    click("practice-nearer", |app| hand::held_farther(app, dom::now(), -NOTCH));
    click("practice-farther", |app| hand::held_farther(app, dom::now(), NOTCH));
    with(|app| *practice_mut(app).helps = HELP.map(|(_, id)| dom::input(id).checked()));
    for (i, (_, id)) in HELP.into_iter().enumerate() {
        dom::on(&dom::by_id(id), "change", move |_| {
            with(|app| practice_mut(app).helps[i] = dom::input(id).checked());
        });
    }
    dom::on(&dom::by_id("practice-coat"), "change", |_| {
        with(|app| {
            let coat: usize = dom::select("practice-coat").value().parse().unwrap_or(0);
            app.recorded.coat = coat.min(app.job.coats.len().saturating_sub(1));
            practice_mut(app).began = None;
            tell(app);
        });
    });
}
