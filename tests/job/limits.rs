//! What a job may take, and that what is accepted can be rehearsed.

use super::*;
use fanlap::appraisal::appraise;

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
    (plan.passes().len(), plan.passes().iter().map(|pass| plan.window(pass).len()).sum())
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
            // a crown of 300 mm over less would be too steep
            for (crown, span) in [("crown_along_mm", "length_mm"), ("crown_across_mm", "width_mm")] {
                if input.path.ends_with(crown) {
                    whole["panel"][span] = json!(330);
                }
            }
            complete(&mut whole, &first(input.path));
            let what = format!("{} at {limit}", input.path);
            let value = within(30, &what, move || serde_json::to_value(report(&appraise(&accepted(&whole)))).unwrap());
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
    let report = within(3, "a film of half a metre", move || report(&appraise(&accepted(&whole))));
    assert!(report.film["tinted"].panel.mean_um > 5e5);
}

// How steep a surface may be

#[test]
fn a_surface_steeper_than_75_degrees_is_refused_with_what_is_allowed() {
    let panel = |panel: Value| job(json!({ "panel": panel, "coats": [{}] }));
    // the edge of a parabola falls by four times its rise over its span: 279.9 mm over 300 mm are 75 degrees
    for (key, span) in [("crown_along_mm", "length_mm"), ("crown_across_mm", "width_mm")] {
        for sign in [1.0, -1.0] {
            let crown = |rise: f64| {
                let mut whole = json!({ "length_mm": 1000, "width_mm": 1000 });
                (whole[key], whole[span]) = (json!(sign * rise), json!(300));
                panel(whole)
            };
            accepted(&crown(279.0));
            let problem = refused(&crown(281.0));
            assert_eq!(problem.at, format!("panel.{key}"));
            assert!(problem.given.contains("281 mm over panel."), "{problem}");
            assert!(
                problem.given.contains("75.1\u{b0}") && problem.allowed.contains("up to 75\u{b0} steep"),
                "{problem}"
            );
            assert!(problem.allowed.contains("here up to 279 mm"), "{problem}");
        }
    }
    // two crowns that are each less steep are steeper in the corners
    let both = |across: f64| {
        panel(json!({ "length_mm": 300, "width_mm": 300, "crown_along_mm": 200, "crown_across_mm": across }))
    };
    accepted(&both(195.0));
    let problem = refused(&both(197.0));
    assert_eq!(problem.at, "panel.crown_along_mm");
    assert!(problem.allowed.contains("here up to 198 mm"), "{problem}");
    accepted(&panel(json!({ "length_mm": 300, "width_mm": 300, "crown_along_mm": 198, "crown_across_mm": 197 })));
    // a rim on top of a crown; alone it may roll by all of it, and a hollow takes from it
    let rim = |angle: f64, crown: f64| {
        panel(json!({ "width_mm": 400, "rim_radius_mm": 20, "rim_deg": angle, "crown_across_mm": crown }))
    };
    accepted(&rim(75.0, 0.0));
    accepted(&rim(74.0, -30.0));
    let problem = refused(&rim(74.0, 30.0));
    assert_eq!(problem.at, "panel.rim_deg");
    assert!(problem.given.contains("75.2\u{b0}") && problem.allowed.contains("75\u{b0}"), "{problem}");
}

#[test]
fn steep_panels_of_every_kind_are_planned_in_steps_that_are_few() {
    for (along, across) in [(0, 300), (300, 0), (0, -300), (-300, 0), (200, 200), (-200, 200), (-200, -200)] {
        for way in ["length", "width"] {
            let panel = json!({ "length_mm": 330, "width_mm": 330, "cell_mm": 10, "crown_along_mm": along, "crown_across_mm": across });
            let whole = job(json!({ "panel": panel, "coats": [{ "along": way, "edge_pass": true }] }));
            let plan = Rehearsal::plan(&accepted(&whole));
            let most = plan.passes().iter().map(|pass| pass.stroke.moments.len()).max().unwrap();
            assert!(most <= 1200, "{most} steps in a pass, crowns {along} and {across}, along the {way}");
            let cells: usize = plan.passes().iter().map(|pass| pass.window.len()).sum();
            assert!(cells <= plan.passes().len() * plan.patch().window().len(), "{cells} cells kept");
        }
    }
}
