//! `gun`: what a test card and a flood test tell of a job's gun.

use super::files::Files;
use super::rehearse::{read, say};
use fanlap::gun::{USUAL_FLOOD, flood};
use fanlap::job::Job;
use serde_json::{Value, json};
use std::path::Path;

/// Fits the gun to the job's test card, if it has one, and floods a standing panel with the job's gun as it is then.
pub fn gun(files: &Files, path: &Path, out: Option<&Path>) -> anyhow::Result<()> {
    let mut job = read(files, path)?;
    let mut told = json!({ "fanlap_gun": 1, "fit": Value::Null });
    if let Some(card) = &job.test_card {
        let fit = card.fit(&job.gun)?;
        told["fit"] = serde_json::to_value(&fit)?;
        told["text"] = fit.doubts.iter().map(|doubt| Value::from(doubt.words())).collect();
        job.gun = fit.gun;
    }
    told["flood"] = flood_of(&job)?;
    let text = serde_json::to_string_pretty(&told)?;
    let Some(folder) = out else { return say(&text) };
    let fitted = job.checked()?;
    files.write(
        folder,
        &[
            ("gun.json".to_string(), format!("{text}\n").into_bytes()),
            ("job.json".to_string(), fitted.text().into_bytes()),
        ],
    )
}

fn flood_of(job: &Job) -> anyhow::Result<Value> {
    let (distance, sag_limit) = job.flood_test();
    let flood = flood(&job.gun, distance, USUAL_FLOOD, sag_limit);
    let mut value = serde_json::to_value(&flood)?;
    value["text"] = flood.verdict.words().into();
    value["distance_mm"] = distance.0.into();
    value["time_s"] = USUAL_FLOOD.0.into();
    value["sag_limit_um_wet"] = sag_limit.0.into();
    Ok(value)
}
