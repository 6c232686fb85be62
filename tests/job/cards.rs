//! Job files: the sections of the spray-outs (ladder, car, measured cards), the test card, and the base, in all their
//! forms; what is refused of them and in which words. Does not spray a card.

use crate::data::{accepted, job, only, refused, sound};
use fanlap::colour::{Illuminant, Observer};
use fanlap::error::Problem;
use fanlap::job::{ANGLES, Fields, Files, Job, LADDER, MOST_CARDS};
use fanlap::units::Degrees;
use serde_json::{Map, Value, json};

/// A job comes back from its text and from its link, and so does every value that was given.
fn kept(given: &Value) -> Job {
    let job = accepted(given);
    assert_eq!(Job::read(&job.text(), &Files::none()).as_ref(), Ok(&job), "text");
    assert_eq!(Job::from_link(&job.link()).as_ref(), Ok(&job), "link");
    holds(&job.value(), given, "");
    job
}

/// Every value of the second is in the first.
fn holds(written: &Value, given: &Value, at: &str) {
    match (written, given) {
        (Value::Object(written), Value::Object(given)) => {
            given.iter().for_each(|(key, value)| holds(&written[key], value, &format!("{at}.{key}")));
        }
        (Value::Array(written), Value::Array(given)) => {
            assert_eq!(written.len(), given.len(), "{at}");
            written.iter().zip(given).for_each(|(written, given)| holds(written, given, at));
        }
        (Value::Number(written), Value::Number(given)) => assert_eq!(written.as_f64(), given.as_f64(), "{at}"),
        _ => assert_eq!(written, given, "{at}"),
    }
}

/// Refused at this path with these words in what was given, what is allowed and what to do.
fn says(problem: Problem, at: &str, given: &str, allowed: &str, remedy: &str) {
    assert_eq!(problem.at, at, "{problem}");
    assert_eq!(problem.given, given, "{problem}");
    assert!(problem.allowed.contains(allowed), "{allowed} is not in: {problem}");
    assert!(problem.remedy.contains(remedy), "{remedy} is not in: {problem}");
}

fn spectrum(value: f64) -> Value {
    vec![value; 36].into()
}

/// Reflectances by angle.
fn angles(of: &[f64]) -> Map<String, Value> {
    of.iter().map(|angle| (angle.to_string(), spectrum(0.3 + 0.001 * angle))).collect()
}

fn car(section: Value) -> Value {
    job(json!({ "car": section }))
}

fn measured(section: Value) -> Value {
    job(json!({ "measured": section }))
}

fn test_card(section: Value) -> Value {
    job(json!({ "test_card": section }))
}

fn cards(section: Value) -> Value {
    job(json!({ "cards": section }))
}

// Left out

#[test]
fn sections_left_out_are_the_usual_ladder_and_nothing_measured() {
    let job = Job::default();
    assert_eq!((job.cards.ladder.as_slice(), job.cards.chosen), (&LADDER[..], None));
    assert_eq!(job.cards.sticker, Fields::BlackGreyWhite);
    assert_eq!((&job.car, &job.measured, &job.test_card), (&None, &None, &None));
    for section in ["car", "measured", "test_card"] {
        assert_eq!(job.value()[section], json!(null), "{section} is written, so that it can be filled in");
        assert_eq!(accepted(&only(section, json!(null))), job);
        for given in [json!(3), json!("x"), json!(true), json!([])] {
            says(refused(&only(section, given.clone())), section, &given.to_string(), "an object", "braces");
        }
    }
    for given in [json!(null), json!(3), json!("x"), json!([])] {
        says(refused(&cards(given.clone())), "cards", &given.to_string(), "an object", "braces");
    }
    assert_eq!(accepted(&cards(json!({}))), job);
}

// The ladder

#[test]
fn a_ladder_is_read_in_any_order_and_kept_ascending() {
    let job = accepted(&cards(json!({ "ladder": [3, 0.5, 8.0, 1.5], "chosen": 8, "sticker": "black_grey" })));
    assert_eq!((job.cards.ladder.as_slice(), job.cards.chosen), (&[0.5, 1.5, 3.0, 8.0][..], Some(8.0)));
    for ladder in [json!([0.5]), json!([8]), json!([1, 2, 3, 4, 5, 6, 7, 8]), json!(LADDER)] {
        for sticker in ["black_grey_white", "black_grey", "black_white"] {
            kept(&cards(json!({ "ladder": ladder, "chosen": null, "sticker": sticker })));
            kept(&cards(json!({ "ladder": ladder, "chosen": ladder[0], "sticker": sticker })));
        }
    }
}

#[test]
fn a_wrong_ladder_is_refused_with_what_a_ladder_is() {
    assert_eq!(MOST_CARDS, 8);
    let nine: Value = (1..=9).map(|i| json!(0.5 * f64::from(i))).collect();
    let quarters = [json!([1, 1.25]), json!([0.75]), json!([1, 1.75, 2])];
    let twice = [json!([1, 1]), json!([1, 2, 1.0])];
    let outside = [json!([0]), json!([0.0, 1]), json!([-1]), json!([8.5]), json!([1e300])];
    let no_numbers = [json!(["1"]), json!([1, null]), json!([[1]]), json!([{}]), json!([true])];
    let no_list = [json!([]), json!({}), json!(null), json!(2), json!("1, 2"), nine];
    for given in quarters.into_iter().chain(twice).chain(outside).chain(no_numbers).chain(no_list) {
        let problem = refused(&cards(json!({ "ladder": given })));
        says(problem, "cards.ladder", &given.to_string(), "1 to 8 numbers of coats from 0.5 to 8 by halves", "[1, 1.5");
    }
}

#[test]
fn the_chosen_card_is_one_of_the_ladder() {
    for chosen in [0.5, 3.0, 1.25, 8.0] {
        let problem = refused(&cards(json!({ "chosen": chosen })));
        says(problem, "cards.chosen", &chosen.to_string(), "one of the ladder: 1, 1.5, 2, 2.5", "or null");
    }
    for chosen in [json!(0), json!(9), json!("1"), json!(true), json!([1])] {
        let problem = refused(&cards(json!({ "chosen": chosen })));
        says(problem, "cards.chosen", &chosen.to_string(), "0.5 to 8, or null (not given)", "Chosen card");
    }
    let job = accepted(&cards(json!({ "chosen": 2 })));
    says(job.with("cards.ladder", &json!([1, 3])).unwrap_err(), "cards.chosen", "2", "1, 3", "or null");
}

#[test]
fn limits_without_a_unit_read_as_a_sentence() {
    let problem = refused(&cards(json!({ "chosen": 9 })));
    assert!(problem.to_string().contains("allowed is 0.5 to 8, or null (not given). Change"), "{problem}");
}

// The car

#[test]
fn the_car_is_given_as_lab_by_angle() {
    let all = Map::from_iter(ANGLES.map(|angle| (angle.to_string(), json!([60.25 - 0.25 * angle, 45, -30.5]))));
    for lab in [json!({ "45": [42, 45, 30] }), json!({ "15": [70, 40, 50], "-15": [90, 20, 20] }), json!(all)] {
        for (light, observer) in [("D65", 10), ("A", 2), ("LED-B3", 10)] {
            kept(&car(json!({ "lab": lab, "illuminant": light, "observer_deg": observer })));
        }
    }
    // the edges of what is taken
    kept(&car(json!({ "lab": { "45": [0, -200, 200] } })));
    kept(&car(json!({ "lab": { "45": [200, 0, 0.0] } })));
    let job = accepted(&car(json!({ "lab": { "45": [42, 45, 30] } })));
    assert_eq!(
        job.value()["car"],
        json!({ "lab": { "45": [42.0, 45.0, 30.0] }, "illuminant": "D65", "observer_deg": 10 })
    );
}

#[test]
fn the_car_is_given_as_spectra_by_angle() {
    for of in [&[45.0][..], &[15.0], &[-15.0, 110.0], &ANGLES] {
        let job = kept(&car(json!({ "reflectance": angles(of) })));
        let found: Vec<f64> = job.car.as_ref().unwrap().angles().iter().map(|angle| angle.0).collect();
        assert_eq!(found, of, "ascending");
    }
    // brighter than white is what flakes are near the mirror direction
    kept(&car(json!({ "reflectance": { "15": spectrum(19.5) } })));
}

#[test]
fn spectra_of_the_car_may_lie_beside_the_job_file() {
    let row = |band: usize| format!("{},0.5,0.25\n", 380 + 10 * band);
    let file = format!("wavelength_nm,R_as45,R_as-15\n{}", (0..36).map(row).collect::<String>());
    let serve = |name: &str| if name == "car.csv" { Ok(file.clone()) } else { Err("not found".to_string()) };
    let read = |given: Value| Job::read(&car(json!({ "reflectance": given })).to_string(), &Files::from(&serve));
    let job = read(json!({ "file": "car.csv" })).unwrap();
    assert_eq!(job, accepted(&car(json!({ "reflectance": { "-15": spectrum(0.25), "45": spectrum(0.5) } }))));
    let said = |key: &str, value: Value| {
        let mut file = json!({ "file": "one.csv" });
        file[key] = value;
        let text = "name,L,a,b\ndoor,50,1,2\n";
        Job::read(&car(file).to_string(), &Files::from(&|_| Ok(text.to_string())))
    };
    let open = said("file", json!("one.csv")).unwrap_err();
    assert!(open.to_string().contains("without its angle") && open.remedy.contains("\"aspecular_deg\""), "{open}");
    assert_eq!(said("aspecular_deg", json!(15)).unwrap().car.unwrap().angles(), [Degrees(15.0)]);
    says(said("aspecular_deg", json!(20)).unwrap_err(), "car.20", "20", "-15, 15, 25", "angle");
    says(said("scale", json!("parts")).unwrap_err(), "car.scale", "\"parts\"", "\"percent\" or \"factor\"", "white");
    let problem = sound(read(json!({ "file": "bus.csv" })).unwrap_err());
    says(problem, "car.reflectance", "bus.csv: not found", "beside the job file", "put the file");
    for given in [json!({ "file": 3 }), json!({ "file": "car.csv", "45": spectrum(0.5) })] {
        assert_eq!(sound(read(given).unwrap_err()).at, "car.reflectance");
    }
}

#[test]
fn lab_of_the_car_holds_for_its_light_and_spectra_for_all() {
    let at = |job: &Job, angle: f64, light, observer| job.car.as_ref().unwrap().lab(Degrees(angle), light, observer);
    let job = accepted(&car(json!({ "lab": { "45": [42, 45, 30] }, "illuminant": "A", "observer_deg": 2 })));
    assert_eq!(at(&job, 45.0, Illuminant::A, Observer::Degrees2).map(|lab| lab.l), Some(42.0));
    for (angle, light, observer) in [
        (45.0, Illuminant::D65, Observer::Degrees2),
        (45.0, Illuminant::A, Observer::Degrees10),
        (15.0, Illuminant::A, Observer::Degrees2),
    ] {
        assert_eq!(at(&job, angle, light, observer), None);
    }
    let job = accepted(&car(json!({ "reflectance": { "45": spectrum(1.0) } })));
    for light in Illuminant::ALL {
        let white = at(&job, 45.0, light, Observer::Degrees10).unwrap();
        assert!((white.l - 100.0).abs() < 1e-3 && white.chroma() < 0.01, "{white:?}");
    }
    assert_eq!(at(&job, 15.0, Illuminant::D65, Observer::Degrees10), None);
}

#[test]
fn a_car_in_both_forms_or_in_none_is_refused() {
    let both = json!({ "lab": { "45": [42, 45, 30] }, "reflectance": angles(&[45.0]) });
    says(refused(&car(both)), "car", "lab and reflectance", "one of them", "null for none");
    for none in [json!({}), json!({ "illuminant": "D65" })] {
        says(refused(&car(none)), "car", "neither lab nor reflectance", "one of them", "null for none");
    }
}

#[test]
fn wrong_lab_of_the_car_is_refused_with_its_angle() {
    let three = "three numbers: L* 0 to 200, a* and b* -200 to 200";
    for given in [
        json!([42, 45]),
        json!([42, 45, 30, 1]),
        json!([]),
        json!(42),
        json!(null),
        json!({ "l": 42, "a": 45, "b": 30 }),
        json!(["42", 45, 30]),
        json!([42, null, 30]),
        json!([-0.5, 0, 0]),
        json!([200.5, 0, 0]),
        json!([50, 201, 0]),
        json!([50, 0, -200.5]),
        json!([50, 1e300, 0]),
    ] {
        let problem = refused(&car(json!({ "lab": { "45": [42, 45, 30], "15": given } })));
        says(problem, "car.lab.15", &given.to_string(), three, "as measured");
    }
    for given in [json!(null), json!({}), json!([42, 45, 30]), json!("42 45 30"), json!(42)] {
        let problem = refused(&car(json!({ "lab": given })));
        says(problem, "car.lab", &given.to_string(), "by aspecular angle", "in this form");
    }
}

#[test]
fn an_angle_at_which_nothing_is_measured_is_refused() {
    for angle in ["20", "46", "45.0", "-45", "as45", "", " 45"] {
        let path = |form: &str| format!("car.{form}.{angle}");
        let words = "-15, 15, 25, 45, 75, 110 (aspecular degrees";
        let given = if angle.trim().is_empty() { "nothing" } else { angle };
        let problem = refused(&car(json!({ "lab": { angle: [42, 45, 30] } })));
        says(problem, &path("lab"), given, words, "correct the angle");
        let problem = refused(&car(json!({ "reflectance": { "45": spectrum(0.5), angle: spectrum(0.5) } })));
        says(problem, &path("reflectance"), given, words, "correct the angle");
    }
}

#[test]
fn wrong_spectra_of_the_car_are_refused_with_their_angle() {
    let at_25 = |list: Value| refused(&car(json!({ "reflectance": { "25": list } })));
    for count in [0, 1, 35, 37] {
        let problem = at_25(vec![0.5; count].into());
        says(problem, "car.reflectance.25", &format!("{count} entries"), "36 numbers from 0 to 20", "each band");
    }
    for list in [json!(null), json!(0.5), json!("0.5"), json!({})] {
        says(at_25(list), "car.reflectance.25", "no list", "36 numbers from 0 to 20", "each band");
    }
    for (wrong, given) in [(45.0, "45 at 400 nm"), (-0.01, "-0.01 at 400 nm"), (20.5, "20.5 at 400 nm")] {
        let mut list = spectrum(0.45);
        list[2] = json!(wrong);
        says(at_25(list), "car.reflectance.25", given, "0 to 20", "1 is the perfect white, not 100");
    }
    for wrong in [json!("0.5"), json!(null), json!([0.5])] {
        let mut list = spectrum(0.45);
        list[2] = wrong;
        assert_eq!(at_25(list).at, "car.reflectance.25");
    }
    for none in [json!({}), json!({ "from_nm": 380, "step_nm": 10 })] {
        says(
            refused(&car(json!({ "reflectance": none }))),
            "car.reflectance",
            "no angle",
            "by aspecular angle",
            "\"45\"",
        );
    }
    let other = json!({ "from_nm": 400, "45": spectrum(0.5) });
    says(refused(&car(json!({ "reflectance": other }))), "car.reflectance.from_nm", "400", "380 nm", "36 numbers");
}

// One's own measured cards

#[test]
fn measured_cards_are_given_as_lab_or_spectra_with_or_without_a_gauge() {
    let lab = json!({ "coats": 0, "lab": [58, 20, 49] });
    let seen = json!({ "coats": 1, "reflectance": { "from_nm": 380, "step_nm": 10, "values": spectrum(0.4) } });
    let gauged = json!({ "coats": 2.5, "lab": [40, 45.5, 30], "film_um": 42.5 });
    for list in [json!([]), json!([lab]), json!([seen]), json!([lab, seen, gauged])] {
        for unequal in [true, false] {
            for light in ["D65", "A"] {
                let section = json!({ "cards": list, "unequal": unequal, "illuminant": light, "observer_deg": 2 });
                kept(&measured(section));
            }
        }
    }
    let job = accepted(&measured(json!({ "cards": [lab, gauged] })));
    let section = job.measured.unwrap();
    assert_eq!((section.illuminant.as_str(), section.observer_deg, section.unequal), ("D65", 10, false));
    assert_eq!(section.cards[0].film_um, None);
    assert_eq!(section.cards[1].lab, Some([40.0, 45.5, 30.0]));
    kept(&measured(json!({ "cards": vec![gauged; 48] })));
    assert_eq!(section.cards[0].aspecular.0, 45.0, "as ever, where a card does not say its angle");
    let turned = ANGLES.map(|at| json!({ "coats": 1, "aspecular_deg": at, "lab": [40, 45.5, 30] }));
    let job = accepted(&measured(json!({ "cards": turned })));
    assert_eq!(job.measured.unwrap().cards.iter().map(|card| card.aspecular.0).collect::<Vec<_>>(), ANGLES);
}

#[test]
fn wrong_measured_cards_are_refused_with_their_place() {
    for given in [json!(null), json!(3), json!({}), json!("x")] {
        let problem = refused(&measured(json!({ "cards": given })));
        says(problem, "measured.cards", &given.to_string(), "a list of measured cards", "\"coats\": 0");
    }
    says(refused(&measured(json!({}))), "measured.cards", "nothing", "a list of measured cards", "\"coats\": 0");
    let many = vec![json!({ "lab": [1, 2, 3] }); 49];
    says(refused(&measured(json!({ "cards": many }))), "measured.cards", "49 readings", "up to 48", "best");
    let second = |card: Value| refused(&measured(json!({ "cards": [{ "lab": [58, 20, 49] }, card] })));
    for (card, path, given) in [
        (json!(5), "", "5"),
        (json!([58, 20, 49]), "", "[58,20,49]"),
        (json!({}), "", "neither lab nor reflectance"),
        (json!({ "lab": [1, 2, 3], "reflectance": { "values": spectrum(0.4) } }), "", "lab and reflectance"),
        (json!({ "lab": [1, 2] }), ".lab", "[1,2]"),
        (json!({ "lab": null }), ".lab", "null"),
        (json!({ "lab": [-1, 2, 3] }), ".lab", "[-1,2,3]"),
        (json!({ "lab": { "45": [1, 2, 3] } }), ".lab", "{\"45\":[1,2,3]}"),
        (json!({ "lab": [1, 2, 3], "coats": 8.5 }), ".coats", "8.5"),
        (json!({ "lab": [1, 2, 3], "coats": "two" }), ".coats", "\"two\""),
        (json!({ "lab": [1, 2, 3], "aspecular_deg": 30 }), ".aspecular_deg", "30"),
        (json!({ "lab": [1, 2, 3], "film_um": 0 }), ".film_um", "0"),
        (json!({ "lab": [1, 2, 3], "colour": 0 }), ".colour", "an unknown key"),
        (json!({ "reflectance": 3 }), ".reflectance", "3"),
        (json!({ "reflectance": { "values": [0.4] } }), ".reflectance.values", "1 entries"),
        (json!({ "reflectance": { "values": spectrum(40.0) } }), ".reflectance.values", "40 at 380 nm"),
        (json!({ "reflectance": { "45": spectrum(0.4) } }), ".reflectance.45", "an unknown key"),
        (json!({ "reflectance": { "step_nm": 20, "values": spectrum(0.4) } }), ".reflectance.step_nm", "20"),
    ] {
        let problem = second(card);
        assert_eq!((problem.at, problem.given.as_str()), (format!("measured.cards[1]{path}"), given));
    }
}

// The test card

#[test]
fn a_test_card_is_a_list_of_places_and_films() {
    let places = |count: usize| (0..count).map(|i| json!([10 * i, 1.5 * i as f64])).collect::<Vec<_>>();
    for readings in [json!([]), json!([[-120.5, 0.25]]), json!([[-2000, 0], [2000, 1000]]), json!(places(200))] {
        for fluid in [json!(null), json!(212.5)] {
            kept(&test_card(json!({ "readings": readings, "distance_mm": 150, "speed_mm_per_s": 300,
                                     "solids_by_volume": 0.5, "fluid_ml_per_min": fluid })));
        }
    }
    let card = accepted(&test_card(json!({ "readings": [[0, 12]] }))).test_card.unwrap();
    assert_eq!((card.distance.0, card.speed.0, card.solids.0, card.fluid), (180.0, 500.0, 0.42, None));
    let problem = refused(&test_card(json!({ "readings": vec![[0, 1]; 201] })));
    says(problem, "test_card.readings", "201 readings", "up to 200", "Thin them out");
}

#[test]
fn wrong_readings_are_refused_with_their_place() {
    for given in [json!(null), json!(3), json!({}), json!("x")] {
        let problem = refused(&test_card(json!({ "readings": given })));
        says(problem, "test_card.readings", &given.to_string(), "a list of places and films", "place in mm");
    }
    says(refused(&test_card(json!({}))), "test_card.readings", "nothing", "a list of places", "place in mm");
    for given in [
        json!([1]),
        json!([1, 2, 3]),
        json!([]),
        json!(5),
        json!(null),
        json!({ "x": 1 }),
        json!(["1", 2]),
        json!([1, null]),
        json!([2001, 1]),
        json!([-2000.5, 1]),
        json!([0, -0.5]),
        json!([0, 1001]),
        json!([1e300, 1]),
    ] {
        let problem = refused(&test_card(json!({ "readings": [[0, 12], given] })));
        let allowed = "a place from -2000 to 2000 mm and a dry film from 0 to 1000 um";
        says(problem, "test_card.readings[1]", &given.to_string(), allowed, "[place, film]");
    }
}

// The base

fn paints(base: Value, coats: Value) -> Value {
    let mut whole = job(json!({ "paints": [{}, { "name": "base", "role": "base" }], "coats": coats }));
    whole["paints"][1].as_object_mut().unwrap().extend(base.as_object().unwrap().clone());
    whole
}

#[test]
fn a_base_is_solid_or_carries_flakes() {
    let both = json!([{ "paint": "base" }, {}]);
    kept(&paints(
        json!({ "kind": "solid", "reflectance": { "45": spectrum(0.5) }, "hides_at_um": 12.5 }),
        both.clone(),
    ));
    kept(&paints(json!({ "kind": "effect", "reflectance": angles(&ANGLES) }), both.clone()));
    let left_out = kept(&paints(json!({}), both));
    assert_eq!(left_out.paints[1].reflectance.as_ref(), Some(&Job::default().ground.reflectance), "the demonstration");
    assert_eq!((left_out.base(), left_out.tinted()), (Some(1), Some(0)));
}

#[test]
fn base_coats_come_before_tinted_ones() {
    let [base, tinted] = [json!({ "paint": "base" }), json!({})];
    for coats in [json!([]), json!([base]), json!([tinted]), json!([base, base, tinted, tinted])] {
        accepted(&paints(json!({}), coats));
    }
    for (coats, at) in [
        (json!([tinted, base]), "coats[1].paint"),
        (json!([base, tinted, base]), "coats[2].paint"),
        (json!([tinted, tinted, tinted, base]), "coats[3].paint"),
    ] {
        says(refused(&paints(json!({}), coats)), at, "a base after the tinted clear", "before tinted", "base first");
    }
}

#[test]
fn two_bases_are_refused_with_the_reason() {
    let two = job(json!({ "paints": [{ "name": "one", "role": "base" }, { "name": "two", "role": "base" }] }));
    says(refused(&two), "paints", "two bases", "at most one", "not computed in this version");
}

#[test]
fn only_a_base_has_a_reflectance_and_it_has_no_absorption() {
    for role in ["clear", "tinted_clear"] {
        let whole = job(json!({ "paints": [{ "role": role, "reflectance": angles(&[45.0]) }] }));
        says(refused(&whole), "paints[0].reflectance", "a reflectance", "none for a clear", "role \"base\"");
    }
    let base = job(json!({ "paints": [{ "role": "base", "absorption_per_um": { "values": spectrum(0.1) } }] }));
    says(refused(&base), "paints[0].absorption_per_um", "an absorption", "or a base", "leave the absorption out");
}

#[test]
fn a_base_needs_its_45_degrees_and_a_solid_one_no_other() {
    let at = "paints[1].reflectance";
    let problem = refused(&paints(json!({ "reflectance": angles(&[15.0]) }), json!([])));
    says(problem, at, "no \"45\"", "\"45\" among them", "45 degrees at least");
    let solid =
        |reflectance: Value| refused(&paints(json!({ "kind": "solid", "reflectance": reflectance }), json!([])));
    says(solid(json!(null)), at, "nothing", "\"45\"", "what was measured");
    says(solid(json!(angles(&[15.0, 45.0]))), "paints[1].reflectance.15", "15", "45 (aspecular", "Remove it");
}

#[test]
fn an_angle_at_which_the_base_was_not_measured_is_refused() {
    let mut whole = paints(json!({ "reflectance": angles(&[15.0, 45.0, 110.0]) }), json!([{ "paint": "base" }, {}]));
    for angle in [-15, 25, 75] {
        whole["viewing"] = json!({ "aspecular_deg": angle });
        let problem = refused(&whole);
        says(
            problem,
            "viewing.aspecular_deg",
            &angle.to_string(),
            "15, 45, 110",
            "measured at 15, 45, 110 degrees only; measure it at",
        );
    }
    for angle in [15, 45, 110] {
        whole["viewing"] = json!({ "aspecular_deg": angle });
        let job = accepted(&whole);
        assert_eq!(job.angles().iter().map(|angle| angle.0).collect::<Vec<_>>(), [15.0, 45.0, 110.0]);
    }
}
