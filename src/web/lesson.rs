//! The lessons of practice: one is chosen, its set-up is opened, what is to be reached is said, an attempt is marked. What
//! they are and what a mark is, is the core's.

use super::app::{App, Place};
use super::practice::{Practice, by_hand};
use super::{dom, with};
use crate::practice::{Lesson, lessons, performance};
use crate::units::Seconds;
use crate::words::digits_of;

/// Listens to the choice of a lesson.
pub fn listen() {
    dom::on(&dom::by_id("practice-example"), "click", |_| {
        with(|app| {
            app.go(Place::Rehearsal);
            app.seek(Seconds(0.0));
            app.play(true);
        });
    });
    dom::on(&dom::by_id("practice-lesson"), "change", |_| {
        let number = dom::select("practice-lesson").value().parse().ok();
        with(|app| open_lesson(app, number));
    });
}

/// Marks the attempt at a lesson when every line of every coat was sprayed.
pub fn mark(app: &mut App) {
    let job = by_hand(app);
    let Some(lesson) = &app.practice.lesson else { return };
    let done = |coat: usize| performance(&job, coat).is_some_and(|told| told.to_come == 0 && !told.passes.is_empty());
    let all = (0..app.job.coats.len()).all(done);
    app.practice.mark = all.then(|| lesson.mark(&job));
}

/// Opens a lesson of the ladder, or leaves it for spraying freely.
fn open_lesson(app: &mut App, number: Option<usize>) {
    let Some(lesson) = number.and_then(|number| lessons().get(number).cloned()) else {
        app.practice.lesson = None;
        app.stale.column = true;
        return;
    };
    let job = lesson.set_up().expect("it was read");
    app.practice = Practice::default();
    app.practice.distance = lesson.taken_up_at_mm;
    take_up(app, Some(lesson));
    app.change(job);
    app.resprayed();
}

/// Takes up a lesson: shown is what it wants to be shown.
fn take_up(app: &mut App, lesson: Option<Lesson>) {
    if let Some(lesson) = &lesson {
        let shown = [("lines", lesson.shown.lines), ("pacer", lesson.shown.pacer), ("film", lesson.shown.film)];
        shown.iter().for_each(|(name, on)| dom::input(&format!("practice-{name}")).set_checked(*on));
    }
    app.practice.lesson = lesson;
}

/// Takes up the lesson whose job is open, if it is one's.
pub fn recognise(app: &mut App) {
    let lesson = lessons().iter().find(|lesson| lesson.is_of(&app.job)).cloned();
    take_up(app, lesson);
}

/// A job that is changed is no longer the lesson's.
pub fn leave_lesson(app: &mut App) {
    app.practice.lesson = app.practice.lesson.take().filter(|lesson| lesson.is_of(&app.job));
}

/// The lesson: what is to be reached, why, and how the attempt is marked.
pub fn sync(app: &App) {
    let select = dom::select("practice-lesson");
    if select.options().length() == 1 {
        for (i, lesson) in lessons().iter().enumerate() {
            let option = dom::plain("option");
            dom::set(&option, "value", &i.to_string());
            dom::say(&option, &format!("{}. {}", i + 1, lesson.title));
            let _ = select.append_child(&option);
        }
    }
    let lesson = app.practice.lesson.as_ref();
    let number = lesson.and_then(|lesson| lessons().iter().position(|other| other.title == lesson.title));
    select.set_value(&number.map_or(String::new(), |number| number.to_string()));
    dom::by_id("practice-goal-box").set_hidden(lesson.is_none());
    let Some(lesson) = lesson else { return };
    dom::say(&dom::by_id("practice-goal"), &lesson.goal);
    let list = dom::by_id("practice-why");
    dom::keep(&list, lesson.why.len(), || dom::plain("li"));
    for (item, why) in dom::all(&list, "li").iter().zip(&lesson.why) {
        dom::say(item, why);
    }
    let text = app.practice.mark.as_ref().map_or(String::new(), |mark| match mark.passed {
        true => "Done: everything is within its limits.".to_string(),
        false => {
            let broken = mark.checks.iter().flatten().filter(|check| !check.kept);
            let words: Vec<String> = broken
                .map(|check| {
                    format!("{} {}, allowed {}", check.name, digits_of(check.is, 2), digits_of(check.allowed, 2))
                })
                .collect();
            format!("Not yet: {}.", words.join("; "))
        }
    });
    dom::say(&dom::by_id("practice-mark"), &text);
}
