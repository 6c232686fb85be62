//! What must be drawn or said again follows from what has changed since it was last: here stands which view shows what
//! of the state. Nobody says of a change what it makes stale.

use crate::parts::watched::{Stamp, Watched};

/// What must be drawn again at the next frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stale {
    /// The film: time or result changed.
    pub film: bool,
    /// The drawing over it.
    pub drawing: bool,
    /// Controls, readings and words: the job or the result changed.
    pub column: bool,
    /// Where things stand: the window or the panel changed.
    pub places: bool,
}

impl Stale {
    /// Whether anything is.
    pub fn any(self) -> bool {
        self.film || self.drawing || self.column || self.places
    }

    /// What has changed since a number of changes.
    pub fn since(last: Changed, shown: u64) -> Self {
        let [film, drawing, column, places] =
            [last.film, last.drawing, last.column, last.places].map(|change| change > shown);
        Self { film, drawing: drawing || film, column, places }
    }
}

/// The numbers of the last changes that each view shows.
#[derive(Debug, Clone, Copy, Default)]
pub struct Changed {
    /// Of the film.
    pub film: u64,
    /// Of the drawing over it alone.
    pub drawing: u64,
    /// Of controls, readings and words.
    pub column: u64,
    /// Of where things stand.
    pub places: u64,
}

impl Changed {
    /// The later of two, view by view.
    pub fn or(self, other: Self) -> Self {
        Self {
            film: self.film.max(other.film),
            drawing: self.drawing.max(other.drawing),
            column: self.column.max(other.column),
            places: self.places.max(other.places),
        }
    }

    /// A change that every view shows.
    pub fn all(at: u64) -> Self {
        Self { film: at, drawing: at, column: at, places: at }
    }
}

/// Something that changes and is shown.
pub trait Changes {
    /// The number of its last change.
    fn at(&self) -> u64;
}

impl<T> Changes for Watched<T> {
    fn at(&self) -> u64 {
        self.changed()
    }
}

impl Changes for Stamp {
    fn at(&self) -> u64 {
        self.changed()
    }
}

/// The last change of several things.
pub fn last(of: &[&dyn Changes]) -> u64 {
    of.iter().map(|one| one.at()).max().unwrap_or(0)
}
