//! Paint that is sprayed on the masking alone: what is found of it against lines and paint reckoned by hand, that its cure
//! keeps the film, and where nothing is to be said.

use fanlap::appraisal::appraise;
use fanlap::causes::diagnose;
use fanlap::findings::{DefectKind, masked};
use fanlap::job::examples::EXAMPLES;
use fanlap::job::{Files, Job};
use fanlap::practice::lessons;
use fanlap::rehearsal::{Rehearsal, rehearse};
use serde_json::{Value, json};

/// The bonnet flat, two coats at 60 %: lines 100 mm apart on 1100 mm.
fn job(changes: &[(&str, Value)]) -> Job {
    let whole = json!({
        "fanlap_job": 1, "title": "Lines on the masking (invented)",
        "panel": { "length_mm": 1400, "width_mm": 1100, "cell_mm": 10 },
        "coats": [
            { "overlap": 0.6, "speed_mm_per_s": 500, "margin_mm": 125 },
            { "overlap": 0.6, "speed_mm_per_s": 500, "margin_mm": 125 },
        ],
    });
    let job = Job::read(&whole.to_string(), &Files::none()).unwrap();
    changes.iter().fold(job, |job, (path, value)| job.with(path, value).unwrap())
}

fn sprayed(rehearsal: &Rehearsal) -> f64 {
    rehearsal.accounts().iter().map(|account| account.sprayed.0).sum()
}

fn is_found(job: &Job) -> bool {
    diagnose(&appraise(job)).iter().any(|finding| finding.defect.kind == DefectKind::MaskingSprayed)
}

#[test]
fn passes_beyond_the_fan_are_counted_with_their_paint_and_their_cure_keeps_the_film() {
    // a margin of 125 mm: 14 spacings, the outermost lines 150 mm outside, where a fan of 250 mm lays nothing on the panel;
    // the next ones lie 50 mm outside. A pass of 1400 + 2 x 150 mm at 500 mm/s takes 3.4 s, of 200 mL/min 11.33 mL
    let wide = job(&[]);
    for (coat, masked) in masked(&wide).iter().enumerate() {
        assert_eq!((masked.coat, masked.passes, masked.outside_mm, masked.margin_mm), (coat, 2, 150.0, 50.0));
        assert!((masked.ml - 2.0 * 200.0 / 60.0 * 3.4).abs() < 1e-9, "{masked:?}");
    }
    let found = diagnose(&appraise(&wide));
    let finding = found.iter().find(|finding| finding.defect.kind == DefectKind::MaskingSprayed).unwrap();
    let (cause, cure) = (&finding.causes[0], finding.cure.as_ref().unwrap());
    assert_eq!(cause.setting, "coats[0].margin_mm");
    assert!(
        cause.text.starts_with("4 passes, 45 mL, spray only the masking") && cause.text.contains("150 mm"),
        "{cause:?}"
    );
    let cured = wide.with_all(&cure.set).unwrap();
    assert!(!is_found(&cured) && cure.set.len() == 2, "{:?}", cure.set);
    // the paint of four passes is saved, and nothing of the film is lost
    let (before, after) = (rehearse(&wide), rehearse(&cured));
    let saved = sprayed(&before) - sprayed(&after);
    assert!((saved - 4.0 * 200.0 / 60.0 * 3.4).abs() < 1e-6, "{saved}");
    for (is, was) in after.film(0).iter().zip(before.film(0)) {
        assert!((is - was).abs() < 1e-9, "{is} {was}");
    }
}

#[test]
fn the_farther_out_the_more_passes_and_a_line_that_lays_film_is_never_one_of_them() {
    // 250 mm: 16 spacings, lines 250 and 150 mm outside
    let all = masked(&job(&[("coats[0].margin_mm", json!(250))]));
    assert_eq!((all[0].coat, all[0].passes, all[0].margin_mm), (0, 4, 50.0));
    // 75 %: lines 62.5 mm apart, the outermost 137.5 mm outside; the next, at 75 mm, lays film
    let dense = masked(&job(&[("coats[0].overlap", json!(0.75)), ("coats[1].overlap", json!(0.75))]));
    assert_eq!((dense[0].passes, dense[0].margin_mm), (2, 75.0));
    // a gun held 100 mm farther away has a fan of 389 mm: what lies 150 mm outside lays film
    assert!(masked(&job(&[("hand.distance_error_mm", json!(100))])).is_empty());
    // along the width the length counts: 1400 mm are 14 spacings, and 125 mm outside three more
    let across = masked(&job(&[("coats[0].along", json!("width")), ("coats[1].margin_mm", json!(0))]));
    assert_eq!((across[0].passes, across[0].outside_mm, across[0].margin_mm), (2, 150.0, 50.0));
}

#[test]
fn nothing_is_said_of_a_painters_margin_of_the_examples_or_of_a_lesson() {
    for margin in [0, 25, 50, 62] {
        let all = ["coats[0].margin_mm", "coats[1].margin_mm"].map(|path| (path, json!(margin)));
        assert!(masked(&job(&all)).is_empty(), "{margin}");
    }
    // moved aside by half a spacing the lines of one edge are needed, those of the other only end where they end
    let moved =
        job(&[("coats[0].margin_mm", json!(50)), ("coats[1].margin_mm", json!(80)), ("coats[1].shift", json!(0.5))]);
    assert!(masked(&moved).is_empty(), "{:?}", masked(&moved));
    for example in EXAMPLES {
        assert!(masked(&example.job()).is_empty(), "{}", example.name);
    }
    for lesson in lessons() {
        let all = masked(&lesson.set_up().unwrap());
        assert!(all.is_empty(), "{}: {all:?}", lesson.title);
    }
}
