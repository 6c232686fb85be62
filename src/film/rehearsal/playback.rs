//! The film at any moment of a rehearsal: all passes completed by then, and the part of the one under the gun.
//! Going forward costs one pass, going back a sum. Has never heard of frames or clocks: time comes in.

use super::{Block, Pass, Rehearsal};
use crate::gun::Pose;
use crate::units::Seconds;

/// The film of every paint at one moment.
#[derive(Debug, Clone, Default)]
pub struct Playback {
    /// Passes that are part of `complete`.
    counted: usize,
    complete: Vec<Vec<f64>>,
    films: Vec<Vec<f64>>,
}

/// What the gun does at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doing {
    /// Spraying a pass.
    Spraying(usize),
    /// Turning after a pass, on the way to the next.
    Turning(usize),
    /// Waiting for a coat to flash off.
    Flashing(usize),
    /// All is done.
    Done,
}

impl Playback {
    /// Brings the films to a moment. A pass that is not laid yet counts as not sprayed.
    pub fn seek(&mut self, rehearsal: &Rehearsal, time: Seconds) {
        let cells = rehearsal.patch.window().len();
        let done = rehearsal.passes.partition_point(|pass| pass.end.0 <= time.0).min(rehearsal.laid());
        let fresh =
            self.complete.len() != rehearsal.plan.paints.len() || self.complete.iter().any(|f| f.len() != cells);
        if fresh || done < self.counted {
            self.complete = vec![vec![0.0; cells]; rehearsal.plan.paints.len()];
            self.counted = 0;
        }
        for index in self.counted..done {
            rehearsal.add_pass(index, &mut self.complete[rehearsal.paint_of_pass(index)]);
        }
        self.counted = done;
        self.films.clone_from(&self.complete);
        if let Some(pass) = rehearsal.passes.get(done).filter(|pass| pass.start.0 < time.0 && pass.end.0 > time.0) {
            let paint = rehearsal.paint_of_pass(done);
            let part = rehearsal.spray_pass(pass, Seconds(time.0 - pass.start.0)).film;
            let within = Block { outer: rehearsal.patch.window(), inner: pass.window };
            within.add(&mut self.films[paint], &part, 1.0);
        }
    }

    /// Forgets what was counted: call it when the rehearsal is another one.
    pub fn reset(&mut self) {
        *self = Self::default();
    }

    /// Dry film of one paint, um, cell by cell.
    pub fn film(&self, paint: usize) -> &[f64] {
        self.films.get(paint).map_or(&[], Vec::as_slice)
    }
}

impl Rehearsal {
    /// What the gun does at a moment.
    pub fn doing(&self, time: Seconds) -> Doing {
        let next = self.passes.partition_point(|pass| pass.start.0 <= time.0);
        let Some(index) = next.checked_sub(1) else {
            return if self.passes.is_empty() { Doing::Done } else { Doing::Turning(0) };
        };
        let pass = &self.passes[index];
        let coat = self.coats[pass.coat];
        if time.0 < pass.end.0 {
            Doing::Spraying(index)
        } else if time.0 < coat.end.0 {
            Doing::Turning(index)
        } else if time.0 < coat.flashed.0 {
            Doing::Flashing(pass.coat)
        } else {
            Doing::Done
        }
    }

    /// How the gun stands at a moment; none while a coat flashes off or when all is done.
    pub fn pose_at(&self, time: Seconds) -> Option<Pose> {
        let within = |pass: &Pass| pass.stroke.pose_at(Seconds(time.0 - pass.start.0));
        match self.doing(time) {
            Doing::Spraying(index) => Some(within(&self.passes[index])),
            Doing::Turning(index) => {
                let (before, after) = (&self.passes[index], self.passes.get(index + 1)?);
                let part = ((time.0 - before.end.0) / (after.start.0 - before.end.0)).clamp(0.0, 1.0);
                let (a, b) = (within(before), after.stroke.pose_at(Seconds(0.0)));
                Some(Pose { nozzle: a.nozzle.lerp(b.nozzle, part), ..b })
            }
            Doing::Flashing(_) | Doing::Done => None,
        }
    }
}
