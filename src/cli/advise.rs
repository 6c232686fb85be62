//! `advise`: plans for tomorrow, each with what its rehearsal shows.

use super::rehearse::{read, say, write_all};
use fanlap::advice::{Wishes, advise as search};
use fanlap::error::Problem;
use fanlap::units::Millimetres;
use std::path::Path;

/// Advises on a job; also writes the job as the surest plan has it.
pub fn advise(path: &Path, out: Option<&Path>, within: f64, reach: Option<f64>) -> anyhow::Result<()> {
    let job = read(path)?;
    let mut wishes = Wishes::of(&job);
    let allowed = |at: &str, given: f64, (least, most): (f64, f64), unit: &str| {
        let fits = (least..=most).contains(&given);
        let limits = format!("{least} to {most}{unit}");
        (!fits).then(|| Problem::new(at, given.to_string(), limits, "Give a number within these limits."))
    };
    if let Some(problem) = allowed("--within", within, (0.1, 10.0), "") {
        return Err(problem.into());
    }
    wishes.within = within;
    if let Some(reach) = reach {
        if let Some(problem) = allowed("--reach", reach, (200.0, 3000.0), " mm") {
            return Err(problem.into());
        }
        wishes.reach = Millimetres(reach);
    }
    let Some(advice) = search(&job, &wishes) else {
        let remedy = "Give the job a tinted clear, a coat of it, and a target that a film of it meets.";
        return Err(
            Problem::new(path.display().to_string(), job.title, "a job whose film can be sought", remedy).into()
        );
    };
    let text = serde_json::to_string_pretty(&advice)?;
    let Some(folder) = out else { return say(&text) };
    let mut files = vec![("advice.json".to_string(), format!("{text}\n").into_bytes())];
    if let Some(plan) = advice.plans.first() {
        files.push(("job.json".to_string(), job.with_all(&plan.set)?.text().into_bytes()));
    }
    write_all(folder, &files)
}
