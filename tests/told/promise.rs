//! Promises of the advice against many other hands: over jobs drawn at random, the share of the panel that the surest plan
//! is said to get right against the mean of thousands of hands that had no part in choosing or telling it. Run by hand, it
//! takes long:
//! `cargo test --release --test promise -- --ignored --nocapture`

use fanlap::advice::{Hands, Wishes, advise, shares};
use fanlap::job::{Files, Job};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Jobs, and other hands for each.
const JOBS: usize = 30;
const OTHERS: u32 = 2000;
/// Cells on which the other hands spray, mm; how many of them spray on the job's own as well tells what that adds.
const CELL: f64 = 20.0;
const FINER: usize = 40;

/// Numbers without end between 0 and 1, the same at each run.
fn dice(seed: u64) -> impl FnMut(f64, f64) -> f64 {
    let mut state = seed;
    move |least, most| {
        state = fanlap::strokes::stir(state);
        least + (most - least) * ((state >> 11) as f64 / (1u64 << 53) as f64)
    }
}

/// A flat panel, a gun's fan and a hand drawn at random (invented).
fn job(number: usize) -> (Job, f64) {
    let mut draw = dice(number as u64 + 1);
    let mut whole = |least: f64, most: f64| draw(least, most).round();
    let (length, width, cell) = (whole(500.0, 1100.0), whole(400.0, 800.0), whole(6.0, 14.0));
    let (distance, line, angle) = (whole(4.0, 15.0), whole(3.0, 12.0), whole(1.0, 3.0));
    let (speed, target, fan) = (whole(2.0, 8.0) / 100.0, whole(25.0, 40.0), whole(220.0, 280.0));
    let within = [1.0, 1.5][number % 2];
    let text = format!(
        r#"{{ "fanlap_job": 1, "title": "Job {number}, drawn at random (invented)",
              "panel": {{ "length_mm": {length}, "width_mm": {width}, "cell_mm": {cell} }},
              "gun": {{ "fan_width_mm": {fan} }}, "target": {{ "film_um": {target} }},
              "coats": [ {{ "overlap": 0.5, "margin_mm": 50 }}, {{ "overlap": 0.5, "margin_mm": 50, "shift": 0.5 }} ],
              "hand": {{ "distance_sd_mm": {distance}, "speed_sd": {speed}, "line_sd_mm": {line}, "angle_sd_deg": {angle} }} }}"#
    );
    (Job::read(&text, &Files::none()).unwrap(), within)
}

fn mean_and_error(values: &[f64]) -> (f64, f64) {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let about = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (values.len() - 1) as f64;
    (mean, (about / values.len() as f64).sqrt())
}

/// Promise, its interval, and the mean of the other hands with its own error.
struct Held {
    promised: f64,
    from_to: [f64; 2],
    tenth_below: f64,
    others: f64,
    error: f64,
}

fn held(number: usize) -> Held {
    let (job, within) = job(number);
    let wishes = Wishes { within, ..Wishes::of(&job) };
    let advice = advise(&job, &wishes).unwrap();
    let (plan, window) = (&advice.plans[0], (advice.window.film_low_um, advice.window.film_high_um));
    let mut planned = plan.setting.of(&job);
    // hands of a job that nobody plans: other ones
    let mut other = job.clone();
    other.hand.seed = 4_000_000_000 - number as u32;
    let seeds: Vec<u32> = Hands::of(&other).choosing().take(OTHERS as usize).collect();
    let own = shares(&planned, &wishes.hand, window, seeds.iter().copied().take(FINER));
    planned.panel.cell.0 = CELL;
    let all = shares(&planned, &wishes.hand, window, seeds.into_iter());
    let finer: Vec<f64> = own.iter().zip(&all).map(|(own, coarse)| own - coarse).collect();
    let ((mean, error), (more, doubt)) = (mean_and_error(&all), mean_and_error(&finer));
    let tenth = plan.figures.in_window_tenth - more;
    let below = all.iter().filter(|share| **share < tenth).count() as f64 / all.len() as f64;
    Held {
        promised: plan.figures.in_window,
        from_to: plan.figures.in_window_from_to,
        tenth_below: below,
        others: mean + more,
        error: (error * error + doubt * doubt).sqrt(),
    }
}

#[test]
#[ignore = "takes minutes: run by hand"]
fn the_surest_plans_promise_is_kept_by_thousands_of_other_hands() {
    let (next, all) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= JOBS {
                        return;
                    }
                    let held = held(number);
                    println!(
                        "job {number}: promised {:.3} [{:.3} {:.3}], others {:.4} +- {:.4}; below the tenth {:.3}",
                        held.promised, held.from_to[0], held.from_to[1], held.others, held.error, held.tenth_below
                    );
                    all.lock().unwrap().push(held);
                }
            });
        }
    });
    let all = all.into_inner().unwrap();
    let (off, doubt) = mean_and_error(&all.iter().map(|held| held.promised - held.others).collect::<Vec<_>>());
    let (below, _) = mean_and_error(&all.iter().map(|held| held.tenth_below).collect::<Vec<_>>());
    // the other hands' own error widens what counts as covered by no more than itself
    let covers =
        |held: &&Held| (held.from_to[0] - 2.0 * held.error..=held.from_to[1] + 2.0 * held.error).contains(&held.others);
    let strictly = |held: &&Held| (held.from_to[0]..=held.from_to[1]).contains(&held.others);
    let (covered, strict) = (all.iter().filter(covers).count(), all.iter().filter(strictly).count());
    println!("mean error {off:+.4} +- {doubt:.4}; covered {strict}, {covered} with the others' error, of {JOBS}");
    println!("below what one hand in ten does not reach: {below:.3}");
    assert!(off.abs() < 0.01, "{off}");
    assert!(covered >= 26, "{covered}");
    assert!((0.07..0.14).contains(&below), "{below}");
}
