//! What happens in a frame: time runs, the gun in the hand moves, the full grid grows, is reported on and looked at,
//! each within a part of the frame. Draws nothing.

use crate::parts::dom;
use crate::parts::shown::Shown;
use crate::parts::sight::{Look, look};
use crate::shell::app::{App, Full, PAUSE, Place, View};
use crate::shell::rest;
use crate::shell::room::Event;
use fanlap::rehearsal::Rehearsal;
use fanlap::units::Seconds;

/// Time a frame may spend on the full grid, ms.
const FRAME_BUDGET: f64 = 9.0;
/// The same while nothing moves, ms.
const FRAME_BUDGET_AT_REST: f64 = 25.0;

impl App {
    /// One frame: time goes on and the full grid grows.
    pub fn tick(&mut self, now: f64) {
        let elapsed = ((now - self.last_frame) / 1000.0).clamp(0.0, 0.1);
        self.last_frame = now;
        self.run(elapsed);
        self.rooms.iter().for_each(|room| room.frame(self));
        // a preview is looked at only to be drawn so
        let preview = matches!(self.full, Full::Due | Full::Laying(_));
        if self.full.shown() || (preview && *self.view == View::Seen) {
            self.look();
        }
        self.lay();
    }

    /// Whether the present job is on show with all that is said of it.
    pub fn at_rest(&self) -> bool {
        self.full.shown() && matches!(self.look, Look::Done)
    }

    /// Whether another frame is wanted.
    pub fn wants_frame(&self) -> bool {
        *self.playing
            || *self.lead_in > 0.0
            || self.rooms.iter().any(|room| room.busy(self))
            || !self.full.shown()
            || !matches!(self.look, Look::Done)
            || self.stale().any()
    }

    /// Lets time run.
    fn run(&mut self, elapsed: f64) {
        if *self.lead_in > elapsed {
            *self.lead_in -= elapsed;
            return;
        }
        if *self.lead_in > 0.0 {
            self.play(true);
        }
        if !*self.playing {
            return;
        }
        let step = elapsed * self.rate * self.axis.haste(*self.time);
        self.seek(Seconds(self.time.0 + step));
        if self.ended() {
            *self.playing = false;
        }
    }

    /// Time this frame may spend on the full grid, ms.
    fn budget(&self) -> f64 {
        if *self.playing { FRAME_BUDGET } else { FRAME_BUDGET_AT_REST }
    }

    /// Looks at a new result: at the preview at once, at the full grid part by part.
    fn look(&mut self) {
        if matches!(self.look, Look::Done) || !rest::is_here() {
            return;
        }
        let (at_once, until) = (!self.full.shown(), dom::now() + self.budget());
        self.look = look(&mut self.shown, || at_once || dom::now() < until);
        if !matches!(self.look, Look::Done) {
            return;
        }
        if !self.moving {
            self.rescale();
        }
        self.said.now();
        self.seen.now();
    }

    /// Lays passes of the full grid for a part of a frame; shows it when it is complete.
    fn lay(&mut self) {
        let now = dom::now();
        if now < self.changed_at + PAUSE {
            return;
        }
        // its wet film and its report need the rest of the code
        if matches!(self.full, Full::Film) && !rest::is_here() {
            return;
        }
        let until = now + self.budget();
        let mut coming = match std::mem::replace(&mut self.full, Full::Shown) {
            Full::Shown => return,
            Full::Film => return self.follow(until),
            Full::Wet => return self.wet(until),
            Full::Due => Box::new(Rehearsal::plan(&self.rehearsed())),
            Full::Laying(coming) => coming,
        };
        let mut more = || dom::now() < until;
        while coming.lay_some(&mut more) && more() {}
        if !coming.finished() {
            self.full = Full::Laying(coming);
            return;
        }
        let last = self.shown.report.clone();
        self.show(Shown::of_film(*coming, self.space, last));
        self.full = Full::Film;
        if *self.place == Place::Practice {
            self.announce(Event::FilmShown);
            self.seek(self.shown.rehearsal().total());
        }
    }

    /// Completes the account of the full grid's paint.
    fn follow(&mut self, until: f64) {
        let mut more = true;
        while more && dom::now() < until {
            more = self.shown.appraisal.follow_some(&mut || dom::now() < until);
        }
        if more {
            self.full = Full::Film;
            return;
        }
        self.full = Full::Wet;
    }

    /// Goes on with the full grid's wet film; reports on it all in a frame of its own when that is done.
    fn wet(&mut self, until: f64) {
        while dom::now() < until {
            if !self.shown.appraisal.step_wetness() {
                return self.report();
            }
        }
        self.full = Full::Wet;
    }

    fn report(&mut self) {
        self.shown.report();
        if *self.place == Place::Practice {
            self.announce(Event::Reported);
        }
        self.look = Look::Due;
        self.said.now();
        if !self.moving {
            self.rescale();
        }
    }
}
