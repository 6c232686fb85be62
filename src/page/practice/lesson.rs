//! The lessons of practice: one is chosen, its set-up is opened and locked, what is to be reached is said, what is
//! foreseen and answered is asked for, an attempt is marked and told of as its schedule has it. What lessons and marks
//! are, is the core's.

use crate::parts::dom;
use crate::parts::quiet;
use crate::practice::aids::{HELP, asked, foretells, ladder, shown};
use crate::practice::marking::{attempt, finish, stuttered};
use crate::practice::progress;
use crate::practice::state::{Attempting, State, learner, learner_mut, practice, practice_mut};
use crate::shell::app::{App, Place};
use crate::shell::files;
use crate::shell::room::Incoming;
use crate::shell::run::with;
use fanlap::error::Problem;
use fanlap::practice::{Attempt, Channel, Lesson, Task, Told, lessons};
use fanlap::units::Seconds;
use fanlap::words::digits_of;
use glam::DVec2;

/// A place is said: the thickest, then the thinnest; a third press begins anew.
pub fn say_place(app: &mut App, place: DVec2) {
    let most = app.job.panel.area().most;
    let place = place.clamp(DVec2::ZERO, most).round().to_array();
    let Some(trying) = &mut *practice_mut(app).lesson else { return };
    let said = &mut trying.state.said;
    match asked(said) {
        "thickest" => said.thick_mm = Some(place),
        "thinnest" => said.thin_mm = Some(place),
        _ => (said.thick_mm, said.thin_mm) = (Some(place), None),
    }
}

/// Marks a lesson in the address.
const MARK: &str = "#lesson=";

/// Takes in a lesson or an attempt, from a file or a link.
pub fn take_in(app: &mut App, incoming: Incoming) -> Option<Result<(), Problem>> {
    match incoming {
        Incoming::Address(address) => {
            let link = address.strip_prefix(MARK)?;
            Some(Lesson::from_link(link).map(|lesson| come_in(app, lesson)))
        }
        Incoming::File(name, text) if text.contains("\"fanlap_lesson\"") => {
            Some(Lesson::read(name, text).map(|lesson| come_in(app, lesson)))
        }
        Incoming::File(name, text) if text.contains("\"fanlap_attempt\"") => {
            let read = Attempt::read(name, text).and_then(|attempt| Ok((attempt.sprayed()?, attempt)));
            Some(read.map(|(job, attempt)| {
                app.open(job);
                come_back(app, &attempt);
            }))
        }
        Incoming::File(..) => None,
    }
}

/// Copies a link with a lesson, or saves the lesson.
pub fn copy_link(lesson: &Lesson) {
    let saved = || files::text(&lesson.text(), &lesson.title, "-lesson.json");
    files::copy_or(&format!("{MARK}{}", lesson.link()), saved);
}

/// Listens to the lesson's part of the column.
pub fn listen() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("practice-example", |app| {
        app.go(Place::Rehearsal);
        app.seek(Seconds(0.0));
        app.play(true);
    });
    click("practice-spray", |app| {
        if practice(app).lesson.as_ref().is_some_and(|trying| trying.state.counted) {
            again(app);
        }
        other_hand_sprays(app);
    });
    click("practice-test", |app| {
        if let Some(trying) = practice_mut(app).lesson.take() {
            begin(app, trying.lesson, true);
        }
    });
    click("practice-save", |app| {
        if let Some(why) = stuttered(app) {
            return app.trouble("The attempt was not saved", &why);
        }
        if let Some(trying) = &*practice(app).lesson {
            files::text(&attempt(app, trying).text(), &trying.lesson.title, "-attempt.json");
        }
    });
    click("practice-forget", |app| {
        let Some(trying) = practice_mut(app).lesson.take() else { return };
        progress::refresh(app);
        learner_mut(app).own.retain(|lesson| lesson.title != trying.lesson.title);
        progress::keep_own(app);
    });
    click("predict-show", show_film);
    click("predict-skip", |app| foretold(app, None));
    dom::on(&dom::by_id("practice-lesson"), "change", |_| {
        let number: Option<usize> = dom::select("practice-lesson").value().parse().ok();
        with(|app| {
            let lesson = number.and_then(|number| ladder(app).nth(number).cloned());
            choose(app, lesson);
        });
    });
}

/// Opens a lesson, or leaves it for spraying freely.
pub fn choose(app: &mut App, lesson: Option<Lesson>) {
    let Some(lesson) = lesson else {
        app.remember_hand();
        *practice_mut(app).lesson = None;
        return;
    };
    begin(app, lesson, false);
}

/// Begins an attempt at a lesson: its set-up, nothing sprayed.
fn begin(app: &mut App, lesson: Lesson, test: bool) {
    let job = lesson.begun().expect("it was read");
    app.remember_hand();
    app.empty_hand();
    *practice_mut(app).distance = lesson.taken_up_at_mm;
    let sprays = matches!(lesson.task, Task::Find { .. });
    // with the lesson in the hand, so that the job is known to be its own
    let trying = Attempting::new(app, lesson, test);
    *practice_mut(app).lesson = Some(trying);
    app.let_go();
    app.replace(job);
    crate::shell::controls::forget_typed();
    let _ = dom::by_id("practice-why-box").remove_attribute("open");
    dom::input("predict-mean").set_value("");
    dom::say(&dom::by_id("predict-trouble"), "");
    for column in ["settings", "settings-main"] {
        dom::by_id(column).set_scroll_top(0);
    }
    if sprays {
        other_hand_sprays(app);
    }
    app.resprayed();
}

/// The same again: cleared, the next trial.
pub fn again(app: &mut App) {
    let Some(trying) = practice_mut(app).lesson.take() else { return };
    let (test, finds, lesson) = (trying.state.test && !trying.state.counted, trying.finds(), trying.lesson);
    let trying = Attempting::new(app, lesson, test);
    *practice_mut(app).lesson = Some(trying);
    if finds {
        other_hand_sprays(app);
    }
}

/// The hand of the lesson sprays the job as it is set.
fn other_hand_sprays(app: &mut App) {
    let Some(trying) = &*practice(app).lesson else { return };
    let Some(hand) = trying.lesson.other_hand() else { return };
    match trying.lesson.sprayed_by(&app.job, &hand) {
        Ok(job) => {
            app.recorded.tracks = job.coats.into_iter().filter_map(|coat| coat.track).collect();
            practice_mut(app).judged_anew = false;
            app.resprayed();
        }
        Err(problem) => app.trouble("It was not sprayed", &problem.to_string()),
    }
}

/// Shows the film if everything was said.
fn show_film(app: &mut App) {
    let mean: Option<f64> = dom::input("predict-mean").value().trim().replace(',', ".").parse().ok();
    let Some(trying) = &*practice(app).lesson else { return };
    let missing = match asked(&trying.state.said) {
        "" if mean.is_some_and(|mean| mean.is_finite() && mean > 0.0) => return foretold(app, mean),
        "" => "the mean film as a number".to_string(),
        place => format!("the {place} place"),
    };
    dom::say(&dom::by_id("predict-trouble"), &format!("Still missing: {missing}. Or skip it."));
}

fn foretold(app: &mut App, mean: Option<f64>) {
    let factor = fanlap::job::inputs::Unit::Micrometre.shown(*app.system).1;
    if let Some(trying) = &mut *practice_mut(app).lesson {
        trying.state.said.mean_um = mean.filter(|mean: &f64| mean.is_finite() && *mean > 0.0).map(|mean| mean / factor);
        trying.state.foretold = true;
    }
    if !practice(app).busy() {
        finish(app);
    }
}

/// An error is named.
pub fn answer(app: &mut App, channel: Channel) {
    if let Some(trying) = &mut *practice_mut(app).lesson {
        trying.state.answer = Some(channel);
        finish(app);
    }
}

/// Takes up the lesson whose job is open, if it is one's, as far as it had come.
pub fn recognise(app: &mut App, state: Option<State>) {
    let named = |lesson: &&Lesson| state.as_ref().is_none_or(|state| state.title == lesson.title);
    let lesson = ladder(app).filter(named).find(|lesson| lesson.is_of(&app.job)).cloned();
    *practice_mut(app).lesson = lesson.map(|lesson| {
        let new = Attempting::new(app, lesson, false);
        match state {
            Some(state) => Attempting { state, ..new },
            None => new,
        }
    });
}

/// An attempt comes back from its file.
pub fn come_back(app: &mut App, attempt: &Attempt) {
    let foretold = attempt.prediction.is_some();
    let trial = learner(app).progress.trial(&attempt.lesson);
    let (title, test, answer) = (attempt.lesson.clone(), attempt.test, attempt.answer);
    let said = attempt.prediction.unwrap_or_default();
    // what is looked at again is not done again
    recognise(app, Some(State { title, trial, test, said, foretold, answer, counted: true }));
    app.go(Place::Practice);
    other_hand_sprays(app);
    if practice(app).lesson.is_none() {
        let why = format!(
            "Open the lesson \u{201c}{}\u{201d} first, then the attempt. Its recording is shown without a mark.",
            attempt.lesson
        );
        app.trouble("The lesson of this attempt is not here", &why);
    }
}

/// A job that is changed is no longer the lesson's; what its hand sprayed is not what is set now.
pub fn changed(app: &mut App) {
    let Some(trying) = &*practice(app).lesson else { return };
    if !trying.lesson.is_of(&app.job) {
        *practice_mut(app).lesson = None;
    } else if matches!(trying.lesson.task, Task::Plan { .. }) {
        app.recorded.tracks.clear();
        let practice = practice_mut(app);
        practice.complete = false;
        practice.told.take();
    }
}

/// A lesson comes in from a file or a link: it is kept among one's own and opened.
pub fn come_in(app: &mut App, lesson: Lesson) {
    if !lessons().contains(&lesson) {
        progress::refresh(app);
        learner_mut(app).own.retain(|other| other.title != lesson.title);
        learner_mut(app).own.push(lesson.clone());
        progress::keep_own(app);
    }
    app.go(Place::Practice);
    choose(app, Some(lesson));
}

fn options(app: &App) {
    let select = dom::select("practice-lesson");
    let titles: Vec<String> = ladder(app).map(|lesson| lesson.title.clone()).collect();
    dom::keep(&select, titles.len() + 1, || dom::plain("option"));
    for (i, option) in dom::all(&select, "option").iter().enumerate().skip(1) {
        let own = if i > lessons().len() { "own: ".to_string() } else { format!("{i}. ") };
        dom::set(option, "value", &(i - 1).to_string());
        dom::say(option, &format!("{own}{}", titles[i - 1]));
    }
    let lesson = practice(app).lesson.as_ref();
    let number = lesson.and_then(|trying| titles.iter().position(|title| *title == trying.lesson.title));
    select.set_value(&number.map_or(String::new(), |number| number.to_string()));
}

/// The boxes of what helps: in a lesson they are locked and say what it shows, after it they are as they were before.
fn helps(app: &App) {
    let within = practice(app).lesson.is_some();
    for (help, id) in HELP {
        let input = dom::input(id);
        input.set_disabled(within);
        input.set_checked(shown(app, help));
    }
}

/// The lesson: what is to be reached, why, what is asked, and how the attempt is marked.
pub fn sync(app: &App) {
    options(app);
    helps(app);
    let trying = practice(app).lesson.as_ref();
    dom::by_id("practice-goal-box").set_hidden(trying.is_none());
    let Some(trying) = trying else { return };
    let (lesson, state) = (&trying.lesson, &trying.state);
    let kind = if state.test { "Test: ".to_string() } else { format!("Attempt {}: ", state.trial) };
    dom::say(&dom::by_id("practice-trial"), &kind);
    let goal = dom::by_id("practice-goal");
    if goal.text_content().as_deref() != Some(&lesson.goal) {
        quiet::say(format!("{kind}{}", lesson.goal));
    }
    dom::say(&goal, &lesson.goal);
    let list = dom::by_id("practice-why");
    dom::keep(&list, lesson.why.len(), || dom::plain("li"));
    for (item, why) in dom::all(&list, "li").iter().zip(&lesson.why) {
        dom::say(item, why);
    }
    dom::by_id("practice-why-box").set_hidden(state.test || (trying.finds() && trying.mark.is_none()));
    let open = if lesson.open.is_empty() { "All settings are locked" } else { "All other settings are locked" };
    dom::say(&dom::by_id("practice-locked"), &format!("{open} until the lesson is left."));
    dom::by_id("practice-spray").set_hidden(!matches!(lesson.task, Task::Plan { .. }));
    // lines that miss the panel would be sprayed into the air there
    let whole = fanlap::strokes::lines(&app.job.panel, &app.job.gun, &app.job.coats[0]).len()
        == fanlap::practice::plan(&app.job, 0).len();
    let example = whole && !state.test && lesson.other_hand().is_none() && lesson.open.is_empty();
    dom::by_id("practice-example").set_hidden(!example);
    dom::by_id("practice-test").set_hidden(state.test || trying.finds());
    let own = learner(app).own.iter().any(|own| own.title == lesson.title);
    dom::by_id("practice-forget").set_hidden(!own);
    let asks = foretells(app);
    dom::by_id("predict").set_hidden(!asks);
    if asks {
        let text = match asked(&state.said) {
            "" => "Both places are marked; a third press begins anew. What is the mean film?".to_string(),
            place => {
                format!("Before the film is shown: press where you think it is {place}. Play shows the gun alone.")
            }
        };
        dom::say(&dom::by_id("predict-text"), &text);
        let unit = fanlap::job::inputs::Unit::Micrometre.shown(*app.system).0;
        dom::say(&dom::by_id("predict-unit"), unit);
    }
    let mark = stuttered(app).unwrap_or_else(|| marked(trying));
    dom::say(&dom::by_id("practice-mark"), &mark);
    dom::say(&dom::by_id("practice-foreseen"), &foreseen(trying));
}

fn foreseen(trying: &Attempting) -> String {
    let told = trying.mark.as_ref().filter(|_| trying.tells()).and_then(|mark| mark.foreseen);
    told.map_or(String::new(), |foreseen| foreseen.text())
}

fn marked(trying: &Attempting) -> String {
    let Some(mark) = &trying.mark else { return String::new() };
    if trying.state.test {
        return "The test is over and in the record below. Again begins practice, or choose another lesson."
            .to_string();
    }
    if !trying.tells() && trying.told() != Told::Every {
        let band = if let Told::Bandwidth(band) = trying.told() { Some(band) } else { None };
        return band.map_or("This attempt is not told of. What do you think of it yourself?".to_string(), |band| {
            format!("Within {} % of the plan: nothing more is told.", digits_of(100.0 * band, 0))
        });
    }
    if trying.finds() {
        return String::new();
    }
    let moved = mark.moved().map_or(String::new(), |moved| format!(" {moved}"));
    if mark.passed {
        return format!("Done: everything is within its limits.{moved}");
    }
    let broken = mark.checks.iter().flatten().filter(|check| !check.kept);
    format!("Not yet: {}.{moved}", broken.map(fanlap::practice::Check::text).collect::<Vec<_>>().join("; "))
}
