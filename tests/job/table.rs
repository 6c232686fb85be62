//! The table of inputs, and the keys of a job file.

use super::*;

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
