//! What follows from a command at once, before the next frame: the place that is open, the notice, the size of the
//! stage, where the focus goes. The only part of the shell's state that writes to the document.

use crate::parts::dom;
use crate::parts::layout::{Layout, Room};
use crate::shell::address;
use crate::shell::app::{App, Place};

/// Brings the document in step with what a command has left behind.
pub fn settle(app: &mut App) {
    if app.settled.place != app.place.changed() {
        app.settled.place = app.place.changed();
        open(app);
    }
    if app.settled.notice != app.notice.changed() {
        app.settled.notice = app.notice.changed();
        notice(app);
    }
    if app.settled.stage != app.stage.changed() {
        app.settled.stage = app.stage.changed();
        measure(app);
    }
    if let Some(id) = app.focus.take() {
        let _ = dom::by_id(id).focus();
    }
}

/// Shows the place that is open.
fn open(app: &mut App) {
    let place = *app.place;
    if app.settled.shown.replace(place).is_some_and(|shown| shown != place) {
        close_settings();
    }
    let body = dom::document().body().expect("a page has a body");
    dom::set(&body, "data-place", place.name());
    for of in Place::ALL {
        let button = dom::by_id(&format!("to-{}", of.name()));
        let _ = if of == place {
            button.set_attribute("aria-current", "page")
        } else {
            button.remove_attribute("aria-current")
        };
    }
    address::shows(place);
}

/// The main settings again: what another place has to show lies under the further ones.
fn close_settings() {
    show_settings(false);
}

/// Shows the further settings, or the main ones.
pub fn show_settings(further: bool) {
    dom::by_id("settings-main").set_hidden(further);
    dom::by_id("more-settings").set_hidden(!further);
    dom::set(&dom::by_id("more"), "aria-expanded", if further { "true" } else { "false" });
}

fn notice(app: &App) {
    let notice = dom::by_id("notice");
    notice.set_hidden(app.notice.is_none());
    if let Some((what, why)) = &*app.notice {
        dom::say(&dom::part(&notice, "[data-part=what]"), what);
        dom::say(&dom::part(&notice, "[data-part=why]"), why);
    }
}

/// Measures the stage anew.
fn measure(app: &mut App) {
    dom::forget_style();
    let stage = dom::by_id("stage");
    let width = dom::window().inner_width().ok().and_then(|w| w.as_f64()).unwrap_or(1366.0);
    let size = (f64::from(stage.client_width()), f64::from(stage.client_height()));
    let fit = if *app.place == Place::Practice { Layout::with_room } else { Layout::new };
    *app.layout = fit(&app.job.panel, size, Room::of(width), app.turned());
}
