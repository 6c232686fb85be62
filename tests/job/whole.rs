//! The whole job: read unchanged, one value changed, carried by a link.

use super::*;
use fanlap::appraisal::appraise;

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
        let report = report(&appraise(&job));
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
