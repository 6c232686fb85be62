//! The place Practice: the panel is sprayed by hand, freely or as a lesson has it, and what was done is told.

pub mod aids;
pub mod desk;
pub mod hand;
pub mod instructor;
pub mod kept;
pub mod lesson;
pub mod live;
pub mod marking;
pub mod progress;
pub mod record;
pub mod state;
pub mod told;

use crate::parts::dom;
use crate::parts::pen::Pen;
use crate::practice::state::{Mover, Practice, practice, practice_mut};
use crate::shell::app::App;
use crate::shell::room::{Event, Film, InHand, Incoming, Layer, Room, Sought, States};
use crate::shell::stale::{Changed, Stale};
use fanlap::error::Problem;
use serde_json::{Map, Value};
use web_sys::KeyboardEvent;

/// The place Practice.
pub struct ByHand;

impl Room for ByHand {
    fn state(&self, states: &mut States) {
        states.put(Practice::default());
        states.put(progress::restore());
    }

    fn listen(&self) {
        desk::listen();
        hand::listen();
        lesson::listen();
        instructor::listen();
        progress::listen();
    }

    fn changed(&self, app: &App) -> Changed {
        practice(app).changed()
    }

    fn frame(&self, app: &mut App) {
        if app.in_hand() {
            record::search(app);
            desk::rehearse_plan(app);
            move_gun(app);
        }
    }

    fn busy(&self, app: &App) -> bool {
        practice(app).busy()
    }

    fn sync(&self, app: &mut App, stale: Stale) {
        if app.place.shows_panel() && stale.column {
            told::sync(app);
        }
    }

    fn hear(&self, app: &mut App, event: Event) {
        match event {
            Event::JobChanged { as_meant } => {
                let anew = !as_meant && app.recorded.any();
                practice_mut(app).judged_anew |= anew;
                lesson::changed(app);
            }
            Event::PutDown => record::put_down(app),
            Event::Emptied => practice_mut(app).empty(),
            Event::Opened => lesson::recognise(app, None),
            Event::FilmShown => record::settled(app),
            Event::Reported => record::tell(app),
            Event::Units if app.in_hand() => record::tell(app),
            Event::Stored => progress::refresh(app),
            _ => {}
        }
    }

    fn draw(&self, app: &App, pen: &Pen, layer: Layer) {
        if layer == Layer::Under {
            told::draw(pen, app);
        }
    }

    fn key(&self, app: &mut App, key: &KeyboardEvent) -> bool {
        let name = key.key();
        let heard = app.in_hand() && hand::key(app, &name, key.shift_key(), key.time_stamp());
        if heard && (name.starts_with("Arrow") || matches!(name.as_str(), "+" | "=" | "-")) {
            told::say_gun(app);
        }
        heard
    }

    fn key_up(&self, app: &mut App, key: &KeyboardEvent) {
        hand::key_up(app, &key.key(), key.time_stamp());
    }

    fn take_in(&self, app: &mut App, incoming: Incoming) -> Option<Result<(), Problem>> {
        lesson::take_in(app, incoming)
    }

    fn keep(&self, app: &App, kept: &mut Map<String, Value>) {
        kept::keep(app, kept);
    }

    fn take_up(&self, app: &mut App, kept: &Map<String, Value>) {
        kept::take_up(app, kept);
    }

    fn film<'a>(&self, app: &'a App) -> Option<Film<'a>> {
        if !app.in_hand() {
            return None;
        }
        let growing = practice(app).live.as_ref().map(|live| Film::Growing(&live.film));
        if aids::veil(app).is_some() { Some(Film::Veiled) } else { growing }
    }

    fn gun(&self, app: &App) -> Option<InHand> {
        record::gun(app)
    }

    fn beside(&self, app: &App) -> Option<(&'static str, &'static str)> {
        desk::beside(app)
    }

    fn sought(&self, app: &App) -> Option<Sought> {
        aids::sought(app)
    }

    fn locks(&self, app: &App, paths: &[String]) -> bool {
        aids::locks(app, paths)
    }
}

/// Moves a gun that runs by itself; the pacer moves too.
fn move_gun(app: &mut App) {
    let now = dom::now();
    record::awake(app, now);
    if let Some((place, arrives)) = record::running(app, now) {
        let at = now.min(arrives);
        let sample = record::look(app, at, place, practice(app).open);
        if practice(app).open {
            record::record(app, sample);
        } else {
            *practice_mut(app).gun = Some(sample);
        }
        if now >= arrives {
            hand::stop(app, at);
        }
    }
    // a gun that stands still sends no events, and sprays
    if let (Some(Mover::Pointer(_)), true) = (practice(app).mover, practice(app).open) {
        record::stand(app, now);
    }
    if practice(app).opened.is_some() {
        practice_mut(app).paced.now();
    }
}
