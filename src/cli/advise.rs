//! `advise`: plans for tomorrow, each with what its rehearsal shows.

use super::files::Files;
use super::rehearse::{read, say};
use fanlap::advice::{MOST_MIN, MOST_ML, REACH, WITHIN, Wishes, advise as search};
use fanlap::error::Problem;
use fanlap::units::Millimetres;
use std::path::Path;

/// Wishes as they are given on the command line.
#[derive(clap::Args)]
pub struct Given {
    /// Colour difference to the target that counts as right, CIEDE2000
    #[arg(long, default_value_t = 1.0)]
    within: f64,
    /// How far across a panel one reaches, mm
    #[arg(long)]
    reach: Option<f64>,
    /// Tinted clear to mix at most, its reserve included, mL
    #[arg(long)]
    paint: Option<f64>,
    /// Time at most, flash-off included, minutes
    #[arg(long)]
    minutes: Option<f64>,
}

/// A number within its limits.
pub(super) fn allowed(at: &str, given: f64, (least, most): (f64, f64), unit: &str) -> Result<f64, Problem> {
    let limits = || format!("{least} to {most}{unit}");
    let remedy = "Give a number within these limits.";
    if (least..=most).contains(&given) { Ok(given) } else { Err(Problem::new(at, given.to_string(), limits(), remedy)) }
}

/// Advises on a job; also writes the job as the surest plan has it.
pub fn advise(files: &Files, path: &Path, out: Option<&Path>, given: &Given) -> anyhow::Result<()> {
    let job = read(files, path)?;
    let usual = Wishes::of(&job);
    let wishes = Wishes {
        within: allowed("--within", given.within, WITHIN, "")?,
        reach: Millimetres(allowed("--reach", given.reach.unwrap_or(usual.reach.0), REACH, " mm")?),
        most_ml: given.paint.map(|most| allowed("--paint", most, MOST_ML, " mL")).transpose()?,
        most_min: given.minutes.map(|most| allowed("--minutes", most, MOST_MIN, " min")).transpose()?,
        ..usual
    };
    let Some(advice) = search(&job, &wishes) else {
        let remedy = "Give the job a tinted clear, a coat of it, and a target that a film of it meets.";
        return Err(
            Problem::new(path.display().to_string(), job.title, "a job whose film can be sought", remedy).into()
        );
    };
    let text = serde_json::to_string_pretty(&advice)?;
    let Some(folder) = out else { return say(&text) };
    let mut outputs = vec![("advice.json".to_string(), format!("{text}\n").into_bytes())];
    if let Some(plan) = advice.plans.first() {
        outputs.push(("job.json".to_string(), job.with_all(&plan.set)?.text().into_bytes()));
    }
    files.write(folder, &outputs)
}
