//! The figure: the panel with its film, rulers, section and time, drawn on canvases.

pub mod film;
pub mod gist;
pub mod maps;
pub mod saved;
pub mod section;
pub mod side_view;
pub mod sprayer;
pub mod stage;
pub mod timeline;

use crate::shell::app::{App, Place};
use crate::shell::room::Room;
use crate::shell::stale::Stale;

/// The figure, on show wherever the panel is.
pub struct Figure;

impl Room for Figure {
    fn listen(&self) {
        section::listen();
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if !app.place.shows_panel() {
            return;
        }
        if stale.places {
            stage::place(app);
        }
        if stale.film {
            stage::paint(app);
        }
        if stale.drawing {
            stage::draw(app);
            timeline::draw(app);
        }
    }

    fn picture(&self, app: &App) -> bool {
        let here = *app.place != Place::SprayOuts;
        if here {
            saved::picture(app);
        }
        here
    }
}
