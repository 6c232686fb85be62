//! The place Spray-outs: the ladder of cards beside the car, their graph, the car's colour, and one's own cards.

pub mod car;
pub mod cards;
pub mod graph;
pub mod measured;
pub mod sprayed;

use crate::shell::app::{App, Place};
use crate::shell::room::{Room, States};
use crate::shell::stale::Stale;

/// The place Spray-outs.
pub struct SprayOuts;

impl Room for SprayOuts {
    fn state(&self, states: &mut States) {
        sprayed::state(states);
        measured::state(states);
    }

    fn listen(&self) {
        cards::listen();
        car::listen();
        measured::listen();
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if *app.place == Place::SprayOuts && stale.column {
            cards::sync(app);
            measured::sync(app);
        }
    }

    fn picture(&self, app: &App) -> bool {
        let here = *app.place == Place::SprayOuts;
        if here {
            graph::picture(app);
        }
        here
    }
}
