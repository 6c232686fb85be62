//! Spray fan, strokes and the film they lay: a [`plan::Plan`] in, a [`rehearsal::Rehearsal`] with its films out, dry and
//! wet. Has never heard of a job file, of colour or of a browser.

pub mod error;
pub mod field;
pub mod gun;
pub mod maths;
pub mod panel;
pub mod plan;
pub mod rehearsal;
pub mod spray;
pub mod strokes;
pub mod units;
pub mod wet;

pub use glam;
