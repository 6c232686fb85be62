//! `rehearse` and `check`: job files in, reports, grids and pictures out. Everything is computed before anything is
//! written.

use anyhow::Context;
use fanlap::causes::report;
use fanlap::error::Problem;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::{Rehearsal, rehearse as rehearse_job};
use fanlap::report::film_csv;
use fanlap::{picture, words};
use std::fs;
use std::io::{Read, Write};
use std::path::Path;

/// Reads a job file; the spectra it names lie beside it.
pub fn read(path: &Path) -> anyhow::Result<Job> {
    let at = path.display().to_string();
    let text = text_of(path).map_err(|error| {
        Problem::new(&at, error.to_string(), "a readable job file", "Check the name and the place.")
    })?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let beside = |name: &str| text_of(&folder.join(name)).map_err(|error| error.to_string());
    Ok(Job::read(&text, &Files::from(&beside))?)
}

/// Most that is read of any file: more than a job may have, so that its own limit speaks first.
const MOST_BYTES: u64 = 50_000_000;

/// A file's text, as far as it is read.
fn text_of(path: &Path) -> std::io::Result<String> {
    let mut text = String::new();
    fs::File::open(path)?.take(MOST_BYTES).read_to_string(&mut text)?;
    Ok(text)
}

/// Prints, and does not mind a reader that has gone.
pub fn say(text: &str) -> anyhow::Result<()> {
    match writeln!(std::io::stdout(), "{}", text.trim_end()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

/// What a job file means, in one paragraph.
pub fn check(path: &Path) -> anyhow::Result<()> {
    say(&words::meaning(&read(path)?))
}

/// Rehearses a job file.
pub fn rehearse(path: &Path, out: Option<&Path>) -> anyhow::Result<()> {
    let rehearsal = rehearse_job(&read(path)?);
    let report = serde_json::to_string_pretty(&report(&rehearsal))?;
    match out {
        None => say(&report),
        Some(folder) => write(&rehearsal, &report, folder),
    }
}

fn write(rehearsal: &Rehearsal, report: &str, folder: &Path) -> anyhow::Result<()> {
    let job = rehearsal.job();
    let mut files = vec![("report.json".to_string(), format!("{report}\n").into_bytes())];
    for (i, paint) in job.paints.iter().enumerate() {
        let plain = format!("film-{}.csv", file_name(&paint.name));
        let taken = files.iter().any(|(name, _)| name.to_lowercase() == plain.to_lowercase());
        let name = if taken { format!("film-{}-{}.csv", file_name(&paint.name), i + 1) } else { plain };
        files.push((name, film_csv(rehearsal, i).into_bytes()));
    }
    files.push(("film.png".to_string(), png(&picture::film(rehearsal))?));
    files.push(("paint.png".to_string(), png(&picture::paint(rehearsal))?));
    write_all(folder, &files)
}

/// Writes files into a folder, which is made if it is not there.
pub fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> anyhow::Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("{} could not be made", folder.display()))?;
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::write(&path, bytes).with_context(|| format!("{} could not be written", path.display()))?;
    }
    Ok(())
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
