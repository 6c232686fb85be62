//! The lessons: every one is read, passed by its worked example and failed by its typical error; marks are what the command
//! line says too.

use fanlap::job::Job;
use fanlap::practice::{Attempt, ErrorSource, Lesson, LessonLimits, Prediction, Slip, Task, lessons};
use fanlap::strokes::{Sample, Track};
use fanlap::units::{Degrees, Millimetres, Seconds};
use serde_json::Value;

#[test]
fn every_file_is_a_lesson_of_the_ladder() {
    let folder = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("assets/lessons");
    let files = std::fs::read_dir(folder).unwrap().count();
    let ladder = lessons();
    assert_eq!(ladder.len(), files, "build again: the list of lessons is older than the folder");
    for lesson in ladder {
        assert!(!lesson.why.is_empty() && lesson.goal.ends_with('.') && !lesson.new.is_empty(), "{}", lesson.title);
        assert!(lesson.set_up().unwrap().title.contains("invented"), "{}", lesson.title);
        assert_eq!(ladder.iter().filter(|other| other.title == lesson.title).count(), 1, "{}", lesson.title);
        let begun = lesson.begun().unwrap();
        assert!(
            ladder.iter().filter(|other| other.is_of(&begun)).count() == 1,
            "{}: one set-up, one lesson",
            lesson.title
        );
    }
}

#[test]
fn every_lesson_is_passed_by_its_example_and_failed_by_its_typical_error() {
    for lesson in lessons() {
        let mark = lesson.mark(&lesson.example().unwrap()).unwrap();
        assert!(mark.passed, "{}: {mark:#?}", lesson.title);
        if let Task::Find { hand, .. } = lesson.task {
            let meant = if hand.arc_deg > 0.0 { ErrorSource::Angle } else { ErrorSource::Line };
            assert_eq!(lesson.example().unwrap().answer, Some(meant), "{}", lesson.title);
        }
        let mark = lesson.mark(&lesson.typical_error().unwrap()).unwrap();
        assert!(!mark.passed, "{}: {mark:#?}", lesson.title);
        let next = mark.next.is_some() || matches!(lesson.task, Task::Plan { .. });
        assert!(next, "{}: {mark:#?}", lesson.title);
    }
}

#[test]
fn an_attempt_without_a_recording_or_with_half_of_one_is_not_passed() {
    for lesson in lessons().iter().filter(|lesson| lesson.other_hand().is_none()) {
        let mark = |job: &Job| lesson.mark(&Attempt::new(lesson, job)).unwrap();
        assert!(!mark(&lesson.set_up().unwrap()).passed, "{}", lesson.title);
        let mut empty = lesson.set_up().unwrap();
        empty.coats.iter_mut().for_each(|coat| coat.track = Some(Track::default()));
        assert!(!mark(&empty).passed, "{}", lesson.title);
        let mut half = lesson.example().unwrap().sprayed().unwrap();
        let track = half.coats.last_mut().unwrap().track.as_mut().unwrap();
        track.samples.truncate(track.samples.len() / 2);
        assert!(!mark(&half).passed, "{}", lesson.title);
    }
}

#[test]
fn what_is_locked_cannot_be_changed_to_pass() {
    // half the film for twice the speed: the attempt claims a plan that it kept, the lesson means another
    let lesson = lessons().iter().find(|lesson| lesson.title == "Overlap").unwrap();
    let mut easier = lesson.set_up().unwrap();
    easier.coats[0].speed.0 *= 2.0;
    let attempt = Attempt::new(lesson, &lesson.sprayed_by(&easier, &Slip::default()).unwrap());
    assert!(!lesson.is_of(&attempt.sprayed().unwrap()) && !lesson.mark(&attempt).unwrap().passed);
    // what is open may be chosen, and is marked by the film that is meant
    let lesson = lessons().iter().find(|lesson| lesson.title == "Overlap of your own").unwrap();
    for (overlap, passes) in [(0.3, false), (0.58, true), (0.75, false)] {
        let mut job = lesson.begun().unwrap();
        job.coats[0].overlap.0 = overlap;
        assert!(lesson.is_of(&job));
        let attempt = Attempt::new(lesson, &lesson.sprayed_by(&job, &Slip::default()).unwrap());
        assert_eq!(lesson.mark(&attempt).unwrap().passed, passes, "{overlap}");
    }
}

#[test]
fn the_schema_and_the_reader_agree() {
    let folder = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("assets");
    let schema: Value =
        serde_json::from_str(&std::fs::read_to_string(folder.join("lesson.schema.json")).unwrap()).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let agree = |value: &Value, what: &str| {
        let read = Lesson::read("a lesson", &value.to_string());
        assert_eq!(schema.is_valid(value), read.is_ok(), "{what}: {read:?}");
        read.is_ok()
    };
    for lesson in lessons() {
        let value = serde_json::to_value(lesson).unwrap();
        assert!(agree(&value, &lesson.title));
        for (place, held, not) in ranges() {
            for (item, fits) in held.iter().map(|item| (item, true)).chain(not.iter().map(|item| (item, false))) {
                let mut changed = value.clone();
                let (parent, key) = place.rsplit_once('/').unwrap();
                let Some(map) = changed.pointer_mut(parent).and_then(Value::as_object_mut) else { continue };
                map.insert(key.to_string(), item.clone());
                assert_eq!(agree(&changed, &format!("{}: {item} at {place}", lesson.title)), fits, "{item} at {place}");
            }
        }
        // each key left out, an unknown one put in, each value of another kind: at every place
        for place in places(&value, "").into_iter().filter(|place| !place.starts_with("/job/")) {
            let (parent, key) = place.rsplit_once('/').unwrap();
            let within = |value: &mut Value, f: &dyn Fn(&mut serde_json::Map<String, Value>)| {
                value.pointer_mut(parent).and_then(Value::as_object_mut).is_some_and(|map| {
                    f(map);
                    true
                })
            };
            let mut changed = value.clone();
            if within(&mut changed, &|map| {
                map.shift_remove(key);
            }) {
                agree(&changed, &format!("{}: without {place}", lesson.title));
            }
            let mut changed = value.clone();
            if within(&mut changed, &|map| {
                map.insert("surprise".to_string(), 1.into());
            }) {
                assert!(!agree(&changed, &format!("{}: a surprise beside {place}", lesson.title)));
            }
            let mut changed = value.clone();
            let there = changed.pointer_mut(&place).unwrap();
            *there = if there.is_boolean() { "yes".into() } else { true.into() };
            // what a setting may be is the job file's, not the schema's
            assert!(
                place.ends_with("/from") || !agree(&changed, &format!("{}: another kind at {place}", lesson.title))
            );
        }
    }
}

/// Places of a lesson with what is and is not allowed there; of a place that a lesson does not have nothing is tried.
fn ranges() -> Vec<(&'static str, Vec<Value>, Vec<Value>)> {
    use serde_json::json;
    let text = |length: usize| json!("\u{fc}".repeat(length));
    let ends = |place, least: f64, most: f64| {
        let beyond = [least - 0.001, most + 0.001, -1e308, 1e308].map(Value::from).to_vec();
        (place, vec![json!(least), json!(most)], beyond)
    };
    let lines = |place| (place, vec![json!(1), json!(600), json!(null)], vec![json!(0), json!(601)]);
    let gaps = |count: usize| -> Value {
        let paths = fanlap::job::inputs::section("hand").chain(fanlap::job::inputs::section("gun"));
        let from = |input: &fanlap::job::inputs::Input| json!({ "path": input.path, "from": input.default_value() });
        paths.chain(fanlap::job::inputs::section("viewing")).take(count).map(from).collect()
    };
    let mut all = vec![
        ("/title", vec![text(1), text(200)], vec![text(0), json!(" "), text(201)]),
        ("/new", vec![text(0), text(1000)], vec![text(1001)]),
        ("/goal", vec![text(1000)], vec![text(1001)]),
        ("/why", vec![json!(vec!["so"; 20])], vec![json!(vec!["so"; 21]), json!([text(1001)])]),
        ("/open", vec![gaps(2), gaps(25)], vec![json!(vec![json!({ "path": "coats[0].overlap", "from": 0.5 }); 7000])]),
        ("/told", vec![json!({ "bandwidth": 0 }), json!({ "bandwidth": 2 })], vec![json!({ "bandwidth": -1 })]),
        ends("/taken_up_at_mm", 50.0, 600.0),
        ends("/limits/film", 0.0, 2.0),
        ends("/limits/speed", 0.0, 1.0),
        ends("/limits/distance_mm", 0.0, 300.0),
        ends("/limits/line_mm", 0.0, 1000.0),
        ends("/limits/outside_mm", 0.0, 1000.0),
        ends("/limits/in_window", 0.0, 1.0),
    ];
    for slip in ["/task/spray/slip", "/task/plan/hand", "/task/find/hand"] {
        let at = |key: &str| -> &'static str { format!("{slip}/{key}").leak() };
        all.extend([
            ends(at("faster"), -0.5, 1.0),
            ends(at("farther_mm"), -100.0, 300.0),
            ends(at("line_mm"), -1000.0, 1000.0),
            ends(at("late_mm"), -1000.0, 1000.0),
            ends(at("arc_deg"), 0.0, 60.0),
            ends(at("heel_deg"), -45.0, 45.0),
            ends(at("scatter"), 0.0, 4.0),
            lines(at("left_out")),
            lines(at("twice")),
        ]);
    }
    all
}

#[test]
fn a_lesson_out_of_range_is_refused_with_its_place_and_what_is_allowed() {
    let says = |change: &dyn Fn(&mut Value)| {
        let mut value = serde_json::to_value(&lessons()[0]).unwrap();
        change(&mut value);
        Lesson::read("mine.json", &value.to_string()).unwrap_err().to_string()
    };
    let text = says(&|lesson| lesson["task"]["spray"]["slip"]["faster"] = (-1).into());
    assert!(text.starts_with("mine.json, task, faster: given -1; allowed is -0.5 to 1 as a share of 1."), "{text}");
    let text = says(&|lesson| lesson["limits"]["line_mm"] = (-1).into());
    assert!(text.starts_with("mine.json, limits.line_mm: given -1; allowed is 0 to 1000 mm."), "{text}");
    let text = says(&|lesson| lesson["title"] = "x".repeat(1_000_000).into());
    assert!(text.contains("title: given 1000000 characters; allowed is a text of 1 to 200 characters."), "{text}");
    let gap = serde_json::json!({ "path": "coats[0].overlap", "from": 0.5 });
    let text = says(&|lesson| lesson["open"] = vec![gap.clone(); 7000].into());
    assert!(text.contains("open: given 7000 settings; allowed is up to 30 settings."), "{text}");
    let text = says(&|lesson| lesson["open"] = vec![gap.clone(); 2].into());
    assert!(text.contains("open[1].path: given coats[0].overlap again; allowed is every setting once."), "{text}");
}

/// Every place of a value as a pointer.
fn places(value: &Value, at: &str) -> Vec<String> {
    let items: Vec<(String, &Value)> = match value {
        Value::Object(map) => map.iter().map(|(key, item)| (format!("{at}/{key}"), item)).collect(),
        Value::Array(list) => list.iter().enumerate().map(|(i, item)| (format!("{at}/{i}"), item)).collect(),
        _ => Vec::new(),
    };
    items.into_iter().flat_map(|(place, item)| [vec![place.clone()], places(item, &place)].concat()).collect()
}

#[test]
fn a_lesson_that_is_none_is_refused_with_its_place() {
    let says = |text: &str| Lesson::read("mine.json", text).unwrap_err().to_string();
    assert!(says("{").starts_with("mine.json, line 1, column 1: given"), "{}", says("{"));
    let twice = r#"{ "fanlap_lesson": 1, "job": { "coats": [], "coats": [{}] } }"#;
    assert!(says(twice).starts_with("mine.json, job.coats: given the key \"coats\" twice"), "{}", says(twice));
    let mut value = serde_json::to_value(&lessons()[0]).unwrap();
    value["fanlap_lesson"] = 2.into();
    assert!(says(&value.to_string()).contains("fanlap_lesson: given 2; allowed is 1"));
    value["fanlap_lesson"] = 1.into();
    value["job"]["coats"] = serde_json::json!([]);
    assert!(says(&value.to_string()).contains("job.coats: given no coats"));
    value["job"]["coats"] = serde_json::json!([{ "overlap": 3 }]);
    assert!(says(&value.to_string()).contains("coats[0].overlap: given 3"));
    value["job"]["coats"] = serde_json::json!([{}]);
    value["open"] = serde_json::json!([{ "path": "coats[0].overlop", "from": 0.5 }]);
    assert!(says(&value.to_string()).contains("coats[0].overlop"), "{}", says(&value.to_string()));
}

/// A lesson of which every limit but that of the film can fail.
fn with_all_limits() -> Lesson {
    let mut lesson = lessons().iter().find(|lesson| lesson.title == "Trigger and ends").unwrap().clone();
    lesson.limits = LessonLimits {
        film: Some(0.5),
        speed: Some(0.15),
        distance_mm: Some(20.0),
        line_mm: Some(20.0),
        outside_mm: Some(50.0),
        in_window: Some(0.3),
    };
    lesson
}

/// Which checks an attempt at it breaks, whose faultless recording a hand has changed: pass (from 0), place along the
/// panel (0 to 1), whether it is over the panel, the sample.
fn breaks(hand: impl Fn(usize, f64, &mut Sample)) -> Vec<&'static str> {
    let lesson = with_all_limits();
    let mut job = lesson.set_up().unwrap();
    let (mut samples, mut now) = (Vec::new(), 0.0);
    for (n, line) in fanlap::practice::plan(&job, 0).iter().enumerate() {
        let count = (line.length() / 4.0) as usize;
        for i in 0..=count {
            let place = line.from + line.direction() * 4.0 * i as f64;
            let (time, distance, flat) = (Seconds(0.01), Millimetres(180.0), Degrees(0.0));
            let mut sample = Sample { time, place, distance, heel: flat, lean: flat, open: i < count };
            hand(n, place.x / job.panel.length.0, &mut sample);
            now += sample.time.0;
            sample.time = Seconds(now);
            samples.push(sample);
        }
        now += 1.0;
    }
    job.coats[0].track = Some(Track { samples, ..Track::default() });
    let mark = lesson.mark(&Attempt::new(&lesson, &job)).unwrap();
    assert_eq!(mark.passed, mark.checks.iter().flatten().all(|check| check.kept));
    mark.checks.iter().flatten().filter(|check| !check.kept).map(|check| check.name).collect()
}

#[test]
fn every_limit_can_fail_alone() {
    let none: [&str; 0] = [];
    assert_eq!(breaks(|_, _, _| {}), none);
    // a fifth of one pass at half the speed; the mean of the pass is within the limit
    assert_eq!(
        breaks(|n, at, s| s.time.0 *= if n == 2 && (0.5..0.6).contains(&at) { 1.4 } else { 1.0 }),
        ["speed off at worst"]
    );
    assert_eq!(
        breaks(|n, at, s| s.time.0 *= if n == 2 && (0.5..0.6).contains(&at) { 0.75 } else { 1.0 }),
        ["speed off at worst"]
    );
    // what errs to both sides has a mean of nothing
    assert_eq!(
        breaks(|n, at, s| s.distance.0 += if n == 1 { 60.0 * (at - 0.5) } else { 0.0 }),
        ["distance off at worst, mm"]
    );
    assert_eq!(breaks(|n, at, s| s.place.y += if n == 1 { 60.0 * (at - 0.5) } else { 0.0 }), ["off line at worst, mm"]);
    assert_eq!(breaks(|n, at, s| s.open &= n != 3 || (-0.03..1.03).contains(&at)), ["trigger outside the edge, mm"]);
    // everything within its limit, and the colour is not
    assert_eq!(breaks(|_, _, s| s.time.0 *= 0.88), ["panel in the window"]);
    assert_eq!(breaks(|n, _, s| s.open &= n != 2).first(), Some(&"lines not sprayed"));
    // a hand and a pointer tremble: what is shorter than the fan is deep does not count
    let trembles = |_: usize, at: f64, s: &mut Sample| {
        s.time.0 *= if (at * 120.0) as i64 % 2 == 0 { 1.3 } else { 0.7 };
        s.place.y += if (at * 60.0) as i64 % 2 == 0 { 1.0 } else { -1.0 };
    };
    assert_eq!(breaks(trembles), none);
}

#[test]
fn a_mark_says_that_keys_moved_the_gun() {
    let lesson = &lessons()[0];
    let mut attempt = lesson.example().unwrap();
    let mark = lesson.mark(&attempt).unwrap();
    assert_eq!((mark.moved_by, mark.moved()), (None, None));
    for (mover, says) in [("pointer", false), ("keys", true)] {
        attempt.job["coats"][0]["track"]["moved_by"] = mover.into();
        let mark = lesson.mark(&attempt).unwrap();
        assert!(mark.passed && mark.moved_by.unwrap().name() == mover);
        assert_eq!(mark.moved().is_some_and(|said| said.contains("Sprayed by keys")), says);
    }
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.json"), attempt.text()).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_fanlap"));
    let run = command.args(["grade", "a.json"]).current_dir(folder.path()).output().unwrap();
    let table = String::from_utf8(run.stdout).unwrap();
    assert!(table.lines().nth(1).unwrap().ends_with(",\"keys\",\"\""), "{table}");
}

#[test]
fn attempts_are_marked_by_the_command_line_as_by_the_core() {
    let folder = tempfile::tempdir().unwrap();
    let lesson = &lessons()[1];
    let mut mine = lesson.typical_error().unwrap().sprayed().unwrap();
    mine.title = "Overlap, second try".to_string();
    std::fs::write(folder.path().join("a.json"), lesson.example().unwrap().sprayed().unwrap().text()).unwrap();
    std::fs::write(folder.path().join("b.json"), mine.text()).unwrap();
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_fanlap"));
        let run = command.args(arguments).current_dir(folder.path()).output().unwrap();
        (run.status.code().unwrap(), String::from_utf8(run.stdout).unwrap(), String::from_utf8(run.stderr).unwrap())
    };
    let (status, table, _) = run(&["grade", "a.json", "b.json"]);
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!((status, lines.len()), (0, 3), "{table}");
    assert!(lines[1].starts_with("\"a.json\",\"Overlap\",\"practice\",\"done\",\"\",\"\",\"\",\""), "{table}");
    let mark = lesson.mark(&lesson.example().unwrap()).unwrap();
    for check in mark.checks.iter().flatten() {
        assert!(lines[1].contains(&check.text()), "{} is not told of the passed one: {table}", check.text());
    }
    let mark = lesson.mark(&Attempt::new(lesson, &mine)).unwrap();
    assert!(
        lines[2].starts_with("\"b.json\",\"Overlap\",\"practice\",\"not yet\",")
            && lines[2].contains(&mark.next.unwrap().text),
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
    std::fs::write(folder.path().join("c.json"), own.example().unwrap().sprayed().unwrap().text()).unwrap();
    let (status, table, err) = run(&["grade", "c.json"]);
    assert_eq!((status, err.contains("an attempt at a lesson, with its set-up")), (2, true), "{err}");
    assert!(table.contains("\"c.json\",\"\",\"\",\"not graded\""), "{table}");
    let (status, table, _) = run(&["grade", "c.json", "--lessons", "own"]);
    assert!(status == 0 && table.contains("\"Mine\",\"practice\",\"done\""), "{table}");
    // an attempt as the page saves it: a test, with an answer and a prediction
    let lesson = lessons().iter().find(|lesson| matches!(lesson.task, Task::Find { .. })).unwrap();
    let said = Prediction { thick_mm: Some([450.0, 225.0]), thin_mm: None, mean_um: Some(10.0) };
    let attempt = Attempt { test: true, prediction: Some(said), ..lesson.typical_error().unwrap() };
    std::fs::write(folder.path().join("d.json"), attempt.text()).unwrap();
    let (status, table, _) = run(&["grade", "d.json"]);
    assert_eq!(status, 0);
    let foreseen = lesson.mark(&attempt).unwrap().foreseen.unwrap().text();
    assert!(table.contains("\"test\",\"not yet\",\"Not the right cause.\"") && table.contains(&foreseen), "{table}");
}
