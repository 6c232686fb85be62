//! What a place is to the shell: it listens, it is brought in step, it hears of events and answers questions. The shell
//! and the figure know no place but by this; `lib.rs` names them all. The state of a place lies here, in its own type.

use crate::parts::pen::Pen;
use crate::shell::app::App;
use crate::shell::stale::{Changed, Stale};
use fanlap::error::Problem;
use fanlap::gun::Pose;
use fanlap::report::Report;
use serde_json::{Map, Value};
use std::any::Any;
use web_sys::KeyboardEvent;

/// What happens to the page as a whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// Another job is open; whether panel, gun and coats are as they were.
    JobChanged { as_meant: bool },
    /// Something else is done now: the gun is put down.
    PutDown,
    /// What is in the hand makes room for something else.
    Emptied,
    /// A job with recordings was opened.
    Opened,
    /// What is rehearsed is rehearsed anew.
    Outdated,
    /// The film of the full grid is on show.
    FilmShown,
    /// It has been reported on.
    Reported,
    /// An attempt at a lesson was marked.
    Marked,
    /// A step is about to be taken back by its button.
    Undoing,
    /// It was taken back.
    Undone,
    /// Other units are shown.
    Units,
    /// Another tab has kept something.
    Stored,
}

/// What comes into the page.
#[derive(Debug, Clone, Copy)]
pub enum Incoming<'a> {
    /// A file: its name and its text.
    File(&'a str, &'a str),
    /// What stands behind the # of an address.
    Address(&'a str),
}

/// The film that is to be seen just now.
pub enum Film<'a> {
    /// None: it is not to be seen yet.
    Veiled,
    /// One that is being sprayed.
    Growing(&'a [f64]),
}

/// A gun as it is drawn.
pub struct InHand {
    /// How it stands.
    pub pose: Pose,
    /// Whether it sprays.
    pub sprays: bool,
    /// The direction in which it goes on the stage.
    pub travel: Option<(f64, f64)>,
}

/// What is looked for in a finished film.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sought {
    /// Everything.
    All,
    /// What is beyond the plan.
    BeyondPlan,
    /// Nothing more.
    Nothing,
}

/// Where something is drawn over the panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layer {
    /// Under the gun.
    Under,
    /// Over it.
    Over,
}

/// A place, or what belongs to none.
pub trait Room: Sync {
    /// Puts its state where it lies.
    fn state(&self, _: &mut States) {}
    /// Builds what it builds and listens to it.
    fn listen(&self) {}
    /// The last changes of its state.
    fn changed(&self, _: &App) -> Changed {
        Changed::default()
    }
    /// Does its part of a frame before anything is drawn.
    fn frame(&self, _: &mut App) {}
    /// Whether it wants another frame.
    fn busy(&self, _: &App) -> bool {
        false
    }
    /// Brings what it shows in step, if that is on show.
    fn sync(&self, _: &mut App, _: Stale) {}
    /// Hears of an event.
    fn hear(&self, _: &mut App, _: Event) {}
    /// Draws over the panel.
    fn draw(&self, _: &App, _: &Pen, _: Layer) {}
    /// A key while the figure has the focus. True if it was one of its own.
    fn key(&self, _: &mut App, _: &KeyboardEvent) -> bool {
        false
    }
    /// A key is let go.
    fn key_up(&self, _: &mut App, _: &KeyboardEvent) {}
    /// A press on the stage. True if it was its own.
    fn press(&self, _: &mut App, _: (f64, f64)) -> bool {
        false
    }
    /// Takes in what comes, if it is its own.
    fn take_in(&self, _: &mut App, _: Incoming) -> Option<Result<(), Problem>> {
        None
    }
    /// Writes what of its state goes with the recordings.
    fn keep(&self, _: &App, _: &mut Map<String, Value>) {}
    /// Takes it up again.
    fn take_up(&self, _: &mut App, _: &Map<String, Value>) {}
    /// Saves its picture, if it has one of its own.
    fn picture(&self, _: &App) -> bool {
        false
    }
    /// Adds to a report that is saved.
    fn report(&self, _: &App, _: &mut Report) {}
    /// The film to be seen, where it is not the job's at this moment.
    fn film<'a>(&self, _: &'a App) -> Option<Film<'a>> {
        None
    }
    /// The gun that it holds.
    fn gun(&self, _: &App) -> Option<InHand> {
        None
    }
    /// What a held result and the present one are called.
    fn beside(&self, _: &App) -> Option<(&'static str, &'static str)> {
        None
    }
    /// What is looked for in the finished film.
    fn sought(&self, _: &App) -> Option<Sought> {
        None
    }
    /// Whether settings at these paths are locked.
    fn locks(&self, _: &App, _: &[String]) -> bool {
        false
    }
    /// What a cure would set at one of these paths.
    fn cure(&self, _: &App, _: &[String]) -> Option<f64> {
        None
    }
}

/// The states of the places, each in its own type.
#[derive(Default)]
pub struct States(Vec<Box<dyn Any>>);

impl States {
    /// Puts one where it lies.
    pub fn put<T: 'static>(&mut self, state: T) {
        self.0.push(Box::new(state));
    }

    /// The state of that type.
    pub fn of<T: 'static>(&self) -> &T {
        self.0.iter().find_map(|state| state.downcast_ref()).expect("every place has put its state")
    }

    /// The state of that type, to change it.
    pub fn of_mut<T: 'static>(&mut self) -> &mut T {
        self.0.iter_mut().find_map(|state| state.downcast_mut()).expect("every place has put its state")
    }
}

/// All places of the page.
pub type Rooms = &'static [&'static dyn Room];

impl App {
    /// Tells every place of an event.
    pub fn announce(&mut self, event: Event) {
        self.rooms.iter().for_each(|room| room.hear(self, event));
    }

    /// The first place that has an answer.
    fn asked<'a, T>(&'a self, answer: impl Fn(&'static dyn Room, &'a App) -> Option<T>) -> Option<T> {
        self.rooms.iter().find_map(|room| answer(*room, self))
    }

    /// The film to be seen, where it is not the job's at this moment.
    pub fn film_instead(&self) -> Option<Film<'_>> {
        self.asked(|room, app| room.film(app))
    }

    /// Whether the film is not to be seen just now.
    pub fn veiled(&self) -> bool {
        matches!(self.film_instead(), Some(Film::Veiled))
    }

    /// The gun that a place holds.
    pub fn gun_in_hand(&self) -> Option<InHand> {
        self.asked(|room, app| room.gun(app))
    }

    /// What a held result and the present one are called.
    pub fn beside(&self) -> (&'static str, &'static str) {
        self.asked(|room, app| room.beside(app)).unwrap_or(("Held", "Now"))
    }

    /// What is looked for in the finished film.
    pub fn sought(&self) -> Sought {
        self.asked(|room, app| room.sought(app)).unwrap_or(Sought::All)
    }

    /// Whether settings at these paths are locked.
    pub fn locked(&self, paths: &[String]) -> bool {
        self.rooms.iter().any(|room| room.locks(self, paths))
    }

    /// What a cure would set at one of these paths.
    pub fn cure(&self, paths: &[String]) -> Option<f64> {
        self.asked(|room, app| room.cure(app, paths))
    }
}
