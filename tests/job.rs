//! Job files: what is read, what is refused and in which words, the link, and changing one value. Does not rehearse,
//! except to see that what was accepted can be planned within the limits.

#[path = "data/jobs/mod.rs"]
mod data;

use data::{COMPLETE, Dice, accepted, complete, first, job, numbers, only, put, read, refused, remove, sound, within};
use fanlap::error::Problem;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::{INPUTS, Kind, Range, input, plain_number, section};
use fanlap::job::{ANGLES, Files, Job, LIMITS};
use fanlap::rehearsal::{Rehearsal, rehearse};
use fanlap::report::report;
use serde_json::{Map, Value, json};

fn refused_text(text: &str) -> Problem {
    sound(Job::read(text, &Files::none()).expect_err("refused"))
}

/// Whether two JSON values say the same, 1400 or 1400.0.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(key, value)| b.get(key).is_some_and(|other| same(value, other)))
        }
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Number(a), Value::Number(b)) => a.as_f64() == b.as_f64(),
        _ => a == b,
    }
}

// The table of inputs

/// A job file in which an input may take every one of its own values: what only the whole job refuses is set aside.
fn room_for(path: &str, value: Value) -> Value {
    let mut whole = only(&first(path), value);
    if path == "panel.cell_mm" {
        // a cell of 1 mm makes too many cells of the default panel
        put(&mut whole, "panel.length_mm", json!(1000));
    }
    if path == "paints[].name" {
        // the default coat's paint is called by its default name
        whole["coats"] = json!([]);
    }
    whole
}

#[test]
fn every_default_is_accepted_and_is_what_a_missing_key_takes() {
    for input in INPUTS {
        let Some(default) = input.default_value() else { continue };
        let path = first(input.path);
        let given = accepted(&room_for(input.path, default.clone())).get(&path).unwrap();
        assert!(same(&given, &default), "{path}: {given}, default {default}");
        let mut without = room_for(input.path, default.clone());
        remove(&mut without, &path);
        let missing = accepted(&without).get(&path).unwrap();
        assert!(same(&missing, &default), "{path}: {missing}, default {default}");
    }
}

#[test]
fn the_least_and_the_most_of_every_number_are_accepted() {
    for (input, range) in numbers() {
        for limit in [range.least, range.most] {
            for written in [plain_number(limit), json!(limit)] {
                let job = accepted(&room_for(input.path, written.clone()));
                let kept = job.get(&first(input.path)).unwrap();
                assert!(same(&kept, &written), "{}: {written} became {kept}", input.path);
            }
        }
    }
}

fn says_the_limits(problem: &Problem, range: &Range) {
    for part in [&format!("{}", range.least), &format!("{}", range.most), range.unit.in_file()] {
        assert!(problem.allowed.contains(part), "{part} is missing in: {problem}");
    }
}

#[test]
fn a_number_just_outside_is_refused_with_its_path_its_value_the_limits_and_a_remedy() {
    for (input, range) in numbers() {
        let path = first(input.path);
        let outside =
            [range.least.next_down(), range.most.next_up(), range.least - 1.0, range.most + 1.0, -1e300, 1e300];
        for given in outside.map(|number| json!(number)) {
            let problem = refused(&room_for(input.path, given.clone()));
            assert_eq!(problem.at, path);
            assert_eq!(problem.given, given.to_string());
            says_the_limits(&problem, range);
            // a value that cannot be changed in this version explains itself instead
            let named = range.least == range.most || problem.remedy.contains(input.name);
            assert!(named, "{path}: {}", problem.remedy);
        }
    }
}

fn takes_a_list(path: &str) -> bool {
    ["cards.ladder", "measured.cards", "test_card.readings"].contains(&path)
}

#[test]
fn every_input_refuses_values_of_another_type() {
    for input in INPUTS {
        let path = first(input.path);
        for given in [json!(null), json!("10"), json!(true), json!([1]), json!({}), json!(7.5)] {
            let suits = match input.kind {
                Kind::Number(range) => given.is_number() || (given.is_null() && range.none.is_some()),
                Kind::Choice(..) => false,
                Kind::Flag(_) => given.is_boolean(),
                Kind::Text(_) => given.is_string(),
                // the forms have tests of their own; nothing given is the demonstration paint, or nothing measured
                Kind::Form(_) => given.is_object() || given.is_null() || (given.is_array() && takes_a_list(input.path)),
            };
            if !suits {
                let problem = refused(&room_for(input.path, given.clone()));
                assert_eq!((problem.at, problem.given), (path.clone(), given.to_string()));
            }
        }
    }
}

#[test]
fn every_choice_is_accepted_and_others_are_refused_with_all_choices() {
    for input in INPUTS {
        let Kind::Choice(options, _) = input.kind else { continue };
        for (written, _) in options {
            let value: Value = serde_json::from_str(written).unwrap();
            let job = accepted(&room_for(input.path, value.clone()));
            assert!(same(&job.get(&first(input.path)).unwrap(), &value), "{} {value}", input.path);
        }
        let problem = refused(&room_for(input.path, json!("purple")));
        assert_eq!((problem.at, problem.given), (first(input.path), "\"purple\"".to_string()));
        assert!(options.iter().all(|(written, _)| problem.allowed.contains(written)), "{}", problem.allowed);
    }
}

#[test]
fn a_whole_number_may_be_written_with_a_point() {
    assert_eq!(accepted(&only("hand.seed", json!(7.0))).hand.seed, 7);
    assert_eq!(accepted(&only("viewing.observer_deg", json!(2.0))).viewing.observer_deg, 2);
    assert_eq!(accepted(&only("viewing.aspecular_deg", json!(15.0))).viewing.aspecular.0, 15.0);
    assert_eq!(refused(&only("hand.seed", json!(7.5))).at, "hand.seed");
}

#[test]
fn a_text_has_1_to_200_characters() {
    for path in ["title", "paints[].name"] {
        accepted(&room_for(path, json!("\u{fc}".repeat(200))));
        for given in ["".to_string(), "  \t".to_string(), "a".repeat(201), "a".repeat(100_000)] {
            let problem = refused(&room_for(path, json!(given)));
            assert_eq!(problem.at, first(path));
            assert!(problem.allowed.contains("1 to 200"), "{problem}");
        }
    }
}

#[test]
fn null_is_only_for_what_says_so() {
    assert_eq!(accepted(&only("gun.transfer_falls_over_mm", json!(null))).gun.transfer_falls_over, None);
    let problem = refused(&only("gun.transfer_falls_over_mm", json!(1)));
    assert!(problem.allowed.contains("or null"), "{problem}");
}

#[test]
fn the_table_is_sound() {
    for (i, input) in INPUTS.iter().enumerate() {
        assert!(INPUTS[..i].iter().all(|other| other.path != input.path), "{} twice", input.path);
        assert!(input.hint.ends_with('.') && !input.name.is_empty(), "{}", input.path);
        let Some(range) = input.range() else { continue };
        let nothing = range.default.is_nan() && range.none.is_some();
        assert!(nothing || (range.least <= range.default && range.default <= range.most), "{}", input.path);
        assert!(range.step > 0.0, "{}", input.path);
        assert!(range.usual.is_none_or(|(low, high)| range.least <= low && low < high && high <= range.most));
        assert!(range.marks.windows(2).all(|pair| pair[0] < pair[1]), "{}", input.path);
        assert!(range.marks.iter().all(|mark| (range.least..=range.most).contains(mark)), "{}", input.path);
    }
    assert_eq!(input("coats[17].overlap").unwrap().path, "coats[].overlap");
    assert!(input("coats[0].overlapp").is_none() && input("").is_none() && input("coats[").is_none());
    assert_eq!(section("coats[]").count(), 15);
}

// Keys

#[test]
fn an_unknown_key_is_refused_by_name_at_every_level() {
    for path in [
        "colour_of_the_booth",
        "panel.colour_of_the_booth",
        "gun.colour_of_the_booth",
        "paints[0].colour_of_the_booth",
        "paints[0].absorption_per_um.colour_of_the_booth",
        "ground.colour_of_the_booth",
        "target.colour_of_the_booth",
        "viewing.colour_of_the_booth",
        "coats[0].colour_of_the_booth",
        "hand.colour_of_the_booth",
        "cards.colour_of_the_booth",
        "car.colour_of_the_booth",
        "measured.colour_of_the_booth",
        "measured.cards[0].colour_of_the_booth",
        "test_card.colour_of_the_booth",
    ] {
        let problem = refused(&only(path, json!(1)));
        assert_eq!(problem.at, path);
        assert!(!problem.remedy.contains("Did you mean"), "nothing is near: {problem}");
    }
    let problem = refused(&only("ground", json!({ "kind": "effect", "reflectance": { "46": [] } })));
    assert_eq!(problem.at, "ground.reflectance.46");
    let job = job(json!({ "coats": [{}, {}, { "overlapp": 0.5 }] }));
    assert_eq!(refused(&job).at, "coats[2].overlapp");
}

#[test]
fn a_misspelt_key_of_the_table_is_answered_with_the_right_one() {
    for input in INPUTS.iter().filter(|input| input.path.contains('.')) {
        for misspelt in
            [format!("{}x", first(input.path)), first(input.path.trim_end_matches(input.key())) + &input.key()[1..]]
        {
            let problem = refused(&only(&misspelt, json!(1)));
            assert_eq!((problem.at, problem.remedy), (misspelt, format!("Did you mean {}?", input.key())));
        }
    }
}

#[test]
fn a_misspelt_section_is_answered_with_the_right_one() {
    let known = ["title", "panel", "paints", "ground", "target", "viewing", "coats", "hand"];
    for known in known.into_iter().chain(["cards", "car", "measured", "test_card"]) {
        for misspelt in [format!("{known}x"), known[1..].to_string()] {
            let problem = refused(&only(&misspelt, json!({})));
            assert_eq!((problem.at, problem.remedy), (misspelt, format!("Did you mean {known}?")));
        }
    }
}

#[test]
fn a_key_in_the_wrong_section_is_not_answered_with_itself() {
    let problem = refused(&only("panel.speed_mm_per_s", json!(300)));
    assert_eq!(problem.at, "panel.speed_mm_per_s");
    assert_ne!(problem.remedy, "Did you mean speed_mm_per_s?");
}

#[test]
fn a_very_long_key_makes_a_short_message_soon() {
    let text = format!("{{\"fanlap_job\":1,\"{}\":1}}", "k".repeat(1_900_000));
    within(10, "a key of 1.9 million letters", move || refused_text(&text));
}

#[test]
fn no_value_however_long_makes_a_long_message() {
    let long = json!("k".repeat(5000));
    for path in [
        "fanlap_job",
        "title",
        "panel",
        "panel.cell_mm",
        "viewing.eye",
        "paints[0].role",
        "paints[0].absorption_per_um",
        "paints[0].absorption_per_um.file",
        "paints[0].absorption_per_um.from_nm",
        "ground",
        "ground.kind",
        "target",
        "target.lab",
        "coats",
        "coats[0].edge_pass",
        "cards.ladder",
        "cards.sticker",
        "car",
        "car.lab",
        "car.reflectance",
        "car.reflectance.file",
        "measured",
        "measured.cards",
        "measured.cards[0].lab",
        "test_card.readings",
    ] {
        assert!(path.starts_with(&refused(&only(path, long.clone())).at));
    }
    let reflectance = json!({ "45": [1], "k".repeat(5000): [1] });
    refused(&only("ground", json!({ "kind": "effect", "reflectance": reflectance })));
    let paints: Vec<Value> = (0..20).map(|i| json!({ "name": format!("{i:0>200}"), "role": "clear" })).collect();
    refused(&job(json!({ "paints": paints, "coats": [{}] })));
}

#[test]
fn a_message_stays_on_one_line_whatever_was_given() {
    for text in ["a\nb", "a\u{1b}[31mb", "a\u{7}b"] {
        refused(&only(text, json!(1)));
        refused(&only("ground.kind", json!(text)));
        refused(&only("coats[0].paint", json!(text)));
        refused(&only("paints[0].absorption_per_um.file", json!(text)));
    }
}

#[test]
fn of_a_key_given_twice_the_last_counts() {
    let job = Job::read(r#"{ "fanlap_job": 1, "panel": { "cell_mm": 5, "cell_mm": 6 } }"#, &Files::none()).unwrap();
    assert_eq!(job.panel.cell.0, 6.0);
    let text = r#"{ "fanlap_job": 1, "panel": { "cell_mm": 5, "cell_mm": 60 } }"#;
    assert_eq!(refused_text(text).at, "panel.cell_mm");
}

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
    let report = report(&rehearse(&job));
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
    // 75 degrees and a crown that falls by 4 x 300 / 400 at the edge: steeper than 80 degrees
    let steep =
        |angle: f64| rolled(json!({ "rim_radius_mm": 20, "rim_deg": angle, "width_mm": 400, "crown_across_mm": 300 }));
    accepted(&steep(65.0));
    assert_eq!(refused(&steep(75.0)).at, "panel.rim_deg");
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

// Spectra

const ABSORPTION: &str = "paints[0].absorption_per_um";

fn spectrum(values: Vec<f64>) -> Value {
    json!({ "from_nm": 380, "step_nm": 10, "values": values })
}

fn ground(values: Vec<f64>) -> Value {
    only("ground", json!({ "kind": "effect", "reflectance": { "from_nm": 380, "step_nm": 10, "45": values } }))
}

#[test]
fn a_spectrum_has_36_numbers() {
    for count in [0, 35, 37] {
        let problem = refused(&only(ABSORPTION, spectrum(vec![0.1; count])));
        assert_eq!((problem.at, problem.given), (format!("{ABSORPTION}.values"), format!("{count} entries")));
        assert!(problem.allowed.contains("36 numbers") && problem.allowed.contains("380 to 730 nm"));
        assert_eq!(refused(&ground(vec![0.1; count])).at, "ground.reflectance.45");
    }
    let mut words = spectrum(vec![0.1; 36]);
    words["values"][35] = json!("0.1");
    assert_eq!(refused(&only(ABSORPTION, words)).at, format!("{ABSORPTION}.values"));
}

#[test]
fn a_spectrum_below_zero_or_on_a_scale_of_100_is_refused_with_its_wavelength() {
    let with = |value: f64| {
        let mut values = vec![0.1; 36];
        values[7] = value;
        values
    };
    for (value, given) in [(-0.001, "-0.001 at 450 nm"), (1.001, "1.001 at 450 nm"), (63.0, "63 at 450 nm")] {
        let problem = refused(&only(ABSORPTION, spectrum(with(value))));
        assert_eq!((problem.at.as_str(), problem.given.as_str()), (&*format!("{ABSORPTION}.values"), given));
        assert!(problem.remedy.contains("not 100"), "{problem}");
    }
    accepted(&ground(with(1.8)));
    for value in [-0.001, 20.1, 63.0] {
        let problem = refused(&ground(with(value)));
        assert_eq!((problem.at.as_str(), problem.given), ("ground.reflectance.45", format!("{value} at 450 nm")));
    }
}

#[test]
fn a_spectrum_on_other_wavelengths_is_refused() {
    for (key, given) in [("from_nm", json!(400)), ("step_nm", json!(20)), ("step_nm", json!("10"))] {
        let mut other = spectrum(vec![0.1; 36]);
        other[key] = given.clone();
        let problem = refused(&only(ABSORPTION, other));
        assert_eq!(
            (problem.at.as_str(), problem.given.as_str()),
            (&*format!("{ABSORPTION}.{key}"), &*given.to_string())
        );
        assert!(problem.allowed.ends_with(" nm"), "{problem}");
        let mut other = ground(vec![0.1; 36]);
        other["ground"]["reflectance"][key] = given;
        assert_eq!(refused(&other).at, format!("ground.reflectance.{key}"));
    }
    let short = only(ABSORPTION, json!({ "values": vec![0.1; 36] }));
    assert_eq!(accepted(&short), accepted(&only(ABSORPTION, spectrum(vec![0.1; 36]))));
}

#[test]
fn a_ground_needs_its_45_degrees_and_known_angles() {
    let grounds = |angles: Value| only("ground", json!({ "kind": "effect", "reflectance": angles }));
    let problem = refused(&grounds(json!({ "15": vec![0.5; 36] })));
    assert_eq!(problem.at, "ground.reflectance");
    assert!(problem.remedy.contains("45"), "{problem}");
    let problem = refused(&grounds(json!({ "45": vec![0.5; 36], "60": vec![0.5; 36] })));
    assert_eq!((problem.at.as_str(), problem.given.as_str()), ("ground.reflectance.60", "60"));
    let job = accepted(&grounds(json!({ "110": vec![0.1; 36], "-15": vec![0.9; 36], "45": vec![0.5; 36] })));
    assert_eq!(job.ground.reflectance.0.iter().map(|(angle, _)| angle.0).collect::<Vec<_>>(), [-15.0, 45.0, 110.0]);
}

#[test]
fn a_missing_part_of_the_ground_takes_its_default() {
    for ground in [json!({}), json!({ "kind": "effect" })] {
        assert_eq!(accepted(&only("ground", ground)), Job::default());
    }
    let reflectance = json!({ "45": vec![0.5; 36] });
    let job = accepted(&only("ground", json!({ "reflectance": reflectance })));
    assert_eq!(job.ground.reflectance.0.len(), 1);
}

#[test]
fn a_ground_of_another_kind_is_refused() {
    for kind in ["pearl", "mirror"] {
        let problem = refused(&only("ground", json!({ "kind": kind, "reflectance": { "45": vec![0.5; 36] } })));
        assert_eq!((problem.at.as_str(), problem.given), ("ground.kind", format!("\"{kind}\"")));
        assert_eq!(problem.allowed, "\"effect\" or \"solid\"");
    }
}

#[test]
fn a_solid_ground_is_measured_at_45_degrees_and_looked_at_from_anywhere() {
    let solid = |reflectance: Value| only("ground", json!({ "kind": "solid", "reflectance": reflectance }));
    let mut whole = solid(json!({ "45": vec![0.5; 36] }));
    let job = accepted(&whole);
    assert_eq!(Job::read(&job.text(), &Files::none()).unwrap(), job);
    assert_eq!(Job::from_link(&job.link()).unwrap(), job);
    whole["viewing"] = json!({ "aspecular_deg": 110 });
    accepted(&whole);
    assert_eq!(refused(&solid(json!({ "45": vec![0.5; 36], "15": vec![0.5; 36] }))).at, "ground.reflectance.15");
    assert_eq!(refused(&only("ground", json!({ "kind": "solid" }))).at, "ground.reflectance");
}

#[test]
fn the_same_ground_looks_darker_under_tint_when_it_is_solid() {
    // the film returns part of the diffuse light to the ground: Williams & Clapper 1953
    let target = |kind: &str| {
        let job = accepted(&only("ground", json!({ "kind": kind, "reflectance": { "45": vec![0.5; 36] } })));
        fanlap::report::report(&fanlap::rehearsal::rehearse(&job)).colour.target.lab
    };
    let (effect, solid) = (target("effect"), target("solid"));
    assert!(solid[0] < effect[0] - 1.0, "L* {} over a solid ground, {} over an effect ground", solid[0], effect[0]);
}

#[test]
fn an_untinted_clear_takes_no_light() {
    let clear = |absorption: Value| job(json!({ "paints": [{ "role": "clear", "absorption_per_um": absorption }] }));
    accepted(&clear(spectrum(vec![0.0; 36])));
    assert_eq!(refused(&clear(spectrum(vec![0.1; 36]))).at, ABSORPTION);
    let left_out = accepted(&job(json!({ "paints": [{ "role": "clear" }] })));
    assert!(left_out.paints[0].absorption.0.iter().all(|value| *value == 0.0));
}

/// A CSV file beside a job: its header and the value of every column at every wavelength.
fn csv(header: &str, value: &str) -> String {
    let row = |band: usize| format!("{}{}\n", 380 + 10 * band, format!(",{value}").repeat(header.matches(',').count()));
    format!("{header}\n{}", (0..36).map(row).collect::<String>())
}

fn read_beside(job: &Value, file: Result<String, String>) -> Result<Job, Problem> {
    let serve = |name: &str| if name == "kelp.csv" { file.clone() } else { Err("not found".to_string()) };
    Job::read(&job.to_string(), &Files::from(&serve))
}

fn named(path: &str) -> Value {
    let mut whole = only(path, json!({ "file": "kelp.csv" }));
    if whole.get("ground").is_some() {
        whole["ground"]["kind"] = json!("effect");
    }
    whole
}

#[test]
fn a_spectrum_may_lie_beside_the_job_file() {
    let job = read_beside(&named(ABSORPTION), Ok(csv("wavelength_nm,a", "0.25"))).unwrap();
    assert!(job.paints[0].absorption.0.iter().all(|value| *value == 0.25));
    let file = csv("wavelength_nm,R_as45, R_as-15 ,110", "0.75").replace('\n', "\r\n");
    let job = read_beside(&named("ground.reflectance"), Ok(file)).unwrap();
    assert_eq!(job.ground.reflectance.0.iter().map(|(angle, _)| angle.0).collect::<Vec<_>>(), [-15.0, 45.0, 110.0]);
    assert!(same(&accepted(&job.value()).value(), &job.value()), "the spectra are now in the job itself");
}

#[test]
fn a_spectrum_file_may_begin_with_a_byte_order_mark() {
    let marked = format!("\u{feff}{}", csv("wavelength_nm,a", "0.25"));
    read_beside(&named(ABSORPTION), Ok(marked)).expect("spreadsheets write it");
}

#[test]
fn a_spectrum_file_that_is_not_there_is_refused_with_the_path_in_the_job() {
    for path in [ABSORPTION, "ground.reflectance"] {
        let problem = sound(read_beside(&named(path), Err("not found".to_string())).unwrap_err());
        assert_eq!((problem.at.as_str(), problem.given.as_str()), (path, "kelp.csv: not found"));
        assert_eq!(refused(&named(path)).at, path);
    }
}

#[test]
fn a_spectrum_file_with_a_fault_is_refused_with_its_row() {
    let good = csv("wavelength_nm,a", "0.25");
    let faults = [
        (good.replacen("420,0.25", "420,zero", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420,NaN", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420,inf", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "421,0.25", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420,0.25,0.25", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25\n", "", 1), "kelp.csv"),
        (good.clone() + "740,0.25\n", "kelp.csv"),
        (good.replacen("wavelength_nm", "nm", 1), "kelp.csv, line 1"),
        (String::new(), "kelp.csv, line 1"),
        ("x".repeat(100_000), "kelp.csv, line 1"),
        (good.replacen("420,0.25", &"9".repeat(100_000), 1), "kelp.csv, row 5"),
    ];
    for (text, at) in faults {
        let problem = sound(read_beside(&named(ABSORPTION), Ok(text)).unwrap_err());
        assert_eq!(problem.at, at, "{problem}");
    }
    let two = read_beside(&named(ABSORPTION), Ok(csv("wavelength_nm,a,b", "0.25"))).unwrap_err();
    assert_eq!(two.at, ABSORPTION);
    let scale = read_beside(&named(ABSORPTION), Ok(csv("wavelength_nm,a", "25"))).unwrap_err();
    assert!(scale.remedy.contains("not 100"), "{scale}");
    let angles = read_beside(&named("ground.reflectance"), Ok(csv("wavelength_nm,R_as45,R_as60", "0.5"))).unwrap_err();
    assert_eq!(angles.at, "ground.reflectance.60");
}

#[test]
fn a_spectrum_file_with_one_angle_twice_is_refused() {
    let twice = csv("wavelength_nm,R_as45,S_as45", "0.5");
    assert!(read_beside(&named("ground.reflectance"), Ok(twice)).is_err(), "which of the two is meant?");
}

// Limits

#[test]
fn more_than_the_allowed_items_are_refused() {
    let clears = |count: usize| -> Value {
        (0..count).map(|i| json!({ "name": format!("clear {i}"), "role": "clear" })).collect()
    };
    accepted(&only("paints", clears(LIMITS.items)));
    let problem = refused(&only("paints", clears(LIMITS.items + 1)));
    assert_eq!(
        (problem.at.as_str(), problem.given.as_str(), problem.allowed.as_str()),
        ("paints", "21 items", "up to 20")
    );
    accepted(&only("coats", vec![json!({}); LIMITS.items].into()));
    let coats: Value = vec![json!({}); 200_000].into();
    let problem = within(5, "200 000 coats", move || refused(&only("coats", coats)));
    assert_eq!((problem.at.as_str(), problem.given.as_str()), ("coats", "200000 items"));
}

#[test]
fn more_than_the_allowed_cells_are_refused() {
    let panel = |length: f64| json!({ "length_mm": length, "width_mm": 1000, "cell_mm": 1 });
    accepted(&only("panel", panel(1500.0)));
    for length in [1501.0, 4000.0] {
        let problem = within(5, "cells of 1 mm", move || refused(&only("panel", panel(length))));
        assert_eq!(problem.at, "panel.cell_mm");
        assert!(problem.given.contains(&format!("{} cells", length as usize * 1000)), "{problem}");
        assert!(problem.allowed.contains("1500000 cells") && problem.allowed.contains("memory"), "{problem}");
    }
}

#[test]
fn more_than_the_allowed_passes_are_refused() {
    let narrow = json!({ "fan_width_mm": 50, "at_distance_mm": 500 });
    let coats = vec![json!({}), json!({ "distance_mm": 50, "overlap": 0.9 })];
    let whole = job(json!({ "gun": narrow, "coats": coats, "panel": { "cell_mm": 20 } }));
    let problem = within(5, "lines half a millimetre apart", move || refused(&whole));
    assert_eq!(problem.at, "coats[1].overlap");
    assert!(problem.allowed.contains("600 passes") && problem.allowed.contains("time"), "{problem}");
}

#[test]
fn more_than_the_allowed_covered_cells_are_refused() {
    let whole =
        job(json!({ "panel": { "length_mm": 1500, "width_mm": 1000, "cell_mm": 1 }, "coats": vec![json!({}); 20] }));
    let problem = within(5, "many passes over small cells", move || refused(&whole));
    assert!(problem.at.starts_with("coats["), "{problem}");
    assert!(problem.allowed.contains("30000000 cells") && problem.allowed.contains("memory"), "{problem}");
}

/// What a job really takes: its passes, and the cells they keep.
fn takes(job: &Job) -> (usize, usize) {
    let plan = Rehearsal::plan(job);
    (plan.passes().len(), plan.passes().iter().map(|pass| pass.window.len()).sum())
}

#[test]
fn what_is_accepted_has_no_more_passes_than_the_limit() {
    // lines 1 mm apart, each half of the panel sprayed over its whole width: the same lines twice
    let narrow = json!({ "fan_width_mm": 50, "at_distance_mm": 500 });
    let panel = json!({ "length_mm": 600, "width_mm": 600, "cell_mm": 20 });
    for (reach_overlap, edge_pass) in [(0, false), (0, true), (600, false), (600, true)] {
        for overlap in [0.8, 0.799, 0.79, 0.7, 0.6, 0.5] {
            let coat = json!({ "distance_mm": 50, "overlap": overlap, "margin_mm": 0, "reach": "both_sides",
                               "reach_overlap_mm": reach_overlap, "edge_pass": edge_pass });
            let Ok(job) = read(&job(json!({ "panel": panel, "gun": narrow, "coats": [coat] }))) else { continue };
            let (passes, _) = takes(&job);
            assert!(
                passes <= LIMITS.passes,
                "{passes} passes at {overlap} overlap, reaches sharing {reach_overlap} mm"
            );
        }
    }
}

#[test]
fn what_is_accepted_covers_no_more_cells_than_the_limit_however_the_hand_tilts() {
    let mut dice = Dice(18);
    let mut broken = String::new();
    let mut planned = 0;
    for round in 0..120 {
        let gun = json!({ "fan_width_mm": dice.one(&[50, 100, 200, 400]), "fan_depth_mm": dice.one(&[20, 60, 100]),
                          "at_distance_mm": dice.one(&[60, 120, 180]) });
        let coat = json!({ "distance_mm": dice.one(&[60, 120, 180]), "overlap": dice.one(&[0.3, 0.5, 0.7]) });
        let hand = match round % 6 {
            0 => json!({ "heel_deg": dice.one(&[-45, 15, 30, 45]) }),
            1 => json!({ "drag_deg": dice.one(&[-45, 15, 30, 45]) }),
            2 => json!({ "arc_deg": dice.one(&[20, 40, 60]) }),
            3 => json!({ "distance_sd_mm": 60, "line_sd_mm": 60, "seed": dice.below(1000) }),
            4 => {
                json!({ "heel_deg": 10, "angle_sd_deg": dice.one(&[5, 10, 20]), "line_sd_mm": 20, "seed": dice.below(1000) })
            }
            _ => json!({ "heel_deg": 30, "drag_deg": 30, "arc_deg": 20, "distance_error_mm": 50 }),
        };
        let coats: Value = vec![coat; dice.below(8)].into();
        let panel =
            json!({ "length_mm": 4000, "width_mm": 3000, "cell_mm": 4, "crown_across_mm": dice.one(&[0, 200]) });
        let Ok(job) = read(&job(json!({ "panel": panel, "gun": gun, "coats": coats, "hand": hand }))) else { continue };
        let (_, covered) = takes(&job);
        planned += 1;
        if covered > LIMITS.covered {
            broken += &format!("{covered} cells covered by the gun {gun} in the hand {hand}\n");
        }
    }
    assert!(planned > 20, "only {planned} of 120 jobs were accepted");
    assert!(broken.is_empty(), "{broken}");
}

// The whole job

#[test]
fn a_job_file_with_every_key_is_read_unchanged() {
    let given: Value = serde_json::from_str(COMPLETE).unwrap();
    let job = Job::read(COMPLETE, &Files::none()).unwrap();
    assert!(same(&job.value(), &given), "{}", job.text());
}

#[test]
fn the_examples_say_that_they_are_invented_and_come_near_their_target() {
    assert_eq!(EXAMPLES.len(), 2);
    for example in EXAMPLES {
        let mut job = example.job();
        assert!(job.title.contains("(invented)"), "{}", job.title);
        job.panel.cell.0 = 10.0; // coarse is enough for means
        let report = report(&rehearse(&job));
        let name = &job.paints[job.tinted().unwrap()].name;
        let film = report.film[name];
        assert!((30.0..40.0).contains(&film.interior.mean_um), "{name}: {film:?}");
        assert!(film.interior.sd_um < 0.1 * film.interior.mean_um, "{name}: {film:?}");
        assert!(film.panel.min_um > 0.0 && film.panel.max_um < 60.0, "{name}: {film:?}");
        let paint = report.paint[name];
        let found = paint.on_panel_ml + paint.off_panel_ml + paint.lost_in_air_ml;
        assert!((found / paint.sprayed_ml - 1.0).abs() < 1e-3, "{name}: {paint:?}");
        assert!((20.0..300.0).contains(&report.time.spraying_s), "{:?}", report.time);
        assert!(report.time.total_s > report.time.spraying_s);
        let colour = report.colour;
        assert!(colour.delta_e00.mean < 3.0 && colour.delta_e00.mean <= colour.delta_e00.max, "{colour:?}");
        assert!(colour.mean.lab[0] > 5.0 && colour.mean.lab[0] < 100.0, "{colour:?}");
    }
}

/// A job comes back from its text and from its link.
fn comes_back(job: &Job) {
    for (way, back) in [("text", Job::read(&job.text(), &Files::none())), ("link", Job::from_link(&job.link()))] {
        let back = back.unwrap_or_else(|problem| panic!("{way}: {problem}"));
        if back != *job {
            let (was, is) = (job.text(), back.text());
            let first = was.lines().zip(is.lines()).find(|(was, is)| was != is);
            panic!("the {way} does not carry the job: {first:?}");
        }
    }
}

#[test]
fn a_written_job_is_read_as_the_same_job() {
    let mut dice = Dice(11);
    let mut written = 0;
    for round in 0..600 {
        let Ok(job) = read(&dice.job([0.1, 0.5, 1.0][round % 3])) else { continue };
        comes_back(&job);
        written += 1;
    }
    assert!(written > 200, "only {written} of 600 random jobs were accepted");
    EXAMPLES.iter().map(|example| example.job()).chain([Job::default()]).for_each(|job| comes_back(&job));
}

#[test]
fn no_digit_of_a_number_is_lost_in_a_text_or_a_link() {
    let mut dice = Dice(17);
    for _ in 0..300 {
        let mut job = EXAMPLES[1].job();
        job.panel.length.0 = 100.0 + 3900.0 * dice.share();
        job.panel.cell.0 = 10.0 + dice.share();
        job.coats[1].flash.0 = 120.0 * dice.share();
        job.hand.heel.0 = dice.share() / 3.0;
        job.paints[0].absorption.0[3] = dice.share();
        comes_back(&job);
    }
}

#[test]
fn whatever_the_dice_refuse_is_refused_in_sound_words() {
    let mut dice = Dice(12);
    for _ in 0..600 {
        if let Err(problem) = read(&dice.job(0.7)) {
            // every value is within its own limits: only the whole can be refused
            let problem = sound(problem);
            assert_ne!(problem.at, "job file", "{problem}");
        }
    }
}

// Changing one value

#[test]
fn one_value_is_changed_and_no_other() {
    let mut whole = EXAMPLES[1].job().value();
    let complete: Value = serde_json::from_str(COMPLETE).unwrap();
    for section in ["car", "measured", "test_card"] {
        whole[section] = complete[section].clone();
    }
    whole["cards"]["ladder"] = json!([0.5, 6, 8]);
    let job = accepted(&whole);
    for input in INPUTS.iter().filter(|input| !matches!(input.kind, Kind::Form(_))) {
        let (path, value) = match input.kind {
            Kind::Number(range) => (first(input.path), plain_number(range.least + 0.75 * (range.most - range.least))),
            Kind::Choice(options, _) => (first(input.path), serde_json::from_str(options[0].0).unwrap()),
            Kind::Flag(_) => (first(input.path), json!(true)),
            Kind::Text(_) => ("title".to_string(), json!("Another")),
            Kind::Form(_) => unreachable!(),
        };
        // the seed is a whole number, the chosen card one of the ladder
        let value = if path == "hand.seed" { json!(77) } else { value };
        let value = if path == "cards.chosen" { json!(6) } else { value };
        let job = if path == "panel.length_mm" { job.with("panel.cell_mm", &json!(10)).unwrap() } else { job.clone() };
        let changed = job.with(&path, &value).unwrap_or_else(|problem| panic!("{problem}"));
        assert!(same(&changed.get(&path).unwrap(), &value), "{path}");
        let back = changed.with(&path, &job.get(&path).unwrap()).unwrap();
        assert_eq!(back, job, "{path}");
    }
}

#[test]
fn a_change_outside_the_limits_or_at_an_unknown_path_is_refused() {
    let job = EXAMPLES[0].job();
    let problem = sound(job.with("coats[1].overlap", &json!(0.95)).unwrap_err());
    assert_eq!((problem.at.as_str(), problem.given.as_str()), ("coats[1].overlap", "0.95"));
    assert_eq!(job.with("coats[0].paint", &json!("nothing")).unwrap_err().at, "coats[0].paint");
    assert_eq!(job.with("fanlap_job", &json!(2)).unwrap_err().at, "fanlap_job");
    assert_eq!(job.with("panel", &json!(4)).unwrap_err().at, "panel");
    for path in [
        "coats[1].overlapp",
        "coats[7].overlap",
        "coats[-1].overlap",
        "coats[].overlap",
        "coats.overlap",
        "panel.",
        "x",
        "/",
        "~",
        "[0]",
    ] {
        assert_eq!(sound(job.with(path, &json!(0.5)).unwrap_err()).at, path);
        assert!(job.get(path).is_none(), "{path}");
    }
    let ground = job.with("ground.reflectance.45[3]", &json!(0.5)).unwrap();
    assert_eq!(ground.get("ground.reflectance.45[3]"), Some(json!(0.5)));
}

#[test]
fn a_target_film_can_be_set_where_a_colour_was_the_target() {
    let job = accepted(&only("target", json!({ "lab": [50, 0, 0] })));
    let film = job.with("target", &json!({ "film_um": 30 })).unwrap();
    assert!(same(&film.get("target.film_um").unwrap(), &json!(30)));
    assert!(same(&film.with("target", &json!({ "lab": [50, 0, 0] })).unwrap().value(), &job.value()));
}

// The link

#[test]
fn a_link_leaves_out_what_is_at_its_default() {
    let coats = |count: usize| accepted(&only("coats", vec![json!({}); count].into())).link().len();
    assert!(Job::default().link().len() < 40, "{}", Job::default().link());
    assert!(coats(1) < 60, "a coat with nothing but defaults takes {} letters", coats(1));
    assert!(EXAMPLES[0].job().link().len() < 300);
}

#[test]
fn a_link_is_made_of_letters_that_need_no_escape() {
    let link = EXAMPLES[1].job().with("title", &json!("\u{dc}berzug? #1 & 100 %")).unwrap().link();
    assert!(link.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_'), "{link}");
    assert_eq!(Job::from_link(&link).unwrap().title, "\u{dc}berzug? #1 & 100 %");
}

#[test]
fn the_largest_job_fits_into_a_link() {
    let mut dice = Dice(13);
    let mut whole = dice.job(1.0);
    let name = |i: usize| format!("{i:0>3}{}", "\u{fc}".repeat(197));
    whole["paints"] =
        (0..20).map(|i| json!({ "name": name(i), "role": if i == 0 { "tinted_clear" } else { "clear" } })).collect();
    whole["paints"][0]["absorption_per_um"] = json!({ "values": dice.spectrum(1.0) });
    let angles = ANGLES.map(|angle| (angle.to_string(), dice.spectrum(20.0)));
    whole["ground"] = json!({ "kind": "effect", "reflectance": Map::from_iter(angles) });
    whole["coats"] = (0..20)
        .map(|i| json!({ "paint": name(i), "amount": 0.1 + dice.share(), "lead_mm": 100.0 * dice.share() }))
        .collect();
    whole["panel"] = json!({ "cell_mm": 20 });
    whole["gun"] = json!({});
    whole["hand"] = json!({});
    whole["paints"][19] = json!({ "name": name(19), "role": "base", "reflectance": whole["ground"]["reflectance"] });
    whole["coats"][0]["paint"] = json!(name(19));
    whole["coats"][19]["paint"] = json!(name(0));
    whole["viewing"] = json!({});
    whole["car"] = json!({ "reflectance": Map::from_iter(ANGLES.map(|a| (a.to_string(), dice.spectrum(20.0)))) });
    let card = |coats: usize, seen: Value| json!({ "coats": 0.5 * coats as f64, "reflectance": { "values": seen } });
    whole["measured"] = json!({ "cards": (0..16).map(|i| card(i, dice.spectrum(20.0))).collect::<Value>() });
    let readings: Value = (0..200).map(|_| json!([2000.0 * dice.share(), 1000.0 * dice.share()])).collect();
    whole["test_card"] = json!({ "readings": readings });
    whole["cards"] = json!({ "ladder": [0.5, 1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5], "chosen": 7.5 });
    let job = accepted(&whole);
    assert_eq!(Job::from_link(&job.link()).unwrap(), job);
}

#[test]
fn a_link_cut_short_damaged_or_made_up_is_refused() {
    let link = EXAMPLES[1].job().link();
    for length in 0..link.len() {
        let problem = sound(Job::from_link(&link[..length]).unwrap_err());
        assert!(!problem.remedy.is_empty());
    }
    let letters: Vec<char> =
        ('a'..='z').chain('A'..='Z').chain('0'..='9').chain(['-', '_', '=', '%', ' ', '\u{fc}']).collect();
    let mut dice = Dice(14);
    for _ in 0..3000 {
        let mut damaged: Vec<char> = link.chars().collect();
        for _ in 0..=dice.below(3) {
            let place = dice.below(damaged.len());
            damaged[place] = *dice.one(&letters);
        }
        // a letter that happens to be the old one, or a value that happens to be allowed, is no damage
        if let Err(problem) = Job::from_link(&damaged.into_iter().collect::<String>()) {
            sound(problem);
        }
        let random: String = (0..dice.below(200)).map(|_| *dice.one(&letters)).collect();
        sound(Job::from_link(&random).expect_err("no job by chance"));
    }
}

fn packed(text: &str) -> String {
    use base64::Engine;
    base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(miniz_oxide::deflate::compress_to_vec(text.as_bytes(), 9))
}

#[test]
fn a_link_that_unpacks_to_far_too_much_is_refused_at_once() {
    assert_eq!(Job::from_link(&packed("{\"fanlap_job\":1}")).unwrap(), Job::default());
    let bomb = packed(&format!("{{\"fanlap_job\":1{}}}", " ".repeat(30_000_000)));
    assert!(bomb.len() < 60_000, "{} letters", bomb.len());
    let problem = within(5, "a link that unpacks to 30 MB", move || sound(Job::from_link(&bomb).unwrap_err()));
    assert_eq!(problem.at, "link");
    let nested = packed(&"[".repeat(399_000));
    within(5, "a link of nested lists", move || sound(Job::from_link(&nested).unwrap_err()));
    let long = "A".repeat(30_000_000);
    within(5, "a link of 30 MB", move || sound(Job::from_link(&long).unwrap_err()));
}

#[test]
fn a_link_with_a_value_outside_its_limits_is_refused_like_a_file() {
    let problem = Job::from_link(&packed(r#"{"fanlap_job":1,"coats":[{"overlap":0.95}]}"#)).unwrap_err();
    assert_eq!(problem.at, "coats[0].overlap");
    let problem =
        Job::from_link(&packed(r#"{"fanlap_job":1,"paints":[{"absorption_per_um":{"file":"/etc/passwd"}}]}"#));
    assert!(problem.unwrap_err().given.contains("no file can be read here"));
}

// Damage of every kind

/// Reads a damaged text: a job or a problem, and what is a job stays one.
fn survive(text: &str) {
    match Job::read(text, &Files::none()) {
        Ok(job) => {
            assert_eq!(Job::read(&job.text(), &Files::none()).as_ref(), Ok(&job), "{text}");
            assert!(!fanlap::words::meaning(&job).is_empty());
        }
        Err(problem) => drop(sound(problem)),
    }
}

#[test]
fn no_damaged_letter_of_a_job_file_makes_reading_panic_or_hang() {
    within(120, "damaged job files", || {
        let mut dice = Dice(15);
        let texts = [EXAMPLES[0].text, EXAMPLES[1].text, COMPLETE];
        let bits = [
            &b"-1"[..],
            b"1e999",
            b"null",
            b"\"",
            b"{",
            b"}",
            b"[",
            b"]",
            b",",
            b":",
            b"\\u0000",
            b"\0",
            b"\xff",
            b"999999",
        ];
        for round in 0..6000 {
            let mut bytes = texts[round % 3].as_bytes().to_vec();
            for _ in 0..=dice.below(4) {
                let place = dice.below(bytes.len());
                match dice.below(5) {
                    0 => bytes[place] ^= 1 << dice.below(8),
                    1 => drop(bytes.remove(place)),
                    2 => drop(bytes.splice(place..place, dice.one(&bits).iter().copied())),
                    3 => bytes[place] = b"0123456789.-e"[dice.below(13)],
                    _ => {
                        let end = (place + dice.below(40)).min(bytes.len());
                        drop(bytes.drain(place..end));
                    }
                }
            }
            survive(&String::from_utf8_lossy(&bytes));
        }
    });
}

/// The places of a JSON value, counted in order; the one at `place` is replaced.
fn replace(value: &mut Value, place: &mut usize, with: &Value) {
    if *place == 0 {
        *value = with.clone();
    }
    *place = place.wrapping_sub(1);
    match value {
        Value::Object(map) => map.values_mut().for_each(|item| replace(item, place, with)),
        Value::Array(items) => items.iter_mut().for_each(|item| replace(item, place, with)),
        _ => {}
    }
}

#[test]
fn no_odd_value_anywhere_in_a_job_file_makes_reading_panic_or_hang() {
    within(120, "odd values", || {
        let mut dice = Dice(16);
        let odd = [
            json!(null),
            json!(true),
            json!(-1),
            json!(-0.0),
            json!(0),
            json!(1e300),
            json!(u64::MAX),
            json!(i64::MIN),
            json!(5e-324),
            json!(""),
            json!("tinted"),
            json!("\u{0}"),
            json!("45"),
            json!([]),
            json!([[]]),
            json!({}),
            json!({ "file": "x" }),
            json!({ "file": 3 }),
            json!({ "file": "x", "values": [] }),
            json!({ "": {} }),
            json!(vec![0.5; 36]),
        ];
        for round in 0..6000 {
            let mut whole: Value =
                serde_json::from_str([COMPLETE, EXAMPLES[0].text, EXAMPLES[1].text][round % 3]).unwrap();
            for _ in 0..=dice.below(2) {
                replace(&mut whole, &mut dice.below(400), dice.one(&odd));
            }
            survive(&whole.to_string());
        }
    });
}

// What is accepted can be rehearsed

/// No number of a report is missing or endless (JSON has no word for either but null).
fn all_finite(value: &Value) -> bool {
    match value {
        Value::Null => false,
        Value::Array(items) => items.iter().all(all_finite),
        Value::Object(map) => {
            // these may be null, which then says something
            let open = |key: &str| ["findings", "seen", "seen_from_m", "worst_run"].contains(&key);
            map.iter().all(|(key, item)| (open(key) && item.is_null()) || all_finite(item))
        }
        _ => true,
    }
}

#[test]
fn every_limit_of_the_table_can_be_rehearsed() {
    for (input, range) in numbers() {
        for limit in [range.least, range.most] {
            let mut whole = job(json!({
                "panel": { "length_mm": 300, "width_mm": 200, "cell_mm": 20, "crown_across_mm": 20 },
                "coats": [{ "distance_mm": 200, "reach": "both_sides" }],
            }));
            put(&mut whole, &first(input.path), plain_number(limit));
            complete(&mut whole, &first(input.path));
            let what = format!("{} at {limit}", input.path);
            let value = within(30, &what, move || serde_json::to_value(report(&rehearse(&accepted(&whole)))).unwrap());
            assert!(all_finite(&value), "{what}: {value}");
        }
    }
}

#[test]
fn a_film_of_half_a_metre_is_reported_at_once() {
    let whole = job(json!({
        "panel": { "length_mm": 100, "width_mm": 100, "cell_mm": 20 },
        "gun": { "fluid_ml_per_min": 1000, "transfer_efficiency": 0.95, "fan_width_mm": 50, "at_distance_mm": 500 },
        "paints": [{ "solids_by_volume": 1 }],
        "coats": [{ "speed_mm_per_s": 50, "amount": 3, "distance_mm": 50, "overlap": 0.7, "margin_mm": 0 }],
    }));
    let report = within(3, "a film of half a metre", move || report(&rehearse(&accepted(&whole))));
    assert!(report.film["tinted"].panel.mean_um > 5e5);
}
