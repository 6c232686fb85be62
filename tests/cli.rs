//! The command line, run as a person runs it: exit statuses, messages, the files it writes and what is in them.
//! Compares with the library; does not judge the film.

#[path = "data/jobs/mod.rs"]
mod data;

use data::{COMPLETE, job};
use fanlap::causes::report;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::INPUTS;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::{Rehearsal, rehearse};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// What a run left behind.
struct Run {
    status: i32,
    out: String,
    err: String,
}

/// Runs the command line in a folder; complains when it is not done after two minutes.
fn run(folder: &Path, arguments: &[&str]) -> Run {
    let mut child = Command::new(env!("CARGO_BIN_EXE_fanlap"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (mut stdout, mut stderr) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
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
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/jobs").join(name)
}

/// A job rehearsed by the command line with --out, and by the library.
fn both_ways(job: &str) -> (TempDir, Rehearsal) {
    let folder = folder_with(job);
    let run = run(folder.path(), &["rehearse", "job.json", "--out", "out"]);
    assert_eq!((run.status, run.out.as_str(), run.err.as_str()), (0, "", ""));
    (folder, rehearse(&Job::read(job, &Files::none()).unwrap()))
}

// Exit statuses and messages

/// Fails unless a job file is refused with status 2 and one line that has all of these parts, and nothing is written.
fn refused(folder: &Path, file: &str, parts: &[&str]) {
    let before = names(folder);
    for arguments in
        [&["check", file][..], &["rehearse", file], &["cards", file], &["rehearse", file, "--out", "new/folder"]]
    {
        let run = run(folder, arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}: {}", run.err);
        assert_eq!(run.err.trim_end().lines().count(), 1, "one message on one line: {}", run.err);
        let missing: Vec<_> = parts.iter().filter(|part| !run.err.contains(**part)).collect();
        assert!(missing.is_empty(), "{missing:?} not in: {}", run.err);
        assert_eq!(names(folder), before, "nothing is written");
    }
}

#[test]
fn bad_input_ends_with_status_2_one_message_and_nothing_written() {
    for (value, parts) in [
        (
            job(json!({ "coats": [{}, { "overlap": 0.95 }] })),
            &["coats[1].overlap", "0.95", "0 to 0.9", "share", "Change Overlap"][..],
        ),
        (job(json!({ "panel": { "cell_mm": "four" } })), &["panel.cell_mm", "\"four\"", "1 to 20 mm", "Change Cell"]),
        (job(json!({ "gun": { "fan_with_mm": 3 } })), &["gun.fan_with_mm", "unknown key", "fan_width_mm"]),
        (json!({}), &["fanlap_job", "nothing", "1"]),
        (job(json!({ "coats": [{ "paint": "blue" }] })), &["coats[0].paint", "blue", "tinted"]),
    ] {
        refused(folder_with(&value.to_string()).path(), "job.json", parts);
    }
    refused(folder_with("{\n \"fanlap_job\": 1,,\n}").path(), "job.json", &["line 2, column 18", "JSON"]);
}

#[test]
fn a_job_file_that_cannot_be_read_is_bad_input() {
    let folder = folder_with("{}");
    refused(folder.path(), "another.json", &["another.json", "Check the name"]);
    refused(folder.path(), ".", &["a readable job file"]);
    fs::write(folder.path().join("bytes.json"), [0x7b, 0xff, 0xfe, 0x7d]).unwrap();
    refused(folder.path(), "bytes.json", &["bytes.json", "UTF-8"]);
    fs::write(folder.path().join("large.json"), vec![b' '; 30_000_000]).unwrap();
    refused(folder.path(), "large.json", &["30000000 bytes", "up to 2000000 bytes"]);
}

#[test]
fn a_spectrum_file_with_a_fault_is_bad_input() {
    let beside = job(json!({ "paints": [{ "absorption_per_um": { "file": "kelp.csv" } }] })).to_string();
    let folder = folder_with(&beside);
    refused(folder.path(), "job.json", &["paints[0].absorption_per_um", "kelp.csv", "beside the job file"]);
    fs::write(folder.path().join("kelp.csv"), "wavelength_nm,a\n380,0.1\n").unwrap();
    refused(folder.path(), "job.json", &["kelp.csv", "1 rows", "36 rows"]);
}

#[test]
fn an_unknown_command_or_option_ends_with_status_2() {
    let folder = folder_with("{}");
    let wrong: [&[&str]; 6] = [
        &["rehers"],
        &["--colour"],
        &["rehearse"],
        &["check"],
        &["rehearse", "job.json", "--into", "x"],
        &["inputs", "x"],
    ];
    for arguments in wrong {
        let run = run(folder.path(), arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(run.err.contains("--help"), "{}", run.err);
    }
    assert_eq!(names(folder.path()), set(&["job.json"]));
}

#[test]
fn help_and_version_end_with_status_0() {
    let folder = tempfile::tempdir().unwrap();
    let help = run(folder.path(), &["--help"]);
    assert_eq!(help.status, 0);
    for word in ["rehearse", "check", "cards", "inputs", "--no-open"] {
        assert!(help.out.contains(word), "{word} is not in the help");
    }
    let version = run(folder.path(), &["--version"]);
    assert_eq!((version.status, version.out.trim()), (0, concat!("fanlap ", env!("CARGO_PKG_VERSION"))));
}

#[test]
fn an_out_folder_that_cannot_be_made_or_written_ends_with_status_1() {
    let folder = folder_with(&small().to_string());
    fs::write(folder.path().join("file"), "kept").unwrap();
    fs::create_dir_all(folder.path().join("taken/report.json")).unwrap();
    for out in ["file", "file/out", "taken"] {
        let run = run(folder.path(), &["rehearse", "job.json", "--out", out]);
        assert_eq!((run.status, run.out.as_str()), (1, ""), "{out}: {}", run.err);
        assert!(run.err.contains("could not be"), "{}", run.err);
        assert_eq!(run.err.trim_end().lines().count(), 1, "{}", run.err);
    }
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "kept");
}

// What is written

#[test]
fn without_out_the_report_is_printed_and_nothing_written() {
    let folder = folder_with(&small().to_string());
    let run = run(folder.path(), &["rehearse", "job.json"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    let printed: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(printed["fanlap_report"], json!(1));
    assert_eq!(names(folder.path()), set(&["job.json"]));
}

#[test]
fn with_out_exactly_the_agreed_files_are_written() {
    let (folder, _) = both_ways(&small().to_string());
    assert_eq!(names(folder.path()), set(&["job.json", "out"]));
    let agreed = set(&["film-tinted.csv", "film-top.csv", "report.json", "film.png", "paint.png"]);
    assert_eq!(names(&folder.path().join("out")), agreed);
    let again = run(folder.path(), &["rehearse", "job.json", "--out", "out"]);
    assert_eq!((again.status, names(&folder.path().join("out"))), (0, agreed));
    assert_eq!(run(folder.path(), &["rehearse", "job.json", "--out", "a/b/c"]).status, 0);
    let report = |out: &str| fs::read_to_string(folder.path().join(out).join("report.json")).unwrap();
    assert_eq!(report("out"), report("a/b/c"));
    assert_eq!(report("out"), run(folder.path(), &["rehearse", "job.json"]).out);
}

#[test]
fn every_paint_has_a_film_file_of_its_own_whatever_its_name() {
    let mut whole = small();
    for (first, second) in
        [("top coat", "top_coat"), ("a/b", "a\\b"), ("..", "/etc/x"), ("\u{fc}ber", "\u{fc}".repeat(200).as_str())]
    {
        whole["paints"][0]["name"] = json!(first);
        whole["paints"][1]["name"] = json!(second);
        whole["coats"][0]["paint"] = json!(first);
        whole["coats"][1]["paint"] = json!(second);
        let folder = folder_with(&whole.to_string());
        let run = run(folder.path(), &["rehearse", "job.json", "--out", "out"]);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{first}, {second}");
        let written = names(&folder.path().join("out"));
        let films = written.iter().filter(|name| name.starts_with("film-") && name.ends_with(".csv")).count();
        assert_eq!((films, written.len()), (2, 5), "{first}, {second}: {written:?}");
        assert_eq!(names(folder.path()), set(&["job.json", "out"]));
    }
}

#[test]
fn the_film_file_is_a_grid_with_its_cell_centres() {
    let (folder, rehearsal) = both_ways(&small().to_string());
    for (paint, name) in [(0, "tinted"), (1, "top")] {
        let text = fs::read_to_string(folder.path().join(format!("out/film-{name}.csv"))).unwrap();
        let film = rehearsal.film(paint);
        let mut lines = text.lines();
        let mut first = lines.next().unwrap().split(',');
        assert_eq!(first.next(), Some("y_mm"));
        let across: Vec<f64> = first.map(|x| x.parse().unwrap()).collect();
        assert_eq!(across, (0..33).map(|i| (i as f64 + 0.5) * 10.0).collect::<Vec<_>>());
        let mut rows = 0;
        for (row, line) in lines.enumerate() {
            let fields: Vec<&str> = line.split(',').collect();
            assert_eq!(fields.len(), 34);
            assert_eq!(fields[0].parse::<f64>().unwrap(), (row as f64 + 0.5) * 10.0);
            for (column, field) in fields[1..].iter().enumerate() {
                let (written, laid) = (field.parse::<f64>().unwrap(), film[row * 33 + column]);
                assert!((written - laid).abs() <= 1e-6, "{name} at {column}, {row}: {written}, laid {laid}");
            }
            rows += 1;
        }
        assert_eq!(rows, 21);
    }
}

#[test]
fn a_film_is_written_with_six_digits_however_thin_it_is() {
    // one pass past the rim: a film that thins out to nothing
    let mut whole = small();
    whole["coats"] = json!([{ "overlap": 0, "margin_mm": 0, "shift": 0.9 }]);
    let (folder, rehearsal) = both_ways(&whole.to_string());
    let text = fs::read_to_string(folder.path().join("out/film-tinted.csv")).unwrap();
    let written =
        text.lines().skip(1).flat_map(|line| line.split(',').skip(1).map(|field| field.parse::<f64>().unwrap()));
    let off: Vec<String> = written
        .zip(rehearsal.film(0))
        .filter(|(written, laid)| (written - laid).abs() > 5e-6 * laid)
        .map(|(written, laid)| format!("{written} for {laid}"))
        .collect();
    assert!(off.is_empty(), "fewer than six digits: {}", off.join(", "));
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

#[test]
fn the_report_is_the_librarys() {
    for text in [small().to_string(), COMPLETE.replace("\"cell_mm\": 4", "\"cell_mm\": 20")] {
        let (folder, rehearsal) = both_ways(&text);
        let written = fs::read_to_string(folder.path().join("out/report.json")).unwrap();
        let written: Value = serde_json::from_str(&written).unwrap();
        agree("report", &written, &serde_json::to_value(report(&rehearsal)).unwrap(), 1e-12);
    }
}

#[test]
fn the_report_has_the_agreed_keys() {
    let run = run(folder_with(&small().to_string()).path(), &["rehearse", "job.json"]);
    let report: Value = serde_json::from_str(&run.out).unwrap();
    let keys = |value: &Value| value.as_object().unwrap().keys().cloned().collect::<BTreeSet<String>>();
    assert_eq!(keys(&report), set(&["fanlap_report", "film", "wet", "paint", "time", "colour", "seen", "findings"]));
    let wet = [
        "max_um",
        "times_sag_limit",
        "runs",
        "longest_run_mm",
        "worst_run",
        "worst_gap_s",
        "edge_lost",
        "levels_up_to_mm",
    ];
    assert_eq!(keys(&report["wet"]["tinted"]), set(&wet));
    for paint in ["tinted", "top"] {
        assert_eq!(keys(&report["film"][paint]), set(&["panel", "interior", "edge_band"]));
        for zone in ["panel", "interior", "edge_band"] {
            let spread = &report["film"][paint][zone];
            assert_eq!(keys(spread), set(&["mean_um", "sd_um", "min_um", "max_um"]));
            let [least, mean, most] = ["min_um", "mean_um", "max_um"].map(|key| spread[key].as_f64().unwrap());
            assert!(0.0 < least && least <= mean && mean <= most, "{paint} {zone}: {spread}");
        }
        let account = &report["paint"][paint];
        assert_eq!(keys(account), set(&["sprayed_ml", "on_panel_ml", "off_panel_ml", "lost_in_air_ml"]));
        let [sprayed, on, off, lost] = ["sprayed_ml", "on_panel_ml", "off_panel_ml", "lost_in_air_ml"]
            .map(|key| account[key].as_f64().filter(|volume| *volume > 0.0).unwrap());
        assert!((on + off + lost - sprayed).abs() <= 1e-3 * sprayed, "{account}");
    }
    assert_eq!(keys(&report["time"]), set(&["spraying_s", "total_s"]));
    assert_eq!(keys(&report["colour"]), set(&["target", "mean", "delta_e00"]));
    for sample in ["target", "mean"] {
        let lab = report["colour"][sample]["lab"].as_array().unwrap();
        assert!(lab.len() == 3 && lab.iter().all(Value::is_f64), "{lab:?}");
    }
    assert_eq!(keys(&report["colour"]["delta_e00"]), set(&["mean", "p95", "max"]));
    let seen = &report["seen"];
    assert_eq!(
        keys(seen),
        set(&["distance_m", "eye", "eye_takes", "white_cd_per_m2", "times_threshold", "worst", "looked_from_m"])
    );
    assert_eq!(keys(&seen["times_threshold"]), set(&["mean", "p95", "max"]));
    let worst = ["x_mm", "y_mm", "period_mm", "amplitude_um", "delta_e00", "seen_from_m"];
    assert_eq!(keys(&seen["worst"]), set(&worst));
    assert_eq!((&seen["distance_m"], &seen["eye"], &seen["eye_takes"]), (&json!(1.0), &json!("trained"), &json!(2.0)));
    assert!(report["findings"].is_array(), "looked for, and told as a list even where there are none");
}

/// A job with stripes from its overlap and heavy edges from a pass along the rim.
fn faulty() -> Value {
    job(json!({
        "title": "Two faults (invented)",
        "panel": { "length_mm": 900, "width_mm": 700, "cell_mm": 12 },
        "gun": { "fluid_ml_per_min": 300 },
        "paints": [{ "name": "tinted" }],
        "coats": [{ "overlap": 0.3, "speed_mm_per_s": 223, "edge_pass": true }],
    }))
}

#[test]
fn findings_are_told_by_the_agreed_keys_worst_first() {
    let run = run(folder_with(&faulty().to_string()).path(), &["rehearse", "job.json"]);
    let report: Value = serde_json::from_str(&run.out).unwrap();
    let findings = report["findings"].as_array().unwrap();
    let keys = |value: &Value| value.as_object().unwrap().keys().cloned().collect::<BTreeSet<String>>();
    let agreed = [
        "kind",
        "name",
        "part",
        "paint",
        "x_mm",
        "y_mm",
        "width_mm",
        "height_mm",
        "worst",
        "film_um",
        "delta_e00",
        "times",
        "seen_from_m",
        "limit",
        "cause",
        "also",
        "cure",
    ];
    let kinds: BTreeSet<&str> = findings.iter().map(|finding| finding["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, BTreeSet::from(["striping", "heavy_edge"]));
    let mut before = f64::INFINITY;
    for finding in findings {
        assert_eq!(keys(finding), set(&agreed));
        assert_eq!(keys(&finding["worst"]), set(&["x_mm", "y_mm"]));
        assert_eq!(keys(&finding["cause"]), set(&["setting", "share", "text"]));
        assert_eq!(keys(&finding["cure"]), set(&["set", "text", "times", "left"]));
        assert_eq!(finding["paint"], "tinted");
        let number = |key: &str| finding[key].as_f64().unwrap_or_else(|| panic!("{key}: {finding}"));
        assert!((1.0..=before).contains(&number("times")), "over its limit, worst first: {finding}");
        before = number("times");
        assert!(number("x_mm") >= 0.0 && number("x_mm") + number("width_mm") <= 900.0 + 1e-9, "{finding}");
        assert!(number("y_mm") >= 0.0 && number("y_mm") + number("height_mm") <= 700.0 + 1e-9, "{finding}");
        let share = finding["cause"]["share"].as_f64().unwrap();
        assert!((0.2..=1.0).contains(&share), "{finding}");
        for text in [&finding["limit"], &finding["cause"]["text"], &finding["cure"]["text"]] {
            assert!(text.as_str().unwrap().ends_with('.'), "a sentence: {text}");
        }
    }
}

#[test]
fn a_job_with_a_cures_values_no_longer_has_the_finding() {
    let folder = folder_with(&faulty().to_string());
    let report = |file: &str| -> Value {
        let run = run(folder.path(), &["rehearse", file]);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{file}");
        serde_json::from_str(&run.out).unwrap()
    };
    let sick = report("job.json");
    for (i, finding) in sick["findings"].as_array().unwrap().iter().enumerate() {
        let mut cured = Job::read(&faulty().to_string(), &Files::none()).unwrap();
        for (path, value) in finding["cure"]["set"].as_object().unwrap() {
            cured = cured.with(path, value).unwrap();
        }
        let file = format!("cured-{i}.json");
        fs::write(folder.path().join(&file), cured.text()).unwrap();
        let cured = report(&file);
        let left = cured["findings"].as_array().unwrap();
        let same = |other: &&Value| (&other["kind"], &other["part"]) == (&finding["kind"], &finding["part"]);
        assert_eq!(left.iter().find(same), None);
        assert_eq!(finding["cure"]["left"], json!(left.len()));
    }
}

fn picture(path: &Path) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::BufReader::new(fs::File::open(path).unwrap())).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((frame.color_type, frame.bit_depth), (png::ColorType::Rgba, png::BitDepth::Eight));
    (frame.width, frame.height, pixels)
}

#[test]
fn the_pictures_have_a_pixel_a_cell_and_show_something() {
    let (folder, rehearsal) = both_ways(&small().to_string());
    let drawn = [("film.png", fanlap::picture::film(&rehearsal)), ("paint.png", fanlap::picture::paint(&rehearsal))];
    for (name, expected) in drawn {
        let (across, down, pixels) = picture(&folder.path().join("out").join(name));
        assert_eq!((across, down), (33, 21));
        let colours: BTreeSet<&[u8]> = pixels.chunks(4).collect();
        assert!(colours.len() > 2, "{name} has {} colours", colours.len());
        assert!(colours.iter().all(|colour| colour[3] == 255), "{name} is opaque");
        assert!(pixels == expected.rgba, "{name} is the library's picture");
    }
}

#[test]
fn a_job_without_coats_or_paints_is_rehearsed_too() {
    for lists in [json!({ "coats": [] }), json!({ "coats": [], "paints": [] })] {
        let mut whole = small();
        whole.as_object_mut().unwrap().extend(lists.as_object().unwrap().clone());
        let (folder, rehearsal) = both_ways(&whole.to_string());
        assert!(rehearsal.finished());
        assert_eq!(names(&folder.path().join("out")).len(), 3 + rehearsal.job().paints.len());
    }
}

// Spectra beside the job file

#[test]
fn spectra_are_found_beside_the_job_file_wherever_the_command_runs() {
    let folder = tempfile::tempdir().unwrap();
    let assets = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets");
    for (from, to) in
        [("jobs/door-red.json", "jobs/door.json"), ("paints/ember_absorption.csv", ""), ("paints/ember_ground.csv", "")]
    {
        let to = folder.path().join(if to.is_empty() { from } else { to });
        fs::create_dir_all(to.parent().unwrap()).unwrap();
        fs::copy(assets.join(from), to).unwrap();
    }
    let absolute = folder.path().join("jobs/door.json");
    let from: [(PathBuf, &str); 3] = [
        (folder.path().to_path_buf(), "jobs/door.json"),
        (folder.path().join("jobs"), "door.json"),
        (assets, absolute.to_str().unwrap()),
    ];
    for (here, file) in from {
        let run = run(&here, &["check", file]);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{file}");
        assert!(run.out.contains("ember"), "{}", run.out);
    }
}

#[test]
fn the_examples_give_the_same_report_as_in_the_page() {
    for (file, example_job) in [("bonnet-green.json", &EXAMPLES[0]), ("door-red.json", &EXAMPLES[1])] {
        let run = run(Path::new("."), &["rehearse", example(file).to_str().unwrap()]);
        assert_eq!((run.status, run.err.as_str()), (0, ""));
        // the page hands its job on as text, complete
        let page = Job::read(&example_job.job().text(), &Files::none()).unwrap();
        let printed: Value = serde_json::from_str(&run.out).unwrap();
        // same core, same order of sums
        agree(file, &printed, &serde_json::to_value(report(&rehearse(&page))).unwrap(), 1e-12);
    }
}

// check and inputs

#[test]
fn check_says_in_one_paragraph_what_a_job_means() {
    let folder = folder_with(COMPLETE);
    let run = run(folder.path(), &["check", "job.json"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    assert_eq!(run.out.trim_end().lines().count(), 1, "{}", run.out);
    // 200 mL/min x 0.65 x 0.42 over 500 mm/s x 62.5 mm are 29.12 um
    for part in [
        "Flat test panel, one coat",
        "1400 mm by 1100 mm",
        "flat",
        "62.5 mm apart",
        "29.1 \u{b5}m",
        "35 \u{b5}m",
        "D65",
    ] {
        assert!(run.out.contains(part), "{part} is not in: {}", run.out);
    }
    assert_eq!(names(folder.path()), set(&["job.json"]));
}

#[test]
fn check_stays_on_one_line_whatever_the_title() {
    let folder = folder_with(&job(json!({ "title": "one\ntwo\u{1b}[2J" })).to_string());
    let run = run(folder.path(), &["check", "job.json"]);
    // it may be said on one line or refused on one line
    let said = if run.status == 0 { run.out } else { run.err };
    assert_eq!(said.trim_end().lines().count(), 1, "{said}");
    assert!(!said.contains('\u{1b}'), "a title does not steer the terminal");
}

#[test]
fn inputs_lists_every_path_with_its_limits_and_default() {
    let run = run(Path::new("."), &["inputs"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    for input in INPUTS {
        let line = run.out.lines().find(|line| line.split_whitespace().next() == Some(input.path));
        let line = line.unwrap_or_else(|| panic!("{} is not listed", input.path));
        if let Some(range) = input.range() {
            for part in [format!("{} to {}", range.least, range.most), range.unit.in_file().to_string()] {
                assert!(line.contains(&part), "{part} is not in: {line}");
            }
            let default = input.default_value().unwrap();
            assert!(line.contains(&format!("default {default}")), "{line}");
        }
        assert!(run.out.contains(input.hint), "{}", input.hint);
    }
}

#[test]
fn a_reader_that_has_gone_is_no_fault() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_fanlap"))
        .arg("inputs")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!((done.status.code(), done.stderr.len()), (Some(0), 0));
}

// Spray-outs

/// A small job with a short ladder.
fn with_ladder() -> String {
    let mut whole = small();
    whole["cards"] = json!({ "ladder": [1, 1.5, 2] });
    whole["car"] = json!({ "lab": { "45": [60, -20, 60] } });
    whole.to_string()
}

#[test]
fn cards_without_out_are_printed_and_nothing_is_written() {
    let folder = folder_with(&with_ladder());
    let run = run(folder.path(), &["cards", "job.json"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    let printed: Value = serde_json::from_str(&run.out).unwrap();
    let job = Job::read(&with_ladder(), &Files::none()).unwrap();
    agree("cards", &printed, &serde_json::to_value(fanlap::cards::report(&job)).unwrap(), 1e-12);
    assert_eq!(printed["fanlap_cards"], json!(1));
    assert_eq!(printed["cards"].as_array().unwrap().len(), 3);
    assert_eq!((&printed["compared_with"], &printed["compared_lab"]), (&json!("car"), &json!([60.0, -20.0, 60.0])));
    assert_eq!(names(folder.path()), set(&["job.json"]));
}

#[test]
fn cards_with_out_writes_cards_json_and_a_chosen_card_its_job() {
    let folder = folder_with(&with_ladder());
    let done = run(folder.path(), &["cards", "job.json", "--out", "out"]);
    assert_eq!((done.status, done.out.as_str(), done.err.as_str()), (0, "", ""));
    assert_eq!(names(&folder.path().join("out")), set(&["cards.json"]));
    let written = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    assert_eq!(written("out/cards.json"), run(folder.path(), &["cards", "job.json"]).out);

    let done = run(folder.path(), &["cards", "job.json", "--out", "chosen", "--choose", "1.5"]);
    assert_eq!((done.status, done.out.as_str(), done.err.as_str()), (0, "", ""));
    assert_eq!(names(&folder.path().join("chosen")), set(&["cards.json", "job.json"]));
    assert_eq!(written("chosen/cards.json"), written("out/cards.json"), "of the ladder, not of the choice");
    assert_eq!(written("job.json"), with_ladder(), "the job itself stays");
    let job: Value = serde_json::from_str(&written("chosen/job.json")).unwrap();
    let amounts: Vec<f64> = job["coats"].as_array().unwrap().iter().filter_map(|c| c["amount"].as_f64()).collect();
    assert_eq!((amounts, &job["cards"]["chosen"]), (vec![0.5, 1.0, 1.0], &json!(1.5)), "two of tint, one of clear");

    let rehearsed = run(folder.path(), &["rehearse", "chosen/job.json"]);
    assert_eq!((rehearsed.status, rehearsed.err.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&rehearsed.out).unwrap();
    let film = report["film"]["tinted"]["interior"]["mean_um"].as_f64().unwrap();
    assert!((film / job["target"]["film_um"].as_f64().unwrap() - 1.0).abs() < 0.1, "{film} um: {}", job["target"]);
}

#[test]
fn a_card_that_cannot_be_chosen_is_bad_input_and_nothing_is_written() {
    let folder = folder_with(&with_ladder());
    for (chosen, parts) in [
        ("3", &["cards.chosen", "given 3", "one of the ladder: 1, 1.5, 2", "Choose one of the cards"][..]),
        ("1.25", &["cards.chosen", "given 1.25"]),
        ("NaN", &["cards.chosen", "given NaN"]),
        ("1e12", &["cards.chosen", "given 1000000000000"]),
        ("two", &["two"]),
        ("", &["--choose"]),
    ] {
        let run = run(folder.path(), &["cards", "job.json", "--out", "out", "--choose", chosen]);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{chosen}: {}", run.err);
        assert!(parts.iter().all(|part| run.err.contains(part)), "{parts:?} not in: {}", run.err);
        assert_eq!(names(folder.path()), set(&["job.json"]), "{chosen}");
    }
    let run = run(folder.path(), &["cards", "job.json", "--choose", "1.5"]);
    assert_eq!((run.status, run.err.contains("--out")), (2, true), "{}", run.err);
}

/// A job with cards of the warm red measured at 17 um a coat, and a test card of a fan 280 mm wide.
fn with_readings() -> String {
    let mut job = small();
    let seen = |coats: f64| {
        let (paint, at) = (fanlap::colour::demonstration::ember(), fanlap::units::Degrees(45.0));
        let geometry = fanlap::colour::Geometry::new(at);
        let base = fanlap::colour::Base::Effect(paint.ground_at(at).unwrap());
        let film = fanlap::units::Micrometres(17.0 * coats);
        json!({ "from_nm": 380, "step_nm": 10, "values": base.through(&paint.absorption, film, &geometry).0.to_vec() })
    };
    let card = |coats: f64| {
        let film = if coats == 1.0 { json!(17) } else { Value::Null };
        json!({ "coats": coats, "reflectance": seen(coats), "film_um": film })
    };
    job["measured"] = json!({ "cards": [card(0.0), card(1.0), card(3.0)] });
    let pass = |x: f64| {
        let part = (1.0 - x * x / (140.0 * 140.0)).max(0.0);
        9.0 * part * part.sqrt()
    };
    let readings: Vec<Value> = (-8..=8).map(|i| json!([20 * i, pass(20.0 * f64::from(i))])).collect();
    job["test_card"] = json!({ "distance_mm": 180, "speed_mm_per_s": 500, "readings": readings });
    job.to_string()
}

#[test]
fn tint_fits_measured_cards_and_writes_the_job_that_sprays_the_paint() {
    let folder = folder_with(&with_readings());
    let run_of = |arguments: &[&str]| run(folder.path(), arguments);
    let printed = run_of(&["tint", "job.json"]);
    assert_eq!((printed.status, printed.err.as_str()), (0, ""));
    assert_eq!(names(folder.path()), set(&["job.json"]));
    assert_eq!(run_of(&["tint", "job.json", "--out", "out"]).status, 0);
    assert_eq!(names(&folder.path().join("out")), set(&["job.json", "tint.json"]));
    let read = |name: &str| -> Value {
        serde_json::from_str(&fs::read_to_string(folder.path().join("out").join(name)).unwrap()).unwrap()
    };
    let told = read("tint.json");
    assert_eq!((told["gauged"].as_bool(), told["film_per_coat_um"].as_f64()), (Some(true), Some(17.0)));
    assert!(told["delta_e00"].as_array().unwrap().iter().all(|off| off.as_f64().unwrap() < 0.1), "{told}");
    let job = Job::read(&read("job.json").to_string(), &Files::none()).unwrap();
    let truth = fanlap::colour::demonstration::ember().absorption;
    let found = job.paints[job.tinted().unwrap()].absorption;
    let highest = truth.0.iter().copied().fold(0.0, f64::max);
    // without noise the fit's own smoothness is all that is left: under 1 % of the highest band
    assert!(truth.0.iter().zip(found.0).all(|(a, b)| (a - b).abs() < 0.01 * highest), "{found:?}");
    let none = folder_with(&small().to_string());
    let run = run(none.path(), &["tint", "job.json", "--out", "out"]);
    assert_eq!((run.status, run.err.contains("measured: given nothing")), (2, true), "{}", run.err);
    assert_eq!(names(none.path()), set(&["job.json"]));
}

#[test]
fn gun_fits_the_test_card_and_tells_where_the_runs_hang() {
    let folder = folder_with(&with_readings());
    assert_eq!(run(folder.path(), &["gun", "job.json", "--out", "out"]).status, 0);
    assert_eq!(names(&folder.path().join("out")), set(&["gun.json", "job.json"]));
    let job = Job::read(&fs::read_to_string(folder.path().join("out/job.json")).unwrap(), &Files::none()).unwrap();
    assert!((job.gun.fan_width.0 - 280.0).abs() < 0.5 && (job.gun.pass_exponent - 1.5).abs() < 0.01, "{:?}", job.gun);
    let told: Value = serde_json::from_str(&run(folder.path(), &["gun", "job.json"]).out).unwrap();
    assert_eq!(told["flood"]["profile"].as_array().unwrap().len(), 201);
    assert!(told["fit"]["rms"].as_f64().unwrap() < 0.01, "{}", told["fit"]);
    let without = folder_with(&small().to_string());
    let told: Value = serde_json::from_str(&run(without.path(), &["gun", "job.json"]).out).unwrap();
    assert!(told["fit"].is_null() && told["flood"]["text"].is_string(), "a flood test needs no card");
    let mut few: Value = serde_json::from_str(&with_readings()).unwrap();
    few["test_card"]["readings"] = json!([[0, 3], [10, 2]]);
    let few = folder_with(&few.to_string());
    let run = run(few.path(), &["gun", "job.json", "--out", "out"]);
    assert_eq!((run.status, run.err.contains("test_card.readings")), (2, true), "{}", run.err);
    assert_eq!(names(few.path()), set(&["job.json"]));
}
