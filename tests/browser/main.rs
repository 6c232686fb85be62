//! The page in a real browser: what a person sees, does and gets, from the served files to the screen.
//! Knows nothing of the core's numbers beyond what the page shows.
//!
//! Needs Chromium and chromedriver; `bash tests/run` installs them.

mod booth;
mod driver;
mod elsewhere;
mod findings;
mod kept;
mod opens;
mod practice;
mod reached;
mod recording;
mod rehearsal;
mod seen;
mod session;
mod spray_outs;
mod weight;
mod workers;
