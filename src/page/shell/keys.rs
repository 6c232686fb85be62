//! The keys: those of the whole page, those of a number's field, and those of the figure while it has the focus.

use crate::parts::dom;
use crate::shell::app::{App, Probe, View};
use crate::shell::buttons::{TABS, close_menu, help, tab};
use crate::shell::controls;
use crate::shell::fields;
use crate::shell::rest::with_rest;
use crate::shell::run::with;
use glam::DVec2;
use wasm_bindgen::JsCast;
use web_sys::{HtmlElement, KeyboardEvent};

/// Listens to the keys.
pub fn keys() {
    dom::on(&dom::document(), "keyup", |event| {
        let key: KeyboardEvent = event.unchecked_into();
        with(|app| app.rooms.iter().for_each(|room| room.key_up(app, &key)));
    });
    dom::on(&dom::document(), "keydown", |event| {
        let key: KeyboardEvent = event.unchecked_into();
        let control = key.ctrl_key() || key.meta_key();
        let target = dom::target(&key);
        let typing = target.as_ref().is_some_and(|t| t.matches("input[type=text], input.number").unwrap_or(false));
        let name = key.key();
        if control && !key.alt_key() && !typing && matches!(name.as_str(), "z" | "Z" | "y") {
            key.prevent_default();
            let back = name == "z" && !key.shift_key();
            with_rest(move |app| {
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
            let id = target.map(|t| t.id()).unwrap_or_default();
            let now = TABS.iter().position(|name| id == format!("tab-{name}")).unwrap_or(0);
            let next = (now + if name == "ArrowRight" { 1 } else { TABS.len() - 1 }) % TABS.len();
            tab(TABS[next]);
            let _ = dom::by_id(&format!("tab-{}", TABS[next])).focus();
        } else if !control
            && !key.alt_key()
            && target.is_some_and(|t| hears(&t, &name))
            && (room_key(&key) || figure_key(&name, key.shift_key()))
        {
            key.prevent_default();
        }
    });
}

/// Keys of a place. True if the key was one of them.
fn room_key(key: &KeyboardEvent) -> bool {
    let mut heard = false;
    with(|app| heard = app.rooms.iter().any(|room| room.key(app, key)));
    heard
}

/// Whether a key of the figure is heard at an element: on the figure itself every key, on its buttons and those of
/// the transport all that a button does not need.
fn hears(element: &HtmlElement, key: &str) -> bool {
    let on_button = || element.matches("#figure button, #transport button").unwrap_or(false);
    element.id() == "figure" || (on_button() && !matches!(key, " " | "Enter"))
}

fn escape() {
    close_menu();
    if dom::document().active_element().is_some_and(|element| leave_field(&element)) {
        return;
    }
    if !dom::by_id("more-settings").hidden() {
        dom::by_id("less").click();
    }
    if !dom::by_id("help").hidden() {
        help(false);
    }
    with(|app| app.probe.put(None));
}

/// Esc in a field takes back what was typed and hides its hint. True if there was either.
fn leave_field(element: &web_sys::Element) -> bool {
    let Ok(Some(control)) = element.closest(".control") else { return false };
    let typed = control.get_attribute("data-typed").is_some();
    let fresh = !control.class_list().contains("quiet");
    let _ = control.remove_attribute("data-typed");
    dom::class(&control, "quiet", true);
    with(App::touch);
    typed || fresh
}

/// An arrow in a number's field moves its slider by one step.
fn step_number(field: Option<&HtmlElement>, up: bool) {
    let Some(root) = field.and_then(|field| field.closest(".control").ok().flatten()) else { return };
    let slide: web_sys::HtmlInputElement = dom::part(&root, ".slide");
    let step: f64 = slide.step().parse().unwrap_or(1.0);
    slide.set_value(&(slide.value_as_number() + if up { step } else { -step }).to_string());
    with(|app| {
        controls::changed(app, slide.unchecked_ref(), true);
        app.touch();
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
        "1" | "2" | "3" | "4" => {
            let views = [View::Paint, View::Film, View::Difference, View::Seen];
            let view = views[usize::from(name.as_bytes()[0] - b'1')];
            with(|app| fields::show_view(app, view));
        }
        "Enter" => with(|app| {
            if let Some(probe) = &mut *app.probe {
                probe.kept = !probe.kept;
            }
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
        *app.probe = Some(Probe { place: place.clamp(DVec2::splat(cell / 2.0), most - cell / 2.0), kept: true });
    });
}
