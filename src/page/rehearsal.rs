//! The place Rehearsal: readings, findings, the clock, and the trials of the gun. Readings and findings are on show
//! beside the panel wherever that is.

pub mod countdown;
pub mod findings;
pub mod gun_test;
pub mod readings;

use crate::figure::side_view;
use crate::parts::pen::Pen;
use crate::shell::app::App;
use crate::shell::room::{Event, Layer, Room, States};
use crate::shell::stale::{Changed, Stale};
use fanlap::report::Report;

/// The place Rehearsal.
pub struct Rehearsal;

impl Room for Rehearsal {
    fn state(&self, states: &mut States) {
        states.put(findings::fresh());
        gun_test::state(states);
    }

    fn listen(&self) {
        gun_test::listen();
        findings::listen();
        countdown::listen();
    }

    fn changed(&self, app: &App) -> Changed {
        findings::changed(app)
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if !app.place.shows_panel() {
            return;
        }
        if stale.drawing {
            countdown::sync(app);
        }
        if stale.column {
            gun_test::sync(app);
            side_view::draw(app);
        }
        findings::ask(app);
        if stale.column {
            findings::sync(app);
        }
        if stale.drawing || stale.column {
            readings::sync(app, stale.column);
        }
    }

    fn hear(&self, app: &mut App, event: Event) {
        findings::hear(app, event);
    }

    fn draw(&self, app: &App, pen: &Pen, layer: Layer) {
        if layer == Layer::Over {
            findings::draw(app, pen);
        }
    }

    fn press(&self, app: &mut App, place: (f64, f64)) -> bool {
        findings::choose_at(app, place)
    }

    fn report(&self, app: &App, report: &mut Report) {
        report.findings = findings::whole(app);
    }

    fn cure(&self, app: &App, paths: &[String]) -> Option<f64> {
        findings::cured(app, paths)
    }
}
