//! The page: listens to the person, lets the app change, asks for frames. The only part that knows a browser; whatever
//! it shows can be had from the core.

#![cfg(target_arch = "wasm32")]

#[cfg(not(target_feature = "simd128"))]
compile_error!("build with simd128: see .cargo/config.toml");

mod booth;
mod figure;
mod practice;
mod rehearsal;
mod shell;
mod spray_outs;

use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::units::Seconds;
use figure::{side_view, stage, timeline};
use practice::{hand, instructor, lesson, progress, told};
use rehearsal::{countdown, findings, gun_test, readings};
use shell::app::App;
use shell::{address, app, buttons, controls, dom, fields, files, kept, keys, pointer, quiet, rest};
use spray_outs::measured;
use std::cell::{Cell, RefCell};
use wasm_bindgen::prelude::*;

/// The callback of a frame.
type Tick = Closure<dyn FnMut(f64)>;

thread_local! {
    static APP: RefCell<Option<App>> = const { RefCell::new(None) };
    static FRAME: Cell<bool> = const { Cell::new(false) };
    static TICK: RefCell<Option<Tick>> = const { RefCell::new(None) };
}

/// Does something with the app, then asks for a frame.
fn with(f: impl FnOnce(&mut App)) {
    APP.with(|cell| {
        if let Ok(mut app) = cell.try_borrow_mut()
            && let Some(app) = app.as_mut()
        {
            f(app);
        }
    });
    ask();
}

/// Asks for a frame, once.
fn ask() {
    if FRAME.with(|asked| asked.replace(true)) {
        return;
    }
    TICK.with(|tick| {
        if let Some(tick) = tick.borrow().as_ref() {
            let _ = dom::window().request_animation_frame(tick.as_ref().unchecked_ref());
        }
    });
}

fn frame(now: f64) {
    FRAME.with(|asked| asked.set(false));
    let more = APP.with(|cell| {
        let mut app = cell.borrow_mut();
        let Some(app) = app.as_mut() else { return false };
        let stale = app.tick(now);
        show(app, stale);
        if app.at_rest() {
            kept::is_shown();
        }
        app.wants_frame()
    });
    if more {
        ask();
    }
}

/// Draws and says what is stale.
fn show(app: &mut App, stale: app::Stale) {
    if app.place == app::Place::Sheet {
        if stale.places || stale.column {
            booth::sync(app);
            controls::sync_header(app);
            kept::keep(app);
        }
        return;
    }
    if app.place == app::Place::SprayOuts {
        if stale.places || stale.column {
            spray_outs::sync(app);
            measured::sync(app);
            controls::sync_header(app);
            kept::keep(app);
        }
        return;
    }
    if stale.places {
        stage::place(app);
    }
    if stale.film {
        stage::paint(app);
    }
    if stale.film || stale.drawing {
        stage::draw(app);
        timeline::draw(app);
        countdown::sync(app);
    }
    if stale.column {
        controls::sync(app);
        buttons::sync_hold(app);
        gun_test::sync(app);
        told::sync(app);
        side_view::draw(app);
        if rest::is_here() {
            kept::keep(app);
        }
    }
    if app.findings.due && app.full.shown() && !app.moving && !app.practice.busy() {
        findings::ask(app);
    }
    if stale.column {
        findings::sync(app);
    }
    if rest::is_here() && (stale.film || stale.drawing || stale.column) {
        readings::sync(app, stale.column);
        quiet::result(app);
    }
}

/// Rehearses the text of a job file: the report as an object, its findings with their causes and cures. For scripts
/// beside the page.
#[wasm_bindgen]
pub fn rehearse(job: &str) -> Result<JsValue, JsValue> {
    let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
    let report = fanlap::causes::report(&fanlap::rehearsal::rehearse(&job));
    let as_objects = serde_wasm_bindgen::Serializer::json_compatible();
    serde::Serialize::serialize(&report, &as_objects).map_err(Into::into)
}

/// Film of a job's first paint, every bit: um, cell by cell. For checks against the native program.
#[wasm_bindgen]
pub fn film(job: &str) -> Result<Vec<f64>, JsValue> {
    let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
    Ok(fanlap::rehearsal::rehearse(&job).film(0))
}

/// The present job as the text of a job file.
#[wasm_bindgen]
pub fn present_job() -> String {
    APP.with(|cell| cell.borrow().as_ref().map(|app| app.kept().text()).unwrap_or_default())
}

/// Opens the page. Called once, when the fonts are there.
#[wasm_bindgen]
pub fn start() {
    std::panic::set_hook(Box::new(|panic| {
        web_sys::console::error_1(&JsValue::from_str(&panic.to_string()));
        if kept::loads() {
            return kept::refuse(&format!("The page stopped over it: {panic}"));
        }
        let notice = dom::by_id("notice");
        dom::say(&dom::part(&notice, "[data-part=what]"), "The page has failed");
        let why = format!("Load it again: the job is kept. What happened: {panic}");
        dom::say(&dom::part(&notice, "[data-part=why]"), &why);
        notice.set_hidden(false);
    }));
    let mut app = match kept::restore() {
        Ok(app) => app.unwrap_or_else(first_visit),
        Err(why) => return kept::refuse(&why),
    };
    files::arrive(&mut app, "The last job is shown instead.");
    let body = dom::document().body().expect("a page has a body");
    dom::class(&body, "starting", false);
    controls::build(&app);
    app.measure();
    APP.with(|cell| *cell.borrow_mut() = Some(app));
    TICK.with(|tick| *tick.borrow_mut() = Some(Closure::new(frame)));
    buttons::buttons();
    fields::fields();
    pointer::pointer();
    pointer::window_events();
    kept::listen();
    keys::keys();
    spray_outs::listen();
    gun_test::listen();
    measured::listen();
    findings::listen();
    practice::listen();
    hand::listen();
    lesson::listen();
    instructor::listen();
    progress::listen();
    booth::listen();
    countdown::listen();
    with(|app| {
        fields::name_view(app.view);
        choose("units", if app.system == System::Us { "us" } else { "metric" });
        dom::select("speed").set_value(&app.rate.to_string());
        app.go(address::place().unwrap_or(app.place));
    });
    let root = dom::document().document_element().expect("a page has a root");
    dom::set(&root, "data-ready", "yes");
}

/// The first visit: the bonnet, a few passes into its first coat, being sprayed; at its end where motion is not wanted.
fn first_visit() -> App {
    let mut app = App::new(app::first_job());
    if dom::media("(prefers-reduced-motion: reduce)") {
        app.time = app.shown.rehearsal.total();
    } else {
        app.time = app.shown.rehearsal.passes().get(4).map_or(Seconds(0.0), |pass| pass.start);
        app.playing = true;
    }
    app
}

/// Checks the radio of a group.
fn choose(group: &str, value: &str) {
    let body = dom::document().body().expect("a page has a body");
    for radio in dom::all(&body, &format!("input[name={group}][value={value}]")) {
        radio.unchecked_into::<web_sys::HtmlInputElement>().set_checked(true);
    }
}
