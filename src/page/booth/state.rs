//! What the booth sheet and the advice know: what was asked, what was told, what is shown. Shows nothing.

use crate::shell::app::App;
use fanlap::advice::{Advice, Wishes};
use fanlap::job::Job;
use fanlap::job::inputs::System;
use fanlap::sheet::Foreseen;

/// The place's state.
#[derive(Default)]
pub struct Booth {
    /// Job, units and difference of the sheet that is shown, and whether what it foresees is on it.
    pub sheet_of: Option<(Job, System, f64, bool)>,
    /// The job, less what does not matter, and the difference of which it is asked what they foresee.
    pub asked: Option<(Job, f64)>,
    /// What they do, once it is known.
    pub foreseen: Option<Foreseen>,
    /// Names of the paints whose mixing is shown.
    pub mixing: Vec<String>,
    /// The search that is under way, 0..1.
    pub progress: Option<f64>,
    /// The job and the wishes that the search is of.
    pub of: Option<(Job, Wishes)>,
    /// Its plans so far, and what that colour forgives.
    pub advice: Option<Advice>,
    /// Why it failed.
    pub failed: Option<String>,
    /// How often the worker of the search has died over it, and that of what the sheet foresees.
    pub deaths: (u32, u32),
    /// Why it could not be foreseen.
    pub unforeseen: Option<String>,
}

impl Booth {
    /// What the sheet foresees, once it is known.
    pub fn foreseen(&self) -> Option<&Foreseen> {
        self.foreseen.as_ref()
    }
}

/// The place's state.
pub fn booth(app: &App) -> &Booth {
    app.states.of()
}

/// The place's state, to change it.
pub fn booth_mut(app: &mut App) -> &mut Booth {
    app.states.of_mut()
}
