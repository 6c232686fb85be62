//! A coat sprayed by hand beside what was meant: pass by pass how the gun was held and led, and what of it did most to
//! the film. Knows neither a pointer nor a lesson.

mod correct;
mod performance;

pub use correct::{Channel, NextStep, Trials, next_step};
pub use performance::{Performance, Range, SprayedPass, performance};
