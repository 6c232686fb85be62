//! Grading a class: a file that is none does not stop the others, lessons of one's own, and what a spreadsheet makes of the
//! table.

use super::*;
use fanlap::practice::{Attempt, Lesson, Task, lessons};

/// A folder with one attempt at each of three lessons: done, not yet, and an error to be found.
fn class() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, attempt: Attempt| fs::write(folder.path().join(name), attempt.text()).unwrap();
    put("done.json", lessons()[0].example().unwrap());
    put("not-yet.json", lessons()[0].typical_error().unwrap());
    let find = lessons().iter().find(|lesson| matches!(lesson.task, Task::Find { .. })).unwrap();
    put("found.json", find.example().unwrap());
    put("mistaken.json", find.typical_error().unwrap());
    folder
}

/// The cells of a table in CSV whose cells all stand in quotes, but the headings.
fn cells(line: &str) -> Vec<String> {
    let inner = line.strip_prefix('"').and_then(|line| line.strip_suffix('"')).unwrap_or(line);
    inner.split("\",\"").map(|cell| cell.replace("\"\"", "\"")).collect()
}

#[test]
fn a_file_that_is_no_attempt_is_a_row_that_says_why_and_the_others_are_graded() {
    let folder = class();
    fs::write(folder.path().join("broken.json"), "{ \"fanlap_attempt\": 1, x }").unwrap();
    fs::write(folder.path().join("bad.json"), r#"{ "fanlap_job": 1, "coats": [{ "overlap": 3 }] }"#).unwrap();
    fs::create_dir(folder.path().join("folder")).unwrap();
    let files = ["broken.json", "done.json", "bad.json", "folder", "missing.json", "not-yet.json"];
    let graded = run(folder.path(), &[&["grade"][..], &files].concat());
    assert_eq!(graded.status, 2);
    let lines: Vec<Vec<String>> = graded.out.lines().skip(1).map(cells).collect();
    assert_eq!(lines.iter().map(|line| line[0].as_str()).collect::<Vec<_>>(), files);
    assert_eq!((lines[1][3].as_str(), lines[5][3].as_str()), ("done", "not yet"));
    for (row, part) in [(0, "no JSON"), (2, "coats[0].overlap: given 3"), (3, "a folder"), (4, "No such file")] {
        assert_eq!(lines[row][3], "not graded");
        assert!(lines[row].last().unwrap().contains(part), "{:?}", lines[row]);
        let told = graded.err.lines().find(|line| line.starts_with(&format!("{}: ", files[row])));
        assert!(told.is_some_and(|line| line.contains(part)), "{} is not named: {}", files[row], graded.err);
    }
    assert!(graded.err.contains("given 4 that could not be used"), "{}", graded.err);
    // as a file too
    let graded = run(folder.path(), &[&["grade", "--out", "out"][..], &files].concat());
    assert_eq!(graded.status, 2);
    assert!(fs::read_to_string(folder.path().join("out/grades.csv")).unwrap().contains("\"done.json\""));
    assert!(fs::read_to_string(folder.path().join("out/grades.html")).unwrap().contains("<td>not graded</td>"));
}

#[test]
fn the_table_tells_the_film_every_figure_and_what_was_answered() {
    let folder = class();
    let table = run(folder.path(), &["grade", "done.json", "not-yet.json", "found.json", "mistaken.json"]).out;
    let headings = table.lines().next().unwrap();
    assert!(headings.starts_with("file,lesson,kind,mark,not kept,foreseen,next,"), "the old columns stand first");
    let lines: Vec<Vec<String>> = table.lines().skip(1).map(cells).collect();
    for (line, attempt) in [(&lines[0], lessons()[0].example()), (&lines[1], lessons()[0].typical_error())] {
        let mark = lessons()[0].mark(&attempt.unwrap()).unwrap();
        assert_eq!(line[7].parse::<f64>().unwrap(), (1000.0 * mark.off).round() / 10.0, "per cent of the film");
        for check in mark.checks.iter().flatten() {
            assert!(line[8].contains(&check.text()), "{} is not in {line:?}", check.text());
        }
        assert_eq!(line[9], "");
    }
    let find = lessons().iter().find(|lesson| matches!(lesson.task, Task::Find { .. })).unwrap();
    let (right, wrong) = (find.example().unwrap().answer.unwrap(), find.typical_error().unwrap().answer.unwrap());
    assert_eq!(lines[2][9], format!("{}: right", right.name()));
    assert_eq!(lines[3][9], format!("{}: wrong, it was {}", wrong.name(), right.name()));
}

#[test]
fn earlier_grades_are_not_written_over_unless_that_is_said() {
    let folder = class();
    assert_eq!(run(folder.path(), &["grade", "done.json", "not-yet.json", "--out", "out"]).status, 0);
    let before = fs::read_to_string(folder.path().join("out/grades.csv")).unwrap();
    let again = run(folder.path(), &["grade", "found.json", "--out", "out"]);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("grades.csv") && again.err.contains("--replace"), "{}", again.err);
    assert_eq!(fs::read_to_string(folder.path().join("out/grades.csv")).unwrap(), before);
    assert_eq!(run(folder.path(), &["grade", "found.json", "--out", "out", "--replace"]).status, 0);
    assert!(fs::read_to_string(folder.path().join("out/grades.csv")).unwrap().contains("found.json"));
}

#[test]
fn a_folder_of_lessons_passes_over_what_is_none_and_says_so() {
    let folder = class();
    let own = folder.path().join("own");
    fs::create_dir_all(own.join("old")).unwrap();
    let mut mine: Lesson = lessons()[0].clone();
    (mine.title, mine.job["panel"]["length_mm"]) = ("Mine".to_string(), 700.into());
    fs::write(own.join("mine.json"), mine.text()).unwrap();
    fs::write(own.join("README.txt"), "read me").unwrap();
    fs::write(own.join(".DS_Store"), [0, 0, 0, 1, 0xff]).unwrap();
    fs::write(folder.path().join("mine-attempt.json"), mine.example().unwrap().text()).unwrap();
    let graded = run(folder.path(), &["grade", "mine-attempt.json", "--lessons", "own"]);
    assert_eq!(graded.status, 0, "{}", graded.err);
    assert!(graded.out.contains("\"Mine\",\"practice\",\"done\""), "{}", graded.out);
    let told: Vec<&str> = graded.err.lines().collect();
    assert_eq!(told.len(), 3, "{}", graded.err);
    for (line, name) in told.iter().zip([".DS_Store", "README.txt", "old"]) {
        assert!(line.contains(name) && line.contains("no lesson, passed over"), "{line}");
    }
    // a lesson with a fault is told, and what can be is graded
    fs::write(own.join("faulty.json"), mine.text().replace("\"limits\"", "\"limmits\"")).unwrap();
    let graded = run(folder.path(), &["grade", "mine-attempt.json", "--lessons", "own"]);
    assert_eq!(graded.status, 2);
    assert!(graded.out.contains("\"Mine\",\"practice\",\"done\"") && graded.err.contains("limmits"), "{}", graded.err);
    // no folder at all
    let graded = run(folder.path(), &["grade", "mine-attempt.json", "--lessons", "nowhere"]);
    assert_eq!((graded.status, graded.out.as_str()), (2, ""));
    assert!(graded.err.contains("nowhere") && graded.err.contains("Check the name"), "{}", graded.err);
}

#[test]
fn a_cell_that_begins_like_a_formula_is_none_for_a_spreadsheet() {
    let folder = class();
    let mut lesson: Lesson = lessons()[0].clone();
    (lesson.title, lesson.job["panel"]["length_mm"]) = ("=HYPERLINK(\"http://x\")".to_string(), 700.into());
    fs::create_dir(folder.path().join("own")).unwrap();
    fs::write(folder.path().join("own/lesson.json"), lesson.text()).unwrap();
    let text = lesson.example().unwrap().text();
    for name in ["=cmd.json", "+a.json", "@b.json", "-c.json"] {
        fs::write(folder.path().join(name), &text).unwrap();
    }
    let files = ["./=cmd.json", "./+a.json", "./@b.json", "./-c.json"];
    let graded = run(folder.path(), &[&["grade", "--lessons", "own"][..], &files].concat());
    assert_eq!(graded.status, 0, "{}", graded.err);
    for line in graded.out.lines().skip(1) {
        let cells = cells(line);
        assert!(cells[0].starts_with('\'') && cells[1].starts_with("'=HYPERLINK"), "{line}");
        for cell in &cells {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
            assert!(!formula, "{cell}");
        }
    }
}
