//! What each button of the page does.

use crate::parts::chance;
use crate::parts::dom;
use crate::parts::dom::choose;
use crate::parts::layout::Room;
use crate::shell::app::{App, Place};
use crate::shell::controls;
use crate::shell::files;
use crate::shell::rest::with_rest;
use crate::shell::room::Event;
use crate::shell::run::with;
use crate::shell::settle::show_settings;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::{Files, Job};
use fanlap::units::Seconds;
use web_sys::HtmlElement;

/// Has a button do something to the app.
fn click(id: &str, f: fn(&mut App)) {
    dom::on(&dom::by_id(id), "click", move |_| with(f));
}

/// The same, as soon as the rest of the code is there.
fn late(id: &str, f: fn(&mut App)) {
    dom::on(&dom::by_id(id), "click", move |_| with_rest(f));
}

/// What each button does.
pub fn buttons() {
    for place in Place::ALL {
        dom::on(&dom::by_id(&format!("to-{}", place.name())), "click", move |_| with_rest(move |app| app.go(place)));
    }
    late("hold", hold);
    click("wide", wide);
    click("notice-close", |app| *app.notice = None);
    history();
    time();
    panels();
    coats_and_hand();
    file_menu();
}

/// Steps back and forward.
fn history() {
    late("undo", |app| {
        app.announce(Event::Undoing);
        app.step_history(true);
        app.announce(Event::Undone);
        controls::paints(app);
    });
    late("redo", |app| {
        app.step_history(false);
        controls::paints(app);
    });
}

/// The transport.
fn time() {
    click("to-start", |app| {
        app.playing.put(false);
        app.seek(Seconds(0.0));
    });
    click("step-back", |app| app.step_pass(true));
    click("play", |app| app.play(!*app.playing));
    click("step-on", |app| app.step_pass(false));
    click("to-end", |app| {
        app.playing.put(false);
        app.seek(app.shown.rehearsal().total());
    });
}

/// What opens and closes a part of the page.
fn panels() {
    late("more", |app| {
        more(true);
        close_callout(app);
    });
    click("less", |_| more(false));
    click("help-open", |app| {
        if dom::body().class_list().contains("wide") {
            wide(app);
        }
        help(dom::by_id("help").hidden());
    });
    click("help-close", |_| help(false));
    dom::on(&dom::part::<HtmlElement>(&dom::body(), ".skip"), "click", |event| {
        event.prevent_default();
        skip();
    });
    for name in TABS {
        dom::on(&dom::by_id(&format!("tab-{name}")), "click", move |_| tab(name));
    }
}

/// Coats that are added and changed, and another hand.
fn coats_and_hand() {
    click("coat-add", |app| add_coat(app, None));
    click("coat-first", |app| {
        add_coat(app, None);
        app.seek(app.shown.rehearsal().total());
    });
    dom::on(&dom::by_id("coat-list"), "click", coat_button);
    click("hand-faultless", |app| {
        let mut job = app.job.clone();
        job.hand = job.faultless_hand();
        app.change(job);
    });
    click("hand-another", |app| {
        let mut job = app.job.clone();
        job.hand.seed = chance::seed();
        let steady = job.hand.is_steady();
        app.change(job);
        dom::say(&dom::by_id("said"), if steady { "Another hand, but nothing drifts yet." } else { "Another hand." });
    });
}

/// New jobs, and what is opened and saved.
fn file_menu() {
    for (i, id) in ["new-bonnet", "new-door"].into_iter().enumerate() {
        dom::say(&dom::by_id(id), EXAMPLES[i].name);
        dom::on(&dom::by_id(id), "click", move |_| {
            close_menu();
            with(|app| {
                app.open(EXAMPLES[i].job());
                app.seek(Seconds(0.0));
                app.play(!dom::media("(prefers-reduced-motion: reduce)"));
                controls::paints(app);
            });
        });
    }
    let save = |id: &str, save: fn(&App)| {
        dom::on(&dom::by_id(id), "click", move |_| {
            close_menu();
            with_rest(move |app| save(app));
        });
    };
    save("file-save", files::save);
    save("file-link", files::link);
    save("file-picture", files::picture);
    save("file-film", files::grid);
    save("file-report", files::report);
    save("file-cards", files::cards);
    dom::on(&dom::by_id("file-open"), "click", |_| {
        close_menu();
        dom::input("file-input").click();
    });
}

/// On a phone the call-out covers much of the panel: it goes when one looks elsewhere.
pub fn close_callout(app: &mut App) {
    if app.layout.room == Room::Narrow {
        app.probe.put(None);
    }
}

/// Closes the file menu; a focus that would be lost with it goes to where it was opened.
pub fn close_menu() {
    let menu = dom::by_id("file-menu");
    let within = dom::document().active_element().is_some_and(|active| menu.contains(Some(&active)));
    if menu.has_attribute("open") && within {
        let _ = dom::part::<HtmlElement>(&menu, "summary").focus();
    }
    let _ = menu.remove_attribute("open");
}

/// Where the skip link leads: to the settings of the place that is shown.
const SKIP_TO: [&str; 5] = ["more-title", "measured-title", "main-controls", "cards-settings", "booth-settings"];

/// Skips to the settings that are on show.
fn skip() {
    let shown = |id: &&str| dom::by_id(id).offset_height() > 0;
    if let Some(id) = SKIP_TO.iter().find(|id| shown(id)) {
        let _ = dom::by_id(id).focus();
    }
}

/// Shows the further settings, or the main ones.
fn more(on: bool) {
    show_settings(on);
    let _ = dom::by_id(if on { "more-title" } else { "more" }).focus();
}

/// Opens the help, or closes it.
pub fn help(on: bool) {
    dom::by_id("help").set_hidden(!on);
    dom::set(&dom::by_id("help-open"), "aria-expanded", if on { "true" } else { "false" });
    let _ = dom::by_id(if on { "help" } else { "help-open" }).focus();
}

/// The tabs of the outcome, in order.
pub const TABS: [&str; 3] = ["findings", "readings", "words"];

/// Shows one of them.
pub fn tab(chosen: &str) {
    for name in TABS {
        let (tab, on) = (dom::by_id(&format!("tab-{name}")), name == chosen);
        dom::set(&tab, "aria-selected", if on { "true" } else { "false" });
        dom::set(&tab, "tabindex", if on { "0" } else { "-1" });
        dom::by_id(name).set_hidden(!on);
    }
}

/// Holds the present result or lets it go, and says so.
pub fn hold(app: &mut App) {
    app.hold();
    let on = app.held.is_some();
    dom::say(&dom::by_id("said"), if on { "Held. Both results are shown finished." } else { "Let go." });
    choose("hold-mode", "divider");
    let body = dom::body();
    dom::class(&body, "holding-change", false);
}

/// Brings the button that holds in step: a result lets go by itself where another panel or lesson is opened.
pub fn sync_hold(app: &App) {
    let on = app.held.is_some();
    let button = dom::by_id("hold");
    dom::say(&button, if on { "Let go" } else { "Hold and compare" });
    dom::set(&button, "aria-pressed", if on { "true" } else { "false" });
    dom::by_id("hold-mode").set_hidden(!on);
    if !on {
        dom::class(&dom::body(), "holding-change", false);
    }
}

fn wide(app: &mut App) {
    let body = dom::body();
    let on = !body.class_list().contains("wide");
    dom::class(&body, "wide", on);
    let button = dom::by_id("wide");
    dom::set(&button, "aria-pressed", if on { "true" } else { "false" });
    dom::set(&button, "aria-label", if on { "Show the settings column" } else { "Hide the settings column" });
    app.measure();
}

/// Lays a coat once more after itself, or a first one.
fn add_coat(app: &mut App, like: Option<usize>) {
    let mut value = app.job.value();
    let Some(coats) = value["coats"].as_array_mut() else { return };
    let after = like.or(coats.len().checked_sub(1));
    let coat = after.map_or_else(
        || serde_json::json!({ "paint": app.job.paints[0].name, "margin_mm": app.job.new_coat().margin }),
        |i| coats[i].clone(),
    );
    coats.insert(after.map_or(0, |i| i + 1), coat);
    take(app, &value, "No coat was added");
    *app.coat = Some(after.map_or(0, |i| i + 1)).filter(|coat| *coat < app.job.coats.len());
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

fn coat_button(event: web_sys::Event) {
    let Some(button) = dom::target(&event).and_then(|t| t.closest("button").ok().flatten()) else { return };
    let Some(coat) = button.get_attribute("data-coat").and_then(|coat| coat.parse::<usize>().ok()) else { return };
    with(|app| {
        let classes = button.class_list();
        if classes.contains("coat-double") {
            add_coat(app, Some(coat));
        } else if classes.contains("coat-remove") {
            remove_coat(app, coat);
        } else {
            *app.coat = Some(coat);
        }
    });
}
