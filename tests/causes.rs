//! What is found in jobs of which it is known what is wrong with them, what is named as the cause, and that the cure
//! cures. A case is a folder in `tests/data/causes` with a job and what must be found in it; one more needs no Rust. Then
//! the search itself, step by step.

use fanlap::causes::{Search, findings};
use fanlap::findings::{Kind, Part, faults, findings as found_in};
use fanlap::job::examples::EXAMPLES;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::rehearse;
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
    kind: Kind,
    part: Part,
    film_um: f64,
    /// Paths of the causes, the first first.
    causes: Vec<String>,
    least_share: f64,
}

fn cases() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/causes");
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
    let found = findings(&job);
    let took = begun.elapsed();
    let mut off = Vec::new();
    if !job.title.contains("(invented)") || expected.why.is_empty() || expected.because.is_empty() {
        off.push("does not say that it is invented, what it is for, or why its tolerance is what it is".to_string());
    }
    for finding in &found {
        let fault = &finding.fault;
        if !expected.found.iter().any(|wanted| (wanted.kind, wanted.part) == (fault.kind, fault.part)) {
            off.push(format!("{} {} is not expected: {fault:?}", fault.kind.name(), fault.part.words()));
        }
    }
    for wanted in &expected.found {
        let what = format!("{} {}", wanted.kind.name(), wanted.part.words());
        let same = found.iter().filter(|f| (f.fault.kind, f.fault.part) == (wanted.kind, wanted.part));
        let [finding] = same.collect::<Vec<_>>()[..] else {
            off.push(format!("{what} is not found once"));
            continue;
        };
        let film = finding.fault.film.0;
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
        let left = found_in(&rehearse(&with(&job, &cure.set)));
        if left.iter().any(|fault| (fault.kind, fault.part) == (wanted.kind, wanted.part)) {
            off.push(format!("{what} is still there with {:?}", cure.set));
        }
        if left.len() != cure.left {
            off.push(format!("{what}: the cure speaks of {} findings left, there are {}", cure.left, left.len()));
        }
    }
    if let Some(right) = &expected.right {
        let left = found_in(&rehearse(&with(&job, right)));
        off.extend(left.iter().map(|fault| format!("with {right:?} there is still {fault:?}")));
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
    for (example, kinds) in [(&EXAMPLES[0], &[Kind::Striping][..]), (&EXAMPLES[1], &[])] {
        let begun = Instant::now();
        let found = findings(&example.job());
        println!("{}: {:.2} s", example.job().title, begun.elapsed().as_secs_f64());
        assert_eq!(found.iter().map(|finding| finding.fault.kind).collect::<Vec<_>>(), kinds);
        assert!(found.iter().all(|finding| finding.causes[0].setting == "coats[0].overlap"));
    }
}

// The search, step by step

fn job_of(name: &str) -> Job {
    read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/causes").join(name))
}

#[test]
fn a_search_advances_with_every_step_until_it_is_done() {
    let rehearsal = rehearse(&job_of("both-fast-and-far"));
    let mut search = Search::new(&rehearsal);
    let found = search.found().to_vec();
    assert_eq!(found, found_in(&rehearsal), "known from the beginning");
    assert!(!found.is_empty() && !search.done() && search.findings().is_empty());
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
    let complete = search.findings().to_vec();
    assert_eq!(complete.iter().map(|finding| finding.fault.clone()).collect::<Vec<_>>(), found);
    // one more step changes nothing
    assert!(!search.step() && search.progress() == 1.0 && search.findings() == complete);
}

#[test]
fn a_search_that_is_dropped_on_its_way_leaves_nothing_behind() {
    let job = job_of("both-fast-and-far");
    let rehearsal = rehearse(&job);
    let film = rehearsal.film(0);
    let whole = findings(&job);
    for steps in [0, 1, 5] {
        let mut search = Search::new(&rehearsal);
        (0..steps).for_each(|_| assert!(search.step()));
    }
    assert!(rehearsal.film(0) == film, "the rehearsal is as it was");
    let mut again = Search::new(&rehearsal);
    while again.step() {}
    assert_eq!(again.findings(), whole);
}

#[test]
fn a_job_without_a_fault_is_done_at_once() {
    let rehearsal = rehearse(&job_of("silent-one-coat-at-half"));
    assert!(!faults(&rehearsal).is_empty(), "measured, though nothing is found");
    let mut search = Search::new(&rehearsal);
    assert!(search.found().is_empty() && search.done() && search.progress() == 1.0);
    assert!(!search.step() && search.findings().is_empty());
}
