//! The command line, run as a person runs it: exit statuses, messages, the files it writes and what is in them.
//! Compares with the library; does not judge the film.

mod batch;
#[path = "../data/jobs/mod.rs"]
mod data;
mod grades;
mod messages;
mod reading;
mod spectra;
mod spray_outs;
mod writing;
mod written;

use data::{COMPLETE, job};
use fanlap::causes::report;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::INPUTS;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::{Rehearsal, rehearse};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// What a run left behind.
struct Run {
    status: i32,
    out: String,
    err: String,
}

/// Starts the command line in a folder, all its ends in our hands.
fn start(folder: &Path, arguments: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_fanlap"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// Runs the command line in a folder; complains when it is not done after two minutes.
fn run(folder: &Path, arguments: &[&str]) -> Run {
    run_with(folder, arguments, Vec::new())
}

/// The same with something on its standard input.
fn run_with(folder: &Path, arguments: &[&str], input: Vec<u8>) -> Run {
    let mut child = start(folder, arguments);
    let mut stdin = child.stdin.take().unwrap();
    let (mut stdout, mut stderr) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
    // a command that does not read its input closes it
    let writer = std::thread::spawn(move || drop(stdin.write_all(&input)));
    let text = |from: &mut dyn Read| {
        let mut text = String::new();
        from.read_to_string(&mut text).map(|_| text).unwrap()
    };
    let reader = std::thread::spawn(move || text(&mut stdout));
    let errors = std::thread::spawn(move || text(&mut stderr));
    let begun = Instant::now();
    let status = loop {
        match child.try_wait().unwrap() {
            Some(status) => break status,
            None if begun.elapsed() > Duration::from_secs(120) => {
                child.kill().unwrap();
                panic!("{arguments:?}: not done after two minutes");
            }
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    writer.join().unwrap();
    Run { status: status.code().expect("ended by itself"), out: reader.join().unwrap(), err: errors.join().unwrap() }
}

/// A small job of two paints, quickly rehearsed.
fn small() -> Value {
    job(json!({
        "title": "Small panel",
        "panel": { "length_mm": 330, "width_mm": 210, "crown_across_mm": 10, "cell_mm": 10 },
        "gun": { "fan_width_mm": 100 },
        "paints": [{ "name": "tinted" }, { "name": "top", "role": "clear" }],
        "coats": [{ "margin_mm": 30, "lead_mm": 40 }, { "paint": "top", "margin_mm": 30, "lead_mm": 40, "along": "width" }],
    }))
}

/// A folder with `job.json` in it.
fn folder_with(job: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.json"), job).unwrap();
    folder
}

/// The names in a folder.
fn names(folder: &Path) -> BTreeSet<String> {
    fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

fn set(names: &[&str]) -> BTreeSet<String> {
    names.iter().map(|name| name.to_string()).collect()
}

/// The example jobs as they lie in the project.
fn example(name: &str) -> PathBuf {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("assets/jobs").join(name)
}

/// A job rehearsed by the command line with --out, and by the library.
fn both_ways(job: &str) -> (TempDir, Rehearsal) {
    let folder = folder_with(job);
    let run = run(folder.path(), &["rehearse", "job.json", "--out", "out"]);
    assert_eq!((run.status, run.out.as_str()), (0, ""), "{}", run.err);
    assert!(run.err.starts_with("written: out/report.json, ") && run.err.lines().count() == 1, "{}", run.err);
    (folder, rehearse(&Job::read(job, &Files::none()).unwrap()))
}

/// Every number of the first is in the second, to a share of it.
fn agree(path: &str, a: &Value, b: &Value, share: f64) {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) => {
            assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>(), "{path}");
            a.iter().for_each(|(key, item)| agree(&format!("{path}.{key}"), item, &b[key], share));
        }
        (Value::Array(a), Value::Array(b)) => {
            assert_eq!(a.len(), b.len(), "{path}");
            a.iter().zip(b).for_each(|(a, b)| agree(path, a, b, share));
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            assert!((a - b).abs() <= share * b.abs(), "{path}: {a} and {b}");
        }
        _ => assert_eq!(a, b, "{path}"),
    }
}
