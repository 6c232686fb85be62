//! What every command says of a file that it cannot use, whatever lies in its place, and of the files that a job names.

use super::*;

/// What lies in the place of a file, and what must be said of it.
fn odd_files(folder: &Path) -> Vec<(&'static str, &'static str, &'static str)> {
    let text = small().to_string().replace("Small panel", "Kleine Fl\u{e4}che");
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let wide = |mark: &[u8]| [mark, &text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>()].concat();
    let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let wider: Vec<u8> = text.chars().flat_map(|c| (c as u32).to_le_bytes()).collect();
    fs::create_dir(folder.join("folder")).unwrap();
    fs::write(folder.join("latin1"), latin).unwrap();
    fs::write(folder.join("utf16"), wide(&[0xff, 0xfe])).unwrap();
    fs::write(folder.join("utf16be"), [&[0xfe, 0xff], &big[..]].concat()).unwrap();
    fs::write(folder.join("utf16plain"), wide(&[])).unwrap();
    fs::write(folder.join("utf32"), [&[0xff, 0xfe, 0, 0], &wider[..]].concat()).unwrap();
    fs::write(folder.join("large"), vec![b' '; 2_000_001]).unwrap();
    let mut odd = vec![
        ("missing", "No such file", "Check the name"),
        ("folder", "a folder", "Name a file"),
        ("latin1", "line 1 with a letter that is not in UTF-8", "Save it as UTF-8"),
        ("utf16", "UTF-16", "Save it as UTF-8"),
        ("utf16be", "UTF-16", "Save it as UTF-8"),
        ("utf16plain", "zero byte", "Save it as UTF-8"),
        ("utf32", "UTF-32", "Save it as UTF-8"),
        ("large", "2000001 bytes", "up to 2000000 bytes"),
    ];
    if cfg!(unix) {
        let made = Command::new("mkfifo").arg(folder.join("pipe")).status();
        if made.is_ok_and(|status| status.success()) {
            odd.push(("pipe", "a pipe or a device", "Name a file"));
        }
        odd.push(("/dev/zero", "a pipe or a device", "Name a file"));
    }
    odd
}

#[test]
fn every_command_says_what_is_no_file_of_text_and_ends_with_status_2() {
    let folder = folder_with(&small().to_string());
    let odd = odd_files(folder.path());
    assert!(cfg!(not(unix)) || odd.len() == 10, "mkfifo is missing");
    let before = names(folder.path());
    for (file, given, remedy) in odd {
        for arguments in [
            &["check", file][..],
            &["rehearse", file],
            &["rehearse", file, "--out", "out"],
            &["cards", file],
            &["tint", file],
            &["gun", file],
            &["track", file],
            &["track", "job.json", "--csv", file],
            &["track", "job.json", "--csv", file, "--out", "out"],
            &["advise", file],
            &["sheet", file],
        ] {
            let run = run(folder.path(), arguments);
            assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}: {}", run.err);
            assert!(run.err.contains(file) && run.err.contains(given), "{arguments:?}: {}", run.err);
            assert!(run.err.contains(remedy), "{arguments:?}: {}", run.err);
            assert_eq!(run.err.trim_end().lines().count(), 1, "{}", run.err);
        }
        let graded = run(folder.path(), &["grade", file]);
        assert_eq!(graded.status, 2, "{}", graded.err);
        assert!(graded.out.contains("not graded") && graded.err.contains(given), "{}", graded.err);
    }
    assert_eq!(names(folder.path()), before, "nothing is written");
}

#[test]
fn a_byte_order_mark_of_utf_8_does_no_harm() {
    let folder = folder_with(&format!("\u{feff}{}", small()));
    let csv = "\u{feff}t_s,x_mm,y_mm,distance_mm,trigger\n0,-40,100,180,1\n1,370,100,180,0\n";
    fs::write(folder.path().join("track.csv"), csv).unwrap();
    assert_eq!(run(folder.path(), &["check", "job.json"]).status, 0);
    assert_eq!(run(folder.path(), &["track", "job.json", "--csv", "track.csv"]).status, 0);
}

/// A job that names a file, in each of the ways in which it can.
fn naming(file: &str) -> [(&'static str, Value); 5] {
    let named = json!({ "file": file });
    [
        ("paints[0].absorption_per_um", json!({ "paints": [{ "absorption_per_um": named }] })),
        ("ground.reflectance", json!({ "ground": { "reflectance": named } })),
        ("car", json!({ "car": named })),
        ("car.reflectance", json!({ "car": { "reflectance": named } })),
        ("measured", json!({ "measured": named })),
    ]
}

#[test]
fn a_job_names_only_files_beside_it_or_below_and_what_they_hold_is_not_repeated() {
    let folder = tempfile::tempdir().unwrap();
    let (inside, secret) = (folder.path().join("jobs"), "root:x:0:0:password hunter2");
    fs::create_dir_all(inside.join("below")).unwrap();
    for place in ["secret.txt", "jobs/beside.txt", "jobs/below/deeper.txt"] {
        fs::write(folder.path().join(place), format!("{secret}\n\"{secret}\nwavelength_nm,{secret}\n{secret},1\n"))
            .unwrap();
    }
    let absolute = folder.path().join("secret.txt").display().to_string();
    let mut outside = vec![absolute.as_str(), "../secret.txt", "below/../../secret.txt", "below/../beside.txt", ""];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("../secret.txt", inside.join("link.txt")).unwrap();
        std::os::unix::fs::symlink("..", inside.join("way")).unwrap();
        outside.extend(["link.txt", "way/secret.txt"]);
    }
    for file in outside.iter().copied().chain(["beside.txt", "below/deeper.txt"]) {
        for (path, whole) in naming(file) {
            fs::write(inside.join("job.json"), job(whole).to_string()).unwrap();
            for (here, name) in [(folder.path(), "jobs/job.json"), (&inside, "job.json")] {
                let run = run(here, &["check", name]);
                assert_eq!((run.status, run.out.as_str()), (2, ""), "{file}: {}", run.err);
                for word in ["root", "password", "hunter2", "x:0"] {
                    assert!(!run.err.contains(word), "{file} as {path} is repeated: {}", run.err);
                }
                let told_outside = run.err.contains("outside the job's folder");
                assert_eq!(told_outside, outside.contains(&file), "{file}: {}", run.err);
                assert!(!told_outside || run.err.starts_with(&format!("{path}: given ")), "{}", run.err);
            }
        }
    }
}

#[test]
fn a_fault_in_a_file_beside_a_job_is_still_said_where_it_is_a_number() {
    let folder = folder_with(&job(json!({ "car": { "file": "car.csv" } })).to_string());
    let mut table = "wavelength_nm,mine_as45\n".to_string();
    (0..36).for_each(|band| table += &format!("{},{}\n", 380 + 10 * band, if band == 7 { 41.5 } else { 0.4 }));
    fs::write(folder.path().join("car.csv"), &table).unwrap();
    let told = run(folder.path(), &["check", "job.json"]).err;
    assert!(
        told.contains("car.csv, line 9") && told.contains("given 41.5; allowed is reflectance from 0 to 2"),
        "{told}"
    );
    fs::write(folder.path().join("car.csv"), table.replace("390,", "395,")).unwrap();
    let told = run(folder.path(), &["check", "job.json"]).err;
    assert!(told.contains("given 395 nm after 380 nm"), "{told}");
    fs::write(folder.path().join("car.csv"), "name;L;a;b\ndoor;41;many;3\n").unwrap();
    let told = run(folder.path(), &["check", "job.json"]).err;
    assert!(told.contains("given 41 text that is no number 3;"), "{told}");
}

#[test]
fn two_equal_keys_are_refused_by_every_command() {
    let folder = folder_with(r#"{ "fanlap_job": 1, "coats": [{ "overlap": 0.5, "overlap": 0.6 }], "coats": [{}] }"#);
    for command in ["check", "rehearse", "cards", "tint", "gun", "track", "advise", "sheet"] {
        let run = run(folder.path(), &[command, "job.json"]);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{command}");
        assert!(run.err.starts_with("coats[0].overlap: given the key \"overlap\" twice"), "{}", run.err);
    }
}

#[test]
fn a_name_that_turns_the_direction_of_writing_is_written_out() {
    let folder =
        folder_with(&job(json!({ "title": "red\u{202e}neerg", "coats": [{ "paint": "a\u{202e}b" }] })).to_string());
    let told = run(folder.path(), &["check", "job.json"]).err;
    assert!(told.contains("a\\u{202e}b") && !told.contains('\u{202e}'), "{told}");
    let folder = folder_with(&job(json!({ "title": "red\u{202e}neerg" })).to_string());
    let said = run(folder.path(), &["check", "job.json"]).out;
    assert!(said.contains("red\\u{202e}neerg") && !said.contains('\u{202e}'), "{said}");
    let told = run(folder.path(), &["check", "x\u{202e}y.json"]).err;
    assert!(told.contains("x\\u{202e}y.json") && !told.contains('\u{202e}'), "{told}");
}

#[test]
fn the_forms_that_inputs_tells_of_spectra_are_taken() {
    let told = run(Path::new("."), &["inputs"]).out;
    let line = |path: &str| told.lines().find(|line| line.starts_with(path)).unwrap().to_string();
    for path in ["paints[].absorption_per_um", "measured.cards[].reflectance"] {
        let said = line(path);
        assert!(said.contains("[36 numbers") && said.contains("\"values\": [36 numbers]"), "{said}");
    }
    for path in ["paints[].reflectance", "car.reflectance", "ground "] {
        assert!(line(path).contains("\"45\": [36 numbers]"), "{}", line(path));
    }
    let list = vec![0.01; 36];
    for absorption in [json!(list), json!({ "from_nm": 380, "step_nm": 10, "values": list }), json!({ "values": list })]
    {
        let folder = folder_with(&job(json!({ "paints": [{ "absorption_per_um": absorption }] })).to_string());
        assert_eq!(run(folder.path(), &["check", "job.json"]).status, 0);
    }
    // an angle is asked for, not taken
    for table in [json!(list), json!({ "from_nm": 380, "step_nm": 10, "values": list })] {
        let folder = folder_with(&job(json!({ "ground": { "reflectance": table } })).to_string());
        let run = run(folder.path(), &["check", "job.json"]);
        assert_eq!(run.status, 2);
        assert!(run.err.contains("under each angle") && run.err.contains("\"45\": [36 numbers]"), "{}", run.err);
    }
}

#[test]
fn check_tells_of_the_ladder_the_car_and_what_was_measured() {
    let mut whole = small();
    whole["cards"] = json!({ "ladder": [1, 1.5, 3], "chosen": 1.5 });
    whole["car"] = json!({ "lab": { "45": [42, 45, 30], "110": [20, 25, 15] }, "illuminant": "A", "observer_deg": 2 });
    whole["measured"] = json!({ "unequal": true, "cards": [
        { "coats": 0, "lab": [58, 20, 49] }, { "coats": 2.5, "lab": [48, 30, 39] }] });
    whole["test_card"] = json!({ "readings": [[-50, 1], [-20, 8], [0, 10], [20, 8], [40, 3], [60, 0.5]] });
    whole["viewing"] = json!({ "illuminant": "LED-B3", "observer_deg": 2, "distance_m": 3, "eye": "anyone" });
    let folder = folder_with(&whole.to_string());
    let said = run(folder.path(), &["check", "job.json"]);
    assert_eq!((said.status, said.out.trim_end().lines().count()), (0, 1), "{}", said.err);
    for part in [
        "cards of 1, 1.5, 3 coats; the one of 1.5 is chosen",
        "The car is known by L*, a*, b* at 45, 110\u{b0} under A with the 2\u{b0} observer",
        "Cards of 0, 2.5 coats were measured under D65 with the 10\u{b0} observer, the coats perhaps unequal",
        "test card of the gun has 6 readings",
        "judged under LED-B3 at 45\u{b0} with the 2\u{b0} observer, looked at from 3 m by",
    ] {
        assert!(said.out.contains(part), "{part} is not in: {}", said.out);
    }
}
