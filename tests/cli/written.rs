//! What is written.

use super::*;

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
        assert_eq!(run.status, 0, "{first}, {second}: {}", run.err);
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

#[test]
fn the_report_is_the_librarys() {
    for text in [small().to_string(), COMPLETE.replace("\"cell_mm\": 4", "\"cell_mm\": 20")] {
        let (folder, rehearsal) = both_ways(&text);
        let written = fs::read_to_string(folder.path().join("out/report.json")).unwrap();
        let written: Value = serde_json::from_str(&written).unwrap();
        agree("report", &written, &serde_json::to_value(in_full(&Appraisal::of(rehearsal))).unwrap(), 1e-12);
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
        "near_limit",
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
    let worst = ["x_mm", "y_mm", "period_mm", "paint", "amplitude_um", "delta_e00", "seen_from_m"];
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
        "coats": [{ "overlap": 0.3, "speed_mm_per_s": 223, "edge_pass": true, "margin_mm": 50 }],
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
    let appraisal = Appraisal::of(rehearsal);
    let drawn = [("film.png", fanlap::picture::film(&appraisal)), ("paint.png", fanlap::picture::paint(&appraisal))];
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
