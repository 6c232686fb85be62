//! What the fields of the page change. A slider's steps are one change, from its first step to its release.

use crate::parts::dom;
use crate::parts::dom::choose;
use crate::shell::app::{App, View};
use crate::shell::controls;
use crate::shell::files;
use crate::shell::room::Event;
use crate::shell::run::with;
use fanlap::job::inputs::System;
use web_sys::HtmlElement;

pub fn fields() {
    // wherever the job's inputs stand
    for place in ["settings", "measured-controls", "booth-mix"] {
        inputs(&dom::by_id(place));
    }
    let change = |id: &'static str, f: fn(&mut App, &HtmlElement)| {
        dom::on(&dom::by_id(id), "change", move |event| {
            if let Some(field) = dom::target(&event) {
                with(|app| f(app, &field));
            }
        });
    };
    change("light", |app, field| set_viewing(app, "viewing.illuminant", dom::value_of(field).into()));
    change("angle", |app, field| {
        let angle: f64 = dom::value_of(field).parse().unwrap_or(45.0);
        set_viewing(app, "viewing.aspecular_deg", fanlap::job::inputs::plain_number(angle));
    });
    change("speed", |app, field| app.rate = dom::value_of(field).parse().unwrap_or(1.0));
    change("view", |app, field| {
        let view = match files::view_of(&dom::value_of(field)) {
            // of the differences the one that was looked at last
            View::Difference => files::view_of(&dom::select("measure").value()),
            view => view,
        };
        show_view(app, view);
    });
    change("measure", |app, field| show_view(app, files::view_of(&dom::value_of(field))));
    change("units", |app, field| {
        *app.system = if dom::value_of(field) == "us" { System::Us } else { System::Metric };
        app.announce(Event::Units);
    });
    change("hold-mode", |app, field| {
        compare_by_change(app, dom::value_of(field) == "change");
    });
    change("job-title", |app, field| {
        let title = dom::value_of(field);
        let title = if title.trim().is_empty() { "Untitled job".to_string() } else { title };
        if let Err(problem) = app.set(&["title".to_string()], &title.into()) {
            app.trouble("The title was not changed", &problem.to_string());
        }
    });
    dom::on(&dom::by_id("time"), "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            let place = dom::value_of(&field).parse::<f64>().unwrap_or(0.0) / 1000.0;
            app.seek(if place >= 1.0 { app.shown.rehearsal.total() } else { app.axis.time(place) });
        });
    });
    dom::on(&dom::by_id("section-handle"), "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            *app.section = dom::value_of(&field).parse().unwrap_or(0.0);
        });
    });
    dom::on(&dom::by_id("divider-handle"), "input", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            *app.divider = dom::value_of(&field).parse::<f64>().unwrap_or(500.0) / 1000.0;
        });
    });
    files::when_chosen("file-input", files::opened);
}

/// Shows another view.
pub fn show_view(app: &mut App, view: View) {
    *app.view = view;
    crate::shell::buttons::close_callout(app);
    name_view(view);
    // a view is asked for: a change of film is none
    if app.held.as_ref().is_some_and(|held| held.change) {
        compare_by_change(app, false);
        choose("hold-mode", "divider");
    }
}

/// Says at the figure's tools which view is shown.
pub fn name_view(view: View) {
    let difference = matches!(view, View::Difference | View::Seen);
    choose("view", files::view_name(if difference { View::Difference } else { view }));
    if difference {
        dom::select("measure").set_value(files::view_name(view));
    }
}

fn compare_by_change(app: &mut App, on: bool) {
    if let Some(held) = &mut *app.held {
        held.change = on;
    }
    dom::class(&dom::body(), "holding-change", on);
}

/// Listens to the job's inputs within a part of the page.
fn inputs(place: &HtmlElement) {
    dom::on(place, "input", |event| {
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
    dom::on(place, "change", |event| {
        let Some(field) = dom::target(&event) else { return };
        with(|app| {
            if coat_tab(app, &field) {
                return;
            }
            controls::changed(app, &field, true);
            hush(&field, true);
            app.moving = false;
            app.rescale();
        });
    });
    dom::on(place, "focusout", |event| {
        if let Some(field) = dom::target(&event) {
            hush(&field, false);
        }
    });
}

/// Hides the hint of a control that has just been used, until it is left.
fn hush(field: &HtmlElement, on: bool) {
    if let Ok(Some(control)) = field.closest(".control") {
        dom::class(&control, "quiet", on);
    }
}

fn set_viewing(app: &mut App, path: &str, value: serde_json::Value) {
    if let Err(problem) = app.set(&[path.to_string()], &value) {
        app.trouble("The view was not changed", &problem.to_string());
    }
}

/// A tab of the coats was chosen.
fn coat_tab(app: &mut App, field: &HtmlElement) -> bool {
    if field.get_attribute("name").as_deref() != Some("coat") {
        return false;
    }
    *app.coat = dom::value_of(field).parse().ok();
    true
}
