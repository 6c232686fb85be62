//! What of practice goes with the recordings: into steps of undo, and into what the browser keeps.

use crate::practice::lesson;
use crate::practice::state::{PutIn, State, practice, practice_mut};
use crate::shell::app::App;
use fanlap::units::Seconds;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// What is in the hand beside the recordings.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
struct Kept {
    /// What was done in a lesson.
    attempt: Option<State>,
    distance: Option<f64>,
    put_in: Option<PutIn>,
    judged_anew: bool,
    stutters: Vec<(usize, f64)>,
}

/// Writes it.
pub fn keep(app: &App, to: &mut Map<String, Value>) {
    let practice = practice(app);
    let kept = Kept {
        attempt: practice.lesson.as_ref().map(|trying| trying.state.clone()),
        distance: *practice.distance,
        put_in: *practice.put_in,
        judged_anew: practice.judged_anew,
        stutters: practice.stutters.iter().map(|(coat, when)| (*coat, when.0)).collect(),
    };
    if let Ok(Value::Object(fields)) = serde_json::to_value(kept) {
        to.extend(fields);
    }
}

/// Puts it into the hand, for the job that is open.
pub fn take_up(app: &mut App, from: &Map<String, Value>) {
    let kept: Kept = serde_json::from_value(Value::Object(from.clone())).unwrap_or_default();
    let practice = practice_mut(app);
    *practice.distance = kept.distance;
    *practice.put_in = kept.put_in;
    practice.judged_anew = kept.judged_anew;
    practice.stutters = kept.stutters.into_iter().map(|(coat, when)| (coat, Seconds(when))).collect();
    if kept.attempt.is_some() {
        lesson::recognise(app, kept.attempt);
    }
}
