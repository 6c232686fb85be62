//! What the shell itself shows: its controls, its header, the button that holds. Brought in step like a place.

use crate::shell::app::App;
use crate::shell::room::Room;
use crate::shell::stale::Stale;
use crate::shell::{buttons, controls, fields, keys, pointer};

/// The shell.
pub struct Shell;

impl Room for Shell {
    fn listen(&self) {
        buttons::buttons();
        fields::fields();
        pointer::pointer();
        pointer::window_events();
        keys::keys();
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if !stale.column {
            return;
        }
        if app.place.shows_panel() {
            controls::sync(app);
            buttons::sync_hold(app);
        } else {
            controls::sync_header(app);
        }
    }
}
