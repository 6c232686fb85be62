//! What can be put right in coats that a hand sprayed: the same recordings, with one thing put right, by which practice
//! says what did most. So both name the same.

use super::{Correction, Nature};
use crate::job::Job;
use crate::practice::{as_planned, righted};
use serde_json::Value;

/// Where a coat's recording is in the job file.
fn path(coat: usize) -> String {
    format!("coats[{coat}].track")
}

/// Whether a path is that of a recording: no setting, and too long to be told.
pub(super) fn is_track(path: &str) -> bool {
    path.ends_with(".track")
}

/// The recordings of a job with one thing put right at a time, coat by coat; what did most to a coat is to be named first.
pub(super) fn corrections(job: &Job) -> Vec<Correction> {
    let of_coat = |coat: usize| {
        let one = move |(i, one): (usize, crate::practice::Righted)| {
            let track = serde_json::to_value(&one.track).ok()?;
            let mut cure: String = one.cure;
            if let Some(first) = cure.get(..1).map(str::to_uppercase) {
                cure.replace_range(..1, &first);
            }
            let set = vec![(path(coat), track)];
            Some(Correction::error(set, one.cause, cure).first(i == 0))
        };
        righted(job, coat).into_iter().enumerate().filter_map(one)
    };
    (0..job.coats.len()).flat_map(of_coat).collect()
}

/// The recordings as the plan would have them, as far as the lines were reached; nothing of a job that was not recorded.
pub(super) fn planned(job: &Job) -> Vec<(String, Value)> {
    let of_coat = |coat: usize| Some((path(coat), serde_json::to_value(as_planned(job, coat)?).ok()?));
    (0..job.coats.len()).filter_map(of_coat).collect()
}

/// The job without any error of hand, gun and recordings, as far as it takes that.
pub(super) fn faultless(job: &Job, errors: &[Correction]) -> Option<Job> {
    let set = errors.iter().filter(|error| error.nature == Nature::Error).flat_map(|error| &error.set);
    let planned = planned(job);
    let set = set.filter(|(path, _)| !is_track(path)).chain(&planned);
    job.with_all(set.map(|(path, value)| (path, value))).ok()
}
