//! Colour and the eye against published tables, exact figures and a library of its own kind. The source stands beside
//! each check.

#[path = "../data/colour/mod.rs"]
mod data;
#[path = "../data/jobs/mod.rs"]
mod jobs;

mod base;
mod build_up;
mod difference;
mod film;
mod measured;
mod optics;
mod paints;
mod palette;
mod screen;
mod seen;
mod tint;
mod track;
mod tristimulus;
mod visibility;
