//! The rest of the page's code, which comes after the first picture: who needs it waits here, and is told if it does
//! not come; the places open with it. What it holds is in `src/page/rest.txt`, how it is cut off in `src/cli/split.rs`.

use crate::parts::dom;
use crate::shell::app::App;
use crate::shell::room::Rooms;
use crate::shell::run::with;
use std::cell::{Cell, RefCell};
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
extern "C" {
    /// Brings the rest at once: what is called too early calls this by itself.
    #[wasm_bindgen(js_name = fanlapFetchRest)]
    fn fetch_rest();
    /// Brings the rest beside everything else; `rest_came` or `rest_failed` tells the end of it.
    #[wasm_bindgen(js_name = fanlapBringRest)]
    fn bring_rest();
}

/// What waits for the rest.
type Waits = Box<dyn FnOnce(&mut App)>;

thread_local! {
    static HERE: Cell<bool> = const { Cell::new(false) };
    static WAITING: RefCell<Vec<Waits>> = const { RefCell::new(Vec::new()) };
}

/// Does something with the app that needs the rest: at once, or as soon as that is there.
pub fn with_rest(f: impl FnOnce(&mut App) + 'static) {
    if is_here() {
        return with(f);
    }
    WAITING.with(|waiting| waiting.borrow_mut().push(Box::new(f)));
    dom::say(&dom::by_id("said"), "Loading \u{2026}");
    bring_rest();
}

/// Whether the rest is there.
pub fn is_here() -> bool {
    HERE.with(Cell::get)
}

/// The rest was there from the beginning.
pub fn was_here() {
    HERE.with(|here| here.set(true));
}

/// The rest is there: the places that came with it are opened, and what waited for it is done.
pub fn came(rooms: Rooms) {
    let before = HERE.with(|here| here.replace(true));
    if !before {
        let mut known = 0;
        with(|app| {
            known = app.rooms.len();
            rooms[known..].iter().for_each(|room| room.state(&mut app.states));
            app.rooms = rooms;
        });
        rooms[known..].iter().for_each(|room| room.listen());
    }
    let waiting = WAITING.with(RefCell::take);
    if !waiting.is_empty() {
        dom::say(&dom::by_id("said"), "");
    }
    with(|app| {
        waiting.into_iter().for_each(|f| f(app));
        app.touch();
    });
}

/// The rest did not come: what waited for it is not done, and that is said.
#[wasm_bindgen]
pub fn rest_failed(why: &str) {
    WAITING.with(RefCell::take);
    dom::say(&dom::by_id("said"), "");
    let lacks =
        "Film and colour can be tried; figures, findings, what an eye would see and the other places are missing.";
    let text = format!("{why} {lacks} Try again what you wanted, or load the page again once the network is back.");
    with(|app| app.trouble("Not all of the page was loaded", &text));
}

/// Brings the rest at once. It keeps in the core what the doors to the rest call.
#[wasm_bindgen]
pub fn fetch_rest_now() {
    fetch_rest();
}
