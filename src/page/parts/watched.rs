//! A value that knows when it was changed last, so that what shows it can tell whether it is out of date. Whoever
//! writes to it need not say so. Does not know what the value is for.

use std::cell::Cell;
use std::ops::{Deref, DerefMut};

thread_local! {
    /// Changes so far.
    static CHANGES: Cell<u64> = const { Cell::new(0) };
}

/// How many changes there were so far.
pub fn changes() -> u64 {
    CHANGES.get()
}

fn next() -> u64 {
    CHANGES.set(CHANGES.get() + 1);
    CHANGES.get()
}

/// A value with the number of its last change: every access that may write to it counts as one.
pub struct Watched<T> {
    value: T,
    changed: u64,
}

impl<T> Watched<T> {
    /// Watches a value; that it is there counts as a change.
    pub fn new(value: T) -> Self {
        Self { value, changed: next() }
    }

    /// The number of its last change.
    pub fn changed(&self) -> u64 {
        self.changed
    }
}

impl<T: PartialEq> Watched<T> {
    /// Gives it a value; the one that it has already is no change.
    pub fn put(&mut self, value: T) {
        if self.value != value {
            **self = value;
        }
    }
}

impl<T> Deref for Watched<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

impl<T> DerefMut for Watched<T> {
    fn deref_mut(&mut self) -> &mut T {
        self.changed = next();
        &mut self.value
    }
}

impl<T: Default> Default for Watched<T> {
    fn default() -> Self {
        Self::new(T::default())
    }
}

/// When something happened last that is no value of its own.
pub struct Stamp(u64);

impl Stamp {
    /// It happens now.
    pub fn now(&mut self) {
        self.0 = next();
    }

    /// The number of the change that it was.
    pub fn changed(&self) -> u64 {
        self.0
    }
}

impl Default for Stamp {
    fn default() -> Self {
        Self(next())
    }
}
