//! What was reached in the lessons, kept on this machine alone: practice and tests apart, retests that are due, a table
//! to save, and a way to delete it. What is due when is the core's.

use crate::parts::dom;
use crate::practice::aids::ladder;
use crate::practice::state::{Learner, learner, learner_mut};
use crate::shell::app::App;
use crate::shell::files;
use crate::shell::run::with;
use fanlap::practice::{Due, Lesson, Marked, Progress};
use fanlap::words::digits_of;

/// Where they are kept.
const KEY: &str = "fanlap.progress";
const OWN: &str = "fanlap.lessons";
/// The last so many attempts are shown.
const SHOWN: usize = 5;

fn stored(key: &str) -> Option<String> {
    dom::window().local_storage().ok().flatten()?.get_item(key).ok().flatten()
}

fn store(app: &mut App, key: &str, text: &str) {
    let kept = dom::window().local_storage().ok().flatten().and_then(|storage| storage.set_item(key, text).ok());
    if kept.is_none() {
        app.trouble("This browser keeps nothing", "Progress and lessons are gone with this page: save them as files.");
    }
}

/// Takes in what other tabs have added.
pub fn refresh(app: &mut App) {
    let deleting = learner(app).deleting;
    *learner_mut(app) = Learner { deleting, ..restore() };
}

/// What was kept; what cannot be read is left out.
pub fn restore() -> Learner {
    let progress = stored(KEY).and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
    let texts: Vec<String> = stored(OWN).and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
    let own = texts.iter().filter_map(|text| Lesson::read("a kept lesson", text).ok()).collect();
    Learner { progress, own, deleting: false }
}

/// Seconds since 1970.
fn now_s() -> f64 {
    js_sys::Date::now() / 1000.0
}

/// Adds an attempt.
pub fn add(app: &mut App, marked: Marked) {
    refresh(app);
    learner_mut(app).progress.add(Marked { when_s: now_s(), ..marked });
    let text = serde_json::to_string(&learner(app).progress).unwrap_or_default();
    store(app, KEY, &text);
}

/// Keeps the lessons that were opened.
pub fn keep_own(app: &mut App) {
    let texts: Vec<String> = learner(app).own.iter().map(Lesson::text).collect();
    let text = serde_json::to_string(&texts).unwrap_or_default();
    store(app, OWN, &text);
}

/// Listens to its buttons.
pub fn listen() {
    dom::on(&dom::by_id("progress-save"), "click", |_| {
        with(|app| files::table(&learner(app).progress.csv(), "fanlap-progress.csv"));
    });
    dom::on(&dom::by_id("progress-delete"), "click", |_| {
        with(|app| {
            if std::mem::replace(&mut learner_mut(app).deleting, true) {
                learner_mut(app).progress = Progress::default();
                learner_mut(app).deleting = false;
                let _ = dom::window().local_storage().ok().flatten().map(|storage| storage.remove_item(KEY));
                dom::say(&dom::by_id("said"), "The record is deleted.");
            }
        });
    });
    // whoever goes elsewhere has thought better of it
    dom::on(&dom::by_id("progress-delete"), "blur", |_| {
        with(|app| {
            learner_mut(app).deleting = false;
        });
    });
}

fn due(app: &App, title: &str) -> Option<&'static str> {
    learner(app).progress.due(title, now_s()).map(|due| match due {
        Due::Day => "test due: a day after",
        Due::Week => "test due: a week after",
    })
}

/// How far the last attempts' films were off, and whether the last one passed.
fn told<'a>(attempts: impl Iterator<Item = &'a Marked>) -> String {
    let all: Vec<&Marked> = attempts.collect();
    let last = all.iter().rev().take(SHOWN).rev();
    let texts: Vec<String> = last
        .map(|marked| {
            // an error that was named has no film of the learner's
            let off = if marked.off > 0.0 { digits_of(100.0 * marked.off, 0) } else { String::new() };
            let mark = match (marked.passed, marked.off > 0.0) {
                (true, _) => "\u{2713}",
                (false, true) => "",
                (false, false) => "\u{2717}",
            };
            format!("{off} {mark}").trim().to_string()
        })
        .collect();
    if texts.is_empty() { "\u{2013}".to_string() } else { texts.join(", ") }
}

/// Brings the table in step.
pub fn sync(app: &App) {
    let progress = &learner(app).progress;
    let titles: Vec<&str> = progress.lessons();
    let waiting = ladder(app).filter(|lesson| due(app, &lesson.title).is_some()).count();
    let count = if waiting > 0 { format!(" \u{2013} {waiting} to test") } else { String::new() };
    dom::say(&dom::by_id("progress-count"), &count);
    dom::by_id("progress-none").set_hidden(!titles.is_empty());
    dom::by_id("progress-some").set_hidden(titles.is_empty());
    let body = dom::by_id("progress-rows");
    dom::keep(&body, titles.len(), || dom::template("progress-row"));
    for (row, title) in dom::all(&body, "tr").iter().zip(&titles) {
        let due = due(app, title).map_or(String::new(), |due| format!(" ({due})"));
        let texts = [
            ("title", format!("{title}{due}")),
            ("practice", told(progress.of(title, false))),
            ("test", told(progress.of(title, true))),
        ];
        for (part, text) in texts {
            dom::say(&dom::part(row, &format!("[data-part={part}]")), &text);
        }
    }
    let label = if learner(app).deleting { "Delete for good" } else { "Delete all" };
    dom::say(&dom::by_id("progress-delete"), label);
}
