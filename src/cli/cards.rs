//! `cards`: a ladder of spray-outs, sprayed and looked at.

use super::files::Files;
use super::rehearse::{read, say};
use fanlap::cards::{choose as choose_card, report};
use std::path::Path;

/// Sprays a job's ladder; with `choose` also writes the job that aims at one of its cards.
pub fn cards(files: &Files, path: &Path, out: Option<&Path>, choose: Option<f64>) -> anyhow::Result<()> {
    let job = read(files, path)?;
    let report = serde_json::to_string_pretty(&report(&job))?;
    let Some(folder) = out else { return say(&report) };
    let mut outputs = vec![("cards.json".to_string(), format!("{report}\n").into_bytes())];
    if let Some(coats) = choose {
        outputs.push(("job.json".to_string(), choose_card(&job, coats)?.text().into_bytes()));
    }
    files.write(folder, &outputs)
}
