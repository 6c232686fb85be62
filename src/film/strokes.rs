//! From a coat to strokes: the lines of a plan, and what a hand makes of a line. Knows guns and panels; has never
//! heard of film or colour.

mod coat;
mod drift;
mod hand;
mod track;

pub use coat::{Along, Coat, Line, OUTSIDE, Reach, Sequence, Side, lines};
pub use drift::{Astray, Drift, LEAST_SPEED, MOST_DEVIATIONS, MOST_TILT, Order, stir};
pub use hand::{Hand, Moment, NEAREST_MM, Stroke};
pub use track::{MovedBy, Recorded, Sample, TRACK_LIMITS, Track};
