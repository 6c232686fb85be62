//! How a place of a panel lies against gravity: the panel is turned about its near edge until its far edge is up, and
//! its crown adds to that. Plain geometry, no source; does not know a panel that is turned about its width.

use crate::maths::{cos, fill_pieces, sin};
use crate::units::{Degrees, Millimetres};
use glam::{DVec2, DVec3};

/// Places that are looked at in one piece.
const PIECE: usize = 4096;

/// How a place lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    /// Sine of its slope: 0 level, 1 standing.
    pub sine: f64,
    /// The way down along the surface, as seen on the plan: of length 1 where the surface is parallel to the plan, 0 on
    /// a level place.
    pub downhill: DVec2,
}

impl Lie {
    /// Of a place with this gradient (along x and y of the plan) on a panel that slopes so.
    pub fn new(panel: Degrees, gradient: DVec2) -> Self {
        Self::under(up(panel), gradient)
    }

    /// The same for many places of one panel: `up` is computed once.
    pub fn of_all(panel: Degrees, gradients: &[DVec2]) -> Vec<Self> {
        let up = up(panel);
        let mut lies = vec![Self { sine: 0.0, downhill: DVec2::ZERO }; gradients.len()];
        fill_pieces(&mut lies, PIECE, |piece, lies| {
            let gradients = &gradients[piece * PIECE..];
            lies.iter_mut().zip(gradients).for_each(|(lie, gradient)| *lie = Self::under(up, *gradient));
        });
        lies
    }

    /// Of a flat panel.
    pub fn flat(panel: Degrees) -> Self {
        Self::new(panel, DVec2::ZERO)
    }

    fn under(up: DVec3, gradient: DVec2) -> Self {
        let normal = DVec3::new(-gradient.x, -gradient.y, 1.0) / (1.0 + gradient.length_squared()).sqrt();
        let down = normal * up.dot(normal) - up;
        let sine = down.length();
        Self { sine, downhill: if sine > 0.0 { down.truncate() / sine } else { DVec2::ZERO } }
    }

    /// Where one comes from a place on the plan when one goes down along the surface.
    pub fn below(&self, place: DVec2, travel: Millimetres) -> DVec2 {
        place + self.downhill * travel.0
    }
}

/// Straight up, in the panel's axes; a level panel is exactly level.
fn up(panel: Degrees) -> DVec3 {
    DVec3::new(0.0, sin(panel.radians()), cos(panel.radians()))
}
