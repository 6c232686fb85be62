//! The work is shared out over the cores: the bits are the same with any number of threads, and those of a page, which
//! lays one pass after another, in parts.

use fanlap::appraisal::Appraisal;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::{Rehearsal, Wetness, rehearse};
use fanlap::report::in_full;
use rayon::ThreadPoolBuilder;
use serde_json::json;

/// Enough cells and passes that every part is shared out: a rolled rim, a hand that strays, coats both ways.
fn job() -> Job {
    let text = json!({
        "fanlap_job": 1,
        "panel": { "length_mm": 700, "width_mm": 520, "crown_along_mm": 12, "rim_radius_mm": 15, "cell_mm": 4,
                   "slope_deg": 60 },
        "coats": [{ "overlap": 0.6 }, { "overlap": 0.5, "along": "width", "shift": 0.5 }],
        "hand": { "distance_sd_mm": 15, "speed_sd": 0.1, "line_sd_mm": 15, "angle_sd_deg": 5, "heel_deg": 10 },
    });
    Job::read(&text.to_string(), &Files::none()).expect("a job")
}

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|value| value.to_bits()).collect()
}

#[test]
fn the_bits_are_the_same_with_one_two_and_five_threads() {
    let job = job();
    let with = |threads: usize| {
        let pool = ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| {
            let rehearsal = rehearse(&job);
            let told = serde_json::to_string(&in_full(&Appraisal::of(rehearsal.clone()))).expect("a report");
            (bits(&rehearsal.film(0)), bits(&Wetness::of(&rehearsal).films[0].most), told)
        })
    };
    let one = with(1);
    assert!(one.2.contains("\"cause\""), "nothing is found, the trials are not tested");
    assert!(one == with(2), "two threads");
    assert!(one == with(5), "five threads");
}

#[test]
fn passes_laid_one_after_another_in_parts_are_those_laid_all_at_once() {
    let job = job();
    let at_once = rehearse(&job);
    let mut in_parts = Rehearsal::plan(&job);
    while in_parts.lay_some(&mut || false) {}
    while in_parts.follow_some(&mut || false) {}
    assert_eq!(bits(&at_once.film(0)), bits(&in_parts.film(0)));
    assert_eq!(at_once.accounts(), in_parts.accounts());
}
