//! `cards`: a ladder of spray-outs, sprayed and looked at.

use super::rehearse::{read, say, write_all};
use fanlap::cards::{choose as choose_card, report};
use std::path::Path;

/// Sprays a job's ladder; with `choose` also writes the job that aims at one of its cards.
pub fn cards(path: &Path, out: Option<&Path>, choose: Option<f64>) -> anyhow::Result<()> {
    let job = read(path)?;
    let report = serde_json::to_string_pretty(&report(&job))?;
    let Some(folder) = out else { return say(&report) };
    let mut files = vec![("cards.json".to_string(), format!("{report}\n").into_bytes())];
    if let Some(coats) = choose {
        files.push(("job.json".to_string(), choose_card(&job, coats)?.text().into_bytes()));
    }
    write_all(folder, &files)
}
