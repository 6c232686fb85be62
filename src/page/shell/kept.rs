//! What is kept in this browser from one visit to the next. Every tab keeps a state of its own, so that none overwrites
//! another; a new tab begins with the newest one, and those of other tabs can be taken over. While a state is being
//! shown for the first time a mark stands beside it: where the page did not come to an end with it, it is not tried
//! again unasked, but can be saved as a file. Draws nothing.

use crate::parts::dom;
use crate::shell::app::{App, Place};
use crate::shell::files::{view_name, view_of};
use crate::shell::recorded::{Kept as InHand, Step};
use crate::shell::room::{Event, Room, Rooms};
use crate::shell::run::with;
use crate::shell::stale::Stale;
use fanlap::colour::ScreenSpace;
use fanlap::job::Job;
use fanlap::job::inputs::System;
use fanlap::maths::ascending;
use serde::{Deserialize, Serialize};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use web_sys::Storage;

/// Where each tab keeps its state, by its name; without a name, where they all once did.
const STATE: &str = "fanlap.rehearsal";
/// Tabs that are open, by name.
const OPEN: &str = "fanlap.open.";
/// The tab that has kept something last.
const NEWEST: &str = "fanlap.newest";
/// The tab's own name; it survives a reload.
const NAME: &str = "fanlap.tab";
/// Key of the state that is being shown for the first time.
const LOADING: &str = "fanlap.loading";
/// States of tabs that are closed; the oldest go when there are more.
const MOST_CLOSED: usize = 8;

thread_local! {
    static TAB: RefCell<String> = const { RefCell::new(String::new()) };
    /// The first picture of what was kept is still to come.
    static LOADS: Cell<bool> = const { Cell::new(false) };
    /// The job that was kept last, and what was said of it.
    static SAID: RefCell<(String, &'static str)> = const { RefCell::new((String::new(), "")) };
}

/// What survives a reload.
#[derive(Serialize, Deserialize)]
struct Kept {
    job: String,
    undo: Vec<KeptStep>,
    redo: Vec<KeptStep>,
    /// What was in the hand before and after some steps.
    #[serde(default)]
    hands: Vec<String>,
    coat: Option<usize>,
    us: bool,
    view: String,
    place: f64,
    playing: bool,
    rate: f64,
    section: f64,
    #[serde(default)]
    cards: bool,
    #[serde(default)]
    practice: bool,
    #[serde(default)]
    sheet: bool,
    #[serde(default)]
    within: Option<f64>,
    /// When it was kept, ms since 1970.
    #[serde(default)]
    when: f64,
    #[serde(flatten)]
    hand: InHand,
}

/// A step that can be undone: the link of a job, and which of the hands goes with it.
#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum KeptStep {
    Job(String),
    Both(String, usize),
}

impl KeptStep {
    fn of(step: &Step, hands: &mut Vec<String>) -> Self {
        let Some(hand) = &step.hand else { return Self::Job(step.job.clone()) };
        let known = hands.iter().position(|known| **known == **hand);
        let which = known.unwrap_or_else(|| {
            hands.push(hand.to_string());
            hands.len() - 1
        });
        Self::Both(step.job.clone(), which)
    }

    fn step(self, hands: &[Rc<str>]) -> Step {
        match self {
            Self::Job(job) => Step { job, hand: None },
            Self::Both(job, which) => Step { job, hand: hands.get(which).cloned() },
        }
    }
}

fn storage() -> Option<Storage> {
    dom::window().local_storage().ok().flatten()
}

fn read(key: &str) -> Option<String> {
    storage()?.get_item(key).ok().flatten()
}

fn write(key: &str, text: &str) -> Option<()> {
    storage()?.set_item(key, text).ok()
}

fn remove(key: &str) {
    let _ = storage().map(|storage| storage.remove_item(key));
}

/// All keys that begin like this, less their beginning.
fn named(beginning: &str) -> Vec<String> {
    let Some(storage) = storage() else { return Vec::new() };
    let keys = (0..storage.length().unwrap_or(0)).filter_map(|i| storage.key(i).ok().flatten());
    keys.filter_map(|key| key.strip_prefix(beginning).map(str::to_string)).collect()
}

fn key_of(tab: &str) -> String {
    format!("{STATE}.{tab}")
}

fn own() -> String {
    TAB.with(|tab| tab.borrow().clone())
}

/// Keeps the present state. A browser that refuses loses nothing but this. Of a job that has not changed it is not said
/// again: what was said in that place meanwhile stands.
fn keep(app: &App) {
    let mut hands = Vec::new();
    let mut steps = |steps: &[Step]| steps.iter().map(|step| KeptStep::of(step, &mut hands)).collect();
    let (undo, redo) = (steps(&app.undo), steps(&app.redo));
    let kept = Kept {
        job: app.job.link(),
        undo,
        redo,
        hands,
        coat: *app.coat,
        us: *app.system == System::Us,
        view: view_name(*app.view).to_string(),
        place: app.axis.place(*app.time),
        playing: *app.playing,
        rate: app.rate,
        section: *app.section,
        cards: *app.place == Place::SprayOuts,
        practice: *app.place == Place::Practice,
        sheet: *app.place == Place::Sheet,
        within: Some(*app.within),
        when: js_sys::Date::now(),
        hand: app.hand(),
    };
    let tab = own();
    let text = serde_json::to_string(&kept).ok();
    let done = text.and_then(|text| write(&key_of(&tab), &text)).and_then(|()| write(NEWEST, &tab));
    let others = named(OPEN).iter().any(|other| *other != tab);
    let said = match (done.is_some(), others) {
        (true, false) => "kept in this browser",
        (true, true) => "kept in this browser, apart from other tabs",
        (false, _) => "not kept: save it as a file",
    };
    let before = SAID.with(|last| last.replace((kept.job.clone(), said)));
    if before != (kept.job, said) {
        dom::say(&dom::by_id("kept"), said);
    }
}

/// Gives this tab a name, and says which state it begins with: its own after a reload, otherwise the newest. The name
/// of a tab that is closed is taken over with its state, that of one that is open is not.
fn enter() -> Option<String> {
    let session = dom::window().session_storage().ok().flatten();
    let named_so = session.as_ref().and_then(|session| session.get_item(NAME).ok().flatten());
    let from = named_so.filter(|name| read(&key_of(name)).is_some()).or_else(|| read(NEWEST));
    let free = from.clone().filter(|name| read(&format!("{OPEN}{name}")).is_none());
    let name = free.unwrap_or_else(|| format!("{:08x}", crate::parts::chance::seed()));
    let _ = session.map(|session| session.set_item(NAME, &name));
    let _ = write(&format!("{OPEN}{name}"), "");
    TAB.with(|tab| *tab.borrow_mut() = name);
    let once = || Some(STATE.to_string()).filter(|key| read(key).is_some());
    let key = from.map(|name| key_of(&name)).filter(|key| read(key).is_some()).or_else(once);
    forget_oldest(key.as_deref());
    key
}

/// Forgets the oldest states of closed tabs when there are many.
fn forget_oldest(but: Option<&str>) {
    let closed = |name: &String| read(&format!("{OPEN}{name}")).is_none() && Some(key_of(name).as_str()) != but;
    let when = |name: &String| {
        let kept: Option<Kept> = read(&key_of(name)).and_then(|text| serde_json::from_str(&text).ok());
        kept.map_or(0.0, |kept| kept.when)
    };
    let closed: Vec<String> = named(&format!("{STATE}.")).into_iter().filter(closed).collect();
    if closed.len() <= MOST_CLOSED {
        return;
    }
    let mut names: Vec<(f64, String)> = closed.into_iter().map(|name| (when(&name), name)).collect();
    ascending(&mut names, |(when, _)| -when);
    names.into_iter().skip(MOST_CLOSED).for_each(|(_, name)| remove(&key_of(&name)));
}

/// The app as it was left; none on a first visit. What cannot be shown stays where it is, with the reason.
pub fn restore(rooms: Rooms, space: ScreenSpace) -> Result<Option<App>, String> {
    let key = enter();
    let shown_before = key.as_ref().is_none_or(|key| read(LOADING).as_ref() != Some(key));
    // in a tab that is not seen no frame comes that would take the mark away
    if !dom::document().hidden() {
        let _ = write(LOADING, &key.clone().unwrap_or_else(|| key_of(&own())));
        LOADS.with(|loads| loads.set(true));
    }
    let Some(text) = key.as_deref().and_then(read) else { return Ok(None) };
    if !shown_before {
        return Err("The page stopped when it was opened last, before it was shown.".to_string());
    }
    left(&text, rooms, space).map(Some)
}

/// The app as a text has kept it.
#[inline(never)]
fn left(text: &str, rooms: Rooms, space: ScreenSpace) -> Result<App, String> {
    let unread = |what: &str| format!("It cannot be read: {what}");
    let kept: Kept = serde_json::from_str(text).map_err(|problem| unread(&problem.to_string()))?;
    let job = kept.whole().map_err(|problem| unread(&problem))?;
    Ok(kept.app(App::new(job, rooms, space)))
}

impl Kept {
    /// Its job, once that and the recordings have been found sound.
    fn whole(&self) -> Result<Job, String> {
        let job = Job::from_link(&self.job).map_err(|problem| problem.to_string())?;
        self.hand.with(&job).checked().map_err(|problem| problem.to_string())?;
        Ok(job)
    }

    fn app(self, mut app: App) -> App {
        let hands: Vec<Rc<str>> = self.hands.into_iter().map(Rc::from).collect();
        let steps = |steps: Vec<KeptStep>| steps.into_iter().map(|step| step.step(&hands)).collect();
        app.undo = steps(self.undo);
        app.redo = steps(self.redo);
        *app.coat = self.coat.filter(|coat| *coat < app.job.coats.len());
        *app.system = if self.us { System::Us } else { System::Metric };
        *app.view = view_of(&self.view);
        *app.time = if self.place >= 0.999 { app.shown.rehearsal().total() } else { app.axis.time(self.place) };
        *app.playing = self.playing && !dom::media("(prefers-reduced-motion: reduce)");
        app.rate = self.rate.clamp(1.0, 16.0);
        *app.section = self.section.clamp(0.0, crate::shell::plan::section_reach(&app.job));
        let (least, most) = fanlap::advice::WITHIN;
        *app.within = self.within.map_or(1.0, |within| within.clamp(least, most));
        app.take_up(self.hand);
        *app.place = match (self.cards, self.practice) {
            (true, _) => Place::SprayOuts,
            (_, true) => Place::Practice,
            _ if self.sheet => Place::Sheet,
            _ => Place::Rehearsal,
        };
        app
    }
}

/// What was kept is on show: it can be shown.
fn is_shown() {
    if LOADS.with(|loads| loads.replace(false)) {
        remove(LOADING);
        // it is under the tab's own name now
        remove(STATE);
    }
}

/// Says that what was kept cannot be shown, and offers to save it and to start afresh: `main.js` does both.
pub fn refuse(why: &str) {
    let body = dom::body();
    dom::class(&body, "starting", false);
    dom::say(&dom::by_id("refused-why"), why);
    dom::by_id("refused").set_hidden(false);
    let _ = dom::by_id("refused-title").focus();
    dom::set(&dom::document().document_element().expect("a page has a root"), "data-ready", "yes");
}

/// Whether what was kept is still on its way to be shown.
pub fn loads() -> bool {
    LOADS.with(Cell::get)
}

/// What was kept, as a job file with its recordings; the bare text where it is not even that.
#[wasm_bindgen]
pub fn rescued(text: &str) -> String {
    let read = || {
        let kept: Kept = serde_json::from_str(text).ok()?;
        Some(kept.hand.with(&Job::from_link(&kept.job).ok()?).text())
    };
    read().unwrap_or_else(|| text.to_string())
}

/// Keeps what is shown.
pub struct Keeper;

impl Room for Keeper {
    fn listen(&self) {
        listen();
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if stale.column {
            keep(app);
        }
        if app.at_rest() {
            is_shown();
        }
    }
}

/// Listens to the tab's end, to other tabs and to the list of what they have kept.
fn listen() {
    dom::on(&dom::document(), "visibilitychange", |_| with(|app| keep(app)));
    dom::on(&dom::window(), "pagehide", |_| {
        with(|app| {
            keep(app);
            remove(&format!("{OPEN}{}", own()));
            if LOADS.with(|loads| loads.replace(false)) {
                remove(LOADING);
            }
        });
    });
    dom::on(&dom::window(), "pageshow", |_| {
        let _ = write(&format!("{OPEN}{}", own()), "");
    });
    dom::on(&dom::window(), "storage", |_| {
        with(|app| {
            app.announce(Event::Stored);
            app.touch();
        });
    });
    dom::on(&dom::by_id("file-menu"), "toggle", |_| with(list));
    dom::on(&dom::by_id("menu-tabs-list"), "click", |event| {
        let tab = dom::target(&event).and_then(|target| target.get_attribute("data-tab"));
        let kept = tab.and_then(|tab| read(&key_of(&tab))).and_then(|text| serde_json::from_str::<Kept>(&text).ok());
        crate::shell::buttons::close_menu();
        let Some(kept) = kept else { return };
        with(|app| match kept.whole() {
            Ok(job) => {
                app.take_over(job, kept.hand);
                crate::shell::controls::paints(app);
            }
            Err(problem) => app.trouble("What the other tab has kept was not opened", &problem),
        });
    });
}

/// Lists what other tabs have kept, if it is something else than what is open here.
fn list(app: &mut App) {
    let (own, present) = (own(), app.kept());
    let other = |name: String| {
        let kept: Kept = serde_json::from_str(&read(&key_of(&name))?).ok()?;
        let job = kept.whole().ok()?;
        (name != own && kept.hand.with(&job) != present).then_some((name, job.title, kept.when))
    };
    let mut others: Vec<_> = named(&format!("{STATE}.")).into_iter().filter_map(other).collect();
    others.sort_by(|a, b| b.2.total_cmp(&a.2));
    dom::by_id("menu-tabs").set_hidden(others.is_empty());
    let list = dom::by_id("menu-tabs-list");
    list.set_hidden(others.is_empty());
    list.set_inner_html("");
    for (name, title, when) in others {
        let (item, button) = (dom::plain("li"), dom::plain("button"));
        dom::set(&button, "type", "button");
        dom::set(&button, "data-tab", &name);
        let when = String::from(js_sys::Date::new(&when.into()).to_locale_string("en-GB", &JsValue::UNDEFINED));
        let title = if title.is_empty() { "Untitled job" } else { &title };
        dom::say(&button, &format!("{title}, {when}"));
        let _ = item.append_child(&button).and_then(|_| list.append_child(&item));
    }
}
