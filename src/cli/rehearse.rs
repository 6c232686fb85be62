//! `rehearse` and `check`: job files in, reports, grids and pictures out. Everything is computed before anything is
//! written.

use super::files::{Files, Outputs};
use fanlap::appraisal::{Appraisal, appraise};
use fanlap::error::visible;
use fanlap::job::{self, Job};
use fanlap::report::{film_csv, in_full};
use fanlap::{picture, words};
use std::io::Write;
use std::path::Path;

/// Reads a job file; the spectra it names lie beside it.
pub fn read(files: &Files, path: &Path) -> anyhow::Result<Job> {
    let text = files.text(path, "a readable job file")?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let beside = |name: &str| files.beside(folder, name);
    Ok(Job::read(&text, &job::Files::from(&beside))?)
}

/// Prints, and does not mind a reader that has gone.
pub fn say(text: &str) -> anyhow::Result<()> {
    match writeln!(std::io::stdout(), "{}", text.trim_end()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

/// What a job file means, in one paragraph.
pub fn check(files: &Files, path: &Path) -> anyhow::Result<()> {
    say(&visible(&words::meaning(&read(files, path)?)))
}

/// Rehearses a job file.
pub fn rehearse(files: &Files, path: &Path, out: Option<&Path>) -> anyhow::Result<()> {
    let appraisal = appraise(&read(files, path)?);
    let report = serde_json::to_string_pretty(&in_full(&appraisal))?;
    match out {
        None => say(&report),
        Some(folder) => files.write(folder, &outputs(&appraisal, &report)?),
    }
}

fn outputs(appraisal: &Appraisal, report: &str) -> anyhow::Result<Outputs> {
    let job = appraisal.job();
    let mut files = vec![("report.json".to_string(), format!("{report}\n").into_bytes())];
    for (i, paint) in job.paints.iter().enumerate() {
        let plain = format!("film-{}.csv", file_name(&paint.name));
        let taken = files.iter().any(|(name, _)| name.to_lowercase() == plain.to_lowercase());
        let name = if taken { format!("film-{}-{}.csv", file_name(&paint.name), i + 1) } else { plain };
        files.push((name, film_csv(appraisal, i).into_bytes()));
    }
    files.push(("film.png".to_string(), png(&picture::film(appraisal))?));
    files.push(("paint.png".to_string(), png(&picture::paint(appraisal))?));
    Ok(files)
}

/// A paint's name as part of a file name: letters, digits, `-` and `_` stay.
fn file_name(paint: &str) -> String {
    paint.chars().take(60).map(|c| if c.is_alphanumeric() || c == '-' { c } else { '_' }).collect()
}

fn png(picture: &picture::Picture) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.columns as u32, picture.rows as u32);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_source_srgb(png::SrgbRenderingIntent::RelativeColorimetric);
    encoder.write_header()?.write_image_data(&picture.rgba)?;
    Ok(bytes)
}
