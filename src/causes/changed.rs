//! What a person has just changed, put back: named first where it explains as much as anything else.

use super::Correction;
use crate::job::Job;
use crate::job::inputs::{INPUTS, Input, Kind, System};
use crate::words::shown;
use serde_json::Value;

/// More settings at once are another job, not a change: a judgement.
const MOST: usize = 3;

/// The settings of gun and coats in which a job differs from the one before, each put back; nothing where it differs in more.
/// An error of the hand that was changed is put right anyway: see [`paths`].
pub(super) fn corrections(job: &Job, before: &Job) -> Vec<Correction> {
    changes(job, before).into_iter().filter(|change| !change.0.path.starts_with("hand.")).map(put_back).collect()
}

/// The paths that were changed.
pub(super) fn paths(job: &Job, before: &Job) -> Vec<String> {
    changes(job, before).into_iter().flat_map(|(_, set)| set.into_iter().map(|(path, ..)| path)).collect()
}

/// A setting, with every path of it that was changed, its value now and its value before.
type Change = (&'static Input, Vec<(String, Value, Value)>);

fn changes(job: &Job, before: &Job) -> Vec<Change> {
    let another = (&job.panel, &job.paints, &job.ground, &job.target, job.coats.len())
        != (&before.panel, &before.paints, &before.ground, &before.target, before.coats.len());
    if another {
        return Vec::new();
    }
    let differ = |input: &'static Input| {
        let paths = if input.path.starts_with("coats[]") {
            (0..job.coats.len()).map(|coat| input.path.replace("[]", &format!("[{coat}]"))).collect()
        } else {
            vec![input.path.to_string()]
        };
        let set = paths.into_iter().filter_map(|path| {
            let (now, then) = (job.get(&path)?, before.get(&path)?);
            (now != then).then_some((path, now, then))
        });
        let set: Vec<_> = set.collect();
        (!set.is_empty()).then_some((input, set))
    };
    let ours = |input: &&Input| ["gun.", "hand.", "coats[]."].iter().any(|part| input.path.starts_with(part));
    let all: Vec<Change> = INPUTS.iter().filter(ours).filter_map(differ).collect();
    if all.len() > MOST { Vec::new() } else { all }
}

fn put_back((input, set): Change) -> Correction {
    let name = input.name.to_lowercase();
    let (_, now, then) = &set[0];
    let size = |value: &Value| match (&input.kind, value.as_f64()) {
        (Kind::Number(range), Some(value)) => Some(shown(range.unit, value, System::Metric)),
        _ => None,
    };
    let (cause, cure) = match (size(then), size(now)) {
        (Some(then), Some(now)) => {
            (format!("The {name} was changed from {then} to {now}."), format!("Set the {name} back to {then}."))
        }
        _ => (format!("The {name} was changed."), format!("Set the {name} back as it was.")),
    };
    let set = set.into_iter().map(|(path, _, then)| (path, then)).collect();
    Correction::plan(set, cause, cure, 0.5, &[]).first(true)
}
