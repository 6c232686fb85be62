//! The page runs: commands reach the app, frames are asked for once, each lets the app go on and brings what is stale
//! in step, place by place. Knows no place by name.

use crate::parts::dom;
use crate::shell::app::App;
use crate::shell::settle;
use std::cell::{Cell, RefCell};
use wasm_bindgen::prelude::*;

/// The callback of a frame.
type Tick = Closure<dyn FnMut(f64)>;

thread_local! {
    static APP: RefCell<Option<App>> = const { RefCell::new(None) };
    static FRAME: Cell<bool> = const { Cell::new(false) };
    static TICK: RefCell<Option<Tick>> = const { RefCell::new(None) };
}

/// Begins to run.
pub fn begin(app: App) {
    APP.set(Some(app));
    TICK.set(Some(Closure::new(frame)));
    // whatever was pressed, chosen or left: what stands beside it is brought in step
    for kind in ["click", "change", "focusout"] {
        dom::on(&dom::document(), kind, |_| with(App::touch));
    }
    dom::on_way_down(&dom::document(), "toggle", |_| with(App::touch));
}

/// Does something with the app, then asks for a frame.
pub fn with(f: impl FnOnce(&mut App)) {
    APP.with(|cell| {
        if let Ok(mut app) = cell.try_borrow_mut()
            && let Some(app) = app.as_mut()
        {
            f(app);
            settle::settle(app);
        }
    });
    ask();
}

/// Reads something of the app, if there is one.
pub fn read<T>(f: impl FnOnce(&App) -> T) -> Option<T> {
    APP.with(|cell| cell.borrow().as_ref().map(f))
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
        app.tick(now);
        settle::settle(app);
        let stale = app.to_show();
        app.rooms.iter().for_each(|room| room.sync(app, stale));
        app.is_shown();
        app.wants_frame()
    });
    if more {
        ask();
    }
}
