//! The lessons: every one is read, passed by its worked example and failed by its typical error; marks are what the command
//! line says too.

use fanlap::practice::{Lesson, lessons};
use fanlap::strokes::Track;

#[test]
fn every_file_is_a_lesson_of_the_ladder() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/lessons");
    let files = std::fs::read_dir(folder).unwrap().count();
    let ladder = lessons();
    assert_eq!(ladder.len(), files, "build again: the list of lessons is older than the folder");
    for lesson in ladder {
        assert!(!lesson.why.is_empty() && lesson.goal.ends_with('.') && !lesson.new.is_empty(), "{}", lesson.title);
        assert!(lesson.set_up().unwrap().title.contains("invented"), "{}", lesson.title);
    }
}

#[test]
fn every_lesson_is_passed_by_its_example_and_failed_by_its_typical_error() {
    for lesson in lessons() {
        let mark = lesson.mark(&lesson.example().unwrap());
        assert!(mark.passed && mark.next.is_none(), "{}: {mark:#?}", lesson.title);
        let mark = lesson.mark(&lesson.slipped().unwrap());
        assert!(!mark.passed && mark.next.is_some(), "{}: {mark:#?}", lesson.title);
    }
}

#[test]
fn an_attempt_without_a_recording_or_with_half_of_one_is_not_passed() {
    for lesson in lessons() {
        assert!(!lesson.mark(&lesson.set_up().unwrap()).passed, "{}", lesson.title);
        let mut empty = lesson.set_up().unwrap();
        empty.coats.iter_mut().for_each(|coat| coat.track = Some(Track::default()));
        assert!(!lesson.mark(&empty).passed, "{}", lesson.title);
        let mut half = lesson.example().unwrap();
        let track = half.coats.last_mut().unwrap().track.as_mut().unwrap();
        track.samples.truncate(track.samples.len() / 2);
        assert!(!lesson.mark(&half).passed, "{}", lesson.title);
    }
}

#[test]
fn a_lesson_that_is_none_is_refused_with_its_place() {
    let says = |text: &str| Lesson::read("mine.json", text).unwrap_err().to_string();
    assert!(says("{").starts_with("mine.json: given"), "{}", says("{"));
    let mut value = serde_json::to_value(&lessons()[0]).unwrap();
    value["fanlap_lesson"] = 2.into();
    assert!(says(&value.to_string()).contains("fanlap_lesson: given 2; allowed is 1"));
    value["fanlap_lesson"] = 1.into();
    value["job"]["coats"] = serde_json::json!([]);
    assert!(says(&value.to_string()).contains("job.coats: given no coats"));
    value["job"]["coats"] = serde_json::json!([{ "overlap": 3 }]);
    assert!(says(&value.to_string()).contains("coats[0].overlap: given 3"));
}

#[test]
fn attempts_are_marked_by_the_command_line_as_by_the_core() {
    let folder = tempfile::tempdir().unwrap();
    let lesson = &lessons()[1];
    let mut mine = lesson.slipped().unwrap();
    mine.title = "Overlap, second try".to_string();
    std::fs::write(folder.path().join("a.json"), lesson.example().unwrap().text()).unwrap();
    std::fs::write(folder.path().join("b.json"), mine.text()).unwrap();
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_fanlap"));
        let run = command.args(arguments).current_dir(folder.path()).output().unwrap();
        (run.status.code().unwrap(), String::from_utf8(run.stdout).unwrap(), String::from_utf8(run.stderr).unwrap())
    };
    let (status, table, _) = run(&["grade", "a.json", "b.json"]);
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!((status, lines.len()), (0, 3), "{table}");
    assert_eq!(lines[1], "\"a.json\",\"Overlap\",\"done\",\"\",\"\"");
    let mark = lesson.mark(&mine);
    assert!(
        lines[2].starts_with("\"b.json\",\"Overlap\",\"not yet\",") && lines[2].contains(&mark.next.unwrap().text),
        "{table}"
    );
    assert_eq!(run(&["grade", "a.json", "b.json", "--out", "out"]).0, 0);
    assert_eq!(std::fs::read_to_string(folder.path().join("out/grades.csv")).unwrap(), table);
    assert!(std::fs::read_to_string(folder.path().join("out/grades.html")).unwrap().contains("<td>not yet</td>"));
    // a lesson of one's own, and a job that is none's
    let mut own = lesson.clone();
    (own.title, own.job["panel"]["length_mm"]) = ("Mine".to_string(), 700.into());
    std::fs::create_dir(folder.path().join("own")).unwrap();
    std::fs::write(folder.path().join("own/mine.json"), serde_json::to_string(&own).unwrap()).unwrap();
    std::fs::write(folder.path().join("c.json"), own.example().unwrap().text()).unwrap();
    let (status, _, err) = run(&["grade", "c.json"]);
    assert_eq!((status, err.contains("a job with the set-up of a lesson")), (2, true), "{err}");
    let (status, table, _) = run(&["grade", "c.json", "--lessons", "own"]);
    assert!(status == 0 && table.contains("\"Mine\",\"done\""), "{table}");
}
