//! What a command may write over, and that it writes all of its files or none.

use super::*;

/// A job with one coat recorded by a tracker, and its file.
fn with_track() -> TempDir {
    let folder = folder_with(&small().to_string());
    let csv = "t_s,x_mm,y_mm,distance_mm,trigger\n0,-40,100,180,1\n1,370,100,180,0\n";
    fs::write(folder.path().join("track.csv"), csv).unwrap();
    folder
}

/// Everything below a folder, with what is in it.
fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let kind = fs::symlink_metadata(&path).unwrap();
        if kind.is_dir() {
            found.extend(contents(&path));
        }
        let bytes = if kind.is_file() { fs::read(&path).unwrap() } else { Vec::new() };
        found.push((path, bytes));
    }
    found.sort();
    found
}

/// Fails unless a command is refused with status 2 and these words, and nothing has changed.
fn refused(folder: &Path, arguments: &[&str], parts: &[&str]) {
    let before = contents(folder);
    let run = run(folder, arguments);
    assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}: {}", run.err);
    assert_eq!(run.err.trim_end().lines().count(), 1, "{}", run.err);
    let missing: Vec<_> = parts.iter().filter(|part| !run.err.contains(**part)).collect();
    assert!(missing.is_empty(), "{missing:?} not in: {}", run.err);
    assert_eq!(contents(folder), before, "{arguments:?}: nothing has changed");
}

#[test]
fn a_job_that_was_read_is_written_over_only_if_that_is_said() {
    let folder = with_track();
    let mine = fs::read(folder.path().join("job.json")).unwrap();
    for out in [".", "./", "../", "new/.."] {
        // by whatever way the folder is named
        let out = if out == "../" {
            format!("../{}", folder.path().file_name().unwrap().to_str().unwrap())
        } else {
            out.to_string()
        };
        if out == "new/.." {
            fs::create_dir_all(folder.path().join("new")).unwrap();
        }
        let track = ["track", "job.json", "--csv", "track.csv", "--out", &out];
        refused(folder.path(), &track, &["job.json", "the file that was read", "--replace"]);
    }
    let done = run(folder.path(), &["track", "job.json", "--csv", "track.csv", "--out", ".", "--replace"]);
    assert_eq!(done.status, 0, "{}", done.err);
    assert_ne!(fs::read(folder.path().join("job.json")).unwrap(), mine);
    assert_eq!(run(folder.path(), &["check", "job.json"]).status, 0);
    // a file that the job names is a file that was read too
    let folder = folder_with(&job(json!({ "car": { "file": "cards.json" } })).to_string());
    fs::write(folder.path().join("cards.json"), "name,L,a,b\ncar_as45,50,0,0\n").unwrap();
    refused(
        folder.path(),
        &["cards", "job.json", "--out", "."],
        &["cards.json", "the file that was read", "--replace"],
    );
}

#[test]
fn what_this_program_wrote_is_written_again_without_asking() {
    let folder = with_track();
    for _ in 0..2 {
        for command in [&["rehearse"][..], &["cards"], &["gun"], &["sheet"], &["track", "--csv", "track.csv"]] {
            let arguments = [&command[..1], &["job.json"], &command[1..], &["--out", "out"]].concat();
            let done = run(folder.path(), &arguments);
            assert_eq!((done.status, done.out.as_str()), (0, ""), "{arguments:?}: {}", done.err);
            assert!(done.err.starts_with("written: out/"), "{}", done.err);
        }
    }
    let hidden = names(&folder.path().join("out")).into_iter().filter(|name| name.starts_with('.')).count();
    assert_eq!(hidden, 0, "nothing of the way is left");
}

#[cfg(unix)]
#[test]
fn nothing_is_written_through_a_link() {
    use std::os::unix::fs::symlink;
    let folder = with_track();
    let precious = folder.path().join("precious.txt");
    fs::write(&precious, "kept").unwrap();
    fs::create_dir(folder.path().join("out")).unwrap();
    let rehearse = ["rehearse", "job.json", "--out", "out"];
    for target in ["../precious.txt", "../nothing-there"] {
        symlink(target, folder.path().join("out/report.json")).unwrap();
        refused(folder.path(), &rehearse, &["out/report.json", "a link", "--replace"]);
        let done = run(folder.path(), &[&rehearse[..], &["--replace"]].concat());
        assert_eq!(done.status, 0, "{}", done.err);
        assert!(fs::symlink_metadata(folder.path().join("out/report.json")).unwrap().is_file(), "the link gave way");
        assert_eq!(fs::read_to_string(&precious).unwrap(), "kept");
        assert!(!folder.path().join("nothing-there").exists());
        fs::remove_file(folder.path().join("out/report.json")).unwrap();
    }
    // the folder itself
    symlink("out", folder.path().join("way")).unwrap();
    for out in ["way", "way/"] {
        refused(folder.path(), &["rehearse", "job.json", "--out", out], &["a link", "--replace"]);
    }
    assert_eq!(run(folder.path(), &["rehearse", "job.json", "--out", "way", "--replace"]).status, 0);
}

#[test]
fn a_name_that_cannot_be_written_leaves_every_other_file_as_it_was() {
    let folder = with_track();
    assert_eq!(run(folder.path(), &["rehearse", "job.json", "--out", "out"]).status, 0);
    let mut other = small();
    other["coats"][0]["overlap"] = json!(0.3);
    fs::write(folder.path().join("other.json"), other.to_string()).unwrap();
    // the last to be written is a folder, with or without --replace
    fs::remove_file(folder.path().join("out/paint.png")).unwrap();
    fs::create_dir(folder.path().join("out/paint.png")).unwrap();
    for more in [&[][..], &["--replace"]] {
        let arguments = [&["rehearse", "other.json", "--out", "out"], more].concat();
        refused(folder.path(), &arguments, &["out/paint.png", "a folder", "could not be written"]);
    }
    #[cfg(unix)]
    {
        fs::remove_dir(folder.path().join("out/paint.png")).unwrap();
        assert!(Command::new("mkfifo").arg(folder.path().join("out/paint.png")).status().unwrap().success());
        refused(folder.path(), &["rehearse", "other.json", "--out", "out", "--replace"], &["a pipe or a device"]);
    }
}

/// A command under a limit of so many blocks of 512 or 1024 bytes for a file, as a shell gives it: what a full disk does.
#[cfg(unix)]
fn with_small_disk(folder: &Path, command: &str) -> std::process::Output {
    let shell = format!("trap '' XFSZ; ulimit -f 2; exec {} {command}", env!("CARGO_BIN_EXE_fanlap"));
    Command::new("bash").args(["-c", &shell]).current_dir(folder).output().unwrap()
}

#[cfg(unix)]
#[test]
fn a_full_disk_leaves_everything_as_it_was() {
    let folder = with_track();
    assert_eq!(run(folder.path(), &["rehearse", "job.json", "--out", "out"]).status, 0);
    let before = contents(folder.path());
    for command in [
        "rehearse job.json --out out",
        "rehearse job.json --out new/folder",
        "track job.json --csv track.csv --out . --replace",
    ] {
        let done = with_small_disk(folder.path(), command);
        let told = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(1), "{command}: {told}");
        assert!(told.contains("could not be written") && told.lines().count() == 1, "{told}");
        assert!(contents(folder.path()) == before, "{command}: {:?}", names(folder.path()));
    }
}

#[test]
fn a_publication_takes_no_place_that_is_not_its_own() {
    let folder = folder_with("{}");
    fs::write(folder.path().join("letter.html"), "<p>Dear").unwrap();
    let before = names(folder.path());
    let places: [&[&str]; 4] = [&["."], &["job.json"], &["--one-file", "letter.html"], &["--one-file", "page.txt"]];
    for place in places {
        let run = run(folder.path(), &[&["publish"], place].concat());
        // it is told before anything is built
        assert!(run.status == 2 && run.out.is_empty() && run.err.lines().count() == 1, "{place:?}: {}", run.err);
        assert!(run.err.contains("allowed is"), "{place:?}: {}", run.err);
    }
    assert_eq!(names(folder.path()), before);
    assert_eq!(fs::read_to_string(folder.path().join("letter.html")).unwrap(), "<p>Dear");
}

#[test]
fn a_folder_without_a_page_is_not_served() {
    let folder = folder_with("{}");
    let run = run(folder.path(), &["--www", ".", "--no-open", "--port", "0"]);
    assert!(run.status == 1 && run.err.contains("index.html is missing"), "{}", run.err);
}
