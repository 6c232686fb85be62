//! Chance, asked of the browser: the only place that does. What follows from a seed is not chance and lies in the core.
//! Does not know how good the browser's source is.

use std::cell::Cell;

thread_local! {
    static LAST: Cell<u32> = const { Cell::new(0) };
}

/// A fresh seed for a new hand. A browser that gives no chance still gives another seed than the last.
pub fn seed() -> u32 {
    let seed = getrandom::u32().unwrap_or_else(|_| LAST.get().wrapping_add(1));
    LAST.set(seed);
    seed
}
