//! A whole pass as a rehearsal lays it, row by row and with rows that lie between others, against the plain law of
//! growth stepped finely in time: on random jobs and random hands, and while the trigger is still open.

use crate::common::*;
use crate::random::{Random, job};
use fanlap::job::Job;
use fanlap::rehearsal::{Playback, Rehearsal, rehearse};
use fanlap::spray::Spray;
use fanlap::strokes::{Along, Reach, Stroke};
use fanlap::units::Seconds;

/// Poses at which the plain law is read.
const POSES: usize = 4000;

/// A random job of one straight pass over the middle of its panel.
fn one_pass(seed: u64) -> Job {
    let mut job = job(seed);
    job.coats.truncate(1);
    let across = if job.coats[0].along == Along::Length { job.panel.width } else { job.panel.length };
    (job.coats[0].edge_pass, job.coats[0].margin.0) = (false, -across.0 / 2.0);
    job.coats[0].reach = Reach::OneSide;
    job
}

/// The same with a hand that strays up to what is usual for a novice.
fn astray(seed: u64) -> Job {
    let (mut job, mut r) = (one_pass(seed), Random(seed + 1000));
    let hand = &mut job.hand;
    (hand.distance_sd.0, hand.speed_sd.0) = (r.between(0.0, 30.0), r.between(0.0, 0.2));
    (hand.line_sd.0, hand.angle_sd.0, hand.seed) = (r.between(0.0, 30.0), r.between(0.0, 10.0), seed as u32);
    job
}

/// The same with a hand that nearly stands at the ends, and opens the trigger early or late.
fn slowing(seed: u64) -> Job {
    let (mut job, mut r) = (one_pass(seed), Random(seed + 2000));
    let hand = &mut job.hand;
    (hand.slow_at_ends.0, hand.trigger_late.0) = (r.between(0.6, 0.9), r.between(-100.0, 120.0));
    (hand.arc.0, hand.drag.0) = (0.0, 0.0);
    (job.panel.crown_along.0, job.panel.crown_across.0, job.panel.cell.0) = (0.0, 0.0, 4.0);
    job
}

/// The largest difference to the plain law when a share of the pass is sprayed, over the largest film.
fn off(job: &Job, share: f64) -> f64 {
    let mut rehearsal = Rehearsal::plan(job);
    let pass = rehearsal.passes()[0].clone();
    while rehearsal.lay_next() {}
    let until = pass.stroke.duration().0 * share;
    let mut playback = Playback::default();
    playback.seek(&rehearsal, Seconds(pass.start.0 + until));
    let (patch, film) = (rehearsal.patch(), playback.film(0));
    let fine = Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, &pass.line, POSES);
    let part = until / POSES as f64;
    let poses: Vec<_> = (0..POSES).map(|i| fine.pose_at(Seconds((i as f64 + 0.5) * part))).collect();
    let (spray, solids) = (Spray::of(&job.gun), job.paints[0].solids_by_volume.0);
    let (mut worst, mut most) = (0.0_f64, 0.0_f64);
    for cell in (0..film.len()).step_by(film.len() / 150) {
        let at = patch.centre(cell % patch.columns, cell / patch.columns);
        let (surface, normal) = (job.panel.surface(at), job.panel.normal(at));
        let law = solids * part * poses.iter().map(|pose| spray.growth(pose, surface, normal)).sum::<f64>();
        (worst, most) = (worst.max((law - film[cell]).abs()), most.max(law));
    }
    worst / most
}

#[test]
fn a_pass_lays_what_the_plain_law_says() {
    for seed in 1..=16 {
        assert_near(&format!("job {seed}"), off(&one_pass(seed), 1.0), 0.0, 1e-3);
    }
}

#[test]
fn a_pass_of_a_hand_that_strays_lays_what_the_plain_law_says() {
    for seed in 1..=16 {
        assert_near(&format!("job {seed}"), off(&astray(seed), 1.0), 0.0, 1e-3);
    }
}

#[test]
fn a_pass_that_slows_down_at_its_ends_lays_what_the_plain_law_says() {
    for seed in 1..=16 {
        assert_near(&format!("job {seed}"), off(&slowing(seed), 1.0), 0.0, 1e-3);
    }
}

#[test]
fn a_pass_under_way_has_laid_what_the_plain_law_says() {
    for (seed, share) in [(3, 0.31), (4, 0.5), (5, 0.77), (6, 0.93)] {
        assert_near(&format!("job {seed}"), off(&one_pass(seed), share), 0.0, 1e-3);
        assert_near(&format!("job {seed}, astray"), off(&astray(seed), share), 0.0, 1e-3);
    }
}

#[test]
fn a_steady_pass_over_a_flat_panel_takes_one_step_and_is_exact() {
    for cell in [2.0, 5.0, 15.0] {
        let mut job = one_pass(1);
        (job.panel.crown_along.0, job.panel.crown_across.0, job.panel.cell.0) = (0.0, 0.0, cell);
        (job.hand.arc.0, job.hand.drag.0, job.hand.slow_at_ends.0) = (0.0, 0.0, 0.0);
        assert_eq!(Rehearsal::plan(&job).passes()[0].stroke.moments.len(), 2);
        // the pattern's tables are within 1e-6; the plain law's own steps add as much
        assert_near(&format!("cells of {cell} mm"), off(&job, 1.0), 0.0, 5e-6);
        assert_near(&format!("cells of {cell} mm, half of it"), off(&job, 0.5), 0.0, 2e-5);
    }
}

#[test]
fn a_pass_laid_in_slices_is_the_pass_laid_in_one_go_and_no_slice_is_more_than_a_row() {
    for seed in 0..6 {
        let job = if seed % 2 == 0 { astray(seed) } else { job(seed) };
        let whole = rehearse(&job);
        let mut sliced = Rehearsal::plan(&job);
        // there is never any time: each call does the least it can
        let (mut laid, mut followed) = (1, 1);
        while sliced.lay_some(&mut || false) {
            laid += 1;
        }
        while sliced.follow_some(&mut || false) {
            followed += 1;
        }
        let passes = whole.passes().len();
        let rows = whole.passes().iter().map(|pass| pass.window.columns.min(pass.window.rows)).sum::<usize>();
        assert!(sliced.finished() && laid >= rows.max(passes) && followed >= passes, "{laid} and {followed} slices");
        for paint in 0..job.paints.len() {
            assert_eq!(sliced.film(paint), whole.film(paint), "{seed}");
        }
        assert_eq!(sliced.accounts(), whole.accounts(), "{seed}");
    }
}
