//! A coat sprayed by hand beside what was meant: pass by pass how the gun was held and led, and what of it did most to
//! the film. The lessons, and what an attempt at one is worth. Has never heard of a pointer.

mod course;
mod diagnose;
mod feedback;
mod lesson;
mod mark;
mod performance;
mod progress;
mod ranges;
mod righted;
mod sentences;
mod slip;

pub use course::Course;
pub use diagnose::{ErrorSource, NextStep, Righted, Trials, as_planned, next_step, righted};
pub use feedback::{Aid, Foreseen, Prediction, Told};
pub use lesson::{Gap, LESSON_VERSION, Lesson, LessonLimits, LessonShown, Task, lessons};
pub use mark::{ATTEMPT_VERSION, Attempt, Check, Mark};
pub use performance::{Performance, Range, SprayedPass, performance, plan};
pub use progress::{Due, Marked, Progress};
pub use slip::{NOVICE, Size, Slip};
