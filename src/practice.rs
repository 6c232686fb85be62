//! A coat sprayed by hand beside what was meant: pass by pass how the gun was held and led, and what of it did most to
//! the film. The lessons, and what an attempt at one is worth. Has never heard of a pointer.

mod correct;
mod lesson;
mod performance;

pub use correct::{Channel, NextStep, Trials, next_step};
pub use lesson::{Check, LESSON_VERSION, Lesson, LessonLimits, LessonShown, Mark, Slip, Told, lessons};
pub use performance::{Performance, Range, SprayedPass, performance, plan};
