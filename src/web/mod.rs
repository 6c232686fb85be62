//! The page: listens to the person, lets the app change, asks for frames. The only part that knows a browser; whatever
//! it shows can be had from the core.

mod app;
mod axis;
mod controls;
mod dom;
mod files;
mod layout;
mod pen;
mod readings;
mod section;
mod shown;
mod side_view;
mod sprayer;
mod stage;
mod timeline;

use crate::job::examples::EXAMPLES;
use crate::job::inputs::System;
use crate::job::{Files, Job};
use crate::units::Seconds;
use app::{App, Probe, View};
use glam::DVec2;
use std::cell::{Cell, RefCell};
use wasm_bindgen::prelude::*;
use web_sys::{Event, HtmlElement, KeyboardEvent, PointerEvent};

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
    let more = APP.with(|cell| cell.borrow_mut().as_mut().is_some_and(|app| app.frame(now)));
    if more {
        ask();
    }
}

/// Rehearses the text of a job file: the report as an object. For scripts beside the page.
#[wasm_bindgen]
pub fn rehearse(job: &str) -> Result<JsValue, JsValue> {
    let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
    let report = crate::report::report(&crate::rehearsal::rehearse(&job));
    let as_objects = serde_wasm_bindgen::Serializer::json_compatible();
    serde::Serialize::serialize(&report, &as_objects).map_err(Into::into)
}

/// Film of a job's first paint, every bit: um, cell by cell. For checks against the native program.
#[wasm_bindgen]
pub fn film(job: &str) -> Result<Vec<f64>, JsValue> {
    let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
    Ok(crate::rehearsal::rehearse(&job).film(0))
}

/// The present job as the text of a job file.
#[wasm_bindgen]
pub fn present_job() -> String {
    APP.with(|cell| cell.borrow().as_ref().map(|app| app.job.text()).unwrap_or_default())
}

/// Opens the page. Called once, when the fonts are there.
#[wasm_bindgen]
pub fn start() {
    std::panic::set_hook(Box::new(|panic| {
        web_sys::console::error_1(&JsValue::from_str(&panic.to_string()));
        let notice = dom::by_id("notice");
        dom::say(&dom::part(&notice, "[data-part=what]"), "The page has failed");
        let why = format!("Load it again: the job is kept. What happened: {panic}");
        dom::say(&dom::part(&notice, "[data-part=why]"), &why);
        notice.set_hidden(false);
    }));
    let mut app = files::restore().unwrap_or_else(first_visit);
    let address = files::from_address();
    match address {
        Some(Ok(job)) => {
            app.change(job);
            app.seek(Seconds(0.0));
        }
        Some(Err(problem)) => {
            app.trouble("The job in this link was not opened", &format!("{problem} The job you had is still here."))
        }
        None => {}
    }
    files::clear_address();
    let body = dom::document().body().expect("a page has a body");
    dom::class(&body, "starting", false);
    controls::build(&app);
    app.measure();
    APP.with(|cell| *cell.borrow_mut() = Some(app));
    TICK.with(|tick| *tick.borrow_mut() = Some(Closure::new(frame)));
    listen();
    with(|app| {
        choose("view", files::view_name(app.view));
        choose("units", if app.system == System::Us { "us" } else { "metric" });
        dom::select("speed").set_value(&app.rate.to_string());
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

fn listen() {
    buttons();
    fields();
    pointer();
    keys();
    window_events();
}

/// What each button does.
fn buttons() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("undo", |app| {
        app.step_history(true);
        controls::paints(app);
    });
    click("redo", |app| {
        app.step_history(false);
        controls::paints(app);
    });
    click("to-start", |app| {
        app.playing = false;
        app.seek(Seconds(0.0));
    });
    click("step-back", |app| app.step_pass(true));
    click("play", |app| app.play(!app.playing));
    click("step-on", |app| app.step_pass(false));
    click("to-end", |app| {
        app.playing = false;
        app.seek(app.shown.rehearsal.total());
    });
    click("hold", hold);
    click("wide", wide);
    click("notice-close", |_| dom::by_id("notice").set_hidden(true));
    click("more", |_| more(true));
    click("less", |_| more(false));
    click("help-open", |_| help(dom::by_id("help").hidden()));
    click("help-close", |_| help(false));
    click("coat-add", |app| add_coat(app, None));
    click("tab-readings", |_| tab(false));
    click("tab-words", |_| tab(true));
    for (i, id) in ["new-bonnet", "new-door"].into_iter().enumerate() {
        dom::say(&dom::by_id(id), EXAMPLES[i].name);
        dom::on(&dom::by_id(id), "click", move |_| {
            close_menu();
            with(|app| {
                app.change(EXAMPLES[i].job());
                app.seek(Seconds(0.0));
                app.play(!dom::media("(prefers-reduced-motion: reduce)"));
                controls::paints(app);
            });
        });
    }
    let file = |id: &'static str, f: fn(&mut App)| {
        dom::on(&dom::by_id(id), "click", move |_| {
            close_menu();
            with(f);
        });
    };
    file("file-save", |app| files::save(app));
    file("file-link", |app| files::link(app));
    file("file-picture", |app| files::picture(app));
    file("file-film", |app| files::grid(app));
    file("file-report", |app| files::report(app));
    dom::on(&dom::by_id("file-open"), "click", |_| {
        close_menu();
        dom::input("file-input").click();
    });
    dom::on(&dom::by_id("coat-list"), "click", coat_button);
}

fn close_menu() {
    let _ = dom::by_id("file-menu").remove_attribute("open");
}

/// Shows the further settings, or the main ones.
fn more(on: bool) {
    dom::by_id("settings-main").set_hidden(on);
    dom::by_id("more-settings").set_hidden(!on);
    dom::set(&dom::by_id("more"), "aria-expanded", if on { "true" } else { "false" });
    let _ = dom::by_id(if on { "more-title" } else { "more" }).focus();
}

fn help(on: bool) {
    dom::by_id("help").set_hidden(!on);
    dom::set(&dom::by_id("help-open"), "aria-expanded", if on { "true" } else { "false" });
    let _ = dom::by_id(if on { "help" } else { "help-open" }).focus();
}

fn tab(words: bool) {
    for (tab, panel, on) in [("tab-readings", "readings", !words), ("tab-words", "words", words)] {
        let element = dom::by_id(tab);
        dom::set(&element, "aria-selected", if on { "true" } else { "false" });
        dom::set(&element, "tabindex", if on { "0" } else { "-1" });
        dom::by_id(panel).set_hidden(!on);
    }
}

fn hold(app: &mut App) {
    app.hold();
    let on = app.held.is_some();
    let button = dom::by_id("hold");
    dom::say(&button, if on { "Let go" } else { "Hold and compare" });
    dom::set(&button, "aria-pressed", if on { "true" } else { "false" });
    dom::by_id("hold-mode").set_hidden(!on);
    choose("hold-mode", "divider");
    let body = dom::document().body().expect("a page has a body");
    dom::class(&body, "holding-change", false);
}

fn wide(app: &mut App) {
    let body = dom::document().body().expect("a page has a body");
    let on = !body.class_list().contains("wide");
    dom::class(&body, "wide", on);
    let button = dom::by_id("wide");
    dom::set(&button, "aria-pressed", if on { "true" } else { "false" });
    dom::set(&button, "aria-label", if on { "Show the settings column" } else { "Hide the settings column" });
    app.measure();
}

/// Lays a coat once more after itself, or a first one with the defaults.
fn add_coat(app: &mut App, like: Option<usize>) {
    let mut value = app.job.value();
    let Some(coats) = value["coats"].as_array_mut() else { return };
    let after = like.or(coats.len().checked_sub(1));
    let coat = after.map_or_else(|| serde_json::json!({ "paint": app.job.paints[0].name }), |i| coats[i].clone());
    coats.insert(after.map_or(0, |i| i + 1), coat);
    take(app, &value, "No coat was added");
    app.coat = Some(after.map_or(0, |i| i + 1)).filter(|coat| *coat < app.job.coats.len());
}

fn remove_coat(app: &mut App, coat: usize) {
    let mut value = app.job.value();
    if let Some(coats) = value["coats"].as_array_mut() {
        coats.remove(coat);
    }
    take(app, &value, "The coat was not removed");
}

fn take(app: &mut App, value: &serde_json::Value, otherwise: &str) {
    match Job::read(&value.to_string(), &Files::none()) {
        Ok(job) => app.change(job),
        Err(problem) => app.trouble(otherwise, &problem.to_string()),
    }
}

fn coat_button(event: Event) {
    let Some(button) = dom::target(&event).and_then(|t| t.closest("button").ok().flatten()) else { return };
    let Some(coat) = button.get_attribute("data-coat").and_then(|coat| coat.parse::<usize>().ok()) else { return };
    with(|app| {
        let classes = button.class_list();
        if classes.contains("coat-double") {
            add_coat(app, Some(coat));
        } else if classes.contains("coat-remove") {
            remove_coat(app, coat);
        } else {
            app.coat = Some(coat);
        }
        app.stale = app::Stale::ALL;
    });
}

/// What the fields of the page change. A slider's steps are one change, from its first step to its release.
fn fields() {
    let settings = dom::by_id("settings");
    dom::on(&settings, "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        let slider = field.class_list().contains("slide");
        with(|app| {
            if slider && !app.moving {
                app.remember();
                app.moving = true;
            }
            controls::changed(app, &field, false);
        });
    });
    dom::on(&settings, "change", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            if coat_tab(app, &field) {
                return;
            }
            controls::changed(app, &field, true);
            app.moving = false;
            app.scales = shown::Scales::of(&app.shown);
            app.stale = app::Stale::ALL;
        });
    });
    let change = |id: &'static str, f: fn(&mut App, &HtmlElement)| {
        dom::on(&dom::by_id(id), "change", move |event| {
            if let Some(field) = dom::target(&event) {
                with(|app| f(app, &field));
            }
        });
    };
    change("light", |app, field| set_viewing(app, "viewing.illuminant", value_of(field).into()));
    change("angle", |app, field| {
        let angle: f64 = value_of(field).parse().unwrap_or(45.0);
        set_viewing(app, "viewing.aspecular_deg", crate::job::inputs::plain_number(angle));
    });
    change("speed", |app, field| app.rate = value_of(field).parse().unwrap_or(1.0));
    change("view", |app, field| {
        app.view = files::view_of(&value_of(field));
        app.stale = app::Stale::ALL;
    });
    change("units", |app, field| {
        app.system = if value_of(field) == "us" { System::Us } else { System::Metric };
        app.stale = app::Stale::ALL;
    });
    change("hold-mode", |app, field| {
        let change = value_of(field) == "change";
        if let Some(held) = &mut app.held {
            held.change = change;
        }
        let body = dom::document().body().expect("a page has a body");
        dom::class(&body, "holding-change", change);
        app.stale = app::Stale::ALL;
    });
    change("job-title", |app, field| {
        let title = value_of(field);
        let title = if title.trim().is_empty() { "Untitled job".to_string() } else { title };
        if let Err(problem) = app.set(&["title".to_string()], &title.into()) {
            app.trouble("The title was not changed", &problem.to_string());
        }
    });
    dom::on(&dom::by_id("time"), "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            let place = value_of(&field).parse::<f64>().unwrap_or(0.0) / 1000.0;
            app.seek(if place >= 1.0 { app.shown.rehearsal.total() } else { app.axis.time(place) });
        });
    });
    dom::on(&dom::by_id("section-handle"), "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            app.section = value_of(&field).parse().unwrap_or(0.0);
            app.stale.drawing = true;
            app.stale.column = true;
        });
    });
    dom::on(&dom::by_id("divider-handle"), "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            if let Some(held) = &mut app.held {
                held.divider = value_of(&field).parse::<f64>().unwrap_or(500.0) / 1000.0;
            }
            app.stale.film = true;
        });
    });
    dom::on(&dom::by_id("file-input"), "change", |_| open_file());
}

fn value_of(field: &HtmlElement) -> String {
    js_sys::Reflect::get(field, &"value".into()).ok().and_then(|value| value.as_string()).unwrap_or_default()
}

fn set_viewing(app: &mut App, path: &str, value: serde_json::Value) {
    if let Err(problem) = app.set(&[path.to_string()], &value) {
        app.trouble("The view was not changed", &problem.to_string());
        app.stale.column = true;
    }
}

/// A tab of the coats was chosen.
fn coat_tab(app: &mut App, field: &HtmlElement) -> bool {
    if field.get_attribute("name").as_deref() != Some("coat") {
        return false;
    }
    app.coat = value_of(field).parse().ok();
    app.stale.column = true;
    true
}

fn open_file() {
    let input = dom::input("file-input");
    let Some(file) = input.files().and_then(|files| files.get(0)) else { return };
    let name = file.name();
    wasm_bindgen_futures::spawn_local(async move {
        let text = wasm_bindgen_futures::JsFuture::from(file.text()).await;
        let text = text.ok().and_then(|text| text.as_string()).unwrap_or_default();
        with(|app| files::opened(app, &name, &text));
        input.set_value("");
    });
}

/// The pointer on the stage: hovering shows the probe, a click keeps it.
fn pointer() {
    let stage = dom::by_id("stage");
    let place = |event: &Event| {
        let event: &PointerEvent = event.unchecked_ref();
        let bounds = dom::by_id("stage").get_bounding_client_rect();
        let (x, y) = (f64::from(event.client_x()) - bounds.left(), f64::from(event.client_y()) - bounds.top());
        let on_handle = dom::target(event).is_some_and(|target| target.tag_name() == "INPUT");
        (x, y, on_handle)
    };
    dom::on(&stage, "pointermove", move |event| {
        let (x, y, on_handle) = place(&event);
        if event.unchecked_ref::<PointerEvent>().pointer_type() == "touch" {
            return;
        }
        with(|app| {
            let plan = app.layout.on_plan(x, y);
            if app.probe.is_some_and(|probe| probe.kept) {
                return;
            }
            let next = (!on_handle && app::inside(&app.job, plan)).then_some(Probe { place: plan, kept: false });
            if next != app.probe {
                app.probe = next;
                app.stale.drawing = true;
            }
        });
    });
    dom::on(&stage, "pointerleave", |_| {
        with(|app| {
            if app.probe.is_some_and(|probe| !probe.kept) {
                app.probe = None;
                app.stale.drawing = true;
            }
        });
    });
    dom::on(&stage, "click", move |event| {
        let (x, y, on_handle) = place(&event);
        with(|app| {
            let plan = app.layout.on_plan(x, y);
            if !on_handle && app::inside(&app.job, plan) {
                let near = |probe: Probe| probe.kept && (probe.place - plan).length() * app.layout.scale < 14.0;
                app.probe = (!app.probe.is_some_and(near)).then_some(Probe { place: plan, kept: true });
                app.stale.drawing = true;
            }
        });
    });
}

fn keys() {
    dom::on(&dom::document(), "keydown", |event| {
        let key: KeyboardEvent = event.unchecked_into();
        let control = key.ctrl_key() || key.meta_key();
        let target = dom::target(&key);
        let typing = target.as_ref().is_some_and(|t| t.matches("input[type=text], input.number").unwrap_or(false));
        let name = key.key();
        if control && !key.alt_key() && !typing && matches!(name.as_str(), "z" | "Z" | "y") {
            key.prevent_default();
            let back = name == "z" && !key.shift_key();
            with(|app| {
                app.step_history(back);
                controls::paints(app);
            });
        } else if name == "Escape" {
            escape();
        } else if name == "Enter" && typing {
            let _ = target.map(|t| t.blur().and_then(|()| t.focus()));
        } else if matches!(name.as_str(), "ArrowUp" | "ArrowDown")
            && target.as_ref().is_some_and(|t| t.class_list().contains("number"))
        {
            key.prevent_default();
            step_number(target.as_ref(), name == "ArrowUp");
        } else if matches!(name.as_str(), "ArrowLeft" | "ArrowRight")
            && target.as_ref().is_some_and(|t| t.matches("[role=tab]").unwrap_or(false))
        {
            let words = target.as_ref().is_some_and(|t| t.id() == "tab-readings");
            tab(words);
            let _ = dom::by_id(if words { "tab-words" } else { "tab-readings" }).focus();
        } else if !control
            && !key.alt_key()
            && target.is_some_and(|t| t.id() == "figure")
            && figure_key(&name, key.shift_key())
        {
            key.prevent_default();
        }
    });
}

fn escape() {
    close_menu();
    if !dom::by_id("help").hidden() {
        help(false);
    }
    with(|app| {
        if app.probe.take().is_some() {
            app.stale.drawing = true;
        }
    });
}

/// An arrow in a number's field moves its slider by one step.
fn step_number(field: Option<&HtmlElement>, up: bool) {
    let Some(root) = field.and_then(|field| field.closest(".control").ok().flatten()) else { return };
    let slide: web_sys::HtmlInputElement = dom::part(&root, ".slide");
    let step: f64 = slide.step().parse().unwrap_or(1.0);
    slide.set_value(&(slide.value_as_number() + if up { step } else { -step }).to_string());
    with(|app| {
        controls::changed(app, slide.unchecked_ref(), true);
        app.stale = app::Stale::ALL;
    });
}

/// Keys of the figure, active while it has the focus. True if the key was one of them.
fn figure_key(name: &str, large: bool) -> bool {
    let press = |id: &str| dom::by_id(id).click();
    match name {
        " " => press("play"),
        "," => press("step-back"),
        "." => press("step-on"),
        "Home" => press("to-start"),
        "End" => press("to-end"),
        "h" | "H" => press("hold"),
        "f" | "F" => press("wide"),
        "1" | "2" | "3" => {
            let view = [View::Paint, View::Film, View::Difference][usize::from(name.as_bytes()[0] - b'1')];
            choose("view", files::view_name(view));
            with(|app| {
                app.view = view;
                app.stale = app::Stale::ALL;
            });
        }
        "Enter" => with(|app| {
            if let Some(probe) = &mut app.probe {
                probe.kept = !probe.kept;
            }
            app.stale.drawing = true;
        }),
        "ArrowLeft" => move_probe(-1.0, 0.0, large),
        "ArrowRight" => move_probe(1.0, 0.0, large),
        "ArrowUp" => move_probe(0.0, 1.0, large),
        "ArrowDown" => move_probe(0.0, -1.0, large),
        _ => return false,
    }
    true
}

/// Moves the probe by one cell, or by ten; the first arrow puts it into the middle of the panel.
fn move_probe(along: f64, across: f64, large: bool) {
    with(|app| {
        let most = app.job.panel.area().most;
        let step = app.job.panel.cell.0 * if large { 10.0 } else { 1.0 };
        let from = app.probe.map(|probe| probe.place);
        let cell = app.job.panel.cell.0;
        let place = from.map_or(most / 2.0, |from| from + DVec2::new(along, across) * step);
        app.probe = Some(Probe { place: place.clamp(DVec2::splat(cell / 2.0), most - cell / 2.0), kept: true });
        app.stale.drawing = true;
    });
}

fn window_events() {
    let resized = Closure::<dyn FnMut()>::new(|| with(App::measure)).into_js_value();
    if let Ok(observer) = web_sys::ResizeObserver::new(resized.unchecked_ref()) {
        observer.observe(&dom::by_id("stage"));
        // it observes as long as the page lives
        std::mem::forget(observer);
    }
    if let Ok(Some(scheme)) = dom::window().match_media("(prefers-color-scheme: dark)") {
        dom::on(&scheme, "change", |_| with(App::measure));
    }
    dom::on(&dom::window(), "hashchange", |_| {
        let Some(opened) = files::from_address() else { return };
        files::clear_address();
        with(|app| match opened {
            Ok(job) => {
                app.change(job);
                app.seek(Seconds(0.0));
                controls::paints(app);
            }
            Err(problem) => {
                app.trouble("The job in this link was not opened", &format!("{problem} Your present job is untouched."))
            }
        });
    });
    dom::on(&dom::document(), "visibilitychange", |_| with(|app| files::keep(app)));
    dom::on(&dom::window(), "pagehide", |_| with(|app| files::keep(app)));
    dom::on(&dom::document(), "click", |event| {
        let inside = dom::target(&event).is_some_and(|t| t.closest("#file-menu").ok().flatten().is_some());
        if !inside {
            close_menu();
        }
    });
}
