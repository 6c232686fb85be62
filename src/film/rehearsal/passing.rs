//! When a pass passes a place: the time at which the middle of the fan is abreast of it. Plain geometry, no source; a
//! place gets all its paint of a pass at that moment, though the fan's depth takes some tenths of a second to pass.

use super::{Pass, Rehearsal};
use crate::maths::Table;
use crate::units::Seconds;
use glam::DVec2;

/// Times of one pass against the way along its line.
pub(super) struct Passing {
    direction: DVec2,
    times: Table,
}

/// Steps of the table for each pose of the stroke.
const STEPS_PER_POSE: usize = 2;
/// The fan's middle is followed as far as this many lengths of its aim.
const FARTHEST: f64 = 2000.0;

impl Passing {
    pub(super) fn of(rehearsal: &Rehearsal, pass: &Pass) -> Self {
        let direction = pass.line.direction();
        let mut way = f64::NEG_INFINITY;
        let met: Vec<(f64, f64)> = (pass.stroke.moments.iter())
            .map(|moment| {
                let (nozzle, aim) = (moment.pose.nozzle, moment.pose.aim);
                let panel = &rehearsal.plan.panel;
                let middle = panel.landing(nozzle, aim, FARTHEST).unwrap_or(nozzle.truncate());
                // a place is passed once: where an unsteady hand goes back, by the first time
                way = way.max(direction.dot(middle));
                (way, pass.start.0 + moment.time.0)
            })
            .collect();
        Self { direction, times: evenly(&met) }
    }

    /// Whether it goes along the length.
    pub(super) fn lengthways(&self) -> bool {
        self.direction.x.abs() >= self.direction.y.abs()
    }

    /// When it passes a place on the plan; before the first pose its time, after the last that of the last.
    #[inline]
    pub(super) fn at(&self, place: DVec2) -> Seconds {
        Seconds(self.times.at(self.direction.dot(place)))
    }
}

/// Times at equal steps of the way, straight between the poses.
fn evenly(met: &[(f64, f64)]) -> Table {
    let (first, last) = (met[0], met[met.len() - 1]);
    let intervals = STEPS_PER_POSE * met.len();
    let step = (last.0 - first.0) / intervals as f64;
    if step <= 0.0 {
        let middle = 0.5 * (first.1 + last.1);
        return Table::from_values(first.0, 1.0, vec![middle, middle]);
    }
    let mut after = 1;
    let time = |i: usize| {
        let way = first.0 + step * i as f64;
        while after + 1 < met.len() && met[after].0 < way {
            after += 1;
        }
        let (a, b) = (met[after - 1], met[after]);
        let part = if b.0 > a.0 { ((way - a.0) / (b.0 - a.0)).clamp(0.0, 1.0) } else { 0.0 };
        a.1 + (b.1 - a.1) * part
    };
    Table::from_values(first.0, step, (0..=intervals).map(time).collect())
}
