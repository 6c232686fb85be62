//! fanlap lets a refinish painter see the film before pulling the trigger.
//!
//! A job (panel, gun, paints, coats, a hand) becomes lines, lines become strokes of a hand, strokes lay film on the
//! panel, film becomes colour:
//!
//! ```
//! use fanlap::{appraisal::appraise, job::examples::EXAMPLES, report::report};
//!
//! let mut job = EXAMPLES[0].job();
//! job.panel.cell.0 = 20.0; // coarse, for a quick look
//! let report = report(&appraise(&job));
//! println!("{:.1} um on average", report.film["tinted"].interior.mean_um);
//! # assert!((report.film["tinted"].interior.mean_um - 36.4).abs() < 0.5);
//! ```
//!
//! Three crates lie below and are shown here as modules: `fanlap_film` (panel, gun, strokes, film), `fanlap_colour`
//! (colour, and the eye) and `fanlap_formats` (job files, links, recordings, measured colours).

pub mod advice;
pub mod appraisal;
pub mod cards;
pub mod causes;
pub mod findings;
pub mod picture;
pub mod practice;
pub mod rehearsal;
pub mod report;
pub mod sheet;
pub mod words;

pub use fanlap_colour as colour;
pub use fanlap_colour::eye;
pub use fanlap_film::{error, field, gun, maths, panel, plan, spray, strokes, units, wet};
pub use fanlap_formats::{job, json, measured};
