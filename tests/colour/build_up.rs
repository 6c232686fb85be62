//! What is found and seen of a whole build-up: a base that does not hide under a tinted clear, by paint, with cause and
//! cure; which way a difference points; and that one film is one colour wherever it is shown. Ramps and blends are not
//! tested here.

use fanlap::cards::Looks;
use fanlap::causes;
use fanlap::colour::ScreenSpace;
use fanlap::eye::{Appearance, BuildUpColour, Films, Visibility};
use fanlap::findings::{Fault, Kind, Part, faults, findings};
use fanlap::job::examples::EXAMPLES;
use fanlap::job::{Files, Job};
use fanlap::maths::cos;
use fanlap::rehearsal::rehearse;
use fanlap::report::{appearance, report};
use fanlap::units::{Metres, Micrometres};
use serde_json::{Value, json};
use std::sync::Arc;

const FROM: [f64; 3] = [380.0, 10.0, 36.0];

fn spectrum(value: impl Fn(f64) -> f64) -> Value {
    let values: Vec<f64> = (0..FROM[2] as usize).map(|i| value(FROM[0] + FROM[1] * i as f64)).collect();
    json!(values)
}

/// A grey base under the built-in tint on a ground of one grey, both invented.
fn job(ground: f64, base_overlap: f64, changes: &[(&str, Value)]) -> Job {
    let grey = |value: f64| json!({ "from_nm": 380, "step_nm": 10, "45": spectrum(|_| value) });
    let base = json!({ "paint": "slate", "overlap": base_overlap, "speed_mm_per_s": 300.0 * 0.4 / (1.0 - base_overlap),
        "margin_mm": 60 });
    let tinted = json!({ "paint": "tinted", "overlap": 0.75, "speed_mm_per_s": 830, "margin_mm": 60 });
    let whole = json!({
        "fanlap_job": 1, "title": "A base under a tint (invented)",
        "panel": { "length_mm": 1100, "width_mm": 1000, "cell_mm": 10 },
        "ground": { "kind": "solid", "reflectance": grey(ground) },
        "paints": [
            { "name": "slate", "role": "base", "kind": "solid", "solids_by_volume": 0.2, "hides_at_um": 14,
              "reflectance": grey(0.4) },
            { "name": "tinted", "role": "tinted_clear" },
        ],
        "coats": [base, base, tinted, tinted],
    });
    let job = Job::read(&whole.to_string(), &Files::none()).unwrap();
    changes.iter().fold(job, |job, (path, value)| job.with(path, value).unwrap())
}

fn of(faults: &[Fault], kind: Kind, part: Part, paint: usize) -> Fault {
    let same = |fault: &&Fault| (fault.kind, fault.part, fault.paint) == (kind, part, paint);
    faults.iter().find(same).unwrap_or_else(|| panic!("{kind:?} of paint {paint} is measured")).clone()
}

const SLATE: usize = 0;
const TINTED: usize = 1;

#[test]
fn stripes_of_the_base_are_seen_found_and_named_by_the_base_with_cause_and_cure() {
    let job = job(0.03, 0.1, &[]);
    let report = causes::report(&rehearse(&job));
    let seen = report.seen.unwrap();
    println!("{seen:?}");
    assert!(seen.times_threshold.max > 5.0, "{seen:?}");
    assert_eq!(seen.worst.paint, "slate");
    assert!(seen.worst.delta_e00 > 2.0, "{seen:?}");
    let told = report.findings.unwrap();
    let striping = told.iter().find(|finding| finding.kind == Kind::Striping).expect("stripes are found");
    assert_eq!(striping.paint, "slate");
    assert_eq!(striping.cause.as_ref().unwrap().setting, "coats[0].overlap");
    let cure = striping.cure.as_ref().expect("a cure");
    assert!(cure.set.keys().all(|path| path.starts_with("coats[0]") || path.starts_with("coats[1]")), "{cure:?}");
    let cured = findings(&rehearse(&job.with_all(&cure.set).unwrap()));
    assert!(!cured.iter().any(|fault| (fault.kind, fault.paint) == (Kind::Striping, SLATE)), "{cured:?}");
    assert!(told.iter().all(|finding| finding.paint != "tinted"), "the tint is even: {told:?}");
}

#[test]
fn a_base_that_hides_shows_no_stripes_however_it_is_striped() {
    // little overlap, but so slow and so rich that the thinnest place hides twice over
    let slow = [("coats[0].speed_mm_per_s", json!(50)), ("coats[1].speed_mm_per_s", json!(50))];
    let job = job(0.03, 0.3, &slow).with("paints[0].solids_by_volume", &json!(0.6)).unwrap();
    let rehearsal = rehearse(&job);
    let least = rehearsal.film(SLATE).into_iter().fold(f64::INFINITY, f64::min);
    assert!(least > 28.0, "{least} um of base at least");
    let found: Vec<Fault> = findings(&rehearsal).into_iter().filter(|fault| fault.delta_e00 > 0.0).collect();
    assert_eq!(found, []);
    assert!(report(&rehearsal).seen.unwrap().times_threshold.max < 1.0);
}

#[test]
fn an_even_base_that_is_too_thin_is_not_hidden_and_needs_more_film() {
    let fast = [("coats[0].speed_mm_per_s", json!(1900)), ("coats[1].speed_mm_per_s", json!(1900))];
    let job = job(0.03, 0.75, &fast);
    let found = causes::findings(&job);
    let thin = found.iter().find(|finding| finding.fault.kind == Kind::NotHidden).expect("it does not hide");
    let mean = thin.fault.film.0 + 14.0; // against the film that hides
    assert!(mean > 1.0 && mean < 14.0, "{mean} um of base on average");
    assert_eq!(thin.fault.seen_from, None, "an even base is only seen beside the right colour");
    assert_eq!(thin.causes[0].setting, "coats[0].speed_mm_per_s");
    assert!(thin.cure.as_ref().unwrap().times < 1.0);
}

#[test]
fn a_film_that_is_even_but_wrong_is_seen_from_no_distance() {
    let mut job = EXAMPLES[0].job();
    job.panel.cell.0 = 12.0;
    let found = findings(&rehearse(&job.with("target.film_um", &json!(20)).unwrap()));
    let over = found.iter().find(|fault| fault.kind == Kind::OverFilm).expect("far over the target");
    assert_eq!(over.seen_from, None);
    assert!(over.times > 1.0);
}

#[test]
fn an_edge_is_seen_from_as_far_as_its_strip_would_be() {
    let with_edge = |speed: f64| {
        let job = job(0.4, 0.75, &[("coats[2].edge_pass", json!(true)), ("coats[3].speed_mm_per_s", json!(speed))]);
        of(&findings(&rehearse(&job)), Kind::HeavyEdge, Part::Near, TINTED)
    };
    let heavy = with_edge(500.0);
    println!("{heavy:?}");
    let from = heavy.seen_from.expect("a fat edge is seen").0;
    assert!((1.0..=10.0).contains(&from), "{from} m");
}

#[test]
fn the_middle_stripe_lies_across_the_passes_whichever_way_they_run() {
    for (along, wide, deep) in [("length", 1100.0, false), ("width", 1000.0, true)] {
        let changes: Vec<(String, Value)> = (2..4)
            .flat_map(|coat| {
                [("along", json!(along)), ("reach", json!("both_sides")), ("reach_overlap_mm", json!(120))]
                    .map(|(key, value)| (format!("coats[{coat}].{key}"), value))
            })
            .collect();
        let changes: Vec<(&str, Value)> = changes.iter().map(|(path, value)| (path.as_str(), value.clone())).collect();
        let job = job(0.4, 0.75, &changes);
        let stripe = of(&faults(&rehearse(&job)), Kind::CentreStripe, Part::Middle, TINTED);
        let (across, long) = if deep {
            ((stripe.area.least.x, stripe.area.most.x, stripe.worst.x, job.panel.length.0), stripe.area.least.y)
        } else {
            ((stripe.area.least.y, stripe.area.most.y, stripe.worst.y, job.panel.width.0), stripe.area.least.x)
        };
        // half a fan on either side of what both reaches cover
        let half = (job.gun.fan_width.0 + 120.0) / 2.0;
        let middle = across.3 / 2.0;
        assert!(
            (across.0 - (middle - half)).abs() < 1e-9 && (across.1 - (middle + half)).abs() < 1e-9,
            "{along}: {stripe:?}"
        );
        assert!((across.2 - middle).abs() < half, "{along}: worst at {}", across.2);
        assert!(long > 100.0 && long < wide / 2.0, "{along}: it runs along the passes");
        assert!(stripe.times > 1.0 && stripe.film.0 > 0.0, "{along}: twice as many passes: {stripe:?}");
        assert!(stripe.seen_from.is_some());
    }
}

#[test]
fn a_difference_points_one_way_whichever_film_makes_it() {
    let signed = |ground: f64, films: Films| {
        let job = job(ground, 0.75, &[]);
        let colours = appearance(&job, ScreenSpace::Srgb, Micrometres(80.0));
        (colours.signed_difference(films), colours.difference(films), colours.lab(films).l - colours.target().l)
    };
    let target = job(0.4, 0.75, &[]);
    let target = appearance(&target, ScreenSpace::Srgb, Micrometres(80.0)).target_film();
    for base in [0.5, 2.0, 5.0, f64::INFINITY] {
        for share in [0.5, 0.9, 1.1, 1.6] {
            for ground in [0.03, 0.85] {
                let films = Films { tinted: Micrometres(share * target.0), base: Micrometres(base) };
                let (signed, plain, lighter) = signed(ground, films);
                if lighter.abs() < 1.0 {
                    continue;
                }
                let at =
                    format!("ground {ground}, base {base}, {share} of the target: {signed}, {plain}, L* {lighter:+}");
                assert_eq!(signed < 0.0, lighter > 0.0, "{at}");
                assert!((signed.abs() - plain).abs() < 0.3 + 0.05 * plain, "{at}");
            }
        }
    }
}

#[test]
fn one_film_is_one_colour_on_panel_card_and_sticker() {
    for example in EXAMPLES {
        let job = example.job();
        for angle in job.angles() {
            let job = job.with("viewing.aspecular_deg", &json!(angle.0)).unwrap();
            let colours: Appearance = appearance(&job, ScreenSpace::Srgb, Micrometres(60.0));
            let looks = Looks::of(&job, ScreenSpace::Srgb);
            for film in [0.0, 10.0, 35.0, 50.0] {
                let panel = colours.track().screen(Micrometres(film));
                let card = looks.card(Micrometres(film)).shown.linear;
                for (panel, card) in panel.into_iter().zip(card) {
                    // half an eight-bit step at middle grey; the panel's table has steps of a quarter um
                    assert!((panel - card).abs() < 2e-3, "{} at {angle:?}, {film} um: {panel}, {card}", job.title);
                }
            }
        }
    }
}

#[test]
fn in_the_flop_no_colour_turns_pastel_unless_the_gloss_is_asked_for() {
    let job = EXAMPLES[0].job().with("viewing.aspecular_deg", &json!(110)).unwrap();
    let saturation = |gloss: f64| {
        let job = job.with("viewing.surround_gloss", &json!(gloss)).unwrap();
        let shown = appearance(&job, ScreenSpace::Srgb, Micrometres(40.0)).track().screen(Micrometres(35.0));
        let [most, least] = [f64::max, f64::min].map(|of| shown.into_iter().reduce(of).unwrap());
        1.0 - least / most
    };
    // Fresnel at 65 degrees from the normal: 12 % of a white room comes on top of a colour of a few per cent
    let (bare, room) = (saturation(0.0), saturation(1.0));
    println!("saturation in the flop {bare:.2}, in a white room {room:.2}");
    assert!(bare > 0.9 && room < 0.6, "{bare}, in a white room {room}");
}

#[test]
fn two_films_are_seen_as_one_is_where_the_base_hides() {
    // the same stripes of the tint: over a base that hides for good, and over one a little short of it
    let job = job(0.03, 0.75, &[]);
    let colours = appearance(&job, ScreenSpace::Srgb, Micrometres(80.0));
    let patch = job.panel.cells();
    let film: Vec<f64> = (0..patch.columns * patch.rows)
        .map(|i| 35.0 + cos(2.0 * std::f64::consts::PI * patch.centre(i % patch.columns, 0).x / 157.0))
        .collect();
    let base = job.under_tint(job.viewing.aspecular).unwrap();
    let (clear, viewing, onlooker) = (job.tinted_clear(), job.viewing.viewing(), job.viewing.onlooker());
    let one = fanlap::eye::FilmColour::over(base, clear, &viewing, Micrometres(40.0));
    let both = Arc::new(BuildUpColour::new(colours.underlay(), clear, &viewing, Micrometres(40.0)));
    let most = |seen: Visibility, distance: f64| seen.map(Metres(distance)).into_iter().fold(0.0, f64::max);
    for distance in [0.5, 1.0, 4.0] {
        let alone = most(Visibility::of(&patch, &film, one.clone(), onlooker), distance);
        let even = most(Visibility::of_build_up(&patch, (&film, &[27.9]), both.clone(), onlooker), distance);
        let map = vec![27.9; film.len()];
        let uneven = most(Visibility::of_build_up(&patch, (&film, &map), both.clone(), onlooker), distance);
        println!("{distance} m: {alone:.3} {even:.3} {uneven:.3}");
        // the mechanisms' weights are shared one by one there and together here
        assert!((even / alone - 1.0).abs() < 0.05, "{distance} m: {even}, alone {alone}");
        assert!((uneven / even - 1.0).abs() < 1e-6);
    }
}

#[test]
fn stripes_of_base_and_tint_that_cancel_are_not_seen_as_if_they_added() {
    // over a white ground a thinner base is lighter, and so is a thinner tint: in step they add, out of step they cancel
    let job = job(0.85, 0.75, &[]);
    let colours = appearance(&job, ScreenSpace::Srgb, Micrometres(80.0));
    let patch = job.panel.cells();
    let wave = |i: usize| cos(2.0 * std::f64::consts::PI * patch.centre(i % patch.columns, 0).x / 200.0);
    let cells = 0..patch.columns * patch.rows;
    let film: Vec<f64> = cells.clone().map(|i| 35.0 + 0.4 * wave(i)).collect();
    let seen = |way: f64| {
        let base: Vec<f64> = cells.clone().map(|i| 4.0 + way * 0.2 * wave(i)).collect();
        let seen = Visibility::of_build_up(&patch, (&film, &base), colours.build_up(), job.viewing.onlooker());
        seen.map(Metres(1.0)).into_iter().fold(0.0, f64::max)
    };
    let (added, alone, cancelled) = (seen(1.0), seen(0.0), seen(-1.0));
    println!("added {added:.2}, tint alone {alone:.2}, cancelled {cancelled:.2}");
    assert!(added > 1.2 * alone && cancelled < added / 1.5, "{added} {alone} {cancelled}");
}

#[test]
fn thin_and_thick_places_of_a_base_are_shown_with_one_exposure() {
    // near the highlight a bright effect base exceeds the screen, the dark ground under it does not
    let bright = spectrum(|_| 1.6);
    let mut whole = job(0.03, 0.75, &[]).value();
    let ground = json!({ "from_nm": 380, "step_nm": 10, "15": spectrum(|_| 0.2), "45": spectrum(|_| 0.1) });
    let base = json!({ "from_nm": 380, "step_nm": 10, "15": bright, "45": spectrum(|_| 0.5) });
    whole["ground"] = json!({ "kind": "effect", "reflectance": ground });
    whole["paints"][0]["kind"] = json!("effect");
    whole["paints"][0]["reflectance"] = base;
    whole["viewing"]["aspecular_deg"] = json!(15);
    let job = Job::read(&whole.to_string(), &Files::none()).unwrap();
    let colours = appearance(&job, ScreenSpace::Srgb, Micrometres(40.0));
    // where there is no base at all the ground is shown with the exposure of the base beside it: 0.2 of 1.6
    let [bare, hidden] = [0, colours.sheets() - 1].map(|sheet| colours.on_sheet(sheet, Micrometres(0.0)).0[1]);
    assert!((hidden - 1.0).abs() < 1e-6, "{hidden}");
    assert!((bare - 0.125).abs() < 2e-3, "{bare}");
}

#[test]
fn what_a_colour_forgives_says_that_the_base_is_not_right() {
    use fanlap::{advice::forgives, job::inputs::System};
    let said = |job: &Job| forgives(job, 1.5).text(System::Metric);
    let striped = said(&job(0.03, 0.1, &[]));
    for part in ["The base is not right: ", "striping", "Put it right first"] {
        assert!(striped.contains(part), "{part} is missing: {striped}");
    }
    let even = said(&job(0.03, 0.75, &[]));
    assert!(!even.contains("base"), "{even}");
}
