//! `track`: how a recorded coat was sprayed, and what did most to its film; a tracker's CSV put into a job.

use super::files::Files;
use super::rehearse::{read, say};
use fanlap::error::Problem;
use fanlap::job::inputs::System;
use fanlap::job::read_track;
use fanlap::practice::{next_step, performance};

use serde_json::json;
use std::path::Path;

/// Tells of the coat, counted from 1; writes track.json and job.json into a folder, or prints the first.
pub fn track(files: &Files, path: &Path, csv: Option<&Path>, coat: usize, out: Option<&Path>) -> anyhow::Result<()> {
    let mut job = read(files, path)?;
    let count = job.coats.len();
    if coat == 0 || coat > count {
        let remedy = "Choose a coat of the job, or add one to it.";
        return Err(
            Problem::new("--coat", coat.to_string(), format!("1 to {count}, the coats of this job"), remedy).into()
        );
    }
    if let Some(csv) = csv {
        let text = files.text(csv, "a tracker's file, columns of numbers parted by commas")?;
        let name = csv.file_name().unwrap_or_default().to_string_lossy().to_string();
        job.coats[coat - 1].track = Some(read_track(&name, &text, &job.panel)?);
        job = job.checked()?;
    }
    let told = performance(&job, coat - 1).zip(next_step(&job, coat - 1, System::Metric));
    let Some((performance, next)) = told else {
        let remedy = "Give a tracker's file with --csv, or save the job in Practice.";
        let at = format!("coats[{}].track", coat - 1);
        return Err(Problem::new(at, "nothing", "a recorded coat", remedy).into());
    };
    let told = json!({ "fanlap_track": 1, "coat": coat, "performance": performance, "next": next });
    let text = serde_json::to_string_pretty(&told)?;
    let Some(folder) = out else { return say(&text) };
    let outputs = [("track.json", format!("{text}\n")), ("job.json", job.text())];
    files.write(folder, &outputs.map(|(name, text)| (name.to_string(), text.into_bytes())))
}
