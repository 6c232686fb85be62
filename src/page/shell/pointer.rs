//! The pointer on the stage, and what the window tells: its size, its scheme, its address, its end.

use crate::parts::dom;
use crate::shell::address;
use crate::shell::app::{App, Probe};
use crate::shell::buttons::close_menu;
use crate::shell::controls;
use crate::shell::files;
use crate::shell::plan::inside;
use crate::shell::rest::with_rest;
use crate::shell::run::with;
use wasm_bindgen::prelude::*;
use web_sys::{Event, PointerEvent};

/// The pointer on the stage: hovering shows the probe, a click keeps it.
pub fn pointer() {
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
            if app.in_hand() || app.probe.is_some_and(|probe| probe.kept) {
                return;
            }
            let next = (!on_handle && inside(&app.job, plan)).then_some(Probe { place: plan, kept: false });
            app.probe.put(next);
        });
    });
    dom::on(&stage, "pointerleave", |_| {
        with(|app| {
            app.probe.put(app.probe.filter(|probe| probe.kept));
        });
    });
    dom::on(&stage, "click", move |event| {
        let (x, y, on_handle) = place(&event);
        with(|app| {
            let plan = app.layout.on_plan(x, y);
            if on_handle || app.in_hand() || app.rooms.iter().any(|room| room.press(app, (x, y))) {
                return;
            }
            let near = |probe: Probe| probe.kept && (probe.place - plan).length() * app.layout.scale < 14.0;
            let kept = inside(&app.job, plan) && !app.probe.is_some_and(near);
            app.probe.put(kept.then_some(Probe { place: plan, kept: true }));
        });
    });
}

/// What the window tells.
pub fn window_events() {
    let resized = Closure::<dyn FnMut()>::new(|| with(App::measure)).into_js_value();
    if let Ok(observer) = web_sys::ResizeObserver::new(resized.unchecked_ref()) {
        observer.observe(&dom::by_id("stage"));
        observer.observe(&dom::by_id("cards"));
        // it observes as long as the page lives
        std::mem::forget(observer);
    }
    if let Ok(Some(scheme)) = dom::window().match_media("(prefers-color-scheme: dark)") {
        dom::on(&scheme, "change", |_| with(App::measure));
    }
    dom::on(&dom::window(), "hashchange", |_| {
        with_rest(|app| match address::place() {
            Some(place) => app.go(place),
            None => {
                files::arrive(app, "Your present job is untouched.");
                address::shows(*app.place);
                controls::paints(app);
            }
        });
    });
    dom::on(&dom::document(), "click", |event| {
        let inside = dom::target(&event).is_some_and(|t| t.closest("#file-menu").ok().flatten().is_some());
        if !inside {
            close_menu();
        }
    });
    // the menu never stays open over what has the focus
    dom::on(&dom::by_id("file-menu"), "focusout", |event| {
        let next = dom::next_focus(&event);
        if next.is_some_and(|next| next.closest("#file-menu").ok().flatten().is_none()) {
            close_menu();
        }
    });
}
