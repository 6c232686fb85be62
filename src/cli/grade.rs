//! `grade`: attempts at lessons, each marked anew from its recording, as a table. A file that is no attempt is a row that
//! says why; the others are graded all the same.

use super::files::Files;
use super::rehearse::{read, say};
use anyhow::Context;
use fanlap::error::{Problem, visible};
use fanlap::practice::{Attempt, Check, ErrorSource, Lesson, Mark, Task, lessons};
use fanlap::words::{csv_cell, digits_of};
use std::path::{Path, PathBuf};

/// One line of the table.
struct Row {
    file: String,
    graded: Result<Graded, Problem>,
}

/// What an attempt is worth.
struct Graded {
    lesson: String,
    attempt: Attempt,
    mark: Mark,
    /// What was to be named, in a lesson in which something is.
    right: Option<ErrorSource>,
}

/// Marks attempts: files that the page saved, or job files, of which each belongs to the lesson whose set-up it has.
/// Lessons of one's own may lie in a folder.
pub fn grade(files: &Files, attempts: &[PathBuf], own: Option<&Path>, out: Option<&Path>) -> anyhow::Result<()> {
    let mut known = lessons().to_vec();
    let mut wrong = Vec::new();
    if let Some(folder) = own {
        known.extend(own_lessons(files, folder, &mut wrong)?);
    }
    let rows: Vec<Row> = attempts.iter().map(|path| row(files, path, &known)).collect();
    for row in &rows {
        if let Err(problem) = &row.graded {
            wrong.push(format!("{}: {problem}", row.file));
        }
    }
    let table = csv(&rows);
    match out {
        None => say(table.trim_end())?,
        Some(folder) => {
            let outputs =
                [("grades.csv".to_string(), table.into_bytes()), ("grades.html".to_string(), html(&rows).into_bytes())];
            files.write_kept(folder, &outputs)?;
        }
    }
    let [first, others @ ..] = &wrong[..] else { return Ok(()) };
    [first].into_iter().chain(others).for_each(|problem| eprintln!("{}", visible(problem)));
    let remedy = "The lines above say what to mend; the others are graded.";
    let given = format!("{} that could not be used", wrong.len());
    Err(Problem::new("grade", given, "attempts and lessons that are whole", remedy).into())
}

/// The lessons of a folder. What is no lesson is passed over, and that is said; one with a fault is told among what is wrong.
fn own_lessons(files: &Files, folder: &Path, wrong: &mut Vec<String>) -> anyhow::Result<Vec<Lesson>> {
    let refused = |error: std::io::Error| {
        let remedy = "Check the name and the place; give the folder in which the lessons lie.";
        Problem::new(format!("--lessons {}", folder.display()), error.to_string(), "a folder with lessons", remedy)
    };
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(refused)? {
        paths.push(entry.with_context(|| format!("cannot list {}", folder.display()))?.path());
    }
    paths.sort();
    let mut lessons = Vec::new();
    for path in paths {
        let shown = path.display().to_string();
        let passed_over = |why: &str| eprintln!("{}", visible(&format!("{shown}: no lesson, passed over ({why})")));
        match files.text(&path, "a lesson") {
            Err(problem) => passed_over(&problem.given),
            Ok(text) if !text.contains("\"fanlap_lesson\"") => passed_over("without the key fanlap_lesson"),
            Ok(text) => match Lesson::read(&shown, &text) {
                Ok(lesson) => lessons.push(lesson),
                Err(problem) => wrong.push(problem.to_string()),
            },
        }
    }
    Ok(lessons)
}

fn row(files: &Files, path: &Path, known: &[Lesson]) -> Row {
    let file = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().to_string();
    let graded = graded(files, path, known).map_err(|error| {
        let unnamed = |error: anyhow::Error| Problem::new(&file, format!("{error:#}"), "an attempt", "Save it again.");
        error.downcast::<Problem>().unwrap_or_else(unnamed)
    });
    Row { file, graded }
}

fn graded(files: &Files, path: &Path, known: &[Lesson]) -> anyhow::Result<Graded> {
    let shown = path.display().to_string();
    let text = files.text(path, "a saved attempt or a job file")?;
    let saved = text.contains("\"fanlap_attempt\"").then(|| Attempt::read(&shown, &text)).transpose()?;
    let job = saved.as_ref().map_or_else(|| read(files, path), |attempt| Ok(attempt.sprayed()?))?;
    let named = |lesson: &&Lesson| saved.as_ref().is_none_or(|attempt| attempt.lesson == lesson.title);
    let Some(lesson) = known.iter().filter(named).find(|lesson| lesson.is_of(&job)) else {
        let remedy = "Save the attempt in Practice with the lesson open, or give its lesson with --lessons.";
        return Err(Problem::new(shown, job.title, "an attempt at a lesson, with its set-up", remedy).into());
    };
    let attempt = saved.unwrap_or_else(|| Attempt::new(lesson, &job));
    let mark = lesson.mark(&attempt)?;
    let find = matches!(lesson.task, Task::Find { .. });
    let right = if find { lesson.example()?.answer } else { None };
    Ok(Graded { lesson: lesson.title.clone(), attempt, mark, right })
}

impl Row {
    fn cells(&self) -> Vec<String> {
        let cells = match &self.graded {
            Ok(graded) => graded.cells().to_vec(),
            Err(problem) => {
                let mut cells = vec![String::new(); HEADINGS.len() - 1];
                cells[2] = "not graded".to_string();
                cells[HEADINGS.len() - 2] = problem.to_string();
                cells
            }
        };
        [vec![self.file.clone()], cells].concat().iter().map(|cell| visible(cell)).collect()
    }
}

impl Graded {
    /// Lesson, kind, whether it is done, what is not kept, what was foreseen, what is next; then the film, every figure,
    /// the answer, what moved the gun, and no problem.
    fn cells(&self) -> [String; 11] {
        let checks = || self.mark.checks.iter().flatten();
        let texts = |of: &dyn Fn(&&Check) -> bool| checks().filter(of).map(Check::text).collect::<Vec<_>>().join("; ");
        let unrecorded = self.mark.checks.iter().filter(|checks| checks.is_empty()).count();
        let broken = texts(&|check| !check.kept);
        let broken = if unrecorded > 0 { format!("{unrecorded} coats not recorded") } else { broken };
        let next = self.mark.next.as_ref().map_or(String::new(), |next| next.text.clone());
        let done = if self.mark.passed { "done" } else { "not yet" };
        let kind = if self.attempt.test { "test" } else { "practice" };
        let foreseen = self.mark.foreseen.map_or(String::new(), |foreseen| foreseen.text());
        // what somebody else sprayed says nothing of the learner, nor does a coat that was not sprayed
        let film =
            if self.right.is_some() || unrecorded > 0 { String::new() } else { digits_of(100.0 * self.mark.off, 1) };
        let [kind, done] = [kind, done].map(String::from);
        let moved = self.mark.moved_by.map_or("", fanlap::strokes::MovedBy::name).to_string();
        let (figures, answer) = (texts(&|_| true), self.answer());
        [self.lesson.clone(), kind, done, broken, foreseen, next, film, figures, answer, moved, String::new()]
    }

    /// What was named as the error, and whether it was.
    fn answer(&self) -> String {
        match (self.right, self.attempt.answer) {
            (None, _) => String::new(),
            (Some(_), None) => "not answered".to_string(),
            (Some(right), Some(named)) if right == named => format!("{}: right", named.name()),
            (Some(right), Some(named)) => format!("{}: wrong, it was {}", named.name(), right.name()),
        }
    }
}

/// Headings of the table; new ones come after the old, so that what reads the table goes on reading it.
const HEADINGS: [&str; 12] = [
    "file",
    "lesson",
    "kind",
    "mark",
    "not kept",
    "foreseen",
    "next",
    "film off the plan, %",
    "figures",
    "answered",
    "gun moved by",
    "problem",
];

fn csv(rows: &[Row]) -> String {
    let lines =
        rows.iter().map(|row| row.cells().iter().map(|cell| csv_cell(cell)).collect::<Vec<_>>().join(",") + "\n");
    let headings = HEADINGS.map(|heading| if heading.contains(',') { csv_cell(heading) } else { heading.to_string() });
    format!("{}\n{}", headings.join(","), lines.collect::<String>())
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
