//! One's own cards at one angle or several: the paint that is fitted to simulated readings is the one that was sprayed,
//! from face to flop, and whatever is said of a reading is said of the right one. The tint law itself is taken as exact.
//! Does not test any real card: there is none here.

use fanlap::cards::own;
use fanlap::colour::demonstration::ember;
use fanlap::colour::tint::Doubt;
use fanlap::colour::{Base, Geometry, Illuminant, Lab, Observer, delta_e00};
use fanlap::job::{Job, MeasuredCards, examples};
use fanlap::measured::Said;
use fanlap::units::{Degrees, Micrometres};
use serde_json::{Value, json};

/// The film of one simulated coat, um.
const COAT: f64 = 17.0;

fn seen(coats: f64, at: f64) -> fanlap::colour::Spectrum {
    let (paint, at) = (ember(), Degrees(at));
    let base = Base::Effect(paint.ground_at(at).expect("the demonstration is measured at all angles"));
    base.through(&paint.absorption, Micrometres(COAT * coats), &Geometry::new(at))
}

fn spectrum(coats: f64, at: f64) -> Value {
    let values = seen(coats, at).0.to_vec();
    json!({ "coats": coats, "aspecular_deg": at, "reflectance": { "from_nm": 380, "step_nm": 10, "values": values } })
}

fn lab(coats: f64, at: f64, observer: Observer) -> Value {
    let lab = Lab::of(&seen(coats, at), Illuminant::D65, observer);
    json!({ "coats": coats, "aspecular_deg": at, "lab": [lab.l, lab.a, lab.b] })
}

/// The green door with measured cards.
fn job(section: Value) -> Job {
    let mut whole = serde_json::to_value(examples::EXAMPLES[0].job()).unwrap();
    whole["measured"] = section;
    Job::read(&whole.to_string(), &fanlap::job::Files::none()).unwrap_or_else(|problem| panic!("{problem}"))
}

/// How far the paint of a job is from the one sprayed, CIEDE2000, after so many coats from an angle.
fn off(job: &Job, coats: f64, at: f64) -> f64 {
    let at = Degrees(at);
    let tint = job.tinted_clear().absorption;
    let found = job.under_tint(at).expect("known there").through(&tint, Micrometres(COAT * coats), &Geometry::new(at));
    let colour = |seen| Lab::of(seen, Illuminant::D65, Observer::Degrees10);
    delta_e00(colour(&found), colour(&seen(coats, at.0)))
}

fn taken(section: Value) -> Job {
    let mut section = section;
    section["cards"][0]["film_um"] = Value::Null;
    let before = job(section);
    let fit = own::fit(&before).unwrap().unwrap_or_else(|problem| panic!("{problem}"));
    // one coat counts as COAT, as a gauge would say
    let mut taken = own::take(&before, &fit).unwrap();
    let tinted = taken.tinted().unwrap();
    taken.paints[tinted].absorption = fit.absorption(Micrometres(COAT));
    taken
}

#[test]
fn a_paint_measured_from_face_to_flop_is_seen_from_face_to_flop() {
    let angles = [15.0, 45.0, 110.0];
    let cards: Vec<Value> = [0.0, 1.0, 3.0].iter().flat_map(|n| angles.map(|at| spectrum(*n, at))).collect();
    let job = taken(json!({ "cards": cards }));
    assert_eq!(job.angles(), angles.map(Degrees));
    for at in angles {
        // without noise the fit's own smoothness is all that is left
        let worst = [0.5, 1.0, 2.0, 3.0].map(|coats| off(&job, coats, at)).into_iter().fold(0.0, f64::max);
        assert!(worst < 0.3, "{worst} at {at}");
    }
}

#[test]
fn the_base_alone_at_other_angles_shows_the_paint_there() {
    let mut cards = vec![spectrum(0.0, 15.0), spectrum(0.0, 110.0)];
    cards.extend([0.0, 1.0, 3.0].map(|coats| spectrum(coats, 45.0)));
    let job = taken(json!({ "cards": cards }));
    assert_eq!(job.angles(), [15.0, 45.0, 110.0].map(Degrees));
    for at in [15.0, 45.0, 110.0] {
        assert!(off(&job, 2.0, at) < 0.3, "{} at {at}", off(&job, 2.0, at));
    }
}

#[test]
fn tinted_cards_at_another_angle_count_with_its_own_path() {
    // the tint known from the flop alone: at 45 degrees only the base
    let cards = [spectrum(0.0, 45.0), spectrum(0.0, 110.0), spectrum(1.0, 110.0), spectrum(3.0, 110.0)];
    let job = taken(json!({ "cards": cards }));
    assert!(off(&job, 2.0, 45.0) < 0.3, "{}", off(&job, 2.0, 45.0));
}

#[test]
fn the_observer_of_the_readings_counts() {
    for observer in [Observer::Degrees2, Observer::Degrees10] {
        let cards: Vec<Value> = [0.0, 1.0, 3.0].map(|coats| lab(coats, 45.0, observer)).to_vec();
        let job = job(json!({ "cards": cards, "observer_deg": observer.degrees() }));
        let fit = own::fit(&job).unwrap().unwrap();
        let two = Lab::of(&fit.colour(2.0, Degrees(45.0)).unwrap(), Illuminant::D65, Observer::Degrees10);
        let truth = Lab::of(&seen(2.0, 45.0), Illuminant::D65, Observer::Degrees10);
        // CIELAB leaves the spectrum open, so another observer sees the fit a little otherwise; readings for 2 degrees
        // taken for those of 10 are off by 1.1
        assert!(delta_e00(two, truth) < 0.6, "{} for {observer:?}", delta_e00(two, truth));
    }
}

#[test]
fn a_wrong_reading_is_told_at_its_own_place() {
    let angles = [15.0, 45.0, 110.0];
    let mut cards: Vec<Value> = angles.iter().flat_map(|at| [0.0, 1.0, 3.0].map(|n| spectrum(n, *at))).collect();
    cards[7] = lab(1.0, 110.0, Observer::Degrees10);
    for value in cards[7]["lab"].as_array_mut().unwrap() {
        *value = json!(value.as_f64().unwrap() * 1.35);
    }
    let fit = own::fit(&job(json!({ "cards": cards }))).unwrap().unwrap();
    assert_eq!((fit.residuals.len(), fit.coats.len()), (9, 9));
    let worst = (0..9).max_by(|a, b| fit.residuals[*a].total_cmp(&fit.residuals[*b])).unwrap();
    assert_eq!(worst, 7, "{:?}", fit.residuals);
    // the card of one coat has its first reading in the second row
    let told =
        |doubt: &Doubt| matches!(doubt, Doubt::NotByAbsorption { card: 1, .. } | Doubt::LighterThanBase { card: 1 });
    assert!(fit.doubts.iter().any(told), "{:?}", fit.doubts);
}

#[test]
fn readings_of_one_card_share_its_coats_and_two_cards_do_not() {
    let sprayed = |called: f64, coats: f64, at: f64| {
        let mut card = spectrum(coats, at);
        card["coats"] = json!(called);
        card
    };
    let mut cards: Vec<Value> = [15.0, 45.0, 110.0]
        .iter()
        .flat_map(|at| [sprayed(0.0, 0.0, *at), sprayed(1.0, 0.8, *at), sprayed(2.0, 2.2, *at)])
        .collect();
    let fit = own::fit(&job(json!({ "cards": cards, "unequal": true }))).unwrap().unwrap();
    for reading in [1, 4, 7] {
        assert_eq!(fit.coats[reading], fit.coats[1], "{:?}", fit.coats);
    }
    assert!((fit.coats[1] - 0.8).abs() < 0.1 && (fit.coats[2] - 2.2).abs() < 0.1, "{:?}", fit.coats);
    // a second card of one coat at 45 degrees is another card
    cards.push(sprayed(1.0, 1.2, 45.0));
    let fit = own::fit(&job(json!({ "cards": cards, "unequal": true }))).unwrap().unwrap();
    assert!(fit.coats[9] - fit.coats[1] > 0.2, "{:?}", fit.coats);
}

#[test]
fn the_view_stays_where_the_base_is_known_and_says_why_it_cannot_go_elsewhere() {
    let cards: Vec<Value> = [0.0, 1.0, 3.0].iter().flat_map(|n| [15.0, 45.0].map(|at| spectrum(*n, at))).collect();
    for (looked, stays) in [(15, 15.0), (110, 45.0)] {
        let mut before = job(json!({ "cards": cards }));
        before = before.with("viewing.aspecular_deg", &json!(looked)).unwrap();
        let fit = own::fit(&before).unwrap().unwrap();
        assert_eq!(own::take(&before, &fit).unwrap().viewing.aspecular, Degrees(stays));
    }
    let job = taken(json!({ "cards": cards }));
    let problem = job.with("viewing.aspecular_deg", &json!(110)).unwrap_err();
    assert_eq!((problem.at.as_str(), problem.allowed.as_str()), ("viewing.aspecular_deg", "15, 45"));
    assert!(problem.remedy.contains("measured at 15, 45 degrees only; measure it at 110 too"), "{problem}");

    let flop: Vec<Value> = [0.0, 1.0, 3.0].map(|n| spectrum(n, 110.0)).to_vec();
    let job = self::job(json!({ "cards": flop }));
    let problem = own::take(&job, &own::fit(&job).unwrap().unwrap()).unwrap_err();
    assert!(problem.remedy.contains("45 degrees too"), "{problem}");
}

#[test]
fn a_file_of_cards_keeps_all_its_angles() {
    let rows: String = [0.0, 1.0, 3.0]
        .iter()
        .flat_map(|n| [15.0, 45.0, 60.0].map(|at| format!("{n} coats,{at},{},20,49\n", 58.0 - 5.0 * n)))
        .collect();
    let text = format!("name,angle,L,a,b\n{rows}");
    let cards = MeasuredCards::from_file("cards.csv", &text, Said::default()).unwrap().cards;
    let kept: Vec<(f64, f64)> = cards.iter().map(|card| (card.coats, card.aspecular.0)).collect();
    assert_eq!(kept, [(0.0, 15.0), (0.0, 45.0), (1.0, 15.0), (1.0, 45.0), (3.0, 15.0), (3.0, 45.0)]);
    let open = text.replace(",angle", "").replace(",45,", ",").replace(",15,", ",").replace(",60,", ",");
    let problem = MeasuredCards::from_file("cards.csv", &open, Said::default()).unwrap_err();
    assert!(problem.given.contains("0 coats without its angle"), "{problem}");
    let said = Said { aspecular: Some(Degrees(25.0)), ..Said::default() };
    let cards = MeasuredCards::from_file("cards.csv", &open, said).unwrap().cards;
    assert!(cards.len() == 9 && cards.iter().all(|card| card.aspecular == Degrees(25.0)));
}
