//! What a lesson's own numbers, lists and texts may be, so that no file stops a page or spoils a table; what its job may be is
//! the job file's. `assets/lesson.schema.json` says the same: a test holds the two together.

use super::{Lesson, Slip, Task, Told};
use crate::error::Problem;
use crate::job::LIMITS;

/// Settings that a lesson may open, and sentences of its why.
const MOST_OPEN: usize = 30;
const MOST_SENTENCES: usize = 20;
/// Characters of a title, and of a sentence.
const LONGEST_TITLE: usize = 200;
const LONGEST_SENTENCE: usize = 1000;

/// A number of a lesson: where it is, what it is, its least and most, and their unit.
type Number = (&'static str, Option<f64>, f64, f64, &'static str);

/// Refuses what is out of range, too long, too much, or said twice.
pub(super) fn check(file: &str, lesson: &Lesson) -> Result<(), Problem> {
    let at = |place: &str| format!("{file}, {place}");
    for (place, text) in [("new", &lesson.new), ("goal", &lesson.goal)] {
        length(at(place), text, (0, LONGEST_SENTENCE))?;
    }
    length(at("title"), &lesson.title, (1, LONGEST_TITLE))?;
    count(at("why"), lesson.why.len(), MOST_SENTENCES, "sentences")?;
    for (i, sentence) in lesson.why.iter().enumerate() {
        length(at(&format!("why[{i}]")), sentence, (0, LONGEST_SENTENCE))?;
    }
    count(at("open"), lesson.open.len(), MOST_OPEN, "settings")?;
    for (i, gap) in lesson.open.iter().enumerate() {
        if lesson.open[..i].iter().any(|other| other.path == gap.path) {
            let at = at(&format!("open[{i}].path"));
            return Err(Problem::new(
                at,
                format!("{} again", gap.path),
                "every setting once",
                "Remove one of the two.",
            ));
        }
    }
    for (place, value, least, most, unit) in numbers(lesson) {
        if let Some(value) = value.filter(|value| !(least..=most).contains(value)) {
            let allowed = format!("{least} to {most} {unit}");
            let remedy = "Give a number within these limits.";
            return Err(Problem::new(at(place), value.to_string(), allowed.trim_end(), remedy));
        }
    }
    Ok(())
}

fn length(at: String, text: &str, (least, most): (usize, usize)) -> Result<(), Problem> {
    let given = text.chars().count();
    if (least..=most).contains(&given) && (least == 0 || !text.trim().is_empty()) {
        return Ok(());
    }
    let given = if given < least || given <= most { "no text".to_string() } else { format!("{given} characters") };
    Err(Problem::new(at, given, format!("a text of {least} to {most} characters"), "Say it in fewer words."))
}

fn count(at: String, given: usize, most: usize, what: &str) -> Result<(), Problem> {
    if given <= most {
        return Ok(());
    }
    Err(Problem::new(
        at,
        format!("{given} {what}"),
        format!("up to {most} {what}"),
        "Keep those that the lesson is about.",
    ))
}

fn numbers(lesson: &Lesson) -> Vec<Number> {
    let limits = &lesson.limits;
    let band = if let Told::Bandwidth(band) = lesson.told { Some(band) } else { None };
    let mut numbers = vec![
        ("taken_up_at_mm", lesson.taken_up_at_mm, 50.0, 600.0, "mm"),
        ("told.bandwidth", band, 0.0, 2.0, "as a share of 1"),
        ("limits.film", limits.film, 0.0, 2.0, "as a share of 1"),
        ("limits.speed", limits.speed, 0.0, 1.0, "as a share of 1"),
        ("limits.distance_mm", limits.distance_mm, 0.0, 300.0, "mm"),
        ("limits.line_mm", limits.line_mm, 0.0, 1000.0, "mm"),
        ("limits.outside_mm", limits.outside_mm, 0.0, 1000.0, "mm"),
        ("limits.in_window", limits.in_window, 0.0, 1.0, "as a share of 1"),
    ];
    numbers.extend(match &lesson.task {
        Task::Spray { slip } => of_slip(slip),
        Task::Plan { hand } | Task::Find { hand, .. } => of_slip(hand),
    });
    numbers
}

/// The hand's errors are those that a job's hand can have; it strays up to four times as far as a novice.
fn of_slip(slip: &Slip) -> [Number; 9] {
    let line = |number: Option<usize>| number.map(|number| number as f64);
    let most = LIMITS.passes as f64;
    [
        ("task, faster", Some(slip.faster), -0.5, 1.0, "as a share of 1"),
        ("task, farther_mm", Some(slip.farther_mm), -100.0, 300.0, "mm"),
        ("task, line_mm", Some(slip.line_mm), -1000.0, 1000.0, "mm"),
        ("task, late_mm", Some(slip.late_mm), -1000.0, 1000.0, "mm"),
        ("task, arc_deg", Some(slip.arc_deg), 0.0, 60.0, "degrees"),
        ("task, heel_deg", Some(slip.heel_deg), -45.0, 45.0, "degrees"),
        ("task, scatter", Some(slip.scatter), 0.0, 4.0, "times a novice's"),
        ("task, left_out", line(slip.left_out), 1.0, most, ""),
        ("task, twice", line(slip.twice), 1.0, most, ""),
    ]
}
