//! `grade`: attempts at lessons, each marked anew from its recording, as a table.

use super::rehearse::{read, say, write_all};
use anyhow::Context;
use fanlap::error::Problem;
use fanlap::practice::{Lesson, Mark, lessons};
use std::path::{Path, PathBuf};

/// One line of the table.
struct Row {
    file: String,
    lesson: String,
    mark: Mark,
}

/// Marks job files; the lesson of each is the one whose set-up it has. Lessons of one's own may lie in a folder.
pub fn grade(jobs: &[PathBuf], own: Option<&Path>, out: Option<&Path>) -> anyhow::Result<()> {
    let mut known = lessons().to_vec();
    if let Some(folder) = own {
        let files = std::fs::read_dir(folder).with_context(|| format!("cannot list {}", folder.display()))?;
        for file in files {
            let path = file?.path();
            let text = std::fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
            known.push(Lesson::read(&path.to_string_lossy(), &text)?);
        }
    }
    let rows = jobs.iter().map(|path| row(path, &known)).collect::<anyhow::Result<Vec<Row>>>()?;
    let table = csv(&rows);
    let Some(folder) = out else { return say(table.trim_end()) };
    write_all(
        folder,
        &[("grades.csv".to_string(), table.into_bytes()), ("grades.html".to_string(), html(&rows).into_bytes())],
    )
}

fn row(path: &Path, known: &[Lesson]) -> anyhow::Result<Row> {
    let job = read(path)?;
    let lesson = known.iter().find(|lesson| lesson.is_of(&job));
    let Some(lesson) = lesson else {
        let remedy = "Save the job in Practice with the lesson open, or give its lesson with --lessons.";
        return Err(
            Problem::new(path.display().to_string(), job.title, "a job with the set-up of a lesson", remedy).into()
        );
    };
    let file = path.file_name().unwrap_or_default().to_string_lossy().to_string();
    Ok(Row { file, lesson: lesson.title.clone(), mark: lesson.mark(&job) })
}

impl Row {
    /// File, lesson, whether it is done, what is not, what is next.
    fn cells(&self) -> [String; 5] {
        let broken = self.mark.checks.iter().flatten().filter(|check| !check.kept);
        let broken: Vec<String> =
            broken.map(|check| format!("{} {:.3} (allowed {})", check.name, check.is, check.allowed)).collect();
        let unrecorded = self.mark.checks.iter().filter(|checks| checks.is_empty()).count();
        let broken = if unrecorded > 0 { format!("{unrecorded} coats not recorded") } else { broken.join("; ") };
        let next = self.mark.next.as_ref().map_or(String::new(), |next| next.text.clone());
        let done = if self.mark.passed { "done" } else { "not yet" };
        [self.file.clone(), self.lesson.clone(), done.to_string(), broken, next]
    }
}

/// Headings of the table.
const HEADINGS: [&str; 5] = ["file", "lesson", "mark", "not kept", "next"];

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
