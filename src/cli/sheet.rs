//! `sheet`: the booth sheet as a document of its own.

use super::advise::allowed;
use super::files::Files;
use super::rehearse::{read, say};
use fanlap::advice::WITHIN;
use fanlap::job::inputs::System;
use fanlap::sheet::{Foreseen, document};
use std::path::Path;

/// Writes the sheet of a job, or prints it.
pub fn sheet(files: &Files, path: &Path, out: Option<&Path>, us: bool, within: f64) -> anyhow::Result<()> {
    let job = read(files, path)?;
    let within = allowed("--within", within, WITHIN, "")?;
    let text = document(&job, if us { System::Us } else { System::Metric }, within, Some(&Foreseen::of(&job, within)));
    let Some(folder) = out else { return say(text.trim_end()) };
    files.write(folder, &[("sheet.html".to_string(), text.into_bytes())])
}
