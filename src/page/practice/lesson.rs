//! The lessons of practice: one is chosen, its set-up is opened and locked, what is to be reached is said, what is foreseen
//! and answered is asked for, an attempt is marked and told of as its schedule has it. What lessons and marks are, is the
//! core's.

use crate::practice::progress;
use crate::practice::{self, Practice, by_hand};
use crate::shell::app::{App, Place};
use crate::shell::dom;
use crate::shell::files;
use crate::with;
use fanlap::practice::{Aid, Attempt, ErrorSource, Lesson, Mark, Marked, Prediction, Task, Told, lessons};
use fanlap::units::Seconds;
use fanlap::words::digits_of;
use glam::DVec2;
use serde::{Deserialize, Serialize};

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
    title: String,
    /// Its number, from 1.
    pub trial: u32,
    /// Whether it is a test.
    pub test: bool,
    /// What is foreseen.
    pub said: Prediction,
    /// It was said, or skipped.
    foretold: bool,
    /// What was named as the error.
    pub answer: Option<ErrorSource>,
    /// It is in the record.
    counted: bool,
}

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
const HELP: [(Help, &str); 4] = [
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
    fn new(app: &App, lesson: Lesson, test: bool) -> Self {
        let trial = app.learner.progress.trial(&lesson.title);
        let state = State { title: lesson.title.clone(), trial, test, ..State::default() };
        Self { lesson, state, mark: None }
    }

    fn aid(&self, help: Help) -> Aid {
        let shown = &self.lesson.shown;
        match help {
            _ if self.state.test => Aid::Off,
            Help::Lines => shown.lines,
            Help::Pacer => shown.pacer,
            Help::Clicks => shown.clicks,
            Help::Film => shown.film,
        }
    }

    fn told(&self) -> Told {
        if self.state.test { Told::None } else { self.lesson.told }
    }

    fn finds(&self) -> bool {
        matches!(self.lesson.task, Task::Find { .. })
    }

    /// Whether the whole attempt is told of, once it is marked.
    fn tells(&self) -> bool {
        let off = self.mark.as_ref().map_or(f64::INFINITY, |mark| mark.off);
        self.told().tells(self.state.trial, self.lesson.seed, off)
    }
}

/// The lessons of the ladder, and after them those that were opened from files and links.
pub fn ladder(app: &App) -> impl Iterator<Item = &Lesson> {
    lessons().iter().chain(&app.learner.own)
}

/// Whether something helps just now: as the lesson has it, or as its box is ticked.
pub fn shown(app: &App, help: Help) -> bool {
    let Some(trying) = &app.practice.lesson else {
        return HELP.iter().any(|(of, id)| *of == help && dom::input(id).checked());
    };
    let line = app.practice.told.as_ref().map_or(0, |told| told.passes.len());
    let lines = fanlap::practice::plan(&app.job, app.practice.coat).len();
    trying.aid(help).shows(line, lines, trying.state.trial)
}

/// Whether the film is not to be seen just now, and why.
pub fn veil(app: &App) -> Option<Veil> {
    let sprays = app.practice.film().is_some();
    let Some(trying) = &app.practice.lesson else {
        return (sprays && !shown(app, Help::Film)).then_some(Veil::Spraying);
    };
    if !app.practice.complete || sprays {
        let waits = match trying.lesson.other_hand() {
            None => app.practice.any() && !shown(app, Help::Film),
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
fn asked(said: &Prediction) -> &'static str {
    match (said.thick_mm, said.thin_mm) {
        (None, _) => "thickest",
        (Some(_), None) => "thinnest",
        _ => "",
    }
}

/// A place is said: the thickest, then the thinnest; a third press begins anew.
pub fn say_place(app: &mut App, place: DVec2) {
    let most = app.job.panel.area().most;
    let place = place.clamp(DVec2::ZERO, most).round().to_array();
    let Some(trying) = &mut app.practice.lesson else { return };
    let said = &mut trying.state.said;
    match asked(said) {
        "thickest" => said.thick_mm = Some(place),
        "thinnest" => said.thin_mm = Some(place),
        _ => (said.thick_mm, said.thin_mm) = (Some(place), None),
    }
    (app.stale.column, app.stale.drawing) = (true, true);
}

/// The lesson that settings are locked by does not open these.
pub fn locks(app: &App, paths: &[String]) -> bool {
    app.practice.lesson.as_ref().is_some_and(|trying| !paths.iter().all(|path| trying.lesson.opens(path)))
}

/// What was sprayed has changed: the mark is out of date.
pub fn sprayed(app: &mut App) {
    if let Some(trying) = &mut app.practice.lesson {
        trying.mark = None;
    }
}

/// Marks the attempt when all of it is done, and puts it into the record once.
pub fn finish(app: &mut App) {
    let Some(trying) = &app.practice.lesson else { return };
    let (lesson, state) = (&trying.lesson, &trying.state);
    let said = !lesson.predict || state.foretold;
    let stuttered = practice::stuttered(app).is_some();
    if !app.practice.complete || stuttered || !said || (trying.finds() && state.answer.is_none()) {
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
    if let Some(trying) = &mut app.practice.lesson {
        trying.mark = Some(mark);
        trying.state.counted = true;
    }
    crate::rehearsal::findings::done(app);
    (app.stale.film, app.stale.drawing, app.stale.column) = (true, true, true);
    if !counted {
        progress::add(app, marked);
    }
}

/// The attempt as a file keeps it.
fn attempt(app: &App, trying: &Attempting) -> Attempt {
    let job = if trying.lesson.other_hand().is_some() { app.job.clone() } else { by_hand(app) };
    let said = trying.lesson.predict.then_some(trying.state.said);
    let (test, answer) = (trying.state.test, trying.state.answer);
    Attempt { test, answer, prediction: said, ..Attempt::new(&trying.lesson, &job) }
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
        if app.practice.lesson.as_ref().is_some_and(|trying| trying.state.counted) {
            again(app);
        }
        other_hand_sprays(app);
    });
    click("practice-test", |app| {
        if let Some(trying) = app.practice.lesson.take() {
            begin(app, trying.lesson, true);
        }
    });
    click("practice-save", |app| {
        if let Some(why) = practice::stuttered(app) {
            return app.trouble("The attempt was not saved", &why);
        }
        if let Some(trying) = &app.practice.lesson {
            files::text(&attempt(app, trying).text(), &trying.lesson.title, "-attempt.json");
        }
    });
    click("practice-forget", |app| {
        let Some(trying) = app.practice.lesson.take() else { return };
        progress::refresh(app);
        app.learner.own.retain(|lesson| lesson.title != trying.lesson.title);
        progress::keep_own(app);
        app.stale.column = true;
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
        app.practice.lesson = None;
        helps(app);
        (app.stale.film, app.stale.column, app.stale.drawing) = (true, true, true);
        return;
    };
    begin(app, lesson, false);
}

/// Begins an attempt at a lesson: its set-up, nothing sprayed.
fn begin(app: &mut App, lesson: Lesson, test: bool) {
    let job = lesson.begun().expect("it was read");
    app.remember_hand();
    app.practice = Practice::default();
    app.practice.distance = lesson.taken_up_at_mm;
    let sprays = matches!(lesson.task, Task::Find { .. });
    // with the lesson in the hand, so that the job is known to be its own
    app.practice.lesson = Some(Attempting::new(app, lesson, test));
    app.held = None;
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
    let Some(trying) = app.practice.lesson.take() else { return };
    let (test, finds, lesson) = (trying.state.test && !trying.state.counted, trying.finds(), trying.lesson);
    app.practice.lesson = Some(Attempting::new(app, lesson, test));
    if finds {
        other_hand_sprays(app);
    }
}

/// The hand of the lesson sprays the job as it is set.
fn other_hand_sprays(app: &mut App) {
    let Some(trying) = &app.practice.lesson else { return };
    let Some(hand) = trying.lesson.other_hand() else { return };
    match trying.lesson.sprayed_by(&app.job, &hand) {
        Ok(job) => {
            app.practice.tracks = job.coats.into_iter().filter_map(|coat| coat.track).collect();
            app.practice.judged_anew = false;
            app.resprayed();
        }
        Err(problem) => app.trouble("It was not sprayed", &problem.to_string()),
    }
}

/// Shows the film if everything was said.
fn show_film(app: &mut App) {
    let mean: Option<f64> = dom::input("predict-mean").value().trim().replace(',', ".").parse().ok();
    let Some(trying) = &app.practice.lesson else { return };
    let missing = match asked(&trying.state.said) {
        "" if mean.is_some_and(|mean| mean.is_finite() && mean > 0.0) => return foretold(app, mean),
        "" => "the mean film as a number".to_string(),
        place => format!("the {place} place"),
    };
    dom::say(&dom::by_id("predict-trouble"), &format!("Still missing: {missing}. Or skip it."));
}

fn foretold(app: &mut App, mean: Option<f64>) {
    let factor = fanlap::job::inputs::Unit::Micrometre.shown(app.system).1;
    if let Some(trying) = &mut app.practice.lesson {
        trying.state.said.mean_um = mean.filter(|mean: &f64| mean.is_finite() && *mean > 0.0).map(|mean| mean / factor);
        trying.state.foretold = true;
    }
    (app.stale.film, app.stale.drawing, app.stale.column) = (true, true, true);
    if !app.practice.busy() {
        finish(app);
    }
}

/// An error is named.
pub fn answer(app: &mut App, channel: ErrorSource) {
    if let Some(trying) = &mut app.practice.lesson {
        trying.state.answer = Some(channel);
        finish(app);
    }
}

/// Takes up the lesson whose job is open, if it is one's, as far as it had come.
pub fn recognise(app: &mut App, state: Option<State>) {
    let named = |lesson: &&Lesson| state.as_ref().is_none_or(|state| state.title == lesson.title);
    let lesson = ladder(app).filter(named).find(|lesson| lesson.is_of(&app.job)).cloned();
    app.practice.lesson = lesson.map(|lesson| {
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
    let trial = app.learner.progress.trial(&attempt.lesson);
    let (title, test, answer) = (attempt.lesson.clone(), attempt.test, attempt.answer);
    let said = attempt.prediction.unwrap_or_default();
    // what is looked at again is not done again
    recognise(app, Some(State { title, trial, test, said, foretold, answer, counted: true }));
    app.go(Place::Practice);
    other_hand_sprays(app);
    if app.practice.lesson.is_none() {
        let why = format!(
            "Open the lesson \u{201c}{}\u{201d} first, then the attempt. Its recording is shown without a mark.",
            attempt.lesson
        );
        app.trouble("The lesson of this attempt is not here", &why);
    }
}

/// A job that is changed is no longer the lesson's; what its hand sprayed is not what is set now.
pub fn changed(app: &mut App) {
    let Some(trying) = &app.practice.lesson else { return };
    if !trying.lesson.is_of(&app.job) {
        app.practice.lesson = None;
    } else if matches!(trying.lesson.task, Task::Plan { .. }) {
        (app.practice.tracks, app.practice.complete, app.practice.told) = (Vec::new(), false, None);
    }
}

/// A lesson comes in from a file or a link: it is kept among one's own and opened.
pub fn come_in(app: &mut App, lesson: Lesson) {
    if !lessons().contains(&lesson) {
        progress::refresh(app);
        app.learner.own.retain(|other| other.title != lesson.title);
        app.learner.own.push(lesson.clone());
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
    let lesson = app.practice.lesson.as_ref();
    let number = lesson.and_then(|trying| titles.iter().position(|title| *title == trying.lesson.title));
    select.set_value(&number.map_or(String::new(), |number| number.to_string()));
}

/// Whether an attempt is over that cannot be changed, or is somebody else's: nothing is taken back.
pub fn is_over(app: &App) -> bool {
    app.practice.lesson.as_ref().is_some_and(|trying| trying.state.test || trying.state.counted)
}

/// Whether what is shown was sprayed in a lesson that calls it done.
pub fn done(app: &App) -> bool {
    let mark = app.practice.lesson.as_ref().filter(|trying| !trying.finds()).and_then(|trying| trying.mark.as_ref());
    app.place == Place::Practice && mark.is_some_and(|mark| mark.passed)
}

/// Whether what is shown is held against its plan: a spraying by hand, unless the plan itself is the learner's to choose.
pub fn against_plan(app: &App) -> bool {
    app.place == Place::Practice && app.practice.lesson.as_ref().is_none_or(|trying| trying.lesson.open.is_empty())
}

/// Whether the error in a film is what the lesson asks for.
pub fn finds(app: &App) -> bool {
    app.practice.lesson.as_ref().is_some_and(Attempting::finds)
}

/// How far what was chosen in a lesson is from what is meant: the mean film that it lays; none where nothing is chosen.
pub fn chosen(app: &App) -> Option<(f64, f64)> {
    let trying = app.practice.lesson.as_ref().filter(|trying| !trying.lesson.open.is_empty())?;
    let meant = trying.lesson.set_up().ok()?;
    let film = |job: &fanlap::job::Job| job.coats.iter().map(|coat| job.planned_film(coat).0).sum::<f64>();
    Some((film(&app.job), film(&meant)))
}

/// Whether the passes are told of just now.
pub fn tells_of_passes(app: &App) -> bool {
    match &app.practice.lesson {
        None => app.practice.put_in.as_ref().is_none_or(|put_in| put_in.guess.is_some()),
        Some(_) if veil(app).is_some_and(|veil| veil != Veil::Spraying) => false,
        Some(trying) if trying.told() == Told::Every && trying.lesson.other_hand().is_none() => true,
        // how somebody else's gun went is told only where that is the question
        Some(trying) => trying.mark.is_some() && trying.tells() && !matches!(trying.lesson.task, Task::Plan { .. }),
    }
}

/// The boxes of what helps: in a lesson they are locked and say what it shows, after it they are as they were before.
fn helps(app: &App) {
    let within = app.practice.lesson.is_some();
    for (help, id) in HELP {
        let input = dom::input(id);
        let (free, was_within) = (input.get_attribute("data-free"), input.disabled());
        match (was_within, within) {
            (false, true) => dom::set(&input, "data-free", if input.checked() { "on" } else { "" }),
            (true, false) => input.set_checked(free.is_some_and(|free| free == "on")),
            _ => {}
        }
        input.set_disabled(within);
        if within {
            input.set_checked(shown(app, help));
        }
    }
}

/// The lesson: what is to be reached, why, what is asked, and how the attempt is marked.
pub fn sync(app: &App) {
    options(app);
    helps(app);
    let trying = app.practice.lesson.as_ref();
    dom::by_id("practice-goal-box").set_hidden(trying.is_none());
    let Some(trying) = trying else { return };
    let (lesson, state) = (&trying.lesson, &trying.state);
    let kind = if state.test { "Test: ".to_string() } else { format!("Attempt {}: ", state.trial) };
    dom::say(&dom::by_id("practice-trial"), &kind);
    let goal = dom::by_id("practice-goal");
    if goal.text_content().as_deref() != Some(&lesson.goal) {
        crate::shell::quiet::say(format!("{kind}{}", lesson.goal));
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
    let own = app.learner.own.iter().any(|own| own.title == lesson.title);
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
        let unit = fanlap::job::inputs::Unit::Micrometre.shown(app.system).0;
        dom::say(&dom::by_id("predict-unit"), unit);
    }
    let mark = practice::stuttered(app).unwrap_or_else(|| marked(trying));
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
