//! fanlap lets a refinish painter see the film before pulling the trigger.
//!
//! A job (panel, gun, paints, coats, a hand) becomes lines, lines become strokes of a hand, strokes lay film on the
//! panel, film becomes colour:
//!
//! ```
//! use fanlap::{job::examples::EXAMPLES, rehearsal::rehearse, report::report};
//!
//! let mut job = EXAMPLES[0].job();
//! job.panel.cell.0 = 20.0; // coarse, for a quick look
//! let report = report(&rehearse(&job));
//! println!("{:.1} um on average", report.film["tinted"].interior.mean_um);
//! # assert!((report.film["tinted"].interior.mean_um - 36.4).abs() < 0.5);
//! ```
//!
//! The ranks, each knowing only those above it: `units maths error json`; `gun panel colour`; `strokes film wet`;
//! `appraisal`; `job`; `rehearsal`; `report words picture`; `cards findings practice`; `causes advice`; `sheet`; `web`. Everything but `web` has
//! never heard of a browser.

pub mod advice;
pub mod appraisal;
pub mod cards;
pub mod causes;
pub mod colour;
pub mod error;
pub mod film;
pub mod findings;
pub mod gun;
pub mod job;
pub mod json;
pub mod maths;
pub mod panel;
pub mod picture;
pub mod practice;
pub mod rehearsal;
pub mod report;
pub mod sheet;
pub mod strokes;
pub mod units;
pub mod wet;
pub mod words;

#[cfg(target_arch = "wasm32")]
mod web;

#[cfg(all(target_arch = "wasm32", not(target_feature = "simd128")))]
compile_error!("build with simd128: see .cargo/config.toml");
