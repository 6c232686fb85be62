//! What is said to a listener once the hand rests: the last of many words, not all of them. Knows nothing of what is
//! said.

use crate::parts::dom;
use std::cell::{Cell, RefCell};
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;

/// How long nothing else must be said, ms.
const REST: i32 = 700;

thread_local! {
    static LAST: RefCell<String> = const { RefCell::new(String::new()) };
    static TIMER: Cell<Option<i32>> = const { Cell::new(None) };
    static CHANGED: Cell<bool> = const { Cell::new(false) };
}

/// Says a text in the page's quiet live region once nothing else was said for a while.
pub fn say(text: String) {
    LAST.set(text);
    let window = dom::window();
    if let Some(timer) = TIMER.take() {
        window.clear_timeout_with_handle(timer);
    }
    let now = Closure::once_into_js(|| {
        TIMER.set(None);
        dom::say(&dom::by_id("said"), &LAST.take());
    });
    TIMER.set(window.set_timeout_with_callback_and_timeout_and_arguments_0(now.unchecked_ref(), REST).ok());
}

/// A control has changed the job: its result is to be said when it is there.
pub fn changed() {
    CHANGED.set(true);
}

/// Whether a control has changed the job since this was asked last.
pub fn has_changed() -> bool {
    CHANGED.take()
}
