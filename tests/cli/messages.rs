//! Exit statuses and messages.

use super::*;

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
fn an_out_folder_that_is_none_is_bad_input() {
    let folder = folder_with(&small().to_string());
    fs::write(folder.path().join("file"), "kept").unwrap();
    fs::create_dir_all(folder.path().join("taken/report.json")).unwrap();
    for out in ["file", "file/out", "taken"] {
        let run = run(folder.path(), &["rehearse", "job.json", "--out", out]);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{out}: {}", run.err);
        assert!(run.err.contains("could not be"), "{}", run.err);
        assert_eq!(run.err.trim_end().lines().count(), 1, "{}", run.err);
    }
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "kept");
}
