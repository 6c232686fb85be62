//! The rest of the page's code, which comes after the first picture: who needs it waits here, and is told if it does not
//! come. What it holds is in `src/page/rest.txt`, how it is cut off in `src/cli/split.rs`.

use crate::shell::app::App;
use crate::shell::dom;
use crate::with;
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
    if HERE.with(Cell::get) {
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

/// The rest is there: what waited for it is done.
#[wasm_bindgen]
pub fn rest_came() {
    HERE.with(|here| here.set(true));
    let waiting = WAITING.with(RefCell::take);
    if !waiting.is_empty() {
        dom::say(&dom::by_id("said"), "");
    }
    with(|app| {
        waiting.into_iter().for_each(|f| f(app));
        app.stale.column = true;
    });
}

/// The rest did not come: what waited for it is not done, and that is said.
#[wasm_bindgen]
pub fn rest_failed(why: &str) {
    WAITING.with(RefCell::take);
    dom::say(&dom::by_id("said"), "");
    let lacks = "Film and colour can be tried; findings, what an eye would see, and the other places are missing.";
    let text = format!("{why} {lacks} Load the page again once the network is back: the job is kept.");
    with(|app| app.trouble("Not all of the page was loaded", &text));
}

/// Brings the rest at once. It keeps in the core what the doors to the rest call.
#[wasm_bindgen]
pub fn fetch_rest_now() {
    fetch_rest();
}
