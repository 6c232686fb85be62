//! What is found in jobs of which it is known what is wrong with them, what is named as the cause, and that the cure
//! cures. A case is a folder in `tests/data/causes` with a job and what must be found in it; one more needs no Rust. Then
//! the search itself, step by step.

use fanlap::appraisal::appraise;
use fanlap::causes::{Aim, Diagnosis, Search, diagnose};
use fanlap::findings::{DefectKind, Part, defects, measure};
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::practice::{Slip, Task, lessons, next_step};
use serde::Deserialize;
use serde_json::{Map, Value};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// What must be found: all of it, and nothing else.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    /// What the case is for.
    why: String,
    found: Vec<Found>,
    /// Values that put the job right: with them nothing is found.
    right: Option<Map<String, Value>>,
    /// Share of the film by which a finding's film may differ.
    film_within: f64,
    /// Why so much.
    because: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Found {
    kind: DefectKind,
    part: Part,
    film_um: f64,
    /// Paths of the causes, the first first.
    causes: Vec<String>,
    least_share: f64,
}

fn cases() -> Vec<PathBuf> {
    let root = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("tests/data/causes");
    let mut cases: Vec<PathBuf> = fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).collect();
    cases.retain(|path| path.is_dir());
    cases.sort();
    cases
}

fn read(folder: &Path) -> Job {
    let text = fs::read_to_string(folder.join("job.json")).unwrap();
    let beside = |name: &str| fs::read_to_string(folder.join(name)).map_err(|error| error.to_string());
    Job::read(&text, &Files::from(&beside)).unwrap_or_else(|problem| panic!("{}: {problem}", folder.display()))
}

fn with(job: &Job, set: &Map<String, Value>) -> Job {
    set.iter().fold(job.clone(), |job, (path, value)| job.with(path, value).unwrap())
}

/// Everything in which a case differs from what is expected of it, and how long it took.
fn differences(folder: &Path) -> (Vec<String>, Duration) {
    let job = read(folder);
    let expected = fs::read_to_string(folder.join("expected.json")).unwrap();
    let expected: Expected =
        serde_json::from_str(&expected).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let begun = Instant::now();
    let found = diagnose(&appraise(&job));
    let took = begun.elapsed();
    let mut off = Vec::new();
    if !job.title.contains("(invented)") || expected.why.is_empty() || expected.because.is_empty() {
        off.push("does not say that it is invented, what it is for, or why its tolerance is what it is".to_string());
    }
    for finding in &found {
        let defect = &finding.defect;
        if !expected.found.iter().any(|wanted| (wanted.kind, wanted.part) == (defect.kind, defect.part)) {
            off.push(format!("{} {} is not expected: {defect:?}", defect.kind.name(), defect.part.words()));
        }
    }
    for wanted in &expected.found {
        let what = format!("{} {}", wanted.kind.name(), wanted.part.words());
        let same = found.iter().filter(|f| (f.defect.kind, f.defect.part) == (wanted.kind, wanted.part));
        let [finding] = same.collect::<Vec<_>>()[..] else {
            off.push(format!("{what} is not found once"));
            continue;
        };
        let film = finding.defect.film.0;
        if (film - wanted.film_um).abs() > expected.film_within * wanted.film_um.abs() {
            off.push(format!("{what}: film of {film} um, expected {}", wanted.film_um));
        }
        let causes: Vec<&str> = finding.causes.iter().map(|cause| cause.setting.as_str()).collect();
        if causes != wanted.causes {
            off.push(format!("{what}: caused by {causes:?}, expected {:?}", wanted.causes));
        }
        for cause in finding.causes.iter().filter(|cause| !(wanted.least_share..=1.0).contains(&cause.share)) {
            off.push(format!(
                "{what}: {} explains {}, expected {} to 1",
                cause.setting, cause.share, wanted.least_share
            ));
        }
        let Some(cure) = &finding.cure else {
            off.push(format!("{what}: no cure"));
            continue;
        };
        let left = defects(&appraise(&with(&job, &cure.set)));
        if left.iter().any(|defect| (defect.kind, defect.part) == (wanted.kind, wanted.part)) {
            off.push(format!("{what} is still there with {:?}", cure.set));
        }
        if left.len() != cure.left {
            off.push(format!("{what}: the cure speaks of {} findings left, there are {}", cure.left, left.len()));
        }
    }
    if let Some(right) = &expected.right {
        let left = defects(&appraise(&with(&job, right)));
        off.extend(left.iter().map(|defect| format!("with {right:?} there is still {defect:?}")));
    }
    (off, took)
}

#[test]
fn every_case_has_its_findings_causes_and_cures() {
    let cases = cases();
    assert!(cases.len() >= 20, "only {} cases", cases.len());
    let half = cases.len() / 2;
    let walk = |cases: &[PathBuf]| -> Vec<String> {
        let mut off = Vec::new();
        for case in cases {
            let name = case.file_name().unwrap().to_string_lossy().to_string();
            let (differs, took) = differences(case);
            println!("{name}: {:.2} s", took.as_secs_f64());
            off.extend(differs.into_iter().map(|what| format!("{name}: {what}")));
            // many times what it takes, so that a machine with other work does not fail
            if took > Duration::from_secs(15) {
                off.push(format!("{name}: {took:?} for its findings"));
            }
        }
        off
    };
    let off = std::thread::scope(|scope| {
        let second = scope.spawn(|| walk(&cases[half..]));
        let mut off = walk(&cases[..half]);
        off.extend(second.join().unwrap());
        off
    });
    assert!(off.is_empty(), "\n{}", off.join("\n"));
}

#[test]
fn the_green_bonnet_has_stripes_from_its_overlap_and_the_door_has_nothing() {
    for (example, kinds) in [(&EXAMPLES[0], &[DefectKind::Striping][..]), (&EXAMPLES[1], &[])] {
        let begun = Instant::now();
        let found = diagnose(&appraise(&example.job()));
        println!("{}: {:.2} s", example.job().title, begun.elapsed().as_secs_f64());
        assert_eq!(found.iter().map(|finding| finding.defect.kind).collect::<Vec<_>>(), kinds);
        assert!(found.iter().all(|finding| finding.causes[0].setting == "coats[0].overlap"));
    }
}

// The search, step by step

fn job_of(name: &str) -> Job {
    read(&Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("tests/data/causes").join(name))
}

#[test]
fn a_search_advances_with_every_step_until_it_is_done() {
    let appraisal = appraise(&job_of("both-fast-and-far"));
    let mut search = Search::new(&appraisal);
    let found = search.found().to_vec();
    assert_eq!(found, defects(&appraisal), "known from the beginning");
    assert!(!found.is_empty() && !search.done() && search.diagnoses().is_empty());
    let mut before = search.progress();
    assert!((0.0..0.1).contains(&before));
    let mut steps = 1;
    while search.step() {
        assert!(search.progress() > before && !search.done(), "{before} and {}", search.progress());
        before = search.progress();
        steps += 1;
        assert!(steps < 1000, "does not end");
    }
    assert!(search.done() && search.progress() == 1.0);
    let complete = search.diagnoses().to_vec();
    assert_eq!(complete.iter().map(|finding| finding.defect.clone()).collect::<Vec<_>>(), found);
    // one more step changes nothing
    assert!(!search.step() && search.progress() == 1.0 && search.diagnoses() == complete);
}

#[test]
fn a_search_that_is_dropped_on_its_way_leaves_nothing_behind() {
    let job = job_of("both-fast-and-far");
    let appraisal = appraise(&job);
    let film = appraisal.rehearsal().film(0);
    let whole = diagnose(&appraisal);
    for steps in [0, 1, 5] {
        let mut search = Search::new(&appraisal);
        (0..steps).for_each(|_| assert!(search.step()));
    }
    assert!(appraisal.rehearsal().film(0) == film, "the rehearsal is as it was");
    let mut again = Search::new(&appraisal);
    while again.step() {}
    assert_eq!(again.diagnoses(), whole);
}

#[test]
fn a_job_without_a_fault_is_done_at_once() {
    let appraisal = appraise(&job_of("silent-one-coat-at-half"));
    assert!(!measure(&appraisal).is_empty(), "measured, though nothing is found");
    let mut search = Search::new(&appraisal);
    assert!(search.found().is_empty() && search.done() && search.progress() == 1.0);
    assert!(!search.step() && search.diagnoses().is_empty());
}

// Words

/// The first finding of a kind in a job of the folder with some values set.
fn told(name: &str, set: &[(&str, Value)], kind: DefectKind) -> Diagnosis {
    let job = set.iter().fold(job_of(name), |job, (path, value)| job.with(path, value).unwrap());
    let found = diagnose(&appraise(&job));
    let finding = found.iter().find(|finding| finding.defect.kind == kind);
    finding.unwrap_or_else(|| panic!("{name} {set:?}: {found:?}")).clone()
}

#[test]
fn words_say_which_way_a_setting_is_wrong_and_which_way_it_is_put_right() {
    let cases: [(&str, &str, f64, DefectKind, &str, &str); 6] = [
        // the gun's fluid is given, and too much for the film that is aimed at or too little
        (
            "plan-slow",
            "coats[0].speed_mm_per_s",
            240.0,
            DefectKind::OverFilm,
            "At 240 mm/s the gun is too slow for this film",
            "Go at 310 mm/s.",
        ),
        (
            "plan-slow",
            "coats[0].speed_mm_per_s",
            450.0,
            DefectKind::ThinFilm,
            "At 450 mm/s the gun is too fast for this film",
            "Go at 310 mm/s.",
        ),
        ("plan-slow", "hand.speed_error", -0.3, DefectKind::OverFilm, "30 % slower than planned", "Go faster"),
        ("plan-slow", "hand.speed_error", 0.4, DefectKind::ThinFilm, "40 % faster than planned", "Go slower"),
        ("plan-slow", "hand.distance_error_mm", 90.0, DefectKind::DrySpray, "90 mm farther than planned", "nearer"),
        ("plan-slow", "hand.distance_error_mm", -60.0, DefectKind::WetSpray, "60 mm nearer than planned", "farther"),
    ];
    for (name, path, value, kind, cause, cure) in cases {
        let right = ("coats[0].speed_mm_per_s", Value::from(312));
        let finding = told(name, &[right, (path, value.into())], kind);
        assert!(finding.causes[0].text.contains(cause), "{path} {value}: {:?}", finding.causes);
        assert!(finding.cure.as_ref().unwrap().text.contains(cure), "{path} {value}: {:?}", finding.cure);
    }
}

#[test]
fn too_much_fluid_is_named_and_put_right_as_well_as_the_speed() {
    let fluid = |fluid: f64, speed: f64, kind: DefectKind| {
        let mut job = EXAMPLES[0].job();
        job.panel.cell.0 = 12.0;
        job.gun.fluid.0 = fluid;
        job.coats.iter_mut().for_each(|coat| coat.speed.0 = speed);
        let found = diagnose(&appraise(&job));
        found.iter().find(|finding| finding.defect.kind == kind).unwrap_or_else(|| panic!("{found:?}")).clone()
    };
    let (right, speed) = (EXAMPLES[0].job().gun.fluid.0, EXAMPLES[0].job().coats[0].speed.0);
    let too_much = (1.35 * right).round();
    let named = fluid(too_much, speed, DefectKind::OverFilm);
    let causes: Vec<&str> = named.causes.iter().map(|cause| cause.setting.as_str()).collect();
    assert_eq!(causes[0], "gun.fluid_ml_per_min", "{named:?}");
    let words = format!("The gun delivers too much for this film: {too_much:.0} mL/min;");
    assert!(named.causes[0].text.starts_with(&words), "{named:?}");
    assert!(named.causes[0].share > 0.95 && !named.causes[0].instead, "{named:?}");
    assert_eq!((causes[1], named.causes[1].instead), ("coats[0].speed_mm_per_s", true), "{named:?}");
    let cure = named.cure.unwrap();
    assert!(cure.text.starts_with("Turn the fluid down to ") && cure.severity < 1.0, "{cure:?}");
    let named = fluid((0.7 * right).round(), speed, DefectKind::ThinFilm);
    assert!(named.causes[0].text.starts_with("The gun delivers too little for this film: "), "{named:?}");
    assert!(named.cure.unwrap().text.starts_with("Turn the fluid up to "));
    // by default it is not to blame
    let named = fluid(right, 0.7 * speed, DefectKind::OverFilm);
    let causes: Vec<&str> = named.causes.iter().map(|cause| cause.setting.as_str()).collect();
    assert_eq!(causes, ["coats[0].speed_mm_per_s"]);
}

/// What is named first for a kind of defect, told what the job was before.
fn named_after(before: &Job, job: &Job, kind: DefectKind) -> String {
    let aim = Aim { before: Some(before), ..Aim::default() };
    let mut search = Search::with(&appraise(job), aim);
    while search.step() {}
    let found = search.diagnoses().iter().find(|finding| finding.defect.kind == kind);
    found.map_or_else(|| format!("{:?}", search.found()), |finding| finding.causes[0].text.clone())
}

#[test]
fn what_was_just_changed_is_named_first_where_it_explains_as_much() {
    let before = EXAMPLES[0].job();
    let changed = |set: &[(&str, f64)]| {
        set.iter().fold(before.clone(), |job, (path, value)| job.with(path, &(*value).into()).unwrap())
    };
    let job = changed(&[("coats[0].overlap", 0.43), ("coats[1].overlap", 0.43)]);
    let named = named_after(&before, &job, DefectKind::ThinFilm);
    assert_eq!(named, "The overlap was changed from 60 % to 43 %.");
    // not told what was changed, the answer is what it was
    let plain = diagnose(&appraise(&job));
    let thin = plain.iter().find(|finding| finding.defect.kind == DefectKind::ThinFilm).unwrap();
    assert_eq!(thin.causes[0].setting, "coats[0].speed_mm_per_s");
    // the cure puts it back
    let aim = Aim { before: Some(&before), ..Aim::default() };
    let mut search = Search::with(&appraise(&job), aim);
    while search.step() {}
    let thin = search.diagnoses().iter().find(|finding| finding.defect.kind == DefectKind::ThinFilm).unwrap();
    assert!(thin.causes[0].share > 0.9, "{thin:?}");
    // what has nothing to do with it is not named
    let lead = changed(&[("coats[0].lead_mm", 140.0)]);
    let aim = Aim { before: Some(&lead), ..Aim::default() };
    let mut search = Search::with(&appraise(&job), aim);
    while search.step() {}
    assert!(search.diagnoses().iter().all(|finding| !finding.causes[0].text.contains("lead")));
    // nor is another job a change
    let door = EXAMPLES[1].job();
    assert_eq!(named_after(&door, &job, DefectKind::ThinFilm), thin_text(&plain));
}

fn thin_text(found: &[Diagnosis]) -> String {
    found.iter().find(|finding| finding.defect.kind == DefectKind::ThinFilm).unwrap().causes[0].text.clone()
}

// A spraying by hand

fn of_attempt(job: &Job, done: bool) -> Vec<Diagnosis> {
    let mut search = Search::with(&appraise(job), Aim { beyond_plan: true, done, ..Aim::default() });
    while search.step() {}
    search.diagnoses().to_vec()
}

#[test]
fn a_spraying_as_planned_has_no_finding_in_any_lesson() {
    let mut compared = 0;
    for lesson in lessons().iter().filter(|lesson| matches!(lesson.task, Task::Spray { .. }) && lesson.open.is_empty())
    {
        let job = lesson.example().unwrap().sprayed().unwrap();
        let found = of_attempt(&job, false);
        assert!(found.is_empty(), "{}: {found:?}", lesson.title);
        compared += diagnose(&appraise(&job)).len();
    }
    assert!(compared > 0, "the plans leave something by themselves, or this says nothing");
}

#[test]
fn findings_of_a_recording_and_its_debrief_name_the_same_cause() {
    for (title, slip) in [
        ("Speed without the pacer", Slip { faster: 0.75, ..Slip::default() }),
        ("Overlap", Slip { line_mm: 45.0, ..Slip::default() }),
        ("Overlap", Slip { wider: 0.5, ..Slip::default() }),
        ("Trigger and ends", Slip { late_mm: 170.0, ..Slip::default() }),
        ("Near and far edge", Slip { left_out: Some(4), ..Slip::default() }),
    ] {
        let lesson = lessons().iter().find(|lesson| lesson.title == title).unwrap();
        let job = lesson.sprayed_by(&lesson.set_up().unwrap(), &slip).unwrap();
        let next = next_step(&job, 0, System::Metric).unwrap().text;
        let found = of_attempt(&job, false);
        assert!(!found.is_empty(), "{title}");
        let cause = &found[0].causes[0];
        println!("{title}: {} {}: {cause:?} | {next}", found[0].defect.kind.name(), found[0].defect.part.words());
        assert_eq!(cause.setting, "coats[0].track");
        assert!(next.starts_with(&cause.text) && cause.share > 0.5, "{title}: {cause:?} against {next}");
        // the cure is the next step, and no setting
        let cure = found[0].cure.as_ref().unwrap_or_else(|| panic!("{title}: {found:?}"));
        let step = next.split("Next: ").nth(1).unwrap().to_lowercase();
        assert!(cure.text.to_lowercase() == step && cure.set.is_empty(), "{cure:?} against {step}");
        // a lesson that calls it done has nothing beside that
        assert!(of_attempt(&job, true).is_empty());
        // as a job like any it has the same causes
        let plain = diagnose(&appraise(&job));
        assert!(plain.iter().any(|finding| finding.causes.first().is_some_and(|other| other.text == cause.text)));
    }
}
