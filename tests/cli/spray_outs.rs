//! Cards, fits and guns.

use super::*;

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
    assert_eq!((done.status, done.out.as_str(), done.err.as_str()), (0, "", "written: out/cards.json\n"));
    assert_eq!(names(&folder.path().join("out")), set(&["cards.json"]));
    let written = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    assert_eq!(written("out/cards.json"), run(folder.path(), &["cards", "job.json"]).out);

    let done = run(folder.path(), &["cards", "job.json", "--out", "chosen", "--choose", "1.5"]);
    let written_files = "written: chosen/cards.json, chosen/job.json\n";
    assert_eq!((done.status, done.out.as_str(), done.err.as_str()), (0, "", written_files));
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
