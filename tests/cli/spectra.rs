//! Spectra beside the job file.

use super::*;
use fanlap::appraisal::appraise;

// Spectra beside the job file

#[test]
fn spectra_are_found_beside_the_job_file_wherever_the_command_runs() {
    let folder = tempfile::tempdir().unwrap();
    let assets = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("assets");
    for (from, to) in [
        ("jobs/door-red.json", "jobs/door.json"),
        ("jobs/paints/ember_absorption.csv", ""),
        ("jobs/paints/ember_ground.csv", ""),
    ] {
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
        agree(file, &printed, &serde_json::to_value(in_full(&appraise(&page))).unwrap(), 1e-12);
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
