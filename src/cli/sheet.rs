//! `sheet`: the booth sheet as a document of its own.

use super::rehearse::{read, say, write_all};
use fanlap::job::inputs::System;
use fanlap::sheet::document;
use std::path::Path;

/// Writes the sheet of a job, or prints it.
pub fn sheet(path: &Path, out: Option<&Path>, us: bool) -> anyhow::Result<()> {
    let job = read(path)?;
    let text = document(&job, if us { System::Us } else { System::Metric });
    let Some(folder) = out else { return say(text.trim_end()) };
    write_all(folder, &[("sheet.html".to_string(), text.into_bytes())])
}
