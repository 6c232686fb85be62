//! The spray-outs: what film lies on a card, how it looks, which one comes nearest to the car, and what choosing one
//! does to the job. Trade facts are marked. Does not test how a job with cards is read: `job_cards.rs` does.

use crate::data::{accepted, job};
use fanlap::appraisal::appraise;
use fanlap::cards::{
    ACCEPTED, Card, Looks, Nearest, PERCEIVED, Verdict, aimed, amounts, choose, coats_at, coats_in_words, nearest,
    number_in_words, report, spray, spray_outs, target_words, to_car,
};
use fanlap::colour::{Geometry, Illuminant, Lab, ScreenSpace, delta_e00};
use fanlap::eye::Target;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::job::{ANGLES, Job, LADDER};
use fanlap::units::{Degrees, Micrometres};
use serde_json::{Map, Value, json};

fn door() -> Job {
    EXAMPLES.iter().map(|example| example.job()).find(|job| job.paints[0].name == "ember").unwrap()
}

fn bonnet() -> Job {
    EXAMPLES.iter().map(|example| example.job()).find(|job| job.paints[0].name != "ember").unwrap()
}

/// The job with one value changed.
fn with(job: &Job, path: &str, value: Value) -> Job {
    job.with(path, &value).unwrap_or_else(|problem| panic!("{problem}"))
}

/// Dry film of that many coats by the paint's budget: fluid x transfer x solids x coats / (speed x spacing), um.
fn budget(job: &Job, coats: f64) -> f64 {
    let coat = job.coats.iter().find(|coat| coat.amount.0 == 1.0).unwrap();
    let landed = job.gun.fluid.cubic_mm_per_s() * job.gun.transfer_at(coat.distance).0;
    1000.0 * landed * job.paints[0].solids_by_volume.0 * coats / (coat.speed.0 * coat.spacing(&job.gun).0)
}

/// A car that is this film of the job's own paint, measured at some angles.
fn car_of(job: &Job, film: f64, angles: &[f64]) -> Job {
    let seen = |angle: f64| {
        let base = job.under_tint(Degrees(angle)).unwrap();
        base.through(job.tinted_clear(), Micrometres(film), &Geometry::new(Degrees(angle))).0.to_vec()
    };
    let table: Map<String, Value> = angles.iter().map(|a| (a.to_string(), json!(seen(*a)))).collect();
    with(job, "car", json!({ "reflectance": table }))
}

fn car_lab(job: &Job, lab: [f64; 3]) -> Job {
    with(job, "car", json!({ "lab": { "45": lab } }))
}

fn found(job: &Job) -> (Vec<Card>, Nearest) {
    let cards = spray_outs(job);
    let found = nearest(job, &cards).expect("there is something to compare with");
    (cards, found)
}

/// The colours of the bare base and of the cards of a job.
fn colours(job: &Job) -> Vec<Lab> {
    let looks = Looks::of(job, ScreenSpace::Srgb);
    let films = spray_outs(job).into_iter().map(|card| card.film.mean());
    std::iter::once(Micrometres(0.0)).chain(films).map(|film| looks.lab(film)).collect()
}

// Coats

#[test]
fn a_half_coat_is_a_thin_one_followed_directly_by_a_full_one() {
    // Common practice, no source.
    for (coats, expected) in [
        (0.5, &[0.5][..]),
        (1.0, &[1.0]),
        (1.5, &[0.5, 1.0]),
        (2.0, &[1.0, 1.0]),
        (2.5, &[1.0, 0.5, 1.0]),
        (3.5, &[1.0, 1.0, 0.5, 1.0]),
        (8.0, &[1.0; 8]),
    ] {
        assert_eq!(amounts(coats), expected);
        assert_eq!(amounts(coats).iter().sum::<f64>(), coats);
    }
    let chosen = choose(&bonnet(), 1.5).unwrap();
    assert_eq!(chosen.coats[0].flash.0, 0.0, "directly");
    assert_eq!(chosen.coats[1].flash, bonnet().coats[0].flash);
}

#[test]
fn the_usual_ladder_is_1_and_1_5_and_2_and_2_5_coats() {
    // Common practice, no source.
    assert_eq!(LADDER, [1.0, 1.5, 2.0, 2.5]);
    assert_eq!(spray_outs(&bonnet()).iter().map(|card| card.coats).collect::<Vec<_>>(), LADDER);
}

#[test]
fn coats_are_named_as_the_trade_writes_them() {
    let written = [0.5, 1.0, 1.5, 2.0, 2.5, 1.93].map(coats_in_words);
    assert_eq!(written, ["\u{bd} coat", "1 coat", "1\u{bd} coats", "2 coats", "2\u{bd} coats", "1.93 coats"]);
    assert_eq!(number_in_words(3.5), "3\u{bd}");
}

// Film

#[test]
fn a_card_bears_the_film_of_the_paint_budget() {
    // Two spacings of 52.5 mm make a card's width: its mean is that of the raster, but for the grid's own error.
    let even = with(&with(&bonnet(), "coats[0].overlap", json!(0.79)), "coats[1].overlap", json!(0.79));
    for coats in [0.5, 1.0, 2.5] {
        let (card, expected) = (spray(&even, coats), budget(&even, coats));
        let off = card.film.mean_um / expected - 1.0;
        assert!(off.abs() < 2e-3, "{coats} coats: {} um, budget {expected}", card.film.mean_um);
    }
    // Elsewhere a card's width is a part of the raster, and its mean lies well within the raster's ripple: 7 % either
    // way at 60 % overlap of a fan with a pass exponent of 2.4, less at 50 %.
    for job in [door(), bonnet()] {
        for card in spray_outs(&job) {
            let off = card.film.mean_um / budget(&job, card.coats) - 1.0;
            assert!(off.abs() < 0.03, "{}: {} coats are off by {off}", job.title, card.coats);
            assert!(card.film.max_um / card.film.min_um < 1.14, "{}: {:?}", job.title, card.film);
        }
    }
}

#[test]
fn film_grows_in_proportion_to_the_coats() {
    for job in [door(), bonnet()] {
        let one = spray(&job, 1.0).film.mean_um;
        for coats in [0.5, 1.5, 2.0, 2.5, 4.0, 8.0] {
            let share = spray(&job, coats).film.mean_um / (one * coats);
            assert!((share - 1.0).abs() < 1e-9, "{}: {coats} coats are {share} of as many", job.title);
        }
    }
}

#[test]
fn the_hand_errs_on_cards_as_it_does_on_the_panel() {
    for job in [door(), bonnet()] {
        let coat = &job.coats[1];
        let straight = spray(&job, 2.0).film.mean_um;
        let faster = spray(&with(&job, "hand.speed_error", json!(0.25)), 2.0).film.mean_um;
        assert!((faster / straight - 0.8).abs() < 1e-3, "a quarter faster lays four fifths: {}", faster / straight);
        let farther = with(&job, "hand.distance_error_mm", json!(60));
        let share = job.gun.transfer_at(fanlap::units::Millimetres(coat.distance.0 + 60.0)).0
            / job.gun.transfer_at(coat.distance).0;
        let laid = spray(&farther, 2.0).film.mean_um / straight;
        // the wider fan ripples less: what is left is the ripple
        assert!((laid / share - 1.0).abs() < 0.03, "{}: {laid} of the film, the transfer falls to {share}", job.title);
    }
}

#[test]
fn a_card_bears_about_the_film_of_the_middle_of_the_panel() {
    for mut job in [door(), bonnet()] {
        job.panel.cell.0 = 10.0;
        let full: f64 = job.coats.iter().map(|coat| coat.amount.0).sum();
        let report = fanlap::report::report(&appraise(&job));
        let panel = report.film[&job.paints[0].name].interior.mean_um;
        let card = spray(&job, full).film.mean_um;
        // a crowned panel takes less than a flat card, and a raster ripples
        assert!((card / panel - 1.0).abs() < 0.06, "{}: card {card}, panel {panel}", job.title);
    }
}

#[test]
fn cards_are_sprayed_by_the_jobs_own_coats_one_after_the_other() {
    let job = with(&bonnet(), "coats[1].speed_mm_per_s", json!(250));
    let [one, two, three] = [1.0, 2.0, 3.0].map(|coats| spray(&job, coats).film.mean_um);
    assert!((two / one - 3.0).abs() < 1e-9, "the second coat is twice as thick");
    assert!((three / one - 5.0).abs() < 1e-9, "the third is like the last one there is");
    let none = with(&bonnet(), "coats", json!([]));
    assert!(spray(&none, 1.0).film.mean_um > 1.0, "without coats a coat with the usual settings");
    let untinted = accepted(&job_without_tint());
    assert_eq!(spray(&untinted, 2.0).film.max_um, 0.0);
    assert!(choose(&untinted, 2.0).unwrap_err().to_string().contains("no tinted clear"));
}

fn job_without_tint() -> Value {
    job(json!({ "paints": [{ "name": "top", "role": "clear" }], "coats": [{ "paint": "top" }] }))
}

#[test]
fn a_film_between_cards_is_so_many_coats() {
    let cards = spray_outs(&bonnet());
    for card in &cards {
        assert!((coats_at(&cards, card.film.mean()) - card.coats).abs() < 1e-12);
    }
    let [first, last] = [cards[0].film.mean_um, cards[3].film.mean_um];
    for (film, coats) in [(0.0, 0.0), (0.5 * first, 0.5), (2.0 * last, 5.0), (0.5 * (first + last), 1.75)] {
        assert!((coats_at(&cards, Micrometres(film)) - coats).abs() < 1e-6, "{film} um");
    }
    assert_eq!(coats_at(&[], Micrometres(20.0)), 0.0);
}

// The nearest film

#[test]
fn a_car_of_this_paint_is_found_at_its_film() {
    for job in [door(), bonnet()] {
        for film in [5.0, 17.3, 28.0, 35.0, 50.0] {
            for angles in [&[45.0][..], &[15.0, 110.0], &ANGLES] {
                let (cards, found) = found(&car_of(&job, film, angles));
                let what = format!("{} {film} um: {found:?}", job.title);
                assert!((found.film.0 - film).abs() < 0.01, "{what}");
                assert_eq!(found.verdict, Verdict::Reached, "{what}");
                assert!(found.differences.iter().all(|(_, d)| *d < 0.01), "{what}");
                assert_eq!(found.differences.iter().map(|(angle, _)| angle.0).collect::<Vec<_>>(), angles, "{what}");
                assert!((found.coats - coats_at(&cards, Micrometres(film))).abs() < 0.01, "{what}");
            }
        }
    }
}

#[test]
fn it_lies_between_the_cards_on_either_side() {
    let job = bonnet();
    let film = |coats: f64| spray(&job, coats).film.mean_um;
    for (coats, between) in [
        (0.3, (None, Some(1.0))),
        (1.2, (Some(1.0), Some(1.5))),
        (1.9, (Some(1.5), Some(2.0))),
        (2.4, (Some(2.0), Some(2.5))),
        (2.7, (Some(2.5), None)),
    ] {
        let (_, found) = found(&car_of(&job, coats * film(1.0), &[45.0]));
        assert_eq!(found.between, between, "{coats} coats: {found:?}");
        assert!((found.coats - coats).abs() < 0.01, "{coats} coats: {found:?}");
    }
}

#[test]
fn without_a_car_the_cards_are_compared_with_the_target() {
    for job in [door(), bonnet()] {
        let Target::Film(film) = job.target else { panic!("a film") };
        let (_, found) = found(&job);
        assert!((found.film.0 - film.0).abs() < 0.01 && found.verdict == Verdict::Reached, "{found:?}");
        assert_eq!(report(&job).compared_with, Some("target"));
        assert!(report(&job).text.starts_with("The target is the film of"), "{}", report(&job).text);
    }
}

#[test]
fn a_car_of_quite_another_colour_is_not_a_matter_of_coats() {
    for (job, lab) in [
        (door(), [60.0, -50.0, 10.0]),
        (door(), [75.0, 0.0, 80.0]),
        (bonnet(), [45.0, 50.0, 20.0]),
        (bonnet(), [95.0, 0.0, 0.0]),
        (door(), [30.0, 20.0, -60.0]),
        (door(), [50.0, 0.0, 0.0]),
        // darker than the most coats, and yet no film of this paint, however thick
        (door(), [18.0, 0.0, 0.0]),
        (door(), [5.0, 10.0, -30.0]),
        // of the opposite hue: the thickest film is merely the least wrong
        (bonnet(), [25.0, 65.0, 30.0]),
        (bonnet(), [20.0, 30.0, -40.0]),
    ] {
        let (_, found) = found(&car_lab(&job, lab));
        assert_eq!(found.verdict, Verdict::NotOfThisPaint, "{} {lab:?}: {found:?}", job.title);
        let text = report(&car_lab(&job, lab)).text;
        assert!(text.contains("not a matter of coats"), "{text}");
    }
}

#[test]
fn a_car_deeper_than_any_coats_asks_for_a_stronger_tint() {
    for job in [door(), bonnet()] {
        // coats of a few um: even eight of them are far from the car's film
        let weak = with(&job, "gun.fluid_ml_per_min", json!(20));
        let job = car_of(&weak, 60.0, &[45.0]);
        let (cards, found) = found(&job);
        assert_eq!(found.verdict, Verdict::DeeperThanCoats, "{found:?}");
        assert!((found.film.0 / (8.0 * cards[0].film.mean_um) - 1.0).abs() < 0.02, "{found:?}");
        assert!(found.differences[0].1 > ACCEPTED && found.between == (Some(2.5), None));
        assert!(report(&job).text.contains("too light"), "{}", report(&job).text);
    }
}

#[test]
fn what_is_seen_but_accepted_is_near() {
    let job = door();
    let looks = Looks::of(&job, ScreenSpace::Srgb);
    let lab = looks.lab(Micrometres(30.0));
    // aside of the paint's way, at right angles to it: greyer
    let between = 0.5 * (PERCEIVED + ACCEPTED);
    for (aside, verdict) in [(0.2, Verdict::Reached), (between, Verdict::Near), (4.0, Verdict::NotOfThisPaint)] {
        let scale = |by: f64| Lab { l: lab.l, a: lab.a * (1.0 - by), b: lab.b * (1.0 - by) };
        // the car that differs by `aside` at its nearest film
        let (mut low, mut high) = (0.0, 0.9);
        let of = |by: f64| {
            let car = scale(by);
            found(&car_lab(&job, [car.l, car.a, car.b])).1
        };
        for _ in 0..20 {
            let middle = 0.5 * (low + high);
            if of(middle).differences[0].1 < aside { low = middle } else { high = middle }
        }
        assert_eq!(of(low).verdict, verdict, "{:?}", of(low));
    }
}

#[test]
fn lab_of_a_car_under_another_light_compares_with_nothing() {
    let whole = json!({ "lab": { "45": [42, 45, 30] }, "illuminant": "A", "observer_deg": 10 });
    let job = with(&door(), "car", whole);
    let under_d65 = report(&job);
    assert_eq!((under_d65.compared_with, under_d65.compared_lab), (None, None));
    assert!(under_d65.nearest.is_none() && under_d65.cards.iter().all(|card| card.delta_e00.is_none()));
    assert!(under_d65.text.contains("not measured for the light D65"), "{}", under_d65.text);
    assert!(under_d65.text.ends_with("Choose Lamp A and 45\u{b0}, or measure spectra."), "{}", under_d65.text);
    let cards = spray_outs(&job);
    let aimed_at = aimed(&job, &cards, None).map(|card| card.coats);
    let target = spray_outs(&with(&job, "car", Value::Null));
    let unmeasured = with(&job, "car", Value::Null);
    let nearest_to_target = nearest(&unmeasured, &target).unwrap().card;
    assert_eq!(aimed_at, nearest_to_target, "nothing is compared: the card nearest to the target film");
    let chosen = choose(&job, 1.0).unwrap();
    assert_eq!(aimed(&chosen, &cards, None).map(|card| card.coats), Some(1.0));
    assert!(target_words(&chosen, System::Metric).contains("is not known for this light"));
    let under_a = report(&with(&job, "viewing.illuminant", json!("A")));
    assert_eq!(under_a.compared_with, Some("car"));
    assert!(under_a.nearest.is_some() && under_a.cards.iter().all(|card| card.delta_e00.is_some()));
}

#[test]
fn a_car_measured_at_other_angles_than_it_is_looked_at_still_finds_its_film() {
    let job = car_of(&door(), 25.0, &[15.0, 110.0]);
    let report = report(&job);
    assert_eq!((report.aspecular_deg, report.compared_with), (45.0, None));
    let over = "comes nearest, over 15\u{b0} and 110\u{b0} together at";
    assert!(report.text.contains(over), "{}", report.text);
    let here =
        "At 45\u{b0} there is nothing to compare with. Choose 15\u{b0} or 110\u{b0}, or measure the car at this angle.";
    assert!(report.text.ends_with(here), "{}", report.text);
    let nearest = report.nearest.unwrap();
    assert!((nearest.film_um - 25.0).abs() < 0.01, "{nearest:?}");
    assert_eq!(nearest.delta_e00.keys().collect::<Vec<_>>(), ["110", "15"]);
}

// The report

#[test]
fn every_card_is_reported_at_every_angle() {
    let job = car_of(&door(), 30.0, &ANGLES);
    let report = report(&job);
    assert_eq!(report.cards.len(), 4);
    for (i, card) in report.cards.iter().enumerate() {
        let degrees: Vec<f64> = card.angles.keys().map(|angle| angle.parse().unwrap()).collect();
        assert!(degrees.len() == 6 && ANGLES.iter().all(|angle| degrees.contains(angle)), "{degrees:?}");
        assert_eq!(card.angles["45"], card.colour);
        assert!(card.flop_index.unwrap() > 1.0, "an effect base flops");
        assert_eq!(card.sticker.keys().copied().collect::<Vec<_>>(), ["black", "grey", "white"]);
        let next = report.cards.get(i + 1).map(|next| next.colour.lab);
        let of = |lab: [f64; 3]| Lab { l: lab[0], a: lab[1], b: lab[2] };
        assert_eq!(card.to_next_card, next.map(|next| delta_e00(of(card.colour.lab), of(next))));
        assert_eq!(card.delta_e00, Some(delta_e00(of(card.colour.lab), of(report.compared_lab.unwrap()))));
    }
    let two = with(&job, "cards.sticker", json!("black_white"));
    assert_eq!(fanlap::cards::report(&two).cards[0].sticker.keys().copied().collect::<Vec<_>>(), ["black", "white"]);
}

#[test]
fn cards_are_looked_at_over_the_base_that_hides() {
    // the same base as a paint over a black ground, or as the ground itself
    let ground = door();
    let mut whole = ground.value();
    let base = json!({ "name": "base", "role": "base", "reflectance": whole["ground"]["reflectance"] });
    whole["paints"].as_array_mut().unwrap().push(base);
    whole["ground"] = json!({ "kind": "solid", "reflectance": { "45": vec![0.01; 36] } });
    let [painted, ground] = [report(&accepted(&whole)), report(&ground)];
    for (a, b) in painted.cards.iter().zip(&ground.cards) {
        assert_eq!((a.colour, &a.angles), (b.colour, &b.angles));
    }
}

// Choosing a card

/// Base, two coats of tint, untinted clear.
fn in_order() -> Job {
    accepted(&job(json!({
        "paints": [{ "name": "tint" }, { "name": "base", "role": "base" }, { "name": "top", "role": "clear" }],
        "coats": [{ "paint": "base" }, { "paint": "tint", "overlap": 0.6 }, { "paint": "tint", "amount": 0.9 },
                  { "paint": "top", "speed_mm_per_s": 400 }, { "paint": "top" }],
        "cards": { "ladder": [0.5, 1, 1.5, 2, 2.5, 8] },
    })))
}

#[test]
fn a_chosen_card_becomes_target_and_coats_and_leaves_base_and_clear_in_place() {
    let job = in_order();
    for coats in [0.5, 1.0, 1.5, 2.5, 8.0] {
        let chosen = choose(&job, coats).unwrap();
        let amounts = amounts(coats);
        assert_eq!(chosen.cards.chosen, Some(coats));
        assert_eq!(chosen.coats[0], job.coats[0], "the base first");
        let tinted = &chosen.coats[1..=amounts.len()];
        assert!(tinted.iter().all(|coat| coat.paint == "tint"));
        assert_eq!(tinted.iter().map(|coat| coat.amount.0).collect::<Vec<_>>(), amounts);
        assert_eq!(chosen.coats[amounts.len() + 1..], job.coats[3..], "then the clear");
        let Target::Film(film) = chosen.target else { panic!("a film") };
        assert!((film.0 - spray(&job, coats).film.mean_um).abs() <= 0.05 + 1e-9, "{coats} coats: {film}");
        let others = |job: &Job| {
            let mut value = job.value();
            for key in ["coats", "target", "cards"] {
                value.as_object_mut().unwrap().remove(key);
            }
            value
        };
        assert_eq!(others(&chosen), others(&job), "nothing else");
    }
}

#[test]
fn a_chosen_card_is_what_the_job_then_aims_at_and_sprays() {
    for job in [door(), bonnet()] {
        let mut chosen = choose(&job, 2.0).unwrap();
        chosen.panel.cell.0 = 10.0;
        let report = fanlap::report::report(&appraise(&chosen));
        let Target::Film(film) = chosen.target else { panic!("a film") };
        let laid = report.film[&job.paints[0].name].interior.mean_um;
        assert!((laid / film.0 - 1.0).abs() < 0.06, "{}: {laid} um, card {film}", job.title);
        assert!(report.colour.delta_e00.mean < 3.0, "{:?}", report.colour.delta_e00);
    }
}

#[test]
fn choosing_can_be_taken_back() {
    // the examples' coats are alike: of unlike ones the settings of those that a smaller card drops are gone
    for job in [door(), bonnet()] {
        let before = job.clone();
        let once = choose(&job, 2.0).unwrap();
        assert_eq!(job, before);
        assert_eq!(choose(&choose(&once, 1.5).unwrap(), 2.0).unwrap(), once, "another card and back");
    }
}

#[test]
fn a_card_that_is_not_on_the_ladder_cannot_be_chosen() {
    for coats in [3.0, 1.25, 0.0, -1.0, 1e12, f64::NAN, f64::INFINITY] {
        let problem = crate::data::sound(choose(&bonnet(), coats).unwrap_err());
        assert_eq!((problem.at.as_str(), problem.given), ("cards.chosen", coats.to_string()));
        assert_eq!(problem.allowed, "one of the ladder: 1, 1.5, 2, 2.5");
    }
}

// Trade facts

#[test]
fn the_base_alone_is_lighter_and_more_orange_than_the_finished_red() {
    // Common practice, no source.
    let colours = colours(&door());
    let (base, finished) = (colours[0], colours[3]);
    assert!(base.l > finished.l + 10.0, "{base:?} {finished:?}");
    assert!((45.0..80.0).contains(&base.hue_degrees()), "yellowish orange: {}", base.hue_degrees());
    assert!(finished.hue_degrees() < base.hue_degrees() - 15.0, "{base:?} {finished:?}");
}

#[test]
fn with_more_film_the_warm_red_grows_deeper_and_bluer() {
    // Common practice, no source. Beyond three coats the invented red only darkens.
    let job = with(&door(), "cards.ladder", json!([0.5, 1, 1.5, 2, 2.5, 3]));
    let colours = colours(&job);
    for pair in colours.windows(2) {
        assert!(pair[1].l < pair[0].l - 0.5, "darker: {pair:?}");
        assert!(pair[1].hue_degrees() < pair[0].hue_degrees() - 0.2, "from orange towards blue: {pair:?}");
    }
    // redder over the first coats, then as good as black
    assert!(colours[1].a > colours[0].a + 5.0 && colours[2].a > colours[1].a, "{colours:?}");
    assert!(colours.last().unwrap().b < colours[0].b - 20.0, "{colours:?}");
}

#[test]
fn the_first_coats_make_the_warm_red_more_saturated() {
    // Common practice, no source. Saturation is chroma over lightness: a deeper colour may lose chroma and still be
    // more saturated.
    let colours = colours(&door());
    let saturation = |lab: &Lab| lab.chroma() / lab.l;
    for pair in colours.windows(2) {
        assert!(saturation(&pair[1]) > saturation(&pair[0]), "{pair:?}");
    }
    assert!(colours[1].chroma() > colours[0].chroma(), "chroma over the first coat: {colours:?}");
}

#[test]
fn every_field_of_the_sticker_darkens_with_each_coat_and_none_is_hidden() {
    // Common practice, no source: the painter counts coats by the grey field.
    for job in [door(), bonnet()] {
        let looks = Looks::of(&job, ScreenSpace::Srgb);
        let fields: Vec<[f64; 3]> =
            (0..5).map(|coats| looks.sticker(Micrometres(budget(&job, f64::from(coats)))).map(|f| f.lab.l)).collect();
        for pair in fields.windows(2) {
            assert!(pair[1][0] < pair[0][0] && pair[1][2] < pair[0][2], "black and white: {fields:?}");
            assert!(pair[1][1] < pair[0][1] - 1.0, "grey: {fields:?}");
        }
        assert!(fields.iter().all(|[black, grey, white]| *black + 5.0 < *grey && *grey + 5.0 < *white), "{fields:?}");
    }
}

// On the screen

#[test]
fn cards_car_base_and_sticker_share_one_exposure() {
    for angle in ANGLES {
        let job = with(&car_of(&door(), 30.0, &ANGLES), "viewing.aspecular_deg", json!(angle));
        let looks = Looks::of(&job, ScreenSpace::Srgb);
        let [car, card] = [looks.reference().unwrap(), looks.card(Micrometres(30.0))];
        assert_eq!(car.lab, card.lab);
        assert_eq!(car.shown, card.shown, "{angle}: the same spectrum is the same on the screen");
        let white = looks.sticker(Micrometres(0.0))[2].shown.linear;
        let base = looks.card(Micrometres(0.0)).shown.linear;
        let brightest = white.into_iter().chain(base).fold(0.0, f64::max);
        assert!(brightest <= 1.0 + 1e-9, "{angle}: {brightest}");
    }
    // of CIELAB alone no spectrum is known: measured by the 10 degree observer it is shown by that of 2 degrees, and
    // the same red is then 0.028 of the screen's red off
    let card = Looks::of(&door(), ScreenSpace::Srgb).card(Micrometres(30.0));
    let job = car_lab(&door(), [card.lab.l, card.lab.a, card.lab.b]);
    let car = Looks::of(&job, ScreenSpace::Srgb).reference().unwrap();
    assert!((0..3).all(|k| (car.shown.linear[k] - card.shown.linear[k]).abs() < 0.03), "{car:?} {card:?}");
    assert!(Looks::at(&bonnet(), Degrees(60.0), Illuminant::D65, ScreenSpace::Srgb).is_none());
}

#[test]
fn the_closest_card_is_the_one_of_least_difference_over_all_angles() {
    for film in [12.0, 21.0, 30.0, 44.0] {
        let job = car_of(&door(), film, &ANGLES);
        let (cards, found) = found(&job);
        let off = |card: &Card| {
            let at = |angle: &f64| Looks::at(&job, Degrees(*angle), Illuminant::D65, ScreenSpace::Srgb).unwrap();
            let differences = ANGLES.iter().map(|angle| at(angle).difference(card.film.mean()).unwrap());
            differences.map(|off| off * off).sum::<f64>()
        };
        let least = cards.iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap();
        assert_eq!(found.card, Some(least.coats), "{film} um");
    }
}

#[test]
fn a_chosen_card_far_from_the_car_is_said_to_be_so() {
    let job = car_of(&bonnet(), 36.0, &[45.0]);
    let chosen = choose(&job, 1.0).unwrap();
    let off = to_car(&chosen).unwrap();
    let wanted = report(&chosen).cards[0].delta_e00.unwrap();
    assert!((off - wanted).abs() < 0.05 && off > ACCEPTED, "{off} {wanted}");
    let text = target_words(&chosen, System::Metric);
    assert!(text.contains("the card with 1 coat,") && text.contains(&format!("from the car by {off:.1}")), "{text}");
    let moved = with(&chosen, "target.film_um", json!(30));
    let text = target_words(&moved, System::Metric);
    assert!(text.starts_with("The target is 30 \u{b5}m, and differs"), "no longer that card: {text}");
    assert_eq!(to_car(&bonnet()), None);
    assert_eq!(target_words(&bonnet(), System::Metric), "");
}

#[test]
fn a_card_is_shown_as_light_as_its_figures_say() {
    // without what the gloss mirrors: of a grey of some L* the screen shows the light of that L*, but for the exposure
    let job = bonnet();
    for angle in [15.0, 110.0] {
        let looks = Looks::at(&job, Degrees(angle), Illuminant::D65, ScreenSpace::Srgb).unwrap();
        let light = |film: f64| {
            let look = looks.card(Micrometres(film));
            let [red, green, blue] = look.shown.linear;
            let y = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
            (y, look)
        };
        let ((thin, one), (thick, other)) = (light(5.0), light(20.0));
        let of =
            |lab: Lab| lab.to_xyz(fanlap::colour::Xyz::white(Illuminant::D65, fanlap::colour::Observer::Degrees10)).y;
        let (shown, measured) = (thick / thin, of(other.lab) / of(one.lab));
        assert!((shown / measured - 1.0).abs() < 0.1, "{angle}: {shown} {measured}");
    }
}
