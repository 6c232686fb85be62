//! The file as a text, and what only the whole job can tell.

use super::*;
use fanlap::appraisal::appraise;

// The file

#[test]
fn the_version_must_be_there_and_known() {
    let problem = refused(&json!({ "title": "x" }));
    assert_eq!((problem.at.as_str(), problem.allowed.as_str()), ("fanlap_job", "1"));
    for version in [json!(0), json!(2), json!(-1), json!("1"), json!(null), json!(1e30), json!([1])] {
        let problem = refused(&json!({ "fanlap_job": version }));
        assert_eq!((problem.at.as_str(), problem.allowed.as_str()), ("fanlap_job", "1"));
        assert_eq!(problem.given, version.to_string());
    }
}

#[test]
fn broken_json_is_refused_with_line_and_column() {
    for (text, at) in [
        ("", "line 1, column 0"),
        ("{\n  \"fanlap_job\": 1,\n}", "line 3, column 1"),
        ("{ \"fanlap_job\": 1 } x", "line 1, column 21"),
        ("{ 'fanlap_job': 1 }", "line 1, column 3"),
        ("{ \"fanlap_job\": 1, // one\n }", "line 1, column 20"),
        ("{ \"fanlap_job\": NaN }", "line 1, column 17"),
        ("{ \"fanlap_job\": 1, \"coats\": [", "line 1, column 29"),
    ] {
        assert_eq!(refused_text(text).at, at, "{text}");
    }
}

#[test]
fn two_equal_keys_are_refused_with_their_place() {
    for (text, at, given) in [
        (r#"{ "fanlap_job": 1, "coats": [{}], "coats": [] }"#, "coats", "the key \"coats\" twice"),
        (r#"{ "fanlap_job": 1, "fanlap_job": 1 }"#, "fanlap_job", "the key \"fanlap_job\" twice"),
        (r#"{ "fanlap_job": 1, "gun": { "fan_width_mm": 250, "fan_width_mm": 400 } }"#, "gun.fan_width_mm", "twice"),
        (r#"{ "fanlap_job": 1, "coats": [{}, { "overlap": 0.5, "over\u006cap": 0.6 }] }"#, "coats[1].overlap", "twice"),
        (r#"{ "fanlap_job": 1, "car": { "lab": { "45": [1, 2, 3], "45": [1, 2, 3] } } }"#, "car.lab.45", "twice"),
    ] {
        let problem = refused_text(text);
        assert_eq!(problem.at, at, "{problem}");
        assert!(problem.given.contains(given) && problem.allowed == "every key once", "{problem}");
        let link = fanlap::job::pack(text);
        assert_eq!(Job::from_link(&link).unwrap_err(), problem, "a link is read like a file");
    }
}

#[test]
fn what_would_turn_or_hide_the_text_of_a_message_is_written_out() {
    let problem = refused(&only("coats", json!([{ "paint": "red\u{202e}neerg\u{2066}\u{200b}" }])));
    assert_eq!(problem.given, "red\\u{202e}neerg\\u{2066}\\u{200b}");
    assert_eq!(refused(&json!({ "fanlap_job": 1, "a\u{1b}[2J": 1 })).at, "a\\u{1b}[2J");
}

#[test]
fn numbers_that_are_none_or_too_large_for_any_are_refused() {
    for number in ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "0x10", "01", "1.", "+1", ".5"] {
        let problem = refused_text(&format!("{{ \"fanlap_job\": 1, \"panel\": {{ \"cell_mm\": {number} }} }}"));
        assert!(problem.at.starts_with("line 1, column "), "{number}: {problem}");
    }
    for number in ["1e308", "-1e308", "123456789012345678901234567890", "18446744073709551616"] {
        let problem = refused_text(&format!("{{ \"fanlap_job\": 1, \"panel\": {{ \"cell_mm\": {number} }} }}"));
        assert_eq!(problem.at, "panel.cell_mm");
    }
}

#[test]
fn minus_zero_is_zero() {
    let text =
        r#"{ "fanlap_job": 1, "panel": { "crown_along_mm": -0.0 }, "coats": [ { "overlap": -0.0, "shift": -0 } ] }"#;
    let job = Job::read(text, &Files::none()).unwrap();
    let plain = accepted(&job_with_zeros());
    assert_eq!(job, plain);
    assert_eq!(Job::from_link(&job.link()).unwrap(), plain);
    assert!(fanlap::words::meaning(&job) == fanlap::words::meaning(&plain));
}

fn job_with_zeros() -> Value {
    job(json!({ "panel": { "crown_along_mm": 0 }, "coats": [ { "overlap": 0, "shift": 0 } ] }))
}

#[test]
fn a_byte_order_mark_does_not_matter() {
    let marked = format!("\u{feff}{COMPLETE}");
    assert_eq!(Job::read(&marked, &Files::none()), Job::read(COMPLETE, &Files::none()));
}

#[test]
fn a_file_too_large_is_refused_at_once() {
    let text = format!("{{ \"fanlap_job\": 1, \"title\": \"{}\" }}", "a".repeat(40_000_000));
    let problem = within(5, "a file of 40 MB", move || refused_text(&text));
    assert_eq!(problem.at, "job file");
    assert!(problem.allowed.contains("2000000 bytes"), "{problem}");
}

#[test]
fn deep_nesting_is_refused_and_does_not_exhaust_the_stack() {
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        for depth in [200, 300_000] {
            let inner = format!("{}1{}", open.repeat(depth), close.repeat(depth));
            refused_text(&inner);
            refused_text(&format!("{{ \"fanlap_job\": 1, \"panel\": {inner} }}"));
            refused_text(&open.repeat(depth));
        }
    }
}

#[test]
fn sections_and_lists_of_the_wrong_shape_are_refused_by_name() {
    for text in ["[]", "1", "null", "\"fanlap_job\""] {
        assert_eq!(refused_text(text).at, "job file");
    }
    for name in ["panel", "gun", "viewing", "hand", "target", "paints", "coats"] {
        for given in [json!(null), json!(3), json!("x"), json!(true)] {
            let problem = refused(&only(name, given.clone()));
            assert_eq!((problem.at.as_str(), problem.given), (name, given.to_string()));
        }
    }
    for name in ["paints", "coats"] {
        assert_eq!(refused(&only(name, json!([{}, 5]))).at, format!("{name}[1]"));
        assert_eq!(refused(&only(name, json!({}))).at, name);
    }
    for name in ["panel", "gun", "viewing", "hand", "target"] {
        assert_eq!(refused(&only(name, json!([]))).at, name);
    }
}

// What only the whole job can tell

#[test]
fn nothing_given_is_the_default_job() {
    let empty = json!({ "panel": {}, "gun": {}, "viewing": {}, "hand": {}, "target": {}, "paints": [{}], "coats": [] });
    assert_eq!(accepted(&job(empty)), Job::default());
    assert_eq!(accepted(&json!({ "fanlap_job": 1 })), Job::default());
    assert!(Job::default().coats.is_empty() && Job::default().paints.len() == 1);
}

#[test]
fn empty_lists_are_a_job_of_which_nothing_is_sprayed() {
    let job = accepted(&job(json!({ "paints": [], "coats": [] })));
    assert_eq!((job.tinted(), job.paints.len()), (None, 0));
    assert_eq!(Job::from_link(&job.link()).unwrap(), job);
    assert!(fanlap::words::meaning(&job).contains("no coats"));
    let report = report(&appraise(&job));
    assert!(report.film.is_empty() && report.time.total_s == 0.0);
}

#[test]
fn a_coat_of_an_unknown_paint_is_refused_with_the_known_names() {
    let whole = job(json!({ "paints": [{ "name": "kelp" }, { "name": "top", "role": "clear" }],
                            "coats": [{ "paint": "kelp" }, { "paint": "ember" }] }));
    let problem = refused(&whole);
    assert_eq!((problem.at.as_str(), problem.given.as_str()), ("coats[1].paint", "ember"));
    assert_eq!(problem.allowed, "kelp, top");
    assert_eq!(refused(&job(json!({ "paints": [], "coats": [{}] }))).at, "coats[0].paint");
}

#[test]
fn two_paints_of_one_name_are_refused() {
    let problem = refused(&job(json!({ "paints": [{}, { "role": "clear" }] })));
    assert_eq!((problem.at.as_str(), problem.given.as_str()), ("paints[1].name", "tinted"));
}

#[test]
fn two_tinted_clears_are_refused_with_the_reason() {
    let problem = refused(&job(json!({ "paints": [{}, { "name": "second" }] })));
    assert_eq!(problem.at, "paints");
    assert!(problem.remedy.contains("not computed in this version"), "{problem}");
}

#[test]
fn a_gun_that_would_touch_the_panel_is_refused() {
    let whole = |distance: f64, error: f64| {
        job(json!({ "coats": [{}, { "distance_mm": distance }], "hand": { "distance_error_mm": error } }))
    };
    let problem = refused(&whole(50.0, -20.5));
    assert_eq!(problem.at, "coats[1].distance_mm");
    assert!(problem.allowed.contains("30 mm"), "{problem}");
    accepted(&whole(50.0, -20.0));
}

#[test]
fn a_rim_without_room_or_with_cells_too_coarse_is_refused() {
    let rolled = |panel: Value| job(json!({ "panel": panel }));
    // a third of the radius is the coarsest cell: an exact 4 mm under 12 mm
    accepted(&rolled(json!({ "rim_radius_mm": 12, "cell_mm": 4 })));
    let problem = refused(&rolled(json!({ "rim_radius_mm": 11.9, "cell_mm": 4 })));
    assert_eq!(problem.at, "panel.cell_mm");
    assert!(problem.allowed.contains("3.97 mm") && problem.given.contains("11.9"), "{problem}");
    // 100 mm through 60 degrees take 86.6 mm of each side
    let small = |width: f64| rolled(json!({ "rim_radius_mm": 100, "width_mm": width, "length_mm": 600 }));
    accepted(&small(174.0));
    let problem = refused(&small(173.0));
    assert_eq!(problem.at, "panel.rim_radius_mm");
    assert!(problem.given.contains("86.6 mm") && problem.allowed.contains("86.5 mm"), "{problem}");
    // a slope of tan 60 degrees and a crown that falls by 4 x 200 / 400 at the edge are 75 degrees
    let steep =
        |angle: f64| rolled(json!({ "rim_radius_mm": 20, "rim_deg": angle, "width_mm": 400, "crown_across_mm": 200 }));
    accepted(&steep(60.0));
    assert_eq!(refused(&steep(60.5)).at, "panel.rim_deg");
}

#[test]
fn what_strays_at_random_and_a_rolled_rim_are_said_in_words() {
    let said = |whole: Value| fanlap::words::meaning(&accepted(&job(whole)));
    let steady = said(json!({ "hand": { "seed": 7 } }));
    assert!(!steady.contains("random") && !steady.contains("errs") && !steady.contains("rolled"), "{steady}");
    let hand = json!({ "distance_sd_mm": 15, "speed_sd": 0.1, "angle_sd_deg": 5, "heel_deg": 8, "seed": 7 });
    let astray = said(json!({ "hand": hand, "panel": { "rim_radius_mm": 15 } }));
    for words in [
        "heel 8\u{b0}",
        "distance drift \u{b1}15 mm",
        "speed drift \u{b1}10 %",
        "angle drift \u{b1}5\u{b0}",
        "at random, hand 7",
        "edges rolled down by 60\u{b0} with a radius of 15 mm",
    ] {
        assert!(astray.contains(words), "{words} is missing in: {astray}");
    }
}

#[test]
fn an_angle_at_which_the_ground_was_not_measured_is_refused() {
    let mut whole: Value = serde_json::from_str(COMPLETE).unwrap();
    for angle in [25, 75] {
        whole["viewing"]["aspecular_deg"] = json!(angle);
        let problem = refused(&whole);
        assert_eq!((problem.at.as_str(), problem.given), ("viewing.aspecular_deg", angle.to_string()));
        assert_eq!(problem.allowed, "15, 45, 110");
    }
}

#[test]
fn the_target_is_a_film_or_a_colour() {
    let both = refused(&only("target", json!({ "film_um": 35, "lab": [50, 0, 0] })));
    assert_eq!((both.at.as_str(), both.allowed.as_str()), ("target", "one of them"));
    let lab = only("target", json!({ "lab": [50, -12.5, 200] }));
    assert!(same(&accepted(&lab).value()["target"], &lab["target"]));
    for given in
        [json!([50, 0]), json!([50, 0, 0, 0]), json!([50, "a", 0]), json!([-1, 0, 0]), json!([50, 201, 0]), json!(null)]
    {
        let problem = refused(&only("target.lab", given.clone()));
        assert_eq!((problem.at.as_str(), problem.given), ("target.lab", given.to_string()));
    }
    assert_eq!(refused(&only("target.film_um", json!(0))).at, "target.film_um");
}
