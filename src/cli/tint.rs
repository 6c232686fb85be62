//! `tint`: the paint fitted to what was measured on one's own cards.

use super::files::Files;
use super::rehearse::{read, say};
use fanlap::cards::own;
use fanlap::error::Problem;
use serde_json::json;
use std::path::Path;

/// Fits the tint to a job's measured cards; into a folder also the job that sprays it.
pub fn tint(files: &Files, path: &Path, out: Option<&Path>) -> anyhow::Result<()> {
    let job = read(files, path)?;
    let Some(fit) = own::fit(&job) else {
        let remedy = "Give what was measured on the cards; `fanlap inputs` lists the keys.";
        return Err(Problem::new("measured", "nothing", "measured cards", remedy).into());
    };
    let fit = fit?;
    let (film, gauged) = own::film_per_coat(&job, &fit);
    let told = json!({
        "fanlap_tint": 1,
        "absorption_per_coat": { "from_nm": 380, "step_nm": 10, "values": fit.per_coat.0.to_vec() },
        "film_per_coat_um": film.0,
        "gauged": gauged,
        "coats": fit.coats,
        "delta_e00": fit.residuals,
        "left_with_coats_as_given": fit.left_equal,
        "left_with_coats_fitted": fit.left_unequal,
        "settled": fit.settled,
        "doubts": fit.doubts.iter().map(|doubt| doubt.words()).collect::<Vec<_>>(),
    });
    let text = serde_json::to_string_pretty(&told)?;
    let Some(folder) = out else { return say(&text) };
    let taken = own::take(&job, &fit)?;
    files.write(
        folder,
        &[
            ("tint.json".to_string(), format!("{text}\n").into_bytes()),
            ("job.json".to_string(), taken.text().into_bytes()),
        ],
    )
}
