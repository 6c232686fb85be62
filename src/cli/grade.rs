//! `grade`: attempts at lessons, each marked anew from its recording, as a table.

use super::rehearse::{read, say, write_all};
use anyhow::Context;
use fanlap::error::Problem;
use fanlap::practice::{Attempt, Lesson, Mark, lessons};
use std::path::{Path, PathBuf};

/// One line of the table.
struct Row {
    file: String,
    lesson: String,
    attempt: Attempt,
    mark: Mark,
}

/// Marks attempts: files that the page saved, or job files, of which each belongs to the lesson whose set-up it has.
/// Lessons of one's own may lie in a folder.
pub fn grade(files: &[PathBuf], own: Option<&Path>, out: Option<&Path>) -> anyhow::Result<()> {
    let mut known = lessons().to_vec();
    if let Some(folder) = own {
        let files = std::fs::read_dir(folder).with_context(|| format!("cannot list {}", folder.display()))?;
        for file in files {
            let path = file?.path();
            let text = std::fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
            known.push(Lesson::read(&path.to_string_lossy(), &text)?);
        }
    }
    let rows = files.iter().map(|path| row(path, &known)).collect::<anyhow::Result<Vec<Row>>>()?;
    let table = csv(&rows);
    let Some(folder) = out else { return say(table.trim_end()) };
    write_all(
        folder,
        &[("grades.csv".to_string(), table.into_bytes()), ("grades.html".to_string(), html(&rows).into_bytes())],
    )
}

fn row(path: &Path, known: &[Lesson]) -> anyhow::Result<Row> {
    let shown = path.display().to_string();
    let text = std::fs::read_to_string(path).with_context(|| format!("cannot read {shown}"))?;
    let saved = text.contains("\"fanlap_attempt\"").then(|| Attempt::read(&shown, &text)).transpose()?;
    let job = saved.as_ref().map_or_else(|| read(path), |attempt| Ok(attempt.sprayed()?))?;
    let named = |lesson: &&Lesson| saved.as_ref().is_none_or(|attempt| attempt.lesson == lesson.title);
    let Some(lesson) = known.iter().filter(named).find(|lesson| lesson.is_of(&job)) else {
        let remedy = "Save the attempt in Practice with the lesson open, or give its lesson with --lessons.";
        return Err(Problem::new(shown, job.title, "an attempt at a lesson, with its set-up", remedy).into());
    };
    let file = path.file_name().unwrap_or_default().to_string_lossy().to_string();
    let attempt = saved.unwrap_or_else(|| Attempt::new(lesson, &job));
    let mark = lesson.mark(&attempt)?;
    Ok(Row { file, lesson: lesson.title.clone(), attempt, mark })
}

impl Row {
    /// File, lesson, kind, what moved the gun, whether it is done, what is not, what was foreseen, what is next.
    fn cells(&self) -> [String; 8] {
        let broken = self.mark.checks.iter().flatten().filter(|check| !check.kept);
        let broken: Vec<String> = broken.map(fanlap::practice::Check::text).collect();
        let unrecorded = self.mark.checks.iter().filter(|checks| checks.is_empty()).count();
        let broken = if unrecorded > 0 { format!("{unrecorded} coats not recorded") } else { broken.join("; ") };
        let next = self.mark.next.as_ref().map_or(String::new(), |next| next.text.clone());
        let done = if self.mark.passed { "done" } else { "not yet" };
        let kind = if self.attempt.test { "test" } else { "practice" };
        let foreseen = self.mark.foreseen.map_or(String::new(), |foreseen| foreseen.text());
        let moved = self.mark.moved_by.map_or("", fanlap::strokes::MovedBy::name);
        let [kind, moved, done] = [kind, moved, done].map(String::from);
        [self.file.clone(), self.lesson.clone(), kind, moved, done, broken, foreseen, next]
    }
}

/// Headings of the table.
const HEADINGS: [&str; 8] = ["file", "lesson", "kind", "gun moved by", "mark", "not kept", "foreseen", "next"];

fn csv(rows: &[Row]) -> String {
    let quoted = |cell: &String| format!("\"{}\"", cell.replace('"', "\"\""));
    let lines = rows.iter().map(|row| row.cells().iter().map(quoted).collect::<Vec<_>>().join(",") + "\n");
    format!("{}\n{}", HEADINGS.join(","), lines.collect::<String>())
}

fn html(rows: &[Row]) -> String {
    let safe = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let line = |cells: &[String], tag: &str| {
        let cells: String = cells.iter().map(|cell| format!("<{tag}>{}</{tag}>", safe(cell))).collect();
        format!("<tr>{cells}</tr>\n")
    };
    let body: String = rows.iter().map(|row| line(&row.cells(), "td")).collect();
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Attempts</title><style>\
         body {{ font: 14px/1.4 sans-serif; margin: 2rem; }} table {{ border-collapse: collapse; }}\
         th, td {{ text-align: left; vertical-align: top; padding: .3rem .8rem .3rem 0; border-bottom: 1px solid #ccc; }}\
         </style></head><body><h1>Attempts</h1>\n<table>\n{}{body}</table>\n\
         <p>Marked anew from each recording. A pointer is not a gun.</p></body></html>\n",
        line(&HEADINGS.map(String::from), "th")
    )
}
