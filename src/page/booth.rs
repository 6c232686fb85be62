//! The place Booth sheet: the sheet for the wall of the booth, and the advice beside it.

pub mod planning;
pub mod state;

use crate::shell::app::{App, Place};
use crate::shell::room::{Room, States};
use crate::shell::stale::Stale;

/// The place Booth sheet.
pub struct BoothSheet;

impl Room for BoothSheet {
    fn state(&self, states: &mut States) {
        states.put(state::Booth::default());
    }

    fn listen(&self) {
        planning::listen();
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if *app.place == Place::Sheet && stale.column {
            planning::sync(app);
        }
    }
}
