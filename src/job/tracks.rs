//! Checking the recorded tracks of a job's coats. Does not spray them.

use super::read::{object, short};
use crate::error::Problem;
use crate::strokes::TRACK_LIMITS;
use serde_json::{Map, Value};

/// Looks at the gun in one job: five minutes of a hundred each second.
const MOST_SAMPLES: usize = 30_000;

/// Checks every track; a track that is null is none.
pub(super) fn check(whole: &mut Map<String, Value>) -> Result<(), Problem> {
    let coats = whole.get_mut("coats").and_then(Value::as_array_mut).into_iter().flatten();
    let mut samples = 0;
    for (i, coat) in coats.enumerate() {
        let at = format!("coats[{i}].track");
        let Some(coat) = coat.as_object_mut() else { continue };
        match coat.get_mut("track") {
            None => {}
            Some(Value::Null) => drop(coat.remove("track")),
            Some(track) => samples += track_at(&at, track)?,
        }
        if samples > MOST_SAMPLES {
            let allowed = format!("up to {MOST_SAMPLES} samples in all, for the time they take");
            return Err(Problem::new(
                at,
                format!("{samples} samples"),
                allowed,
                "Record fewer a second, or fewer coats.",
            ));
        }
    }
    Ok(())
}

fn track_at(at: &str, track: &Value) -> Result<usize, Problem> {
    let form = "{ \"samples\": [[t, x, y, distance, heel, lean, trigger], ...] }";
    let mut held = track.clone();
    let map = object(&mut held, at)?;
    let samples = map.get("samples").and_then(Value::as_array);
    let (Some(samples), 1) = (samples, map.len()) else {
        return Err(Problem::new(at, short(track), form, "Save the recording again."));
    };
    let mut before = 0.0;
    for (i, sample) in samples.iter().enumerate() {
        let at = format!("{at}.samples[{i}]");
        let numbers = sample.as_array().map(|list| list.iter().map(Value::as_f64).collect::<Vec<_>>());
        let Some(numbers) = numbers.filter(|list| list.len() == TRACK_LIMITS.len()) else {
            let allowed = "seven numbers: t, x, y, distance, heel, lean, trigger";
            return Err(Problem::new(at, short(sample), allowed, "Remove this sample or complete it."));
        };
        for ((name, least, most, unit), number) in TRACK_LIMITS.into_iter().zip(&numbers) {
            if !number.is_some_and(|number| (least..=most).contains(&number)) {
                let allowed = format!("{name} from {least} to {most} {unit}");
                return Err(Problem::new(at, short(sample), allowed.trim_end(), "Remove this sample or mend it."));
            }
        }
        let (time, open) = (numbers[0].unwrap_or_default(), numbers[6].unwrap_or_default());
        if time < before {
            let allowed = format!("t not before that of the sample before, {before} s");
            return Err(Problem::new(at, format!("{time} s"), allowed, "Put the samples into the order of time."));
        }
        if open.fract() != 0.0 {
            let remedy = "Write 1 where the trigger is open, otherwise 0.";
            return Err(Problem::new(at, open.to_string(), "a trigger of 0 or 1", remedy));
        }
        before = time;
    }
    Ok(samples.len())
}
