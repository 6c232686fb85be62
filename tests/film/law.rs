//! The closed form that `deposit` uses against the plain law of growth stepped finely in time, and that the film
//! settles at second order when steps and cells are halved. Derived: both approximations are even in the step.

use crate::common::*;
use fanlap::job::Job;
use fanlap::rehearsal::rehearse;
use fanlap::spray::Spray;
use fanlap::strokes::{Line, Stroke};
use fanlap::units::Seconds;
use glam::DVec2;

fn job(crown: f64) -> Job {
    let mut job = flat(600.0, 400.0);
    (job.panel.crown_along.0, job.panel.crown_across.0) = (crown, 0.8 * crown);
    job
}

fn the_line() -> Line {
    line((-100.0, 180.0), (700.0, 180.0))
}

/// Some places under the line and around it.
fn places() -> Vec<DVec2> {
    let x = [10.0, 90.0, 210.0, 300.0, 430.0, 580.0];
    let y = [90.0, 130.0, 175.0, 180.0, 240.0, 275.0];
    x.iter().flat_map(|x| y.iter().map(move |y| DVec2::new(*x, *y))).collect()
}

fn films(job: &Job, stroke: &Stroke) -> Vec<f64> {
    let spray = Spray::of(&job.gun);
    places().iter().map(|at| wet_at(&job.panel, &spray, stroke, *at)).collect()
}

/// The same by the plain law: growth times time, at the middle of 8000 equal parts of the time.
fn by_law(job: &Job, line: &Line) -> Vec<f64> {
    let spray = Spray::of(&job.gun);
    let stroke = Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, line, 4000);
    let part = stroke.duration().0 / 8000.0;
    let poses: Vec<_> = (0..8000).map(|i| stroke.pose_at(Seconds((i as f64 + 0.5) * part))).collect();
    let at = |at: &DVec2| {
        let (surface, normal) = (job.panel.surface(*at), job.panel.normal(*at));
        poses.iter().map(|pose| part * spray.growth(pose, surface, normal)).sum::<f64>()
    };
    places().iter().map(at).collect()
}

/// Largest difference over the largest film.
fn apart(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) / range(b).1
}

#[test]
fn deposit_agrees_with_the_plain_law_in_the_steps_the_hand_takes() {
    for (name, crown, heel, drag, arc, tolerance) in [
        // straight over a flat panel the closed form is exact; the rest is the pattern's tables
        ("flat", 0.0, 0.0, 0.0, 0.0, 5e-6),
        ("flat, heel 30", 0.0, 30.0, 0.0, 0.0, 5e-6),
        // turning or tilted along the travel: second order in steps that grow finer with the tilt
        ("flat, drag 30", 0.0, 0.0, 30.0, 0.0, 3e-4),
        ("flat, arc 40", 0.0, 0.0, 0.0, 40.0, 3e-4),
        ("crowned, all", 40.0, 20.0, 15.0, 30.0, 3e-4),
        // a crown of a fifteenth of the length turns the gun by 30 degrees in steps of 0.4 of the fan's depth
        ("crowned", 40.0, 0.0, 0.0, 0.0, 1.5e-3),
    ] {
        let mut job = job(crown);
        (job.hand.heel.0, job.hand.drag.0, job.hand.arc.0) = (heel, drag, arc);
        let line = the_line();
        let stroke = Stroke::new(&job.panel, &job.gun, &job.coats[0], &job.hand, &line);
        let law = by_law(&job, &line);
        assert!(law.iter().filter(|film| **film > 0.0).count() > 20, "places under the fan");
        assert_near(name, apart(&films(&job, &stroke), &law), 0.0, tolerance);
        // and in fine steps both are the same
        let fine = Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, &line, 2000);
        assert_near(&format!("{name}, fine steps"), apart(&films(&job, &fine), &law), 0.0, 1e-5);
    }
}

#[test]
fn halving_the_step_quarters_the_error() {
    let mut job = job(40.0);
    (job.hand.arc.0, job.hand.heel.0) = (30.0, 10.0);
    let at = |steps: usize| films(&job, &Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, &the_line(), steps));
    let settled = at(6400);
    let error = |steps: usize| {
        let film = at(steps);
        film.iter().zip(&settled).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt()
    };
    let errors = [50, 100, 200, 400].map(error);
    for (pair, steps) in errors.windows(2).zip([50, 100, 200]) {
        // 0.6: the pattern's edge is only once smooth, so single places wander about the rate
        assert_near(&format!("error of {steps} steps over twice as many"), pair[0] / pair[1], 4.0, 0.6);
    }
}

#[test]
fn halving_the_cell_quarters_the_error_of_the_volume_on_the_panel() {
    let volume = |cell: f64| {
        let mut job = job(40.0);
        (job.panel.cell.0, job.hand.arc.0) = (cell, 30.0);
        let coat = &mut job.coats[0];
        (coat.lead.0, coat.margin.0, coat.overlap.0) = (0.0, 0.0, 0.5);
        account(&job).on_panel.0
    };
    let settled = volume(1.0);
    let errors = [20.0, 10.0, 5.0].map(|cell| (volume(cell) / settled - 1.0).abs());
    println!("errors at 20, 10, 5 mm: {errors:?}");
    for pair in errors.windows(2) {
        assert!(pair[0] / pair[1] > 3.4, "{errors:?}");
    }
    assert!(errors[2] < 1e-4, "{errors:?}");
}

#[test]
fn cells_read_the_film_at_their_centres_whatever_their_size() {
    // nothing is smeared: coarse cells hold the very film of the fine cell with the same centre
    let film = |cell: f64| {
        let mut job = job(40.0);
        job.panel.cell.0 = cell;
        rehearse(&job).film(0)
    };
    let (coarse, fine) = (film(20.0), film(4.0));
    for row in 0..20 {
        for column in 0..30 {
            let (a, b) = (coarse[row * 30 + column], fine[(row * 5 + 2) * 150 + column * 5 + 2]);
            // rows of fine cells may lie between others that are sprayed
            assert!((a - b).abs() <= 1e-4 * b.max(1.0), "{column}, {row}: {a}, {b}");
        }
    }
}

#[test]
fn the_steps_the_hand_takes_are_fine_enough() {
    // a whole crowned job with a wrist arc, against steps four times as fine, at the places of one pass
    let mut job = job(40.0);
    job.hand.arc.0 = 30.0;
    let line = the_line();
    let taken = Stroke::new(&job.panel, &job.gun, &job.coats[0], &job.hand, &line);
    let finer = Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, &line, 4 * (taken.moments.len() - 1));
    assert_near("largest difference", apart(&films(&job, &taken), &films(&job, &finer)), 0.0, 3e-4);
}

#[test]
fn a_drifting_hand_lays_what_the_plain_law_says() {
    // each drift at the upper end of what the table calls usual for a novice, all together, and all at their limits
    for (name, distance, speed, line_sd, angle, crown) in [
        ("distance", 30.0, 0.0, 0.0, 0.0, 0.0),
        ("speed", 0.0, 0.2, 0.0, 0.0, 0.0),
        ("line", 0.0, 0.0, 30.0, 0.0, 0.0),
        ("angle", 0.0, 0.0, 0.0, 10.0, 0.0),
        ("all", 30.0, 0.2, 30.0, 10.0, 0.0),
        ("all on a crown", 30.0, 0.2, 30.0, 10.0, 40.0),
        ("limits", 60.0, 0.4, 60.0, 20.0, 0.0),
    ] {
        let mut worst: f64 = 0.0;
        for seed in 1..=10 {
            let mut job = job(crown);
            let hand = &mut job.hand;
            (hand.distance_sd.0, hand.speed_sd.0, hand.line_sd.0) = (distance, speed, line_sd);
            (hand.angle_sd.0, hand.seed) = (angle, seed);
            let line = the_line();
            let stroke = Stroke::new(&job.panel, &job.gun, &job.coats[0], &job.hand, &line);
            worst = worst.max(apart(&films(&job, &stroke), &by_law(&job, &line)));
        }
        assert_near(name, worst, 0.0, 1e-3);
    }
}
