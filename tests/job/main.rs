//! Job files: what is read, what is refused and in which words, the link, and changing one value. Does not rehearse,
//! except to see that what was accepted can be planned within the limits.

mod cards;
mod damage;
#[path = "../data/jobs/mod.rs"]
mod data;
mod file;
mod limits;
mod spectra;
mod table;
mod whole;

use data::{COMPLETE, Dice, accepted, complete, first, job, numbers, only, put, read, refused, remove, sound, within};
use fanlap::error::Problem;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::{INPUTS, Kind, Range, input, plain_number, section};
use fanlap::job::{ANGLES, Files, Job, LIMITS};
use fanlap::rehearsal::Rehearsal;
use fanlap::report::report;
use serde_json::{Map, Value, json};

fn refused_text(text: &str) -> Problem {
    sound(Job::read(text, &Files::none()).expect_err("refused"))
}

/// Whether two JSON values say the same, 1400 or 1400.0.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(key, value)| b.get(key).is_some_and(|other| same(value, other)))
        }
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Number(a), Value::Number(b)) => a.as_f64() == b.as_f64(),
        _ => a == b,
    }
}
