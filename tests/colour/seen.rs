//! What the report says an eye would see of a job: even films, stripes of too little overlap, distance, eye, light, and
//! the sentences made of it. The measure itself is tested in `visibility.rs`.

use fanlap::appraisal::appraise;
use fanlap::field::filled;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::panel::{Panel, Patch};
use fanlap::report::{Report, SightReport, outcome, report};
use fanlap::units::Millimetres;
use fanlap::words::meaning;
use glam::DVec2;
use serde_json::{Value, json};

/// A flat panel of the default paint under two coats with that overlap; viewing as given.
fn flat(overlap: f64, viewing: Value) -> Job {
    let coat = json!({ "overlap": overlap, "speed_mm_per_s": 200.0 / (1.0 - overlap) });
    let job = json!({
        "fanlap_job": 1,
        "panel": { "length_mm": 1000, "width_mm": 900, "crown_along_mm": 0, "crown_across_mm": 0, "cell_mm": 5 },
        "viewing": viewing,
        "coats": [coat, coat],
    });
    Job::read(&job.to_string(), &Files::none()).expect("a sound job")
}

fn reported(job: &Job) -> Report {
    report(&appraise(job))
}

fn seen(overlap: f64, viewing: Value) -> SightReport {
    reported(&flat(overlap, viewing)).seen.expect("a tinted clear in two coats")
}

fn near(what: &str, value: f64, expected: f64, allowed: f64) {
    assert!((value - expected).abs() <= allowed, "{what}: {value}, expected {expected} within {allowed}");
}

#[test]
fn an_even_film_is_below_the_threshold() {
    let seen = seen(0.75, json!({}));
    println!("75 % overlap: {seen:?}");
    assert!(seen.times_threshold.max < 1.0, "{seen:?}");
    assert!(
        seen.times_threshold.mean <= seen.times_threshold.p95 && seen.times_threshold.p95 <= seen.times_threshold.max
    );
}

#[test]
fn stripes_of_little_overlap_are_far_above_it_and_as_wide_as_their_lines() {
    let job = flat(0.25, json!({}));
    let seen = reported(&job).seen.unwrap();
    println!("25 % overlap: {seen:?}");
    assert!(seen.times_threshold.max > 5.0, "{seen:?}");
    let spacing = job.coats[0].spacing(&job.gun).0;
    // to the octave of the bands, as crests or as their first overtone
    let octaves = seen.worst.period_mm / spacing;
    assert!((0.4..=1.5).contains(&octaves), "{} against lines {spacing} apart", seen.worst.period_mm);
    assert_eq!(seen.worst.seen_from_m, Some(10.0), "seen from everywhere");
    // the worst place is one of the interior
    let (x, y) = (seen.worst.x_mm, seen.worst.y_mm);
    let rim = job.gun.fan_width.0;
    assert!(x >= rim && x <= 1000.0 - rim && y >= rim && y <= 900.0 - rim, "{x}, {y}");
}

#[test]
fn the_distance_changes_what_is_seen_and_the_band_that_shows_it() {
    let at = |metres: f64| seen(0.6, json!({ "distance_m": metres }));
    let (near, far) = (at(0.3), at(8.0));
    println!("at 0.3 m {near:?}\nat 8 m {far:?}");
    assert!((near.times_threshold.max / far.times_threshold.max - 1.0).abs() > 0.1);
    assert!(near.worst.period_mm <= far.worst.period_mm, "narrower stripes show from near by");
    assert_eq!((near.distance_m, far.distance_m), (0.3, 8.0));
}

#[test]
fn anyone_sees_half_as_much_as_a_trained_eye() {
    let [trained, anyone] = ["trained", "anyone"].map(|eye| seen(0.4, json!({ "eye": eye })));
    near("times", anyone.times_threshold.max / trained.times_threshold.max, 0.5, 1e-9);
    assert_eq!((trained.eye_takes, anyone.eye_takes), (2.0, 4.0));
}

#[test]
fn the_light_and_the_angle_are_the_jobs() {
    let plain = seen(0.4, json!({}));
    for viewing in [json!({ "illuminant": "A" }), json!({ "aspecular_deg": 110 })] {
        let other = seen(0.4, viewing.clone());
        assert!((other.times_threshold.max / plain.times_threshold.max - 1.0).abs() > 1e-3, "{viewing}: {other:?}");
    }
}

#[test]
fn only_narrow_gaps_of_a_map_are_filled() {
    let (columns, rows) = (90, 7);
    let patch = Panel { length: Millimetres(360.0), width: Millimetres(28.0), ..flat(0.5, json!({})).panel }.cells();
    let patch = Patch { cell: DVec2::splat(4.0), columns, rows, ..patch };
    // a high band with a gap of 5 cells, then one of 20, then to its end at cell 70; the outermost row is low too
    let high = |i: usize| i / columns > 0 && i % columns < 70 && !matches!(i % columns, 20..25 | 40..60);
    let values: Vec<f64> = (0..columns * rows).map(|i| if high(i) { 3.0 } else { 0.5 }).collect();
    let filled = filled(&patch, &values, Millimetres(32.0));
    for (i, value) in filled.iter().enumerate() {
        // past the rim there is nothing that could keep a dip open
        let wanted = high(columns + i % columns) || matches!(i % columns, 20..25);
        assert_eq!(*value, if wanted { 3.0 } else { 0.5 }, "column {}, row {}", i % columns, i / columns);
    }
    assert_eq!(fanlap::field::filled(&patch, &values, Millimetres(0.0)), values);
}

#[test]
fn nothing_is_said_where_there_is_nothing_to_see() {
    for job in [
        json!({ "fanlap_job": 1, "coats": [] }),
        json!({ "fanlap_job": 1, "paints": [{ "name": "top", "role": "clear" }], "coats": [{ "paint": "top" }],
                "panel": { "cell_mm": 20 } }),
    ] {
        let job = Job::read(&job.to_string(), &Files::none()).unwrap();
        let report = reported(&job);
        assert_eq!(report.seen, None);
        let said = outcome(&job, &report, System::Metric);
        assert!(!said.contains("eye"), "{said}");
        assert_eq!(said.contains("were not looked for: no coat"), !job.coats.is_empty(), "{said}");
    }
}

#[test]
fn the_sentences_say_what_the_report_holds() {
    let said = |job: &Job| outcome(job, &reported(job), System::Metric);
    let stripes = said(&flat(0.25, json!({ "distance_m": 2, "eye": "anyone" })));
    for part in ["At 2 m anyone would see", "times the visible threshold", "still seen from 10 m", "mm apart"] {
        assert!(stripes.contains(part), "{part} is missing: {stripes}");
    }
    let even = said(&flat(0.75, json!({})));
    for part in ["At 1 m a trained eye would not see", "not seen at any distance from 0.3 to 10 m"] {
        assert!(even.contains(part), "{part} is missing: {even}");
    }
    assert!(meaning(&EXAMPLES[0].job()).contains("looked at from 1 m by a trained eye."));
}
